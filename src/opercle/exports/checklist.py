"""The taxa as a Darwin Core archive: a checklist with four extensions, one zip.

Knows: the Darwin Core text guidelines (Biodiversity Information Standards, 2009-2021), the row
types that checklist readers share, and that every row has its citation and basis.
Refuses to know: what the archive does not carry (see ``FORMS``); doubted statements stay out.

Core ``taxon.csv``: every taxon (``taxonomicStatus`` accepted) and every other scientific name used
for it (synonym, misapplied). Extensions: ``vernacular.csv``, ``distribution.csv``,
``measurement.csv`` (counts, proportions, states, sizes, range limits), ``reference.csv``.
Columns of our own are addressed in ``https://opercle.example/ns#``.
"""

import csv
import io
import zipfile
from collections.abc import Iterator, Sequence
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from opercle.exports.columns import CITE, PARTS, Part, term
from opercle.exports.held import Held, address, cite_fields
from opercle.exports.writing import Heard, whole
from opercle.questions.desk import Desk
from opercle.wording import count_range

LICENCE = "https://creativecommons.org/publicdomain/zero/1.0/legalcode"
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the same knowledge makes the same archive, byte for byte

Row = dict[str, Any]


_STATUS = {
    "op:native": ("present", "native"),
    "op:introduced": ("present", "introduced"),
    "op:absent": ("absent", ""),
    "op:disputed": ("present", "uncertain"),
}
_MEASURED = ("op:CountStatement", "op:RatioStatement", "op:StateStatement")
_OF_WHOM = ("sex", "stage", "population", "sampleSize", "fromLength", "toLength", "underName")


def write(desk: Desk, path: str, heard: Heard) -> dict[str, int]:
    """Write the archive; returns the number of rows of each part."""
    held = Held(desk)
    counts: dict[str, int] = {}
    with whole(path) as file, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as pack:
        for number, name in enumerate(PARTS):
            heard("writing the archive", number, len(PARTS))
            rows = list(rows_of(held, name))
            counts[name] = len(rows)
            _add(pack, PARTS[name].file, _csv(PARTS[name].columns, rows))
        _add(pack, "meta.xml", meta())
        _add(pack, "eml.xml", _eml(desk, counts))
        heard("writing the archive", len(PARTS), len(PARTS))
    return counts


def rows_of(held: Held, name: str) -> Iterator[Row]:
    """The rows of one part, by column; absent values are left out."""
    return {
        "taxon": _taxa,
        "vernacular": _vernaculars,
        "distribution": _distributions,
        "measurement": _measurements,
        "reference": _references,
    }[name](held)


def _cite(held: Held, thing: str) -> Row:
    found = cite_fields(held, thing)
    return dict(zip(CITE, (found["source"], found["page"], found["basis"]), strict=True))


def _taxa(held: Held) -> Iterator[Row]:
    for taxon in held.taxa:
        about = held.desk.about(taxon)
        yield {
            "taxonID": address(taxon),
            "parentNameUsageID": address(held.one(taxon, "op:parentTaxon")),
            "acceptedNameUsageID": address(taxon),
            "scientificName": held.one(taxon, "dwc:scientificName") or held.label(taxon),
            "scientificNameAuthorship": held.one(taxon, "dwc:scientificNameAuthorship"),
            "taxonRank": held.one(taxon, "dwc:taxonRank"),
            "family": held.one(held.one(taxon, "op:inFamily"), "dwc:scientificName"),
            "genus": _genus(held, taxon),
            "vernacularName": about.get("vernacular") or _english(held, taxon),
            "taxonomicStatus": "accepted",
            "nomenclaturalCode": "ICZN",
            **_cite(held, taxon),
        }
    for use in held.uses:
        if _other_scientific(held, use):
            yield _synonym(held, use)


def _genus(held: Held, taxon: str) -> str:
    """The genus by placement, of the taxon itself or of what it stands under."""
    line = [taxon, *held.of(taxon, "op:hasAncestor")]
    genera = [t for t in line if held.one(t, "dwc:taxonRank") == "genus"]
    return str(held.one(genera[0], "dwc:scientificName") or "") if genera else ""


def _english(held: Held, taxon: str) -> str:
    labels = [t for t in held.terms(taxon, "skos:prefLabel") if t.language == "en"]
    return labels[0].value if labels else ""


def _scientific(held: Held, use: str) -> bool:
    return "op:ScientificName" in held.of(held.one(use, "op:name"), "rdf:type")


def _other_scientific(held: Held, use: str) -> bool:
    """Whether a use is of a scientific name that is not the one followed."""
    if not _scientific(held, use):
        return False
    return held.one(use, "op:kind") != "op:scientific" or not held.one(use, "op:followed")


