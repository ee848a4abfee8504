"""A proof as SVG: the conclusion on top, under each step what it rests on, down to cited facts.

Knows: how steps, guards and cited facts look; that a step met again is told once and pointed to;
that deep trees go on below, so that boxes never grow narrow.
Refuses to know: rules and facts. It draws the tree that ``prove`` found, in its JSON form.
"""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from opercle.answers import Answer
from opercle.draw import page
from opercle.draw.style import FIN, INK, PAPER, RULE, SOFT, WIDTH, width, wrap
from opercle.draw.svg import Element, add, path, prefix_of, root, text, written

MOST = 160
"""So many boxes are drawn; what would be more is counted, with the command that shows it."""
_DEEP = 9
_INDENT, _GAP, _PAD = 28.0, 8.0, 9.0
_SIZE, _SMALL = 13.5, 12.0
_LINE, _LOW = 18.0, 16.0
_DERIVED, _LEAF, _GUARD, _SAME = "derived", "fact", "guard", "same"
Tree = Mapping[str, Any]


class _Line(NamedTuple):
    text: str
    size: float
    face: str = "regular"
    fill: str = INK


class _Box(NamedTuple):
    """A box with its place: ``mark`` is its number or "", ``parent`` an index or None."""

    kind: str
    mark: str
    lines: tuple[_Line, ...]
    x: float
    y: float
    wide: float
    high: float
    parent: int | None
    told: str


def added(answer: Answer) -> Answer:
    """An answer of ``prove`` with its drawing as ``svg``; None where nothing was proved."""
    tree = answer.fields.get("tree")
    svg = draw(tree) if tree else None
    return answer._replace(fields={**answer.fields, "svg": svg})


def draw(tree: Tree) -> str:
    """The tree of a proof, as ``prove --json`` gives it, as SVG text."""
    name = " ".join(tree["triple"])
    prefix = prefix_of("proof", name)
    svg = root(WIDTH, 100, prefix, f"Proof: {_upper(tree['says'])}", _described(tree))
    y = page.heading(svg, 18, "How this follows" if tree["rule"] else "A stated fact", "")
    for said in (_counted(tree), name):
        for line in _broken(said, 13, WIDTH - 2 * page.MARGIN):
            y += 19
            text(svg, page.MARGIN, y, line, 13, fill=SOFT)
    layout = _Layout(tree, y + 18)
    holder = add(svg, "g", id_=f"{prefix}-tree")
    for y_head, said in layout.heads:
        text(holder, page.MARGIN, y_head, said, 14, "bold")
    for under in layout.under():
        _joined(holder, under)
    for box in layout.boxes:
        _painted(holder, box)
    page.rule(svg, layout.foot + 8)
    foot = page.notes(svg, layout.foot + 16, _legend(layout.boxes))
    return written(page.finish(svg, foot + 12))


# ---- what is said ------------------------------------------------------------------------------


def _upper(said: str) -> str:
    """A sentence's first letter as a capital, unless it begins with a prefixed name."""
    return said if ":" in said.split(" ")[0] else said[:1].upper() + said[1:]


def _key(step: Tree) -> tuple[str, ...]:
    """What makes two steps the same: the triple, or for a fact its statement and words."""
    return tuple(step["triple"]) if step["rule"] else (step["triple"][0], step["says"])


def _every(tree: Tree) -> Iterator[Tree]:
    """Each different step once, the conclusion first."""
    seen, todo = set(), [tree]
    while todo:
        step = todo.pop()
        if _key(step) not in seen:
            seen.add(_key(step))
            yield step
            todo += reversed(step["premises"])


