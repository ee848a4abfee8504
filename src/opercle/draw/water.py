"""A map of one water, or of all waters that the base map can show, as SVG.

Knows: where a water lies on the base map, what lies inside it, which states it reaches, and how
names are set so that none covers another.
Refuses to know: drainage areas, and fishes. A water without a place on the base map is shown by
its parts and states, or not at all.
"""

from collections.abc import Callable, Mapping, Sequence

from opercle.draw import page
from opercle.draw.basemap import Box, Line, base, lines, seas
from opercle.draw.style import INK, NATIVE, PAPER, RULE, SOFT, WATER, WIDTH, width
from opercle.draw.svg import Element, add, path, prefix_of, root, text, written
from opercle.questions import looks
from opercle.questions.desk import Desk

Link = Callable[[str], str | None]
_WIDE, _TALLEST, _LEAST = WIDTH - 2 * page.MARGIN, 640.0, 420.0
_SIZE = 12.5
_REACHED = "#e9efe4"
_FAR = ("CA-NU", "GL", "CA-NT", "CA-YT", "US-AK", "US-HI")
_MOST = 46
"""More names than this crowd a map."""


def one(desk: Desk, where: str, link: Link = lambda _: None) -> str | None:
    """The map of a water or place (``w:…``, ``pl:…``); None where nothing of it can be shown.

    ``link`` gives the address of a water, to which its line then leads.
    """
    lies = looks.water(desk, where)
    drawn = lines()
    strong = [where] if where in drawn else []
    inside = [w for w in lies.holds if w in drawn and w != where]
    states = {p.removeprefix("pl:") for p in (*lies.reaches, where)} & set(base()["regions"])
    salt = where if where in seas() else None
    frame = _frame(strong, inside, states, salt)
    if frame is None:
        return None
    named = {w: desk.label(w) for w in (*strong, *inside)}
    told = _told(lies.label, bool(strong or salt), len(inside), len(states))
    return _drawn(lies.label, told, frame, strong, inside, states, salt, named, link)


def every(desk: Desk, link: Link) -> str:
    """All rivers and lakes that the base map can show, each leading to its address."""
    named = {w: desk.label(w) for w in lines()}
    order = sorted(named, key=lambda w: -_length(lines()[w]))
    regions = [r["box"] for c, r in base()["regions"].items() if c.startswith(("US-", "CA-"))]
    frame = _whole([b for b in regions if b[3] - b[1] < _LEAST * 2])
    told = "Rivers and lakes held here that have a place on the base map; each leads to its page"
    return _drawn("Waters", told, frame, [], order, set(), None, named, link)


def _length(line: Line) -> float:
    return line.box[2] - line.box[0] + line.box[3] - line.box[1]


def _told(label: str, own: bool, inside: int, states: int) -> str:
    parts = [] if own else ["Its own course is not in the base map"]
    if inside:
        parts.append(f"with {inside} water{'s' if inside > 1 else ''} inside it")
    if states:
        parts.append(f"reaching {states} state{'s' if states > 1 else ''} or countries, shaded")
    said = "; ".join(parts) or "As it lies on the base map"
    return said[:1].upper() + said[1:]


def _frame(
    strong: Sequence[str], inside: Sequence[str], states: set[str], salt: str | None
) -> Box | None:
    boxes = [lines()[w].box for w in (*strong, *inside)]
    boxes += [tuple(seas()[salt]["box"])] if salt else []
    regions = base()["regions"]
    if not boxes:
        boxes = [regions[c]["box"] for c in states if c not in _FAR or len(states) == 1]
    return _whole(boxes) if boxes else None


def _whole(boxes: Sequence[Sequence[float]]) -> Box:
    """A frame round boxes, never too narrow, flat or tall."""
    x0, y0 = min(b[0] for b in boxes), min(b[1] for b in boxes)
    x1, y1 = max(b[2] for b in boxes), max(b[3] for b in boxes)
    wide, high = max(x1 - x0 + 80, _LEAST), max(y1 - y0 + 80, _LEAST * 0.5)
    wide, high = max(wide, high * _WIDE / _TALLEST), max(high, wide * 0.5)
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    return x - wide / 2, y - high / 2, x + wide / 2, y + high / 2


