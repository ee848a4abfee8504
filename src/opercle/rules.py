"""The rule book: reads rules/*.rq and runs them, stratum by stratum, to a fixpoint.

Knows: a rule's heading and its patterns, safety, stratification, the running.
Refuses to know: fishes. What a rule says is in its file alone.

A rule is one SPARQL CONSTRUCT under a heading of comments: ``id``, ``stratum``, ``says`` (a
sentence with variables in braces), ``principle``, one ``unless`` for each MINUS in the order of
the text, and ``kept: no`` where its conclusions are worked out when asked, not stored. The body
holds plain triple patterns, FILTER, BIND and MINUS. Evaluation is naive and stratified after
Ullman, Principles of Database and Knowledge-Base Systems, volume 1 (1988), chapter 3.
"""

import os
import re
from collections.abc import Callable, Iterable, Sequence
from typing import Any, NamedTuple

import pyoxigraph as ox

from opercle import assets
from opercle.errors import RuleError
from opercle.terms import OP, PREFIXES

Pattern = tuple[str, str, str]
_HEAD = re.compile(r"^#\s*(id|stratum|says|principle|unless|kept):\s*(.+?)\s*$", re.M)
_TYPE = PREFIXES["rdf"] + "type"


class Rule(NamedTuple):
    """A rule as read: patterns hold ``?name`` for variables and N-Triples forms for the rest."""

    id: str
    file: str
    stratum: int
    kept: bool
    says: str
    principle: str
    unless: tuple[str, ...]
    text: str
    body: str
    template: tuple[Pattern, ...]
    premises: tuple[Pattern, ...]
    denied: tuple[Pattern, ...]
    made: tuple[str, ...]

    @property
    def makes(self) -> frozenset[str]:
        """What the rule concludes: predicates, or ``type`` with the class."""
        return frozenset(_kind(p) for p in self.template)

    @property
    def needs(self) -> frozenset[str]:
        """What the rule rests on."""
        return frozenset(_kind(p) for p in self.premises)

    @property
    def shuns(self) -> frozenset[str]:
        """What the rule must not find."""
        return frozenset(_kind(p) for p in self.denied)


def _kind(pattern: Pattern) -> str:
    _, predicate, value = pattern
    return f"type {value}" if predicate == f"<{_TYPE}>" else predicate


def read_all(paths: Sequence[str] | None = None) -> list[Rule]:
    """Read and judge every rule file; raises RuleError with the place of the first fault."""
    rules = _apart([*(paths or assets.files("ontology/rules", ".rq"))])
    _no_twins(rules)
    _stratified(rules)
    _ends(rules)
    return sorted(rules, key=lambda r: (r.stratum, r.id))


def _apart(paths: Sequence[str]) -> list[Rule]:
    """Read the rules on a thread of their own, and empty the parser's memory.

    The failures that the parser keeps hold on to all that called it: on this thread a whole store
    in memory, and the snapshot opened next, for as long as the cycle collector likes.
    """
    from concurrent.futures import ThreadPoolExecutor

    def work() -> list[Rule]:
        from pyparsing import ParserElement

        rules = [read(path) for path in paths]
        ParserElement.reset_cache()
        return rules

    with ThreadPoolExecutor(1) as apart:
        return apart.submit(work).result()


def read(path: str) -> Rule:
    """Read one rule file."""
    try:
        with open(path, encoding="utf-8") as file:
            text = file.read()
    except (OSError, UnicodeDecodeError) as error:
        raise RuleError(f"The rule cannot be read: {error}", path, "Save it as UTF-8.") from None
    head: dict[str, list[str]] = {}
    for key, value in _HEAD.findall(text):
        head.setdefault(key, []).append(value)
    for key in ("id", "stratum", "says", "principle"):
        if key not in head:
            raise RuleError(f"The rule has no heading {key!r}.", path, f"Add a line '# {key}: …'.")
    if head["id"][0] != os.path.splitext(os.path.basename(path))[0]:
        raise RuleError("The rule's id is not its file's name.", path, "Give both one name.")
    parts = _parse(text, path)
    rule = Rule(
        id=head["id"][0],
        file=os.path.basename(path),
        stratum=_whole(head["stratum"][0], path),
        kept=head.get("kept", ["yes"])[0] != "no",
        says=head["says"][0],
        principle=head["principle"][0],
        unless=tuple(head.get("unless", [])),
        text=text,
        **parts,
    )
    _safe(rule, path)
    _known(rule, path)
    return rule


