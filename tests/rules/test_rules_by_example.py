"""Every rule has an example: what is given, what it must make of it, and how it says why.

``<rule-id>/given.ttl`` holds the premises, ``then.ttl`` all that the rule alone makes of them and
nothing else, ``why.txt`` the proof of the first of these triples in the order of their text.
"""

from pathlib import Path

import pyoxigraph as ox
import pytest

from opercle import assets, rules
from opercle.proof import Prover, Step
from opercle.store import Snapshot
from opercle.terms import PREFIXES
from opercle.wording import Words

HERE = Path(__file__).parent
RULES = {Path(p).stem: p for p in assets.files("ontology/rules", ".rq")}
FILES = ("given.ttl", "then.ttl", "why.txt")


def triples(path):
    return {q.triple for q in ox.parse(path.read_bytes(), format=ox.RdfFormat.TURTLE)}


def worked(name):
    """The store after the one rule has run over its example, and the rule."""
    rule = rules.read(RULES[name])._replace(kept=True)
    store = ox.Store()
    graph = ox.NamedNode(PREFIXES["g"] + "given.ttl")
    store.extend(ox.Quad(*t, graph) for t in triples(HERE / name / "given.ttl"))
    rules.run(store, [rule])
    return store, rule


def made(store, name):
    graph = ox.NamedNode(PREFIXES["r"] + name)
    return {q.triple for q in store.quads_for_pattern(None, None, None, graph)}


def told(step: Step, deep: int = 0) -> str:
    """A proof as text: a line a step, its rule in brackets, guards and premises below it."""
    inset = "  " * deep
    mark = f" [{step.rule}]" if step.rule else ""
    lines = [f"{inset}{' '.join(step.triple)}", f"{inset}  {step.says}{mark}"]
    lines += [f"{inset}  unless: {line}" for line in step.unless]
    return "\n".join(lines + [told(premise, deep + 1) for premise in step.premises])


def why(name):
    store, rule = worked(name)
    snapshot = Snapshot(store, {"rules": [rule._asdict()], "keys": []}, None)
    first = min(triples(HERE / name / "then.ttl"), key=str)
    step = Prover(snapshot, Words(snapshot)).prove(first)
    assert step is not None, f"no proof of {first}"
    return told(step) + "\n"


def test_every_rule_has_its_three_files():
    missing = [f"{n}/{f}" for n in RULES for f in FILES if not (HERE / n / f).is_file()]
    assert missing == []


def test_no_example_is_of_a_rule_that_is_gone():
    folders = {p.name for p in HERE.iterdir() if p.is_dir() and not p.name.startswith("__")}
    assert sorted(folders - set(RULES)) == []


@pytest.mark.parametrize("name", sorted(RULES))
def test_the_rule_makes_of_what_is_given_just_what_it_must(name):
    store, _ = worked(name)
    assert made(store, name) == triples(HERE / name / "then.ttl")


@pytest.mark.parametrize("name", sorted(RULES))
def test_the_example_shows_the_rule_at_work(name):
    assert triples(HERE / name / "then.ttl") != set()


@pytest.mark.parametrize("name", sorted(RULES))
def test_the_proof_of_what_the_rule_makes_reads_as_written(name):
    assert why(name) == (HERE / name / "why.txt").read_text(encoding="utf-8")
