"""How two places lie to each other: one inside the other, touching, apart, or not known.

Knows: the tree of waters, the nesting of states, and which water reaches which state.
Refuses to know: fishes.
"""

from opercle.questions.desk import Desk, node

WITHIN, HOLDS, TOUCHES, APART, UNKNOWN = "within", "holds", "touches", "apart", "unknown"
TOGETHER = (WITHIN, HOLDS, TOUCHES)


class Places:
    """Relations of waters and places, each looked up once."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._inside: dict[str, frozenset[str]] = {}
        self._reaches: dict[str, frozenset[str]] = {}

    def inside(self, place: str) -> frozenset[str]:
        """All that holds the place."""
        return self._look(self._inside, place, "SELECT ?x ?y { ?x op:insideOf ?y }")

    def reaches(self, water: str) -> frozenset[str]:
        """The states and countries that a water lies in or borders."""
        return self._look(self._reaches, water, "SELECT ?x ?y { ?x op:reaches ?y }")

    def _look(self, kept: dict[str, frozenset[str]], place: str, query: str) -> frozenset[str]:
        if place not in kept:
            rows = self.desk.snapshot.rows(query, x=node(place))
            kept[place] = frozenset(r["y"] for r in rows)
        return kept[place]

    def relation(self, asked: str, said: str) -> str:
        """How the place asked about lies to the place that a statement names."""
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
