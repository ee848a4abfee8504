"""How names are spelt and how misspelt ones are read."""

import pytest

from opercle import reading
from opercle.errors import UnknownError, UsageError

# Misspellings as people and speech recognition write them (from memory), and the fish each must
# be read as: one of the taxa that the name yields.
MISSPELT = [
    ("small mouth bass", "t:Micropterus-dolomieu"),
    ("smallmoth bass", "t:Micropterus-dolomieu"),
    ("large mouth bass", "t:Micropterus-nigricans"),
    ("largemouth bas", "t:Micropterus-nigricans"),
    ("micropterus salmoidies", "t:Micropterus-salmoides"),
    ("micropterous dolomieu", "t:Micropterus-dolomieu"),
    ("ambloplities rupestrus", "t:Ambloplites-rupestris"),
    ("rock bas", "t:Ambloplites-rupestris"),
    ("row anoke bass", "t:Ambloplites-cavifrons"),
    ("ozark base", "t:Ambloplites-constellatus"),
    ("goggle i", "t:Ambloplites-rupestris"),
    ("crapie", "t:Pomoxis-annularis"),
    ("white crapie", "t:Pomoxis-annularis"),
    ("black crappy", "t:Pomoxis-nigromaculatus"),
    ("croppy", "t:Pomoxis-annularis"),
    ("sac au lait", "t:Pomoxis"),
    ("pumpkin seed", "t:Lepomis-gibbosus"),
    ("pumkinseed", "t:Lepomis-gibbosus"),
    ("blue gill", "t:Lepomis-macrochirus"),
    ("lepomis macrochiris", "t:Lepomis-macrochirus"),
    ("green sunfsh", "t:Lepomis-cyanellus"),
    ("warmoth", "t:Lepomis-gulosus"),
    ("wall eye", "t:Sander-vitreus"),
    ("walley", "t:Sander-vitreus"),
    ("stizostedian vitreum", "t:Sander-vitreus"),
    ("sawger", "t:Sander-canadensis"),
    ("yellow pearch", "t:Perca-flavescens"),
    ("perca flavecens", "t:Perca-flavescens"),
    ("wite perch", "t:Morone-americana"),
    ("striped base", "t:Morone-saxatilis"),
    ("morone saxatalis", "t:Morone-saxatilis"),
    ("chillean sea bass", "t:Dissostichus-eleginoides"),
    ("northern pick", "t:Esox-lucius"),
    ("muskelunge", "t:Esox-masquinongy"),
    ("chanel catfish", "t:Ictalurus-punctatus"),
    ("brook trought", "t:Salvelinus-fontinalis"),
    ("oncorynchus mykiss", "t:Oncorhynchus-mykiss"),
    ("pirate pearch", "t:Aphredoderus-sayanus"),
    ("guadeloupe bass", "t:Micropterus-treculii"),
]

# Words that are no fishes though they sound like some.
NO_FISHES = [
    "bluebell", "salmonella", "white bread", "percolator", "bassoon", "troubadour", "basil",
    "pikestaff", "drumstick", "sunflower", "perchance", "salamander", "grasshopper", "wallpaper",
    "rock band", "crab pie", "brown bread", "blue bill", "yellow peach", "micropenis", "catfight",
]  # fmt: skip


@pytest.mark.parametrize(("written", "taxon"), MISSPELT)
def test_a_misspelt_name_is_read_as_the_fish_it_means(desk, written, taxon):
    assert taxon in {use["t"] for use in desk.find(written).uses}


@pytest.mark.parametrize("written", NO_FISHES)
def test_a_word_that_is_no_fish_is_not_read_as_one(desk, written):
    with pytest.raises(UnknownError):
        desk.find(written)


def test_a_misspelt_name_tells_what_it_is_read_as_and_how_alike_the_two_are(desk):
    found = desk.find("ambloplities rupestrus")
    assert found.read_as["name"] == "Ambloplites rupestris"
    assert reading.SURE <= found.read_as["score"] < 1


def test_a_name_spelt_right_is_not_said_to_be_read_as_another(desk):
    assert desk.find("Rock-Bass").read_as is None


def test_an_unknown_name_offers_the_nearest_spellings(desk):
    with pytest.raises(UnknownError) as caught:
        desk.find("bluebell")
    assert "bluegill" in caught.value.nearest or "blue gill" in caught.value.nearest


@pytest.mark.parametrize("written", ["", "   ", "\t\n"])
def test_an_empty_name_is_refused(written):
    with pytest.raises(UsageError, match="empty"):
        reading.clean(written)


