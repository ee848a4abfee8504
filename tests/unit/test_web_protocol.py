"""The SPARQL endpoint asked by real clients.

Statuses and request forms: W3C Recommendation SPARQL 1.1 Protocol, 21 March 2013, sections 2.1 and
2.1.5 to 2.1.7. Which status a limit gives (413, 503) is our own choice within HTTP (RFC 9110).
"""

import json
import os
import shutil
import socket
import subprocess
import threading
import time

import httpx
import pytest

from opercle.faces.web.worker import judge
from tests.browser.server import TIGHT

ASK = "ASK { t:Ambloplites-rupestris op:inFamily t:Centrarchidae }"
FORM = {"Content-Type": "application/x-www-form-urlencoded"}
DIRECT = {"Content-Type": "application/sparql-query"}
WORDS = "https://opercle.example/graph/ontology/words.ttl"
CHARACTERS = "https://opercle.example/graph/ontology/characters.ttl"


@pytest.fixture(scope="module")
def base(site):
    return site


@pytest.fixture
def client(base):
    with httpx.Client(base_url=base, timeout=30) as one:
        yield one


def test_a_query_is_taken_by_get_by_form_and_directly(client):
    ways = [
        client.get("/sparql", params={"query": ASK}),
        client.post("/sparql", data={"query": ASK}),
        client.post("/sparql", content=ASK, headers=DIRECT),
    ]
    assert [w.status_code for w in ways] == [200, 200, 200]
    assert [w.json()["boolean"] for w in ways] == [True, True, True]


@pytest.mark.parametrize(
    ("accept", "media"),
    [
        ("application/sparql-results+json", "application/sparql-results+json"),
        ("application/sparql-results+xml", "application/sparql-results+xml"),
        ("text/csv", "text/csv; charset=utf-8"),
        ("text/tab-separated-values", "text/tab-separated-values; charset=utf-8"),
        ("text/csv;q=0.2, application/sparql-results+xml;q=0.9", "application/sparql-results+xml"),
        ("*/*", "application/sparql-results+json"),
    ],
)
def test_accept_chooses_the_form_of_a_table_and_wins_over_any_parameter(client, accept, media):
    asked = {"query": "SELECT ?x { ?x a op:GroupWord } LIMIT 1", "format": "turtle"}
    reply = client.get("/sparql", params=asked, headers={"Accept": accept})
    assert reply.headers["content-type"] == media
    assert "opercle.example/word/" in reply.text
    assert "Accept" in reply.headers["vary"]


@pytest.mark.parametrize(
    "media", ["text/turtle", "application/n-triples", "application/rdf+xml", "application/ld+json"]
)
@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated")  # rdflib's own reader
def test_a_graph_comes_in_each_form_and_says_the_same(client, media):
    import rdflib

    asked = {"query": "CONSTRUCT { ?x a op:GroupWord } WHERE { ?x a op:GroupWord }"}
    reply = client.get("/sparql", params=asked, headers={"Accept": media})
    assert reply.headers["content-type"].startswith(media)
    graph = rdflib.Graph().parse(data=reply.text, format=media)
    assert rdflib.URIRef("https://opercle.example/word/perch") in set(graph.subjects())


def test_a_form_that_is_not_offered_is_406(client):
    reply = client.get("/sparql", params={"query": ASK}, headers={"Accept": "image/png"})
    assert reply.status_code == 406


@pytest.mark.parametrize(
    ("status", "method", "options"),
    [
        (400, "GET", {"params": {"query": "SELECT nothing"}}),
        (400, "GET", {"params": [("query", ASK), ("query", ASK)]}),
        (400, "GET", {"params": {"unknown": "x"}}),
        (400, "POST", {"data": {"unknown": "x"}}),
        (400, "POST", {"content": b"ASK { \xff }", "headers": DIRECT}),
        (403, "GET", {"params": {"update": "CLEAR ALL"}}),
        (403, "POST", {"data": {"update": "CLEAR ALL"}}),
        (403, "POST", {"content": "x", "headers": {"Content-Type": "application/sparql-update"}}),
        (405, "PUT", {"params": {"query": ASK}}),
        (415, "POST", {"content": ASK, "headers": {"Content-Type": "text/plain"}}),
        (415, "POST", {"content": "query=" + ASK}),
        (413, "POST", {"content": ASK + " " * 200_000, "headers": DIRECT}),
        (414, "GET", {"params": {"query": ASK + " " * 64_000}}),
        (400, "GET", {"params": {"query": "LOAD <http://127.0.0.1:9/>"}}),
    ],
)
def test_a_request_that_breaks_the_protocol_gets_its_status(client, status, method, options):
    reply = client.request(method, "/sparql", **options)
    assert reply.status_code == status
    assert "Traceback" not in reply.text


