"""What reaches what: facts, parameters, conditions, arrangements and provisions as a directed graph.

An edge leads from what is needed to what needs it, so that what lies downstream of a node is what a change of it
may touch.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from clauseway.language import core
from clauseway.law.rulebook import Rulebook

if TYPE_CHECKING:
    import networkx as nx


def reach(rulebook: Rulebook) -> nx.DiGraph[str]:
    """The graph of a rulebook; each node has a `kind`."""
    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph()

    def needs(target: str, node: core.Node) -> None:
        for part in core.walk(node):
            if isinstance(part, core.Get):
                graph.add_node(part.fact, kind="fact")
                graph.add_edge(part.fact, target)
                if part.derived:
                    graph.add_edge(part.derived, target)
            elif isinstance(part, core.Parameter):
                graph.add_node(part.key, kind="parameter")
                graph.add_edge(part.key, target)
            elif isinstance(part, core.Holds):
                graph.add_edge(part.arrangement, target)
            elif isinstance(part, core.Compute):
                graph.add_node(part.name, kind="computation")
                graph.add_edge(part.name, target)
            elif isinstance(part, core.Lookup):
                graph.add_node(part.table, kind="table")
                graph.add_edge(part.table, target)

    for provision in rulebook.provisions.values():
        graph.add_node(provision.name, kind=provision.kind)
        needs(provision.name, provision.applies)
        needs(provision.name, provision.recognised)
        for condition in provision.permitted + provision.conditions:
            name = f"{provision.name}/{condition.label}"
            graph.add_node(name, kind="condition")
            graph.add_edge(name, provision.name)
            needs(name, condition.truth)
    for derivation in rulebook.derivations.values():
        graph.add_node(derivation.name, kind="derivation")
        needs(derivation.name, derivation.node)
    return graph


def around(graph: nx.DiGraph[str], name: str) -> tuple[list[str], list[str]]:
    """What a node needs, and what may be touched by it, each sorted."""
    import networkx as nx

    return sorted(nx.ancestors(graph, name)), sorted(nx.descendants(graph, name))


def part_around(graph: nx.DiGraph[str], name: str, depth: int) -> nx.DiGraph[str]:
    """The nodes within some steps of `name`, upstream and downstream."""
    import networkx as nx

    up = nx.ego_graph(graph.reverse(copy=False), name, radius=depth).nodes
    down = nx.ego_graph(graph, name, radius=depth).nodes
    return graph.subgraph([*up, *down]).copy()


def as_dot(graph: nx.DiGraph[str]) -> str:
    """The graph in the DOT language, in a fixed order."""
    shapes = {"fact": "ellipse", "parameter": "note", "condition": "box", "table": "note"}

    def quoted(text: str) -> str:
        return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'

    lines = ["digraph reach {", "  rankdir=LR;", '  node [fontname="sans-serif", fontsize=10];']
    for name in sorted(graph.nodes):
        shape = shapes.get(str(graph.nodes[name].get("kind", "")), "component")
        lines.append(f"  {quoted(name)} [shape={shape}];")
    lines += [f"  {quoted(a)} -> {quoted(b)};" for a, b in sorted(graph.edges)]
    return "\n".join([*lines, "}"]) + "\n"
