"""Names as a graph: tangles, the worst names, where bearers part, and the picture of it."""

import json
import subprocess
import sys
from xml.etree import ElementTree as ET

import pytest

from opercle import trees
from opercle.draw import tangles as drawing
from opercle.draw.style import WIDTH, width
from opercle.errors import UnknownError

SPACE = "{http://www.w3.org/2000/svg}"


def uses(*pairs):
    return [
        {"n": f"n:{n}", "form": n, "t": f"t:{t}", "use": f"s:{n}-{t}-{i}"}
        for i, (n, t) in enumerate(pairs)
    ]


WEB = uses(
    ("bass", "a"), ("bass", "b"), ("perch", "b"), ("perch", "c"), ("pike", "d"), ("pike", "e"),
    ("alone", "f"), ("bass", "a"),
)  # fmt: skip


def test_a_name_that_means_one_fish_tangles_nothing():
    graph = trees.web(WEB)
    assert trees.names(graph) == ["n:bass", "n:perch", "n:pike"]
    assert trees.fishes(graph) == ["t:a", "t:b", "t:c", "t:d", "t:e"]


def test_two_uses_of_one_name_for_one_fish_are_one_line_with_both_uses():
    assert trees.web(WEB).edges["n:bass", "t:a"]["uses"] == ["s:bass-a-0", "s:bass-a-7"]


def test_a_tangle_is_all_that_hangs_together_and_the_largest_comes_first():
    parts = trees.tangles(trees.web(WEB))
    assert [sorted(p) for p in parts] == [
        ["n:bass", "n:perch", "t:a", "t:b", "t:c"],
        ["n:pike", "t:d", "t:e"],
    ]


def test_what_lies_nearest_is_kept_and_the_rest_left_out():
    graph = trees.web(WEB)
    assert sorted(trees.around(graph, "n:bass", 4)) == ["n:bass", "n:perch", "t:a", "t:b"]
    assert sorted(trees.around(graph, "n:bass", 1)) == ["n:bass", "t:a", "t:b"]
    assert len(trees.around(graph, "n:bass", 60)) == 5


ABOVE = {
    "t:a": {"class": "C", "order": "O", "family": "F", "genus": "G"},
    "t:b": {"class": "C", "order": "O", "family": "F", "genus": "H"},
    "t:c": {"class": "C", "order": "P", "family": "K", "genus": "L"},
    "t:d": {"class": "C", "family": "F", "genus": "G"},
}


@pytest.mark.parametrize(
    ("taxa", "rank"),
    [("ab", "genus"), ("ac", "order"), ("abc", "order"), ("ad", "species"), ("cd", "family")],
)
def test_bearers_part_at_the_highest_rank_at_which_they_stand_in_two_groups(taxa, rank):
    assert trees.parts_at([f"t:{x}" for x in taxa], ABOVE) == rank


def test_the_worst_name_is_that_of_most_species_then_that_whose_bearers_stand_farthest_apart():
    graph = trees.web(
        uses(("x", "a"), ("x", "b"), ("y", "a"), ("y", "c"), *[("z", t) for t in "abc"])
    )
    assert trees.worst(graph, ABOVE, 2) == ["n:z", "n:y"]


def test_the_whole_answer_lists_the_worst_twenty_and_every_tangle_once(know):
    answer = know.tangles()
    fields = answer.fields
    assert answer.outcome == "tangled"
    assert len(fields["worst"]) == 20
    sizes = [row["species"] for row in fields["worst"]]
    assert sizes == sorted(sizes, reverse=True)
    names = [n["node"] for tangle in fields["tangles"] for n in tangle["names"]]
    assert len(names) == len(set(names)) == sum(fields["parts_at"].values()) > 300
    bearers = {n["node"]: n["bearers"] for tangle in fields["tangles"] for n in tangle["names"]}
    assert all(len(taxa) > 1 for taxa in bearers.values())


def test_every_line_of_why_of_the_worst_can_be_proved(know):
    for reason in know.tangles().because[:5]:
        assert know.prove(*reason.triple).outcome == "derived"


def test_the_graph_says_the_same_as_the_rule_on_shared_names(know):
    rows = know.query(
        """SELECT ?n (COUNT(DISTINCT ?t) AS ?k) WHERE { ?n op:sharedBy ?t ; a op:CommonName .
        ?t dwc:taxonRank "species" . ?u op:name ?n ; op:means ?t . MINUS { ?u op:doubted ?d } }
        GROUP BY ?n HAVING (COUNT(DISTINCT ?t) > 1)"""
    )
    by_rule = {(r["n"].value.rpartition("/")[2], int(r["k"].value)) for r in rows}
    told = {
        (n["node"].removeprefix("n:"), n["species"])
        for tangle in know.tangles().fields["tangles"]
        for n in tangle["names"]
    }
    assert told == by_rule