def _whole(value: str, path: str) -> int:
    if not value.isdigit():
        raise RuleError(f"The stratum {value!r} is no whole number.", path, "Write 1, 2, 3 …")
    return int(value)


def _parse(text: str, path: str) -> dict[str, Any]:
    from rdflib.plugins.sparql.algebra import translateQuery
    from rdflib.plugins.sparql.parser import parseQuery

    try:
        query = translateQuery(parseQuery(text), initNs=dict(PREFIXES)).algebra
    except Exception as error:  # the parser raises many kinds, and all mean the same
        raise RuleError(
            f"The rule is not valid SPARQL: {str(error).splitlines()[0]}",
            path,
            "Mend the query; rules hold plain patterns, FILTER, BIND and MINUS.",
        ) from None
    if query.name != "ConstructQuery":
        raise RuleError("The rule is no CONSTRUCT.", path, "A rule is one CONSTRUCT query.")
    found: dict[str, list[Any]] = {"premises": [], "denied": [], "made": []}
    _walk(query.p, found, path)
    return {
        "template": tuple(_pattern(t) for t in query.template),
        "premises": tuple(found["premises"]),
        "denied": tuple(found["denied"]),
        "made": tuple(found["made"]),
        "body": _body(text, path),
    }


def _walk(node: Any, found: dict[str, list[Any]], path: str, denied: bool = False) -> None:
    name = node.name
    if name == "BGP":
        found["denied" if denied else "premises"].extend(_pattern(t) for t in node.triples)
    elif name == "Join":
        _walk(node.p1, found, path, denied)
        _walk(node.p2, found, path, denied)
    elif name == "Minus" and not denied:
        if not node.p1._vars & node.p2._vars:
            raise RuleError(
                "A MINUS of the rule shares no variable with what stands before it.",
                path,
                "Write in it what the premises bind; as it is it can take nothing away.",
            )
        _walk(node.p1, found, path)
        _walk(node.p2, found, path, denied=True)
    elif name == "Extend" and not denied:
        found["made"].append(str(node.var))
        _walk(node.p, found, path)
    elif name in ("Filter", "Project", "SelectQuery", "ToMultiSet"):
        if "NOTEXISTS" in repr(node.get("expr", "")) or "EXISTS" in repr(node.get("expr", "")):
            raise RuleError("The rule uses EXISTS.", path, "Write MINUS: it is far faster.")
        _walk(node.p, found, path, denied)
    else:
        raise RuleError(
            f"The rule uses {name}, which a proof could not follow.",
            path,
            "Use plain patterns, FILTER, BIND and MINUS; split a UNION into two rules.",
        )


def _pattern(triple: Iterable[Any]) -> Pattern:
    from rdflib.term import Variable

    s, p, o = (f"?{x}" if isinstance(x, Variable) else x.n3() for x in triple)
    return (s, p, o)


def _body(text: str, path: str) -> str:
    bare = re.sub(r"(?m)^\s*#.*$", "", text)
    found = re.search(r"\bWHERE\b\s*(\{.*\})\s*$", bare, re.S)
    if not found:
        raise RuleError("The rule has no WHERE.", path, "Write CONSTRUCT { … } WHERE { … }.")
    return found.group(1)


def _safe(rule: Rule, path: str) -> None:
    given = {x for p in rule.premises for x in p if x.startswith("?")}
    given |= {f"?{name}" for name in rule.made}
    loose = {x for p in rule.template for x in p if x.startswith("?")} - given
    if loose:
        raise RuleError(
            f"The rule is unsafe: {', '.join(sorted(loose))} is concluded but not bound.",
            path,
            "Bind it by a pattern outside MINUS, or by BIND.",
        )
    if not rule.premises:
        raise RuleError("The rule has no premises.", path, "A conclusion needs a premise.")
    if any(p[1].startswith("?") for p in (*rule.template, *rule.premises, *rule.denied)):
        raise RuleError("The rule has a variable for a predicate.", path, "Name the predicate.")
    told = set(re.findall(r"\{(\w+)\}", rule.says))
    if {f"?{name}" for name in told} - given:
        raise RuleError("The sentence uses an unbound variable.", path, "Use bound ones.")