def _counted(tree: Tree) -> str:
    steps = list(_every(tree))
    made = [s for s in steps if s["rule"]]
    facts = [s for s in steps if not s["rule"]]
    if not made:
        return "Stated, not derived."
    cited = [s["citation"]["basis"] for s in facts if s["citation"]]
    parts = [(cited.count(b), b) for b in ("read", "recalled")]
    parts.append((len(facts) - len(cited), "defined here"))
    told = ", ".join(f"{n} {how}" for n, how in parts if n)
    return f"Derived in {_number(len(made), 'step')} from {_number(len(facts), 'fact')}: {told}."


def _number(count: int, thing: str) -> str:
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def _described(tree: Tree) -> str:
    """The whole in words, for those who do not see it."""
    told = [_counted(tree)]
    for step in list(_every(tree))[:MOST]:
        if step["rule"]:
            rests = "; ".join(p["says"] for p in step["premises"])
            told.append(f"{_upper(step['says'])}, by rule {step['rule']}, from: {rests}.")
            told += [f"Looked for and not found: {line}." for line in step["unless"]]
        else:
            told.append(f"{_upper(step['says'])}: {_source(step)}.")
    return " ".join(told)


def _source(step: Tree) -> str:
    cited, file = step["citation"], str(step["file"] or "")
    if file.startswith("pack/"):
        return f"from the local pack {file.removeprefix('pack/')}"
    if cited is None:
        return f"stated in {file}" if file else "stated"
    whose = ", ".join(p for p in (cited["source"], cited["page"]) if p)
    return f"{whose} ({'read there' if cited['basis'] == 'read' else 'recalled, not yet checked'})"


def _legend(boxes: list[_Box]) -> list[tuple[str, list[str]]]:
    said = ["Each numbered step follows, by the rule it names, from the boxes hung below it."]
    said.append("Shaded boxes are stated facts with their source.")
    if any(b.kind == _GUARD for b in boxes):
        said.append("Dashed boxes are guards: what would have stopped the step, had it been found.")
    return [("Reading it", [" ".join(said)])]


# ---- where it stands ---------------------------------------------------------------------------


class _Layout:
    """Every box with its place, laid line by line, each below the one before."""

    def __init__(self, tree: Tree, top: float) -> None:
        self.boxes: list[_Box] = []
        self.heads: list[tuple[float, str]] = []
        self.foot = top
        self._seen: dict[tuple[str, ...], str] = {}
        self._steps = 0
        self._later: list[tuple[str, Tree]] = []
        self._lay(tree, 0, None)
        while self._later:
            mark, step = self._later.pop(0)
            self.foot += 24
            self.heads.append((self.foot, f"Step {mark}, from above, rests on:"))
            self.foot += 12
            self._hang(step, 0, None)

    def _lay(self, step: Tree, depth: int, parent: int | None) -> None:
        key = _key(step)
        if key in self._seen:
            said = f"{_upper(step['says'])}: as at {self._seen[key]} above"
            self._box(_SAME, "", [(said, _SMALL, "regular", SOFT)], depth, parent, step["says"])
            return
        self._steps += 1
        mark = self._seen[key] = str(self._steps)
        later = bool(step["premises"]) and depth >= _DEEP
        kind = _DERIVED if step["rule"] else _LEAF
        own = self._box(kind, mark, self._said(step, later), depth, parent, step["says"])
        if later:
            self._later.append((mark, step))
        else:
            self._hang(step, depth + 1, own)

    def _hang(self, step: Tree, depth: int, parent: int | None) -> None:
        """What a step rests on; what is too much to draw is counted."""
        parts = [*step["unless"], *step["premises"]]
        for done, part in enumerate(parts):
            if len(self.boxes) >= MOST:
                more = _number(len(parts) - done, "more line")
                said = f"{more} not drawn here: opercle prove {' '.join(step['triple'])}"
                self._box(_SAME, "", [(said, _SMALL, "bold", SOFT)], depth, parent, said)
                return
            if isinstance(part, str):
                said = f"Looked for and not found: {part}"
                self._box(_GUARD, "", [(said, _SMALL, "italic", INK)], depth, parent, said)
            else:
                self._lay(part, depth, parent)

    def under(self) -> Iterator[tuple[_Box, list[_Box]]]:
        """Every box that something hangs from, with what hangs from it."""
        for index, box in enumerate(self.boxes):
            hung = [b for b in self.boxes if b.parent == index]
            if hung:
                yield box, hung

    def _said(self, step: Tree, later: bool) -> list[tuple[str, float, str, str]]:
        said = [(_upper(step["says"]), _SIZE, "regular" if self.boxes else "bold", INK)]
        by_rule = f"Rule {step['rule']}: {step['principle']}"
        said.append((by_rule if step["rule"] else _upper(_source(step)), _SMALL, "regular", SOFT))
        if later:
            said.append(("What it rests on is shown further below.", _SMALL, "bold", SOFT))
        return said

    def _box(
        self, kind: str, mark: str, said: list[tuple[str, float, str, str]], depth: int,
        parent: int | None, told: str,
    ) -> int:  # fmt: skip
        x, left = page.MARGIN + depth * _INDENT, 30.0 if mark else _PAD
        most = WIDTH - page.MARGIN - x - left - _PAD
        lines = tuple(
            _Line(line, size, face, fill)
            for words, size, face, fill in said
            for line in _broken(words, size, most, face)
        )
        wide = max(width(n.text, n.size, n.face) for n in lines) + left + _PAD
        high = sum(_LINE if n.size == _SIZE else _LOW for n in lines) + 10
        self.boxes.append(_Box(kind, mark, lines, x, self.foot, wide, high, parent, told))
        self.foot += high + _GAP
        return len(self.boxes) - 1


