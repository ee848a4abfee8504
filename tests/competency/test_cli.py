"""The command line: exit statuses, clean JSON, clear errors, no traces on disk."""

import json
import os
import subprocess
import sys
from typing import NamedTuple

import pytest

from opercle import assets, build
from opercle.faces import cli

LONG = "x" * 10_000


def state(folder):
    """Every file below a folder with its size and time."""
    return {
        os.path.join(top, name): (
            os.stat(os.path.join(top, name)).st_size,
            os.stat(os.path.join(top, name)).st_mtime_ns,
        )
        for top, _, names in os.walk(folder)
        for name in names
    }


def sources():
    """The stated knowledge as it lies on disk: somebody may be editing it while tests run."""
    return state(assets.folder("ontology"))


@pytest.fixture
def keep(know, cache, tmp_path, monkeypatch):
    """Run something in an empty folder; nothing may be written there or in the cache."""
    monkeypatch.chdir(tmp_path)

    def undisturbed(go):
        for _ in range(3):
            build.open_snapshot(tell=lambda _: None)  # so that no command need compile
            stated, before = sources(), state(cache)
            done = go()
            if sources() == stated:
                assert state(cache) == before
                return done
        return done

    yield undisturbed
    assert [p for p in os.listdir(tmp_path) if not p.startswith("given")] == []


class Done(NamedTuple):
    """What a command left behind."""

    returncode: int
    stdout: str
    stderr: str


def checked(done, status):
    assert "Traceback" not in done.stderr, done.stderr
    assert done.returncode == status, done.stderr
    return done


@pytest.fixture
def run(keep, cache, tmp_path):
    """Run the command as a process of its own."""

    def opercle(*words, status=0):
        done = keep(
            lambda: subprocess.run(
                [sys.executable, "-m", "opercle.faces.cli", *words],
                env={**os.environ, "OPERCLE_CACHE": str(cache), "PYTHONWARNINGS": "error"},
                capture_output=True,
                encoding="utf-8",
                timeout=60,
                check=False,
            )
        )
        return checked(done, status)

    return opercle


@pytest.fixture
def call(keep, capsys):
    """Run the command in this process: an exception that escapes would be a traceback."""

    def once(words):
        capsys.readouterr()
        try:
            status = cli.main(list(words))
        except SystemExit as left:
            status = left.code
        out, err = capsys.readouterr()
        return Done(status, out, err)

    def opercle(*words, status=0):
        return checked(keep(lambda: once(words)), status)

    return opercle


def one_object(text):
    """The JSON object that is all of a text."""
    found = json.loads(text)
    assert isinstance(found, dict)
    assert text.count("\n") <= 1 or text.strip().endswith("}")
    return found


JSON = [
    (("name", "white perch"), 0),
    (("name", "rock", "bass", "--state", "Virginia"), 0),
    (("name", "rock bas"), 0),
    (("name", "bluebell"), 3),
    (("really", "white perch"), 0),
    (("really", "bluebell"), 3),
    (("why", "largemouth bass", "--not", "Moronidae"), 0),
    (("why", "nobody at all", "--not", "Moronidae"), 3),
    (("prove", "t:Ambloplites-rupestris", "op:inFamily", "t:Centrarchidae"), 0),
    (("prove", "t:Ambloplites-rupestris", "op:inFamily", "t:Moronidae"), 0),
    (("status",), 0),
]


@pytest.mark.parametrize(
    ("words", "status"), JSON, ids=lambda x: " ".join(x) if isinstance(x, tuple) else ""
)
def test_with_json_one_object_is_printed_and_nothing_else(run, words, status):
    done = run(*words, "--json", status=status)
    found = one_object(done.stdout)
    assert {"question", "outcome", "answer", "because", "cautions"} <= set(found)
    assert done.stderr == "" or status != 0


@pytest.mark.parametrize(
    ("words", "status"),
    [j for j in JSON if j[1] == 0],
    ids=lambda x: " ".join(x) if isinstance(x, tuple) else "",
)
def test_without_json_an_answer_is_printed_for_a_person(run, words, status):
    done = run(*words, status=status)
    assert done.stdout.strip()
    assert not done.stdout.lstrip().startswith("{")
    assert "\x1b[" not in done.stdout, "colour only where the terminal has it"
    assert done.stderr == ""


def test_a_name_may_be_written_without_quotes(run):
    loose, quoted = (
        json.loads(run("name", *w, "--json").stdout) for w in (("white", "perch"), ("white perch",))
    )
    assert loose == quoted


