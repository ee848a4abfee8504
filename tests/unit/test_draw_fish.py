"""A schematic fish shows its own numbers, each once, and never an invented one."""

import re
from collections import Counter
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest

from opercle.draw import fish, plans
from opercle.draw.figure import figure
from opercle.draw.svg import prefix_of
from opercle.questions import looks

SVG = "{http://www.w3.org/2000/svg}"
LOOKED_AT = (
    "t:Ambloplites-rupestris",
    "t:Micropterus-nigricans",
    "t:Morone-saxatilis",
    "t:Pomoxis-nigromaculatus",
    "t:Sander-vitreus",
    "t:Perca-flavescens",
    "t:Etheostoma-nigrum",
    "t:Salvelinus-fontinalis",
    "t:Esox-lucius",
    "t:Mola-mola",
    "t:Lepomis-macrochirus",
    "t:Lepisosteus-osseus",
    "t:Ictalurus-punctatus",
)
PAIRS = (
    ("t:Micropterus-nigricans", "t:Morone-saxatilis"),
    ("t:Pomoxis-nigromaculatus", "t:Pomoxis-annularis"),
    ("t:Sander-vitreus", "t:Perca-flavescens"),
)


def parsed(svg):
    return ET.fromstring(svg)


def ids(tree):
    return [e.get("id") for e in tree.iter() if e.get("id")]


def elements(svg, kind):
    """Ids of fin elements, by fin: ``{"dorsal-1": 14}`` for spines or rays."""
    found = Counter()
    for name in ids(parsed(svg)):
        match = re.fullmatch(
            rf".*-(dorsal|dorsal-1|dorsal-2|anal|pelvic|pectoral|tail)-{kind}-\d+", name
        )
        if match:
            found[match[1]] += 1
    return found


def made(numbers, states=None, name="Invented fish", lineage=("Invented fish",)):
    """Looks of a fish that exists in this test alone."""
    from opercle.counts import CountRange
    from opercle.questions.looks import COUNTS, RATIOS, STATES, Looks, Number, State

    states = states or {}
    labels = {k: k.replace("-", " ") for k in (*COUNTS, *RATIOS, *STATES, "side-pattern")}
    return Looks(
        "t:Invented", name, None, "species", None, lineage,
        {k: Number(CountRange(*v), (), "Invented", False) for k, v in numbers.items()},
        {k: State((v,), v, v, (), "Invented", False) for k, v in states.items()},
        labels,
        tuple(k for k in (*COUNTS, *RATIOS, *STATES) if k not in numbers and k not in states),
        (),
    )  # fmt: skip


def shown(desk, taxon):
    look = looks.of(desk, taxon)
    return look, fish.draw(look)


@pytest.mark.parametrize("taxon", LOOKED_AT)
def test_every_known_fin_element_is_drawn_once_and_no_other(desk, taxon):
    look, drawing = shown(desk, taxon)
    spines, rays = elements(drawing.svg, "spine"), elements(drawing.svg, "ray")
    fins = {"dorsal": ("dorsal", "dorsal-1", "dorsal-2"), "anal": ("anal",)}
    for fin, names in fins.items():
        for kind, found in (("spines", spines), ("soft-rays", rays)):
            number = look.numbers.get(f"{fin}-{kind}")
            assert sum(found[n] for n in names) == (int(number.middle) if number else 0)
    assert (
        spines["pelvic"]
        == int(look.numbers["pelvic-spines"].middle) * ("pelvic" in figure(look).fins)
        if "pelvic-spines" in look.numbers
        else spines["pelvic"] == 0
    )
    assert rays["pectoral"] == (
        int(look.numbers["pectoral-rays"].middle) if "pectoral-rays" in look.numbers else 0
    )


@pytest.mark.parametrize("taxon", LOOKED_AT)
def test_the_label_tells_the_number_drawn_and_the_range_known(desk, taxon):
    look, drawing = shown(desk, taxon)
    said = " ".join(t.text or "" for t in parsed(drawing.svg).iter(f"{SVG}text"))
    for key in ("dorsal-spines", "anal-soft-rays"):
        number = look.numbers.get(key)
        if number is None or number.middle == 0:
            continue
        assert f"{number.middle:g} {look.labels[key].split()[0]}" in said
        if number.range.most != number.range.least and number.range.most is not None:
            assert f"{number.range.least:g}–{number.range.most:g}" in said


def test_the_middle_of_the_usual_range_is_drawn():
    from opercle.counts import CountRange

    number = looks.Number(CountRange(5, 13, 9, 10), (), "x", False)
    assert number.middle == 9
    assert looks.Number(CountRange(3, None), (), "x", False).middle == 3
    assert looks.Number(CountRange(0.2, 0.3), (), "x", False).middle == pytest.approx(0.25)
    assert looks.Number(CountRange(10, 13), (), "x", False).middle == 11


