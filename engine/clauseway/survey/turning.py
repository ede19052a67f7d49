"""Where a truth that changes once along the numbers changes: found by asking, so that nothing is worked out twice."""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass

from clauseway.language import core
from clauseway.language.possible import Interval, Truth, compare
from clauseway.readers.decide import Decider, Env
from clauseway.survey.columns import Column, Columns
from clauseway.survey.dependence import Dependence, Key

Test = Callable[[Interval], Truth]

LARGEST = 1e300
"""Numbers beyond this are not sought."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A comparison of a column's numbers: it is `first` up to the number `last` as it is written, beyond it the
    opposite, and `blank` where there is none."""

    key: Key
    last: float
    first: bool
    blank: Truth


@dataclass(frozen=True, slots=True)
class Against:
    """A comparison of a number with one that is the same in every row: the test, the number's term, the constant."""

    truth: Test
    node: core.Node
    constant: Interval


class Turns:
    """Finds where comparisons turn, for a reader and its columns."""

    def __init__(self, decider: Decider, columns: Columns, dependence: Dependence) -> None:
        self.decider = decider
        self.columns = columns
        self.dependence = dependence

    def against(self, node: core.Compare, env: Env) -> Against | None:
        """What the one number of a comparison is tested against, where the other is the same in every row."""
        turned = bool(self.dependence.of(node.right, env))
        side, other = (node.right, node.left) if turned else (node.left, node.right)
        if node.operator in ("==", "!=") or self.dependence.of(other, env):
            return None
        constant, _ = self.decider.value(other, env)
        if not isinstance(constant, Interval) or not constant.is_point:
            return None

        def truth(value: Interval) -> Truth:
            return compare(node.operator, *((constant, value) if turned else (value, constant)))

        return Against(truth, side, constant)

    def of(self, against: Against, env: Env) -> Turn | None:
        """Where a comparison turns; none where the number is not that of a column by itself.

        The number is sought as it is written in the column, so that no row needs to be converted.
        """
        column, truth = self.column(against.node, env), against.truth
        if column is None or column.scale is None:
            return None
        scale, fact = column.scale, column.fact

        def at(written: float) -> Truth:
            return truth(scale.point(written))

        largest = LARGEST / max(1.0, scale.factor)
        at_low, at_high = at(-largest), at(largest)
        if at_low is None or at_high is None:
            return None
        unknown = truth(Interval(fact.low, fact.high, scale.system if fact.low == fact.high else None))
        turn = largest if at_low is at_high else last(lambda written: at(written) is at_low, -largest, largest)
        return Turn(column.key, turn, at_low, unknown)

    def column(self, node: core.Node, env: Env) -> Column | None:
        """The column that a term is, and nothing else."""
        while isinstance(node, core.Named | core.Labelled):
            node = node.body
        if not isinstance(node, core.Get) or node.derived:
            return None
        return self.columns.all.get((self.decider.thing(node.source, env).path, node.fact.partition(".")[2]))


def last(holds: Callable[[float], bool], low: float, high: float) -> float:
    """The last number between two for which something holds that holds at the first and not at the second."""
    first, second = _place(low), _place(high)
    while second - first > 1:
        middle = (first + second) // 2
        if holds(_number_at(middle)):
            first = middle
        else:
            second = middle
    return _number_at(first)


def following(number: float) -> float:
    """The next number that a computer knows."""
    return _number_at(_place(number) + 1)


def _place(number: float) -> int:
    """Numbers in their order, each next to the next."""
    bits: int = struct.unpack("<q", struct.pack("<d", number))[0]
    return bits if bits >= 0 else -(bits & _SIGNLESS)


def _number_at(place: int) -> float:
    found: float = struct.unpack("<d", struct.pack("<q", place))[0] if place >= 0 else -_number_at(-place)
    return found


_SIGNLESS = (1 << 63) - 1
