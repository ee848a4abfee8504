"""What somebody saw on a fish: counts, proportions, states, sizes, or that it was not seen.

Knows: how people write them (``6``, ``5-6``, ``6+``, ``VI``, ``forked``, ``12in``, ``not seen``).
Refuses to know: the fishes. What cannot be read is refused with what would be right.
"""

import re
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from opercle import reading
from opercle.counts import CountRange, span
from opercle.errors import UnknownError, UsageError
from opercle.questions.features import COUNT, RATIO, SPINES, Feature
from opercle.questions.units import DIMENSIONS, Size, is_weight, read_size

_NOT_SEEN = {"not seen", "unseen", "unknown", "?", "not known", "cannot see", "skip"}
_ROMAN = {"i": 1, "v": 5, "x": 10, "l": 50, "c": 100}
_NUMBER = r"\d+(?:\.\d+)?"
_RANGE = re.compile(rf"^({_NUMBER})(?:\s*-\s*({_NUMBER})|\s*(\+|or more))?\s*(%)?$")
_ALSO = {"size": "length"}
"""Other words that people use for a character."""
_LONGEST = 40
"""No count or share is written with more signs."""
_MOST_RATIO = 3.0
_ERROR = 0.05
"""A proportion is measured to about a twentieth of itself (common practice, no source)."""


class Seen(NamedTuple):
    """One observation on one feature: a range of numbers or a set of states."""

    feature: Feature
    range: CountRange | None
    states: frozenset[str]
    written: str

    @property
    def told(self) -> str:
        """The observation in words, as it was understood."""
        if self.range is not None:
            return span(*self.range[:2])
        labels = [label for state, label in self.feature.states if state in self.states]
        return " or ".join(labels)

    @property
    def reach(self) -> CountRange | None:
        """The range with the error of measuring, where it is a proportion."""
        if self.range is None or self.feature.kind != RATIO:
            return self.range
        most = self.range.most
        high = None if most is None else most * (1 + _ERROR)
        return CountRange(self.range.least * (1 - _ERROR), high)


class Given(NamedTuple):
    """All that was given: what was seen, what could not be, and sizes."""

    seen: tuple[Seen, ...]
    not_seen: tuple[str, ...]
    sizes: tuple[Size, ...]


def read(
    written: Mapping[str, str] | Iterable[str],
    features: Mapping[str, Feature],
    largest: Mapping[str, float],
) -> Given:
    """Observations from ``key=value`` texts or a mapping.

    ``largest`` holds the greatest count known of any fish, by character. Raises UsageError for
    what cannot be right and UnknownError, with the nearest, for a character that is not known.
    """
    seen: list[Seen] = []
    not_seen: list[str] = []
    sizes: list[Size] = []
    used: set[str] = set()
    for key, value in _pairs(written):
        if key in used:
            raise UsageError(f"{key} is given twice.", key, "Give one value, or a range: 5-6.")
        used.add(key)
        if key in DIMENSIONS:
            if not _is_unseen(value):
                sizes.append(read_size(key, value))
        elif key not in features:
            raise _unknown(key, features)
        elif _is_unseen(value):
            not_seen.append(key)
        else:
            seen.append(_seen(features[key], value, largest.get(key)))
    return Given(tuple(seen), tuple(not_seen), tuple(sizes))


def _pairs(written: Mapping[str, str] | Iterable[str]) -> list[tuple[str, str]]:
    if isinstance(written, Mapping):
        return [(_key(k), str(v).strip()) for k, v in written.items()]
    pairs = []
    for text in written:
        key, equals, value = text.partition("=")
        if not equals or not key.strip() or not value.strip():
            raise UsageError(
                f"“{text[:60]}” is not an observation.",
                text[:60],
                "Write character=value, such as anal-spines=6, dorsal-fins=joined or "
                "tongue-teeth=not-seen.",
            )
        pairs.append((_key(key), value.strip()))
    return pairs


def _key(text: str) -> str:
    key = "-".join(text.strip().lower().replace("_", " ").replace("-", " ").split())
    return _ALSO.get(key, key)


def _plain(text: str) -> str:
    return " ".join(reading.normal(text).replace("-", " ").split())


def _is_unseen(value: str) -> bool:
    return value.strip().lower().replace("-", " ") in _NOT_SEEN


