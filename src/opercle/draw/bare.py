"""A fish without labels and notes, for sheets that show several at a small size.

Knows: the frame that holds the fish and the numbers at its fin tips, and no more.
Refuses to know: what the sheet around it says.
"""

from opercle.draw import fish, told
from opercle.draw.figure import figure
from opercle.draw.paint import paint
from opercle.draw.svg import add, prefix_of, root, written
from opercle.questions.looks import Looks

_LONG = 340.0
"""Drawn short, so that type at fin tips stays readable on half a page's width."""
_PAD = 14.0


def draw(looks: Looks) -> fish.Drawing:
    """The fish alone, its spines numbered; the frame fits it closely."""
    shape = figure(looks, _LONG)
    prefix = prefix_of("bare", looks.name)
    title = f"Schematic drawing of {told.subject(looks)}"
    missing = told.unknown(looks, shape)
    desc = told.description(shape, told.drawn(looks), missing)
    x0, y0, x1, y1 = shape.box
    left, top = x0 - _PAD, y0 - fish.OVER
    wide, high = x1 - x0 + 2 * _PAD, y1 - y0 + 2 * fish.OVER
    svg = root(wide, high, prefix, title, desc)
    svg.set("viewBox", f"{left:.0f} {top:.0f} {wide:.0f} {high:.0f}")
    paper = next(child for child in svg if child.tag == "rect")
    paper.set("x", f"{left:.0f}")
    paper.set("y", f"{top:.0f}")
    group = add(svg, "g", id_=f"{prefix}-fish")
    paint(group, shape, looks, prefix, frozenset())
    fish.digits(group, shape, frozenset(), 0.0, 0.0)
    says = f"Drew {told.subject(looks)} on the plan “{shape.plan.key}”."
    return fish.Drawing(written(svg), says, tuple(missing), ())
