"""A family tree shows every member once, tidily, and counts where there are too many."""

import re
from xml.etree import ElementTree as ET

import pytest

from opercle.draw import style, tree
from opercle.questions import looks
from opercle.questions.looks import Branch

SVG = "{http://www.w3.org/2000/svg}"


def texts(svg):
    return [
        (t.text, float(t.get("x")), float(t.get("y")), float(t.get("font-size")), t)
        for t in ET.fromstring(svg).iter(f"{SVG}text")
    ]


def invented(genera, species):
    return Branch(
        "t:F", "Inventidae", None, "family",
        tuple(
            Branch(
                f"t:G{g}", f"Genus{g}", None, "genus",
                tuple(
                    Branch(f"t:{g}-{s}", f"Genus{g} species{s}", f"fish {g}-{s}", "species", ())
                    for s in range(species)
                ),
            )
            for g in range(genera)
        ),
    )  # fmt: skip


@pytest.mark.parametrize("taxon", ["t:Centrarchidae", "t:Percidae", "t:Pomoxis"])
def test_every_member_stands_in_the_tree_once(desk, taxon):
    above, branch, reasons = looks.family_tree(desk, taxon)
    assert reasons
    drawn = " | ".join(t[0] for t in texts(tree.draw(above, branch)))

    def walk(one):
        for member in one.members:
            if member.rank == "species":
                epithet = member.name.partition(" ")[2]
                assert re.search(rf"[A-Z][a-z.]* {epithet}( |$)", drawn)
            walk(member)

    walk(branch)
    assert all(one.name in drawn for one in above)


@pytest.mark.parametrize(("genera", "species"), [(2, 3), (6, 7), (10, 20), (20, 10)])
def test_lines_of_text_never_lie_on_each_other_up_to_two_hundred_species(genera, species):
    found = texts(tree.draw([], invented(genera, species)))
    assert sum("species" in t[0] for t in found) >= genera * species
    boxes = []
    for said, x, y, size, node in found:
        face = (
            "bold"
            if node.get("font-weight")
            else ("italic" if node.get("font-style") else "regular")
        )
        wide = style.width(said, size, face)
        left = x - wide / 2 if node.get("text-anchor") == "middle" else x
        boxes.append((left, y - size * 0.75, left + wide, y + size * 0.2, said))
    for i, a in enumerate(boxes):
        assert a[2] <= 960
        for b in boxes[:i]:
            assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]), (a, b)


def test_two_hundred_species_fit_a_sheet_in_columns():
    root = ET.fromstring(tree.draw([], invented(20, 10)))
    high = float(root.get("viewBox").split()[3])
    assert high < 960 * 2**0.5 * 1.2


def test_too_many_species_become_counts():
    drawn = [t[0] for t in texts(tree.draw([], invented(40, 12)))]
    assert not any("species3" in said for said in drawn)
    assert "12 species" in drawn
    assert any("genera are shown with the number" in said for said in drawn)


def test_a_taxon_without_members_says_so():
    lone = Branch("t:X", "Genus solus", "lone fish", "species", ())
    assert any("Nothing stands under it" in t[0] for t in texts(tree.draw([], lone)))


def test_ranks_are_counted_in_their_plural():
    assert tree.plural("genus", 1) == "1 genus"
    assert tree.plural("genus", 8) == "8 genera"
    assert tree.plural("species", 2) == "2 species"
    assert tree.plural("subfamily", 3) == "3 subfamilies"


def test_names_of_genera_and_below_are_in_italics_and_those_above_are_not(desk):
    for said, *_, node in texts(tree.draw(*looks.family_tree(desk, "t:Pomoxis")[:2])):
        if said in ("Pomoxis", "Pomoxis annularis"):
            assert node.get("font-style") == "italic"
        if said == "Centrarchidae":
            assert node.get("font-style") is None
