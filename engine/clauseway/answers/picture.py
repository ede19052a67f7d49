"""The graph of a rulebook as an SVG picture: columns from what is needed, on the left, to what needs it."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

if TYPE_CHECKING:
    import networkx as nx

_ROW, _PAD, _CHAR, _GAP = 26, 16, 6.4, 90
_DASHES = {"fact": "", "parameter": "3 3", "table": "3 3"}


def as_svg(graph: nx.DiGraph[str], title: str) -> str:
    """The picture of a graph without cycles; the same graph gives the same bytes."""
    import networkx as nx

    columns: list[list[str]] = [sorted(layer) for layer in nx.topological_generations(graph)]
    columns = _pulled_right(graph, columns)
    widths = [max((len(_short(name)) for name in column), default=1) * _CHAR + 20 for column in columns]
    height = max((len(column) for column in columns), default=1) * _ROW + 2 * _PAD + 24
    places: dict[str, tuple[float, float, float]] = {}
    x = float(_PAD)
    for column, width in zip(columns, widths, strict=True):
        top = (height - len(column) * _ROW) / 2 + 12
        for row, name in enumerate(_by_neighbours(graph, column, places)):
            places[name] = (x, top + row * _ROW, width)
        x += width + _GAP
    total = x - _GAP + _PAD
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {total:.0f} {height:.0f}" width="{total:.0f}" '
        f'height="{height:.0f}" font-family="sans-serif" font-size="11" role="img">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{total:.0f}" height="{height:.0f}" fill="#ffffff"/>',
    ]
    for a, b in sorted(graph.edges):
        ax, ay, aw = places[a]
        bx, by, _ = places[b]
        start, middle, end = ax + aw, (ax + aw + bx) / 2, bx
        parts.append(
            f'<path d="M{start:.1f} {ay + 10:.1f} C{middle:.1f} {ay + 10:.1f} {middle:.1f} {by + 10:.1f} '
            f'{end:.1f} {by + 10:.1f}" fill="none" stroke="#8a8f98"/>'
        )
    for name, (left, top, width) in sorted(places.items()):
        kind = str(graph.nodes[name].get("kind", ""))
        dash = f' stroke-dasharray="{_DASHES[kind]}"' if _DASHES.get(kind) else ""
        radius = 10 if kind == "fact" else 2
        weight = ' font-weight="bold"' if kind in ("requirement", "locking-arrangement") else ""
        parts.append(
            f'<rect x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" height="20" rx="{radius}" fill="#ffffff" '
            f'stroke="#30343b"{dash}/>'
        )
        parts.append(
            f'<text x="{left + 10:.1f}" y="{top + 14:.1f}" fill="#1b1e23"{weight}>{escape(_short(name))}</text>'
        )
    return "\n".join([*parts, "</svg>"]) + "\n"


def _short(name: str) -> str:
    return name if len(name) <= 48 else f"{name[:45]}..."


def _pulled_right(graph: nx.DiGraph[str], columns: list[list[str]]) -> list[list[str]]:
    """Each node as far right as what needs it allows, so that edges are short."""
    at = {name: index for index, column in enumerate(columns) for name in column}
    for column in reversed(columns):
        for name in column:
            after = [at[target] for target in graph.successors(name)]
            if after:
                at[name] = min(after) - 1
    return [sorted(name for name, index in at.items() if index == number) for number in range(len(columns))]


def _by_neighbours(
    graph: nx.DiGraph[str], column: list[str], places: dict[str, tuple[float, float, float]]
) -> list[str]:
    """A column ordered by the mean height of what its nodes need."""

    def key(name: str) -> tuple[float, str]:
        heights = [places[source][1] for source in graph.predecessors(name) if source in places]
        return (sum(heights) / len(heights) if heights else 0.0, name)

    return sorted(column, key=key)
