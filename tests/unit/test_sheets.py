"""Printed sheets: whole in one file, every reference reaches its source, every drawing is told."""

import re
from html.parser import HTMLParser

import pytest

from opercle.draw import style
from opercle.errors import UsageError
from opercle.faces.sheets import refs, render

SHEETS = [
    ("account", ["rock bass"]),
    ("account", ["Micropterus"]),
    ("account", ["Centrarchidae"]),
    ("compare", ["black crappie", "white crappie"]),
    ("compare", ["rock bass", "Roanoke bass", "Ozark bass", "shadow bass"]),
    ("key", ["Lepomis"]),
    ("key", ["Archoplites"]),
]


class Page(HTMLParser):
    """Collects identifiers, links and drawings; a tag closed out of order fails."""

    VOID = frozenset({"meta", "br", "link", "img", "hr", "input"})

    def __init__(self):
        super().__init__()
        self.ids, self.links, self.drawings, self.open, self.wrong = [], [], [], [], []

    def handle_starttag(self, tag, attrs):
        held = dict(attrs)
        if "id" in held:
            self.ids.append(held["id"])
        if tag == "a":
            self.links.append(held["href"])
        if tag == "svg":
            self.drawings.append(held)
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        held = dict(attrs)
        if "id" in held:
            self.ids.append(held["id"])

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)


def sheet(know, kind, names, form="html"):
    answer = know.compare(*names) if kind == "compare" else getattr(know, kind)(names[0])
    return render(know, kind, answer, form)


@pytest.fixture(scope="module", params=SHEETS, ids=[f"{k} {n[0]}" for k, n in SHEETS])
def page(request, know):
    text = sheet(know, *request.param)
    read = Page()
    read.feed(text)
    return text, read


def test_a_sheet_is_well_formed_and_needs_nothing_beside_it(page):
    text, read = page
    assert text.startswith("<!doctype html>")
    assert not read.wrong
    assert not read.open
    outside = re.findall(r"(?:src|href)=[\"'](?!#)([^\"']+)", text)
    assert not [o for o in outside if not o.startswith("data:")]
    assert "url(http" not in text


def test_identifiers_are_unique_and_every_link_reaches_one(page):
    _, read = page
    assert len(read.ids) == len(set(read.ids))
    assert {link[1:] for link in read.links} <= set(read.ids)


def test_every_drawing_has_an_alternative_text(page):
    _, read = page
    for drawing in read.drawings:
        assert drawing.get("role") == "img"
        label = drawing.get("aria-labelledby", "").split()
        assert label or drawing.get("aria-label")
        assert set(label) <= set(read.ids)


def test_a_sheet_says_what_read_and_recalled_mean(page):
    assert "recalled from memory" in page[0]


@pytest.mark.parametrize(("kind", "names"), SHEETS)
def test_markdown_tells_the_same_with_its_sources(know, kind, names):
    text = sheet(know, kind, names, "md")
    assert text.startswith("# ")
    assert "## Sources" in text
    assert "<" not in re.sub(r"<[0-9]", "", text)


def test_text_is_escaped():
    from opercle.faces.sheets import environment

    made = environment().from_string("{{ x }}")
    assert made.render(x="a") == "a"
    assert environment().get_template("base.html").environment.autoescape("base.html")


def test_an_open_answer_makes_no_sheet(know):
    answer = know.account("redeye")
    assert answer.outcome == "open"
    with pytest.raises(UsageError):
        render(know, "account", answer, "html")


def luminance(colour):
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    light = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2]


@pytest.mark.parametrize("ink", ["INK", "SOFT", "ACCENT"])
def test_inks_of_text_keep_the_contrast_of_wcag_aa(ink):
    """W3C, Web Content Accessibility Guidelines 2.1, 1.4.3: at least 4.5 to 1."""
    contrast = 1.05 / (luminance(getattr(style, ink)) + 0.05)
    assert contrast >= 4.5


def test_references_of_several_statements_are_each_named_once_and_read_wins():
    entry = {
        "statements": [
            {"ref": 2, "basis": "recalled", "used": True},
            {"ref": 2, "basis": "read", "used": True},
            {"ref": 1, "basis": "recalled", "used": True},
            {"ref": 3, "basis": "read", "used": False},
        ]
    }
    assert refs(entry) == [{"n": 1, "basis": "recalled"}, {"n": 2, "basis": "read"}]
