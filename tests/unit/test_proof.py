"""Proofs: from a derived triple down to stated facts."""

import pyoxigraph as ox
import pytest

from opercle import rules
from opercle.proof import Prover
from opercle.store import Snapshot
from opercle.terms import PREFIXES, widen
from opercle.wording import Words


def triple(s, p, o):
    return ox.Triple(*(ox.NamedNode(widen(x)) for x in (s, p, o)))


def prover(turtle, ids=None):
    """A prover over a small graph worked through the real rules, or some of them."""
    store, graph = ox.Store(), ox.NamedNode(PREFIXES["g"] + "given.ttl")
    head = "".join(f"@prefix {p}: <{iri}> .\n" for p, iri in PREFIXES.items())
    for quad in ox.parse((head + turtle).encode(), format=ox.RdfFormat.TURTLE):
        store.add(ox.Quad(*quad.triple, graph))
    book = [r for r in rules.read_all() if ids is None or r.id in ids]
    rules.run(store, book)
    facts = {"rules": [r._asdict() for r in book], "keys": []}
    snapshot = Snapshot(store, facts, None)
    return Prover(snapshot, Words(snapshot))


FAMILY = """
t:Perca-fluviatilis a dwc:Taxon ; dwc:taxonRank "species" .
t:Perca a dwc:Taxon ; dwc:taxonRank "genus" .
t:Percidae a dwc:Taxon ; dwc:taxonRank "family" .
src:book a op:Source ; dcterms:creator "Somebody, A." ; dcterms:date "1999" .
cite:one a op:Citation ; dcterms:source src:book ; schema:pagination "12" ; op:basis op:read .
s:p1 a op:Placement ; op:about t:Perca-fluviatilis ; op:within t:Perca ;
  op:followed true ; op:citation cite:one .
s:p2 a op:Placement ; op:about t:Perca ; op:within t:Percidae ;
  op:followed true ; op:citation cite:one .
"""


def every(step):
    yield step
    for premise in step.premises:
        yield from every(premise)


def test_the_leaves_of_a_proof_are_stated_facts():
    step = prover(FAMILY).prove(triple("t:Perca-fluviatilis", "op:inFamily", "t:Percidae"))
    assert step.rule == "in-family"
    assert step.leaves()
    assert {leaf.rule for leaf in step.leaves()} == {None}
    assert {leaf.file for leaf in step.leaves()} == {"given.ttl"}


def test_every_step_that_is_no_leaf_has_a_rule_a_principle_and_premises():
    step = prover(FAMILY).prove(triple("t:Perca-fluviatilis", "op:inFamily", "t:Percidae"))
    derived = [s for s in every(step) if s.rule]
    assert len(derived) >= 4
    assert all(s.premises and s.principle and s.citation is None for s in derived)


def test_a_leaf_that_is_a_statement_carries_its_citation():
    step = prover(FAMILY).prove(triple("t:Perca", "op:parentTaxon", "t:Percidae"))
    cited = [leaf.citation for leaf in step.leaves() if leaf.citation]
    assert {(c.source, c.page, c.basis) for c in cited} == {("Somebody 1999", "12", "read")}


def test_a_stated_triple_is_its_own_proof():
    step = prover(FAMILY).prove(triple("s:p1", "op:within", "t:Perca"))
    assert step.rule is None
    assert step.premises == ()


def test_a_triple_that_does_not_follow_has_no_proof():
    assert prover(FAMILY).prove(triple("t:Percidae", "op:inFamily", "t:Perca")) is None


def test_a_triple_about_nothing_known_has_no_proof():
    assert prover(FAMILY).prove(triple("t:Nobody", "op:inFamily", "t:Nowhere")) is None


def test_the_proof_of_a_recursive_rule_ends():
    chain = "".join(f"t:a{i} op:parentTaxon t:a{i + 1} .\n" for i in range(20))
    step = prover(chain).prove(triple("t:a0", "op:hasAncestor", "t:a20"))
    assert len(step.leaves()) == 20


def test_a_ring_does_not_send_a_proof_round_for_ever():
    ring = "t:a op:parentTaxon t:b .\nt:b op:parentTaxon t:c .\nt:c op:parentTaxon t:a .\n"
    step = prover(ring).prove(triple("t:a", "op:hasAncestor", "t:a"))
    assert step is not None
    assert {leaf.triple[1] for leaf in step.leaves()} == {"op:parentTaxon"}


