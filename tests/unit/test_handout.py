"""Class sheets: what is on them, their quiz, the files they become, and what is refused."""

import builtins
import contextlib
import json
import re
import subprocess
import sys
import zlib

import pytest

from opercle.errors import OpercleError, UsageError
from opercle.faces import cli
from opercle.faces.sheets import by_whom, italics, pdf, render
from tests.unit.test_sheets import Page

SETS = [
    ("rock bass", "warmouth", "green sunfish"),
    ("black crappie", "white crappie"),
    ("rock bass",),
    ("Lepomis",),
    ("Archoplites",),
]


@pytest.fixture(scope="module")
def sheets(know):
    return {names: know.handout(*names) for names in SETS}


@pytest.mark.parametrize("names", SETS, ids=[" ".join(n) for n in SETS])
def test_a_sheet_is_whole_in_one_file_and_every_reference_reaches_its_source(know, sheets, names):
    text = render(know, "handout", sheets[names], "html")
    read = Page()
    read.feed(text)
    assert not read.wrong
    assert not read.open
    assert len(read.ids) == len(set(read.ids))
    assert {link[1:] for link in read.links} <= set(read.ids)
    assert not [o for o in re.findall(r"(?:src|href)=[\"'](?!#|data:)([^\"']+)", text)]
    assert len(read.drawings) == (1 if len(sheets[names].fields["taxa"]) <= 2 else
                                  len(sheets[names].fields["taxa"]))  # fmt: skip
    for drawing in read.drawings:
        assert drawing["role"] == "img"
        assert set(drawing["aria-labelledby"].split()) <= set(read.ids)


def test_a_sheet_has_table_cautions_sources_quiz_and_answers_in_this_order(know, sheets):
    text = render(know, "handout", sheets[SETS[0]], "html")
    parts = ["What tells them apart", "Take care", "<h2>Sources", "<b>Quiz", "<b>Answers"]
    places = [text.index(p) for p in parts]
    assert places == sorted(places)
    answers = text[places[-1] :]
    for item in sheets[SETS[0]].fields["quiz"]:
        assert f'<b class="no">{item["number"]}{item["answer"]}</b>' in answers
        assert f'<b class="no">{item["number"]}{item["answer"]}</b>' not in text[: places[-1]]


def test_the_table_of_a_sheet_tells_every_pair_that_can_be_told_apart(sheets):
    fields = sheets[SETS[0]].fields
    decided = {tuple(p["of"]) for r in fields["rows"] for p in r["pairs"]
               if p["verdict"] == "decides"}  # fmt: skip
    assert len(decided) == 3


def test_a_fish_alone_stands_beside_those_that_sources_tell_it_from(sheets):
    fields = sheets[("rock bass",)].fields
    assert len(fields["taxa"]) == 3
    assert fields["added"] == fields["taxa"][1:]
    assert "tell it apart" in fields["added_why"]


def test_a_group_becomes_its_species_and_a_large_group_its_genera(know, sheets):
    assert {t["taxonRank"] for t in sheets[("Lepomis",)].fields["taxa"]} == {"species"}
    family = know.handout("Centrarchidae", quiz=0).fields
    assert {t["taxonRank"] for t in family["taxa"]} == {"genus"}
    assert family["quiz"] == []


def test_unquoted_words_are_cut_into_names(know):
    fields = know.handout("black", "crappie", "white", "crappie", quiz=0).fields
    assert [t["vernacularName"] for t in fields["taxa"]] == ["black crappie", "white crappie"]


# ---- the question at its head --------------------------------------------------------------


def test_a_question_names_its_fish_and_is_answered_by_what_the_word_strictly_means(know):
    fields = know.handout(question="Is a rock bass really a bass?", quiz=0).fields
    assert fields["title"] == "Is a rock bass really a bass?"
    assert fields["asked"]["outcome"] == "no"
    assert [t["scientificName"] for t in fields["taxa"]] == ["Ambloplites rupestris", "Moronidae"]


