"""Misspelt names in running text.

Knows: a capital word with a small one after it that is nearly a recorded genus and species; a
word nearly a genus or family; a common name with one letter wrong.
Refuses to know: names that are near to none; in italics such a name is listed as not judged. One
wrong, missing, extra or exchanged letter is found anywhere; more only beside a right half.
"""

import re
from collections.abc import Iterable, Iterator

from opercle.questions.proofread_names import WORD, Lexicon, Name, plurals
from opercle.questions.proofread_scene import NOT_JUDGED, Finding, Scene, Shop

_BINOMIAL = re.compile(r"\b([A-Z][a-z]{3,20})[ \n*_]{1,3}([a-z]{4,20})\b")
_FAMILY = re.compile(r"\b[A-Z][a-z]{3,20}idae\b")
_LATIN = re.compile(r"(?:us|is|es|a|um|ops|ys|ax|ix|ox|on|as|os|i|ae)$")
_LONGEST = 30
"""No name's word is longer; trying every letter of a longer one would take its square of time."""
_HALF = 0.72
"""The least likeness of the other half of a name whose one half is right."""


class Speller:
    """The words of names, each under itself with one letter left out."""

    def __init__(self, lexicon: Lexicon) -> None:
        self.lexicon = lexicon
        self.genera = {*lexicon.binomials, *lexicon.groups}
        self._genera = _less(self.genera)
        self._epithets = _less(lexicon.by_epithet)
        self._groups = _less(k for k in lexicon.groups if len(k) >= 6)
        standard = {
            k: n
            for k, n in lexicon.names.items()
            if n.common and any(u.kind == "standard" for u in n.uses)
        }
        self.heads: dict[str, dict[str, Name]] = {}
        for key, name in standard.items():
            words = key.split()
            if len(words) == 2 and len(words[0]) >= 6:
                self.heads.setdefault(words[1], {})[words[0]] = name
        self._heads = _less({h for by in self.heads.values() for h in by})
        self.words = {w for key in lexicon.names for w in key.split()}
        self._single = _less({k for k in standard if " " not in k and len(k) >= 8})

    def genera_near(self, word: str) -> set[str]:
        """Genera one letter away."""
        return _near(word, self._genera)

    def epithets_near(self, word: str) -> set[str]:
        """Epithets one letter away."""
        return _near(word, self._epithets)

    def groups_near(self, word: str) -> set[str]:
        """Genera and families one letter away."""
        return _near(word, self._groups)

    def heads_near(self, word: str) -> set[str]:
        """First words of common names one letter away."""
        return _near(word, self._heads)

    def single_near(self, word: str) -> set[str]:
        """Common names of one word one letter away."""
        return _near(word, self._single)


def _less(words: Iterable[str]) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for word in words:
        for short in {word, *(word[:i] + word[i + 1 :] for i in range(len(word)))}:
            found.setdefault(short, set()).add(word)
    return found


def _near(word: str, index: dict[str, set[str]]) -> set[str]:
    """The words one letter wrong, missing, extra or exchanged away (Damerau's four slips)."""
    from rapidfuzz.distance import DamerauLevenshtein

    shorts = {word, *(word[:i] + word[i + 1 :] for i in range(len(word)))}
    found = {w for s in shorts if s in index for w in index[s]}
    return {w for w in found if w != word and DamerauLevenshtein.distance(w, word) == 1}


def speller(shop: Shop) -> Speller:
    """The speller of a shop, made once."""
    if "speller" not in shop.kept:
        shop.kept["speller"] = Speller(shop.lexicon)
    found: Speller = shop.kept["speller"]
    return found


def latin(shop: Shop, scene: Scene, taken: set[int]) -> Iterator[Finding]:
    """Misspelt binomials, genera and families; ``taken`` are places where a name was found."""
    page = scene.page
    for match in _BINOMIAL.finditer(scene.text, scene.start, scene.end):
        genus, epithet = match[1].lower(), match[2]
        known = f"{genus} {epithet}" in shop.lexicon.names
        if known or (match.start() in taken and genus not in shop.lexicon.binomials):
            continue
        right = binomial(shop, genus, epithet)
        at = match.span()
        if right is not None:
            told, because = shop.cited([right.uses[0].use], 1)
            says = f"“{match[1]} {epithet}” is not known; {right.form} is. {told}"
            yield Finding(*at, "spelling", says, right.form, because)
        elif page.within(page.italics, *at) and _LATIN.search(epithet):
            says = f"no scientific name “{match[1]} {epithet}” is known here, nor one near it"
            yield Finding(*at, NOT_JUDGED, says)
    for match in _FAMILY.finditer(scene.text, scene.start, scene.end):
        if match.start() not in taken:
            yield from _group(shop, match)


