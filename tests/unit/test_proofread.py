"""Proofreading: what it finds, what it lets pass, and where it says the fault stands.

The sentences are invented for the tests; their figures are those that the knowledge cites.
"""

import os
import subprocess
import sys
from itertools import pairwise

import pytest

from opercle.counts import CountRange
from opercle.errors import FileError
from opercle.questions.proofread_figures import contradicts, number
from opercle.questions.proofread_names import lexicon, plurals
from opercle.questions.proofread_naming import authorship, fits
from opercle.questions.proofread_text import Page, read
from opercle.questions.values import Value


@pytest.fixture
def found(know, tmp_path):
    def run(text, name="text.txt", kinds=None):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        rows = know.proofread(str(path)).fields["findings"]
        return [r for r in rows if r["kind"] != "not-judged" or kinds == "all"]

    return run


def kinds(rows):
    return [r["kind"] for r in rows]


# ---- one sentence a fault ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "suggest"),
    [
        ("We caught Ambloplites rupestriss today.", "spelling", "Ambloplites rupestris"),
        ("We caught Micropterus dolomieui there.", "name-changed", "Micropterus dolomieu"),
        ("We caught Ambloplitis rupestris today.", "spelling", "Ambloplites rupestris"),
        ("It is one of the Centrachidae.", "spelling", "Centrarchidae"),
        ("We caught a largemoth bass.", "spelling", "largemouth bass"),
        ("We caught Stizostedion vitreum.", "name-changed", "Sander vitreus"),
        ("The largemouth bass (Micropterus salmoides) is here.", "name-changed",
         "Micropterus nigricans"),
        ("The rock bass (Lepomis gulosus) is here.", "names-disagree", "Ambloplites rupestris"),
        ("We fried a redeye.", "nickname", "say which fish is meant"),
        ("The rock bass is a bass.", "not-that-family", None),
        ("The pumpkinseed is a perch.", "not-that-family", None),
        ("The yellow perch isn't a perch.", "not-that-family", None),
        ("The white perch belongs to the perch family.", "not-that-family", None),
        ("The white perch is in the family Percidae.", "not-that-family", None),
        ("The rock bass has nine anal spines.", "figure", "5-7 (usually 6)"),
        ("The rock bass has three spines in the anal fin.", "figure", "5-7 (usually 6)"),
        ("Rock bass: dorsal spines 14-16.", "figure", None),
        ("Rock bass: anal fin III, 10.", "figure", None),
        ("The bluegill reaches 30 inches.", "figure", None),
        ("The walleye reaches 36 inches (61 cm).", "figure", None),
        ("Ambloplites rupestris (Rafinesque, 1819) is common.", "authority",
         "(Rafinesque, 1817)"),
        ("Ambloplites rupestris Rafinesque, 1817 is common.", "authority", "(Rafinesque, 1817)"),
        ("Ambloplites rupestris (Cuvier, 1817) is common.", "authority", "(Rafinesque, 1817)"),
        ("The rock bass was described by Linnaeus in 1758.", "authority", None),
        ("Ambloplites means silver tail.", "meaning", None),
        ("The epithet salmoides means blue-eyed.", "meaning", None),
        ("The rock bass is native to the Mobile Basin.", "range", None),
        ("We saw micropterus dolomieu there.", "style", "Micropterus dolomieu"),
        ("We saw Micropterus Dolomieu there.", "style", "Micropterus dolomieu"),
        ("We saw a roanoke bass there.", "style", "Roanoke bass"),
    ],
)  # fmt: skip
def test_a_fault_is_found_with_its_kind_and_its_cited_value(found, text, kind, suggest):
    rows = found(text + "\n")
    assert kinds(rows) == [kind], rows
    assert rows[0]["says"]
    if suggest is not None:
        assert rows[0]["suggest"] == suggest
    if kind not in ("style",) and "(61 cm)" not in text:
        assert rows[0]["because"], rows[0]


