"""A map of the waters of a taxon on a base map of North America, as SVG.

Knows: the base map shipped under ``data`` and how native, introduced and disputed waters are told
apart by pattern, line and sign as well as colour.
Refuses to know: drainage areas. There are no drainage polygons here: a water is a line where its
course is in the base map, a schematic line where it is not, and else only the states it reaches,
hatched lightly. What cannot be placed is listed under the map, never guessed.
"""

from collections.abc import Iterable, Sequence

from opercle.draw import map_told, page
from opercle.draw.basemap import EVERY, KINDS, Box, Line, Sorted, base, lines, seas, sort
from opercle.draw.style import BROUGHT, DOUBTED, INK, NATIVE, PAPER, RULE, SOFT, WATER, WIDTH, width
from opercle.draw.svg import Element, add, path, prefix_of, root, text, written
from opercle.questions.looks import Presence

_INKS = {"native": NATIVE, "introduced": BROUGHT, "disputed": DOUBTED}
_WIDE, _TALLEST = WIDTH - 2 * 32.0, 720.0
_LEAST = 640.0
"""A frame is at least this wide, in map units of 2 km."""


def draw(name: str, common: str | None, found: Sequence[Presence], notes: bool = True) -> str:
    """The map of a taxon's waters; without ``notes`` the base map is not told below it."""
    told = f"{common} ({name})" if common else name
    prefix = prefix_of("map", name)
    svg = root(WIDTH, 100, prefix, f"Waters of {told}", map_told.described(found))
    note = "Waters in which it is said to be native, introduced or disputed"
    foot = page.heading(svg, 18, common or "", name, note)
    marks = sort(found)
    foot += 10
    numbers = _numbers(found, marks)
    if marks.empty:
        text(svg, 32, foot + 22, "Nothing said of it can be marked on this map.", 15, "bold")
        foot += 34
    else:
        frame = _frame(marks)
        high = _WIDE * (frame[3] - frame[1]) / (frame[2] - frame[0])
        _map(svg, prefix, foot, high, frame, marks, numbers)
        foot = _legend(svg, prefix, foot + high + 14, marks)
    page.rule(svg, foot + 4)
    foot = page.notes(
        svg,
        foot + 10,
        [b for b in map_told.notes(found, marks, numbers) if notes or b[0] != "Base map"],
    )
    return written(page.finish(svg, foot + 12))


def _numbers(found: Sequence[Presence], marks: Sorted) -> dict[str, int]:
    """A number for every water stated and placed as a line, in the order told below the map."""
    ordered = [
        p.where
        for kind in EVERY
        for p in found
        if p.presence == kind and p.where in marks.lines[kind]
    ]
    return {w: i for i, w in enumerate(dict.fromkeys(ordered), 1)}


def _frame(marks: Sorted) -> Box:
    """The part of the base map to show: all that is marked, with a margin, never too narrow."""
    named, regions = lines(), base()["regions"]
    boxes = [named[w].box for k in EVERY for w in marks.lines[k]]
    boxes += [named[w].box for w in marks.parts["native"]]
    boxes += [regions[c]["box"] for k in KINDS for c in marks.regions[k] if c not in _FAR]
    boxes += [seas()[w]["box"] for k in KINDS for w in marks.seas[k]]
    if not boxes:
        boxes = [regions[c]["box"] for k in KINDS for c in marks.reached[k] if c not in _FAR]
    x0, y0 = min(b[0] for b in boxes), min(b[1] for b in boxes)
    x1, y1 = max(b[2] for b in boxes), max(b[3] for b in boxes)
    pad = max(60.0, (_LEAST - (x1 - x0)) / 2)
    x0, x1, y0, y1 = x0 - pad, x1 + pad, y0 - 60, y1 + 60
    least = (x1 - x0) * 0.55
    if y1 - y0 < least:
        y0, y1 = (y0 + y1 - least) / 2, (y0 + y1 + least) / 2
    tallest = _TALLEST / _WIDE
    if (y1 - y0) / (x1 - x0) > tallest:
        wide = (y1 - y0) / tallest
        x0, x1 = (x0 + x1 - wide) / 2, (x0 + x1 + wide) / 2
    return x0, y0, x1, y1


