"""``settle`` and ``name`` are one rule book: a plain name means the same to both."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from opercle.errors import UnknownError
from opercle.records.deciding import Decider

STATES = [None, "GA", "AL", "FL", "OH", "ME", "TX", "CA", "Ontario", "MN"]
WATERS = [None, "Flint River", "Coosa River", "Lake Erie", "Ohio River"]
_held = {}


@pytest.fixture(scope="module")
def decider(desk):
    return _held.setdefault("decider", Decider(desk))


@pytest.fixture(scope="module")
def forms(desk):
    rows = desk.snapshot.rows(
        "SELECT DISTINCT ?form { ?use op:name ?n . ?n skosxl:literalForm ?form }"
    )
    return sorted(r["form"] for r in rows)


def by_name(know, name, water, state, year):
    """Outcome and taxa of the question, or unknown."""
    try:
        answer = know.name(name, water=water, state=state, year=year)
    except UnknownError:
        return "unknown", ()
    head = (answer.fields.get("settled_as") or {}).get("taxon")
    left = (head,) if head else tuple(b["taxon"] for b in answer.fields["bearers"])
    return answer.outcome, left


def by_record(decider, name, water, state, year):
    """Outcome and taxa of the same name in a row."""
    where = decider.where.read(water or "", state or "", "", "")
    made = decider.decide(decider.read(name), None, where.places, year)
    return made, ((made.taxon,) if made.taxon else made.candidates)


def same(know, decider, name, water, state, year):
    outcome, taxa = by_name(know, name, water, state, year)
    made, got = by_record(decider, name, water, state, year)
    if "does not hold" in made.remarks:
        # said openly: the usual meaning of the name lies outside the knowledge
        assert made.outcome == "open"
        return
    assert made.outcome == outcome, (name, water, state, year, made.remarks)
    if taxa:
        assert set(got) == set(taxa)


LOOSE = settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


@LOOSE
@given(
    data=st.data(), state=st.sampled_from(STATES), year=st.sampled_from([None, 1890, 1955, 2010])
)
def test_every_name_means_in_a_row_what_the_question_says(know, decider, forms, data, state, year):
    same(know, decider, data.draw(st.sampled_from(forms)), None, state, year)


@LOOSE
@given(data=st.data(), water=st.sampled_from(WATERS))
def test_a_water_settles_a_row_as_it_settles_the_question(know, decider, forms, data, water):
    same(know, decider, data.draw(st.sampled_from(forms)), water, None, None)


@LOOSE
@given(data=st.data(), at=st.integers(0, 30))
def test_a_row_is_never_bolder_with_a_misspelling_than_the_question(know, decider, forms, data, at):
    form = data.draw(st.sampled_from(forms))
    at = at % len(form)
    name = form[:at] + form[at + 1 :]
    made, got = by_record(decider, name, None, None, None)
    outcome, taxa = by_name(know, name, None, None, None)
    read = decider.read(name)
    if made.outcome == "settled" and read.texts == (name,):
        assert outcome == "settled"
        assert set(got) == set(taxa)


@LOOSE
@given(name=st.text(max_size=60), state=st.sampled_from(STATES))
def test_any_text_gets_one_of_three_outcomes(decider, name, state):
    made, _ = by_record(decider, name, None, state, None)
    assert made.outcome in ("settled", "open", "unknown")
    assert (made.taxon is not None) == (made.outcome == "settled")
