"""Names as a graph: which names tangle which fishes, and the tangles they make.

Knows: names and species as the two sides of a graph, its tangles (connected components), what
lies nearest to a node, and the rank at which fishes part. The graphs are networkx's.
Refuses to know: what a name means here or then, and how a graph is drawn.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from opercle.store import Row

RANKS = ("class", "order", "family", "genus", "species")
"""The ranks at which fishes can part, the highest first."""


def web(uses: Iterable[Row]) -> Any:
    """A networkx.Graph of names borne by two species or more, and of their bearers.

    Each row of ``uses`` has ``n``, ``form``, ``t`` and ``use``. A name's node has ``side`` "name"
    and ``form``; an edge lists the ``uses`` by which the name means the fish.
    """
    import networkx as nx

    graph = nx.Graph()
    for row in uses:
        graph.add_node(row["n"], side="name", form=row["form"])
        graph.add_node(row["t"], side="fish")
        if not graph.has_edge(row["n"], row["t"]):
            graph.add_edge(row["n"], row["t"], uses=[])
        graph.edges[row["n"], row["t"]]["uses"].append(row["use"])
    graph.remove_nodes_from([n for n in names(graph) if graph.degree(n) < 2])
    graph.remove_nodes_from([n for n in list(graph) if graph.degree(n) == 0])
    return graph


def names(graph: Any) -> list[str]:
    """The names of a graph, sorted."""
    return sorted(n for n, side in graph.nodes(data="side") if side == "name")


def fishes(graph: Any) -> list[str]:
    """The fishes of a graph, sorted."""
    return sorted(n for n, side in graph.nodes(data="side") if side == "fish")


def tangles(graph: Any) -> list[Any]:
    """The connected parts, the largest first: no name of one is borne by a fish of another."""
    import networkx as nx

    parts = [graph.subgraph(nodes) for nodes in nx.connected_components(graph)]
    return sorted(parts, key=lambda part: (-len(part), min(part)))


def around(graph: Any, start: str, most: int) -> Any:
    """What lies nearest to a node, step by step, while it is no more than ``most`` nodes.

    The node's own neighbours always belong to it.
    """
    import networkx as nx

    kept = {start, *graph.neighbors(start)}
    for _, layer in enumerate(nx.bfs_layers(graph, start)):
        if len(kept | set(layer)) > most:
            break
        kept |= set(layer)
    return graph.subgraph(kept)


def parts_at(taxa: Sequence[str], above: Mapping[str, Mapping[str, str]]) -> str:
    """The highest rank at which the taxa do not all stand in one group.

    ``above`` gives for each taxon the group it stands in by rank. A rank that is not known for
    every one of them is passed over.
    """
    for rank in RANKS[:-1]:
        groups = [above.get(t, {}).get(rank) for t in taxa]
        if None not in groups and len(set(groups)) > 1:
            return rank
    return RANKS[-1]


def worst(graph: Any, above: Mapping[str, Mapping[str, str]], most: int = 20) -> list[str]:
    """The names that tangle most: borne by most species, then parting at the highest rank."""

    def key(name: str) -> tuple[int, int, str]:
        bearers = list(graph.neighbors(name))
        return (-len(bearers), RANKS.index(parts_at(bearers, above)), name)

    return sorted(names(graph), key=key)[:most]