_FAR = ("CA-NU", "GL")


def _map(
    svg: Element, prefix: str, top: float, high: float, frame: Box, marks: Sorted,
    numbers: dict[str, int],
) -> None:  # fmt: skip
    x0, y0, x1, _ = frame
    scale = _WIDE / (x1 - x0)
    defs = add(svg, "defs")
    clip = add(defs, "clipPath", id_=f"{prefix}-frame")
    add(clip, "rect", x="32", y=f"{top:.1f}", width=f"{_WIDE:.1f}", height=f"{high:.1f}", rx="4")
    _patterns(defs, prefix, 1 / scale)
    outer = add(svg, "g", clip_path=f"url(#{prefix}-frame)")
    add(
        outer, "rect", x="32", y=f"{top:.1f}", width=f"{_WIDE:.1f}", height=f"{high:.1f}",
        fill=WATER,
    )  # fmt: skip
    moved = f"translate({32 - x0 * scale:.2f} {top - y0 * scale:.2f}) scale({scale:.5f})"
    inner = add(outer, "g", transform=moved, stroke_linejoin="round", stroke_linecap="round")
    px = 1 / scale
    _land(inner, prefix, px, frame, marks)
    _rivers(inner, prefix, px, frame, marks)
    taken = _discs(outer, top, scale, frame, numbers)
    _names(outer, top, scale, frame, marks, taken)
    add(
        svg, "rect", x="32", y=f"{top:.1f}", width=f"{_WIDE:.1f}", height=f"{high:.1f}",
        fill="none", stroke=RULE, rx="4",
    )  # fmt: skip


def _patterns(defs: Element, prefix: str, px: float) -> None:
    """Native: rising lines. Introduced: dots. Disputed: level dashes. Light: the same, sparse."""
    for kind in KINDS:
        for light in (False, True):
            size = (13.0 if light else 7.0) * px
            tile = add(
                defs, "pattern", id_=f"{prefix}-{kind}{'-light' if light else ''}",
                width=f"{size:.3f}", height=f"{size:.3f}", patternUnits="userSpaceOnUse",
            )  # fmt: skip
            ink = _INKS[kind]
            if kind == "introduced":
                r = (1.1 if light else 1.6) * px
                add(
                    tile, "circle", cx=f"{size / 2:.3f}", cy=f"{size / 2:.3f}", r=f"{r:.3f}",
                    fill=ink,
                )  # fmt: skip
                continue
            d = f"M0 {size:.3f}L{size:.3f} 0"
            if kind == "disputed":
                d = f"M0 {size / 2:.3f}H{size * 0.6:.3f}"
            path(
                tile, d, stroke=ink, stroke_width=f"{(0.8 if light else 1.7) * px:.3f}",
                fill="none", stroke_linecap="square",
            )  # fmt: skip


def _meets(box: Sequence[float], frame: Box) -> bool:
    return box[0] < frame[2] and box[2] > frame[0] and box[1] < frame[3] and box[3] > frame[1]


def _land(group: Element, prefix: str, px: float, frame: Box, marks: Sorted) -> None:
    seen = {c: r for c, r in base()["regions"].items() if _meets(r["box"], frame)}
    for kind in KINDS:
        for water in sorted(marks.seas[kind]):
            (x, y), r = seas()[water]["at"], seas()[water]["r"]
            add(
                group, "circle", cx=f"{x}", cy=f"{y}", r=f"{r}", fill=f"url(#{prefix}-{kind})",
                stroke=_INKS[kind], stroke_width=f"{1.2 * px:.3f}",
                stroke_dasharray=f"{5 * px:.3f} {3 * px:.3f}",
            )  # fmt: skip
    land = add(group, "g", fill=PAPER, stroke=RULE, stroke_width=f"{0.9 * px:.3f}")
    for region in seen.values():
        path(land, region["d"])
    for kind in KINDS:
        for code in sorted(marks.reached[kind] - marks.regions[kind]):
            if code in seen:
                path(group, seen[code]["d"], fill=f"url(#{prefix}-{kind}-light)")
        for code in sorted(marks.regions[kind]):
            if code in seen:
                path(
                    group, seen[code]["d"], fill=f"url(#{prefix}-{kind})", stroke=_INKS[kind],
                    stroke_width=f"{1.3 * px:.3f}",
                )  # fmt: skip


