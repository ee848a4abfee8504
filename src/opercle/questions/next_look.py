"""Which observation would split the fishes left best, and how to make it.

Knows: the number of fishes expected to be left after each observation, trust, ease, and when
only the water tells.
Refuses to know: characters that mislead.

The number expected to be left is the mean, over what could be seen, of the fishes that would
still fit: each fish left is held equally likely and shows each of its usual values equally often;
one whose value is not known stays in whatever is seen.
"""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from typing import Any, NamedTuple

from opercle.counts import CountRange
from opercle.questions.desk import Desk, node
from opercle.questions.features import HABITS, RATIO, Feature
from opercle.questions.places import Places
from opercle.questions.values import Value, Values, bounded, widened

_TRUST = {"dependable": 1.0, "variable": 0.5}
_EASE = {"at a glance": 1.0, "in the hand": 0.9, "under a lens": 0.6, "by dissection": 0.25}
_HABIT = 0.2
_MOST_ASKED = 5
_FEW = 12
_STEPS = 40


class Look(NamedTuple):
    """One possible observation: how many fishes are expected to be left, and its worth."""

    feature: Feature
    expected: float
    worth: float


def looks(
    features: Mapping[str, Feature],
    left: Mapping[str, Mapping[str, Value]],
    used: Collection[str],
) -> list[Look]:
    """Observations not yet made that would split what is left, best first."""
    found = []
    for key, feature in features.items():
        if key in used or not feature.counts:
            continue
        known = {t: mine[key] for t, mine in left.items() if key in mine and bounded(mine[key])}
        if len(known) < 2:
            continue
        expected = _expected(feature, known, len(left) - len(known))
        gain = len(left) - expected
        if gain > 1e-9:
            weight = _TRUST[feature.character.trust] * _EASE[feature.character.seen]
            weight *= _HABIT if key in HABITS else 1.0
            found.append(Look(feature, expected, gain * weight))
    return sorted(found, key=lambda look: (-look.worth, look.feature.character.order))


def _expected(feature: Feature, known: Mapping[str, Value], unknown: int) -> float:
    """The expected number left; a variable character leaves half of what it speaks against."""
    alike = Counter((v.range, widened(v.states)) for v in known.values())
    outcomes = _outcomes(feature, alike)
    if not outcomes:
        return float(len(known) + unknown)
    lost = 1.0 if feature.dependable else 0.5
    total = 0.0
    for outcome, share in outcomes.items():
        unfit = sum(
            n for (reach, states), n in alike.items() if not _allows(reach, states, outcome)
        )
        total += share * (unknown + len(known) - lost * unfit)
    return total


Outcome = float | str
_Alike = Counter[tuple[CountRange | None, frozenset[str]]]


def _outcomes(feature: Feature, alike: _Alike) -> dict[Outcome, float]:
    """What could be seen, with how likely it is over the fishes left."""
    found: dict[Outcome, float] = {}
    top = max((r.most or r.least for r, _ in alike if r), default=0.0)
    for (reach, states), n in alike.items():
        shown = sorted(states) if reach is None else _shown(feature, reach, top)
        for outcome in shown:
            found[outcome] = found.get(outcome, 0.0) + n / len(shown) / alike.total()
    return found


def _shown(feature: Feature, reach: CountRange, top: float) -> list[float]:
    usual = reach.usual
    high = max(top, usual.least) if usual.most is None else usual.most
    step = 0.02 if feature.kind == RATIO else max(1.0, round((high - usual.least) / _STEPS))
    count = int((high - usual.least) / step + 1e-9)
    return [round(usual.least + i * step, 4) for i in range(count + 1)]


def _allows(reach: CountRange | None, states: frozenset[str], outcome: Outcome) -> bool:
    if isinstance(outcome, str):
        return outcome in states
    if reach is None:
        return False
    return reach.least <= outcome and (reach.most is None or outcome <= reach.most)


def by_water(desk: Desk, taxa: Sequence[str]) -> float | None:
    """How many of the fishes would be left, on average, if the water were known.

    None where too many are left to reckon, or too little is known of where they live.
    """
    if not 2 <= len(taxa) <= _FEW:
        return None
    places = Places(desk)
    homes = {t: _homes(desk, t) for t in taxa}
    homes = {t: h for t, h in homes.items() if h}
    if len(homes) < 2:
        return None
    around = {p: frozenset({p}) | places.inside(p) for h in homes.values() for p in h}
    reach = {t: frozenset().union(*(around[p] for p in h)) for t, h in homes.items()}
    total = 0.0
    for taxon, home in homes.items():
        left = 0.0
        for place in home:
            others = [t for t in homes if t != taxon]
            near = [t for t in others if place in reach[t] or homes[t] & around[place]]
            left += 1 + len(near)
        total += left / len(home)
    return total / len(homes) + len(taxa) - len(homes)


def _homes(desk: Desk, taxon: str) -> frozenset[str]:
    """The waters a fish lives in, or the states where no water is stated."""
    rows = desk.query("ranges", t=node(taxon))
    stated = {r["where"] for r in rows if r["presence"] in ("op:native", "op:introduced")}
    stated |= {r["inside"] for r in desk.query("limits", t=node(taxon))}
    waters = {p for p in stated if p.startswith("w:")}
    return frozenset(waters or stated)


def row(values: Values, look: Look, left: Mapping[str, str], of: int) -> dict[str, Any]:
    """A look as the contract's ``next[]`` writes it; ``left`` maps fishes to their labels."""
    key, character = look.feature.key, look.feature.character
    tells: dict[str, str] = {}
    if len(left) <= _FEW:
        for taxon, label in left.items():
            tells[label] = values.told(values.of(taxon).get(key)) or "not known here"
    return {
        "ask": key,
        "label": character.label,
        "how": f"{character.asks} {look.feature.how}",
        "seen": character.seen,
        "trust": character.trust,
        "expected_left": round(look.expected, 2),
        "of": of,
        "kind": look.feature.kind,
        "states": [label for _, label in look.feature.states],
        "tells": tells,
    }


def water_row(expected: float | None, of: int, alone: bool) -> dict[str, Any]:
    """The question for the water, in the same form."""
    how = "In which water was it caught, or at least in which state?"
    if alone:
        how += " These fishes are told by the water, not by any dependable character known here."
    return {
        "ask": "water",
        "label": "the water",
        "how": how,
        "seen": "at a glance",
        "trust": "dependable",
        "expected_left": None if expected is None else round(expected, 2),
        "of": of,
        "kind": "place",
        "states": [],
        "tells": {},
    }


def most_asked(rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """As many as a person can take in."""
    return list(rows[:_MOST_ASKED])
