"""A dichotomous key made from the facts, for any group, or for the fishes of a water.

Knows: couplets from dependable and easily seen characters, short paths for common fishes, and
honest ends where the characters known here do not part what is left.
Refuses to know: colour; and a way on for a fish whose value is not known: it stops, and is named.
"""

from collections.abc import Mapping, Sequence
from math import log2
from typing import Any, NamedTuple

from opercle.answers import Answer, Reason, listed, some
from opercle.errors import UsageError
from opercle.questions import key_leads, subjects
from opercle.questions.account_facts import Bibliography
from opercle.questions.crosses import crosses
from opercle.questions.desk import Desk
from opercle.questions.features import Feature, features
from opercle.questions.key_splits import Cut, Fish, best, narrowed
from opercle.questions.residents import INTRODUCED, NATIVE, Residents
from opercle.questions.values import Value, Values, bounded, widened

MADE = "made"
_MANY = 30
_DEEP = 60
_SHOWN = 6


class Node(NamedTuple):
    """A step of the key: the fishes that come to it, and the cut with its two ways on, if any."""

    fishes: tuple[Fish, ...]
    cut: Cut | None = None
    ways: "tuple[Node, Node] | None" = None


def ask(desk: Desk, taxon: str, water: str | None = None) -> Answer:
    """Answer ``key``: made, or open where a name means several. Raises UnknownError, UsageError."""
    question = {"taxon": " ".join(taxon.split()), "water": water}
    taxa = subjects.meant(desk, taxon)
    if len(taxa) > 1:
        return subjects.several(desk, question, taxon, taxa, {"couplets": []})
    places: list[str] = []
    if water is not None:
        places = desk.water(water)
        if len(places) > 1:
            return subjects.several_places(desk, question, water, places, {"couplets": []})
    group = taxa[0]
    rows = subjects.species(desk, group)
    if not rows:
        raise UsageError(
            f"No species is known under {desk.label(group)}.", taxon, "Name a larger group."
        )
    return _made(desk, question, group, [r["t"] for r in rows], places)


def _made(
    desk: Desk, question: dict[str, Any], group: str, taxa: list[str], places: list[str]
) -> Answer:
    values = Values(desk)
    books = Bibliography(desk)
    known = features(desk, values)
    if len(taxa) > _MANY:
        values.load_species()
    residents = Residents(desk, places)
    residents.read_all(taxa)
    here, out = _here(desk, residents, taxa)
    fishes = [_fish(desk, values, residents, t) for t in here]
    without = [f.taxon for f in fishes if not f.values]
    tree = grow([f for f in fishes if f.values], known)
    couplets = key_leads.couplets(desk, values, books, tree)
    by_group = [f.taxon for f in fishes if f.values and not _own(f)]
    return Answer(
        question=question,
        outcome=MADE,
        answer=_sentence(desk, question, group, here, out, couplets),
        because=_because(desk, values, couplets),
        cautions=_cautions(desk, group, here, without, by_group),
        fields={
            "group": subjects.brief(desk, group),
            "couplets": couplets,
            "species": [subjects.brief(desk, t) for t in here],
            "left_out": out,
            "without_data": [subjects.brief(desk, t) for t in without],
            "by_group_only": [subjects.brief(desk, t) for t in by_group],
            "sources": books.sources(),
        },
    )


def _here(
    desk: Desk, residents: Residents, taxa: Sequence[str]
) -> tuple[list[str], list[dict[str, Any]]]:
    """The fishes of the water, and those left out with the reason."""
    if not residents.asked:
        return list(taxa), []
    here, out = [], []
    for taxon in taxa:
        stay = residents.stay(taxon)
        if not stay.excluded and stay.lives in (NATIVE, INTRODUCED):
            here.append(taxon)
        else:
            says = stay.excluded or stay.says
            out.append({**subjects.brief(desk, taxon), "says": says, "statement": stay.statement})
    return here, out


def _fish(desk: Desk, values: Values, residents: Residents, taxon: str) -> Fish:
    """A fish weighed by in how many waters and places it is stated to live."""
    places = sum(
        1 for r in residents.ranges(taxon) if r["presence"] in ("op:native", "op:introduced")
    )
    genus = str(desk.about(taxon).get("name", taxon)).split()[0]
    return Fish(taxon, genus, 1 + log2(1 + places), usable(values.of(taxon)))


def usable(mine: Mapping[str, Value]) -> dict[str, Value]:
    """The values a key may stand on: vague states widened, single figures left out."""
    return {k: v._replace(states=widened(v.states)) for k, v in mine.items() if bounded(v)}


