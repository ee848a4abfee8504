"""The words of an identification: the sentence, the reasons, the cautions.

Knows: how what is left, ruled out and set aside is told.
Refuses to know: how it was decided.
"""

from collections.abc import Sequence
from typing import Any

from opercle.answers import Reason, listed
from opercle.questions import crosses, subjects
from opercle.questions.casework import NONE, SETTLED, Candidate, Case, Sorted
from opercle.questions.residents import NOT_KNOWN
from opercle.questions.weighing import AGAINST, EDGE, FITS

_TOLD = 4
_REASONED = 6


def sentence(
    case: Case, outcome: str, found: Sorted, common: str | None, asks: Sequence[dict[str, Any]]
) -> str:
    """One or two plain sentences: what it is, what is left, or why nothing fits."""
    if outcome == NONE:
        return _none(found)
    if outcome == SETTLED:
        return _settled(case, found)
    fits = [c for c in found.left if c.standing == FITS]
    edge = [c.label for c in found.left if c.standing == EDGE]
    parts = [f"{len(found.left)} fishes are left, so it is open"]
    most = max((_agreeing(c) for c in fits), default=0)
    best = [c.label for c in fits if _agreeing(c) == most]
    if best:
        parts.append(f"what was seen fits {_few(best)}")
    if len(fits) > len(best):
        parts.append(f"{len(fits) - len(best)} of which less is known may fit as well")
    if edge:
        parts.append(f"{_few(edge)} {'is' if len(edge) == 1 else 'are'} at the edge")
    told = ": ".join((parts[0], "; ".join(parts[1:]))) + "."
    if common is not None:
        told += f" All are of {case.desk.label(common)}."
    if asks:
        told += f" Next: {asks[0]['how'].split('?')[0]}?"
    return told


def _agreeing(candidate: Candidate) -> int:
    return sum(1 for s in candidate.said if s.verdict == FITS)


def _few(labels: Sequence[str]) -> str:
    if len(labels) <= _TOLD + 1:
        return listed(labels, "or")
    return f"{', '.join(labels[:_TOLD])} and {len(labels) - _TOLD} more"


def _settled(case: Case, found: Sorted) -> str:
    one = found.left[0]
    fits = [f"{s.key.replace('-', ' ')} {s.known}" for s in one.said if s.verdict == FITS]
    edge = [s.says for s in one.said if s.verdict in (EDGE, AGAINST)]
    told = f"It is {one.label}" + (f": {listed(fits)}" if fits else "")
    told += f", and {one.stay.says}" if one.stay.says and one.stay.lives != NOT_KNOWN else ""
    told += f"; at the edge: {listed(edge)}" if edge else ""
    aside = [c.label for c in found.aside if c.standing != AGAINST]
    if aside:
        told += f". {_few(aside)} would fit too, but {'is' if len(aside) == 1 else 'are'} not there"
    if found.apart:
        told += f". {len(found.apart)} more could not be judged"
    return told + "."


def _none(found: Sorted) -> str:
    would = [c for c in found.aside if c.standing != AGAINST]
    if would:
        return subjects.upper(
            f"{_few([c.label for c in would])} would fit, but {would[0].stay.excluded}; "
            "no other fish known here fits. Check the water and the counts."
        )
    if not found.out:
        return "Nothing that was seen is known of any of these fishes, so none can be judged."
    near = found.out[0]
    why = listed([s.says for s in near.said if s.rules_out])
    return (
        f"No fish known here agrees with all that was seen. Nearest is {near.label}, ruled out by "
        f"{why}. Look again, or think of a hybrid or a fish not known here."
    )


def because(case: Case, found: Sorted) -> list[Reason]:
    """What each observation rules out, then the statements behind the fishes left."""
    lines: list[Reason] = []
    for seen in case.given.seen:
        key = seen.feature.key
        out = sum(1 for c in found.out if any(s.key == key and s.rules_out for s in c.said))
        if out:
            says = f"{seen.feature.character.label} {seen.told} rules out {out} fishes"
            lines.append(Reason(says, "inferred"))
    for candidate in (found.left or found.out[:1])[:_REASONED]:
        for say in candidate.said:
            lines += [case.desk.words.reason(s) for s in say.statements]
        if candidate.stay.statement:
            lines.append(case.desk.words.reason(candidate.stay.statement))
    for candidate in [c for c in found.aside if c.standing != AGAINST][:_REASONED]:
        if candidate.stay.statement:
            reason = case.desk.words.reason(candidate.stay.statement)
            says = f"set aside: {candidate.label}, {candidate.stay.excluded}"
            lines.append(reason._replace(says=says))
    return list(dict.fromkeys(lines))


def cautions(case: Case, found: Sorted, group: str | None) -> list[str]:
    """Colour that does not count, possible hybrids, what was not judged, and safety."""
    told = []
    colours = [s.feature for s in case.given.seen if not s.feature.counts]
    if colours:
        names = listed([f.character.label for f in colours])
        told.append(f"{subjects.upper(names)} was given but does not count. {colours[0].how}")
    if case.given.seen:
        held = None if group is None else [r["t"] for r in subjects.species(case.desk, group)]
        told += crosses.warnings(case.desk, case.values, case.given, held)
    if found.apart:
        names = _few([c.label for c in found.apart])
        told.append(f"Not judged, since nothing that was seen is known of them here: {names}.")
    unknown = [c for c in found.left if c.stay.lives == NOT_KNOWN]
    if unknown and len(unknown) < len(found.left):
        told.append(
            f"{len(unknown)} of the fishes left are not known from there; that is not the same as "
            "known to be absent."
        )
    return told + case.desk.cautions([c.taxon for c in found.left[:3]])
