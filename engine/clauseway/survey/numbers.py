"""Comparisons of columns of numbers: intervals of many rows at once, compared as `possible.compare` compares two."""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clauseway.language import core
from clauseway.language.possible import TOLERANCE, Interval, System, compare
from clauseway.readers.decide import Decider, Env
from clauseway.survey.columns import Block, Columns
from clauseway.survey.dependence import Dependence
from clauseway.survey.planes import Plane, Rows, packed

Floats = NDArray[np.float64]


class Unsayable(Exception):
    """A term that columns of numbers do not say; the one-opening checker does."""


@dataclass(frozen=True)
class Spans:
    """An interval in each row: its ends, and the unit system of the rows where it is a point.

    `fixed` is one interval for every row, with its second printed value.
    """

    low: Floats
    high: Floats
    system: System | None
    fixed: Interval | None = None


Evaluate = Callable[[Block], Spans]
Leaf = Callable[[Block], tuple[Plane, Plane]]
_LARGEST = 1e300


class Numbers:
    """Makes functions of blocks from terms that are numbers."""

    def __init__(self, decider: Decider, columns: Columns, dependence: Dependence) -> None:
        self.decider = decider
        self.columns = columns
        self.dependence = dependence

    def comparison(self, node: core.Compare, env: Env) -> Leaf:
        """Where a comparison is true and where it is false, block by block.

        Raises:
            Unsayable: for what columns do not say.
        """
        step = self._step(node, env)
        if step is not None:
            return step
        left, right, operator = self.of(node.left, env), self.of(node.right, env), node.operator

        def run(block: Block) -> tuple[Plane, Plane]:
            a, b = left(block), right(block)
            if operator in (">=", "<"):
                a, b = b, a
            true, false = equal(a, b) if operator in ("==", "!=") else at_most(a, b)
            if operator in ("<", ">", "!="):
                true, false = false, true
            shape = (block.rows,)
            return packed(np.broadcast_to(true, shape)), packed(np.broadcast_to(false, shape))

        return run

    def _step(self, node: core.Compare, env: Env) -> Leaf | None:
        """A column beside a constant: its truth changes once, at a number that the comparison itself is asked for."""
        turned = bool(self.dependence.of(node.right, env))
        column_side, other_side = (node.right, node.left) if turned else (node.left, node.right)
        while isinstance(column_side, core.Named | core.Labelled):
            column_side = column_side.body
        if (
            node.operator in ("==", "!=")
            or not isinstance(column_side, core.Get)
            or self.dependence.of(other_side, env)
        ):
            return None
        self._column(column_side, env)
        key = (self.decider.thing(column_side.source, env).path, column_side.fact.partition(".")[2])
        column = self.columns.all[key]
        constant, _ = self.decider.value(other_side, env)
        if column.scale is None or not isinstance(constant, Interval) or not constant.is_point:
            return None
        system = column.scale.system

        def truth(low: float, high: float) -> bool | None:
            value = Interval(low, high, system if low == high else None)
            return compare(node.operator, constant, value) if turned else compare(node.operator, value, constant)

        fact = column.fact
        unknown = truth(fact.low, fact.high)
        low, high = max(fact.low, -_LARGEST), min(fact.high, _LARGEST)
        at_low, at_high = truth(low, low), truth(high, high)
        if at_low is None or at_high is None:
            return None
        last = high if at_low is at_high else _last(lambda number: truth(number, number) is at_low, low, high)

        def run(block: Block) -> tuple[Plane, Plane]:
            values = block.array(key)
            below, above = packed(values <= last), packed(values > last)
            if unknown is not None:
                blank = packed(np.isnan(values))
                if unknown is at_low:
                    below |= blank
                else:
                    above |= blank
            return (below, above) if at_low else (above, below)

        return run

    def of(self, node: core.Node, env: Env) -> Evaluate:
        """The intervals of a term.

        Raises:
            Unsayable: for what columns do not say.
        """
        if not self.dependence.of(node, env):
            value, _ = self.decider.value(node, env)
            if not isinstance(value, Interval):
                raise Unsayable
            return _fixed(value)
        if isinstance(node, core.Named | core.Labelled):
            return self.of(node.body, env)
        if isinstance(node, core.Get):
            return self._column(node, env)
        if isinstance(node, core.Arithmetic) and node.operator in "+-":
            return _added(self.of(node.left, env), self.of(node.right, env), node.operator == "-")
        raise Unsayable

    def _column(self, node: core.Get, env: Env) -> Evaluate:
        thing = self.decider.thing(node.source, env)
        key = (thing.path, node.fact.partition(".")[2])
        column = self.columns.all.get(key)
        if column is None or column.scale is None or node.derived:
            raise Unsayable
        fact, system = column.fact, column.scale.system

        def run(block: Block) -> Spans:
            values = block.array(key)
            unknown = np.isnan(values)
            return Spans(np.where(unknown, fact.low, values), np.where(unknown, fact.high, values), system)

        return run


