"""Identification: what rules out, what lowers, what never counts, and what to look at next."""

import pytest

from opercle.errors import UnknownError, UsageError


def by_name(answer):
    return {c["scientificName"]: c for c in answer.fields["candidates"]}


def test_a_dependable_character_rules_out(know):
    found = by_name(know.identify(["anal-spines=6"], within="Centrarchidae"))
    assert found["Ambloplites rupestris"]["standing"] == "fits"
    assert found["Lepomis macrochirus"]["standing"] == "against"
    assert found["Lepomis macrochirus"]["against"][0]["weight"] == "rules out"


def test_a_variable_character_only_lowers(know):
    answer = know.identify({"tail-shape": "rounded"}, within="Centrarchidae")
    found = by_name(answer)
    assert found["Ambloplites rupestris"]["standing"] == "at the edge"
    assert found["Acantharchus pomotis"]["standing"] == "fits"


def test_a_count_outside_the_usual_but_inside_the_extremes_is_at_the_edge(know):
    found = by_name(know.identify({"anal-spines": "4"}, within="Centrarchidae"))
    assert found["Acantharchus pomotis"]["standing"] == "at the edge"


def test_colour_never_counts_and_the_answer_says_so(know):
    plain = know.identify(["anal-spines=6"], within="Ambloplites")
    coloured = know.identify(["anal-spines=6", "eye-colour=silvery"], within="Ambloplites")
    standings = [(c["scientificName"], c["standing"]) for c in plain.fields["candidates"]]
    assert standings == [
        (c["scientificName"], c["standing"]) for c in coloured.fields["candidates"]
    ]
    assert any("does not count" in c for c in coloured.cautions)


@pytest.mark.parametrize("written", ["6", "VI", "6-6", "5-7", "6+", "6 or more", "5–7"])
def test_counts_are_read_as_people_write_them(know, written):
    found = by_name(know.identify({"anal-spines": written}, within="Centrarchidae"))
    assert found["Ambloplites rupestris"]["standing"] == "fits"


@pytest.mark.parametrize("written", ["joined", "joined in one fin", "Joined", "joined or notched"])
def test_states_are_read_by_key_or_label(know, written):
    found = by_name(know.identify({"dorsal-fins": written}, within="Percidae"))
    assert found["Perca flavescens"]["standing"] == "against"


def test_yes_and_no_answer_for_present_and_absent(know):
    found = by_name(know.identify({"adipose-fin": "no"}))
    assert found["Salmo trutta"]["standing"] == "against"


@pytest.mark.parametrize("word", ["not seen", "not-seen", "?", "unknown"])
def test_not_seen_is_taken_and_not_asked_again(know, word):
    answer = know.identify({"anal-spines": "6", "cheek-scales": word}, within="Ambloplites")
    assert answer.question["not_seen"] == ["cheek-scales"]
    assert "cheek-scales" not in {n["ask"] for n in answer.fields["next"]}


@pytest.mark.parametrize(
    ("written", "error"),
    [
        ("anal-spines=-3", UsageError),
        ("anal-spines=999", UsageError),
        ("anal-spines=7-5", UsageError),
        ("anal-spines=2.5", UsageError),
        ("anal-spines=many", UsageError),
        ("anal-spines", UsageError),
        ("=6", UsageError),
        ("body-depth=0", UsageError),
        ("body-depth=40", UsageError),
        ("dorsal-fins=purple", UnknownError),
        ("anl-spine=6", UnknownError),
        ("total-length=12", UsageError),
    ],
)
def test_what_cannot_be_right_is_refused_with_what_to_do(know, written, error):
    with pytest.raises(error) as told:
        know.identify([written])
    assert told.value.remedy


def test_an_unknown_character_offers_the_nearest(know):
    with pytest.raises(UnknownError) as told:
        know.identify(["anal-spins=6"])
    assert told.value.nearest[0] == "anal-spines"


def test_a_character_given_twice_is_refused(know):
    with pytest.raises(UsageError):
        know.identify(["anal-spines=6", "anal-spines=7"])


def test_a_range_limit_sets_a_fish_aside_with_its_reason(know):
    answer = know.identify(["anal-spines=6"], water="Niangua River", within="Ambloplites")
    aside = {a["scientificName"]: a["says"] for a in answer.fields["set_aside"]}
    assert "Ambloplites cavifrons" in aside
    assert "known only from" in aside["Ambloplites cavifrons"]