def _rivers(group: Element, prefix: str, px: float, frame: Box, marks: Sorted) -> None:
    lakes = add(
        group, "g", fill=WATER, stroke=SOFT, stroke_width=f"{0.7 * px:.3f}", fill_rule="evenodd"
    )
    for lake in base()["lakes"]:
        if _meets(lake["box"], frame):
            path(lakes, lake["d"])
    thin = add(group, "g", fill="none", stroke="#7f98a6", stroke_width=f"{1.0 * px:.3f}")
    path(thin, base()["other_rivers"])
    for line in lines().values():
        if _meets(line.box, frame) and not line.schematic:
            path(thin, line.d)
    for water in sorted(marks.parts["native"]):
        _line(group, prefix, px, lines()[water], "native", part=True)
    for kind in EVERY:
        for water in sorted(marks.lines[kind]):
            _line(group, prefix, px, lines()[water], kind)


_DASHES = {"introduced": (6.0, 4.0), "disputed": (1.5, 4.5), "absent": (1.0, 3.0)}


def _line(
    group: Element, prefix: str, px: float, line: Line, kind: str, part: bool = False
) -> None:
    """A water's line: whole for native, dashed for introduced, dotted for disputed."""
    wide = 1.7 if part else 3.2
    area = line.d.endswith("z")
    if area:
        fill = f"url(#{prefix}-{kind})" if kind in KINDS else "none"
        path(
            group, line.d, fill=fill, stroke=_INKS.get(kind, INK), stroke_width=f"{1.6 * px:.3f}",
            fill_rule="evenodd",
        )  # fmt: skip
        return
    if not part:
        path(group, line.d, fill="none", stroke=PAPER, stroke_width=f"{(wide + 2.6) * px:.3f}")
    dash = _DASHES.get(kind)
    more = {}
    if dash is not None:
        more["stroke_dasharray"] = f"{dash[0] * px:.3f} {dash[1] * px:.3f}"
    path(
        group, line.d, fill="none", stroke=_INKS.get(kind, INK),
        stroke_width=f"{(wide if kind != 'absent' else 1.6) * px:.3f}", **more,
    )  # fmt: skip


def _names(
    outer: Element, top: float, scale: float, frame: Box, marks: Sorted,
    taken: Sequence[tuple[float, float, float]],
) -> None:  # fmt: skip
    """Postal codes of the states that are marked, where there is room beside the numbers."""
    named = set().union(*(marks.regions[k] | marks.reached[k] for k in KINDS))
    for code in sorted(named & set(base()["regions"])):
        region = base()["regions"][code]
        room = region["room"] * scale
        if room < 11:
            continue
        x, y = region["at"]
        cx, cy = 32 + (x - frame[0]) * scale, top + (y - frame[1]) * scale
        if not (frame[0] < x < frame[2] and frame[1] < y < frame[3]):
            continue
        for dx, dy in _AROUND:
            px, py = cx + dx * (room - 8), cy + dy * (room - 8)
            if all((px - a) ** 2 + (py - b) ** 2 > (r + 10) ** 2 for a, b, r in taken):
                text(
                    outer, px, py + 4, code.partition("-")[2] or code, 12, "bold",
                    text_anchor="middle", stroke=PAPER, stroke_width="3", paint_order="stroke",
                )  # fmt: skip
                break


_AROUND = ((0, 0), (0, -1), (0, 1), (-1, 0), (1, 0), (-0.7, -0.7), (0.7, 0.7))
_CROWD = 24
"""More numbers than this are drawn smaller."""


