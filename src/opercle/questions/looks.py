"""What a taxon looks like, in plain numbers and states, for whoever draws it.

Knows: the values a picture can show, which of them are known, whose statements they are, and
which characters tell two taxa apart.
Refuses to know: shapes, lines, colours. An unknown value is told as unknown, never filled in.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from opercle.answers import Reason
from opercle.counts import CountRange
from opercle.questions.desk import Desk, node
from opercle.questions.values import DECIDES, LEANS, Value, Values, by_use

COUNTS = (
    "dorsal-spines",
    "dorsal-soft-rays",
    "anal-spines",
    "anal-soft-rays",
    "pelvic-spines",
    "pelvic-soft-rays",
    "pectoral-rays",
    "caudal-branched-rays",
    "dorsal-finlets",
    "barbels",
    "lateral-line-scales",
)
RATIOS = ("body-depth", "head-length", "eye-diameter")
STATES = (
    "dorsal-fins",
    "adipose-fin",
    "tail-shape",
    "mouth-position",
    "jaw-reach",
    "opercle-edge",
    "cheek-scales",
    "lateral-line",
    "lateral-line-on-tail",
    "pelvic-position",
    "pectoral-shape",
    "second-anal-spine",
    "anal-base",
    "body-form",
    "scale-type",
    "ear-flap-length",
)
PATTERNS = ("side-pattern", "fin-ocellus")
"""Hints that never decide."""

_TOO_MANY = 3
"""A character with so many states in one taxon is told as varying, and not drawn."""


class Number(NamedTuple):
    """A count or proportion: its range, the statements, and the taxon they are about."""

    range: CountRange
    statements: tuple[str, ...]
    holder: str
    inherited: bool

    @property
    def middle(self) -> float:
        """The middle of the usual range, downward to a whole number for counts of five and more.

        An open range gives its lower bound. Proportions (below 1) are not rounded.
        """
        usual = self.range.usual
        most = usual.least if usual.most is None else usual.most
        half = (usual.least + most) / 2
        return half if 0 < half < 1 and most < 1 else float(int(half))


class State(NamedTuple):
    """The states of a character: local names such as ``joined``; ``drawn`` None if it varies."""

    states: tuple[str, ...]
    told: str
    drawn: str | None
    statements: tuple[str, ...]
    holder: str
    inherited: bool


class Looks(NamedTuple):
    """All a picture may rest on. Keys are the character keys, such as ``anal-spines``."""

    taxon: str
    name: str
    common: str | None
    rank: str
    family: str | None
    lineage: tuple[str, ...]
    numbers: dict[str, Number]
    states: dict[str, State]
    labels: dict[str, str]
    unknown: tuple[str, ...]
    reasons: tuple[Reason, ...]


class Difference(NamedTuple):
    """One character on which two taxa part, in words."""

    key: str
    label: str
    verdict: str
    one: str
    two: str
    seen: str


def of(desk: Desk, taxon: str, values: Values | None = None) -> Looks:
    """The looks of a taxon (``t:…``), its own values before gathered before inherited ones."""
    values = values or Values(desk)
    known = values.of(taxon)
    numbers = {
        key: Number(v.range, v.statements, desk.label(v.holder), v.holder != taxon)
        for key in (*COUNTS, *RATIOS)
        if (v := known.get(key)) and v.range is not None
    }
    states = {
        key: _state(desk, taxon, v)
        for key in (*STATES, *PATTERNS)
        if (v := known.get(key)) and v.states
    }
    about = desk.about(taxon)
    return Looks(
        taxon,
        str(about.get("name") or desk.label(taxon)),
        about.get("common"),
        str(about.get("rank", "")),
        about.get("familyName"),
        tuple(str(desk.about(t).get("name", "")) for t in (taxon, *desk.lineage(taxon))),
        numbers,
        states,
        {k: c.label for k, c in values.characters.items()},
        tuple(k for k in (*COUNTS, *RATIOS, *STATES) if k not in numbers and k not in states),
        _reasons(desk, (v for k, v in known.items() if k in numbers or k in states)),
    )


def _state(desk: Desk, taxon: str, value: Value) -> State:
    usual = [
        s for name in value.statements for s in desk.words.statement(name).get("op:usualState", ())
    ]
    order = _in_order(desk, value)
    drawn = usual[0] if usual else _most_said(desk, value, order)
    if len(order) >= _TOO_MANY and (not usual or value.holder != taxon):
        drawn = None
    return State(
        tuple(_local(s) for s in order),
        " or ".join(desk.label(s) for s in order),
        None if drawn is None else _local(drawn),
        value.statements,
        desk.label(value.holder),
        value.holder != taxon,
    )


def _in_order(desk: Desk, value: Value) -> list[str]:
    rank = {s: desk.words.statement(s).get("op:order", [0])[0] for s in sorted(value.states)}
    return sorted(rank, key=lambda s: (rank[s], s))


def _most_said(desk: Desk, value: Value, order: Sequence[str]) -> str:
    """The state that most statements allow; the first in the character's own order on a tie."""
    said = [desk.words.statement(name).get("op:state", []) for name in value.statements]
    return max(order, key=lambda s: (sum(s in one for one in said), -order.index(s)))


