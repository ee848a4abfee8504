"""What each observation says for or against one fish.

Knows: a dependable character that cannot be rules out, a variable one lowers, colour says nothing;
a count outside the usual but inside the extremes is at the edge; sizes against the largest known.
Refuses to know: places, and which fish wins.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from opercle.questions.desk import Desk, node
from opercle.questions.given import Given, Seen, weight_or_length
from opercle.questions.units import Size, is_weight, length, weight
from opercle.questions.values import Value, Values, widened

FITS, EDGE, AGAINST, SILENT = "fits", "at the edge", "against", "silent"
MUCH_BIGGER = 1.25
"""Over the largest known by more than a quarter rules out: records grow, but not by so much
(our own rule, no source)."""

_LONGER = ("standard-length", "fork-length", "total-length", "length")


class Say(NamedTuple):
    """What one observation says: ``verdict`` is fits, at the edge, against or silent."""

    key: str
    verdict: str
    says: str
    known: str
    statements: tuple[str, ...]
    rules_out: bool = False


class Largest(NamedTuple):
    """The largest size known of a fish in one dimension, with its statement."""

    value: float
    dimension: str
    statement: str


def weigh(
    values: Values, mine: Mapping[str, Value], given: Given, sizes: Sequence[Largest]
) -> list[Say]:
    """One line an observation for one fish; misleading characters are left out."""
    said = [
        _say(values, seen, mine.get(seen.feature.key)) for seen in given.seen if seen.feature.counts
    ]
    return said + [_size(size, sizes) for size in given.sizes]


def _say(values: Values, seen: Seen, value: Value | None) -> Say:
    key, label = seen.feature.key, seen.feature.character.label
    if value is None:
        return Say(key, SILENT, f"{label}: not known here", "", ())
    verdict = compare(seen, value)
    told = values.told(value) or ""
    rules_out = verdict == AGAINST and seen.feature.dependable
    words = {
        FITS: f"{label}: {seen.told} is within {told}",
        EDGE: f"{label}: {seen.told} is outside the usual, but {_why_edge(value)}: {told}",
        AGAINST: f"{label}: {seen.told}, but this fish has {told}",
    }
    if seen.range is None:
        words[FITS] = f"{label}: {told}"
    says = words[verdict]
    if verdict == AGAINST and not rules_out:
        says += " (a variable character: it lowers, but does not rule out)"
    return Say(key, verdict, says, told, value.statements, rules_out)


def _why_edge(value: Value) -> str:
    return "occurs" if value.firm else "only single figures are known"


def compare(seen: Seen, value: Value) -> str:
    """How an observation lies to a value: fits, at the edge or against.

    Single figures of a character that varies set no bounds, so they cannot be contradicted.
    """
    reach = seen.reach
    if reach is not None and value.range is not None:
        if reach.gap(value.range):
            return AGAINST if value.firm else EDGE
        return EDGE if reach.gap(value.range.usual) else FITS
    if seen.states and value.states:
        return FITS if widened(seen.states) & widened(value.states) else AGAINST
    return SILENT if reach is None else AGAINST


def _size(size: Size, known: Sequence[Largest]) -> Say:
    what = weight_or_length(size)
    fit = [k for k in known if _comparable(size.dimension, k.dimension)]
    if not fit:
        return Say(size.dimension, SILENT, f"{what}: the largest known is not known here", "", ())
    most = max(fit, key=lambda k: k.value)
    told = weight(most.value) if is_weight(size.dimension) else length(most.value)
    share = size.value / most.value
    if share <= 1:
        says = f"{what}: {size.told} is not beyond the largest known, {told}"
        return Say(size.dimension, FITS, says, told, (most.statement,))
    if share <= MUCH_BIGGER:
        says = f"{what}: {size.told} is a little over the largest known, {told}"
        return Say(size.dimension, EDGE, says, told, (most.statement,))
    says = f"{what}: {size.told} is far over the largest known, {told}"
    return Say(size.dimension, AGAINST, says, told, (most.statement,), rules_out=True)


def _comparable(given: str, known: str) -> bool:
    """A given length may be held against the same length or a longer way of measuring it."""
    if is_weight(given) or is_weight(known):
        return given == known
    return _LONGER.index(known) >= _LONGER.index(given)


def standing(said: Sequence[Say]) -> str:
    """The standing of a fish from all that was said."""
    if any(s.rules_out for s in said):
        return AGAINST
    return EDGE if any(s.verdict in (EDGE, AGAINST) for s in said) else FITS


def largest_sizes(desk: Desk, taxon: str) -> list[Largest]:
    """The largest sizes stated of a fish itself."""
    return [
        Largest(r["value"], r["dimension"], r["s"]) for r in desk.query("largest", t=node(taxon))
    ]


def all_largest_sizes(desk: Desk) -> dict[str, list[Largest]]:
    """The same for all fishes at once."""
    found: dict[str, list[Largest]] = {}
    for r in desk.query("all_largest"):
        found.setdefault(r["t"], []).append(Largest(r["value"], r["dimension"], r["s"]))
    return found


def greatest_counts(desk: Desk) -> dict[str, float]:
    """The greatest count stated of any fish, by character."""
    return {r["c"].removeprefix("c:"): float(r["top"]) for r in desk.query("greatest")}
