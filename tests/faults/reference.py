"""The reference for `opercle check`: the shapes through pySHACL, the checks through rdflib.

Knows: how their results read as breaches.
Refuses to know: the compiled queries it judges; it takes from them only each shape's sentence.
"""

import warnings
from collections.abc import Iterator
from functools import cache
from typing import Any
from unittest import mock

import pyoxigraph as ox

from opercle import assets, check
from opercle.terms import PREFIXES


def breaches(store: ox.Store) -> set[check.Breach]:
    """All that pySHACL and rdflib find in a store."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        warnings.simplefilter("ignore", PendingDeprecationWarning)
        data = _graph(store)
        told = {query.shape: query for query in check.queries(store)}
        with _prepared(), _as_written():
            return {*_shaped(data, told), *_checked(data, told)}


def _prepared() -> Any:
    """Have rdflib parse each query once: pySHACL gives it the same text for every focus node."""
    from rdflib.plugins.sparql import algebra, parser, processor

    made: dict[str, Any] = {}

    def prepare(text: str, base: Any = None, names: Any = None) -> Any:
        if text not in made:
            made[text] = algebra.translateQuery(parser.parseQuery(text), base, names)
        return made[text]

    return mock.patch.multiple(processor, parseQuery=str, translateQuery=prepare)


def _as_written() -> Any:
    """Have rdflib join patterns in the order written: it cannot know that $this is given."""
    from rdflib.plugins.sparql import algebra

    return mock.patch.object(algebra, "reorderTriples", list)


def _shaped(data: Any, told: dict[str, check.Query]) -> Iterator[check.Breach]:
    import pyshacl
    from rdflib import Namespace

    sh = Namespace(check.SH)
    _, report, _ = pyshacl.validate(data, shacl_graph=shapes(), inference="none")
    for result in report.subjects(predicate=sh.resultSeverity):
        this, value = report.value(result, sh.focusNode), report.value(result, sh.value)
        shape = str(report.value(result, sh.sourceShape)).removeprefix(check.SHAPE)
        row = {} if value is None else {"value": _term(value)}
        yield check.breach_of(told[shape], _term(this), row)


@cache
def shapes() -> Any:
    """The graph of all shapes."""
    from rdflib import Graph

    made = Graph()
    for path in assets.files("shapes", ".ttl"):
        made.parse(path)
    return made


def _checked(data: Any, told: dict[str, check.Query]) -> Iterator[check.Breach]:
    bases = dict(PREFIXES)
    for path in assets.files("shapes/checks", ".rq"):
        query = told[path.replace("\\", "/").rpartition("/")[2].removesuffix(".rq")]
        for row in data.query(query.text, initNs=bases).bindings:
            values = {str(name): _term(term) for name, term in row.items()}
            yield check.breach_of(query, values.pop("this"), values)


def _graph(store: ox.Store) -> Any:
    from rdflib import Graph

    told = store.dump(format=ox.RdfFormat.N_TRIPLES, from_graph=ox.DefaultGraph())
    assert told is not None
    made = Graph()
    made.parse(data=told.decode("utf-8"), format="nt")
    return made


def _term(term: Any) -> Any:
    from rdflib.term import BNode, URIRef

    if isinstance(term, URIRef):
        return ox.NamedNode(str(term))
    if isinstance(term, BNode):
        return ox.BlankNode(str(term))
    if term.language:
        return ox.Literal(str(term), language=term.language)
    if term.datatype is not None:
        return ox.Literal(str(term), datatype=ox.NamedNode(str(term.datatype)))
    return ox.Literal(str(term))
