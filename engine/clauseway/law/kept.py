"""Picked and lowered provisions that are kept: what layers and other folders leave alone is not made anew.

A node is read once for one text of a file (`law/library`), so the very same node in an equal context always comes to
the same thing. Nothing rests on this but speed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from clauseway.law.edition import pick
from clauseway.law.lower import Context
from clauseway.text.source import Node

Made = TypeVar("Made")

_MOST = 64
"""Contexts that are kept for one code and edition."""

_MOST_NODES = 8192
"""Nodes that are kept in one context, and picked ones in all."""


class Kept:
    """What was made of nodes in one context: the same node there comes to the same thing."""

    def __init__(self, context: Context) -> None:
        self.context = context
        self._made: dict[int, tuple[Node, Any]] = {}

    def made(self, node: Node, make: Callable[[Node, Context], Made]) -> Made:
        """What `make` makes of a node here, made once for this very node."""
        found = self._made.get(id(node))
        if found is None or found[0] is not node:
            if len(self._made) >= _MOST_NODES:
                self._made.clear()
            found = self._made[id(node)] = (node, make(node, self.context))
        return found[1]


_KEPT: dict[tuple[str, str], list[Kept]] = {}
_PICKED: dict[tuple[int, str, tuple[str, ...]], tuple[Node, Node]] = {}


def kept_for(context: Context) -> Kept:
    """What was made in a context, such that all that it names means the same."""
    every = _KEPT.setdefault((context.code, context.edition), [])
    for kept in every:
        if kept.context == context:
            return kept
    if len(every) >= _MOST:
        every.clear()
    every.append(Kept(context))
    return every[-1]


def picked_once(node: Node, edition: str, order: Sequence[str]) -> Node:
    """A provision as it stands in one edition; the same object each time."""
    key = (id(node), edition, tuple(order))
    found = _PICKED.get(key)
    if found is None or found[0] is not node:
        if len(_PICKED) >= _MOST_NODES:
            _PICKED.clear()
        found = _PICKED[key] = (node, pick(node, edition, order))
    return found[1]
