"""The base map of North America, and how the presences of a taxon fall on it.

Knows: regions by ISO code, lakes, rivers, schematic rivers and seas, in map units of 2 km.
Refuses to know: ink. A presence that has no place on the map is told as such, never guessed.
"""

import json
import os
from collections.abc import Sequence
from functools import cache
from typing import Any, NamedTuple

from opercle.draw.style import DATA
from opercle.questions.looks import Presence

Box = tuple[float, float, float, float]
KINDS = ("native", "introduced", "disputed")
EVERY = (*KINDS, "absent")


@cache
def base() -> dict[str, Any]:
    """The base map: ``regions`` by ISO code, ``lakes``, ``rivers``, ``schematic`` rivers."""
    with open(os.path.join(DATA, "basemap.json"), encoding="utf-8") as file:
        made: dict[str, Any] = json.load(file)
    return made


class Line(NamedTuple):
    """A water that the map can show: its path, box, places for a number, and whether schematic."""

    water: str
    d: str
    box: Box
    at: tuple[tuple[float, float], ...]
    schematic: bool


@cache
def lines() -> dict[str, Line]:
    """Every water the map can show as a line or a lake, by its prefixed name."""
    found = {}
    for name, schematic in (("schematic", True), ("rivers", False)):
        for r in base()[name]:
            at = tuple((float(x), float(y)) for x, y in r["at"])
            found[r["w"]] = Line(r["w"], r["d"], tuple(r["box"]), at, schematic)
    for r in base()["lakes"]:
        if r["w"]:
            x0, y0, x1, y1 = r["box"]
            spot = ((x0 + x1) / 2, (y0 + y1) / 2)
            found[r["w"]] = Line(r["w"], r["d"], tuple(r["box"]), (spot,), False)
    return found


def seas() -> dict[str, dict[str, Any]]:
    """Circles at schematic places that stand for seas, by water: ``at``, ``r``, ``box``."""
    return {s["w"]: s for s in base()["seas"]}


class Sorted(NamedTuple):
    """What is to be shown: line and region marks by kind, and what has no place on the map."""

    lines: dict[str, set[str]]
    parts: dict[str, set[str]]
    regions: dict[str, set[str]]
    reached: dict[str, set[str]]
    seas: dict[str, set[str]]
    unplaced: list[Presence]

    @property
    def all_marks(self) -> tuple[dict[str, set[str]], ...]:
        """Every sort of mark, each by kind."""
        return self.lines, self.parts, self.regions, self.reached, self.seas

    @property
    def empty(self) -> bool:
        """True if nothing can be marked."""
        return not any(any(part.values()) for part in self.all_marks)


def _none() -> dict[str, set[str]]:
    return {kind: set() for kind in EVERY}


def sort(found: Sequence[Presence]) -> Sorted:
    """Decide for every presence how the map shows it."""
    made = Sorted(_none(), _none(), _none(), _none(), _none(), [])
    regions, named, salt = base()["regions"], lines(), seas()
    own = {p.where for p in found}
    for p in found:
        code = p.where.removeprefix("pl:")
        placed = False
        if p.kind == "place":
            if code in regions:
                made.regions[p.presence].add(code)
                placed = True
        elif p.kind == "sea":
            if p.where in salt:
                made.seas[p.presence].add(p.where)
                placed = True
        else:
            if p.where in named:
                made.lines[p.presence].add(p.where)
                placed = True
            if p.presence == "native":
                made.parts["native"] |= {w for w in p.holds if w in named and w not in own}
            codes = {r.removeprefix("pl:") for r in p.reaches} & set(regions)
            if p.presence != "absent":
                made.reached[p.presence] |= codes
        if not placed:
            made.unplaced.append(p)
    absent = {w for p in found if p.presence == "absent" for w in (p.where, *p.holds)}
    made.parts["native"] -= absent
    return made
