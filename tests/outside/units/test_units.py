"""Conversions against NIST Special Publication 811 (2008), appendix B.8.

inch: 2.54 E-02 m, exact; pound (avoirdupois): 4.535 9237 E-01 kg, exact; ounce (avoirdupois):
2.834 952 E-02 kg; foot: 3.048 E-01 m, exact.
"""

import pytest

from opercle.errors import UsageError
from opercle.questions.units import inches, length, pounds, read_size, weight


@pytest.mark.parametrize(
    ("dimension", "written", "value"),
    [
        ("total-length", "1in", 2.54),
        ("total-length", "1 inch", 2.54),
        ("total-length", "1ft", 30.48),
        ("total-length", "1 ft 2 in", 35.56),
        ("total-length", "300 mm", 30.0),
        ("total-length", "0.3 m", 30.0),
        ("weight", "1lb", 0.45359237),
        ("weight", "1 oz", 0.02834952),
        ("weight", "2 lb 12 oz", 1.247379),
        ("weight", "900 g", 0.9),
    ],
)
def test_a_size_is_read_by_the_factors_of_nist(dimension, written, value):
    assert read_size(dimension, written).value == pytest.approx(value, rel=1e-6)


def test_one_inch_is_two_and_a_half_centimetres_and_four_hundredths_exactly():
    assert inches(2.54) == 1.0


def test_one_pound_is_exactly_its_kilograms():
    assert pounds(0.45359237) == 1.0


def test_both_systems_are_told_side_by_side():
    assert length(43.0) == "43 cm (16.9 in)"
    assert weight(1.36) == "1.36 kg (3 lb)"


def test_the_account_gives_sizes_in_both_systems_that_agree(know):
    for size in know.account("rock bass").fields["sizes"]["statements"]:
        if size["dimension"] == "weight":
            metric, custom, factor = size["kg"], size["pounds"], 0.45359237
        else:
            metric, custom, factor = size["cm"], size["inches"], 2.54
        pairs = zip(metric, custom, strict=True) if isinstance(metric, list) else [(metric, custom)]
        for one, other in pairs:
            assert other * factor == pytest.approx(one, abs=0.02)


@pytest.mark.parametrize("written", ["12", "12 furlongs", "", "-3in", "0 cm", "12in of fish"])
def test_a_size_without_a_right_unit_is_refused(written):
    with pytest.raises(UsageError):
        read_size("total-length", written)
