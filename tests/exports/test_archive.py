"""The Darwin Core archive, read by another reader (python-dwca-reader) and held to what it says it
carries."""

import zipfile
from collections import Counter
from xml.etree import ElementTree

import pytest
from dwca.read import DwCAReader
from dwca.rows import ExtensionRow

from opercle.exports import columns
from opercle.terms import PREFIXES

DWC, OP, DC = PREFIXES["dwc"], PREFIXES["op"], PREFIXES["dcterms"]
GBIF = "http://rs.gbif.org/terms/1.0/"


@pytest.fixture(scope="module")
def archive(know, out, shared_held):
    path = out / "fishes.zip"
    know.export("dwca", str(path))
    with DwCAReader(str(path)) as reader:
        core = [row.data for row in reader]
        by_type: dict = {}
        for file in reader.extension_files:
            for number, line in enumerate(file):
                row = ExtensionRow(line, number, file.file_descriptor)
                by_type.setdefault(row.rowtype, []).append((row.core_id, row.data))
    return core, by_type, path


def count(desk, query):
    return desk.snapshot.rows(query)[0]["n"]


def test_the_core_holds_every_taxon_and_every_other_scientific_name(archive, desk):
    core, _, _ = archive
    status = Counter(row[DWC + "taxonomicStatus"] for row in core)
    taxa = count(desk, "SELECT (COUNT(DISTINCT ?t) AS ?n) { ?t dwc:taxonRank ?r }")
    others = count(
        desk,
        "SELECT (COUNT(DISTINCT ?u) AS ?n) { ?u op:name ?x ; op:kind ?k . ?x a op:ScientificName "
        "MINUS { ?u op:doubted ?why } MINUS { ?u op:kind op:scientific ; op:followed true } }",
    )
    assert status["accepted"] == taxa
    assert status["synonym"] + status["misapplied"] == others > 500
    assert len({row[DWC + "taxonID"] for row in core}) == len(core)


def test_every_parent_and_accepted_name_is_a_row(archive):
    core, _, _ = archive
    ids = {row[DWC + "taxonID"] for row in core}
    for row in core:
        assert row[DWC + "acceptedNameUsageID"] in ids
        assert row[DWC + "parentNameUsageID"] in {*ids, ""}


def test_every_row_says_who_and_whether_it_was_read(archive):
    core, by_type, _ = archive
    rows = core + [data for rows in by_type.values() for _, data in rows]
    lacking = [r for r in rows if r[OP + "basis"] not in ("read", "recalled")]
    assert not lacking, lacking[:3]
    assert {r[OP + "basis"] for r in rows} == {"read", "recalled"}


@pytest.mark.parametrize(
    ("row_type", "query"),
    [
        (
            GBIF + "VernacularName",
            "SELECT ?s { ?s op:name ?x ; op:means ?t . ?x a op:CommonName . ?t dwc:taxonRank ?r "
            "MINUS { ?s op:doubted ?why } }",
        ),
        (
            GBIF + "Distribution",
            "SELECT ?s { ?s op:presence ?p ; op:about ?t . ?t dwc:taxonRank ?r "
            "MINUS { ?s op:doubted ?why } }",
        ),
    ],
)
def test_names_and_ranges_are_those_held(archive, desk, row_type, query):
    _, by_type, _ = archive
    held = {r["s"].value for r in desk.snapshot.raw(query)}
    rows = [data[DC + "identifier"] for _, data in by_type[row_type]]
    assert set(rows) == held
    assert len(rows) == len(held)


def test_measurements_are_the_counts_states_sizes_and_limits_held(archive, desk):
    _, by_type, _ = archive
    held = {
        r["s"].value
        for r in desk.snapshot.raw(
            "SELECT DISTINCT ?s { VALUES ?k { op:CountStatement op:RatioStatement "
            "op:StateStatement op:SizeStatement op:RangeLimit } ?s a ?k ; op:about ?t . "
            "?t dwc:taxonRank ?r MINUS { ?s op:doubted ?why } }"
        )
    }
    rows = by_type[DWC + "MeasurementOrFact"]
    assert {data[DWC + "measurementID"] for _, data in rows} == held
    assert len(rows) == len(held)
    assert all(data[DWC + "measurementValue"] for _, data in rows)


def test_a_measurement_says_the_figures_of_its_statement(archive, desk):
    _, by_type, _ = archive
    rows = {d[DWC + "measurementID"]: d for _, d in by_type[DWC + "MeasurementOrFact"]}
    asked = desk.snapshot.rows(
        "SELECT ?s ?least ?most { ?s a op:CountStatement ; op:least ?least ; op:most ?most "
        "MINUS { ?s op:doubted ?why } }"
    )
    for row in asked:
        told = rows[PREFIXES["s"] + row["s"].removeprefix("s:")]
        assert (told[OP + "least"], told[OP + "most"]) == (str(row["least"]), str(row["most"]))


def test_references_are_the_places_cited_for_each_taxon(archive, desk):
    _, by_type, _ = archive
    held = set()
    for path in ("?s op:about ?t", "?s op:means ?t", "BIND (?t AS ?s)"):
        query = f"SELECT ?t ?c {{ ?t dwc:taxonRank ?r . {path} . ?s op:citation ?c }}"
        found = desk.snapshot.raw(query.replace(") .", ")"))
        held |= {(r["t"].value, r["c"].value) for r in found}
    rows = by_type[GBIF + "Reference"]
    assert len(rows) == len(held)
    assert {key for key, _ in rows} == {t for t, _ in held}


def test_the_descriptor_names_every_file_and_column(archive):
    _, _, path = archive
    space = "{http://rs.tdwg.org/dwc/text/}"
    with zipfile.ZipFile(path) as pack:
        root = ElementTree.fromstring(pack.read("meta.xml"))
        for part in [*root.findall(f"{space}core"), *root.findall(f"{space}extension")]:
            name = part.findtext(f"{space}files/{space}location")
            first = pack.read(name).decode().splitlines()[0]
            columns = {0, *(int(f.get("index")) for f in part.findall(f"{space}field"))}
            assert columns == set(range(len(first.split(","))))
        eml = ElementTree.fromstring(pack.read("eml.xml"))
    assert eml.findtext("dataset/title")
    assert "CC0" in "".join(eml.find("dataset/intellectualRights").itertext())


def test_the_same_knowledge_makes_the_same_archive(know, archive, out):
    know.export("dwca", str(out / "again.zip"))
    assert (out / "again.zip").read_bytes() == archive[2].read_bytes()


def test_our_own_reader_takes_the_core(archive):
    from opercle.records import dwca

    assert "scientificName" in dwca.opened(str(archive[2])).headings


def test_every_column_has_a_term():
    for part in columns.PARTS.values():
        assert len({columns.term(c) for c in part.columns}) == len(part.columns)
