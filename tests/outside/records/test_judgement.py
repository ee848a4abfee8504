"""Distinct names of real tables against a judgement keyed by hand: none may settle wrongly.

The judgement and its reasoning stand in ``judgement.txt``. ``blind.txt`` holds further names,
judged before any of them was tried. Precision, coverage and the share settled are printed.
"""

import os

import pytest

from tests.outside.records.judging import HERE, judged, settled, told, verdict, wrong

BLIND_FAULTS = {
    # the knowledge has the name only as a nickname of the pallid sturgeon, whose river it is not
    "rock sturgeon @ WI": "Scaphirhynchus albus",
    # a market name; the knowledge does not hold Pangasius bocourti, and the row is doubted
    "basa @ TX": "Pangasianodon hypophthalmus",
}
"""What a blind list showed that more knowledge must mend: names to add, not rules to bend."""


def weighed(know, folder, name):
    names = list(judged(name))
    rows = settled(know, folder, names)
    return {j: verdict(know, j, rows[j.name, j.state]) for j in names}, rows


@pytest.fixture(scope="module")
def seen(know, tmp_path_factory):
    return weighed(know, tmp_path_factory.mktemp("judged"), "judgement.txt")


@pytest.fixture(scope="module")
def blind(know, tmp_path_factory):
    return weighed(know, tmp_path_factory.mktemp("blind"), "blind.txt")


def test_at_least_250_distinct_names_are_judged():
    assert len({j.name for j in judged("judgement.txt")}) >= 250


def test_at_least_100_further_names_are_judged_blind():
    known = {j.name.casefold() for j in judged("judgement.txt")}
    assert len({j.name.casefold() for j in judged("blind.txt")} - known) >= 100


def test_no_judged_name_settles_as_another_fish(seen, capsys):
    with capsys.disabled():
        print(f"\njudged with the tables at hand: {told(seen[0])}")
    assert not wrong(*seen)


def test_blind_names_settle_wrongly_only_where_the_knowledge_lacks_the_fish(blind, capsys):
    with capsys.disabled():
        print(f"\njudged blind: {told(blind[0])}")
    assert wrong(*blind).items() <= BLIND_FAULTS.items()


def test_the_first_blind_trial_is_kept_as_it_came_out():
    with open(os.path.join(HERE, "blind-first-trial.txt"), encoding="utf-8") as file:
        lines = file.read().splitlines()
    assert sum(line.startswith("wrong") for line in lines) == 3
    assert lines[-1].endswith("precision 0.9739130434782609")


def test_what_is_no_fish_is_said_to_be_none(seen):
    verdicts, rows = seen
    said = {j.name: rows[j.name, j.state]["doubts"] for j in verdicts if not j.fish}
    unsaid = {name for name, doubts in said.items() if doubts != "not-a-fish"}
    # these two name no animal at all, or all of them
    assert unsaid == {"WITHHELD FOR CONFIDENTIALITY", "ANIMALIA **"}


def test_coverage_does_not_fall_below_what_was_reached(seen, blind):
    for (verdicts, _), least in ((seen, 0.85), (blind, 0.5)):
        one_meaning = [j for j in verdicts if j.taxa]
        assert sum(verdicts[j] != "left" for j in one_meaning) > least * len(one_meaning)
