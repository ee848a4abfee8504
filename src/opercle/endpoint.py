"""The same knowledge behind a SPARQL 1.1 server: a second back end of the store.

Knows: SPARQL 1.1 Protocol (W3C Recommendation, 21 March 2013), how values are bound in a text that
leaves the house, how to ask for many things at once, and what may go wrong on the way.
Refuses to know: what the questions mean.

The server holds what ``opercle export --inferred`` writes: Turtle in its default graph, or N-Quads
with a default graph that is the union of the named ones. Every round trip costs, so look-ups of
single things are gathered: one that is missing is fetched together with all that rows mentioned
before it, and what was asked once is kept.
"""

import gzip
import http.client
import json
import re
import ssl
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from typing import Any
from urllib.parse import urlencode, urlsplit

import pyoxigraph as ox

from opercle.batches import BULKY, Mentions, bound_text, kind_of, pointwise, steps, wider
from opercle.errors import EndpointError, OpercleError, QueryError, UsageError
from opercle.store import Node, Row, Snapshot, plain
from opercle.terms import PREFIXES, widen

TIMEOUT = 60.0
_LARGEST = 256_000_000
_TABLE, _GRAPH = "application/sparql-results+json", "application/n-triples"
_AGAIN = (429, 503)


class Server:
    """One SPARQL server, asked over one connection that is kept open."""

    def __init__(self, address: str, timeout: float = TIMEOUT) -> None:
        parts = urlsplit(address)
        if parts.scheme not in ("http", "https") or not parts.hostname:
            raise UsageError(
                f"“{address[:200]}” is no address of a SPARQL endpoint.",
                "--endpoint",
                "Write it whole: http://host:port/path.",
            )
        self.address = address
        self.timeout = timeout
        self.asked = 0
        self._parts = parts
        self._path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
        self._connection: http.client.HTTPConnection | None = None
        self._lock = threading.Lock()

    def ask(self, query: str, accept: str) -> tuple[str, bytes]:
        """Put one query; returns the media type and the body. Raises EndpointError, QueryError."""
        with self._lock:
            until = time.monotonic() + self.timeout
            while True:
                status, headers, body = self._send(query, accept)
                wait = _seconds(headers.get("retry-after"))
                if status not in _AGAIN or wait is None or time.monotonic() + wait > until:
                    break
                time.sleep(wait)
        if status != 200:
            raise self._refused(status, headers, body)
        return headers.get("content-type", "").partition(";")[0].strip().lower(), body

    def _send(self, query: str, accept: str) -> tuple[int, Mapping[str, str], bytes]:
        data = urlencode({"query": query}).encode()
        headers = {
            "Accept": accept,
            "Accept-Encoding": "gzip",
            "Content-Type": "application/x-www-form-urlencoded",
            "User-Agent": "opercle",
        }
        try:
            return self._sent(data, headers)
        except (http.client.HTTPException, OSError) as error:
            lost = self._lost(error)
        self.close()
        raise lost  # outside, so that nothing of the broken reply is held on to

    def _sent(
        self, data: bytes, headers: Mapping[str, str]
    ) -> tuple[int, Mapping[str, str], bytes]:
        """Send over the kept connection; over a new one where the server has closed it."""
        kept = self._connection is not None
        try:
            return self._once(data, headers)
        except TimeoutError:
            raise
        except (http.client.HTTPException, OSError):
            if not kept:
                raise
            self.close()
            return self._once(data, headers)

    def _once(
        self, data: bytes, headers: Mapping[str, str]
    ) -> tuple[int, Mapping[str, str], bytes]:
        if self._connection is None:
            kind = http.client.HTTPSConnection if self._parts.scheme == "https" else _PLAIN
            self._connection = kind(
                str(self._parts.hostname), self._parts.port, timeout=self.timeout
            )
        self.asked += 1
        self._connection.request("POST", self._path, data, dict(headers))
        reply = self._connection.getresponse()
        body = reply.read(_LARGEST + 1)
        if len(body) > _LARGEST:
            self.close()
            raise EndpointError(
                f"The server's answer is larger than {_LARGEST // 1_000_000} MB.", self.address
            )
        if reply.length:
            raise http.client.IncompleteRead(body, reply.length)
        found = {k.lower(): v for k, v in reply.getheaders()}
        if found.get("content-encoding", "").lower() == "gzip":
            body = gzip.decompress(body)
        return reply.status, found, body

    def close(self) -> None:
        """Close the connection; the next question opens another."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    def __del__(self) -> None:
        if getattr(self, "_connection", None) is not None:
            self.close()

    def _lost(self, error: Exception) -> OpercleError:
        if isinstance(error, OpercleError):
            return error
        if isinstance(error, TimeoutError):
            what = f"The server did not answer within {self.timeout:g} seconds."
        elif isinstance(error, ssl.SSLError):
            what = f"The server's certificate is not good: {error.reason or error}."
        elif isinstance(error, http.client.HTTPException):
            what = f"The server broke off its answer ({type(error).__name__})."
        else:
            what = f"The server cannot be reached: {error.strerror or error}."  # type: ignore[attr-defined]
        return EndpointError(what, self.address, "Check the address, and that the server runs.")

    def _refused(self, status: int, headers: Mapping[str, str], body: bytes) -> OpercleError:
        said = " ".join(body[:2000].decode("utf-8", "replace").split())[:300]
        if status == 400:
            return QueryError(f"The server does not take the query: {said}", self.address)
        if 300 <= status < 400:
            place = headers.get("location", "another address")
            return EndpointError(
                f"The server sends this address on to {place}.", self.address, "Give that address."
            )
        told = {
            401: "asks for a password, which is not given from here",
            403: "does not let this be asked",
            404: "has no SPARQL endpoint at this address",
            405: "does not take queries by POST at this address",
            413: "finds the query or its result too large",
            429: "is asked too often",
            503: "is too busy, or ended the query",
        }
        why = told.get(status, f"failed with status {status}")
        detail = "" if said.lstrip().startswith("<") or not said else f": {said}"
        return EndpointError(f"The server {why}{detail}", self.address)


_PLAIN = http.client.HTTPConnection


def _seconds(header: str | None) -> float | None:
    """How long the server asks to wait, where it says so in seconds and not more than ten."""
    if header is None or not header.strip().isdigit() or int(header) > 10:
        return None
    return float(header)


def declared(query: str) -> str:
    """The query under declarations of those known prefixes that it uses."""
    used = set(re.findall(r"\b([a-z]+):", query))
    return "".join(f"PREFIX {p}: <{a}>\n" for p, a in PREFIXES.items() if p in used) + query


# ---- the back end -------------------------------------------------------------------------------


class Endpoint(Snapshot):
    """A snapshot whose store is a server. ``facts`` are those the server holds of itself."""

    def __init__(self, server: Server, lists: Mapping[str, Callable[["Endpoint"], Any]]) -> None:
        self.server = server
        self.place = None
        self.mentions = Mentions()
        self._kept: dict[Any, dict[Any, list[Row]]] = {}
        self._pointwise: dict[tuple[str, str], bool] = {}
        self._times: Counter[str] = Counter()
        self._body = b""
        self.store: Any = Things(self)
        found = self._opened()
        self.facts = _Facts(self, found, lists)

    def _opened(self) -> dict[str, Any]:
        rows = self.rows("SELECT ?f { g:snapshot dcterms:description ?f }")
        index = "ASK { GRAPH g:index { g:snapshot op:key ?version } }"
        self.graphs = bool(self.raw(index))
        if not rows:
            raise EndpointError(*(_split if self.graphs else _nothing)(self.server.address))
        try:
            found: dict[str, Any] = json.loads(rows[0]["f"])
        except ValueError:
            raise EndpointError(*_nothing(self.server.address)) from None
        return found

    def raw(self, query: str, values: Mapping[str, Node] | None = None) -> Any:
        """Run SPARQL on the server; returns pyoxigraph's result, as the local store does."""
        given = {name: (value,) for name, value in (values or {}).items()}
        found = self.found(bound_text(query, given) if given else query)
        if isinstance(found, ox.QuerySolutions) and given:
            self.mentions.add((t for row in self._asked_last() for t in row), len(self._kept))
        return found

    def found(self, query: str) -> Any:
        """Run SPARQL as it is written."""
        media, self._body = self.server.ask(declared(query), f"{_TABLE}, {_GRAPH};q=0.9")
        try:
            if media in (_TABLE, "application/json"):
                return self._asked_last()
            if media == _GRAPH:
                return _graph(self._body)
        except SyntaxError as error:
            raise self._unread(f"damaged: {error}") from None
        raise self._unread(f"of type “{media or 'not said'}”")

    def _asked_last(self) -> Any:
        return ox.parse_query_results(self._body, format=ox.QueryResultsFormat.JSON)

    def _unread(self, why: str) -> EndpointError:
        return EndpointError(
            f"The server's answer is no SPARQL result; it is {why}.",
            self.server.address,
            "Check that the address is that of the SPARQL endpoint itself.",
        )

    def rows(self, query: str, **values: Node) -> list[Row]:
        """Run a SELECT; what is asked of one thing is asked of its likes too, and kept."""
        name = next(iter(values), "")
        kept = self._kept.setdefault((query, tuple(values)), {})
        key = tuple(values.values())
        if key not in kept:
            if len(values) == 1 and kind_of(key[0]) and self._splits(query, name):
                self._rows_of_many(query, name, key[0], kept)
            else:
                kept[key] = list(self._told(self.found(_bound(query, values)), key))
        return [dict(row) for row in kept[key]]

    def _splits(self, query: str, name: str) -> bool:
        if (query, name) not in self._pointwise:
            self._pointwise[query, name] = pointwise(query, name)
        return self._pointwise[query, name]

    def _rows_of_many(self, query: str, name: str, thing: Any, kept: dict[Any, list[Row]]) -> None:
        """Ask about a thing and others met with it; more of them each time."""
        most = steps(self._times[query])
        self._times[query] += 1
        known = {key[0] for key in kept}
        things = self.mentions.near(thing, most, known, alike=True)
        for each in things:
            kept[(each,)] = []
        for row in self._told(self.found(bound_text(query, {name: things})), (query, thing)):
            kept[(ox.NamedNode(widen(row[name])),)].append(row)

    def _told(self, found: Any, origin: Any) -> Iterator[Row]:
        names = [v.value for v in found.variables]
        for solution in found:
            terms = {n: t for n, t in zip(names, solution, strict=True) if t is not None}
            self.mentions.add(terms.values(), origin)
            yield {name: plain(term) for name, term in terms.items()}