def _unknown(key: str, features: Mapping[str, Feature]) -> UnknownError:
    names = {k.replace("-", " "): k for k in (*features, *DIMENSIONS)}
    for feature in features.values():
        names.setdefault(feature.character.label.lower(), feature.key)
    words = set(key.split("-"))
    near = [names[r.key] for r in reading.nearest(key.replace("-", " "), list(names), most=5)]
    near += [k for k in features if words & set(k.split("-")) and k not in near]
    return UnknownError(
        f"“{key}” is not a character known here.",
        key,
        "Use one of the nearest, or see the characters with `opercle query`.",
        nearest=tuple(dict.fromkeys(near))[:6],
    )


def _seen(feature: Feature, value: str, largest: float | None) -> Seen:
    if feature.kind in (COUNT, RATIO):
        return Seen(feature, _number(feature, value, largest), frozenset(), value)
    return Seen(feature, None, _states(feature, value), value)


def _number(feature: Feature, value: str, largest: float | None) -> CountRange:
    text = value.lower().replace("–", "-").replace("—", "-").replace(" to ", "-").strip()
    text = _from_roman(text, feature)
    if text.startswith("-"):
        raise UsageError(
            f"{feature.character.label}: a count cannot be less than nothing.",
            f"{feature.key}={value}",
            "Give a number from 0 up, or not-seen.",
        )
    match = _RANGE.match(text)
    if match is None or len(text) > _LONGEST:
        raise UsageError(
            f"{feature.character.label}: “{value[:40]}” is not a number.",
            f"{feature.key}={value[:40]}",
            "Write 6, 5-6, 6+ or not-seen." if feature.kind == COUNT else "Write 0.4 or 0.38-0.42.",
        )
    share = 100.0 if match[4] else 1.0
    least = float(match[1]) / share
    most = None if match[3] else float(match[2] or match[1]) / share
    _possible(feature, value, least, most, largest)
    return CountRange(least, most)


def _from_roman(text: str, feature: Feature) -> str:
    """Spines are written in Roman numerals (Hubbs & Lagler): ``VI`` or ``V-VI``."""
    if feature.key not in SPINES or not re.fullmatch(r"[ivxlc]+(-[ivxlc]+)?", text):
        return text
    return "-".join(str(_roman(part)) for part in text.split("-"))


def _roman(text: str) -> int:
    total = 0
    for one, after in zip(text, [*text[1:], ""], strict=True):
        value = _ROMAN[one]
        total += -value if after and _ROMAN[after] > value else value
    return total


def _possible(
    feature: Feature, value: str, least: float, most: float | None, largest: float | None
) -> None:
    label, where = feature.character.label, f"{feature.key}={value}"
    if most is not None and most < least:
        raise UsageError(f"{label}: {value} runs backwards.", where, "Write the lesser first: 5-7.")
    if feature.kind == COUNT:
        if least != int(least) or (most is not None and most != int(most)):
            raise UsageError(f"{label} is a count, so a whole number.", where, "Write 6 or 5-6.")
        if largest is not None and least > max(2 * largest, largest + 5):
            raise UsageError(
                f"{label}: {least:g} is impossible; no fish known here has more than {largest:g}.",
                where,
                "Count again. " + feature.how,
            )
    elif not 0 < least <= _MOST_RATIO:
        raise UsageError(
            f"{label} is a share of a length, such as 0.4.", where, "Divide one by the other."
        )


def _states(feature: Feature, value: str) -> frozenset[str]:
    known = {state.rpartition("_")[2].replace("-", " "): state for state, _ in feature.states}
    labels = {_plain(label): state for state, label in feature.states}
    whole = _state(value, known, labels)
    if whole:
        return frozenset([whole])
    found = set()
    for part in re.split(r"\s*(?:,|/|\bor\b)\s*", value):
        state = _state(part, known, labels)
        if state is None:
            raise _no_state(feature, part, known)
        found.add(state)
    return frozenset(found)


def _state(part: str, known: Mapping[str, str], labels: Mapping[str, str]) -> str | None:
    plain = _plain(part)
    yes = {"yes": ("present",), "no": ("absent", "none")}.get(plain, ())
    for word in (plain, *yes):
        if word in known or word in labels:
            return known.get(word) or labels[word]
    return None


def _no_state(feature: Feature, part: str, known: Mapping[str, str]) -> UnknownError:
    near = [r.key.replace(" ", "-") for r in reading.nearest(_plain(part), list(known), most=3)]
    all_known = ", ".join(k.replace(" ", "-") for k in known)
    return UnknownError(
        f"{feature.character.label}: “{part[:40]}” is not one of its states.",
        f"{feature.key}={part[:40]}",
        f"Use one of: {all_known}.",
        nearest=tuple(near),
    )


def weight_or_length(size: Size) -> str:
    """The word for what a size measures."""
    return "weight" if is_weight(size.dimension) else size.dimension.replace("-", " ")
