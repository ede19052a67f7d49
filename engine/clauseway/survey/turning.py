"""Where a truth that changes once along the numbers changes: found by asking, so that nothing is worked out twice."""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass

from clauseway.language.possible import Interval, Truth
from clauseway.survey.columns import Column
from clauseway.survey.dependence import Key

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


def turn_of(column: Column, truth: Test) -> Turn | None:
    """Where a test of a column's numbers turns; none where it is no such test or the column holds no plain numbers.

    The number is sought as it is written in the column, so that no row needs to be converted.
    """
    scale, fact = column.scale, column.fact
    if scale is None:
        return None

    def at(written: float) -> Truth:
        number = written * scale.factor + scale.offset
        return truth(Interval(number, number, scale.system))

    largest = LARGEST / max(1.0, scale.factor)
    at_low, at_high = at(-largest), at(largest)
    if at_low is None or at_high is None:
        return None
    unknown = truth(Interval(fact.low, fact.high, scale.system if fact.low == fact.high else None))
    turn = largest if at_low is at_high else last(lambda written: at(written) is at_low, -largest, largest)
    return Turn(column.key, turn, at_low, unknown)


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
