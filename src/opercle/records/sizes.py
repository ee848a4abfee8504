"""How long and heavy a fish is known to get.

Knows: the largest sizes recorded for a taxon, in centimetres and kilograms.
Refuses to know: a size for a group from some of its members.
"""

from opercle.questions.desk import Desk
from opercle.store import Row

_LARGEST = """SELECT ?t ?dim ?unit ?most { ?s op:extent "largest" ; op:about ?t ;
  op:dimension ?dim ; op:unit ?unit ; op:most ?most . MINUS { ?s op:doubted ?doubt } }"""


class Sizes:
    """The largest sizes of one snapshot, asked for once."""

    def __init__(self, desk: Desk) -> None:
        self._rows: dict[str, list[Row]] = {}
        for row in desk.snapshot.rows(_LARGEST):
            self._rows.setdefault(row["t"], []).append(row)

    def largest(self, taxon: str) -> tuple[float | None, float | None]:
        """The greatest length (cm) and weight (kg) any source gives; None where none does."""
        rows = self._rows.get(taxon, [])
        lengths = [float(r["most"]) for r in rows if r["unit"] == "cm"]
        weights = [float(r["most"]) for r in rows if r["unit"] == "kg"]
        # a greatest standard length alone would doubt every total length; it is left out
        if lengths and all(r["dim"] == "standard-length" for r in rows if r["unit"] == "cm"):
            lengths = []
        return max(lengths, default=None), max(weights, default=None)