def test_without_numbers_fins_are_outlines_and_the_picture_says_so():
    drawing = fish.draw(made({}))
    assert not elements(drawing.svg, "spine")
    assert not elements(drawing.svg, "ray")
    assert any("not known" in line for line in drawing.unknown)
    assert "outline only" in drawing.svg
    assert "No statement here on" in drawing.svg


def test_an_unknown_number_in_one_fin_leaves_the_known_ones_drawn():
    drawing = fish.draw(made({"anal-spines": (3, 3)}, {"dorsal-fins": "joined"}))
    assert elements(drawing.svg, "spine") == {"anal": 3}
    assert not elements(drawing.svg, "ray")


@pytest.mark.parametrize(
    ("state", "fins"),
    [("joined", {"dorsal"}), ("notched", {"dorsal"}), ("separate", {"dorsal-1", "dorsal-2"})],
)
def test_dorsal_fins_are_joined_notched_or_separate_by_their_state(state, fins):
    numbers = {"dorsal-spines": (10, 10), "dorsal-soft-rays": (12, 12)}
    shape = figure(made(numbers, {"dorsal-fins": state}))
    assert {n for n in shape.fins if n.startswith("dorsal")} == fins


def test_separate_dorsal_fins_have_back_showing_between_them():
    numbers = {"dorsal-spines": (14, 14), "dorsal-soft-rays": (13, 13)}
    shape = figure(made(numbers, {"dorsal-fins": "separate"}, lineage=("Perca",)))
    first = max(x for x, y in outline_points(shape.fins["dorsal-1"].outline))
    second = min(x for x, y in outline_points(shape.fins["dorsal-2"].outline))
    assert second - first > 0.015 * shape.long


def outline_points(d):
    numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", d)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def test_a_notch_cuts_deeper_than_a_join():
    numbers = {"dorsal-spines": (10, 10), "dorsal-soft-rays": (12, 12)}
    last = {}
    for state in ("joined", "notched"):
        fin = figure(made(numbers, {"dorsal-fins": state})).fins["dorsal"]
        spine = fin.of_kind("spine")[-1]
        last[state] = spine.base[1] - spine.tip[1]
    assert last["notched"] < 0.6 * last["joined"]


def test_the_jaw_reaches_as_far_as_its_state_says():
    reaches = ("before-eye", "front-of-eye", "mid-eye", "rear-of-eye", "beyond-eye")
    heads = [figure(made({}, {"jaw-reach": r}, lineage=("Micropterus",))).head for r in reaches]
    xs = [h.corner[0] for h in heads]
    assert xs == sorted(xs)
    assert len(set(xs)) == 5
    eye, radius = heads[0].eye[0], heads[0].radius
    assert xs[0] < eye - radius < xs[1] < eye < xs[3] < eye + radius < xs[4]
    assert xs[2] == pytest.approx(eye)


def test_a_deeper_fish_is_drawn_deeper():
    deep, slender = (
        figure(made({"body-depth": (d, d)}, lineage=("Lepomis", "Centrarchidae")))
        for d in (0.5, 0.35)
    )
    ratio = [(max(f.bottom.ys) - min(f.top.ys)) / f.long for f in (deep, slender)]
    assert ratio[0] == pytest.approx(0.5, abs=0.03)
    assert ratio[1] == pytest.approx(0.35, abs=0.03)


@pytest.mark.parametrize(
    ("taxon", "plan"),
    [
        ("t:Lepomis-macrochirus", "deep sunfish"),
        ("t:Pomoxis-annularis", "crappie"),
        ("t:Micropterus-dolomieu", "black bass"),
        ("t:Morone-saxatilis", "temperate bass"),
        ("t:Perca-flavescens", "perch"),
        ("t:Sander-vitreus", "pikeperch"),
        ("t:Etheostoma-nigrum", "darter"),
        ("t:Salvelinus-fontinalis", "trout"),
        ("t:Esox-lucius", "pike"),
        ("t:Ictalurus-punctatus", "catfish"),
        ("t:Mola-mola", "ocean sunfish"),
        ("t:Lepisosteus-osseus", "gar"),
        ("t:Amia-calva", "bowfin"),
        ("t:Aplodinotus-grunniens", "drum"),
    ],
)
def test_the_body_plan_follows_from_the_lineage(desk, taxon, plan):
    assert figure(looks.of(desk, taxon)).plan.key == plan


def test_a_fish_outside_the_table_goes_by_its_stated_form_and_says_so():
    plan, why = plans.choose(("Unheardofia",), "eel-like", None)
    assert plan.key == "eel"
    assert "stated body form" in why
    assert "no nearer plan" in plans.choose(("Unheardofia",), None, None)[1]


def test_outlines_close_at_snout_and_tail_and_never_cross():
    for plan in plans.PLANS.values():
        shape = figure(made({}, lineage=(plan.key,)))
        for i in range(1, 41):
            x = shape.long * i / 40
            assert shape.top(x) < shape.bottom(x)
        assert plan.top[0][0] == plan.bottom[0][0] == 0
        assert plan.top[-1][0] == plan.bottom[-1][0] == 1


