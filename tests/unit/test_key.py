"""The key: its form, its honesty and its waters."""

import pytest

from opercle.errors import UnknownError


def leads(answer):
    return [lead for c in answer.fields["couplets"] for lead in c["leads"]]


@pytest.mark.parametrize("group", ["Ambloplites", "Lepomis", "Centrarchidae"])
def test_every_couplet_has_two_leads_and_can_be_reached(know, group):
    couplets = know.key(group).fields["couplets"]
    assert couplets
    numbers = [c["number"] for c in couplets]
    assert numbers == list(range(1, len(couplets) + 1))
    assert all([lead["lead"] for lead in c["leads"]] == ["a", "b"] for c in couplets)
    reached = {lead["to"] for c in couplets for lead in c["leads"] if lead["to"]}
    assert reached == set(numbers[1:])
    for couplet in couplets[1:]:
        back = couplets[couplet["from"] - 1]
        assert couplet["number"] in [lead["to"] for lead in back["leads"]]


def test_the_two_leads_of_a_couplet_share_no_value(know):
    for couplet in know.key("Centrarchidae").fields["couplets"]:
        one, two = couplet["leads"]
        if one["states"]:
            assert not set(one["states"]) & set(two["states"])
        else:
            assert one["most"] < two["least"]


def test_colour_is_never_used(know):
    couplets = know.key("Lepomis").fields["couplets"]
    assert all(c["trust"] != "misleading" for c in couplets)
    assert not {"body-colour", "eye-colour"} & {c["character"] for c in couplets}


def test_an_end_with_several_fishes_says_so_and_gives_their_waters(know):
    groups = [lead for lead in leads(know.key("Micropterus")) if len(lead["taxa"]) > 1]
    assert groups
    for lead in groups:
        assert lead["note"] == "not separable by these characters: see the water"
        assert set(lead["where"]) == {t["taxon"] for t in lead["taxa"]}
    assert any(where for lead in groups for where in lead["where"].values())


def test_the_fishes_of_a_water_only_and_the_others_with_their_reason(know):
    answer = know.key("Centrarchidae", water="Lake Erie")
    named = {t["scientificName"] for t in answer.fields["species"]}
    assert "Micropterus dolomieu" in named
    assert "Ambloplites cavifrons" not in named
    out = {t["scientificName"]: t["says"] for t in answer.fields["left_out"]}
    assert out["Ambloplites cavifrons"]
    assert "Lake Erie" in answer.answer


def test_a_group_of_one_species_needs_no_key(know):
    answer = know.key("Archoplites")
    assert answer.outcome == "made"
    assert answer.fields["couplets"] == []
    assert "only species" in answer.answer


def test_a_water_that_several_share_is_left_open(know):
    desk = know.desk
    desk_water = desk.water
    try:
        desk.water = lambda written: ["w:Black-River-Arkansas", "w:Lake-Erie"]
        answer = know.key("Centrarchidae", water="the river")
    finally:
        desk.water = desk_water
    assert answer.outcome == "open"
    assert [w["water"] for w in answer.fields["waters"]] == [
        "w:Black-River-Arkansas",
        "w:Lake-Erie",
    ]


def test_an_unknown_group_is_refused(know):
    with pytest.raises(UnknownError):
        know.key("Zzyzxidae")


def test_genera_that_part_cleanly_are_keyed_whole(know):
    couplets = know.key("Centrarchidae").fields["couplets"]
    crappies = {"Pomoxis annularis", "Pomoxis nigromaculatus"}
    genus = [lead for c in couplets for lead in c["leads"] if lead["genus"] == "Pomoxis"]
    held = {t["scientificName"] for lead in leads(know.key("Centrarchidae")) for t in lead["taxa"]}
    assert crappies <= held
    assert genus


def test_every_couplet_shows_a_few_numbered_sources(know):
    answer = know.key("Lepomis")
    numbers = {s["number"] for s in answer.fields["sources"]}
    for couplet in answer.fields["couplets"]:
        assert couplet["refs"]
        assert {r["n"] for r in couplet["refs"]} <= numbers


def test_common_fishes_have_no_longer_paths_than_rare_ones_on_the_whole(know):
    from math import log2

    couplets = know.key("Lepomis").fields["couplets"]
    depth = {1: 1}
    for couplet in couplets:
        for lead in couplet["leads"]:
            if lead["to"]:
                depth[lead["to"]] = depth[couplet["number"]] + 1
    assert max(depth.values()) <= 4 * log2(len(couplets) + 2)
