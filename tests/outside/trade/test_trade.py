"""Facts of the trade, held against the knowledge: common practice, no source.

Every expected value here is common practice without a source, put down from what the trade says.
Where what we read in a source differs, a comment says so and the test checks that both stand.
"""

import pyoxigraph as ox
import pytest

from opercle.counts import CountRange
from opercle.questions.desk import node
from opercle.questions.places import TOGETHER, WITHIN, Places
from opercle.questions.values import Values

FOUR = ("rupestris", "ariommus", "cavifrons", "constellatus")
INCH, POUND = 2.54, 0.45359


@pytest.fixture(scope="module")
def values(desk):
    return Values(desk)


def taxon(epithet, genus="Ambloplites"):
    return f"t:{genus}-{epithet}"


def stated(desk, about, character):
    """Every count or state that a source gives for a taxon on a character."""
    return desk.snapshot.rows(
        """SELECT ?t ?c ?s ?least ?most ?state WHERE { ?s op:about ?t ; op:onCharacter ?c
        OPTIONAL { ?s op:least ?least } OPTIONAL { ?s op:most ?most }
        OPTIONAL { ?s op:state ?state }
        MINUS { ?s op:doubted ?d } }""",
        t=node(about),
        c=node(f"c:{character}"),
    )


def sizes(desk, about, extent, unit):
    return desk.snapshot.rows(
        """SELECT ?t ?least ?most ?extent ?unit WHERE { ?s a op:SizeStatement ; op:about ?t ;
        op:extent ?extent ; op:unit ?unit ; op:least ?least OPTIONAL { ?s op:most ?most } }""",
        t=node(about),
        extent=ox.Literal(extent),
        unit=ox.Literal(unit),
    )


def native(desk, about):
    """Waters, states and countries in which sources call a fish native."""
    return {r["where"] for r in desk.query("ranges", t=node(about)) if r["presence"] == "op:native"}


# ---- the perch-like plan ------------------------------------------------------------------


@pytest.mark.parametrize("family", ["Centrarchidae", "Moronidae", "Percidae"])
def test_the_perch_like_plan_holds_pelvics_below_the_pectorals(values, family):
    assert values.of(f"t:{family}")["pelvic-position"].states == {"c:pelvic-position_thoracic"}


@pytest.mark.parametrize("family", ["Centrarchidae", "Moronidae", "Percidae"])
def test_the_perch_like_plan_holds_one_pelvic_spine_and_at_most_five_rays(values, family):
    held = values.of(f"t:{family}")
    assert held["pelvic-spines"].range[:2] == (1, 1)
    assert held["pelvic-soft-rays"].range.most <= 5


@pytest.mark.parametrize("family", ["Centrarchidae", "Moronidae", "Percidae"])
def test_the_perch_like_plan_holds_rough_edged_scales(values, family):
    # Read otherwise for one sunfish: the mud sunfish (Acantharchus) is smooth-scaled; both stand.
    assert "c:scale-type_ctenoid" in values.of(f"t:{family}")["scale-type"].states


def test_the_smooth_scales_of_the_mud_sunfish_stand_beside_the_rough_ones_of_its_family(
    desk, values
):
    held = values.of("t:Acantharchus-pomotis")["scale-type"].states
    assert "c:scale-type_cycloid" in held
    assert "c:scale-type_ctenoid" in values.of("t:Centrarchidae")["scale-type"].states


@pytest.mark.parametrize("family", ["Centrarchidae", "Moronidae", "Percidae"])
def test_the_perch_like_plan_holds_spines_before_rays_in_dorsal_and_anal_fins(values, family):
    held = values.of(f"t:{family}")
    assert held["dorsal-spines"].range.least >= 1
    assert held["anal-spines"].range.least >= 1


# ---- counts of the rock basses ------------------------------------------------------------

GENUS = {
    "anal-spines": CountRange(5, 7),
    "anal-soft-rays": CountRange(9, 11),
    "dorsal-spines": CountRange(10, 13),
    "dorsal-soft-rays": CountRange(10, 12),
}


@pytest.mark.parametrize(("character", "trade"), GENUS.items())
def test_the_counts_of_the_rock_bass_genus_overlap_those_of_the_trade(values, character, trade):
    assert values.of("t:Ambloplites")[character].range.overlaps(trade)


@pytest.mark.parametrize(("character", "trade"), GENUS.items())
def test_the_counts_of_the_four_rock_basses_together_cover_those_of_the_trade(
    values, character, trade
):
    whole = values.of("t:Ambloplites")[character].range
    for epithet in FOUR:
        whole = whole.hull(values.of(taxon(epithet))[character].range)
    assert whole.covers(trade)


@pytest.mark.parametrize("epithet", FOUR)
@pytest.mark.parametrize(("character", "trade"), GENUS.items())
def test_the_counts_of_each_rock_bass_overlap_those_of_the_trade(values, epithet, character, trade):
    # Read otherwise: up to 12 anal rays in Roanoke and Ozark bass and up to 13 dorsal rays, one
    # more than the trade says of the genus; both stand, the wider at the species.
    assert values.of(taxon(epithet))[character].range.overlaps(trade)


