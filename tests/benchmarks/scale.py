"""How rules and snapshot grow with the knowledge: renamed copies laid beside it.

Run by hand, for the whole trial:  nice python tests/benchmarks/scale.py 20

Every copy has taxa, names, statements and hybrids of its own, under addresses and in words of its
own; characters, waters, places, group words and sources are shared, as they would be with more
fishes. The figures are ratios in one run: the work for the copies over the work for one, divided
by how many times more triples are stated. 1 is linear; at most 1.3 is wanted.
"""

import os
import resource
import sys
import tempfile
import time
from collections.abc import Iterator
from typing import NamedTuple

import pyoxigraph as ox

from opercle import assets, build, rules
from opercle.terms import BASE, PREFIXES

OWN = tuple(PREFIXES[p] for p in ("t", "s", "n"))
FORM = PREFIXES["skosxl"] + "literalForm"
GIVEN = ox.NamedNode(PREFIXES["g"] + "copies.ttl")


class Grown(NamedTuple):
    """One size: triples stated and derived, seconds for each part, bytes on disk."""

    copies: int
    stated: int
    derived: int
    load: float
    work: float
    freeze: float
    size: int


def copied(triple: ox.Triple, number: int) -> ox.Triple:
    """A triple of the copy of that number; what is shared stays as it is."""
    value = _term(triple.object, number)
    if triple.predicate.value == FORM:
        value = ox.Literal(f"{_word(number)} {triple.object.value}", language="en")
    return ox.Triple(_term(triple.subject, number), triple.predicate, value)


def _term(term, number: int):
    if isinstance(term, ox.NamedNode) and term.value.startswith(OWN):
        return ox.NamedNode(f"{term.value}.copy{number}")
    return ox.BlankNode(f"{term.value}x{number}") if isinstance(term, ox.BlankNode) else term


def _word(number: int) -> str:
    """A word for a copy's names, of letters alone: baba, babe …"""
    return "".join("bdfgklmnprst"[int(c)] + "aeiouaeiou"[int(c)] for c in f"{number:03}")


def stated() -> list[ox.Triple]:
    """All triples of the knowledge, each once."""
    found: dict[ox.Triple, None] = {}
    for path in assets.files("ontology", ".ttl"):
        for quad in ox.parse(path=path, format=ox.RdfFormat.TURTLE):
            found[quad.triple] = None
    return list(found)


def quads(triples: list[ox.Triple], copies: int) -> Iterator[ox.Quad]:
    """The knowledge and ``copies`` - 1 copies of what is a copy's own."""
    own = [
        t
        for t in triples
        if any(isinstance(x, ox.NamedNode) and x.value.startswith(OWN) for x in (t[0], t[2]))
    ]
    for triple in triples:
        yield ox.Quad(*triple, GIVEN)
    for number in range(1, copies):
        for triple in own:
            yield ox.Quad(*copied(triple, number), GIVEN)


def grow(triples: list[ox.Triple], copies: int) -> Grown:
    """Load, run all rules, and freeze; each is timed by the processor's clock of this process."""
    clock = time.process_time
    start = clock()
    store = ox.Store()
    store.bulk_extend(quads(triples, copies))
    given = len(store)
    loaded = clock()
    keys = build._index(store)
    build._brief(store)
    made = rules.run(store, rules.read_all())
    worked = clock()
    with tempfile.TemporaryDirectory() as folder:
        store.add(_mark())
        place = build._freeze(folder, "0" * 32, store, {"by_rule": made}, {"keys": keys})
        frozen = clock()
        assert place is not None
        paths = [os.path.join(at, f) for at, _, files in os.walk(place) for f in files]
        size = sum(os.path.getsize(p) for p in paths)
    derived = sum(made.values())
    return Grown(copies, given, derived, loaded - start, worked - loaded, frozen - worked, size)


def _mark() -> ox.Quad:
    nodes = (PREFIXES["g"] + "snapshot", PREFIXES["op"] + "key", PREFIXES["g"] + "index")
    subject, predicate, graph = map(ox.NamedNode, nodes)
    return ox.Quad(subject, predicate, ox.Literal(build.VERSION), graph)


def told(one: Grown, many: Grown) -> str:
    """The growth of each part, over the growth of what is stated."""
    more = many.stated / one.stated
    parts = {
        "rules": many.work / one.work,
        "snapshot, time": many.freeze / one.freeze,
        "snapshot, size": many.size / one.size,
        "derived facts": many.derived / one.derived,
    }
    ratios = ", ".join(f"{name} {value / more:.2f}" for name, value in parts.items())
    return f"{more:.1f} times the triples ({many.stated:,}): {ratios} times linear"


def main(copies: int) -> None:
    triples = stated()
    one = grow(triples, 1)
    print(f"{BASE}: {one.stated:,} triples stated, {one.derived:,} derived, rules {one.work:.1f} s")
    for size in sorted({4, copies}):
        many = grow(triples, size)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
        print(f"{told(one, many)}; rules {many.work:.1f} s, at most {peak:.1f} GB", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
