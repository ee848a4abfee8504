"""All that is held about one thing: as RDF, and property by property in words.

Knows: what belongs to the description of a thing, and which properties are only for our own use.
Refuses to know: forms of RDF, and pages.
"""

from collections.abc import Iterator
from typing import Any

import pyoxigraph as ox

from opercle.questions.desk import Desk, node
from opercle.store import beside
from opercle.terms import PREFIXES

_MANY = 400
_INNER = frozenset(("op:brief", "op:key"))
_INNER_WIDE = frozenset(PREFIXES["op"] + name.removeprefix("op:") for name in _INNER)


def held(desk: Desk, name: str) -> bool:
    """Whether anything is said of a thing; False for what is no name of a thing."""
    try:
        return desk.snapshot.ask("ASK { ?x ?p ?o }", x=node(name))
    except ValueError:
        return False


def triples(desk: Desk, name: str) -> Iterator[ox.Triple]:
    """What is said of a thing, what is stated about it, and who is cited for it; each once."""
    found = desk.snapshot.raw(beside(__file__, "described"), {"x": node(name)})
    seen: set[tuple[Any, ...]] = set()
    for row in found:
        triple = (row["s"], row["p"], row["o"])
        if triple not in seen and triple[1].value not in _INNER_WIDE:
            seen.add(triple)
            yield ox.Triple(*triple)


def properties(desk: Desk, name: str) -> list[dict[str, Any]]:
    """Each ``property`` with its ``label`` and ``values``: ``text`` and, of a thing, ``name``."""
    found: dict[str, list[dict[str, Any]]] = {}
    for row in desk.query("properties", x=node(name)):
        if row["p"] in _INNER:
            continue
        value = row["o"]
        thing = value if row["thing"] and not value.startswith("_:") else None
        plain = ("no", "yes")[value] if isinstance(value, bool) else str(value)
        entry = {"text": desk.label(thing) if thing else plain, "name": thing}
        found.setdefault(row["p"], []).append(entry)
    return [
        {
            "property": p,
            "label": _plain(desk, p),
            "values": sorted(v, key=lambda e: e["text"])[:_MANY],
        }
        for p, v in sorted(found.items())
    ]


def _plain(desk: Desk, term: str) -> str:
    """A property in words: our own by its label, another standard's by its name."""
    label = desk.label(term)
    return _NAMES.get(term, label.partition(":")[2] if label == term else label)


_NAMES = {"rdf:type": "kind", "skosxl:literalForm": "written", "schema:pagination": "page"}


def naming(desk: Desk, name: str) -> list[dict[str, Any]]:
    """The statements that name a thing, ``x``, in words, ``says``; at most 400."""
    stated = sorted({r["s"] for r in desk.query("naming_it", x=node(name)) if r["s"][:2] == "s:"})
    return [{"x": s, "says": desk.words.sentence(s)} for s in stated[:_MANY]]


def word_history(desk: Desk, name: str) -> list[Any]:
    """What is told of a group word's origin and history, each with its source."""
    return [desk.words.reason(r["s"]) for r in desk.query("word_history", w=node(name))]
