"""Which fish this is, from what can be seen of it.

Knows: how the standings of all candidates make an answer, and what to look at next.
Refuses to know: colour as a reason, and a guess: what is left open is said to be open.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from opercle.answers import Answer
from opercle.errors import UsageError
from opercle.questions import identify_words as words
from opercle.questions import next_look, subjects
from opercle.questions.casework import NONE, OPEN, SETTLED, Candidate, Case, Sorted
from opercle.questions.desk import Desk
from opercle.questions.features import features
from opercle.questions.given import Given, read
from opercle.questions.residents import INTRODUCED, NATIVE, NOT_ASKED, NOT_KNOWN, Residents, Stay
from opercle.questions.values import Values
from opercle.questions.weighing import (
    AGAINST,
    EDGE,
    FITS,
    SILENT,
    Say,
    all_largest_sizes,
    greatest_counts,
    standing,
    weigh,
)

_STANDINGS = (FITS, EDGE, AGAINST)
_LIVES = (NATIVE, INTRODUCED, NOT_ASKED, NOT_KNOWN)
_COMMON_GROUP = 60


def ask(
    desk: Desk,
    observations: Mapping[str, str] | Iterable[str] = (),
    water: str | None = None,
    state: str | None = None,
    within: str | None = None,
) -> Answer:
    """Answer ``identify``: settled, open or none. Raises UnknownError, UsageError."""
    values = Values(desk)
    known = features(desk, values)
    given = read(observations, known, greatest_counts(desk))
    question = _question(given, water, state, within)
    group = None
    if within is not None:
        taxa = subjects.meant(desk, within)
        if len(taxa) > 1:
            return subjects.several(desk, question, within, taxa, _empty())
        group = taxa[0]
    places: list[str] = []
    for written, look in ((water, desk.water), (state, desk.state)):
        if written is None:
            continue
        found = look(written)
        if len(found) > 1:
            return subjects.several_places(desk, question, written, found, _empty())
        places += found
    case = Case(desk, values, known, given, Residents(desk, places), question)
    return _answer(case, _sorted(case, _candidates(case, group)), group)


def _question(
    given: Given, water: str | None, state: str | None, within: str | None
) -> dict[str, Any]:
    return {
        "observations": {s.feature.key: s.told for s in given.seen},
        "sizes": {s.dimension: s.told for s in given.sizes},
        "not_seen": list(given.not_seen),
        "water": water,
        "state": state,
        "within": within,
    }


def _empty() -> dict[str, Any]:
    return {"candidates": [], "next": [], "set_aside": [], "not_judged": []}


# ---- weighing ------------------------------------------------------------------------------


def _candidates(case: Case, group: str | None) -> list[Candidate]:
    rows = subjects.species(case.desk, group)
    if not rows:
        raise UsageError(
            f"No species is known under {case.desk.label(str(group))}.",
            "--within",
            "Name a larger group.",
        )
    if group is None or len(rows) > _COMMON_GROUP:
        case.values.load_species()
    if case.residents.asked:
        case.residents.read_all([r["t"] for r in rows])
    sizes = all_largest_sizes(case.desk) if case.given.sizes else {}
    found = []
    for row in rows:
        taxon = row["t"]
        mine = case.values.of(taxon)
        said = tuple(weigh(case.values, mine, case.given, sizes.get(taxon, ())))
        stay = case.residents.stay(taxon)
        found.append(Candidate(taxon, subjects.called(row), said, standing(said), stay))
    return found


def _sorted(case: Case, candidates: Sequence[Candidate]) -> Sorted:
    aside = [c for c in candidates if c.stay.excluded]
    here = [c for c in candidates if not c.stay.excluded]
    counted = any(c.said for c in here)
    apart = [c for c in here if counted and not c.judged]
    pool = [c for c in here if not counted or c.judged]
    left = sorted((c for c in pool if c.standing != AGAINST), key=_rank)
    out = sorted((c for c in pool if c.standing == AGAINST), key=_rank)
    by = ["characters"] if any(c.standing == AGAINST for c in candidates) else []
    by += ["place"] if any(c.standing != AGAINST for c in aside) else []
    living = [c for c in left if c.stay.lives in (NATIVE, INTRODUCED)]
    elsewhere = [c for c in left if c.stay.elsewhere]
    if len(living) == 1 and len(living) + len(elsewhere) == len(left) and elsewhere:
        aside += [c._replace(stay=_recorded_elsewhere(c.stay)) for c in elsewhere]
        left, by = living, list(dict.fromkeys([*by, "place"]))
    return Sorted(left, out, apart, sorted(aside, key=_rank), by)


def _recorded_elsewhere(stay: Stay) -> Stay:
    return stay._replace(excluded=f"{stay.says}; its range, as stated, lies wholly elsewhere")


def _rank(candidate: Candidate) -> tuple[Any, ...]:
    verdicts = [s.verdict for s in candidate.said]
    return (
        _STANDINGS.index(candidate.standing),
        _LIVES.index(candidate.stay.lives),
        verdicts.count(AGAINST),
        -verdicts.count(FITS),
        verdicts.count(SILENT),
        candidate.label,
    )


# ---- the answer ----------------------------------------------------------------------------


def _answer(case: Case, found: Sorted, group: str | None) -> Answer:
    outcome = NONE if not found.left else SETTLED if len(found.left) == 1 else OPEN
    asks = _next(case, found.left) if outcome == OPEN else []
    common = _common(case.desk, [c.taxon for c in found.left]) if outcome == OPEN else None
    fields: dict[str, Any] = {
        "candidates": [_told(case, c) for c in (*found.left, *found.out)],
        "next": asks,
        "set_aside": [_aside(case, c) for c in found.aside],
        "not_judged": [_brief(case, c) for c in found.apart],
        "settled_by": found.by if outcome == SETTLED else [],
        "group": None if common is None else subjects.brief(case.desk, common),
        "left": len(found.left),
        "ruled_out": len(found.out),
    }
    return Answer(
        question=case.question,
        outcome=outcome,
        answer=words.sentence(case, outcome, found, common, asks),
        because=words.because(case, found),
        cautions=words.cautions(case, found, group),
        fields=fields,
    )


def _brief(case: Case, candidate: Candidate) -> dict[str, Any]:
    name, _, rest = candidate.label.partition(" (")
    scientific = rest.rstrip(")") if rest else name
    return {
        "scientificName": scientific,
        "vernacularName": name if rest else None,
        "taxon": candidate.taxon,
    }


def _told(case: Case, candidate: Candidate) -> dict[str, Any]:
    lines: dict[str, list[dict[str, Any]]] = {"for": [], "against": []}
    for say in candidate.said:
        if say.verdict == SILENT:
            continue
        side = "for" if say.verdict == FITS else "against"
        lines[side].append(_line(case, say))
    if candidate.stay.says and candidate.stay.lives != NOT_KNOWN:
        lines["for"].append(_place_line(case, candidate.stay))
    return {
        **_brief(case, candidate),
        "standing": candidate.standing,
        "for": lines["for"],
        "against": lines["against"],
        "silent": [s.key for s in candidate.said if s.verdict == SILENT],
        "lives_there": candidate.stay.lives,
        "place": candidate.stay.says or None,
    }


def _line(case: Case, say: Say) -> dict[str, Any]:
    return {
        "character": say.key,
        "says": say.says,
        "known": say.known,
        "weight": "rules out" if say.rules_out else "lowers" if say.verdict != FITS else "fits",
        **_cited(case, say.statements),
    }


def _place_line(case: Case, stay: Stay) -> dict[str, Any]:
    said = [stay.statement] if stay.statement else []
    line = {"character": "place", "says": stay.says, "known": stay.lives, "weight": "fits"}
    return {**line, **_cited(case, said)}


def _cited(case: Case, statements: Sequence[str]) -> dict[str, Any]:
    cited = case.desk.words.citation(statements[0]) if statements else None
    return {
        "source": cited.source if cited else None,
        "page": cited.page if cited else None,
        "basis": cited.basis if cited else None,
        "statements": list(statements),
    }


def _aside(case: Case, candidate: Candidate) -> dict[str, Any]:
    said = [candidate.stay.statement] if candidate.stay.statement else []
    return {
        **_brief(case, candidate),
        "standing": candidate.standing,
        "says": candidate.stay.excluded,
        **_cited(case, said),
    }


def _common(desk: Desk, taxa: Sequence[str]) -> str | None:
    """The nearest group that holds all the fishes left."""
    if len(taxa) > _COMMON_GROUP:
        return None
    lines = [desk.lineage(t) for t in taxa]
    return next((g for g in lines[0] if all(g in line for line in lines[1:])), None)


def _next(case: Case, left: Sequence[Candidate]) -> list[dict[str, Any]]:
    mine = {c.taxon: case.values.of(c.taxon) for c in left}
    used = {s.feature.key for s in case.given.seen} | set(case.given.not_seen)
    found = next_look.looks(case.features, mine, used)
    labels = {c.taxon: c.label for c in left}
    rows = [next_look.row(case.values, look, labels, len(left)) for look in found]
    sure = any(look.feature.dependable and look.worth > 0.2 for look in found)
    alone = not sure or _told_by_water(case.desk, list(labels))
    if not any(p.startswith("w:") for p in case.residents.asked):
        expected = next_look.by_water(case.desk, list(labels))
        water = next_look.water_row(expected, len(left), alone and len(left) <= _COMMON_GROUP)
        rows.insert(_place_of_water(found, expected, len(left), alone), water)
    return next_look.most_asked(rows)


def _place_of_water(
    found: Sequence[next_look.Look], expected: float | None, of: int, alone: bool
) -> int:
    if alone:
        return 0
    if expected is None:
        return min(len(found), 3)
    return sum(1 for look in found if look.worth >= 0.9 * (of - expected))


def _told_by_water(desk: Desk, taxa: Sequence[str]) -> bool:
    if len(taxa) != 2:
        return False
    pairs = {frozenset((r["one"], r["two"])) for r in desk.query("water_alone")}
    return frozenset(taxa) in pairs