def binomial(shop: Shop, genus: str, epithet: str) -> Name | None:
    """The recorded name that a genus and epithet are nearly; None if none or several are."""
    key = ("binomial", genus, epithet)
    if key not in shop.kept:
        shop.kept[key] = _binomial(speller(shop), genus, epithet)
    found: Name | None = shop.kept[key]
    return found


def _binomial(speller: Speller, genus: str, epithet: str) -> Name | None:
    from rapidfuzz import fuzz

    lexicon = speller.lexicon
    found: dict[str, tuple[float, Name]] = {}
    genera = {genus} if genus in lexicon.binomials else speller.genera_near(genus)
    for g in genera:
        for e, name in lexicon.binomials.get(g, {}).items():
            like = fuzz.ratio(e, epithet) / 100
            least = 0.82 if len(epithet) > 5 and g == genus else 0.85
            if like >= least and (like < 1 or g != genus):
                found[name.form] = (like, name)
    if not genera or not found:
        epithets = {epithet} if epithet in lexicon.by_epithet else set()
        for e in epithets:
            for g, name in lexicon.by_epithet[e].items():
                like = fuzz.ratio(g, genus) / 100
                if like >= _HALF and g != genus and len(genus) > 4 and g[0] == genus[0]:
                    found[name.form] = (like, name)
    ranked = sorted(found.values(), key=lambda f: (-f[0], f[1].form))
    if not ranked or (len(ranked) > 1 and ranked[0][0] == ranked[1][0] and _apart(lexicon, ranked)):
        return None
    return ranked[0][1]


def _apart(lexicon: Lexicon, ranked: list[tuple[float, Name]]) -> bool:
    return lexicon.meaning(ranked[0][1]).taxon != lexicon.meaning(ranked[1][1]).taxon


def _group(shop: Shop, match: re.Match[str]) -> Iterator[Finding]:
    near = speller(shop).groups_near(match[0].lower())
    if len(near) == 1:
        name = shop.lexicon.groups[near.pop()]
        told, because = shop.cited([name.uses[0].use], 1)
        says = f"“{match[0]}” is not known; {name.form} is. {told}"
        yield Finding(*match.span(), "spelling", says, name.form, because)
    else:
        yield Finding(*match.span(), NOT_JUDGED, f"no family “{match[0]}” is known here")


def words(shop: Shop, scene: Scene, taken: set[int]) -> Iterator[Finding]:
    """Genera alone and common names with one letter wrong."""
    spell = speller(shop)
    known = spell.words
    fresh = [i for i, w in enumerate(scene.words) if 6 <= len(w) <= _LONGEST and w not in known]
    for i in fresh:
        word, (start, end) = scene.words[i], scene.spans[i]
        if start in taken:
            continue
        nearest = _one(shop, spell, word, scene.words[i + 1] if i + 1 < len(scene.words) else "")
        if nearest is not None:
            name, length = nearest
            stop = scene.spans[i + length - 1][1]
            told, because = shop.cited([name.uses[0].use], 1)
            yield Finding(
                start, stop, "spelling", f"{name.form} is meant. {told}", name.form, because
            )
        elif len(word) >= 7 and scene.text[start].isupper() and _LATIN.search(word):
            yield from _genus(shop, scene, spell, word, start, end)


def _one(shop: Shop, spell: Speller, word: str, following: str) -> tuple[Name, int] | None:
    key = ("one", word, following)
    if key not in shop.kept:
        shop.kept[key] = _common(spell, word, following)
    found: tuple[Name, int] | None = shop.kept[key]
    return found


def _common(spell: Speller, word: str, following: str) -> tuple[Name, int] | None:
    by = spell.heads.get(following)
    if by:
        near = [h for h in spell.heads_near(word) if h in by and word != h + "d"]
        if len(near) == 1:
            return by[near[0]], 2
    if len(word) >= 8:
        single = spell.single_near(word)
        names = {id(spell.lexicon.names[s]): spell.lexicon.names[s] for s in single}
        if len(names) == 1 and word not in {p for s in single for p in plurals(s)}:
            return next(iter(names.values())), 1
    return None


def _genus(
    shop: Shop, scene: Scene, spell: Speller, word: str, start: int, end: int
) -> Iterator[Finding]:
    near = spell.groups_near(word)
    following = WORD.match(scene.text, end + 1)
    if len(near) != 1 or word.endswith(("idae", "inae")):
        return
    if following and binomial(shop, word, following[0].lower()):
        return
    name = shop.lexicon.groups[near.pop()]
    told, because = shop.cited([name.uses[0].use], 1)
    yield Finding(start, end, "spelling", f"{name.form} is meant. {told}", name.form, because)
