"""Paints a figure: fins, body, markings, lateral line, head, in the order in which they cover.

Knows: line weights, fills, patterns, and that each fin element is one element of the picture.
Refuses to know: words and labels.
"""

from opercle.draw import marks
from opercle.draw.curves import length
from opercle.draw.figure import Figure, count, state
from opercle.draw.fins import RAY, SPINE, Fin, forked, wedge
from opercle.draw.style import ACCENT, BACK, BELLY, FIN, INK, PAPER, SOFT
from opercle.draw.svg import Element, add, path
from opercle.questions.looks import Looks

_KEYS = {
    ("dorsal", SPINE): "dorsal-spines",
    ("dorsal-1", SPINE): "dorsal-spines",
    ("dorsal", RAY): "dorsal-soft-rays",
    ("dorsal-2", RAY): "dorsal-soft-rays",
    ("anal", SPINE): "anal-spines",
    ("anal", RAY): "anal-soft-rays",
    ("pelvic", SPINE): "pelvic-spines",
    ("pelvic", RAY): "pelvic-soft-rays",
    ("pectoral", RAY): "pectoral-rays",
    ("tail", RAY): "caudal-branched-rays",
}
_TINY = 5.5
"""Rays nearer together than this are drawn without their fork."""


def paint(
    group: Element, figure: Figure, looks: Looks, prefix: str, marked: frozenset[str]
) -> None:
    """Paint a fish into a group whose origin is its snout; ``marked`` characters stand out."""
    _definitions(group, figure, looks, prefix)
    for name, fin in figure.fins.items():
        if name != "pectoral":
            _fin(group, name, fin, prefix, marked)
    outline = _outline(figure)
    path(group, outline, id_=f"{prefix}-body", fill=f"url(#{prefix}-shade)")
    inside = add(group, "g", clip_path=f"url(#{prefix}-trunk)")
    _scales(inside, figure, looks, prefix)
    pattern = state_pattern(looks)
    if pattern is not None:
        marks.paint(inside, figure, pattern)
    _lateral_line(group, figure, looks, prefix)
    path(group, outline, fill="none", stroke=INK, stroke_width="2.2", stroke_linejoin="round")
    _head(group, figure, looks, prefix)
    _barbels(group, figure, looks, prefix)
    if "pectoral" in figure.fins:
        _fin(group, "pectoral", figure.fins["pectoral"], prefix, marked)
    _eyespot(group, figure, looks)


def state_pattern(looks: Looks) -> str | None:
    """The first stated side pattern, as a hint; None if none is stated or it is plain."""
    found = looks.states.get("side-pattern")
    if found is None:
        return None
    first = found.drawn or found.states[0]
    return None if first == "plain" else first


def _definitions(group: Element, figure: Figure, looks: Looks, prefix: str) -> None:
    defs = add(group, "defs")
    shade = add(defs, "linearGradient", id_=f"{prefix}-shade", x1="0", y1="0", x2="0", y2="1")
    add(shade, "stop", offset="0", stop_color=BACK)
    add(shade, "stop", offset="0.75", stop_color=BELLY)
    trunk = add(defs, "clipPath", id_=f"{prefix}-trunk")
    x = figure.head.rear[0]
    xs = [x * 0.86 + (figure.long - x * 0.86) * i / 14 for i in range(15)]
    upper = "L".join(f"{v:.1f} {figure.top(v):.1f}" for v in xs)
    lower = "L".join(f"{v:.1f} {figure.bottom(v):.1f}" for v in reversed(xs[1:]))
    path(
        trunk,
        f"M{upper}L{lower}L{x * 0.72:.1f} {figure.bottom(x * 0.72):.1f}"
        f"Q{x * 0.97:.1f} {figure.bottom(x) * 0.72:.1f} {x + 7:.1f} 18"
        f"L{x + 7:.1f} -18Q{x + 2:.1f} {figure.top(x) * 0.55:.1f} "
        f"{xs[0]:.1f} {figure.top(xs[0]) * 0.74:.1f}Z",
    )
    size = scale_size(figure, looks)
    if size is not None:
        _scale_tile(defs, f"{prefix}-scales", size, state(looks, "scale-type") == "ganoid")
    _scale_tile(defs, f"{prefix}-cheek", 7.0, False)


