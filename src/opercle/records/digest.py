"""What a run found, added up: outcomes, names, waters, years, and the lines of the decisions file.

Knows: the ledger (rows by name, place and year) and the decisions.
Refuses to know: how it is shown.
"""

import os
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from opercle.questions.desk import Desk
from opercle.records.decided import Decided, years_told
from opercle.records.job import Done


class NameTold(NamedTuple):
    """A distinct name as written, with its rows by outcome and what it settled as."""

    name: str
    written: str
    rows: int
    outcomes: Counter[str]
    settled_as: Counter[str]
    by: Counter[str]
    doubts: Counter[str]
    example: dict[str, Any]
    place: int
    year: int
    input: int


class Digest(NamedTuple):
    """The sums of a run; ``outcomes`` counts rows, ``distinct`` names by their usual one."""

    outcomes: Counter[str]
    by: Counter[str]
    doubts: Counter[str]
    families: Counter[str]
    years: dict[int, Counter[str]]
    waters: dict[tuple[str, str], Counter[str]]
    told: list[NameTold]
    names: int
    distinct: Counter[str]


def table(one: Done, name: str) -> Any:
    """A look-up table of one input."""
    from pyarrow import parquet

    return parquet.read_table(os.path.join(one.folder, "tables", f"{name}.parquet"))


def ledger(one: Done) -> Iterator[tuple[int, int, int, int, int]]:
    """Name, place, year, rows, decision, a batch at a time."""
    for batch in table(one, "ledger").to_batches(max_chunksize=50_000):
        yield from zip(*(c.to_pylist() for c in batch.columns), strict=True)


def digest(desk: Desk, done: Sequence[Done]) -> Digest:
    """Add up all inputs of a run."""
    made = Digest(Counter(), Counter(), Counter(), Counter(), {}, {}, [], 0, Counter())
    told: dict[tuple[str, str], NameTold] = {}
    for number, one in enumerate(done):
        decisions = table(one, "decisions").to_pylist()
        _names(one, number, decisions, made, told)
        _waters(one, decisions, made)
    for each in told.values():
        made.distinct[each.outcomes.most_common(1)[0][0]] += 1
    ranked = sorted(told.values(), key=lambda t: (-t.rows, t.name, t.written))
    return made._replace(told=ranked, names=len(told))


def _names(
    one: Done, number: int, decisions: list[Any], made: Digest, told: dict[Any, NameTold]
) -> None:
    names = table(one, "names")
    written = list(
        zip(names.column("name").to_pylist(), names.column("scientific").to_pylist(), strict=True)
    )
    for m, p, year, rows, d in ledger(one):
        decision = decisions[d]
        outcome = decision["outcome"]
        made.outcomes[outcome] += rows
        if outcome == "settled":
            made.families[decision["family"] or "family not given"] += rows
            made.by[decision["settledBy"] or "name"] += rows
        for doubt in (decision["doubts"] or "").split("|"):
            if doubt:
                made.doubts[doubt] += rows
        if year:
            made.years.setdefault(year, Counter())[outcome] += rows
        key = written[m]
        if key not in told:
            told[key] = NameTold(
                *key, 0, Counter(), Counter(), Counter(), Counter(), decision, p, year, number
            )
        _add(told, key, decision, rows, (p, year, number))


def _add(told: dict[Any, NameTold], key: Any, decision: Any, rows: int, at: Any) -> None:
    each = told[key]
    outcome = decision["outcome"]
    each.outcomes[outcome] += rows
    if outcome == "settled":
        each.settled_as[decision["scientificName"] or ""] += rows
        each.by[decision["settledBy"] or "name"] += rows
    for doubt in (decision["doubts"] or "").split("|"):
        if doubt:
            each.doubts[doubt] += rows
    worse = outcome == "open" and each.example["outcome"] == "settled"
    example = (decision, *at) if worse else (each.example, each.place, each.year, each.input)
    told[key] = each._replace(
        rows=each.rows + rows,
        example=example[0],
        place=example[1],
        year=example[2],
        input=example[3],
    )


def _waters(one: Done, decisions: list[Any], made: Digest) -> None:
    for row in table(one, "waters").to_pylist():
        outcome = decisions[row["d"]]["outcome"]
        if row["big"]:
            made.doubts["bigger-than-known"] += int(row["big"])
        if row["water"]:
            waters = made.waters.setdefault((row["water"], row["state"]), Counter())
            waters[outcome] += row["rows_here"]


# ---- the decisions file ------------------------------------------------------------------------


def decision_lines(desk: Desk, done: Sequence[Done], decided: Decided) -> Iterator[tuple[Any, ...]]:
    """A line for each distinct name x place x span of years with one decision."""
    for one in done:
        names, decisions = table(one, "names"), table(one, "decisions").to_pylist()
        name, written = (names.column(c).to_pylist() for c in ("name", "scientific"))
        places = _places(one)
        for m, p, first, last, rows, d in _spans(one):
            made = decisions[d]
            line = decided.line(name[m], written[m], places[p].split("|"), first)
            filled = line.filled if line else ("", "", "", "")
            yield (
                name[m],
                written[m],
                places[p] or "none",
                years_told(first, last),
                rows,
                made["outcome"],
                made["scientificName"],
                made["settledBy"],
                made["candidates"],
                made["doubts"],
                made["identificationRemarks"],
                *filled,
            )


def _places(one: Done) -> dict[int, str]:
    places = table(one, "places")
    return dict(
        zip(places.column("p").to_pylist(), places.column("meant").to_pylist(), strict=True)
    )


def _spans(one: Done) -> Iterator[tuple[int, int, int, int, int, int]]:
    """Runs of years in which a name in a place has one decision; rows without a year apart."""
    held: list[int] | None = None
    for m, p, year, rows, d in ledger(one):
        if held and [held[0], held[1], held[5]] == [m, p, d] and held[2] and year:
            held[3], held[4] = year, held[4] + rows
            continue
        if held:
            yield tuple(held)  # type: ignore[misc]
        held = [m, p, year, year, rows, d]
    if held:
        yield tuple(held)  # type: ignore[misc]
