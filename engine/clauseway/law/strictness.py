"""Which of two terms is harder to meet, and what a larger value does to one: only where the form alone proves it."""

from __future__ import annotations

from collections.abc import Iterator

from clauseway.language import core
from clauseway.language.possible import Choice, Interval, Value

EASIER, HARDER, SAME = 1, -1, 0
Order = int | None
"""EASIER where the second is true wherever the first is, HARDER the other way round, SAME, or None: not known."""

_GROWS = ("<=", "<"), (">=", ">")
_MONOTONE = frozenset(("min", "max", "ceil", "floor", "sqrt", "exp", "log"))


def together(*orders: Order) -> Order:
    """The order of a whole from those of its parts, all of which pull the same way."""
    found = {order for order in orders if order != SAME}
    if not found:
        return SAME
    return found.pop() if len(found) == 1 else None


def opposite(order: Order) -> Order:
    """The order seen from the other side."""
    return None if order is None else -order


def order_of(a: core.Node, b: core.Node) -> Order:
    """Whether `b` is easier or harder to meet than `a`; how the two are known is left aside."""
    return _order(plain(a), plain(b))


def _order(a: core.Node, b: core.Node) -> Order:
    if a == b:
        return SAME
    if isinstance(a, core.When) or isinstance(b, core.When):
        first = a if isinstance(a, core.When) else core.When(core.TRUE, a)
        second = b if isinstance(b, core.When) else core.When(core.TRUE, b)
        return together(opposite(_order(first.where, second.where)), _order(first.body, second.body))
    if isinstance(a, core.Constant) or isinstance(b, core.Constant):
        return EASIER if b == core.TRUE or a == core.FALSE else HARDER
    for kind, more in ((core.And, HARDER), (core.Or, EASIER)):
        if isinstance(a, kind) or isinstance(b, kind):
            found = _of_parts(_parts(a, kind), _parts(b, kind), more)
            if found is not None:
                return found
    return _inside(a, b)


def plain(node: core.Node) -> core.Node:
    """A term without labels, names, and marks of what is known from memory only."""
    while isinstance(node, core.Labelled | core.Named | core.Unverified):
        node = node.body
    return core.rebuilt(node, plain)


def _parts(node: core.Node, kind: type[core.And] | type[core.Or]) -> list[core.Node]:
    if isinstance(node, kind):
        return [inner for part in node.parts for inner in _parts(part, kind)]
    return [node]


def _of_parts(a: list[core.Node], b: list[core.Node], more: int) -> Order:
    """The order of two conjunctions (`more` parts make it harder) or alternatives (easier)."""
    gone = [part for part in a if part not in b]
    new = [part for part in b if part not in a]
    if not gone and not new:
        return SAME
    if not gone:
        return more
    if not new:
        return -more
    if len(gone) == len(new) == 1:
        return _order(gone[0], new[0])
    return None


def _inside(a: core.Node, b: core.Node) -> Order:
    """The order of two terms of one kind that differ inside."""
    if isinstance(a, core.Not) and isinstance(b, core.Not):
        return opposite(_order(a.body, b.body))
    if isinstance(a, core.Assuming) and isinstance(b, core.Assuming) and a.assumption == b.assumption:
        return _order(a.body, b.body)
    if isinstance(a, core.Quantified) and isinstance(b, core.Quantified):
        alike = (a.quantifier, a.variable, a.members) == (b.quantifier, b.variable, b.members)
        if alike and a.quantifier in ("any", "all", "each"):
            where = _order(a.where, b.where)
            return together(where if a.quantifier == "any" else opposite(where), _order(a.body, b.body))
    if isinstance(a, core.Belongs | core.Overlaps) and type(a) is type(b) and a.value == getattr(b, "value", None):
        mine, theirs = a.options, getattr(b, "options", None)
        if isinstance(mine, core.Options) and isinstance(theirs, core.Options):
            return growth(Choice(mine.options), Choice(theirs.options))
    return None


def growth(a: Value, b: Value) -> Order:
    """Whether a value grew (1) or shrank (-1): a larger number, or a set with more members."""
    if a == b:
        return SAME
    if isinstance(a, Interval) and isinstance(b, Interval):
        low, high = _sign(b.low - a.low), _sign(b.high - a.high)
        return together(low, high)
    if isinstance(a, Choice) and isinstance(b, Choice):
        if a.options <= b.options:
            return EASIER
        return HARDER if b.options <= a.options else None
    return None


def _sign(number: float) -> int:
    return (number > 0) - (number < 0)


def pulls(node: core.Node, key: str, way: Order = EASIER) -> Iterator[Order]:
    """What a larger parameter does to a truth: EASIER or HARDER, one for each place where it is read."""
    if isinstance(node, core.Labelled | core.Named | core.Unverified):
        yield from pulls(node.body, key, way)
    elif isinstance(node, core.Parameter):
        if node.key == key:
            yield way
    elif isinstance(node, core.Not):
        yield from pulls(node.body, key, opposite(way))
    elif isinstance(node, core.When):
        yield from pulls(node.where, key, opposite(way))
        yield from pulls(node.body, key, way)
    elif isinstance(node, core.Compare):
        right = way if node.operator in _GROWS[0] else opposite(way) if node.operator in _GROWS[1] else None
        yield from pulls(node.left, key, opposite(right))
        yield from pulls(node.right, key, right)
    elif isinstance(node, core.Belongs | core.Overlaps | core.Includes):
        yield from pulls(node.value, key, None)
        yield from pulls(node.options, key, opposite(way) if isinstance(node, core.Includes) else way)
    elif isinstance(node, core.Quantified):
        narrows = node.quantifier in ("all", "each")
        known = way if node.quantifier != "sum" else None
        yield from pulls(node.where, key, opposite(known) if narrows else known)
        yield from pulls(node.body, key, way)
    elif isinstance(node, core.Arithmetic) and node.operator in ("+", "-"):
        yield from pulls(node.left, key, way)
        yield from pulls(node.right, key, way if node.operator == "+" else opposite(way))
    elif isinstance(node, core.Cases):
        for test, value in node.cases:
            yield from pulls(test, key, None)
            yield from pulls(value, key, way)
        yield from pulls(node.otherwise, key, way)
    elif isinstance(node, core.Assuming):
        yield from pulls(node.assumption, key, None)
        yield from pulls(node.body, key, way)
    else:
        monotone = isinstance(node, core.Function) and node.name in _MONOTONE
        follows = monotone or isinstance(node, core.And | core.Or)
        for child in core.children(node):
            yield from pulls(child, key, way if follows else None)
