"""Whole runs of ``settle`` on small tables and on the invented examples."""

import csv
import gzip
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from importlib.util import find_spec

import pytest

from opercle.errors import FileError, UnknownError, UsageError
from opercle.records.joins import ADDED
from tests.benchmarks import varied

EXAMPLES = os.path.join(os.path.dirname(__file__), "..", "..", "examples", "records")


def write(path, *rows, delimiter=","):
    with open(path, "w", encoding="utf-8", newline="") as file:
        csv.writer(file, delimiter=delimiter).writerows(rows)
    return str(path)


def read(path):
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def run(know, tmp_path, *rows, **options):
    """Settle one small table and give its rows."""
    table = write(tmp_path / "t.csv", *rows)
    answer = know.settle([table], str(tmp_path / "out"), **options)
    return answer, read(tmp_path / "out" / "t-settled.csv")


def test_every_row_comes_out_in_order_with_its_own_columns_and_ours(know, tmp_path):
    answer, rows = run(
        know, tmp_path, ("id", "species", "n"), ("1", "walleye", "003"), ("2", "xyzzy", " 4 ")
    )
    assert list(rows[0]) == ["id", "species", "n", *ADDED]
    assert [(r["id"], r["n"]) for r in rows] == [("1", "003"), ("2", " 4 ")]
    assert rows[0]["scientificName"] == "Sander vitreus"
    assert rows[0]["genus"] == "Sander"
    assert rows[1]["outcome"] == "unknown"
    assert answer.outcome == "done"
    assert answer.fields["by_outcome"] == {"settled": 1, "open": 0, "unknown": 1}


def test_an_input_column_of_our_name_is_kept_under_verbatim(know, tmp_path):
    _, rows = run(
        know, tmp_path, ("commonName", "family", "outcome"), ("walleye", "perches", "kept")
    )
    assert rows[0]["verbatimFamily"] == "perches"
    assert rows[0]["verbatimOutcome"] == "kept"
    assert rows[0]["family"] == "Percidae"


def test_the_place_settles_what_the_name_leaves_open(know, tmp_path):
    _, rows = run(
        know,
        tmp_path,
        ("species", "river", "state"),
        ("black sea bass", "", "NJ"),
        ("black sea bass", "", ""),
    )
    assert (rows[0]["outcome"], rows[0]["scientificName"]) == ("settled", "Centropristis striata")
    assert "state" in rows[0]["settledBy"]
    assert rows[1]["outcome"] == "open"
    assert len(rows[1]["candidates"].split("|")) > 1


def test_two_names_that_disagree_leave_the_row_open_with_a_doubt(know, tmp_path):
    _, rows = run(
        know,
        tmp_path,
        ("commonName", "scientificName"),
        ("walleye", "Perca flavescens"),
        ("walleye", "Stizostedion vitreum"),
    )
    assert rows[0]["outcome"] == "open"
    assert rows[0]["doubts"] == "name-and-scientific-name-disagree"
    assert set(rows[0]["candidates"].split("|")) == {"Sander vitreus", "Perca flavescens"}
    assert rows[0]["verbatimScientificName"] == "Perca flavescens"
    assert rows[1]["scientificName"] == "Sander vitreus"


def test_several_fishes_in_one_cell_stay_one_open_row(know, tmp_path):
    _, rows = run(know, tmp_path, ("species",), ("walleye and yellow perch",))
    assert len(rows) == 1
    assert rows[0]["doubts"] == "several-fishes"
    assert set(rows[0]["candidates"].split("|")) == {"Sander vitreus", "Perca flavescens"}


def test_a_fish_bigger_than_known_is_doubted_and_its_name_stays(know, tmp_path):
    _, rows = run(know, tmp_path, ("species", "length_mm"), ("walleye", "450"), ("walleye", "2500"))
    assert [r["scientificName"] for r in rows] == ["Sander vitreus"] * 2
    assert [r["doubts"] for r in rows] == ["", "bigger-than-known"]


def test_a_date_before_the_name_existed_is_doubted(know, tmp_path):
    _, rows = run(know, tmp_path, ("scientificName", "year"), ("Micropterus cataractae", "1950"))
    assert rows[0]["doubts"] == "before-the-name-existed"
    assert rows[0]["outcome"] == "open"


