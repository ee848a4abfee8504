"""A schematic fish, or two beside each other, as SVG.

Knows: which characters are labelled, in which order they give way, and the notes below.
Refuses to know: the knowledge. It is given numbers, states and words, and invents none.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from opercle.draw import page, told
from opercle.draw.figure import Figure, figure
from opercle.draw.fins import RAY, SPINE, Stick
from opercle.draw.labels import Label, Placed, hang, place
from opercle.draw.paint import paint
from opercle.draw.style import ACCENT, INK, PAPER, WIDTH, width
from opercle.draw.svg import Element, add, path, prefix_of, root, text, written
from opercle.questions.looks import Difference, Looks

_TOP = frozenset(
    ("dorsal-spines", "dorsal-soft-rays", "dorsal-fins", "adipose-fin", "tail-shape",
     "lateral-line-on-tail", "eye-diameter")
)  # fmt: skip
_USUAL = (
    "dorsal-spines",
    "dorsal-soft-rays",
    "anal-spines",
    "anal-soft-rays",
    "jaw-reach",
    "opercle-edge",
    "barbels",
    "tail-shape",
    "adipose-fin",
    "cheek-scales",
    "pelvic-position",
)
_BRACKETS = {
    "dorsal-spines": (("dorsal", "dorsal-1"), SPINE),
    "dorsal-soft-rays": (("dorsal", "dorsal-2"), RAY),
    "anal-spines": (("anal",), SPINE),
    "anal-soft-rays": (("anal",), RAY),
}
_ROWS = 12
"""Differences told in the table; more are counted."""
_VARIES = 3
"""A state that varies so much is told below the picture, not beside it."""
_DIGIT = 10.5
_SHORT = 510.0
"""Fishes beside each other are drawn shorter than one alone, so that both fit on a sheet."""


class Drawing(NamedTuple):
    """A picture as text, what it says in a sentence, and what was not known."""

    svg: str
    says: str
    unknown: tuple[str, ...]
    boxes: tuple[tuple[float, float, float, float], ...]


def draw(looks: Looks, cautions: Sequence[str] = (), notes: bool = True) -> Drawing:
    """One fish with its counts labelled; ``cautions`` are told below it.

    Without ``notes`` nothing stands below, for a page that tells it all itself.
    """
    shape = figure(looks)
    prefix = prefix_of(looks.name)
    title = f"Schematic drawing of {told.subject(looks)}"
    shown, missing = told.drawn(looks), told.unknown(looks, shape)
    svg = root(WIDTH, 100, prefix, title, told.description(shape, shown, missing))
    foot = page.heading(svg, 18, looks.common or "", looks.name, _standing(looks), _face(looks))
    usual = [k for k in _USUAL if k not in looks.states or len(looks.states[k].states) < _VARIES]
    marks = {k: str(i) for i, k in enumerate(_shown(looks, shape, usual), 1)}
    foot, boxes, _ = _strip(svg, foot + 8, looks, shape, prefix, marks, frozenset())
    if notes:
        page.rule(svg, foot + 8)
        blocks = [
            ("How to read it", [told.KEY]),
            ("Drawn", shown),
            ("Not known", missing),
            ("Outline", [told.outline(shape)]),
            ("Markings", [told.markings(looks)]),
            ("Take care", [" ".join(cautions)] if cautions else []),
            ("Rests on", [told.rests([looks])]),
        ]
        foot = page.notes(svg, foot + 16, blocks) + 14
    page.finish(svg, foot)
    says = f"Drew {told.subject(looks)} on the plan “{shape.plan.key}”."
    return Drawing(written(svg), says, tuple(missing), tuple(boxes))


def _standing(looks: Looks) -> str:
    inside = f", family {looks.family}" if looks.family and looks.rank != "family" else ""
    return f"{_upper(looks.rank)}{inside}"


def _face(looks: Looks) -> str:
    return "italic" if looks.rank in ("genus", "subgenus", "species", "subspecies") else "regular"


def _upper(said: str) -> str:
    return said[:1].upper() + said[1:]


def _shown(looks: Looks, shape: Figure, keys: Sequence[str]) -> list[str]:
    """Those of the characters that are known and can be pointed at, in reading order."""
    return [k for k in keys if k in shape.anchors and told.head_and_tail(looks, k) is not None]


Boxes = list[tuple[float, float, float, float]]
OVER = 26.0
"""From fin tips to the bracket beyond the digits."""


def _strip(
    svg: Element, top: float, looks: Looks, shape: Figure, prefix: str,
    marks: Mapping[str, str], strong: frozenset[str],
) -> tuple[float, Boxes, set[str]]:  # fmt: skip
    """One fish with labels above and below, from ``top`` down; returns foot, boxes, labelled."""
    x0, y0, x1, y1 = shape.box
    left = (WIDTH - (x1 - x0)) / 2 - x0
    above, below, lost = _labels(looks, shape, left, marks)
    brackets = [k for k in marks if k in _BRACKETS and k not in lost and _reach(shape, k)[0]]
    line = skyline(shape, brackets, left)
    over = hang(above, line, True)
    under = hang(below, line, False)
    highest = min([b.y for b in over] + [y0 - 16])
    axis = top - highest
    group = add(svg, "g", id_=f"{prefix}-fish", transform=f"translate({left:.1f} {axis:.1f})")
    paint(group, shape, looks, prefix, strong)
    if "body-depth" in strong:
        x = shape.anchors["body-depth"][0]
        path(
            group, f"M{x:.1f} {shape.top(x):.1f}V{shape.bottom(x):.1f}", stroke=ACCENT,
            stroke_width="1.8", stroke_dasharray="7 4",
        )  # fmt: skip
    boxes: Boxes = list(digits(group, shape, strong, left, axis))
    for key in brackets:
        start, end, y, up = _bracket_line(shape, key)
        page.bracket(svg, start + left, end + left, y + axis, up)
    for placed, up in [*((b, True) for b in over), *((b, False) for b in under)]:
        ax, ay = placed.label.anchor
        here = placed._replace(label=placed.label._replace(anchor=(ax, ay + axis)))
        y = placed.y + axis
        page.label(svg, here, y, up)
        boxes.append((placed.x, y, placed.x + placed.wide, y + placed.high))
    foot = max([b.y + b.high for b in under] + [y1 + 16]) + axis
    return foot + 8, boxes, {b.label.key for b in [*over, *under]}


def skyline(
    shape: Figure, brackets: Sequence[str], left: float
) -> list[tuple[float, float, float]]:
    """What labels must keep clear of: points (page x, highest y, lowest y) of the fish."""
    made = []
    for i in range(25):
        x = shape.long * i / 24
        made.append((x + left, shape.top(x), shape.bottom(x)))
    for fin in shape.fins.values():
        pad = 16 if fin.name.startswith(("dorsal", "anal")) else 4
        for x, y in fin.tips:
            made.append((x + left, min(y - pad, 0), max(y + pad, 0)))
    for x, y in _lobes(shape):
        made.append((x + left, min(y - 6, 0), max(y + 6, 0)))
    for key in brackets:
        start, end, y, up = _bracket_line(shape, key)
        for x in (start, (start + end) / 2, end):
            made.append((x + left, y if up else 0.0, 0.0 if up else y))
    return made


def _lobes(shape: Figure) -> list[tuple[float, float]]:
    """Points along the edges of the tail's lobes."""
    tips = shape.fins["tail"].tips if "tail" in shape.fins else ()
    if len(tips) < 3:
        return []
    up, middle, down = tips
    ends = [
        ((shape.long, -shape.base), up), (up, middle),
        ((shape.long, shape.base), down), (down, middle),
    ]  # fmt: skip
    return [
        (a[0] + (b[0] - a[0]) * t / 5, a[1] + (b[1] - a[1]) * t / 5)
        for a, b in ends
        for t in range(6)
    ]


