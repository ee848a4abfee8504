"""Reads the name in a cell: turned round, shortened, qualified, crossed, or several at once.

Knows: how names are written down on cards, in markets and in tables.
Refuses to know: what the name means. It gives the text to look up and says how it was read.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from opercle import reading
from opercle.records import shortforms
from opercle.records.lexicon import Lexicon

NAME, EITHER, SEVERAL, CROSS, NOTHING, NOT_FISH, UNFOUND = (
    "name", "either", "several", "cross", "nothing", "not-a-fish", "unfound",
)  # fmt: skip


class Reading(NamedTuple):
    """What a cell holds.

    ``texts`` are the names to look up: one for a name, all that a short form can mean for
    ``either``, the fishes of ``several``, the two parents of a ``cross``. ``how`` tells what was
    done, one clause each; ``unsure`` is True where the writer put a question mark.
    """

    kind: str
    texts: tuple[str, ...]
    how: tuple[str, ...] = ()
    unsure: bool = False
    mother_first: bool = False


_STAGES = (
    r"adults?|juveniles?|juv\.?|young[- ]of[- ](?:the[- ])?year|yoy|age[- ]?[0-9]\+?|yearlings?|"
    r"fingerlings?|fry|fries|larvae?|smolts?|parr|sub-?adults?|brood(?:\s?stock)?|"
    r"hatchery(?:[- ]?(?:reared|raised))?|stocked|wild|male|female|immature|mature|"
    r"advanced|surplus|retired|legal|sub-?legal|keepers?|undersized?|triploid|dead|released"
)
_QUALIFIER = re.compile(
    rf"^\s*(?:{_STAGES})\b[\s,:-]*|[\s,;:-]*\b(?:{_STAGES})\s*$|\(\s*(?:{_STAGES})\s*\)", re.I
)
_SPECIES_WORD = re.compile(r"[\s,]*\b(?:spp?|species)\b\.?\s*$", re.I)
_RANK_WORD = re.compile(
    r"\(\s*(?:family|genus|order|class|subfamily|superfamily)\s*\)|"
    r"^(?:genus|family|order)[\s,:]+|[\s,]+(?:fish\s+)?(?:family|genus)\s*$",
    re.I,
)
_VAGUE = re.compile(
    r"^(?:unidentified|unid\.?|unknown|unk\.?|misc\.?|miscellaneous|other|mixed|assorted)[\s,]+|"
    r"[\s,]+(?:unidentified|unid\.?|unclassified|unspecified|general|\(?other\)?)\s*$",
    re.I,
)
_NOTHING = frozenset(
    [
        "none",
        "nofish",
        "nil",
        "na",
        "nan",
        "null",
        "unknown",
        "unidentified",
        "fish",
        "fishes",
        "unidentifiedfish",
        "unknownfish",
        "nocatch",
        "skunked",
        "other",
        "misc",
        "blank",
        "unk",
        "unid",
        "notrecorded",
        "nodata",
        "allspecies",
        "anything",
    ]
)
_COMPARED = re.compile(r"^([A-Z][a-z]+)\s+(?:cf|aff|nr)\.?\s+[a-z-]+", re.U)
_AUTHOR = re.compile(
    r"^([A-Z][a-z]+)(?:\s+\([A-Z][a-z]+\))?\s+([a-z][a-z-]{2,})(?:\s+([a-z][a-z-]{2,}))?"
    r"(?:\s*,?\s*\(?\s*(?:[A-Z]|de |von |van |d').*)?$"
)
_CROSS = re.compile(r"\s+[xX×*]\s+|\s*×\s*")
_SPLIT = re.compile(r"\s*(?:/|;|\+|&|\band\b|\bor\b|\bwith\b|\n)\s*", re.I)
_HYBRID = re.compile(r"\(?\b(?:hybrids?|hyb\.?|cross(?:es|bre[ed]d?)?|f1)\b\)?", re.I)
_TURNED_COLUMN = 3
_MOST_BEGUN = 6
_ENDINGS = (("us", "a", "um"), ("is", "e"), ("er", "ra", "rum"), ("ii", "i"), ("or", "us"))


class Reader:
    """Reads cells against one lexicon; the same cell is read once."""

    def __init__(self, lexicon: Lexicon) -> None:
        self.lexicon = lexicon
        self.inverted = False

    def look_over(self, cells: Iterable[str]) -> None:
        """Learn from a column whether it is written turned round (``BASS, STRIPED``)."""
        turned = straight = 0
        for cell in cells:
            parts = [p.strip() for p in _tidied(cell)[0].split(",")]
            if len(parts) == 2 and all(parts):
                if self.lexicon.known(f"{parts[1]} {parts[0]}"):
                    turned += 1
                elif all(map(self.lexicon.known, parts)):
                    straight += 1
        self.inverted = turned >= _TURNED_COLUMN and turned > straight

    def read(self, cell: str | None) -> Reading:
        """What the cell holds."""
        text, unsure = _tidied(cell or "")
        if not text or reading.key_of(text) in _NOTHING or not reading.normal(text):
            return Reading(NOTHING, ())
        if len(text) > reading.LONGEST:
            return Reading(NOTHING, (), ("the text is too long for a name",))
        found = self._read(text)
        return found._replace(unsure=unsure)

    def _read(self, text: str) -> Reading:
        if self.lexicon.known(text):
            return Reading(NAME, (text,))
        if _CROSS.search(text) or _HYBRID.search(text):
            crossed = self._cross(text)
            if crossed:
                return crossed
        compared = _COMPARED.match(text)
        if compared and self.lexicon.known(compared.group(1)):
            how = f"“{text}” says only that the genus is sure"
            return Reading(NAME, (compared.group(1),), (how,))
        return self._by_variants(text)

    def _by_variants(self, text: str) -> Reading:
        variants = list(self._variants(text))
        for variant, done in variants:
            if self.lexicon.known(variant):
                return Reading(NAME, (variant,), done)
        for step in (self._short, self._several, self._cut_short, self._left_out):
            for variant, done in variants:
                found = step(variant)
                if found:
                    return found._replace(how=done + found.how)
        if any(self._no_fish(variant) for variant, _ in variants):
            return Reading(NOT_FISH, (text,))
        best, done = self._for_spelling(text, variants)
        return Reading(NAME, (best,), done)

    def _for_spelling(
        self, text: str, variants: list[tuple[str, tuple[str, ...]]]
    ) -> tuple[str, tuple[str, ...]]:
        """The variant to be looked up by likeness: as it is said where turned round, else bare."""
        for mark in ("turned round", "left out"):
            for variant, how in variants:
                if any(h.startswith(mark) for h in how):
                    return variant, how
        return text, ()

    # ---- ways of writing one name ----------------------------------------------------------

    def _variants(self, text: str) -> Iterator[tuple[str, tuple[str, ...]]]:
        """The cell, then what is left of it without qualifiers, turned round and so on."""
        yield text, ()
        bare = self._bare(text)
        how: tuple[str, ...] = ()
        if bare != text and bare:
            left_out = _without(text, bare)
            how = (f"left out “{left_out}”",) if left_out else ()
            yield bare, how
        plain = re.sub(r"\s*[\(\[][^)\]]*[\)\]]\s*", " ", bare).strip()
        if plain and plain != bare:
            yield plain, (*how, "left out what stands in parentheses")
            bare = plain
        yield from self._scientific(bare, how)
        if "," in bare:
            yield from self._turned(bare, how)

    def _bare(self, text: str) -> str:
        while True:
            bare = text
            for pattern in (_RANK_WORD, _QUALIFIER, _SPECIES_WORD, _VAGUE):
                cut = pattern.sub(" ", bare)
                cut = " ".join(cut.split()).strip(" ,;:-")
                bare = cut if reading.normal(cut) else bare
            if bare == text:
                return bare
            text = bare

    def _scientific(self, text: str, how: tuple[str, ...]) -> Iterator[tuple[str, tuple[str, ...]]]:
        found = _AUTHOR.match(text[:1].upper() + text[1:])
        if not found:
            return
        genus, epithet, third = found.groups()
        for parts in ((genus, epithet, third), (genus, epithet)):
            if None not in parts and " ".join(parts) != text and self._has(*parts):
                yield " ".join(parts), (*how, f"read as the scientific name {' '.join(parts)}")
        for other in _endings(epithet):
            if other in self.lexicon.epithets:
                told = f"{genus} {other}"
                yield told, (*how, f"the ending of “{epithet}” read as in {told}")

    def _has(self, *parts: str) -> bool:
        return self.lexicon.known(" ".join(parts))

    def _turned(self, text: str, how: tuple[str, ...]) -> Iterator[tuple[str, tuple[str, ...]]]:
        parts = [p.strip() for p in text.split(",") if p.strip()]
        if len(parts) < 2:
            return
        said = f"turned round from “{text}”"
        yield " ".join(reversed(parts)), (*how, said)
        if len(parts) > 2:
            yield " ".join([*parts[2:], parts[1]]), (*how, said)
        for part in reversed(parts[1:]):
            if self._is_within(part, parts[0]):
                yield part, (*how, f"“{parts[0]}” taken as the group")

    def _is_within(self, part: str, head: str) -> bool:
        """True if every fish that the part can mean stands in the group that the head names."""
        lexicon, desk = self.lexicon, self.lexicon.desk
        if not lexicon.known(part):
            return False
        if reading.normal(part).endswith(("idae", "formes")):
            return True
        if not lexicon.known(head):
            return False
        groups = {u["t"] for u in desk.find(head).uses if u["kind"] == "op:group"}
        return bool(groups) and all(
            any(desk.under([u["t"]], g) for g in groups) for u in desk.find(part).uses
        )

    # ---- short forms, crosses, several -----------------------------------------------------

    def _short(self, text: str) -> Reading | None:
        names = self.lexicon.short.get(reading.key_of(text))
        if not names:
            return None
        how = (f"“{text}” is short for {' or '.join(names)}",)
        return Reading(NAME if len(names) == 1 else EITHER, names, how)

    def _cut_short(self, text: str) -> Reading | None:
        names = shortforms.fits(self.lexicon, text)
        if not names:
            return None
        how = (f"“{text}” taken as {' or '.join(names)} cut short",)
        return Reading(NAME if len(names) == 1 else EITHER, tuple(names), how)

    def _left_out(self, text: str) -> Reading | None:
        """``redear``, ``flathead``: the standard names of two words that begin with this one."""
        names = self.lexicon.begun.get(reading.normal(text), [])
        if not 1 <= len(names) <= _MOST_BEGUN:
            return None
        how = (f"“{text}” taken as {' or '.join(names)} without its last word",)
        return Reading(NAME if len(names) == 1 else EITHER, tuple(names), how)

    def _part(self, text: str) -> str | None:
        """One name of several or of a cross, as it can be looked up; None if it is not known."""
        text = text.strip(" ,.;:()[]♀♂")
        if not text:
            return None
        if self.lexicon.known(text):
            return text
        for step in (self._short, self._cut_short):
            found = step(text)
            if found and found.kind == NAME:
                return found.texts[0]
        for variant, _ in self._variants(text):
            if self.lexicon.known(variant):
                return variant
        found = self._left_out(text)
        return found.texts[0] if found and found.kind == NAME else None

    def _cross(self, text: str) -> Reading | None:
        inside = re.search(r"[\(\[]([^)\]]*\s[xX×*]\s[^)\]]*)[\)\]]", text)
        crossed = _CROSS.search(text)
        if not crossed and not _HYBRID.search(text):
            return None
        body = inside.group(1) if inside else _HYBRID.sub(" ", text)
        parts = _CROSS.split(body.strip()) if crossed else re.split(r"\s*[/&-]\s*", body.strip())
        if len(parts) != 2:
            return None
        names = self._shared(parts)
        if names is None:
            return None
        how = (f"read as a cross of {names[0]} and {names[1]}",)
        return Reading(CROSS, tuple(names), how, mother_first="♀" in parts[0])

    def _several(self, text: str) -> Reading | None:
        parts = [p for p in _SPLIT.split(text) if p.strip()]
        if not parts:
            return None
        if len(parts) == 1:
            parts = [p for p in text.split(",") if p.strip()]
            if len(parts) == 2 and (self.inverted or not all(map(self._own_name, parts))):
                return None
            if len(parts) > 3 and parts[0].strip().lower() == parts[2].strip().lower():
                parts = [f"{b} {a}" for a, b in zip(parts[::2], parts[1::2], strict=False)]
        elif "," in parts[0]:
            head, _, first = parts[0].partition(",")
            turned = [f"{p.strip()} {head}" for p in (first, *parts[1:])]
            if all(self._part(p) for p in turned):
                parts = turned
            else:
                parts = [p for part in parts for p in part.split(",") if p.strip()]
        if len(parts) < 2:
            return None
        names = self._shared(parts)
        if names is None or len(set(names)) < 2:
            return None
        return Reading(SEVERAL, tuple(names), (f"several fishes in one cell: {', '.join(names)}",))

    def _own_name(self, text: str) -> bool:
        """True for a name that some fish has of its own, not only as a nickname."""
        found = self._part(text)
        if found is None:
            return False
        kinds = {u["kind"] for u in self.lexicon.desk.find(found).uses}
        return bool(kinds & {"op:standard", "op:scientific", "op:synonym", "op:group"})

    def _shared(self, parts: list[str]) -> list[str] | None:
        """The names of the parts, the last one's group word (or genus) lent to the others."""
        names: list[str] = []
        tail = parts[-1].split()[-1:] if parts[-1].split() else []
        for part in parts:
            found = self._part(part)
            if found is None and tail:
                found = self._part(f"{part} {tail[0]}")
            if found is None and names:
                found = self._part(f"{names[0].split()[0]} {part}")
            if found is None:
                return None
            names.append(found)
        return names

    def _no_fish(self, text: str) -> bool:
        words = reading.normal(text).split()
        if not words:
            return False
        heads = {words[-1]}
        if "," in text:
            heads.update(reading.normal(text.split(",")[0]).split()[-1:])
        return any(s in self.lexicon.not_fish for h in heads for s in reading.singulars(h))


def _tidied(cell: str) -> tuple[str, bool]:
    """The cell in one line without control characters, stars and quotes; and if it was unsure."""
    text = "".join(" " if unicodedata.category(ch) == "Cc" else ch for ch in cell)
    text = " ".join(text.replace("\u200b", "").split())
    unsure = "?" in text
    text = text.replace("?", " ").strip()
    text = re.sub(r"\s*\*+\s*$", "", text).strip(" \"'“”‘’.;:,_=+@-")
    return " ".join(text.split()), unsure


def _without(text: str, bare: str) -> str:
    kept = set(reading.normal(bare).split())
    return " ".join(w for w in text.split() if not set(reading.normal(w).split()) & kept)


def _endings(epithet: str) -> Iterator[str]:
    for group in _ENDINGS:
        for end in group:
            if epithet.endswith(end):
                for other in group:
                    if other != end:
                        yield epithet[: -len(end)] + other