def _broken(said: str, size: float, most: float, face: str = "regular") -> list[str]:
    """Lines no wider than ``most``: a single word too long is cut between its letters."""
    lines: list[str] = []
    for line in wrap(said, size, most, face):
        while width(line, size, face) > most:
            end = next(n for n in range(len(line), 0, -1) if width(line[:n], size, face) <= most)
            lines.append(line[:end])
            line = line[end:]
        lines.append(line)
    return lines


# ---- ink ---------------------------------------------------------------------------------------


def _joined(group: Element, under: tuple[_Box, list[_Box]]) -> None:
    """The lines from a box to those that it rests on."""
    above, hung = under
    x = above.x + 14
    path(
        group, f"M{x:.1f} {above.y + above.high:.1f}V{hung[-1].y + 14:.1f}"
        + "".join(f"M{x:.1f} {b.y + 14:.1f}H{b.x:.1f}" for b in hung),
        fill="none", stroke=SOFT, stroke_width="1.1",
    )  # fmt: skip


_LOOK = {
    _DERIVED: {"fill": PAPER, "stroke": INK, "stroke_width": "1.2"},
    _LEAF: {"fill": FIN, "stroke": INK, "stroke_width": "1"},
    _GUARD: {"fill": PAPER, "stroke": SOFT, "stroke_width": "1.1", "stroke_dasharray": "5 3"},
    _SAME: {"fill": PAPER, "stroke": RULE, "stroke_width": "1"},
}


def _painted(group: Element, box: _Box) -> None:
    one = add(group, "g", class_=box.kind)
    add(one, "title").text = box.told
    add(
        one, "rect", x=f"{box.x:.1f}", y=f"{box.y:.1f}", width=f"{box.wide:.1f}",
        height=f"{box.high:.1f}", rx="4", class_="box", **_LOOK[box.kind],
    )  # fmt: skip
    left = box.x + _PAD
    if box.mark:
        page.disc(one, box.x + 15, box.y + 14, box.mark, False, 9.5 if len(box.mark) < 3 else 9)
        left = box.x + 30
    y = box.y + 5
    for line in box.lines:
        high = _LINE if line.size == _SIZE else _LOW
        y += high
        text(one, left, y - 4.5, line.text, line.size, line.face, fill=line.fill)
