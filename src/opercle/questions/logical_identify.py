"""What HermiT says of each candidate of ``identify``, beside what the rules say.

Knows: observations as a specimen, candidates as classes, and how two verdicts are held together.
Refuses to know: OWL, and which fish it is: standings stay those of the rules.
"""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from opercle.answers import Answer, listed
from opercle.logic import SECONDS, Axiom, Group, Theory, judge
from opercle.questions.desk import Desk
from opercle.questions.features import features
from opercle.questions.given import Seen, read
from opercle.questions.logical import axioms
from opercle.questions.values import Values, widened
from opercle.questions.weighing import greatest_counts

RULED_OUT, LEFT, NOT_JUDGED = "ruled out", "not ruled out", "not judged"
_ALL = "all that was seen"


class _Ground(NamedTuple):
    """What was seen that OWL can say, by character, and the candidates' axioms on it."""

    values: Values
    seen: Mapping[str, tuple[Seen, Axiom]]
    held: Mapping[str, tuple[Axiom, ...]]


def added(
    desk: Desk,
    answer: Answer,
    observations: Mapping[str, str] | Iterable[str],
    seconds: float = SECONDS,
) -> Answer:
    """The answer of ``identify`` with a field ``logic`` on it and on every candidate.

    Raises OpercleError where Java or owlready2 is missing, Java dies, or the time is up.
    """
    candidates = answer.fields.get("candidates", [])
    ground = _ground(desk, observations, [c["taxon"] for c in candidates])
    verdicts = _verdicts(ground, seconds) if ground.seen else {}
    told = [{**c, "logic": _told(ground, c, verdicts)} for c in candidates]
    differ = [c["scientificName"] for c in told if not c["logic"]["agrees"]]
    out = sum(c["logic"]["verdict"] == RULED_OUT for c in told)
    unsaid = [k for k in answer.question.get("observations", {}) if k not in ground.seen]
    summary = {
        "reasoner": "HermiT",
        "judged": list(ground.seen),
        "not_judged": unsaid,
        "ruled_out": out,
        "disagreements": differ,
    }
    says = f"{answer.answer} {_says(summary)}"
    return answer._replace(
        answer=says, fields={**answer.fields, "candidates": told, "logic": summary}
    )


def _ground(
    desk: Desk, observations: Mapping[str, str] | Iterable[str], taxa: list[str]
) -> _Ground:
    values = Values(desk)
    known = features(desk, values)
    given = read(observations, known, greatest_counts(desk))
    seen = {}
    for one in given.seen:
        axiom = _axiom(one)
        if axiom is not None and values.characters[one.feature.key].trust == "dependable":
            seen[one.feature.key] = (one, axiom)
    if len(taxa) > len(seen):
        values.load_species()
    held = {
        taxon: tuple(a for a in axioms(values, values.of(taxon)) if a.character in seen)
        for taxon in taxa
    }
    return _Ground(values, seen, held)


def _axiom(seen: Seen) -> Axiom | None:
    """An observation as OWL says it: whole numbers and states; None for what is measured."""
    key, reach = seen.feature.key, seen.reach
    if reach is None:
        return Axiom(key, states=tuple(sorted(widened(seen.states)))) if seen.states else None
    ends = (reach.least, reach.most)
    return Axiom(key, *ends) if all(e is None or float(e).is_integer() for e in ends) else None


def _verdicts(ground: _Ground, seconds: float) -> dict[tuple[Axiom, ...], frozenset[str]]:
    """For each different set of axioms the characters on which HermiT rules it out.

    The specimen is judged whole and by each character alone; candidates that are alike on what
    was seen are one class.
    """
    alike = list(dict.fromkeys(ground.held.values()))
    groups = tuple(Group(f"kind {n}", (), told) for n, told in enumerate(alike))
    every = tuple(axiom for _, axiom in ground.seen.values())
    specimens = [Group(_ALL, (), every)]
    specimens += [Group(a.character, (), (a,)) for a in every]
    found = judge(Theory(groups, (), tuple(specimens)), seconds).ruled_out
    return {
        told: frozenset(spec for spec, out in found.items() if group.name in out)
        for told, group in zip(alike, groups, strict=True)
    }


def _told(
    ground: _Ground, candidate: Mapping[str, Any], verdicts: Mapping[Any, frozenset[str]]
) -> dict[str, Any]:
    held = ground.held[candidate["taxon"]]
    out = verdicts.get(held, frozenset())
    rules = {
        x["character"]
        for x in candidate["against"]
        if x["weight"] == "rules out" and x["character"] in ground.seen
    }
    verdict = RULED_OUT if out else LEFT if held else NOT_JUDGED
    mine = ground.values.of(candidate["taxon"])
    because = [
        f"{ground.values.characters[key].label}: every such fish has "
        f"{ground.values.told(mine[key])}, this one {ground.seen[key][0].told}"
        for key in sorted(out - {_ALL})
    ]
    return {"verdict": verdict, "because": because, "agrees": rules == set(out - {_ALL})}


def _says(summary: Mapping[str, Any]) -> str:
    if not summary["judged"]:
        return "HermiT has nothing to judge: no count or state of a dependable character was given."
    if summary["disagreements"]:
        names = listed(summary["disagreements"][:3])
        return f"HermiT and the rules disagree about {names}."
    number = summary["ruled_out"]
    fishes = "fish" if number == 1 else "fishes"
    besides = listed(summary["not_judged"])
    also = f" It does not judge {besides.replace('-', ' ')}." if besides else ""
    return f"HermiT rules out the same {number} {fishes} by counts and states alone.{also}"
