"""From a triple back to the cited facts it rests on.

Knows: how to ask a rule again with its conclusion filled in, and its premises in turn.
Refuses to know: what was asked in the first place.
"""

import re
from collections.abc import Sequence
from typing import Any, NamedTuple

import pyoxigraph as ox

from opercle import build
from opercle.store import Snapshot
from opercle.terms import PREFIXES, shorten
from opercle.wording import Citation, Words

Pattern = Sequence[str]
_DEEP = 60
_GUARD = re.compile(r"\bMINUS\b")
_VARIABLE = re.compile(r"\?(\w+)")


class Step(NamedTuple):
    """One triple of a proof: stated (with citation) or derived (with rule and premises)."""

    triple: tuple[str, str, str]
    says: str
    rule: str | None
    principle: str | None
    premises: tuple["Step", ...]
    unless: tuple[str, ...]
    citation: Citation | None
    file: str | None

    def to_dict(self) -> dict[str, Any]:
        """The step and all below it, JSON-ready."""
        told = self._asdict()
        told["triple"] = list(self.triple)
        told["premises"] = [step.to_dict() for step in self.premises]
        told["unless"] = list(self.unless)
        told["citation"] = self.citation._asdict() if self.citation else None
        told["basis"] = "inferred" if self.rule else self.citation.basis if self.citation else None
        return told

    def leaves(self) -> list["Step"]:
        """The stated facts at the ends, in order, each once."""
        if not self.premises:
            return [self]
        found = [leaf for step in self.premises for leaf in step.leaves()]
        return list(dict.fromkeys(found))


class Prover:
    """Proves triples over one snapshot."""

    def __init__(self, snapshot: Snapshot, words: Words) -> None:
        self.snapshot = snapshot
        self.words = words
        self._book: list[dict[str, Any]] | None = None

    @property
    def book(self) -> list[dict[str, Any]]:
        """The compiled rules."""
        if self._book is None:
            self._book = build.listed(self.snapshot, "rules")
        return self._book

    def prove(self, triple: ox.Triple) -> Step | None:
        """A proof of the triple, or None where it neither stands nor follows."""
        return self._prove(triple, frozenset())

    def _prove(self, triple: ox.Triple, above: frozenset[ox.Triple]) -> Step | None:
        if triple in above or len(above) > _DEEP:
            return None
        graphs = self._graphs(triple)
        stated = [g for g in graphs if g.startswith(PREFIXES["g"])]
        if stated:
            return self._leaf(triple, stated[0])
        made_by = {g.removeprefix(PREFIXES["r"]) for g in graphs}
        flat = graphs == [""]  # a server without named graphs: what no rule makes was stated
        for rule in self.book:
            if flat or rule["id"] in made_by or not rule["kept"]:
                step = self._by_rule(rule, triple, above | {triple})
                if step is not None:
                    return step
        return self._leaf(triple, "") if flat else None

    def _graphs(self, triple: ox.Triple) -> list[str]:
        found = self.snapshot.store.quads_for_pattern(*triple)
        return sorted(str(getattr(q.graph_name, "value", "")) for q in found)

    def _leaf(self, triple: ox.Triple, graph: str) -> Step:
        told = tuple(_told(x) for x in triple)
        cited = self.words.citation(told[0]) if told[0][0] != "_" else None
        sentence = self.words.sentence(told[0]) if told[0].startswith("s:") else None
        says = sentence or self._plainly(told)
        file = graph.removeprefix(PREFIXES["g"])
        return Step((told[0], told[1], told[2]), says, None, None, (), (), cited, file)

    def _plainly(self, told: tuple[str, ...]) -> str:
        verb = re.sub(r"([A-Z])", lambda m: " " + m[1].lower(), told[1].split(":")[-1])
        value = told[2] if told[2].startswith('"') else self.words.label(told[2])
        return f"{self.words.label(told[0])}: {verb} {value}"

    def _by_rule(
        self, rule: dict[str, Any], triple: ox.Triple, above: frozenset[ox.Triple]
    ) -> Step | None:
        for pattern in rule["template"]:
            given = _match(pattern, triple)
            if given is None:
                continue
            for solution in self._ask(rule, given):
                step = self._step(rule, triple, solution, above)
                if step is not None:
                    return step
        return None

    def _ask(self, rule: dict[str, Any], given: dict[str, Any]) -> list[dict[str, Any]]:
        """The rule's body with its conclusion filled in: every way it holds, in a fixed order."""
        free = {n: v for n, v in given.items() if n not in rule["made"]}
        names = sorted(
            {x[1:] for p in rule["premises"] for x in p if x.startswith("?")} | set(rule["made"])
        )
        ways = []
        for found in self._found(rule["body"], names, free):
            way = {n: free[n] if n in free else found[n] for n in names}
            if all(way.get(n) == v for n, v in given.items()):
                ways.append(way)
        return sorted(ways, key=lambda w: [str(w[n]) for n in names])

    def _found(self, body: str, names: list[str], free: dict[str, Any]) -> Any:
        """The solutions of a body for the names that are not given.

        The store plans a query without looking at values bound to it, and would go through all
        that the rule ever holds for. So terms are written into the body, in the store's own
        N-Triples form. A blank node has no such form and is bound. A MINUS left without a
        variable to share would take nothing away, so a guard is asked as FILTER NOT EXISTS; a rule
        whose guards share nothing with its premises is refused when it is read.
        """
        if any(isinstance(v, ox.BlankNode) for v in free.values()):
            asked = " ".join(f"?{n}" for n in names)
            return self.snapshot.raw(f"SELECT {asked} WHERE {body}", free)
        body = _VARIABLE.sub(lambda m: str(free.get(m[1], m[0])), body)
        body = _GUARD.sub("FILTER NOT EXISTS", body)
        asked = " ".join(f"?{n}" for n in names if n not in free)
        return self.snapshot.raw(f"SELECT {asked or '(1 AS ?one)'} WHERE {body}")

    def _step(
        self,
        rule: dict[str, Any],
        triple: ox.Triple,
        way: dict[str, Any],
        above: frozenset[ox.Triple],
    ) -> Step | None:
        premises = []
        for pattern in rule["premises"]:
            step = self._prove(_filled(pattern, way), above)
            if step is None:
                return None
            premises.append(step)
        said = {name: self._said(value) for name, value in way.items()}
        told = tuple(_told(x) for x in triple)
        return Step(
            (told[0], told[1], told[2]),
            _fill(rule["says"], said),
            rule["id"],
            rule["principle"],
            _merged(premises),
            tuple(_fill(line, said) for line in rule["unless"]),
            None,
            rule["file"],
        )

    def _said(self, value: Any) -> str:
        if isinstance(value, ox.NamedNode):
            return self.words.label(shorten(value.value))
        return str(value.value)


