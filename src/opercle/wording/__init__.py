"""Says facts in words: what a thing is called, what a statement states, who said it where.

Knows: labels, the sentence of each kind of statement, citations.
Refuses to know: which facts answer which question.
"""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

import pyoxigraph as ox

from opercle import packs
from opercle.answers import Reason, listed, some
from opercle.counts import CountRange
from opercle.store import Row, Snapshot
from opercle.terms import widen

_CITED = {"src": "dcterms:source", "basis": "op:basis", "page": "schema:pagination"}
_SOURCE = {key: f"dcterms:{key}" for key in ("creator", "date", "publisher", "title")}


class Citation(NamedTuple):
    """Who said it and where; ``basis`` is read or recalled. ``graph`` names the file."""

    source: str
    page: str | None
    basis: str
    title: str | None
    iri: str | None = None


class Words:
    """Labels and sentences over one snapshot; what was looked up once is kept."""

    def __init__(self, snapshot: Snapshot) -> None:
        self.snapshot = snapshot
        self._labels: dict[str, str] = {}
        self._statements: dict[str, Row] = {}

    def label(self, name: str) -> str:
        """What a thing is called: a prefixed name in, plain words out."""
        if name not in self._labels:
            self._labels[name] = self._find_label(name)
        return self._labels[name]

    def _find_label(self, name: str) -> str:
        try:
            node = ox.NamedNode(widen(name))
        except ValueError:
            return name
        scientific = self._first(node, "dwc:scientificName")
        common = self._english(node) if scientific else None
        if scientific and common:
            return f"{common} ({scientific})"
        form = scientific or self._first(node, "skosxl:literalForm")
        if form:
            return form if scientific else f"\u201c{form}\u201d"
        labels = [self._first(node, p) for p in ("skos:prefLabel", "dcterms:title", "rdfs:label")]
        if any(labels):
            return min(label for label in labels if label)
        if name.startswith("s:"):
            return self.sentence(name)
        return name

    def _first(self, node: ox.NamedNode, predicate: str) -> str | None:
        return next((str(v) for v in self.snapshot.of(node, predicate)), None)

    def _english(self, node: ox.NamedNode) -> str | None:
        for term in self.snapshot.terms(node, "skos:prefLabel"):
            if isinstance(term, ox.Literal) and term.language == "en":
                return term.value
        return None

    def statement(self, name: str) -> Row:
        """All the values of a statement as one row, lists where several."""
        if name not in self._statements:
            row: Row = {}
            for pair in self.snapshot.rows(
                "SELECT ?x ?p ?o { ?x ?p ?o }", x=ox.NamedNode(widen(name))
            ):
                row.setdefault(pair["p"], []).append(pair["o"])
            self._statements[name] = row
        return self._statements[name]

    def sentence(self, name: str) -> str:
        """What a statement states, in one sentence without a full stop."""
        row = self.statement(name)
        kinds = [k for k in row.get("rdf:type", []) if k in _SENTENCES]
        if not kinds:
            return name
        told = _SENTENCES[kinds[0]](self, row)
        return told + self._of_whom(row)

    def _of_whom(self, row: Row) -> str:
        parts = [
            f"{word} {row[key][0]}"
            for key, word in (
                ("op:sex", "in"),
                ("op:stage", "in"),
                ("op:population", "in"),
                ("op:sampleSize", "specimens:"),
                ("op:underName", "given under the name"),
            )
            if key in row
        ]
        if "op:doubted" in row:
            parts.append(f"doubted: {row['op:doubted'][0]}")
        return f" [{'; '.join(parts)}]" if parts else ""

    def citation(self, name: str) -> Citation | None:
        """The citation of a statement, name, water or character; None if it has none."""
        cites = self.snapshot.terms(ox.NamedNode(widen(name)), "op:citation")
        rows = [self._citation_row(cite) for cite in cites]
        return min(map(cited, rows), key=_rank) if rows else None

    def _citation_row(self, cite: Any) -> Row:
        row = self._firsts(cite, _CITED)
        return row | self._firsts(ox.NamedNode(widen(row["src"])), _SOURCE)

    def _firsts(self, node: Any, wanted: Mapping[str, str]) -> Row:
        """The first value under each predicate that has any."""
        found = {key: self.snapshot.of(node, predicate) for key, predicate in wanted.items()}
        return {key: values[0] for key, values in found.items() if values}

    def reason(self, statement: str, triple: tuple[str, str, str] | None = None) -> Reason:
        """A statement as one line of why."""
        found = self.citation(statement)
        pack = packs.of_statement(self.snapshot.store, ox.NamedNode(widen(statement)))
        local = f" (from the local pack {pack})" if pack else ""
        return Reason(
            says=self.sentence(statement) + local,
            basis=found.basis if found else "recalled",
            source=found.source if found else None,
            page=found.page if found else None,
            triple=triple,
        )


def _rank(citation: Citation) -> tuple[str, ...]:
    """Of several citations what was read comes first."""
    return (citation.basis, citation.iri or "", citation.page or "")


def cited(row: Row) -> Citation:
    """A row with creator, date, title, publisher, page and basis as a citation."""
    return Citation(
        source=authors_and_year(row.get("creator"), row.get("date"), row),
        page=row.get("page"),
        basis=str(row["basis"]).removeprefix("op:"),
        title=row.get("title"),
        iri=row.get("src"),
    )


