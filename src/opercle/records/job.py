"""One run of ``settle``: stage, decide, join, check, and put everything in place at the end.

Knows: the work folder, what can be taken up again after a kill, and that every row is counted
twice. Refuses to know: fishes.
"""

import csv
import fcntl
import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, NamedTuple

from opercle.answers import Answer
from opercle.build import VERSION
from opercle.errors import FileError, OpercleError, UsageError
from opercle.questions.desk import Desk
from opercle.records import columns as column_book
from opercle.records import decided as decisions_book
from opercle.records import engines, joins, sources, staging
from opercle.records.columns import Columns
from opercle.records.deciding import Decider
from opercle.records.framing import Reject
from opercle.records.lookups import PUT, Lookups
from opercle.records.numbering import NUMBERS
from opercle.records.older import Older
from opercle.records.sources import Source
from opercle.records.staging import Staged

Heard = Callable[[str, int, int], None]
_FORM = "3"  # raise when the layout of a work folder changes
OUTCOMES = ("settled", "open", "unknown")


class Options(NamedTuple):
    """How to settle. ``columns`` maps a role (name, water …) to the heading that holds it.

    ``coast`` (coast or inland) is said of rows that do not say it themselves.
    A file of more than ``most_rows`` rows is refused.
    """

    out: str = "settled"
    engine: str = "duckdb"
    master: str | None = None
    to: str | None = None
    columns: Mapping[str, str] = {}
    length_unit: str | None = None
    weight_unit: str | None = None
    encoding: str | None = None
    delimiter: str | None = None
    sheet: str | None = None
    names_by: str | None = None
    decisions: str | None = None
    spreadsheet_safe: bool = False
    most_rows: int | None = None
    coast: str | None = None


class Done(NamedTuple):
    """What became of one input."""

    source: Source
    columns: Columns
    staged: Staged
    plan: joins.Plan
    folder: str
    rows: list[str]


def settle(desk: Desk, files: Sequence[str], options: Options, heard: Heard) -> Answer:
    """Settle files of records into ``options.out``.

    ``heard`` is told the stage, how much is done and how much there is. Raises UsageError,
    FileError; then nothing in the folder has been changed.
    """
    if not files:
        raise UsageError("No file of records is named.", "settle", "Name at least one file.")
    inputs = [sources.opened(f, options.encoding, options.delimiter, options.sheet) for f in files]
    columns = [
        column_book.find(s.headings, options.columns, options.length_unit, options.weight_unit)
        for s in inputs
    ]
    decided = decisions_book.read(options.decisions, desk)
    older = Older(desk, options.names_by) if options.names_by else None
    with _locked(options.out):
        work = _work(desk, files, options)
        try:
            from opercle.records import finish

            decider = Decider(desk)
            engine = engines.chosen(options.engine, work, options.master)
            try:
                done = []
                for number, (source, found) in enumerate(zip(inputs, columns, strict=True)):
                    folder = os.path.join(work, f"input-{number}")
                    job = _One(decider, decided, older, engine, options, heard)
                    done.append(job.run(source, found, folder))
                answer = finish.finish(decider, decided, done, options, engine, work, heard)
            finally:
                engine.close()
        except OSError as error:
            raise FileError(
                f"The folder cannot be written: {error.strerror or error}.",
                options.out,
                "Make room, or choose another folder with -o. Nothing there was changed.",
            ) from None
        shutil.rmtree(work, ignore_errors=True)
    return answer


@contextmanager
def _locked(out: str) -> Iterator[None]:
    """Keep a second run out of the folder."""
    try:
        os.makedirs(out, exist_ok=True)
        lock = open(os.path.join(out, ".lock"), "w")  # noqa: SIM115 - held to the end
    except OSError as error:
        raise FileError(
            f"The folder cannot be written: {error.strerror}.", out, "Choose another with -o."
        ) from None
    with lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise FileError(
                "Another run is writing into this folder.", out, "Wait for it, or use another."
            ) from None
        try:
            yield
        finally:
            os.unlink(os.path.join(out, ".lock"))


def _work(desk: Desk, files: Sequence[str], options: Options) -> str:
    """The work folder of just this task; those of other tasks are left-overs and go."""
    stats = [(os.path.abspath(f), os.stat(f).st_size, os.stat(f).st_mtime_ns) for f in files]
    settings = options._replace(out="")._asdict() | {"columns": dict(options.columns)}
    decisions = staging.sha256(options.decisions) if options.decisions else None
    task = json.dumps([VERSION, _FORM, knowledge(desk), stats, settings, decisions], sort_keys=True)
    name = ".work-" + hashlib.sha256(task.encode()).hexdigest()[:16]
    try:
        for other in os.listdir(options.out):
            if other.startswith(".work-") and other != name:
                shutil.rmtree(os.path.join(options.out, other), ignore_errors=True)
        os.makedirs(os.path.join(options.out, name), exist_ok=True)
    except OSError as error:
        raise FileError(
            f"The folder cannot be written: {error.strerror}.", options.out, "Choose another."
        ) from None
    return os.path.join(options.out, name)