def test_a_turtle_is_unknown_and_said_to_be_no_fish(know, tmp_path):
    _, rows = run(know, tmp_path, ("species",), ("snapping turtle",))
    assert (rows[0]["outcome"], rows[0]["doubts"]) == ("unknown", "not-a-fish")


# ---- decisions ---------------------------------------------------------------------------------


def decided(tmp_path, name, **fields):
    lines = read(tmp_path / "out" / "decisions.csv")
    for line in lines:
        if line["name"] == name:
            line.update(fields)
    path = tmp_path / "mine.csv"
    write(path, list(lines[0]), *(list(line.values()) for line in lines))
    return str(path)


TABLE = (("species", "state", "year"), ("xyzzy", "OH", "1990"), ("xyzzy", "MN", "1990"))


def test_a_stewards_decision_is_taken_for_its_name_place_and_year(know, tmp_path):
    run(know, tmp_path, *TABLE)
    path = decided(tmp_path, "xyzzy")
    lines = read(path)
    lines[0].update(decide_as="Sander vitreus", by="A. Steward", when="2024-05-01", note="card 7")
    write(path, list(lines[0]), *(list(line.values()) for line in lines))
    _, rows = run(know, tmp_path, *TABLE, decisions=path)
    place = lines[0]["place"]
    chosen = rows[0] if place.endswith("OH") else rows[1]
    other = rows[1] if place.endswith("OH") else rows[0]
    assert (chosen["scientificName"], chosen["settledBy"]) == ("Sander vitreus", "decision")
    assert chosen["identificationRemarks"] == "Decided by A. Steward on 2024-05-01: card 7"
    assert other["outcome"] == "unknown"
    assert read(tmp_path / "out" / "decisions.csv")[0]["by"] == "A. Steward"


def test_a_star_in_place_and_years_means_any(know, tmp_path):
    run(know, tmp_path, *TABLE)
    who = {"by": "A. Steward", "when": "2024-05-01"}
    path = decided(tmp_path, "xyzzy", decide_as="walleye", place="*", years="*", **who)
    _, rows = run(know, tmp_path, *TABLE, decisions=path)
    assert [r["scientificName"] for r in rows] == ["Sander vitreus"] * 2


def test_a_decision_without_who_and_when_is_an_error_with_its_line(know, tmp_path):
    run(know, tmp_path, *TABLE)
    path = decided(tmp_path, "xyzzy", decide_as="walleye")
    with pytest.raises(UsageError, match="who made it") as caught:
        run(know, tmp_path, *TABLE, decisions=path)
    assert "line 2" in caught.value.where


def test_a_decision_for_an_unknown_taxon_is_an_error(know, tmp_path):
    run(know, tmp_path, *TABLE)
    path = decided(tmp_path, "xyzzy", decide_as="plugh", by="A", when="2024")
    with pytest.raises(UsageError):
        run(know, tmp_path, *TABLE, decisions=path)


# ---- other kinds in and out --------------------------------------------------------------------

ROWS = (("id", "species", "state"), ("1", "walleye", "OH"), ("2", "PERCH, YELLOW", "OH"))
NAMES = ["Sander vitreus", "Perca flavescens"]


def test_gzip_tabs_semicolons_and_utf16_are_read(know, tmp_path):
    plain = "\n".join(",".join(f'"{c}"' for c in r) for r in ROWS) + "\n"
    with gzip.open(tmp_path / "a.csv.gz", "wt", encoding="utf-8") as file:
        file.write(plain)
    write(tmp_path / "b.tsv", *ROWS, delimiter="\t")
    write(tmp_path / "c.csv", *ROWS, delimiter=";")
    (tmp_path / "d.csv").write_bytes(plain.encode("utf-16"))
    (tmp_path / "e.csv").write_bytes(b"\xef\xbb\xbf" + plain.replace("\n", "\r\n").encode())
    files = [str(tmp_path / n) for n in ("a.csv.gz", "b.tsv", "c.csv", "d.csv", "e.csv")]
    know.settle(files, str(tmp_path / "out"))
    for stem in "abcde":
        rows = read(tmp_path / "out" / f"{stem}-settled.csv")
        assert [r["scientificName"] for r in rows] == NAMES, stem
        assert list(rows[0])[:3] == ["id", "species", "state"]


