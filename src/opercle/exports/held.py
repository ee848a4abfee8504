"""All stated facts read once into memory, for exports that walk every one of them.

Knows: subject, predicate, values; which graphs hold facts, inferences and look-up aids.
Refuses to know: what is exported. A knowledge behind an endpoint is not read here.
"""

from collections.abc import Iterator
from functools import cache, cached_property
from typing import Any

import pyoxigraph as ox

from opercle.errors import UsageError
from opercle.questions.desk import Desk
from opercle.store import plain
from opercle.terms import OP, PREFIXES, shorten, widen
from opercle.wording import Citation, cited

INDEX = PREFIXES["g"] + "index"
_SOURCE = ("creator", "date", "publisher", "title")
_AIDS = frozenset((OP.key, OP.brief))
_short = cache(shorten)


def lines(desk: Desk, *, inferred: bool, graphs: bool = False) -> list[bytes]:
    """The facts as sorted lines of N-Triples, or of N-Quads with their graphs; each once.

    Packs are included; with ``inferred`` what rules derived and the look-up aids too. Raises
    UsageError for a knowledge that lies behind an endpoint.
    """
    store: Any = desk.snapshot.store
    if not isinstance(store, ox.Store):
        raise UsageError(
            "A knowledge behind an endpoint is not exported from here.",
            "--endpoint",
            "Export without --endpoint, or ask that server for its own dump.",
        )
    found: set[bytes] = set()
    for graph in store.named_graphs():
        if not inferred and not _stated(graph.value):
            continue
        dump = store.dump(format=ox.RdfFormat.N_TRIPLES, from_graph=graph)
        told = (dump or b"").splitlines()
        name = f" {graph} .".encode()
        found.update(line[:-2] + name for line in told) if graphs else found.update(told)
    return sorted(found)


def _stated(graph: str) -> bool:
    return graph.startswith(PREFIXES["g"]) and graph != INDEX


def triples(desk: Desk, *, inferred: bool) -> Iterator[ox.Triple]:
    """The facts as triples, each once, sorted by subject."""
    told = b"\n".join(lines(desk, inferred=inferred))
    for quad in ox.parse(told, format=ox.RdfFormat.N_TRIPLES):
        yield quad.triple


class Held:
    """The facts by subject; all values are plain, things as prefixed names."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._about: dict[str, dict[str, list[Any]]] = {}
        self._cited: dict[str, Citation] = {}
        self.by_class: dict[str, list[str]] = {}
        for triple in triples(desk, inferred=True):
            if triple.predicate.value not in _AIDS:
                self._add(triple)
        for things in self.by_class.values():
            things.sort()

    def _add(self, triple: ox.Triple) -> None:
        subject: Any = triple.subject
        value: Any = triple.object
        name, predicate = _short(subject.value), _short(triple.predicate.value)
        values = self._about.setdefault(name, {}).setdefault(predicate, [])
        if value in values:
            return
        values.append(value)
        if predicate == "rdf:type":
            self.by_class.setdefault(_short(value.value), []).append(name)

    def terms(self, subject: str, predicate: str) -> list[Any]:
        """What a subject has under a predicate, as terms in a fixed order."""
        values = self._about.get(subject, {}).get(predicate, [])
        return sorted(values, key=str) if len(values) > 1 else values

    def of(self, subject: str, predicate: str) -> list[Any]:
        """The same as plain values."""
        return [plain(term) for term in self.terms(subject, predicate)]

    def one(self, subject: str, predicate: str) -> Any:
        """The first such value, or None."""
        return next(iter(self.of(subject, predicate)), None)

    def predicates(self, subject: str) -> list[str]:
        """What is said of a subject at all."""
        return sorted(self._about.get(subject, ()))

    def label(self, name: str | None) -> str:
        """What a thing is called; empty for none."""
        return self.desk.label(name) if name else ""

    def cited(self, name: str) -> Citation | None:
        """Who is cited for a statement or thing: of several, what was read comes first."""
        found = [self._citation(cite) for cite in self.of(name, "op:citation")]
        return min(found, key=lambda c: (c.basis, c.iri or "", c.page or ""), default=None)

    def _citation(self, cite: str) -> Citation:
        if cite not in self._cited:
            source = self.one(cite, "dcterms:source")
            row = {key: self.one(source, f"dcterms:{key}") for key in _SOURCE}
            row |= {"src": source, "page": self.one(cite, "schema:pagination")}
            self._cited[cite] = cited({**row, "basis": self.one(cite, "op:basis")})
        return self._cited[cite]

    @cached_property
    def taxa(self) -> list[str]:
        """All taxa, hybrids included."""
        return sorted({*self.by_class.get("dwc:Taxon", ()), *self.by_class.get("op:Hybrid", ())})

    @cached_property
    def uses(self) -> list[str]:
        """All name uses that are not doubted."""
        return [u for u in self.by_class.get("op:NameUse", ()) if not self.doubted(u)]

    def doubted(self, statement: str) -> bool:
        """Whether a statement is kept but not used."""
        return "op:doubted" in self._about.get(statement, ())


def cite_fields(held: Held, name: str) -> dict[str, str]:
    """``source`` as author and year, ``page``, ``basis`` (read or recalled), ``source_id``."""
    found = held.cited(name)
    if found is None:
        return {"source": "", "page": "", "basis": "", "source_id": ""}
    return {
        "source": found.source,
        "page": found.page or "",
        "basis": found.basis,
        "source_id": found.iri or "",
    }


def address(name: str | None) -> str:
    """The whole address of a prefixed name; empty for none."""
    return widen(name) if name else ""
