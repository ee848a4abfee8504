"""The SPARQL 1.1 Protocol for queries, read-only.

Knows: the three ways to send a query, the graph parameters, the result forms, the statuses.
Refuses to know: how queries are run; that is the pool's.
Source: W3C Recommendation SPARQL 1.1 Protocol, 21 March 2013, section 2.1, and SPARQL 1.1 Service
Description of the same day.
"""

import zlib
from typing import Any
from urllib.parse import parse_qsl

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response

from opercle.faces.web import negotiate
from opercle.faces.web.pool import Pool
from opercle.faces.web.worker import judge, tokens
from opercle.questions.desk import Desk
from opercle.questions.sparql import graphs

TABLES = (
    "application/sparql-results+json",
    "application/sparql-results+xml",
    "text/csv",
    "text/tab-separated-values",
)
GRAPHS = (
    "text/turtle",
    "application/n-triples",
    "application/rdf+xml",
    "application/ld+json",
    "text/n3",
    "application/trig",
    "application/n-quads",
)
_ALSO = {
    "application/json": TABLES[0],
    "text/json": TABLES[0],
    "application/xml": TABLES[1],
    "text/xml": TABLES[1],
    "text/plain": "application/n-triples",
}
STATUS = {"bad": 400, "died": 400, "large": 413, "full": 503, "slow": 503, "busy": 503}
_CHANGING = {"NOW", "RAND", "UUID", "STRUUID", "BNODE"}
FORM, QUERY, UPDATE = (
    "application/x-www-form-urlencoded",
    "application/sparql-query",
    "application/sparql-update",
)
_OPEN = {"Access-Control-Allow-Origin": "*", **negotiate.VARY}


class Wrong(Exception):
    """A request that is not answered, with its status and words."""

    def __init__(self, status: int, says: str) -> None:
        super().__init__(says)
        self.status = status


async def endpoint(request: Request) -> Response:
    """Answer /sparql: a query, or the description of the service where none is given."""
    if request.method == "OPTIONS":
        allow = {"Access-Control-Allow-Methods": "GET, POST", "Access-Control-Allow-Headers": "*"}
        return Response(status_code=204, headers={**_OPEN, **allow})
    try:
        asked = await _asked(request)
        if asked is None:
            return _described(request)
        return await _answered(request, *asked)
    except Wrong as error:
        return PlainTextResponse(f"{error}\n", error.status, headers=dict(_OPEN))


Pairs = list[tuple[str, str]]


async def _asked(request: Request) -> tuple[str, Pairs] | None:
    """The query and its parameters; None where none is given."""
    pairs = list(request.query_params.multi_items())
    if request.method == "POST":
        media = request.headers.get("content-type", "").partition(";")[0].strip().lower()
        if media == UPDATE:
            raise Wrong(403, "This endpoint is read-only: no update is taken.")
        if media not in (FORM, QUERY):
            raise Wrong(415, f"A query is posted as {FORM} or {QUERY}.")
        body = _text(await _body(request))
        if media == QUERY:
            return body, _checked(pairs, posted=True)
        pairs += parse_qsl(body, keep_blank_values=True)
    queries = [v for k, v in pairs if k == "query"]
    _checked(pairs, posted=False)
    if len(queries) > 1:
        raise Wrong(400, "One query at a time: the parameter “query” is given more than once.")
    if not queries:
        if request.method == "POST" or pairs:
            raise Wrong(400, "The parameter “query” is missing.")
        return None
    return queries[0], pairs


def _checked(pairs: Pairs, *, posted: bool) -> Pairs:
    names = {k for k, _ in pairs}
    if names & {"update", "using-graph-uri", "using-named-graph-uri"}:
        raise Wrong(403, "This endpoint is read-only: no update is taken.")
    if posted and "query" in names:
        raise Wrong(400, "The query is given twice: in the address and in the body.")
    return pairs


def _text(body: bytes) -> str:
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError:
        raise Wrong(400, "The query is not UTF-8.") from None


async def _body(request: Request) -> bytes:
    most = request.app.state.pool.limits.query
    found = bytearray()
    async for part in request.stream():
        found += part
        if len(found) > most:
            raise Wrong(413, f"A query may have {most} bytes at most.")
    return bytes(found)


def _media(header: str | None) -> tuple[str, str]:
    """The forms for a table and for a graph; one of them may be chosen for want of a better."""
    table = negotiate.choose(header, (*TABLES, *[k for k in _ALSO if _ALSO[k] in TABLES]))
    graph = negotiate.choose(header, (*GRAPHS, *[k for k in _ALSO if _ALSO[k] in GRAPHS]))
    if graph is None and negotiate.choose(header, ("application/json", "text/json")):
        graph = "application/ld+json"
    return _ALSO.get(table or "", table or ""), _ALSO.get(graph or "", graph or "")


