"""The knowledge as RDF: Turtle, JSON-LD, N-Quads.

Knows: how each form is written, with the shipped JSON-LD context.
Refuses to know: what the facts mean. Each form reads back as the same set of triples.
"""

import json
import re
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

import pyoxigraph as ox

from opercle.exports import context, held
from opercle.exports.writing import Heard, counted, whole
from opercle.questions.desk import Desk
from opercle.terms import PREFIXES, shorten

_TYPE = PREFIXES["rdf"] + "type"
_STRING = PREFIXES["xsd"] + "string"
_WHOLE = re.compile(r"0|-?[1-9][0-9]{0,14}")  # what every reader of JSON keeps exactly


def turtle(desk: Desk, path: str, inferred: bool, heard: Heard) -> int:
    """Write Turtle; returns the number of triples."""
    lines = held.lines(desk, inferred=inferred)
    with whole(path) as file:
        things = counted(_read(lines), "writing", len(lines), heard)
        ox.serialize(things, file, format=ox.RdfFormat.TURTLE, prefixes=PREFIXES)
    return len(lines)


def nquads(desk: Desk, path: str, inferred: bool, heard: Heard) -> int:
    """Write N-Quads, each triple in its graph; returns the number of quads."""
    lines = held.lines(desk, inferred=inferred, graphs=True)
    with whole(path) as file:
        for line in counted(lines, "writing", len(lines), heard):
            file.write(line + b"\n")
    return len(lines)


def _read(lines: Sequence[bytes]) -> Iterator[ox.Triple]:
    for quad in ox.parse(b"\n".join(lines), format=ox.RdfFormat.N_TRIPLES):
        yield quad.triple


def jsonld(desk: Desk, path: str, inferred: bool, heard: Heard) -> int:
    """Write JSON-LD with the shipped context inside; returns the number of triples."""
    lines = held.lines(desk, inferred=inferred)
    with whole(path) as file:
        things = counted(_read(lines), "writing", len(lines), heard)
        file.writelines(line.encode() for line in jsonld_lines(things))
    return len(lines)


def jsonld_lines(triples: Iterator[ox.Triple] | Sequence[ox.Triple]) -> Iterator[str]:
    """Triples sorted by subject as the lines of one JSON-LD document."""
    linked = context.linking()
    yield '{"@context": ' + json.dumps(context.document()["@context"]) + ',\n"@graph": ['
    mark = "\n"
    for _, group in groupby(triples, key=lambda triple: triple.subject):
        yield mark + json.dumps(_node(list(group), linked), ensure_ascii=False)
        mark = ",\n"
    yield "\n]}\n"


def _node(triples: Sequence[ox.Triple], linked: frozenset[str]) -> dict[str, Any]:
    """One subject with all that is said of it."""
    made: dict[str, Any] = {"@id": _name(triples[0].subject)}
    for triple in triples:
        predicate = triple.predicate.value
        if predicate == _TYPE and not isinstance(triple.object, ox.Literal):
            made.setdefault("@type", []).append(_name(triple.object))
        else:
            key = _name(triple.predicate)
            made.setdefault(key, []).append(_value(triple.object, key in linked))
    return {k: v[0] if isinstance(v, list) and len(v) == 1 else v for k, v in made.items()}


def _name(term: Any) -> str:
    if isinstance(term, ox.BlankNode):
        return f"_:{term.value}"
    name = shorten(term.value)
    return name[1:-1] if name.startswith("<") else name


def _value(term: Any, linked: bool) -> Any:
    if not isinstance(term, ox.Literal):
        return _name(term) if linked else {"@id": _name(term)}
    if term.language:
        return {"@value": term.value, "@language": term.language}
    datatype = term.datatype.value
    if datatype == _STRING:
        return {"@value": term.value} if linked else term.value
    if datatype == PREFIXES["xsd"] + "boolean" and term.value in ("true", "false"):
        return term.value == "true"
    if datatype == PREFIXES["xsd"] + "integer" and _WHOLE.fullmatch(term.value):
        return int(term.value)
    return {"@value": term.value, "@type": shorten(datatype).strip("<>")}
