"""What a run found, added up: outcomes, names, waters, years, and the lines of the decisions file.

Knows: the ledger (rows by name, place and span of years) and the decisions.
Refuses to know: how it is shown.
"""

import os
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from opercle.records.decided import Decided, years_told
from opercle.records.job import Done
from opercle.records.joins import BIGGER


class Span(NamedTuple):
    """The rows of a name in a place over some years, with their decision; year 0 for none."""

    m: int
    p: int
    first: int
    last: int
    rows: int
    d: int


class NameTold(NamedTuple):
    """A distinct name as written, with its rows by outcome and what it settled as.

    ``example`` is the decision that says most of it, in ``place`` and ``year`` of ``input``.
    """

    name: str
    written: str
    outcomes: Counter[str]
    settled_as: Counter[str]
    by: Counter[str]
    doubts: Counter[str]
    example: dict[str, Any]
    place: int
    year: int
    input: int

    @property
    def rows(self) -> int:
        """How many rows have the name."""
        return sum(self.outcomes.values())


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


def spans(one: Done) -> Iterator[Span]:
    """The ledger in the order of names and places."""
    for batch in table(one, "ledger").to_batches(max_chunksize=50_000):
        yield from map(Span._make, zip(*(c.to_pylist() for c in batch.columns), strict=True))


def digest(done: Sequence[Done]) -> Digest:
    """Add up all inputs of a run."""
    made = Digest(Counter(), Counter(), Counter(), Counter(), {}, {}, [], 0, Counter())
    told: dict[tuple[str, str], NameTold] = {}
    for number, one in enumerate(done):
        decisions = table(one, "decisions").to_pylist()
        _names(one, number, decisions, made, told)
        for year, d, rows in zip(*table(one, "years").to_pydict().values(), strict=True):
            if year:
                made.years.setdefault(year, Counter())[decisions[d]["outcome"]] += rows
    for each in told.values():
        made.distinct[each.outcomes.most_common(1)[0][0]] += 1
    ranked = sorted(told.values(), key=lambda t: (-t.rows, t.name, t.written))
    return made._replace(told=ranked, names=len(told))


def _names(
    one: Done, number: int, decisions: list[Any], made: Digest, told: dict[Any, NameTold]
) -> None:
    written = _pairs(one, "names", "name", "scientific")
    where = _pairs(one, "places", "water", "state")
    for span in spans(one):
        decision = decisions[span.d]
        key = written[span.m]
        if key not in told:
            empty = (Counter[str](), Counter[str](), Counter[str](), Counter[str]())
            told[key] = NameTold(*key, *empty, decision, span.p, span.last, number)
        each = told[key]
        if decision["outcome"] == "open" and each.example["outcome"] == "settled":
            each = each._replace(example=decision, place=span.p, year=span.last, input=number)
            told[key] = each
        _count(made, each, decision, span.rows)
        water = where[span.p]
        if water[0]:
            made.waters.setdefault(water, Counter())[decision["outcome"]] += span.rows
    for m, rows in _bigger(one).items():
        told[written[m]].doubts[BIGGER] += rows
        made.doubts[BIGGER] += rows


def _count(made: Digest, each: NameTold, decision: dict[str, Any], rows: int) -> None:
    outcome = decision["outcome"]
    made.outcomes[outcome] += rows
    each.outcomes[outcome] += rows
    if outcome == "settled":
        by = decision["settledBy"] or "name"
        made.families[decision["family"] or "family not given"] += rows
        made.by[by] += rows
        each.by[by] += rows
        each.settled_as[decision["scientificName"] or ""] += rows
    for doubt in (decision["doubts"] or "").split("|"):
        if doubt:
            made.doubts[doubt] += rows
            each.doubts[doubt] += rows


def _pairs(one: Done, name: str, first: str, second: str) -> list[tuple[str, str]]:
    """Two columns of a look-up table; its rows stand at their numbers."""
    found = table(one, name)
    columns = (found.column(c).to_pylist() for c in (first, second))
    return list(zip(*columns, strict=True))


def _bigger(one: Done) -> dict[int, int]:
    """Rows by name that hold a fish bigger than known."""
    if not os.path.exists(os.path.join(one.folder, "tables", "bigger.parquet")):
        return {}
    found = table(one, "bigger")
    return dict(zip(*(found.column(c).to_pylist() for c in ("m", "rows_here")), strict=True))


# ---- the decisions file ------------------------------------------------------------------------


def decision_lines(done: Sequence[Done], decided: Decided) -> Iterator[tuple[Any, ...]]:
    """A line for each distinct name x place x span of years with one decision."""
    for one in done:
        decisions = table(one, "decisions").to_pylist()
        names = _pairs(one, "names", "name", "scientific")
        meant = table(one, "places").column("meant").to_pylist()
        for span in _together(spans(one)):
            made = decisions[span.d]
            line = decided.line(*names[span.m], meant[span.p].split("|"), span.first)
            if line:
                decided.used.add(line.number)
            yield (
                *names[span.m],
                meant[span.p] or "none",
                years_told(span.first, span.last),
                span.rows,
                made["outcome"],
                made["scientificName"],
                made["settledBy"],
                made["candidates"],
                made["doubts"],
                made["identificationRemarks"],
                *(line.filled if line else ("", "", "", "")),
            )


def _together(ledger: Iterator[Span]) -> Iterator[Span]:
    """Spans that follow each other with one decision as one; rows without a year stay apart."""
    held: Span | None = None
    for span in ledger:
        if held and (held.m, held.p, held.d) == (span.m, span.p, span.d) and held.first:
            held = held._replace(last=span.last, rows=held.rows + span.rows)
            continue
        if held:
            yield held
        held = span
    if held:
        yield held