def test_the_wider_ray_counts_read_for_roanoke_bass_stand_beside_those_of_the_trade(desk):
    # the trade's 12 stands for the rock bass itself, the 13 that was read for Roanoke bass
    assert 12 in [r.get("most") for r in stated(desk, taxon("rupestris"), "dorsal-soft-rays")]
    assert 13 in [r.get("most") for r in stated(desk, taxon("cavifrons"), "dorsal-soft-rays")]


@pytest.mark.parametrize("epithet", FOUR)
def test_the_opercle_of_a_rock_bass_ends_in_two_rounded_points(values, epithet):
    assert values.of(taxon(epithet))["opercle-edge"].states == {"c:opercle-edge_two-points"}


def test_there_are_four_rock_basses(desk):
    rows = desk.snapshot.rows("SELECT ?t ?u { ?t op:parentTaxon ?u }", u=node("t:Ambloplites"))
    species = {r["t"] for r in rows if desk.rank(r["t"]) == "species"}
    assert species == {taxon(e) for e in FOUR}


def test_the_black_basses_are_slimmer_than_every_other_sunfish_genus(values):
    # Of the sunfishes the black basses alone are slim: their depth must be known, and be the least
    # of all the genera for which one is stated (the rest would go by the whole family's).
    genera = ("Ambloplites", "Lepomis", "Pomoxis", "Centrarchus", "Enneacanthus", "Archoplites")
    slim = values.of("t:Micropterus")["body-depth"]
    assert slim.holder == "t:Micropterus", "no body depth of the black basses is stated"
    others = [values.of(f"t:{g}")["body-depth"] for g in genera]
    stated = [v.range for v, g in zip(others, genera, strict=True) if v.holder == f"t:{g}"]
    assert stated
    assert [v for v in stated if slim.range.least >= v.least] == []


@pytest.mark.parametrize(
    ("epithet", "state"),
    [("rupestris", "full"), ("cavifrons", "bare")],
)
def test_cheeks_are_fully_scaled_in_rock_bass_and_all_but_bare_in_roanoke_bass(
    desk, values, epithet, state
):
    # Read otherwise for Roanoke bass: also partly scaled and wholly without; all stand.
    told = values.told(values.of(taxon(epithet))["cheek-scales"])
    assert {"full": "fully scaled", "bare": "bare or a few embedded scales"}[state] in told


def test_the_cheeks_part_rock_bass_from_roanoke_bass(values):
    one, two = (values.of(taxon(e))["cheek-scales"] for e in ("rupestris", "cavifrons"))
    assert one.cannot_meet(two)


# ---- sizes --------------------------------------------------------------------------------


def within(rows, value, slack):
    return any(r["least"] - slack <= value <= r.get("most", r["least"]) + slack for r in rows)


@pytest.mark.parametrize(
    ("epithet", "usual"),
    [("rupestris", 8), ("ariommus", 5), ("cavifrons", 8), ("cavifrons", 10), ("constellatus", 5)],
)
def test_the_usual_length_of_each_rock_bass_is_that_of_the_trade(desk, epithet, usual):
    # Read otherwise: 8-10 and 7-11 inches for rock bass, 6-8 for shadow bass; both stand.
    assert within(sizes(desk, taxon(epithet), "usual", "cm"), usual * INCH, 0.5)


@pytest.mark.parametrize(
    ("epithet", "largest"),
    [("rupestris", 15), ("ariommus", 12), ("cavifrons", 14), ("constellatus", 12)],
)
def test_the_greatest_length_of_each_rock_bass_is_that_of_the_trade(desk, epithet, largest):
    # Read otherwise: 17 inches for rock bass; 11 for Ozark bass; both stand.
    assert within(sizes(desk, taxon(epithet), "largest", "cm"), largest * INCH, 0.6)


@pytest.mark.parametrize(
    ("epithet", "pounds", "ounces"),
    [("rupestris", 3, 0), ("ariommus", 1, 13), ("cavifrons", 1, 5), ("constellatus", 1, 0)],
)
def test_the_heaviest_of_each_rock_bass_is_that_of_the_trade(desk, epithet, pounds, ounces):
    # Read otherwise for Roanoke bass: 2 lb 11 oz and more, from Fishing Creek; both stand.
    kilograms = (pounds + ounces / 16) * POUND
    assert within(sizes(desk, taxon(epithet), "largest", "kg"), kilograms, 0.011)


def test_the_heavier_roanoke_bass_read_stands_beside_that_of_the_trade(desk):
    rows = sizes(desk, taxon("cavifrons"), "largest", "kg")
    assert max(r["least"] for r in rows) > (2 + 10 / 16) * POUND


