"""The fishes that bear a name, as the contract writes them.

Knows: what a bearer is and what speaks for it in a place or year.
Refuses to know: which bearer wins.
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

from opercle.answers import some
from opercle.questions.authorities import Authorities, Authority, scientific
from opercle.questions.desk import Desk, Found, node
from opercle.questions.places import APART, HOLDS, TOUCHES, WITHIN, Places
from opercle.store import Row

SAID_THERE, OPEN, PLACELESS, LIVES_THERE, ASTRAY, ELSEWHERE, OUT = range(7)
"""How a use stands to a place: said there; not told; a nickname said of no place in particular, of
a fish that lives there; said elsewhere of a fish that lives there; a nickname said of no place in
particular, of a fish that is not known there; said elsewhere; ruled out."""

_NICKNAMES = ("op:regional", "op:market", "op:old", "op:misapplied")

_ANYWHERE = ("op:standard", "op:scientific", "op:synonym")
"""Kinds of name that are used wherever the fish lives; a nickname without a place may not be."""

_MOST_KEPT = 100_000


class Bearer(NamedTuple):
    """One name use with where it holds, and how it stands to what was asked."""

    use: Row
    where: tuple[str, ...]
    standing: int = OPEN
    says: str = ""
    by: str = ""
    proof: tuple[str, str, str] | None = None
    statement: str | None = None

    @property
    def taxon(self) -> str:
        """The fish it means."""
        return str(self.use["t"])


def bearers(desk: Desk, uses: Sequence[Row]) -> list[Bearer]:
    """Name uses with their places."""
    found = []
    for use in uses:
        rows = desk.query("use_places", use=node(use["use"]))
        found.append(Bearer(use, tuple(r["where"] for r in rows)))
    return found


def told(desk: Desk, bearer: Bearer) -> dict[str, Any]:
    """A bearer object of the contract."""
    about = desk.about(bearer.taxon)
    cited = desk.words.citation(bearer.use["use"])
    return {
        "scientificName": about.get("name"),
        "scientificNameAuthorship": about.get("author"),
        "taxonRank": about.get("rank"),
        "family": about.get("familyName"),
        "vernacularName": about.get("common"),
        "name": bearer.use["form"],
        "kind": bearer.use["kind"].removeprefix("op:"),
        "where": [desk.label(p) for p in bearer.where],
        "from": bearer.use.get("from"),
        "until": bearer.use.get("until"),
        "source": cited.source if cited else None,
        "basis": cited.basis if cited else None,
        "taxon": bearer.taxon,
    }


class Judge:
    """Weighs bearers by place, year, and the authority that a record follows.

    ``inland`` says that the fish was taken in fresh water.
    """

    def __init__(
        self,
        desk: Desk,
        asked: Sequence[str],
        year: int | None,
        authority: Authority | None = None,
        inland: bool = False,
    ) -> None:
        self.desk = desk
        self.authorities = Authorities(desk)
        self.authority, self.inland = authority, inland
        self.places = Places(desk)
        self.asked = list(asked)
        self.year = year
        self._known_there: dict[tuple[str, str], tuple[str | None, str | None, str | None]] = {}
        self._ranges: dict[str, list[Row]] = {}
        self._limits: dict[str, dict[str, list[str]]] = {}

    def bearers(self, found: Found) -> list[Bearer]:
        """The uses of a name that was found, with their places."""
        return bearers(self.desk, found.uses)

    def weighed(self, found: Sequence[Bearer]) -> list[Bearer]:
        """All bearers of one name, those first ruled out that the authority cannot mean."""
        if self.authority is None:
            return [self.weigh(b) for b in found]
        aside = self.authorities.set_aside(self.authority, [b.use for b in found])
        return [
            b._replace(standing=OUT, says=aside[b.use["use"]], by="authority")
            if b.use["use"] in aside
            else self.weigh(b)
            for b in found
        ]

    def weigh(self, bearer: Bearer) -> Bearer:
        """The bearer with its standing and the reason for it."""
        late = "" if self._follows(bearer) else self._too_early(bearer)
        if late:
            return bearer._replace(standing=OUT, says=late, by="year", statement=bearer.use["use"])
        standing, says, by, statement = OPEN, "", "", None
        if self.inland and self.only_in_the_sea(bearer.taxon):
            standing, says, by = ELSEWHERE, "it is known only from the sea", "coast"
        for place in self.asked:
            one = self._in_place(bearer, place)
            if one[0] == OUT:
                return bearer._replace(standing=OUT, says=one[1], by=_kind(place), statement=one[2])
            if max(standing, PLACELESS) <= one[0] or (one[0] == SAID_THERE and standing == OPEN):
                standing, says, statement = one
                by = _kind(place)
        return bearer._replace(standing=standing, says=says, by=by, statement=statement)

    def _follows(self, bearer: Bearer) -> bool:
        """True if the record's authority, not its year, tells what the name means."""
        known = self.authority is not None and self.authority.year is not None
        return known and scientific(bearer.use)

    def only_in_the_sea(self, taxon: str) -> bool:
        """True if ranges are stated and every one is a sea."""
        held = [r for r in self.ranges(taxon) if r["presence"] in ("op:native", "op:introduced")]
        return bool(held) and all(self.places.is_sea(str(r["where"])) for r in held)

    def _too_early(self, bearer: Bearer) -> str:
        if self.year is None:
            return ""
        since = bearer.use.get("from")
        if since is not None and since > self.year:
            return f"the name has meant this fish only since {since}"
        until = bearer.use.get("until")
        if bearer.use["kind"] == "op:misapplied" and until is not None and until < self.year:
            return f"it was so miscalled only until {until}"
        published = bearer.use.get("published")
        if published is not None and published > self.year:
            return f"the name was not published before {published}"
        return ""

    def _in_place(self, bearer: Bearer, place: str) -> tuple[int, str, str | None]:
        there = self.desk.label(place)
        absent, beyond, lives = self._there(bearer.taxon, place)
        if absent:
            return OUT, f"not in {there}: a source says it is absent", absent
        if beyond:
            return OUT, f"not in {there}: known only from elsewhere", beyond
        if bearer.where:
            return self._where_said(bearer, place, lives)
        if lives and bearer.use["kind"] in _ANYWHERE:
            return SAID_THERE, f"it lives in {there}", lives
        if bearer.use["kind"] in _NICKNAMES:
            says = "the name is recorded for it without a place"
            if lives:
                return PLACELESS, says, lives
            return ASTRAY, f"{says}, and it is not known from {there}", bearer.use["use"]
        return OPEN, "", lives

    def _there(self, taxon: str, place: str) -> tuple[str | None, str | None, str | None]:
        """The statements that keep the taxon out of a place, confine it elsewhere, put it there."""
        if (taxon, place) not in self._known_there:
            if len(self._known_there) >= _MOST_KEPT:
                self._known_there.clear()
            self._known_there[taxon, place] = (
                self._absent(taxon, place),
                self._beyond_limits(taxon, place),
                self._lives(taxon, place),
            )
        return self._known_there[taxon, place]

    def _where_said(
        self, bearer: Bearer, place: str, lives: str | None
    ) -> tuple[int, str, str | None]:
        """A name said in certain places: here, or elsewhere though the fish may live here too."""
        there, use = self.desk.label(place), bearer.use["use"]
        if any(self.places.together(place, w) for w in bearer.where):
            return SAID_THERE, f"the name is recorded for it in {there}", use
        if not all(self.places.relation(place, w) == APART for w in bearer.where):
            return OPEN, "", lives
        where = some([self.desk.label(w) for w in bearer.where], "places")
        says = f"the name is recorded for it only in {where}"
        if lives and bearer.use["kind"] != "op:misapplied":
            return LIVES_THERE, says, use
        return ELSEWHERE, says, use

    def ranges(self, taxon: str) -> list[Row]:
        """The range statements about a taxon."""
        if taxon not in self._ranges:
            self._ranges[taxon] = self.desk.query("ranges", t=node(taxon))
        return self._ranges[taxon]

    def _absent(self, taxon: str, place: str) -> str | None:
        ranges = self.ranges(taxon)
        if not any(r["presence"] == "op:absent" for r in ranges):
            return None
        here = [r for r in ranges if self.places.relation(place, r["where"]) == WITHIN]
        if any(r["presence"] in ("op:native", "op:introduced", "op:disputed") for r in here):
            return None
        return next((r["s"] for r in here if r["presence"] == "op:absent"), None)

    def _lives(self, taxon: str, place: str, surely: bool = False) -> str | None:
        """The statement that puts the taxon in the place.

        A native range that only touches the place counts in part; an introduction never spreads.
        """
        for row in self.ranges(taxon):
            near = self.places.relation(place, row["where"])
            if row["presence"] not in ("op:native", "op:introduced"):
                continue
            if near in (WITHIN, HOLDS):
                return str(row["s"])
            if near == TOUCHES and row["presence"] == "op:native" and not surely:
                return str(row["s"])
        return None

    def _beyond_limits(self, taxon: str, place: str) -> str | None:
        """The statement that confines the taxon elsewhere, if every such statement does."""
        limits = self.limits(taxon)
        if not limits or self._lives(taxon, place, surely=True):
            return None
        for inside in limits.values():
            if any(self.places.relation(place, q) != APART for q in inside):
                return None
        return next(iter(limits))

    def limits(self, taxon: str) -> dict[str, list[str]]:
        """Range limits about a taxon: statement to places."""
        if taxon not in self._limits:
            found: dict[str, list[str]] = {}
            for row in self.desk.query("limits", t=node(taxon)):
                found.setdefault(row["s"], []).append(row["inside"])
            self._limits[taxon] = found
        return self._limits[taxon]


def _kind(place: str) -> str:
    return "water" if place.startswith("w:") else "state"
