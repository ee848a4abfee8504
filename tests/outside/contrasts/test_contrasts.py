"""Couplets of published keys and contrasts of field guides agree with ``compare`` and ``key``.

Every row gives the work; "from memory" where the wording was not before us, else the work was
read and the knowledge cites it. What is expected is written here by hand from that work.
"""

import pytest

HL = "Hubbs & Lagler, Fishes of the Great Lakes Region, key to genera and species, from memory"
PB = "Page & Burr, Field Guide to Freshwater Fishes, 2011, from memory"
MEMORY = "from memory"
TWRA = (
    "Tennessee Wildlife Resources Agency, Key to the seven species of Lepomis of east Tennessee, "
    "after Etnier and Starnes"
)

MORE = [
    # the first has more of what is counted than the second, and the two cannot meet
    ("Ambloplites", "Lepomis", "anal-spines", HL),
    ("Ambloplites", "Micropterus", "anal-spines", "Nelson 2006, Fishes of the World"),
    ("Ambloplites", "Pomoxis", "dorsal-spines", HL),
    ("Centrarchus", "Lepomis", "anal-spines", HL),
    ("Centrarchus", "Pomoxis", "dorsal-spines", HL),
    ("Acantharchus", "Enneacanthus", "anal-spines", "Jenkins & Burkhead 1994, key, " + MEMORY),
    ("Micropterus dolomieu", "Lepomis humilis", "lateral-line-scales", PB),
    ("Centrarchidae", "Percidae", "anal-spines", HL),
    ("Morone americana", "Aplodinotus grunniens", "anal-spines", PB),
    ("Percina copelandi", "Etheostoma nigrum", "anal-spines", "COSEWIC, channel darter"),
    ("Hiodon tergisus", "Hiodon alosoides", "dorsal-soft-rays", "Gale encyclopedia, mooneyes"),
    (
        "Ictalurus furcatus",
        "Ictalurus punctatus",
        "anal-soft-rays",
        "Virginia Department of Game and Inland Fisheries, catfishes",
    ),
    ("Gadopsis marmoratus", "Gadopsis bispinosus", "dorsal-spines", "Australian Museum"),
    ("Atractosteus", "Lepisosteus", "gill-rakers", "Nelson 2006, Fishes of the World"),
    ("Catostomus catostomus", "Catostomus commersonii", "lateral-line-scales", PB),
    ("Micropterus dolomieu", "Elassoma zonatum", "dorsal-spines", PB),
]

STATES = [
    # first, second, character, what the first shows, what the second shows
    ("Acantharchus", "Lepomis", "scale-type", "cycloid", "ctenoid", HL),
    ("Pomoxis", "Ambloplites", "anal-base", "about-equal", "half", HL),
    ("Moronidae", "Centrarchidae", "pseudobranch", "exposed", "concealed", HL),
    ("Sander", "Perca", "canine-teeth", "present", "absent", HL),
    ("Gymnocephalus cernua", "Perca flavescens", "dorsal-fins", "joined", "separate", HL),
    ("Micropterus nigricans", "Micropterus dolomieu", "jaw-reach", "beyond-eye", None, HL),
    ("Micropterus nigricans", "Micropterus dolomieu", "dorsal-fins", "notched", "joined", HL),
    (
        "Micropterus nigricans",
        "Micropterus punctulatus",
        "caeca-form",
        "branched",
        "single",
        "Hubbs & Bailey 1940, " + MEMORY,
    ),
    (
        "Lepomis cyanellus",
        "Lepomis macrochirus",
        "pectoral-shape",
        "short-rounded",
        "long-pointed",
        PB,
    ),
    (
        "Lepomis cyanellus",
        "Lepomis gulosus",
        "tongue-teeth",
        "none",
        None,
        "Texas A&M University at Galveston, warmouth",
    ),
    (
        "Lepomis gibbosus",
        "Lepomis auritus",
        "ear-flap",
        "stiff",
        "flexible",
        "International Game Fish Association, redbreast sunfish",
    ),
    (
        "Ambloplites rupestris",
        "Ambloplites cavifrons",
        "cheek-scales",
        "full",
        None,
        "North Carolina Wildlife Resources Commission, Roanoke bass",
    ),
    (
        "Esox lucius",
        "Esox masquinongy",
        "cheek-scales",
        "full",
        "partial",
        "Henshall 1903, Bass, Pike, Perch, and Others",
    ),
    (
        "Channa argus",
        "Amia calva",
        "pelvic-position",
        "thoracic",
        "abdominal",
        "Wisconsin Department of Natural Resources 2010, snakehead",
    ),
    ("Elassoma", "Lepomis", "lateral-line", "absent", None, PB),
    (
        "Lepomis gulosus",
        "Lepomis macrochirus",
        "pectoral-shape",
        "short-rounded",
        "long-pointed",
        f"{TWRA}, couplet 1",
    ),
    ("Lepomis gulosus", "Lepomis auritus", "tongue-teeth", None, "none", f"{TWRA}, couplet 4"),
    ("Lepomis gulosus", "Lepomis megalotis", "tongue-teeth", None, "none", f"{TWRA}, couplet 4"),
]