@pytest.mark.parametrize(
    "text",
    [
        "The rock bass is a sunfish.",
        "The rock bass is not a bass.",
        "The white perch is not a perch, and the white bass is a bass.",
        "The rock bass, unlike the largemouth bass, has six anal spines.",
        "The warmouth differs from the rock bass in having three anal spines.",
        "The rock bass has at least five anal spines.",
        "Fishermen here call it redeye.",
        'The name "redeye" is used for several fishes.',
        "The goggle-eye (Ambloplites constellatus) lives there.",
        "The walleye was once called Stizostedion vitreum.",
        "Micropterus dolomieu was seen. M. dolomieu is common.",
        "A dark spot marks the gill cover. The king of the pond is a native of the creek.",
        "The rock bass hides in water ten feet deep.",
        "The rock bass reaches 17 inches (43 cm).",
        "The bluegill, whose mouth is small, has three anal spines.",
        "No rock bass lives in the Mobile Basin.",
        "Walleyes, basses, perches and alewives were on the menu.",
        "A bass boat is not a fish. The bass-like fish swam off.",
        "The rock bass is called a bass. Elassomatidae was long put in the sunfish family.",
        "Ambloplites means blunt armour. Lepomis means scaly operculum.",
    ],
)
def test_a_right_sentence_is_let_pass(found, text):
    assert found(text + "\n") == []


# ---- places --------------------------------------------------------------------------------


def test_line_and_column_count_from_one_and_markup_does_not_shift_them(found):
    text = "# A title\n\n`Ambloplites rupestriss` and **the** *Ambloplites rupestriss* there.\n"
    (row,) = found(text, "a.md")
    assert (row["line"], row["column"]) == (3, 39)
    assert row["text"] == "Ambloplites rupestriss"


def test_code_links_and_time_codes_are_no_prose(found):
    text = (
        "```\nThe rock bass is a bass.\n```\n\nSee [it](https://example.org/Ambloplites_rupestriss)"
        " and `Ambloplitis rupestris`.\n"
    )
    assert found(text, "a.md") == []
    film = "1\n00:00:01,000 --> 00:00:02,000\nThe rock\n\n2\n00:00:02,500 --> 00:00:03,000\n"
    film += "bass has nine anal spines.\n"
    (row,) = found(film, "a.srt")
    assert (row["line"], row["column"], row["kind"]) == (7, 10, "figure")


def test_a_name_over_a_line_break_is_found_at_its_start(found):
    (row,) = found("We saw the rock\nbass with nine anal spines.\n")
    assert row["line"] == 2


def test_italics_are_asked_for_in_markdown_alone(found):
    text = "We saw Ambloplites rupestris there.\n"
    assert found(text, "a.txt") == []
    (row,) = found(text, "a.md")
    assert (row["kind"], row["suggest"]) == ("style", "*Ambloplites rupestris*")
    assert found("We saw *Ambloplites\nrupestris* and Centrarchidae there.\n", "a.md") == []


def test_two_ways_of_capitals_in_one_text_are_a_matter_of_style(found):
    text = "A rock bass and a rock bass and then one more Rock Bass came.\n"
    (row,) = found(text, "a.md")
    assert (row["kind"], row["text"], row["suggest"]) == ("style", "Rock Bass", "rock bass")


def test_windows_line_ends_and_a_byte_order_mark_do_not_shift_places(know, tmp_path):
    path = tmp_path / "a.txt"
    path.write_bytes("\ufeffA line.\r\nThe rock bass has nine anal spines.\r\n".encode())
    (row,) = know.proofread(str(path)).fields["findings"]
    assert (row["line"], row["column"]) == (2, 19)


# ---- what cannot be judged -----------------------------------------------------------------


def test_a_claim_that_cannot_be_judged_is_listed_and_is_no_fault(know, tmp_path):
    path = tmp_path / "a.md"
    path.write_text("The ghost is *Fictus imaginarius*, an invented fish.\n", encoding="utf-8")
    answer = know.proofread(str(path))
    assert answer.outcome == "clean"
    assert kinds(answer.fields["findings"]) == ["not-judged"]