def test_an_adipose_fin_and_feelers_are_drawn_where_they_are_stated(desk):
    trout = figure(looks.of(desk, "t:Salvelinus-fontinalis"))
    bass = figure(looks.of(desk, "t:Micropterus-nigricans"))
    assert "adipose" in trout.fins
    assert "adipose" not in bass.fins
    catfish = fish.draw(looks.of(desk, "t:Ictalurus-punctatus"))
    assert sum("-barbel-" in name for name in ids(parsed(catfish.svg))) == 4
    assert "4 on the side seen" in " ".join(
        t.text or "" for t in parsed(catfish.svg).iter(f"{SVG}text")
    )


@pytest.mark.parametrize("taxon", LOOKED_AT)
def test_labels_and_digits_never_meet_and_stay_on_the_page(desk, taxon):
    apart(shown(desk, taxon)[1].boxes)


@pytest.mark.parametrize("pair", PAIRS)
def test_labels_beside_each_other_never_meet(desk, pair):
    one, two = (looks.of(desk, t) for t in pair)
    apart(fish.beside(one, two, looks.differences(desk, *pair)).boxes)


def apart(boxes):
    assert boxes
    for i, a in enumerate(boxes):
        assert a[0] >= 0
        assert a[2] <= 960
        for b in boxes[:i]:
            assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3])


@pytest.mark.parametrize("pair", PAIRS)
def test_ids_are_unique_with_two_fishes_in_one_picture(desk, pair):
    one, two = (looks.of(desk, t) for t in pair)
    tree = parsed(fish.beside(one, two, looks.differences(desk, *pair)).svg)
    names = ids(tree)
    assert len(names) == len(set(names))
    fishes = [prefix_of(look.name) for look in (one, two)]
    assert all(any(n.startswith(f"{p}-") for n in names) for p in fishes)
    used = re.findall(r"url\(#([^)]+)\)", ET.tostring(tree, encoding="unicode"))
    assert used
    assert set(used) <= set(names)


def test_deciding_characters_are_numbered_in_both_fishes_and_in_the_table(desk):
    pair = PAIRS[0]
    one, two = (looks.of(desk, t) for t in pair)
    parted = looks.differences(desk, *pair)
    said = [t.text for t in parsed(fish.beside(one, two, parted).svg).iter(f"{SVG}text")]
    assert said.count("1") >= 3
    assert parted[0].verdict == "decides"
    assert sum(s == parted[0].label for s in said) >= 3


def test_colour_is_never_among_the_differences(desk):
    for pair in PAIRS:
        keys = {d.key for d in looks.differences(desk, *pair)}
        assert not keys & {"side-pattern", "body-colour", "fin-ocellus", "breeding-colour"}


def test_what_decides_is_thicker_as_well_as_coloured(desk):
    one, two = (looks.of(desk, t) for t in PAIRS[1])
    parted = [d for d in looks.differences(desk, *PAIRS[1]) if d.key == "dorsal-spines"]
    assert parted
    strong = parsed(fish.beside(one, two, parted).svg)
    plain = parsed(fish.beside(one, two, []).svg)

    def spine_width(tree):
        path = next(e for e in tree.iter() if (e.get("id") or "").endswith("dorsal-spine-1"))
        pts = outline_points(path.get("d"))
        return ((pts[0][0] - pts[3][0]) ** 2 + (pts[0][1] - pts[3][1]) ** 2) ** 0.5

    assert spine_width(strong) > 1.2 * spine_width(plain)


def test_stripes_stop_before_they_could_run_together():
    shape = figure(made({}, {"side-pattern": "stripes"}, lineage=("Moronidae",)))
    from opercle.draw import marks, svg

    group = ET.Element("g")
    marks.paint(group, shape, "stripes")
    bands = [outline_points(e.get("d")) for e in group.iter("path")]
    assert len(bands) == 7
    for upper, lower in pairwise(bands):
        low = {x: y for x, y in upper[len(upper) // 2 :]}
        high = {x: y for x, y in lower[: len(lower) // 2]}
        assert all(high[x] - low[x] > 1.5 for x in low.keys() & high.keys())
    assert svg.prefix_of("A b") == "a-b"


def test_every_picture_has_a_title_and_a_description(desk):
    tree = parsed(shown(desk, "t:Perca-flavescens")[1].svg)
    title, desc = tree.find(f"{SVG}title"), tree.find(f"{SVG}desc")
    assert tree.get("role") == "img"
    assert tree.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    assert "Perca flavescens" in title.text
    assert "dorsal spines 14" in desc.text.lower()


def luminance(colour):
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("name", ["INK", "SOFT", "ACCENT", "NATIVE", "BROUGHT", "DOUBTED"])
def test_inks_of_text_and_marks_keep_the_contrast_of_aa_on_white(name):
    # WCAG 2.1, success criterion 1.4.3: at least 4.5 to 1 for text.
    from opercle.draw import style

    assert 1.05 / (luminance(getattr(style, name)) + 0.05) >= 4.5
