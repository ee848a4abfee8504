"""The one SQL text that puts decisions to rows: left joins, run by DuckDB and Spark unchanged.

Knows: the tables ``records``, ``names``, ``places``, ``dates``, ``keys`` and ``decisions``.
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
OLDER = ("scientificNameByList", "vernacularNameByList")
_FROM_DECISIONS = ADDED[1:11]


class Plan(NamedTuple):
    """The SQL, the headings of what it gives, in order, and the names it gives them itself.

    ``distinct`` are headings for Parquet, where none may stand twice, be it in other capitals.
    """

    sql: str
    headings: tuple[str, ...]
    columns: tuple[str, ...]
    distinct: tuple[str, ...]


def key(columns: Columns, role: str) -> str:
    """The value of a role in a row as text, empty where there is none."""
    at = columns.by_role.get(role)
    return "''" if at is None else f"COALESCE(CAST(r.{column(at)} AS STRING), '')"


def source(columns: Columns) -> str:
    """The joins from rows to decisions."""
    return f"""FROM records r
LEFT JOIN names n ON n.name = {key(columns, "name")} AND n.scientific = {key(columns, "scientific")}
LEFT JOIN places p ON p.water = {key(columns, "water")} AND p.state = {key(columns, "state")}
  AND p.country = {key(columns, "country")} AND p.huc = {key(columns, "huc")}
LEFT JOIN dates t ON t.year_written = {key(columns, "year")}
  AND t.date_written = {key(columns, "date")}
LEFT JOIN keys k ON k.m = n.m AND k.p = p.p AND k.y = t.y
LEFT JOIN decisions d ON d.d = k.d"""


def too_big(columns: Columns) -> str:
    """A condition: longer or heavier than any source knows the fish to be."""
    tests = []
    for role, factor, limit in (
        ("length", columns.to_cm, "d.max_cm"),
        ("weight", columns.to_kg, "d.max_kg"),
    ):
        at = columns.by_role.get(role)
        if at is not None and factor is not None:
            value = f"TRY_CAST(r.{column(at)} AS DOUBLE)"
            tests.append(f"{value} * {factor!r} > {limit}")
    return f"({' OR '.join(tests)})" if tests else ""


def rows(columns: Columns, older: bool, safe: bool) -> Plan:
    """The rows out: the input's own columns, then what was decided.

    ``safe`` puts an apostrophe before text that a spreadsheet would run as a formula.
    """
    added = [*ADDED, *(OLDER if older else ())]
    own = output_headings(columns.headings, added)
    picked = [f"{_safe(f'r.{column(i)}', safe)} AS {column(i)}" for i in range(len(own))]
    picked.append(f"{_safe('n.written', safe)} AS a0")
    picked += [f"d.{name} AS a{i}" for i, name in enumerate(_FROM_DECISIONS, 1)]
    big = too_big(columns)
    doubts = "d.doubts"
    if big:
        doubts = (
            f"NULLIF(CONCAT_WS('|', d.doubts, CASE WHEN {big} THEN 'bigger-than-known' END), '')"
        )
    picked.append(f"{doubts} AS a{len(ADDED) - 1}")
    if older:
        picked += [f"d.{name} AS a{len(ADDED) + i}" for i, name in enumerate(OLDER)]
    sql = "SELECT " + ",\n  ".join(picked) + "\n" + source(columns)
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


def ledger(columns: Columns) -> str:
    """How many rows each name, place and year has."""
    return "SELECT n.m AS m, p.p AS p, t.y AS y, COUNT(*) AS rows_here " + (
        source(columns).split("LEFT JOIN keys")[0] + "GROUP BY n.m, p.p, t.y"
    )


def waters(columns: Columns) -> str:
    """How many rows each water has by outcome, and how many hold a fish bigger than known."""
    big = too_big(columns) or "1 = 0"
    return (
        f"SELECT {key(columns, 'water')} AS water, {key(columns, 'state')} AS state, d.d AS d, "
        f"COUNT(*) AS rows_here, SUM(CASE WHEN {big} THEN 1 ELSE 0 END) AS big "
        f"{source(columns)} GROUP BY 1, 2, 3"
    )


def distinct(columns: Columns, roles: Sequence[str], names: Sequence[str]) -> str:
    """The distinct values of some roles."""
    picked = [f"{key(columns, role)} AS {name}" for role, name in zip(roles, names, strict=True)]
    return f"SELECT DISTINCT {', '.join(picked)} FROM records r"


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
