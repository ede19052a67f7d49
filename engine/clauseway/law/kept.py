"""Lowered provisions that are kept with the library: layers are cheap where what they leave alone is not made anew."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from clauseway.law.library import Library
from clauseway.law.lower import Context
from clauseway.text.source import Node

Made = TypeVar("Made")

_MOST = 64
"""Contexts that are kept for one code and edition."""


class Kept:
    """What was made of nodes in one context: the same node there comes to the same thing."""

    def __init__(self, context: Context) -> None:
        self.context = context
        self._made: dict[int, tuple[Node, Any]] = {}

    def made(self, node: Node, make: Callable[[Node, Context], Made]) -> Made:
        """What `make` makes of a node here, made once for this very node."""
        found = self._made.get(id(node))
        if found is None or found[0] is not node:
            found = self._made[id(node)] = (node, make(node, self.context))
        return found[1]


def kept_for(library: Library, context: Context) -> Kept:
    """What was made in a context, such that all that it names means the same."""
    key = ("lowered", context.code, context.edition)
    every: list[Kept] = library.kept.setdefault(key, [])
    for kept in every:
        if kept.context == context:
            return kept
    if len(every) >= _MOST:
        every.clear()
    every.append(Kept(context))
    return every[-1]
