"""Tangled names as SVG: names on the left, the fishes they mean on the right, a line for each use.

Knows: an order of both sides with few crossings, fishes set under their families, boxes that do
not meet.
Refuses to know: names and fishes. It draws the answer of ``tangles``.

The order is found by setting each side by the mean place of its neighbours on the other, in turn
(the barycentre method of Sugiyama, Tagawa and Toda 1981, IEEE Trans. Syst. Man Cybern. 11: 109).
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from opercle.answers import Answer
from opercle.draw import page
from opercle.draw.style import ACCENT, INK, PAPER, SOFT, WIDTH, width, wrap
from opercle.draw.svg import Element, add, path, prefix_of, root, text, written

_ROW, _HEAD, _GAP = 19.0, 25.0, 7.0
_SIZE, _SMALL = 13.0, 11.5
_LEFT = 262.0
"""How wide the boxes of names may be."""
_RIGHT = 500.0
"""Where the names of fishes begin."""
_NOTE, _LOW = 650.0, 15.0
"""Where a note on a family begins, and the height of its lines."""
_SWEEPS = 8


class Item(NamedTuple):
    """One thing of a side: its key, what it is called, a small note, and its heading."""

    key: str
    label: str
    note: str = ""
    group: str = ""


class Line(NamedTuple):
    """A name means a fish; ``number`` of them where several are drawn as one, else 0."""

    name: str
    fish: str
    number: int = 0


class Picture(NamedTuple):
    """All that is drawn. ``focus`` is the key of the name or fish that was asked about."""

    title: str
    note: str
    names: Sequence[Item]
    fishes: Sequence[Item]
    lines: Sequence[Line]
    focus: str = ""


def added(answer: Answer) -> Answer:
    """An answer of ``tangles`` with its drawing as ``svg``; None where nothing is tangled."""
    fields = answer.fields
    if fields.get("tangle"):
        svg: str | None = draw(_of_tangle(answer))
    else:
        svg = draw(_of_worst(answer)) if fields.get("worst") else None
    return answer._replace(fields={**fields, "svg": svg})


def _of_tangle(answer: Answer) -> Picture:
    tangle = answer.fields["tangle"]
    names = [Item(n["node"], n["name"], _noted(n)) for n in tangle["names"]]
    fishes = [Item(f["taxon"], f["label"], "", f["family"]) for f in tangle["fishes"]]
    lines = [Line(n["node"], t) for n in tangle["names"] for t in n["bearers"]]
    title = f"Tangled names: {answer.question['name']}"
    return Picture(title, answer.answer, names, fishes, lines, tangle["start"])


def _of_worst(answer: Answer) -> Picture:
    worst = answer.fields["worst"]
    names = [Item(n["node"], n["name"], _noted(n)) for n in worst]
    families = sorted({f for n in worst for f in n["families"]})
    fishes = [Item(f, f or "no family known", _bearing(f, worst)) for f in families]
    lines = [Line(n["node"], f, k) for n in worst for f, k in n["families"].items()]
    title = f"The {len(worst)} names that tangle most"
    note = (
        f"{answer.answer} Each line leads to a family; after it stands how many species bear what."
    )
    return Picture(title, note, names, fishes, lines)


def _bearing(family: str, worst: Sequence[Mapping[str, Any]]) -> str:
    """``bream 12, perch 1``: how many species of a family bear which of the names."""
    found = [(n["families"][family], n["name"]) for n in worst if family in n["families"]]
    return ", ".join(f"{name} {k}" for k, name in sorted(found, key=lambda f: (-f[0], f[1])))


def _noted(name: Mapping[str, Any]) -> str:
    return f"{name['species']} species, part at {name['parts_at']}"


def draw(picture: Picture) -> str:
    """The picture as SVG text."""
    names, fishes = _ordered(picture)
    prefix = prefix_of("tangles", picture.title)
    svg = root(WIDTH, 100, prefix, picture.title, _described(picture))
    top = page.heading(svg, 18, picture.title, "", picture.note) + 22
    tall = sum(high + _GAP for _, high in map(_sized, names))
    start = top + max(0.0, tall - _right(fishes, 0.0)[2]) / 2
    places, heads, foot = _right(fishes, start)
    boxes = _left(names, picture, places, top)
    foot = max([foot, *(y + high for _, y, _, high, _ in boxes)])
    holder = add(svg, "g", id_=f"{prefix}-web")
    middles = {item.key: (x + wide, y + high / 2) for item, y, wide, high, x in boxes}
    _lines(holder, picture, middles, places)
    for item, y, wide, high, x in boxes:
        _box(holder, item, x, y, wide, high, item.key == picture.focus)
    for y, said in heads:
        text(holder, _RIGHT, y, said, _SMALL, "bold", fill=SOFT)
    for item in fishes:
        face = "bold" if item.key == picture.focus else "regular"
        y = places[item.key] + 4.5
        for step, line in enumerate(_fish_lines(item)):
            text(holder, _RIGHT + 10, y + step * _ROW, line, _SIZE, face, class_="fish")
        for step, line in enumerate(_note_lines(item)):
            text(holder, _NOTE, y + step * _LOW, line, _SMALL, fill=SOFT, class_="note")
    page.rule(svg, foot + 10)
    said = "A name is joined to every species that it means somewhere, at some time, in the sources"
    foot = page.notes(svg, foot + 18, [("Reading it", [f"{said} held here."])])
    return written(page.finish(svg, foot + 12))


def _described(picture: Picture) -> str:
    called = {f.key: f.label for f in picture.fishes}
    told = [picture.note]
    for name in picture.names:
        to = "; ".join(called[n.fish] for n in picture.lines if n.name == name.key)
        told.append(f"{name.label} ({name.note}): {to}.")
    return " ".join(told)


# ---- the order -----------------------------------------------------------------------------------


def _ordered(picture: Picture) -> tuple[list[Item], list[Item]]:
    """Both sides in an order with few crossings; fishes of one family stay together."""
    names = sorted(picture.names, key=lambda n: n.label)
    fishes = sorted(picture.fishes, key=lambda f: (f.group, f.label))
    for _ in range(_SWEEPS):
        mean = _means([f.key for f in fishes], [(n.fish, n.name) for n in picture.lines])
        names.sort(key=lambda n: (mean.get(n.key, 0.0), n.label))
        mean = _means([n.key for n in names], [(n.name, n.fish) for n in picture.lines])
        groups: dict[str, list[float]] = {}
        for fish in fishes:
            groups.setdefault(fish.group or fish.key, []).append(mean.get(fish.key, 0.0))
        middle = {group: sum(m) / len(m) for group, m in groups.items()}
        fishes.sort(
            key=lambda f: (middle[f.group or f.key], f.group, mean.get(f.key, 0.0), f.label)
        )
    return names, fishes


def _means(order: Sequence[str], pairs: Sequence[tuple[str, str]]) -> dict[str, float]:
    """For each second of the pairs the mean place of its firsts in the order."""
    place = {key: n for n, key in enumerate(order)}
    found: dict[str, list[int]] = {}
    for first, second in pairs:
        found.setdefault(second, []).append(place[first])
    return {key: sum(places) / len(places) for key, places in found.items()}


# ---- where it stands -----------------------------------------------------------------------------


def _fish_lines(item: Item) -> list[str]:
    end = _NOTE - 8 if item.note else WIDTH - page.MARGIN
    return wrap(item.label, _SIZE, end - _RIGHT - 10, "bold")


def _note_lines(item: Item) -> list[str]:
    return wrap(item.note, _SMALL, WIDTH - page.MARGIN - _NOTE)


def _right(
    fishes: Sequence[Item], top: float
) -> tuple[dict[str, float], list[tuple[float, str]], float]:
    """The middle of each fish's first line, the headings of families, and the foot."""
    places: dict[str, float] = {}
    heads: list[tuple[float, str]] = []
    y, group = top, ""
    for fish in fishes:
        if fish.group and fish.group != group:
            group = fish.group
            y += _HEAD
            heads.append((y - 7, group))
        places[fish.key] = y + _ROW / 2
        y += max(_ROW * len(_fish_lines(fish)), _LOW * len(_note_lines(fish)) + 4)
    return places, heads, y


