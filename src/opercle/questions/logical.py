"""The settled facts as a theory for the second reasoner.

Knows: which values are firm enough to rule a group out: counts and states of dependable characters.
Refuses to know: OWL.
"""

from collections.abc import Mapping, Sequence

from opercle.answers import Answer
from opercle.logic import SECONDS, Axiom, Group, Theory, judge, justify
from opercle.questions.desk import Desk
from opercle.questions.values import Value, Values, widened

_TOLD = 3


def axioms(values: Values, of: Mapping[str, Value]) -> tuple[Axiom, ...]:
    """The axioms of a taxon's settled values: the hull of its sources, firm values alone.

    A state that says less than others stands for all that it may be.
    """
    found = []
    for key, value in of.items():
        if values.characters[key].trust != "dependable" or not value.firm:
            continue
        if value.range is not None:
            if _whole(value):
                found.append(Axiom(key, value.range.least, value.range.most))
        else:
            found.append(Axiom(key, states=tuple(sorted(widened(value.states)))))
    return tuple(found)


def _whole(value: Value) -> bool:
    assert value.range is not None
    ends = (value.range.least, value.range.most)
    return all(e is None or float(e).is_integer() for e in ends)


def families(desk: Desk, values: Values) -> list[Group]:
    """Every family with firm values, as a group."""
    rows = desk.query("families")
    found = [Group(r["t"], (), axioms(values, values.of(r["t"]))) for r in rows]
    return [g for g in found if g.axioms]


def whole(desk: Desk) -> Theory:
    """Species, genera and families as nested classes, families sharing no member.

    A group above holds only what no member of it sets aside: a nearer statement overrides.
    """
    values = Values(desk)
    parents = {r["t"]: r["u"] for r in desk.query("nested")}
    taxa = sorted({*parents, *parents.values()})
    own = {t: axioms(values, values.of(t)) for t in taxa}
    said = _overridden(parents, own)
    groups = [
        Group(
            t, (parents[t],) if t in parents else (), tuple(a for a in own[t] if a not in said[t])
        )
        for t in taxa
    ]
    tops = tuple(t for t in taxa if t not in parents)
    return Theory(tuple(groups), (tops,) if len(tops) > 1 else ())


def _overridden(
    parents: Mapping[str, str], own: Mapping[str, Sequence[Axiom]]
) -> dict[str, set[Axiom]]:
    """The axioms of each group that some member below it replaces by others."""
    found: dict[str, set[Axiom]] = {t: set() for t in own}
    for taxon, said in own.items():
        mine = {a.character: a for a in said}
        above = parents.get(taxon)
        while above is not None:
            for axiom in own[above]:
                if axiom.character in mine and mine[axiom.character] != axiom:
                    found[above].add(axiom)
            above = parents.get(above)
    return found


def added(desk: Desk, answer: Answer, seconds: float = SECONDS) -> Answer:
    """The answer of ``check`` with what HermiT says of the whole knowledge.

    Raises OpercleError where Java or owlready2 is missing, or the time is up.
    """
    theory = whole(desk)
    empty = judge(theory, seconds).empty
    size = (
        f"{len(theory.groups)} taxa as classes, {sum(len(g.axioms) for g in theory.groups)} axioms"
    )
    fields = dict(answer.fields)
    fields["logic"] = {"consistent": not empty, "taxa": len(theory.groups), "empty": list(empty)}
    if not empty:
        says = f"{answer.answer} HermiT finds no contradiction ({size})."
        return answer._replace(answer=says, fields=fields)
    findings = [_finding(desk, theory, name, seconds) for name in empty[:_TOLD]]
    fields["findings"] = [*fields.get("findings", []), *findings]
    says = f"{answer.answer} HermiT finds {len(empty)} taxa that could have no member ({size})."
    return answer._replace(outcome="faults", answer=says, fields=fields)


def _finding(desk: Desk, theory: Theory, name: str, seconds: float) -> dict[str, object]:
    why = "; ".join(f"{taxon}: {axiom}" for taxon, axiom in justify(theory, name, seconds))
    return {
        "file": None,
        "line": None,
        "subject": name,
        "shape": "logic",
        "says": f"{desk.label(name)} could have no member: {why}. Mend one of these.",
        "cites": "OWL 2 DL, by HermiT",
        "severity": "violation",
    }
