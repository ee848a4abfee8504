"""What names there are to read, kept at hand so that a million cells need no million queries.

Knows: every name's key, which standard names there are, genera, and which words are no fishes.
Refuses to know: what a name means here and then.
"""

import os
from functools import cached_property

from opercle import reading
from opercle.questions.desk import Desk

_BESIDE = os.path.dirname(__file__)

_FORMS = """SELECT DISTINCT ?form ?kind ?t { ?use op:name ?n ; op:kind ?kind ; op:means ?t .
  ?n skosxl:literalForm ?form MINUS { ?use op:doubted ?doubt } }"""
_PARENTS = """SELECT ?h ?p ?f { ?h op:parent ?p OPTIONAL { ?h op:femaleParent ?f } }"""


def _lines(name: str) -> list[str]:
    with open(os.path.join(_BESIDE, name), encoding="utf-8") as file:
        return [line.rstrip("\n") for line in file if line.strip() and line[0] != "#"]


def _worded(names: list[str]) -> dict[str, list[tuple[str, list[str]]]]:
    found: dict[str, list[tuple[str, list[str]]]] = {}
    for name in names:
        words = reading.normal(name).split()
        if words:
            found.setdefault(words[0][0], []).append((name, words))
    return found


class Lexicon:
    """The names of one snapshot."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        rows = desk.snapshot.rows(_FORMS)
        self.keys = frozenset(reading.key_of(r["form"]) for r in rows)
        self.genera = frozenset(
            r["form"].lower()
            for r in rows
            if r["kind"] in ("op:scientific", "op:synonym") and " " not in r["form"]
        )
        scientific = [r["form"] for r in rows if r["kind"] in ("op:scientific", "op:synonym")]
        self.epithets = frozenset(f.lower().split()[1] for f in scientific if f.count(" ") == 1)
        self.epithet_genera: dict[str, set[str]] = {}
        for form in scientific:
            if form.count(" ") == 1:
                genus, epithet = form.lower().split()
                self.epithet_genera.setdefault(epithet, set()).add(genus)
        self.standard = sorted({r["form"] for r in rows if r["kind"] == "op:standard"})
        self.others = sorted(
            {r["form"] for r in rows if r["kind"] in ("op:regional", "op:market", "op:group")}
        )
        self._bare = sorted({k.replace(" ", "") for k in desk.keys})

    def known(self, text: str) -> bool:
        """True if the desk finds the text without taking it for a misspelling."""
        key = reading.normal(text)
        if not key:
            return False
        if any(form.replace(" ", "") in self.keys for form in reading.singulars(key)):
            return True
        return self._abbreviated(text)

    def _abbreviated(self, text: str) -> bool:
        parts = text.replace(".", ". ").split()
        if len(parts) != 2 or not parts[0].endswith(".") or len(parts[0]) > 4:
            return False
        start = parts[0][:-1].lower()
        return any(g.startswith(start) for g in self.epithet_genera.get(parts[1].lower(), ()))

    def near_enough(self, text: str) -> bool:
        """False if no name's letters are alike enough for the desk to read the text as it.

        The desk's likeness is the mean of letters and sounds; at full marks for sound the letters
        must still reach twice the bound less one.
        """
        from rapidfuzz import fuzz, process

        bare = reading.key_of(text)
        least = 200 * (reading.SURE - 0.0005) - 100
        return (
            process.extractOne(bare, self._bare, scorer=fuzz.ratio, score_cutoff=least) is not None
        )

    @cached_property
    def worded_standard(self) -> dict[str, list[tuple[str, list[str]]]]:
        """Standard names with their words, by their first letter."""
        return _worded(self.standard)

    @cached_property
    def worded_others(self) -> dict[str, list[tuple[str, list[str]]]]:
        """Regional, market and group names with their words, by their first letter."""
        return _worded(self.others)

    @cached_property
    def begun(self) -> dict[str, list[str]]:
        """Standard names of two words by their first word: bluegill x *redear* leaves one out."""
        found: dict[str, list[str]] = {}
        for name in self.standard:
            words = reading.normal(name).split()
            if len(words) == 2:
                found.setdefault(words[0], []).append(name)
        return found

    @cached_property
    def short(self) -> dict[str, tuple[str, ...]]:
        """Short forms by key, each with the names it can stand for."""
        found = {}
        for line in _lines("abbreviations.tsv"):
            form, _, names = line.partition("\t")
            found[reading.key_of(form)] = tuple(names.split("|"))
        return found

    @cached_property
    def outside(self) -> dict[str, str]:
        """Names by key whose usual meaning the knowledge does not hold, with that meaning."""
        pairs = (line.split("\t") for line in _lines("outside.tsv"))
        return {reading.key_of(name): meaning for name, meaning in pairs}

    def elsewhere(self, word: str) -> str | None:
        """The meaning outside the knowledge of a word or its singular."""
        for form in reading.singulars(reading.normal(word)):
            meaning = self.outside.get(form.replace(" ", ""))
            if meaning:
                return meaning
        return None

    def no_fish(self, name: str) -> str | None:
        """What a name that is also an animal's or plant's usually means; None for all others."""
        last = reading.normal(name).split()[-1:]
        known = any(s in self.not_fish for word in last for s in reading.singulars(word))
        return "an animal or plant that is no fish" if known else None

    @cached_property
    def not_fish(self) -> frozenset[str]:
        """Words for animals and plants that are no fishes."""
        return frozenset(word for line in _lines("notfish.txt") for word in line.split())

    @cached_property
    def crosses(self) -> dict[frozenset[str], list[tuple[str, str | None]]]:
        """Hybrids by their two parents, each with its mother where that is known."""
        parents: dict[str, set[str]] = {}
        mothers: dict[str, str | None] = {}
        for row in self.desk.snapshot.rows(_PARENTS):
            parents.setdefault(row["h"], set()).add(row["p"])
            mothers[row["h"]] = row.get("f")
        found: dict[frozenset[str], list[tuple[str, str | None]]] = {}
        for hybrid in sorted(parents):
            pair = frozenset(parents[hybrid])
            found.setdefault(pair, []).append((hybrid, mothers[hybrid]))
        return found
