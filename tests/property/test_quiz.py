"""Every quiz has one right answer to a question, and wrong ones that a recorded fact contradicts.

What is right and wrong is worked out here anew, from the statements, not by the code that asks.
"""

import itertools
import re

import pytest

SETS = [
    ("rock bass", "warmouth", "green sunfish"),
    ("largemouth bass", "smallmouth bass", "spotted bass", "striped bass"),
    ("Lepomis",),
    ("white perch", "yellow perch", "walleye"),
    ("brook trout", "rainbow trout", "brown trout"),
]
SEEDS = (1, 2)

STATEMENTS = """
SELECT ?t ?c ?s ?least ?most ?state WHERE {
  ?t op:goesBy|op:gathers ?s . ?s op:onCharacter ?c .
  OPTIONAL { ?s op:least ?least }
  OPTIONAL { ?s op:most ?most }
  OPTIONAL { ?s op:state ?state }
  MINUS { ?s op:doubted ?doubt }
}
"""


@pytest.fixture(scope="module")
def quizzes(know):
    return [
        (know.handout(*names, seed=seed, quiz=20).fields, names, seed)
        for names, seed in itertools.product(SETS, SEEDS)
    ]


@pytest.fixture(scope="module")
def items(quizzes):
    return [(fields, item) for fields, _, _ in quizzes for item in fields["quiz"]]


def of_kind(items, kind):
    found = [(f, i) for f, i in items if i["kind"] == kind]
    assert found, f"no question of the kind {kind} was made"
    return found


def split(item):
    right = [o for o in item["options"] if o["right"]]
    return right, [o for o in item["options"] if not o["right"]]


def test_every_set_gives_a_quiz_of_several_kinds(quizzes):
    for fields, names, seed in quizzes:
        kinds = {i["kind"] for i in fields["quiz"]}
        assert len(kinds) >= 3, (names, seed)


def test_a_question_has_one_right_answer_and_no_answer_twice(items):
    for _, item in items:
        right, wrong = split(item)
        assert len(right) == 1
        assert wrong
        says = [o["says"] for o in item["options"]]
        assert len(set(says)) == len(says)
        assert item["options"]["abcdefgh".index(item["answer"])]["right"]


def test_every_answer_gives_its_reason_and_a_source_of_the_sheet(items):
    for fields, item in items:
        numbers = {s["number"] for s in fields["sources"]}
        for option in item["options"]:
            assert option["why"]
            assert option["statements"]
            assert {r["n"] for r in option["refs"]} <= numbers
            assert option["refs"]


def test_no_question_is_asked_twice(quizzes):
    for fields, _, _ in quizzes:
        asked = [(i["asks"], tuple(sorted(o["says"] for o in i["options"])))
                 for i in fields["quiz"]]  # fmt: skip
        assert len(set(asked)) == len(asked)


def span(rows):
    """The hull of counts: what no source goes beyond."""
    most = [r["most"] for r in rows if "most" in r]
    return min(r["least"] for r in rows if "least" in r), max(most)


def about(know, statement):
    rows = know.desk.snapshot.rows("SELECT ?s ?c { ?s op:onCharacter ?c }", s=term(statement))
    return rows[0]["c"]


def term(name):
    from opercle.questions.desk import node

    return node(name)


def asked_of(fields, item, names):
    """The taxon that a question asks of, by its name in the question."""
    return max(
        (t for t in fields["taxa"] if named(t) in item["asks"]), key=lambda t: len(named(t))
    )["taxon"]


def named(taxon):
    return taxon["vernacularName"] or taxon["scientificName"]


def numbers(says):
    low, _, high = says.split()[0].partition("-")
    return float(low), float(high or low)


def test_no_source_gives_a_fish_the_count_that_is_called_wrong(know, items):
    for fields, item in of_kind(items, "count"):
        (right,), wrong = split(item)
        taxon = asked_of(fields, item, None)
        character = about(know, right["statements"][0])
        rows = know.desk.snapshot.rows(STATEMENTS, t=term(taxon), c=term(character))
        least, most = span(rows)
        for option in wrong:
            low, high = numbers(option["says"])
            assert high < least or low > most, (item["asks"], option["says"], least, most)
        low, high = numbers(right["says"])
        assert least <= low <= high <= most