def test_a_bare_command_shows_the_help_and_is_a_wrong_command_line(run):
    done = run(status=2)
    assert "COMMAND" in done.stdout + done.stderr


COMMANDS = [
    *("demo", "name", "really", "why", "account", "compare", "identify", "key", "draw", "handout"),
    *("settle", "proofread", "prove", "query", "check", "status", "serve", "completion"),
]


@pytest.mark.parametrize("command", COMMANDS)
def test_the_help_of_every_command_has_an_example(call, command):
    assert "example: opercle" in call(command, "--help").stdout


WRONG = [
    ("name",),
    ("name", ""),
    ("name", "   "),
    ("name", LONG),
    ("name", "rock\x1b[31mbass"),
    ("name", "rock\x07bass"),
    ("name", "perch", "--year", "soon"),
    ("name", "perch", "--year", "99999"),
    ("name", "perch", "--year", ""),
    ("name", "perch", "--year", "²⁰²⁰"),
    ("name", "perch", "--water", ""),
    ("name", "perch", "--state", "  "),
    ("name", "perch", "--nonsense"),
    ("really",),
    ("really", ""),
    ("really", LONG),
    ("why", "perch"),
    ("why", "--not", "perch"),
    ("why", "walleye", "--not", ""),
    ("why", "walleye", "--not", "Sander vitreus"),
    ("prove", "a", "b"),
    ("prove", "a", "b", "c"),
    ("prove", "t:Perca", "nope:about", "t:Perca"),
    ("prove", "t:a b", "op:about", "t:Perca"),
    ("prove", "t:Perca", "op:about", "<not an address>"),
    ("query",),
    ("query", "SELECT"),
    ("query", "DELETE WHERE { ?s ?p ?o }"),
    ("query", "SELECT * { ?s ?p ?o }", "-f", "x.rq"),
    ("query", "SELECT * { ?s ?p ?o } LIMIT 1", "--to", "nonsense"),
    ("nonsense",),
    ("completion", "nonsense"),
]


@pytest.mark.parametrize(
    "words", WRONG, ids=lambda w: " ".join(w)[:60].encode("unicode_escape").decode()
)
def test_a_wrong_command_line_is_told_what_where_and_what_to_do_with_status_2(call, words):
    done = call(*words, status=2)
    assert done.stdout == ""
    assert done.stderr.startswith("opercle: ")
    assert "to do:" in done.stderr
    assert len(done.stderr) < 1500, "an error does not throw the whole input back"
    assert "\x1b" not in done.stderr.replace("\\x1b", "")
    assert "\x07" not in done.stderr


UNKNOWN = [
    ("name", "bluebell"),
    ("name", "Müßiggänger"),
    ("name", "окунь речной"),
    ("name", "鱸魚"),
    ("name", "سمك"),
    ("name", "🐟"),
    ("name", "!!!"),
    ("name", '" } ; DROP ALL ; SELECT * { ?s ?p ?o . "'),
    ("name", 'perch" . ?x ?y ?z . #'),
    ("name", "%s %d {0} ${HOME} \\"),
    ("name", "../../etc/passwd"),
    ("name", "perch", "--water", "Zzyzx Brook"),
    ("name", "perch", "--water", '" } #'),
    ("name", "perch", "--state", "Atlantis"),
    ("really", "white bread"),
    ("really", "white perch", "--word", "sofa"),
    ("why", "nobody at all", "--not", "Moronidae"),
    ("why", "rock bass", "--not", "Nobodyidae"),
]


@pytest.mark.parametrize(
    "words", UNKNOWN, ids=lambda w: " ".join(w)[:60].encode("unicode_escape").decode()
)
def test_what_nobody_knows_is_told_with_status_3(call, words):
    done = call(*words, status=3)
    assert done.stdout == ""
    assert done.stderr.startswith("opercle: ")


def test_the_nearest_spellings_are_offered(call):
    assert "bluegill" in call("name", "blugilled", status=3).stderr.replace("blue gill", "bluegill")


def test_an_unknown_name_in_json_offers_the_nearest_spellings(call):
    found = one_object(call("name", "bluebell", "--json", status=3).stdout)
    assert found["outcome"] == "unknown"
    assert found["nearest"]


@pytest.mark.parametrize(
    "words",
    [
        ("query", "-f", "no-such-file.rq"),
        ("check", "no-such-file.ttl"),
        ("name", "perch", "--with", "no-such-pack.ttl"),
    ],
)
def test_a_file_that_cannot_be_read_is_told_with_its_path_and_status_4(call, words):
    done = call(*words, status=4)
    assert words[-1] in done.stderr
    assert done.stdout == ""


