"""How a set of fishes is best cut in two by one character.

Knows: every cut that a count, a proportion or a set of states allows, and the worth of each.
Refuses to know: colour; and a cut by what is not stated: a fish whose value is not known stops.

The worth of a cut is the information it gains (the fall of the binary logarithm of the number of
fishes left, each fish weighed by how common it is), times trust and ease.
"""

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import log2
from typing import NamedTuple

from opercle.counts import CountRange
from opercle.questions.features import COUNT, HABITS, RATIO, STATE, Feature
from opercle.questions.values import Value

_TRUST = {"dependable": 1.0, "variable": 0.35, "misleading": 0.0}
_EASE = {"at a glance": 1.0, "in the hand": 0.9, "under a lens": 0.55, "by dissection": 0.25}
_HABIT = 0.15
_MEASURED = 0.7
_WHOLE = 1.2
_LEAST_GAIN = 1e-6
_MOST_BOTH = 0.34
"""A cut that more than this share of the fishes can pass both ways is no help to a reader."""

_FEW = 0.2
"""Up to this share of fishes without a value are carried both ways; more of them stop."""

_FAR = 0.05
"""Two proportions nearer than this are not held apart: they are measured no better
(our own rule, no source)."""

_MANY_STATES = 6


class Fish(NamedTuple):
    """A fish on its way through the key; ``values`` are narrowed to the leads it came by."""

    taxon: str
    genus: str
    weight: float
    values: Mapping[str, Value]


class Cut(NamedTuple):
    """One character cut in two: what the first lead holds, and the fishes on each side."""

    feature: Feature
    at: float
    states: frozenset[str]
    one: tuple[Fish, ...]
    two: tuple[Fish, ...]
    both: tuple[Fish, ...]
    unknown: tuple[Fish, ...]
    worth: float

    @property
    def carried(self) -> tuple[Fish, ...]:
        """The few whose value is not known, which go both ways."""
        few = max(1, (len(self.one) + len(self.two) + len(self.both)) * _FEW)
        return self.unknown if len(self.unknown) <= few else ()

    @property
    def stopped(self) -> tuple[Fish, ...]:
        """The many whose value is not known, which are not carried further."""
        return () if self.carried else self.unknown

    @property
    def clean(self) -> bool:
        """True if every fish goes one way only."""
        return not self.both and not self.unknown


def best(fishes: Sequence[Fish], features: Mapping[str, Feature]) -> Cut | None:
    """The worthiest cut, or None where no character parts these fishes.

    While several genera are together, a dependable cut that keeps every genus whole and carries
    every fish comes before all others, as a handbook keys the genera before the species.
    """
    cuts = [c for f in features.values() if f.counts for c in _cuts(fishes, f)]
    cuts = [c for c in cuts if c.worth > _LEAST_GAIN]
    whole = [c for c in cuts if c.feature.dependable and c.clean and _keeps_genera(c.one, c.two)]
    easy = [c for c in whole if c.feature.character.seen != "by dissection"]
    return max(easy or cuts, key=lambda c: c.worth, default=None)


def _cuts(fishes: Sequence[Fish], feature: Feature) -> list[Cut]:
    known = [f for f in fishes if feature.key in f.values]
    if len(known) < 2:
        return []
    if feature.kind == STATE:
        return [_by_states(fishes, feature, states) for states in _halves(known, feature)]
    return [_by_number(fishes, feature, at) for at in _points(known, feature)]


def _points(known: Sequence[Fish], feature: Feature) -> list[float]:
    """Where a count can be cut: just at the most that some fish has."""
    ends = set()
    for fish in known:
        reach = fish.values[feature.key].range
        if reach is not None and reach.most is not None:
            ends.add(reach.most)
    return sorted(ends)


def _halves(known: Sequence[Fish], feature: Feature) -> list[frozenset[str]]:
    """Every way to part the states that occur in two, the first state always on the first side."""
    occur = {s for f in known for s in f.values[feature.key].states}
    states = [s for s, _ in feature.states if s in occur]
    if len(states) > _MANY_STATES:
        runs = [frozenset(states[:n]) for n in range(1, len(states))]
        return list(dict.fromkeys(runs + [frozenset([s]) for s in states]))
    rest = states[1:]
    return [
        frozenset([states[0], *some]) for n in range(len(rest)) for some in combinations(rest, n)
    ]


