"""Whether a fish lives in a place, as far as is known.

Knows: native, introduced, not known there; and when a source confines a fish elsewhere.
Refuses to know: absence where nobody states it; a fish not recorded somewhere is unknown there.
"""

from collections.abc import Sequence
from typing import NamedTuple

from opercle.answers import some
from opercle.questions.bearers import Judge
from opercle.questions.desk import Desk
from opercle.questions.places import APART, HOLDS, TOUCHES, WITHIN
from opercle.store import Row

NATIVE, INTRODUCED, NOT_KNOWN, NOT_ASKED = "native", "introduced", "not known there", "not asked"
_LIVED = ("op:native", "op:introduced")
_ORDER = (NATIVE, INTRODUCED, NOT_KNOWN)


class Stay(NamedTuple):
    """How a fish stands to the places asked about.

    ``excluded`` says why it cannot be there, or is empty; ``statement`` is what it rests on;
    ``elsewhere`` is True where its range is stated and lies wholly elsewhere.
    """

    lives: str = NOT_ASKED
    says: str = ""
    statement: str | None = None
    excluded: str = ""
    elsewhere: bool = False


class Residents(Judge):
    """Judges many fishes by the same places; reads all ranges at once when told to."""

    def __init__(self, desk: Desk, asked: Sequence[str]) -> None:
        super().__init__(desk, asked, None)

    def read_all(self, taxa: Sequence[str]) -> None:
        """Read the ranges and limits of all taxa with two queries."""
        for taxon in taxa:
            self._ranges.setdefault(taxon, [])
            self._limits.setdefault(taxon, {})
        for row in self.desk.query("all_ranges"):
            if row["t"] in self._ranges:
                self._ranges[row["t"]].append(row)
        for row in self.desk.query("all_limits"):
            if row["t"] in self._limits:
                self._limits[row["t"]].setdefault(row["s"], []).append(row["inside"])

    def stay(self, taxon: str) -> Stay:
        """The fish in all places asked about: the least known of them counts."""
        found = [self._one(taxon, place) for place in self.asked]
        for one in found:
            if one.excluded:
                return one
        return max(found, key=lambda s: _ORDER.index(s.lives), default=Stay())

    def _one(self, taxon: str, place: str) -> Stay:
        there = self.desk.label(place)
        absent = self._absent(taxon, place)
        if absent:
            return Stay(NOT_KNOWN, "", absent, f"not in {there}: a source says it is absent")
        beyond = self._beyond_limits(taxon, place)
        if beyond:
            where = some([self.desk.label(p) for p in self.limits(taxon)[beyond]], "places")
            return Stay(NOT_KNOWN, "", beyond, f"not in {there}: known only from {where}")
        rows = self.ranges(taxon)
        for row in rows:
            near = self.places.relation(place, row["where"])
            if row["presence"] == "op:disputed" and near in (WITHIN, HOLDS):
                says = f"sources disagree whether it is native to {self.desk.label(row['where'])}"
                return Stay(NOT_KNOWN, says, row["s"])
        lives = self._lives(taxon, place)
        if lives and (
            self._lives(taxon, place, surely=True) or not self._by_other_waters(rows, place)
        ):
            return self._lived(taxon, lives, place)
        held = [r for r in rows if r["presence"] in _LIVED]
        apart = bool(held) and all(
            self.places.relation(place, r["where"]) in (APART, TOUCHES) for r in held
        )
        return Stay(NOT_KNOWN, f"not known from {there}", None, "", apart)

    def _by_other_waters(self, rows: Sequence[Row], place: str) -> bool:
        """True if waters are stated and all lie apart from this one: a state says no more then."""
        if not place.startswith("w:"):
            return False
        waters = [r["where"] for r in rows if r["presence"] in _LIVED and r["where"][:2] == "w:"]
        return bool(waters) and all(self.places.relation(place, w) == APART for w in waters)

    def _lived(self, taxon: str, statement: str, place: str) -> Stay:
        row = next(r for r in self.ranges(taxon) if r["s"] == statement)
        native = self._native_first(taxon, place) or row
        word = NATIVE if native["presence"] == "op:native" else INTRODUCED
        where = self.desk.label(native["where"])
        verb = "is native to" if word == NATIVE else "was introduced to"
        return Stay(word, f"{verb} {where}", native["s"])

    def _native_first(self, taxon: str, place: str) -> Row | None:
        """The nearest statement decides: the place itself, then what holds it, then its parts."""
        order = {WITHIN: 1, HOLDS: 2, TOUCHES: 3}
        ranked = []
        for row in self.ranges(taxon):
            if row["presence"] not in _LIVED:
                continue
            near = self.places.relation(place, row["where"])
            if near not in order or (near == TOUCHES and row["presence"] != "op:native"):
                continue
            depth = len(self.places.inside(row["where"])) if near == WITHIN else 0
            same = 0 if row["where"] == place else 1
            native = 0 if row["presence"] == "op:native" else 1
            ranked.append(((same, order[near], -depth, native), row))
        return min(ranked, key=lambda r: r[0])[1] if ranked else None
