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
    return [svg[svg.index("<svg") :]] if svg else []


def own_ids(svg: str, prefix: str) -> str:
    """The drawing with its identifiers made its own, so that several share one page."""

    def renamed(match: re.Match[str]) -> str:
        names = " ".join(prefix + name for name in match[2].split())
        return match[1] + names

    return _IDS.sub(renamed, svg)
