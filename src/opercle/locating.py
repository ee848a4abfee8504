"""Finds the line of a Turtle file on which a subject's statements begin.

Knows: how a subject looks at the start of a statement, and prefixes.
Refuses to know: what is said of it. It is no parser: what it cannot place it leaves unplaced.
"""

import re
from collections.abc import Iterator, Mapping

_PREFIX = re.compile(r"^\s*@?prefix\s+([\w-]*):\s*<([^>]*)>", re.I | re.M)
_NAME = r"(<[^>\s]*>|[\w-]*:[^\s;,]*)(?=[\s\[<]|$)"
_STARTS = (re.compile(r"^[ \t]*" + _NAME, re.M), re.compile(r"\.[ \t]+" + _NAME))
Places = dict[str, tuple[str, int]]


def places(paths: Mapping[str, str], wanted: set[str]) -> Places:
    """Address of each wanted subject to the file and line that first begin, or else hold, it."""
    if not wanted:
        return {}
    texts = {name: _text(path) for name, path in paths.items()}
    made: Places = {}
    for start in _STARTS:
        for name, text in texts.items():
            for subject, line in _subjects(text, start):
                made.setdefault(subject, (name, line))
        if wanted <= made.keys():
            break
    return made


def _text(path: str) -> str:
    with open(path, encoding="utf-8", errors="replace") as file:
        return file.read()


def _subjects(text: str, start: re.Pattern[str]) -> Iterator[tuple[str, int]]:
    """The names that may stand at the start of a statement, with their lines."""
    bases = dict(_PREFIX.findall(text))
    line, seen = 1, 0
    for found in start.finditer(text):
        if found[0][0].isspace() and not _ended(text, found.start()):
            continue
        line += text.count("\n", seen, found.start(1))
        seen = found.start(1)
        yield _address(found[1], bases), line


def _ended(text: str, end: int) -> bool:
    """True if the last thing said before ``end``, comments left out, is a full stop."""
    while end > 0:
        begin = text.rfind("\n", 0, end - 1) + 1
        said = text[begin:end].strip()
        if said and not said.startswith("#"):
            return said.endswith(".")
        end = begin
    return True


def _address(name: str, bases: dict[str, str]) -> str:
    if name.startswith("<"):
        return name[1:-1]
    prefix, _, local = name.partition(":")
    return bases.get(prefix, prefix + ":") + re.sub(r"\\(.)", r"\1", local)