def test_a_latin1_table_is_read_as_windows_1252_and_that_is_said(know, tmp_path):
    (tmp_path / "t.csv").write_bytes("species,river\nwalleye,Rivière\n".encode("cp1252"))
    answer = know.settle([str(tmp_path / "t.csv")], str(tmp_path / "out"))
    assert read(tmp_path / "out" / "t-settled.csv")[0]["river"] == "Rivière"
    assert "read as Windows-1252" in answer.fields["columns"][0]["notes"]


def test_a_workbook_is_read_and_parquet_written(know, tmp_path):
    import openpyxl
    from pyarrow import parquet

    book = openpyxl.Workbook()
    for row in ROWS:
        book.active.append(row)
    book.save(tmp_path / "t.xlsx")
    know.settle([str(tmp_path / "t.xlsx")], str(tmp_path / "out"), to="parquet")
    table = parquet.read_table(tmp_path / "out" / "t-settled.parquet")
    assert table.column("scientificName").to_pylist() == NAMES
    know.settle([str(tmp_path / "out" / "t-settled.parquet")], str(tmp_path / "again"))
    again = parquet.read_table(tmp_path / "again" / "t-settled-settled.parquet")
    assert again.column("scientificName").to_pylist() == NAMES
    assert again.column("verbatimScientificName").to_pylist() == NAMES


def test_a_darwin_core_archive_goes_out_and_comes_in_again(know, tmp_path):
    table = write(tmp_path / "t.csv", *ROWS)
    know.settle([table], str(tmp_path / "out"), to="dwca")
    path = str(tmp_path / "out" / "t-dwca.zip")
    know.settle([path], str(tmp_path / "again"))
    rows = read(tmp_path / "again" / "t-dwca-settled.csv")
    assert [r["scientificName"] for r in rows] == NAMES
    assert json.loads(rows[0]["dynamicProperties"])["id"] == "1"


def test_the_archive_is_read_by_python_dwca_reader(know, tmp_path):
    know.settle([write(tmp_path / "t.csv", *ROWS)], str(tmp_path / "out"), to="dwca")
    reader = pytest.importorskip("dwca.read")
    term = "http://rs.tdwg.org/dwc/terms/scientificName"
    with reader.DwCAReader(str(tmp_path / "out" / "t-dwca.zip")) as archive:
        assert archive.descriptor.core.type.endswith("/Occurrence")
        assert [row.data[term] for row in archive] == NAMES


HANDLED = """
import sys
from dwcahandler import Dwca
archive = Dwca(sys.argv[1])
archive.extract_dwca()
print("|".join(archive.core_content.df_content["scientificName"]))
"""


@pytest.mark.skipif(find_spec("dwcahandler") is None, reason="dwcahandler is not installed")
def test_the_archive_is_read_by_dwcahandler(know, tmp_path):
    """Not in the extra ``test``: MPL-1.1, and it brings pandas, flake8 and pytest plug-ins along.

    In a process of its own, since its imports warn.
    """
    know.settle([write(tmp_path / "t.csv", *ROWS)], str(tmp_path / "out"), to="dwca")
    done = subprocess.run(
        [sys.executable, "-c", HANDLED, str(tmp_path / "out" / "t-dwca.zip")],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1].split("|") == NAMES


def test_names_of_an_older_list_stand_beside(know, tmp_path):
    rows = (("species",), ("walleye",))
    _, found = run(know, tmp_path, *rows, names_by="1990")
    assert found[0]["scientificName"] == "Sander vitreus"
    assert found[0]["scientificNameByList"] == "Stizostedion vitreum"
    with pytest.raises(UnknownError, match="names list"):
        run(know, tmp_path, *rows, names_by="no-such-list")


def test_formula_cells_are_kept_and_made_harmless_only_when_asked(know, tmp_path):
    rows = (("species", "note", "dt"), ("walleye", "=SUM(A1)", "-5"), ("@walleye", "+1 more", "1"))
    _, kept = run(know, tmp_path, *rows)
    assert [r["note"] for r in kept] == ["=SUM(A1)", "+1 more"]
    _, safe = run(know, tmp_path, *rows, spreadsheet_safe=True)
    assert [r["note"] for r in safe] == ["'=SUM(A1)", "'+1 more"]
    assert [r["dt"] for r in safe] == ["-5", "1"]
    assert safe[1]["verbatimIdentification"] == "'@walleye"
    assert safe[1]["scientificName"] == "Sander vitreus"


