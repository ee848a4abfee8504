"""Counts and sizes in a text, against what is known of the fish.

Knows: counts in words, figures and Roman numerals with the fin or row they belong to; lengths and
weights that a fish is said to reach; a size told in two units that do not agree.
Refuses to know: a verdict where only a single figure of a character is known and the claim lies
near it, where nothing is known, and where a size is not said to be the largest.
"""

import re
from collections.abc import Iterator, Sequence

from opercle.counts import CountRange
from opercle.questions import units
from opercle.questions.desk import node
from opercle.questions.proofread_scene import (
    NOT_JUDGED,
    Finding,
    Scene,
    Sentence,
    Shop,
    Subject,
)
from opercle.questions.proofread_text import word_set
from opercle.questions.values import Value

COUNTED = word_set(
    "spine spines ray rays scales raker rakers vertebrae barbels whiskers dorsal anal"
)
MEASURED = word_set(
    """inch inches in cm centimetres centimeters mm millimetres millimeters feet foot ft pound
    pounds lb lbs kg kilograms kilogrammes ounces oz metres meters"""
)
_COUNTING = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen twenty"
)
_WORDS = _COUNTING.split()
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_MANY = rf"(?:{'|'.join(_TENS)})(?:[- ](?:{'|'.join(_WORDS[1:10])}))?"
_NUM = (
    rf"(?:{_MANY}|\d{{1,3}}(?![\d.,]*\d)|(?-i:[IVX]{{1,6}})|no|"
    rf"{'|'.join(sorted(_WORDS, key=len, reverse=True))})\b"
)
_RANGE = rf"(?<![\w.–-])(?P<n>{_NUM}(?:\s?(?:-|–|—|\bto\b|\bor\b)\s?{_NUM})?)"
_FIN = r"(?P<fin>anal|dorsal|pelvic|pectoral)"
_WHAT = r"(?P<soft>soft[\s-]+)?(?P<what>spines?|rays?)\b"
_ADJ = r"(?:(?:stiff|sharp|strong|stout|hard|long|short|slender|branched|weak|flexible)\s+){0,2}"
_OTHER = (
    r"(?:(?P<pored>pored\s+)?(?P<line>lateral[\s-]line\s+scales|scales\s+(?:along|in|on)\s+"
    r"(?:the|its|their)\s+(?:side'?s?\s+)?lateral\s+line)|(?P<rakers>gill[\s-]rakers)|"
    r"(?P<vertebrae>vertebrae)|(?P<barbels>barbels|whiskers)|(?P<branch>branchiostegal\s+rays))"
)
_STOPS = r"(?=\s*(?:[.;)|]|,(?!\s*(?:\d|[IVX]))|$|\n|\b(?:and|or|usually|in|on)\b))"
_IS = (
    r"\s*(?:[:=]|\bnumber(?:ing)?|\bare|\bcount|\brange(?:\s+from)?|"
    r"\busually)?\s*(?:usually\s+|about\s+)?"
)
_PATTERNS = tuple(
    re.compile(p, re.I)
    for p in (
        rf"{_RANGE}\s+{_ADJ}{_FIN}[\s-]+(?:fin[\s-]+)?{_WHAT}",
        rf"{_RANGE}\s+{_ADJ}{_WHAT}\s+(?:in|on|of|at)\s+(?:the front of\s+)?(?:the|its|"
        rf"their|each|an?)\s+"
        rf"(?:long\s+|short\s+|first\s+)?{_FIN}",
        rf"{_FIN}\s+fins?\s+(?:has|have|with|carr(?:y|ies)|bears?|holds?|of|shows?)\s+"
        rf"(?:about\s+|usually\s+|only\s+|at least\s+)?{_RANGE}\s+{_ADJ}{_WHAT}",
        rf"{_FIN}[\s-]+(?:fin[\s-]+)?{_WHAT}{_IS}{_RANGE}{_STOPS}(?!\s*in(?:ch|\s+long))",
        rf"{_RANGE}\s+{_ADJ}{_OTHER}",
        rf"{_OTHER}{_IS}{_RANGE}{_STOPS}(?!\s*in(?:ch|\s+long))",
    )
)
_FIGURES = re.compile(r"(?<![\w.–-])[\dIVX]")
_NUMBERS = frozenset((*_WORDS, *_TENS, "no"))
_FINS = frozenset(("anal", "dorsal", "pelvic", "pectoral"))
_ROWS = word_set("pored lateral scales gill vertebrae barbels whiskers branchiostegal")
_SPINY = word_set("spine spines ray rays")
_BY_FIN = ((_PATTERNS[0], True), (_PATTERNS[1], True), (_PATTERNS[2], False), (_PATTERNS[3], False))
_BY_ROW = ((_PATTERNS[4], True), (_PATTERNS[5], False))
"""Patterns for fins, and for scales, rakers and the like; True where one begins with its number."""
_SPLIT = re.compile(r"\s*(?:[–—]|(?<!ty)-|-(?=\d)|\bto\b|\bor\b)\s*", re.I)
_FORMULA = re.compile(
    r"\b(?P<fin>dorsal|anal|D|A)(?:\s+fin)?s?[.:]?\s*(?P<sp>[IVX]{1,5}(?:\s?[-–]\s?[IVX]{1,5})?)"
    r"\s*[,+]\s*(?P<ry>\d{1,2}(?:\s?[-–]\s?\d{1,2})?)"
)
_PART = re.compile(
    r"\b(?:lower|upper|last|first|hind|next|outer|inner|these|those|other)\s+$", re.I
)
_BEFORE = re.compile(
    r"(?:(?P<least>at least|no fewer than|more than|over)|"
    r"(?P<most>at most|up to|fewer than|less than|no more than|as many as))\s+$",
    re.I,
)
_FIGURE = r"\d{1,3}(?:\.\d+)?"
_SIZE = re.compile(
    rf"(?<![\w.])(?P<a>{_FIGURE}|{'|'.join(_WORDS[1:])})(?:\s?(?:-|–|to|or)\s?(?P<b>{_FIGURE}))?[\s-]*"
    r"(?P<u>inch(?:es)?|in\.?(?=[\s)]+(?:long|in length|\()|\))|cm|centimet(?:re|er)s?|mm|"
    r"feet|foot|ft|"
    r"pounds?|lbs?|kg|kilogram(?:me)?s?|ounces?|oz|met(?:re|er)s)\b",
    re.I,
)
_GROWS = re.compile(
    r"\b(?:reach(?:es|ed)?|grow[sn]?|attains?|measur(?:es?|ed)|weigh(?:s|ed)?|exceeds?|record|"
    r"maximum|largest|biggest|up to|as long as|size of|length of|weight of|long as)\b[^.;]{0,60}$",
    re.I,
)
_TOP = re.compile(r"\b(?:never|no (?:more|longer)|at most|maximum|largest|biggest|record)\b", re.I)
_WATER = re.compile(
    r"\b(?:deep|depth|water|below|nest|line|rod|leader|hook|tank|stick|ruler|sheet|class|within)\b"
    r"[^.;]{0,30}$", re.I)  # fmt: skip
