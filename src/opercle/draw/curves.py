"""Smooth lines through points, which can both be drawn and be asked for a height.

Knows: cubic Hermite curves as functions of x, with slopes that do not overshoot
(Fritsch and Carlson 1980, SIAM J. Numer. Anal. 17: 238, after Butland's harmonic mean).
Refuses to know: fishes.
"""

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise
from math import hypot

Point = tuple[float, float]


class Curve:
    """A smooth function through points of rising x, flat where the points turn."""

    __slots__ = ("slopes", "xs", "ys")

    def __init__(self, pairs: Sequence[Point]) -> None:
        self.xs = [p[0] for p in pairs]
        self.ys = [p[1] for p in pairs]
        steps = [
            (y1 - y0) / (x1 - x0)
            for x0, x1, y0, y1 in zip(self.xs, self.xs[1:], self.ys, self.ys[1:], strict=False)
        ]
        inner = [0.0 if a * b <= 0 else 2 * a * b / (a + b) for a, b in pairwise(steps)]
        self.slopes = [steps[0], *inner, steps[-1]]

    def __call__(self, x: float) -> float:
        """The height at x; the end heights outside."""
        xs = self.xs
        if x <= xs[0]:
            return self.ys[0]
        if x >= xs[-1]:
            return self.ys[-1]
        i = bisect_right(xs, x) - 1
        wide = xs[i + 1] - xs[i]
        t = (x - xs[i]) / wide
        rest = 1 - t
        return (
            self.ys[i] * (1 + 2 * t) * rest * rest
            + self.ys[i + 1] * t * t * (3 - 2 * t)
            + wide * t * rest * (self.slopes[i] * rest - self.slopes[i + 1] * t)
        )

    def forward(self) -> str:
        """The curve as Bézier segments from the first point, which the pen is at."""
        xs, ys, ms = self.xs, self.ys, self.slopes
        parts = []
        for i in range(len(xs) - 1):
            third = (xs[i + 1] - xs[i]) / 3
            parts.append(
                f"C{xs[i] + third:.1f} {ys[i] + ms[i] * third:.1f} "
                f"{xs[i + 1] - third:.1f} {ys[i + 1] - ms[i + 1] * third:.1f} "
                f"{xs[i + 1]:.1f} {ys[i + 1]:.1f}"
            )
        return "".join(parts)

    def backward(self) -> str:
        """The same from the last point to the first."""
        xs, ys, ms = self.xs, self.ys, self.slopes
        parts = []
        for i in range(len(xs) - 1, 0, -1):
            third = (xs[i] - xs[i - 1]) / 3
            parts.append(
                f"C{xs[i] - third:.1f} {ys[i] - ms[i] * third:.1f} "
                f"{xs[i - 1] + third:.1f} {ys[i - 1] + ms[i - 1] * third:.1f} "
                f"{xs[i - 1]:.1f} {ys[i - 1]:.1f}"
            )
        return "".join(parts)


def bezier(p0: Point, p1: Point, p2: Point, p3: Point, t: float) -> Point:
    """A point of a cubic Bézier curve."""
    r = 1 - t
    a, b, c, d = r * r * r, 3 * r * r * t, 3 * r * t * t, t * t * t
    return (
        a * p0[0] + b * p1[0] + c * p2[0] + d * p3[0],
        a * p0[1] + b * p1[1] + c * p2[1] + d * p3[1],
    )


def sample(values: Sequence[float], t: float) -> float:
    """The value at t in 0..1 between evenly spaced values."""
    if len(values) == 1:
        return values[0]
    at = max(0.0, min(1.0, t)) * (len(values) - 1)
    i = min(int(at), len(values) - 2)
    return values[i] + (values[i + 1] - values[i]) * (at - i)


def length(pairs: Sequence[Point]) -> float:
    """The length of a polyline."""
    return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(pairs))
