"""Flat tables hold every statement that they say they carry."""

import csv

import pytest
from pyarrow import parquet

from opercle.errors import FileError, UsageError
from opercle.exports import tables


@pytest.fixture(scope="module")
def folder(know, out, shared_held):
    know.export("tables", str(out / "tables"))
    return out / "tables"


@pytest.mark.parametrize("name", tables.TABLES)
def test_a_table_has_a_row_for_each_thing_of_its_kind(folder, desk, name):
    kinds = " ".join(tables.TABLES[name])
    query = f"SELECT DISTINCT ?x {{ VALUES ?k {{ {kinds} }} ?x a ?k }}"
    held = {r["x"] for r in desk.snapshot.rows(query)}
    ids = parquet.read_table(folder / f"{name}.parquet", columns=["id"])["id"].to_pylist()
    assert held
    assert ids == sorted(held)


def test_a_table_has_every_stated_value(folder, desk):
    """Count statements: each property and value that the store holds stands in its row."""
    rows = {r["id"]: r for r in parquet.read_table(folder / "counts.parquet").to_pylist()}
    asked = desk.snapshot.rows(
        "SELECT ?s ?p ?o { ?s a op:CountStatement ; ?p ?o . "
        "FILTER (?p NOT IN (rdf:type, op:citation, op:brief, op:usuallyLeast, op:usuallyMost, "
        "op:cannotMeet, op:leansApartFrom)) }"
    )
    assert len(asked) > 1000
    for row in asked:
        assert rows[row["s"]][tables.column(row["p"])] == row["o"]


def test_every_statement_has_its_source_and_basis(folder):
    for name in ("counts", "states", "sizes", "ranges", "name_uses", "remarks", "contrasts"):
        table = parquet.read_table(folder / f"{name}.parquet")
        assert set(table["basis"].to_pylist()) <= {"read", "recalled"}
        assert None not in table["source"].to_pylist()


def test_numbers_are_numbers(folder):
    schema = parquet.read_schema(folder / "counts.parquet")
    assert str(schema.field("least").type) == "int64"
    assert str(parquet.read_schema(folder / "sizes.parquet").field("most").type) == "double"


def test_csv_says_what_parquet_says(know, folder, out):
    know.export("tables", str(out / "csv"), table_form="csv")
    with open(out / "csv" / "sizes.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for ours, theirs in zip(
        parquet.read_table(folder / "sizes.parquet").to_pylist(), rows, strict=True
    ):
        assert {k: "" if v is None else str(v) for k, v in ours.items()}.keys() == theirs.keys()
        assert str(ours["id"]) == theirs["id"]
        assert theirs["most"] == "" or float(theirs["most"]) == ours["most"]


def test_tables_never_go_into_a_file(know, tmp_path):
    place = tmp_path / "a.txt"
    place.write_text("mine")
    with pytest.raises(UsageError, match="a folder"):
        know.export("tables", str(place))
    assert place.read_text() == "mine"


def test_a_place_that_cannot_be_written_is_told(know, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(FileError) as caught:
        know.export("void", str(tmp_path / "file" / "x.ttl"))
    assert "-o" in caught.value.remedy


@pytest.mark.parametrize("form", ["skos", "dwca", "tables", "void"])
def test_inferred_is_refused_where_the_content_is_fixed(know, form, tmp_path):
    with pytest.raises(UsageError):
        know.export(form, str(tmp_path / "x"), inferred=True)


def test_an_unknown_form_lists_those_there_are(know):
    with pytest.raises(UsageError) as caught:
        know.export("word-processor")
    assert "turtle" in caught.value.remedy
