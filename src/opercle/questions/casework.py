"""One fish on the table: what was seen, where, and how every candidate came out.

Knows: candidates, and their sorting into left, ruled out, not judged and set aside.
Refuses to know: how they were weighed and how the answer is worded.
"""

from typing import Any, NamedTuple

from opercle.questions.desk import Desk
from opercle.questions.features import Feature
from opercle.questions.given import Given
from opercle.questions.residents import Residents, Stay
from opercle.questions.units import DIMENSIONS
from opercle.questions.values import Values
from opercle.questions.weighing import AGAINST, SILENT, Say

SETTLED, OPEN, NONE = "settled", "open", "none"


class Candidate(NamedTuple):
    """A fish with all that was said of it and how it stands."""

    taxon: str
    label: str
    said: tuple[Say, ...]
    standing: str
    stay: Stay

    @property
    def judged(self) -> bool:
        """False where nothing that was seen is known of it; a size alone does not judge."""
        seen = [s for s in self.said if s.key not in DIMENSIONS] or self.said
        return any(s.verdict != SILENT for s in seen) or self.standing == AGAINST


class Case(NamedTuple):
    """One fish on the table: what was seen, where, and among which fishes it is sought."""

    desk: Desk
    values: Values
    features: dict[str, Feature]
    given: Given
    residents: Residents
    question: dict[str, Any]


class Sorted(NamedTuple):
    """Candidates by how they came out."""

    left: list[Candidate]
    out: list[Candidate]
    apart: list[Candidate]
    aside: list[Candidate]
    by: list[str]
