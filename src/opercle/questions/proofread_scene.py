"""One stretch of a text as sentences with the fishes named in them, and whom a claim is about.

Knows: which fish a claim belongs to: the one named last before it; where a sentence begins with
"it" or names none, the fish of the sentence before; and when a sentence names several, so that a
claim may be about any of them.
Refuses to know: what is true of a fish. Where the grammar leaves the subject open, a claim that
fits any fish of the sentence is let pass: silence before a false alarm.
"""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from functools import cached_property
from typing import Any, NamedTuple

from opercle.answers import Reason
from opercle.questions.desk import Desk
from opercle.questions.places import Places
from opercle.questions.proofread_names import Lexicon, Mention
from opercle.questions.proofread_text import Page
from opercle.questions.values import Values

_PRONOUN = re.compile(
    r"[\s\"“*_(]*(?:it|its|they|their|these|this|both|each|the (?:fish|species|name|genus|"
    r"adult))\b",
    re.I,
)
_APART = re.compile(
    r"\b(?:unlike|than|from|like|as|versus|resembles?|mistaken for|confused with|not|beside|"
    r"eats?|with)\s+(?:an?\s+|the\s+|its\s+|true\s+|many\s+|other\s+|most\s+|young\s+)*[*_\"“]*$",
    re.I,
)
_DIRECT = re.compile(
    r"^(?!.*\b(?:unlike|than|while|whereas|but)\b)['’]?[*_)\s]*(?:\([^()]{0,60}\)\s*)?(?:s\s)?"
    r"[^,;:.]{0,60}$",
    re.S,
)
_TOLD = re.compile(
    r"(?:\b(?:call(?:ed|s|ing)?(?: it| them)?|known(?: there| here| locally)? as|named|names?|"
    r"nicknames?|say|says|said|term|word|label|written|dubbed|or)\b[^.;]{0,30}|[\"“‘'(])[*_]*$",
    re.I,
)
_PAST = re.compile(
    r"\b(?:former(?:ly)?|once|originally|old(?:er)?|earlier|previously|until|before|used to|"
    r"described (?:as|by|in)|synonyms?|subgen(?:us|era)|splits? off|still (?:kept|list)|"
    r"then|was (?:long )?(?:called|placed|named|known)|"
    r"historical(?:ly)?|renamed|no longer|instead of|rather than|changed|moved|became)\b",
    re.I,
)


_LINKS = re.compile(
    r"[^.,;:]{0,30}\b(?:marks?|tells?|distinguish(?:es)?|identif(?:y|ies)|sets?|shows?|belongs?|"
    r"characteri[sz]es?|are found|make|prove|(?:in|on|of) (?:the|an?))\b[^.,;:]{0,30}$",
    re.I | re.S,
)
_NONE = re.compile(r"\b(?:no|neither|nor|hardly any)\s+(?:true\s+|other\s+)?[*_]*$", re.I)
_CALLED = re.compile(r"\bcalled\s+(?:the\s+)?[\"“*_]*$", re.I)
_SAME = re.compile(
    r"\b(?:is|are|was|were|not|be|as)\s+(?:(?:not|really|strictly|only|also)\s+)*(?:an?\s+|the\s+)?"
    r"(?:[a-z]+\s+)?$|\b(?:other|the|of|for|many|most|all|among|family|this|"
    r"that)\s+(?:of\s+|the\s+)?$",
    re.I,
)


class Finding(NamedTuple):
    """Something found between two characters: its kind, what is wrong, and what to put."""

    start: int
    end: int
    kind: str
    says: str
    suggest: str | None = None
    because: tuple[Reason, ...] = ()


NOT_JUDGED = "not-judged"


class Subject(NamedTuple):
    """Whom a claim is about; ``others`` are the rest that it may be about."""

    mention: Mention
    direct: bool
    others: tuple[str, ...]


class Shop:
    """What all judges share over one desk: names, values, places, and words for a citation."""

    def __init__(self, desk: Desk, lexicon: Lexicon) -> None:
        self.desk = desk
        self.lexicon = lexicon
        self.values = Values(desk)
        self.places = Places(desk)
        self.kept: dict[Any, Any] = {}

    def cited(self, statements: Sequence[str], most: int = 2) -> tuple[str, tuple[Reason, ...]]:
        """What statements say, with their sources: for a sentence, and as reasons."""
        key = ("cited", *statements[:most])
        if key not in self.kept:
            reasons = tuple(self.desk.words.reason(s) for s in statements[:most])
            self.kept[key] = ("; ".join(source_of(r) for r in reasons), reasons)
        told: tuple[str, tuple[Reason, ...]] = self.kept[key]
        return told

    def called(self, taxon: str) -> str:
        """What a fish is called."""
        return self.desk.label(taxon)


def source_of(reason: Reason) -> str:
    """``what it says (source, page; basis)``."""
    whose = ", ".join(p for p in (reason.source, reason.page) if p)
    return f"{reason.says} ({whose}; {reason.basis})" if whose else f"{reason.says}"


class Sentence(NamedTuple):
    """From ``start`` to ``end``, with the names in it; ``number`` counts them in the stretch."""

    start: int
    end: int
    mentions: tuple[Mention, ...]
    number: int