def _scale_tile(defs: Element, name: str, size: float, diamonds: bool) -> None:
    """A tile of scales, each row half a scale behind the other."""
    w, h = size, size * 0.9
    tile = add(
        defs, "pattern", id_=name, width=f"{w:.2f}", height=f"{h:.2f}",
        patternUnits="userSpaceOnUse",
    )  # fmt: skip
    if diamonds:
        d = f"M0 {h / 2:.2f}L{w / 2:.2f} 0L{w:.2f} {h / 2:.2f}L{w / 2:.2f} {h:.2f}Z"
    else:
        d = (
            f"M{w * 0.5:.2f} 0Q{w:.2f} {h * 0.25:.2f} {w * 0.5:.2f} {h * 0.5:.2f}"
            f"M0 {h * 0.5:.2f}Q{w * 0.5:.2f} {h * 0.75:.2f} 0 {h:.2f}"
        )
    path(tile, d, fill="none", stroke=SOFT, stroke_width="0.55", stroke_opacity="0.6")


def scale_size(figure: Figure, looks: Looks) -> float | None:
    """The width of one scale from the number along the lateral line; None where not known."""
    number = count(looks, "lateral-line-scales")
    if not number or state(looks, "scale-type") in ("naked", "placoid", "scutes"):
        return None
    return max(3.6, (figure.long - figure.head.rear[0]) / number)


def _outline(figure: Figure) -> str:
    top, bottom, long = figure.top, figure.bottom, figure.long
    end = long + (0 if figure.plan.key == "ocean sunfish" else figure.base * 0.35)
    return (
        f"M0 {top.ys[0]:.1f}{top.forward()}"
        f"Q{end:.1f} 0 {long:.1f} {bottom.ys[-1]:.1f}{bottom.backward()}Z"
    )


def _fin(group: Element, name: str, fin: Fin, prefix: str, marked: frozenset[str]) -> None:
    holder = add(group, "g", id_=f"{prefix}-{name}")
    paired = name in ("pelvic", "pectoral", "tail")
    blank = {} if fin.known or paired else {"stroke_dasharray": "5 3"}
    path(
        holder, fin.outline, fill=FIN, fill_opacity="0.94", stroke=INK if fin.known else SOFT,
        stroke_width="1.2", stroke_linejoin="round", **blank,
    )  # fmt: skip
    for kind in (SPINE, RAY):
        sticks = fin.of_kind(kind)
        if sticks:
            key = _KEYS.get((name, kind), "")
            _sticks(holder, f"{prefix}-{name}-{kind}", kind, fin, key in marked)


def _sticks(group: Element, name: str, kind: str, fin: Fin, bold: bool) -> None:
    sticks = fin.of_kind(kind)
    paired = fin.name in ("pelvic", "pectoral", "tail")
    if kind == SPINE:
        ink = ACCENT if bold else INK
        holder = add(group, "g", fill=ink, stroke=ink, stroke_width="0.6", stroke_linejoin="round")
        wide = (2.6 if paired else 3.6) + (1.2 if bold else 0)
        for s in sticks:
            path(holder, wedge(s, wide), id_=f"{name}-{s.number}")
        return
    holder = add(
        group, "g", fill="none", stroke=ACCENT if bold else INK,
        stroke_width="1.9" if bold else "0.9", stroke_linecap="round",
    )  # fmt: skip
    spread = 0.0
    if len(sticks) > 1:
        a, b = sticks[0], sticks[-1]
        room = abs(b.tip[0] - a.tip[0]) + abs(b.tip[1] - a.tip[1])
        room /= len(sticks) - 1
        spread = 0.0 if room < _TINY else min(2.6, room * 0.16)
    for s in sticks:
        path(holder, forked(s, spread), id_=f"{name}-{s.number}")


