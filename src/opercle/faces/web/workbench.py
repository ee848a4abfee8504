"""The page on which SPARQL is tried: a text area, examples, and the result as a table.

Knows: the example queries that ship with the knowledge, and how a result becomes rows.
Refuses to know: how queries run; they go through the same workers as everybody's.
"""

import csv
import io
import os
from functools import cache
from typing import Any, NamedTuple

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from opercle import assets
from opercle.errors import OpercleError
from opercle.faces.web import showing
from opercle.faces.web.pool import Pool, Told
from opercle.faces.web.sparql import STATUS
from opercle.faces.web.worker import judge

_ROWS = 500


class Way(NamedTuple):
    """A form in which a result is taken away."""

    label: str
    media: str
    ending: str
    graph: bool


_WAYS = {
    "csv": Way("CSV", "text/csv", "csv", False),
    "tsv": Way("TSV", "text/tab-separated-values", "tsv", False),
    "json": Way("JSON", "application/sparql-results+json", "json", False),
    "xml": Way("XML", "application/sparql-results+xml", "xml", False),
    "turtle": Way("Turtle", "text/turtle", "ttl", True),
    "ntriples": Way("N-Triples", "application/n-triples", "nt", True),
    "jsonld": Way("JSON-LD", "application/ld+json", "jsonld", True),
}
_FIRST = """# Which fishes are native to the Coosa River?
SELECT ?fish ?name WHERE {
  ?fish op:nativeTo w:Coosa-River ; dwc:scientificName ?name .
} ORDER BY ?name LIMIT 25
"""


@cache
def examples() -> list[dict[str, str]]:
    """Each example by file name (``key``), the question it answers (``title``), its text."""
    found = []
    for path in _files():
        with open(path, encoding="utf-8") as file:
            text = file.read()
        title = text.partition("\n")[0].lstrip("# ")
        key = os.path.basename(path).removesuffix(".rq")
        found.append({"key": key, "title": title, "text": text})
    return sorted(found, key=lambda e: e["title"].lower())


def _files() -> list[str]:
    """The example queries, in a wheel or beside ontology/ in a checkout; none if neither."""
    try:
        root = os.path.dirname(assets.folder("ontology"))
    except OpercleError:
        return []
    for folder in (os.path.join(root, "queries"), os.path.join(root, "examples", "queries")):
        if os.path.isdir(folder):
            return [os.path.join(folder, n) for n in os.listdir(folder) if n.endswith(".rq")]
    return []


def shown(request: Request) -> Response:
    """The page, with a result where a query was sent."""
    by_key = {e["key"]: e["text"] for e in examples()}
    text = request.query_params.get("query")
    way = _WAYS.get(request.query_params.get("as", ""))
    if text is not None and way is not None:
        return _taken(request, text, way)
    told: dict[str, Any] = {"result": None, "fault": None, "asked": text is not None}
    if text is not None:
        told |= run(request, text)
    chosen = by_key.get(request.query_params.get("example", ""), _FIRST)
    told |= {"title": "SPARQL", "text": text if text is not None else chosen}
    told["limits"] = request.app.state.pool.limits
    graph = judge(told["text"])["kind"] in ("construct", "describe")
    told["ways"] = [(k, w.label) for k, w in _WAYS.items() if w.graph == graph]
    status = told.get("status", 200)
    return showing.page(request, "query.html", {**told, "examples": examples()}, status)


def run(request: Request, text: str) -> dict[str, Any]:
    """The result of a query as rows, text or a fault."""
    told = _asked(request, text, "text/csv", "text/turtle")
    body = told.body.decode("utf-8", "replace")
    if told.how != "ok":
        return {"fault": body, "status": STATUS[told.how]}
    kind = judge(text)["kind"]
    if kind != "select":
        return {"result": {"kind": kind, "text": body.strip(), "names": [], "rows": [], "more": 0}}
    rows = list(csv.reader(io.StringIO(body)))
    names, rest = (rows[0] if rows else []), rows[1:]
    cells = [[_cell(c) for c in row] for row in rest[:_ROWS]]
    more = max(0, len(rest) - _ROWS)
    return {"result": {"kind": kind, "names": names, "rows": cells, "more": more, "text": ""}}


def _asked(request: Request, text: str, table: str, graph: str) -> Told:
    ask = {"query": text, "default": None, "named": None, "table": table, "graph": graph}
    client = request.client.host if request.client else ""
    pool: Pool = request.app.state.pool
    if len(text.encode()) > pool.limits.query:
        return Told("large", f"A query may have {pool.limits.query} bytes at most.".encode())
    return pool.ask(ask, client)


def _taken(request: Request, text: str, way: Way) -> Response:
    """The result as a file; the page with its fault where there is none."""
    table, graph = ("text/csv", way.media) if way.graph else (way.media, "text/turtle")
    told = _asked(request, text, table, graph)
    if told.how != "ok":
        raise HTTPException(STATUS[told.how], told.body.decode("utf-8", "replace"))
    headers = {"Content-Disposition": f'attachment; filename="result.{way.ending}"'}
    return Response(told.body, media_type=way.media, headers=headers)


def _cell(text: str) -> dict[str, str | None]:
    from opercle.faces.web.paths import path_of
    from opercle.terms import BASE, shorten

    if not text.startswith(BASE):
        return {"text": text, "path": None}
    short = shorten(text)
    return {"text": short, "path": path_of(short)}
