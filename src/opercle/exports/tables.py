"""The facts as flat tables: one a kind of statement or thing, Parquet or CSV.

Knows: every property that the facts of a kind have becomes a column, and its source, page and
basis stand in the row.
Refuses to know: inferences, except each taxon's scientific name, parent and family.

Carried: every statement, doubted ones too (column ``doubted`` says why), and every taxon, name,
character, state, water, place, word, source. Things are written as prefixed names, and what a
statement is about also by its label; several values of one property are joined by `` | ``.
"""

import csv
import io
import json
import os
from collections.abc import Mapping, Sequence
from typing import Any

from opercle.errors import UsageError
from opercle.exports.held import Held, cite_fields
from opercle.exports.writing import Heard, whole_folder
from opercle.questions.desk import Desk
from opercle.terms import PREFIXES

FORMS = ("parquet", "csv")
TABLES: dict[str, tuple[str, ...]] = {
    "taxa": ("dwc:Taxon", "op:Hybrid"),
    "names": ("op:ScientificName", "op:CommonName"),
    "name_uses": ("op:NameUse",),
    "placements": ("op:Placement",),
    "counts": ("op:CountStatement",),
    "ratios": ("op:RatioStatement",),
    "states": ("op:StateStatement",),
    "sizes": ("op:SizeStatement",),
    "ranges": ("op:RangeStatement",),
    "range_limits": ("op:RangeLimit",),
    "types": ("op:TypeFixation",),
    "etymologies": ("op:Etymology",),
    "word_meanings": ("op:WordMeaning",),
    "contrasts": ("op:Contrast",),
    "remarks": ("op:Remark",),
    "member_lists": ("op:MemberList",),
    "characters": ("op:CountCharacter", "op:RatioCharacter", "op:StateCharacter"),
    "character_states": ("op:CharacterState",),
    "waters": ("op:Water",),
    "places": ("op:Place",),
    "words": ("op:GroupWord",),
    "sources": ("op:Source", "op:NamesList"),
}
_LABELLED = ("op:about", "op:means", "op:name", "op:onCharacter", "op:where", "op:within")
_DERIVED = {
    "taxa": ("dwc:scientificName", "dwc:scientificNameAuthorship", "op:parentTaxon", "op:inFamily"),
}
_INFERRED = frozenset(
    (
        "op:goesBy",
        "op:gathers",
        "op:hasAncestor",
        "op:atOrUnder",
        "op:hasOwn",
        "op:hasGapOn",
        "op:nativeTo",
        "op:introducedTo",
        "op:nativeInPartOf",
        "op:cannotMeet",
        "op:leansApartFrom",
        "op:usuallyLeast",
        "op:usuallyMost",
        "op:bearsWord",
        "op:misleadsAbout",
        "op:sharedBy",
        "op:outdatedFor",
        "op:directlyIn",
        "op:insideOf",
        "op:reaches",
        "op:warnedBy",
        "op:parentTaxon",
        "op:inFamily",
        "dwc:scientificName",
        "dwc:scientificNameAuthorship",
    )
)
_CITE = ("source", "page", "basis", "source_id")


def write(desk: Desk, path: str, form: str, heard: Heard) -> dict[str, int]:
    """Write the tables into the folder ``path``; returns the number of rows of each."""
    if form not in FORMS:
        raise UsageError(
            f"Tables are not written as {form}.", "--form", f"Use {' or '.join(FORMS)}."
        )
    held = Held(desk)
    counts = {}
    with whole_folder(path) as folder:
        for number, name in enumerate(TABLES, 1):
            columns, rows = table(held, name)
            _write(os.path.join(folder, f"{name}.{form}"), columns, rows, form)
            counts[name] = len(rows)
            heard("writing tables", number, len(TABLES))
        with open(os.path.join(folder, "README.txt"), "w", encoding="utf-8") as file:
            file.write(_told(desk, counts))
    return counts


def table(held: Held, name: str) -> tuple[list[str], list[dict[str, Any]]]:
    """The columns and rows of one table; an absent value is None."""
    things = sorted({x for kind in TABLES[name] for x in held.by_class.get(kind, ())})
    derived = _DERIVED.get(name, ())
    shown = {
        p
        for x in things
        for p in held.predicates(x)
        if p not in ("rdf:type", "op:citation") and (p not in _INFERRED or p in derived)
    }
    predicates = sorted(shown, key=lambda p: (p not in derived, p not in _LABELLED, p))
    columns = {"id": ""}
    for predicate in predicates:
        columns[column(predicate)] = predicate
        if predicate in _LABELLED:
            columns[f"{column(predicate)}_label"] = predicate
    rows = [_row(held, x, predicates) for x in things]
    return [*columns, *_CITE], rows


def column(predicate: str) -> str:
    """The column of a property: its own word."""
    return predicate.split(":", 1)[1]


def _row(held: Held, thing: str, predicates: Sequence[str]) -> dict[str, Any]:
    row: dict[str, Any] = {"id": thing}
    for predicate in predicates:
        values = held.of(thing, predicate)
        row[column(predicate)] = _cell(values)
        if predicate in _LABELLED:
            labels = [held.label(v) for v in values]
            row[f"{column(predicate)}_label"] = _cell(labels)
    return {**row, **{k: v or None for k, v in cite_fields(held, thing).items()}}


def _cell(values: Sequence[Any]) -> Any:
    if not values:
        return None
    return values[0] if len(values) == 1 else " | ".join(str(v) for v in values)


def _write(path: str, columns: Sequence[str], rows: Sequence[Mapping[str, Any]], form: str) -> None:
    if form == "csv":
        with open(path, "w", encoding="utf-8", newline="") as file:
            _csv(file, columns, rows)
        return
    import pyarrow as pa
    from pyarrow import parquet

    arrays = {c: _array(pa, [row.get(c) for row in rows]) for c in columns}
    parquet.write_table(pa.table(arrays), path)


def _array(pa: Any, values: list[Any]) -> Any:
    """A column of one type: whole numbers, numbers, truths, or text where they are mixed."""
    kinds = {type(v) for v in values if v is not None}
    if kinds == {int}:
        return pa.array(values, pa.int64())
    if kinds and kinds <= {int, float}:
        return pa.array(values, pa.float64())
    if kinds == {bool}:
        return pa.array(values, pa.bool_())
    return pa.array([_text(v) for v in values], pa.string())


def _text(value: Any) -> str | None:
    if value is None:
        return None
    return ("true" if value else "false") if isinstance(value, bool) else str(value)


def _csv(file: io.TextIOBase, columns: Sequence[str], rows: Sequence[Mapping[str, Any]]) -> None:
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([_text(row.get(c)) for c in columns] for row in rows)


def _told(desk: Desk, counts: Mapping[str, int]) -> str:
    facts = desk.snapshot.facts
    lines = "\n".join(f"{name}: {n} rows" for name, n in counts.items())
    prefixes = json.dumps({k: PREFIXES[k] for k in ("op", "t", "s", "n", "c", "w", "pl", "src")})
    return f"""Opercle {facts["version"]}, snapshot {facts.get("hash") or "not kept"}.

Tables of stated facts, each with the source it is cited from, the page, and its basis:
"read" was read in that source, "recalled" was put down from memory and is still to be checked
there. Several values are joined by " | ". Doubted statements are kept and say so.
A statement that is not here is unknown, never "no".

{lines}

Prefixes: {prefixes}
Licence of the facts: CC0 1.0.
"""