def test_a_name_longer_than_any_name_is_refused_with_its_length():
    with pytest.raises(UsageError, match="10000"):
        reading.clean("x" * 10_000)


def test_the_longest_name_allowed_is_read():
    assert reading.clean("x" * reading.LONGEST) == "x" * reading.LONGEST


@pytest.mark.parametrize(
    "bad", ["rock\x00bass", "rock\x1b[31m bass", "\x07perch", "perch\x7f", "pe\x85\x9brch"]
)
def test_a_name_with_control_characters_is_refused(bad):
    with pytest.raises(UsageError, match="control"):
        reading.clean(bad)


def test_white_space_of_any_kind_is_folded():
    assert reading.clean("  rock \t\n bass ") == "rock bass"


@pytest.mark.parametrize(
    "written",
    [
        "rock bass",
        "Rock Bass",
        "ROCK-BASS",
        "rock.bass",
        "rock\u00a0bass",
        "rock\u2013bass",
        "r\u00f3ck bass",
    ],
)
def test_case_accents_hyphens_and_points_make_no_difference(written):
    assert reading.normal(written) == "rock bass"


@pytest.mark.parametrize(
    ("one", "two"),
    [
        ("sea bass", "seabass"),
        ("sac-à-lait", "sac a lait"),
        ("Percé's", "perces"),
        ("Günther", "Gunther"),
    ],
)
def test_two_spellings_of_one_name_have_one_key(one, two):
    assert reading.key_of(one) == reading.key_of(two)


def test_an_apostrophe_does_not_split_a_word():
    assert (
        reading.normal("Swain\u2019s sunfish")
        == reading.normal("Swain's sunfish")
        == "swains sunfish"
    )


@pytest.mark.parametrize(
    ("plural", "singular"),
    [
        ("crappies", "crappie"),
        ("perches", "perch"),
        ("basses", "bass"),
        ("rock basses", "rock bass"),
        ("fishes", "fish"),
        ("walleyes", "walleye"),
        ("bluegills", "bluegill"),
        ("darters", "darter"),
        ("goggle eyes", "goggle eye"),
        ("guppies", "guppy"),
        ("foxes", "fox"),
    ],
)
def test_a_plural_has_its_singular_among_its_readings(plural, singular):
    assert singular in reading.singulars(plural)


@pytest.mark.parametrize(
    "key", ["bass", "rock bass", "percopsis", "centrarchus", "anabas", "hexagrammos"]
)
def test_a_name_that_only_looks_like_a_plural_is_left_alone(key):
    assert reading.singulars(key) == [key]


def test_the_name_as_written_comes_before_its_singulars():
    assert reading.singulars("sunfishes")[0] == "sunfishes"


def test_plurals_ask_the_same_as_singulars(desk):
    assert {u["t"] for u in desk.find("walleyes").uses} == {
        u["t"] for u in desk.find("walleye").uses
    }


def test_a_genus_may_be_written_by_its_first_letter(desk):
    uses = desk.find("A. rupestris").uses
    assert {u["t"] for u in uses if u["kind"] == "op:scientific"} == {"t:Ambloplites-rupestris"}


@pytest.mark.parametrize(("one", "two"), [("walleye", "walleye"), ("wall eye", "walleye")])
def test_a_name_is_wholly_like_itself_spaces_left_out(one, two):
    assert reading.likeness(one, two) == 1.0


def test_likeness_is_mutual():
    assert reading.likeness("crapie", "crappie") == reading.likeness("crappie", "crapie")


@pytest.mark.parametrize("word", ["12345", "---", "\u9c88\u9c7c", "\u043e\u043a\u0443\u043d\u044c"])
def test_what_has_no_sound_in_english_is_like_nothing_rather_than_an_error(word):
    assert 0 <= reading.likeness(reading.normal(word), "perch") < reading.SURE


def test_a_likeness_below_the_threshold_is_not_sure():
    assert reading.sure([reading.Reading("perch", reading.SURE - 0.001)]) is None


def test_a_likeness_that_does_not_stand_clear_of_the_next_is_not_sure():
    near = [
        reading.Reading("white perch", 0.95),
        reading.Reading("white porch", 0.95 - reading.CLEAR / 2),
    ]
    assert reading.sure(near) is None


def test_one_name_spelt_with_and_without_a_space_does_not_stand_in_its_own_way():
    near = [reading.Reading("pumpkin seed", 0.938), reading.Reading("pumpkinseed", 0.938)]
    assert reading.sure(near) is not None


def test_nothing_near_is_not_sure():
    assert reading.sure([]) is None
