"""Questions about what a fish is called, what the name means, its family, and where it came from.

Knows: four kinds: the family; whether the fish is what its name says; the meaning of a part of
its name; a water to which people brought it.
Refuses to know: wrong answers that nobody contradicts. A fish is of one family; a wrong meaning is
one recorded of another word and shares no word with the right one; a wrong water is one to which
the fish is native, and of which nothing says that it was brought there too.
"""

import re
from collections.abc import Iterator, Sequence
from random import Random
from typing import NamedTuple

from opercle import reading
from opercle.questions import group_words
from opercle.questions.desk import Desk, node
from opercle.questions.group_words import NO, YES
from opercle.questions.places import APART, Places
from opercle.questions.quiz import OPTIONS, Item, Option, Stock

_RANKS = ("species", "genus", "subspecies")
_SAME = (
    {"small", "little", "short", "dwarf", "tiny", "slender", "thin", "narrow", "young"},
    {"large", "big", "great", "long", "broad", "wide", "thick"},
    {"blunt", "dull", "obtuse", "rounded", "round"},
    {"spot", "spotted", "dotted", "speckled", "dot", "point", "freckled"},
    {"stripe", "striped", "band", "banded", "line", "lined", "girdled", "barred", "bar"},
    {"green", "greenish", "blue", "bluish"},
    {"gold", "golden", "yellow", "yellowish"},
    {"dark", "black", "blackish", "dusky", "brown"},
    {"scale", "scaled", "scaly"},
    {"fish", "perch", "bass"},
    {"river", "stream", "creek", "brook", "water", "lake", "pond"},
    {"sharp", "pointed", "spine", "spiny", "thorn", "spear"},
)
"""Words too near in meaning for one to be the wrong answer beside another."""


_UNSURE = re.compile(r"\b(?:unknown|uncertain|unclear|obscure|doubtful|not known|perhaps)\b", re.I)


def _statements(desk: Desk, taxon: str) -> tuple[str, ...]:
    """The placements that put a taxon in its family."""
    return tuple(r["s"] for r in desk.query("placement", t=node(taxon)))[:2]


def family(stock: Stock, rng: Random) -> Iterator[Item]:
    """Of which family the fish is; the others are families that its class mates belong to."""
    desk = stock.desk
    for taxon in stock.taxa:
        about = desk.about(taxon)
        own = about.get("family")
        if about.get("rank") not in _RANKS or not own:
            continue
        wrong: list[Option] = []
        placed = _statements(desk, taxon)
        for other in _families(stock, rng, taxon):
            if other != own and len(wrong) < OPTIONS - 1:
                why = f"{stock.name(taxon)} is placed in {about.get('familyName')}"
                wrong.append(Option(group_words.group_label(desk, other), False, why, placed))
        if len(wrong) < 2:
            continue
        said = group_words.group_label(desk, own)
        why = "so it is placed here; a fish is of one family"
        right = Option(said, True, why, placed)
        asks = f"To which family does {stock.name(taxon)} belong?"
        yield Item("family", taxon, f"family {own}", asks, (right, *wrong))


def _families(stock: Stock, rng: Random, taxon: str) -> list[str]:
    """Families that could tempt: of the word in its name, of the sheet, of other group words."""
    desk = stock.desk
    common = desk.about(taxon).get("common")
    tempting: list[str] = []
    if common:
        for word in _word(desk, str(common)):
            tempting += [_family(desk, str(m["t"])) for m in group_words.strict(desk, word)]
    tempting += [str(desk.about(t).get("family") or "") for t in stock.taxa]
    rest = sorted(
        {
            _family(desk, str(m["t"]))
            for w in desk.words_known().values()
            for m in group_words.strict(desk, w)
        }
    )
    rng.shuffle(rest)
    return [f for f in dict.fromkeys((*tempting, *rest)) if f]


def _word(desk: Desk, common: str) -> list[str]:
    """The group word that a name ends in: bass of rock bass."""
    words, key = desk.words_known(), reading.key_of(common.split()[-1])
    return [words[key]] if key in words and " " in common else []


def _family(desk: Desk, taxon: str) -> str:
    about = desk.about(taxon)
    if about.get("rank") == "family":
        return taxon
    return str(about.get("family") or "")


def really(stock: Stock, rng: Random) -> Iterator[Item]:
    """Whether the fish is, in the strict sense, what its name says; only where schools agree."""
    desk = stock.desk
    for taxon in stock.taxa:
        common = desk.about(taxon).get("common")
        if not common or desk.rank(taxon) != "species":
            continue
        for word in _word(desk, str(common)):
            label = desk.label(word)
            verdict = group_words.is_it(desk, word, taxon)
            if verdict not in (YES, NO):
                continue
            own = group_words.group_label(desk, str(desk.about(taxon).get("family")))
            why = f"{stock.name(taxon)} is of {own}; {group_words.meant(desk, word)}"
            statements = (
                *_statements(desk, taxon)[:1],
                *(m["s"] for m in group_words.strict(desk, word)[:2]),
            )
            options = tuple(Option(said, said == verdict, why, statements) for said in (YES, NO))
            asks = f"In the strict sense of the word, is {stock.name(taxon)} a {label}?"
            yield Item("really", taxon, f"really {taxon}", asks, options)