def _drawn(
    name: str, note: str, frame: Box, strong: Sequence[str], inside: Sequence[str],
    states: set[str], salt: str | None, named: Mapping[str, str], link: Link,
) -> str:  # fmt: skip
    prefix = prefix_of("water", name)
    shown = ", ".join(named[w] for w in (*strong, *inside[:200]))
    svg = root(WIDTH, 100, prefix, f"Map of {name}", f"{note}. Shown: {shown or 'the states'}.")
    if any(link(w) for w in (*strong, *inside)):
        svg.set("role", "group")  # a picture may hold nothing to press
    top = page.heading(svg, 14, "", name, note, "bold") + 8
    scale = _WIDE / (frame[2] - frame[0])
    high = (frame[3] - frame[1]) * scale
    clip = add(add(svg, "defs"), "clipPath", id_=f"{prefix}-frame")
    size = {"x": f"{page.MARGIN:g}", "y": f"{top:.1f}", "width": f"{_WIDE:.1f}"}
    size |= {"height": f"{high:.1f}", "rx": "4"}
    add(clip, "rect", **size)
    outer = add(svg, "g", clip_path=f"url(#{prefix}-frame)")
    add(outer, "rect", fill=WATER, **size)
    moved = f"translate({page.MARGIN - frame[0] * scale:.2f} {top - frame[1] * scale:.2f})"
    inner = add(
        outer, "g", transform=f"{moved} scale({scale:.5f})",
        stroke_linejoin="round", stroke_linecap="round",
    )  # fmt: skip
    _ground(inner, frame, states, salt, 1 / scale)
    for water in reversed(inside):
        _course(inner, lines()[water], named[water], link(water), 1.5 / scale)
    for water in strong:
        _course(inner, lines()[water], named[water], link(water), 3.4 / scale)
    _names(outer, frame, top, scale, strong, inside, named)
    add(svg, "rect", fill="none", stroke=RULE, **size)
    foot = page.notes(svg, top + high + 10, [("Base map", [_BASE])])
    return written(page.finish(svg, foot + 10))


_BASE = (
    "Natural Earth 1:50 million, public domain; Albers projection. Courses that it lacks are drawn "
    "from memory as straight pieces. A line stands for a water, not for its drainage area."
)


def _ground(group: Element, frame: Box, states: set[str], salt: str | None, px: float) -> None:
    """Land, states reached, lakes, and all rivers thinly."""
    for code, region in base()["regions"].items():
        if _meets(region["box"], frame):
            fill = _REACHED if code in states else PAPER
            path(group, region["d"], fill=fill, stroke=RULE, stroke_width=f"{0.9 * px:.3f}")
    thin = {"stroke": "#9db2bd", "stroke_width": f"{0.9 * px:.3f}"}
    for lake in base()["lakes"]:
        if _meets(lake["box"], frame):
            path(group, lake["d"], fill=WATER, fill_rule="evenodd", **thin)
    path(group, base()["other_rivers"], fill="none", **thin)
    for line in lines().values():
        if not line.schematic and not line.d.endswith("z") and _meets(line.box, frame):
            path(group, line.d, fill="none", **thin)
    if salt:
        (x, y), r = seas()[salt]["at"], seas()[salt]["r"]
        add(
            group, "circle", cx=f"{x}", cy=f"{y}", r=f"{r}", fill="none", stroke=NATIVE,
            stroke_width=f"{2 * px:.3f}", stroke_dasharray=f"{6 * px:.3f} {4 * px:.3f}",
        )  # fmt: skip


def _meets(box: Sequence[float], frame: Box) -> bool:
    return box[0] < frame[2] and box[2] > frame[0] and box[1] < frame[3] and box[3] > frame[1]


def _course(group: Element, line: Line, label: str, address: str | None, wide: float) -> None:
    """One water as a line or an area; with an address it can be followed."""
    holder = group
    if address is not None:
        holder = add(group, "a", href=address, tabindex="-1")
        add(holder, "title").text = label
        if not line.d.endswith("z"):
            path(holder, line.d, fill="none", stroke="transparent", stroke_width=f"{wide * 6:.3f}")
    area = line.d.endswith("z")
    path(
        holder, line.d, fill="#b9d3d0" if area else "none", stroke=NATIVE, fill_rule="evenodd",
        stroke_width=f"{wide * (0.7 if area else 1):.3f}",
    )  # fmt: skip


def _names(
    outer: Element, frame: Box, top: float, scale: float,
    strong: Sequence[str], inside: Sequence[str], named: Mapping[str, str],
) -> None:  # fmt: skip
    """Names beside their lines, the most important first; one without room is left out."""
    taken: list[Box] = []
    set_so_far = 0
    for water in (*strong, *inside):
        own = water in strong
        size = _SIZE + 2 if own else _SIZE - (1.5 if len(inside) > 2 * _MOST else 0)
        wide = width(named[water], size, "bold" if own else "regular")
        for x, y in lines()[water].at:
            left = page.MARGIN + (x - frame[0]) * scale + 6
            down = top + (y - frame[1]) * scale + 4
            box = (left - 3, down - size, left + wide + 3, down + 4)
            right, foot = page.MARGIN + _WIDE, top + (frame[3] - frame[1]) * scale
            if box[0] < page.MARGIN or box[2] > right or box[1] < top or box[3] > foot:
                continue
            if any(_meets(box, b) for b in taken):
                continue
            taken.append(box)
            text(
                outer, left, down, named[water], size, "bold" if own else "regular",
                fill=INK if own else SOFT, stroke=PAPER, stroke_width="3", paint_order="stroke",
                pointer_events="none",
            )  # fmt: skip
            set_so_far += 1
            break
        if set_so_far > _MOST * 2:
            return
