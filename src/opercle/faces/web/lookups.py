"""Lists for browsing: waters, words, sources, characters, and all that is held about one thing.

Knows: which query makes which list, and how a thing is described as RDF.
Refuses to know: how lists are shown, and any judgement.
"""

import os
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Any

import pyoxigraph as ox

from opercle import reading
from opercle.questions.desk import Desk, key_of, node
from opercle.store import Row, beside
from opercle.terms import PREFIXES, shorten
from opercle.wording import authors_and_year

KINDS = ("taxon", "name", "water", "place", "character", "source", "statement", "word", "cite")
_PREFIX = {"taxon": "t", "name": "n", "water": "w", "place": "pl", "character": "c"}
_PREFIX |= {"source": "src", "statement": "s", "word": "word", "cite": "cite"}
_PATHS = {prefix: kind for kind, prefix in _PREFIX.items()}
_MANY = 400


def path_of(name: str) -> str | None:
    """The path of a thing on this server: ``t:Lepomis`` to ``/taxon/Lepomis``; None if none."""
    prefix, _, local = name.partition(":")
    return f"/{_PATHS[prefix]}/{local}" if prefix in _PATHS and local else None


def address(kind: str, local: str) -> str:
    """The prefixed name of what a path of this server names."""
    return f"{_PREFIX[kind]}:{local}"


