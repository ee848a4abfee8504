"""Fins: every spine and soft ray once, and the membrane that holds them.

Knows: how a row of elements stands along a back or belly, or fans out from a point; how spines
(solid wedges) and soft rays (forked lines) are written as paths.
Refuses to know: where the numbers come from; a number of None is an outline without elements.
"""

from collections.abc import Sequence
from math import cos, hypot, radians, sin
from typing import NamedTuple

from opercle.draw.curves import Curve, Point, bezier, sample

SPINE, RAY = "spine", "ray"
_BLANK = 9
"""How many unseen elements shape the outline of a fin whose number is not known."""


class Stick(NamedTuple):
    """One fin element from its base to its tip."""

    kind: str
    number: int
    base: Point
    tip: Point


class Fin(NamedTuple):
    """A fin: outline path, the elements drawn, whether its numbers are known, its extent."""

    name: str
    outline: str
    sticks: tuple[Stick, ...]
    known: bool
    tips: tuple[Point, ...]

    def of_kind(self, kind: str) -> list[Stick]:
        """The spines or the rays."""
        return [s for s in self.sticks if s.kind == kind]


class Row(NamedTuple):
    """A row of elements of one kind along a profile; angles in degrees from upright."""

    kind: str
    number: int | None
    start: float
    end: float
    height: float
    shape: Sequence[float]
    lean: tuple[float, float]


def _stand(row: Row, curve: Curve, side: int, first: int) -> tuple[list[Stick], float]:
    """Elements of a row on a profile and their spacing; side -1 is the back, 1 the belly."""
    count = _BLANK if row.number is None else row.number
    if count == 0:
        return [], 0.0
    step = (row.end - row.start) / count
    sticks = []
    last, (lean, end_lean), high = max(1, count - 1), row.lean, row.height
    for i in range(count):
        t = i / last if count > 1 else 0.5
        x = row.start + step * (i + 0.25)
        y = curve(x) - side * 3
        reach = high * sample(row.shape, t)
        turn = radians(lean + (end_lean - lean) * t)
        tip = (x + reach * sin(turn), y + side * reach * cos(turn))
        sticks.append(Stick(row.kind, first + i, (x, y), tip))
    return sticks, step


def along(
    name: str, rows: Sequence[Row], curve: Curve, side: int, dip: float = 0.0, free: bool = False
) -> Fin:
    """One fin of one or two rows on a profile.

    ``dip`` (0..1) is how deep the membrane falls between the rows; ``free`` spines each have a
    membrane of their own.
    """
    stands = [_stand(row, curve, side, 1) for row in rows]
    stands = [(sticks, step) for sticks, step in stands if sticks]
    every = [s for sticks, _ in stands for s in sticks]
    if not every:
        return Fin(name, "", (), True, ())
    step = stands[-1][1]
    if free:
        outline = "".join(_sail(s, curve, side, step) for s in every)
    else:
        outline = _membrane(stands, curve, side, dip)
    seen = [s for row in rows if row.number for s in every if s.kind == row.kind]
    known = all(row.number is not None for row in rows)
    return Fin(name, outline, tuple(seen), known, tuple(s.tip for s in every))


def _sail(stick: Stick, curve: Curve, side: int, step: float) -> str:
    (bx, by), (tx, ty) = stick.base, stick.tip
    ex = bx + step * 0.75
    return f"M{bx:.1f} {by:.1f}L{tx:.1f} {ty:.1f}L{ex:.1f} {curve(ex) - side * 3:.1f}Z"


def _membrane(
    stands: Sequence[tuple[list[Stick], float]], curve: Curve, side: int, dip: float
) -> str:
    first, step = stands[0][0][0], stands[0][1]
    start = first.base[0] - step * 0.3
    parts = [f"M{start:.1f} {curve(start) - side * 3:.1f}L{first.tip[0]:.1f} {first.tip[1]:.1f}"]
    last: Stick | None = None
    for sticks, _ in stands:
        if last is not None:
            parts.append(_scallop(last, sticks[0], dip))
        last = sticks[0]
        for stick in sticks[1:]:
            if stick.kind == SPINE:
                parts.append(_scallop(last, stick, 0.22))
            else:
                parts.append(f"L{stick.tip[0]:.1f} {stick.tip[1]:.1f}")
            last = stick
    assert last is not None
    (bx, _), (tx, ty), step = last.base, last.tip, stands[-1][1]
    end = bx + step * 0.75
    low = curve(end) - side * 3
    bulge = (tx + step * 0.6, ty + (low - ty) * 0.3)
    parts.append(f"Q{bulge[0]:.1f} {bulge[1]:.1f} {end:.1f} {low:.1f}Z")
    return "".join(parts)


def _scallop(one: Stick, two: Stick, dip: float) -> str:
    """The membrane's edge from tip to tip, hanging toward the bases by a share of the height."""
    mx, my = (one.tip[0] + two.tip[0]) / 2, (one.tip[1] + two.tip[1]) / 2
    bx, by = (one.base[0] + two.base[0]) / 2, (one.base[1] + two.base[1]) / 2
    cx, cy = mx + (bx - mx) * dip * 1.5, my + (by - my) * dip * 1.5
    return f"Q{cx:.1f} {cy:.1f} {two.tip[0]:.1f} {two.tip[1]:.1f}"


