"""The W3C's protocol tests for queries, asked of our endpoint.

The names of the tests are those of the manifest of the SPARQL 1.1 protocol tests, W3C test suite
data-sparql11/protocol, as carried by the source package of rdflib 7.6.0 (3-clause BSD), which holds
names without requests. The requests are written anew from the Recommendation SPARQL 1.1 Protocol,
21 March 2013, sections 2.1 to 2.1.7; the graphs that they suppose lie ready under our addresses.

Exceptions: the fourteen tests of updates. This endpoint takes none, so instead each is asked and
must be refused with a status of 4xx. Nothing else is left out.
"""

import threading
import time
from types import SimpleNamespace

import httpx
import pyoxigraph as ox
import pytest
import uvicorn
from starlette.applications import Starlette
from starlette.routing import Route

from opercle.faces.web import sparql
from opercle.faces.web.pool import Limits, Pool

G = [f"http://example.org/data{n}" for n in range(4)]
ASK = "ASK {}"
BOTH = f"ASK {{ <{G[1]}> a ?type . <{G[2]}> a ?type }}"
NAMED = f"ASK {{ GRAPH ?g1 {{ <{G[1]}> a ?type }} GRAPH ?g2 {{ <{G[2]}> a ?type }} }}"
FULL = (
    f"ASK {{ <{G[3]}> a ?type GRAPH ?g1 {{ <{G[1]}> a ?type }} GRAPH ?g2 {{ <{G[2]}> a ?type }} }}"
)
FORM, DIRECT, UPDATE = (
    {"Content-Type": f"application/{kind}"}
    for kind in ("x-www-form-urlencoded", "sparql-query", "sparql-update")
)
TABLES = ("xml", "json", "text/csv", "text/tab-separated-values")
GRAPHS = ("application/rdf+xml", "text/turtle", "application/n-triples")


def _default(*numbers):
    return [("default-graph-uri", G[n]) for n in numbers]


def _named(*numbers):
    return [("named-graph-uri", G[n]) for n in numbers]


def _direct(query, pairs=()):
    return {"method": "POST", "params": list(pairs), "content": query, "headers": DIRECT}


def _get(query, pairs=()):
    return {"method": "GET", "params": [("query", query), *pairs]}


