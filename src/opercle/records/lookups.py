"""Look-up tables: every distinct name, place, date and their meetings, with the decision on each.

Knows: that Python sees only distinct values, and the engine all rows.
Refuses to know: rows.
"""

import os
from collections.abc import Callable, Iterator
from typing import Any

from opercle.questions.desk import Desk
from opercle.records import joins, sizes, staging
from opercle.records.cells import Reading
from opercle.records.columns import Columns
from opercle.records.decided import Decided
from opercle.records.deciding import SETTLED, Decider, Decision
from opercle.records.older import Older
from opercle.records.whereabouts import Where, year_of

TABLES = ("names", "places", "dates", "keys", "decisions", "ledger")
Heard = Callable[[int, int], None]
_LOOKED_OVER = 20_000


class Lookups:
    """Builds the tables of one source and writes them to ``folder``.

    ``ask`` runs SQL over the staged rows and gives an Arrow table; ``put`` makes a table known to
    the engine.
    """

    def __init__(
        self,
        decider: Decider,
        columns: Columns,
        decided: Decided,
        older: Older | None,
        folder: str,
    ) -> None:
        self.decider, self.columns, self.decided = decider, columns, decided
        self.older, self.folder = older, folder
        self.desk: Desk = decider.desk
        self.names: list[tuple[str, str]] = []
        self.readings: list[int] = []
        self.distinct: list[tuple[Reading, Reading | None]] = []
        self.places: list[Where] = []
        self.place_of: list[int] = []

    def build(
        self, ask: Callable[[str], Any], put: Callable[[str, Any], None], heard: Heard
    ) -> None:
        """Read the distinct values, decide, and write every table."""
        self._names(ask, put, heard)
        self._places(ask, put)
        self._dates(ask, put)
        self._keys(ask, put, heard)

    # ---- names, places, dates --------------------------------------------------------------

    def _names(self, ask: Any, put: Any, heard: Heard) -> None:
        import pyarrow as pa

        sql = joins.distinct(self.columns, ("name", "scientific"), ("name", "scientific"))
        table = ask(sql).sort_by([("name", "ascending"), ("scientific", "ascending")])
        known: dict[tuple[Reading, Reading | None], int] = {}
        has_two = "scientific" in self.columns.by_role
        seen: dict[str, Reading] = {}
        self.decider.reader.look_over(
            name for name in table.column("name").to_pylist()[:_LOOKED_OVER] if "," in name
        )
        for number, (name, written) in enumerate(_pairs(table, "name", "scientific")):
            one = self.decider.read(name)
            two = None
            if has_two and written:
                if written not in seen:
                    seen[written] = self.decider.read(written)
                two = seen[written]
            at = known.setdefault((one, two), len(known))
            if at == len(self.distinct):
                self.distinct.append((one, two))
            self.readings.append(at)
            self.names.append((name, written))
            if number % 5000 == 0:
                heard(number, table.num_rows)
        written = pa.array([a or b or None for a, b in self.names], pa.string())
        table = table.append_column("written", written)
        table = table.append_column("m", pa.array(range(table.num_rows), pa.int32()))
        self._save("names", table, put)

    def _places(self, ask: Any, put: Any) -> None:
        import pyarrow as pa

        roles = ("water", "state", "country", "huc")
        table = ask(joins.distinct(self.columns, roles, roles))
        table = table.sort_by([(r, "ascending") for r in roles])
        known: dict[Where, int] = {}
        for row in zip(*(table.column(r).to_pylist() for r in roles), strict=True):
            where = self.decider.where.read(*row)
            at = known.setdefault(where, len(known))
            if at == len(self.places):
                self.places.append(where)
            self.place_of.append(at)
        table = table.append_column("p", pa.array(self.place_of, pa.int32()))
        meant = ["|".join(self.places[p].places) for p in self.place_of]
        table = table.append_column("meant", pa.array(meant, pa.string()))
        self._save("places", table, put)

    def _dates(self, ask: Any, put: Any) -> None:
        import pyarrow as pa

        roles = ("year_written", "date_written")
        table = ask(joins.distinct(self.columns, ("year", "date"), roles))
        table = table.sort_by([(r, "ascending") for r in roles])
        years = [
            year_of(year) or year_of(date)
            for year, date in _pairs(table, "year_written", "date_written")
        ]
        self._save("dates", table.append_column("y", pa.array(years, pa.int32())), put)

    # ---- decisions -------------------------------------------------------------------------

    def _keys(self, ask: Any, put: Any, heard: Heard) -> None:
        import pyarrow as pa
        import pyarrow.compute as pc

        ledger = ask(joins.ledger(self.columns))
        ledger = ledger.sort_by([("m", "ascending"), ("p", "ascending"), ("y", "ascending")])
        decisions: dict[Decision, int] = {}
        memo: dict[tuple[int, int, int], int] = {}
        chosen: list[int] = []
        rows = zip(*(ledger.column(c).to_pylist() for c in ("m", "p", "y")), strict=True)
        for number, (m, p, y) in enumerate(rows):
            chosen.append(self._decide(m, p, y, memo, decisions))
            if number % 2000 == 0:
                heard(number, ledger.num_rows)
        numbers = pa.array(chosen, pa.int32())
        ledger = ledger.append_column("d", numbers)
        ledger = ledger.set_column(3, "rows_here", pc.cast(ledger.column("rows_here"), pa.int64()))
        self._save("ledger", ledger, None)
        self._save("keys", ledger.select(["m", "p", "y", "d"]), put)
        self._save("decisions", self._table(list(decisions)), put)

    def _decide(
        self,
        m: int,
        p: int,
        y: int,
        memo: dict[tuple[int, int, int], int],
        made: dict[Decision, int],
    ) -> int:
        name, written = self.names[m]
        where = self.places[p]
        own = self.decided.find(name, written, where.places, y)
        if own is not None:
            return made.setdefault(own, len(made))
        one, two = self.distinct[self.readings[m]]
        turns = self.decider.years(one) + (self.decider.years(two) if two else ())
        band = sum(t <= y for t in turns) if y else -1
        key = (self.readings[m], p, band)
        if key not in memo:
            decision = self.decider.decide(one, two, where.places, y or None)
            if where.notes and decision.outcome != SETTLED:
                told = decision.remarks + "; " + "; ".join(where.notes)
                decision = decision._replace(remarks=told)
            memo[key] = made.setdefault(decision, len(made))
        return memo[key]

    def _table(self, decisions: list[Decision]) -> Any:
        import pyarrow as pa

        rows = [{"d": d, **self._fields(decision)} for d, decision in enumerate(decisions)]
        text = pa.string()
        names = [*joins.ADDED[1:], *(joins.OLDER if self.older else ())]
        schema = pa.schema(
            [
                ("d", pa.int32()),
                *((n, text) for n in names),
                ("taxon", text),
                ("max_cm", pa.float64()),
                ("max_kg", pa.float64()),
            ]
        )
        return pa.Table.from_pylist(rows, schema)

    def _fields(self, decision: Decision) -> dict[str, Any]:
        names = [self._scientific(t) for t in decision.candidates]
        fields: dict[str, Any] = {
            "identificationRemarks": decision.remarks or None,
            "outcome": decision.outcome,
            "settledBy": "|".join(decision.by) or None,
            "candidates": "|".join(names) or None,
            "doubts": "|".join(decision.doubts) or None,
            "taxon": decision.taxon,
        }
        if decision.taxon is None:
            return fields
        about = self.desk.about(decision.taxon)
        fields |= {
            "scientificName": about.get("name"),
            "scientificNameAuthorship": about.get("author"),
            "taxonRank": about.get("rank"),
            "family": about.get("familyName"),
            "genus": self._genus(decision.taxon),
            "vernacularName": about.get("common"),
        }
        fields["max_cm"], fields["max_kg"] = sizes.largest(self.desk, decision.taxon)
        if self.older:
            names_then = self.older.names(decision.taxon)
            fields |= dict(zip(joins.OLDER, names_then, strict=True))
        return fields

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


def _pairs(table: Any, one: str, two: str) -> Iterator[tuple[str, str]]:
    """Two text columns row by row, a batch at a time."""
    for batch in table.select([one, two]).to_batches(max_chunksize=50_000):
        yield from zip(batch.column(0).to_pylist(), batch.column(1).to_pylist(), strict=True)
