"""Darwin Core archives in: the core table of the zip, as its ``meta.xml`` describes it.

Knows: the Darwin Core text guidelines (Biodiversity Information Standards, 2009-2021).
Refuses to know: extensions; their rows are not records of fishes, and a note says so.
"""

import zipfile
from typing import Any
from xml.etree import ElementTree

from opercle.errors import FileError
from opercle.records.framing import Form
from opercle.records.sources import Source, quoting

_SPACE = "{http://rs.tdwg.org/dwc/text/}"
_MARKS = {"\\t": "\t", "\\n": "\n", "\\r": "\r", "\\r\\n": "\r\n"}
_LARGEST = 1 << 20


def opened(path: str) -> Source:
    """The core of an archive as a source. FileError where the archive does not hold together."""
    with zipfile.ZipFile(path) as pack:
        names = pack.namelist()
        meta = next(n for n in names if n.rsplit("/", 1)[-1] == "meta.xml")
        if pack.getinfo(meta).file_size > _LARGEST:
            raise FileError("meta.xml is far too large.", path)
        core, extensions = _core(pack.read(meta), path)
        member = _member(core, meta, names, path)
        form, header = _form(core)
        with pack.open(member) as stream:
            first = b"".join(stream.readline() for _ in range(header))
            width = _width(stream.readline(), form)
    headings, notes = _headings(core, width)
    if extensions:
        notes.append(f"{extensions} extension(s) of the archive left aside")
    skip = len(first.removeprefix(b"\xef\xbb\xbf"))
    return Source(path, "text", headings, form, skip, 1 + header, member, tuple(notes))


def _core(content: bytes, path: str) -> tuple[Any, int]:
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        raise FileError("meta.xml declares a document type, which is not read.", path)
    try:
        root = ElementTree.fromstring(content)
    except ElementTree.ParseError as error:
        raise FileError(f"meta.xml is malformed: {error}.", path) from None
    core = root.find(f"{_SPACE}core")
    if core is None:
        raise FileError("meta.xml names no core.", path, "Write the archive again.")
    return core, len(root.findall(f"{_SPACE}extension"))


def _member(core: Any, meta: str, names: list[str], path: str) -> str:
    place = core.findtext(f"{_SPACE}files/{_SPACE}location") or ""
    member = meta.removesuffix("meta.xml") + place
    if member not in names:
        raise FileError(f"The archive lacks its core file “{place}”.", path, "Write it again.")
    return member


def _form(core: Any) -> tuple[Form, int]:
    delimiter = core.get("fieldsTerminatedBy", ",")
    quote = core.get("fieldsEnclosedBy", '"')
    encoding = core.get("encoding", "UTF-8").lower()
    header = int(core.get("ignoreHeaderLines") or 0)
    encoding = "utf-8" if encoding in ("utf-8", "utf8") else encoding
    return Form(_MARKS.get(delimiter, delimiter), quote, encoding), header


def _width(line: bytes, form: Form) -> int:
    import csv
    import io

    text = line.decode("utf-8", "replace")
    reader = csv.reader(io.StringIO(text), delimiter=form.delimiter, **quoting(form))
    return len(next(reader, []))


def _headings(core: Any, width: int) -> tuple[tuple[str, ...], list[str]]:
    named: dict[int, str] = {}
    notes = []
    key = core.find(f"{_SPACE}id")
    if key is not None:
        named[int(key.get("index"))] = "id"
    for field in core.findall(f"{_SPACE}field"):
        term = field.get("term", "").rsplit("/", 1)[-1]
        if field.get("index") is None:
            notes.append(f"every row has {term} “{field.get('default')}”")
        elif named.get(int(field.get("index")), "id") == "id":
            named[int(field.get("index"))] = term
    most = max([width, *(i + 1 for i in named)])
    return tuple(named.get(i, f"column_{i + 1}") for i in range(most)), notes