TRUE = {
    "query_post_form": {"method": "POST", "data": {"query": ASK}},
    "query_dataset_default_graphs_get": _get(BOTH, _default(1, 2)),
    "query_dataset_default_graphs_post": _direct(BOTH, _default(1, 2)),
    "query_dataset_named_graphs_post": _direct(NAMED, _named(1, 2)),
    "query_dataset_named_graphs_get": _get(NAMED, _named(1, 2)),
    "query_dataset_full": _direct(FULL, [*_default(3), *_named(1, 2)]),
    "query_multiple_dataset": _direct(NAMED.replace("ASK", f"ASK FROM <{G[3]}>"), _named(1, 2)),
    "query_get": _get(ASK),
    "query_post_direct": _direct(ASK),
}
FORMS = {
    "query_content_type_select": ("SELECT (1 AS ?value) {}", TABLES),
    "query_content_type_ask": (ASK, TABLES[:2]),
    "query_content_type_describe": (f"DESCRIBE <{G[0]}>", GRAPHS),
    "query_content_type_construct": ("CONSTRUCT { <s> <p> 1 } WHERE {}", GRAPHS),
}
WRONG = {
    "bad_query_method": {"method": "PUT", "params": {"query": ASK}},
    "bad_multiple_queries": {"method": "GET", "params": [("query", ASK), ("query", "SELECT * {}")]},
    "bad_query_wrong_media_type": {
        "method": "POST",
        "content": ASK,
        "headers": {"Content-Type": "text/plain"},
    },
    "bad_query_missing_form_type": {"method": "POST", "content": "query=ASK%20%7B%7D"},
    "bad_query_missing_direct_type": {"method": "POST", "content": ASK},
    "bad_query_non_utf8": {
        "method": "POST",
        "content": ASK.encode("utf-16"),
        "headers": {"Content-Type": "application/sparql-query; charset=UTF-16"},
    },
    "bad_query_syntax": _get("ASK {"),
}
CLEAR, GRAPH_URI = "CLEAR ALL", ("using-graph-uri", G[1])
UPDATES = {
    "update_dataset_default_graph": {"method": "POST", "params": [GRAPH_URI], "content": CLEAR},
    "update_dataset_default_graphs": {
        "method": "POST",
        "data": {"update": CLEAR, "using-graph-uri": G[1:3]},
    },
    "update_dataset_named_graphs": {
        "method": "POST",
        "data": {"update": CLEAR, "using-named-graph-uri": G[1:3]},
    },
    "update_dataset_full": {
        "method": "POST",
        "data": {"update": CLEAR, "using-graph-uri": G[1], "using-named-graph-uri": G[2]},
    },
    "update_post_form": {"method": "POST", "data": {"update": CLEAR}},
    "update_post_direct": {"method": "POST", "content": CLEAR, "headers": UPDATE},
    "update_base_uri": {"method": "POST", "content": "CLEAR GRAPH <x>", "headers": UPDATE},
    "bad_update_get": {"method": "GET", "params": {"update": CLEAR}},
    "bad_multiple_updates": {"method": "POST", "data": {"update": [CLEAR, CLEAR]}},
    "bad_update_wrong_media_type": {
        "method": "POST",
        "content": CLEAR,
        "headers": {"Content-Type": "text/plain"},
    },
    "bad_update_missing_form_type": {"method": "POST", "content": "update=CLEAR%20ALL"},
    "bad_update_non_utf8": {
        "method": "POST",
        "content": CLEAR.encode("utf-16"),
        "headers": UPDATE,
    },
    "bad_update_syntax": {"method": "POST", "content": "CLEAR {", "headers": UPDATE},
    "bad_update_dataset_conflict": {
        "method": "POST",
        "data": {"update": f"WITH <{G[1]}> DELETE {{}} WHERE {{}}", "using-graph-uri": G[2]},
    },
}


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    """A client of an endpoint in which the graphs of the tests lie ready."""
    place = str(tmp_path_factory.mktemp("protocol"))
    store = ox.Store(place)
    kind = ox.NamedNode("http://www.w3.org/1999/02/22-rdf-syntax-ns#type")
    document = ox.NamedNode("http://xmlns.com/foaf/0.1/Document")
    for name in map(ox.NamedNode, G):
        store.add(ox.Quad(name, kind, document, name))
    store.flush()
    del store
    app = Starlette(routes=[Route("/sparql", sparql.endpoint, methods=["GET", "POST", "OPTIONS"])])
    app.state.pool, app.state.hash = Pool(place, Limits(seconds=5, workers=2)), "test"
    app.state.know = SimpleNamespace()
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="error", ws="none"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    port = server.servers[0].sockets[0].getsockname()[1]
    with httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=20) as one:
        yield one
    server.should_exit = True
    thread.join(10)
    app.state.pool.close()


def test_every_test_of_the_suite_is_asked():
    asked = [*TRUE, *FORMS, *WRONG, *UPDATES]
    assert len(asked) == len(set(asked)) == 34


@pytest.mark.parametrize("name", TRUE)
def test_a_query_is_true_over_the_graphs_that_the_protocol_names(client, name):
    reply = client.request(url="/sparql", **TRUE[name])
    assert reply.status_code == 200, reply.text
    assert reply.json()["boolean"] is True


@pytest.mark.parametrize("name", FORMS)
def test_a_result_comes_in_a_form_that_suits_its_kind(client, name):
    query, forms = FORMS[name]
    reply = client.request(url="/sparql", **_direct(query, _default(0)))
    assert reply.status_code == 200, reply.text
    assert any(form in reply.headers["content-type"] for form in forms)


@pytest.mark.parametrize("name", WRONG)
def test_a_request_that_is_no_query_is_the_clients_error(client, name):
    assert client.request(url="/sparql", **WRONG[name]).status_code // 100 == 4


@pytest.mark.parametrize("name", UPDATES)
def test_an_update_is_refused_whatever_its_form_and_changes_nothing(client, name):
    assert client.request(url="/sparql", **UPDATES[name]).status_code // 100 == 4
    assert client.request(url="/sparql", **_get(BOTH)).json()["boolean"] is True
