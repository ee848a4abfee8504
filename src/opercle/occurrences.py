"""A table of records as RDF, row by row, so that shapes can be held against it.

Knows: Darwin Core's terms for columns, settle's own columns, which line a row begins on.
Refuses to know: what a record must be like; shapes/records.ttl says it. It settles nothing.
"""

import csv
import re
from collections.abc import Iterator
from typing import Any, NamedTuple

import pyoxigraph as ox

from opercle.errors import FileError
from opercle.terms import BASE, PREFIXES

RECORD = BASE + "record/"
OWN = ("outcome", "settledBy", "candidates", "doubts")
_TERMS = """
basisOfRecord class country countryCode county day decimalLatitude decimalLongitude eventDate family
genus identificationRemarks individualCount locality month occurrenceID order recordedBy
scientificName scientificNameAuthorship stateProvince taxonRank verbatimIdentification
vernacularName waterBody year
"""
_WHOLE = frozenset({"day", "individualCount", "month", "year"})
_MEASURED = frozenset({"decimalLatitude", "decimalLongitude"})
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")
_COLUMNS = {
    **{term.lower(): PREFIXES["dwc"] + term for term in _TERMS.split()},
    **{term.lower(): RECORD + term for term in OWN},
}
_TYPE = ox.NamedNode(PREFIXES["rdf"] + "type")
_KIND = ox.NamedNode(PREFIXES["dwc"] + "Occurrence")


class Row(NamedTuple):
    """One record: its address, the line it begins on, and its triples."""

    node: ox.NamedNode
    line: int
    quads: list[ox.Quad]


def read(path: str, after: int = 0) -> Iterator[Row]:
    """Every row of a CSV table with Darwin Core's headings; other columns are left aside.

    Rows are numbered on from ``after``, so that those of several tables keep apart.

    Raises FileError where the file cannot be read, is no UTF-8, or has no such column.
    """
    try:
        with open(path, encoding="utf-8-sig", newline="") as file:
            yield from _rows(path, csv.reader(file, strict=True), after)
    except OSError as error:
        raise FileError(f"The file cannot be read: {error.strerror}.", path) from None
    except (UnicodeDecodeError, csv.Error) as error:
        raise FileError(
            f"The table cannot be read: {error}.", path, "Save it as CSV in UTF-8."
        ) from None


def _rows(path: str, table: Any, after: int) -> Iterator[Row]:
    known = {
        at: _COLUMNS[name]
        for at, heading in enumerate(next(table, []))
        if (name := heading.strip().rpartition(":")[2].lower()) in _COLUMNS
    }
    if not known:
        raise FileError(
            "No column of the table is a term of Darwin Core.",
            path,
            "Name columns scientificName, eventDate, stateProvince …, or settle the table first.",
        )
    line = table.line_num + 1
    for number, cells in enumerate(table, start=after + 1):
        node = ox.NamedNode(f"{RECORD}row/{number}")
        quads = [ox.Quad(node, _TYPE, _KIND)]
        for at, term in known.items():
            said = cells[at].strip() if at < len(cells) else ""
            if said:
                quads.append(ox.Quad(node, ox.NamedNode(term), _literal(term, said)))
        if any(cells):
            yield Row(node, line, quads)
        line = table.line_num + 1


def _literal(term: str, said: str) -> ox.Literal:
    """A number where the column holds numbers and the cell is one; else the text as it is."""
    name = term.rpartition("/")[2]
    if name in _WHOLE and said.isascii() and said.isdigit():
        return ox.Literal(int(said))
    if name in _MEASURED and _NUMBER.fullmatch(said):
        return ox.Literal(said, datatype=ox.NamedNode(PREFIXES["xsd"] + "decimal"))
    return ox.Literal(said)
