"""Free SPARQL over the knowledge.

Knows: that a query reads, and asks nobody else.
Refuses to know: time limits; those are the server's.
"""

import re
from typing import Any

from opercle.errors import QueryError
from opercle.questions.desk import Desk
from opercle.terms import widen

_QUOTED = re.compile(
    r'"""[\s\S]*?"""|\'\'\'[\s\S]*?\'\'\'|"[^"\n]*"|\'[^\'\n]*\'|<[^>\s]*>|#[^\n]*'
)


def graphs(desk: Desk) -> list[str]:
    """The addresses of the named graphs held."""
    return [widen(row["g"]) for row in desk.query("graphs")]


def ask(desk: Desk, sparql: str) -> Any:
    """Run a query; raises QueryError if it is malformed or uses SERVICE."""
    bare = _QUOTED.sub(" ", sparql)
    if re.search(r"\bSERVICE\b", bare, re.I):
        raise QueryError(
            "SERVICE is not allowed: the knowledge asks nobody else.",
            "SERVICE",
            "Leave the SERVICE clause out.",
        )
    return desk.snapshot.raw(sparql)
