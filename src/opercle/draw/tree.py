"""A family tree as SVG: what stands above a taxon, and all that stands under it.

Knows: a tidy tree for few leaves, indented columns for many, and counts in place of species where
even columns would be too many to read.
Refuses to know: placements. It draws the tree that it is given.

The tidy tree gives every leaf a row and sets each parent midway between its first and last child
(the simple case of Reingold and Tilford 1981, IEEE Trans. Softw. Eng. 7: 223, for equal leaves).
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from opercle.draw import page
from opercle.draw.style import INK, PAPER, RULE, SOFT, WIDTH, width
from opercle.draw.svg import Element, add, path, prefix_of, root, text, written
from opercle.questions.looks import Branch

FEW, MANY = 44, 360
"""Up to FEW leaves: a tidy tree. Over MANY: genera with the number of their species."""
_ROW = 24.0
_LINE, _TIGHT, _LONG = 19.0, 16.5, 130
"""Height of a line in columns, and from so many lines on."""
_SIZE = 13.0


def draw(above: Sequence[Branch], branch: Branch) -> str:
    """The tree of a taxon with the chain of taxa above it, highest first."""
    leaves = _leaves(branch)
    name = f"{branch.common} ({branch.name})" if branch.common else branch.name
    prefix = prefix_of("tree", branch.name)
    svg = root(WIDTH, 100, prefix, f"Family tree of {name}", _described(above, branch))
    foot = page.heading(svg, 18, branch.common or "", branch.name, _counted(branch), _face(branch))
    foot = _chain(svg, foot + 10, [*above, branch])
    holder = add(svg, "g", id_=f"{prefix}-tree")
    if not branch.members:
        text(holder, page.MARGIN, foot + 22, "Nothing stands under it here.", 14)
        foot += 34
    elif leaves <= FEW:
        foot = _tidy(holder, foot + 14, branch)
    else:
        foot = _columns(holder, foot + 14, branch, collapsed=leaves > MANY)
    said = ["Only taxa held here are shown, in the placement followed here."]
    if leaves > MANY:
        said.append(f"More than {MANY} names: genera are shown with the number of their species.")
    page.rule(svg, foot + 8)
    foot = page.notes(svg, foot + 16, [("Note", [" ".join(said)])])
    return written(page.finish(svg, foot + 12))


def _leaves(branch: Branch) -> int:
    return sum(_leaves(m) for m in branch.members) or 1


_PLURAL = {
    "genus": "genera",
    "subgenus": "subgenera",
    "species": "species",
    "subspecies": "subspecies",
    "family": "families",
    "subfamily": "subfamilies",
    "class": "classes",
}


def plural(rank: str, number: int) -> str:
    """``1 genus``, ``8 genera``."""
    return f"{number} {rank if number == 1 else _PLURAL.get(rank, rank + 's')}"


def _ranks(branch: Branch) -> dict[str, int]:
    found: dict[str, int] = {}
    for member in branch.members:
        found[member.rank] = found.get(member.rank, 0) + 1
        for rank, number in _ranks(member).items():
            found[rank] = found.get(rank, 0) + number
    return found


def _counted(branch: Branch) -> str:
    parts = [plural(rank, number) for rank, number in _ranks(branch).items()]
    rank = branch.rank[:1].upper() + branch.rank[1:]
    return f"{rank}: {', '.join(parts)} held here" if parts else rank


def _described(above: Sequence[Branch], branch: Branch) -> str:
    chain = " > ".join(b.name for b in [*above, branch])
    parts = [
        f"{m.name} ({_counted(m).partition(': ')[2]})" if m.members else m.name
        for m in branch.members
    ]
    return f"{chain}. Under it: {', '.join(parts) or 'nothing held here'}."


def _chain(svg: Element, y: float, chain: Sequence[Branch]) -> float:
    """The taxa above as a row of boxes joined by lines; returns its foot."""
    x = page.MARGIN
    for i, one in enumerate(chain):
        face = "italic" if one.rank in ("genus", "species", "subgenus") else "bold"
        wide = max(width(one.name, 14, face), width(one.rank, 11)) + 24
        if x + wide > WIDTH - page.MARGIN:
            x, y = page.MARGIN, y + 52
        elif i:
            path(svg, f"M{x - 18:.1f} {y + 20:.1f}h18", stroke=INK, stroke_width="1.2")
        add(
            svg, "rect", x=f"{x:.1f}", y=f"{y:.1f}", width=f"{wide:.1f}", height="40", rx="4",
            fill=PAPER, stroke=INK, stroke_width="2" if one is chain[-1] else "1",
        )  # fmt: skip
        text(svg, x + wide / 2, y + 18, one.name, 14, face, text_anchor="middle")
        text(svg, x + wide / 2, y + 33, one.rank, 11, text_anchor="middle", fill=SOFT)
        x += wide + 18
    return y + 40


# ---- few: a tidy tree ----------------------------------------------------------------------


class _Spot(NamedTuple):
    branch: Branch
    depth: int
    y: float
    under: tuple["_Spot", ...]


def _spots(branch: Branch, depth: int, row: list[float]) -> _Spot:
    if not branch.members:
        row[0] += _ROW
        return _Spot(branch, depth, row[0] - _ROW / 2, ())
    under = tuple(_spots(m, depth + 1, row) for m in branch.members)
    row[0] += 5
    return _Spot(branch, depth, (under[0].y + under[-1].y) / 2, under)


def _deepest(spot: _Spot) -> int:
    return max((_deepest(s) for s in spot.under), default=spot.depth)


def _tidy(group: Element, top: float, branch: Branch) -> float:
    row = [top]
    spot = _spots(branch, 0, row)
    levels = _deepest(spot)
    wides = [0.0] * (levels + 1)
    _measure(spot, wides)
    xs = [page.MARGIN + sum(wides[:d]) + 34.0 * d for d in range(levels + 1)]
    _paint(group, spot, xs, wides)
    return row[0]


def _measure(spot: _Spot, wides: list[float]) -> None:
    if spot.under:
        own = width(_boxed(spot.branch), _SIZE, _box_face(spot.branch)) + 22
        wides[spot.depth] = max(wides[spot.depth], own)
        for one in spot.under:
            _measure(one, wides)


def _paint(group: Element, spot: _Spot, xs: Sequence[float], wides: Sequence[float]) -> None:
    x, y = xs[spot.depth], spot.y
    if not spot.under:
        _leaf(group, x + 2, y + 4.5, spot.branch)
        return
    wide = wides[spot.depth]
    add(
        group, "rect", x=f"{x:.1f}", y=f"{y - 11:.1f}", width=f"{wide:.1f}", height="22", rx="4",
        fill=PAPER, stroke=INK, stroke_width="1.1",
    )  # fmt: skip
    text(group, x + 11, y + 4.5, _boxed(spot.branch), _SIZE, _box_face(spot.branch))
    bend = x + wide + 15
    for one in spot.under:
        end = xs[one.depth] - (2 if one.under else 0)
        path(
            group, f"M{x + wide:.1f} {y:.1f}H{bend:.1f}V{one.y:.1f}H{end:.1f}",
            fill="none", stroke=SOFT, stroke_width="1.1",
        )  # fmt: skip
        _paint(group, one, xs, wides)


def _boxed(branch: Branch) -> str:
    return f"{branch.name}  {branch.common}" if branch.common else branch.name


def _box_face(branch: Branch) -> str:
    return "italic" if _face(branch) == "italic" else "bold"


def _leaf(group: Element, x: float, y: float, branch: Branch) -> None:
    text(group, x, y, branch.name, _SIZE, _face(branch))
    if branch.common:
        text(group, x + width(branch.name, _SIZE, _face(branch)) + 10, y, branch.common, _SIZE)


def _face(branch: Branch) -> str:
    low = ("genus", "subgenus", "species", "subspecies")
    return "italic" if branch.rank in low else "regular"


# ---- many: indented columns ----------------------------------------------------------------


class _Row(NamedTuple):
    """One line of a column: its depth, what it names, whether more follow at each level above."""

    branch: Branch
    depth: int
    last: bool
    group: str


def _rows(branch: Branch, depth: int, collapsed: bool, group: str = "") -> Iterator[_Row]:
    for i, member in enumerate(branch.members):
        own = group or member.name
        yield _Row(member, depth, i == len(branch.members) - 1, own)
        if not (collapsed and member.rank == "genus"):
            yield from _rows(member, depth + 1, collapsed, own)


def _columns(group: Element, top: float, branch: Branch, collapsed: bool) -> float:
    rows = list(_rows(branch, 0, collapsed))
    number = 2 if len(rows) <= 90 else 3
    wide = (WIDTH - 2 * page.MARGIN - 20 * (number - 1)) / number
    line = _LINE if len(rows) <= _LONG else _TIGHT
    cut = _cut(rows, number)
    foot = top
    for c, part in enumerate(cut):
        x, y = page.MARGIN + c * (wide + 20), top
        if part and part[0].depth:
            names = _parents(rows, part[0])
            for depth, name in enumerate(names):
                y += line
                text(group, x + depth * 16, y - 5, f"{name}, continued", 12, fill=SOFT)
        y = _column(group, x, y, x + wide, part, line)
        foot = max(foot, y)
    return foot


def _cut(rows: Sequence[_Row], number: int) -> list[list[_Row]]:
    """Cut rows into columns of like length, never right after a heading."""
    size = -(-len(rows) // number)
    parts, start = [], 0
    for _ in range(number):
        end = min(len(rows), start + size)
        while end < len(rows) and end > start + 1 and rows[end - 1].branch.members:
            end -= 1
        parts.append(list(rows[start:end]))
        start = end
    parts[-1] += rows[start:]
    return [p for p in parts if p]


def _parents(rows: Sequence[_Row], row: _Row) -> list[str]:
    """The names of the headings under which a row stands."""
    names: dict[int, str] = {}
    for one in rows:
        if one is row:
            break
        names[one.depth] = one.branch.name
    return [names[d] for d in range(row.depth)]


def _column(
    group: Element, x: float, y: float, right: float, rows: Sequence[_Row], line: float
) -> float:
    open_at: dict[int, float] = {}
    for row in rows:
        left = x + row.depth * 16
        heading = bool(row.branch.members)
        if heading and row.depth == 0:
            y += 5
        if row.depth:
            start = open_at.get(row.depth, y)
            path(
                group, f"M{left - 9:.1f} {start:.1f}V{y + 9:.1f}h6",
                fill="none", stroke=RULE, stroke_width="1",
            )  # fmt: skip
            open_at[row.depth] = y + 9
        y = _entry(group, left, y + line, right, row)
        open_at[row.depth + 1] = y - 2
    return y


def _entry(group: Element, left: float, y: float, right: float, row: _Row) -> float:
    """Write one line; a common name too long for the line goes under it."""
    one = row.branch
    name = _short(one) if row.depth and one.rank == "species" else one.name
    face = _box_face(one) if one.members else _face(one)
    size = 14.0 if one.members else 12.5
    said = _counted(one).partition(": ")[2].removesuffix(" held here") if one.members else ""
    second = "; ".join(part for part in (one.common if row.depth else "", said) if part)
    text(group, left, y - 5, name, size, face)
    used = left + width(name, size, face) + 8
    if second and used + width(second, 12.5) > right:
        y += 15
        used = left + 14
    if second:
        text(group, used, y - 5, second, 12.5, fill=SOFT if one.members else INK)
    return y


def _short(branch: Branch) -> str:
    """``M. nigricans`` under its genus."""
    genus, _, rest = branch.name.partition(" ")
    return f"{genus[:1]}. {rest}" if rest else branch.name
