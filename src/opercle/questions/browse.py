"""Lists for browsing: waters, words, sources, characters, families, and names as one types.

Knows: which query makes which list, and what is the same for everybody and made once.
Refuses to know: how lists are shown, addresses of pages, and any judgement.
"""

from bisect import bisect_left
from collections.abc import Sequence
from functools import cached_property
from typing import Any

from opercle import reading
from opercle.errors import UnknownError
from opercle.questions.desk import Desk, key_of, node
from opercle.store import Row
from opercle.wording import authors_and_year

_SURE = 0.6
"""A spelling less like what was typed is not offered."""
_SHOWN = 3
RANKS = ("class", "order", "family", "subfamily", "tribe", "genus", "subgenus", "species",
         "subspecies", "hybrid")  # fmt: skip


class Lists:
    """Lists over one desk."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    def alive(self) -> bool:
        """Whether the knowledge answers at all."""
        return self.desk.snapshot.ask("ASK { ?s ?p ?o }")

    @cached_property
    def _taxa(self) -> list[Row]:
        return self.desk.query("all_taxa")

    def taxa(self, rank: str | None = None) -> list[Row]:
        """Every taxon, or those of a rank: ``x``, ``name``, ``rank``."""
        return [r for r in self._taxa if rank is None or r["rank"] == rank]

    def families(self) -> list[Row]:
        """Every family: ``x``, ``label`` and where known ``common``, what it is called."""
        return self._families

    @cached_property
    def _families(self) -> list[Row]:
        rows = self.desk.query("top_taxa")
        for row in rows:
            called = self.desk.query("group_name", t=node(row["x"]))
            if called:
                row["common"] = called[0]["form"]
        return rows

    def words(self) -> list[dict[str, Any]]:
        """Every group word: ``x``, ``label``, and its strict meanings as taxa, ``strict``."""
        strict: dict[str, list[str]] = {}
        rows = self.desk.query("word_list")
        for row in rows:
            for meaning in self.desk.query("meanings", w=node(row["x"])):
                if meaning["strict"] and meaning["t"] not in strict.setdefault(row["x"], []):
                    strict[row["x"]].append(meaning["t"])
        return [{**row, "strict": strict.get(row["x"], [])} for row in rows]

    def meanings(self, word: str) -> list[dict[str, Any]]:
        """What a group word has been used for, each with the ``reason`` that says so."""
        return [
            {**row, "reason": self.desk.words.reason(row["s"])}
            for row in self.desk.query("meanings", w=node(word))
        ]

    # ---- waters ----------------------------------------------------------------------------

    @cached_property
    def waters(self) -> list[Row]:
        """Every water with its label and kind, by label."""
        return self.desk.query("waters")

    @cached_property
    def _steps(self) -> tuple[dict[str, list[str]], dict[str, list[str]]]:
        above: dict[str, list[str]] = {}
        below: dict[str, list[str]] = {}
        for row in self.desk.query("water_steps"):
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
        """Waters that lie in no other, those with most below them first."""
        found = [r["x"] for r in self.waters if not self.whole(r["x"])]
        below = {w: self._below(w, set()) for w in found}
        return sorted(found, key=lambda w: (-below[w], self.water_names.get(w, w)))

    def _below(self, water: str, seen: set[str]) -> int:
        if water in seen:
            return 0
        seen.add(water)
        return 1 + sum(self._below(part, seen) for part in self._steps[1].get(water, []))

    def place_kind(self, written: str, with_article: bool = False) -> str:
        """Whether a place is written that is a ``state`` or a ``water``; a water where neither.

        Many a state bears the name of its river: “in Wisconsin” is the state, “in the Wisconsin”
        (``with_article``) the river.
        """
        kinds = (("state", self.desk.state), ("water", self.desk.water))
        for kind, find in reversed(kinds) if with_article else kinds:
            try:
                find(written)
                return kind
            except UnknownError:
                continue
        return "water"

    def fishes(self, where: str) -> list[dict[str, Any]]:
        """The fishes of a water or place by family; each with its presence and where from.

        ``statement`` is the stated fact; else ``triple`` is the derived one, to be proved.
        """
        found: dict[tuple[str, str], dict[str, Any]] = {}
        for row in self.desk.query("place_stated", where=node(where)):
            presence = str(row["presence"]).removeprefix("op:")
            one = {"presence": presence, "statement": row["s"], "triple": None}
            found.setdefault((row["t"], presence), one)
        told = {"op:nativeTo": "native", "op:introducedTo": "introduced"}
        told["op:nativeInPartOf"] = "native in part of it"
        for row in self.desk.query("place_derived", where=node(where)):
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
        for row in self.desk.query("carriers", w=node(word)):
            one = found.setdefault(row["t"], {"t": row["t"], "names": []})
            if row["form"] not in one["names"]:
                one["names"].append(row["form"])
        return self.by_family(list(found.values()))

    @cached_property
    def sources(self) -> list[dict[str, Any]]:
        """Every source with its author and year, title, and the number of facts it supports."""
        seen: dict[str, dict[str, Any]] = {}
        for row in self.desk.query("source_list"):
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
            for row in self.desk.query("supported", src=node(source))
        ]

    @cached_property
    def characters(self) -> list[Row]:
        """Every character: ``x``, ``label``, ``asks``, ``how``, ``seen``, ``trust``."""
        return self.desk.query("character_list")

    def stated_of(self, character: str) -> list[dict[str, str]]:
        """What is stated of a character: the statement ``x`` and what it ``says``."""
        rows = self.desk.query("values_of", c=node(character))
        return [{"x": r["s"], "says": self.says(r["s"])} for r in rows]

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
            found = [r.key for r in near if r.score > _SURE]
        return [s for s in map(self._suggestion, found) if s]

    def _suggestion(self, key: str) -> dict[str, str]:
        uses = self.desk.query("uses", key=key_of(key))
        taxa = list(dict.fromkeys(u["t"] for u in uses))
        if not taxa:
            return {}
        told = [str(self.desk.about(t).get("name") or t) for t in taxa[:_SHOWN]]
        more = f" and {len(taxa) - _SHOWN} more" if len(taxa) > _SHOWN else ""
        return {"name": str(uses[0]["form"]), "means": ", ".join(told) + more}