# ---- native waters ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("epithet", "water"),
    [
        ("cavifrons", "Roanoke"),
        ("cavifrons", "Chowan"),
        ("cavifrons", "Tar"),
        ("cavifrons", "Neuse"),
        ("constellatus", "upper White"),
        ("ariommus", "St. Francis"),
        ("ariommus", "Black River (Arkansas)"),
        ("ariommus", "Arkansas"),
        ("ariommus", "Red River (South)"),
        ("ariommus", "Ouachita"),
        ("ariommus", "Mobile Basin"),
        ("rupestris", "Tennessee"),
    ],
)
def test_each_rock_bass_is_native_where_the_trade_says(know, desk, epithet, water):
    found = desk.water(water)
    assert len(found) == 1
    assert know.prove(taxon(epithet), "op:nativeTo", found[0]).outcome in ("stated", "derived")


@pytest.mark.parametrize(
    ("epithet", "water"),
    [
        ("rupestris", "Mobile Basin"),
        ("ariommus", "Tennessee"),
        ("cavifrons", "upper White"),
        ("constellatus", "Roanoke"),
    ],
)
def test_no_rock_bass_is_native_where_the_trade_puts_another(know, desk, epithet, water):
    found = desk.water(water)
    assert know.prove(taxon(epithet), "op:nativeTo", found[0]).outcome == "not-derivable"


def test_roanoke_bass_is_native_to_its_four_rivers_and_their_parts_alone(desk):
    places = Places(desk)
    home = [desk.water(w)[0] for w in ("Roanoke", "Chowan", "Tar", "Neuse")]
    beyond = [
        w
        for w in native(desk, taxon("cavifrons"))
        if w.startswith("w:") and not any(places.relation(w, h) == WITHIN for h in home)
    ]
    assert beyond == []


def test_the_coosa_redeye_bass_is_native_to_the_coosa_alone(desk):
    places, coosa = Places(desk), desk.water("Coosa")[0]
    where = native(desk, taxon("coosae", "Micropterus"))
    assert coosa in where
    assert [w for w in where if w.startswith("w:") and places.relation(w, coosa) != WITHIN] == []
    assert [w for w in where if places.relation(w, coosa) not in TOGETHER] == []


@pytest.mark.parametrize(
    "water", ["Tallapoosa", "Cahaba", "Black Warrior", "Chattahoochee", "Savannah"]
)
def test_the_redeye_basses_of_other_rivers_are_no_longer_micropterus_coosae(know, desk, water):
    found = desk.water(f"{water} River")
    assert (
        know.prove(taxon("coosae", "Micropterus"), "op:nativeTo", found[0]).outcome
        == "not-derivable"
    )


# ---- meanings and years -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("about", "words"),
    [
        ("t:Ambloplites", ["blunt"]),
        ("t:Ambloplites", ["weapon"]),
        ("t:Ambloplites-rupestris", ["rocks"]),
        # Read otherwise: ari- as strengthening, "very", with -ommus "eye"; in sum big-eyed.
        ("t:Ambloplites-ariommus", ["eye"]),
        ("t:Ambloplites-ariommus", ["big", "large", "very"]),
        ("t:Ambloplites-cavifrons", ["hollow"]),
        ("t:Ambloplites-cavifrons", ["brow", "forehead", "front"]),
        ("t:Ambloplites-constellatus", ["clustered"]),
        # Read otherwise in dictionaries: starred; both stand.
        ("t:Ambloplites-constellatus", ["starred"]),
    ],
)
def test_the_names_of_the_rock_basses_mean_what_the_trade_says(desk, about, words):
    rows = desk.snapshot.rows(
        "SELECT ?t ?m WHERE { ?s a op:Etymology ; op:about ?t ; op:meaning ?m }", t=node(about)
    )
    assert any(word in r["m"] for r in rows for word in words)


def years(desk, under):
    """The years in which the species names now followed of a group were published."""
    return {
        r["t"]: r["y"]
        for r in desk.snapshot.rows(
            """SELECT ?u ?t ?y WHERE { ?t op:hasAncestor ?u ; dwc:taxonRank "species" .
            ?use op:means ?t ; op:kind op:scientific ; op:followed true ; op:name ?n .
            ?n op:year ?y }""",
            u=node(under),
        )
    }


def test_the_european_bass_was_described_in_1758(desk):
    assert years(desk, "t:Dicentrarchus")["t:Dicentrarchus-labrax"] == 1758


@pytest.mark.parametrize("genus", ["Ambloplites", "Micropterus"])
def test_the_rock_basses_and_black_basses_were_described_only_after_1800(desk, genus):
    found = years(desk, f"t:{genus}")
    assert len(found) >= 4
    assert {t: y for t, y in found.items() if y <= 1800} == {}


def test_neither_eye_nor_body_colour_is_ever_trusted(values):
    trust = {key: c.trust for key, c in values.characters.items() if "colour" in key}
    assert {"eye-colour", "body-colour"} <= set(trust)
    assert {trust["eye-colour"], trust["body-colour"]} == {"misleading"}
