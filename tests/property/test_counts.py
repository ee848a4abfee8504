"""The laws of CountRange, for any ranges."""

from hypothesis import given
from hypothesis import strategies as st

from opercle.counts import CountRange

NUMBERS = st.integers(0, 200)


@st.composite
def ranges(draw):
    """Any range: closed or open, with usual values or without."""
    low, a, b, high = sorted(draw(st.lists(NUMBERS, min_size=4, max_size=4)))
    most = draw(st.sampled_from([high, None]))
    if draw(st.booleans()):
        return CountRange(low, most)
    return CountRange(low, most, a, draw(st.sampled_from([b, None])) if most is None else b)


RANGES = ranges()


def holds(one, value):
    return one.least <= value and (one.most is None or value <= one.most)


@given(RANGES, RANGES)
def test_overlapping_is_mutual(one, two):
    assert one.overlaps(two) == two.overlaps(one)


@given(RANGES, RANGES)
def test_a_gap_is_mutual_and_just_the_lack_of_an_overlap(one, two):
    assert one.gap(two) == two.gap(one) == (not one.overlaps(two))


@given(RANGES, RANGES)
def test_two_ranges_overlap_just_where_some_value_lies_in_both(one, two):
    highest = max(one.least, two.least)
    assert one.overlaps(two) == (holds(one, highest) and holds(two, highest))


@given(RANGES)
def test_a_range_overlaps_and_covers_itself(one):
    assert one.overlaps(one)
    assert one.covers(one)


@given(RANGES, RANGES, RANGES)
def test_what_covers_a_cover_covers_the_covered(one, two, three):
    if one.covers(two) and two.covers(three):
        assert one.covers(three)


@given(RANGES, RANGES)
def test_two_ranges_that_cover_each_other_have_the_same_ends(one, two):
    if one.covers(two) and two.covers(one):
        assert one[:2] == two[:2]


@given(RANGES, RANGES, NUMBERS)
def test_a_cover_holds_every_value_of_the_covered(one, two, value):
    if one.covers(two) and holds(two, value):
        assert holds(one, value)


@given(RANGES, RANGES)
def test_a_range_that_covers_another_overlaps_it(one, two):
    if one.covers(two):
        assert one.overlaps(two)


@given(RANGES)
def test_a_range_covers_its_usual_part(one):
    assert one.covers(one.usual)


@given(RANGES, RANGES)
def test_the_hull_covers_both(one, two):
    hull = one.hull(two)
    assert hull.covers(one)
    assert hull.covers(two)


@given(RANGES, RANGES)
def test_the_usual_part_of_the_hull_covers_the_usual_values_that_are_stated(one, two):
    hull = one.hull(two)
    stated = [r for r in (one, two) if r.usual_least is not None]
    assert all(hull.usual.covers(r.usual) for r in stated)
    assert (hull.usual_least is None) == (not stated)


@given(RANGES, RANGES)
def test_the_usual_part_of_the_hull_stays_inside_the_hull(one, two):
    hull = one.hull(two)
    assert hull.covers(hull.usual)


@given(RANGES, RANGES)
def test_the_hull_does_not_depend_on_the_order(one, two):
    assert one.hull(two) == two.hull(one)


def ends(one):
    """What a range means: its ends and its usual ends, however they are written."""
    return (one.least, one.most, one.usual.least, one.usual.most)


@given(RANGES, RANGES, RANGES)
def test_the_hull_does_not_depend_on_the_grouping(one, two, three):
    assert ends(one.hull(two).hull(three)) == ends(one.hull(two.hull(three)))


@given(RANGES)
def test_the_hull_of_a_range_with_itself_is_itself(one):
    assert ends(one.hull(one)) == ends(one)


@given(RANGES, RANGES)
def test_the_hull_is_the_smallest_cover(one, two):
    hull = one.hull(two)
    assert hull.least in (one.least, two.least)
    assert hull.most in (one.most, two.most)


@given(RANGES, RANGES, RANGES)
def test_what_has_a_gap_to_a_hull_has_a_gap_to_both(one, two, three):
    if three.gap(one.hull(two)):
        assert three.gap(one)
        assert three.gap(two)


@given(RANGES, RANGES)
def test_ranges_that_cannot_meet_have_usual_parts_that_cannot_meet(one, two):
    if one.gap(two):
        assert one.usual.gap(two.usual)


@given(RANGES)
def test_every_range_can_be_written(one):
    assert str(one).startswith(f"{one.least:g}")