_AFTER = re.compile(r"\s*(?:\([^()]{0,30}\)\s*)?(?:long|in (?:total )?length|in weight)\b", re.I)
_NOT_SIZE = re.compile(
    r"[\s-]*(?:\([^()]{0,30}\)\s*)?(?:deep|of water|down|from|across|"
    r"apart|wide|tall|above|below|upstream)",
    re.I,
)
_METRIC = {"centim": 1.0, "cm": 1.0, "mm": 0.1, "m": 100.0, "in": 2.54, "f": 30.48}
_ROOM = 1.15
"""A claim may stand this far above the largest size known before it is a fault: records grow."""


def counts(shop: Shop, scene: Scene, at: int) -> Iterator[Finding]:
    """The counts told in the sentence at a place that contradict what is known."""
    here = scene.sentence(at)
    numbers = _numbers(scene, here)
    if not numbers:
        return
    seen: set[int] = set()
    for pattern, places in _ways(scene.told(here), numbers):
        for match in _matches(pattern, scene, places, here.end):
            if match.start("n") in seen:
                continue
            seen.add(match.start("n"))
            if _PART.search(scene.text[max(here.start, match.start("n") - 12) : match.start("n")]):
                continue
            claim = _claim(match["n"], scene.text[max(0, match.start("n") - 20) : match.start("n")])
            key = _key(match.groupdict())
            if claim is not None and key is not None:
                yield from _count(shop, scene, match.span(), match["n"], key, claim)
    for match in _FORMULA.finditer(scene.text, here.start, here.end):
        fin = {"d": "dorsal", "a": "anal"}[match["fin"][0].lower()]
        for group, kind in (("sp", "spines"), ("ry", "soft-rays")):
            claim = _claim(match[group], "")
            if claim is not None:
                yield from _count(
                    shop, scene, match.span(group), match[group], f"{fin}-{kind}", claim
                )


