"""Proofs over the whole knowledge: all that was derived rests on stated facts, and on those alone.

Every way in which a kept rule holds is read from the store once, with its premises. What can be
reached from stated facts through these ways is proved (the linear-time closure of Dowling and
Gallier, Journal of Logic Programming 1: 267, 1984). A ring of derived facts that hold each other
up would be left over.
"""

import random
from collections import defaultdict
from functools import cache

import pyoxigraph as ox
import pytest

from opercle import proof, rules
from opercle.terms import PREFIXES, widen

SEED, MANY = 20011, 200
GIVEN = ox.NamedNode(PREFIXES["g"] + "given.ttl")
BATCHES = 2
STATED = PREFIXES["g"] + "ontology/"


class Ground:
    """The stated facts, the derived ones by rule, and every way in which a rule made them."""

    def __init__(self, snapshot, book):
        self.stated, self.derived = set(), defaultdict(set)
        for quad in snapshot.store.quads_for_pattern(None, None, None):
            graph = quad.graph_name.value
            if graph.startswith(PREFIXES["g"]):
                self.stated.add(quad.triple)
            else:
                self.derived[quad.triple].add(graph.removeprefix(PREFIXES["r"]))
        self.ways = defaultdict(list)
        for rule in book:
            if rule["kept"]:
                self._read(snapshot, rule)

    def _read(self, snapshot, rule):
        every = [*rule["premises"], *rule["template"]]
        names = sorted({x[1:] for p in every for x in p if x.startswith("?")})
        query = f"SELECT {' '.join('?' + n for n in names)} WHERE {rule['body']}"
        for found in snapshot.raw(query):
            way = dict(zip(names, found, strict=True))
            premises = tuple(proof._filled(p, way) for p in rule["premises"])
            for pattern in rule["template"]:
                self.ways[proof._filled(pattern, way)].append((rule["id"], premises))

    def proved(self):
        """All derived facts that can be reached from stated ones."""
        users, waiting, ready, known = defaultdict(list), [], [], set()
        for made, ways in self.ways.items():
            for _, premises in ways:
                lacking = {p for p in premises if p not in self.stated}
                if lacking:
                    waiting.append([made, len(lacking)])
                    for premise in lacking:
                        users[premise].append(waiting[-1])
                else:
                    ready.append(made)
        while ready:
            made = ready.pop()
            if made not in known:
                known.add(made)
                for way in users[made]:
                    way[1] -= 1
                    if way[1] == 0:
                        ready.append(way[0])
        return known

    @cache  # noqa: B019  (one object for the whole module)
    def only(self, triple):
        """True if a fact is stated, or has one proof and no more."""
        if triple in self.stated:
            return True
        ways = self.ways[triple]
        return len(ways) == 1 and all(self.only(p) for p in ways[0][1])

    def rests(self, triple):
        """The stated facts that the first proof of a fact rests on."""
        if triple in self.stated:
            return {triple}
        return {fact for premise in self.ways[triple][0][1] for fact in self.rests(premise)}


@pytest.fixture(scope="module")
def ground(desk):
    return Ground(desk.snapshot, desk.prover.book)


def test_all_that_was_derived_rests_on_stated_facts(ground):
    left = set(ground.derived) - ground.stated - ground.proved()
    assert len(ground.derived) > 50_000
    assert left == set(), f"{len(left)} derived facts rest on no stated ones"


def test_what_lies_in_the_graph_of_a_rule_was_made_by_that_rule(ground):
    wrong = [
        (str(triple), by)
        for triple, by in ground.derived.items()
        if not by <= {rule for rule, _ in ground.ways[triple]}
    ]
    assert wrong == []


def test_nothing_that_follows_was_left_underived(ground):
    assert set(ground.ways) <= ground.stated | set(ground.derived)


# ---- what a proof rests on is what it needs ------------------------------------------------------


def term(told):
    """A term from the form in which a step tells it."""
    return proof._parse(told) if told[0] == '"' else ox.NamedNode(widen(told))


def leaves(desk, triple):
    """The stated facts that its proof ends in; a statement is one fact, with all that it says."""
    found = []
    for leaf in desk.prover.prove(triple).leaves():
        one = ox.Triple(*map(term, leaf.triple))
        if leaf.triple[0].startswith("s:"):
            quads = desk.snapshot.store.quads_for_pattern(one.subject, None, None)
            found += [q.triple for q in quads if q.graph_name.value.startswith(STATED)]
        else:
            found.append(one)
    return found


@pytest.fixture(scope="module")
def batches(desk, ground):
    """Derived facts with one proof each, drawn by a seed, with the leaves of that proof.

    In a batch no two proofs share a leaf, so that no fact goes by another's loss.
    """
    every = sorted(set(ground.derived) - ground.stated, key=str)
    random.Random(SEED).shuffle(every)
    found = [({}, set()) for _ in range(BATCHES)]
    for triple in every:
        if not ground.only(triple) or all(ground.rests(triple) & used for _, used in found):
            continue
        needed = set(leaves(desk, triple))
        for chosen, used in found:
            if len(chosen) < MANY // BATCHES and not needed & used:
                chosen[triple] = needed
                used |= needed
                break
        if all(len(chosen) == MANY // BATCHES for chosen, _ in found):
            return found
    raise AssertionError("too few facts with one proof")


def worked(facts):
    """All that the rules, run afresh over these facts alone, derive."""
    store = ox.Store()
    store.bulk_extend(ox.Quad(*fact, GIVEN) for fact in facts)
    rules.run(store, rules.read_all())
    return store


def test_a_derived_fact_goes_with_the_leaves_of_its_only_proof(ground, batches):
    assert sum(len(chosen) for chosen, _ in batches) == MANY
    for chosen, used in batches:
        assert used <= ground.stated
        left = worked(ground.stated - used)
        stand = [t for t in chosen if next(left.quads_for_pattern(*t), None) is not None]
        assert [str(t) for t in stand] == [], "these stand without the leaves of their only proof"


def test_a_derived_fact_stays_while_a_second_proof_keeps_its_leaves(desk, ground):
    """The counter-trial: what is taken away here is not all that the facts rest on."""
    native = PREFIXES["op"] + "nativeTo"
    twice = [t for t, w in ground.ways.items() if t.predicate.value == native and len(w) > 1]
    twice = sorted(twice, key=str)[: MANY // 5]
    used = {leaf for triple in twice for leaf in leaves(desk, triple)}
    facts = {p for t in twice for _, premises in ground.ways[t] for p in premises}
    store = ox.Store()
    store.extend(ox.Quad(*fact, GIVEN) for fact in facts - used)
    rules.run(store, [r for r in rules.read_all() if r.id == "native-stated"])
    assert len(twice) > 10
    assert all(next(store.quads_for_pattern(*t), None) is not None for t in twice)
