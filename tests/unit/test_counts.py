"""CountRange by example: fin formulae as handbooks write them."""

import pytest

from opercle.counts import CountRange, span


@pytest.mark.parametrize(
    ("least", "most", "told"),
    [(5, 5, "5"), (5, 7, "5-7"), (3, None, "3 or more"), (0, 0, "0"), (0.25, 0.5, "0.25-0.5")],
)
def test_a_span_is_written_as_in_a_fin_formula(least, most, told):
    assert span(least, most) == told


def test_usual_values_are_told_in_parentheses():
    assert str(CountRange(5, 7, 6, 6)) == "5-7 (usually 6)"


def test_usual_values_that_are_the_whole_range_are_not_told_twice():
    assert str(CountRange(5, 7, 5, 7)) == "5-7"


def test_the_usual_part_of_a_range_without_usual_values_is_the_whole_range():
    assert CountRange(5, 7).usual == CountRange(5, 7)


def test_the_usual_part_is_what_the_usual_values_say():
    assert CountRange(5, 8, 6, 7).usual == CountRange(6, 7)


def test_two_ranges_that_share_one_value_overlap():
    assert CountRange(3, 5).overlaps(CountRange(5, 7))


def test_two_ranges_with_no_value_between_them_have_a_gap_all_the_same():
    assert CountRange(3, 3).gap(CountRange(4, 7))


def test_an_open_range_meets_everything_from_its_least_value_up():
    assert CountRange(3, None).overlaps(CountRange(100, 200))
    assert CountRange(3, None).gap(CountRange(1, 2))
    assert CountRange(1, 2).gap(CountRange(3, None))


def test_two_open_ranges_always_overlap():
    assert CountRange(3, None).overlaps(CountRange(300, None))


def test_a_closed_range_never_covers_an_open_one():
    assert not CountRange(0, 1000).covers(CountRange(5, None))
    assert CountRange(0, None).covers(CountRange(5, None))


def test_zero_is_a_value_and_not_the_lack_of_one():
    assert CountRange(0, 0).gap(CountRange(1, 2))
    assert CountRange(0, 0).overlaps(CountRange(0, 3))
    assert str(CountRange(0, 3, 0, 0)) == "0-3 (usually 0)"


def test_the_hull_reaches_over_a_gap():
    assert CountRange(3, 3).hull(CountRange(5, 7)) == CountRange(3, 7)


def test_the_hull_with_an_open_range_is_open():
    assert CountRange(3, 5).hull(CountRange(4, None)) == CountRange(3, None)


def test_in_a_hull_a_range_without_usual_values_says_nothing_of_what_is_usual():
    assert CountRange(5, 7, 6, 6).hull(CountRange(4, 8)) == CountRange(4, 8, 6, 6)
    assert CountRange(5, 7).hull(CountRange(4, 8)) == CountRange(4, 8)


def test_in_a_hull_usual_values_widen_like_the_ends():
    assert CountRange(5, 7, 6, 6).hull(CountRange(4, 8, 7, 8)) == CountRange(4, 8, 6, 8)