def authors_and_year(creator: str | None, date: str | None, row: Row) -> str:
    """``Cashner & Suttkus 1977``; three or more authors as ``Kim et al. 2022``."""
    if creator:
        people = [part.split(",")[0].strip() for part in creator.split(";") if part.strip()]
        if creator.rstrip(".").endswith("et al") and len(people) == 1:
            people = [people[0]] * 3
        told = people[0] if len(people) == 1 else " & ".join(people[:2])
        told = f"{people[0]} et al." if len(people) > 2 else told
    else:
        told = str(row.get("publisher") or row.get("title") or row.get("src"))
    return f"{told} {date}" if date else told


def count_range(row: Row) -> CountRange:
    """The range that a count or ratio statement gives."""
    first = {key: values[0] for key, values in row.items()}
    return CountRange(
        first["op:least"],
        first.get("op:most"),
        first.get("op:usualLeast"),
        first.get("op:usualMost"),
    )


def _count(words: Words, row: Row) -> str:
    character = words.label(row["op:onCharacter"][0])
    return f"{words.label(row['op:about'][0])}: {character} {count_range(row)}"


def _state(words: Words, row: Row) -> str:
    states = listed(sorted(words.label(s) for s in row["op:state"]), "or")
    usual = row.get("op:usualState")
    told = f" (usually {words.label(usual[0])})" if usual else ""
    character = words.label(row["op:onCharacter"][0])
    return f"{words.label(row['op:about'][0])}: {character}: {states}{told}"


def _size(words: Words, row: Row) -> str:
    reach = count_range(row)
    own = f", in the source {row['op:verbatim'][0]}" if "op:verbatim" in row else ""
    what = f"{row['op:extent'][0]} {row['op:dimension'][0].replace('-', ' ')}"
    return f"{words.label(row['op:about'][0])}: {what} {reach} {row['op:unit'][0]}{own}"


def _range(words: Words, row: Row) -> str:
    told = {"op:absent": "is absent from", "op:native": "is native to"}
    told |= {"op:introduced": "was introduced to", "op:disputed": "is disputed in"}
    return (
        f"{words.label(row['op:about'][0])} {told[row['op:presence'][0]]} "
        f"{words.label(row['op:where'][0])}"
    )


def _limit(words: Words, row: Row) -> str:
    places = some([words.label(p) for p in row["op:inside"]], "places")
    return f"{words.label(row['op:about'][0])} is known only from {places}"


def _use(words: Words, row: Row) -> str:
    kind = row["op:kind"][0].removeprefix("op:")
    told = {"group": "is a group name of", "synonym": "is another scientific name of"}
    told |= {"scientific": "is the scientific name of", "misapplied": "is misapplied to"}
    verb = told.get(kind, f"is {'an' if kind[0] in 'aeiou' else 'a'} {kind} name of")
    said = f"{words.label(row['op:name'][0])} {verb} {words.label(row['op:means'][0])}"
    if "op:where" in row:
        said += f" in {some([words.label(p) for p in row['op:where']], 'places')}"
    if "op:from" in row:
        said += f" from {row['op:from'][0]}"
    if "op:until" in row:
        said += f" until {row['op:until'][0]}"
    if "op:inList" in row:
        said += ", in a society's list"
    return said + (f" ({row['op:text'][0]})" if "op:text" in row else "")


def _placement(words: Words, row: Row) -> str:
    placed, group = words.label(row["op:about"][0]), words.label(row["op:within"][0])
    until = f" until {row['op:until'][0]}" if "op:until" in row else ""
    return f"{placed} {'was' if until else 'is'} placed in {group}{until}"


def _type(words: Words, row: Row) -> str:
    note = f" ({row['op:text'][0]})" if "op:text" in row else ""
    return (
        f"the type of {words.label(row['op:about'][0])} is {words.label(row['op:typeName'][0])}, "
        f"by {row['op:fixedBy'][0]}{note}"
    )


def _etymology(words: Words, row: Row) -> str:
    return (
        f"{row['op:part'][0]}: {row['op:language'][0]}, \u201c{row['op:meaning'][0]}\u201d, "
        f"in the name of {words.label(row['op:about'][0])}"
    )


def _meaning(words: Words, row: Row) -> str:
    how = "strictly means" if row.get("op:strict") == [True] else "is also used for"
    since = f" since {row['op:from'][0]}" if "op:from" in row else ""
    detail = f": {row['op:text'][0]}" if "op:text" in row else ""
    return (
        f"the word {words.label(row['op:word'][0])} {how} {words.label(row['op:means'][0])}"
        f" ({row['op:byWhom'][0]}{detail}){since}"
    )


def _contrast(words: Words, row: Row) -> str:
    pair = f"{words.label(row['op:about'][0])} from {words.label(row['op:fromOther'][0])}"
    return f"telling {pair}: {row['op:text'][0].rstrip('.')}"


def _remark(words: Words, row: Row) -> str:
    return f"{words.label(row['op:about'][0])}: {row['op:text'][0].rstrip('.')}"


def _members(words: Words, row: Row) -> str:
    whole = ", all of them here" if row.get("op:complete") == [True] else ""
    return f"{words.label(row['op:about'][0])} has {row['op:memberCount'][0]} members{whole}"


_SENTENCES = {
    "op:CountStatement": _count,
    "op:RatioStatement": _count,
    "op:StateStatement": _state,
    "op:SizeStatement": _size,
    "op:RangeStatement": _range,
    "op:RangeLimit": _limit,
    "op:NameUse": _use,
    "op:Placement": _placement,
    "op:TypeFixation": _type,
    "op:Etymology": _etymology,
    "op:WordMeaning": _meaning,
    "op:Contrast": _contrast,
    "op:Remark": _remark,
    "op:MemberList": _members,
}


def sources(reasons: Iterable[Reason]) -> list[str]:
    """Every source named in reasons, once, in order."""
    return list(dict.fromkeys(r.source for r in reasons if r.source))
