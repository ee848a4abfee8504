"""Addresses of things on this server: ``t:Lepomis`` is at ``/taxon/Lepomis``.

Knows: which prefix has which path, and the forms in which RDF is sent.
Refuses to know: whether anything is known of a thing.
"""

from collections.abc import Iterable
from typing import Any

import pyoxigraph as ox

from opercle.terms import PREFIXES

KINDS = ("taxon", "name", "water", "place", "character", "source", "statement", "word", "cite")
_PREFIX = {"taxon": "t", "name": "n", "water": "w", "place": "pl", "character": "c"}
_PREFIX |= {"source": "src", "statement": "s", "word": "word", "cite": "cite"}
_PATHS = {prefix: kind for kind, prefix in _PREFIX.items()}


def path_of(name: str | None) -> str | None:
    """The path of a thing on this server: ``t:Lepomis`` to ``/taxon/Lepomis``; None if none."""
    prefix, _, local = (name or "").partition(":")
    return f"/{_PATHS[prefix]}/{local}" if prefix in _PATHS and local else None


def name_of(kind: str, local: str) -> str:
    """The prefixed name of what a path of this server names."""
    return f"{_PREFIX[kind]}:{local}"


def written(triples: Iterable[ox.Triple], media: str) -> bytes:
    """Triples as Turtle or JSON-LD."""
    form: Any = ox.RdfFormat.from_media_type(media)
    made: Any = ox.serialize(triples, format=form, prefixes=PREFIXES)
    return bytes(made)
