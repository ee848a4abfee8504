"""Group words such as bass and trout: what each strictly means, and by whose word.

Knows: schools of meaning, strict and wider meanings, whether a taxon is what a word means.
Refuses to know: names; a word stands for itself here.
"""

from collections.abc import Sequence
from typing import Any

from opercle import reading
from opercle.answers import listed
from opercle.errors import UnknownError
from opercle.questions.desk import Desk, Found, node
from opercle.store import Row

YES, NO, DEPENDS, UNKNOWN = "yes", "no", "depends", "unknown"


def asked(desk: Desk, word: str) -> str:
    """The group word that a person means; UnknownError if it is none."""
    key = reading.key_of(reading.clean(word))
    known = desk.words_known()
    for form in reading.singulars(key):
        if form in known:
            return known[form]
    raise UnknownError(
        f"“{word}” is not a group word known here.",
        "--word",
        "Use one of: " + listed(sorted(desk.label(w) for w in known.values()), "or") + ".",
        nearest=tuple(r.key for r in reading.nearest(key, known, most=3)),
    )


def in_name(desk: Desk, found: Found) -> list[str]:
    """The plainest group word in which the name ends, or those of the fish's other names."""
    names = dict.fromkeys(u["n"] for u in found.uses)
    own = [r["w"] for n in names for r in desk.query("bears_word", n=node(n))]
    own = [w for w in own if meanings(desk, w)]
    if own:
        return [min(own, key=lambda w: len(desk.label(w)))]
    taxa = dict.fromkeys(u["t"] for u in found.uses)
    others = [r["w"] for t in taxa for r in desk.query("other_words", t=node(t))]
    return list(dict.fromkeys(others))


def meanings(desk: Desk, word: str) -> list[Row]:
    """Every recorded meaning of a word, strict ones first."""
    return desk.query("meanings", w=node(word))


def strict(desk: Desk, word: str) -> list[Row]:
    """The strict meanings; one that lies inside another (Perca in Percidae) adds nothing."""
    found = [m for m in meanings(desk, word) if m["strict"]]
    groups = {m["t"] for m in found}
    return [m for m in found if not groups & set(desk.lineage(m["t"]))]


def family(desk: Desk, word: str) -> str | None:
    """The family strictly meant, where all strict meanings stand in one."""
    families = {desk.about(m["t"]).get("familyName") for m in strict(desk, word)}
    return families.pop() if len(families) == 1 else None


def is_it(desk: Desk, word: str, taxon: str) -> str:
    """Whether a taxon is what a word strictly means: yes, no, unknown, or depends on the school."""
    found = strict(desk, word)
    if not found:
        return UNKNOWN
    above = {taxon, *desk.lineage(taxon)}
    own = desk.about(taxon).get("family")
    above |= {own} if own else set()
    schools: dict[str, bool] = {}
    for m in found:
        schools[m["by"]] = schools.get(m["by"], False) or m["t"] in above
    if not any(schools.values()):
        return NO
    return YES if all(schools.values()) else DEPENDS


def meant(desk: Desk, word: str) -> str:
    """What a word strictly means, in a sentence, school by school."""
    schools: dict[str, list[str]] = {}
    for m in strict(desk, word):
        schools.setdefault(m["by"], []).append(group_label(desk, m["t"]))
    by_group: dict[str, list[str]] = {}
    for by, groups in schools.items():
        by_group.setdefault(listed(sorted(set(groups))), []).append(by)
    if len(by_group) == 1:
        return f"strictly, {desk.label(word)} means {next(iter(by_group))}"
    parts = [f"{groups} (so {listed(bys)})" for groups, bys in by_group.items()]
    return f"the word {desk.label(word)} has more than one strict meaning: {'; or '.join(parts)}"


def group_label(desk: Desk, taxon: str) -> str:
    """A group with its English name: ``Moronidae (temperate basses)``."""
    about = desk.about(taxon)
    rows = desk.query("group_name", t=node(taxon))
    told = str(about.get("name", taxon))
    return f"{told} ({rows[0]['form']})" if rows else told


def told(desk: Desk, meaning: Row) -> dict[str, Any]:
    """A meaning as the contract writes it: taxon, by whom, since."""
    cited = desk.words.citation(meaning["s"])
    return {
        "taxon": desk.about(meaning["t"]).get("name", meaning["t"]),
        "by": meaning["by"],
        "as": meaning.get("text"),
        "since": meaning.get("from"),
        "strict": meaning["strict"],
        "source": cited.source if cited else None,
        "basis": cited.basis if cited else None,
    }


def joint(verdicts: Sequence[str]) -> str:
    """One verdict for several fishes: the same for all, else it depends."""
    found = set(verdicts)
    if not found:
        return UNKNOWN
    return found.pop() if len(found) == 1 else DEPENDS
