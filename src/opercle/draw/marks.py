"""Markings: plain hints of a stated side pattern, which never decide.

Knows: how stripes, bars, saddles, bands, blotches, spots and worm-like marks lie on a body.
Refuses to know: colour. All marks are one grey wash.

Stripes take a fixed share of the room between back and belly, so that they thin toward the tail
and stop before they could run together.
"""

from opercle.draw.figure import Figure
from opercle.draw.svg import Element, add, path

WASH = "#7d8f8f"


def paint(group: Element, figure: Figure, pattern: str) -> None:
    """Draw one pattern into a group that is clipped to the body behind the head."""
    draw = _PATTERNS.get(pattern)
    if draw is not None:
        draw(add(group, "g", fill=WASH, fill_opacity="0.5", stroke="none"), figure)


def _at(figure: Figure, x: float, share: float) -> float:
    """The height at x, by a share of the way from back (0) to belly (1)."""
    top = figure.top(x)
    return top + (figure.bottom(x) - top) * share


_FEWEST = 6.5
"""Stripes stop where fewer units than this lie between two of them."""


def _stripe(figure: Figure, start: float, stop: float, share: float, step: float) -> str:
    xs = [start + (stop - start) * i / 9 for i in range(10)]
    while len(xs) > 2 and (figure.bottom(xs[-1]) - figure.top(xs[-1])) * step < _FEWEST:
        xs.pop()
    last = len(xs) - 1
    half = [step * (0.2 if 0 < i < last else 0.05) for i in range(last + 1)]
    upper = [(x, _at(figure, x, share - h)) for x, h in zip(xs, half, strict=True)]
    lower = [(x, _at(figure, x, share + h)) for x, h in zip(xs[::-1], half[::-1], strict=True)]
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in [*upper, *lower]) + "Z"


def _stripes(group: Element, figure: Figure, broken: bool = False) -> None:
    start = figure.head.rear[0] + 14
    for i in range(7):
        share = 0.14 + i * 0.1
        pieces = ((0.0, 1.0),) if not broken or i < 4 else ((0.0, 0.3), (0.36, 0.62), (0.68, 1.0))
        for a, b in pieces:
            drop = 0.035 if broken and i >= 4 and a == 0.36 else 0.0
            end = figure.long * 0.985
            where = (start + (end - start) * a, start + (end - start) * b)
            path(group, _stripe(figure, *where, share + drop, 0.1))


def _broken(group: Element, figure: Figure) -> None:
    _stripes(group, figure, broken=True)


def _bars(group: Element, figure: Figure, low: float = 0.66, number: int = 7) -> None:
    start, stop = figure.head.rear[0] + 18, figure.long * 0.95
    step = (stop - start) / (number - 1)
    for i in range(number):
        x, wide = start + step * i, step * 0.2
        end = _at(figure, x + wide * 0.4, low)
        mid = _at(figure, x, low * 0.55)
        path(
            group,
            f"M{x - wide:.1f} {figure.top(x - wide):.1f}"
            f"C{x - wide * 0.9:.1f} {mid:.1f} {x - wide * 0.4:.1f} {end:.1f} {x:.1f} {end:.1f}"
            f"C{x + wide * 0.4:.1f} {end:.1f} {x + wide * 0.9:.1f} {mid:.1f} "
            f"{x + wide:.1f} {figure.top(x + wide):.1f}Z",
        )


def _saddles(group: Element, figure: Figure) -> None:
    _bars(group, figure, 0.3, 5)


def _band(group: Element, figure: Figure) -> None:
    start, end = figure.head.rear[0] + 6, figure.long * 0.99
    xs = [start + (end - start) * i / 12 for i in range(13)]
    sway = (0.075, 0.05, 0.085, 0.055)
    upper = [(x, _at(figure, x, 0.47 - sway[i % 4])) for i, x in enumerate(xs)]
    lower = [(x, _at(figure, x, 0.47 + sway[(i + 2) % 4])) for i, x in enumerate(xs)]
    path(group, "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in [*upper, *reversed(lower)]) + "Z")


_SPOTS = tuple(
    (((i * 0.7548777) % 1.0), 0.1 + 0.74 * ((i * 0.569840) % 1.0), 0.6 + 0.5 * ((i * 0.618) % 1.0))
    for i in range(1, 47)
)
"""A fixed even scatter (x share, height share, size) from a low-discrepancy sequence."""


def _dots(group: Element, figure: Figure, number: int, size: float, low: float) -> None:
    start, end = figure.head.rear[0] + 16, figure.long * 0.96
    for t, h, s in _SPOTS[:number]:
        x = start + (end - start) * t
        room = (figure.bottom(x) - figure.top(x)) * 0.07
        y = _at(figure, x, min(h, low) if low < 0.84 else h)
        add(group, "circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r=f"{min(size * s, room):.1f}")


def _spots(group: Element, figure: Figure) -> None:
    _dots(group, figure, 34, 6.0, 0.9)


def _freckles(group: Element, figure: Figure) -> None:
    _dots(group, figure, 46, 3.0, 0.9)


def _rows(group: Element, figure: Figure) -> None:
    start, end = figure.head.rear[0] + 16, figure.long * 0.95
    for r in range(7):
        for i in range(12):
            x = start + (end - start) * (i + 0.5 * (r % 2)) / 12
            room = (figure.bottom(x) - figure.top(x)) * 0.1
            size = min(3.6, room * 0.42)
            y = _at(figure, x, 0.17 + r * 0.1)
            add(group, "circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r=f"{size:.1f}")


def _blotches(group: Element, figure: Figure) -> None:
    start, end = figure.head.rear[0] + 24, figure.long * 0.94
    for i in range(9):
        x = start + (end - start) * i / 8
        deep = figure.bottom(x) - figure.top(x)
        y = _at(figure, x, (0.42, 0.22, 0.5)[i % 3])
        add(
            group, "ellipse", cx=f"{x:.1f}", cy=f"{y:.1f}",
            rx=f"{min(15.0, deep * 0.13):.1f}", ry=f"{min(10.0, deep * 0.085):.1f}",
        )  # fmt: skip


def _worms(group: Element, figure: Figure) -> None:
    start, end = figure.head.rear[0] + 10, figure.long * 0.95
    xs = [start + (end - start) * i / 8 for i in range(9)]
    back = "L".join(f"{x:.1f} {figure.top(x):.1f}" for x in xs)
    edge = "L".join(f"{x:.1f} {_at(figure, x, 0.36):.1f}" for x in reversed(xs))
    path(group, f"M{back}L{edge}Z")
    lines = add(
        group, "g", fill="none", stroke="#fbfdfc", stroke_width="2.6", stroke_linecap="round"
    )
    for i in range(22):
        x = start + (end - start) * (i + 0.3) / 23
        y = _at(figure, x, (0.1, 0.24, 0.17, 0.3)[i % 4])
        path(lines, f"M{x:.1f} {y:.1f}q5 -5 9 0t9 0")


_PATTERNS = {
    "stripes": _stripes,
    "broken-stripes": _broken,
    "bars": _bars,
    "saddles": _saddles,
    "band": _band,
    "blotches": _blotches,
    "spot-rows": _rows,
    "freckles": _freckles,
    "spots": _spots,
    "vermiculate": _worms,
}
