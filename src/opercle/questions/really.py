"""Whether a fish is really what its name says.

Knows: group words, their strict and wider meanings, and who uses them so.
Refuses to know: a verdict where meanings conflict; then it depends, and the answer says on what.
"""

from collections.abc import Sequence
from typing import Any

from opercle import reading
from opercle.answers import Answer, Reason, listed
from opercle.errors import UnknownError
from opercle.questions.bearers import Bearer, Judge, told
from opercle.questions.desk import Desk, Found, node
from opercle.questions.name import settle
from opercle.store import Row

YES, NO, DEPENDS, UNKNOWN = "yes", "no", "depends", "unknown"
_SHOWN = 3


def ask(desk: Desk, name: str, word: str | None = None) -> Answer:
    """Answer ``really``: yes, no, depends or unknown. Raises UnknownError, UsageError."""
    found = desk.find(name)
    question = {"name": found.written, "word": word}
    words = _words(desk, found, word)
    settled = settle(desk, Judge(desk, [], None), found)
    held = settled.left
    if not words:
        return _without_word(desk, question, found, held)
    verdicts = {w: _verdict(desk, w, held) for w in words}
    outcomes = {v for v, _ in verdicts.values()}
    outcome = outcomes.pop() if len(outcomes) == 1 else DEPENDS
    chosen = words[0]
    meanings = _meanings(desk, chosen)
    sentences = [_sentence(desk, found, w, held, *verdicts[w]) for w in words]
    return Answer(
        question={**question, "word": desk.label(chosen)},
        outcome=outcome,
        answer=" ".join(sentences),
        because=_because(desk, found, words, held, verdicts),
        cautions=desk.cautions([b.taxon for b in held][:6]),
        fields={
            "word": desk.label(chosen),
            "word_family": _family(desk, meanings),
            "word_meanings": [_meaning_told(desk, m) for m in meanings],
            "bearers": [{**told(desk, b), "is_it": _is_it(desk, chosen, b.taxon)[0]} for b in held],
            "read_as": found.read_as,
        },
    )


def _words(desk: Desk, found: Found, word: str | None) -> list[str]:
    """The group words to judge by: the one asked for, the one in the name, or in its others."""
    if word is not None:
        key = reading.key_of(reading.clean(word))
        known = desk.words_known()
        for form in reading.singulars(key):
            if form in known:
                return [known[form]]
        raise UnknownError(
            f"“{word}” is not a group word known here.",
            "--word",
            "Use one of: " + listed(sorted(desk.label(w) for w in known.values()), "or") + ".",
            nearest=tuple(r.key for r in reading.nearest(key, known, most=3)),
        )
    own = _longest(desk, [u["n"] for u in found.uses])
    if own:
        return [own]
    others: dict[str, None] = {}
    for taxon in dict.fromkeys(u["t"] for u in found.uses):
        for row in desk.query("other_words", t=node(taxon)):
            others.setdefault(row["w"])
    return list(others)


def _longest(desk: Desk, names: Sequence[str]) -> str | None:
    rows = [r for n in dict.fromkeys(names) for r in desk.query("bears_word", n=node(n))]
    plain = [r["w"] for r in rows if _meanings(desk, r["w"])]
    return min(plain, key=lambda w: len(desk.label(w)), default=None)


def _meanings(desk: Desk, word: str) -> list[Row]:
    return desk.query("meanings", w=node(word))


def _strict(desk: Desk, meanings: Sequence[Row]) -> list[Row]:
    """The strict meanings; one that lies inside another (Perca in Percidae) adds nothing."""
    strict = [m for m in meanings if m["strict"]]
    groups = {m["t"] for m in strict}
    return [m for m in strict if not groups & set(desk.lineage(m["t"]))]


def _family(desk: Desk, meanings: Sequence[Row]) -> str | None:
    """The family strictly meant, where all strict meanings stand in one."""
    families = {desk.about(m["t"]).get("familyName") for m in _strict(desk, meanings)}
    return families.pop() if len(families) == 1 else None


def _meaning_told(desk: Desk, meaning: Row) -> dict[str, Any]:
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


def _is_it(desk: Desk, word: str, taxon: str) -> tuple[str, list[Row]]:
    """Whether one taxon is what a word strictly means, and the meanings that say so."""
    strict = _strict(desk, _meanings(desk, word))
    if not strict:
        return UNKNOWN, []
    above = [taxon, *desk.lineage(taxon), *_families_of_cross(desk, taxon)]
    fits = [m for m in strict if m["t"] in above]
    if not fits:
        return NO, strict
    schools: dict[str, bool] = {}
    for m in strict:
        schools[m["by"]] = schools.get(m["by"], False) or m["t"] in above
    return (YES if all(schools.values()) else DEPENDS), strict


def _families_of_cross(desk: Desk, taxon: str) -> list[str]:
    family = desk.about(taxon).get("family")
    return [family] if family else []


def _verdict(desk: Desk, word: str, held: Sequence[Bearer]) -> tuple[str, dict[str, str]]:
    each = {b.taxon: _is_it(desk, word, b.taxon)[0] for b in held}
    outcomes = set(each.values())
    if not outcomes:
        return UNKNOWN, each
    return (outcomes.pop() if len(outcomes) == 1 else DEPENDS), each


