"""The dependency graph of facts, derivations, conditions, parameters and provisions."""

from __future__ import annotations

from collections.abc import Iterable


def cycle_in(edges: Iterable[tuple[str, str]]) -> list[str]:
    """A cycle, its first node again at the end, or nothing. The same edges give the same cycle."""
    known = sorted(set(edges))
    if not _goes_round(known):
        return []
    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_edges_from(known)
    found = nx.find_cycle(graph)
    return [found[0][0], *(target for _, target in found)]


def _goes_round(edges: Iterable[tuple[str, str]]) -> bool:
    """Whether there is a cycle: whether something is left when what nothing leads to is taken away again and again."""
    reached: dict[str, list[str]] = {}
    leading: dict[str, int] = {}
    for source, target in edges:
        reached.setdefault(source, []).append(target)
        leading.setdefault(source, 0)
        leading[target] = leading.get(target, 0) + 1
    free = [name for name, many in leading.items() if not many]
    left = len(leading)
    while free:
        left -= 1
        for target in reached.get(free.pop(), ()):
            leading[target] -= 1
            if not leading[target]:
                free.append(target)
    return left > 0
