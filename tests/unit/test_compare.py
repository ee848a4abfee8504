"""The comparison: order, honesty, and names given as people write them."""

import pytest

from opercle.errors import UsageError
from opercle.questions.values import EASE, TRUST


def test_rows_that_tell_apart_come_first_by_trust_and_ease(know):
    rows = know.compare("rock bass", "largemouth bass").fields["rows"]
    tells = [r["tells_apart"] for r in rows]
    assert tells == sorted(tells, reverse=True)
    deciding = [r for r in rows if r["verdict"] == "decides"]
    assert "anal-spines" in {r["character"] for r in deciding}
    order = [(TRUST.index(r["trust"]), EASE.index(r["seen"])) for r in deciding]
    assert order == sorted(order)


def test_a_row_has_one_cell_a_taxon_under_its_name(know):
    answer = know.compare("rock bass", "Roanoke bass", "Ozark bass", "shadow bass")
    row = answer.fields["rows"][0]
    assert len(row["cells"]) == 4
    for cell in row["cells"]:
        assert row[cell["scientificName"]] == cell["state"]


def test_colour_never_tells_apart(know):
    answer = know.compare("rock bass", "largemouth bass")
    rows = {r["character"]: r for r in answer.fields["rows"]}
    assert rows["body-colour"]["verdict"] == "silent"
    assert not rows["body-colour"]["tells_apart"]
    assert any("Colour" in c for c in answer.cautions)


def test_where_no_dependable_character_parts_two_the_answer_says_so(know):
    answer = know.compare("rock bass", "shadow bass")
    assert answer.answer.startswith("No dependable character known here parts")
    assert answer.fields["water_alone"]


def test_unquoted_names_are_cut_where_known_names_end(know):
    answer = know.compare(*["black", "crappie", "white", "crappie"])
    names = [t["scientificName"] for t in answer.fields["taxa"]]
    assert names == ["Pomoxis nigromaculatus", "Pomoxis annularis"]


def test_one_unquoted_name_is_not_cut_into_two(know):
    with pytest.raises(UsageError):
        know.compare("rock", "bass")


def test_the_longest_known_names_come_first(know):
    answer = know.compare("rock", "bass", "and", "walleye")
    names = [t["scientificName"] for t in answer.fields["taxa"]]
    assert names == ["Ambloplites rupestris", "Sander vitreus"]


@pytest.mark.parametrize(
    "names", [["rock bass"], ["rock bass"] * 2, ["Ambloplites rupestris", "rock bass"]]
)
def test_one_fish_or_the_same_fish_twice_is_refused(know, names):
    with pytest.raises(UsageError):
        know.compare(*names)


def test_more_than_six_are_refused(know):
    genera = [
        "Lepomis",
        "Micropterus",
        "Pomoxis",
        "Ambloplites",
        "Enneacanthus",
        "Centrarchus",
        "Archoplites",
    ]
    with pytest.raises(UsageError):
        know.compare(*genera)


def test_a_name_of_several_is_left_open(know):
    assert know.compare("redeye", "rock bass").outcome == "open"


def test_a_group_and_its_member_may_be_compared_with_a_caution(know):
    answer = know.compare("Ambloplites", "Ambloplites rupestris")
    assert any("member of the other" in c for c in answer.cautions)


def test_every_verdict_is_that_of_its_best_pair(know):
    order = ("decides", "leans", "agrees with both", "silent")
    for row in know.compare("rock bass", "Roanoke bass", "walleye").fields["rows"]:
        best = min((p["verdict"] for p in row["pairs"]), key=order.index)
        assert row["verdict"] == best


def test_teeth_whose_patches_were_not_counted_do_not_part_from_one_patch(know):
    rows = know.compare("Micropterus notius", "Micropterus punctulatus").fields["rows"]
    teeth = next(r for r in rows if r["character"] == "tongue-teeth")
    assert teeth["verdict"] != "decides"
