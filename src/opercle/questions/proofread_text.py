"""A text to be proofread: its characters, its markup, its sentences.

Knows: plain text, Markdown and SubRip; what of them is prose; where each character stands. What
is no prose (code, addresses, tags, time codes) becomes spaces, so that places never shift.
Refuses to know: fishes, names, faults. A file that is empty, binary or unreadable is an error.
"""

import os
import re
from bisect import bisect_right
from functools import cached_property

from opercle.errors import FileError

TEXT, MARKDOWN, SUBRIP = "text", "markdown", "subrip"
_FORMS = {".md": MARKDOWN, ".markdown": MARKDOWN, ".srt": SUBRIP, ".vtt": SUBRIP}
_TIME = r"\d{1,2}:\d\d(?::\d\d)?[.,]\d{1,3}"
_NUMBER = r"(?:[\w-]{1,20}[ \t]{0,20}\n)?"
_CUE = re.compile(rf"(?:\n|\A)\s{{0,40}}{_NUMBER}[ \t]{{0,20}}{_TIME}[ \t]{{0,20}}-->[^\n]*\n")
_TAG = re.compile(r"</?[A-Za-z][^<>\n]{0,300}>")
_NO_PROSE = re.compile(
    r"""\A---[ \t]*\n.{0,5000}?\n---[ \t]*\n              # front matter
    | ^[ ]{0,3}(```|~~~)[^\n]*\n.*?(?:^[ ]{0,3}\1[^\n]*$|\Z)   # a fenced block of code
    | <!--.*?-->
    | `[^`\n]{1,300}`
    | \]\([^()\s]{0,500}(?:\s+"[^"\n]{0,200}")?\)            # the address of a link
    | ^[ ]{0,3}\[[^\]\n]{1,200}\]:[^\n]*$                    # a reference of links
    """,
    re.M | re.S | re.X,
)
_ADDRESS = re.compile(r"(?:https?://|www\.)[^\s<>]{1,500}|\b[\w.+-]{1,64}@[\w-]{1,64}\.[\w.]{1,64}")
_ITALIC = re.compile(
    r"(?<![*\\])\*(?![*\s])((?:[^*\n]|\n(?!\s*\n)){1,200}?)(?<!\s)\*(?!\*)"
    r"|(?<![\w\\])_(?![_\s])((?:[^_\n]|\n(?!\s*\n)){1,200}?)(?<!\s)_(?!\w)"
    r"|(?<!\*)\*\*\*(?!\s)([^*\n]{1,200}?)\*\*\*(?!\*)"
    r"|<(?:i|em)>([^<]{1,200})</(?:i|em)>",
    re.I,
)
_HEADING = re.compile(r"^[ ]{0,3}#{1,6}[ \t][^\n]*$|^[^\n]+\n(?==+[ \t]*$)", re.M)
_BREAK = re.compile(
    r"""[.!?](?<!\b[A-Z]\.)(?<!\bSt\.)(?<!\bMt\.)(?<!\bcf\.)(?<!\bsp\.)(?<!\bal\.)
        ["”’)*_]{0,4}\s+(?=["“*_(]{0,3}[A-Z0-9])
    | \n[ \t]*\n | \n(?=[ \t]*(?:[-*+#>]|\d{1,3}[.)])[ \t]) | \|""",
    re.X,
)


def word_set(words: str) -> frozenset[str]:
    """Words written one after another, as a set."""
    return frozenset(words.split())


def read(path: str) -> tuple[str, str]:
    """The text of a file and its encoding. Raises FileError for what is no text."""
    try:
        if os.path.isdir(path):
            raise IsADirectoryError(21, "it is a folder")
        with open(path, "rb") as file:
            data = file.read()
    except OSError as error:
        raise FileError(
            f"The file cannot be read: {error.strerror}.", path, "Name a text file."
        ) from None
    text, encoding = _decoded(data, path)
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        raise FileError("The file is empty: there is nothing to proofread.", path, "Write in it.")
    return text, encoding


