"""What the dataset is, as VoID and DCAT: counts, licence, vocabularies, forms, version.

Knows: the W3C note "Describing Linked Datasets with the VoID Vocabulary" (3 March 2011) and the
W3C Recommendation DCAT 2 (4 February 2020).
Refuses to know: where it is served; the caller says so.
"""

from collections.abc import Iterator
from typing import Any

import pyoxigraph as ox

from opercle.exports.writing import whole
from opercle.questions.desk import Desk
from opercle.store import beside
from opercle.terms import BASE, PREFIXES, widen

VOID = "http://rdfs.org/ns/void#"
DCAT = "http://www.w3.org/ns/dcat#"
FOAF = "http://xmlns.com/foaf/0.1/"
LICENCE = "https://creativecommons.org/publicdomain/zero/1.0/"
_MEDIA = "https://www.iana.org/assignments/media-types/"
_VOCABULARIES = ("op", "dwc", "skos", "skosxl", "dcterms", "schema")
_DUMPS = {
    "opercle.ttl": ("text/turtle", "the stated facts"),
    "opercle.jsonld": ("application/ld+json", "the stated facts"),
    "opercle.nq": ("application/n-quads", "the stated facts, each in the graph of its file"),
    "opercle-skos.ttl": ("text/turtle", "taxa and characters as SKOS"),
    "opercle-dwca.zip": ("application/zip", "a Darwin Core archive"),
}
_PREFIXES = {
    **{k: PREFIXES[k] for k in ("op", "dwc", "skos", "skosxl", "dcterms", "rdf", "xsd", "owl")},
    "void": VOID,
    "dcat": DCAT,
    "foaf": FOAF,
}


def turtle(desk: Desk, base: str = BASE, *, served: bool = True, dumps: bool = False) -> bytes:
    """The description as Turtle. ``base`` is the address of the server, with its last slash.

    ``served`` tells of a SPARQL endpoint at ``base``; ``dumps`` of the files of ``export`` there.
    """
    found = sorted(set(triples(desk, base, served, dumps)), key=str)
    made: Any = ox.serialize(found, format=ox.RdfFormat.TURTLE, prefixes=_PREFIXES)
    return bytes(made)


def write(desk: Desk, path: str) -> dict[str, int]:
    """Write the description of what ``export`` writes, with addresses beside the file itself."""
    found = sorted(set(triples(desk, BASE, served=False, dumps=True)), key=str)
    with whole(path) as file:
        ox.serialize(found, file, format=ox.RdfFormat.TURTLE, prefixes=_PREFIXES)
    return {"triples": len(found)}


def triples(desk: Desk, base: str, served: bool, dumps: bool) -> Iterator[ox.Triple]:
    """All that is said of the dataset, in no order."""
    it = ox.NamedNode(base + "dataset")
    yield from _heading(desk, it)
    yield from _counts(desk, it)
    for name in _VOCABULARIES:
        yield _t(it, VOID + "vocabulary", ox.NamedNode(PREFIXES[name]))
    for name in ("taxon", "name", "water", "place", "character", "source", "statement"):
        part = ox.NamedNode(f"{base}dataset/{name}")
        yield _t(it, VOID + "subset", part)
        yield _t(part, _RDF + "type", ox.NamedNode(VOID + "Dataset"))
        yield _t(part, VOID + "uriSpace", ox.Literal(f"{BASE}{name}/"))
    for example in ("Micropterus", "Lepomis"):
        yield _t(it, VOID + "exampleResource", ox.NamedNode(PREFIXES["t"] + example))
    if served:
        yield from _endpoint(it, base)
    if dumps:
        yield from _dumps(it, base)


