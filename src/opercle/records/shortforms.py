"""Words cut short in a cell: ``Lg mouth bass``, ``W. Crappie``, ``Ch cat``.

Knows: when one run of letters can stand for a word, and which standard names fit a whole cell.
Refuses to know: which of several fits is meant; all are given.
"""

import re
from collections.abc import Sequence

from opercle import reading
from opercle.records.lexicon import Lexicon

_CUT = {
    "lg": "large", "lrg": "large", "sm": "small", "sml": "small", "wht": "white", "wh": "white",
    "blk": "black", "bl": "black", "brn": "brown", "yel": "yellow", "yell": "yellow",
    "grn": "green", "rnbw": "rainbow", "chan": "channel", "ch": "channel", "no": "northern",
    "n": "northern", "str": "striped", "fw": "freshwater", "flthd": "flathead", "mtn": "mountain",
    "atl": "atlantic", "pac": "pacific", "hyb": "hybrid", "bk": "brook", "br": "brown",
}  # fmt: skip
_MEAN_GROUP = {"cat": "catfish", "cats": "catfish", "sunf": "sunfish", "sf": "sunfish"}


def fits(lexicon: Lexicon, text: str) -> list[str]:
    """The names that a cell with words cut short can stand for; none where no word is cut short.

    Standard names first; other names only where no standard one fits.
    """
    tokens = [t for t in re.split(r"[\s\-]+", text.replace(".", ". ").lower()) if t]
    if not 2 <= len(tokens) <= 4 or not _any_cut(tokens):
        return []
    for worded in (lexicon.worded_standard, lexicon.worded_others):
        # every way of cutting a word short keeps its first letter
        found = [n for n, words in worded.get(tokens[0][0], ()) if _spells(tokens, words)]
        if found:
            return _best(tokens, found)
    return []


def _any_cut(tokens: Sequence[str]) -> bool:
    return any(
        t.endswith(".") or t.rstrip(".") in _CUT or t in _MEAN_GROUP or _bare_bones(t)
        for t in tokens
    )


def _bare_bones(token: str) -> bool:
    """True for three letters and more without a vowel: ``lgmth``, ``prch``."""
    return len(token) > 2 and token.isalpha() and not set(token) & set("aeiou")


def _in_order(token: str, word: str) -> bool:
    """True if the word holds the letters of the token in their order, the first one first."""
    rest = iter(word)
    return word[:1] == token[:1] and all(letter in rest for letter in token)


def _best(tokens: Sequence[str], found: list[str]) -> list[str]:
    """Of several fits, those whose words are the usual ones for what is written."""
    usual = [
        n
        for n in found
        if all(
            word.startswith(_CUT[t.rstrip(".")])
            for t, word in zip(tokens, reading.normal(n).split(), strict=False)
            if t.rstrip(".") in _CUT
        )
    ]
    return usual or found


def _spells(tokens: Sequence[str], words: Sequence[str]) -> bool:
    """True if the tokens stand for the words in order; two tokens may make one word."""
    if not tokens or not words:
        return not tokens and not words
    if _stands(tokens[0], words[0]) and _spells(tokens[1:], words[1:]):
        return True
    if len(tokens) > 1 and tokens[0].rstrip(".") in _CUT:
        joined = _CUT[tokens[0].rstrip(".")] + tokens[1].rstrip(".")
        if joined in (words[0], words[0] + "ed"):
            return _spells(tokens[2:], words[1:])
    return False


def _stands(token: str, word: str) -> bool:
    bare = token.rstrip(".")
    if bare[:1] != word[:1]:
        return False
    if bare == word or word in reading.singulars(bare):
        return True
    if _MEAN_GROUP.get(bare) == word:
        return True
    full = _CUT.get(bare)
    if full is not None and (word == full or word.startswith(full)):
        return True
    for cut, whole in _CUT.items():
        if len(cut) > 1 and bare.startswith(cut) and whole + bare[len(cut) :] == word:
            return True
    if token.endswith(".") and word.startswith(bare):
        return True
    return _bare_bones(bare) and len(word) > len(bare) and _in_order(bare, word)
