"""Lengths and weights in both systems, by the exact factors.

Knows: 1 in = 2.54 cm and 1 lb = 0.453 592 37 kg, both exact (NIST Special Publication 811,
appendix B.8).
Refuses to know: what a fish may weigh.
"""

import re
from typing import NamedTuple

from opercle.errors import UsageError

CM_PER_INCH = 2.54
KG_PER_POUND = 0.45359237
OUNCES_PER_POUND = 16

DIMENSIONS = ("total-length", "fork-length", "standard-length", "length", "weight")
"""What a size measures; a length not further said is taken as a total length."""

_UNITS = {
    "mm": 0.1,
    "cm": 1.0,
    "m": 100.0,
    "in": CM_PER_INCH,
    "inch": CM_PER_INCH,
    "inches": CM_PER_INCH,
    '"': CM_PER_INCH,
    "ft": 12 * CM_PER_INCH,
    "feet": 12 * CM_PER_INCH,
    "foot": 12 * CM_PER_INCH,
}
_WEIGHTS = {
    "g": 0.001,
    "kg": 1.0,
    "oz": KG_PER_POUND / OUNCES_PER_POUND,
    "ounce": KG_PER_POUND / OUNCES_PER_POUND,
    "ounces": KG_PER_POUND / OUNCES_PER_POUND,
    "lb": KG_PER_POUND,
    "lbs": KG_PER_POUND,
    "pound": KG_PER_POUND,
    "pounds": KG_PER_POUND,
}
_PART = re.compile(r"\s*(\d+(?:\.\d+)?)\s*([a-z\"]+)\s*,?", re.I)


class Size(NamedTuple):
    """A length in centimetres or a weight in kilograms, with how it was written."""

    dimension: str
    value: float
    written: str

    @property
    def told(self) -> str:
        """In both systems."""
        return weight(self.value) if is_weight(self.dimension) else length(self.value)


def is_weight(dimension: str) -> bool:
    """True if the dimension is measured in kilograms."""
    return dimension == "weight"


def inches(cm: float) -> float:
    """Centimetres as inches."""
    return cm / CM_PER_INCH


def pounds(kg: float) -> float:
    """Kilograms as pounds."""
    return kg / KG_PER_POUND


def length(cm: float) -> str:
    """``43 cm (16.9 in)``."""
    return f"{_figure(cm)} cm ({_figure(inches(cm))} in)"


def weight(kg: float) -> str:
    """``1.36 kg (3 lb)``; below a tenth of a kilogram in grams and ounces."""
    if kg < 0.1:
        return f"{_figure(kg * 1000)} g ({_figure(pounds(kg) * OUNCES_PER_POUND)} oz)"
    return f"{_figure(kg)} kg ({_figure(pounds(kg))} lb)"


def _figure(value: float) -> str:
    """Three figures at most, as far as such sizes are ever meant."""
    places = 2 if value < 10 else 1 if value < 100 else 0
    return f"{round(value, places):g}"


def read_size(dimension: str, written: str) -> Size:
    """A size with its unit: ``30cm``, ``12 in``, ``1 lb 4 oz``; UsageError if it is not one."""
    units = _WEIGHTS if is_weight(dimension) else _UNITS
    total, place = 0.0, 0
    text = written.strip()
    while place < len(text):
        match = _PART.match(text, place)
        if match is None or match[2].lower() not in units:
            raise _unreadable(dimension, written)
        total += float(match[1]) * units[match[2].lower()]
        place = match.end()
    if total <= 0:
        raise _unreadable(dimension, written)
    return Size(dimension, total, written)


def _unreadable(dimension: str, written: str) -> UsageError:
    fit = "2lb, 1 lb 4 oz, 900g or 1.2kg" if is_weight(dimension) else "30cm, 300mm or 12in"
    return UsageError(
        f"{dimension}: “{written[:40]}” is not a size with its unit.",
        f"{dimension}={written[:40]}",
        f"Write {fit}.",
    )