def _ways(
    told: Sequence[tuple[int, str]], numbers: list[int]
) -> list[tuple[re.Pattern[str], list[int]]]:
    """The patterns that can match in a sentence, each with the places where it can begin."""
    words = {word for _, word in told}
    ways = []
    if not _FINS.isdisjoint(words) and not _SPINY.isdisjoint(words):
        ways += [(p, numbers if own else _at(told, _FINS)) for p, own in _BY_FIN]
    if not _ROWS.isdisjoint(words):
        ways += [(p, numbers if own else _at(told, _ROWS)) for p, own in _BY_ROW]
    return ways


def _numbers(scene: Scene, here: Sentence) -> list[int]:
    """Where numbers begin in a sentence, in figures, in words and as Roman numerals."""
    figures = [m.start() for m in _FIGURES.finditer(scene.text, here.start, here.end)]
    return sorted({*figures, *_at(scene.told(here), _NUMBERS)})


def _at(told: Sequence[tuple[int, str]], words: frozenset[str]) -> list[int]:
    """Where words of a set begin."""
    return [start for start, word in told if word in words]


def _matches(
    pattern: re.Pattern[str], scene: Scene, places: Sequence[int], end: int
) -> Iterator[re.Match[str]]:
    """The matches of a pattern that begin at the places given, none within another."""
    free = 0
    for place in places:
        match = pattern.match(scene.text, place, end) if place >= free else None
        if match is not None:
            free = match.end()
            yield match


def _key(found: dict[str, str | None]) -> str | None:
    """The character that a phrase counts."""
    if found.get("fin"):
        fin, what = str(found["fin"]).lower(), str(found["what"]).lower()
        if fin == "pectoral":
            return "pectoral-rays" if what.startswith("ray") else None
        return f"{fin}-spines" if what.startswith("spine") else f"{fin}-soft-rays"
    if found.get("line"):
        return "pored-scales" if found.get("pored") else "lateral-line-scales"
    names = {"rakers": "gill-rakers", "vertebrae": "vertebrae", "barbels": "barbels"}
    names |= {"branch": "branchiostegal-rays"}
    return next((key for group, key in names.items() if found.get(group)), None)


def _claim(written: str, before: str) -> CountRange | None:
    parts = [number(p) for p in re.split(_SPLIT, written) if p]
    if not parts or None in parts:
        return None
    ends = [p for p in parts if p is not None]
    bound = _BEFORE.search(before)
    if bound and bound["least"]:
        return CountRange(ends[0], None)
    if bound and bound["most"]:
        return CountRange(0, ends[-1])
    return CountRange(min(ends), max(ends))


