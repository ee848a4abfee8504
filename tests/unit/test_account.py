"""The account: what it holds, and that nothing in it is without its source."""

import pytest

from opercle.errors import UnknownError

FIELDS = [
    "scientificName",
    "scientificNameAuthorship",
    "taxonRank",
    "family",
    "lineage",
    "type",
    "members",
    "etymology",
    "names",
    "synonyms",
    "counts",
    "states",
    "tell_apart",
    "not_to_trust",
    "waters",
    "habitat",
    "food",
    "sizes",
    "history",
    "sources",
]


@pytest.fixture(scope="module")
def rock_bass(know):
    return know.account("rock bass")


@pytest.mark.parametrize("taxon", ["Centrarchidae", "Micropterus", "rock bass"])
def test_family_genus_and_species_have_every_field_of_the_contract(know, taxon):
    answer = know.account(taxon)
    assert answer.outcome == "found"
    assert set(FIELDS) <= set(answer.fields)


def test_a_count_is_the_range_of_its_statements(know, rock_bass):
    count = rock_bass.fields["counts"]["dorsal-spines"]
    used = [s["statement"] for s in count["statements"] if s["used"]]
    assert len(used) > 3
    rows = [know.desk.words.statement(s) for s in used]
    assert count["least"] == min(r["op:least"][0] for r in rows)
    assert count["most"] == max(r["op:most"][0] for r in rows)
    assert all(isinstance(count[k], int) for k in ("least", "most"))


def test_every_statement_shows_its_basis_and_the_number_of_its_source(rock_bass):
    numbers = {s["number"] for s in rock_bass.fields["sources"]}
    assert sorted(numbers) == list(range(1, len(numbers) + 1))
    entries = [
        *rock_bass.fields["counts"].values(),
        *rock_bass.fields["states"].values(),
    ]
    cited = [s for e in entries for s in e["statements"]]
    cited += rock_bass.fields["tell_apart"] + rock_bass.fields["names"]
    cited += rock_bass.fields["synonyms"] + rock_bass.fields["etymology"]
    cited += [w for p in ("native", "introduced") for w in rock_bass.fields["waters"][p]]
    assert len(cited) > 50
    for one in cited:
        assert one["basis"] in ("read", "recalled")
        assert one["ref"] in numbers


def test_a_doubted_statement_is_told_as_doubted_and_never_as_a_value(rock_bass):
    doubted = rock_bass.fields["doubted"]
    assert doubted
    assert all(d["doubted"] for d in doubted)
    named = {d["statement"] for d in doubted}
    used = {
        s["statement"]
        for e in (*rock_bass.fields["counts"].values(), *rock_bass.fields["states"].values())
        for s in e["statements"]
    }
    waters = {
        w["statement"] for p in ("native", "introduced") for w in rock_bass.fields["waters"][p]
    }
    assert not named & (used | waters)


def test_a_value_taken_from_a_group_says_of_which(rock_bass):
    inherited = [s for s in rock_bass.fields["states"].values() if s["of"]]
    assert inherited
    assert {s["of"] for s in inherited} <= {"Ambloplites", "Centrarchidae", "Centrarchiformes"}


def test_colour_stands_among_what_is_not_to_trust(rock_bass):
    what = {t["what"] for t in rock_bass.fields["not_to_trust"]}
    assert "eye colour" in what


def test_a_name_with_a_borrowed_group_word_is_not_to_trust(rock_bass):
    told = [t for t in rock_bass.fields["not_to_trust"] if "strictly" in t["text"]]
    assert any("rock bass" in t["what"] and "bass" in t["text"] for t in told)


def test_the_meaning_of_a_species_name_begins_with_the_genus(rock_bass):
    parts = [(e["part"], e["of"]) for e in rock_bass.fields["etymology"]]
    assert parts[0][1] == "Ambloplites"
    assert ("rupestris", "Ambloplites rupestris") in parts


def test_a_genus_has_a_type_with_how_it_was_fixed_and_its_members(know):
    fields = know.account("Ambloplites").fields
    assert fields["type"]["fixed_by"] == "monotypy"
    assert fields["type"]["now"] == "Ambloplites rupestris"
    assert len(fields["members"]) == 4


def test_a_family_has_a_type_genus(know):
    assert know.account("Centrarchidae").fields["type"]["name"] == "Centrarchus"


def test_history_begins_with_the_first_name(rock_bass):
    first = rock_bass.fields["history"][0]
    assert first["text"] == "First named Bodianus rupestris by Rafinesque in 1817."


def test_contrasts_are_told_from_both_sides(know):
    other = know.account("Ambloplites cavifrons").fields["tell_apart"]
    assert any("rock bass" in t["from"] for t in other)


def test_a_name_of_several_fishes_is_left_open(know):
    answer = know.account("redeye")
    assert answer.outcome == "open"
    assert len(answer.fields["bearers"]) > 1


def test_a_name_in_use_for_others_is_a_caution(rock_bass):
    assert any("also used for" in c for c in rock_bass.cautions)


def test_an_unknown_name_offers_the_nearest(know):
    with pytest.raises(UnknownError):
        know.account("zzyzx of nowhere")


def test_the_largest_size_is_the_largest_stated(rock_bass):
    sizes = rock_bass.fields["sizes"]
    lengths = [
        s["most"]
        for s in sizes["statements"]
        if s["extent"] == "largest" and s["dimension"] != "weight"
    ]
    assert sizes["largest_length"]["cm"] == max(lengths)
