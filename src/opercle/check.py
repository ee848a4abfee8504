"""Holds stated facts against the shapes, and against queries that must return nothing.

Knows: how a shape becomes SPARQL, how a check is headed, where in a file a subject is defined.
Refuses to know: fishes. What is demanded stands in shapes/ alone, and rules are not run here.

The shapes are plain SHACL (W3C Recommendation, 20 July 2017). For speed each becomes one or more
SPARQL queries over the whole graph. pySHACL and rdflib are the reference: a test runs the same
files through both and holds the findings equal.
"""

import os
import re
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any, NamedTuple

import pyoxigraph as ox

from opercle import assets, locating, occurrences
from opercle.errors import FileError
from opercle.store import plain, text_of
from opercle.terms import PREFIXES

SHAPE = "https://opercle.example/shape/"
SH = "http://www.w3.org/ns/shacl#"
VIOLATION, WARNING = "violation", "warning"
_RDF, _RDFS, _XSD = PREFIXES["rdf"], PREFIXES["rdfs"], PREFIXES["xsd"]
_CASTS = frozenset(_XSD + kind for kind in ("integer", "decimal", "boolean", "double", "date"))
_HEAD = re.compile(r"^#\s*(id|says|cites|severity):\s*(.+?)\s*$", re.M)
_HOLE = re.compile(r"\{[?$]?(\w+)\}")


class Finding(NamedTuple):
    """One fault: where its subject is defined, which shape it breaks, and what to do.

    ``severity`` is ``violation`` or ``warning``; ``line`` counts from 1, None where the subject has
    no line of its own; ``cites`` is the rule the shape stands on.
    """

    file: str
    line: int | None
    subject: str
    shape: str
    says: str
    cites: str
    severity: str


class Breach(NamedTuple):
    """A finding before it has a place; ``subject`` is the node itself."""

    subject: Any
    shape: str
    says: str
    cites: str
    severity: str


class Query(NamedTuple):
    """One SELECT that must be empty: each row's ``this`` is at fault; ``says`` has {holes}."""

    shape: str
    text: str
    says: str
    cites: str
    severity: str


class Ground(NamedTuple):
    """Facts to check: the store, the files by the name they are told by, and given subjects.

    ``given`` is None where every subject counts; ``rows`` are the places of records of tables.
    """

    store: ox.Store
    paths: dict[str, str]
    given: frozenset[Any] | None
    rows: Mapping[str, tuple[str, int]] = {}


def ground(files: Sequence[str] = (), under: Sequence[str] | None = None) -> Ground:
    """Lay ``files``, Turtle or CSV tables of records, over the knowledge (or over ``under``).

    Raises FileError, with file, line and remedy, for a file that cannot be read or is malformed.
    """
    store = ox.Store()
    root = os.path.dirname(assets.folder("ontology"))
    paths: dict[str, str] = {path: path for path in files}
    given: set[Any] = set()
    rows: dict[str, tuple[str, int]] = {}
    for path in files:
        table = path.lower().endswith(".csv")
        quads = _tabled(path, rows) if table else _parsed(path)
        store.extend(quads)
        given.update(quad.subject for quad in quads)
    for path in assets.files("ontology", ".ttl") if under is None else under:
        _loaded(store, path)
        paths.setdefault(os.path.relpath(path, root).replace(os.sep, "/"), path)
    return Ground(store, paths, frozenset(given) if files else None, rows)


def _tabled(path: str, rows: dict[str, tuple[str, int]]) -> list[ox.Quad]:
    """A table of records as triples; each row's place is put down in ``rows``."""
    quads = []
    for row in occurrences.read(path, len(rows)):
        rows[row.node.value] = (path, row.line)
        quads += row.quads
    return quads


def _loaded(store: ox.Store, path: str) -> None:
    with _told(path):
        store.load(path=path, format=ox.RdfFormat.TURTLE)


def _parsed(path: str) -> list[ox.Quad]:
    with _told(path):
        return list(ox.parse(path=path, format=ox.RdfFormat.TURTLE, rename_blank_nodes=True))


@contextmanager
def _told(path: str) -> Iterator[None]:
    """Every failure to read becomes a FileError that tells file, line and remedy."""
    try:
        yield
    except SyntaxError as error:
        line = getattr(error, "lineno", None)
        raise FileError(
            f"The Turtle is malformed: {error.msg}",
            f"{path}, line {line}" if line else path,
            "Mend that line; a statement ends in a full stop and strings in quotes.",
        ) from None
    except (OSError, ValueError) as error:
        told = getattr(error, "strerror", None) or error
        raise FileError(
            f"The file cannot be read: {told}.", path, "Check the path; it must be a Turtle file."
        ) from None


def queries(store: ox.Store) -> list[Query]:
    """Every shape and every check as queries for this store, whose classes they take into account.

    Raises FileError for a shape that this compiler does not know how to read.
    """
    shapes = ox.Store()
    for path in assets.files("shapes", ".ttl"):
        _loaded(shapes, path)
    classes = _Classes(store)
    made = [q for node in _nodes(shapes) for q in _Shape(shapes, node, classes).queries()]
    return made + [_check(path) for path in assets.files("shapes/checks", ".rq")]