def knowledge(desk: Desk) -> str:
    """The hash of the knowledge."""
    return str(desk.snapshot.facts.get("hash", ""))


class _One:
    """The work on one input; each step done is kept, and a step half done is begun again."""

    def __init__(
        self,
        decider: Decider,
        decided: decisions_book.Decided,
        older: Older | None,
        engine: engines.Engine,
        options: Options,
        heard: Heard,
    ) -> None:
        self.decider, self.decided, self.older = decider, decided, older
        self.engine, self.options, self.heard = engine, options, heard

    def run(self, source: Source, columns: Columns, folder: str) -> Done:
        staged = self._staged(source, columns, folder)
        plan = joins.rows(columns, self.older is not None, self.options.spreadsheet_safe)
        if not staged.parts:
            staged = staged._replace(parts=[_empty(source, folder)], rows=[0])
        self.engine.records(staged.parts)
        self._looked_up(columns, folder)
        bigger = os.path.join(folder, "tables", "bigger.parquet")
        if joins.bigger(columns) and not os.path.exists(bigger):
            staging.write(self.engine.ask(joins.bigger(columns)), bigger)
        rows_folder = os.path.join(folder, "rows")
        os.makedirs(rows_folder, exist_ok=True)
        kind = kind_of(self.options, source)
        rows = self.engine.write(
            plan, staged.parts, rows_folder, kind, lambda n, of: self.heard("settling", n, of)
        )
        return Done(source, columns, staged, plan, folder, rows)

    def _staged(self, source: Source, columns: Columns, folder: str) -> Staged:
        mark = os.path.join(folder, "staged.json")
        kept = load(mark)
        if kept is not None:
            rejects = [Reject(*r) for r in kept["rejects"]]
            return Staged(kept["parts"], kept["rows"], rejects, kept["sha256"], kept["careful"])
        shutil.rmtree(folder, ignore_errors=True)
        parts = os.path.join(folder, "parts")
        os.makedirs(parts)
        heard = lambda n, of: self.heard("reading", n, of)  # noqa: E731
        staged = staging.stage(source, columns, parts, heard, self.options.most_rows)
        save(mark, staged._asdict())
        return staged

    def _looked_up(self, columns: Columns, folder: str) -> None:
        tables = os.path.join(folder, "tables")
        mark = os.path.join(tables, "done.json")

        def put(name: str, _: Any) -> None:
            self.engine.put(name, os.path.join(tables, f"{name}.parquet"))

        if load(mark) is None:
            os.makedirs(tables, exist_ok=True)
            parts = os.path.join(folder, "parts")
            book = Lookups(
                self.decider, columns, self.decided, self.older, parts, tables, self.options.coast
            )
            book.build(self.engine.ask, put, lambda n, of: self.heard("deciding", n, of))
            save(mark, {"tables": list(PUT)})
            return
        for name in PUT:
            put(name, None)


def kind_of(options: Options, source: Source) -> str:
    """What the rows are written as: as asked; else Parquet for Parquet and CSV for the rest."""
    if options.to in ("csv", "parquet"):
        return options.to
    return "parquet" if source.kind == "parquet" or options.to == "dwca" else "csv"


def _empty(source: Source, folder: str) -> str:
    import pyarrow as pa

    names = [staging.column(i) for i in range(len(source.headings))]
    path = os.path.join(folder, "parts", "none.parquet")
    columns = {n: pa.array([], pa.string()) for n in names}
    columns |= {n: pa.array([], pa.int32()) for n in NUMBERS}
    staging.write(pa.table(columns), path)
    return path


# ---- small files -------------------------------------------------------------------------------


def load(path: str) -> Any:
    """A JSON file's content; None where it is not there or not whole."""
    try:
        with open(path, encoding="utf-8") as file:
            return json.load(file)
    except (OSError, ValueError):
        return None


def save(path: str, content: Any) -> None:
    """Write JSON beside its place, flush it, and rename it there."""
    with placed(path) as file:
        json.dump(content, file, ensure_ascii=False, indent=1)


@contextmanager
def placed(path: str) -> Iterator[Any]:
    """A text file that appears under its name only when it is whole."""
    with open(path + ".part", "w", encoding="utf-8", newline="") as file:
        yield file
        file.flush()
        os.fsync(file.fileno())
    os.replace(path + ".part", path)


def write_csv(path: str, headings: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """A CSV file, whole or not at all."""
    with placed(path) as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(headings)
        writer.writerows(rows)


def fail(what: str, where: str) -> OpercleError:
    """The error of a count that does not add up."""
    return OpercleError(what, where, "Nothing was put in place; please report this.")
