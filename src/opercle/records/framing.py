"""Cuts a delimited text into whole records, and says why a line is not one.

Knows: quotes, line ends, character encodings, damage; where each record begins.
Refuses to know: what the fields mean.

Two ways. The quick way cuts big blocks at line ends and trusts nothing: whoever parses a block
must find as many rows as lines, else ``Careful`` is raised and the file is read the careful way,
record by record, by the grammar of RFC 4180.
"""

import codecs
import re
from collections.abc import Iterator
from typing import IO, NamedTuple

from opercle.errors import FileError

BLOCK = 32 << 20
LONGEST_RECORD = 16 << 20
LONGEST_LINE = 256 << 20
MOST_LINES_IN_QUOTES = 200
_MOST_BYTES_IN_QUOTES = 1 << 20


class Careful(Exception):
    """The quick way cannot be trusted with this file."""


class Form(NamedTuple):
    """How a text is laid out: delimiter, quote (empty where there is none) and encoding."""

    delimiter: str
    quote: str
    encoding: str


class Reject(NamedTuple):
    """A row that cannot be read: the line it begins on, why, and the row whole."""

    line: int
    reason: str
    row: str


class Block(NamedTuple):
    """Whole records as UTF-8, the line each begins on (None: one a line), and what was refused."""

    first_line: int
    body: bytes
    lines: list[int] | None
    rejects: list[Reject]


def grammar(form: Form) -> tuple[re.Pattern[bytes], re.Pattern[bytes], re.Pattern[bytes]]:
    """Patterns of a whole record, of the end of a quoted field, and of the rest of a record."""
    d, q = re.escape(form.delimiter.encode()), re.escape(form.quote.encode() or b"\x00")
    field = rb"(?:%b(?:[^%b]|%b%b)*+%b[^%b]*+|[^%b%b][^%b]*+|)" % (q, q, q, q, q, d, q, d, d)
    record = re.compile(rb"%b(?:%b%b)*+\Z" % (field, d, field))
    ends = re.compile(rb"(?:[^%b]|%b%b)*+%b(?!%b)" % (q, q, q, q, q))
    rest = re.compile(rb"(?:%b%b)*+\Z" % (d, field))
    return record, ends, rest


def told(row: bytes) -> str:
    """A refused row as text: UTF-8, or where it is not, each byte as the Latin-1 letter."""
    try:
        return row.decode("utf-8")
    except UnicodeDecodeError:
        return row.decode("latin-1")


def quick(stream: IO[bytes], form: Form, line: int) -> Iterator[Block]:
    """Blocks cut at the last line end outside quotes. Raises Careful."""
    quote = form.quote.encode()
    rest = b""
    while True:
        chunk = stream.read(BLOCK)
        body = rest + chunk
        if not chunk:
            break
        cut = _cut(body, quote)
        if cut <= 0:
            if len(body) > LONGEST_RECORD:
                raise Careful
            rest = body
            continue
        rest, body = body[cut:], body[:cut]
        if len(rest) > LONGEST_RECORD:
            raise Careful
        _sound(body)
        yield Block(line, body, None, [])
        line += body.count(b"\n")
    body = rest.rstrip(b"\r\n")
    if body:
        _sound(body)
        yield Block(line, body + b"\n", None, [])


def _cut(body: bytes, quote: bytes) -> int:
    cut = body.rfind(b"\n") + 1
    if not quote or quote not in body:
        return cut
    odd = body.count(quote, 0, cut) & 1
    while cut > 0 and odd:
        before = body.rfind(b"\n", 0, cut - 1) + 1
        odd ^= body.count(quote, before, cut) & 1
        cut = before
    return cut


def _sound(body: bytes) -> None:
    if b"\0" in body:
        raise Careful
    if not body.isascii():
        try:
            body.decode("utf-8")
        except UnicodeDecodeError:
            raise Careful from None


def careful(stream: IO[bytes], form: Form, line: int) -> Iterator[Block]:
    """Blocks of whole records, each checked; nothing is dropped but blank lines."""
    reader = _Reader(form, line)
    for number, text in _lines(stream, line):
        reader.take(number, text)
        if reader.size > BLOCK:
            yield reader.block()
    reader.finish()
    if reader.size or reader.rejects:
        yield reader.block()


