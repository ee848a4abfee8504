"""Local packs: a steward's own names, waters and taxa laid over the knowledge.

Knows: what a pack may do (add) and may not (alter, redefine), and how its facts are marked.
Refuses to know: what the knowledge holds; it is handed the store.
"""

import os
from collections.abc import Iterable, Sequence
from typing import Any

import pyoxigraph as ox

from opercle.errors import FileError
from opercle.terms import OP, PREFIXES, shorten

GRAPH = PREFIXES["g"] + "pack/"
_TYPE = ox.NamedNode(PREFIXES["rdf"] + "type")
_SHOWN = 5


def graph_name(path: str) -> str:
    """The name of the graph that holds a pack's triples."""
    return "pack/" + os.path.basename(path).replace(" ", "-")


def judge(path: str, fresh: Iterable[ox.Triple], core: set[ox.NamedNode | ox.BlankNode]) -> None:
    """Refuse a pack that says more of what the knowledge defines, or redefines a term.

    Raises FileError naming the first few clashes.
    """
    terms, clashes = set(), set()
    for triple in fresh:
        subject = triple.subject
        if isinstance(subject, ox.NamedNode) and subject.value.startswith(OP.base):
            terms.add(shorten(subject.value))
        elif subject in core:
            clashes.add(shorten(getattr(subject, "value", "")))
    if terms:
        raise FileError(
            f"The pack redefines {_some(terms)}.",
            path,
            "Terms belong to the knowledge; a pack uses them as they are.",
        )
    if clashes:
        raise FileError(
            f"The pack alters what the knowledge already states about {_some(clashes)}.",
            path,
            "A pack can only add: give each of its statements and things an address of its own.",
        )


def keeps(path: str, findings: Sequence[Any]) -> None:
    """Refuse a pack that breaks the shapes: FileError with the first fault and its line.

    ``findings`` are those of ``check``.
    """
    faults = [f for f in findings if f.severity == "violation"]
    if not faults:
        return
    first = faults[0]
    more = f" There are {len(faults) - 1} more faults." if len(faults) > 1 else ""
    raise FileError(
        f"The pack breaks the shapes: {first.subject}: {first.says}{more}",
        f"{path}, line {first.line}" if first.line else path,
        f"Mend it; opercle check {os.path.basename(path)} tells all that is wrong.",
    )


def _some(names: set[str]) -> str:
    told = sorted(names)
    more = f" and {len(told) - _SHOWN} more" if len(told) > _SHOWN else ""
    return ", ".join(told[:_SHOWN]) + more


def subjects(store: ox.Store) -> set[ox.NamedNode | ox.BlankNode]:
    """Everything that the knowledge says something about."""
    return {q.subject for q in store.quads_for_pattern(None, _TYPE, None)}  # type: ignore[misc]


def of_statement(store: ox.Store, statement: ox.NamedNode) -> str | None:
    """The file name of the pack that a statement comes from; None if from the knowledge."""
    for quad in store.quads_for_pattern(statement, _TYPE, None):
        graph = str(getattr(quad.graph_name, "value", ""))
        if graph.startswith(GRAPH):
            return graph.removeprefix(GRAPH)
    return None