def fan(
    name: str,
    ends: tuple[Point, Point],
    angles: tuple[float, float],
    size: float,
    shape: Sequence[float],
    numbers: tuple[int | None, int | None],
) -> Fin:
    """A paired fin: spines first, then rays, fanned from a short base.

    ``angles`` are degrees below the horizontal, pointing to the tail; ``numbers`` are spines and
    rays, None for not known.
    """
    known = numbers[1] is not None
    spines, rays = numbers[0] or 0, _BLANK if numbers[1] is None else numbers[1]
    total = spines + rays
    if total == 0:
        return Fin(name, "", (), True, ())
    sticks = []
    (ax, ay), (bx, by) = ends
    for i in range(total):
        t = i / (total - 1) if total > 1 else 0.5
        turn = radians(angles[0] + (angles[1] - angles[0]) * t)
        x, y, reach = ax + (bx - ax) * t, ay + (by - ay) * t, size * sample(shape, t)
        kind, number = (SPINE, i + 1) if i < spines else (RAY, i - spines + 1)
        sticks.append(Stick(kind, number, (x, y), (x + reach * cos(turn), y + reach * sin(turn))))
    edge = "L".join(f"{s.tip[0]:.1f} {s.tip[1]:.1f}" for s in sticks)
    outline = f"M{ax:.1f} {ay:.1f}L{edge}L{bx:.1f} {by:.1f}Z"
    seen = tuple(s for s in sticks if known or s.kind == SPINE)
    return Fin(name, outline, seen, known, tuple(s.tip for s in sticks))


_TAILS = {
    "rounded": (0.8, 1.12, 0.8),
    "truncate": (0.97, 0.97, 0.95),
    "emarginate": (1.0, 0.86, 1.0),
    "forked": (1.12, 0.5, 1.18),
    "lunate": (1.1, 0.42, 1.5),
    "heterocercal": (1.2, 0.5, 1.1),
    "clavus": (0.75, 1.1, 0.0),
}
"""Tail shape to (reach of the lobes, reach of the middle, spread), shares of its length."""


def tail(
    shape: str | None, at: float, half: float, size: float, branched: int | None, spread: float
) -> tuple[Fin, Point]:
    """The tail fin from the end of the body, and the point of its edge that shows its shape.

    ``branched`` rays give two more, the unbranched principal rays (Hubbs and Lagler).
    """
    lobe, middle, wide = _TAILS.get(shape or "", _TAILS["truncate"])
    high = spread * wide if wide else half
    lower = high * (0.8 if shape == "heterocercal" else 1)
    short = size * lobe * (0.8 if shape == "heterocercal" else 1)
    up, down = (at + size * lobe, -high), (at + short, lower)
    centre = (4 * (at + size * middle) - (up[0] + down[0]) / 2 * 1) / 3
    c1, c2 = (centre, -high * 0.42), (centre, lower * 0.42)
    mid = bezier(up, c1, c2, down, 0.5)
    outline = (
        f"M{at - 6:.1f} {-half:.1f}C{at + size * 0.25:.1f} {-half - 1:.1f} "
        f"{at + size * 0.5:.1f} {-high * 0.86:.1f} {up[0]:.1f} {up[1]:.1f}"
        f"C{c1[0]:.1f} {c1[1]:.1f} {c2[0]:.1f} {c2[1]:.1f} {down[0]:.1f} {down[1]:.1f}"
        f"C{at + size * 0.5:.1f} {lower * 0.86:.1f} {at + size * 0.25:.1f} {half + 1:.1f} "
        f"{at - 6:.1f} {half:.1f}Z"
    )
    sticks = []
    total = 0 if branched is None else branched + 2
    for i in range(total):
        t = (i + 0.35) / (total - 0.3)
        edge = bezier(up, c1, c2, down, t)
        base = (at - 2, half * 0.86 * (2 * i / max(1, total - 1) - 1))
        tip = (base[0] + (edge[0] - base[0]) * 0.97, base[1] + (edge[1] - base[1]) * 0.97)
        sticks.append(Stick(RAY, i + 1, base, tip))
    return Fin("tail", outline, tuple(sticks), branched is not None, (up, mid, down)), mid


def wedge(stick: Stick, wide: float) -> str:
    """A spine as a slender solid wedge."""
    (bx, by), (tx, ty) = stick.base, stick.tip
    long = hypot(tx - bx, ty - by) or 1.0
    nx, ny = -(ty - by) / long * wide / 2, (tx - bx) / long * wide / 2
    return (
        f"M{bx + nx:.1f} {by + ny:.1f}L{tx + nx * 0.2:.1f} {ty + ny * 0.2:.1f}"
        f"L{tx - nx * 0.2:.1f} {ty - ny * 0.2:.1f}L{bx - nx:.1f} {by - ny:.1f}Z"
    )


def forked(stick: Stick, spread: float) -> str:
    """A soft ray as a line that forks in its outer part; ``spread`` 0 leaves it unforked."""
    (bx, by), (tx, ty) = stick.base, stick.tip
    ex, ey = bx + (tx - bx) * 0.97, by + (ty - by) * 0.97
    if spread < 0.6:
        return f"M{bx:.1f} {by:.1f}L{ex:.1f} {ey:.1f}"
    fx, fy = bx + (tx - bx) * 0.58, by + (ty - by) * 0.58
    long = hypot(tx - bx, ty - by) or 1.0
    nx, ny = -(ty - by) / long * spread, (tx - bx) / long * spread
    return (
        f"M{bx:.1f} {by:.1f}L{fx:.1f} {fy:.1f}L{ex + nx:.1f} {ey + ny:.1f}"
        f"M{fx:.1f} {fy:.1f}L{ex - nx:.1f} {ey - ny:.1f}"
    )
