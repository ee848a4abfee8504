"""How names are spelt, and how a misspelt one is read.

Knows: plain spelling, plurals, likeness of sound and letter, and when a likeness is too doubtful.
Refuses to know: what any name means.

The likeness is the mean of the letters' likeness (Ratcliff and Obershelp's measure as the
indel ratio of rapidfuzz) and that of the sounds (Philips's double metaphone), spaces left out.
"""

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from opercle.errors import UsageError

LONGEST = 200
"""The longest name read, in characters; the longest scientific name has under 100."""

SURE = 0.87
"""The least likeness at which a misspelt name is read as another."""

CLEAR = 0.02
"""How far the best likeness must stand above the next other name."""

_PLURALS = (("ies", "y"), ("ches", "ch"), ("shes", "sh"), ("sses", "ss"), ("xes", "x"), ("s", ""))
_NOT_PLURAL = ("ss", "us", "is", "as", "os")


class Reading(NamedTuple):
    """A name read in place of the one written: its key and how alike the two are (0 to 1)."""

    key: str
    score: float


def clean(name: str) -> str:
    """The name with white space folded; UsageError if empty, too long or not plain text."""
    if any(unicodedata.category(ch) == "Cc" and not ch.isspace() for ch in name):
        raise UsageError(
            "The name holds control characters.", repr(name[:40]), "Write the name in plain text."
        )
    folded = " ".join(name.split())
    if not folded:
        raise UsageError("The name is empty.", "NAME", "Write a fish's name, such as white perch.")
    if len(folded) > LONGEST:
        raise UsageError(
            f"The name is {len(folded)} characters long.",
            folded[:40] + "…",
            f"Write one name of at most {LONGEST} characters.",
        )
    return folded


def normal(name: str) -> str:
    """The key of a name: lower case, no accents, hyphens and points as spaces."""
    bare = unicodedata.normalize("NFKD", name.replace("ß", "ss"))
    bare = "".join(ch for ch in bare if not unicodedata.combining(ch)).casefold()
    bare = bare.replace("'", "").replace("\u2019", "").replace("&", " and ")
    return " ".join(re.sub(r"[^\w]+", " ", bare).split())


def key_of(name: str) -> str:
    """The key under which a name is kept: its plain spelling without spaces (sea bass, seabass)."""
    return normal(name).replace(" ", "")


def singulars(key: str) -> list[str]:
    """The key, and its likely singulars, likeliest first."""
    found = [key]
    if not key.endswith(_NOT_PLURAL):
        found += [key[: -len(end)] + put for end, put in _PLURALS if key.endswith(end)]
    return found


def nearest(key: str, keys: Iterable[str], most: int = 5) -> list[Reading]:
    """The keys most like this one, best first, as far as their likeness is worth telling."""
    from rapidfuzz import fuzz, process

    # a first look by letters alone keeps the sound out of thousands of hopeless pairs
    near = process.extract(key, keys, scorer=fuzz.ratio, limit=60, score_cutoff=45)
    close = process.extract(
        key.replace(" ", ""),
        {k: k.replace(" ", "") for k, _, _ in near},
        scorer=fuzz.ratio,
        limit=60,
    )
    scored = [Reading(found[2], round(likeness(key, found[2]), 3)) for found in close]
    return sorted(scored, key=lambda r: (-r.score, r.key))[:most]


@lru_cache(20_000)
def _sounds(bare: str) -> tuple[str, str]:
    from metaphone import doublemetaphone

    found: tuple[str, str] = doublemetaphone(bare)
    return found


def likeness(one: str, two: str) -> float:
    """How alike two keys are, 0 to 1: the mean of letters and sounds, spaces left out."""
    from rapidfuzz import fuzz

    a, b = one.replace(" ", ""), two.replace(" ", "")
    heard = [fuzz.ratio(x, y) for x in set(_sounds(a)) for y in set(_sounds(b)) if x and y]
    sounds = max(heard) if _sounds(a)[0] and _sounds(b)[0] else 0.0
    return float(fuzz.ratio(a, b) + sounds) / 200


def sure(readings: list[Reading]) -> Reading | None:
    """The first reading if it is alike enough and clearly ahead of the next; else None.

    The same name with and without a space is one name.
    """
    if not readings or readings[0].score < SURE:
        return None
    best = readings[0]
    rivals = [r for r in readings[1:] if r.key.replace(" ", "") != best.key.replace(" ", "")]
    if rivals and best.score - rivals[0].score < CLEAR:
        return None
    return best
