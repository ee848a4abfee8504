"""The page on which SPARQL is tried: a text area, examples, and the result as a table.

Knows: the example queries that ship with the knowledge, and how a result becomes rows.
Refuses to know: how queries run; they go through the same workers as everybody's.
"""

import csv
import io
import os
from functools import cache
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from opercle import assets
from opercle.errors import OpercleError
from opercle.faces.web import pages
from opercle.faces.web.worker import judge

_ROWS = 500
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
    told: dict[str, Any] = {"result": None, "fault": None, "asked": text is not None}
    if text is not None:
        told |= run(request, text)
    chosen = by_key.get(request.query_params.get("example", ""), _FIRST)
    told |= {"title": "SPARQL", "text": text if text is not None else chosen}
    status = 400 if told["fault"] else 200
    return pages.page(request, "query.html", {**told, "examples": examples()}, status)


def run(request: Request, text: str) -> dict[str, Any]:
    """The result of a query as rows, text or a fault."""
    ask = {
        "query": text,
        "default": None,
        "named": None,
        "table": "text/csv",
        "graph": "text/turtle",
    }
    client = request.client.host if request.client else ""
    told = request.app.state.pool.ask(ask, client)
    body = told.body.decode("utf-8", "replace")
    if told.how != "ok":
        return {"fault": body}
    kind = judge(text)["kind"]
    if kind != "select":
        return {"result": {"kind": kind, "text": body.strip(), "names": [], "rows": [], "more": 0}}
    rows = list(csv.reader(io.StringIO(body)))
    names, rest = (rows[0] if rows else []), rows[1:]
    cells = [[_cell(c) for c in row] for row in rest[:_ROWS]]
    more = max(0, len(rest) - _ROWS)
    return {"result": {"kind": kind, "names": names, "rows": cells, "more": more, "text": ""}}


def _cell(text: str) -> dict[str, str | None]:
    from opercle.faces.web.lookups import path_of
    from opercle.terms import BASE, shorten

    if not text.startswith(BASE):
        return {"text": text, "path": None}
    short = shorten(text)
    return {"text": short, "path": path_of(short)}