class Scene:
    """A stretch of a page with its words, mentions and sentences."""

    def __init__(
        self, page: Page, start: int, end: int, mentions: Sequence[Mention], words: Any
    ) -> None:
        self.page = page
        self.text = page.plain
        self.start = start
        self.end = end
        self.mentions = list(mentions)
        self.words, self.spans = words
        self._starts = [m.start for m in self.mentions]
        self.bounds = page.sentences(start, end)
        self._sentences: dict[int, Sentence] = {}
        self._topics: dict[int, Mention | None] = {}
        self._apart: dict[int, bool] = {}
        self._told: dict[int, list[tuple[int, str]]] = {}

    def sentence(self, at: int) -> Sentence:
        """The sentence that holds a character."""
        index = bisect_right(self.bounds, at) - 1
        found = self._sentences.get(index)
        return self._made(index) if found is None else found

    def _made(self, wanted: int) -> Sentence:
        index = min(max(wanted, 0), len(self.bounds) - 2)
        start, end = self.bounds[index], self.bounds[index + 1]
        made = Sentence(start, end, self.between(start, end), index)
        self._sentences[wanted] = self._sentences[index] = made
        return made

    def told(self, here: Sentence) -> list[tuple[int, str]]:
        """The words of a sentence in small letters, each with the place where it begins."""
        if here.number not in self._told:
            lo = bisect_left(self.spans, (here.start, 0))
            hi = bisect_left(self.spans, (here.end, 0))
            pairs = zip(self.spans[lo:hi], self.words[lo:hi], strict=True)
            self._told[here.number] = [(span[0], word) for span, word in pairs]
        return self._told[here.number]

    def topic(self, here: Sentence) -> Mention | None:
        """The fish that was spoken of before a sentence."""
        if here.number not in self._topics:
            self._topics[here.number] = self._topic(here.number)
        return self._topics[here.number]

    def between(self, start: int, end: int) -> tuple[Mention, ...]:
        """The mentions that begin between two places."""
        lo, hi = bisect_left(self._starts, start), bisect_left(self._starts, end)
        return tuple(self.mentions[lo:hi])

    def _topic(self, index: int, back: int = 4) -> Mention | None:
        """The fish first named in the nearest sentence before, not past a blank line."""
        for i in range(index - 1, max(index - 1 - back, -1), -1):
            start, end = self.bounds[i], self.bounds[i + 1]
            if self.text[start : min(self.bounds[i + 1], self.end)].endswith("\n\n"):
                return None
            named = [m for m in self.between(start, end) if plain_subject(m)]
            if named:
                return named[0]
        return None

    def subject(self, start: int, end: int) -> Subject | None:
        """Whom a claim between two places is about; None if nobody is named."""
        here = self.sentence(start)
        all_named = [m for m in here.mentions if plain_subject(m) and not start <= m.start < end]
        before = [m for m in all_named if m.end <= start]
        chosen: Mention | None = None
        kept = [m for m in before if not self.set_apart(m)]
        opens = _PRONOUN.match(self.text, here.start, here.end)
        if kept:
            chosen = kept[-1]
        elif (opens or not all_named) and self.topic(here) is not None:
            chosen = self.topic(here)
        elif not opens and all_named and _LINKS.match(self.text[end : all_named[0].start]):
            chosen = all_named[0]
        if chosen is None or (chosen.end <= start and self._another(chosen, here, start)):
            return None
        if _CALLED.search(self.text[max(0, chosen.start - 20) : chosen.start]):
            return None
        if _NONE.search(self.text[max(0, chosen.start - 16) : chosen.start]):
            return None
        direct = bool(
            chosen.end <= start and _DIRECT.match(self.text[chosen.end : start][:120])
        ) and not (before and before[-1] is not chosen)
        topic = self.topic(here) if opens else None
        pool = all_named if topic is None else [*all_named, topic]
        others = tuple(dict.fromkeys(t for m in pool for t in m.taxa if t != chosen.taxon))
        return Subject(chosen, direct, others)

    def _another(self, chosen: Mention, here: "Sentence", start: int) -> bool:
        """True if a mere word for a kind of fish comes between: ... , a perch has two."""
        between = [m for m in here.mentions if chosen.end <= m.start and m.end <= start]
        return any(
            not plain_subject(m)
            and not _SAME.search(self.text[max(0, m.start - 40) : m.start])
            and not self.set_apart(m)
            for m in between
        )

    def set_apart(self, mention: Mention) -> bool:
        """True if a fish is named only beside another: unlike it, told from it, than it."""
        at = mention.start
        if at not in self._apart:
            self._apart[at] = bool(_APART.search(self.text[max(0, at - 40) : at]))
        return self._apart[at]

    def told_as_name(self, mention: Mention) -> bool:
        """True if the text speaks of the name itself: called so, known as, in quotation marks."""
        return bool(_TOLD.search(self.text[max(0, mention.start - 50) : mention.start]))

    @cached_property
    def _last_words(self) -> dict[str, int]:
        """Where the last word of a name of several words, meaning one fish, comes first."""
        first: dict[str, int] = {}
        for m in self.mentions:
            words = m.name.form.lower().split()
            if len(words) > 1 and m.taxon is not None and not m.scientific:
                first.setdefault(words[-1], m.start)
        return first

    def named_before(self, mention: Mention) -> bool:
        """True if one word takes up a fuller name: the winter flounder, the flounder."""
        first = self._last_words.get(mention.name.form.lower())
        return first is not None and first < mention.start

    def of_the_past(self, mention: Mention) -> bool:
        """True if the sentence tells what was once said."""
        here = self.sentence(mention.start)
        return bool(_PAST.search(self.text, here.start, here.end))


def plain_subject(mention: Mention) -> bool:
    """True unless the name is only a word for a kind of fish: a bass, some perches."""
    return mention.name.group_word is None or mention.standing in ("standard", "scientific")