def _last(holds: Callable[[float], bool], low: float, high: float) -> float:
    """The last number between two for which something holds that holds at the first and not at the second."""

    def place(number: float) -> int:
        # Numbers in their order, each next to the next that a computer knows.
        bits: int = struct.unpack("<q", struct.pack("<d", number))[0]
        return bits if bits >= 0 else -(bits & _SIGNLESS)

    def number_at(at: int) -> float:
        found: float = struct.unpack("<d", struct.pack("<q", at))[0] if at >= 0 else -number_at(-at)
        return found

    first, second = place(low), place(high)
    while second - first > 1:
        middle = (first + second) // 2
        if holds(number_at(middle)):
            first = middle
        else:
            second = middle
    return number_at(first)


_SIGNLESS = (1 << 63) - 1


def _fixed(value: Interval) -> Evaluate:
    low, high = np.array(value.low), np.array(value.high)
    return lambda _: Spans(low, high, value.system, value)


def _added(left: Evaluate, right: Evaluate, minus: bool) -> Evaluate:
    def run(block: Block) -> Spans:
        a, b = left(block), right(block)
        systems = {each.system for each in (a, b)} - {None}
        system = systems.pop() if len(systems) == 1 else None
        if minus:
            return Spans(a.low - b.high, a.high - b.low, system)
        return Spans(a.low + b.low, a.high + b.high, system)

    return run


def _below(a: Floats, b: Floats) -> Rows:
    """`a <= b`, with the tolerance between finite numbers only."""
    slack = TOLERANCE * np.maximum(np.abs(a), np.abs(b))
    finite = np.isfinite(a) & np.isfinite(b)
    return np.asarray(np.where(finite, a <= b + np.where(finite, slack, 0.0), a <= b))


def _readings(printed: Interval) -> tuple[Spans, Spans]:
    assert printed.also is not None
    first = replace(printed, also=None)
    second = Interval(printed.also, printed.also, printed.also_system)
    return tuple(Spans(np.array(x.low), np.array(x.high), x.system) for x in (first, second))  # type: ignore[return-value]


Side = tuple[Rows, Rows]


def _by_readings(a: Spans, b: Spans, one: Callable[[Spans, Spans], Side]) -> Side:
    """What holds under the printed value that each row is compared with; a range must agree with both."""
    for printed, other, swap in ((b, a, False), (a, b, True)):
        if printed.fixed is None or printed.fixed.also is None:
            continue
        first, second = _readings(printed.fixed)
        own, alternative = ((one(reading, other) if swap else one(other, reading)) for reading in (first, second))
        chosen = alternative if other.system == second.system else own
        point = other.low == other.high
        return (
            np.where(point, chosen[0], own[0] & alternative[0]),
            np.where(point, chosen[1], own[1] & alternative[1]),
        )
    return one(a, b)


def at_most(a: Spans, b: Spans) -> Side:
    """Where `a <= b` for every completion, and where for none."""
    return _by_readings(a, b, lambda x, y: (_below(x.high, y.low), ~_below(x.low, y.high)))


def equal(a: Spans, b: Spans) -> Side:
    """Where both are points and equal, and where they are disjoint."""

    def one(x: Spans, y: Spans) -> Side:
        apart = ~(_below(x.low, y.high) & _below(y.low, x.high))
        points = (x.low == x.high) & (y.low == y.high) & ~np.isinf(x.low)
        return points & ~apart, apart

    return _by_readings(a, b, one)