_Placed = tuple[Item, float, float, float, float]


def _left(
    names: Sequence[Item], picture: Picture, places: Mapping[str, float], top: float
) -> list[_Placed]:
    """Boxes of names as (item, y, width, height, x), each near the middle of its fishes."""
    wanted: dict[str, list[float]] = {n.key: [] for n in names}
    for line in picture.lines:
        wanted[line.name].append(places[line.fish])
    sizes = [_sized(n) for n in names]
    made, y = [], top
    room = sum(high + _GAP for _, high in sizes)
    last = max([*places.values(), top + room])
    for name, (wide, high) in zip(names, sizes, strict=True):
        middle = sum(wanted[name.key]) / max(1, len(wanted[name.key]))
        own = max(y, min(middle - high / 2, last - room + 10))
        made.append((name, own, wide, high, page.MARGIN))
        y = own + high + _GAP
        room -= high + _GAP
    return made


def _sized(name: Item) -> tuple[float, float]:
    wide = max([width(n, _SIZE, "bold") for n in _labels(name)] + [width(name.note, _SMALL)])
    return wide + 18, 17.0 * len(_labels(name)) + 15 + 8


def _labels(name: Item) -> list[str]:
    return wrap(name.label, _SIZE, _LEFT - 18, "bold")


# ---- ink -----------------------------------------------------------------------------------------


def _lines(
    group: Element, picture: Picture, middles: Mapping[str, tuple[float, float]],
    places: Mapping[str, float],
) -> None:  # fmt: skip
    most = max((n.number for n in picture.lines), default=0)
    for line in picture.lines:
        x, y = middles[line.name]
        end, low = _RIGHT + 4, places[line.fish]
        chosen = picture.focus in (line.name, line.fish)
        bend = (end - x) / 2
        wide = 1.8 if chosen else 0.9 + (3.0 * line.number / most if most else 0.0)
        path(
            group, f"M{x:.1f} {y:.1f}C{x + bend:.1f} {y:.1f} {end - bend:.1f} {low:.1f} "
            f"{end:.1f} {low:.1f}",
            fill="none", stroke=ACCENT if chosen else SOFT,
            stroke_width=f"{wide:.1f}",
            stroke_opacity="1" if chosen else "0.75",
        )  # fmt: skip


def _box(
    group: Element, item: Item, x: float, y: float, wide: float, high: float, chosen: bool
) -> None:
    add(
        group, "rect", x=f"{x:.1f}", y=f"{y:.1f}", width=f"{wide:.1f}", height=f"{high:.1f}",
        rx="4", fill=PAPER, stroke=ACCENT if chosen else INK,
        stroke_width="2.2" if chosen else "1.1", class_="box",
    )  # fmt: skip
    for step, line in enumerate(_labels(item)):
        text(group, x + 9, y + 17 + 17 * step, line, _SIZE, "bold")
    text(group, x + 9, y + high - 8, item.note, _SMALL, fill=SOFT)
