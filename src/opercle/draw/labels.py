"""Places labels in rows above and below a picture so that no two can meet.

Knows: boxes measured with the font's own widths; rows packed so that each box stands as near its
anchor as its neighbours allow, in the anchors' order, so that leaders do not cross in a row.
Refuses to know: what the labels say.

The packing is least-squares placement with spacing, solved by pooling adjacent violators
(Ayer and others 1955, Ann. Math. Statist. 26: 641).
"""

from collections.abc import Sequence
from typing import NamedTuple

from opercle.draw.curves import Point
from opercle.draw.style import width, wrap

BOLD_SIZE, SMALL_SIZE = 15.0, 13.0
_PAD, _GAP, _DISC = 8.0, 12.0, 24.0
_WIDTHS = (215.0, 180.0, 156.0, 138.0, 118.0)
_CLEAR = 22.0
"""Between a label and the nearest part of the fish in its way."""


class Label(NamedTuple):
    """What to say about a point: a number or "", a bold line and a plain line."""

    key: str
    mark: str
    head: str
    tail: str
    anchor: Point


class Placed(NamedTuple):
    """A label with its box (x, y, width, height) and its broken lines."""

    label: Label
    x: float
    y: float
    wide: float
    high: float
    heads: tuple[str, ...]
    tails: tuple[str, ...]

    @property
    def foot(self) -> float:
        """Where the leader leaves the box: as near above its anchor as the box reaches."""
        return min(max(self.label.anchor[0], self.x + 6), self.x + self.wide - 6)


def pack(
    centres: Sequence[float], widths: Sequence[float], left: float, right: float
) -> list[float]:
    """Left edges of boxes in order, near their centres, _GAP apart, between left and right.

    Where they do not fit at all they start at ``left`` and run over ``right``.
    """
    blocks: list[list[float]] = []  # wanted left edge sum, count, total width
    offsets, run = [], 0.0
    for wide in widths:
        offsets.append(run)
        run += wide + _GAP
    wanted = [c - w / 2 - o for c, w, o in zip(centres, widths, offsets, strict=True)]
    for want in wanted:
        blocks.append([want, 1.0])
        while len(blocks) > 1 and _mean(blocks[-2]) > _mean(blocks[-1]):
            total, number = blocks.pop()
            blocks[-1][0] += total
            blocks[-1][1] += number
    room = right - left - (run - _GAP)
    edges = []
    for block in blocks:
        shared = left + min(max(_mean(block) - left, 0.0), max(room, 0.0))
        edges += [shared] * int(block[1])
    return [e + o for e, o in zip(edges, offsets, strict=True)]


def _mean(block: list[float]) -> float:
    return block[0] / block[1]


def place(labels: Sequence[Label], left: float, right: float) -> tuple[list[Placed], list[Label]]:
    """One row of labels with its top at 0, and those that no width of theirs makes room for.

    The last ones given give way first.
    """
    kept = list(labels)
    while kept:
        for most in _WIDTHS:
            boxes = [_measured(label, most) for label in kept]
            if sum(b.wide for b in boxes) + _GAP * (len(boxes) - 1) <= right - left:
                return _in_row(boxes, left, right), list(labels[len(kept) :])
        kept.pop()
    return [], list(labels)


def _in_row(boxes: list[Placed], left: float, right: float) -> list[Placed]:
    boxes = sorted(boxes, key=lambda b: b.label.anchor[0])
    edges = pack([b.label.anchor[0] for b in boxes], [b.wide for b in boxes], left, right)
    return [b._replace(x=x) for b, x in zip(boxes, edges, strict=True)]


def _measured(label: Label, most: float) -> Placed:
    disc = _DISC if label.mark else 0.0
    heads = wrap(label.head, BOLD_SIZE, most - disc - 2 * _PAD, "bold")
    tails = wrap(label.tail, SMALL_SIZE, most - disc - 2 * _PAD)
    inner = [width(t, BOLD_SIZE, "bold") for t in heads] + [width(t, SMALL_SIZE) for t in tails]
    wide = max(inner, default=0.0) + disc + 2 * _PAD
    high = 2 * 6 + len(heads) * 18 + len(tails) * 16
    return Placed(label, 0.0, 0.0, wide, high, tuple(heads), tuple(tails))


Skyline = Sequence[tuple[float, float, float]]


def hang(row: Sequence[Placed], line: Skyline, above: bool) -> list[Placed]:
    """Move each box of a row toward the picture as far as it clears, and give it its y.

    ``line`` holds points (x, highest y, lowest y). Where a neighbour's leader would then cross a
    box, all boxes of the row are brought level.
    """
    near = [b._replace(y=_near(b, line, above)) for b in row]
    if _crossed(near, above):
        level = min((b.y + b.high for b in near), default=0.0)
        start = max((b.y for b in near), default=0.0)
        near = [b._replace(y=level - b.high if above else start) for b in near]
    return near


def _near(box: Placed, line: Skyline, above: bool) -> float:
    left, right = box.x - 10, box.x + box.wide + 10
    ay = box.label.anchor[1]
    inside = [(high, low) for x, high, low in line if left <= x <= right]
    inside.append((min(ay, 0.0), max(ay, 0.0)))
    if above:
        return min(high for high, _ in inside) - _CLEAR - box.high
    return max(low for _, low in inside) + _CLEAR


def _crossed(row: Sequence[Placed], above: bool) -> bool:
    for one in row:
        start = (one.foot, one.y + one.high if above else one.y)
        for box in row:
            if box is not one and any(
                _inside(box, start, one.label.anchor, t / 12) for t in range(13)
            ):
                return True
    return False


def _inside(box: Placed, start: Point, end: Point, t: float) -> bool:
    x, y = start[0] + (end[0] - start[0]) * t, start[1] + (end[1] - start[1]) * t
    return box.x - 5 <= x <= box.x + box.wide + 5 and box.y - 5 <= y <= box.y + box.high + 5