def number(word: str) -> int | None:
    """A number written in figures, in words, or as a Roman numeral (fin spines)."""
    low = word.strip().lower()
    if low.isdigit():
        return int(low)
    if low in ("no", *_WORDS):
        return 0 if low == "no" else _WORDS.index(low)
    tens, _, ones = low.replace(" ", "-").partition("-")
    if tens in _TENS:
        return 10 * (_TENS.index(tens) + 2) + (_WORDS.index(ones) if ones in _WORDS else 0)
    roman = {"i": 1, "v": 5, "x": 10}
    values = [roman.get(ch, 0) for ch in low]
    if not values or 0 in values:
        return None
    return sum(-v if any(w > v for w in values[i + 1 : i + 2]) else v for i, v in enumerate(values))


def _count(
    shop: Shop, scene: Scene, at: tuple[int, int], said: str, key: str, claim: CountRange
) -> Iterator[Finding]:
    who = scene.subject(*at)
    if who is None:
        return
    label = shop.values.characters[key].label
    if who.mention.taxon is None:
        says = f"{label} {said}: “{who.mention.name.form}” means several fishes, so not compared"
        yield Finding(*at, NOT_JUDGED, says)
        return
    value = shop.values.of(who.mention.taxon).get(key)
    fault = contradicts(claim, value)
    if fault is None:
        whose = shop.called(who.mention.taxon)
        says = f"{label} of {whose}: {said} cannot be judged, too little is known of it here"
        yield Finding(*at, NOT_JUDGED, says)
    elif fault and value is not None and not _fits_another(shop, who, key, claim):
        told, because = shop.cited(_telling(value, claim))
        known = shop.values.told(value)
        says = f"{said} {label} for {shop.called(who.mention.taxon)}; known here: {known}. {told}"
        yield Finding(*at, "figure", says, known, because)


def _telling(value: Value, claim: CountRange) -> tuple[str, ...]:
    return value.firm or value.statements


def _fits_another(shop: Shop, who: Subject, key: str, claim: CountRange) -> bool:
    """True if the claim may be about another fish of the sentence, and fits that one."""
    if who.direct:
        return False
    return any(
        contradicts(claim, shop.values.of(t).get(key)) is False and shop.values.of(t).get(key)
        for t in who.others
    )


def contradicts(claim: CountRange, value: Value | None) -> bool | None:
    """True if a count told is outside what is known, False if inside, None if it cannot be said.

    Small counts (spines) must lie inside; of large ones (scales) the ends may stray by a tenth.
    A single figure sets no bounds, and is contradicted only from afar.
    """
    if value is None or value.range is None:
        return None
    known = value.range
    room = 0.0 if (known.most or known.least) <= 15 else 0.1 * (known.most or known.least)
    if claim.most is None:
        above = known.most is not None and claim.least > known.most
        return (above if value.firm else None) if above else False
    if claim.least == 0 and claim.most > 0:
        return bool(value.firm) if claim.most < known.least else False
    low = claim.least < known.least - room
    high = known.most is not None and claim.most > known.most + room
    if not (low or high):
        return False
    if value.firm:
        return True
    far = max(2.0, 0.2 * known.least)
    top = known.least if known.most is None else known.most
    return True if claim.most < known.least - far or claim.least > top + far else None


# ---- sizes ---------------------------------------------------------------------------------


def sizes(shop: Shop, scene: Scene, at: int) -> Iterator[Finding]:
    """The sizes told in the sentence at a place that no fish of the kind is known to reach."""
    here = scene.sentence(at)
    last: re.Match[str] | None = None
    for match in _matches(_SIZE, scene, _numbers(scene, here), here.end):
        if last is not None and match.start() - last.end() < 14:
            yield from _disagree(scene, last, match)
            if last["u"][:2].lower() in ("po", "lb") and match["u"][0].lower() == "o":
                continue
        last = match
        before = scene.text[max(here.start, match.start() - 80) : match.start()]
        after = scene.text[match.end() : match.end() + 40]
        heavy = measure(match)[0] == "weight"
        meant = bool(_GROWS.search(before)) or bool(_AFTER.match(after))
        if not meant or _WATER.search(before) or _NOT_SIZE.match(after):
            continue
        yield from _size(shop, scene, match, heavy, bool(_TOP.search(before)))


