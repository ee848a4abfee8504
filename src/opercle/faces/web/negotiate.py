"""Which form an answer takes, by the Accept header alone.

Knows: media ranges with their quality, as RFC 9110 section 12.5.1 orders them.
Refuses to know: what is served.
"""

from collections.abc import Sequence
from typing import NamedTuple

VARY = {"Vary": "Accept"}
_MOST = 50


class Wish(NamedTuple):
    """One media range of an Accept header; ``quality`` from 0 to 1."""

    kind: str
    part: str
    quality: float

    def fits(self, media: str) -> int:
        """How exactly this range names a media type: 0 not at all, 1 any, 2 its kind, 3 itself."""
        kind, _, part = media.partition("/")
        if (self.kind, self.part) == (kind, part):
            return 3
        if (self.kind, self.part) == (kind, "*"):
            return 2
        return 1 if (self.kind, self.part) == ("*", "*") else 0


def wishes(header: str | None) -> list[Wish]:
    """The ranges of an Accept header; one that is missing or empty accepts everything."""
    found = []
    for piece in (header or "*/*").split(",")[:_MOST]:
        name, *details = [p.strip() for p in piece.split(";")]
        kind, slash, part = name.lower().partition("/")
        if slash and kind and part:
            found.append(Wish(kind, part, _quality(details)))
    return found or [Wish("*", "*", 1.0)]


def _quality(details: Sequence[str]) -> float:
    for detail in details:
        key, _, value = detail.partition("=")
        if key.strip().lower() == "q":
            try:
                return min(1.0, max(0.0, float(value)))
            except ValueError:
                return 0.0
    return 1.0


def choose(header: str | None, offered: Sequence[str]) -> str | None:
    """The media type offered that the client likes best, ties to the first; None if none fits."""
    asked = wishes(header)
    best, quality = None, 0.0
    for media in offered:
        fitting = [(w.fits(media), w.quality) for w in asked if w.fits(media)]
        liked = max(fitting)[1] if fitting else 0.0
        if liked > quality:
            best, quality = media, liked
    return best