def _synonym(held: Held, use: str) -> Row:
    name, taxon = held.one(use, "op:name"), held.one(use, "op:means")
    authors, year = held.one(name, "op:authors"), held.one(name, "op:year")
    kind = held.one(use, "op:kind")
    return {
        "taxonID": address(use),
        "acceptedNameUsageID": address(taxon),
        "scientificNameID": address(name),
        "scientificName": held.one(name, "skosxl:literalForm"),
        "scientificNameAuthorship": ", ".join(str(v) for v in (authors, year) if v),
        "taxonRank": held.one(taxon, "dwc:taxonRank"),
        "family": held.one(held.one(taxon, "op:inFamily"), "dwc:scientificName"),
        "taxonomicStatus": "misapplied" if kind == "op:misapplied" else "synonym",
        "nomenclaturalCode": "ICZN",
        "taxonRemarks": held.one(use, "op:text"),
        **_cite(held, use),
    }


def _vernaculars(held: Held) -> Iterator[Row]:
    for use in held.uses:
        if _scientific(held, use):
            continue
        form = held.terms(held.one(use, "op:name"), "skosxl:literalForm")[0]
        kind = str(held.one(use, "op:kind")).removeprefix("op:")
        years = [held.one(use, "op:from"), held.one(use, "op:until")]
        followed = kind == "standard" and held.one(use, "op:followed")
        yield {
            "coreid": address(held.one(use, "op:means")),
            "dcterms:identifier": address(use),
            "vernacularName": form.value,
            "dcterms:language": form.language or "",
            "locality": " | ".join(held.label(p) for p in held.of(use, "op:where")),
            "dcterms:temporal": "/".join(str(y or "..") for y in years) if any(years) else "",
            "gbif:isPreferredName": "true" if followed else "false",
            "op:kind": kind,
            "taxonRemarks": held.one(use, "op:text"),
            **_cite(held, use),
        }


def _distributions(held: Held) -> Iterator[Row]:
    for stated in _used(held, ("op:RangeStatement",)):
        where = held.one(stated, "op:where")
        presence, means = _STATUS[held.one(stated, "op:presence")]
        disputed = "whether native or introduced is disputed" if means == "uncertain" else ""
        yield {
            "coreid": address(held.one(stated, "op:about")),
            "dcterms:identifier": address(stated),
            "locationID": address(where),
            "locality": held.label(where),
            "countryCode": str(held.one(where, "op:isoCode") or "").partition("-")[0],
            "occurrenceStatus": presence,
            "establishmentMeans": means,
            "occurrenceRemarks": disputed,
            **_cite(held, stated),
        }


def _used(held: Held, kinds: Sequence[str]) -> Iterator[str]:
    """The statements of these kinds about taxa that are not doubted."""
    taxa = frozenset(held.taxa)
    for kind in kinds:
        for stated in held.by_class.get(kind, ()):
            if held.one(stated, "op:about") in taxa and not held.doubted(stated):
                yield stated


def _measurements(held: Held) -> Iterator[Row]:
    for stated in _used(held, _MEASURED):
        character = held.one(stated, "op:onCharacter")
        yield {
            "measurementType": held.label(character),
            "op:onCharacter": character,
            "measurementMethod": held.one(character, "skos:definition"),
            **_measured(held, stated),
        }
    for stated in _used(held, ("op:SizeStatement",)):
        kind = f"{held.one(stated, 'op:extent')} {held.one(stated, 'op:dimension')}"
        yield {"measurementType": kind.replace("-", " "), **_measured(held, stated)}
    for stated in _used(held, ("op:RangeLimit",)):
        places = [held.label(p) for p in held.of(stated, "op:inside")]
        value = {"measurementType": "known only from", "measurementValue": " | ".join(places)}
        yield {**_measured(held, stated), **value}


def _measured(held: Held, stated: str) -> Row:
    numbers = {f"op:{k}": held.one(stated, f"op:{k}") for k in ("least", "most", *_USUAL)}
    said = [f"{key}: {held.one(stated, f'op:{key}')}" for key in _OF_WHOM]
    return {
        "coreid": address(held.one(stated, "op:about")),
        "measurementID": address(stated),
        "measurementValue": _value(held, stated),
        "measurementUnit": held.one(stated, "op:unit"),
        "measurementRemarks": "; ".join(line for line in said if not line.endswith(": None")),
        "op:verbatim": held.one(stated, "op:verbatim"),
        **numbers,
        **_cite(held, stated),
    }


_USUAL = ("usualLeast", "usualMost")


