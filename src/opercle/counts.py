"""Ranges of counts and proportions, and how two of them lie to each other.

Knows: least, most, usual least, usual most; overlap, cover, gap, hull.
Refuses to know: fishes, sources, RDF.
"""

from typing import NamedTuple


class CountRange(NamedTuple):
    """A range of numbers: ``least`` to ``most``; ``most`` None means no upper bound.

    ``usual_least`` and ``usual_most`` narrow it to what is usual; both or neither are given.
    Written after the practice of fin formulae: ``5-7 (usually 6)``.
    """

    least: float
    most: float | None
    usual_least: float | None = None
    usual_most: float | None = None

    @property
    def usual(self) -> "CountRange":
        """The usual part, or the whole range where no usual values are given."""
        if self.usual_least is None:
            return CountRange(self.least, self.most)
        return CountRange(self.usual_least, self.usual_most)

    def overlaps(self, other: "CountRange") -> bool:
        """True if some value lies in both."""
        return not self.gap(other)

    def gap(self, other: "CountRange") -> bool:
        """True if no value lies in both: the two cannot meet."""
        below = self.most is not None and self.most < other.least
        above = other.most is not None and other.most < self.least
        return below or above

    def covers(self, other: "CountRange") -> bool:
        """True if every value of ``other`` lies in this range."""
        if self.least > other.least:
            return False
        return self.most is None or (other.most is not None and other.most <= self.most)

    def hull(self, other: "CountRange") -> "CountRange":
        """The smallest range that covers both; usual values widen likewise.

        A range without usual values says nothing of what is usual, and so widens none.
        """
        most = None if self.most is None or other.most is None else max(self.most, other.most)
        least = min(self.least, other.least)
        usual = [r.usual for r in (self, other) if r.usual_least is not None]
        if not usual:
            return CountRange(least, most)
        ends = [r.most for r in usual]
        usual_most = None if None in ends else max(e for e in ends if e is not None)
        return CountRange(least, most, min(r.least for r in usual), usual_most)

    def __str__(self) -> str:
        told = span(self.least, self.most)
        if self.usual_least is None or (self.usual_least, self.usual_most) == self[:2]:
            return told
        return f"{told} (usually {span(self.usual_least, self.usual_most)})"


def span(least: float, most: float | None) -> str:
    """Write a range without its usual part: ``5``, ``5-7`` or ``5 or more``."""
    low = f"{least:g}"
    if most is None:
        return f"{low} or more"
    return low if most == least else f"{low}-{most:g}"
