"""What the educator's desk does with bad or empty input: told clearly, and nothing hangs."""

import json
import time

import pytest

from opercle.errors import FileError
from opercle.faces import cli
from opercle.questions.proofread import findings
from opercle.questions.proofread_text import SUBRIP, Page, read

MB = 1_000_000


@pytest.fixture(scope="module")
def bare(know):
    """A species of which no character is known here."""
    rows = know.desk.snapshot.rows(
        """SELECT ?name { ?t dwc:taxonRank "species" ; dwc:scientificName ?name
           MINUS { ?t op:goesBy ?s . ?s op:onCharacter ?c } } ORDER BY ?name LIMIT 1"""
    )
    if not rows:
        pytest.skip("every species here has a character")
    return rows[0]["name"]


def test_a_taxon_with_no_counts_is_told_as_such_and_nothing_is_invented(know, bare):
    account = know.account(bare).fields
    assert account["counts"] == {}
    assert account["states"] == {}
    row = know.compare(bare, "rock bass")
    assert "No dependable character known here parts" in row.answer
    drawn = know.draw(bare)
    assert any("not known" in said for said in drawn.fields["not_known"])
    sheet = know.handout(bare).fields
    assert all(i["kind"] not in ("count", "state", "sure", "which") for i in sheet["quiz"])


def test_a_fish_of_which_nothing_seen_is_known_is_never_settled(know, bare):
    answer = know.identify(["anal-spines=3"], within=bare)
    assert answer.outcome == "none"
    assert "none can be judged" in answer.answer


def test_a_group_with_one_species_is_answered_by_every_command(know):
    assert know.account("Archoplites").outcome == "found"
    assert "no key is needed" in know.key("Archoplites").answer
    assert know.draw("Archoplites").outcome == "drawn"
    assert know.handout("Archoplites", quiz=0).outcome == "made"
    assert know.identify(["anal-spines=6"], within="Archoplites").outcome == "settled"


@pytest.mark.parametrize(
    "words",
    [
        ["identify", "anal-spines=900"],
        ["identify", "anal-spines=-1"],
        ["identify", "anal-spines=99999999999999999999999"],
        ["identify", "anal-spines=7-5"],
        ["identify", "anal-spines=" + "9" * 5000],
        ["compare", "rock bass"],
        ["compare", "rock bass", "rock bass"],
        ["key", ""],
        ["account", " "],
        ["handout"],
        ["handout", "--question", "What is for lunch?"],
        ["draw", "rock bass", "--beside", "rock bass"],
    ],
    ids=lambda words: " ".join(words)[:40],
)
def test_what_cannot_be_answered_is_told_with_what_to_do_and_no_traceback(cache, capsys, words):
    assert cli.main(words) in (2, 3)
    told = capsys.readouterr().err
    assert "to do:" in told
    assert "Traceback" not in told


@pytest.mark.parametrize(
    "words",
    [
        ["identify", "anal-spin=6"],
        ["account", "zzzz qqqq"],
        ["compare", "zzzz qqqq", "warmouth"],
        ["key", "zzzz qqqq"],
        ["draw", "zzzz qqqq"],
        ["handout", "zzzz qqqq"],
    ],
    ids=lambda words: " ".join(words),
)
def test_an_unknown_name_or_character_leaves_with_3_and_one_json_object(cache, capsys, words):
    status = cli.main([*words, "--json"])
    said = capsys.readouterr()
    assert status == 3
    assert json.loads(said.out)["outcome"] == "unknown"


@pytest.mark.parametrize("content", [b"", b"\x00\x01\x02", b"\xff\xfe\x00"])
def test_an_empty_or_binary_file_is_refused_with_its_path(tmp_path, content):
    path = tmp_path / "bad.srt"
    path.write_bytes(content)
    with pytest.raises(FileError) as told:
        read(str(path))
    assert str(path) in str(told.value)
    assert told.value.remedy


def taken(work):
    start = time.process_time()
    work()
    return time.process_time() - start


def test_50_mb_on_one_line_without_a_space_are_read_through(know, tmp_path):
    path = tmp_path / "long.txt"
    path.write_text("w" * (50 * MB), encoding="ascii")
    assert know.proofread(str(path)).outcome == "clean"


@pytest.mark.parametrize("piece", ["w", " ", "*", "Ab", "(", "1 ", "A. ", "w@", "-"])
@pytest.mark.parametrize("form", ["text", "markdown", SUBRIP])
def test_time_grows_with_the_length_of_a_senseless_line_and_not_with_its_square(know, piece, form):
    small, large = (Page, 20_000), (Page, 160_000)
    times = []
    for make, size in (small, large):
        text = piece * (size // len(piece))
        times.append(taken(lambda make=make, text=text: findings(know.desk, make(text, form))))
    assert times[1] < max(0.5, 24 * times[0]), times
