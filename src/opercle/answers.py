"""What every answer looks like: an outcome, a sentence, and why.

Knows: the envelope of the contract and its reasons. Immutable named tuples, not dataclasses:
importing ``dataclasses`` costs as much time as opening the knowledge.
Refuses to know: where the reasons come from and how they are shown.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple


class Reason(NamedTuple):
    """One line of why. ``basis`` is read, recalled or inferred; ``triple`` can be proved."""

    says: str
    basis: str
    source: str | None = None
    page: str | None = None
    rule: str | None = None
    triple: tuple[str, str, str] | None = None

    def to_dict(self) -> dict[str, Any]:
        """The reason as the contract writes it."""
        told = self._asdict()
        told["triple"] = None if self.triple is None else list(self.triple)
        return told


class Answer(NamedTuple):
    """The answer to one question; ``fields`` holds what is the question's own.

    >>> told = Answer({"name": "chub"}, "open", "It can mean two fishes.",
    ...               fields={"bearers": [{"scientificName": "Kyphosus sectatrix", "where": []}]})
    >>> told.to_dict()["outcome"]
    'open'
    >>> "<strong>It can mean two fishes.</strong>" in told._repr_html_()
    True
    """

    question: Mapping[str, Any]
    outcome: str
    answer: str
    because: Sequence[Reason] = ()
    cautions: Sequence[str] = ()
    fields: Mapping[str, Any] = {}
    drawing: Any = None  # called for an SVG text where the answer is shown

    def to_dict(self) -> dict[str, Any]:
        """The answer as one JSON-ready dictionary."""
        return {
            "question": dict(self.question),
            "outcome": self.outcome,
            "answer": self.answer,
            "because": [r.to_dict() for r in self.because],
            "cautions": list(self.cautions),
            **self.fields,
        }

    def to_pandas(self, table: str | None = None) -> Any:
        """One table of the answer as a pandas DataFrame: ``names``, ``bearers`` or another.

        Without ``table`` the main one. Raises UsageError where pandas or the table is missing.
        """
        from opercle import notebook

        return notebook.frame("pandas", notebook.records(self.to_dict(), table))

    def to_polars(self, table: str | None = None) -> Any:
        """One table of the answer as a polars DataFrame, as ``to_pandas`` does."""
        from opercle import notebook

        return notebook.frame("polars", notebook.records(self.to_dict(), table))

    def _repr_html_(self) -> str:
        """The answer in a notebook: sentence, cautions, drawing, tables, why."""
        from opercle import notebook

        svg = self.fields.get("svg")
        make = (lambda: svg) if isinstance(svg, str) else self.drawing
        return notebook.html(self.to_dict(), notebook.drawn(make) if make else "")


def some(words: Sequence[str], what: str, most: int = 6) -> str:
    """Join sorted words; past ``most`` say how many more there are of ``what`` (a plural)."""
    told = sorted(words)
    if len(told) <= most + 1:
        return listed(told)
    return f"{', '.join(told[:most])} and {len(told) - most} more {what}"


def listed(words: Sequence[str], link: str = "and") -> str:
    """Join words as a sentence does: ``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {link} {words[-1]}"