def _check(path: str) -> Query:
    """One file of shapes/checks/: a heading in comments and a SELECT."""
    text = text_of(path)
    head = dict(_HEAD.findall(text))
    lacking = [key for key in ("id", "says", "cites", "severity") if key not in head]
    if lacking or head["severity"] not in (VIOLATION, WARNING):
        raise FileError(
            f"The check's heading lacks {', '.join(lacking) or 'a severity known here'}.",
            path,
            f"Write '# id: …', '# says: …', '# cites: …', '# severity: {VIOLATION}|{WARNING}'.",
        )
    return Query(head["id"], text, head["says"], head["cites"], head["severity"])


def _nodes(shapes: ox.Store) -> list[ox.NamedNode]:
    """The addresses of the shapes that have a target of their own, sorted."""
    found: set[ox.NamedNode] = set()
    for target in _TARGETS:
        for quad in shapes.quads_for_pattern(None, ox.NamedNode(SH + target), None):
            if not isinstance(quad.subject, ox.NamedNode):
                raise FileError("A shape has no address.", "shapes/", "Give it one: shape:… .")
            found.add(quad.subject)
    return sorted(found, key=lambda node: node.value)


class _Classes:
    """Sub-classes as SHACL takes them: a class and all below it by rdfs:subClassOf."""

    def __init__(self, store: ox.Store) -> None:
        self._below: dict[str, list[str]] = {}
        for quad in store.quads_for_pattern(None, ox.NamedNode(_RDFS + "subClassOf"), None):
            self._below.setdefault(str(quad.object)[1:-1], []).append(str(quad.subject)[1:-1])

    def of(self, name: str) -> list[str]:
        """The class and its sub-classes."""
        found, left = {name}, [name]
        while left:
            fresh = set(self._below.get(left.pop(), ())) - found
            found |= fresh
            left += fresh
        return sorted(found)


_TARGETS = {
    "targetClass": "?this <" + _RDF + "type> <{name}> .",
    "targetSubjectsOf": "?this <{name}> ?targetOf .",
}
_BAD = {  # what makes a value bad, by the constraint of SHACL core
    "minInclusive": "!COALESCE(?value >= {0}, false)",
    "minExclusive": "!COALESCE(?value > {0}, false)",
    "maxInclusive": "!COALESCE(?value <= {0}, false)",
    "pattern": "ISBLANK(?value) || !REGEX(STR(?value), {0})",
    "lessThanOrEquals": "EXISTS {{ ?this {0} ?than FILTER (!COALESCE(?value <= ?than, false)) }}",
    "disjoint": "EXISTS {{ ?this {0} ?value }}",
}
_TOLD = frozenset({"message", "severity", "path", "prefixes", *_TARGETS})


