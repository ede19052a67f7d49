"""Where a truth that changes once along the numbers changes: found by asking, so that nothing is worked out twice."""

from __future__ import annotations

import struct
from collections.abc import Callable

LARGEST = 1e300
"""Numbers beyond this are not sought."""


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