async def _answered(request: Request, query: str, pairs: Pairs) -> Response:
    state = request.app.state
    if len(query.encode()) > state.pool.limits.query:
        raise Wrong(413, f"A query may have {state.pool.limits.query} bytes at most.")
    seen = judge(query)
    table, graph = _media(request.headers.get("accept"))
    media = graph if seen["kind"] in ("construct", "describe") else table
    if not media:
        offered = GRAPHS if seen["kind"] in ("construct", "describe") else TABLES
        raise Wrong(406, f"The result can be had as {', '.join(offered)}.")
    tag = _tag(state.hash, query, media)
    if tag and request.method == "GET" and tag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers={**_OPEN, "ETag": tag})
    ask = {
        "query": query,
        "default": _graphs(pairs, "default-graph-uri", "named-graph-uri"),
        "named": _graphs(pairs, "named-graph-uri", "default-graph-uri"),
        "table": table or TABLES[0],
        "graph": graph or GRAPHS[0],
    }
    pool: Pool = state.pool
    client = request.client.host if request.client else ""
    told = await run_in_threadpool(pool.ask, ask, client)
    if told.how != "ok":
        status = STATUS[told.how]
        wait = {"Retry-After": "2"} if status == 503 else {}
        says = told.body.decode() + "\n"
        return PlainTextResponse(says, status, headers={**_OPEN, **wait})
    held = {"ETag": tag, "Cache-Control": "no-cache"} if tag else {"Cache-Control": "no-store"}
    charset = "; charset=utf-8" if media.startswith("text/") else ""
    return Response(told.body, headers={**_OPEN, **held, "Content-Type": media + charset})


def _graphs(pairs: Pairs, name: str, other: str) -> list[str] | None:
    """The graphs of one parameter; an empty list where only the other is given."""
    found = [v for k, v in pairs if k == name]
    return found if found or any(k == other for k, _ in pairs) else None


def _tag(snapshot: str, query: str, media: str) -> str:
    """The snapshot and the form; empty for a query whose result changes by itself."""
    if any(kind == "word" and word.upper() in _CHANGING for kind, word in tokens(query)):
        return ""
    return f'"{snapshot}-{zlib.crc32(f"{media} {query}".encode()):08x}"'


_DESCRIPTION = """@prefix sd: <http://www.w3.org/ns/sparql-service-description#> .
@prefix void: <http://rdfs.org/ns/void#> .
@prefix dcterms: <http://purl.org/dc/terms/> .
<> a sd:Service ;
  sd:endpoint <> ;
  sd:supportedLanguage sd:SPARQL11Query ;
  sd:feature sd:UnionDefaultGraph ;
  sd:resultFormat <http://www.w3.org/ns/formats/SPARQL_Results_JSON> ,
    <http://www.w3.org/ns/formats/SPARQL_Results_XML> ,
    <http://www.w3.org/ns/formats/SPARQL_Results_CSV> ,
    <http://www.w3.org/ns/formats/SPARQL_Results_TSV> ,
    <http://www.w3.org/ns/formats/Turtle> , <http://www.w3.org/ns/formats/N-Triples> ,
    <http://www.w3.org/ns/formats/RDF_XML> , <http://www.w3.org/ns/formats/JSON-LD> ;
  sd:defaultDataset [ a sd:Dataset ;
    dcterms:title "Opercle: fishes, their names and the reasons"@en ;
    sd:defaultGraph [ a sd:Graph ; void:triples %(triples)d ] %(graphs)s ] .
"""


def _described(request: Request) -> Response:
    accept = request.headers.get("accept")
    offered = ("text/turtle", "application/n-triples", "application/rdf+xml", "text/html")
    media = negotiate.choose(accept, offered)
    if media == "text/html":
        return RedirectResponse("/query", 303, headers=negotiate.VARY)
    if media is None:
        raise Wrong(406, f"The description of the service can be had as {', '.join(offered)}.")
    body = description(request.app.state.know.desk, str(request.url.replace(query="")))
    if media != offered[0]:
        body = _converted(body, media)
    return Response(body, media_type=media, headers={**_OPEN, "Cache-Control": "no-cache"})


def description(desk: Desk, address: str) -> bytes:
    """The service description as Turtle."""
    names = graphs(desk)
    told = "".join(
        f"; sd:namedGraph [ a sd:NamedGraph ; sd:name <{name}> ]\n    " for name in names
    )
    facts = desk.snapshot.facts
    triples = facts["stated"] + facts["derived"]
    text = _DESCRIPTION % {"triples": triples, "graphs": told}
    return f"@base <{address}> .\n{text}".encode()


def _converted(turtle: bytes, media: str) -> bytes:
    import pyoxigraph as ox

    form: Any = ox.RdfFormat.from_media_type(media)
    quads = ox.parse(turtle, format=ox.RdfFormat.TURTLE)
    made: Any = ox.serialize((q.triple for q in quads), format=form)
    return bytes(made)