def test_a_single_figure_sets_no_bounds_but_is_contradicted_from_afar():
    single = Value(CountRange(10, 10), frozenset(), ("s:x",), "t:x", ())
    firm = single._replace(firm=("s:x",))
    near, far = CountRange(11, 11), CountRange(16, 16)
    assert contradicts(near, single) is None
    assert contradicts(far, single) is True
    assert contradicts(near, firm) is True
    assert contradicts(CountRange(10, 10), firm) is False
    assert contradicts(near, None) is None


def test_numbers_are_read_in_figures_words_and_roman():
    assert [number(w) for w in ("7", "seven", "VII", "IX", "thirty-five", "no")] == [
        7,
        7,
        7,
        9,
        35,
        0,
    ]
    assert number("many") is None


def test_plurals_are_those_of_english_fish_names():
    made = [plurals(w) for w in ("rock bass", "perch", "crappie", "goby", "alewife")]
    assert made == [["rock basses"], ["perches"], ["crappies"], ["gobies"], ["alewives"]]


def test_an_authorship_is_read_in_its_parts():
    assert authorship("(Hubbs & Bailey, 1940)") == ({"hubbs", "bailey"}, 1940, True)
    assert authorship("Lacepède, 1802") == ({"lacepede"}, 1802, False)


def test_a_meaning_in_other_words_is_neither_right_nor_wrong():
    assert fits("blunt armour", ["blunt", "armour, armature"]) is True
    assert fits("large fin", ["small", "fin"]) is False
    assert fits("silver tail", ["small", "fin"]) is False
    assert fits("fin of a hidden kind", ["small", "fin"]) is None


def test_ordinary_words_are_not_taken_for_fishes(desk):
    names = lexicon(desk).names
    assert not {"spot", "king", "native", "columbia"} & set(names)
    assert {"rock bass", "rock basses", "bluegill", "ambloplites rupestris"} <= set(names)


# ---- bad input -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "content", [b"", b" \n\t\n", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", bytes(range(256)) * 4]
)
def test_an_empty_or_binary_file_is_refused(tmp_path, content):
    path = tmp_path / "bad.md"
    path.write_bytes(content)
    with pytest.raises(FileError) as error:
        read(str(path))
    assert error.value.status == 4
    assert str(path) in str(error.value)


def test_a_missing_file_and_a_folder_are_refused(tmp_path):
    for path in (tmp_path, tmp_path / "none.md"):
        with pytest.raises(FileError):
            read(str(path))


def test_a_text_in_an_older_encoding_is_read_and_said_to_be(know, tmp_path):
    path = tmp_path / "old.txt"
    path.write_bytes("Caf\xe9: the rock bass has six anal spines.\n".encode("cp1252"))
    answer = know.proofread(str(path))
    assert answer.fields["encoding"] == "cp1252"
    assert answer.outcome == "clean"


def test_a_text_is_cut_into_pieces_that_join_again():
    page = Page("one rock bass and no more. " * 4000 + "x" * 50_000, "text")
    pieces = page.stretches(10_000)
    assert pieces[0][0] == 0
    assert pieces[-1][1] == len(page.text)
    assert all(a[1] == b[0] for a, b in pairwise(pieces))
    assert "".join(page.text[s:e] for s, e in pieces) == page.text


def test_the_command_line_leaves_with_1_on_faults_0_when_clean_and_4_for_a_bad_file(know, tmp_path):
    def status(content):
        path = tmp_path / "a.md"
        path.write_bytes(content)
        run = subprocess.run(
            [sys.executable, "-m", "opercle.faces.cli", "proofread", str(path)],
            capture_output=True,
            text=True,
            env=os.environ,
            check=False,
        )
        assert "Traceback" not in run.stderr
        return run.returncode, run.stdout

    code, said = status(b"The rock bass has nine anal spines.\n")
    assert code == 1
    assert "1:19" in said
    assert status(b"The rock bass has six anal spines.\n")[0] == 0
    assert status(b"")[0] == 4
