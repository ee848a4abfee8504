"""The question at the head of a class sheet: the fishes it names, and its answer where it has one.

Knows: three forms of question: is it really a bass; why is it this and not that; and which fishes
a sentence names, found as in a text that is proofread.
Refuses to know: any other question. It stands on the sheet as written, without an answer.
"""

import re
from collections.abc import Sequence

from opercle import reading
from opercle.answers import Answer
from opercle.errors import OpercleError
from opercle.questions import group_words, really, subjects, why
from opercle.questions.desk import Desk
from opercle.questions.group_words import NO
from opercle.questions.proofread import look
from opercle.questions.proofread_names import Mention, lexicon
from opercle.questions.proofread_text import TEXT, Page

_REALLY = re.compile(r"^\s*(?:is|are)\b.*\b(?:an?\s+)?([a-z]+)\W*$", re.I)
_NOT = re.compile(r"\b(?:not|rather than|instead of)\b", re.I)
_WHY = re.compile(r"^\s*(?:why|what makes)\b", re.I)

_GROUPS = ("family", "genus")

Unclear = tuple[str, list[str]]


def fishes(desk: Desk, asked: str) -> tuple[dict[str, str], Unclear | None]:
    """The taxa named in a question with the names it gives them; or the first name of several."""
    found: dict[str, str] = {}
    words: dict[str, str] = {}
    for mention in _mentions(desk, asked):
        written = asked[mention.start : mention.end]
        if _word_alone(desk, written):
            words.update((t, written) for t in subjects.meant(desk, written)[:2])
        elif mention.taxon is None:
            return {}, (written, list(mention.taxa))
        else:
            found.setdefault(mention.taxon, written)
    if not found and len(words) > len(set(words.values())):
        written = next(iter(words.values()))
        return {}, (written, subjects.meant(desk, written))
    return found or words, None


def _mentions(desk: Desk, asked: str) -> list[Mention]:
    page = Page(asked, TEXT)
    return look(lexicon(desk), page, 0, len(asked), set()).mentions


def _word_alone(desk: Desk, written: str) -> bool:
    """True for a bare group word: "is a rock bass a bass" asks of one fish."""
    known = desk.words_known()
    return " " not in written and any(k in known for k in reading.singulars(written.lower()))


def answered(desk: Desk, asked: str, taxa: Sequence[str]) -> Answer | None:
    """The answer where the question has one of the forms known here, else None."""
    try:
        return _really(desk, asked, taxa) or _why(desk, asked, taxa)
    except OpercleError:
        return None


def _really(desk: Desk, asked: str, taxa: Sequence[str]) -> Answer | None:
    """``Is a rock bass really a bass?`` of one fish and one group word at the end."""
    match = _REALLY.match(asked)
    if match is None or len(taxa) != 1:
        return None
    words = desk.words_known()
    key = next((k for k in reading.singulars(match[1].lower()) if k in words), None)
    if key is None:
        return None
    name = _written(desk, asked, taxa[0])
    return None if name is None else really.ask(desk, name, desk.label(words[key]))


def beside(desk: Desk, asked: str, taxa: Sequence[str]) -> str | None:
    """The group that the word strictly means, to stand beside a fish that is not of it."""
    answer = answered(desk, asked, taxa) if _REALLY.match(asked) else None
    if answer is None or answer.outcome != NO:
        return None
    word = answer.question["word"]
    groups = [m["t"] for w, iri in desk.words_known().items() if desk.label(iri) == word
              for m in group_words.strict(desk, iri)]  # fmt: skip
    tops = [g for g in dict.fromkeys(groups) if not set(desk.lineage(g)) & set(groups)]
    return tops[0] if len(tops) == 1 and desk.rank(tops[0]) in _GROUPS else None


def _written(desk: Desk, asked: str, taxon: str) -> str | None:
    """The name of the fish as the question has it, else its own."""
    for mention in _mentions(desk, asked):
        if mention.taxon == taxon:
            return asked[mention.start : mention.end]
    about = desk.about(taxon)
    name = about.get("common") or about.get("name")
    return str(name) if name else None


def _why(desk: Desk, asked: str, taxa: Sequence[str]) -> Answer | None:
    """``Why is a largemouth bass not a temperate bass?``: the first, rather than the second."""
    cut = _NOT.search(asked)
    if cut is None or not _WHY.match(asked):
        return None
    before = [m for m in _mentions(desk, asked) if m.end <= cut.start()]
    after = [m for m in _mentions(desk, asked) if m.start >= cut.end()]
    if len(before) != 1 or len(after) != 1:
        return None
    one, two = (asked[m.start : m.end] for m in (before[0], after[0]))
    return why.ask(desk, one, two)
