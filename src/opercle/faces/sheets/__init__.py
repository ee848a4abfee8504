"""Printed sheets: an answer as a page to print, or as Markdown.

Knows: templates, one style for all sheets, and how facts show their source and basis.
Refuses to know: any fact; what the answer does not say is left out.
"""

import base64
import os
import re
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from opercle.answers import Answer
from opercle.draw import style
from opercle.errors import UsageError

if TYPE_CHECKING:
    import jinja2
    import markupsafe

    from opercle.knowledge import Knowledge

_HERE = os.path.dirname(os.path.abspath(__file__))
_FONTS = (
    ("DejaVuSansCondensed.ttf", "normal", "normal"),
    ("DejaVuSansCondensed-Bold.ttf", "bold", "normal"),
    ("DejaVuSansCondensed-Oblique.ttf", "normal", "italic"),
)
_INKS = ("INK", "SOFT", "RULE", "ACCENT")
_SPAN = re.compile(r"(?<=\d)-(?=\d)")
SHEETS = ("account", "compare", "key", "handout")


def render(know: "Knowledge", kind: str, answer: Answer, form: str) -> str:
    """One answer as a sheet; ``form`` is html (self-contained) or md.

    Raises UsageError where the answer is open: several fishes make no sheet.
    """
    if answer.outcome == "open":
        raise UsageError(answer.answer, kind, "Ask again with the scientific name.")
    from opercle.faces.sheets.pictures import pictures

    shown = pictures(know, kind, answer) if form == "html" else {}
    told = {"answer": answer, "f": answer.fields, "kind": kind, "pictures": shown}
    text = environment().get_template(f"{kind}.{form}").render(told)
    return text.strip() + "\n"


@cache
def environment() -> "jinja2.Environment":
    """The templates with their filters; HTML is escaped, and a missing field is an error."""
    import jinja2

    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_HERE),
        autoescape=lambda name: bool(name and name.endswith(".html")),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["css"] = css
    made.filters |= {
        "refs": refs,
        "called": called,
        "upper_first": upper_first,
        "grouped": grouped,
        "phrase": phrase,
        "dash": dash,
        "by_other": by_other,
        "in_order": in_order,
        "by_whom": by_whom,
        "italics": italics,
    }
    return made


@cache
def css() -> str:
    """The style of every sheet, with the inks of the drawings and the font within it."""
    with open(os.path.join(_HERE, "sheet.css"), encoding="utf-8") as file:
        text = file.read()
    inks = "".join(f"--{name.lower()}:{getattr(style, name)};" for name in _INKS)
    return f"{fonts()}\n:root{{{inks}--type:{style.FAMILY};}}\n{text}"


def fonts() -> str:
    """The drawings' font as rules with its data, so that a sheet needs nothing beside it."""
    rules = []
    for name, weight, slant in _FONTS:
        path = os.path.join(style.DATA, "fonts", name)
        if not os.path.exists(path):
            continue
        with open(path, "rb") as file:
            data = base64.b64encode(file.read()).decode("ascii")
        rules.append(
            "@font-face{font-family:'DejaVu Sans Condensed';"
            f"font-weight:{weight};font-style:{slant};"
            f"src:url(data:font/ttf;base64,{data}) format('truetype')}}"
        )
    return "\n".join(rules)


def refs(entry: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The numbered sources of a fact, each with its basis: ``{"n": 3, "basis": "read"}``."""
    cited = [s for s in entry.get("statements", ()) if s.get("used", True)]
    cited = cited or [entry, *entry.get("also", ())]
    found: dict[int, str] = {}
    for one in cited:
        number, basis = one.get("ref"), one.get("basis")
        if number and found.get(number) != "read":
            found[number] = str(basis)
    return [{"n": n, "basis": found[n]} for n in sorted(found)]


def called(taxon: Mapping[str, Any]) -> str:
    """A taxon by its common name, else its scientific one."""
    return str(taxon.get("vernacularName") or taxon.get("scientificName"))


def upper_first(text: str) -> str:
    """A phrase with its first letter large."""
    return text[:1].upper() + text[1:]


def phrase(words: list[str], link: str = "and") -> str:
    """Words joined as a sentence does."""
    from opercle.answers import listed

    return listed(list(words), link)


def grouped(names: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Names that differ only in where or when they hold, put together; order is kept."""
    found: dict[tuple[str, str, str], dict[str, Any]] = {}
    for name in names:
        same = (name["name"], name["language"], name["kind"])
        one = found.setdefault(same, {**name, "where": [], "years": [], "also": []})
        one["where"] += [w for w in name["where"] if w not in one["where"]]
        one["also"] += [name, *name["also"]]
        years = "-".join(str(y) for y in (name["from"], name["until"]) if y)
        if years and years not in one["years"]:
            one["years"].append(years)
    return list(found.values())


def dash(text: str) -> str:
    """Ranges of numbers with the dash that print uses: ``5–7``."""
    return _SPAN.sub("–", text)


def by_other(contrasts: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What is told of one look-alike put together, in the order in which they come."""
    found: dict[str, dict[str, Any]] = {}
    for one in contrasts:
        found.setdefault(one["from"], {"from": one["from"], "said": []})["said"].append(one)
    return list(found.values())


def by_whom(lines: Sequence[str]) -> list[tuple[str, list[str]]]:
    """Cautions of one fish or group put together under its name; others stand by themselves."""
    heads = [line.partition(": ")[0] for line in lines]
    found: dict[str, tuple[str, list[str]]] = {}
    for line, head in zip(lines, heads, strict=True):
        if heads.count(head) > 1:
            found.setdefault(head, (head, []))[1].append(line.removeprefix(f"{head}: "))
        else:
            found[line] = ("", [line])
    return list(found.values())


def italics(names: Sequence[str]) -> "Callable[[str], markupsafe.Markup]":
    """A function that escapes a text and sets these scientific names in it in italics."""
    import markupsafe

    joined = "|".join(re.escape(n) for n in names if n) or r"(?!)"
    pattern = re.compile(rf"(?<![\w-])(?:{joined})(?![\w-])")

    def told(text: str) -> markupsafe.Markup:
        safe = str(markupsafe.escape(text))
        return markupsafe.Markup(pattern.sub(lambda m: f"<i>{m[0]}</i>", safe))

    return told


def in_order(names: list[dict[str, Any]], kinds: list[str]) -> list[tuple[str, list[Any]]]:
    """Names by kind, in the order given."""
    return [(k, held) for k in kinds if (held := [n for n in names if n["kind"] == k])]
