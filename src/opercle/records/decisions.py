"""What a decision is, and what one cell of a row can mean.

Knows: shapes, and how remarks are put together.
Refuses to know: how a decision is reached.
"""

from typing import NamedTuple

from opercle.questions.name import Settled
from opercle.records.cells import Reading

SETTLED, OPEN, UNKNOWN = "settled", "open", "unknown"


class Decision(NamedTuple):
    """What became of one name in one place and year. ``taxon`` is set where it is settled."""

    outcome: str
    taxon: str | None
    remarks: str
    by: tuple[str, ...] = ()
    candidates: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


class Side(NamedTuple):
    """What one cell of the row can mean."""

    reading: Reading
    taxa: tuple[str, ...] = ()
    head: str | None = None
    by: tuple[str, ...] = ()
    says: tuple[str, ...] = ()
    aside: tuple[tuple[str, str, str], ...] = ()
    read_as: str | None = None
    known: bool = False

    @property
    def meant(self) -> tuple[str, ...]:
        """The taxon it settles as, or all that it can be."""
        return (self.head,) if self.head else self.taxa


def head_of(part: Settled) -> str | None:
    """The taxon that a name settled as."""
    if part.group:
        return part.group
    taxa = {b.taxon for b in part.left}
    return next(iter(taxa)) if len(taxa) == 1 else None


def meant_by(part: Settled) -> list[str]:
    """What it settled as, or all that is left."""
    head = head_of(part)
    return [head] if head else [b.taxon for b in part.left]


def sentence(*clauses: str) -> str:
    """Clauses as one sentence without a full stop."""
    told = "; ".join(c for c in clauses if c)
    return told[:1].upper() + told[1:]
