"""The rule and the questions hold the same states apart."""

from itertools import combinations

import pyoxigraph as ox
import pytest

from opercle import rules
from opercle.questions.values import Value
from opercle.terms import PREFIXES, widen

_STATES = """SELECT ?c ?state WHERE {
  ?c op:hasState ?state ; op:trust ?trust . FILTER (?trust != "misleading") }"""


def sets(desk):
    """For each character every set of one or two of its states."""
    by: dict[str, list[str]] = {}
    for row in desk.snapshot.rows(_STATES):
        by.setdefault(row["c"], []).append(row["state"])
    for character, states in by.items():
        for number in (1, 2):
            for some in combinations(sorted(states), number):
                yield character, frozenset(some)


def node(name):
    return ox.NamedNode(widen(name))


@pytest.fixture(scope="module")
def apart(desk):
    """Statements by character and states, and the pairs of them that the rule holds apart."""
    store, said = ox.Store(), {}
    trust = (node("op:trust"), ox.Literal("dependable"), ox.NamedNode(PREFIXES["g"] + "given.ttl"))
    for number, (character, states) in enumerate(sets(desk)):
        said[f"s:x{number}"] = (character, states)
        store.add(ox.Quad(node(character), *trust))
        about = [("op:onCharacter", character), *(("op:state", s) for s in states)]
        for predicate, value in about:
            store.add(ox.Quad(node(f"s:x{number}"), node(predicate), node(value), trust[2]))
    (rule,) = [r for r in rules.read_all() if r.id == "states-part"]
    rules.run(store, [rule._replace(kept=True)])
    found = store.quads_for_pattern(None, node("op:cannotMeet"), None)
    return said, {(q.subject.value, q.object.value) for q in found}


def test_the_rule_holds_apart_just_what_the_questions_hold_apart(apart):
    said, pairs = apart
    assert len(said) > 200
    wrong = []
    for one, (character, mine) in said.items():
        for two, (other, theirs) in said.items():
            if other == character:
                a, b = (Value(None, s, ("",), "", ("",)) for s in (mine, theirs))
                if a.cannot_meet(b) != ((widen(one), widen(two)) in pairs):
                    wrong.append((sorted(mine), sorted(theirs)))
    assert wrong == []


def test_teeth_not_counted_are_apart_from_none_alone(apart):
    said, pairs = apart
    names = {states: widen(s) for s, (_, states) in said.items()}
    told = {s: names[frozenset([f"c:tongue-teeth_{s}"])] for s in ("present", "none", "one-patch")}
    assert (told["present"], told["none"]) in pairs
    assert (told["present"], told["one-patch"]) not in pairs
    assert (told["none"], told["one-patch"]) in pairs


def test_no_proof_parts_two_fishes_by_teeth_that_one_source_did_not_count(know):
    rows = know.desk.snapshot.rows(
        """SELECT ?a ?b WHERE { ?a op:state c:tongue-teeth_present .
        ?b op:state c:tongue-teeth_one-patch } ORDER BY ?a ?b LIMIT 3"""
    )
    assert rows
    for row in rows:
        assert know.prove(row["a"], "op:cannotMeet", row["b"]).outcome == "not-derivable"
