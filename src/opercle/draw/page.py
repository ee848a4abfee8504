"""The frame of every drawing: heading, picture, notes below; and how labels are written.

Knows: type sizes, margins, numbered discs, leaders, brackets, columns of notes.
Refuses to know: fishes.
"""

from collections.abc import Sequence

from opercle.draw.labels import BOLD_SIZE, SMALL_SIZE, Placed
from opercle.draw.style import ACCENT, INK, PAPER, RULE, SOFT, WIDTH, width, wrap
from opercle.draw.svg import Element, add, path, text

MARGIN = 32.0
NOTE_SIZE, NOTE_STEP = 13.0, 18.0


def heading(
    svg: Element, y: float, name: str, scientific: str, note: str = "", face: str = "italic"
) -> float:
    """The heading at y: common name, scientific name, a plain note; returns its foot.

    ``face`` is italic for names of genera and below, regular above.
    """
    x = MARGIN
    if name:
        text(svg, x, y + 26, name, 26, "bold")
        x += width(name, 26, "bold") + 14
    if scientific:
        text(svg, x, y + 26, scientific, 19 if name else 24, face)
    foot = y + 38
    if note:
        for line in wrap(note, 14, WIDTH - 2 * MARGIN):
            foot += 18
            text(svg, MARGIN, foot - 4, line, 14, fill=SOFT)
    return foot


def disc(
    svg: Element, x: float, y: float, mark: str, strong: bool = True, radius: float = 9.5
) -> None:
    """A numbered disc centred at a point."""
    size = 12 if radius > 9 else 10
    add(
        svg, "circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r=f"{radius:g}",
        fill=ACCENT if strong else PAPER, stroke=ACCENT if strong else INK, stroke_width="1.2",
    )  # fmt: skip
    text(
        svg, x, y + size * 0.36, mark, size, "bold", text_anchor="middle",
        fill=PAPER if strong else INK,
    )  # fmt: skip


def label(svg: Element, placed: Placed, top: float, above: bool) -> None:
    """A placed label with its leader; ``top`` is where the row's boxes hang or stand."""
    x, y = placed.x, top
    ax, ay = placed.label.anchor
    edge = y + placed.high if above else y
    path(
        svg, f"M{placed.foot:.1f} {edge:.1f}L{ax:.1f} {ay:.1f}",
        fill="none", stroke=INK, stroke_width="1",
    )  # fmt: skip
    add(svg, "circle", cx=f"{ax:.1f}", cy=f"{ay:.1f}", r="2.6")
    add(
        svg, "rect", x=f"{x:.1f}", y=f"{y:.1f}", width=f"{placed.wide:.1f}",
        height=f"{placed.high:.1f}", rx="4", fill=PAPER, stroke=INK, stroke_width="1",
        class_="label",
    )  # fmt: skip
    left = x + 8
    if placed.label.mark:
        disc(svg, x + 17, y + 15.5, placed.label.mark)
        left += 24
    line = y + 6
    for said in placed.heads:
        line += 18
        text(svg, left, line - 4, said, BOLD_SIZE, "bold")
    for said in placed.tails:
        line += 16
        text(svg, left, line - 3.5, said, SMALL_SIZE, fill=SOFT)


def bracket(svg: Element, start: float, end: float, y: float, above: bool) -> None:
    """A bracket over or under a run of fin elements."""
    arm = 6 if above else -6
    path(
        svg, f"M{start:.1f} {y + arm:.1f}V{y:.1f}H{end:.1f}v{arm}",
        fill="none", stroke=INK, stroke_width="1.2",
    )  # fmt: skip


def rule(svg: Element, y: float) -> None:
    """A thin line across the page."""
    path(svg, f"M{MARGIN:g} {y:.1f}H{WIDTH - MARGIN:g}", stroke=RULE, stroke_width="1")


def notes(svg: Element, y: float, blocks: Sequence[tuple[str, Sequence[str]]]) -> float:
    """Blocks of notes under one another, each a bold word and paragraphs; returns the foot."""
    indent = MARGIN + 118
    for name, paragraphs in blocks:
        if not paragraphs:
            continue
        text(svg, MARGIN, y + NOTE_STEP - 5, name, NOTE_SIZE, "bold")
        for said in paragraphs:
            for line in wrap(said, NOTE_SIZE, WIDTH - MARGIN - indent):
                y += NOTE_STEP
                text(svg, indent, y - 5, line, NOTE_SIZE)
        y += 8
    return y


def table(
    svg: Element, y: float, names: Sequence[str], rows: Sequence[Sequence[str]],
    shares: Sequence[float], marks: Sequence[str],
) -> float:  # fmt: skip
    """A ruled table with numbered rows; returns its foot. ``shares`` divide the page's width."""
    wide = WIDTH - 2 * MARGIN - 30
    starts = [MARGIN + 30 + wide * sum(shares[:i]) for i in range(len(shares))]
    for x, name in zip(starts, names, strict=True):
        text(svg, x, y + 13, name, NOTE_SIZE, "bold")
    y += 20
    for row, mark in zip(rows, marks, strict=True):
        path(svg, f"M{MARGIN:g} {y:.1f}H{WIDTH - MARGIN:g}", stroke=RULE, stroke_width="0.8")
        cells = [
            wrap(cell, NOTE_SIZE, wide * share - 12)
            for cell, share in zip(row, shares, strict=True)
        ]
        if mark:
            disc(svg, MARGIN + 11, y + 12.5, mark)
        for x, lines in zip(starts, cells, strict=True):
            for i, line in enumerate(lines):
                text(svg, x, y + 17 + i * 16.5, line, NOTE_SIZE)
        y += max(len(lines) for lines in cells) * 16.5 + 8
    path(svg, f"M{MARGIN:g} {y:.1f}H{WIDTH - MARGIN:g}", stroke=RULE, stroke_width="0.8")
    return y


def finish(svg: Element, foot: float) -> Element:
    """Set the picture's height once it is known."""
    high = f"{foot:.0f}"
    svg.set("viewBox", f"0 0 {WIDTH} {high}")
    for child in svg:
        if child.tag == "rect":
            child.set("height", high)
            break
    return svg