def test_a_question_why_not_is_answered_by_why(know):
    answer = know.handout(question="Why is a largemouth bass not a striped bass?", quiz=0)
    assert answer.fields["asked"]["outcome"] == "supported"
    assert [t["vernacularName"] for t in answer.fields["taxa"]] == [
        "largemouth bass",
        "striped bass",
    ]


def test_another_question_stands_as_it_was_asked_without_an_answer(know):
    answer = know.handout(question="Where does the warmouth sleep?", quiz=0)
    assert answer.fields["asked"] is None
    assert "stands as it was asked" in render(know, "handout", answer, "html")


def test_a_question_that_names_no_fish_is_refused(know):
    with pytest.raises(UsageError, match="No fish is named"):
        know.handout(question="What is for lunch?")


def test_a_name_that_means_several_leaves_the_sheet_open(know):
    answer = know.handout("redeye")
    assert answer.outcome == "open"
    assert len(answer.fields["bearers"]) > 1
    assert answer.fields["files"] == []


# ---- what is refused -----------------------------------------------------------------------


def test_too_many_fishes_are_refused_with_how_many_fit(know):
    with pytest.raises(UsageError, match="too many") as caught:
        know.handout("Actinopterygii")
    assert "20" in caught.value.remedy


@pytest.mark.parametrize("most", [-1, 21])
def test_a_quiz_longer_than_can_be_made_is_refused(know, most):
    with pytest.raises(UsageError, match="cannot be made"):
        know.handout("warmouth", quiz=most)


def test_a_fish_without_characters_gets_a_sheet_that_says_so(know):
    bare = know.desk.snapshot.rows(
        """SELECT ?t ?name { ?t dwc:taxonRank "species" ; dwc:scientificName ?name
           MINUS { ?t op:goesBy ?s . ?s op:onCharacter ?c }
           MINUS { ?k op:about ?t ; op:fromOther ?o } MINUS { ?k op:fromOther ?t }
        } ORDER BY ?t LIMIT 1"""
    )
    if not bare:
        pytest.skip("every species has a character")
    answer = know.handout(bare[0]["name"])
    assert answer.outcome == "made"
    assert answer.fields["rows"] == []
    text = render(know, "handout", answer, "html")
    assert "No character known here" in text or "not known" in text


# ---- files ---------------------------------------------------------------------------------


