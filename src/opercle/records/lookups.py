"""Look-up tables: every distinct name, place and year that met, with the decision on each.

Knows: that Python sees only distinct values, and the engine all rows.
Refuses to know: rows.

A decision changes with the year only at certain years (a name was published, a meaning began or
ended, a steward's line begins or ends), so years are taken together in spans.
"""

import os
from bisect import bisect_right
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from opercle.questions.desk import Desk
from opercle.records import joins, staging
from opercle.records.cells import Reading
from opercle.records.columns import Columns
from opercle.records.decided import Decided
from opercle.records.deciding import Decider
from opercle.records.decisions import Decision
from opercle.records.numbering import NAME_ROLES, PLACE_ROLES
from opercle.records.older import Older
from opercle.records.sizes import Sizes
from opercle.records.whereabouts import Where

PUT = ("keys", "decisions")
"""The tables that the engine joins to the rows."""
Heard = Callable[[int, int], None]
_LOOKED_OVER = 20_000
_LAST_YEAR = 9999


class Asked(NamedTuple):
    """What one row's names ask: the name, the scientific name beside it, whose names it follows."""

    name: Reading
    scientific: Reading | None
    authority: str


class Lookups:
    """Builds the tables of one source and writes them to ``folder``.

    ``parts`` is where the distinct names and places of the rows stand. ``ask`` runs SQL over the
    staged rows and gives an Arrow table; ``put`` makes a table known to the engine. ``coast`` is
    said of every row that says nothing itself.
    """

    def __init__(
        self,
        decider: Decider,
        columns: Columns,
        decided: Decided,
        older: Older | None,
        parts: str,
        folder: str,
        coast: str | None = None,
    ) -> None:
        self.coast = coast or ""
        self.decider, self.columns, self.decided = decider, columns, decided
        self.older, self.parts, self.folder = older, parts, folder
        self.desk: Desk = decider.desk
        self.sizes = Sizes(self.desk)
        self.names: list[tuple[str, str]] = []
        self.asked: list[Asked] = []
        self.asked_of: list[int] = []
        self.places: list[Where] = []
        self.place_of: list[int] = []
        self.turns: dict[int, list[int]] = {}
        self._taxa: dict[str, dict[str, Any]] = {}

    def build(
        self, ask: Callable[[str], Any], put: Callable[[str, Any], None], heard: Heard
    ) -> None:
        """Read the distinct values, decide, and write every table."""
        ranks = self._names(heard), self._places()
        self._keys(ask(joins.ledger()), ranks, put, heard)

    # ---- names and places ------------------------------------------------------------------

    def _distinct(self, name: str, roles: tuple[str, ...]) -> tuple[Any, Any]:
        """A table of distinct values, and the rank of each of its rows by its texts."""
        import pyarrow as pa
        import pyarrow.compute as pc
        from pyarrow import parquet

        table = parquet.read_table(os.path.join(self.parts, f"{name}.parquet"))
        order = pc.sort_indices(table, [(role, "ascending") for role in roles])
        return table, pc.sort_indices(pa.chunked_array([order]))

    def _names(self, heard: Heard) -> Any:
        """Read every name; returns their ranks."""
        table, ranks = self._distinct("names", NAME_ROLES)
        turned = {n for n in table.column("name").to_pylist() if "," in n}
        self.decider.reader.look_over(sorted(turned)[:_LOOKED_OVER])
        known: dict[Asked, int] = {}
        seen: dict[str, Reading] = {}
        for number, (name, written, authority) in enumerate(_rows(table, NAME_ROLES)):
            two = None
            if written:
                if written not in seen:
                    seen[written] = self.decider.read(written)
                two = seen[written]
            asked = Asked(self.decider.read(name), two, authority)
            at = known.setdefault(asked, len(known))
            if at == len(self.asked):
                self.asked.append(asked)
            self.asked_of.append(at)
            self.names.append((name, written))
            if number % 5000 == 0:
                heard(number, table.num_rows)
        self._save("names", table, None)
        return ranks

    def _places(self) -> Any:
        """Read every place; returns their ranks."""
        import pyarrow as pa

        table, ranks = self._distinct("places", PLACE_ROLES)
        known: dict[Where, int] = {}
        for row in _rows(table, PLACE_ROLES):
            water, state, country, huc, coast = row
            where = self.decider.where.read(water, state, country, huc, coast or self.coast)
            at = known.setdefault(where, len(known))
            if at == len(self.places):
                self.places.append(where)
            self.place_of.append(at)
        meant = ["|".join(self.places[p].places) for p in self.place_of]
        self._save("places", table.append_column("meant", pa.array(meant, pa.string())), None)
        return ranks

    # ---- decisions -------------------------------------------------------------------------

    def _keys(self, ledger: Any, ranks: tuple[Any, Any], put: Any, heard: Heard) -> None:
        """Decide on every name, place and span of years, and write what came of it."""
        import pyarrow as pa

        ledger = self._spanned(ledger)
        spans = self._spans(ledger, ranks)
        decisions: dict[Decision, int] = {}
        memo: dict[tuple[int, int, int], int] = {}
        chosen = [0] * spans.num_rows
        # a place at a time: what is known of it is then at hand
        order = sorted(
            enumerate(_rows(spans, ("m", "p", "first"))), key=lambda x: self.place_of[x[1][1]]
        )
        for number, (at, (m, p, first)) in enumerate(order):
            chosen[at] = self._decide(m, p, first, memo, decisions)
            if number % 1000 == 0:
                heard(number, spans.num_rows)
        table, big = self._table(list(decisions))
        spans = spans.append_column("d", pa.array(chosen, pa.int32()))
        self._save("ledger", spans.select(["m", "p", "first", "last", "rows_here", "d"]), None)
        keys = spans.select(["m", "p", "since", "until", "d"])
        keys = keys.append_column("big", pa.array((big[d][0] for d in chosen), pa.int32()))
        for at, name in enumerate(("max_cm", "max_kg"), 1):
            keys = keys.append_column(name, pa.array((big[d][at] for d in chosen), pa.float64()))
        self._save("keys", keys, put)
        self._save("decisions", table, put)
        self._years(ledger, spans)

    def _spanned(self, ledger: Any) -> Any:
        """The ledger with the span of years that each line falls into."""
        import pyarrow as pa
        import pyarrow.compute as pc

        coded = pc.add(
            pc.multiply(pc.cast(ledger.column("m"), pa.int64()), 10_000), ledger.column("y")
        )
        coded = pc.dictionary_encode(coded.combine_chunks())
        met = [divmod(code, 10_000) for code in coded.dictionary.to_pylist()]
        bounds = [self._bounds(m, y) for m, y in met]
        for at, name in enumerate(("since", "until")):
            values = pa.array((b[at] for b in bounds), pa.int32()).take(coded.indices)
            ledger = ledger.append_column(name, values)
        return ledger

    def _spans(self, ledger: Any, ranks: tuple[Any, Any]) -> Any:
        """The years of each span taken together, in the order of names and places."""
        spans = ledger.group_by(["m", "p", "since", "until"], use_threads=False).aggregate(
            [("y", "min"), ("y", "max"), ("rows_here", "sum")]
        )
        for number, rank in zip(("m", "p"), ranks, strict=True):
            spans = spans.append_column(f"{number}_rank", rank.take(spans.column(number)))
        spans = spans.sort_by([(k, "ascending") for k in ("m_rank", "p_rank", "since")])
        named = {"y_min": "first", "y_max": "last", "rows_here_sum": "rows_here"}
        return spans.rename_columns([named.get(n, n) for n in spans.column_names])

    def _bounds(self, m: int, year: int) -> tuple[int, int]:
        """The span of years in which all rows of a name in a place have one decision."""
        if not year:
            return 0, 0
        turns = self._turns(m)
        at = bisect_right(turns, year)
        return (turns[at - 1] if at else 1), (turns[at] - 1 if at < len(turns) else _LAST_YEAR)

    def _turns(self, m: int) -> list[int]:
        """The years at which the decision on a name can change."""
        if m not in self.turns:
            asked = self.asked[self.asked_of[m]]
            turns = {*self.decider.years(asked.name)}
            turns.update(self.decider.years(asked.scientific) if asked.scientific else ())
            turns.update(self.decided.turns(*self.names[m]))
            self.turns[m] = sorted(t for t in turns if t > 1)
        return self.turns[m]

    def _decide(
        self,
        m: int,
        p: int,
        year: int,
        memo: dict[tuple[int, int, int], int],
        made: dict[Decision, int],
    ) -> int:
        where = self.places[self.place_of[p]]
        own = self.decided.find(*self.names[m], where.places, year)
        if own is not None:
            return made.setdefault(own, len(made))
        key = (self.asked_of[m], self.place_of[p], self._bounds(m, year)[0])
        if key not in memo:
            asked = self.asked[self.asked_of[m]]
            decision = self.decider.decide(*asked[:2], where, year or None, asked.authority)
            memo[key] = made.setdefault(decision, len(made))
        return memo[key]

    def _years(self, ledger: Any, spans: Any) -> None:
        """How many rows each year has by decision."""
        bounds = ["m", "p", "since"]
        keyed = ledger.join(spans.select([*bounds, "d"]), bounds, join_type="inner")
        years = keyed.group_by(["y", "d"], use_threads=False).aggregate([("rows_here", "sum")])
        self._save("years", years, None)

    # ---- decisions as rows -----------------------------------------------------------------

    def _table(self, decisions: list[Decision]) -> tuple[Any, list[tuple[int, Any, Any]]]:
        """The decisions as a table, and for each the one on a fish too big, with the limits.

        A decision on a fish that is bigger than known is a row of its own, so that all its text
        stands in the table and none is put together row by row.
        """
        import pyarrow as pa

        rows = [self._fields(decision) for decision in decisions]
        big = []
        for number, row in enumerate(rows[: len(decisions)]):
            limits = row.pop("limits")
            big.append((len(rows) if any(limits) else number, *limits))
            if any(limits):
                doubts = "|".join(d for d in (row["doubts"], joins.BIGGER) if d)
                rows.append({**row, "doubts": doubts})
        names = [*joins.ADDED[1:], *(joins.OLDER if self.older else ()), "taxon"]
        schema = pa.schema([("d", pa.int32()), *((n, pa.string()) for n in names)])
        return pa.Table.from_pylist([{"d": d, **r} for d, r in enumerate(rows)], schema), big

    def _fields(self, decision: Decision) -> dict[str, Any]:
        names = [self._scientific(t) for t in decision.candidates]
        fields: dict[str, Any] = {
            "identificationRemarks": decision.remarks or None,
            "outcome": decision.outcome,
            "settledBy": "|".join(decision.by) or None,
            "candidates": "|".join(names) or None,
            "doubts": "|".join(decision.doubts) or None,
            "taxon": decision.taxon,
            "limits": (None, None),
        }
        return fields | (self._of_taxon(decision.taxon) if decision.taxon else {})

    def _of_taxon(self, taxon: str) -> dict[str, Any]:
        if taxon not in self._taxa:
            about = self.desk.about(taxon)
            self._taxa[taxon] = {
                "scientificName": about.get("name"),
                "scientificNameAuthorship": about.get("author"),
                "taxonRank": about.get("rank"),
                "family": about.get("familyName"),
                "genus": self._genus(taxon),
                "vernacularName": about.get("common"),
                "limits": self.sizes.largest(taxon),
            }
            if self.older:
                names_then = self.older.names(taxon)
                self._taxa[taxon] |= dict(zip(joins.OLDER, names_then, strict=True))
        return self._taxa[taxon]

    def _scientific(self, taxon: str) -> str:
        return str(self.desk.about(taxon).get("name") or self.desk.label(taxon))

    def _genus(self, taxon: str) -> str | None:
        for one in [taxon, *self.desk.lineage(taxon)]:
            if self.desk.rank(one) == "genus":
                return self._scientific(one)
        genera = {part.split()[0] for part in self._scientific(taxon).split(" x ")}
        hybrid = self.desk.rank(taxon) == "hybrid"
        return genera.pop() if hybrid and len(genera) == 1 else None

    def _save(self, name: str, table: Any, put: Any) -> None:
        staging.write(table, os.path.join(self.folder, f"{name}.parquet"))
        if put is not None:
            put(name, table)


def _rows(table: Any, columns: tuple[str, ...]) -> Iterator[tuple[Any, ...]]:
    """Some columns row by row, a batch at a time."""
    for batch in table.select(list(columns)).to_batches(max_chunksize=50_000):
        yield from zip(*(c.to_pylist() for c in batch.columns), strict=True)
