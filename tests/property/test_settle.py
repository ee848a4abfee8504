"""``settle`` and ``name`` are one rule book: a plain name means the same to both."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from opercle.errors import UnknownError
from opercle.records.deciding import Decider

STATES = [None, "GA", "AL", "FL", "OH", "ME", "TX", "CA", "Ontario", "MN"]
AUTHORITIES = [None, "AFS 2013", "Page et al. 2023", "Kim et al. 2022", "Hubbs & Bailey 1940"]
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


@pytest.fixture(scope="module")
def scientific(desk):
    """Scientific names that have meant several fishes, and the names of some of these."""
    rows = desk.snapshot.rows(
        "SELECT DISTINCT ?form { ?use op:name ?n ; op:kind ?kind ; op:means ?t . "
        "?other op:name ?n ; op:means ?u . FILTER(?t != ?u) ?n skosxl:literalForm ?form "
        "FILTER(?kind IN (op:scientific, op:synonym)) } ORDER BY ?form"
    )
    return [r["form"] for r in rows]


def by_name(know, name, water, state, year, authority=None, coast=None):
    """Outcome and taxa of the question, or unknown."""
    try:
        answer = know.name(
            name, water=water, state=state, year=year, according_to=authority, coast=coast
        )
    except UnknownError:
        return "unknown", ()
    head = (answer.fields.get("settled_as") or {}).get("taxon")
    left = (head,) if head else tuple(b["taxon"] for b in answer.fields["bearers"])
    return answer.outcome, left


def by_record(decider, name, water, state, year, authority=None, coast=None):
    """Outcome and taxa of the same name in a row."""
    where = decider.where.read(water or "", state or "", "", "", coast or "")
    made = decider.decide(decider.read(name), None, where, year, authority or "")
    return made, ((made.taxon,) if made.taxon else made.candidates)


def same(know, decider, name, water, state, year, authority=None, coast=None):
    outcome, taxa = by_name(know, name, water, state, year, authority, coast)
    made, got = by_record(decider, name, water, state, year, authority, coast)
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


# an open answer to the question costs a second: it says which characters would settle it
@settings(LOOSE, max_examples=25)
@given(
    data=st.data(),
    state=st.sampled_from(STATES),
    year=st.sampled_from([None, 1955, 2010]),
    authority=st.sampled_from(AUTHORITIES),
    coast=st.sampled_from([None, "coast", "inland"]),
)
def test_authority_and_coast_tell_a_row_what_they_tell_the_question(
    know, decider, scientific, data, state, year, authority, coast
):
    name = data.draw(st.sampled_from(scientific))
    same(know, decider, name, None, state, year, authority, coast)


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
