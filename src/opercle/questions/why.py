"""Why a fish belongs here and not there.

Knows: which characters speak for the one placement, which for the other, which for neither.
Refuses to know: a decision that no dependable character makes.
"""

from collections.abc import Sequence
from typing import Any

from opercle import reading
from opercle.answers import Answer, Reason, listed
from opercle.errors import UsageError
from opercle.questions.desk import Desk, node
from opercle.questions.values import (
    AGAINST,
    AGREES,
    DECIDES,
    LEANS,
    SILENT,
    VERDICTS,
    Character,
    Value,
    Values,
    by_use,
)
from opercle.wording import count_range

SUPPORTED, UNDECIDED, CONTRADICTED, OPEN = "supported", "undecided", "contradicted", "open"
_TOLD = 3


def ask(desk: Desk, taxon: str, other: str) -> Answer:
    """Answer ``why TAXON --not OTHER``. Raises UnknownError, UsageError."""
    question = {"taxon": " ".join(taxon.split()), "not": " ".join(other.split())}
    subject = _one(desk, taxon)
    rather = _one(desk, other)
    for meant, written in ((subject, taxon), (rather, other)):
        if len(meant) > 1:
            return _several(desk, question, written, meant)
    one, two = subject[0], rather[0]
    if one == two:
        raise UsageError("Both names mean the same fish.", f"{taxon} and {other}", "Name two.")
    if two in desk.lineage(one):
        return _is_inside(desk, question, one, two)
    answer = _weigh(desk, question, one, _placed_in(desk, one, two), two)
    taken = desk.passed_over(taxon, one) + desk.passed_over(other, two)
    return answer._replace(cautions=[*taken, *answer.cautions])


def _one(desk: Desk, written: str) -> list[str]:
    """The taxa that a name can mean; a bare group word means what it strictly means."""
    taxa = desk.standard(written)
    if taxa:
        return taxa
    word = desk.words_known().get(reading.key_of(reading.clean(written)))
    if word is not None:
        strict = [r["t"] for r in desk.query("meanings", w=node(word)) if r["strict"]]
        top = [t for t in strict if len(desk.under(strict, t)) == len(strict)]
        if top:
            return top[:1]
    return desk.taxa(written)[0]


def _placed_in(desk: Desk, one: str, two: str) -> str:
    """The group that holds the subject but not the other: family, else genus, else itself."""
    mine, theirs = [one, *desk.lineage(one)], {two, *desk.lineage(two)}
    for rank in ("family", "genus"):
        for taxon in mine:
            if desk.rank(taxon) == rank and taxon not in theirs:
                return taxon
    return one


def _weigh(desk: Desk, question: dict[str, Any], one: str, group: str, two: str) -> Answer:
    values = Values(desk)
    rows = []
    for key, character in values.characters.items():
        mine = values.of(one).get(key)
        own = values.of(group).get(key)
        theirs = values.of(two).get(key)
        if (mine or own) and (theirs or character.trust == "misleading"):
            subject = None if group == one else mine
            verdict = values.verdict(key, subject, own or mine, theirs)
            rows.append((verdict, character, mine, own, theirs))
        elif mine or own or theirs:
            rows.append((SILENT, character, mine, own, theirs))
    rows.sort(key=lambda r: (VERDICTS.index(r[0]), by_use(r[1])))
    outcome = _outcome([r[0] for r in rows])
    deciding = [r[1].label for r in rows if r[0] == DECIDES]
    return Answer(
        question=question,
        outcome=outcome,
        answer=_sentence(desk, outcome, one, group, two, rows, values),
        because=_because(desk, one, group, two, rows, values),
        cautions=_colour_caution(rows) + desk.cautions([one]),
        fields={
            "subject": desk.about(one).get("name"),
            "placed_in": desk.about(group).get("name"),
            "rather_than": desk.about(two).get("name"),
            "characters": [_row(desk, values, r) for r in rows],
            "naming": _naming(desk, one, group, two),
            "deciding": deciding,
        },
    )


def _outcome(verdicts: Sequence[str]) -> str:
    if AGAINST in verdicts:
        return UNDECIDED if DECIDES in verdicts else CONTRADICTED
    return SUPPORTED if DECIDES in verdicts else UNDECIDED


_Row = tuple[str, Character, Value | None, Value | None, Value | None]


def _row(desk: Desk, values: Values, row: _Row) -> dict[str, Any]:
    verdict, character, mine, own, theirs = row
    statements = [s for v in (mine, own, theirs) if v for s in v.statements]
    sources = {}
    for statement in dict.fromkeys(statements):
        cited = desk.words.citation(statement)
        if cited:
            key = (cited.source, cited.page, cited.basis)
            sources[key] = {"source": cited.source, "page": cited.page, "basis": cited.basis}
    return {
        "character": character.key,
        "subject_state": values.told(mine),
        "placed_in_state": values.told(own),
        "rather_than_state": values.told(theirs),
        "verdict": verdict,
        "trust": character.trust,
        "seen": character.seen,
        "sources": list(sources.values()),
    }


