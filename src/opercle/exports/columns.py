"""The files of the Darwin Core archive and their columns.

Knows: row types, columns, and the address of each column's term. Columns of our own are addressed
in ``https://opercle.example/ns#``.
Refuses to know: rows.
"""

from typing import NamedTuple

from opercle.terms import PREFIXES

_DWC, _DC, _OP = PREFIXES["dwc"], PREFIXES["dcterms"], PREFIXES["op"]
_GBIF = "http://rs.gbif.org/terms/1.0/"
CITE = ("dcterms:source", "op:page", "op:basis")


class Part(NamedTuple):
    """One file of the archive: its row type and its columns, the first the taxon's id."""

    file: str
    row_type: str
    columns: tuple[str, ...]


PARTS = {
    "taxon": Part(
        "taxon.csv",
        _DWC + "Taxon",
        (
            "taxonID",
            "parentNameUsageID",
            "acceptedNameUsageID",
            "scientificNameID",
            "scientificName",
            "scientificNameAuthorship",
            "taxonRank",
            "family",
            "genus",
            "vernacularName",
            "taxonomicStatus",
            "nomenclaturalCode",
            "taxonRemarks",
            *CITE,
        ),
    ),
    "vernacular": Part(
        "vernacular.csv",
        _GBIF + "VernacularName",
        (
            "coreid",
            "dcterms:identifier",
            "vernacularName",
            "dcterms:language",
            "locality",
            "dcterms:temporal",
            "gbif:isPreferredName",
            "op:kind",
            "taxonRemarks",
            *CITE,
        ),
    ),
    "distribution": Part(
        "distribution.csv",
        _GBIF + "Distribution",
        (
            "coreid",
            "dcterms:identifier",
            "locationID",
            "locality",
            "countryCode",
            "occurrenceStatus",
            "establishmentMeans",
            "occurrenceRemarks",
            *CITE,
        ),
    ),
    "measurement": Part(
        "measurement.csv",
        _DWC + "MeasurementOrFact",
        (
            "coreid",
            "measurementID",
            "measurementType",
            "measurementValue",
            "measurementUnit",
            "measurementMethod",
            "measurementRemarks",
            "op:onCharacter",
            "op:least",
            "op:most",
            "op:usualLeast",
            "op:usualMost",
            "op:verbatim",
            *CITE,
        ),
    ),
    "reference": Part(
        "reference.csv",
        _GBIF + "Reference",
        (
            "coreid",
            "dcterms:identifier",
            "dcterms:bibliographicCitation",
            "dcterms:title",
            "dcterms:creator",
            "dcterms:date",
            "dcterms:source",
            "dcterms:type",
            "op:page",
            "op:basis",
        ),
    ),
}


def term(column: str) -> str:
    """The address of a column's term."""
    prefix, colon, local = column.partition(":")
    spaces = {"dcterms": _DC, "op": _OP, "gbif": _GBIF}
    return spaces[prefix] + local if colon else _DWC + column