def _bound(query: str, values: Mapping[str, Node]) -> str:
    return bound_text(query, {k: (v,) for k, v in values.items()}) if values else query


class Things:
    """What the server holds of single things, fetched many at a time and kept.

    Stands where the local store does for look-ups by subject.
    """

    def __init__(self, endpoint: Endpoint) -> None:
        self._endpoint = endpoint
        self._kept: dict[Any, list[ox.Quad]] = {}
        self._bulky: dict[Any, list[ox.Quad]] = {}
        self._times = 0

    def quads_for_pattern(
        self, subject: Any, predicate: Any, value: Any, graph: Any = None
    ) -> Iterator[ox.Quad]:
        """The quads of one subject, with a predicate, a value and a graph or without."""
        if subject is None:
            raise QueryError("Only look-ups by subject go to a server.", "quads_for_pattern")
        if not isinstance(subject, ox.NamedNode):
            return
        for quad in self._of(subject, predicate):
            if predicate is not None and quad.predicate != predicate:
                continue
            if value is not None and quad.object != value:
                continue
            if graph is None or quad.graph_name == graph:
                yield quad

    def _of(self, subject: ox.NamedNode, predicate: Any) -> list[ox.Quad]:
        if predicate is None or predicate.value in BULKY:
            key = (subject, predicate)
            if key not in self._bulky:
                self._bulky[key] = self._fetched([subject], predicate, bulky=True)
            return self._bulky[key]
        if subject not in self._kept:
            self._fetch(subject)
        return self._kept[subject]

    def _fetch(self, subject: ox.NamedNode) -> None:
        """Fetch a thing, and with it others that were mentioned."""
        mentions = self._endpoint.mentions
        things = mentions.near(subject, wider(self._times), self._kept, alike=False)
        self._times += 1
        for thing in things:
            self._kept[thing] = []
        for quad in self._fetched(things, None, bulky=False):
            self._kept[quad.subject].append(quad)
            mentions.add([quad.object], quad.subject)

    def _fetched(self, subjects: list[ox.NamedNode], predicate: Any, bulky: bool) -> list[ox.Quad]:
        things = " ".join(str(s) for s in subjects)
        which = "" if predicate is None else f"VALUES ?p {{ {predicate} }}"
        if not bulky:
            which = f"FILTER (?p NOT IN ({', '.join(f'<{p}>' for p in sorted(BULKY))}))"
        pattern = "GRAPH ?g { ?s ?p ?o }" if self._endpoint.graphs else "?s ?p ?o"
        query = f"SELECT ?s ?p ?o ?g {{ VALUES ?s {{ {things} }} {pattern} {which} }}"
        return [
            ox.Quad(row["s"], row["p"], row["o"], row["g"] or ox.DefaultGraph())
            for row in self._endpoint.found(query)
        ]


class _Facts(dict[str, Any]):
    """The server's facts; long lists are made when they are first asked for."""

    def __init__(
        self, of: Endpoint, facts: Mapping[str, Any], lists: Mapping[str, Callable[[Endpoint], Any]]
    ) -> None:
        super().__init__(facts)
        self._of = of
        self._lists = lists

    def __missing__(self, key: str) -> Any:
        if key not in self._lists:
            raise KeyError(key)
        self[key] = self._lists[key](self._of)
        return self[key]


def _graph(body: bytes) -> Any:
    """Triples that came back as the local store gives them."""
    store = ox.Store()
    store.bulk_load(body, format=ox.RdfFormat.N_TRIPLES)
    return store.query("CONSTRUCT { ?s ?p ?o } WHERE { ?s ?p ?o }")


def _nothing(address: str) -> tuple[str, str, str]:
    return (
        "The server holds no Opercle knowledge with its inferences.",
        address,
        "Load what “opercle export --to turtle --inferred” writes into its default graph.",
    )


def _split(address: str) -> tuple[str, str, str]:
    return (
        "The server holds the knowledge in named graphs, but its default graph is not their union.",
        address,
        "Turn the union default graph on, or load “export --to turtle --inferred” instead.",
    )