# ---- the examples ------------------------------------------------------------------------------


def test_the_example_tables_are_made_byte_for_byte_by_their_script(tmp_path):
    spec = importlib.util.spec_from_file_location(
        "make_records", os.path.join(EXAMPLES, "make_records.py")
    )
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    for made in module.main(str(tmp_path)):
        with (
            open(made, "rb") as one,
            open(os.path.join(EXAMPLES, os.path.basename(made)), "rb") as two,
        ):
            assert one.read() == two.read()


def test_the_examples_settle_with_every_row_accounted_for(know, tmp_path):
    files = [os.path.join(EXAMPLES, n) for n in ("river-log.csv", "lake-cards.tsv")]
    answer = know.settle(files, str(tmp_path))
    fields = answer.fields
    assert fields["rows_in"] == 2003
    assert fields["rows_in"] == fields["rows_out"] + fields["rows_rejected"]
    assert fields["rows_rejected"] == 3
    assert sum(fields["by_outcome"].values()) == fields["rows_out"]
    assert {
        "several-fishes",
        "not-a-fish",
        "bigger-than-known",
        "name-and-scientific-name-disagree",
        "writer-not-sure",
    } <= set(fields["by_doubt"])
    assert all(os.path.exists(path) for path in fields["files"])
    page = (tmp_path / "summary.html").read_text(encoding="utf-8")
    assert "What would settle" in page or "what would settle" in page
    assert "<script" not in page
    manifest = json.loads((tmp_path / "manifest.json").read_text(encoding="utf-8"))
    assert len(manifest["inputs"][0]["sha256"]) == 64


def test_a_heading_only_table_gives_headings_only(know, tmp_path):
    answer, rows = run(know, tmp_path, ("species", "state"))
    assert rows == []
    assert answer.fields["rows_in"] == 0
    with open(tmp_path / "out" / "t-settled.csv", encoding="utf-8") as file:
        assert file.read().startswith("species,state,verbatimIdentification")


def test_duplicate_headings_are_kept_and_told(know, tmp_path):
    table = write(tmp_path / "t.csv", ("species", "n", "n"), ("walleye", "1", "2"))
    answer = know.settle([table], str(tmp_path / "out"))
    with open(tmp_path / "out" / "t-settled.csv", encoding="utf-8", newline="") as file:
        head, row = list(csv.reader(file))
    assert head[:3] == ["species", "n", "n"]
    assert row[:3] == ["walleye", "1", "2"]
    assert any("twice" in note for note in answer.fields["columns"][0]["notes"])


def test_two_inputs_of_one_name_do_not_overwrite_each_other(know, tmp_path):
    for folder in ("a", "b"):
        os.mkdir(tmp_path / folder)
        write(tmp_path / folder / "t.csv", ("species",), ("walleye",))
    files = [str(tmp_path / f / "t.csv") for f in ("a", "b")]
    answer = know.settle(files, str(tmp_path / "out"))
    assert {"t-settled.csv", "t-2-settled.csv"} <= {
        os.path.basename(p) for p in answer.fields["files"]
    }


def test_a_missing_file_is_an_error_and_nothing_is_written(know, tmp_path):
    with pytest.raises(FileError):
        know.settle([str(tmp_path / "none.csv")], str(tmp_path / "out"))
    assert not os.path.exists(tmp_path / "out")


@pytest.mark.skipif(shutil.which("java") is None, reason="Spark needs Java")
def test_spark_makes_the_same_decisions_byte_for_byte(know, tmp_path):
    pytest.importorskip("pyspark")
    table = str(tmp_path / "t.csv")
    varied.write(know.desk, table, 4000)
    kinds = ({}, {"spreadsheet_safe": True, "names_by": "1990"})
    for number, options in enumerate(kinds):
        for engine in ("duckdb", "spark"):
            know.settle([table], str(tmp_path / f"{engine}{number}"), engine=engine, **options)
        one, two = (
            (tmp_path / f"{engine}{number}" / "t-settled.csv").read_bytes().splitlines()
            for engine in ("duckdb", "spark")
        )
        assert sorted(one) == sorted(two)
        assert len(one) == 4001