def test_graphs_are_named_by_parameter_and_by_from_and_the_parameter_wins(client):
    count = "SELECT (COUNT(*) AS ?n) { ?s a ?c }"

    def told(query, **more):
        reply = client.get("/sparql", params={"query": query, **more})
        assert reply.status_code == 200, reply.text
        return int(reply.json()["results"]["bindings"][0]["n"]["value"])

    words = told(count, **{"default-graph-uri": WORDS})
    characters = told(count, **{"default-graph-uri": CHARACTERS})
    assert 0 < words != characters > 0
    assert told(count.replace("{", f"FROM <{WORDS}> {{", 1)) == words
    both = told(count.replace("{", f"FROM <{WORDS}> {{", 1), **{"default-graph-uri": CHARACTERS})
    assert both == characters
    assert told(count, **{"named-graph-uri": WORDS}) == 0
    named = "SELECT (COUNT(*) AS ?n) { GRAPH ?g { ?s a ?c } }"
    assert told(named, **{"named-graph-uri": WORDS}) == words
    assert told(count) > words + characters


@pytest.mark.parametrize("way", ["default-graph-uri", "named-graph-uri", "FROM", "FROM NAMED"])
def test_a_graph_that_is_not_held_is_refused_by_name(client, way):
    absent = "http://example.org/absent"
    query = ASK.replace("{", f"{way} <{absent}> {{") if "FROM" in way else ASK
    more = {} if "FROM" in way else {way: absent}
    reply = client.get("/sparql", params={"query": query, **more})
    assert reply.status_code == 400
    assert absent in reply.text


def test_without_a_query_the_service_describes_itself(client):
    import rdflib

    reply = client.get("/sparql", headers={"Accept": "text/turtle"})
    graph = rdflib.Graph().parse(data=reply.text, format="turtle")
    sd = rdflib.Namespace("http://www.w3.org/ns/sparql-service-description#")
    assert list(graph.subjects(rdflib.RDF.type, sd.Service))
    assert rdflib.URIRef(WORDS) in set(graph.objects(None, sd.name))


def test_an_answer_that_is_held_already_is_304_until_the_query_changes_by_itself(client):
    first = client.get("/sparql", params={"query": ASK})
    tag = {"If-None-Match": first.headers["etag"]}
    assert client.get("/sparql", params={"query": ASK}, headers=tag).status_code == 304
    as_xml = {**tag, "Accept": "application/sparql-results+xml"}
    assert client.get("/sparql", params={"query": ASK}, headers=as_xml).status_code == 200
    now = client.get("/sparql", params={"query": "SELECT (NOW() AS ?t) {}"})
    assert "etag" not in now.headers