@pytest.mark.parametrize("command", [("check",), ("name", "perch", "--with")])
def test_malformed_turtle_is_told_with_file_line_and_remedy_and_status_4(call, tmp_path, command):
    (tmp_path / "given.ttl").write_text("@prefix op: <https://opercle.example/ns#> .\n\noops\n")
    done = call(*command, "given.ttl", status=4)
    assert "given.ttl" in done.stderr
    assert "line 3" in done.stderr or "line 4" in done.stderr
    assert "to do:" in done.stderr


@pytest.mark.parametrize("command", [("check",), ("name", "perch", "--with"), ("query", "-f")])
def test_a_file_of_bytes_that_are_no_text_is_told_with_status_4(call, tmp_path, command):
    (tmp_path / "given.ttl").write_bytes(bytes(range(256)) * 4)
    done = call(*command, "given.ttl", status=4)
    assert "given.ttl" in done.stderr


def test_a_folder_in_place_of_a_file_is_told_with_status_4(call, tmp_path):
    (tmp_path / "given").mkdir()
    call("query", "-f", "given", status=4)


FAULTY = """@prefix op: <https://opercle.example/ns#> .
@prefix s: <https://opercle.example/statement/> .
@prefix t: <https://opercle.example/taxon/> .
@prefix c: <https://opercle.example/character/> .
s:no-citation a op:CountStatement ; op:about t:Perca ; op:onCharacter c:anal-spines ;
  op:least 2 ; op:most 2 .
"""


def test_a_statement_without_a_citation_is_a_fault_with_status_1(call, tmp_path):
    (tmp_path / "given.ttl").write_text(FAULTY)
    done = call("check", "given.ttl", "--json", status=1)
    found = one_object(done.stdout)
    assert found["outcome"] == "faults"
    assert any("no-citation" in str(f["subject"]) for f in found["findings"])
    assert all(
        {"file", "line", "subject", "shape", "says", "cites"} <= set(f) for f in found["findings"]
    )


def test_a_name_that_is_empty_is_told_in_json_mode_without_a_broken_object(call):
    done = call("name", "", "--json", status=2)
    assert done.stdout == "" or one_object(done.stdout)


def test_sparql_may_come_as_csv_with_one_head_and_the_rows_asked_for(call):
    done = call("query", "SELECT ?t { ?t op:parentTaxon t:Ambloplites } ORDER BY ?t", "--to", "csv")
    lines = done.stdout.split()
    assert lines[0] == "t"
    assert len(lines) == 5


def test_a_query_that_would_go_out_to_another_server_is_refused(call):
    call("query", "SELECT * { SERVICE <http://127.0.0.1:9/> { ?s ?p ?o } }", status=2)


def test_a_closed_pipe_is_no_error(run, cache):
    run("name", "bream")
    done = subprocess.run(
        f"{sys.executable} -m opercle.faces.cli name bream | head -c 1",
        shell=True,
        env={**os.environ, "OPERCLE_CACHE": str(cache)},
        capture_output=True,
        check=False,
    )
    assert done.stderr == b""


def test_the_demo_answers_three_questions_settles_a_table_and_makes_a_sheet(run, tmp_path):
    folder = tmp_path / "given"
    done = run("demo", "-o", str(folder), "--json")
    told = json.loads(done.stdout)
    assert told["outcome"] == "done"
    assert [a["outcome"] for a in told["answers"]] == ["no", "supported", "settled"]
    assert (
        told["settled"]["rows_in"] == told["settled"]["rows_out"] + told["settled"]["rows_rejected"]
    )
    assert "invented" in told["cautions"][0]
    written = {str(p) for p in folder.rglob("*") if p.is_file()}
    assert written == set(told["files"])
    assert any(f.endswith(".html") and "handout" in f for f in told["files"])
    assert done.stderr == ""


def test_the_demo_prints_the_path_of_all_it_wrote(run, tmp_path):
    folder = tmp_path / "given"
    done = run("demo", "-o", str(folder))
    for path in folder.rglob("*"):
        assert path.is_dir() or f"written: {path}" in done.stdout


def test_the_demo_says_where_it_cannot_write(run, tmp_path):
    (tmp_path / "given").write_text("a file", encoding="utf-8")
    done = run("demo", "-o", str(tmp_path / "given"), status=4)
    assert "cannot write" in done.stderr