def _local(state: str) -> str:
    return state.rpartition("_")[2]


def _reasons(desk: Desk, values: Iterable[Value]) -> tuple[Reason, ...]:
    names = dict.fromkeys(s for v in values for s in v.statements)
    return tuple(desk.words.reason(s) for s in names)


def differences(desk: Desk, one: str, two: str) -> list[Difference]:
    """Characters that tell two taxa apart: those that decide, then those that lean.

    Within each, the most dependable and most easily seen stand first. Colour never counts.
    """
    values = Values(desk)
    here, there = values.of(one), values.of(two)
    found = []
    for key, character in values.characters.items():
        a, b = here.get(key), there.get(key)
        if a is None or b is None or key in PATTERNS:
            continue
        verdict = values.verdict(key, None, a, b)
        if verdict in (DECIDES, LEANS):
            found.append((verdict, by_use(character), character, a, b))
    found.sort(key=lambda r: ((DECIDES, LEANS).index(r[0]), r[1]))
    return [
        Difference(c.key, c.label, v, str(values.told(a)), str(values.told(b)), c.seen)
        for v, _, c, a, b in found
    ]


class Branch(NamedTuple):
    """A taxon in a family tree with what stands under it."""

    taxon: str
    name: str
    common: str | None
    rank: str
    members: tuple["Branch", ...]


def family_tree(desk: Desk, taxon: str) -> tuple[list[Branch], Branch, list[Reason]]:
    """The taxa above (highest first, without members), the taxon with its members, and why."""
    children: dict[str, list[str]] = {}
    placed: dict[str, str] = {}
    for row in desk.query("placed_under", t=node(taxon)):
        children.setdefault(row["parent"], []).append(row["u"])
        placed[row["u"]] = row["s"]
    above = [_branch(desk, t, {}) for t in reversed(desk.lineage(taxon))]
    names = [r["s"] for r in desk.query("placement", t=node(taxon))] + list(placed.values())
    reasons = [desk.words.reason(s) for s in dict.fromkeys(names)]
    return above, _branch(desk, taxon, children), reasons


def _branch(desk: Desk, taxon: str, children: dict[str, list[str]]) -> Branch:
    about = desk.about(taxon)
    members = [_branch(desk, t, children) for t in children.get(taxon, ())]
    members.sort(key=lambda b: b.name)
    return Branch(
        taxon,
        str(about.get("name") or desk.label(taxon)),
        about.get("common"),
        str(about.get("rank", "")),
        tuple(members),
    )


class Presence(NamedTuple):
    """Where a taxon is said to be: a water or place, what it is called, and what it touches.

    ``kind`` is ``place`` or the kind of water (river, lake, basin, slope, sea); ``reaches`` are
    states and countries, ``holds`` the waters inside it, in which a native presence holds too
    unless a nearer statement says otherwise.
    """

    where: str
    label: str
    kind: str
    presence: str
    reaches: tuple[str, ...]
    holds: tuple[str, ...]


def waters(desk: Desk, taxon: str) -> tuple[list[Presence], list[Reason]]:
    """Every stated presence of a taxon, doubted ones left out, with the statements.

    ``presence`` is native, introduced, disputed or absent.
    """
    found: dict[tuple[str, str], Presence] = {}
    reasons = []
    for row in desk.query("ranges", t=node(taxon)):
        where, presence = row["where"], row["presence"].removeprefix("op:")
        reasons.append(desk.words.reason(row["s"]))
        if (where, presence) in found:
            continue
        found[where, presence] = _presence(desk, where, presence)
    return list(found.values()), list(dict.fromkeys(reasons))


def _presence(desk: Desk, where: str, presence: str) -> Presence:
    if not where.startswith("w:"):
        return Presence(where, desk.label(where), "place", presence, (), ())
    reach = tuple(r["y"] for r in desk.query("reached", w=node(where)))
    holds = tuple(r["x"] for r in desk.query("inside_water", w=node(where)))
    kind = str(desk.words.statement(where).get("op:waterKind", ["water"])[0])
    return Presence(where, desk.label(where), kind, presence, reach, holds)


def water(desk: Desk, where: str) -> Presence:
    """A water or place as it lies: its label, what it reaches, and what it holds."""
    return _presence(desk, where, "")
