"""What WordNet says beside what Opercle says.

A pair is comparable if its scientific name is a name in the knowledge, valid or synonym. Our side
of a genus is the set of families its name stands in; our side of a species is whether its common
name, asked as a person would ask it, yields the species among the bearers or those set aside.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from opercle.errors import OpercleError
from tests.outside.wordnet import extract

HERE = Path(__file__).parent
HEAD = ("kind", "left", "right", "ours", "reason", "note")
REASONS = ("WordNet out of date", "WordNet wrong", "ours wrong", "not recorded here", "opinion")
_MEANT = """SELECT DISTINCT ?form ?t ?kind ?family WHERE {
  ?n a op:ScientificName ; skosxl:literalForm ?form .
  ?use op:name ?n ; op:means ?t ; op:kind ?kind .
  OPTIONAL { ?t op:inFamily ?f . ?f dwc:scientificName ?family }
}"""
Key = tuple[str, str, str]


class Pair(NamedTuple):
    """A comparable pair: its key, our side in words, and whether we agree."""

    key: Key
    ours: str
    agrees: bool


class Meant:
    """The taxa that scientific names mean: as a valid name if it is one, else as a synonym."""

    def __init__(self, know: Any) -> None:
        self.rows: dict[str, list[dict[str, Any]]] = {}
        for row in know.desk.snapshot.rows(_MEANT):
            self.rows.setdefault(row["form"], []).append(row)

    def __call__(self, name: str) -> list[dict[str, Any]]:
        rows = self.rows.get(name, [])
        return [row for row in rows if row["kind"] == "op:scientific"] or rows


def genera(know: Any) -> Iterator[Pair]:
    """Every comparable pair of genus and family."""
    meant = Meant(know)
    for genus, family in extract.read(HERE / "genera.tsv"):
        ours = {row["family"] for row in meant(genus) if "family" in row}
        if ours:
            yield Pair(("genus", genus, family), "|".join(sorted(ours)), family in ours)


def species(know: Any) -> Iterator[Pair]:
    """Every comparable pair of common name and species."""
    meant = Meant(know)
    for common, name in extract.read(HERE / "species.tsv"):
        taxa = {row["t"] for row in meant(name)}
        if taxa:
            found = bearers(know, common) & taxa
            yield Pair(("species", common, name), "", bool(found))


def bearers(know: Any, common: str) -> set[str]:
    """The taxa that a common name yields, set aside or not."""
    try:
        told = know.name(common).to_dict()
    except OpercleError:
        return set()
    return {bearer["taxon"] for bearer in [*told["bearers"], *told["set_aside"]]}


def pairs(know: Any) -> list[Pair]:
    """Every comparable pair."""
    return [*genera(know), *species(know)]


def differences(know: Any) -> list[tuple[Key, str]]:
    """Every pair on which we differ, with our side."""
    return [(p.key, p.ours) for p in pairs(know) if not p.agrees]
