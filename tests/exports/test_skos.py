"""SKOS: what it says it carries, and the integrity conditions of the Recommendation of 2009."""

from collections import Counter

import pytest
import rdflib
from rdflib import RDF, SKOS

from opercle.terms import PREFIXES

XL = rdflib.Namespace(PREFIXES["skosxl"])


@pytest.fixture(scope="module")
def read(know, out, shared_held):
    know.export("skos", str(out / "skos.ttl"))
    return rdflib.Graph().parse(out / "skos.ttl")


def rows(desk, query):
    return [tuple(r.values()) for r in desk.snapshot.rows(query)]


def wide(name):
    prefix, local = name.split(":", 1)
    return rdflib.URIRef(PREFIXES[prefix] + local)


def test_every_taxon_is_a_concept_under_its_parent(read, desk):
    taxa = {wide(t) for (t,) in rows(desk, "SELECT DISTINCT ?t { ?t dwc:taxonRank ?r }")}
    scheme = rdflib.URIRef("https://opercle.example/scheme/taxa")
    assert set(read.subjects(SKOS.inScheme, scheme)) == taxa
    pairs = {(wide(t), wide(p)) for t, p in rows(desk, "SELECT ?t ?p { ?t op:parentTaxon ?p }")}
    assert {(s, o) for s, o in read.subject_objects(SKOS.broader) if s in taxa} == pairs


def test_every_name_use_that_is_not_doubted_gives_its_label(read, desk):
    found = desk.snapshot.raw(
        "SELECT DISTINCT ?t ?f { ?u op:means ?t ; op:name/skosxl:literalForm ?f . "
        "?t dwc:taxonRank ?r MINUS { ?u op:doubted ?why } }"
    )
    held = {(rdflib.URIRef(r["t"].value), r["f"].value, r["f"].language) for r in found}
    carried = {
        (s, str(o), o.language)
        for p in (SKOS.prefLabel, SKOS.altLabel, SKOS.hiddenLabel)
        for s, o in read.subject_objects(p)
        if str(s).startswith(PREFIXES["t"])
    }
    assert carried == held


def test_a_concept_has_one_preferred_label_a_language(read):
    """S14."""
    many = Counter((s, o.language) for s, o in read.subject_objects(SKOS.prefLabel))
    assert max(many.values()) == 1


def test_no_label_is_of_two_kinds(read):
    """S13."""
    kinds = [
        set(read.subject_objects(p)) for p in (SKOS.prefLabel, SKOS.altLabel, SKOS.hiddenLabel)
    ]
    assert not kinds[0] & kinds[1]
    assert not (kinds[0] | kinds[1]) & kinds[2]


@pytest.mark.parametrize("kind", ["prefLabel", "altLabel", "hiddenLabel"])
def test_each_xl_label_entails_a_plain_one(read, kind):
    """S55 to S57: skosxl:prefLabel then skosxl:literalForm gives skos:prefLabel, and so on."""
    pairs = list(read.subject_objects(XL[kind]))
    assert pairs
    for concept, label in pairs:
        (form,) = read.objects(label, XL.literalForm)
        assert (concept, SKOS[kind], form) in read


def test_broader_has_no_circle_and_tops_have_none(read):
    above = {s: set(read.objects(s, SKOS.broader)) for s in read.subjects(RDF.type, SKOS.Concept)}
    for concept, first in above.items():
        seen, at = {concept}, set(first)
        while at:
            assert not at & seen
            seen |= at
            at = {a for x in at for a in above[x]}
    tops = set(read.subjects(SKOS.topConceptOf, None))
    assert tops == {c for c, up in above.items() if not up}


def test_characters_have_their_states_beneath_them(read, desk):
    pairs = {(wide(s), wide(c)) for c, s in rows(desk, "SELECT ?c ?s { ?c op:hasState ?s }")}
    assert pairs
    below = {(s, o) for s, o in read.subject_objects(SKOS.broader) if "/character/" in str(s)}
    assert below == pairs