def _scales(group: Element, figure: Figure, looks: Looks, prefix: str) -> None:
    if scale_size(figure, looks) is None:
        return
    x, (_, top, _, bottom) = figure.head.rear[0] * 0.7, figure.box
    add(
        group, "rect", x=f"{x:.1f}", y=f"{top:.1f}", width=f"{figure.long - x:.1f}",
        height=f"{bottom - top:.1f}", fill=f"url(#{prefix}-scales)",
    )  # fmt: skip


_ENDS = {"complete": 1.0, "incomplete": 0.55, "interrupted": 1.0, "several": 1.0}


def line_points(figure: Figure, end: float = 1.0) -> list[tuple[float, float]]:
    """The course of the lateral line: below the arch of the back, to the middle of the stalk."""
    start = figure.head.rear[0] + 8
    made = []
    for i in range(13):
        t = i / 12
        x = start + (figure.long - start) * t * end
        s = t * end
        top = figure.top(x)
        made.append((x, top + (figure.bottom(x) - top) * (0.3 + 0.2 * s * s * (3 - 2 * s))))
    return made


def _lateral_line(group: Element, figure: Figure, looks: Looks, prefix: str) -> None:
    how = state(looks, "lateral-line")
    if how not in _ENDS:
        return
    course = line_points(figure, _ENDS[how])
    number = count(looks, "lateral-line-scales")
    holder = add(
        group, "g", id_=f"{prefix}-lateral-line", fill="none", stroke=INK, stroke_width="1.9"
    )
    if number and how == "complete":
        step = length(course) / number
        dash = f"{step * 0.62:.3f} {step * 0.38:.3f}"
    else:
        dash = "5 4"
    points = "L".join(f"{x:.1f} {y:.1f}" for x, y in course)
    path(holder, f"M{points}", stroke_dasharray=dash)
    if how == "several":
        lower = "L".join(f"{x:.1f} {y + figure.depth * 0.16:.1f}" for x, y in course)
        path(holder, f"M{lower}", stroke_dasharray=dash)
    on_tail = state(looks, "lateral-line-on-tail")
    size = figure.plan.tail * figure.long
    if on_tail in ("onto-fin", "three-rows"):
        x = figure.long
        path(holder, f"M{x:.1f} {course[-1][1]:.1f}L{x + size * 0.5:.1f} 0", stroke_dasharray="4 3")
    if on_tail == "three-rows":
        for side in (-1, 1):
            y = side * figure.base * 0.62
            path(
                holder,
                f"M{figure.long + 2:.1f} {y:.1f}l{size * 0.38:.1f} {side * size * 0.2:.1f}",
                stroke_dasharray="4 3",
            )


