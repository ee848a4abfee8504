"""Asks a SPARQL server about many things in one round trip.

Knows: which things were mentioned together, which queries may be asked of many things at once.
Refuses to know: HTTP.
"""

import re
from collections.abc import Container, Iterable, Mapping
from typing import Any

import pyoxigraph as ox

from opercle.terms import OP, PREFIXES, widen

Node = ox.NamedNode | ox.BlankNode | ox.Literal
_KINDS = {PREFIXES[p]: p for p in ("t", "s", "n", "c", "w", "word", "src", "cite")}
_KINDS[PREFIXES["pl"]] = "w"  # places and waters are asked about alike
_LATEST = 40_000
_SUMS = frozenset(("COUNT", "SUM", "MIN", "MAX", "AVG", "SAMPLE", "GROUP_CONCAT"))
_STEPS = (1, 8, 64, 250)
"""How many things at once a query is asked about: the first time one, then more."""
_WIDER = (250,) * 8 + (1000,) * 12 + (4000,)
"""How many things are fetched at once: a question that goes on asking is a wide one."""
_NAMED = re.compile(r"\b[stcw]:[\w.-]+")
_TOKEN = re.compile(
    r'"""[\s\S]*?"""|\'\'\'[\s\S]*?\'\'\'|"(?:[^"\\\n]|\\.)*"|\'(?:[^\'\\\n]|\\.)*\''
    r"|<[^<>\"{}|^`\\\s]*>|#[^\n]*|[?$]\w+|[{}*]|\b[A-Za-z_]+\b(?!:)"
)


def kind_of(term: Any) -> str:
    """The kind of a thing by its address; empty for what is none of ours."""
    if not isinstance(term, ox.NamedNode):
        return ""
    return _KINDS.get(term.value[: term.value.rfind("/") + 1], "")


