"""Labels are measured with the font shipped and packed so that none can meet."""

import os
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from opercle.draw import labels, style
from opercle.draw.labels import Label, hang, pack, place

_FONTS = {
    "regular": "DejaVuSansCondensed.ttf",
    "bold": "DejaVuSansCondensed-Bold.ttf",
    "italic": "DejaVuSansCondensed-Oblique.ttf",
}


@pytest.mark.parametrize("face", _FONTS)
def test_widths_are_those_of_the_font_shipped(face):
    fonts = pytest.importorskip("fontTools.ttLib")
    font = fonts.TTFont(os.path.join(style.DATA, "fonts", _FONTS[face]))
    glyphs, advance = font.getBestCmap(), font["hmtx"]
    units = font["head"].unitsPerEm
    for said in ("11 dorsal spines", "Micropterus nigricans", "known 9–11 (usually 10)", "“Wels”"):
        real = sum(advance[glyphs[ord(c)]][0] for c in said) / units * 15
        assert style.width(said, 15, face) == pytest.approx(real, abs=0.02)


def test_the_font_has_its_licence_and_every_glyph_that_labels_use():
    assert os.path.exists(os.path.join(style.DATA, "fonts", "LICENSE-DejaVu.txt"))
    widths = style._faces()["regular"]["widths"]
    assert set(
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 –-().,;:“”’éèüöñ"
    ) <= set(widths)


@given(
    st.lists(st.tuples(st.floats(0, 900), st.floats(20, 100)), min_size=1, max_size=7),
)
def test_packed_boxes_keep_their_order_and_their_distance(boxes):
    boxes = sorted(boxes)
    edges = pack([b[0] for b in boxes], [b[1] for b in boxes], 24, 936)
    for (a, wide), b in zip(
        zip(edges, [b[1] for b in boxes], strict=True), edges[1:], strict=False
    ):
        assert b - (a + wide) >= labels._GAP - 1e-6
    assert edges[0] >= 24 - 1e-6
    assert edges[-1] + boxes[-1][1] <= 936 + 1e-6


def test_a_lone_label_stands_over_its_anchor():
    assert pack([400], [100], 24, 936) == [350]


@given(st.lists(st.tuples(st.floats(30, 930), st.floats(-60, 60)), min_size=1, max_size=9))
def test_a_row_of_labels_never_meets_and_loses_only_the_last_given(anchors):
    given_ = [
        Label(f"k{i}", str(i + 1), "dorsal soft rays", "known 10–13, stated for a family", a)
        for i, a in enumerate(anchors)
    ]
    row, lost = place(given_, 24, 936)
    assert [label.key for label in lost] == [f"k{i}" for i in range(len(row), len(given_))]
    line = [(x, -100.0, 100.0) for x in range(100, 900, 20)]
    for above in (True, False):
        hung = sorted(hang(row, line, above), key=lambda b: b.x)
        for a, b in pairwise(hung):
            assert a.x + a.wide < b.x
        for box in hung:
            assert (box.y + box.high < -100) if above else (box.y > 100)


def test_words_wrap_within_the_width_given():
    said = "runs out, with further rows above and below, stated for Moronidae"
    for most in (90, 140, 260):
        lines = style.wrap(said, 13, most)
        assert " ".join(lines) == said
        assert all(style.width(line, 13) <= most for line in lines)
    assert style.wrap("", 13, 90) == []
    assert style.wrap("Pneumonoultramicroscopic", 13, 20) == ["Pneumonoultramicroscopic"]
