"""Thirty identifications worked from the counts of published descriptions.

Each row names the source in which the counts were read, as the knowledge cites it; the counts are
written out here, so that a change of the knowledge that loses them is seen. The described fish
must be left, no fish may agree with clearly more of its counts, and others of the family must
have been ruled out.
"""

import pytest

WORKED = [
    (
        "Lepomis macrochirus",
        "Centrarchidae",
        "Henshall, J. A. 1903, Bass, Pike, Perch, and Others",
        "anal-spines=3 anal-soft-rays=12 dorsal-spines=10 dorsal-soft-rays=12 "
        "lateral-line-scales=46",
    ),
    (
        "Morone americana",
        "Moronidae",
        "Henshall, J. A. 1903, Bass, Pike, Perch, and Others",
        "anal-spines=3 anal-soft-rays=8 dorsal-spines=10 dorsal-soft-rays=12 "
        "lateral-line-scales=50 gill-rakers=20",
    ),
    (
        "Aplodinotus grunniens",
        "Sciaenidae",
        "Henshall, J. A. 1903, Bass, Pike, Perch, and Others",
        "anal-spines=2 anal-soft-rays=7 dorsal-spines=10 dorsal-soft-rays=30 "
        "lateral-line-scales=55 gill-rakers=20",
    ),
    (
        "Sander canadensis",
        "Percidae",
        "Henshall, J. A. 1903, Bass, Pike, Perch, and Others",
        "anal-spines=2 anal-soft-rays=12 dorsal-spines=13 dorsal-soft-rays=18 "
        "lateral-line-scales=100",
    ),
    (
        "Perca flavescens",
        "Percidae",
        "Henshall, J. A. 1903, Bass, Pike, Perch, and Others",
        "anal-spines=2 anal-soft-rays=7 dorsal-spines=14 dorsal-soft-rays=15 "
        "lateral-line-scales=75",
    ),
    (
        "Lepomis megalotis",
        "Centrarchidae",
        "Henshall, J. A. 1903, Bass, Pike, Perch, and Others",
        "anal-spines=3 anal-soft-rays=9 dorsal-spines=10 dorsal-soft-rays=11 "
        "lateral-line-scales=40",
    ),
    (
        "Centropristis striata",
        "Serranidae",
        "Henshall, J. A. 1903, Bass, Pike, Perch, and Others",
        "anal-spines=3 anal-soft-rays=7 dorsal-spines=10 dorsal-soft-rays=11 "
        "lateral-line-scales=55",
    ),
    (
        "Lagodon rhomboides",
        "Sparidae",
        "Henshall, J. A. 1903, Bass, Pike, Perch, and Others",
        "anal-spines=3 anal-soft-rays=11 dorsal-spines=12 dorsal-soft-rays=11 "
        "lateral-line-scales=65",
    ),
    (
        "Elassoma zonatum",
        "Elassomatidae",
        "Texas State University, Department of Biology, Elassoma zonatum, banded pygmy sunfish",
        "anal-spines=3 anal-soft-rays=5-6 dorsal-spines=4-5 dorsal-soft-rays=9-10 "
        "lateral-line-scales=31-36 gill-rakers=6-8",
    ),
    (
        "Percina carbonaria",
        "Percidae",
        "Texas State University, Texas Freshwater Fishes: Percina carbonaria, Texas logperch",
        "anal-spines=2 anal-soft-rays=9-12 dorsal-spines=12-16 dorsal-soft-rays=13-16 "
        "lateral-line-scales=80-93 peduncle-scales=27-37",
    ),
    (
        "Percina shumardi",
        "Percidae",
        "Texas State University, Texas Freshwater Fishes: Percina shumardi, river darter",
        "anal-spines=2 anal-soft-rays=10-13 dorsal-spines=9-12 dorsal-soft-rays=11-16 "
        "lateral-line-scales=46-62 peduncle-scales=20-25",
    ),
    (
        "Sander marinus",
        "Percidae",
        "Porcellotti, S., Webmuseum ittiofauna: Percidae (species accounts)",
        "anal-spines=2-4 anal-soft-rays=9-12 dorsal-spines=13-18 dorsal-soft-rays=12-18 "
        "lateral-line-scales=75-88 vertebrae=38-44 peduncle-scales=34-36",
    ),
    (
        "Ambloplites rupestris",
        "Centrarchidae",
        "Perry, W. A. and others; Shields, G. O. (editor) 1892, American Game Fishes",
        "anal-spines=6 anal-soft-rays=10 dorsal-spines=11 dorsal-soft-rays=11 "
        "lateral-line-scales=40",
    ),
    (
        "Archoplites interruptus",
        "Centrarchidae",
        "Perry, W. A. and others; Shields, G. O. (editor) 1892, American Game Fishes "
        "(section The Sacramento Red-Eye)",
        "dorsal-spines=13 dorsal-soft-rays=10 lateral-line-scales=51",
    ),
    (
        "Morone chrysops",
        "Moronidae",
        "Shields, G. O. (editor) 1892, American Game Fishes",
        "anal-spines=3 anal-soft-rays=12 dorsal-spines=10 dorsal-soft-rays=14 "
        "lateral-line-scales=55",
    ),
    (
        "Micropterus dolomieu",
        "Centrarchidae",
        "Texas State University, Department of Biology, Micropterus dolomieu, smallmouth bass",
        "anal-soft-rays=11 dorsal-soft-rays=13-15 lateral-line-scales=68-76 peduncle-scales=28-32",
    ),
    (
        "Sander canadensis",
        "Percidae",
        "Shields, G. O. (editor) 1892, American Game Fishes",
        "anal-spines=2 anal-soft-rays=12 dorsal-spines=13-14 dorsal-soft-rays=17-18 "
        "lateral-line-scales=92-98",
    ),
    (
        "Centrarchus macropterus",
        "Centrarchidae",
        "Texas State University, Centrarchus macropterus, flier (Texas freshwater fishes)",
        "anal-spines=7-8 anal-soft-rays=13-15 dorsal-spines=11-13 dorsal-soft-rays=12-14 "
        "lateral-line-scales=36-42 gill-rakers=30-35 vertebrae=31",
    ),
    (
        "Zingel asper",
        "Percidae",
        "Porcellotti, S., Webmuseum ittiofauna: Percidae (species accounts)",
        "anal-spines=1-3 anal-soft-rays=8-12 dorsal-spines=9-11 dorsal-soft-rays=9-13 "
        "lateral-line-scales=57-65 vertebrae=43-45",
    ),
    (
        "Etheostoma histrio",
        "Percidae",
        "Texas State University, Texas Freshwater Fishes: Etheostoma histrio, harlequin darter",
        "anal-spines=2 anal-soft-rays=6-8 dorsal-spines=9-11 dorsal-soft-rays=11-14 "
        "lateral-line-scales=45-58 peduncle-scales=15-21",
    ),
    (
        "Stereolepis gigas",
        None,
        "Love, M. S.; Passarelli, J. K. (editors) 2020, Miller and Lea's Guide to the "
        "Coastal Marine Fishes of California, second edition",
        "anal-spines=3 anal-soft-rays=8-9 dorsal-spines=11-12 dorsal-soft-rays=9-10 "
        "gill-rakers=9-10 vertebrae=25-26",
    ),
    (
        "Pomoxis annularis",
        "Centrarchidae",
        "Henshall, J. A. 1903, Bass, Pike, Perch, and Others",
        "anal-spines=6 anal-soft-rays=18 dorsal-spines=6 dorsal-soft-rays=15 "
        "lateral-line-scales=36-48",
    ),
    (
        "Pomoxis nigromaculatus",
        "Centrarchidae",
        "Henshall, J. A. 1903, Bass, Pike, Perch, and Others",
        "anal-spines=6 anal-soft-rays=17 dorsal-spines=7 dorsal-soft-rays=15 "
        "lateral-line-scales=40-45",
    ),
    (
        "Etheostoma chlorosoma",
        "Percidae",
        "Texas State University, Texas Freshwater Fishes: Etheostoma chlorosoma, bluntnose darter",
        "anal-spines=1 anal-soft-rays=7-10 dorsal-soft-rays=8-12 "
        "lateral-line-scales=52-63 peduncle-scales=16-23",
    ),
    (
        "Ammocrypta clara",
        "Percidae",
        "Texas State University, Texas Freshwater Fishes: Ammocrypta clara, western sand darter",
        "anal-spines=1 anal-soft-rays=8-11 dorsal-spines=9-13 dorsal-soft-rays=9-13 "
        "lateral-line-scales=63-84 gill-rakers=10-12 vertebrae=38-42",
    ),
    (
        "Lepomis miniatus",
        "Centrarchidae",
        "Texas State University, Department of Biology, Lepomis miniatus, redspotted sunfish",
        "anal-spines=2-4 anal-soft-rays=10 dorsal-soft-rays=11 lateral-line-scales=34-42",
    ),
    (
        "Percopsis omiscomaycus",
        "Percopsidae",
        "Iowa Department of Natural Resources, Trout-perch (BioNet)",
        "anal-spines=1 anal-soft-rays=6-7 dorsal-spines=2 dorsal-soft-rays=10-11 "
        "lateral-line-scales=47-58",
    ),
    (
        "Aphredoderus sayanus",
        None,
        "Iowa Department of Natural Resources, Pirate Perch (BioNet)",
        "anal-spines=2-3 anal-soft-rays=6-7 dorsal-spines=2-3 dorsal-soft-rays=10-11 "
        "lateral-line-scales=48-59",
    ),
    (
        "Bairdiella chrysoura",
        "Sciaenidae",
        "Virginia Institute of Marine Science, Silver perch, after the FAO guide to the "
        "Western Central Atlantic",
        "anal-spines=2 anal-soft-rays=8-10 dorsal-spines=11-12 dorsal-soft-rays=19-23 "
        "lateral-line-scales=45-50 gill-rakers=22-24",
    ),
    (
        "Gymnocephalus acerina",
        "Percidae",
        "Porcellotti, S., Webmuseum ittiofauna: Percidae (species accounts)",
        "anal-spines=2 anal-soft-rays=5-6 dorsal-spines=17-19 dorsal-soft-rays=12-14 "
        "lateral-line-scales=50-55",
    ),
    (
        "Enneacanthus obesus",
        "Centrarchidae",
        "Alabama Department of Conservation and Natural Resources, Banded sunfish",
        "anal-spines=3 anal-soft-rays=9-12 dorsal-spines=8-9 dorsal-soft-rays=10-13 "
        "lateral-line-scales=29-35 peduncle-scales=19-22",
    ),
    (
        "Pogonias cromis",
        "Sciaenidae",
        "Virginia Institute of Marine Science, Black drum, after the FAO guide to the "
        "Western Central Atlantic",
        "anal-spines=2 anal-soft-rays=5-7 dorsal-spines=11 dorsal-soft-rays=19-22 "
        "gill-rakers=16-21",
    ),
    (
        "Sciaenops ocellatus",
        "Sciaenidae",
        "Smith, H. M. 1907, The Fishes of North Carolina",
        "anal-spines=2 anal-soft-rays=8 dorsal-spines=11 dorsal-soft-rays=24 "
        "lateral-line-scales=45-50 gill-rakers=12",
    ),
]