def row_of(answer, character):
    rows = {r["character"]: r for r in answer.fields["rows"]}
    assert character in rows, answer.answer
    return rows[character]


@pytest.mark.parametrize(
    ("more", "fewer", "character", "source"), MORE, ids=[f"{m[0]} over {m[1]}" for m in MORE]
)
def test_a_published_count_contrast_decides_in_the_same_direction(
    know, more, fewer, character, source
):
    row = row_of(know.compare(more, fewer), character)
    assert row["tells_apart"], source
    assert row["verdict"] == "decides", source
    desk = know.desk
    from opercle.questions.values import Values

    values = Values(desk)
    greater, lesser = (values.of(t["taxon"])[character].range for t in row["cells"])
    assert lesser.most < greater.least


@pytest.mark.parametrize(
    ("one", "two", "character", "first", "second", "source"),
    STATES,
    ids=[f"{s[0]} from {s[1]} by {s[2]}" for s in STATES],
)
def test_a_published_contrast_of_states_decides_and_shows_the_same_states(
    know, one, two, character, first, second, source
):
    row = row_of(know.compare(one, two), character)
    assert row["verdict"] == "decides", source
    from opercle.questions.values import Values

    values = Values(know.desk)
    shown = [
        {s.rpartition("_")[2] for s in values.of(c["taxon"])[character].states}
        for c in row["cells"]
    ]
    assert first is None or first in shown[0], source
    assert second is None or second in shown[1], source


def test_at_least_twelve_of_the_works_were_read_and_not_recalled():
    read = [row[-1] for row in (*MORE, *STATES) if MEMORY not in row[-1]]
    assert len(read) >= 12
    assert len(set(read)) >= 8


def test_white_and_black_crappie_lean_apart_by_dorsal_spines(know):
    """West Virginia Division of Natural Resources: white six, black seven or eight."""
    answer = know.compare("white crappie", "black crappie")
    row = row_of(answer, "dorsal-spines")
    assert row["verdict"] in ("leans", "decides")
    assert row["tells_apart"]


KEYED = [
    ("Centrarchidae", "Micropterus dolomieu", "Lepomis macrochirus", HL),
    ("Centrarchidae", "Ambloplites rupestris", "Lepomis cyanellus", HL),
    ("Centrarchidae", "Pomoxis annularis", "Ambloplites rupestris", HL),
    ("Centrarchidae", "Micropterus nigricans", "Micropterus dolomieu", HL),
    ("Percidae", "Gymnocephalus cernua", "Perca flavescens", HL),
    ("Percidae", "Sander vitreus", "Gymnocephalus cernua", HL),
    ("Ambloplites", "Ambloplites cavifrons", "Ambloplites rupestris", "Cashner & Jenkins 1982"),
    ("Lepomis", "Lepomis cyanellus", "Lepomis macrochirus", PB),
    ("Esox", "Esox lucius", "Esox masquinongy", "Henshall 1903"),
    ("Moronidae", "Morone americana", "Morone chrysops", HL),
]


@pytest.mark.parametrize(("group", "one", "two", "source"), KEYED)
def test_the_key_parts_what_published_keys_part(know, group, one, two, source):
    from opercle.questions.key import follow
    from opercle.questions.values import Values

    couplets = know.key(group).fields["couplets"]
    values = Values(know.desk)
    taxa = ["t:" + name.replace(" ", "-") for name in (one, two)]
    ends = [follow(couplets, values.of(t)) for t in taxa]
    assert all(ends)
    together = [e for side in ends for e in side if set(taxa) <= set(e)]
    assert not together, source
