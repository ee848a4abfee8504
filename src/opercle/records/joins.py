"""The one SQL text that puts decisions to rows: left joins, run by DuckDB and Spark unchanged.

Knows: the tables ``records`` (the rows, each with the numbers ``m`` of its name, ``p`` of its place
and its year ``y``), ``keys`` (name, place and span of years to decision) and ``decisions``.
Refuses to know: any engine's dialect. Only what both take is used; names are quoted by the caller.
"""

from collections.abc import Sequence
from typing import NamedTuple

from opercle.records.columns import Columns
from opercle.records.staging import column

ADDED = (
    "verbatimIdentification",
    "scientificName",
    "scientificNameAuthorship",
    "taxonRank",
    "family",
    "genus",
    "vernacularName",
    "identificationRemarks",
    "outcome",
    "settledBy",
    "candidates",
    "doubts",
)
BIGGER = "bigger-than-known"
OLDER = ("scientificNameByList", "vernacularNameByList")


class Plan(NamedTuple):
    """The SQL, the headings of what it gives, in order, and the names it gives them itself.

    ``distinct`` are headings for Parquet, where none may stand twice, be it in other capitals.
    """

    sql: str
    headings: tuple[str, ...]
    columns: tuple[str, ...]
    distinct: tuple[str, ...]


def keyed() -> str:
    """The join from rows to the key of their decision."""
    return """FROM records r
LEFT JOIN keys k ON k.m = r.m AND k.p = r.p AND k.since <= r.y AND r.y <= k.until"""


def too_big(columns: Columns) -> str:
    """A condition: longer or heavier than any source knows the fish to be. Empty if not judged."""
    tests = []
    for role, factor, limit in (
        ("length", columns.to_cm, "k.max_cm"),
        ("weight", columns.to_kg, "k.max_kg"),
    ):
        at = columns.by_role.get(role)
        if at is not None and factor is not None:
            value = f"TRY_CAST(r.{column(at)} AS DOUBLE)"
            tests.append(f"{value} * {factor!r} > {limit}")
    return f"({' OR '.join(tests)})" if tests else ""


def written(columns: Columns) -> str:
    """The name as written: the common one, else the scientific one."""
    cells = [
        f"NULLIF(CAST(r.{column(columns.by_role[role])} AS STRING), '')"
        for role in ("name", "scientific")
        if role in columns.by_role
    ]
    return cells[0] if len(cells) == 1 else f"COALESCE({', '.join(cells)})"


def rows(columns: Columns, older: bool, safe: bool) -> Plan:
    """The rows out: the input's own columns, then what was decided.

    ``safe`` puts an apostrophe before text that a spreadsheet would run as a formula.
    """
    added = [*ADDED, *(OLDER if older else ())]
    own = output_headings(columns.headings, added)
    picked = [f"{_safe(f'r.{column(i)}', safe)} AS {column(i)}" for i in range(len(own))]
    picked.append(f"{_safe(written(columns), safe)} AS a0")
    decided = [*ADDED[1:], *(OLDER if older else ())]
    picked += [f"d.{name} AS a{i}" for i, name in enumerate(decided, 1)]
    big = too_big(columns)
    number = f"CASE WHEN {big} THEN k.big ELSE k.d END" if big else "k.d"
    sql = "SELECT " + ",\n  ".join(picked) + f"\n{keyed()}\nLEFT JOIN decisions d ON d.d = {number}"
    names = [*(column(i) for i in range(len(own))), *(f"a{i}" for i in range(len(added)))]
    apart = unique([*output_headings(columns.headings, added, fold=True), *added])
    return Plan(sql, (*own, *added), tuple(names), tuple(apart))


def _safe(value: str, safe: bool) -> str:
    if not safe:
        return value
    text = f"CAST({value} AS STRING)"
    return (
        f"CASE WHEN SUBSTRING({text}, 1, 1) IN ('=', '+', '-', '@', CHR(9), CHR(13)) "
        f"AND TRY_CAST({text} AS DOUBLE) IS NULL THEN CONCAT('''', {text}) ELSE {text} END"
    )


def output_headings(headings: Sequence[str], added: Sequence[str], fold: bool = False) -> list[str]:
    """The input's headings; one that we add ourselves is kept under ``verbatim…``.

    With ``fold`` capitals make no difference.
    """
    same = str.casefold if fold else str
    ours = {same(a) for a in added}
    taken = ours | {same(h) for h in headings}
    out = []
    for heading in headings:
        name = heading
        if same(heading) in ours:
            name = "verbatim" + heading[:1].upper() + heading[1:]
            while same(name) in taken:
                name += "_2"
            taken.add(same(name))
        out.append(name)
    return out


def ledger() -> str:
    """How many rows each name, place and year has."""
    return "SELECT m, p, y, COUNT(*) AS rows_here FROM records GROUP BY m, p, y"


def bigger(columns: Columns) -> str:
    """How many rows of each name hold a fish bigger than known. Empty if sizes are not judged."""
    big = too_big(columns)
    return (
        f"SELECT r.m AS m, COUNT(*) AS rows_here {keyed()} WHERE {big} GROUP BY r.m" if big else ""
    )


def unique(headings: Sequence[str]) -> list[str]:
    """Headings where none stands twice, in whatever capitals, and none is empty."""
    out: list[str] = []
    taken: set[str] = set()
    for number, heading in enumerate(headings, 1):
        name, again = heading or f"column_{number}", 2
        while name.casefold() in taken:
            name, again = f"{heading or 'column'}_{again}", again + 1
        taken.add(name.casefold())
        out.append(name)
    return out
