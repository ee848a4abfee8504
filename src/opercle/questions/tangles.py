"""Which names tangle which fishes: all of them, or what hangs on one name or fish.

Knows: tangles, the worst names, and the rank at which the bearers of a name part.
Refuses to know: which bearer is meant; ``name`` settles that by place and year.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from opercle import reading, trees
from opercle.answers import Answer, Reason, listed
from opercle.questions import subjects
from opercle.questions.desk import Desk, key_of

TANGLED, UNTANGLED = "tangled", "untangled"
WORST, NEAR = 20, 60
"""So many names are listed as the worst; a tangle of more nodes is shown round what was asked."""
_TOLD = 3

Above = Mapping[str, Mapping[str, str]]


class Web(NamedTuple):
    """The graph of shared names, and the groups that every taxon stands in, by rank."""

    graph: Any
    above: Above


def web(desk: Desk) -> Web:
    """The web of names over the whole knowledge."""
    above: dict[str, dict[str, str]] = {}
    for row in desk.query("groups_above"):
        above.setdefault(row["t"], {})[row["rank"]] = row["u"]
    return Web(trees.web(desk.query("tangled")), above)


def ask(desk: Desk, written: str | None = None) -> Answer:
    """Answer ``tangles``: tangled, or untangled where a name or fish shares nothing.

    Raises UnknownError where nothing is near the name.
    """
    held = web(desk)
    if not written:
        return _all(desk, held)
    question = {"name": " ".join(written.split())}
    start = _start(desk, held.graph, written)
    if isinstance(start, list):
        return subjects.several(desk, question, written, start, _nothing())
    if start not in held.graph:
        says = f"{desk.label(start)} shares no name with another species here."
        return Answer(question, UNTANGLED, subjects.upper(says), [], [], _nothing())
    return _one(desk, held, question, start)


def _nothing() -> dict[str, Any]:
    return {"worst": [], "tangles": [], "tangle": None}


def _start(desk: Desk, graph: Any, written: str) -> str | list[str]:
    """The node meant: a shared name as written, else the one taxon; a list where several."""
    for form in reading.singulars(reading.normal(reading.clean(written))):
        for row in desk.query("uses", key=key_of(form)):
            if row["n"] in graph:
                return str(row["n"])
    taxa = subjects.meant(desk, written)
    return taxa[0] if len(taxa) == 1 else taxa


# ---- one name or fish ------------------------------------------------------------------------


def _one(desk: Desk, held: Web, question: dict[str, Any], start: str) -> Answer:
    graph = held.graph
    (whole,) = [part for part in trees.tangles(graph) if start in part]
    shown = trees.around(graph, start, NEAR)
    tangle = _tangle(desk, held, shown)
    names = [start] if graph.nodes[start]["side"] == "name" else sorted(graph.neighbors(start))
    reasons = [
        desk.words.reason(use)
        for name in names
        for fish in sorted(graph.neighbors(name))
        for use in graph.edges[name, fish]["uses"]
    ]
    fields = {
        **_nothing(),
        "tangle": {
            **tangle,
            "start": start,
            "whole_names": len(trees.names(whole)),
            "whole_fishes": len(trees.fishes(whole)),
        },
    }
    says = _says_one(desk, held, start, whole, shown)
    return Answer(question, TANGLED, says, list(dict.fromkeys(reasons)), [], fields)


def _says_one(desk: Desk, held: Web, start: str, whole: Any, shown: Any) -> str:
    graph = held.graph
    if graph.nodes[start]["side"] == "name":
        bearers = list(graph.neighbors(start))
        told = _name(desk, held, start)
        says = (
            f"“{told['name']}” is borne by {len(bearers)} species, "
            f"which part at the rank of {told['parts_at']}."
        )
    else:
        shared = [f"“{graph.nodes[n]['form']}”" for n in sorted(graph.neighbors(start))]
        others = {t for n in graph.neighbors(start) for t in graph.neighbors(n)} - {start}
        says = (
            f"{subjects.upper(desk.label(start))} shares {listed(shared)} "
            f"with {len(others)} other species."
        )
    names, fishes = len(trees.names(whole)), len(trees.fishes(whole))
    says += f" All that hangs together: {names} {'name' if names == 1 else 'names'} and "
    says += f"{fishes} species"
    return says + ("." if len(whole) == len(shown) else "; only the nearest are shown.")


def _tangle(desk: Desk, held: Web, part: Any) -> dict[str, Any]:
    return {
        "names": [_name(desk, held, n, part) for n in trees.names(part)],
        "fishes": [_fish(desk, held, t) for t in trees.fishes(part)],
    }


def _name(desk: Desk, held: Web, name: str, part: Any = None) -> dict[str, Any]:
    bearers = sorted(held.graph.neighbors(name))
    return {
        "name": held.graph.nodes[name]["form"],
        "node": name,
        "species": len(bearers),
        "parts_at": trees.parts_at(bearers, held.above),
        "bearers": bearers if part is None else [t for t in bearers if t in part],
    }


def _fish(desk: Desk, held: Web, taxon: str) -> dict[str, Any]:
    family = held.above.get(taxon, {}).get("family")
    return {
        "taxon": taxon,
        "label": desk.label(taxon),
        "family": desk.label(family) if family else "",
    }


# ---- all -----------------------------------------------------------------------------------------


def _all(desk: Desk, held: Web) -> Answer:
    parts = trees.tangles(held.graph)
    worst = [_name(desk, held, n) for n in trees.worst(held.graph, held.above, WORST)]
    for row in worst:
        families = Counter(_fish(desk, held, t)["family"] for t in row["bearers"])
        row["families"] = dict(sorted(families.items(), key=lambda f: (-f[1], f[0])))
    every = [_name(desk, held, n) for n in trees.names(held.graph)]
    ranks = Counter(row["parts_at"] for row in every)
    fields = {
        "worst": worst,
        "tangles": [_tangle(desk, held, part) for part in parts],
        "tangle": None,
        "parts_at": {rank: ranks[rank] for rank in trees.RANKS if ranks[rank]},
    }
    reasons = [
        Reason(
            f"“{row['name']}” is borne by {row['species']} species",
            "inferred",
            rule="shared-name",
            triple=(row["node"], "op:sharedBy", row["bearers"][0]),
        )
        for row in worst
    ]
    return Answer({}, TANGLED, _says_all(held, parts, worst, ranks), reasons, [], fields)


def _says_all(
    held: Web, parts: Sequence[Any], worst: Sequence[Mapping[str, Any]], ranks: Mapping[str, int]
) -> str:
    first = listed([f"{row['name']} ({row['species']} species)" for row in worst[:_TOLD]])
    big = parts[0]
    at = ", ".join(f"{ranks[r]} at {r}" for r in trees.RANKS if ranks.get(r))
    return (
        f"{len(trees.names(held.graph))} names tangle {len(trees.fishes(held.graph))} species in "
        f"{len(parts)} tangles; the largest holds {len(trees.names(big))} names and "
        f"{len(trees.fishes(big))} species. Their bearers part: {at}. The worst: {first}."
    )
