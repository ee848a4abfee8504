"""Opens whatever a steward has: delimited text, gzip, Excel, Parquet, Darwin Core archives.

Knows: how to tell the kinds apart by their content, encodings, delimiters, headings.
Refuses to know: fishes, and how the rows are settled.
"""

import csv
import gzip
import io
import os
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO, Any, NamedTuple

from opercle.errors import FileError, UsageError
from opercle.records.framing import Form, Recoded

_SAMPLE = 1 << 20
_DELIMITERS = {",": "comma", "\t": "tab", ";": "semicolon", "|": "bar"}
_BOMS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))


class Source(NamedTuple):
    """One input: where it is, of what kind (text, parquet, excel, archive), and how it is read.

    ``headings`` are as written; ``skip`` is how many bytes of UTF-8 stand before the first row,
    ``line`` the number of the line on which it begins. ``member`` names the file in an archive,
    or the sheet of a workbook.
    """

    path: str
    kind: str
    headings: tuple[str, ...]
    form: Form | None = None
    skip: int = 0
    line: int = 1
    member: str = ""
    notes: tuple[str, ...] = ()

    @property
    def stem(self) -> str:
        """The file's name without its endings."""
        name = os.path.basename(self.path.rstrip("/"))
        for end in (".gz", ".csv", ".tsv", ".txt", ".tab", ".parquet", ".xlsx", ".xlsm", ".zip"):
            if name.lower().endswith(end) and len(name) > len(end):
                name = name[: -len(end)]
        return name


