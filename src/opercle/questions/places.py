"""How two places lie to each other: one inside the other, touching, apart, or not known.

Knows: the tree of waters, the nesting of states, and which water reaches which state.
Refuses to know: fishes.
"""

from collections.abc import Sequence
from functools import cached_property

from opercle.questions.desk import Desk, node

WITHIN, HOLDS, TOUCHES, APART, UNKNOWN = "within", "holds", "touches", "apart", "unknown"
_MOST_KEPT = 100
TOGETHER = (WITHIN, HOLDS, TOUCHES)


class Places:
    """Relations of waters and places, each looked up once."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._inside: dict[str, frozenset[str]] = {}
        self._reaches: dict[str, frozenset[str]] = {}
        self._relations: dict[str, dict[str, str]] = {}
        self._coasts: dict[str, frozenset[str]] = {}

    def inside(self, place: str) -> frozenset[str]:
        """All that holds the place."""
        return self._look(self._inside, place, "SELECT ?x ?y { ?x op:insideOf ?y }")

    def reaches(self, water: str) -> frozenset[str]:
        """The states and countries that a water lies in or borders."""
        return self._look(self._reaches, water, "SELECT ?x ?y { ?x op:reaches ?y }")

    def coasts(self, land: str) -> frozenset[str]:
        """The seas that a state or country has a coast on."""
        return self._look(self._coasts, land, "SELECT ?x ?y { ?x op:coastOn ?y }")

    def coast(self, lands: Sequence[str]) -> str | None:
        """The sea off all of some lands: of several the one that holds the others, if one does."""
        shared = [self.coasts(land) for land in lands if self.coasts(land)]
        seas = frozenset.intersection(*shared) if shared else frozenset()
        whole = [s for s in sorted(seas) if all(s == o or s in self.inside(o) for o in seas)]
        return whole[0] if whole else None

    @cached_property
    def _seas(self) -> frozenset[str]:
        rows = self.desk.snapshot.rows('SELECT ?x { ?x op:waterKind "sea" }')
        return frozenset(r["x"] for r in rows)

    def is_sea(self, place: str) -> bool:
        """True for a sea or an ocean."""
        return place in self._seas

    def _look(self, kept: dict[str, frozenset[str]], place: str, query: str) -> frozenset[str]:
        if place not in kept:
            rows = self.desk.snapshot.rows(query, x=node(place))
            kept[place] = frozenset(r["y"] for r in rows)
        return kept[place]

    def relation(self, asked: str, said: str) -> str:
        """How the place asked about lies to the place that a statement names."""
        known = self._relations.get(asked)
        if known is None:
            if len(self._relations) >= _MOST_KEPT:
                self._relations.clear()
            known = self._relations[asked] = {}
        found = known.get(said)
        if found is None:
            found = known[said] = self._relation(asked, said)
        return found

    def _relation(self, asked: str, said: str) -> str:
        if asked == said or said in self.inside(asked):
            return WITHIN
        if asked in self.inside(said):
            return HOLDS
        asked_water, said_water = asked.startswith("w:"), said.startswith("w:")
        if asked_water == said_water:
            return APART if self._known(said) else UNKNOWN
        water, land = (asked, said) if asked_water else (said, asked)
        if land in self.reaches(water):
            return TOUCHES
        return APART if self.reaches(water) else UNKNOWN

    def _known(self, place: str) -> bool:
        return bool(self.inside(place) or self.reaches(place)) or place.startswith("pl:")

    def together(self, asked: str, said: str) -> bool:
        """True if the two share ground or water."""
        return self.relation(asked, said) in TOGETHER