def _value(held: Held, stated: str) -> str:
    """A range as ``3-5``, or states by their labels; the usual state marked."""
    states = held.of(stated, "op:state")
    if states:
        usual = held.of(stated, "op:usualState")
        told = [held.label(s) + (" (usual)" if s in usual else "") for s in states]
        return " | ".join(told)
    keys = ("op:least", "op:most", "op:usualLeast", "op:usualMost")
    row = {k: held.of(stated, k) for k in keys}
    return str(count_range({k: v for k, v in row.items() if v})) if row["op:least"] else ""


def _references(held: Held) -> Iterator[Row]:
    """Each place in a source that anything about a taxon cites, once a taxon."""
    taxa, seen = frozenset(held.taxa), set()
    for kind, things in sorted(held.by_class.items()):
        if not (kind.startswith("op:") or kind == "dwc:Taxon"):
            continue
        for thing in things:
            about = [t for p in ("op:about", "op:means") for t in held.of(thing, p)]
            for taxon in [t for t in (thing, *about) if t in taxa]:
                for cite in held.of(thing, "op:citation"):
                    if (taxon, cite) not in seen:
                        seen.add((taxon, cite))
                        yield _reference(held, taxon, cite)


def _reference(held: Held, taxon: str, cite: str) -> Row:
    source = held.one(cite, "dcterms:source")
    found = {k: held.one(source, f"dcterms:{k}") for k in ("title", "creator", "date", "type")}
    cited = [found["creator"], found["date"], found["title"], held.one(source, "dcterms:publisher")]
    return {
        "coreid": address(taxon),
        "dcterms:identifier": address(source),
        "dcterms:bibliographicCitation": ". ".join(str(v).rstrip(".") for v in cited if v) + ".",
        **{f"dcterms:{k}": v for k, v in found.items()},
        "dcterms:source": held.one(source, "dcterms:isPartOf"),
        "op:page": held.one(cite, "schema:pagination"),
        "op:basis": str(held.one(cite, "op:basis")).removeprefix("op:"),
    }


def _csv(columns: Sequence[str], rows: Sequence[Row]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL)
    writer.writerow([c.split(":")[-1] for c in columns])
    for row in rows:
        writer.writerow(["" if row.get(c) is None else _one_line(str(row[c])) for c in columns])
    return out.getvalue()


def _one_line(text: str) -> str:
    """No line break inside a cell: not every reader of archives bears one."""
    return " ".join(text.split()) if "\n" in text or "\r" in text else text


def _add(pack: zipfile.ZipFile, name: str, text: str) -> None:
    entry = zipfile.ZipInfo(name, _EPOCH)
    entry.compress_type = zipfile.ZIP_DEFLATED
    pack.writestr(entry, text.encode())


def meta() -> str:
    """What each file and column is, as the text guidelines write it."""
    told = "\n".join(_part(name, part) for name, part in PARTS.items())
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<archive xmlns="http://rs.tdwg.org/dwc/text/" metadata="eml.xml">
{told}
</archive>
"""


def _part(name: str, part: Part) -> str:
    tag, key = ("core", "id") if name == "taxon" else ("extension", "coreid")
    fields = "\n".join(
        f"    <field index={quoteattr(str(i))} term={quoteattr(term(column))}/>"
        for i, column in enumerate(part.columns)
        if column != "coreid"
    )
    return f"""  <{tag} encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\n" \
fieldsEnclosedBy='"' ignoreHeaderLines="1" rowType="{part.row_type}">
    <files><location>{part.file}</location></files>
    <{key} index="0"/>
{fields}
  </{tag}>"""


def _eml(desk: Desk, counts: dict[str, int]) -> str:
    facts = desk.snapshot.facts
    told = ", ".join(f"{n} {name} rows" for name, n in counts.items())
    packs = ", ".join(facts.get("packs", []))
    laid = f" Local packs laid over the knowledge: {packs}." if packs else ""
    key = escape(str(facts.get("hash") or facts["version"]))
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<eml:eml xmlns:eml="https://eml.ecoinformatics.org/eml-2.2.0" packageId="opercle-{key}" \
system="opercle" xml:lang="en">
  <dataset>
    <title>Opercle: fishes, their names, characters and waters, with their sources</title>
    <creator><organizationName>Opercle</organizationName></creator>
    <metadataProvider><organizationName>Opercle</organizationName></metadataProvider>
    <language>en</language>
    <abstract><para>A checklist of fishes from Opercle {facts["version"]}: {told}. Every row names \
its source, and says in “basis” whether it was read in that source or recalled from memory and \
still to be checked there. A statement that is not here is unknown, never “no”.{escape(laid)}\
</para></abstract>
    <intellectualRights><para>To the extent possible under law, the facts are given to the public \
domain: <ulink url="{LICENCE}"><citetitle>CC0 1.0</citetitle></ulink>.</para></intellectualRights>
    <contact><organizationName>Opercle</organizationName></contact>
  </dataset>
</eml:eml>
"""