def test_the_place_settles_where_only_the_water_tells(know):
    answer = know.identify(["anal-spines=6"], water="Gasconade River", within="Ambloplites")
    assert answer.outcome == "settled"
    assert answer.fields["settled_by"] == ["place"]
    assert by_name(answer)["Ambloplites rupestris"]["lives_there"] == "native"


def test_a_water_where_a_fish_is_disputed_leaves_it_open_and_says_so(know):
    answer = know.identify(["anal-spines=6"], water="Niangua River", within="Ambloplites")
    assert answer.outcome == "open"
    ozark = by_name(answer)["Ambloplites constellatus"]
    assert ozark["lives_there"] == "not known there"
    assert "sources disagree" in ozark["place"]


def test_an_introduced_fish_is_said_to_be_introduced(know):
    answer = know.identify(["anal-spines=6"], water="Roanoke River", within="Ambloplites")
    found = by_name(answer)
    assert found["Ambloplites rupestris"]["lives_there"] == "introduced"
    assert found["Ambloplites cavifrons"]["lives_there"] == "native"


def test_without_a_place_none_is_asked_about(know):
    found = by_name(know.identify(["anal-spines=6"], within="Ambloplites"))
    assert {c["lives_there"] for c in found.values()} == {"not asked"}


def test_a_fish_not_known_there_is_never_ruled_out_for_it(know):
    answer = know.identify(["anal-spines=3"], water="Lake Erie", within="Micropterus")
    standings = {
        c["standing"] for c in answer.fields["candidates"] if c["lives_there"] == "not known there"
    }
    assert "against" not in standings


@pytest.mark.parametrize("size", ["total-length=30cm", "size=12in", "weight=1lb"])
def test_a_size_within_the_largest_known_fits(know, size):
    found = by_name(know.identify(["anal-spines=6", size], within="Ambloplites"))
    assert found["Ambloplites rupestris"]["standing"] == "fits"


def test_a_size_far_beyond_the_largest_known_rules_out(know):
    found = by_name(know.identify(["anal-spines=6", "total-length=90cm"], within="Ambloplites"))
    assert found["Ambloplites rupestris"]["standing"] == "against"


def test_a_standard_length_is_held_against_longer_measures_only(know):
    answer = know.identify(["standard-length=35cm"], within="Ambloplites")
    assert by_name(answer)["Ambloplites rupestris"]["standing"] == "fits"


def test_next_is_ordered_and_expects_no_more_than_are_left(know):
    answer = know.identify(["anal-spines=3"], within="Lepomis")
    assert answer.outcome == "open"
    rows = answer.fields["next"]
    assert rows
    for row in rows:
        assert row["how"]
        assert row["expected_left"] is None or 0 < row["expected_left"] <= row["of"]


def test_the_first_look_splits_as_expected(know):
    """Two fishes that one state parts wholly leave one."""
    answer = know.identify(["anal-spines=3"], within="Enneacanthus")
    looks = [n for n in answer.fields["next"] if n["ask"] == "dorsal-fins"]
    assert looks
    assert looks[0]["expected_left"] < len(
        [c for c in answer.fields["candidates"] if c["standing"] != "against"]
    )


def test_where_no_character_parts_them_it_asks_for_the_water(know):
    answer = know.identify(
        ["cheek-scales=full", "side-pattern=not-seen", "body-form=not-seen"], within="Ambloplites"
    )
    assert answer.fields["next"][0]["ask"] == "water"


def test_a_hybrid_between_the_counts_is_warned_of(know):
    """Saugeye: scales of the sauger, jaw and fin of neither alone."""
    from opercle.questions.crosses import between
    from opercle.questions.features import features
    from opercle.questions.given import read
    from opercle.questions.values import Values
    from opercle.questions.weighing import greatest_counts

    desk = know.desk
    values = Values(desk)
    known = features(desk, values)
    given = read(["dorsal-spines=6", "anal-spines=3"], known, greatest_counts(desk))
    crappie, bluegill = values.of("t:Pomoxis-annularis"), values.of("t:Lepomis-macrochirus")
    assert between(given, crappie, bluegill) == ["dorsal spines", "anal spines"]
    pure = read(["dorsal-spines=6", "anal-spines=6"], known, greatest_counts(desk))
    assert between(pure, crappie, bluegill) == []
    beyond = read(["dorsal-spines=20"], known, greatest_counts(desk))
    assert between(beyond, crappie, bluegill) == []


