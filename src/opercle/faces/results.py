"""SPARQL results in the standard forms, or as a table.

Knows: which form fits which kind of result.
Refuses to know: the query.
"""

import sys
from typing import Any

import pyoxigraph as ox

from opercle.errors import UsageError
from opercle.terms import PREFIXES, shorten

_TABLES = {
    "json": ox.QueryResultsFormat.JSON,
    "csv": ox.QueryResultsFormat.CSV,
    "tsv": ox.QueryResultsFormat.TSV,
    "xml": ox.QueryResultsFormat.XML,
}
_GRAPHS = {
    "turtle": ox.RdfFormat.TURTLE,
    "nt": ox.RdfFormat.N_TRIPLES,
    "jsonld": ox.RdfFormat.JSON_LD,
}


def show(result: Any, form: str | None) -> None:
    """Write a result to standard output; UsageError where the form does not fit it."""
    out = sys.stdout.buffer
    if isinstance(result, ox.QueryTriples):
        graph = _GRAPHS.get(form or "turtle")
        if graph is None:
            raise _unfit(form, "a graph", _GRAPHS)
        prefixes = PREFIXES if graph.supports_datasets or graph == ox.RdfFormat.TURTLE else None
        ox.serialize(result, out, format=graph, prefixes=prefixes)
        out.flush()
        return
    if form in _GRAPHS:
        raise _unfit(form, "a table", {**_TABLES, "table": None})
    if form in (None, "table"):
        _table(result)
        return
    try:
        result.serialize(out, format=_TABLES[str(form)])
    except ValueError as error:
        raise UsageError(str(error), "--to", "Use json or xml for a yes or no.") from None
    out.flush()


def _unfit(form: str | None, what: str, fit: Any) -> UsageError:
    return UsageError(
        f"The result is {what}, which {form} cannot hold.", "--to", f"Use {', '.join(fit)}."
    )


def _table(result: Any) -> None:
    if isinstance(result, ox.QueryBoolean):
        print("yes" if result else "no")
        return
    from opercle.faces import text

    names = [v.value for v in result.variables]
    rows = [[_cell(term) for term in solution] for solution in result]
    text.table(names, rows)


def _cell(term: Any) -> str:
    if term is None:
        return ""
    return shorten(term.value) if isinstance(term, ox.NamedNode) else str(term.value)