def _sentence(
    desk: Desk, found: Found, word: str, held: Sequence[Bearer], outcome: str, each: dict[str, str]
) -> str:
    said = f"a {desk.label(word)}"
    name = found.read_as["name"] if found.read_as else found.written
    if outcome == UNKNOWN:
        return f"Whether “{name}” is really {said} is not known: no strict meaning of the word is."
    start = {YES: f"Yes, “{name}” is really {said}", NO: f"No, “{name}” is not really {said}"}
    head = start.get(outcome, f"It depends whether “{name}” is really {said}")
    return f"{head}: {_held(desk, each)}. {_meant(desk, word)}."


def _held(desk: Desk, each: dict[str, str]) -> str:
    """The bearers told by family, the first in full, further families in short."""
    families: dict[str, list[str]] = {}
    for taxon in each:
        families.setdefault(_family_told(desk, taxon), []).append(taxon)
    told_parts = []
    for family, taxa in families.items():
        names = listed([desk.label(t) for t in taxa[:_SHOWN]])
        more = f" and {len(taxa) - _SHOWN} more" if len(taxa) > _SHOWN else ""
        told_parts.append(f"{names}{more} {'is' if len(taxa) == 1 else 'are'} {family}")
    if len(told_parts) == 1:
        return told_parts[0]
    return f"the name is borne by several fishes; {'; '.join(told_parts)}"


def _meant(desk: Desk, word: str) -> str:
    """What the word strictly means, school by school."""
    schools: dict[str, list[str]] = {}
    for m in _strict(desk, _meanings(desk, word)):
        schools.setdefault(m["by"], []).append(desk.label(m["t"]))
    by_group: dict[str, list[str]] = {}
    for by, groups in schools.items():
        by_group.setdefault(listed(sorted(set(groups))), []).append(by)
    parts = [f"{groups} ({'; '.join(bys)})" for groups, bys in by_group.items()]
    return f"The word {desk.label(word)} strictly means {', or '.join(parts)}"


def _family_told(desk: Desk, taxon: str) -> str:
    about = desk.about(taxon)
    if about.get("rank") == "family":
        return "the family itself"
    if not about.get("familyName"):
        return f"a {about.get('rank', 'group')} whose family is not known here"
    common = _group_name(desk, about["family"])
    return f"of the family {about['familyName']}" + (f" ({common})" if common else "")


def _group_name(desk: Desk, family: str) -> str | None:
    rows = desk.query("group_name", t=node(family))
    return rows[0]["form"] if rows else None


def _because(
    desk: Desk,
    found: Found,
    words: Sequence[str],
    held: Sequence[Bearer],
    verdicts: dict[str, tuple[str, dict[str, str]]],
) -> list[Reason]:
    lines = [desk.words.reason(b.use["use"], (b.use["use"], "op:means", b.taxon)) for b in held]
    for bearer in held:
        lines += _lineage_reason(desk, bearer.taxon)
    for word in words:
        lines += [desk.words.reason(m["s"]) for m in _meanings(desk, word)]
        lines += [desk.words.reason(r["s"]) for r in desk.query("word_history", w=node(word))]
        for taxon, verdict in verdicts[word][1].items():
            if verdict == NO:
                lines += _misleads(desk, found, held, word, taxon)
    return list(dict.fromkeys(lines))


def _lineage_reason(desk: Desk, taxon: str) -> list[Reason]:
    family = desk.about(taxon).get("family")
    if not family or family == taxon:
        return []
    says = f"{desk.label(taxon)} is of the family {desk.label(family)}"
    return [
        Reason(says, "inferred", rule="in-family", triple=(taxon, "op:inFamily", family)),
        *[desk.words.reason(r["s"]) for r in desk.query("placement", t=node(taxon))],
    ]


def _misleads(
    desk: Desk, found: Found, held: Sequence[Bearer], word: str, taxon: str
) -> list[Reason]:
    name = next((b.use["n"] for b in held if b.taxon == taxon), None)
    rows = desk.query("bears_word", n=node(name)) if name else []
    if word not in {r["w"] for r in rows}:
        return []
    said = desk.label(word)
    says = f"the name “{found.written}” says {said}, but the fish is of no group strictly called so"
    triple = (str(name), "op:misleadsAbout", taxon)
    return [Reason(says, "inferred", rule="misleading-name", triple=triple)]


def _without_word(
    desk: Desk, question: dict[str, Any], found: Found, held: Sequence[Bearer]
) -> Answer:
    names = listed([desk.label(b.taxon) for b in held], "or")
    return Answer(
        question,
        UNKNOWN,
        f"“{found.written}” holds no group word such as bass or perch; it means {names}. "
        "Name the word with --word.",
        [desk.words.reason(b.use["use"]) for b in held],
        desk.cautions([b.taxon for b in held][:6]),
        {
            "word": None,
            "word_family": None,
            "word_meanings": [],
            "bearers": [told(desk, b) for b in held],
            "read_as": found.read_as,
        },
    )
