"""Rounding to whole numbers that is not fooled by the last digits of a converted unit."""

from __future__ import annotations

import math
from typing import Final

#: 7350 ft² over 150 ft² per person is 49 people, also after both have been turned into square metres.
TOLERANCE: Final = 1e-9


def whole_up(value: float) -> float:
    """The next whole number, or the value itself when it is whole but for rounding."""
    return float(math.ceil(value - TOLERANCE * max(1.0, abs(value))))


def whole_down(value: float) -> float:
    """The whole number below, or the value itself when it is whole but for rounding."""
    return float(math.floor(value + TOLERANCE * max(1.0, abs(value))))
