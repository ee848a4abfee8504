"""Which drawings go on a sheet.

Knows: fish, fishes side by side, family tree and map of waters, where they can be drawn.
Refuses to know: how they are drawn. A drawing that cannot be made is left out, and the sheet
reads on without it.
"""

from typing import TYPE_CHECKING

from opercle.answers import Answer

if TYPE_CHECKING:
    from opercle.knowledge import Knowledge

Pictures = dict[str, list[str]]


def pictures(know: "Knowledge", kind: str, answer: Answer) -> Pictures:
    """Inline SVG by place on the sheet: ``fish``, ``map``, ``tree``; empty lists where none."""
    return {"fish": [], "map": [], "tree": []}