def _sentence(
    desk: Desk,
    outcome: str,
    one: str,
    group: str,
    two: str,
    rows: Sequence[_Row],
    values: Values,
) -> str:
    subject, placed, other = desk.label(one), desk.label(group), desk.label(two)
    deciding = [r for r in rows if r[0] == DECIDES]
    if outcome == SUPPORTED:
        first = [
            f"{c.label} ({values.told(mine or own)} against {values.told(theirs)})"
            for _, c, mine, own, theirs in deciding[:_TOLD]
        ]
        verb = "decides" if len(first) == 1 else "decide"
        more = f"; {len(deciding) - _TOLD} more agree" if len(deciding) > _TOLD else ""
        return _upper(f"{subject} {_where(desk, one, group, two)}: {listed(first)} {verb}{more}.")
    leaning = [r[1].label for r in rows if r[0] == LEANS]
    if outcome == CONTRADICTED:
        return _upper(f"what is known of {subject} contradicts {placed} rather than {other}.")
    lean = (
        f" {listed(leaning[:_TOLD])} only {'leans' if len(leaning) == 1 else 'lean'}."
        if leaning
        else ""
    )
    return (
        _upper(f"no dependable character known here decides between {subject} and {other}.") + lean
    )


def _where(desk: Desk, one: str, group: str, two: str) -> str:
    other = desk.label(two)
    if group == one:
        return f"is not {other}"
    alone = desk.rank(two) in ("species", "subspecies")
    return f"belongs to {desk.label(group)}" + (
        f" and is not {other}" if alone else f", not to {other}"
    )


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _because(
    desk: Desk, one: str, group: str, two: str, rows: Sequence[_Row], values: Values
) -> list[Reason]:
    lines: list[Reason] = []
    for verdict, character, mine, own, theirs in rows:
        here = mine or own
        if here is None or theirs is None or verdict in (SILENT, AGREES):
            continue
        says = f"{character.label} {verdict}: {values.told(here)} against {values.told(theirs)}"
        rule, triple = _derived(desk, here, theirs)
        lines.append(Reason(says, "inferred", rule=rule, triple=triple))
        lines += [desk.words.reason(s) for s in (*here.statements, *theirs.statements)]
    for row in desk.query("contrasts", t=node(one)) + desk.query("contrasts", t=node(group)):
        if row["other"] in {two, *desk.lineage(two)} or two in desk.lineage(row["other"]):
            lines.append(desk.words.reason(row["s"]))
    return list(dict.fromkeys(lines))


def _derived(
    desk: Desk, here: Value, theirs: Value
) -> tuple[str | None, tuple[str, str, str] | None]:
    """The rule that parts two values, and the triple of two statements that it concludes."""
    if here.states and here.cannot_meet(theirs):
        return "states-part", (here.firm[0], "op:cannotMeet", theirs.firm[0])
    if here.cannot_meet(theirs):
        return _parted(desk, here.firm, theirs.firm, usual=False)
    return _parted(desk, here.statements, theirs.statements, usual=True)


def _parted(
    desk: Desk, ours: Sequence[str], others: Sequence[str], usual: bool
) -> tuple[str | None, tuple[str, str, str] | None]:
    """The first two statements whose ranges, or usual ranges, share no value."""
    rule, link = ("usual", "op:leansApartFrom") if usual else ("counts", "op:cannotMeet")
    for a in ours:
        for b in others:
            pair = [count_range(desk.words.statement(s)) for s in (a, b)]
            one, two = (r.usual if usual else r for r in pair)
            if one.gap(two):
                return f"{rule}-{'below' if one.least < two.least else 'above'}", (a, link, b)
    return None, None


def _naming(desk: Desk, one: str, group: str, two: str) -> list[str]:
    told = []
    for taxon in dict.fromkeys((one, group, two)):
        told += [desk.words.sentence(r["s"]) for r in desk.query("naming", t=node(taxon))]
    return told


def _colour_caution(rows: Sequence[_Row]) -> list[str]:
    if any(c.trust == "misleading" for _, c, *_ in rows):
        return ["Colour is listed but never decides: it shifts with stress, light and water."]
    return []


def _is_inside(desk: Desk, question: dict[str, Any], one: str, two: str) -> Answer:
    says = f"{_upper(desk.label(one))} does belong to {desk.label(two)}."
    triple = (one, "op:atOrUnder", two)
    fields: dict[str, Any] = {
        "subject": desk.about(one).get("name"),
        "placed_in": desk.about(two).get("name"),
        "rather_than": desk.about(two).get("name"),
        "characters": [],
        "naming": [],
    }
    reasons = [Reason(says, "inferred", rule="under-ancestor", triple=triple)]
    reasons += [desk.words.reason(r["s"]) for r in desk.query("placement", t=node(one))]
    return Answer(question, CONTRADICTED, says, reasons, desk.cautions([one]), fields)


def _several(desk: Desk, question: dict[str, Any], written: str, meant: Sequence[str]) -> Answer:
    bearers = [
        {
            "scientificName": about.get("name"),
            "scientificNameAuthorship": about.get("author"),
            "taxonRank": about.get("rank"),
            "family": about.get("familyName"),
            "vernacularName": about.get("common"),
            "taxon": taxon,
        }
        for taxon, about in ((t, desk.about(t)) for t in meant)
    ]
    names = listed([desk.label(t) for t in meant], "or")
    says = f"“{written}” is open: it can mean {names}. Ask again with the scientific name."
    return Answer(question, OPEN, says, [], [], {"bearers": bearers})
