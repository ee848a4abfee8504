"""What `opercle check` promises beside its shapes: places, errors, files laid over, speed."""

import json
import os
import time
from pathlib import Path

import pyoxigraph as ox
import pytest

from opercle import assets, check
from opercle.errors import FileError
from opercle.faces import cli
from opercle.questions import check as question

ROOT = assets.folder("ontology")
UNDER = [os.path.join(ROOT, "opercle.ttl"), os.path.join(ROOT, "borrowed.ttl")]
HEAD = """@prefix op: <https://opercle.example/ns#> .
@prefix pl: <https://opercle.example/place/> .
@prefix my: <https://opercle.example/place/> .
@prefix dwc: <http://rs.tdwg.org/dwc/terms/> .
"""


@pytest.fixture
def written(tmp_path: Path) -> str:
    return str(tmp_path / "pack.ttl")


def put(path: str, body: str) -> list[check.Finding]:
    Path(path).write_text(HEAD + body, encoding="utf-8")
    return check.findings(check.ground([path], UNDER))


def lines(found: list[check.Finding]) -> set[int | None]:
    return {finding.line for finding in found}


def test_a_finding_points_to_the_line_where_its_subject_is_defined(written: str) -> None:
    assert lines(put(written, "\n# a remark\n\npl:Nowhere a op:Place .\n")) == {8}


def test_a_subject_may_be_written_with_any_prefix_of_its_file(written: str) -> None:
    assert lines(put(written, "my:Nowhere a op:Place .\n")) == {5}


def test_a_subject_may_be_written_as_a_whole_address(written: str) -> None:
    assert lines(put(written, "\n<https://opercle.example/place/Nowhere>\n  a op:Place .\n")) == {6}


def test_an_indented_subject_is_found_and_an_indented_object_is_not_taken_for_one(
    written: str,
) -> None:
    body = "pl:Here op:partOf\n    pl:Nowhere .\n  # so\n  pl:Nowhere a op:Place .\n"
    found = put(written, body)
    assert {f.line for f in found if f.subject == "pl:Nowhere"} == {8}


def test_two_statements_on_one_line_both_have_that_line(written: str) -> None:
    found = put(written, "pl:Here a op:Place . pl:There a op:Place .\n")
    assert {finding.subject for finding in found} == {"pl:Here", "pl:There"}
    assert lines(found) == {5}


def test_a_subject_without_an_address_is_told_by_file_alone(written: str) -> None:
    found = put(written, "[] a op:Place .\n")
    assert found
    assert {(finding.file, finding.line) for finding in found} == {(written, None)}


def test_a_file_of_the_knowledge_laid_over_itself_is_told_by_the_path_given() -> None:
    path = os.path.join(ROOT, "words.ttl")
    facts = check.ground([path])
    assert next(iter(facts.paths)) == path
    assert not [f for f in check.findings(facts) if f.file != path]


def test_only_what_a_file_states_is_told_of_it(written: str) -> None:
    Path(written).write_text(HEAD, encoding="utf-8")
    answer = question.ask([written])
    assert answer.outcome == question.CONFORMS
    assert answer.fields["findings"] == []


def test_malformed_turtle_is_told_by_file_and_line_with_what_to_do(written: str) -> None:
    with pytest.raises(FileError) as told:
        put(written, "pl:Nowhere a\n  ;;; .\n")
    assert told.value.where == f"{written}, line 6"
    assert "Mend that line" in told.value.remedy


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"\x00" * 40, b"@prefix : <\xc3> .", b"{"])
def test_a_file_of_rubbish_ends_in_an_error_that_names_it(written: str, content: bytes) -> None:
    Path(written).write_bytes(content)
    with pytest.raises(FileError) as told:
        check.ground([written], UNDER)
    assert written in told.value.where


def test_a_missing_file_and_a_folder_are_told_by_their_path(tmp_path: Path) -> None:
    for path in (str(tmp_path / "none.ttl"), str(tmp_path)):
        with pytest.raises(FileError) as told:
            check.ground([path], UNDER)
        assert told.value.where == path


def test_the_command_ends_with_4_where_a_file_is_missing(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert cli.main(["check", "no-such-file.ttl"]) == 4
    assert "no-such-file.ttl" in capsys.readouterr().err


def test_the_command_ends_with_1_on_faults_and_tells_each_as_the_contract_says(
    written: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path(written).write_text(HEAD + "pl:Nowhere a op:Place .\n", encoding="utf-8")
    assert cli.main(["check", written, "--json"]) == cli.FAULTS
    told = json.loads(capsys.readouterr().out)
    assert told["outcome"] == "faults"
    for key in ("file", "line", "subject", "shape", "says", "cites", "severity"):
        assert all(key in finding for finding in told["findings"])


def test_warnings_alone_are_no_faults() -> None:
    path = os.path.join(
        os.path.dirname(os.path.dirname(__file__)), "faults", "code-67-genus-type.ttl"
    )
    answer = question.ask([path])
    assert answer.outcome == question.CONFORMS
    assert {finding["severity"] for finding in answer.fields["findings"]} == {check.WARNING}
    assert "1 warning" in answer.answer


def test_violations_are_told_before_warnings() -> None:
    faults = os.path.join(os.path.dirname(os.path.dirname(__file__)), "faults")
    paths = [os.path.join(faults, name) for name in ("character-cited.ttl", "size-unit.ttl")]
    found = check.findings(check.ground(paths, UNDER))
    assert [finding.severity for finding in found] == [check.VIOLATION, check.WARNING]


def test_a_value_in_a_sentence_is_written_as_a_prefixed_name() -> None:
    query = check.Query("x", "", "{?value} or {other} or {none}.", "", check.VIOLATION)
    row = {"value": ox.NamedNode("https://opercle.example/taxon/Esox"), "other": ox.Literal(2.5)}
    assert check.breach_of(query, None, row).says == "t:Esox or 2.5 or {none}."


def test_a_shape_with_a_part_that_is_not_compiled_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "odd.ttl"
    path.write_text(
        "@prefix sh: <http://www.w3.org/ns/shacl#> . @prefix dc: <http://purl.org/dc/terms/> .\n"
        "<https://opercle.example/shape/odd> sh:targetClass <x:y> ; sh:path <x:z> ;\n"
        '  sh:message "m" ; dc:references "r" ; sh:uniqueLang true .\n'
    )
    monkeypatch.setattr(assets, "files", lambda name, ending: [str(path)] * (ending == ".ttl"))
    with pytest.raises(FileError, match="uniqueLang"):
        check.queries(ox.Store())


def test_a_check_without_its_heading_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "odd.rq"
    path.write_text("# id: odd\nSELECT ?this { ?this a ?x }")
    monkeypatch.setattr(assets, "files", lambda name, ending: [str(path)] * (ending == ".rq"))
    with pytest.raises(FileError, match="says, cites, severity"):
        check.queries(ox.Store())


def test_the_whole_knowledge_is_checked_in_a_few_times_its_parse(
    capsys: pytest.CaptureFixture[str],
) -> None:
    paths = assets.files("ontology", ".ttl")

    def parse() -> None:
        for path in paths:
            list(ox.parse(path=path, format=ox.RdfFormat.TURTLE))

    def best(work: object) -> float:
        times = []
        for _ in range(3):
            start = time.perf_counter()
            work()  # type: ignore[operator]
            times.append(time.perf_counter() - start)
        return min(times)

    ratio = best(question.ask) / best(parse)
    with capsys.disabled():
        print(f"\n  check: {ratio:.1f} times parsing the Turtle", end="")
    assert ratio < 40, "10 is wanted; this guards against a gross fall alone"
