"""All that is stated about one taxon, sorted, each fact with its numbered source and its basis.

Knows: statements by kind, which are doubted, and a bibliography that numbers sources as they come.
Refuses to know: what an account is made of.
"""

from collections.abc import Iterable
from typing import Any, NamedTuple

from opercle.answers import Reason
from opercle.questions.desk import Desk, node
from opercle.store import Row

_REST = ("op:sex", "op:stage", "op:population", "op:sampleSize", "op:underName")


class Fact(NamedTuple):
    """One statement: its address, kind, values (lists), and why it is doubted, if it is."""

    statement: str
    kind: str
    row: Row
    doubted: str | None

    def one(self, key: str) -> Any:
        """The first value of a property, or None."""
        values = self.row.get(key)
        return values[0] if values else None


class Bibliography:
    """Numbers sources in the order in which they are first used."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._numbers: dict[str, int] = {}
        self._entries: list[dict[str, Any]] = []

    def cite(self, statement: str) -> dict[str, Any]:
        """``source``, ``page``, ``basis`` and ``ref`` of a statement."""
        cited = self.desk.words.citation(statement)
        if cited is None:
            return {"source": None, "page": None, "basis": None, "ref": None}
        number = self._number(cited.iri or cited.source, cited.source, cited.title)
        entry = self._entries[number - 1]
        if cited.page and cited.page not in entry["pages"]:
            entry["pages"].append(cited.page)
        if cited.basis not in entry["basis"]:
            entry["basis"].append(cited.basis)
        return {
            "source": cited.source,
            "page": cited.page,
            "basis": cited.basis,
            "ref": number,
            "statement": statement,
        }

    def _number(self, iri: str, source: str, title: str | None) -> int:
        if iri not in self._numbers:
            self._numbers[iri] = len(self._entries) + 1
            self._entries.append(
                {
                    "number": self._numbers[iri],
                    "source": source,
                    "title": title,
                    "pages": [],
                    "basis": [],
                    "iri": iri,
                }
            )
        return self._numbers[iri]

    def by_reason(self, reason: Reason) -> int | None:
        """The number of the source that a line of why names; None where it names none."""
        if reason.source is None or reason.basis not in ("read", "recalled"):
            return None
        same = next((e for e in self._entries if e["source"] == reason.source), None)
        number = int(same["number"]) if same else self._number(reason.source, reason.source, None)
        entry = self._entries[number - 1]
        if reason.page and reason.page not in entry["pages"]:
            entry["pages"].append(reason.page)
        if reason.basis not in entry["basis"]:
            entry["basis"].append(reason.basis)
        return number

    def sources(self) -> list[dict[str, Any]]:
        """The numbered list."""
        return self._entries


class Facts:
    """What is stated about one taxon."""

    def __init__(self, desk: Desk, taxon: str, books: Bibliography) -> None:
        self.desk = desk
        self.taxon = taxon
        self.books = books
        self.all = self._read()

    def _read(self) -> list[Fact]:
        rows: dict[str, Row] = {}
        for pair in self.desk.query("about", t=node(self.taxon)):
            rows.setdefault(pair["s"], {}).setdefault(pair["p"], []).append(pair["o"])
        return [
            Fact(s, str(row.get("rdf:type", [""])[0]), row, (row.get("op:doubted") or [None])[0])
            for s, row in sorted(rows.items())
        ]

    def of(self, *kinds: str) -> list[Fact]:
        """Facts of these kinds that are not doubted."""
        return [f for f in self.all if f.kind in kinds and f.doubted is None]

    def doubted(self) -> list[dict[str, Any]]:
        """Statements kept but not used, each with the reason."""
        told = []
        for fact in self.all:
            if fact.doubted is None:
                continue
            says = self.desk.words.sentence(fact.statement).partition(" [")[0]
            told.append({"says": says, "doubted": fact.doubted, **self.books.cite(fact.statement)})
        return told

    def remarks(self, topic: str) -> list[dict[str, Any]]:
        """Remarks on one topic, each cited, those read first."""
        found = [
            {"text": f.one("op:text"), **self.books.cite(f.statement)}
            for f in self.of("op:Remark")
            if f.one("op:topic") == topic
        ]
        return sorted(found, key=lambda r: r["basis"] != "read")


def of_whom(row: Row) -> str | None:
    """For whom a statement holds: ``male; Missouri``, or None where for all."""
    parts = [str(row[k][0]) for k in _REST if k in row and k != "op:sampleSize"]
    if "op:sampleSize" in row:
        parts.append(f"{row['op:sampleSize'][0]} specimens")
    return "; ".join(parts) or None


def joined(remarks: Iterable[dict[str, Any]]) -> str | None:
    """Remarks as one running text; None where there are none."""
    texts = [str(r["text"]).rstrip(".") + "." for r in remarks]
    return " ".join(texts) or None


def whole(number: float | None) -> float | int | None:
    """A whole number without its point."""
    if number is None:
        return None
    return int(number) if number == int(number) else number
