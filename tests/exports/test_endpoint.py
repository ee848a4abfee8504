"""The same questions against servers in processes of their own give the same answers: a plain
Protocol server of a few lines, with N-Quads and with Turtle, and our own `opercle serve`."""

import os
import re
import socket
import subprocess
import sys
import threading
import time
from contextlib import contextmanager

import pyoxigraph as ox
import pytest

from opercle import Knowledge, batches
from opercle.errors import EndpointError, QueryError, UnknownError, UsageError
from opercle.faces import cli
from opercle.terms import PREFIXES

PLAIN = os.path.join(os.path.dirname(__file__), "plain_server.py")


@contextmanager
def running(*command):
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        try:
            yield process
        finally:
            process.kill()


@pytest.fixture(scope="module")
def quads(know, out):
    path = str(out / "all.nq")
    know.export("nquads", path, inferred=True)
    with running(sys.executable, PLAIN, path, "union") as process:
        yield f"http://127.0.0.1:{process.stdout.readline().strip()}/sparql"


@pytest.fixture(scope="module")
def triples(know, out):
    path = str(out / "all.ttl")
    know.export("turtle", path, inferred=True)
    with running(sys.executable, PLAIN, path) as process:
        yield f"http://127.0.0.1:{process.stdout.readline().strip()}/sparql"


@pytest.fixture(scope="module")
def served(know):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = str(probe.getsockname()[1])
    know.status()
    with running(sys.executable, "-m", "opercle.faces.cli", "serve", "--port", port):
        for _ in range(300):
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", int(port))) == 0:
                    break
            time.sleep(0.1)
        yield f"http://127.0.0.1:{port}/sparql"


QUESTIONS = {
    "name": lambda k: k.name("redeye bass", water="Coosa"),
    "misspelt": lambda k: k.name("largmouth bas"),
    "really": lambda k: k.really("white perch"),
    "why": lambda k: k.why("largemouth bass", rather_than="Moronidae"),
    "account": lambda k: k.account("Ambloplites"),
    "compare": lambda k: k.compare("rock bass", "warmouth"),
    "identify": lambda k: k.identify(["anal-spines=6"], within="Centrarchidae"),
    "key": lambda k: k.key("Pomoxis"),
    "prove": lambda k: k.prove("t:Micropterus-salmoides", "op:inFamily", "t:Centrarchidae"),
    "status": lambda k: k.status(),
    "map": lambda k: k.draw("shoal bass", kind="map"),
}
MOST_TRIPS = 60


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_server_with_named_graphs_answers_the_same(know, quads, question):
    far = Knowledge(endpoint=quads)
    assert QUESTIONS[question](far).to_dict() == QUESTIONS[question](know).to_dict()
    assert far.desk.snapshot.server.asked <= MOST_TRIPS


@pytest.mark.parametrize("question", ["name", "really", "why", "prove"])
def test_a_server_with_plain_triples_answers_the_same(know, triples, question):
    """Without named graphs the file that a fact comes from is not known; all else is."""
    here, far = (
        QUESTIONS[question](know).to_dict(),
        QUESTIONS[question](Knowledge(endpoint=triples)),
    )
    assert without_files(far.to_dict()) == without_files(here)


def without_files(told):
    if isinstance(told, dict):
        return {k: without_files(v) for k, v in told.items() if k != "file" or v is None}
    return [without_files(v) for v in told] if isinstance(told, (list, tuple)) else told


@pytest.mark.parametrize("question", ["name", "why", "status"])
def test_our_own_server_answers_the_same(know, served, question):
    assert (
        QUESTIONS[question](Knowledge(endpoint=served)).to_dict()
        == QUESTIONS[question](know).to_dict()
    )


