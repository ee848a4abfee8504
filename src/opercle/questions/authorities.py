"""Whose names a record follows: the names list or work that it names as its authority.

Knows: how a work is cited in a record (``Page et al. 2013``, ``AFS 2023``, ``AFS 7th edition``),
and which fish it gives a name to.
Refuses to know: what a recorder followed who names nobody. A year never proves that.

A scientific name means what its author or list says it means ("taxonomic concept" of Darwin Core's
``nameAccordingTo``). Three things follow:

- a work cannot follow a meaning that is younger than itself;
- where the work itself gives the name to a fish, it gives it to no other;
- where the work is known to name a fish, a name that had gone out of use for that fish before the
  work is not the work's name for it; and where a names list names two fishes of which one bears the
  scientific name by then, the list's name is that one's: a list gives no name twice.
"""

import re
from collections.abc import Sequence
from functools import cached_property
from typing import NamedTuple

from opercle import reading
from opercle.questions.desk import Desk, node
from opercle.store import Row

_YEAR = re.compile(r"(?<!\d)(1[5-9]\d\d|20\d\d)(?!\d)")
_EMPTY = frozenset(
    ("et", "al", "and", "sec", "sensu", "edition", "ed", "eds", "the", "of", "names", "list", "by",
     "according", "to", "in", "follows", "following", "after", "checklist", "taxonomy", "fishes",
     "fish", "common", "scientific")
)  # fmt: skip
_ORDINALS = {
    "1st": "first", "2nd": "second", "3rd": "third", "4th": "fourth", "5th": "fifth",
    "6th": "sixth", "7th": "seventh", "8th": "eighth",
}  # fmt: skip
_SHORT = {"afs": ("american", "fisheries", "society")}


class Authority(NamedTuple):
    """What a record names: as written, the works meant (none if not known here), and their year.

    ``one_each`` is True for a names list, which gives one name to each fish.
    """

    written: str
    sources: tuple[str, ...]
    year: int | None
    one_each: bool = False

    @property
    def known(self) -> bool:
        """True if anything can be told from it."""
        return bool(self.sources) or self.year is not None


class Authorities:
    """Reads authorities of one snapshot, each once."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._read: dict[str, Authority] = {}
        self._states: dict[str, list[Row]] = {}

    def read(self, written: str) -> Authority | None:
        """What a cell names; None where it names nothing."""
        text = " ".join(written.split())
        if not text:
            return None
        if text not in self._read:
            self._read[text] = self._look(text)
        return self._read[text]

    def _look(self, text: str) -> Authority:
        years = [int(y) for y in _YEAR.findall(text)]
        year = years[-1] if years else None
        slug = text.casefold().removeprefix("src:").replace(" ", "-")
        words = _words(text)
        exact = [s for s in self._sources if slug in (s.slug, s.title)]
        meant = exact or [
            s
            for s in self._sources
            if words and words <= s.words and words & s.own and year in (None, s.year)
        ]
        meant = [s for s in meant if s.lead & words] or meant
        if len({s.year for s in meant}) != 1:
            return Authority(text, (), year)
        listed = all(s.listed for s in meant)
        return Authority(text, tuple(s.source for s in meant), meant[0].year, listed)

    @cached_property
    def _sources(self) -> "list[_Source]":
        return [_source(row) for row in self.desk.query("dated_sources")]

    # ---- what an authority says ------------------------------------------------------------

    def stated(self, authority: Authority) -> list[Row]:
        """The name uses that the works state or list."""
        found: list[Row] = []
        for source in authority.sources:
            if source not in self._states:
                self._states[source] = self.desk.query("by_source", src=node(source))
            found += self._states[source]
        return found

    def set_aside(self, authority: Authority, uses: Sequence[Row]) -> dict[str, str]:
        """Of the uses of one name, those that the authority cannot mean, with the reason."""
        ours = [u for u in uses if scientific(u)]
        stated = self.stated(authority)
        said = {row["use"] for row in stated}
        own = {u["t"] for u in ours if u["use"] in said and not _over(u, authority)}
        named = {row["t"] for row in stated if row["kind"] != "op:misapplied"}
        now = [u for u in ours if not _over(u, authority) and not _later(u, authority)]
        if authority.one_each and not own:
            own = {u["t"] for u in now if u["kind"] == "op:scientific"} & named
            rivals = own | named
        else:
            rivals = own | {u["t"] for u in ours}
        current = {u["t"] for u in now}
        found = {}
        for use in ours:
            says = self._says(use, authority, own if use["t"] in rivals else set(), named, current)
            if says:
                found[use["use"]] = says
        return found

    def _says(
        self, use: Row, authority: Authority, own: set[str], named: set[str], current: set[str]
    ) -> str:
        told = f"“{authority.written}”"
        if _later(use, authority):
            return f"the name has meant this fish only since {_since(use)}, after {told}"
        if own and use["t"] not in own:
            fishes = " and ".join(sorted(self.desk.label(t) for t in own))
            return f"{told} gives the name to {fishes}"
        if _over(use, authority) and use["t"] not in current:
            if use["t"] in named:
                return f"{told} names this fish, and the name went out for it in {use['until']}"
            if use["kind"] == "op:misapplied":
                return f"it was so miscalled only until {use['until']}, before {told}"
        return ""


class _Source(NamedTuple):
    source: str
    slug: str
    title: str
    year: int
    words: frozenset[str]
    own: frozenset[str]
    lead: frozenset[str]
    listed: bool


def _source(row: Row) -> _Source:
    slug = str(row["src"]).removeprefix("src:")
    creators = _words(str(row.get("creator", "")))
    part = _words(str(row.get("part", "")))
    short = frozenset(s for s, long in _SHORT.items() if part.issuperset(long))
    own = creators | short | (part if short else frozenset())
    year = _YEAR.search(str(row["date"]))
    words = own | part | _words(str(row["title"])) | _words(slug.replace("-", " "))
    when = int(year[0]) if year else 0
    title, listed = str(row["title"]).casefold(), bool(row["list"])
    lead = _words(str(row.get("creator", "")).split(";")[0].split(",")[0])
    return _Source(row["src"], slug, title, when, words, own, lead, listed)


def _words(text: str) -> frozenset[str]:
    """The words that tell one work from another: no years, initials or small words."""
    plain = re.split(r"[^a-z0-9]+", reading.normal(text))
    found = (_ORDINALS.get(w, w) for w in plain if not _YEAR.fullmatch(w))
    return frozenset(w for w in found if w not in _EMPTY and (len(w) > 1 or w.isdigit()))


def scientific(use: Row) -> bool:
    """True for the use of a scientific name."""
    if use["kind"] in ("op:scientific", "op:synonym"):
        return True
    return bool(use["kind"] == "op:misapplied" and str(use["form"])[:1].isupper())


def _since(use: Row) -> int:
    return max(int(use.get("from", 0)), int(use.get("published", 0)))


def _later(use: Row, authority: Authority) -> bool:
    """True if the meaning is younger than the work."""
    return authority.year is not None and _since(use) > authority.year


def _over(use: Row, authority: Authority) -> bool:
    """True if the meaning had ended by the year of the work."""
    until = use.get("until")
    return authority.year is not None and until is not None and int(until) <= authority.year
