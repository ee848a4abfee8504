"""One process that answers SPARQL and may be killed at any time.

Knows: how to read a query from standard input, judge it, run it on the read-only store within
limits of memory, size and open files, and write the result in one of the standard forms.
Refuses to know: HTTP, and how long a query may take; the pool that started it ends it.

It is a process of its own because the store cannot be stopped while it works, and because a query
nested deeply enough ends the process that parses it. It imports nothing it does not need.
"""

import json
import os
import re
import struct
import sys
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, BinaryIO

import pyoxigraph as ox

from opercle.terms import BASE, PREFIXES

OK, BAD, LARGE, FULL = "ok", "bad", "large", "full"
_HEAD = struct.Struct(">I")
_ESCAPED = re.compile(r"\\u([0-9A-Fa-f]{4})|\\U([0-9A-Fa-f]{8})")
_TOKENS = re.compile(
    r'(?P<text>"""(?:[^"\\]|\\.|"(?!""))*"""|\'\'\'(?:[^\'\\]|\\.|\'(?!\'\'))*\'\'\''
    r'|"(?:[^"\\\n]|\\.)*"|\'(?:[^\'\\\n]|\\.)*\')'
    r"|(?P<iri><[^<>\"{}|^`\\\s]*>)|(?P<note>\#[^\n]*)|(?P<variable>[?$]\w+)"
    r"|(?P<name>[^\W\d_][\w.-]{0,80}:[\w.:%\\-]*|:[\w.:%\\-]*)|(?P<word>[^\W\d]\w*)",
    re.S,
)
_FORMS = {
    "application/sparql-results+json": ox.QueryResultsFormat.JSON,
    "application/sparql-results+xml": ox.QueryResultsFormat.XML,
    "text/csv": ox.QueryResultsFormat.CSV,
    "text/tab-separated-values": ox.QueryResultsFormat.TSV,
    "text/turtle": ox.RdfFormat.TURTLE,
    "application/n-triples": ox.RdfFormat.N_TRIPLES,
    "application/rdf+xml": ox.RdfFormat.RDF_XML,
    "application/ld+json": ox.RdfFormat.JSON_LD,
    "text/n3": ox.RdfFormat.N3,
    "application/trig": ox.RdfFormat.TRIG,
    "application/n-quads": ox.RdfFormat.N_QUADS,
}


class Refused(Exception):
    """A query that is not answered: why (``bad``, ``large``) and in which words."""

    def __init__(self, how: str, says: str) -> None:
        super().__init__(says)
        self.how = how


def tokens(query: str) -> Iterator[tuple[str, str]]:
    """Kind and text of what a query is made of; escapes by code point are undone first."""
    plain = _ESCAPED.sub(lambda m: chr(int(m[1] or m[2], 16) % 0x110000), query)
    for found in _TOKENS.finditer(plain):
        yield str(found.lastgroup), found[0]


@lru_cache(maxsize=64)
def judge(query: str) -> dict[str, Any]:
    """What a query calls on: its kind (``select`` …), whether SERVICE, its FROM graphs.

    A word counts only outside strings, comments, addresses and names.
    """
    kind, service, graphs, prefixes = "", False, [], dict(PREFIXES)
    kept = [(k, t) for k, t in tokens(query) if k not in ("text", "note")]
    for place, (what, text) in enumerate(kept):
        word = text.upper() if what == "word" else ""
        if word in ("SELECT", "ASK", "CONSTRUCT", "DESCRIBE") and not kind:
            kind = word.lower()
        service = service or word == "SERVICE"
        after = kept[place + 1 : place + 3]
        if word == "PREFIX" and len(after) == 2 and after[0][0] == "name":
            prefixes[after[0][1][:-1]] = after[1][1][1:-1]
        if word == "FROM" and after:
            named = after[0][1].upper() == "NAMED" and len(after) == 2
            graphs.append(_wide(after[1] if named else after[0], prefixes))
    return {"kind": kind, "service": service, "graphs": graphs}


def _wide(token: tuple[str, str], prefixes: dict[str, str]) -> str:
    what, text = token
    if what == "iri":
        return text[1:-1]
    prefix, _, local = text.partition(":")
    return prefixes.get(prefix, prefix + ":") + local


