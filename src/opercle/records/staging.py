"""Puts the rows of any source into Parquet parts, and what cannot be read among the rejects.

Knows: parts, counts that are taken twice independently, and writing so that a kill leaves nothing
half done under a final name.
Refuses to know: what the columns mean.
"""

import hashlib
import os
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any, NamedTuple

from opercle.errors import FileError, OpercleError
from opercle.records import framing, sources
from opercle.records.framing import Block, Careful, Reject
from opercle.records.sources import Source

PART_ROWS = 500_000
_WORKERS = 2

Heard = Callable[[int, int], None]


class Staged(NamedTuple):
    """The parts of one source in order, their rows, the rows refused, and the input's hash."""

    parts: list[str]
    rows: list[int]
    rejects: list[Reject]
    sha256: str
    careful: bool

    @property
    def rows_in(self) -> int:
        """All rows of the input, the refused ones too."""
        return sum(self.rows) + len(self.rejects)


def column(at: int) -> str:
    """The name under which a column is kept while it is worked on."""
    return f"c{at}"


def stage(source: Source, folder: str, heard: Heard) -> Staged:
    """Read a source into Parquet parts in ``folder``. FileError where it is damaged.

    ``heard`` is told bytes read and bytes in all.
    """
    os.makedirs(folder, exist_ok=True)
    if source.kind == "text":
        try:
            return _text(source, folder, heard, careful=False)
        except Careful:
            return _text(source, folder, heard, careful=True)
    if source.kind == "excel":
        return _excel(source, folder)
    return _parquet(source, folder, heard)


# ---- delimited text ----------------------------------------------------------------------------


class _Counted:
    """A stream that tells how far the file under it has been read."""

    def __init__(self, stream: Any, heard: Heard, total: int) -> None:
        self.stream, self.heard, self.total, self.read_so_far = stream, heard, total, 0

    def read(self, size: int) -> bytes:
        chunk: bytes = self.stream.read(size)
        self.read_so_far += len(chunk)
        self.heard(min(self.read_so_far, self.total), self.total)
        return chunk


def _text(source: Source, folder: str, heard: Heard, careful: bool) -> Staged:
    assert source.form is not None
    frame = framing.careful if careful else framing.quick
    size = os.path.getsize(source.path)
    waiting: list[Future[tuple[str, int, list[Reject]]]] = []
    done: list[tuple[str, int, list[Reject]]] = []
    with (
        sources.bytes_of(source.path, source.form, source.member) as inner,
        ThreadPoolExecutor(_WORKERS) as pool,
    ):
        skipped = 0
        while skipped < source.skip:
            chunk = inner.read(source.skip - skipped)
            if not chunk:
                break
            skipped += len(chunk)
            if skipped > source.skip:  # a recoded stream gives what it has
                inner = _Pushed(inner, chunk[source.skip - skipped :])
        stream: Any = _Counted(inner, heard, size)
        try:
            for number, block in enumerate(frame(stream, source.form, source.line)):
                path = os.path.join(folder, f"part-{number:05d}.parquet")
                waiting.append(pool.submit(_part, block, source, path))
                while len(waiting) > _WORKERS:
                    done.append(waiting.pop(0).result())
            done += [w.result() for w in waiting]
        finally:
            for later in waiting:
                later.cancel()
    rejects = [r for _, _, refused in done for r in refused]
    kept = [(p, n) for p, n, _ in done if n]
    return Staged([p for p, _ in kept], [n for _, n in kept], rejects, sha256(source.path), careful)


class _Pushed:
    """A stream with some bytes put back before it."""

    def __init__(self, stream: Any, first: bytes) -> None:
        self.stream, self.first = stream, first

    def read(self, size: int) -> bytes:
        if self.first:
            chunk, self.first = self.first, b""
            return chunk
        chunk = self.stream.read(size)
        return bytes(chunk)


def _part(block: Block, source: Source, path: str) -> tuple[str, int, list[Reject]]:
    """Parse one block and write it; rows and refusals must add up to its records."""
    if not block.body:
        return path, 0, block.rejects
    table, refused = _parsed(block, source)
    expected = len(block.lines) if block.lines is not None else block.body.count(b"\n")
    if table.num_rows + len(refused) != expected:
        if block.lines is None:
            raise Careful
        table, refused = _one_by_one(block, source)
    if table.num_rows:
        write(table, path)
    rejects = sorted([*block.rejects, *refused], key=lambda r: r.line)
    return path, table.num_rows, rejects


def _parsed(block: Block, source: Source) -> tuple[Any, list[Reject]]:
    import pyarrow as pa
    from pyarrow import csv

    assert source.form is not None
    width = len(source.headings)
    refused: list[Reject] = []

    def refuse(row: Any) -> str:
        line = _line(block, row.number)
        refused.append(Reject(line, ragged(row.actual_columns, width), row.text))
        return "skip"

    names = [column(i) for i in range(width)]
    try:
        table = csv.read_csv(
            pa.BufferReader(block.body),
            csv.ReadOptions(column_names=names, use_threads=False, block_size=len(block.body) + 1),
            csv.ParseOptions(
                delimiter=source.form.delimiter,
                quote_char=source.form.quote or False,
                newlines_in_values=True,
                invalid_row_handler=refuse,
            ),
            csv.ConvertOptions(
                column_types=dict.fromkeys(names, pa.string()),
                null_values=[""],
                strings_can_be_null=True,
                quoted_strings_can_be_null=True,
            ),
        )
    except pa.ArrowInvalid:
        if block.lines is None:
            raise Careful from None
        return _one_by_one(block, source)
    return table, refused


