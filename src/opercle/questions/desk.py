"""The desk at which every question is worked: one snapshot with its words and proofs.

Knows: how to find taxa, names, waters and places by what a person writes.
Refuses to know: any one question.
"""

import re
from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

import pyoxigraph as ox

from opercle import build, reading
from opercle.answers import listed
from opercle.errors import UnknownError, UsageError
from opercle.store import Row, Snapshot, beside
from opercle.terms import PREFIXES, widen
from opercle.wording import Words

if TYPE_CHECKING:
    from opercle.proof import Prover

_PREFIXED = re.compile(r"t:[\w.-]+", re.ASCII)
FIRST_YEAR = 1500
"""No record of a fish in these waters by name is older."""


def node(name: str) -> ox.NamedNode:
    """A prefixed name as a node."""
    return ox.NamedNode(widen(name))


def key_of(text: str) -> ox.Literal:
    """The key of a name as a term."""
    return ox.Literal(reading.key_of(text))


class Found(NamedTuple):
    """Name uses found for what was written, and how it was read if misspelt."""

    written: str
    key: str
    uses: list[Row]
    read_as: dict[str, Any] | None


class Desk:
    """A snapshot with what the questions share."""

    def __init__(self, snapshot: Snapshot) -> None:
        self.snapshot = snapshot
        self.words = Words(snapshot)
        self._about: dict[str, Row] = {}
        self._lineage: dict[str, list[str]] = {}

    def words_known(self) -> dict[str, str]:
        """Group words by key."""
        return {r["key"]: r["w"] for r in self.query("words")}

    @cached_property
    def prover(self) -> "Prover":
        """Proofs over the same snapshot."""
        from opercle.proof import Prover

        return Prover(self.snapshot, self.words)

    @cached_property
    def keys(self) -> list[str]:
        """The keys of all names."""
        found: list[str] = build.listed(self.snapshot, "keys")
        return found

    def query(self, name: str, **values: Any) -> list[Row]:
        """Run the query file of that name."""
        return self.snapshot.rows(beside(__file__, name), **values)

    def label(self, name: str) -> str:
        """What a thing is called."""
        return self.words.label(name)

    # ---- names -----------------------------------------------------------------------------

    def find(self, written: str) -> Found:
        """All uses of a name: as written, in the singular, abbreviated, or misspelt.

        Raises UnknownError with the nearest spellings where nothing is near enough.
        """
        name = reading.clean(written)
        key = reading.normal(name)
        if not key:
            raise UnknownError(f"Nothing is known by the name “{name}”.", "", _HOW)
        for form in reading.singulars(key):
            uses = self.query("uses", key=key_of(form))
            if uses:
                return Found(name, form, uses, None)
        uses = self._abbreviated(name)
        if uses:
            return Found(name, key, uses, None)
        return self._misspelt(name, key)

    def _abbreviated(self, name: str) -> list[Row]:
        """``M. salmoides``: the genus by its first letter."""
        parts = name.replace(".", ". ").split()
        if len(parts) != 2 or not parts[0].endswith(".") or len(parts[0]) > 4:
            return []
        found = self.query("epithet", epithet=ox.Literal(parts[1].lower()))
        start = parts[0][:-1].lower()
        return [u for u in found if str(u["form"]).lower().startswith(start)]

    def _misspelt(self, name: str, key: str) -> Found:
        near = reading.nearest(key, self.keys)
        best = self._surely(near)
        uses = self.query("uses", key=key_of(best.key)) if best else []
        if best is None or not uses:
            raise UnknownError(
                f"Nothing is known by the name “{name}”.",
                "",
                _HOW,
                nearest=tuple(r.key for r in near if r.score > 0.5),
            )
        read_as = {"name": uses[0]["form"], "score": best.score}
        return Found(name, best.key, uses, read_as)

    def _surely(self, near: list[reading.Reading]) -> reading.Reading | None:
        """The best reading if it is sure; a rival that means only the same fishes is no rival."""
        if not near:
            return None
        meant = self._meant(near[0])
        rivals = [
            r for r in near[1:] if not all(meant & {t, *self.lineage(t)} for t in self._meant(r))
        ]
        return reading.sure([near[0], *rivals])

    def _meant(self, one: reading.Reading) -> frozenset[str]:
        return frozenset(u["t"] for u in self.query("uses", key=key_of(one.key)))

    def taxa(self, written: str) -> tuple[list[str], dict[str, Any] | None]:
        """The taxa that a name can mean as the subject of a question, and how it was read.

        A scientific name followed here, or the one standard name of a list, stands before other
        uses of the same name; a group and its own members count as the group. What was passed
        over is told by ``passed_over``. A prefixed name (``t:Lepomis``) means its taxon alone.
        """
        own = self.prefixed(written)
        if own is not None:
            return [own], None
        found = self.find(written)
        first = _first(found)
        if first:
            return first, found.read_as
        taxa = list(dict.fromkeys(u["t"] for u in found.uses))
        return self.narrow(taxa, found.uses), found.read_as

    def standard(self, written: str) -> list[str]:
        """The one taxon whose followed scientific or standard name this is; empty if none."""
        try:
            return _first(self.find(written))
        except UnknownError:
            return []

    def passed_over(self, written: str, taxon: str) -> list[str]:
        """A caution where a name taken as one fish's is in use for others too."""
        if self.prefixed(written) is not None:
            return []
        others = {u["t"] for u in self.find(written).uses if u["t"] != taxon}
        others -= {t for t in others if taxon in self.lineage(t) or t in self.lineage(taxon)}
        if not others:
            return []
        names = listed(sorted(self.label(t) for t in others))
        return [
            f"“{written}” is taken as the name of {self.label(taxon)}; it is also used for {names}."
        ]

    def prefixed(self, written: str) -> str | None:
        """The taxon of a prefixed name; None for any other name, UnknownError if there is none."""
        name = written.strip()
        if not _PREFIXED.fullmatch(name):
            return None
        if not self.about(name).get("name"):
            raise UnknownError(f"No taxon is known as “{name}”.", "", _HOW)
        return name

    def narrow(self, taxa: Sequence[str], uses: Sequence[Row]) -> list[str]:
        """A group named as such swallows its own members; else all stand."""
        groups = {u["t"] for u in uses if u["kind"] == "op:group"}
        groups |= {t for t in taxa if self.rank(t) == "species"}
        for group in sorted(groups, key=lambda g: -len(self.under(taxa, g))):
            if len(self.under(taxa, group)) == len(taxa):
                return [group]
        return list(taxa)

    def under(self, taxa: Sequence[str], group: str) -> list[str]:
        """Those of the taxa that stand at or under a group."""
        return [t for t in taxa if group == t or group in self.lineage(t)]

    # ---- taxa ------------------------------------------------------------------------------

    def about(self, taxon: str) -> Row:
        """Scientific name, author, rank, family and standard name of a taxon."""
        if taxon not in self._about:
            rows = self.query("taxon", t=node(taxon))
            if not rows:
                return {"t": taxon}
            self._about[taxon] = rows[0]
        return self._about[taxon]

    def rank(self, taxon: str) -> str:
        """The rank of a taxon."""
        return str(self.about(taxon).get("rank", ""))

    def lineage(self, taxon: str) -> list[str]:
        """The taxa above a taxon, nearest first."""
        if taxon not in self._lineage:
            rows = self.query("lineage", t=node(taxon))
            self._lineage[taxon] = [r["u"] for r in rows]
        return self._lineage[taxon]

    def cautions(self, taxa: Sequence[str]) -> list[str]:
        """What to beware of in these fishes, their groups included."""
        rows = [r for taxon in taxa for r in self.query("cautions", t=node(taxon))]
        return list(dict.fromkeys(f"{self.label(r['u'])}: {r['text']}" for r in rows))

    # ---- places ----------------------------------------------------------------------------

    def water(self, written: str) -> list[str]:
        """The waters that a name can mean; UnknownError if none."""
        return self._place(written, "op:Water", "water", ("{} river", "{} creek", "lake {}"))

    def state(self, written: str) -> list[str]:
        """The state, province, country or region that a name or ISO code means."""
        code = written.strip().upper()
        for prefix in ("US-", "CA-", "MX-", ""):
            slug = prefix + code.replace(" ", "-")
            if self.snapshot.ask("ASK { ?x a op:Place }", x=ox.NamedNode(PREFIXES["pl"] + slug)):
                return [f"pl:{slug}"]
        return self._place(written, "op:Place", "state or place", ())

    def _place(self, written: str, kind: str, what: str, forms: Sequence[str]) -> list[str]:
        name = reading.clean(written)
        key = reading.normal(name).removeprefix("the ")
        for form in ("{}", *forms):
            rows = self.query("place", key=key_of(form.format(key)), kind=node(kind))
            if rows:
                return sorted({r["x"] for r in rows})
        rows = self.snapshot.rows(
            "SELECT ?kind ?f { ?x a ?kind ; skos:prefLabel ?f }", kind=node(kind)
        )
        near = reading.nearest(key, [reading.normal(r["f"]) for r in rows], most=3)
        raise UnknownError(
            f"No {what} is known by the name “{name}”.",
            "",
            "Name a larger water or a state, or add it in a local pack (--with).",
            nearest=tuple(r.key for r in near if r.score > 0.6),
        )


def _first(found: Found) -> list[str]:
    """The taxon that a followed scientific name, or else a followed standard name, means alone."""
    for kind in ("op:scientific", "op:standard"):
        taxa = {u["t"] for u in found.uses if u["kind"] == kind and u.get("followed")}
        if len(taxa) == 1:
            return sorted(taxa)
    return []


_HOW = "Check the spelling, try another name of the fish, or add the name in a local pack (--with)."


def year_of(written: str | int | None) -> int | None:
    """A year as a number; UsageError if it is not one."""
    if written is None:
        return None
    text = str(written).strip()
    if not (text.isascii() and text.isdigit()) or not FIRST_YEAR <= int(text) <= 2100:
        raise UsageError(
            f"“{text[:40]}” is not a year.", "--year", f"Write four figures, {FIRST_YEAR} to 2100."
        )
    return int(text)