def _decoded(data: bytes, path: str) -> tuple[str, str]:
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    tries = ["utf-16"] if wide else ["utf-8-sig", "cp1252"]
    for encoding in tries:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        bad = sum(text.count(chr(c)) for c in range(32) if chr(c) not in "\t\n\r\f\v")
        if not bad:
            return text, encoding.removesuffix("-sig")
    raise FileError(
        "The file is not text: it holds bytes that no text holds.",
        path,
        "Give plain text, Markdown or SubRip, saved as UTF-8.",
    )


def form_of(path: str, text: str) -> str:
    """Plain text, Markdown or SubRip: by the file's ending, or by the first time code."""
    form = _FORMS.get(os.path.splitext(path)[1].lower())
    if form is None:
        form = SUBRIP if _CUE.match(text.lstrip("\ufeff")[:300]) else TEXT
    return form


class Page:
    """A text with its prose: ``plain`` is as long as ``text`` and has only what is prose."""

    def __init__(self, text: str, form: str) -> None:
        self.text = text
        self.form = form
        self.plain = _prose(text, form)

    @cached_property
    def _lines(self) -> list[int]:
        return [0, *(m.end() for m in re.finditer("\n", self.text))]

    def place(self, at: int) -> tuple[int, int]:
        """Line and column of a character, both from 1."""
        line = bisect_right(self._lines, at)
        return line, at - self._lines[line - 1] + 1

    @cached_property
    def low(self) -> str:
        """The prose in small letters, each letter where it was."""
        small = self.plain.lower()
        if len(small) == len(self.plain):
            return small
        return "".join(c if len(c.lower()) != 1 else c.lower() for c in self.plain)

    @cached_property
    def italics(self) -> list[tuple[int, int]]:
        """Where the text is in italics; plain text has none."""
        if self.form == TEXT:
            return []
        return [m.span() for m in _ITALIC.finditer(self.text)]

    @cached_property
    def headings(self) -> list[tuple[int, int]]:
        """Where the headings are (Markdown)."""
        if self.form != MARKDOWN:
            return []
        return [m.span() for m in _HEADING.finditer(self.text)]

    def within(self, spans: list[tuple[int, int]], start: int, end: int) -> bool:
        """True if the piece lies inside one of the spans."""
        at = bisect_right(spans, (start, len(self.text))) - 1
        return at >= 0 and spans[at][0] <= start and end <= spans[at][1]

    def sentences(self, start: int, end: int) -> list[int]:
        """Where the sentences of a stretch begin, and its end."""
        found = [m.end() for m in _BREAK.finditer(self.plain, start, end)]
        found += [e for _, e in self.headings if start < e < end]
        return sorted({start, *found, end})

    def stretches(self, most: int) -> list[tuple[int, int]]:
        """The text in pieces of about ``most`` characters, cut between paragraphs or words."""
        pieces, start, size = [], 0, len(self.text)
        while size - start > most:
            end = max(self.plain.rfind("\n\n", start + most // 2, start + most), 0)
            end = end or max(self.plain.rfind(". ", start + most // 2, start + most) + 1, 0)
            end = end or max(self.plain.rfind(" ", start + most // 2, start + most), 0)
            end = end or start + most
            pieces.append((start, end))
            start = end
        return [*pieces, (start, size)]


def _prose(text: str, form: str) -> str:
    plain = text
    if form == SUBRIP:
        plain = _CUE.sub(lambda m: " " * len(m[0]), plain)
    if form == MARKDOWN:
        plain = _NO_PROSE.sub(_blank, plain)
    if "<" in plain:
        plain = _TAG.sub(_blank, plain)
    return (
        _ADDRESS.sub(_blank, plain) if "://" in plain or "@" in plain or "www." in plain else plain
    )


def _blank(match: re.Match[str]) -> str:
    return re.sub(r"[^\n]", " ", match[0])