def _line(block: Block, number: int | None) -> int:
    at = (number or 1) - 1
    if block.lines is None:
        return block.first_line + at
    return block.lines[min(at, len(block.lines) - 1)]


def ragged(found: int, wanted: int) -> str:
    """Why a row of another width is refused."""
    return f"the row has {found} field{'' if found == 1 else 's'} where the headings have {wanted}"


def _one_by_one(block: Block, source: Source) -> tuple[Any, list[Reject]]:
    """Each record alone, where they cannot be parsed together."""
    import csv
    import io

    import pyarrow as pa

    assert source.form is not None
    assert block.lines is not None
    width = len(source.headings)
    refused: list[Reject] = []
    kept: list[list[str | None]] = []
    bounds = _bounds(block, source)
    for line, raw in zip(block.lines, bounds, strict=True):
        text = raw.decode("utf-8")
        row = next(csv.reader(io.StringIO(text, newline=""), delimiter=source.form.delimiter), [""])
        if len(row) == width:
            kept.append([cell or None for cell in row])
        else:
            refused.append(Reject(line, ragged(len(row), width), text))
    arrays = [pa.array([r[i] for r in kept], pa.string()) for i in range(width)]
    return pa.table(arrays, names=[column(i) for i in range(width)]), refused


def _bounds(block: Block, source: Source) -> Iterator[bytes]:
    """Cut a checked block into its records again."""
    assert source.form is not None
    assert block.lines is not None
    import io

    reader = framing._Reader(source.form, 1)
    for number, text in framing._lines(io.BytesIO(block.body), 1):
        reader.take(number, text)
    reader.finish()
    return iter(reader.records)


# ---- workbooks and Parquet ---------------------------------------------------------------------


def _excel(source: Source, folder: str) -> Staged:
    import pyarrow as pa

    from opercle.records import workbook

    width = len(source.headings)
    rejects: list[Reject] = []
    parts: list[str] = []
    counts: list[int] = []
    held: list[list[str | None]] = []

    def flush() -> None:
        if held:
            arrays = [pa.array([r[i] for r in held], pa.string()) for i in range(width)]
            path = os.path.join(folder, f"part-{len(parts):05d}.parquet")
            write(pa.table(arrays, names=[column(i) for i in range(width)]), path)
            parts.append(path)
            counts.append(len(held))
            held.clear()

    for number, row in workbook.rows(source):
        if any(cell is not None for cell in row[width:]):
            told = "\t".join(cell or "" for cell in row)
            rejects.append(Reject(number, ragged(len(row), width), told))
            continue
        held.append((row + [None] * width)[:width])
        if len(held) >= PART_ROWS:
            flush()
    flush()
    return Staged(parts, counts, rejects, sha256(source.path), False)


def _parquet(source: Source, folder: str, heard: Heard) -> Staged:
    import pyarrow as pa
    from pyarrow import dataset as datasets

    parts: list[str] = []
    counts: list[int] = []
    try:
        found = datasets.dataset(source.path, format="parquet")
        total, seen = found.count_rows(), 0
        names = [column(i) for i in range(len(source.headings))]
        held: list[Any] = []
        size = 0
        for batch in found.to_batches(batch_size=65_536):
            held.append(batch)
            size += batch.num_rows
            seen += batch.num_rows
            heard(seen, total)
            if size >= PART_ROWS or seen == total:
                path = os.path.join(folder, f"part-{len(parts):05d}.parquet")
                if size:
                    write(pa.Table.from_batches(held).rename_columns(names), path)
                    parts.append(path)
                    counts.append(size)
                held, size = [], 0
    except (pa.ArrowException, OSError) as error:
        raise FileError(
            f"The Parquet is damaged: {str(error).splitlines()[0]}", source.path, "Write it again."
        ) from None
    if sum(counts) != total:
        raise OpercleError(f"{total} rows were promised and {sum(counts)} read.", source.path)
    return Staged(parts, counts, [], sha256(source.path), False)


# ---- helpers -----------------------------------------------------------------------------------


def write(table: Any, path: str) -> None:
    """Write a part beside its place and rename it there. FileError where it cannot be written."""
    from pyarrow import parquet

    try:
        parquet.write_table(table, path + ".part", compression="lz4", write_statistics=False)
        os.replace(path + ".part", path)
    except OSError as error:
        raise FileError(
            f"The work folder cannot be written: {error.strerror or error}",
            path,
            "Make room, or choose another folder with -o.",
        ) from None


def sha256(path: str) -> str:
    """The hash of a file's bytes, or of the files in a folder."""
    whole = hashlib.sha256()
    paths = [path]
    if os.path.isdir(path):
        paths = sorted(os.path.join(t, n) for t, _, names in os.walk(path) for n in names)
    for one in paths:
        with open(one, "rb") as file:
            while chunk := file.read(1 << 22):
                whole.update(chunk)
    return whole.hexdigest()
