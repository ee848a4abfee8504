"""The closed namespaces of terms.py hold just what ontology/opercle.ttl defines."""

import os

import pyoxigraph as ox
import pytest

from opercle import assets
from opercle.terms import OP, PREFIXES, shorten, widen


@pytest.fixture(scope="module")
def defined():
    path = os.path.join(assets.folder("ontology"), "opercle.ttl")
    with open(path, "rb") as file:
        quads = list(ox.parse(file, format=ox.RdfFormat.TURTLE))
    typed = PREFIXES["rdf"] + "type"
    base = PREFIXES["op"]
    return {
        q.subject.value.removeprefix(base)
        for q in quads
        if q.predicate.value == typed and q.subject.value.startswith(base)
    }


def test_every_term_of_the_code_is_defined_in_the_vocabulary(defined):
    assert sorted(OP.names - defined) == []


def test_every_term_of_the_vocabulary_is_known_to_the_code(defined):
    assert sorted(defined - OP.names) == []


def test_a_mistyped_term_is_an_error():
    with pytest.raises(AttributeError, match="abuot"):
        _ = OP.abuot


def test_a_term_is_the_base_with_its_name():
    assert OP.about == PREFIXES["op"] + "about"


@pytest.mark.parametrize("prefix", sorted(PREFIXES))
def test_an_address_shortened_and_widened_is_the_same(prefix):
    iri = PREFIXES[prefix] + "Perca"
    assert shorten(iri) == f"{prefix}:Perca"
    assert widen(shorten(iri)) == iri


def test_an_address_without_a_prefix_stays_whole():
    assert shorten("https://example.org/x") == "<https://example.org/x>"
    assert (
        widen("<https://example.org/x>")
        == widen("https://example.org/x")
        == "https://example.org/x"
    )


@pytest.mark.parametrize("name", ["nope:Perca", "Perca", ""])
def test_a_name_with_no_known_prefix_is_an_error(name):
    with pytest.raises(ValueError, match="prefix"):
        widen(name)


def test_no_prefix_base_is_the_start_of_a_later_one_so_that_shortening_is_sure():
    bases = list(PREFIXES.values())
    assert [(a, b) for i, a in enumerate(bases) for b in bases[i + 1 :] if b.startswith(a)] == []