def test_no_source_gives_a_fish_the_state_that_is_called_wrong(know, items):
    vague = {"c:tongue-teeth_present"}
    for fields, item in of_kind(items, "state"):
        (right,), wrong = split(item)
        taxon = asked_of(fields, item, None)
        character = about(know, right["statements"][0])
        rows = know.desk.snapshot.rows(STATEMENTS, t=term(taxon), c=term(character))
        own = {r["state"] for r in rows if "state" in r}
        labels = {know.desk.label(s) for s in own}
        for option in wrong:
            assert not labels & set(option["says"].split(" or ")), item["asks"]
            if own & vague:
                assert option["says"] == "no teeth"


def test_the_fish_called_wrong_cannot_show_what_is_told(know, items):
    for _, item in of_kind(items, "which"):
        _, wrong = split(item)
        for option in wrong:
            assert option["why"].startswith(("it has", "its "))
            label = option["why"].removeprefix("its ").partition(":")[0]
            assert label in item["asks"] or any(
                word in item["asks"] for word in option["why"].split()[-2:]
            )


def test_only_one_character_decides_and_the_rest_overlap_or_mislead(know, items):
    from opercle.questions.values import AGREES, DECIDES, Values

    values = Values(know.desk)
    for fields, item in of_kind(items, "sure"):
        pair = [t["taxon"] for t in fields["taxa"] if f"{named(t)} " in f"{item['asks']} "]
        by_label = {c.label: k for k, c in values.characters.items()}
        pair = sorted(pair, key=lambda t: len(know.desk.label(t)), reverse=True)[:4]
        for option in item["options"]:
            key = by_label[option["says"]]
            verdicts = {
                values.verdict(key, None, values.of(a).get(key), values.of(b).get(key))
                for a, b in itertools.combinations(pair, 2)
            }
            if option["right"]:
                assert DECIDES in verdicts
            elif values.characters[key].trust != "misleading":
                assert AGREES in verdicts


def test_a_fish_is_asked_of_the_family_it_is_placed_in(know, items):
    for fields, item in of_kind(items, "family"):
        (right,), wrong = split(item)
        taxon = next(t for t in fields["taxa"] if t["taxon"] == asked_of(fields, item, None))
        assert right["says"].split()[0] == taxon["family"]
        assert taxon["family"] not in [o["says"].split()[0] for o in wrong]


def words(text):
    """The words of a meaning that carry it."""
    dull = {"from", "with", "name", "greek", "latin", "the", "and", "for"}
    return {w for w in re.findall(r"[a-z]{3,}", text.lower()) if w not in dull}


def test_a_wrong_meaning_is_recorded_of_another_word_and_of_this_one_never(know, items):
    rows = know.desk.snapshot.rows("SELECT ?part ?means { ?s op:part ?part ; op:meaning ?means }")
    by_part = {}
    for row in rows:
        by_part.setdefault(row["part"].strip("-"), set()).add(row["means"])
    for _, item in of_kind(items, "meaning"):
        part = item["asks"].split("“")[1].split("”")[0].strip("-")
        (right,), wrong = split(item)
        assert any(m.startswith(right["says"]) for m in by_part[part])
        for option in wrong:
            assert not any(option["says"] in m for m in by_part[part])
            assert not words(option["says"]) & words(right["says"])


def test_a_meaning_that_nobody_knows_is_never_asked_nor_offered(items):
    for _, item in of_kind(items, "meaning"):
        assert not [o for o in item["options"] if "unknown" in o["says"]]


def test_people_brought_the_fish_to_the_right_water_alone(know, items):
    ranges = (
        "SELECT ?t ?presence ?where { ?s op:about ?t ; op:where ?where ; op:presence ?presence }"
    )
    for fields, item in of_kind(items, "brought"):
        (right,), wrong = split(item)
        taxon = asked_of(fields, item, None)
        rows = know.desk.snapshot.rows(ranges, t=term(taxon))
        said = {}
        for row in rows:
            said.setdefault(know.desk.label(row["where"]), set()).add(row["presence"])
        assert "op:introduced" in said[right["says"]]
        assert "op:native" not in said[right["says"]]
        for option in wrong:
            assert said[option["says"]] == {"op:native"}


def test_the_word_is_judged_as_really_judges_it(know, items):
    for fields, item in of_kind(items, "really"):
        (right,), _ = split(item)
        taxon = next(t for t in fields["taxa"] if t["taxon"] == asked_of(fields, item, None))
        word = item["asks"].rstrip("?").split()[-1]
        assert know.really(taxon["scientificName"], word=word).outcome == right["says"]