def _by_number(fishes: Sequence[Fish], feature: Feature, at: float) -> Cut:
    one, two, both, unknown = [], [], [], []
    above = at + (_FAR if feature.kind == RATIO else 0)
    for fish in fishes:
        value = fish.values.get(feature.key)
        if value is None or value.range is None:
            unknown.append(fish)
        elif value.range.most is not None and value.range.most <= at:
            one.append(fish)
        elif value.range.least > above:
            two.append(fish)
        else:
            both.append(fish)
    return _cut(fishes, feature, at, frozenset(), one, two, both, unknown)


def _by_states(fishes: Sequence[Fish], feature: Feature, states: frozenset[str]) -> Cut:
    one, two, both, unknown = [], [], [], []
    for fish in fishes:
        value = fish.values.get(feature.key)
        if value is None or not value.states:
            unknown.append(fish)
        elif value.states <= states:
            one.append(fish)
        elif not value.states & states:
            two.append(fish)
        else:
            both.append(fish)
    return _cut(fishes, feature, 0.0, states, one, two, both, unknown)


def _cut(
    fishes: Sequence[Fish],
    feature: Feature,
    at: float,
    states: frozenset[str],
    one: list[Fish],
    two: list[Fish],
    both: list[Fish],
    unknown: list[Fish],
) -> Cut:
    worth = _worth(feature, one, two, both, unknown) if one and two else 0.0
    known = len(one) + len(two) + len(both)
    if len(both) > max(1, known * _MOST_BOTH) or (feature.kind == RATIO and both):
        worth = 0.0
    return Cut(feature, at, states, tuple(one), tuple(two), tuple(both), tuple(unknown), worth)


def _worth(
    feature: Feature,
    one: Sequence[Fish],
    two: Sequence[Fish],
    both: Sequence[Fish],
    unknown: Sequence[Fish],
) -> float:
    every = len(one) + len(two) + len(both) + len(unknown)
    if len(unknown) <= max(1, (every - len(unknown)) * _FEW):
        both, unknown = [*both, *unknown, *unknown], []
    first, second = len(one) + len(both), len(two) + len(both)
    total, left = 0.0, 0.0
    for side, size in ((one, first), (two, second), (both, (first + second) / 2), (unknown, every)):
        heavy = sum(f.weight for f in side)
        total += heavy
        left += heavy * log2(size) if heavy else 0.0
    gain = log2(every) - left / total
    known = 1 - sum(f.weight for f in unknown) / total
    gain *= known * known * (1 - 0.7 * len(both) / every)
    return gain * _handy(feature) * _whole(one, two, both, unknown)


def _handy(feature: Feature) -> float:
    weight = _TRUST[feature.character.trust] * _EASE[feature.character.seen]
    weight *= _MEASURED if feature.kind == RATIO else 1.0
    return weight * (_HABIT if feature.key in HABITS else 1.0)


def _whole(
    one: Sequence[Fish], two: Sequence[Fish], both: Sequence[Fish], unknown: Sequence[Fish]
) -> float:
    """A cut that keeps every genus whole is worth more: the key then follows the groups."""
    return _WHOLE if not both and not unknown and _keeps_genera(one, two) else 1.0


def _keeps_genera(one: Sequence[Fish], two: Sequence[Fish]) -> bool:
    return not {f.genus for f in one} & {f.genus for f in two}


def narrowed(fish: Fish, cut: Cut, first: bool) -> Fish:
    """The fish as it goes on by the first or second lead."""
    value = fish.values.get(cut.feature.key)
    if value is None:
        return fish
    if cut.feature.kind == STATE:
        states = value.states & cut.states if first else value.states - cut.states
        new = value._replace(states=states)
    else:
        new = value._replace(range=_clipped(value.range, cut, first))
    return fish._replace(values={**fish.values, cut.feature.key: new})


def _clipped(reach: CountRange | None, cut: Cut, first: bool) -> CountRange | None:
    if reach is None:
        return None
    step = 1 if cut.feature.kind == COUNT else 0
    if first:
        most = cut.at if reach.most is None else min(reach.most, cut.at)
        return CountRange(reach.least, most)
    return CountRange(max(reach.least, cut.at + step), reach.most)