def test_a_query_gives_the_same_rows(know, quads):
    far = Knowledge(endpoint=quads)
    select = "SELECT ?t ?n { ?t op:parentTaxon t:Pomoxis ; dwc:scientificName ?n } ORDER BY ?n"
    told = [[str(t) for t in row] for row in know.query(select)]
    assert [[str(t) for t in row] for row in far.query(select)] == told
    assert told
    graph = "CONSTRUCT { ?t a dwc:Taxon } WHERE { ?t op:parentTaxon t:Pomoxis }"
    assert set(far.query(graph)) == set(know.query(graph))
    assert bool(far.query("ASK { t:Pomoxis ?p ?o }"))


def test_an_unknown_name_is_unknown_there_too(know, quads):
    with pytest.raises(UnknownError) as far:
        Knowledge(endpoint=quads).name("zzyzx gudgeonette")
    with pytest.raises(UnknownError) as here:
        know.name("zzyzx gudgeonette")
    assert far.value.nearest == here.value.nearest


def test_the_command_line_takes_the_address(quads, capsys):
    assert cli.main(["really", "white perch", "--endpoint", quads]) == 0
    assert "No" in capsys.readouterr().out


def test_named_graphs_without_a_union_are_told(know, out, quads):
    with running(sys.executable, PLAIN, str(out / "all.nq")) as process:
        address = f"http://127.0.0.1:{process.stdout.readline().strip()}/"
        with pytest.raises(EndpointError, match="not their union"):
            Knowledge(endpoint=address).status()


# ---- what goes wrong on the way --------------------------------------------------------------


@contextmanager
def saying(reply):
    """A server that sends one reply to whatever it is asked, and closes."""
    with socket.create_server(("127.0.0.1", 0)) as listening:

        def serve():
            while True:
                try:
                    client, _ = listening.accept()
                except OSError:
                    return
                with client:
                    client.recv(65536)
                    if reply is None:
                        time.sleep(1.5)
                    else:
                        client.sendall(reply)

        threading.Thread(target=serve, daemon=True).start()
        yield f"http://127.0.0.1:{listening.getsockname()[1]}/sparql"


def http(status, body=b"", media="text/plain", **more):
    lines = "".join(f"{k.replace('_', '-')}: {v}\r\n" for k, v in more.items())
    head = f"HTTP/1.1 {status} x\r\nContent-Type: {media}\r\nContent-Length: {len(body)}\r\n"
    return f"{head}Connection: close\r\n{lines}\r\n".encode() + body


RESULTS = "application/sparql-results+json"


@pytest.mark.parametrize(
    ("reply", "says"),
    [
        (http(404), "no SPARQL endpoint"),
        (http(401), "password"),
        (http(500, b"broken inside"), "status 500: broken inside"),
        (http(503), "too busy"),
        (http(301, Location="https://b.example/sparql"), "on to https://b.example/sparql"),
        (http(200, b"<html>", "text/html"), "no SPARQL result; it is of type “text/html”"),
        (http(200, b'{"head": {"vars": ["f"]}, "resu', RESULTS), "damaged"),
        (http(200, b'{"head": {}, "boolean": true}', RESULTS)[:-9], "broke off"),
        (b"SSH-2.0-server\r\n", "broke off"),
        (None, "did not answer within 0.5 seconds"),
    ],
)
def test_what_the_server_does_wrong_is_told(reply, says):
    with saying(reply) as address, pytest.raises(EndpointError, match=re.escape(says)) as caught:
        Knowledge(endpoint=address, timeout=0.5).status()
    assert caught.value.where == address


def test_a_query_that_the_server_refuses_is_a_query_error():
    with saying(http(400, b"line 1: no")) as address, pytest.raises(QueryError, match="line 1"):
        Knowledge(endpoint=address, timeout=2).status()


def test_a_server_without_the_knowledge_is_told(tmp_path):
    (tmp_path / "other.ttl").write_text("<http://a.example/> a <http://a.example/Thing> .")
    with running(sys.executable, PLAIN, str(tmp_path / "other.ttl")) as process:
        address = f"http://127.0.0.1:{process.stdout.readline().strip()}/"
        with pytest.raises(EndpointError, match="holds no Opercle knowledge") as caught:
            Knowledge(endpoint=address).status()
    assert "--inferred" in caught.value.remedy


