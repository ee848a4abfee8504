"""Hubbs and Lagler's ways of counting and measuring, each said where it governs.

Source of the expected values: Hubbs, C. L. and Lagler, K. F., Fishes of the Great Lakes Region,
chapter "Methods of counting and measuring", from memory: the handbook's rules are common practice
of the trade and are checked here by what the text of ontology/characters.ttl says.
"""

import re

import pytest

from opercle.questions.desk import node

LAST_TWO = r"last two .*\bone base\b.* count as one"
# ruff: noqa: E501 — a table reads best with one row a line
RULES = [
    # (character, the rule in a handbook's words, what our text must say)
    ("anal-soft-rays", "the last two ray elements on one base are one ray", LAST_TWO),
    ("dorsal-soft-rays", "the last two ray elements on one base are one ray", LAST_TWO),
    ("anal-spines", "spines are written in Roman numerals", r"Roman"),
    ("dorsal-spines", "spines are written in Roman numerals", r"Roman"),
    ("pelvic-spines", "spines are written in Roman numerals", r"Roman"),
    ("anal-spines", "a spine counts however small", r"however short"),
    ("dorsal-spines", "a spine counts however small", r"however short"),
    ("caudal-branched-rays", "principal rays are the branched ones and two", r"\b(two more|plus two)"),
    ("pelvic-soft-rays", "the innermost ray counts", r"innermost"),
    ("pectoral-rays", "the smallest ray at the lower edge counts", r"small .*lower|lower .*small"),
    ("lateral-line-scales", "the count starts at the shoulder girdle", r"shoulder girdle"),
    ("lateral-line-scales", "the count ends at the hypural plate", r"end of the hypural plate"),
    ("lateral-line-scales", "scales on the tail fin are left out", r"tail fin do not count"),
    ("scale-rows-above", "from the origin of the dorsal fin", r"origin of the dorsal fin downward"),
    ("scale-rows-above", "the lateral-line row is left out", r"that row not counted"),
    ("scale-rows-below", "from the origin of the anal fin", r"origin of the anal fin upward"),
    ("scale-rows-below", "the lateral-line row is left out", r"that row not counted"),
    ("peduncle-scales", "at the least circumference of the tail stalk", r"thinnest part"),
    ("cheek-scale-rows", "across a line from eye to preopercular angle", r"eye to the angle of the preopercle"),
    ("gill-rakers", "all of the first arch, rudiments too", r"first arch, rudiments included"),
    ("gill-rakers-lower", "one at the angle belongs to the lower limb", r"straddles the angle belongs to the lower"),
    ("vertebrae", "the last, with the tail plate, is counted", r"last .*tail plate included"),
    ("body-depth", "depth without the fins, in standard length", r"fins left out, divided by standard length"),
    ("head-length", "to the end of the gill membrane", r"rearmost edge of the gill membrane"),
]  # fmt: skip


@pytest.fixture(scope="module")
def texts(desk):
    rows = desk.snapshot.rows(
        """SELECT ?c ?text WHERE { ?c op:trust ?trust ; skos:definition ?text }"""
    )
    return {r["c"]: r["text"] for r in rows}


@pytest.mark.parametrize(("character", "rule", "says"), RULES)
def test_the_way_of_counting_is_said_for_the_character_it_governs(texts, character, rule, says):
    assert re.search(says, texts[f"c:{character}"]), f"{rule}: not in {texts[f'c:{character}']!r}"


@pytest.mark.parametrize("character", sorted({r[0] for r in RULES}))
def test_a_character_counted_after_the_handbook_cites_the_handbook(desk, character):
    rows = desk.snapshot.rows(
        "SELECT ?c ?source WHERE { ?c op:citation ?cite . ?cite dcterms:source ?source }",
        c=node(f"c:{character}"),
    )
    assert "src:hubbs-lagler-2004" in [r["source"] for r in rows]


@pytest.mark.parametrize("character", ["pored-scales"])
def test_a_count_of_pored_scales_is_told_apart_from_one_of_the_whole_row(texts, character):
    """From memory of the handbook: pored scales are counted by themselves where the line stops."""
    assert re.search(r"only the scales .*bear a pore", texts[f"c:{character}"])


def test_no_count_is_given_as_a_fraction(desk):
    """Common practice, no source: rays, spines and scales are counted in whole numbers."""
    rows = desk.snapshot.rows(
        """SELECT ?s ?v WHERE { ?s a op:CountStatement ; ?p ?v
        FILTER (?p IN (op:least, op:most, op:usualLeast, op:usualMost)) }"""
    )
    assert len(rows) > 500
    assert [(r["s"], r["v"]) for r in rows if not isinstance(r["v"], int)] == []


def test_no_count_runs_backwards_and_usual_values_lie_inside_it(desk):
    """Common practice, no source: 5-7, never 7-5, and what is usual occurs."""
    rows = desk.snapshot.rows(
        """SELECT ?s ?l ?m ?ul ?um WHERE { ?s op:onCharacter ?c ; op:least ?l
        OPTIONAL { ?s op:most ?m } OPTIONAL { ?s op:usualLeast ?ul ; op:usualMost ?um } }"""
    )
    wrong = []
    for r in rows:
        most = r.get("m", float("inf"))
        usual = (r.get("ul", r["l"]), r.get("um", most))
        if not r["l"] <= usual[0] <= usual[1] <= most:
            wrong.append(r)
    assert wrong == []
