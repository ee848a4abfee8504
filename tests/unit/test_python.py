"""The Python door: light, typed, shown well in a notebook, and handed on as data frames."""

import doctest
import importlib
import subprocess
import sys
from xml.etree import ElementTree

import pandas
import polars
import pytest

from opercle import notebook
from opercle.answers import Answer, Reason
from opercle.errors import UsageError


def test_importing_opercle_imports_nothing_heavy():
    told = "import sys, opercle; opercle.Knowledge; print(*sys.modules)"
    found = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    loaded = {name.partition(".")[0] for name in found.stdout.split()}
    heavy = {"rdflib", "pandas", "polars", "pyarrow", "duckdb", "jinja2", "rich", "networkx"}
    assert not loaded & {*heavy, "fastapi", "starlette", "pyshacl", "http", "dataclasses"}


@pytest.mark.parametrize(
    "module", ["opercle.answers", "opercle.knowledge", "opercle.batches", "opercle.exports.context"]
)
def test_the_examples_in_docstrings_run(module, cache):
    done = doctest.testmod(importlib.import_module(module))
    assert done.attempted > 0
    assert done.failed == 0


def test_an_answer_shows_sentence_table_reasons_and_drawing(know):
    answer = know.why("largemouth bass", rather_than="Moronidae")
    root = ElementTree.fromstring(well_formed(answer._repr_html_()))
    assert root.find("p/strong").text == answer.answer
    captions = [c.text for c in root.iter("caption")]
    assert captions[0] == "characters"
    rows = root.find("table").findall("tr")
    assert len(rows) == min(15, len(answer.fields["characters"])) + 1
    assert len(list(root.iter("li"))) >= len(answer.cautions) + 1
    assert root.find("{http://www.w3.org/2000/svg}svg") is not None


def well_formed(html):
    return html.replace("<br>", "<br/>")


@pytest.mark.parametrize(
    ("ask", "pictures"),
    [
        (lambda k: k.account("rock bass"), 1),
        (lambda k: k.compare("rock bass", "warmouth"), 1),
        (lambda k: k.name("redeye bass", water="Coosa"), 1),
        (lambda k: k.name("perch"), 0),
        (lambda k: k.draw("shoal bass", kind="map"), 1),
        (lambda k: k.status(), 0),
    ],
)
def test_one_or_two_fishes_are_drawn_and_more_are_not(know, ask, pictures):
    shown = ask(know)._repr_html_()
    assert shown.count("</svg>") == pictures
    assert "<script" not in shown


def test_what_is_shown_is_escaped():
    reason = Reason("<b>x</b>", "read", "A & B 1900")
    answer = Answer({}, "open", "<i>", [reason], ["<u>"], {"bearers": [{"family": "<s>"}]})
    shown = answer._repr_html_()
    assert not {"<i>", "<b>", "<u>", "<s>"} & {shown[i : i + 3] for i in range(len(shown))}
    assert "A &amp; B 1900" in shown


def test_names_go_to_both_kinds_of_data_frame(know):
    answer = know.account("rock bass")
    names = [n["name"] for n in answer.fields["names"]]
    wide, long = answer.to_pandas(), answer.to_polars("names")
    assert isinstance(wide, pandas.DataFrame)
    assert isinstance(long, polars.DataFrame)
    assert wide["name"].tolist() == long["name"].to_list() == names
    assert len(names) > 5


def test_reasons_are_a_table_too(know):
    answer = know.really("white perch")
    told = answer.to_pandas("because")
    assert told["says"].tolist() == [r.says for r in answer.because]


def test_a_table_that_is_not_there_lists_those_that_are(know):
    with pytest.raises(UsageError) as caught:
        know.really("white perch").to_pandas("couplets")
    assert "bearers" in caught.value.remedy


def test_a_missing_library_is_told(monkeypatch):
    monkeypatch.setitem(sys.modules, "polars", None)
    with pytest.raises(UsageError, match="polars is not installed"):
        notebook.frame("polars", [])


def test_to_dict_is_unchanged_by_a_drawing(know):
    answer = know.account("rock bass")
    assert answer.drawing is not None
    assert "drawing" not in answer.to_dict()
    assert know.account("rock bass") == answer