def test_nobody_there_is_told_on_the_command_line(capsys):
    assert cli.main(["name", "bass", "--endpoint", "http://127.0.0.1:9/"]) == 4
    assert "cannot be reached" in capsys.readouterr().err


@pytest.mark.parametrize("address", ["127.0.0.1:3030", "ftp://a.example/", "http://", "nonsense"])
def test_what_is_no_address_is_told(address):
    with pytest.raises(UsageError):
        Knowledge(endpoint=address).status()


def test_a_pack_is_not_laid_over_a_server():
    with pytest.raises(UsageError, match="pack"):
        Knowledge(["a.ttl"], endpoint="http://127.0.0.1:9/")


# ---- how values are bound --------------------------------------------------------------------


@pytest.mark.parametrize(
    "value",
    [
        ox.Literal('" } ; DROP ALL #'),
        ox.Literal("a\\b\"c'd\n\t{?x}"),
        ox.Literal("é\u2028", language="fr"),
        ox.Literal("7", datatype=ox.NamedNode(PREFIXES["xsd"] + "integer")),
        ox.NamedNode("http://a.example/?a=(b)#c"),
    ],
)
def test_a_bound_value_stays_a_value(value):
    text = batches.bound_text("SELECT ?v { BIND (?v AS ?w) }", {"v": [value]})
    (row,) = ox.Store().query(text)
    assert row["v"] == value


@pytest.mark.parametrize(
    "query",
    [
        "SELECT ?x ?o { ?x <p:p> ?o }",
        "SELECT ?x ?o { { ?x <p:p> ?o } UNION { ?o <p:q> ?x } }",
        "SELECT ?x ?o { ?o <p:q> ?y . OPTIONAL { ?x <p:p> ?y . FILTER (?x != ?o) } }",
        "SELECT ?x ?n { { SELECT ?x (COUNT(?o) AS ?n) { ?x <p:p> ?o } GROUP BY ?x } }",
        "SELECT ?x ?o { ?x <p:p> ?o MINUS { ?o <p:q> ?x } }",
        "SELECT ?x ?o { ?x <p:p> ?o FILTER NOT EXISTS { ?x <p:q> ?o } }",
        'SELECT ?x ?o { VALUES ?o { <a:1> <a:2> } ?x <p:p> ?o FILTER ("{?x}" != "") } # { ?x }',
    ],
)
def test_many_values_at_once_give_the_rows_of_each(query):
    """Oxigraph's own substitution is the judge of one value, one value the judge of many."""
    store = ox.Store()
    store.load(
        "<a:1> <p:p> <a:2>, <a:3> . <a:2> <p:p> <a:3> ; <p:q> <a:1> . <a:3> <p:q> <a:1>, <a:2> .",
        format=ox.RdfFormat.TURTLE,
    )
    things = [ox.NamedNode(f"a:{n}") for n in (1, 2, 3, 4)]

    def rows(found):
        names = sorted(v.value for v in found.variables)
        return sorted(str([row[n] for n in names]) for row in found)

    each = []
    for thing in things:
        one = rows(store.query(batches.bound_text(query, {"x": [thing]})))
        there = store.query(query, substitutions={ox.Variable("x"): thing})
        assert one == rows(there)
        each += one
    assert batches.pointwise(query, "x")
    assert rows(store.query(batches.bound_text(query, {"x": things}))) == sorted(each)


@pytest.mark.parametrize(
    "query",
    [
        "SELECT ?x ?o { ?x <p:p> ?o } LIMIT 1",
        "SELECT ?x ?n { ?x a ?n { SELECT (COUNT(?o) AS ?n) { ?x <p:p> ?o } } }",
        "SELECT (COUNT(?x) AS ?n) { ?x <p:p> ?o }",
        "ASK { ?x <p:p> ?o }",
    ],
)
def test_what_cannot_be_asked_of_many_is_not(query):
    assert not batches.pointwise(query, "x")
