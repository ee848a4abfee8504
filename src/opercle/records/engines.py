"""Runs the SQL: DuckDB by default, Spark where asked; both give the same rows.

Knows: views over parts, look-up tables, and writing a part beside its place.
Refuses to know: what the SQL says.
"""

import os
import queue
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any, Protocol

from opercle.errors import FileError, OpercleError
from opercle.records.joins import Plan

MEMORY = 384
"""Megabytes that the engine may hold at once; more is spilt to disk."""
_MOST_WORKERS = 4
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
    """DuckDB in this process.

    Questions use all processors. Rows are written by several cursors of one thread each, a part at
    a time: one thread keeps the order of the rows through the joins, several would not. The
    look-up tables are held once for all.
    """

    name = "duckdb"

    def __init__(self, folder: str) -> None:
        import duckdb

        self.folder = folder
        self.base = duckdb.connect(
            config={
                "memory_limit": f"{MEMORY}MB",
                "threads": str(os.cpu_count() or 1),
                "temp_directory": os.path.join(folder, "spill"),
                "autoinstall_known_extensions": "false",
                "autoload_known_extensions": "false",
            }
        )
        # the rows stay on the left of every join, as the SQL says
        _run(self.base, "SET disabled_optimizers = 'join_order,build_side_probe_side'")

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

    def records(self, parts: Sequence[str]) -> None:
        """Make the parts the table ``records``."""
        with self._told():
            _view(self.base, parts)

    def put(self, name: str, path: str) -> None:
        """Make a Parquet file a look-up table."""
        with self._told():
            _table(self.base, name, path)

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
        paths = [os.path.join(folder, f"rows-{n:05d}.{to}") for n in range(len(parts))]
        left = [(p, o) for p, o in zip(parts, paths, strict=True) if not os.path.exists(o)]
        workers = max(1, min(os.cpu_count() or 1, len(left), _MOST_WORKERS))
        with self._told():
            _run(self.base, "SET threads = 1")
            cursors = [self.base.cursor() for _ in range(workers)]
            try:
                self._spread(cursors, left, sql, to, len(parts), heard)
            finally:
                for cursor in cursors:
                    cursor.close()
                _run(self.base, f"SET threads = {os.cpu_count() or 1}")
        return paths

    @staticmethod
    def _spread(
        cursors: list[Any], left: list[tuple[str, str]], sql: str, to: str, whole: int, heard: Any
    ) -> None:
        """Give the parts out to the cursors, whichever is free."""
        free: queue.SimpleQueue[Any] = queue.SimpleQueue()
        for cursor in cursors:
            free.put(cursor)

        def one(part: str, path: str) -> None:
            cursor = free.get()
            try:
                _copy(cursor, sql, part, path, to)
            finally:
                free.put(cursor)

        with ThreadPoolExecutor(len(cursors)) as pool:
            waiting = [pool.submit(one, *pair) for pair in left]
            try:
                for number, each in enumerate(waiting):
                    heard(whole - len(left) + number, whole)
                    each.result()
            except BaseException:
                for each in waiting:
                    each.cancel()
                raise

    def close(self) -> None:
        """Let go of everything."""
        self.base.close()


def _run(base: Any, sql: str, *values: Any) -> list[Any]:
    """Run a statement to its end; returns its rows."""
    return list(base.execute(sql, list(values) or None).fetchall())


def _view(base: Any, parts: Sequence[str]) -> None:
    listed = ", ".join("'" + p.replace("'", "''") + "'" for p in parts)
    _run(base, f"CREATE OR REPLACE TEMP VIEW records AS SELECT * FROM read_parquet([{listed}])")


def _table(base: Any, name: str, path: str) -> None:
    _run(base, f"DROP TABLE IF EXISTS {name}")
    _run(base, f"CREATE TABLE {name} AS SELECT * FROM read_parquet(?)", path)
    if name == "decisions":
        _numbered(base, name)


def _numbered(base: Any, table: str) -> None:
    """Keep the texts of a small table as numbers, which are quick to write out again."""
    ((rows,),) = _run(base, f"SELECT COUNT(*) FROM {table}")
    if not 0 < rows <= _MOST_NUMBERED:
        return
    for name, kind, *_ in _run(base, f"DESCRIBE {table}"):
        if kind != "VARCHAR":
            continue
        held = f"SELECT DISTINCT {name} FROM {table} WHERE {name} IS NOT NULL ORDER BY 1"
        if not _run(base, f"{held} LIMIT 1"):
            continue
        _run(base, f"DROP TYPE IF EXISTS {table}_{name}")
        _run(base, f"CREATE TYPE {table}_{name} AS ENUM ({held})")
        _run(base, f"ALTER TABLE {table} ALTER {name} TYPE {table}_{name}")


def _copy(base: Any, sql: str, part: str, path: str, to: str) -> None:
    """Run the SQL over one part, beside its place, and put it there when it is whole."""
    _view(base, [part])
    form = "FORMAT csv, HEADER false, NULLSTR ''"
    if to == "parquet":
        form = "FORMAT parquet, COMPRESSION snappy"
    beside = path + ".part"
    target = beside.replace("'", "''")
    _run(base, f"COPY ({sql}) TO '{target}' ({form})")
    flushed(beside)
    os.replace(beside, path)


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