class _Shape:
    """One shape of SHACL on its way to SPARQL."""

    def __init__(self, shapes: ox.Store, node: ox.NamedNode, classes: _Classes) -> None:
        self._shapes = shapes
        self._node = node
        self._classes = classes
        self._parts: dict[str, list[Any]] = {}
        for quad in shapes.quads_for_pattern(node, None, None):
            if quad.predicate.value.startswith(SH):
                key = quad.predicate.value.removeprefix(SH)
                self._parts.setdefault(key, []).append(quad.object)

    def queries(self) -> Iterator[Query]:
        """The queries of all its constraints."""
        says, cites = self._text(SH + "message"), self._text(PREFIXES["dcterms"] + "references")
        mild = ox.NamedNode(SH + "Warning") in self._parts.get("severity", ())
        severity = WARNING if mild else VIOLATION
        for text in self._texts():
            yield Query(self._node.value.removeprefix(SHAPE), text, says, cites, severity)

    def _texts(self) -> Iterator[str]:
        """One query for each count and each SPARQL, and one for all that is asked of a value."""
        target, bad = self._targets(), []
        for key, values in sorted(self._parts.items()):
            for value in values if key not in _TOLD else ():
                if key == "sparql":
                    yield self._written(value, target)
                elif key in ("minCount", "maxCount"):
                    yield self._counted(key, int(value.value), target)
                else:
                    bad.append(self._bad(key, value))
        if bad:
            test = " || ".join(f"({one})" for one in bad)
            yield f"SELECT DISTINCT ?this ?value {{ {target} {self._step()} FILTER ({test}) }}"

    def _text(self, predicate: str) -> str:
        for quad in self._shapes.quads_for_pattern(self._node, ox.NamedNode(predicate), None):
            return str(getattr(quad.object, "value", ""))
        raise self._fault(f"has no {predicate}")

    def _fault(self, what: str) -> FileError:
        return FileError(
            f"The shape {self._node.value} {what}.",
            "shapes/",
            "Write it with the parts of SHACL that the other shapes use.",
        )

    def _targets(self) -> str:
        made = []
        for key, form in _TARGETS.items():
            for node in self._parts.get(key, ()):
                names = self._classes.of(node.value) if key == "targetClass" else [node.value]
                made += ["{ " + form.format(name=name) + " }" for name in names]
        return " UNION ".join(made)

    def _written(self, node: Any, target: str) -> str:
        """SPARQL written in the shape, with the target put before it."""
        head, brace, body = self._one(node, "select").partition("{")
        return head.replace("SELECT", "SELECT DISTINCT", 1) + brace + target + body

    def _counted(self, key: str, number: int, target: str) -> str:
        step = self._step()
        if key == "minCount" and number == 1:
            return f"SELECT DISTINCT ?this {{ {target} FILTER NOT EXISTS {{ {step} }} }}"
        if key == "maxCount":
            many = (
                f"{{ SELECT ?this {{ {step} }} GROUP BY ?this HAVING (COUNT(?value) > {number}) }}"
            )
            return f"SELECT ?this {{ {many} FILTER EXISTS {{ {target} }} }}"
        return (
            f"SELECT ?this {{ {target} OPTIONAL {{ {step} }} }} "
            f"GROUP BY ?this HAVING (COUNT(DISTINCT ?value) < {number})"
        )

    def _step(self) -> str:
        path = self._parts.get("path", [None])[0]
        if isinstance(path, ox.NamedNode):
            return f"?this <{path.value}> ?value ."
        if isinstance(path, ox.BlankNode):
            return f"?value <{self._one(path, 'inversePath')}> ?this ."
        raise self._fault("has no path")

    def _one(self, node: Any, key: str) -> str:
        for quad in self._shapes.quads_for_pattern(node, ox.NamedNode(SH + key), None):
            return str(getattr(quad.object, "value", ""))
        raise self._fault(f"lacks sh:{key} in a part of it")

    def _bad(self, key: str, value: Any) -> str:
        if key in _BAD:
            return _BAD[key].format(str(value))
        if key == "in":
            return f"?value NOT IN ({', '.join(str(one) for one in self._list(value))})"
        if key == "class":
            kinds = self._classes.of(value.value)
            return " && ".join(f"NOT EXISTS {{ ?value <{_RDF}type> <{kind}> }}" for kind in kinds)
        if key == "datatype":
            cast = f" || !COALESCE({value}(STR(?value)) = ?value, false)"
            right = f"!ISLITERAL(?value) || DATATYPE(?value) != {value}"
            return right + (cast if value.value in _CASTS else "")
        raise self._fault(f"uses sh:{key}, which is not compiled here")

    def _list(self, node: Any) -> Iterator[Any]:
        while node.value != _RDF + "nil":
            (first,) = self._shapes.quads_for_pattern(node, ox.NamedNode(_RDF + "first"), None)
            (rest,) = self._shapes.quads_for_pattern(node, ox.NamedNode(_RDF + "rest"), None)
            yield first.object
            node = rest.object


def breaches(store: ox.Store) -> set[Breach]:
    """All that the compiled shapes and the checks find in a store, asked on every core at once."""
    with ThreadPoolExecutor(min(4, os.cpu_count() or 1)) as pool:
        return set().union(*pool.map(lambda query: list(_run(store, query)), queries(store)))


def _run(store: ox.Store, query: Query) -> Iterator[Breach]:
    found: Any = store.query(query.text, prefixes=PREFIXES)
    names = [variable.value for variable in found.variables]
    for solution in found:
        row: dict[str, Any] = dict(zip(names, solution, strict=True))
        yield breach_of(query, row.pop("this"), row)


def breach_of(query: Query, this: Any, row: Mapping[str, Any]) -> Breach:
    """The breach that one row of a query tells; holes of the sentence are filled in."""
    says = _HOLE.sub(lambda hole: _said(row.get(hole[1], hole[0])), query.says)
    return Breach(this, query.shape, says, query.cites, query.severity)


def _said(term: Any) -> str:
    value = plain(term) if hasattr(term, "value") else term
    return f"{value:g}" if isinstance(value, float) else str(value)


def findings(facts: Ground) -> list[Finding]:
    """What the facts break, violations first, each with the file and line of its subject."""
    kept = [b for b in breaches(facts.store) if facts.given is None or b.subject in facts.given]
    wanted = {b.subject.value for b in kept if isinstance(b.subject, ox.NamedNode)}
    texts = {n: p for n, p in facts.paths.items() if not p.lower().endswith(".csv")}
    places = {**locating.places(texts, wanted - facts.rows.keys()), **facts.rows}
    made = [Finding(*_place(b.subject, places, facts), plain(b.subject), *b[1:]) for b in kept]
    return sorted(made, key=lambda f: (f.severity, f.file, f.line or 0, f.subject, f.shape, f.says))


def _place(subject: Any, places: locating.Places, facts: Ground) -> tuple[str, int | None]:
    only = next(iter(facts.paths)) if len(facts.paths) == 1 or facts.given else ""
    return places.get(getattr(subject, "value", ""), (only, None))