@pytest.mark.parametrize(
    ("taxon", "family", "source", "counts"), WORKED, ids=[f"{w[0]}, {w[2]}" for w in WORKED]
)
def test_the_counts_of_a_published_description_lead_back_to_its_fish(
    know, taxon, family, source, counts
):
    answer = know.identify(counts.split(), within=family)
    left = [c for c in answer.fields["candidates"] if c["standing"] != "against"]
    names = [c["scientificName"] for c in left]
    assert taxon in names, (source, answer.answer)
    agreeing = {c["scientificName"]: len(c["for"]) for c in left}
    assert agreeing[taxon] >= max(agreeing.values()) - 1
    assert answer.fields["ruled_out"] > 0


@pytest.mark.parametrize(
    "taxon",
    ["Morone americana", "Morone chrysops", "Archoplites interruptus", "Centrarchus macropterus"],
)
def test_some_descriptions_put_their_fish_first_of_a_few_in_the_family(know, taxon):
    found, family, _, counts = next(w for w in WORKED if w[0] == taxon)
    answer = know.identify(counts.split(), within=family)
    assert answer.fields["candidates"][0]["scientificName"] == found
    assert answer.fields["left"] <= 5


def test_at_least_thirty_descriptions_are_worked():
    assert len(WORKED) >= 30
    assert len({w[2] for w in WORKED}) >= 12


@pytest.mark.parametrize(
    ("taxon", "counts", "wrong"),
    [
        # Henshall 1903, Bass, Pike, Perch, and Others: counts of one fish rule out its namesakes
        ("Morone americana", "anal-spines=3 dorsal-spines=10", "Aplodinotus grunniens"),
        ("Aplodinotus grunniens", "anal-spines=2 dorsal-soft-rays=30", "Morone americana"),
        ("Perca flavescens", "anal-spines=2 dorsal-spines=14", "Morone americana"),
        ("Ambloplites rupestris", "anal-spines=6 dorsal-spines=11", "Lepomis gulosus"),
        ("Pomoxis nigromaculatus", "anal-spines=6 dorsal-spines=7", "Lepomis macrochirus"),
    ],
)
def test_counts_rule_out_a_fish_that_shares_the_common_name(know, taxon, counts, wrong):
    answer = know.identify(counts.split())
    standing = {c["scientificName"]: c["standing"] for c in answer.fields["candidates"]}
    assert standing[taxon] != "against"
    assert standing[wrong] == "against"
