"""Which drawings go on a sheet.

Knows: fish, fishes side by side, family tree and map of waters, where they can be drawn; that two
fishes share one drawing with their differences numbered, and more stand alone, small and without
labels, for labels could not be read at that size.
Refuses to know: how they are drawn. A drawing that cannot be made is left out, and the sheet
reads on without it.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from opercle.answers import Answer
from opercle.errors import OpercleError

if TYPE_CHECKING:
    from opercle.knowledge import Knowledge


class Picture(NamedTuple):
    """One inline drawing, what it could not show, and the taxa that the page must name itself."""

    svg: str
    unknown: tuple[str, ...] = ()
    taxa: tuple[Mapping[str, Any], ...] = ()


Pictures = dict[str, list[Picture]]
_IDS = re.compile(r'(\bid="|\burl\(#|href="#|aria-labelledby="|aria-describedby=")([^")]+)')
_PAIR = 2


def pictures(know: "Knowledge", kind: str, answer: Answer) -> Pictures:
    """Inline SVG by place on the sheet: ``fish``, ``map``, ``tree``; empty lists where none."""
    made: Pictures = {"fish": [], "map": [], "tree": []}
    if kind == "account":
        name = str(answer.fields["scientificName"])
        kinds = ("fish", "map", "tree") if answer.fields["taxonRank"] == "species" else ("tree",)
        for what in kinds:
            found = _drawn(know, name, kind=what, notes=False)
            made[what] += found if what == "fish" else [p._replace(unknown=()) for p in found]
    if kind in ("compare", "handout"):
        made["fish"] += fishes(know, answer.fields["taxa"])
    return {
        what: [p._replace(svg=own_ids(p.svg, f"{what}{i}-")) for i, p in enumerate(found)]
        for what, found in made.items()
    }


def fishes(know: "Knowledge", taxa: Sequence[Mapping[str, Any]]) -> list[Picture]:
    """One fish or two with labels, or several small ones, named by the page."""
    names = [str(t["scientificName"]) for t in taxa]
    if len(names) == 1:
        return _drawn(know, names[0], notes=False)
    if len(names) == _PAIR:
        return _drawn(know, names[0], beside=names[1], notes=False)
    found = [(taxon, _drawn(know, str(taxon["scientificName"]), labels=False)) for taxon in taxa]
    return [picture._replace(taxa=(taxon,)) for taxon, made in found for picture in made]


def _drawn(know: "Knowledge", taxon: str, **how: Any) -> list[Picture]:
    """The drawing as one inline element, or nothing where it cannot be made."""
    draw: Callable[..., Answer] = know.draw
    try:
        fields = draw(taxon, **how).fields
    except OpercleError:
        return []
    svg = fields.get("svg")
    return [Picture(svg[svg.index("<svg") :], tuple(fields["not_known"]))] if svg else []


def own_ids(svg: str, prefix: str) -> str:
    """The drawing with its identifiers made its own, so that several share one page."""

    def renamed(match: re.Match[str]) -> str:
        names = " ".join(prefix + name for name in match[2].split())
        return match[1] + names

    return _IDS.sub(renamed, svg)