def _fill(text: str, said: dict[str, str]) -> str:
    return re.sub(r"\{(\w+)\}", lambda m: said.get(m[1], "any"), text)


def _merged(steps: list[Step]) -> tuple[Step, ...]:
    """Premises that rest on one statement are one line: a statement is said once."""
    kept: dict[Any, Step] = {}
    for step in steps:
        key = step.triple if step.rule else (step.triple[0], step.says)
        kept.setdefault(key, step)
    return tuple(kept.values())


def _told(term: Any) -> str:
    return shorten(term.value) if isinstance(term, ox.NamedNode) else str(term)


def _parse(form: str) -> Any:
    """A term from its N-Triples form."""
    if form.startswith("<"):
        return ox.NamedNode(form[1:-1])
    found = re.fullmatch(r'"(.*)"(?:\^\^<(.+)>|@(.+))?', form, re.S)
    assert found is not None, form
    value = found[1].replace('\\"', '"').replace("\\\\", "\\")
    if found[3]:
        return ox.Literal(value, language=found[3])
    return ox.Literal(value, datatype=ox.NamedNode(found[2])) if found[2] else ox.Literal(value)


def _match(pattern: Pattern, triple: ox.Triple) -> dict[str, Any] | None:
    """The values of the pattern's variables that make it the triple; None if none do."""
    given: dict[str, Any] = {}
    for form, value in zip(pattern, triple, strict=True):
        if form.startswith("?"):
            if given.setdefault(form[1:], value) != value:
                return None
        elif _parse(form) != value:
            return None
    return given


def _filled(pattern: Pattern, way: dict[str, Any]) -> ox.Triple:
    return ox.Triple(*(way[f[1:]] if f.startswith("?") else _parse(f) for f in pattern))