def _known(rule: Rule, path: str) -> None:
    for pattern in (*rule.template, *rule.premises, *rule.denied):
        for part in pattern:
            local = part[1:-1].removeprefix(OP.base)
            if part.startswith("<" + OP.base) and local not in OP.names:
                raise RuleError(
                    f"The rule names the undefined term op:{local}.",
                    path,
                    "Define it in ontology/opercle.ttl and terms.py, or mend the spelling.",
                )


def _no_twins(rules: list[Rule]) -> None:
    seen: dict[str, str] = {}
    for rule in rules:
        if rule.id in seen:
            raise RuleError(f"Two rules are called {rule.id}.", rule.file, "Rename one.")
        seen[rule.id] = rule.file


def _stratified(rules: list[Rule]) -> None:
    """A rule may rest on its own stratum and lower ones, and deny only lower ones."""
    for rule in rules:
        for other in rules:
            late = other.makes & rule.needs if other.stratum > rule.stratum else frozenset()
            wrong = other.makes & rule.shuns if other.stratum >= rule.stratum else frozenset()
            if late or wrong:
                raise RuleError(
                    f"The rules are not stratified: {rule.id} (stratum {rule.stratum}) "
                    f"{'denies' if wrong else 'rests on'} what {other.id} "
                    f"(stratum {other.stratum}) makes.",
                    rule.file,
                    "Give the rule a higher stratum.",
                )


def _ends(rules: list[Rule]) -> None:
    """A rule that makes new values may not feed on what it makes: it could go on for ever.

    Without new values there are only so many facts to make, so every run comes to an end.
    """
    for rule in rules:
        new = {f"?{name}" for name in rule.made}
        if not any(x in new for pattern in rule.template for x in pattern):
            continue
        reached, todo = set(rule.makes), [rule.makes]
        while todo:
            fresh = todo.pop()
            for other in rules:
                if other.needs & fresh and other.makes - reached:
                    todo.append(other.makes - reached)
                    reached |= other.makes
        if reached & rule.needs:
            raise RuleError(
                f"The rule {rule.id} could loop for ever: it makes new values, and rests on facts "
                "that follow from them.",
                rule.file,
                "Bind new values only where the premises do not follow from the conclusions.",
            )


def run(
    store: ox.Store, rules: Sequence[Rule], tell: Callable[[str], None] = lambda _: None
) -> dict[str, int]:
    """Derive all that the kept rules derive, each rule's facts in a graph of its own.

    Returns how many facts each rule made. A fact that is already there is not made again.
    """
    made = {rule.id: 0 for rule in rules if rule.kept}
    for stratum in sorted({rule.stratum for rule in rules if rule.kept}):
        at_work = [r for r in rules if r.kept and r.stratum == stratum]
        tell(f"rules, stratum {stratum}")
        while at_work:
            new = {rule.id: _run_one(store, rule) for rule in at_work}
            for name, count in new.items():
                made[name] += count
            fresh = {kind for r in at_work if new[r.id] for kind in r.makes}
            at_work = [r for r in rules if r.kept and r.stratum == stratum and r.needs & fresh]
    return made


def _run_one(store: ox.Store, rule: Rule) -> int:
    graph = ox.NamedNode(PREFIXES["r"] + rule.id)
    found: Any = store.query(rule.text, prefixes=PREFIXES, use_default_graph_as_union=True)
    fresh = {
        triple
        for triple in found
        if next(store.quads_for_pattern(triple.subject, triple.predicate, triple.object), None)
        is None
    }
    store.extend(ox.Quad(t.subject, t.predicate, t.object, graph) for t in fresh)
    return len(fresh)
