"""How long and heavy a fish is known to get.

Knows: the largest sizes recorded for a taxon, in centimetres and kilograms.
Refuses to know: a size for a group from some of its members.
"""

from opercle.questions.desk import Desk, node

_LARGEST = """SELECT ?t ?dim ?unit ?most { ?s op:about ?t ; op:extent "largest" ;
  op:dimension ?dim ; op:unit ?unit ; op:most ?most . MINUS { ?s op:doubted ?doubt } }"""


def largest(desk: Desk, taxon: str) -> tuple[float | None, float | None]:
    """The greatest length (cm) and weight (kg) any source gives; None where none does."""
    rows = desk.snapshot.rows(_LARGEST, t=node(taxon))
    lengths = [float(r["most"]) for r in rows if r["unit"] == "cm"]
    weights = [float(r["most"]) for r in rows if r["unit"] == "kg"]
    # a greatest standard length alone would doubt every total length; it is left out
    if lengths and all(r["dim"] == "standard-length" for r in rows if r["unit"] == "cm"):
        lengths = []
    return max(lengths, default=None), max(weights, default=None)
