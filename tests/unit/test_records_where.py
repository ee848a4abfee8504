"""What else a row says of its name: whose names it follows, and coast or inland."""

import csv

import pytest

from opercle.errors import UsageError
from opercle.questions.authorities import Authorities

FIRST, AFTER = "Micropterus nigricans", "Micropterus salmoides"


def settled(know, tmp_path, *rows, **options):
    with open(tmp_path / "t.csv", "w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    know.settle([str(tmp_path / "t.csv")], str(tmp_path / "out"), **options)
    with open(tmp_path / "out" / "t-settled.csv", encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


# ---- whose names ---------------------------------------------------------------------------------


def test_the_named_authority_decides_what_a_scientific_name_means(know, tmp_path):
    rows = settled(
        know,
        tmp_path,
        ("scientificName", "year", "nameAccordingTo"),
        (AFTER, "1995", "Page et al. 2023"),
        (AFTER, "2024", "Kim et al. 2022"),
        (AFTER, "2024", "AFS 2013"),
        (AFTER, "2024", ""),
    )
    assert [r["verbatimScientificName"] for r in rows] == [AFTER] * 4
    assert [r["scientificName"] for r in rows] == [AFTER, AFTER, "", ""]
    assert rows[0]["settledBy"] == "authority"
    assert "gives the name to Florida bass" in rows[0]["identificationRemarks"]
    # the list of 2013 is older than the split: it can mean either of the two, but no third
    assert set(rows[2]["candidates"].split("|")) == {FIRST, AFTER}
    # and the year of the record alone proves neither
    assert set(rows[3]["candidates"].split("|")) == {FIRST, AFTER}


def test_a_list_older_than_the_split_leaves_the_fish_of_the_place(know, tmp_path):
    rows = settled(
        know,
        tmp_path,
        ("scientificName", "state", "namesList"),
        (AFTER, "OH", "AFS 2013"),
        (AFTER, "OH", "AFS 2023"),
        columns={"authority": "namesList"},
    )
    assert (rows[0]["outcome"], rows[0]["scientificName"]) == ("settled", FIRST)
    assert "authority" in rows[0]["settledBy"]
    # by the newer list it is a fish that is not in Ohio
    assert (rows[1]["outcome"], rows[1]["doubts"]) == ("open", "not-known-there")


def test_an_authority_says_nothing_of_common_names(know, tmp_path):
    rows = settled(
        know,
        tmp_path,
        ("species", "state", "authority"),
        ("walleye", "OH", "Kim et al. 2022"),
        ("walleye", "OH", ""),
    )
    assert rows[0]["settledBy"] == rows[1]["settledBy"]
    assert rows[0]["scientificName"] == "Sander vitreus"


def test_an_unknown_authority_is_told_and_changes_nothing(know, tmp_path):
    rows = settled(
        know, tmp_path, ("species", "authority"), ("walleye", "the warden"), ("walleye", "")
    )
    assert rows[0]["scientificName"] == rows[1]["scientificName"] == "Sander vitreus"
    assert "the authority “the warden” is not known here" in rows[0]["identificationRemarks"]


@pytest.mark.parametrize(
    ("written", "sources", "year"),
    [
        ("AFS 2013", {"src:afs-2013"}, 2013),
        ("AFS 7th edition", {"src:afs-2013"}, 2013),
        ("Page, L. M., et al. (2013)", {"src:afs-2013"}, 2013),
        ("American Fisheries Society, eighth ed.", {"src:afs-2023"}, 2023),
        ("sec. Nelson et al. 2004", {"src:afs-2004"}, 2004),
        ("Hubbs & Bailey 1940", {"src:hubbs-bailey-1940"}, 1940),
        ("a field guide of 1998", set(), 1998),
        ("AFS", set(), None),  # five editions: which one is not said
    ],
)
def test_an_authority_is_read_as_records_cite_it(desk, written, sources, year):
    found = Authorities(desk).read(written)
    assert (set(found.sources), found.year) == (sources, year)


def test_the_question_refuses_an_authority_of_which_nothing_is_known(know):
    with pytest.raises(UsageError, match="No work or names list"):
        know.name("walleye", according_to="the warden")


# ---- coast or inland -----------------------------------------------------------------------------


def test_coast_or_inland_tells_a_croaker_of_the_river_from_one_of_the_sea(know, tmp_path):
    rows = settled(
        know,
        tmp_path,
        ("species", "state", "coast"),
        ("croaker", "LA", "inland"),
        ("croaker", "LA", "fresh water"),
        ("croaker", "LA", ""),
        ("xyzzy", "LA", "riffle"),
    )
    for row in rows[:2]:
        assert "it is known only from the sea" in row["identificationRemarks"]
        assert "Micropogonias undulatus" not in row["candidates"].split("|")
    assert "known only from the sea" not in rows[2]["identificationRemarks"]
    assert "“riffle” says neither coast nor inland" in rows[3]["identificationRemarks"]


def test_the_switch_holds_for_rows_that_do_not_say_it(know, tmp_path):
    table = (("species", "state"), ("croaker", "LA"))
    (row,) = settled(know, tmp_path, *table, coast="inland")
    assert "it is known only from the sea" in row["identificationRemarks"]
    (row,) = settled(know, tmp_path, *table)
    assert "known only from the sea" not in row["identificationRemarks"]


def test_a_row_on_the_coast_lies_in_the_sea_off_its_state(know, desk):
    from opercle.records.whereabouts import Whereabouts

    where = Whereabouts(desk)
    assert where.read("", "GA", "", "", "coast").places == ("w:Western-Atlantic", "pl:US-GA")
    assert where.read("", "AL", "", "", "marine").places == ("w:Gulf-of-Mexico", "pl:US-AL")
    inland = where.read("", "OH", "", "", "coast")
    assert inland.places == ("pl:US-OH",)
    assert inland.notes == ("Ohio has no coast that is known here",)
    # a named water is nearer than the sea off the state
    assert where.read("Flint River", "GA", "", "", "coast").places[0] == "w:Flint-River"


def test_a_fish_of_the_sea_taken_inland_is_doubted_and_keeps_its_name(know, tmp_path):
    (row,) = settled(
        know, tmp_path, ("species", "state", "coast"), ("Centropristis striata", "GA", "inland")
    )
    assert row["scientificName"] == "Centropristis striata"
    assert row["doubts"] == "not-known-there"


# ---- every other piece of a place ----------------------------------------------------------------


def test_state_country_and_unit_code_place_a_row_together(desk):
    from opercle.records.whereabouts import Whereabouts

    where = Whereabouts(desk)
    assert where.read("", "ON", "Canada", "").places == ("pl:CA-ON",)
    assert where.read("", "Ontario", "CA", "").places == ("pl:CA-ON",)
    assert where.read("", "", "USA", "").places == ("pl:US",)
    coosa = where.read("", "GA", "US", "03150101").places
    assert (coosa[0][:2], coosa[1:]) == ("w:", ("pl:US-GA",))
    # a longer code begins with a shorter one, and a lost nought in front is put back
    assert where.read("", "GA", "", "031501010203").places == coosa
    assert where.read("", "GA", "", "3150101").places == coosa
    # a whole region takes in many waters; none of them is chosen
    region = where.read("", "GA", "", "03")
    assert region.places == ("pl:US-GA",)
    assert "takes in several waters" in region.notes[0]
    assert "of no water known here" in where.read("", "", "", "99").notes[0]


def test_a_unit_code_shorter_than_those_known_means_the_water_that_holds_them(desk):
    from opercle.records.whereabouts import Whereabouts

    where = Whereabouts(desk)
    where._units = {"03150101": ["w:Coosa-River"], "03150102": ["w:Coosa-River"]}
    assert where.read("", "", "", "0315").places == ("w:Coosa-River",)