def test_the_command_writes_one_file_and_names_it(know, cache, tmp_path, capsys):
    out = tmp_path / "sheet.html"
    assert cli.main(["handout", "warmouth", "rock bass", "-o", str(out), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["outcome"] == "made"
    assert told["files"] == [str(out)]
    assert told["question"]["to"] == "html"
    assert out.read_text("utf-8").startswith("<!doctype html>")


def test_a_folder_gets_a_file_named_after_the_sheet(cache, tmp_path, capsys):
    assert cli.main(["handout", "Pomoxis", "--quiz", "0", "-o", str(tmp_path)]) == 0
    assert [p.name for p in tmp_path.iterdir()] == ["handout-pomoxis.html"]


@pytest.mark.parametrize(
    "words",
    [
        ["-o", "x.pdf", "--to", "html"],
        ["--paper", "a4"],
        ["--to", "docx"],
        ["--seed", "one"],
    ],
)
def test_options_that_do_not_fit_each_other_are_refused(cache, capsys, words):
    assert cli.main(["handout", "warmouth", *words]) == 2
    assert "to do" in capsys.readouterr().err


def test_a_file_that_cannot_be_written_is_told(cache, tmp_path, capsys):
    path = tmp_path / "none" / "sheet.html"
    assert cli.main(["handout", "warmouth", "--quiz", "0", "-o", str(path)]) == 4
    assert "sheet cannot be written" in capsys.readouterr().err


# ---- PDF -----------------------------------------------------------------------------------


def inflated(made):
    """A PDF with its packed objects unpacked behind it."""
    packed = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", made, re.S)
    opened = []
    for part in packed:
        with contextlib.suppress(zlib.error):
            opened.append(zlib.decompress(part))
    return made + b"\n".join(opened)


def pdf_or_skip(html, paper):
    try:
        return pdf.made(html, paper)
    except OpercleError as error:
        pytest.skip(f"{error.what} {error.remedy}")


@pytest.mark.parametrize(("paper", "box"), [("a4", (595, 841)), ("letter", (612, 792))])
def test_a_pdf_has_the_paper_asked_for_and_is_the_same_each_time(know, sheets, paper, box):
    html = render(know, "handout", sheets[("Archoplites",)], "html")
    made = pdf_or_skip(html, paper)
    assert made.startswith(b"%PDF-")
    found = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", inflated(made))
    assert (int(float(found[1])), int(float(found[2]))) == box
    assert made == pdf.made(html, paper)


def missing(monkeypatch, error):
    real = builtins.__import__

    def without(name, *args, **kwargs):
        if name == "weasyprint":
            print("a library talks on standard output")
            raise error
        return real(name, *args, **kwargs)

    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(builtins, "__import__", without)


def test_without_the_extra_it_says_how_to_install_it(monkeypatch, cache, tmp_path, capsys):
    missing(monkeypatch, ModuleNotFoundError("No module named 'weasyprint'"))
    out = tmp_path / "sheet.pdf"
    assert cli.main(["handout", "warmouth", "--quiz", "0", "-o", str(out), "--json"]) == 4
    told = capsys.readouterr()
    assert "pip install 'opercle[pdf]'" in told.err
    assert told.out == ""
    assert not out.exists()


def test_without_pango_it_says_that_the_system_lacks_it(monkeypatch, cache, tmp_path, capsys):
    missing(monkeypatch, OSError("cannot load library 'libpango-1.0-0'"))
    out = tmp_path / "sheet.pdf"
    assert cli.main(["handout", "warmouth", "--quiz", "0", "-o", str(out), "--json"]) == 4
    told = capsys.readouterr()
    assert "Pango" in told.err
    assert "libpango-1.0-0" in told.err
    assert told.out == ""


def test_a_pdf_carries_the_shipped_font_and_reads_nothing_outside_the_page(sheets, know, caplog):
    html = render(know, "handout", sheets[("Archoplites",)], "html")
    outside = html.replace("<main>", '<main><img src="file:///etc/hostname" alt="">')
    made = inflated(pdf_or_skip(outside, "a4"))
    assert b"DejaVu" in made
    said = [r.getMessage() for r in caplog.records]
    assert any("disallowed protocol" in s for s in said)
    assert not any("cannot be loaded" in s for s in said)


# ---- small parts ---------------------------------------------------------------------------


def test_cautions_of_one_fish_are_put_together():
    lines = ["Esox: one.", "known of these: two.", "Esox: three."]
    assert by_whom(lines) == [("Esox", ["one.", "three."]), ("", ["known of these: two."])]


def test_scientific_names_are_set_in_italics_and_the_rest_is_escaped():
    told = italics(["Lepomis gulosus", "Lepomis"])("<Lepomis gulosus> of Lepomis, not Lepomisx")
    assert told == "&lt;<i>Lepomis gulosus</i>&gt; of <i>Lepomis</i>, not Lepomisx"


def test_the_same_seed_gives_the_same_quiz_in_every_process_and_another_seed_another(know, cache):
    ask = (
        "import json; from opercle import Knowledge;"
        "print(json.dumps(Knowledge(tell=lambda _: None)"
        ".handout('rock bass', 'warmouth', seed=7).fields['quiz']))"
    )
    done = subprocess.run(
        [sys.executable, "-c", ask],
        env={"PYTHONHASHSEED": "1", "OPERCLE_CACHE": str(cache)},
        capture_output=True,
        encoding="utf-8",
        check=True,
        timeout=120,
    )
    first, second = (know.handout("rock bass", "warmouth", seed=n).fields["quiz"] for n in (7, 8))
    assert json.loads(done.stdout) == first
    assert first != second
