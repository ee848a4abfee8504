"""The description of the dataset says what is held (VoID note of 2011, DCAT 2)."""

import pytest
import rdflib
from rdflib.namespace import DCAT, DCTERMS, RDF, VOID

from opercle.exports import void
from opercle.terms import PREFIXES

BASE = "http://127.0.0.1:8000/"


# rdflib's own reader of JSON-LD still uses a class that rdflib calls deprecated.
pytestmark = pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated")


def described(desk):
    text = void.turtle(desk, BASE, served=True, dumps=True)
    return rdflib.Graph().parse(data=text), rdflib.URIRef(BASE + "dataset")


def test_it_counts_what_is_held(desk):
    read, it = described(desk)
    facts = desk.snapshot.facts
    assert read.value(it, VOID.triples).toPython() == facts["stated"] + facts["derived"]
    for part in read.objects(it, VOID.classPartition):
        kind = read.value(part, VOID["class"])
        query = f"SELECT (COUNT(DISTINCT ?x) AS ?n) {{ ?x a <{kind}> }}"
        assert read.value(part, VOID.entities).toPython() == desk.snapshot.rows(query)[0]["n"]
    assert len(list(read.objects(it, VOID.classPartition))) > 20


def test_it_names_licence_version_snapshot_vocabularies_and_endpoint(desk):
    read, it = described(desk)
    assert "zero" in str(read.value(it, DCTERMS.license))
    assert str(read.value(it, DCTERMS.identifier)) == desk.snapshot.facts["hash"]
    assert str(read.value(it, rdflib.OWL.versionInfo)) == desk.snapshot.facts["version"]
    assert read.value(it, VOID.sparqlEndpoint) == rdflib.URIRef(BASE + "sparql")
    used = {str(v) for v in read.objects(it, VOID.vocabulary)}
    assert {PREFIXES["dwc"], PREFIXES["skosxl"], PREFIXES["op"]} <= used
    assert len(list(read.subjects(RDF.type, DCAT.Distribution))) == 5


def test_each_vocabulary_is_used_and_each_example_held(desk):
    read, it = described(desk)
    for vocabulary in read.objects(it, VOID.vocabulary):
        assert desk.snapshot.ask(f'ASK {{ ?s ?p ?o FILTER STRSTARTS(STR(?p), "{vocabulary}") }}')
    for example in read.objects(it, VOID.exampleResource):
        assert desk.snapshot.ask(f"ASK {{ <{example}> ?p ?o }}")


def test_it_is_written_by_export(know, out):
    answer = know.export("void", str(out))
    assert len(rdflib.Graph().parse(answer.fields["files"][0])) == answer.fields["wrote"]["triples"]


def test_the_server_gives_it_at_its_known_address_with_the_context(site):
    """The conformance of the address is section 7.2 of the VoID note."""
    import httpx

    reply = httpx.get(f"{site}/.well-known/void", headers={"Accept": "text/turtle"})
    read = rdflib.Graph().parse(data=reply.text, format="turtle")
    (endpoint,) = read.objects(None, VOID.sparqlEndpoint)
    assert str(endpoint) == f"{site}/sparql"
    assert httpx.get(str(endpoint), params={"query": "ASK { ?s ?p ?o }"}).json()["boolean"] is True
    tag = {"If-None-Match": reply.headers["etag"]}
    assert httpx.get(f"{site}/.well-known/void", headers=tag).status_code == 304
    jsonld = httpx.get(f"{site}/.well-known/void", headers={"Accept": "application/ld+json"})
    assert len(rdflib.Graph().parse(data=jsonld.text, format="json-ld")) == len(read)
    assert httpx.get(f"{site}/.well-known/void", headers={"Accept": "text/css"}).status_code == 406
    given = httpx.get(f"{site}/context.jsonld")
    assert given.headers["content-type"] == "application/ld+json"
    assert given.json()["@context"]["op"] == PREFIXES["op"]
