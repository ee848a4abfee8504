"""A steward's table is checked row by row, and what settle writes keeps the shapes."""

from pathlib import Path

import pytest

from opercle import check, occurrences
from opercle.errors import FileError
from opercle.questions import check as question

HEAD = "scientificName,taxonRank,genus,year,decimalLatitude,decimalLongitude,outcome,remark\n"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    return tmp_path / "rows.csv"


def found(path: Path, body: str, head: str = HEAD) -> list[tuple[int | None, str]]:
    path.write_text(head + body, encoding="utf-8")
    return [(f.line, f.shape) for f in check.findings(check.ground([str(path)], []))]


def test_a_sound_row_keeps_the_shapes(table: Path) -> None:
    assert found(table, "Perca flavescens,species,Perca,1984,41.5,-82.7,,anything\n") == []


def test_a_fault_is_told_with_the_line_on_which_its_row_begins(table: Path) -> None:
    body = 'Perca flavescens,species,Perca,1984,,,,"two\nlines"\nPerca flavescens,kind,,84,,,,\n'
    assert found(table, body) == [(4, "record-rank"), (4, "record-year")]


def test_a_cell_left_empty_says_nothing_and_an_empty_line_is_no_row(table: Path) -> None:
    assert found(table, ",,,,,,,\n\n") == []


def test_a_number_that_is_none_is_a_fault_and_not_an_error(table: Path) -> None:
    assert found(table, ",,,ca. 1984,north,12,,\n") == [(2, "record-latitude"), (2, "record-year")]


def test_headings_may_carry_a_prefix_or_other_case(table: Path) -> None:
    assert found(table, "84\n", "dwc:Year\n") == [(2, "record-year")]


def test_rows_of_two_tables_keep_apart(tmp_path: Path) -> None:
    paths = [str(tmp_path / name) for name in ("one.csv", "two.csv")]
    for path in paths:
        Path(path).write_text("year\n84\n", encoding="utf-8")
    findings = check.findings(check.ground(paths, []))
    assert [(f.file, f.line) for f in findings] == [(p, 2) for p in paths]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"what,where\na,b\n", "No column"),
        (b"", "No column"),
        (b"year\n\xff\xfe\n", "CSV in UTF-8"),
    ],
)
def test_a_table_that_cannot_be_read_as_records_is_told(
    table: Path, content: bytes, says: str
) -> None:
    table.write_bytes(content)
    with pytest.raises(FileError) as caught:
        list(occurrences.read(str(table)))
    assert says in f"{caught.value.what} {caught.value.remedy}"
    assert caught.value.where == str(table)


def test_a_table_that_is_not_there_is_told() -> None:
    with pytest.raises(FileError, match="cannot be read"):
        check.ground(["/no/such/table.csv"], [])


def test_the_rows_that_settle_writes_keep_the_shapes(know, tmp_path: Path) -> None:
    """An invented log with settled, open and unknown names, dates, places and doubts."""
    log = tmp_path / "log.csv"
    log.write_text(
        "date,river,state,fish,length (in)\n"
        "1984-05-12,Ocmulgee River,GA,redear sunfish,8\n"
        "1975-03-14,Flint River,GA,redeye bass,11\n"
        "1990-07-01,,OH,bass,9\n"
        "1990-07-01,,OH,black bass,60\n"
        "1990-07-01,Flint River,GA,xyzzy,9\n"
        "1990-07-01,Flint River,GA,2 bluegill and a gar,\n"
        "1990-07-01,Flint River,GA,,4\n",
        encoding="utf-8",
    )
    out = tmp_path / "settled"
    told = know.settle([str(log)], str(out))
    assert sum(1 for n in told.fields["by_outcome"].values() if n) == 3
    answer = question.ask([str(out / "log-settled.csv")])
    assert answer.fields["findings"] == []
    assert answer.outcome == "conforms"
