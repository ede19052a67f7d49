"""A trace as text, as JSON data and as a picture: the same tree, equal sub-trees once."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from clauseway.answers.explain import cite
from clauseway.answers.trace_node import TraceNode, node_data

SCHEMA = "clauseway-trace/1"
_ROW, _STEP, _CHAR, _PAD = 38, 22, 6.6, 16
_COLOURS = {"met": "#1d6b3a", "yes": "#1d6b3a", "unmet": "#a3201c", "no": "#a3201c"}


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a drawn trace: how deep it stands, and what stands on it."""

    depth: int
    node: TraceNode
    mark: str
    again: bool
    hidden: int


def rows(root: TraceNode, depth: int = 0, *, everything: bool = True) -> list[Row]:
    """The rows of a trace, outermost first; below `depth` (0: no limit) nodes are only counted.

    Unless `everything`, parts that did not decide are left out: of a failed conjunction what was met, of a met
    choice what failed.
    """
    uses: Counter[str] = Counter()
    seen: set[str] = set()

    def count(node: TraceNode) -> None:
        uses[node.key] += 1
        if uses[node.key] == 1:
            for child in node.children if everything else decisive(node):
                count(child)

    count(root)
    numbers: dict[str, int] = {}

    def visit(node: TraceNode, level: int) -> Iterator[Row]:
        again = node.key in seen and bool(node.children)
        seen.add(node.key)
        mark = ""
        if uses[node.key] > 1 and node.children:
            mark = f"[{numbers.setdefault(node.key, len(numbers) + 1)}]"
        cut = bool(depth) and level + 1 >= depth
        shown = node.children if everything else decisive(node)
        hidden = 0 if again else len(node.children) - (0 if cut else len(shown))
        yield Row(level, node, mark, again, hidden)
        if not again and not cut:
            for child in shown:
                if child.op == "constant" and child.result is True and node.op in ("member", "when"):
                    continue
                yield from visit(child, level + 1)

    return list(visit(root, 0))


def decisive(node: TraceNode) -> tuple[TraceNode, ...]:
    """The children from which a node's value follows."""
    if node.op == "and" and node.result is False:
        return next(((child,) for child in node.children if child.result is False), node.children)
    if node.op == "or" and node.result is True:
        return next(((child,) for child in node.children if child.result is True), node.children)
    if node.op == "when" and node.children[0].result is False:
        return node.children[:1]
    if node.op == "member" and node.children[0].result is False:
        return node.children[:1]
    return node.children


_SHORT = {"and": "all of", "or": "one of", "when": "if the first holds, the second", "assuming": "given the first"}


def _head(row: Row) -> str:
    node = row.node
    what = _SHORT.get(node.op, node.what) if node.children and len(node.what) > 60 else node.what
    if node.op in _SHORT and what != node.what and node.citation is not None:
        what = node.what
    text = f"{what} -> {node.value}" if node.value else what
    return f"{row.mark} {text} (as above)" if row.again else f"{row.mark} {text}".strip()


def _details(node: TraceNode) -> list[str]:
    details = []
    if node.note:
        details.append(node.note)
    if node.citation is not None:
        cited = cite(node.citation)
        details.append(f"{cited}; source: {node.source}" if node.source else cited)
    for change in node.history:
        since = f", from {change.since}" if change.since else ""
        details.append(
            f"amended by {change.layer} ({change.cite}{since}): was {change.was}, now {change.now} ({change.place})"
        )
    origin = [str(node.place)] if node.place.file else []
    origin += [node.known_by] if node.known_by and node.citation is None else []
    if origin:
        details.append(" ".join(origin))
    return details


def trace_text(root: TraceNode, depth: int = 0, width: int = 80, *, everything: bool = False) -> str:
    """The trace as indented text."""
    lines: list[str] = []
    for row in rows(root, depth, everything=everything):
        indent = "  " * min(row.depth, 16)
        texts = [(_head(row), indent, indent + "    ")]
        if not row.again:
            texts += [(detail, indent + "    ", indent + "    ") for detail in _details(row.node)]
        if row.hidden:
            texts.append((f"... {row.hidden} more", indent + "  ", indent + "  "))
        for text, first, rest in texts:
            lines += textwrap.wrap(
                text, max(width, len(first) + 36), initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
            )
    return "\n".join(lines) + "\n"


def trace_data(root: TraceNode, depth: int = 0) -> dict[str, Any]:
    """The trace as JSON data; a sub-tree that stands elsewhere already is named by `same_as`."""
    seen: set[str] = set()

    def one(node: TraceNode, level: int) -> dict[str, Any]:
        if node.key in seen and node.children:
            return {"same_as": node.key}
        seen.add(node.key)
        kept = node_data(node)
        if not node.children:
            return kept
        if depth and level + 1 >= depth:
            return {**kept, "below": len(node.children)}
        return {**kept, "children": [one(child, level + 1) for child in node.children]}

    return {"schema": SCHEMA, "tree": one(root, 0)}


def trace_svg(root: TraceNode, depth: int = 0, *, everything: bool = False) -> str:
    """The trace as a picture: one row a node, indented below what rests on it; the same tree gives the same bytes."""
    drawn = rows(root, depth, everything=everything)
    texts = [(_short(_head(row), 110), _short("; ".join(_details(row.node)), 130)) for row in drawn]
    right = max(
        _PAD + row.depth * _STEP + max(len(head) * _CHAR, len(detail) * 5.6) + 40
        for row, (head, detail) in zip(drawn, texts, strict=True)
    )
    height = len(drawn) * _ROW + 2 * _PAD
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {right:.0f} {height}" width="{right:.0f}" '
        f'height="{height}" font-family="sans-serif" role="img">',
        f"<title>{escape(root.what)}: {escape(root.value)}</title>",
        f'<rect width="{right:.0f}" height="{height}" fill="#ffffff"/>',
    ]
    above: dict[int, int] = {}
    for number, (row, (head, detail)) in enumerate(zip(drawn, texts, strict=True)):
        x, y = _PAD + row.depth * _STEP, _PAD + number * _ROW
        above[row.depth] = y
        if row.depth:
            start = above[row.depth - 1] + 14
            parts.append(f'<path d="M{x - 15} {start} V{y + 7} H{x - 4}" fill="none" stroke="#b4b8bf"/>')
        colour = _COLOURS.get(row.node.value, "#30343b")
        parts.append(f'<circle cx="{x + 2}" cy="{y + 7}" r="4" fill="{colour}"/>')
        weight = ' font-weight="bold"' if not row.depth else ""
        parts.append(f'<text x="{x + 12}" y="{y + 11}" font-size="12" fill="#1b1e23"{weight}>{escape(head)}</text>')
        if detail and not row.again:
            parts.append(f'<text x="{x + 12}" y="{y + 25}" font-size="10" fill="#5b616b">{escape(detail)}</text>')
    return "\n".join([*parts, "</svg>"]) + "\n"


def _short(text: str, limit: int) -> str:
    return text if len(text) <= limit else f"{text[: limit - 3]}..."
