"""``opercle draw`` gives the answer of the contract and writes pictures whole or not at all."""

import json
from xml.etree import ElementTree as ET

import pytest

from opercle.errors import UnknownError, UsageError
from opercle.faces import cli, drawing

SVG = "{http://www.w3.org/2000/svg}"


def test_an_answer_holds_the_picture_and_the_statements_it_rests_on(know):
    answer = know.draw("rock bass")
    assert answer.outcome == "drawn"
    assert ET.fromstring(answer.fields["svg"]).tag == f"{SVG}svg"
    assert answer.fields["file"] is None
    assert any("anal spines" in r.says for r in answer.because)
    assert all(r.source for r in answer.because)
    assert any("tail" in line for line in answer.fields["not_known"])
    assert any("never decide" in line for line in answer.cautions)


@pytest.mark.parametrize("kind", ["tree", "map"])
def test_trees_and_maps_are_answers_too(know, kind):
    answer = know.draw("Micropterus coosae", kind=kind)
    assert answer.outcome == "drawn"
    assert answer.because
    ET.fromstring(answer.fields["svg"])


def test_a_name_of_several_fishes_is_open_and_nothing_is_drawn(know):
    answer = know.draw("redeye")
    assert answer.outcome == "open"
    assert len(answer.fields["bearers"]) > 1
    assert answer.fields["svg"] is None


def test_the_same_fish_twice_an_unknown_kind_and_a_tree_beside_are_refused(know):
    with pytest.raises(UsageError, match="same fish"):
        know.draw("rock bass", beside="Ambloplites rupestris")
    with pytest.raises(UsageError, match="no kind of drawing"):
        know.draw("rock bass", kind="photograph")
    with pytest.raises(UsageError, match="shows one taxon"):
        know.draw("rock bass", beside="warmouth", kind="tree")
    with pytest.raises(UnknownError):
        know.draw("qqqqq")


def test_the_command_writes_a_file_and_tells_it(tmp_path, capsys):
    out = tmp_path / "two.svg"
    status = cli.main(["draw", "walleye", "--beside", "yellow perch", "-o", str(out), "--json"])
    told = json.loads(capsys.readouterr().out)
    assert status == 0
    assert told["outcome"] == "drawn"
    assert told["file"] == str(out)
    assert out.read_text(encoding="utf-8") == told["svg"]
    assert told["beside"]["scientificName"] == "Perca flavescens"
    assert [p.name for p in tmp_path.iterdir()] == ["two.svg"]


def test_without_a_file_the_picture_goes_to_standard_output(capsys):
    assert cli.main(["draw", "bluegill"]) == 0
    assert ET.fromstring(capsys.readouterr().out).tag == f"{SVG}svg"


def test_a_folder_that_is_not_there_is_an_error_of_status_four(tmp_path, capsys):
    assert cli.main(["draw", "bluegill", "-o", str(tmp_path / "no" / "x.svg")]) == 4
    assert "where" in capsys.readouterr().err


def test_a_picture_that_cannot_be_written_leaves_the_old_one(tmp_path, monkeypatch):
    old = tmp_path / "x.svg"
    old.write_text("old", encoding="utf-8")

    def broken(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(drawing.os, "fsync", broken)
    with pytest.raises(drawing.FileError, match="No space left"):
        drawing.write(str(old), "new")
    assert old.read_text(encoding="utf-8") == "old"
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize("kind", ["fish", "map"])
def test_without_notes_the_picture_is_shorter_and_what_is_not_known_is_still_told(know, kind):
    answers = [know.draw("Ambloplites ariommus", kind=kind, notes=n) for n in (True, False)]
    whole, bare = (a.fields["svg"] for a in answers)
    assert answers[0].fields["not_known"] == answers[1].fields["not_known"]
    high = [float(ET.fromstring(svg).get("viewBox").split()[3]) for svg in (whole, bare)]
    assert high[1] < high[0]
    told = ET.fromstring(bare).findtext("{http://www.w3.org/2000/svg}desc")
    assert answers[1].fields["not_known"][0] in told if kind == "fish" else "Schematic" in bare


def test_a_fish_without_labels_stands_alone_in_its_frame(know):
    whole = ET.fromstring(know.draw("warmouth").fields["svg"])
    alone = ET.fromstring(know.draw("warmouth", labels=False).fields["svg"])
    said = ["".join(t.itertext()) for t in alone.iter("{http://www.w3.org/2000/svg}text")]
    assert said
    assert all(s.isdigit() for s in said)
    assert len(list(alone.iter())) < len(list(whole.iter()))
    x, y, wide, high = (float(n) for n in alone.get("viewBox").split())
    for node in alone.iter("{http://www.w3.org/2000/svg}text"):
        assert x < float(node.get("x")) < x + wide
        assert y < float(node.get("y")) < y + high


@pytest.mark.parametrize("how", [{"beside": "bluegill"}, {"kind": "map"}])
def test_only_one_fish_can_be_drawn_without_labels(know, how):
    with pytest.raises(UsageError, match="without labels"):
        know.draw("warmouth", labels=False, **how)


def test_a_picture_is_written_as_elementtree_writes_it(know):
    from opercle.draw import svg

    odd = ET.Element("g", {"d": 'a "b" <c> & d\te\nf'})
    ET.SubElement(odd, "text").text = "x < y & z > w"
    ET.SubElement(odd, "path", {"d": "M0 0"}).tail = "a & b"
    assert svg.written(odd) == ET.tostring(odd, encoding="unicode") + "\n"
    whole = know.draw("rock bass", beside="warmouth").fields["svg"]
    assert ET.canonicalize(whole).startswith("<svg")