def _lines(stream: IO[bytes], number: int) -> Iterator[tuple[int, bytes]]:
    rest: list[bytes] = []
    held = 0
    while chunk := stream.read(4 << 20):
        parts = chunk.split(b"\n")
        if len(parts) == 1:
            rest.append(chunk)
            held += len(chunk)
            if held > LONGEST_LINE:
                raise FileError(
                    f"Line {number} is longer than {LONGEST_LINE >> 20} MB.",
                    f"line {number}",
                    "Such a file is not a table of rows; check what wrote it.",
                )
            continue
        parts[0] = b"".join([*rest, parts[0]])
        rest, held = [parts[-1]], len(parts[-1])
        for part in parts[:-1]:
            yield number, part
            number += 1
    last = b"".join(rest)
    if last:
        yield number, last


class _Reader:
    """Gathers lines into records."""

    def __init__(self, form: Form, line: int) -> None:
        self.record, self.ends, self.rest = grammar(form)
        self.quote = form.quote.encode()
        self.records: list[bytes] = []
        self.lines: list[int] = []
        self.rejects: list[Reject] = []
        self.size = 0
        self.open: list[tuple[int, bytes]] = []
        self.held = 0

    def block(self) -> Block:
        body = b"\n".join(self.records) + b"\n" if self.records else b""
        made = Block(self.lines[0] if self.lines else 0, body, self.lines, self.rejects)
        self.records, self.lines, self.rejects, self.size = [], [], [], 0
        return made

    def take(self, number: int, text: bytes) -> None:
        raw, text = text, text.removesuffix(b"\r")
        if self.open:
            self._go_on(number, raw, text)
        elif not self.quote or self.quote not in text or self.record.match(text):
            self._keep(number, text)
        else:
            self.open, self.held = [(number, raw)], len(raw)

    def _go_on(self, number: int, raw: bytes, text: bytes) -> None:
        self.open.append((number, raw))
        self.held += len(text)
        found = self.ends.match(text)
        if found and not self.rest.match(text, found.end()):
            # what closes here is followed by more text: it opens another field, and the first
            # quote was never closed
            self._give_up()
        elif found:
            whole = b"\n".join([*(t for _, t in self.open[:-1]), text])
            first = self.open[0][0]
            self.open = []
            self._keep(first, whole)
        elif len(self.open) > MOST_LINES_IN_QUOTES or self.held > _MOST_BYTES_IN_QUOTES:
            self._give_up()

    def _give_up(self) -> None:
        (number, text), *others = self.open
        self.open = []
        self._refuse(number, "a quote opens here and is not closed", text.removesuffix(b"\r"))
        for after, line in others:
            self.take(after, line)

    def _keep(self, number: int, row: bytes) -> None:
        if not row:
            return
        if len(row) > LONGEST_RECORD:
            self._refuse(number, f"the row is {len(row)} bytes long", row)
        elif b"\0" in row:
            self._refuse(number, "the row holds a NUL byte", row)
        elif not _is_utf8(row):
            self._refuse(number, "the row is not UTF-8 (shown here byte for byte as Latin-1)", row)
        else:
            self.records.append(row)
            self.lines.append(number)
            self.size += len(row) + 1

    def _refuse(self, number: int, reason: str, row: bytes) -> None:
        self.rejects.append(Reject(number, reason, told(row)))

    def finish(self) -> None:
        while self.open:
            self._give_up()


def _is_utf8(row: bytes) -> bool:
    if row.isascii():
        return True
    try:
        row.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


class Recoded:
    """A stream read in another encoding and given out as UTF-8."""

    def __init__(self, stream: IO[bytes], encoding: str) -> None:
        self.stream = stream
        errors = "opercle-latin" if encoding == "cp1252" else "strict"
        self.decoder = codecs.getincrementaldecoder(encoding)(errors)
        self.encoding = encoding

    def read(self, size: int) -> bytes:
        """Up to about ``size`` bytes as UTF-8; empty at the end. FileError where it is damaged."""
        while True:
            raw = self.stream.read(size)
            try:
                text = self.decoder.decode(raw, final=not raw)
            except UnicodeDecodeError as error:
                raise FileError(
                    f"The file is not {self.encoding} throughout: {error.reason}.",
                    f"byte {error.start} of a block",
                    "Say its encoding with --encoding.",
                ) from None
            if text or not raw:
                return text.encode("utf-8")


def _as_latin(error: UnicodeError) -> tuple[str, int]:
    assert isinstance(error, UnicodeDecodeError)
    return error.object[error.start : error.end].decode("latin-1"), error.end


codecs.register_error("opercle-latin", _as_latin)
