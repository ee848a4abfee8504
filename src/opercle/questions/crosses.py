"""Hybrids whose parents' counts lie on both sides of those given.

Knows: crosses stated in the knowledge and the values of their parents.
Refuses to know: a hybrid as the answer; it warns, and says what would have to be looked at.
"""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from opercle.answers import listed
from opercle.questions.desk import Desk
from opercle.questions.given import Given, Seen
from opercle.questions.values import Value, Values, widened
from opercle.questions.weighing import AGAINST, FITS, compare


class Cross(NamedTuple):
    """A hybrid with its parents."""

    taxon: str
    parents: tuple[str, str]


def crosses(desk: Desk) -> list[Cross]:
    """Every hybrid of two known parents."""
    parents: dict[str, list[str]] = {}
    for row in desk.query("crosses"):
        if row["p"] not in parents.setdefault(row["t"], []):
            parents[row["t"]].append(row["p"])
    return [Cross(t, (p[0], p[1])) for t, p in parents.items() if len(p) == 2]


def warnings(desk: Desk, values: Values, given: Given, within: Iterable[str] | None) -> list[str]:
    """A caution for each hybrid that the observations may show."""
    held = None if within is None else set(within)
    told = []
    for cross in crosses(desk):
        if held is not None and not held & set(cross.parents):
            continue
        mother, father = (values.of(p) for p in cross.parents)
        by = between(given, mother, father)
        if by:
            names = listed([desk.label(p) for p in cross.parents])
            told.append(
                f"A hybrid is possible: {desk.label(cross.taxon)} is known, and what was seen lies "
                f"between {names} ({listed(by)})."
            )
    return told


def between(given: Given, mother: Mapping[str, Value], father: Mapping[str, Value]) -> list[str]:
    """The labels of the characters by which a fish stands between two parents, if it does.

    It does where every observation lies within the parents' values taken together, and one lies
    outside the usual of both, or some fit only the one and others only the other.
    """
    neither: list[str] = []
    one_sided: dict[bool, list[str]] = {True: [], False: []}
    for seen in given.seen:
        a, b = mother.get(seen.feature.key), father.get(seen.feature.key)
        if a is None or b is None or not seen.feature.counts:
            continue
        if not _inside_both(seen, a, b):
            return []
        fits_a, fits_b = compare(seen, a) == FITS, compare(seen, b) == FITS
        if not fits_a and not fits_b:
            neither.append(seen.feature.character.label)
        elif fits_a != fits_b:
            one_sided[fits_a].append(seen.feature.character.label)
    if one_sided[True] and one_sided[False]:
        return neither + one_sided[True] + one_sided[False]
    return neither


def _inside_both(seen: Seen, a: Value, b: Value) -> bool:
    if a.range is not None and b.range is not None:
        hull = Value(a.range.hull(b.range), frozenset(), (), "", a.firm + b.firm)
        return compare(seen, hull) != AGAINST
    return bool(widened(seen.states) & widened(a.states | b.states))