def test_in_a_ring_what_does_not_follow_is_given_up():
    ring = "t:a op:parentTaxon t:b .\nt:b op:parentTaxon t:a .\n"
    assert prover(ring).prove(triple("t:a", "op:hasAncestor", "t:z")) is None


NEAREST = """
c:anal-spines op:trust "dependable" .
t:Ambloplites a dwc:Taxon ; dwc:taxonRank "genus" .
s:own a op:CountStatement ; op:about t:Ambloplites ; op:onCharacter c:anal-spines ;
  op:least 5 ; op:most 7 .
s:p a op:Placement ; op:about t:Ambloplites-ariommus ; op:within t:Ambloplites ; op:followed true .
"""


def test_what_is_assumed_because_nothing_says_otherwise_is_told_as_a_guard():
    step = prover(NEAREST).prove(triple("t:Ambloplites-ariommus", "op:goesBy", "s:own"))
    assert step.rule == "goes-by-nearest"
    assert step.unless == ("t:Ambloplites-ariommus has a statement of its own on c:anal-spines",)


def test_a_guard_that_is_broken_leaves_no_proof():
    own = NEAREST + (
        "s:nearer a op:CountStatement ; op:about t:Ambloplites-ariommus ; "
        "op:onCharacter c:anal-spines ; op:least 6 ; op:most 7 .\n"
    )
    asked = triple("t:Ambloplites-ariommus", "op:goesBy", "s:own")
    assert prover(own).prove(asked) is None


def test_a_guard_on_what_is_asked_alone_is_kept_to():
    """Both statements are given by the question, so the guard has nothing else to share."""
    said = """
    c:edge op:trust "dependable" .
    s:a op:onCharacter c:edge ; op:state c:edge_plain , c:edge_toothed .
    s:b op:onCharacter c:edge ; op:state c:edge_plain .
    s:d op:onCharacter c:edge ; op:state c:edge_smooth .
    """
    held = prover(said)
    assert held.prove(triple("s:a", "op:cannotMeet", "s:b")) is None
    assert held.prove(triple("s:a", "op:cannotMeet", "s:d")).rule == "states-part"


def test_a_rule_that_is_not_kept_is_worked_out_when_asked():
    water = """
    w:White-River op:waterKind "river" . w:Upper-White-River op:partOf w:White-River .
    s:a a op:RangeStatement ; op:about t:Ambloplites-constellatus ; op:where w:White-River ;
      op:presence op:native .
    """
    step = prover(water).prove(
        triple("t:Ambloplites-constellatus", "op:nativeTo", "w:Upper-White-River")
    )
    assert step.rule == "native-downstream"
    assert len(step.unless) == 2
    assert {leaf.rule for leaf in step.leaves()} == {None}


def test_a_value_made_by_a_rule_is_proved_with_the_value_asked_for_and_no_other():
    turtle = """
    n:x a op:ScientificName ; op:authors "Linnaeus" ; op:year 1758 ;
      op:genusPart "Perca" ; op:originalGenus "Perca" .
    s:x a op:NameUse ; op:name n:x ; op:means t:x ; op:kind op:scientific ; op:followed true .
    """
    held = prover(turtle)
    about, told = ox.NamedNode(widen("t:x")), ox.NamedNode(widen("dwc:scientificNameAuthorship"))
    assert held.prove(ox.Triple(about, told, ox.Literal("Linnaeus, 1758"))).rule == "author-plain"
    assert held.prove(ox.Triple(about, told, ox.Literal("(Linnaeus, 1758)"))) is None


@pytest.mark.parametrize(
    ("predicate", "most"),
    [("inFamily", 40), ("goesBy", 40), ("misleadsAbout", 40), ("gathers", 20), ("reaches", 20)],
)
def test_a_sample_of_all_that_was_derived_can_be_proved_down_to_stated_facts(desk, predicate, most):
    node = ox.NamedNode(PREFIXES["op"] + predicate)
    found = [
        q.triple
        for q in desk.snapshot.store.quads_for_pattern(None, node, None)
        if q.graph_name.value.startswith(PREFIXES["r"])
    ]
    assert found
    for one in sorted(found, key=str)[:: max(1, len(found) // most)]:
        step = desk.prover.prove(one)
        assert step is not None, f"no proof of {one}"
        assert all(leaf.rule is None and leaf.file for leaf in step.leaves())


def test_a_proof_is_the_same_each_time_it_is_asked_for(desk):
    asked = triple("t:Ambloplites-rupestris", "op:inFamily", "t:Centrarchidae")
    assert desk.prover.prove(asked) == desk.prover.prove(asked)
