"""Comparisons of columns of numbers: intervals of many rows at once, compared as `possible.compare` compares two."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clauseway.language import core
from clauseway.language.possible import TOLERANCE, Interval, System
from clauseway.readers.decide import Decider, Env
from clauseway.survey.columns import Block, Columns
from clauseway.survey.dependence import Dependence
from clauseway.survey.planes import Rows

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


class Numbers:
    """Makes functions of blocks from terms that are numbers."""

    def __init__(self, decider: Decider, columns: Columns, dependence: Dependence) -> None:
        self.decider = decider
        self.columns = columns
        self.dependence = dependence

    def comparison(self, node: core.Compare, env: Env) -> Callable[[Block], tuple[Rows, Rows]]:
        """Where a comparison is true and where it is false, block by block.

        Raises:
            Unsayable: for what columns do not say.
        """
        left, right, operator = self.of(node.left, env), self.of(node.right, env), node.operator

        def run(block: Block) -> tuple[Rows, Rows]:
            a, b = left(block), right(block)
            if operator in (">=", "<"):
                a, b = b, a
            true, false = equal(a, b) if operator in ("==", "!=") else at_most(a, b)
            return (false, true) if operator in ("<", ">", "!=") else (true, false)

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
            values = block.numbers[key]
            unknown = np.isnan(values)
            return Spans(np.where(unknown, fact.low, values), np.where(unknown, fact.high, values), system)

        return run


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
