"""Every shape and every check has a fault file that makes exactly it bite."""

import glob
import os
import sys

import pyoxigraph as ox
import pytest

from opercle import assets, check

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, HERE)
import reference  # noqa: E402  (a helper beside the tests)

ROOT = assets.folder("ontology")
UNDER = [os.path.join(ROOT, "opercle.ttl"), os.path.join(ROOT, "borrowed.ttl")]
FAULTS = {os.path.basename(path)[:-4]: path for path in sorted(glob.glob(f"{HERE}/*.ttl"))}
BASE = "https://opercle.example/"
PART = ("characters.ttl", "taxa/ambloplites.ttl", "taxa/moronidae.ttl", "taxa/micropterus.ttl")


def shapes() -> dict[str, check.Query]:
    return {query.shape: query for query in check.queries(ox.Store())}


def test_every_shape_has_a_fault_file_and_every_fault_file_a_shape() -> None:
    assert set(shapes()) == set(FAULTS)


def test_the_vocabulary_alone_keeps_the_shapes() -> None:
    assert check.findings(check.ground([], UNDER)) == []


@pytest.mark.parametrize("shape", FAULTS)
def test_a_fault_file_makes_just_its_own_shape_bite(shape: str) -> None:
    found = check.findings(check.ground([FAULTS[shape]], UNDER))
    assert {finding.shape for finding in found} == {shape}
    assert all(finding.file == FAULTS[shape] for finding in found)
    assert all(finding.line for finding in found)


@pytest.mark.parametrize("shape", FAULTS)
def test_a_message_says_what_is_wrong_and_then_what_to_do(shape: str) -> None:
    query = shapes()[shape]
    wrong, _, remedy = query.says.partition(". ")
    assert wrong
    assert remedy.rstrip().endswith((".", ")."))
    assert query.cites
    if shape.startswith("code-"):
        assert "(the Code, article" in query.says
        assert "International Code of Zoological Nomenclature" in query.cites


def test_a_shape_on_the_code_says_its_number_in_its_name() -> None:
    for shape, query in shapes().items():
        if shape.startswith("code-"):
            assert shape.split("-")[1] in query.cites.replace(".", " ").replace(",", " ").split()


def apart() -> ox.Store:
    """All fault files in one store, each with addresses and names of its own."""
    store = check.ground([], UNDER).store
    for number, (shape, path) in enumerate(FAULTS.items()):
        mark = chr(97 + number // 26) + chr(97 + number % 26)
        for quad in ox.parse(path=path, format=ox.RdfFormat.TURTLE):
            subject, value = _own(quad.subject, shape, mark), _own(quad.object, shape, mark)
            store.add(ox.Quad(subject, quad.predicate, value))
    return store


def _own(term: object, shape: str, mark: str) -> object:
    if isinstance(term, ox.NamedNode) and term.value.startswith(BASE):
        return (
            term if term.value.startswith(BASE + "ns#") else ox.NamedNode(f"{term.value}.{shape}")
        )
    if isinstance(term, ox.Literal) and not term.language:
        told = term.value
        for word in ("Fict", "Pisces", "Alii", "Perca"):
            told = told.replace(word, word + mark)
        return ox.Literal(told, datatype=term.datatype)
    return term


def test_pyshacl_and_rdflib_find_the_same_in_every_fault_file() -> None:
    store = apart()
    found = check.breaches(store)
    assert {breach.shape for breach in found} == set(FAULTS)
    assert found == reference.breaches(store)


def test_pyshacl_and_rdflib_find_the_same_in_a_part_of_the_real_knowledge() -> None:
    part = [os.path.join(ROOT, *name.split("/")) for name in PART]
    store = check.ground([], [*UNDER, *part]).store
    found = check.breaches(store)
    assert found == reference.breaches(store)
