"""Which taxa a question is about, and what stands under them.

Knows: one name to one taxon, or the open answer where it means several; the species of a group.
Refuses to know: guessing between several.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from opercle import reading
from opercle.answers import Answer, listed
from opercle.questions.desk import Desk, key_of, node
from opercle.store import Row

OPEN = "open"


def meant(desk: Desk, written: str) -> list[str]:
    """The taxa a name can mean; a bare group word means what it strictly means.

    Raises UnknownError where nothing is near.
    """
    word = desk.words_known().get(reading.key_of(reading.clean(written)))
    if word is not None and not _standard(desk, written):
        strict = [r["t"] for r in desk.query("meanings", w=node(word)) if r["strict"]]
        top = [t for t in strict if len(desk.under(strict, t)) == len(strict)]
        if top:
            return top[:1]
    return desk.taxa(written)[0]


def _standard(desk: Desk, written: str) -> bool:
    """True if the name is the one standard name of a fish, such as rock bass."""
    uses = desk.query("uses", key=key_of(reading.clean(written)))
    return len({u["t"] for u in uses if u["kind"] == "op:standard" and u.get("followed")}) == 1


def brief(desk: Desk, taxon: str) -> dict[str, Any]:
    """What a taxon is called, in the words of the contract."""
    about = desk.about(taxon)
    return {
        "scientificName": about.get("name"),
        "scientificNameAuthorship": about.get("author"),
        "taxonRank": about.get("rank"),
        "family": about.get("familyName"),
        "vernacularName": about.get("common"),
        "taxon": taxon,
    }


def several(
    desk: Desk,
    question: dict[str, Any],
    written: str,
    taxa: Sequence[str],
    fields: Mapping[str, Any],
) -> Answer:
    """The open answer to a name that means several fishes."""
    names = listed([desk.label(t) for t in taxa], "or")
    says = f"“{written}” is open: it can mean {names}. Ask again with the scientific name."
    bearers = [brief(desk, t) for t in taxa]
    return Answer(question, OPEN, says, [], [], {**fields, "bearers": bearers})


def several_places(
    desk: Desk,
    question: dict[str, Any],
    written: str,
    places: Sequence[str],
    fields: Mapping[str, Any],
) -> Answer:
    """The open answer to a name that several waters or places share."""
    waters = [{"water": w, "name": desk.label(w)} for w in places]
    names = listed([str(w["name"]) for w in waters], "or")
    says = f"“{written}” is the name of several: {names}. Which one is meant?"
    return Answer(question, OPEN, says, [], [], {**fields, "waters": waters})


def species(desk: Desk, group: str | None) -> list[Row]:
    """The species at or under a group, or all: rows with ``t``, ``name`` and ``common``."""
    if group is None:
        return desk.query("all_species")
    return desk.query("species_under", group=node(group))


def called(row: Row) -> str:
    """``rock bass (Ambloplites rupestris)`` from a row of ``species``."""
    name = str(row.get("name", row["t"]))
    return f"{row['common']} ({name})" if row.get("common") else name


def upper(text: str) -> str:
    """A sentence with its first letter large."""
    return text[:1].upper() + text[1:]
