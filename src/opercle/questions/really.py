"""Whether a fish is really what its name says.

Knows: which fish a name means first, its family, and what the group word in the name means.
Refuses to know: a verdict where meanings conflict; then it depends, and the answer says on what.
"""

from collections.abc import Sequence
from typing import Any

from opercle.answers import Answer, Reason, listed
from opercle.questions import group_words as words_of
from opercle.questions.bearers import Bearer, Judge, told
from opercle.questions.desk import Desk, Found, node
from opercle.questions.group_words import NO, UNKNOWN, YES
from opercle.questions.name import settle

_ORIGINS = 3


def ask(desk: Desk, name: str, word: str | None = None) -> Answer:
    """Answer ``really``: yes, no, depends or unknown. Raises UnknownError, UsageError."""
    found = desk.find(name)
    question = {"name": found.written, "word": word}
    words = [words_of.asked(desk, word)] if word is not None else words_of.in_name(desk, found)
    held = settle(desk, Judge(desk, [], None), found).left
    if not words:
        return _without_word(desk, question, found, held)
    chosen = words[0]
    verdicts = {w: words_of.joint([words_of.is_it(desk, w, b.taxon) for b in held]) for w in words}
    main = _main(held)
    return Answer(
        question={**question, "word": desk.label(chosen)},
        outcome=words_of.joint(list(verdicts.values())),
        answer=" ".join(_sentence(desk, found, w, main, held, verdicts[w]) for w in words),
        because=_because(desk, words, main, held, found),
        cautions=desk.cautions([b.taxon for b in main]),
        fields={
            "word": desk.label(chosen),
            "word_family": words_of.family(desk, chosen),
            "word_meanings": [words_of.told(desk, m) for m in words_of.meanings(desk, chosen)],
            "bearers": [
                {**told(desk, b), "is_it": words_of.is_it(desk, chosen, b.taxon)} for b in held
            ],
            "read_as": found.read_as,
        },
    )


def _main(held: Sequence[Bearer]) -> list[Bearer]:
    """The one fish whose standard name it is, or all that bear it."""
    first = [b for b in held if b.use["kind"] == "op:standard" and b.use.get("followed")]
    return first if len(first) == 1 else list(held)


def _sentence(
    desk: Desk,
    found: Found,
    word: str,
    main: Sequence[Bearer],
    held: Sequence[Bearer],
    outcome: str,
) -> str:
    said = f"a {desk.label(word)}"
    name = found.read_as["name"] if found.read_as else found.written
    if outcome == UNKNOWN:
        return f"Whether “{name}” is really {said} is not known: no strict meaning of the word is."
    start = {YES: f"Yes, “{name}” is {said}", NO: f"No, “{name}” is not {said}"}
    head = start.get(outcome, f"It depends whether “{name}” is {said}")
    return f"{head}: {_placed(desk, main)}; {words_of.meant(desk, word)}.{_also(desk, main, held)}"


def _placed(desk: Desk, main: Sequence[Bearer]) -> str:
    """The fishes told by family."""
    families: dict[str, list[str]] = {}
    for bearer in main:
        about = desk.about(bearer.taxon)
        family = about.get("family")
        where = "of no family known here" if not family else words_of.group_label(desk, family)
        families.setdefault(where, []).append(desk.label(bearer.taxon))
    parts = []
    for family, labels in families.items():
        of = family if family.startswith("of ") else f"of the family {family}"
        parts.append(f"{listed(labels)} {'is' if len(labels) == 1 else 'are'} {of}")
    return listed(parts)


def _also(desk: Desk, main: Sequence[Bearer], held: Sequence[Bearer]) -> str:
    rest = [b for b in held if b not in main]
    if not rest:
        return ""
    families = {desk.about(b.taxon).get("familyName") or "of no known family" for b in rest}
    many = "one other taxon" if len(rest) == 1 else f"{len(rest)} other taxa"
    return f" The name is also used for {many}, of {listed(sorted(families))}."


def _because(
    desk: Desk,
    words: Sequence[str],
    main: Sequence[Bearer],
    held: Sequence[Bearer],
    found: Found,
) -> list[Reason]:
    lines = [_use(desk, b) for b in main]
    for bearer in main:
        lines += _family_reason(desk, bearer.taxon, deep=True)
    for word in words:
        lines += [desk.words.reason(m["s"]) for m in words_of.strict(desk, word)]
        lines += [r for b in main for r in _misleads(desk, found, b, word)]
        lines += [desk.words.reason(m["s"]) for m in _wider(desk, word, main)]
        origins = desk.query("word_history", w=node(word))
        lines += [desk.words.reason(r["s"]) for r in origins[:_ORIGINS]]
    for bearer in held:
        if bearer not in main:
            lines += [_use(desk, bearer), *_family_reason(desk, bearer.taxon, deep=False)]
    return list(dict.fromkeys(lines))


def _use(desk: Desk, bearer: Bearer) -> Reason:
    return desk.words.reason(bearer.use["use"], (bearer.use["use"], "op:means", bearer.taxon))


def _wider(desk: Desk, word: str, main: Sequence[Bearer]) -> list[Any]:
    """The wider meanings that take in the fish asked about."""
    above = {u for b in main for u in (b.taxon, *desk.lineage(b.taxon))}
    return [m for m in words_of.meanings(desk, word) if not m["strict"] and m["t"] in above]


def _family_reason(desk: Desk, taxon: str, deep: bool) -> list[Reason]:
    """That a taxon is of its family; with the placements it rests on where ``deep``."""
    family = desk.about(taxon).get("family")
    if not family or family == taxon:
        return []
    says = f"{desk.label(taxon)} is of the family {desk.label(family)}"
    derived = Reason(says, "inferred", rule="in-family", triple=(taxon, "op:inFamily", family))
    if not deep:
        return [derived]
    steps = [desk.words.reason(r["s"]) for r in desk.query("placement", t=node(taxon))]
    return [derived, *steps]


def _misleads(desk: Desk, found: Found, bearer: Bearer, word: str) -> list[Reason]:
    ends = {r["w"] for r in desk.query("bears_word", n=node(bearer.use["n"]))}
    if word not in ends or words_of.is_it(desk, word, bearer.taxon) != NO:
        return []
    says = f"the name says {desk.label(word)}, but the fish is of no group strictly called so"
    triple = (str(bearer.use["n"]), "op:misleadsAbout", bearer.taxon)
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
        [_use(desk, b) for b in held],
        desk.cautions([b.taxon for b in held]),
        {
            "word": None,
            "word_family": None,
            "word_meanings": [],
            "bearers": [told(desk, b) for b in held],
            "read_as": found.read_as,
        },
    )
