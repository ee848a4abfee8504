"""Runs the SQL: DuckDB by default, Spark where asked; both give the same rows.

Knows: views over parts, look-up tables, and writing a part beside its place.
Refuses to know: what the SQL says.
"""

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Protocol

from opercle.errors import FileError, OpercleError
from opercle.records.joins import Plan

MEMORY = "384MB"
_MOST_NUMBERED = 100_000


class Engine(Protocol):
    """What the work needs of an engine."""

    name: str

    def records(self, parts: Sequence[str]) -> None:
        """Make the parts the table ``records``."""

    def put(self, name: str, path: str) -> None:
        """Make a Parquet file a look-up table."""

    def ask(self, sql: str) -> Any:
        """Run SQL; returns an Arrow table."""

    def write(
        self, plan: Plan, parts: Sequence[str], folder: str, to: str, heard: Any
    ) -> list[str]:
        """Run the SQL over each part and write what it gives, in order; returns the files."""

    def close(self) -> None:
        """Let go of everything."""


class Duck:
    """DuckDB in this process."""

    name = "duckdb"

    def __init__(self, folder: str) -> None:
        import duckdb

        self.folder = folder
        self.base = duckdb.connect(
            config={
                "memory_limit": os.environ.get("OPERCLE_MEMORY", MEMORY),
                "threads": str(os.cpu_count() or 1),
                "temp_directory": os.path.join(folder, "spill"),
                "autoinstall_known_extensions": "false",
                "autoload_known_extensions": "false",
            }
        )

    @contextmanager
    def _told(self) -> Iterator[None]:
        import duckdb

        try:
            yield
        except (duckdb.IOException, duckdb.OutOfMemoryException) as error:
            raise FileError(
                f"The rows cannot be written: {str(error).splitlines()[0]}",
                self.folder,
                "Make room, or choose another folder with -o.",
            ) from None
        except duckdb.Error as error:
            raise OpercleError(
                f"The engine failed: {str(error).splitlines()[0]}", self.folder
            ) from None

    def _run(self, sql: str, *values: Any) -> list[Any]:
        """Run a statement to its end; returns its rows."""
        return list(self.base.execute(sql, list(values) or None).fetchall())

    def records(self, parts: Sequence[str]) -> None:
        """Make the parts the table ``records``."""
        listed = ", ".join("'" + p.replace("'", "''") + "'" for p in parts)
        with self._told():
            self._run(
                f"CREATE OR REPLACE TEMP VIEW records AS SELECT * FROM read_parquet([{listed}])"
            )

    def put(self, name: str, path: str) -> None:
        """Make a Parquet file a look-up table."""
        with self._told():
            self._run(f"DROP TABLE IF EXISTS {name}")
            self._run(f"CREATE OR REPLACE TEMP TABLE {name} AS SELECT * FROM read_parquet(?)", path)
            if name in ("names", "decisions"):
                self._numbered(name)

    def _numbered(self, table: str) -> None:
        """Keep the texts of a small table as numbers, which are quick to write out again."""
        ((rows,),) = self._run(f"SELECT COUNT(*) FROM {table}")
        if not 0 < rows <= _MOST_NUMBERED:
            return
        for name, kind, *_ in self._run(f"DESCRIBE {table}"):
            if kind != "VARCHAR" or name in ("name", "scientific"):
                continue
            held = f"SELECT DISTINCT {name} FROM {table} WHERE {name} IS NOT NULL ORDER BY 1"
            if not self._run(f"{held} LIMIT 1"):
                continue
            self._run(f"DROP TYPE IF EXISTS {table}_{name}")
            self._run(f"CREATE TYPE {table}_{name} AS ENUM ({held})")
            self._run(f"ALTER TABLE {table} ALTER {name} TYPE {table}_{name}")

    def ask(self, sql: str) -> Any:
        """Run SQL; returns an Arrow table."""
        with self._told():
            return self.base.sql(sql).to_arrow_table()

    def write(
        self, plan: Plan, parts: Sequence[str], folder: str, to: str, heard: Any
    ) -> list[str]:
        """Run the SQL over each part; a part that is there already is kept."""
        sql = plan.sql
        if to == "parquet":
            pairs = zip(plan.columns, plan.distinct, strict=True)
            named = ", ".join(f"{c} AS {quoted(h)}" for c, h in pairs)
            sql = f"SELECT {named} FROM ({plan.sql})"
        made = []
        for number, part in enumerate(parts):
            heard(number, len(parts))
            path = os.path.join(folder, f"rows-{number:05d}.{to}")
            made.append(path)
            if os.path.exists(path):
                continue
            self.records([part])
            form = (
                "FORMAT parquet, COMPRESSION snappy"
                if to == "parquet"
                else "FORMAT csv, HEADER false, NULLSTR ''"
            )
            beside = path + ".part"
            target = beside.replace("'", "''")
            with self._told():
                self._run(f"COPY ({sql}) TO '{target}' ({form})")
            flushed(beside)
            os.replace(beside, path)
        return made

    def close(self) -> None:
        """Let go of everything."""
        self.base.close()


def quoted(heading: str) -> str:
    """A heading as a DuckDB identifier."""
    return '"' + heading.replace('"', '""') + '"'


def flushed(path: str) -> None:
    """Have the system put a file on its disk."""
    with open(path, "rb") as file:
        os.fsync(file.fileno())


def chosen(name: str, folder: str, master: str | None) -> Engine:
    """The engine of that name."""
    if name == "spark":
        from opercle.records.spark import Spark

        return Spark(folder, master)
    return Duck(folder)