CROSS = "{ ?a ?b ?c . ?d ?e ?f . ?g ?h ?i }"
HOSTILE = {
    "cross product": (f"SELECT * {CROSS}", {413, 503}),
    "count of a cross product": (f"SELECT (COUNT(*) AS ?n) {CROSS}", {503}),
    "order by over it": (f"SELECT * {CROSS} ORDER BY ?c ?f", {503}),
    "20,000 nested parentheses": (
        "ASK { FILTER(" + "(" * 20_000 + "1" + ")" * 20_001 + " }",
        {400},
    ),
    "20,000 nested groups": ("ASK " + "{" * 20_000 + "}" * 20_000, {400}),
    "regular expressions over it": (
        'SELECT (COUNT(*) AS ?n) { ?a ?b ?c . ?d ?e ?f FILTER REGEX(STR(?c), "(a*)*(b*)*$") }',
        {503},
    ),
    "one long string": (
        "SELECT (STRLEN(GROUP_CONCAT(?c)) AS ?n) { ?a ?b ?c . ?d ?e ?f }",
        {503},
    ),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_query_ends_in_a_clear_status_soon_and_others_are_served(client, name):
    query, statuses = HOSTILE[name]
    began = time.monotonic()
    reply = client.post("/sparql", content=query, headers=DIRECT)
    assert time.monotonic() - began < TIGHT.seconds + 2
    assert reply.status_code in statuses
    assert len(reply.text) < 500
    assert client.get("/sparql", params={"query": ASK}).json()["boolean"] is True


def test_service_is_refused_and_nobody_is_called(client):
    with socket.socket() as ear:
        ear.bind(("127.0.0.1", 0))
        ear.listen()
        ear.settimeout(0.5)
        called = f"<http://127.0.0.1:{ear.getsockname()[1]}/>"
        for word in ("SERVICE", "service SILENT", "\\u0053ERVICE"):
            query = f"SELECT * {{ {word} {called} {{ ?s ?p ?o }} }}"
            reply = client.post("/sparql", content=query, headers=DIRECT)
            assert reply.status_code == 400
            assert "SERVICE is not allowed" in reply.text
        with pytest.raises(TimeoutError):
            ear.accept()


def test_honest_queries_are_answered_while_hostile_ones_run(base):
    replies = []

    def hostile():
        text = HOSTILE["count of a cross product"][0]
        replies.append(httpx.post(f"{base}/sparql", content=text, headers=DIRECT, timeout=30))

    threads = [threading.Thread(target=hostile) for _ in range(4)]
    for thread in threads:
        thread.start()
    honest = httpx.get(f"{base}/sparql", params={"query": ASK}, timeout=30)
    page = httpx.get(f"{base}/health", timeout=30)
    for thread in threads:
        thread.join()
    assert honest.status_code == 200
    assert page.status_code == 200
    assert {r.status_code for r in replies} == {503}
    assert all(r.headers["retry-after"] for r in replies)


def test_words_in_strings_comments_addresses_and_names_call_nothing():
    query = (
        '# SERVICE FROM\nSELECT ?service { ?s op:from "SERVICE \\" FROM" ; <urn:SERVICE> ?from }'
    )
    assert judge(query) == {"kind": "select", "service": False, "graphs": []}


def test_the_prefix_of_a_from_is_read_from_the_query():
    seen = judge("PREFIX x: <http://example.org/> ASK FROM x:one FROM NAMED <http://b/> { }")
    assert seen["graphs"] == ["http://example.org/one", "http://b/"]


def test_sparqlwrapper_gets_rows_and_a_graph(base):
    SPARQLWrapper = pytest.importorskip("SPARQLWrapper")
    client = SPARQLWrapper.SPARQLWrapper(f"{base}/sparql")
    client.setQuery("SELECT ?x { ?x a <https://opercle.example/ns#GroupWord> }")
    client.setReturnFormat(SPARQLWrapper.JSON)
    rows = client.queryAndConvert()["results"]["bindings"]
    assert {"type": "uri", "value": "https://opercle.example/word/perch"} in [r["x"] for r in rows]
    client.setMethod(SPARQLWrapper.POST)
    client.setQuery("CONSTRUCT WHERE { <https://opercle.example/word/perch> ?p ?o }")
    client.setReturnFormat(SPARQLWrapper.TURTLE)
    assert b"perch" in client.queryAndConvert()


def test_rdflib_asks_the_endpoint_as_a_store(base):
    import rdflib
    from rdflib.plugins.stores.sparqlstore import SPARQLStore

    graph = rdflib.Graph(SPARQLStore(f"{base}/sparql"))
    perch = rdflib.URIRef("https://opercle.example/word/perch")
    labels = list(graph.objects(perch, rdflib.SKOS.prefLabel))
    assert labels == [rdflib.Literal("perch", lang="en")]


def test_curl_gets_a_table_by_get_and_a_graph_by_post(base):
    curl = shutil.which("curl")
    if curl is None:
        pytest.skip("curl is missing")

    def told(*args):
        done = subprocess.run([curl, "-sS", "--fail", *args], capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        return done.stdout

    rows = told("-G", "-H", "Accept: text/csv", "--data-urlencode",
                "query=SELECT ?x { ?x a op:GroupWord }", f"{base}/sparql")  # fmt: skip
    assert "https://opercle.example/word/perch" in rows.split()
    heads = ("-H", "Content-Type: application/sparql-query", "-H", "Accept: text/turtle")
    query = "CONSTRUCT WHERE { word:perch ?p ?o }"
    graph = told(*heads, "--data-binary", query, f"{base}/sparql")
    assert "skos:prefLabel" in graph


COMUNICA = """
const { QueryEngine } = require("@comunica/query-sparql");
(async () => {
  const sources = [{ type: "sparql", value: process.argv[2] }];
  const engine = new QueryEngine();
  const stream = await engine.queryBindings(process.argv[3], { sources });
  for (const row of await stream.toArray()) console.log(row.get("x").value);
})();
"""


def test_comunica_asks_the_endpoint(base, tmp_path):
    """Node's @comunica/query-sparql (MIT), in the folder that OPERCLE_COMUNICA names.

    tests/clients/package.json says how the folder is made.
    """
    node, place = shutil.which("node"), os.environ.get("OPERCLE_COMUNICA", "")
    if node is None or not os.path.isdir(os.path.join(place, "node_modules", "@comunica")):
        pytest.skip("OPERCLE_COMUNICA names no folder with @comunica/query-sparql, or no node")
    script = tmp_path / "ask.cjs"
    script.write_text(COMUNICA)
    query = (
        "SELECT ?x { ?x a <https://opercle.example/ns#GroupWord> ;"
        ' <http://www.w3.org/2004/02/skos/core#prefLabel> "perch"@en }'
    )
    done = subprocess.run(
        [node, str(script), f"{base}/sparql", query],
        capture_output=True, text=True, timeout=60,
        env={**os.environ, "NODE_PATH": os.path.join(place, "node_modules")},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == ["https://opercle.example/word/perch"]


def test_the_endpoint_is_open_to_other_origins(client):
    reply = client.get("/sparql", params={"query": ASK})
    assert reply.headers["access-control-allow-origin"] == "*"
    assert json.loads(reply.text)["boolean"] is True