def _labels(
    looks: Looks, shape: Figure, left: float, marks: Mapping[str, str]
) -> tuple[list[Placed], list[Placed], set[str]]:
    """Labels placed above and below; anchors are in page x and fish y."""
    over: list[Label] = []
    under: list[Label] = []
    for key, mark in marks.items():
        said = told.head_and_tail(looks, key)
        if said is None or key not in shape.anchors:
            continue
        x, y = _anchor(shape, key)
        label = Label(key, mark, said[0], said[1], (x + left, y))
        (over if key in _TOP else under).append(label)
    for name, said_of in told.fin_notes(looks, shape):
        tips = shape.fins[name].tips
        x, y = tips[len(tips) // 2]
        label = Label(name, "", f"{name.split('-')[0]} fin", said_of, (x + left, y))
        (under if name == "anal" else over).append(label)
    above, lost = place(over, 24, WIDTH - 24)
    below, more = place(under, 24, WIDTH - 24)
    return above, below, {label.key for label in [*lost, *more]}


def _reach(shape: Figure, key: str) -> tuple[list[Stick], bool]:
    names, kind = _BRACKETS[key]
    sticks = [s for n in names if n in shape.fins for s in shape.fins[n].of_kind(kind)]
    return sticks, key.startswith("dorsal")


def _anchor(shape: Figure, key: str) -> tuple[float, float]:
    """Where the leader ends: the middle of a bracket, or the character's own point."""
    if key not in _BRACKETS:
        return shape.anchors[key]
    start, end, y, _ = _bracket_line(shape, key)
    return (start + end) / 2, y


def _bracket_line(shape: Figure, key: str) -> tuple[float, float, float, bool]:
    sticks, above = _reach(shape, key)
    xs, ys = [s.tip[0] for s in sticks], [s.tip[1] for s in sticks]
    behind = _follower(shape, key)
    if behind is not None:
        ys.append(behind.tip[1])
    y = min(ys) - OVER if above else max(ys) + OVER
    return min(xs) - 4, max(xs) + 4, y, above


def digits(
    group: Element, shape: Figure, strong: frozenset[str], left: float, axis: float
) -> Boxes:
    """Numbers at the tips: every spine where there is room, soft rays where they decide."""
    boxes: Boxes = []
    for key in _BRACKETS:
        sticks, above = _reach(shape, key)
        if not sticks or (key.endswith("rays") and key not in strong):
            continue
        ink = ACCENT if key in strong else INK
        holder = add(
            group, "g", font_size=f"{_DIGIT}", text_anchor="middle", fill=ink, font_weight="bold",
            stroke=PAPER, stroke_width="2.5", paint_order="stroke", stroke_linejoin="round",
        )  # fmt: skip
        for x, y, said in _spaced(sticks, above, _follower(shape, key)):
            node = add(holder, "text", x=f"{x:.1f}", y=f"{y + 3.8:.1f}")
            node.text = said
            half = width(said, _DIGIT, "bold") / 2
            boxes.append((x - half + left, y - 4.5 + axis, x + half + left, y + 4.5 + axis))
    return boxes


def _follower(shape: Figure, key: str) -> Stick | None:
    """The first soft ray that stands behind spines in the same fin."""
    names, kind = _BRACKETS[key]
    for name in names:
        if kind == SPINE and name in shape.fins and shape.fins[name].of_kind(SPINE):
            return next(iter(shape.fins[name].of_kind(RAY)), None)
    return None


def _spaced(
    sticks: Sequence[Stick], above: bool, behind: Stick | None
) -> list[tuple[float, float, str]]:
    """Digits beside tips; all, or the first, every second or fifth, and the last.

    A digit that would stand in the soft part ``behind`` it is moved out beyond that.
    """
    spots = [_digit_spot(s, above) for s in sticks]
    if behind is not None:
        x, y, said = spots[-1]
        tip = behind.tip
        if x > tip[0] - 16:
            y = min(y, tip[1] - 9) if above else max(y, tip[1] + 9)
            spots[-1] = (min(x, tip[0] - 3), y, said)
    for step in (1, 2, 5, 10):
        kept = [s for s in spots if int(s[2]) % step == 0 or s is spots[0] or s is spots[-1]]
        while len(kept) > 2 and _touch(kept[-2], kept[-1]):
            del kept[-2]
        if not any(_touch(a, b) for a, b in pairwise(kept)):
            return kept
    return [spots[0], spots[-1]]


def _digit_spot(stick: Stick, above: bool) -> tuple[float, float, str]:
    (bx, by), (tx, ty) = stick.base, stick.tip
    long = ((tx - bx) ** 2 + (ty - by) ** 2) ** 0.5 or 1.0
    away = 9.5
    return tx + (tx - bx) / long * away * 0.7, ty + (-away if above else away), str(stick.number)


def _touch(a: tuple[float, float, str], b: tuple[float, float, str]) -> bool:
    room = (width(a[2], _DIGIT, "bold") + width(b[2], _DIGIT, "bold")) / 2 + 1.5
    return abs(a[0] - b[0]) < room and abs(a[1] - b[1]) < 10


def beside(
    one: Looks,
    two: Looks,
    parted: Sequence[Difference],
    cautions: Sequence[str] = (),
    notes: bool = True,
) -> Drawing:
    """Two fishes under each other, the characters that tell them apart numbered in both.

    Without ``notes`` nothing stands below, not even the table of what tells them apart.
    """
    shapes = [figure(one, _SHORT), figure(two, _SHORT)]
    prefix = prefix_of(one.name, "beside", two.name)
    title = f"{told.subject(one)} beside {told.subject(two)}"
    told_apart = "; ".join(f"{d.label}: {d.one} against {d.two}" for d in parted[:_ROWS])
    about = [
        told.description(sh, told.drawn(lo), told.unknown(lo, sh))
        for lo, sh in zip((one, two), shapes, strict=True)
    ]
    desc = f"{told_apart or 'Nothing known here decides.'} First: {about[0]} Second: {about[1]}"
    svg = root(WIDTH, 100, prefix, f"Schematic drawings of {title}", desc)
    keys = [d.key for d in parted[:_ROWS]]
    on_picture = [
        k for k in keys
        if any(_shown(lo, sh, [k]) for lo, sh in zip((one, two), shapes, strict=True))
    ]  # fmt: skip
    ordered = on_picture + [k for k in keys if k not in on_picture]
    marks = {k: str(i) for i, k in enumerate(ordered, 1)}
    strong = frozenset(on_picture)
    foot, boxes = 10.0, []
    for looks, shape, tag in zip((one, two), shapes, "ab", strict=True):
        foot = page.heading(svg, foot + 8, looks.common or "", looks.name, "", _face(looks))
        own = f"{prefix_of(looks.name)}-{tag}"
        shown = {k: marks[k] for k in on_picture}
        foot, more, _ = _strip(svg, foot + 6, looks, shape, own, shown, strong)
        boxes += more
    missing = [m for lo, sh in zip((one, two), shapes, strict=True) for m in _missing(lo, sh)]
    if not notes:
        page.finish(svg, foot)
        return Drawing(written(svg), f"Drew {title}.", tuple(missing), tuple(boxes))
    foot = _apart(svg, foot + 10, one, two, parted, marks, on_picture)
    blocks = [
        ("How to read it", [f"{told.KEY} Rust-coloured, thick and numbered: tells them apart."]),
        ("Not known", missing),
        ("Outlines", [f"{lo.common or lo.name}: {told.outline(sh)}"
                      for lo, sh in zip((one, two), shapes, strict=True)]),
        ("Markings", ["Plain grey hints. Colour and pattern never decide; colour is not drawn."]),
        ("Take care", [" ".join(cautions)] if cautions else []),
        ("Rests on", [told.rests([one, two])]),
    ]  # fmt: skip
    foot = page.notes(svg, foot + 8, blocks)
    page.finish(svg, foot + 14)
    return Drawing(written(svg), f"Drew {title}.", tuple(missing), tuple(boxes))


def _missing(looks: Looks, shape: Figure) -> list[str]:
    return [f"{looks.common or looks.name}: {said}" for said in told.unknown(looks, shape)]


def _apart(
    svg: Element, y: float, one: Looks, two: Looks, parted: Sequence[Difference],
    marks: Mapping[str, str], on_picture: Sequence[str],
) -> float:  # fmt: skip
    """The table of what tells them apart, or the sentence that nothing does."""
    if not parted:
        said = "No dependable character known here decides between them: ask for the water."
        text(svg, page.MARGIN, y + 14, said, 14, "bold")
        return y + 24
    rows, tags = [], []
    for row in sorted(parted[:_ROWS], key=lambda d: int(marks[d.key])):
        seen = row.seen if row.key in on_picture else f"{row.seen}; not in the drawing"
        rows.append((row.label, told.dashes(row.one) if row.one[:1].isdigit() else row.one,
                     told.dashes(row.two) if row.two[:1].isdigit() else row.two,
                     row.verdict, seen))  # fmt: skip
        tags.append(marks[row.key])
    names = ("what to look at", one.common or one.name, two.common or two.name, "weight", "seen")
    foot = page.table(svg, y, names, rows, (0.2, 0.26, 0.26, 0.09, 0.19), tags)
    if len(parted) > _ROWS:
        foot += 20
        text(svg, page.MARGIN, foot - 5, f"and {len(parted) - _ROWS} characters more", 13)
    return foot + 8