def _own(fish: Fish) -> bool:
    return any(v.holder == fish.taxon for v in fish.values.values())


def grow(fishes: Sequence[Fish], known: Mapping[str, Feature], depth: int = 0) -> Node:
    """The whole tree for these fishes."""
    if len(fishes) < 2 or depth > _DEEP:
        return Node(tuple(fishes))
    cut = best(fishes, known)
    if cut is None:
        return Node(tuple(fishes))
    first = [narrowed(f, cut, True) for f in (*cut.one, *cut.both, *cut.carried)]
    second = [narrowed(f, cut, False) for f in (*cut.two, *cut.both, *cut.carried)]
    ways = (grow(first, known, depth + 1), grow(second, known, depth + 1))
    return Node(tuple(fishes), cut, ways)


def follow(couplets: Sequence[Mapping[str, Any]], values: Mapping[str, Value]) -> list[list[str]]:
    """Where a fish with these values comes out: each end, or stop, as the taxa named there.

    A fish with several values, or carried both ways for want of one, may come out at several
    ends; one whose value is not known may stop among those that are said to stop there.
    """
    if not couplets:
        return []
    by_number = {c["number"]: c for c in couplets}
    mine = usable(values)
    ends: list[list[str]] = []
    todo = [1]
    while todo:
        couplet = by_number[todo.pop()]
        value = mine.get(couplet["character"])
        if value is None and couplet["stops"]:
            ends.append([t["taxon"] for t in couplet["stops"]])
            continue
        for lead in couplet["leads"]:
            if value is not None and not key_leads.leads_on(lead, value):
                continue
            if lead["to"] is not None:
                todo.append(lead["to"])
            else:
                ends.append([t["taxon"] for t in lead["taxa"]])
    return ends


# ---- words ---------------------------------------------------------------------------------


def _sentence(
    desk: Desk,
    question: dict[str, Any],
    group: str,
    here: Sequence[str],
    out: Sequence[dict[str, Any]],
    couplets: Sequence[dict[str, Any]],
) -> str:
    name, water = desk.label(group), question["water"]
    where = f" known to live in {water}" if water else ""
    if not here:
        return f"No species of {name} is{where.replace(' known', ' known here')}."
    if len(here) == 1:
        one = desk.label(here[0])
        return f"{subjects.upper(one)} is the only species of {name}{where}; no key is needed."
    alone = {t["taxon"] for c in couplets for lead in c["leads"] for t in _single(lead)}
    told = (
        f"A key of {len(couplets)} couplet{'s' if len(couplets) != 1 else ''} to the {len(here)} "
        f"species of {name}{where}"
    )
    rest = len(here) - len(alone)
    if rest:
        told += (
            f"; {len(alone)} come out alone, {rest} only within a group that the characters known "
            "here do not separate"
        )
    if out:
        told += f". {len(out)} species of the group are left out as not known from there"
    return told + "."


def _single(lead: Mapping[str, Any]) -> list[dict[str, Any]]:
    taxa: list[dict[str, Any]] = lead["taxa"]
    return taxa if len(taxa) == 1 else []


def _because(desk: Desk, values: Values, couplets: Sequence[dict[str, Any]]) -> list[Reason]:
    """For each couplet, that it parts; then the statements it rests on, each once."""
    lines: list[Reason] = []
    for couplet in couplets:
        one, two = couplet["leads"]
        says = f"couplet {couplet['number']}: {one['says']}, against {two['says']}"
        lines.append(Reason(says, "inferred"))
        lines += [desk.words.reason(s) for s in couplet["statements"][:_SHOWN]]
    return list(dict.fromkeys(lines))


def _cautions(
    desk: Desk,
    group: str,
    here: Sequence[str],
    without: Sequence[str],
    by_group: Sequence[str],
) -> list[str]:
    told = ["Colour is not used: it shifts with stress, light and water."]
    if without:
        names = listed([desk.label(t) for t in without])
        told.append(f"Not in the key, since no character is known of them here: {names}.")
    if by_group:
        names = some([desk.label(t) for t in by_group], "fishes", 8)
        told.append(f"Only the characters of their group are known here for {names}.")
    crossed = [c.taxon for c in crosses(desk) if set(c.parents) <= set(here)]
    if crossed:
        names = some([desk.label(t) for t in crossed], "crosses")
        told.append(f"Hybrids do not key out; known of these fishes: {names}.")
    return told + desk.cautions([group])