class Mentions:
    """The things met so far, by where they were met: what stood together is asked together."""

    def __init__(self) -> None:
        self._groups: dict[Any, list[ox.NamedNode]] = {}
        self._group_of: dict[ox.NamedNode, Any] = {}
        self._latest: list[ox.NamedNode] = []

    def add(self, terms: Iterable[Any], origin: Any) -> None:
        """Note the things among some terms, and those that a brief names in its text."""
        for term in terms:
            if isinstance(term, ox.Literal) and "\t" in term.value:
                names = dict.fromkeys(_NAMED.findall(term.value))
                self.add((ox.NamedNode(widen(n)) for n in names), origin)
            elif kind_of(term) and self._group_of.get(term) != origin:
                self._group_of[term] = origin
                self._groups.setdefault(origin, []).append(term)
                self._latest.append(term)

    def near(self, term: ox.NamedNode, most: int, known: Container[Any], alike: bool) -> list[Any]:
        """The thing itself and others to ask about with it; ``alike`` means of its kind alone."""
        kind = kind_of(term)
        found = {term: None}
        group = self._groups.get(self._group_of.get(term), [])
        latest = self._latest[: -_LATEST - 1 : -1]
        likes = [other for each in (group, latest) for other in each if kind_of(other) == kind]
        if kind == "s" and not alike:
            likes.sort(key=lambda other: _topic(other) != _topic(term))
        for other in likes if alike else (*likes[: most // 2], *group, *likes, *latest):
            if len(found) >= most:
                break
            if other not in known:
                found[other] = None
        return list(found)


def _topic(statement: ox.NamedNode) -> str:
    """What a statement says, by its address: one question often asks for it of many taxa."""
    return statement.value.partition("_")[2].rstrip("_0123456789")


# ---- values -------------------------------------------------------------------------------------


def bound_text(query: str, values: Mapping[str, Iterable[Node]]) -> str:
    """A query with variables bound to values: VALUES in every group that mentions a variable.

    Terms are written in their N-Triples form, so that no value can end its place in the text. A
    nested group does not see what its surroundings bind (SPARQL 1.1 Query, section 18.2), so each
    gets the line itself.

    >>> import pyoxigraph as ox
    >>> bound_text("SELECT ?x { ?x ?p ?o }", {"x": [ox.NamedNode("http://a.example/")]})
    'SELECT ?x { VALUES ?x { <http://a.example/> } ?x ?p ?o }'
    """
    told = {name: " ".join(str(v) for v in terms) for name, terms in values.items()}
    for place, names in sorted(_Reading(query, frozenset(values)).places, reverse=True):
        lines = "".join(f" VALUES ?{n} {{ {told[n]} }}" for n in names)
        query = f"{query[:place]}{lines}{query[place:]}"
    return query


def pointwise(query: str, name: str) -> bool:
    """Whether the rows for many values of a variable are the rows for each, put together.

    So it is where every SELECT projects the variable, no LIMIT cuts and no sum runs over values.
    """
    read = _Reading(query, frozenset((name,)))
    if read.words & {"LIMIT", "OFFSET", "REDUCED"} or "SELECT" not in read.words:
        return False
    if len(read.grouped) < read.sums or any(name not in names for names in read.grouped):
        return False
    return all(name in head or "*" in head for head in read.heads)


class _Group:
    """A pair of braces while it is read: where it opens, what kind it is, what it mentions."""

    def __init__(self, place: int, kind: str, names: Iterable[str] = ()) -> None:
        self.place = place
        self.kind = kind
        self.names = set(names)


class _Reading:
    """A query's groups and clauses, read token by token; enough for queries that parse."""

    def __init__(self, query: str, names: frozenset[str]) -> None:
        self.places: list[tuple[int, list[str]]] = []
        self.heads: list[set[str]] = []
        self.grouped: list[set[str]] = []
        self.words: set[str] = set()
        self.sums = 0  # SELECT clauses that sum over rows
        self._summed: set[int] = set()
        self._names = names
        self._stack: list[_Group] = []
        self._next, self._clause = "group", ""
        for match in _TOKEN.finditer(query):
            self._take(match[0], match.end())

    def _take(self, token: str, end: int) -> None:
        if token == "{":
            self._open(end)
        elif token == "}":
            self._close()
        elif token[0] in "?$" or token == "*":
            self._name(token.lstrip("?$"))
        elif token[0].isalpha():
            self._word(token.upper())

    def _open(self, end: int) -> None:
        group = _Group(end, self._next)
        if self._next == "group":
            outermost = not any(g.kind == "group" for g in self._stack)
            group.names |= self._names if outermost else self._head()
        self._stack.append(group)
        self._next, self._clause = "group", ""

    def _head(self) -> set[str]:
        """What the SELECT clause just before this group projects."""
        return self.heads[-1] if self._clause == "select" else set()

    def _close(self) -> None:
        group = self._stack.pop() if self._stack else _Group(0, "data")
        if group.kind == "group" and group.names & self._names:
            self.places.append((group.place, sorted(group.names & self._names)))
        self._clause = ""

    def _name(self, name: str) -> None:
        if self._clause == "select":
            self.heads[-1].add(name)
        elif self._clause == "group":
            self.grouped[-1].add(name)
        elif self._stack and name != "*":
            self._stack[-1].names.add(name)

    def _word(self, word: str) -> None:
        self.words.add(word)
        if word == "SELECT":
            if self._stack:
                self._stack[-1].kind = "select"
            self.heads.append(set())
            self._clause = "select"
        elif word in _SUMS and self._clause == "select":
            self._summed.add(len(self.heads))
            self.sums = len(self._summed)
        elif word in ("VALUES", "CONSTRUCT"):
            self._next = "data"
        elif word == "GROUP":
            self.grouped.append(set())
            self._clause = "group"
        elif word in ("ORDER", "HAVING", "LIMIT", "OFFSET"):
            self._clause = ""


def steps(times: int) -> int:
    """How many things a query is asked about the next time, after so many times before."""
    return _STEPS[min(times, len(_STEPS) - 1)]


def wider(times: int) -> int:
    """How many things are fetched the next time, after so many times before."""
    return _WIDER[min(times, len(_WIDER) - 1)]


# What a thing has by the hundred and labels and citations never need: fetched only when asked for.
BULKY = frozenset(
    getattr(OP, name)
    for name in (
        "goesBy",
        "gathers",
        "atOrUnder",
        "hasAncestor",
        "hasOwn",
        "reaches",
        "insideOf",
        "nativeTo",
        "introducedTo",
        "misleadsAbout",
        "sharedBy",
        "hasGapOn",
        "warnedBy",
    )
)