class Meaning(NamedTuple):
    """A part of a scientific name with its recorded meaning."""

    taxon: str
    part: str
    language: str
    means: str
    statement: str


def meaning(stock: Stock, rng: Random) -> Iterator[Item]:
    """What a part of the scientific name means; the others are recorded of other names."""
    own = [m for t in stock.taxa for m in _meanings(stock, t)]
    kin = [m for t in stock.kin for m in _meanings(stock, t)]
    rng.shuffle(kin)
    everywhere: dict[str, list[str]] = {}
    for row in stock.desk.query("all_name_parts") if own else []:
        everywhere.setdefault(str(row["part"]).strip("-").lower(), []).append(str(row["means"]))
    asked: set[str] = set()
    for one in own:
        if one.part in asked:
            continue
        asked.add(one.part)
        wrong: list[Meaning] = []
        recorded = everywhere.get(one.part.strip("-").lower(), [one.means])
        for other in (*own, *kin):
            told = [*recorded, *(w.means for w in wrong)]
            if len(wrong) < OPTIONS - 1 and _unlike(one, other, told):
                wrong.append(other)
        if len(wrong) < 2:
            continue
        name = str(stock.desk.about(one.taxon).get("name"))
        asks = f"What does “{one.part}”, {one.language}, mean in the name {name}?"
        right = Option(one.means, True, f"recorded of “{one.part}”", (one.statement,))
        others = tuple(
            Option(w.means, False, f"that is “{w.part}”, in {_named(stock, w)}", (w.statement,))
            for w in wrong
        )
        yield Item("meaning", one.taxon, f"meaning {one.part}", asks, (right, *others))


def _named(stock: Stock, meaning: Meaning) -> str:
    return str(stock.desk.about(meaning.taxon).get("name"))


def _meanings(stock: Stock, taxon: str) -> list[Meaning]:
    desk = stock.desk
    holders = [taxon, *(t for t in desk.lineage(taxon) if desk.rank(t) == "genus")]
    return [
        Meaning(holder, str(r["part"]), str(r["language"]), _plain(str(r["means"])), str(r["s"]))
        for holder in holders
        for r in desk.query("name_parts", t=node(holder))
        if not _UNSURE.search(str(r["means"]))
    ]


def _plain(means: str) -> str:
    """A meaning without the Greek or Latin in brackets, which would give the answer away."""
    return re.sub(r"\s*\([^)]*\)", "", means).strip() or means


def _unlike(one: Meaning, other: Meaning, told: Sequence[str]) -> bool:
    """True if the other's meaning cannot pass for the right one nor for one already taken."""
    a, b = one.part.strip("-").lower(), other.part.strip("-").lower()
    if a[:4] == b[:4]:
        return False
    theirs = _stems(other.means)
    return bool(theirs) and not any(_near(theirs, _stems(said)) for said in told)


def _stems(text: str) -> frozenset[str]:
    words = re.findall(r"[a-z]{3,}", text.lower())
    dull = {"the", "and", "with", "for", "from", "after", "named", "like", "word", "old", "name"}
    return frozenset(w for w in words if w not in dull)


def _near(a: frozenset[str], b: frozenset[str]) -> bool:
    if any(x[:4] == y[:4] or x in y or y in x for x in a for y in b):
        return True
    return any(a & same and b & same for same in _SAME)


def brought(stock: Stock, rng: Random) -> Iterator[Item]:
    """To which water people brought the fish; it is native to the others."""
    places = Places(stock.desk)
    for taxon in stock.taxa:
        by: dict[str, dict[str, list[str]]] = {}
        for row in stock.desk.query("ranges", t=node(taxon)):
            by.setdefault(str(row["presence"]), {}).setdefault(row["where"], []).append(row["s"])
        native, taken = by.get("op:native", {}), by.get("op:introduced", {})
        unsure = [*taken, *by.get("op:disputed", {})]
        right = [p for p in taken if _apart(places, p, list(native))]
        wrong = [p for p in native if right and _apart(places, p, unsure)]
        if not right or len(wrong) < 2:
            continue
        rng.shuffle(right)
        rng.shuffle(wrong)
        label = stock.desk.label
        said = "people brought it there"
        options = [Option(label(right[0]), True, said, tuple(taken[right[0]][:2]))]
        options += [
            Option(label(p), False, "it is native there", tuple(native[p][:2]))
            for p in wrong[: OPTIONS - 1]
        ]
        asks = f"To which of these did people bring {stock.name(taxon)}?"
        yield Item("brought", taxon, f"brought {taxon}", asks, tuple(options))


def _apart(places: Places, one: str, others: Sequence[str]) -> bool:
    """True if nothing that is said of the others can touch this place."""
    return all(
        places.relation(one, p) == APART and places.relation(p, one) == APART for p in others
    )
