"""Puts the rows of any source into Parquet parts, and what cannot be read among the rejects.

Knows: parts, counts that are taken twice independently, and writing so that a kill leaves nothing
half done under a final name.
Refuses to know: what the columns mean.
"""

import hashlib
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any, NamedTuple

from opercle.errors import FileError, OpercleError
from opercle.records import framing, sources
from opercle.records.columns import Columns
from opercle.records.framing import Block, Careful, Reject
from opercle.records.numbering import Numbering
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


def stage(
    source: Source, columns: Columns, folder: str, heard: Heard, most: int | None = None
) -> Staged:
    """Read a source into Parquet parts in ``folder``. FileError where it is damaged.

    Beside the parts go the distinct names and places, by whose numbers the rows are decided.
    ``heard`` is told bytes read and bytes in all. More rows than ``most`` are a FileError too.
    """
    os.makedirs(folder, exist_ok=True)
    with ThreadPoolExecutor(1) as beside:
        hashed = beside.submit(sha256, source.path)
        try:
            staged = _Staging(source, columns, folder, heard, most).run(careful=False)
        except Careful:
            staged = _Staging(source, columns, folder, heard, most).run(careful=True)
        return staged._replace(sha256=hashed.result())


def _few(rows: int, most: int | None, source: Source) -> None:
    if most is not None and rows > most:
        raise FileError(
            f"The file has more than {most:,} rows.",
            source.path,
            "Split it, or settle it with the command on a machine of your own.",
        )


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


class _Staging:
    """One reading of one source into parts."""

    def __init__(
        self, source: Source, columns: Columns, folder: str, heard: Heard, most: int | None
    ) -> None:
        self.source, self.folder, self.heard, self.most = source, folder, heard, most
        self.names = [column(i) for i in range(len(source.headings))]
        self.numbering = Numbering(columns)
        self.keyed = self.numbering.keyed()
        self.parts: list[str] = []
        self.counts: list[int] = []
        self.rejects: list[Reject] = []

    def run(self, careful: bool) -> Staged:
        """Read all; the hash of the input is left to the caller. Raises Careful, FileError."""
        if self.source.kind == "text":
            self._text(careful)
        elif self.source.kind == "excel":
            self._excel()
        else:
            self._parquet()
        self.numbering.save(self.folder, write)
        return Staged(self.parts, self.counts, self.rejects, "", careful)

    def _path(self, number: int) -> str:
        return os.path.join(self.folder, f"part-{number:05d}.parquet")

    def _few(self) -> None:
        _few(sum(self.counts) + len(self.rejects), self.most, self.source)

    # ---- delimited text --------------------------------------------------------------------

    def _text(self, careful: bool) -> None:
        source = self.source
        assert source.form is not None
        frame = framing.careful if careful else framing.quick
        waiting: list[Future[tuple[str, int, list[Reject]]]] = []
        with (
            sources.bytes_of(source.path, source.form, source.member) as inner,
            ThreadPoolExecutor(_WORKERS) as pool,
        ):
            stream: Any = _Counted(
                _past(inner, source.skip), self.heard, os.path.getsize(source.path)
            )
            try:
                for number, block in enumerate(frame(stream, source.form, source.line)):
                    waiting.append(pool.submit(self._part, block, self._path(number)))
                    while len(waiting) > _WORKERS:
                        self._take(waiting.pop(0))
                while waiting:
                    self._take(waiting.pop(0))
            finally:
                for later in waiting:
                    later.cancel()

    def _take(self, made: "Future[tuple[str, int, list[Reject]]]") -> None:
        path, rows, refused = made.result()
        if rows:
            self.parts.append(path)
            self.counts.append(rows)
        self.rejects += refused
        self._few()

    def _part(self, block: Block, path: str) -> tuple[str, int, list[Reject]]:
        """Parse one block and write it; rows and refusals must add up to its records."""
        if not block.body:
            return path, 0, block.rejects
        table, refused = _parsed(block, self.source, self.keyed)
        expected = len(block.lines) if block.lines is not None else block.body.count(b"\n")
        if table.num_rows + len(refused) != expected:
            if block.lines is None:
                raise Careful
            table, refused = _one_by_one(block, self.source)
        if table.num_rows:
            write(self.numbering.numbered(table), path)
        rejects = sorted([*block.rejects, *refused], key=lambda r: r.line)
        return path, table.num_rows, rejects

    # ---- workbooks and Parquet -------------------------------------------------------------

    def _flush(self, table: Any) -> None:
        if table.num_rows:
            path = self._path(len(self.parts))
            write(self.numbering.numbered(table), path)
            self.parts.append(path)
            self.counts.append(table.num_rows)

    def _excel(self) -> None:
        from opercle.records import workbook

        width = len(self.names)
        held: list[list[str | None]] = []
        for number, row in workbook.rows(self.source):
            if any(cell is not None for cell in row[width:]):
                told = "\t".join(cell or "" for cell in row)
                self.rejects.append(Reject(number, ragged(len(row), width), told))
                continue
            held.append((row + [None] * width)[:width])
            if len(held) >= PART_ROWS:
                self._flush(_texts(held, self.names))
                held = []
            _few(sum(self.counts) + len(held) + len(self.rejects), self.most, self.source)
        self._flush(_texts(held, self.names))

    def _parquet(self) -> None:
        import pyarrow as pa
        from pyarrow import dataset as datasets

        source = self.source
        try:
            found = datasets.dataset(source.path, format="parquet")
            total, seen = found.count_rows(), 0
            _few(total, self.most, source)
            held: list[Any] = []
            for batch in found.to_batches(batch_size=65_536):
                held.append(batch)
                seen += batch.num_rows
                self.heard(seen, total)
                if sum(b.num_rows for b in held) >= PART_ROWS or seen == total:
                    self._flush(pa.Table.from_batches(held).rename_columns(self.names))
                    held = []
        except (pa.ArrowException, OSError) as error:
            raise FileError(
                f"The Parquet is damaged: {str(error).splitlines()[0]}",
                source.path,
                "Write it again.",
            ) from None
        if sum(self.counts) != total:
            told = f"{total} rows were promised and {sum(self.counts)} read."
            raise OpercleError(told, source.path)


def _past(inner: Any, skip: int) -> Any:
    """The stream behind its headings."""
    skipped = 0
    while skipped < skip:
        chunk = inner.read(skip - skipped)
        if not chunk:
            break
        skipped += len(chunk)
        if skipped > skip:  # a recoded stream gives what it has
            return _Pushed(inner, chunk[skip - skipped :])
    return inner


def _texts(rows: Sequence[Sequence[str | None]], names: Sequence[str]) -> Any:
    """Rows of text as an Arrow table."""
    import pyarrow as pa

    arrays = [pa.array([r[i] for r in rows], pa.string()) for i in range(len(names))]
    return pa.table(arrays, names=list(names))


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


def _parsed(block: Block, source: Source, keyed: Sequence[int]) -> tuple[Any, list[Reject]]:
    """Rows and refusals; the columns in ``keyed`` repeat themselves and are kept as such."""
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
    kinds = dict.fromkeys(names, pa.string())
    kinds |= {column(i): pa.dictionary(pa.int32(), pa.string()) for i in keyed}
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
                column_types=kinds,
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
    return _texts(kept, [column(i) for i in range(width)]), refused


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
