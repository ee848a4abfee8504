"""Asks the snapshot. Every query is a text of SPARQL with its values bound, never pasted in.

Knows: an Oxigraph store and how its terms become plain Python values.
Refuses to know: what the questions mean, and where the snapshot came from.
"""

import os
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import pyoxigraph as ox

from opercle.errors import QueryError
from opercle.terms import PREFIXES, shorten, widen

Row = dict[str, Any]
Node = ox.NamedNode | ox.BlankNode | ox.Literal

_NUMBERS: dict[str, Callable[[str], Any]] = {
    PREFIXES["xsd"] + "integer": int,
    PREFIXES["xsd"] + "decimal": float,
    PREFIXES["xsd"] + "double": float,
    PREFIXES["xsd"] + "boolean": lambda v: v == "true",
}
_texts: dict[str, str] = {}


def text_of(path: str) -> str:
    """The text of a query file, read once."""
    if path not in _texts:
        with open(path, encoding="utf-8") as file:
            _texts[path] = file.read()
    return _texts[path]


def plain(term: Node | None) -> Any:
    """A term as a Python value: addresses as prefixed names, literals as str, int, float, bool."""
    if term is None:
        return None
    if isinstance(term, ox.NamedNode):
        return shorten(term.value)
    if isinstance(term, ox.Literal):
        return _NUMBERS.get(term.datatype.value, str)(term.value)
    return f"_:{term.value}"


def bound(values: Mapping[str, Node]) -> dict[ox.Variable, Node | ox.Triple]:
    """Python names to SPARQL variables."""
    return {ox.Variable(name): value for name, value in values.items()}


class Snapshot:
    """A read-only store with what was found out when it was made.

    ``facts`` holds version, hash, counts and the compiled rules; ``names`` the folder or
    lists used for spelling.
    """

    def __init__(self, store: ox.Store, facts: Mapping[str, Any], place: str | None) -> None:
        self.store: Any = store  # or what stands for one: a server's, see endpoint.py
        self.facts = facts
        self.place = place
        self.held: Any = None  # an open, locked file: who prunes the cache sees that it is in use

    def raw(self, query: str, values: Mapping[str, Node] | None = None) -> Any:
        """Run SPARQL over stated and derived facts together; returns pyoxigraph's result."""
        try:
            return self.store.query(
                query,
                prefixes=PREFIXES,
                use_default_graph_as_union=True,
                substitutions=bound(values) if values else None,
            )
        except SyntaxError as error:
            raise QueryError(
                f"The query is not valid SPARQL: {error}",
                "",
                "Mend it; the prefixes op:, t:, n:, c:, w: and common ones are declared.",
            ) from None

    def rows(self, query: str, **values: Node) -> list[Row]:
        """Run a SELECT; each row maps a variable to a plain value, unbound ones left out."""
        return list(self._rows(self.raw(query, values)))

    def ask(self, query: str, **values: Node) -> bool:
        """Run an ASK."""
        return bool(self.raw(query, values))

    def terms(self, subject: Node, predicate: str) -> list[Node]:
        """What one subject has under one predicate, each once, as terms in a fixed order.

        The one look-up that is no query: a match of one pattern costs a tenth of a query.
        """
        found = self.store.quads_for_pattern(subject, ox.NamedNode(widen(predicate)), None, None)
        return sorted({quad.object for quad in found}, key=str)

    def of(self, subject: Node, predicate: str) -> list[Any]:
        """What one subject has under one predicate, as plain values in a fixed order."""
        return [plain(term) for term in self.terms(subject, predicate)]

    @staticmethod
    def _rows(found: Any) -> Iterator[Row]:
        names = [v.value for v in found.variables]
        for solution in found:
            yield {
                name: plain(term)
                for name, term in zip(names, solution, strict=True)
                if term is not None
            }


def beside(module_file: str, name: str) -> str:
    """The text of the ``.rq`` file of that name beside a module."""
    return text_of(os.path.join(os.path.dirname(module_file), name + ".rq"))
