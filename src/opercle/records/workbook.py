"""Excel workbooks in.

Knows: sheets, and how a cell is written as text.
Refuses to know: formulas. A cell gives the value last calculated, as its owner saw it.
"""

import datetime
import os
from collections.abc import Iterator
from typing import Any

from opercle.errors import FileError, UsageError
from opercle.records.sources import Source


def opened(path: str, sheet: str | None = None) -> Source:
    """A workbook's sheet as a source: the one named, else the first that holds anything."""
    book = _book(path)
    try:
        names = list(book.sheetnames)
        if sheet is not None and sheet not in names:
            raise UsageError(
                f"The workbook has no sheet “{sheet}”.", path, "It has: " + ", ".join(names)
            )
        for name in [sheet] if sheet else names:
            head = next(_rows(book[name]), None)
            if head and any(h for h in head):
                note = [f"sheet “{name}” of {len(names)}"] if len(names) > 1 else []
                headings = tuple(h or "" for h in head)
                return Source(path, "excel", headings, member=str(name), notes=tuple(note))
    finally:
        book.close()
    raise FileError("The workbook is empty.", path, "The first row must hold the headings.")


def rows(source: Source) -> Iterator[tuple[int, list[str | None]]]:
    """Row numbers of the sheet and cells as text, after the headings; empty rows left out."""
    book = _book(source.path)
    try:
        for number, row in enumerate(_rows(book[source.member]), 1):
            if number > 1 and any(cell is not None for cell in row):
                yield number, row
    finally:
        book.close()


def _book(path: str) -> Any:
    import warnings
    import zipfile

    import openpyxl

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return openpyxl.load_workbook(path, read_only=True, data_only=True)
    except (OSError, KeyError, ValueError, zipfile.BadZipFile) as error:
        raise FileError(
            f"The workbook cannot be read: {error}", os.path.basename(path), "Save it again."
        ) from None


def _rows(sheet: Any) -> Iterator[list[str | None]]:
    for row in sheet.iter_rows(values_only=True):
        yield [_told(cell) for cell in row]


def _told(cell: Any) -> str | None:
    if cell is None or cell == "":
        return None
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    if isinstance(cell, datetime.datetime):
        return (
            cell.isoformat(sep="T") if cell.time() != datetime.time() else cell.date().isoformat()
        )
    if isinstance(cell, (datetime.date, datetime.time)):
        return cell.isoformat()
    return str(cell)
