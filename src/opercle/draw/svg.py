"""Small helpers round xml.etree.ElementTree for writing SVG.

Knows: elements, attributes, texts; that ids carry a prefix of their own for each picture.
Refuses to know: what is drawn.
"""

import re
from collections.abc import Callable, Iterable
from xml.etree import ElementTree as ET

from opercle.draw.style import FAMILY, INK

Element = ET.Element
_SPACE = "http://www.w3.org/2000/svg"
_NAMES: dict[str, str] = {}
_SPECIAL = re.compile(r'[&<>"\r\n\t]')


def root(wide: float, high: float, prefix: str, title: str, desc: str) -> Element:
    """An ``svg`` element with its title and description for those who do not see it."""
    svg = ET.Element(
        "svg",
        {
            "xmlns": _SPACE,
            "viewBox": f"0 0 {wide:g} {high:.0f}",
            "role": "img",
            "aria-labelledby": f"{prefix}-title {prefix}-desc",
            "font-family": FAMILY,
            "fill": INK,
        },
    )
    ET.SubElement(svg, "title", {"id": f"{prefix}-title"}).text = title
    ET.SubElement(svg, "desc", {"id": f"{prefix}-desc"}).text = desc
    add(svg, "rect", width=f"{wide:g}", height=f"{high:.0f}", fill="#ffffff")
    return svg


def add(parent: Element, tag: str, **attributes: str) -> Element:
    """Add an element; ``stroke_width`` is written ``stroke-width``, ``id_`` is ``id``."""
    if not attributes.keys() <= _NAMES.keys():
        _NAMES.update((k, k.rstrip("_").replace("_", "-")) for k in attributes)
    return ET.SubElement(parent, tag, {_NAMES[k]: v for k, v in attributes.items()})


def path(parent: Element, d: str, **attributes: str) -> Element:
    """Add a path."""
    return add(parent, "path", d=d, **attributes)


def text(
    parent: Element,
    x: float,
    y: float,
    said: str,
    size: float,
    face: str = "regular",
    **attributes: str,
) -> Element:
    """Add one line of text with its baseline at y; ``face`` is regular, bold or italic."""
    if face == "bold":
        attributes["font_weight"] = "bold"
    if face == "italic":
        attributes["font_style"] = "italic"
    node = add(parent, "text", x=f"{x:.1f}", y=f"{y:.1f}", font_size=f"{size:g}", **attributes)
    node.text = said
    return node


def written(svg: Element) -> str:
    """The picture as text, with a line end.

    Written here and not by ElementTree, which first gathers namespaces: these pictures have one,
    and the text is the same.
    """
    parts: list[str] = []
    _write(svg, parts.append)
    parts.append("\n")
    return "".join(parts)


def _write(node: Element, put: Callable[[str], None]) -> None:
    tag = node.tag
    put(f"<{tag}")
    for name, value in node.items():
        put(f' {name}="{_escaped(value)}"' if _SPECIAL.search(value) else f' {name}="{value}"')
    if not node.text and not len(node):
        put(" />")
        return
    put(">")
    if node.text:
        put(_plain(node.text))
    for child in node:
        _write(child, put)
        if child.tail:
            put(_plain(child.tail))
    put(f"</{tag}>")


def _plain(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _escaped(value: str) -> str:
    """An attribute's value, as ElementTree writes it."""
    said = _plain(value).replace('"', "&quot;")
    return said.replace("\r", "&#13;").replace("\n", "&#10;").replace("\t", "&#09;")


def prefix_of(*names: str) -> str:
    """A prefix for ids from names: ``ambloplites-rupestris``."""
    plain = "-".join(names).lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "picture"


def points(pairs: Iterable[tuple[float, float]]) -> str:
    """A polyline's path through points."""
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in pairs)