def measure(match: re.Match[str]) -> tuple[str, float]:
    """Length in centimetres or weight in kilograms of a size told; the upper end of a range."""
    written = match["b"] or match["a"]
    value = float(written) if written[0].isdigit() else float(_WORDS.index(written.lower()))
    unit = match["u"].lower()
    if unit.startswith(("pound", "lb")):
        return "weight", value * units.KG_PER_POUND
    if unit.startswith("k"):
        return "weight", value
    if unit.startswith("o"):
        return "weight", value * units.KG_PER_POUND / units.OUNCES_PER_POUND
    factor = next(f for start, f in _METRIC.items() if unit.startswith(start))
    return "length", value * factor


def _disagree(scene: Scene, one: re.Match[str], two: re.Match[str]) -> Iterator[Finding]:
    gap = scene.text[one.end() : two.start()]
    first, second = measure(one), measure(two)
    if first[0] != second[0] or one["u"][:2].lower() == two["u"][:2].lower():
        return
    if not re.fullmatch(r"[\s,]*(?:\(|/|or|,)\s*(?:about |some |nearly )?", gap):
        return
    low, high = sorted((first[1], second[1]))
    rounding = 0.6 / min(_figure(one), _figure(two))
    if high / low - 1 > max(0.07, rounding):
        told = units.weight(first[1]) if first[0] == "weight" else units.length(first[1])
        says = f"{one[0]} and {two[0]} are not the same: {one[0]} is {told}"
        says += " (NIST Special Publication 811, appendix B.8)"
        yield Finding(one.start(), two.end(), "figure", says, told)


def _figure(match: re.Match[str]) -> float:
    written = match["b"] or match["a"]
    return float(written) if written[0].isdigit() else float(_WORDS.index(written.lower()))


def _size(
    shop: Shop, scene: Scene, match: re.Match[str], heavy: bool, top: bool
) -> Iterator[Finding]:
    who = scene.subject(*match.span())
    if who is None or who.mention.taxon is None:
        return
    value = measure(match)[1]
    tell = units.weight if heavy else units.length
    known = largest(shop, who.mention.taxon, heavy)
    whose = shop.called(who.mention.taxon)
    if known is None:
        says = f"{match[0]} for {whose}: no largest size is known here"
        yield Finding(*match.span(), NOT_JUDGED, says)
        return
    most, statement = known
    low = top and value < 0.7 * most
    if value <= most * _ROOM and not low:
        return
    if not who.direct and any(_room_for(shop, t, heavy, value) for t in who.others):
        return
    told, because = shop.cited([statement])
    way = "less" if low else "more"
    says = f"{match[0]} for {whose} is {way} than the largest known, {tell(most)}. {told}"
    yield Finding(*match.span(), "figure", says, tell(most), because)


def _room_for(shop: Shop, taxon: str, heavy: bool, value: float) -> bool:
    known = largest(shop, taxon, heavy)
    return known is None or value <= known[0] * _ROOM


def largest(shop: Shop, taxon: str, heavy: bool) -> tuple[float, str] | None:
    """The largest length (cm) or weight (kg) stated of a fish, and the statement."""
    key = ("largest", taxon, heavy)
    if key not in shop.kept:
        rows = shop.desk.query("largest", t=node(taxon))
        fit = [(r["value"], r["s"]) for r in rows if units.is_weight(r["dimension"]) == heavy]
        shop.kept[key] = max(fit) if fit else None
    found: tuple[float, str] | None = shop.kept[key]
    return found


__all__ = ["COUNTED", "MEASURED", "contradicts", "counts", "number", "sizes"]