def _discs(
    outer: Element, top: float, scale: float, frame: Box, numbers: dict[str, int]
) -> list[tuple[float, float, float]]:
    """Numbers on the lines, at the first of a line's places that is free; returns the discs."""
    radius = 9.5 if len(numbers) <= _CROWD else 7.5
    taken: list[tuple[float, float, float]] = []
    for water, number in numbers.items():
        for x, y in _places(lines()[water].at, top, scale, frame):
            if all((x - a) ** 2 + (y - b) ** 2 > (radius + r) ** 2 for a, b, r in taken):
                taken.append((x, y, radius))
                page.disc(outer, x, y, str(number), strong=False, radius=radius)
                break
    return taken


def _places(
    at: Iterable[tuple[float, float]], top: float, scale: float, frame: Box
) -> list[tuple[float, float]]:
    """Page points for a number: on the line, then beside it at growing distances."""
    on = [(32 + (x - frame[0]) * scale, top + (y - frame[1]) * scale) for x, y in at]
    beside = [
        (x + dx * far, y + dy * far)
        for far in (20, 34, 48)
        for x, y in on[:3]
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1), (0.7, 0.7), (-0.7, -0.7))
    ]
    return on + beside


def _legend(svg: Element, prefix: str, y: float, marks: Sorted) -> float:
    """What each pattern and line means; only what is used."""
    x = 32.0
    for kind in EVERY:
        if not any(part[kind] for part in marks.all_marks):
            continue
        items: list[tuple[str, str]] = []
        if marks.lines[kind]:
            items.append(("line", f"{kind}: river or lake named by a source"))
        if marks.parts[kind]:
            items.append(("part", "native: inside a larger drainage so named"))
        if marks.regions[kind]:
            items.append(("region", f"{kind}: state so named"))
        if marks.reached[kind] - marks.regions[kind]:
            items.append(("reached", f"{kind}: state that such a water reaches"))
        if marks.seas[kind]:
            items.append(("region", f"{kind}: sea, a circle at a schematic place"))
        for how, said in items:
            wide = 44 + width(said, 12.5) + 18
            if x + wide > WIDTH - 32:
                x, y = 32.0, y + 24
            _sample(svg, x, y, how, kind)
            text(svg, x + 40, y + 13, said, 12.5)
            x += wide
    return y + 26


def _sample(svg: Element, x: float, y: float, how: str, kind: str) -> None:
    ink = _INKS.get(kind, INK)
    if how in ("line", "part"):
        more = {}
        if kind in _DASHES:
            more["stroke_dasharray"] = "{:g} {:g}".format(*_DASHES[kind])
        wide = "1.7" if how == "part" or kind == "absent" else "3.2"
        path(svg, f"M{x:.1f} {y + 9:.1f}h32", stroke=ink, stroke_width=wide, **more)
        return
    light = how == "reached"
    add(
        svg, "rect", x=f"{x:.1f}", y=f"{y:.1f}", width="32", height="18", fill=PAPER, stroke=ink,
        stroke_width="1",
    )  # fmt: skip
    step = 12 if light else 6.5
    weight = 0.8 if light else 1.7
    marks = []
    i = step / 2
    while i < 32:
        if kind == "native":
            run = min(i, 16.0)
            marks.append(f"M{x + i:.1f} {y + 1:.1f}l-{run:.1f} {run:.1f}")
        elif kind == "disputed":
            for row in (5, 11):
                marks.append(f"M{x + i - step * 0.3:.1f} {y + row:.1f}h{step * 0.55:.1f}")
        else:
            for row in (5, 12):
                add(
                    svg, "circle", cx=f"{x + i:.1f}", cy=f"{y + row:.1f}",
                    r="1.1" if light else "1.6", fill=ink,
                )  # fmt: skip
        i += step
    if marks:
        path(svg, "".join(marks), stroke=ink, stroke_width=f"{weight}", fill="none")
