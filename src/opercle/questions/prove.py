"""Whether a triple stands, follows, or neither, and from what.

Knows: stated, derived, not derivable.
Refuses to know: what the triple means; the rules and statements say it.
"""

import pyoxigraph as ox

from opercle.answers import Answer, Reason
from opercle.errors import UsageError
from opercle.proof import Step
from opercle.questions.desk import Desk
from opercle.terms import widen

STATED, DERIVED, NOT = "stated", "derived", "not-derivable"


def ask(desk: Desk, subject: str, predicate: str, value: str) -> Answer:
    """Answer ``prove``: stated, derived (with the tree) or not-derivable."""
    triple = ox.Triple(_node(subject), _node(predicate), _term(value))
    question = {"subject": subject, "predicate": predicate, "object": value}
    step = desk.prover.prove(triple)
    if step is None:
        says = f"Neither stated nor derivable: {subject} {predicate} {value}."
        return Answer(question, NOT, says, fields={"tree": None})
    outcome = DERIVED if step.rule else STATED
    return Answer(
        question,
        outcome,
        f"{outcome.capitalize()}: {step.says}.",
        [_reason(leaf) for leaf in step.leaves()],
        fields={"tree": step.to_dict()},
    )


def _reason(leaf: Step) -> Reason:
    cited = leaf.citation
    return Reason(
        leaf.says,
        cited.basis if cited else "recalled",
        cited.source if cited else None,
        cited.page if cited else None,
        triple=leaf.triple,
    )


def _node(name: str) -> ox.NamedNode:
    try:
        return ox.NamedNode(widen(name))
    except ValueError:
        raise UsageError(
            f"“{name[:60]}” is no prefixed name.",
            "prove SUBJECT PREDICATE OBJECT",
            "Write for example: t:Ambloplites-rupestris op:inFamily t:Centrarchidae",
        ) from None


def _term(text: str) -> ox.NamedNode | ox.Literal:
    """A prefixed name, or a literal: "text", "text"@en, 5, true."""
    if text.startswith('"'):
        body, _, tail = text[1:].rpartition('"')
        if tail.startswith("@"):
            return ox.Literal(body, language=tail[1:])
        if tail.startswith("^^"):
            return ox.Literal(body, datatype=_node(tail[2:]))
        return ox.Literal(body)
    if text in ("true", "false"):
        return ox.Literal(text == "true")
    if text.lstrip("-").isdigit():
        return ox.Literal(int(text))
    return _node(text)
