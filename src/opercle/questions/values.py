"""What a taxon's characters are, after overrides, and how two taxa differ on them.

Knows: own values before gathered before inherited ones; hulls where sources differ; verdicts.
Refuses to know: why anybody compares.
"""

from functools import cached_property
from typing import Any, NamedTuple

from opercle.counts import CountRange
from opercle.questions.desk import Desk, node
from opercle.terms import shorten

EASE = ("at a glance", "in the hand", "under a lens", "by dissection")
TRUST = ("dependable", "variable", "misleading")
DECIDES, LEANS, AGREES, SILENT, AGAINST = (
    "decides",
    "leans",
    "agrees with both",
    "silent",
    "against",
)
VERDICTS = (DECIDES, LEANS, AGAINST, AGREES, SILENT)
"""In the order in which they weigh and are shown."""


_VAGUE = {
    "c:tongue-teeth_present": frozenset(
        f"c:tongue-teeth_{how}" for how in ("one-patch", "two-patches", "edge-only")
    )
}
"""States that say less than others: teeth present, patches not counted, may be any of these."""


def widened(states: frozenset[str]) -> frozenset[str]:
    """The states with all that a vague one may stand for."""
    return states.union(*(_VAGUE.get(s, frozenset()) for s in states))


class Character(NamedTuple):
    """A character and how to use it."""

    key: str
    label: str
    trust: str
    seen: str
    asks: str
    order: int


class Value(NamedTuple):
    """What a taxon has on one character: a range or states, and the statements it rests on.

    ``firm`` are the statements that set bounds; a single figure of a character that varies tells
    only what is usual.
    """

    range: CountRange | None
    states: frozenset[str]
    statements: tuple[str, ...]
    holder: str
    firm: tuple[str, ...] = ()

    def cannot_meet(self, other: "Value") -> bool:
        """True if no value is possible for both."""
        if self.range is not None and other.range is not None:
            return bool(self.firm and other.firm) and self.range.gap(other.range)
        if not self.states or not other.states:
            return False
        return not widened(self.states) & widened(other.states)

    def parts_usually(self, other: "Value") -> bool:
        """True if the usual values share nothing."""
        if self.range is None or other.range is None:
            return False
        return self.range.usual.gap(other.range.usual)


class Values:
    """The characters of taxa over one snapshot."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._of: dict[str, dict[str, Value]] = {}

    @cached_property
    def characters(self) -> dict[str, Character]:
        """Every character by its key (``anal-spines``), in reading order."""
        found = {}
        for line in self._brief("g:snapshot"):
            c, label, trust, seen, asks, order = line.split("\t")
            key = shorten(c).removeprefix("c:")
            found[key] = Character(key, label, trust, seen, asks, int(order))
        return found

    def _brief(self, name: str) -> list[str]:
        """The lines of a thing's brief; none where it has none."""
        return [t for told in self.desk.snapshot.of(node(name), "op:brief") for t in _lines(told)]

    def of(self, taxon: str) -> dict[str, Value]:
        """A taxon's values by character key: its own, else gathered, else inherited."""
        if taxon not in self._of:
            self._of[taxon] = self._collect(taxon)
        return self._of[taxon]

    def _collect(self, taxon: str) -> dict[str, Value]:
        return _settled(taxon, self._brief(taxon))

    def load_species(self) -> list[str]:
        """Read the values of every species with one query; returns the species that have any."""
        rows = {r["t"]: _lines(r["brief"]) for r in self.desk.query("all_values")}
        for taxon, own in rows.items():
            self._of.setdefault(taxon, _settled(taxon, own))
        return sorted(rows)

    def told(self, value: Value | None) -> str | None:
        """A value in words: ``5-7 (usually 6)`` or the labels of states."""
        if value is None:
            return None
        if value.range is not None:
            return str(value.range)
        return " or ".join(sorted(self.desk.label(s) for s in value.states))

    def verdict(
        self, key: str, subject: Value | None, own: Value | None, other: Value | None
    ) -> str:
        """What one character says for a subject in its own group rather than another one.

        ``own`` is the value of the group it is placed in; None where the subject is the group.
        """
        trust = self.characters[key].trust
        here = subject or own
        if here is None or other is None or trust == "misleading":
            return SILENT
        fits_own = subject is None or own is None or not subject.cannot_meet(own)
        if here.cannot_meet(other):
            if not fits_own:
                return SILENT
            return DECIDES if trust == "dependable" else LEANS
        if not fits_own:
            return AGAINST if trust == "dependable" else SILENT
        return LEANS if here.parts_usually(other) else AGREES


class _Given(NamedTuple):
    """One statement as compiled into its brief."""

    statement: str
    about: str
    range: CountRange | None
    states: tuple[str, ...]
    firm: bool


def _given(statement: str, brief: str) -> tuple[str, _Given]:
    about, key, least, most, usual_least, usual_most, states, single = brief.split("\t")
    reach = None
    if least:
        reach = CountRange(
            float(least),
            float(most) if most else None,
            float(usual_least or least) if usual_least or least == most else None,
            float(usual_most or most) if usual_most or least == most else None,
        )
    return key, _Given(statement, about, reach, tuple(states.split()), not single)


def _lines(brief: str) -> list[str]:
    return brief.split("\n")


def _settled(taxon: str, lines: list[str]) -> dict[str, Value]:
    """A taxon's values from the statements it goes by: own before gathered before inherited."""
    by_key: dict[str, dict[str, list[_Given]]] = {}
    for gathers, statement, brief in sorted((t.split("\t", 2) for t in lines), key=_statement):
        key, given = _given(statement, brief)
        how = "gathered" if gathers == "op:gathers" else "inherited"
        if how == "inherited" and given.about == taxon:
            how = "own"
        by_key.setdefault(key, {}).setdefault(how, []).append(given)
    found = {}
    for key, ways in by_key.items():
        held = ways.get("own") or ways.get("gathered") or ways["inherited"]
        nearer = "own" in ways or "gathered" in ways
        found[key] = _value(held, taxon if nearer else held[0].about)
    return found


def _statement(line: list[str]) -> str:
    return line[1]


def _value(held: list[_Given], holder: str) -> Value:
    hull: CountRange | None = None
    for reach in _closed([g.range for g in held if g.range is not None]):
        hull = reach if hull is None else hull.hull(reach)
    states = frozenset(s for given in held for s in given.states)
    statements = tuple(dict.fromkeys(g.statement for g in held))
    firm = tuple(dict.fromkeys(g.statement for g in held if g.firm))
    return Value(hull, states, statements, holder, firm)


def _closed(ranges: list[CountRange]) -> list[CountRange]:
    """A source that gives no upper bound says nothing of it where others do."""
    bounds = [r.most for r in ranges if r.most is not None]
    if not bounds:
        return ranges
    top = max(bounds)
    return [r if r.most is not None else r._replace(most=max(top, r.least)) for r in ranges]


def bounded(value: Value) -> bool:
    """True unless only single figures of a character that varies are known."""
    return value.range is None or bool(value.firm)


def by_use(character: Character) -> tuple[Any, ...]:
    """A sorting key: the most dependable and most easily seen first."""
    return (TRUST.index(character.trust), EASE.index(character.seen), character.order)