def test_a_fish_of_which_nothing_seen_is_known_is_listed_apart(know):
    answer = know.identify(["dorsal-finlets=3"])
    apart = {a["scientificName"] for a in answer.fields["not_judged"]}
    named = {c["scientificName"] for c in answer.fields["candidates"]}
    assert apart
    assert not apart & named


def test_nothing_that_fits_is_told_with_the_nearest(know):
    answer = know.identify(["anal-spines=6", "dorsal-fins=separate"], within="Ambloplites")
    assert answer.outcome == "none"
    assert "Nearest is" in answer.answer


def test_all_species_of_the_group_are_accounted_for(know):
    answer = know.identify(["anal-spines=3"], water="Lake Erie", within="Centrarchidae")
    fields = answer.fields
    seen = [
        *(c["taxon"] for c in fields["candidates"]),
        *(c["taxon"] for c in fields["set_aside"]),
        *(c["taxon"] for c in fields["not_judged"]),
    ]
    assert len(seen) == len(set(seen))
    species = {t["taxon"] for t in know.key("Centrarchidae").fields["species"]}
    assert set(seen) == species


def test_every_line_for_or_against_shows_its_source_and_basis(know):
    answer = know.identify(["anal-spines=6"], within="Centrarchidae")
    for candidate in answer.fields["candidates"]:
        for line in candidate["for"] + candidate["against"]:
            assert line["source"]
            assert line["basis"] in ("read", "recalled")


def talk(know, replies, **places):
    from opercle.faces.asking import Talk

    waiting = iter(replies)
    said = []

    def listen(prompt):
        said.append(prompt)
        try:
            return next(waiting)
        except StopIteration:
            raise EOFError from None

    conversation = Talk(
        know, {"water": None, "state": None, "within": None, **places}, listen, said.append
    )
    return conversation, conversation.run(), said


def test_the_terminal_asks_one_question_at_a_time_and_can_stop(know):
    conversation, answer, said = talk(know, ["q"], within="Ambloplites")
    assert answer.outcome == "open"
    assert sum(1 for s in said if s.endswith("> ")) == 1
    assert conversation.said == []


def test_skip_passes_to_another_question_and_undo_takes_it_back(know):
    conversation, _, said = talk(know, ["", "u", "q"], within="Lepomis")
    prompts = [s for s in said if s.endswith("> ")]
    assert prompts[0] != prompts[1]
    assert prompts[0] == prompts[2]
    assert conversation.said == []


def test_a_wrong_reply_is_told_and_asked_again(know):
    conversation, _, said = talk(know, ["purple", "q"], within="Lepomis")
    prompts = [s for s in said if s.endswith("> ")]
    assert prompts[0] == prompts[1]
    assert conversation.said == []


def test_the_terminal_can_be_answered_to_the_end(know):
    from opercle.faces.asking import Talk

    def listen(prompt):
        return "Gasconade River" if "In which water" in prompt else ""

    talked = Talk(
        know, {"water": None, "state": None, "within": "Ambloplites"}, listen, lambda _: None
    )
    answer = talked.run()
    assert answer.outcome == "settled"
    assert by_name(answer)["Ambloplites rupestris"]["standing"] != "against"


def test_a_state_answers_the_question_for_the_water(know):
    from opercle.faces.asking import Talk

    replies = iter(["Virginia"])

    def listen(prompt):
        if "In which water" in prompt:
            return next(replies)
        raise EOFError

    talked = Talk(
        know, {"water": None, "state": None, "within": "Ambloplites"}, listen, lambda _: None
    )
    talked.run()
    assert ("state", "Virginia") in talked.said


def test_where_nothing_fits_the_terminal_offers_to_take_the_last_answer_back(know):
    replies = iter(["wrong", "u"])

    def listen(prompt):
        if "takes the last answer back" in prompt:
            return next(replies)
        raise EOFError

    conversation = one_said(know, listen)
    answer = conversation.run()
    assert answer.outcome == "none"
    assert conversation.said


def one_said(know, listen):
    from opercle.faces.asking import Said, Talk

    talk = Talk(
        know, {"water": None, "state": None, "within": "Ambloplites"}, listen, lambda _: None
    )
    talk.said.append(Said("dorsal-fins", "separate"))
    return talk
