"""The one visual language of every drawing: inks, line weights, type, and how wide words are.

Knows: colours with their contrast on white, the font and the advance widths of its glyphs.
Refuses to know: what is drawn.

The widths are those of DejaVu Sans Condensed, shipped under ``data/fonts`` with its licence; the
fallbacks named in FAMILY are no wider, so text placed by these widths keeps clear of its
neighbours where the font is missing.
"""

import json
import os
from functools import cache
from typing import Any

DATA = os.path.join(os.path.dirname(__file__), "data")
FAMILY = "'DejaVu Sans Condensed','Liberation Sans Narrow','Liberation Sans',Arial,sans-serif"

INK = "#1d2a2f"  # 14.6:1 on white
SOFT = "#4d5a60"  # 7.2:1 on white
RULE = "#9aa7a8"
PAPER = "#ffffff"
FIN = "#e4ebe8"
BACK = "#c3d1ce"
BELLY = "#fafcfb"
ACCENT = "#8a2b0a"  # 8.9:1 on white; always together with weight or number
WATER = "#dfe9ef"
NATIVE = "#2f6f5e"
BROUGHT = "#a1560b"
DOUBTED = "#5b4b8a"

WIDTH = 960
"""Every drawing is this wide, in its own units: about a fifth of a millimetre each on A4."""


@cache
def _faces() -> dict[str, Any]:
    with open(os.path.join(DATA, "metrics.json"), encoding="utf-8") as file:
        faces: dict[str, Any] = json.load(file)
    return faces


@cache
def width(text: str, size: float, face: str = "regular") -> float:
    """How wide a text is, in drawing units; ``face`` is regular, bold or italic."""
    widths = _faces()[face]["widths"]
    wide = widths["W"]
    return float(sum(widths.get(c, wide) for c in text)) * size


def wrap(text: str, size: float, most: float, face: str = "regular") -> list[str]:
    """Break a text into lines no wider than ``most``; a longer single word stands alone."""
    lines: list[str] = []
    line, used, space = "", 0.0, width(" ", size, face)
    for word in text.split():
        own = width(word, size, face)
        if line and used + space + own > most:
            lines.append(line)
            line, used = word, own
        else:
            used += own + (space if line else 0.0)
            line = f"{line} {word}" if line else word
    return [*lines, line] if line else lines