class Sink:
    """A file that refuses to grow past its limit of bytes."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.size = 0
        self.parts: list[bytes] = []

    def write(self, data: bytes) -> int:
        """Keep a piece; Refused past the limit."""
        self.size += len(data)
        if self.size > self.most:
            raise Refused(LARGE, f"The result is larger than {self.most // 1_000_000} MB.")
        self.parts.append(bytes(data))
        return len(data)

    def flush(self) -> None:
        """Nothing is held back."""


def answer(store: ox.Store, ask: dict[str, Any]) -> bytes:
    """The result of a query as bytes in the form asked for; Refused where it is not answered."""
    seen = judge(ask["query"])
    if seen["service"]:
        raise Refused(BAD, "SERVICE is not allowed: the knowledge asks nobody else.")
    protocol = ask["default"] is not None or ask["named"] is not None
    asked = [*(ask["default"] or []), *(ask["named"] or [])]
    _held(store, asked if protocol else seen["graphs"])
    given: dict[str, Any] = {}
    if protocol:
        given["default_graph"] = [ox.NamedNode(g) for g in ask["default"] or []]
        given["named_graphs"] = [ox.NamedNode(g) for g in ask["named"] or []]
    elif not seen["graphs"]:
        given["use_default_graph_as_union"] = True
    try:
        result = store.query(ask["query"], base_iri=BASE, prefixes=PREFIXES, **given)
    except (SyntaxError, ValueError) as error:
        raise Refused(BAD, f"The query is not valid SPARQL: {error}") from None
    return _written(result, ask)


def _held(store: ox.Store, graphs: list[str]) -> None:
    for graph in graphs:
        try:
            node = ox.NamedNode(graph)
        except ValueError:
            raise Refused(BAD, f"“{graph[:200]}” is not the address of a graph.") from None
        if not store.contains_named_graph(node):
            raise Refused(BAD, f"The graph {graph[:200]} is not held here.")


def _written(result: Any, ask: dict[str, Any]) -> bytes:
    sink: Any = Sink(ask["most"])
    if isinstance(result, ox.QueryTriples):
        form: Any = _FORMS[ask["graph"]]
        turtle = form in (ox.RdfFormat.TURTLE, ox.RdfFormat.JSON_LD, ox.RdfFormat.TRIG)
        ox.serialize(result, sink, format=form, prefixes=PREFIXES if turtle else None)
    else:
        media = ask["table"]
        yes_or_no = isinstance(result, ox.QueryBoolean)
        if yes_or_no and media in ("text/csv", "text/tab-separated-values"):
            return (b"true" if result else b"false") + b"\n"
        table: Any = _FORMS[media]
        result.serialize(sink, format=table)
    return b"".join(sink.parts)


def _limit(memory: int) -> None:
    """Memory from here on, and no descriptor beyond those open: so no connection either."""
    import resource

    with open("/proc/self/statm", encoding="ascii") as file:
        now = int(file.read().split()[0]) * os.sysconf("SC_PAGE_SIZE")
    resource.setrlimit(resource.RLIMIT_AS, (now + memory, now + memory))
    highest = max(int(n) for n in os.listdir("/proc/self/fd"))
    resource.setrlimit(resource.RLIMIT_NOFILE, (highest, highest))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _read(pipe: BinaryIO) -> dict[str, Any] | None:
    head = pipe.read(_HEAD.size)
    if len(head) < _HEAD.size:
        return None
    told: dict[str, Any] = json.loads(pipe.read(_HEAD.unpack(head)[0]))
    return told


def _write(pipe: BinaryIO, how: str, body: bytes) -> None:
    head = json.dumps({"how": how, "size": len(body)}).encode()
    pipe.write(_HEAD.pack(len(head)) + head + body)
    pipe.flush()


def main(place: str, memory: int) -> None:
    """Answer queries from standard input until it closes."""
    store = ox.Store.read_only(place)
    store.query("ASK { ?s ?p ?o }")
    if os.path.isdir("/proc/self/fd"):
        _limit(memory)
    told = sys.stdout.buffer
    _write(told, OK, b"")
    while (ask := _read(sys.stdin.buffer)) is not None:
        try:
            _write(told, OK, answer(store, ask))
        except Refused as error:
            _write(told, error.how, str(error).encode())
        except MemoryError:
            _write(told, FULL, b"The query needs more memory than one query may have.")
        except Exception as error:
            _write(told, BAD, f"The query cannot be answered: {error}".encode()[:2000])


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
