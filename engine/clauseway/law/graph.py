"""The dependency graph of facts, derivations, conditions, parameters and provisions."""

from __future__ import annotations

from collections.abc import Iterable


def cycle_in(edges: Iterable[tuple[str, str]]) -> list[str]:
    """A cycle, its first node again at the end, or nothing. The same edges give the same cycle."""
    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_edges_from(sorted(set(edges)))
    try:
        found = nx.find_cycle(graph)
    except nx.NetworkXNoCycle:
        return []
    return [found[0][0], *(target for _, target in found)]