def _heading(desk: Desk, it: ox.NamedNode) -> Iterator[ox.Triple]:
    facts = desk.snapshot.facts
    yield _t(it, _RDF + "type", ox.NamedNode(VOID + "Dataset"))
    yield _t(it, _RDF + "type", ox.NamedNode(DCAT + "Dataset"))
    told = "Opercle: names, families, characters and waters of fishes, with their sources"
    yield _t(it, _DC + "title", ox.Literal(told, language="en"))
    packs = facts.get("packs") or []
    more = f" Local packs laid over it: {', '.join(packs)}." if packs else ""
    says = (
        "Facts of fishes, each cited from a source and marked as read there or recalled from "
        f"memory, and what rules derive from them.{more}"
    )
    yield _t(it, _DC + "description", ox.Literal(says, language="en"))
    yield _t(it, _DC + "license", ox.NamedNode(LICENCE))
    for word in ("fishes", "taxonomy", "common names", "identification"):
        yield _t(it, DCAT + "keyword", ox.Literal(word, language="en"))
    yield _t(it, PREFIXES["owl"] + "versionInfo", ox.Literal(str(facts["version"])))
    if facts.get("hash"):
        yield _t(it, _DC + "identifier", ox.Literal(str(facts["hash"])))


def _counts(desk: Desk, it: ox.NamedNode) -> Iterator[ox.Triple]:
    facts = desk.snapshot.facts
    yield _t(it, VOID + "triples", _whole(facts["stated"] + facts["derived"]))
    for name, key in (("stated", "stated"), ("derived", "derived")):
        part = ox.NamedNode(f"{it.value}/{name}")
        yield _t(it, VOID + "subset", part)
        yield _t(part, _RDF + "type", ox.NamedNode(VOID + "Dataset"))
        yield _t(part, _DC + "title", ox.Literal(f"{name} triples", language="en"))
        yield _t(part, VOID + "triples", _whole(facts[key]))
    entities = 0
    for row in desk.snapshot.rows(beside(__file__, "classes")):
        kind = row["class"].partition(":")[2]
        part = ox.NamedNode(f"{it.value}/class/{kind}")
        yield _t(it, VOID + "classPartition", part)
        yield _t(part, VOID + "class", ox.NamedNode(widen(row["class"])))
        yield _t(part, VOID + "entities", _whole(row["n"]))
        entities += row["n"]
    yield _t(it, VOID + "entities", _whole(entities))


def _endpoint(it: ox.NamedNode, base: str) -> Iterator[ox.Triple]:
    endpoint = ox.NamedNode(base + "sparql")
    service = ox.NamedNode(base + "dataset/service")
    yield _t(it, VOID + "sparqlEndpoint", endpoint)
    yield _t(service, _RDF + "type", ox.NamedNode(DCAT + "DataService"))
    yield _t(service, DCAT + "endpointURL", endpoint)
    yield _t(service, DCAT + "servesDataset", it)
    title = ox.Literal("SPARQL 1.1 Protocol, read-only", language="en")
    yield _t(service, _DC + "title", title)


def _dumps(it: ox.NamedNode, base: str) -> Iterator[ox.Triple]:
    for name, (media, what) in _DUMPS.items():
        file = ox.NamedNode(base + name)
        one = ox.NamedNode(f"{it.value}/file/{name}")
        if media != "application/zip":
            yield _t(it, VOID + "dataDump", file)
        yield _t(it, DCAT + "distribution", one)
        yield _t(one, _RDF + "type", ox.NamedNode(DCAT + "Distribution"))
        yield _t(one, _DC + "title", ox.Literal(what, language="en"))
        yield _t(one, _DC + "license", ox.NamedNode(LICENCE))
        yield _t(one, DCAT + "mediaType", ox.NamedNode(_MEDIA + media))
        yield _t(one, DCAT + "downloadURL", file)


_RDF, _DC = PREFIXES["rdf"], PREFIXES["dcterms"]


def _whole(number: int) -> ox.Literal:
    return ox.Literal(str(number), datatype=ox.NamedNode(PREFIXES["xsd"] + "integer"))


def _t(subject: ox.NamedNode, predicate: str, value: Any) -> ox.Triple:
    return ox.Triple(subject, ox.NamedNode(predicate), value)