def _head(group: Element, figure: Figure, looks: Looks, prefix: str) -> None:
    head = add(
        group, "g", id_=f"{prefix}-head", fill="none", stroke=INK, stroke_width="1.7",
        stroke_linecap="round", stroke_linejoin="round",
    )  # fmt: skip
    _cheek(head, figure, looks, prefix)
    _gill_cover(head, figure, looks)
    _mouth(head, figure, looks)
    (x, y), r = figure.head.eye, figure.head.radius
    add(head, "circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r=f"{r:.1f}", fill=PAPER)
    add(head, "circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r=f"{r * 0.52:.1f}", fill=INK, stroke="none")
    add(
        head, "circle", cx=f"{x - r * 0.18:.1f}", cy=f"{y - r * 0.2:.1f}", r=f"{r * 0.15:.1f}",
        fill=PAPER, stroke="none",
    )  # fmt: skip
    if figure.plan.key not in ("ocean sunfish",):
        add(
            head, "circle", cx=f"{x * 0.5:.1f}", cy=f"{y * 0.55 + figure.head.snout[1] * 0.2:.1f}",
            r="1.5", fill=INK, stroke="none",
        )  # fmt: skip


def _cheek(head: Element, figure: Figure, looks: Looks, prefix: str) -> None:
    """Scales on the cheek: whole, upper half, or none."""
    how = state(looks, "cheek-scales")
    if how not in ("full", "partial"):
        return
    (ex, ey), r = figure.head.eye, figure.head.radius
    left, right = ex - r * 0.2, figure.head.front_x - 3
    upper = ey + r * 1.25
    lower = upper + (figure.bottom(right * 0.9) * 0.72 - upper) * (1.0 if how == "full" else 0.48)
    if lower <= upper or right <= left:
        return
    path(
        head,
        f"M{left:.1f} {upper:.1f}Q{(left + right) / 2:.1f} {upper + 2:.1f} {right:.1f} "
        f"{ey + r * 0.2:.1f}L{right:.1f} {(upper + lower) / 2:.1f}Q{right:.1f} {lower:.1f} "
        f"{(left + right) / 2:.1f} {lower:.1f}Q{left:.1f} {lower:.1f} {left:.1f} {upper:.1f}Z",
        fill=f"url(#{prefix}-cheek)", stroke=SOFT, stroke_width="0.5", stroke_dasharray="2 2",
    )  # fmt: skip


_FLAPS = {
    "two-points": "c7 0 11 4 10 8c-1 4 -6 4 -8 5c6 0 9 3 8 7c-1 4 -7 4 -10 1",
    "one-spine": "q2 4 1 7l19 4l-19 5q0 3 -2 5",
    "two-spines": "q2 3 1 5l15 1l-13 5l18 4l-18 4q-1 1 -3 2",
    "three-spines": "q2 1 1 3l12 0l-11 5l18 2l-17 4l13 4l-15 2q0 1 -1 1",
}
"""Rear edge of the gill cover, over 21 units of height from the upper curve to the lower."""


def gill_curve(figure: Figure) -> str:
    """The gill cover's rear edge as a path from the nape to the throat, without its points."""
    x, y = figure.head.rear
    top, bottom = figure.top(x * 0.84), figure.bottom(x * 0.66)
    return (
        f"M{x * 0.84:.1f} {top * 0.72:.1f}C{x * 0.95:.1f} {top * 0.6:.1f} {x:.1f} "
        f"{min(y - 24, top * 0.3):.1f} {x:.1f} {y - 11:.1f}L{x:.1f} {y + 10:.1f}"
        f"C{x * 0.98:.1f} {bottom * 0.55:.1f} {x * 0.82:.1f} {bottom * 0.86:.1f} "
        f"{x * 0.6:.1f} {bottom * 0.93:.1f}"
    )


def _gill_cover(head: Element, figure: Figure, looks: Looks) -> None:
    x, y = figure.head.rear
    bottom = figure.bottom(x * 0.66)
    edge = state(looks, "opercle-edge")
    blank = {"stroke_dasharray": "5 3"} if edge is None else {}
    path(head, gill_curve(figure), **blank)
    if edge in _FLAPS:
        flap = _FLAPS[edge]
        path(head, f"M{x:.1f} {y - 11:.1f}{flap}", fill=BELLY, stroke_width="1.5")
    if edge == "rounded-flap":
        far = 46 if state(looks, "ear-flap-length") == "long" else 27
        path(
            head,
            f"M{x - 2:.1f} {y - 12:.1f}C{x + far * 0.6:.1f} {y - 17:.1f} {x + far:.1f} "
            f"{y - 10:.1f} {x + far:.1f} {y:.1f}C{x + far:.1f} {y + 10:.1f} "
            f"{x + far * 0.5:.1f} {y + 13:.1f} {x - 2:.1f} {y + 10:.1f}Z",
            fill=INK,
        )
    front, ey = figure.head.front_x, figure.head.eye[1]
    path(
        head,
        f"M{front * 1.06:.1f} {ey - figure.head.radius * 0.2:.1f}C{front * 1.12:.1f} "
        f"{bottom * 0.3:.1f} {front * 1.08:.1f} {bottom * 0.74:.1f} {front * 0.72:.1f} "
        f"{bottom * 0.74:.1f}",
        stroke_width="1.1",
    )


def _mouth(head: Element, figure: Figure, looks: Looks) -> None:
    (sx, sy), corner = figure.head.snout, figure.head.corner
    if corner is None:
        wide = figure.head.rear[0] * (0.62 if figure.plan.key == "gar" else 0.22)
        path(
            head, f"M{sx:.1f} {sy:.1f}l{wide:.1f} {wide * figure.plan.gape:.1f}",
            stroke_dasharray="4 3",
        )  # fmt: skip
        return
    cx, cy = corner
    bend = (sx + (cx - sx) * 0.55, sy + (cy - sy) * 0.3)
    path(
        head, f"M{sx:.1f} {sy:.1f}Q{bend[0]:.1f} {bend[1]:.1f} {cx:.1f} {cy:.1f}", stroke_width="2"
    )
    wide = max(5.0, (cx - sx) * 0.085)
    mx, my = sx + (cx - sx) * 0.42, sy + (cy - sy) * 0.2 - wide * 0.5
    path(
        head,
        f"M{mx:.1f} {my:.1f}Q{cx - (cx - mx) * 0.3:.1f} {cy - wide * 1.9:.1f} {cx + 3:.1f} "
        f"{cy - wide * 1.1:.1f}Q{cx + 5:.1f} {cy - 1:.1f} {cx:.1f} {cy:.1f}",
        stroke_width="1.1",
    )


def _barbels(group: Element, figure: Figure, looks: Looks, prefix: str) -> None:
    """The feelers of the side that is seen: half of an even number, all of an odd one."""
    number = count(looks, "barbels") or 0
    shown = near_barbels(number)
    if not shown:
        return
    holder = add(
        group, "g", id_=f"{prefix}-barbels", fill="none", stroke=INK, stroke_width="2.2",
        stroke_linecap="round",
    )  # fmt: skip
    head, long = figure.head, figure.head.rear[0]
    if number == 1:
        x = long * 0.3
        path(holder, f"M{x:.1f} {figure.bottom(x) - 1:.1f}q-2 14 8 22")
        return
    starts = [
        (long * 0.16, figure.top(long * 0.16) + 4, 0.05, -0.36),
        (long * 0.2, head.snout[1] + 8, 0.8, 0.42),
        (long * 0.34, figure.bottom(long * 0.34) - 2, 0.22, 0.4),
        (long * 0.24, figure.bottom(long * 0.24) - 2, 0.1, 0.42),
    ]
    order = starts if shown == 4 else starts[1:] + starts[:1]
    for i in range(shown):
        x, y, run, drop = order[i % 4]
        shift = i // 4 * 8
        path(
            holder,
            f"M{x + shift:.1f} {y:.1f}q{long * run * 0.3:.1f} {long * drop * 0.7:.1f} "
            f"{long * run + 4:.1f} {long * drop:.1f}",
            id_=f"{prefix}-barbel-{i + 1}",
        )


def near_barbels(number: int) -> int:
    """How many feelers the near side shows."""
    return number // 2 if number % 2 == 0 else min(number, 1)


def _eyespot(group: Element, figure: Figure, looks: Looks) -> None:
    """A dark spot in the dorsal fin, where it is stated without doubt."""
    found = looks.states.get("fin-ocellus")
    if found is None or len(found.states) != 1:
        return
    where = {"soft-dorsal": ("dorsal", "dorsal-2"), "spiny-dorsal": ("dorsal-1", "dorsal")}
    for name in where.get(found.states[0], ()):
        if name in figure.fins:
            kind = RAY if found.states[0] == "soft-dorsal" else SPINE
            sticks = figure.fins[name].of_kind(kind)[-3:]
            if sticks:
                x = sum((s.base[0] + s.tip[0]) / 2 for s in sticks) / len(sticks)
                y = sum(s.base[1] * 0.6 + s.tip[1] * 0.4 for s in sticks) / len(sticks)
                add(
                    group, "ellipse", cx=f"{x:.1f}", cy=f"{y:.1f}", rx="11", ry="8",
                    fill=marks.WASH, fill_opacity="0.6",
                )  # fmt: skip
            return
