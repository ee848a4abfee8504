"""Every species of a group, run through its own key with its own states, comes out as itself."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from opercle.counts import CountRange
from opercle.questions.features import Feature
from opercle.questions.key import follow, grow
from opercle.questions.key_leads import leads_on
from opercle.questions.key_splits import Fish, narrowed
from opercle.questions.values import Character, Value, Values

GROUPS = [
    "Ambloplites",
    "Lepomis",
    "Micropterus",
    "Pomoxis",
    "Enneacanthus",
    "Centrarchidae",
    "Percidae",
    "Moronidae",
    "Esocidae",
    "Salmonidae",
    "Sciaenidae",
    "Catostomidae",
]


@pytest.mark.parametrize("group", GROUPS)
def test_every_species_comes_out_as_itself_or_in_its_honest_group(know, group):
    answer = know.key(group)
    values = Values(know.desk)
    species = [t["taxon"] for t in answer.fields["species"]]
    assert len(species) > 1
    for taxon in species:
        ends = follow(answer.fields["couplets"], values.of(taxon))
        if not answer.fields["couplets"]:
            continue
        assert ends, taxon
        assert all(taxon in end for end in ends), (taxon, ends)


@pytest.mark.parametrize("group", GROUPS)
def test_no_fish_is_lost_between_the_leads(know, group):
    answer = know.key(group)
    named = {
        t["taxon"]
        for c in answer.fields["couplets"]
        for taxa in (c["leads"][0]["taxa"], c["leads"][1]["taxa"], c["stops"])
        for t in taxa
    }
    expected = {t["taxon"] for t in answer.fields["species"]}
    expected -= {t["taxon"] for t in answer.fields["without_data"]}
    if answer.fields["couplets"]:
        assert named == expected


KEYS = ("first", "second", "third")


def feature(key, kind):
    character = Character(key, key, "dependable", "in the hand", "?", KEYS.index(key))
    states = tuple((f"c:{key}_{s}", s) for s in "abcd")
    return Feature(character, kind, "", states if kind == "state" else ())


FEATURES = {
    "first": feature("first", "count"),
    "second": feature("second", "count"),
    "third": feature("third", "state"),
}


@st.composite
def values(draw):
    mine = {}
    for key in ("first", "second"):
        if draw(st.booleans()):
            least = draw(st.integers(0, 12))
            most = draw(st.one_of(st.none(), st.integers(least, least + 5)))
            mine[key] = Value(CountRange(least, most), frozenset(), (), "", ("s",))
    if draw(st.booleans()):
        states = draw(st.sets(st.sampled_from("abcd"), min_size=1, max_size=3))
        mine["third"] = Value(None, frozenset(f"c:third_{s}" for s in states), (), "")
    return mine


@settings(max_examples=200, deadline=None)
@given(st.lists(values(), min_size=2, max_size=9))
def test_in_any_set_of_fishes_each_one_stays_with_its_own_values(sets):
    fishes = [Fish(f"t:f{i}", f"g{i % 3}", 1.0 + i, mine) for i, mine in enumerate(sets)]
    tree = grow(fishes, FEATURES)
    for fish in fishes:
        assert all(fish.taxon in end for end in ends(tree, fish)), fish
        assert ends(tree, fish)


def ends(node, fish):
    """The fishes named where a fish comes out of the bare tree."""
    if node.cut is None:
        return [[f.taxon for f in node.fishes]]
    cut = node.cut
    value = fish.values.get(cut.feature.key)
    if value is None and cut.stopped:
        return [[f.taxon for f in cut.stopped]]
    found = []
    for way, lead in zip(node.ways, sides(cut), strict=True):
        if value is None or leads_on(lead, value):
            found += ends(way, fish)
    return found


def sides(cut):
    """What the two leads say: all that the fishes of each side show, narrowed to it."""
    told = []
    for first, some in ((True, cut.one), (False, cut.two)):
        held = [narrowed(f, cut, first).values[cut.feature.key] for f in (*some, *cut.both)]
        if cut.feature.kind == "state":
            states = {s for v in held for s in v.states}
            told.append({"least": None, "most": None, "states": list(states)})
            continue
        least = min(v.range.least for v in held)
        most = None if any(v.range.most is None for v in held) else max(v.range.most for v in held)
        told.append({"least": least, "most": most, "states": []})
    return told


def test_follow_of_an_empty_key_is_empty():
    assert follow([], {}) == []
