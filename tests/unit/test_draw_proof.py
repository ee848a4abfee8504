"""The picture of a proof: nothing overlaps, nothing runs over, nothing is left unsaid."""

import json
import subprocess
import sys
from xml.etree import ElementTree as ET

import pytest

from opercle.draw import proof
from opercle.draw.style import WIDTH, width

SPACE = "{http://www.w3.org/2000/svg}"


def leaf(number, basis="read", words=6):
    told = " ".join(["so it is stated of this fish"] * max(1, words // 6))
    return {
        "triple": [f"s:fact-{number}", "op:about", f"t:Fish-{number}"],
        "says": f"fact {number}: {told}",
        "rule": None,
        "principle": None,
        "premises": [],
        "unless": [],
        "citation": {"source": "Somebody 1999", "page": str(number), "basis": basis},
        "file": "ontology/taxa/made.ttl",
    }


def step(name, premises, unless=()):
    return {
        "triple": [f"t:{name}", "op:inFamily", "t:Made"],
        "says": f"{name} is of the family Made",
        "rule": "made-rule",
        "principle": "A principle that is long enough to be broken into lines. " * 4,
        "premises": list(premises),
        "unless": list(unless),
        "citation": None,
        "file": "made-rule.rq",
    }


def chain(length):
    made = step("end", [leaf(0), leaf(1, "recalled")])
    for number in range(length):
        made = step(f"step-{number}", [leaf(number + 2), made], [f"a nearer statement on {number}"])
    return made


def wide(number):
    return step("top", [step(f"part-{n}", [leaf(n, words=90)]) for n in range(number)])


def boxes(svg):
    root = ET.fromstring(svg)
    found = []
    for group in root.iter(f"{SPACE}g"):
        rect = group.find(f"{SPACE}rect[@class='box']")
        if rect is not None:
            x, y, w, h = (float(rect.get(k)) for k in ("x", "y", "width", "height"))
            found.append((group.get("class"), (x, y, x + w, y + h), group))
    return root, found


def said(group):
    return " ".join(t.text for t in group.iter(f"{SPACE}text"))


TREES = {
    "one fact": leaf(1),
    "short": step("a", [leaf(1), leaf(2, "recalled")], ["a nearer statement"]),
    "deep": chain(60),
    "wide": wide(40),
    "beyond what is drawn": step("whole", [wide(300), chain(30)]),
    "a word without a space": step("x" * 400, [leaf(1)]),
}


@pytest.mark.parametrize("name", TREES)
def test_no_two_boxes_meet_and_every_text_stays_in_its_box(name):
    root, found = boxes(proof.draw(TREES[name]))
    high = float(root.get("viewBox").split()[3])
    for index, (_, (x, y, right, foot), group) in enumerate(found):
        assert x >= 0
        assert right <= WIDTH + 0.1
        assert foot <= high
        for _, (x2, y2, right2, foot2), _ in found[index + 1 :]:
            assert right <= x2 or right2 <= x or foot <= y2 or foot2 <= y
        for line in group.iter(f"{SPACE}text"):
            face = "bold" if line.get("font-weight") else line.get("font-style") or "regular"
            start, size = float(line.get("x")), float(line.get("font-size"))
            wide_is = width(line.text, size, face)
            start -= wide_is / 2 if line.get("text-anchor") == "middle" else 0
            assert start >= x
            assert start + wide_is <= right + 0.5, line.text
            assert y < float(line.get("y")) < foot


def test_every_step_guard_and_fact_is_told_once():
    tree = chain(20)
    _, found = boxes(proof.draw(tree))
    kinds = [kind for kind, *_ in found]
    assert kinds.count("derived") == 21
    assert kinds.count("fact") == 22
    assert kinds.count("guard") == 20
    told = [said(g) for kind, _, g in found if kind == "guard"]
    assert all(t.startswith("Looked for and not found: a nearer statement") for t in told)


def test_a_fact_shows_its_source_and_page_and_whether_it_was_read():
    _, found = boxes(proof.draw(TREES["short"]))
    facts = [said(g) for kind, _, g in found if kind == "fact"]
    assert "Somebody 1999, 1 (read there)" in facts[0]
    assert "Somebody 1999, 2 (recalled, not yet checked)" in facts[1]


def test_a_fact_from_a_local_pack_says_so():
    tree = {**leaf(1), "file": "pack/county.ttl"}
    assert "local pack county.ttl" in proof.draw(tree)


def test_a_step_met_again_is_pointed_to_and_not_drawn_again():
    shared = step("shared", [leaf(1)])
    _, found = boxes(proof.draw(step("top", [step("a", [shared]), step("b", [shared])])))
    kinds = [kind for kind, *_ in found]
    assert kinds.count("fact") == 1
    (same,) = [said(g) for kind, _, g in found if kind == "same"]
    assert "as at 3 above" in same


def test_a_deep_tree_goes_on_below_and_says_where():
    svg = proof.draw(chain(60))
    assert "What it rests on is shown further below." in svg
    assert svg.count("from above, rests on:") >= 5


def test_what_is_too_much_to_draw_is_counted_with_the_command_that_shows_it():
    _, found = boxes(proof.draw(TREES["beyond what is drawn"]))
    assert len(found) <= proof.MOST + 20
    last = [said(g) for kind, _, g in found if kind == "same"][-1]
    assert "1 more line not drawn here: opercle prove t:whole op:inFamily t:Made" in last


def test_the_picture_has_a_title_and_tells_the_whole_proof_in_words():
    root, _ = boxes(proof.draw(TREES["short"]))
    title, desc = root.find(f"{SPACE}title"), root.find(f"{SPACE}desc")
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    assert title.text == "Proof: A is of the family Made"
    for words in ("by rule made-rule", "Looked for and not found: a nearer", "Somebody 1999, 2"):
        assert words in desc.text


def test_a_real_proof_is_drawn_whole(know):
    answer = know.prove("t:Morone", "op:inFamily", "t:Moronidae", drawn=True)
    _, found = boxes(answer.fields["svg"])
    leaves = {tuple(r.triple) for r in answer.because}
    assert sum(kind == "fact" for kind, *_ in found) == len(leaves)


def test_what_is_not_derivable_has_no_picture(know):
    answer = know.prove("t:Morone", "op:inFamily", "t:Percidae", drawn=True)
    assert answer.outcome == "not-derivable"
    assert answer.fields["svg"] is None


def run(*args):
    command = [sys.executable, "-m", "opercle.faces.cli", "prove", *args]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_the_command_writes_the_picture_and_says_so(tmp_path, know):
    path = tmp_path / "tree.svg"
    triple = ("t:Morone", "op:inFamily", "t:Moronidae")
    done = run(*triple, "-o", str(path))
    assert done.returncode == 0
    assert f"written: {path}" in done.stdout
    assert boxes(path.read_text(encoding="utf-8"))[1]
    assert run(*triple, "--to", "svg").stdout == path.read_text(encoding="utf-8")
    told = json.loads(run(*triple, "--json").stdout)
    assert told["outcome"] == "derived"
    assert "svg" not in told


def test_the_command_writes_nothing_where_nothing_follows(tmp_path, know):
    path = tmp_path / "tree.svg"
    done = run("t:Morone", "op:inFamily", "t:Percidae", "-o", str(path))
    assert done.returncode == 0
    assert "Neither stated nor derivable" in done.stdout
    assert not path.exists()


def test_a_picture_asked_for_as_text_is_refused(tmp_path, know):
    done = run("t:Morone", "op:inFamily", "t:Moronidae", "--to", "text", "-o", "x.svg")
    assert done.returncode == 2
    assert "-o writes a picture" in done.stderr
