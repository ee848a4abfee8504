"""The one JSON-LD context: what the keys of our JSON mean as RDF.

Knows: the shipped ``context.jsonld``, used by the export of the facts and by the answers.
Refuses to know: any fact.

In the export keys are prefixed names (``op:about``); in answers they are the contract's plain
words (``scientificName``, ``basis``). Plain words without a line of their own fall under
``https://opercle.example/answer#``, so that no field of an answer is lost.
"""

import json
import os
from collections.abc import Mapping
from functools import cache
from typing import Any

PATH = os.path.join(os.path.dirname(os.path.abspath(__file__)), "context.jsonld")
SERVED = "/context.jsonld"


@cache
def text() -> str:
    """The context document as shipped; the web face serves it at ``/context.jsonld``."""
    with open(PATH, encoding="utf-8") as file:
        return file.read()


@cache
def document() -> dict[str, Any]:
    """The same, parsed."""
    found: dict[str, Any] = json.loads(text())
    return found


@cache
def linking() -> frozenset[str]:
    """The keys whose plain string values are names of things."""
    terms = document()["@context"]
    return frozenset(
        k for k, v in terms.items() if isinstance(v, dict) and v.get("@type") == "@id" and ":" in k
    )


def linked(answer: Mapping[str, Any], where: str = SERVED) -> dict[str, Any]:
    """An answer of the contract as JSON-LD: the same object with its context named first.

    >>> linked({"outcome": "no"})
    {'@context': '/context.jsonld', 'outcome': 'no'}
    """
    return {"@context": where, **answer}