def opened(
    path: str,
    encoding: str | None = None,
    delimiter: str | None = None,
    sheet: str | None = None,
) -> Source:
    """Look into a file and tell what it is. FileError where it cannot be read."""
    if os.path.isdir(path) and any(n.endswith(".parquet") for n in os.listdir(path)):
        return _parquet(path)
    if os.path.isdir(path):
        raise FileError("This is a folder, not a file of records.", path, "Name the files in it.")
    head = _head(path)
    if not head:
        raise FileError("The file is empty.", path, "A file of records begins with its headings.")
    if head[:4] == b"PAR1":
        return _parquet(path)
    if head[:4] == b"PK\x03\x04":
        return _zipped(path, sheet)
    if head[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise FileError(
            "This is an Excel file of the old kind (.xls).", path, "Save it as .xlsx or .csv."
        )
    return text(path, encoding, delimiter)


def _head(path: str, size: int = 8) -> bytes:
    try:
        with open(path, "rb") as file:
            return file.read(size)
    except OSError as error:
        raise FileError(f"The file cannot be read: {error.strerror}.", path) from None


# ---- delimited text ----------------------------------------------------------------------------


def text(
    path: str, encoding: str | None = None, delimiter: str | None = None, member: str = ""
) -> Source:
    """A delimited text with a heading line, gzipped or not, or the member of a zip."""
    with _raw(path, member) as stream, damage(path):
        sample = stream.read(_SAMPLE)
    if not sample.strip():
        raise FileError("The file is empty.", path, "A file of records begins with its headings.")
    found = encoding or _encoding(sample)
    notes = []
    if found == "?":
        found = "cp1252" if _all_latin(path, member) else "utf-8"
    if found not in ("utf-8", "utf-8-sig"):
        notes.append(f"read as {'Windows-1252' if found == 'cp1252' else found}")
    form = Form(delimiter or ",", '"', found)
    with bytes_of(path, form, member) as stream, damage(path):
        start = stream.read(_SAMPLE)
    if delimiter is None:
        form = form._replace(delimiter=_delimiter(start, path))
    headings, skip, line = _headings(start, form, path)
    if form.delimiter != ",":
        notes.append(f"delimited by {_DELIMITERS.get(form.delimiter, form.delimiter)}")
    return Source(path, "text", headings, form, skip, line, member, tuple(notes))


@contextmanager
def _raw(path: str, member: str = "") -> Iterator[IO[bytes]]:
    """The bytes, unpacked."""
    import zipfile

    try:
        if member:
            with zipfile.ZipFile(path) as pack, pack.open(member) as stream:
                yield stream
            return
        opener: Any = gzip.open if _head(path, 2) == b"\x1f\x8b" else open
        with opener(path, "rb") as stream:
            yield stream
    except OSError as error:
        if isinstance(error, gzip.BadGzipFile):
            raise
        raise FileError(f"The file cannot be read: {error.strerror}.", path) from None


@contextmanager
def damage(path: str) -> Iterator[None]:
    """Turn what a damaged packing raises into one clear error."""
    import zipfile

    try:
        yield
    except EOFError:
        raise FileError(
            "The file is cut short: its packing (gzip) does not end.",
            path,
            "Fetch or copy it again; nothing was written.",
        ) from None
    except (gzip.BadGzipFile, zlib.error, zipfile.BadZipFile) as error:
        raise FileError(
            f"The file's packing is damaged: {error}.",
            path,
            "Fetch or copy it again; nothing was written.",
        ) from None
    except LookupError as error:
        raise UsageError(str(error), "--encoding", "Use a name such as utf-8 or cp1252.") from None


@contextmanager
def bytes_of(path: str, form: Form, member: str = "") -> Iterator[Any]:
    """The text as UTF-8 bytes with ``\\n`` somewhere in every line end, no byte order mark."""
    with _raw(path, member) as stream, damage(path):
        inner: Any = stream
        if form.encoding == "utf-8-sig":
            stream.read(3)
        elif form.encoding != "utf-8":
            inner = Recoded(stream, form.encoding)
        yield _LineEnds(inner)


class _LineEnds:
    """Turns lone carriage returns into line ends where a text has no others."""

    def __init__(self, stream: Any) -> None:
        self.stream = stream
        self.old: bool | None = None

    def read(self, size: int) -> bytes:
        """Up to about ``size`` bytes."""
        chunk: bytes = self.stream.read(size)
        if self.old is None:
            self.old = b"\r" in chunk and b"\n" not in chunk
        return chunk.replace(b"\r", b"\n") if self.old else chunk


def _encoding(sample: bytes) -> str:
    for mark, name in _BOMS:
        if sample.startswith(mark):
            return name
    even, odd = sample[:4096:2].count(0), sample[1:4096:2].count(0)
    half = min(len(sample), 4096) // 2
    if half and odd > half * 0.6 and even < half * 0.2:
        return "utf-16-le"
    if half and even > half * 0.6 and odd < half * 0.2:
        return "utf-16-be"
    return "?"


def _all_latin(path: str, member: str) -> bool:
    """True if bytes beyond ASCII occur and no line that has some is valid UTF-8."""
    valid = invalid = False
    with _raw(path, member) as stream, damage(path):
        rest = b""
        while chunk := stream.read(8 << 20):
            body, _, rest = (rest + chunk).rpartition(b"\n")
            if not body.isascii():
                good, bad = _judged(body)
                valid, invalid = valid or good, invalid or bad
            if valid:
                return False
        good, bad = _judged(rest)
    return (invalid or bad) and not (valid or good)


def _judged(body: bytes) -> tuple[bool, bool]:
    good = bad = False
    for line in body.split(b"\n"):
        if not line.isascii():
            try:
                line.decode("utf-8")
                good = True
            except UnicodeDecodeError:
                bad = True
    return good, bad


def _delimiter(start: bytes, path: str) -> str:
    if path.lower().removesuffix(".gz").endswith((".tsv", ".tab")):
        return "\t"
    lines = start.decode("utf-8", "replace").splitlines()[:20]
    if not lines:
        return ","
    bare = [_unquoted(line) for line in lines]
    counts = {d: bare[0].count(d) for d in _DELIMITERS}
    steady = {d: sum(b.count(d) == n for b in bare) for d, n in counts.items() if n}
    return max(steady, key=lambda d: (steady[d], counts[d])) if steady else ","


def _unquoted(line: str) -> str:
    return "".join(line.split('"')[::2])


def quoting(form: Form) -> dict[str, Any]:
    """The csv module's words for how a form quotes."""
    if form.quote:
        return {"quotechar": form.quote}
    return {"quoting": csv.QUOTE_NONE}


def _headings(start: bytes, form: Form, path: str) -> tuple[tuple[str, ...], int, int]:
    """The headings, how many bytes they take with line ends before them, and the next line."""
    size = len(start)
    start = start.lstrip(b"\r\n")
    before = size - len(start)
    body = io.StringIO(start.decode("utf-8", "surrogateescape"), newline="")
    csv.field_size_limit(1 << 28)
    lines: list[str] = []

    def heard() -> Iterator[str]:
        for line in body:
            lines.append(line)
            yield line

    reader = csv.reader(heard(), delimiter=form.delimiter, **quoting(form))
    try:
        found = tuple(next(reader))
    except (csv.Error, StopIteration) as error:
        raise FileError(f"The headings cannot be read: {error}.", f"{path}, line 1") from None
    if len(lines) > 20 or any("\0" in h for h in found):
        raise FileError(
            "The headings cannot be read: a quote is not closed, or the file is no text.",
            f"{path}, line 1",
            "Check the first line, or say the encoding with --encoding.",
        )
    used = len("".join(lines).encode("utf-8", "surrogateescape"))
    skipped = start[:used].count(b"\n") + (size - len(start))
    found = tuple(h.encode("utf-8", "surrogateescape").decode("utf-8", "replace") for h in found)
    return found, before + used, 1 + skipped


# ---- other kinds -------------------------------------------------------------------------------


def _parquet(path: str) -> Source:
    from pyarrow import ArrowException
    from pyarrow import dataset as datasets

    try:
        found = datasets.dataset(path, format="parquet")
    except (ArrowException, OSError) as error:
        raise FileError(
            f"The Parquet cannot be read: {str(error).splitlines()[0]}", path, "Write it again."
        ) from None
    return Source(path, "parquet", tuple(found.schema.names))


def _zipped(path: str, sheet: str | None) -> Source:
    import zipfile

    with damage(path):
        with zipfile.ZipFile(path) as pack:
            names = pack.namelist()
        if "[Content_Types].xml" in names:
            from opercle.records import workbook

            return workbook.opened(path, sheet)
        if any(n.rsplit("/", 1)[-1] == "meta.xml" for n in names):
            from opercle.records import dwca

            return dwca.opened(path)
        tables = [n for n in names if n.lower().endswith((".csv", ".tsv", ".txt", ".tab"))]
        if len(tables) == 1:
            return text(path, None, None, tables[0])
    raise FileError(
        "The zip is no workbook, no Darwin Core archive and not a single table.",
        path,
        "Unpack it and name the table.",
    )
