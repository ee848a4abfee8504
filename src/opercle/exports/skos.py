"""The taxa and the characters as SKOS concepts, names as SKOS-XL labels.

Knows: SKOS (W3C Recommendation, 18 August 2009) with its integrity conditions: one preferred label
a language, preferred, other and hidden labels apart, and SKOS-XL labels that say the same as the
plain ones (conditions S13, S14 and S55 to S57).
Refuses to know: where, when and by whom a name is used; that is in Turtle and in the tables.

Carried: every taxon with its parent (broader) and rank; of every name use that is not doubted its
label: the scientific name followed (preferred, no language), the standard name (preferred, its
language), others (alternative), misapplied ones (hidden); every character with its states.
"""

from collections.abc import Iterator
from typing import Any

import pyoxigraph as ox

from opercle.exports.held import Held
from opercle.exports.writing import Heard, counted, whole
from opercle.questions.desk import Desk
from opercle.terms import BASE, PREFIXES, widen

SCHEMES = {
    "taxa": "Fishes and their groups, by the placements that Opercle follows",
    "characters": "Characters by which fishes are told apart, and their states",
}
LICENCE = "https://creativecommons.org/publicdomain/zero/1.0/"
_RANKED = ("op:scientific", "op:standard")


def scheme(name: str) -> ox.NamedNode:
    """The address of a concept scheme: ``taxa`` or ``characters``."""
    return ox.NamedNode(f"{BASE}scheme/{name}")


def write(desk: Desk, path: str, heard: Heard) -> dict[str, int]:
    """Write SKOS as Turtle; returns how many concepts, labels and triples there are."""
    held = Held(desk)
    found = sorted(set(triples(held)), key=str)
    with whole(path) as file:
        ox.serialize(
            counted(found, "writing", len(found), heard),
            file,
            format=ox.RdfFormat.TURTLE,
            prefixes={k: v for k, v in PREFIXES.items() if k != "g"},
        )
    concepts = sum(t.object == _n("skos:Concept") for t in found)
    labels = sum(t.object == _n("skosxl:Label") for t in found)
    return {"concepts": concepts, "labels": labels, "triples": len(found)}


def triples(held: Held) -> Iterator[ox.Triple]:
    """The whole of it, in no order; a triple may come twice."""
    for name, title in SCHEMES.items():
        yield _t(scheme(name), "rdf:type", _n("skos:ConceptScheme"))
        yield _t(scheme(name), "dcterms:title", ox.Literal(title, language="en"))
        yield _t(scheme(name), "dcterms:license", ox.NamedNode(LICENCE))
    uses: dict[str, list[str]] = {}
    for use in held.uses:
        uses.setdefault(held.one(use, "op:means"), []).append(use)
    for taxon in held.taxa:
        yield from _taxon(held, taxon)
        yield from _labels(held, taxon, uses.get(taxon, []))
    for kind in ("op:CountCharacter", "op:RatioCharacter", "op:StateCharacter"):
        for character in held.by_class.get(kind, ()):
            yield from _character(held, character)


def _taxon(held: Held, taxon: str) -> Iterator[ox.Triple]:
    yield from _concept(taxon, "taxa")
    yield from _kept(held, taxon, ("dwc:taxonRank", "dwc:scientificNameAuthorship"))
    parents = held.terms(taxon, "op:parentTaxon")
    for parent in parents:
        yield _t(_n(taxon), "skos:broader", parent)
        yield _t(parent, "skos:narrower", _n(taxon))
    if not parents:
        yield _t(scheme("taxa"), "skos:hasTopConcept", _n(taxon))
        yield _t(_n(taxon), "skos:topConceptOf", scheme("taxa"))


def _labels(held: Held, taxon: str, uses: list[str]) -> Iterator[ox.Triple]:
    """Each label once, under the best title it has: preferred, alternative, hidden."""
    taken: set[ox.Literal] = set()
    languages: set[str | None] = set()
    for use in sorted(uses, key=lambda use: _order(held, use)):
        name = held.one(use, "op:name")
        for form in held.terms(name, "skosxl:literalForm"):
            how = _how(held, use, form, languages)
            yield _t(_n(name), "rdf:type", _n("skosxl:Label"))
            yield _t(_n(name), "skosxl:literalForm", form)
            if form in taken:
                continue
            taken.add(form)
            if how == "prefLabel":
                languages.add(form.language)
            yield _t(_n(taxon), f"skosxl:{how}", _n(name))
            yield _t(_n(taxon), f"skos:{how}", form)


def _order(held: Held, use: str) -> tuple[Any, ...]:
    """Followed names first, misapplied last."""
    kind = held.one(use, "op:kind")
    followed = bool(held.one(use, "op:followed"))
    rank = _RANKED.index(kind) if kind in _RANKED and followed else 2
    return (rank, kind == "op:misapplied", use)


def _how(held: Held, use: str, form: ox.Literal, languages: set[str | None]) -> str:
    kind = held.one(use, "op:kind")
    if kind == "op:misapplied":
        return "hiddenLabel"
    first = kind in _RANKED and held.one(use, "op:followed") and form.language not in languages
    return "prefLabel" if first else "altLabel"


def _character(held: Held, character: str) -> Iterator[ox.Triple]:
    yield from _concept(character, "characters")
    yield from _kept(held, character, ("skos:prefLabel", "skos:altLabel", "skos:definition"))
    yield _t(scheme("characters"), "skos:hasTopConcept", _n(character))
    yield _t(_n(character), "skos:topConceptOf", scheme("characters"))
    for state in held.of(character, "op:hasState"):
        yield from _concept(state, "characters")
        yield from _kept(held, state, ("skos:prefLabel", "skos:altLabel", "skos:definition"))
        yield _t(_n(state), "skos:broader", _n(character))
        yield _t(_n(character), "skos:narrower", _n(state))


def _concept(name: str, where: str) -> Iterator[ox.Triple]:
    yield _t(_n(name), "rdf:type", _n("skos:Concept"))
    yield _t(_n(name), "skos:inScheme", scheme(where))


def _kept(held: Held, name: str, predicates: tuple[str, ...]) -> Iterator[ox.Triple]:
    for predicate in predicates:
        for value in held.terms(name, predicate):
            yield _t(_n(name), predicate, value)


def _n(name: str) -> ox.NamedNode:
    return ox.NamedNode(widen(name))


def _t(subject: Any, predicate: str, value: Any) -> ox.Triple:
    return ox.Triple(subject, _n(predicate), value)