class Lookups:
    """Lists over one desk; what is the same for every visitor is made once."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    def rows(self, name: str, **values: Any) -> list[Row]:
        """Run the query file of that name."""
        return self.desk.snapshot.rows(beside(__file__, os.path.join("queries", name)), **values)

    def label(self, name: str) -> str:
        """What a thing is called."""
        return self.desk.label(name)

    def held(self, name: str) -> bool:
        """Whether anything is said of a thing."""
        try:
            return self.desk.snapshot.ask("ASK { ?x ?p ?o }", x=node(name))
        except ValueError:
            return False

    # ---- waters ----------------------------------------------------------------------------

    @cached_property
    def waters(self) -> list[Row]:
        """Every water with its label and kind, by label."""
        return self.rows("waters")

    @cached_property
    def _steps(self) -> tuple[dict[str, list[str]], dict[str, list[str]]]:
        above: dict[str, list[str]] = {}
        below: dict[str, list[str]] = {}
        for row in self.rows("water_steps"):
            above.setdefault(row["x"], []).append(row["o"])
            below.setdefault(row["o"], []).append(row["x"])
        return above, below

    @cached_property
    def water_names(self) -> dict[str, str]:
        """Every water's label."""
        return {r["x"]: r["label"] for r in self.waters}

    def parts(self, water: str) -> list[str]:
        """The waters just below a water, by name."""
        return sorted(self._steps[1].get(water, []), key=lambda w: self.water_names.get(w, w))

    def whole(self, water: str) -> list[str]:
        """The waters just above a water."""
        return self._steps[0].get(water, [])

    def roots(self) -> list[str]:
        """Waters that lie in no other."""
        return [r["x"] for r in self.waters if not self.whole(r["x"])]

    def fishes(self, where: str) -> list[dict[str, Any]]:
        """The fishes of a water or place by family; each with its presence and where from.

        ``statement`` is the stated fact; else ``triple`` is the derived one, to be proved.
        """
        found: dict[tuple[str, str], dict[str, Any]] = {}
        for row in self.rows("place_stated", where=node(where)):
            presence = str(row["presence"]).removeprefix("op:")
            one = {"presence": presence, "statement": row["s"], "triple": None}
            found.setdefault((row["t"], presence), one)
        told = {"op:nativeTo": "native", "op:introducedTo": "introduced"}
        told["op:nativeInPartOf"] = "native in part of it"
        for row in self.rows("place_derived", where=node(where)):
            presence = told[row["p"]]
            one = {"presence": presence, "statement": None, "triple": [row["t"], row["p"], where]}
            if (row["t"], "native") not in found or presence == "introduced":
                found.setdefault((row["t"], presence), one)
        return self.by_family([{"t": t, **one} for (t, _), one in found.items()])

    def by_family(self, entries: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
        """Entries with a taxon ``t`` put together by family: ``family``, ``name``, ``fishes``."""
        groups: dict[str, dict[str, Any]] = {}
        for entry in entries:
            about = self.desk.about(entry["t"])
            family = str(about.get("family") or "")
            group = groups.setdefault(
                family, {"family": family, "name": about.get("familyName") or "", "fishes": []}
            )
            common, name = about.get("common"), about.get("name") or entry["t"]
            rank = about.get("rank")
            group["fishes"].append({**entry, "common": common, "name": name, "rank": rank})
        for group in groups.values():
            group["fishes"].sort(key=lambda f: str(f["common"] or f["name"]).lower())
        return sorted(groups.values(), key=lambda g: g["name"] or "~")

    # ---- words, sources, characters --------------------------------------------------------

    def carriers(self, word: str) -> list[dict[str, Any]]:
        """Fishes that carry a group word, by family, each with the names that carry it."""
        found: dict[str, dict[str, Any]] = {}
        for row in self.rows("carriers", w=node(word)):
            one = found.setdefault(row["t"], {"t": row["t"], "names": []})
            if row["form"] not in one["names"]:
                one["names"].append(row["form"])
        return self.by_family(list(found.values()))

    @cached_property
    def sources(self) -> list[dict[str, Any]]:
        """Every source with its author and year, title, and the number of facts it supports."""
        seen: dict[str, dict[str, Any]] = {}
        for row in self.rows("source_list"):
            author = authors_and_year(row.get("creator"), row.get("date"), row)
            title = row.get("title") or ""
            seen.setdefault(row["x"], {"x": row["x"], "author": author, "title": title})
            seen[row["x"]]["n"] = row["n"]
        return sorted(seen.values(), key=lambda s: str(s["author"]).lower())

    def supported(self, source: str) -> list[dict[str, Any]]:
        """What a source supports: each thing in words, with page and basis."""
        return [
            {
                "x": row["x"],
                "says": self.says(row["x"]),
                "page": row.get("page"),
                "basis": str(row["basis"]).removeprefix("op:"),
            }
            for row in self.rows("supported", src=node(source))
        ]

    def says(self, name: str) -> str:
        """A statement as a sentence, another thing by its label."""
        words = self.desk.words
        return words.sentence(name) if name.startswith("s:") else words.label(name)

    # ---- names as one types ----------------------------------------------------------------

    def suggest(self, typed: str, most: int = 8) -> list[dict[str, str]]:
        """Names that begin with what was typed, or are spelt near it, with what each can mean."""
        start = reading.normal(reading.clean(typed))
        if len(start) < 2:
            return []
        keys = self.desk.keys
        place = bisect_left(keys, start)
        found = [k for k in keys[place : place + most] if k.startswith(start)]
        if not found:
            near = reading.nearest(start, keys, most=4)
            found = [r.key for r in near if r.score > 0.6]
        return [s for s in map(self._suggestion, found) if s]

    def _suggestion(self, key: str) -> dict[str, str]:
        uses = self.desk.query("uses", key=key_of(key))
        taxa = list(dict.fromkeys(u["t"] for u in uses))
        if not taxa:
            return {}
        told = [str(self.desk.about(t).get("name") or t) for t in taxa[:3]]
        more = f" and {len(taxa) - 3} more" if len(taxa) > 3 else ""
        return {"name": str(uses[0]["form"]), "means": ", ".join(told) + more}

    # ---- one thing as RDF ------------------------------------------------------------------

    def triples(self, name: str) -> Iterator[ox.Triple]:
        """What is said of a thing, what is stated about it, and who is cited for it."""
        store, subject = self.desk.snapshot.store, node(name)
        seen: set[ox.Triple] = set()
        nodes = [subject]
        for quad in store.quads_for_pattern(subject, None, None):
            yield from _fresh(quad.triple, seen)
            if shorten(str(getattr(quad.object, "value", ""))).startswith("cite:"):
                nodes.append(quad.object)  # type: ignore[arg-type]
        for cited in nodes[1:]:
            for quad in store.quads_for_pattern(cited, None, None):
                yield from _fresh(quad.triple, seen)
        for predicate in ("about", "means", "onCharacter", "where", "word", "name"):
            verb = ox.NamedNode(PREFIXES["op"] + predicate)
            for quad in store.quads_for_pattern(None, verb, subject):
                yield from _fresh(quad.triple, seen)

    def properties(self, name: str) -> list[dict[str, Any]]:
        """What is said of a thing, property by property, in words."""
        found: dict[str, list[dict[str, Any]]] = {}
        for row in self.desk.snapshot.rows("SELECT ?x ?p ?o { ?x ?p ?o }", x=node(name)):
            if row["p"] in ("op:brief", "op:key"):
                continue
            value = row["o"] if isinstance(row["o"], str) else str(row["o"])
            known = path_of(value) is not None
            entry = {"text": self.label(value) if known else value, "path": path_of(value)}
            found.setdefault(row["p"], []).append(entry)
        return [
            {"property": p, "values": sorted(v, key=lambda e: e["text"])[:_MANY]}
            for p, v in sorted(found.items())
        ]

    def naming(self, name: str) -> list[dict[str, Any]]:
        """The statements that name a thing, in words."""
        store, subject = self.desk.snapshot.store, node(name)
        found = {
            shorten(q.subject.value)
            for q in store.quads_for_pattern(None, None, subject)
            if isinstance(q.subject, ox.NamedNode)
        }
        stated = sorted(s for s in found if s.startswith("s:"))[:_MANY]
        return [{"x": s, "says": self.says(s)} for s in stated]


def _fresh(triple: ox.Triple, seen: set[ox.Triple]) -> Iterator[ox.Triple]:
    if triple not in seen and triple.predicate.value not in _INNER:
        seen.add(triple)
        yield triple


_INNER = {PREFIXES["op"] + "brief", PREFIXES["op"] + "key"}


def written(triples: Iterator[ox.Triple], media: str) -> bytes:
    """Triples as Turtle or JSON-LD."""
    form: Any = ox.RdfFormat.from_media_type(media)
    made: Any = ox.serialize(triples, format=form, prefixes=PREFIXES)
    return bytes(made)
