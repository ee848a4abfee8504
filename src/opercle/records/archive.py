"""Darwin Core archives out: occurrences with what was decided, one zip.

Knows: which columns are Darwin Core terms; the rest goes whole into ``dynamicProperties``.
Refuses to know: anything the rows do not say; only ``basisOfRecord``, which every reader asks
for, is set to the general word "Occurrence" where the rows have none.
"""

import csv
import io
import json
import os
import zipfile
from collections.abc import Iterator, Mapping
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from opercle.records.job import Done

_TERMS = frozenset(
    [
        "occurrenceID",
        "basisOfRecord",
        "institutionCode",
        "collectionCode",
        "catalogNumber",
        "recordNumber",
        "recordedBy",
        "individualCount",
        "sex",
        "lifeStage",
        "eventID",
        "eventDate",
        "verbatimEventDate",
        "year",
        "month",
        "day",
        "habitat",
        "samplingProtocol",
        "locationID",
        "waterBody",
        "country",
        "countryCode",
        "stateProvince",
        "county",
        "municipality",
        "locality",
        "verbatimLocality",
        "decimalLatitude",
        "decimalLongitude",
        "geodeticDatum",
        "coordinateUncertaintyInMeters",
        "identifiedBy",
        "dateIdentified",
        "organismQuantity",
        "organismQuantityType",
        "occurrenceStatus",
        "occurrenceRemarks",
        "scientificName",
        "scientificNameAuthorship",
        "taxonRank",
        "family",
        "genus",
        "vernacularName",
        "verbatimIdentification",
        "identificationRemarks",
        "kingdom",
        "phylum",
        "class",
        "order",
        "specificEpithet",
    ]
)
_ROLES = {"water": "waterBody", "state": "stateProvince", "country": "country", "year": "year"}
_DWC = "http://rs.tdwg.org/dwc/terms/"


def write(one: Done, path: str) -> int:
    """Write the archive of one input to ``path``; returns the number of rows written."""
    headings = list(one.plan.distinct)
    terms = _terms(one, headings)
    own = [t for t in dict.fromkeys(terms.values()) if t not in ("basisOfRecord", "occurrenceID")]
    out = ["id", "occurrenceID", "basisOfRecord", *own, "dynamicProperties"]
    count = 0
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as pack:
        with pack.open("occurrence.csv", "w", force_zip64=True) as raw:
            text = io.TextIOWrapper(raw, encoding="utf-8", newline="")
            writer = csv.writer(text, lineterminator="\n", quoting=csv.QUOTE_ALL)
            writer.writerow(out)
            for row in _rows(one):
                count += 1
                writer.writerow(_line(row, terms, own, one.source.stem, count))
            text.flush()
            text.detach()
        pack.writestr("meta.xml", _meta(out))
        pack.writestr("eml.xml", _eml(one))
    return count


def _terms(one: Done, headings: list[str]) -> dict[str, str]:
    """Which column goes under which term."""
    width = len(one.source.headings)
    found = {h: h for h in headings if h in _TERMS}
    for role, term in _ROLES.items():
        at = one.columns.by_role.get(role)
        if at is not None and term not in found.values():
            found[headings[at]] = term
    at = one.columns.by_role.get("date")
    if at is not None and not {"eventDate", "verbatimEventDate"} & set(found.values()):
        found[headings[at]] = "verbatimEventDate"
    assert width <= len(headings)
    return found


def _rows(one: Done) -> Iterator[Mapping[str, Any]]:
    from pyarrow import parquet

    for part in one.rows:
        with parquet.ParquetFile(part) as file:
            for batch in file.iter_batches(batch_size=10_000):
                yield from batch.to_pylist()


def _line(
    row: Mapping[str, Any], terms: Mapping[str, str], own: list[str], stem: str, number: int
) -> list[str]:
    by_term = {term: row[heading] for heading, term in terms.items()}
    rest = {h: v for h, v in row.items() if h not in terms and v is not None}
    key = f"{stem}:{number}"
    told = json.dumps(rest, ensure_ascii=False, default=str, sort_keys=True)
    return [
        key,
        by_term.get("occurrenceID") or key,
        by_term.get("basisOfRecord") or "Occurrence",
        *("" if by_term[t] is None else str(by_term[t]) for t in own),
        told,
    ]


def _meta(columns: list[str]) -> str:
    fields = "\n".join(
        f"    <field index={quoteattr(str(i))} term={quoteattr(_DWC + name)}/>"
        for i, name in enumerate(columns)
        if i
    )
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<archive xmlns="http://rs.tdwg.org/dwc/text/" metadata="eml.xml">
  <core encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\n" fieldsEnclosedBy='"' \
ignoreHeaderLines="1" rowType="{_DWC}Occurrence">
    <files><location>occurrence.csv</location></files>
    <id index="0"/>
{fields}
  </core>
</archive>
"""


def _eml(one: Done) -> str:
    name = escape(os.path.basename(one.source.path))
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<eml:eml xmlns:eml="https://eml.ecoinformatics.org/eml-2.2.0" packageId="{one.staged.sha256}" \
system="opercle" xml:lang="en">
  <dataset>
    <title>{name}, names settled</title>
    <creator><organizationName>not said</organizationName></creator>
    <language>en</language>
    <abstract><para>The rows of {name} with the name as written and what it was settled as. \
Rows left open have no scientificName.</para></abstract>
    <contact><organizationName>not said</organizationName></contact>
  </dataset>
</eml:eml>
"""
