"""Which drawings go on a sheet.

Knows: fish, fishes side by side, family tree and map of waters, where they can be drawn.
Refuses to know: how they are drawn. A drawing that cannot be made is left out, and the sheet
reads on without it.
"""

import re
from typing import TYPE_CHECKING

from opercle.answers import Answer
from opercle.errors import OpercleError

if TYPE_CHECKING:
    from opercle.knowledge import Knowledge

Pictures = dict[str, list[str]]
_NOTES = re.compile(r'<text x="(?:32|62)\.0" y="([0-9.]+)" font-size="13" font-weight="bold"')
_BOX = re.compile(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"')
_ABOVE = 26.0
_IDS = re.compile(r'(\bid="|\burl\(#|href="#|aria-labelledby="|aria-describedby=")([^")]+)')


def pictures(know: "Knowledge", kind: str, answer: Answer) -> Pictures:
    """Inline SVG by place on the sheet: ``fish``, ``map``, ``tree``; empty lists where none."""
    made: Pictures = {"fish": [], "map": [], "tree": []}
    if kind == "account":
        name = str(answer.fields["scientificName"])
        kinds = ("fish", "map", "tree") if answer.fields["taxonRank"] == "species" else ("tree",)
        for what in kinds:
            made[what] += _drawn(know, name, what)
    if kind == "compare":
        names = [str(t["scientificName"]) for t in answer.fields["taxa"]]
        if len(names) == 2:
            made["fish"] += _drawn(know, names[0], "fish", names[1])
        else:
            for name in names:
                made["fish"] += _drawn(know, name, "fish")
    return {what: [own_ids(svg, f"{what}{i}-") for i, svg in enumerate(svgs)]
            for what, svgs in made.items()}  # fmt: skip


def _drawn(know: "Knowledge", taxon: str, kind: str, beside: str | None = None) -> list[str]:
    """The drawing as one inline element, or nothing where it cannot be made."""
    try:
        svg = know.draw(taxon, beside=beside, kind=kind).fields.get("svg")
    except OpercleError:
        return []
    return [trimmed(svg[svg.index("<svg") :])] if svg else []


def trimmed(svg: str) -> str:
    """The picture without the notes under it: the sheet itself tells what they say."""
    notes, box = _NOTES.search(svg), _BOX.search(svg)
    if notes is None or box is None:
        return svg
    foot = min(float(notes[1]) - _ABOVE, float(box[2]))
    return svg.replace(box[0], f'viewBox="0 0 {box[1]} {foot:g}"', 1)


def own_ids(svg: str, prefix: str) -> str:
    """The drawing with its identifiers made its own, so that several share one page."""

    def renamed(match: re.Match[str]) -> str:
        names = " ".join(prefix + name for name in match[2].split())
        return match[1] + names

    return _IDS.sub(renamed, svg)
