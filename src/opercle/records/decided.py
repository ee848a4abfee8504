"""The decisions file: every distinct name x place x year with its decision, for a steward to edit.

Knows: how the file is written and read back, and which of its lines a row falls under.
Refuses to know: the knowledge. What a steward decides stays in that file, with who and when.

A steward fills ``decide_as`` (a taxon's name, ``open`` or ``unknown``), ``by`` and ``when``. In
``place`` and ``years`` a star means any; ``years`` is one year or two with a hyphen.
"""

import csv
import re
from collections.abc import Iterable
from typing import Any, NamedTuple

from opercle.errors import FileError, OpercleError, UsageError
from opercle.questions.desk import Desk
from opercle.records.decisions import OPEN, SETTLED, UNKNOWN, Decision

HEADINGS = (
    "name",
    "scientific_name_written",
    "place",
    "years",
    "rows",
    "outcome",
    "scientificName",
    "settledBy",
    "candidates",
    "doubts",
    "remarks",
    "decide_as",
    "by",
    "when",
    "note",
)


class Line(NamedTuple):
    """One line that a steward filled in."""

    places: str
    first: int
    last: int
    decision: Decision
    number: int
    filled: tuple[str, str, str, str]


class Decided:
    """What stewards decided, by name as written."""

    def __init__(self, lines: dict[tuple[str, str], list[Line]], path: str | None = None) -> None:
        self.lines = lines
        self.path = path
        self.used: set[int] = set()

    def find(self, name: str, written: str, places: Iterable[str], year: int) -> Decision | None:
        """The decision for a row, if a steward made one; the nearest line (place, years) wins."""
        line = self.line(name, written, places, year)
        if line is None:
            return None
        self.used.add(line.number)
        return line.decision

    def line(self, name: str, written: str, places: Iterable[str], year: int) -> Line | None:
        """The line itself."""
        lines = self.lines.get((name, written))
        if not lines:
            return None
        here = "|".join(places)
        held = [x for x in lines if x.places in ("*", here) and x.first <= year <= x.last]
        return min(held, key=lambda x: (x.places == "*", x.last - x.first), default=None)

    def turns(self, name: str, written: str) -> set[int]:
        """The years at which the lines on a name begin, and those after their ends."""
        lines = self.lines.get((name, written), ())
        return {t for x in lines for t in (x.first, x.last + 1)}

    def unused(self) -> int:
        """How many of the steward's lines no row fell under."""
        every = {line.number for lines in self.lines.values() for line in lines}
        return len(every - self.used)


def read(path: str | None, desk: Desk) -> Decided:
    """Read a decisions file; lines with an empty ``decide_as`` are no decisions.

    Raises FileError for a file that cannot be read, UsageError for a line that is not complete.
    """
    if path is None:
        return Decided({})
    lines: dict[tuple[str, str], list[Line]] = {}
    try:
        with open(path, encoding="utf-8-sig", newline="") as file:
            reader = csv.DictReader(file)
            missing = {"name", "decide_as", "by", "when"} - set(reader.fieldnames or ())
            if missing:
                raise FileError(
                    f"The decisions file lacks the column {', '.join(sorted(missing))}.",
                    f"{path}, line 1",
                    "Start from the decisions.csv of an earlier run.",
                )
            for row in reader:
                if (row.get("decide_as") or "").strip():
                    made = _line(row, reader.line_num, path, desk)
                    key = (row.get("name") or "", row.get("scientific_name_written") or "")
                    lines.setdefault(key, []).append(made)
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise FileError(f"The decisions file cannot be read: {error}", path) from None
    return Decided(lines, path)


def _line(row: dict[str, Any], number: int, path: str, desk: Desk) -> Line:
    where = f"{path}, line {number}"
    told, by, when = ((row.get(k) or "").strip() for k in ("decide_as", "by", "when"))
    if not by or not when:
        raise UsageError(
            f"The decision on “{row.get('name')}” does not say who made it and when.",
            where,
            "Fill the columns by and when.",
        )
    years = (row.get("years") or "*").strip() or "*"
    span = re.fullmatch(r"(\d{4})(?:\s*[-–]\s*(\d{4}))?", years)
    if years not in ("*", "none") and not span:
        raise UsageError(f"“{years}” is not a year, a span of years or a star.", where)
    first, last = (0, 9999) if years == "*" else (0, 0)
    if span:
        first, last = int(span.group(1)), int(span.group(2) or span.group(1))
    note = (row.get("note") or "").strip()
    decision = _decision(told, by, when, note, where, desk)
    place = (row.get("place") or "*").strip()
    place = "" if place == "none" else place or "*"
    return Line(place, first, last, decision, number, (told, by, when, note))


def _decision(told: str, by: str, when: str, note: str, where: str, desk: Desk) -> Decision:
    remarks = f"Decided by {by} on {when}" + (f": {note}" if note else "")
    if told.lower() in (OPEN, UNKNOWN):
        return Decision(told.lower(), None, remarks, ("decision",))
    try:
        taxa, read_as = desk.taxa(told)
    except OpercleError as error:
        raise UsageError(error.what, where, "Write a name that is known here.") from None
    if len(taxa) != 1 or read_as:
        raise UsageError(
            f"“{told}” is not the name of one taxon here.", where, "Write its scientific name."
        )
    return Decision(SETTLED, taxa[0], remarks, ("decision",))


def years_told(first: int, last: int) -> str:
    """A span of years as the file writes it; ``none`` where the rows have no year."""
    if last == 0:
        return "none"
    return str(first) if first == last else f"{first}-{last}"