def test_a_name_shows_its_bearers_with_sources_and_the_rank_at_which_they_part(know):
    answer = know.tangles("turbot")
    (row,) = [n for n in answer.fields["tangle"]["names"] if n["name"] == "turbot"]
    assert row["species"] == len(row["bearers"]) >= 3
    assert row["parts_at"] in ("class", "order")
    assert f"part at the rank of {row['parts_at']}" in answer.answer
    assert len(answer.because) >= row["species"]
    assert all(r.source for r in answer.because)


def test_a_fish_shows_every_name_it_shares(know):
    answer = know.tangles("Micropterus coosae")
    start = answer.fields["tangle"]["start"]
    assert start == "t:Micropterus-coosae"
    assert "“redeye bass”" in answer.answer
    assert any(start in n["bearers"] for n in answer.fields["tangle"]["names"])


def test_a_fish_that_shares_no_name_is_said_to_be_untangled(know):
    answer = know.tangles("Zingel zingel")
    assert answer.outcome == "untangled"
    assert know.tangles("Zingel zingel", drawn=True).fields["svg"] is None


def test_a_name_that_nobody_knows_is_told_with_the_nearest(know):
    with pytest.raises(UnknownError):
        know.tangles("xyzzyq")


# ---- the picture ---------------------------------------------------------------------------------


def measured(svg):
    """Every box and line of text as (left, top, right, foot)."""
    root = ET.fromstring(svg)
    boxes = [
        (x, y, x + w, y + h)
        for rect in root.iter(f"{SPACE}rect")
        if rect.get("class") == "box"
        for x, y, w, h in [tuple(float(rect.get(k)) for k in ("x", "y", "width", "height"))]
    ]
    for line in root.iter(f"{SPACE}text"):
        if line.get("class") in ("fish", "note"):
            x, y, size = (float(line.get(k)) for k in ("x", "y", "font-size"))
            face = "bold" if line.get("font-weight") else "regular"
            boxes.append((x, y - size * 0.76, x + width(line.text, size, face), y + size * 0.2))
    return root, boxes


@pytest.mark.parametrize("name", [None, "turbot", "rock cod", "Lepomis auritus", "Dover sole"])
def test_in_the_picture_no_two_names_meet_and_none_runs_over(know, name):
    root, boxes = measured(know.tangles(name, drawn=True).fields["svg"])
    high = float(root.get("viewBox").split()[3])
    assert len(boxes) >= 5
    for index, (x, y, right, foot) in enumerate(boxes):
        assert 0 <= x <= right <= WIDTH
        assert 0 <= y <= foot <= high
        for x2, y2, right2, foot2 in boxes[index + 1 :]:
            assert right <= x2 or right2 <= x or foot <= y2 + 0.1 or foot2 <= y + 0.1


def test_every_use_is_a_line_and_the_picture_is_told_in_words(know):
    answer = know.tangles("turbot", drawn=True)
    root, _ = measured(answer.fields["svg"])
    lines = [p for p in root.iter(f"{SPACE}path") if "C" in p.get("d")]
    assert len(lines) == sum(len(n["bearers"]) for n in answer.fields["tangle"]["names"])
    desc = root.find(f"{SPACE}desc").text
    assert all(f["label"] in desc for f in answer.fields["tangle"]["fishes"])


def test_lines_cross_less_than_in_the_order_of_the_alphabet():
    names = [drawing.Item(f"n{i}", f"{9 - i}") for i in range(10)]
    fishes = [drawing.Item(f"f{i}", f"{i}") for i in range(10)]
    lines = [drawing.Line(f"n{i}", f"f{i}") for i in range(10)]
    left, right = drawing._ordered(drawing.Picture("x", "", names, fishes, lines))
    places = [[x.key for x in right].index(f"f{n.key[1:]}") for n in left]
    assert places in (sorted(places), sorted(places, reverse=True))


def run(*args):
    command = [sys.executable, "-m", "opercle.faces.cli", "tangles", *args]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_the_command_tells_and_writes_the_picture(tmp_path, know):
    path = tmp_path / "made.svg"
    done = run("turbot", "-o", str(path))
    assert done.returncode == 0
    assert "part at the rank of" in done.stdout
    assert ET.parse(path).getroot().get("role") == "img"
    told = json.loads(run("--json").stdout)
    assert len(told["worst"]) == 20
    assert run("xyzzyq").returncode == 3
