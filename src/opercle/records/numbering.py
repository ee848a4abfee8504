"""Numbers the distinct names, places and years of a table while its rows are read.

Knows: that a row needs three whole numbers (``m`` name, ``p`` place, ``y`` year) to be decided.
Refuses to know: what a name or a place means.
"""

import os
import re
from collections.abc import Iterable, Sequence
from threading import Lock
from typing import Any

from opercle.records.columns import Columns

NAME_ROLES = ("name", "scientific", "authority")
PLACE_ROLES = ("water", "state", "country", "huc", "coast")
YEAR_ROLES = ("year", "date")
NUMBERS = ("m", "p", "y")

_YEAR = r"(?:1[5-9][0-9][0-9]|20[0-9][0-9]|2100)"
_STANDING = rf"(?:^|[^0-9])(?P<y>{_YEAR})(?:[^0-9]|$)"
_PACKED = r"^\s*(?P<y>1[5-9][0-9][0-9]|20[0-9][0-9])(?:0[1-9]|1[0-2])(?:[0-2][0-9]|3[01])\s*$"


def year_of(written: str) -> int:
    """The year in a date as written; 0 where there is none, or only two figures of one."""
    found = re.search(_STANDING, written) or re.search(_PACKED, written)
    return int(found.group("y")) if found else 0


class Distinct:
    """Tuples of text in the order in which they were met; threads may share one."""

    def __init__(self) -> None:
        self._at: dict[tuple[str, ...], int] = {}
        self._lock = Lock()

    def numbers(self, tuples: Iterable[tuple[str, ...]]) -> list[int]:
        """The number of each tuple; a new one gets the next."""
        with self._lock:
            return [self._at.setdefault(t, len(self._at)) for t in tuples]

    def table(self, roles: Sequence[str], number: str) -> Any:
        """All tuples as an Arrow table, a column a role, with their numbers."""
        import pyarrow as pa

        columns = [pa.array((t[i] for t in self._at), pa.string()) for i in range(len(roles))]
        columns.append(pa.array(range(len(self._at)), pa.int32()))
        return pa.table(columns, names=[*roles, number])


class Numbering:
    """The distinct names and places of one source."""

    def __init__(self, columns: Columns) -> None:
        self.columns = columns
        self.names, self.places = Distinct(), Distinct()
        # a table without rows still has one name and one place to decide on
        self.names.numbers([("",) * len(NAME_ROLES)])
        self.places.numbers([("",) * len(PLACE_ROLES)])

    def keyed(self) -> list[int]:
        """The places of the columns that rows are numbered by, where text repeats itself."""
        roles = (*NAME_ROLES, *PLACE_ROLES, *YEAR_ROLES)
        return sorted({self.columns.by_role[r] for r in roles if r in self.columns.by_role})

    def numbered(self, table: Any) -> Any:
        """The table with the columns ``m``, ``p`` and ``y``."""
        names = self._of(table, NAME_ROLES, self.names.numbers)
        places = self._of(table, PLACE_ROLES, self.places.numbers)
        years = self._of(table, YEAR_ROLES, _years)
        for number, values in zip(NUMBERS, (names, places, years), strict=True):
            table = table.append_column(number, values)
        return table

    def _of(self, table: Any, roles: Sequence[str], number: Any) -> Any:
        """A number for each row by its texts in some roles; each distinct tuple is asked once."""
        import pyarrow as pa
        import pyarrow.compute as pc

        coded = [self._coded(table, role) for role in roles]
        whole: Any = None
        size = 1
        for indices, words in coded:
            if indices is None:
                continue
            indices = pc.cast(indices, pa.int64())
            whole = indices if whole is None else pc.add(pc.multiply(whole, len(words)), indices)
            size *= len(words)
        if whole is None or size >= 1 << 62:
            return self._one_by_one(table, coded, number)
        parts = pc.dictionary_encode(whole)
        tuples = [
            _parted(code, [words for _, words in coded]) for code in parts.dictionary.to_pylist()
        ]
        return pa.array(number(tuples), pa.int32()).take(parts.indices)

    def _coded(self, table: Any, role: str) -> tuple[Any, list[str]]:
        """The texts of a role as indices into a list of words; no indices where it is no column."""
        import pyarrow as pa
        import pyarrow.compute as pc

        at = self.columns.by_role.get(role)
        if at is None:
            return None, [""]
        column = table.column(at)
        if not pa.types.is_dictionary(column.type):
            column = text_of(column).dictionary_encode()
        column = column.combine_chunks()
        if isinstance(column, pa.ChunkedArray):
            column = column.chunk(0) if column.num_chunks else pa.array([], column.type)
        words = pc.cast(column.dictionary, pa.string()).to_pylist()
        words = [w or "" for w in words]
        return pc.fill_null(column.indices, len(words)), [*words, ""]

    @staticmethod
    def _one_by_one(table: Any, coded: Sequence[Any], number: Any) -> Any:
        """Where the tuples are too many for one whole number, or there is no column at all."""
        import pyarrow as pa

        rows = [
            [""] * table.num_rows if indices is None else [words[i] for i in indices.to_pylist()]
            for indices, words in coded
        ]
        tuples = list(zip(*rows, strict=True))
        known = dict.fromkeys(tuples)
        at = dict(zip(known, number(list(known)), strict=True))
        return pa.array([at[t] for t in tuples], pa.int32())

    def save(self, folder: str, write: Any) -> None:
        """Put the distinct names and places beside the parts."""
        write(self.names.table(NAME_ROLES, "m"), os.path.join(folder, "names.parquet"))
        write(self.places.table(PLACE_ROLES, "p"), os.path.join(folder, "places.parquet"))


def text_of(column: Any) -> Any:
    """Any column as text."""
    import pyarrow as pa
    import pyarrow.compute as pc

    if pa.types.is_string(column.type):
        return column
    try:
        return pc.cast(column, pa.string())
    except (pa.ArrowInvalid, pa.ArrowNotImplementedError):
        told = [None if v is None else str(v) for v in column.to_pylist()]
        return pa.chunked_array([pa.array(told, pa.string())])


def _parted(code: int, words: Sequence[list[str]]) -> tuple[str, ...]:
    """The texts that went into one whole number."""
    found = []
    for each in reversed(words):
        code, at = divmod(code, len(each))
        found.append(each[at])
    return tuple(reversed(found))


def _years(tuples: Sequence[tuple[str, ...]]) -> list[int]:
    """The year in each pair of a year and a date as written."""
    import pyarrow as pa
    import pyarrow.compute as pc

    years = [0] * len(tuples)
    for role in range(len(YEAR_ROLES)):
        left = [i for i, year in enumerate(years) if not year and tuples[i][role]]
        texts = pa.array([tuples[i][role] for i in left], pa.string())
        for pattern in (_STANDING, _PACKED):
            found = pc.struct_field(pc.extract_regex(texts, pattern=pattern), "y").to_pylist()
            for i, year in zip(left, found, strict=True):
                years[i] = years[i] or int(year or 0)
    return years
