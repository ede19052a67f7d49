"""Static types of expressions: they agree when the rules load, so that a check never meets a wrong pair."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from clauseway.text.quantity import singular

Dimension = tuple[tuple[str, int], ...]
"""Powers of base dimensions, sorted; empty for plain numbers, counts and ratios."""

_NAMED: Mapping[str, Mapping[str, int]] = {
    "count": {},
    "ratio": {},
    "area": {"length": 2},
    "volume": {"length": 3},
    "pressure": {"force": 1, "length": -2},
    "torque": {"force": 1, "length": 1},
    "resistance": {"voltage": 1, "current": -1},
    "power": {"voltage": 1, "current": 1},
    "energy": {"voltage": 1, "current": 1, "time": 1},
    "charge": {"current": 1, "time": 1},
    "speed": {"length": 1, "time": -1},
}
UNITS = (
    *("length", "area", "volume", "time", "force", "pressure", "torque", "voltage", "current", "resistance", "power"),
    *("energy", "charge", "illuminance", "angle", "ratio", "temperature", "sound", "speed", "mass", "count"),
)
"""The dimensions a quantity may have, by the names used in rule files."""


@cache
def dimension(name: str) -> Dimension:
    """The dimension with a name such as `length`.

    Raises:
        KeyError: for a name that is not in `UNITS`.
    """
    if name not in UNITS:
        raise KeyError(name)
    return _sorted(_NAMED.get(name, {name: 1}))


def _sorted(powers: Mapping[str, int]) -> Dimension:
    return tuple(sorted((base, power) for base, power in powers.items() if power))


def times(a: Dimension, b: Dimension, sign: int = 1) -> Dimension:
    """The dimension of a product, or of a quotient with `sign` -1."""
    powers = dict(a)
    for base, power in b:
        powers[base] = powers.get(base, 0) + sign * power
    return _sorted(powers)


@cache
def dimension_name(dim: Dimension) -> str:
    """A dimension in words, for messages."""
    if not dim:
        return "a plain number"
    if dim == DATE.dimension:
        return "a date"
    for name in UNITS:
        if dimension(name) == dim:
            return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"
    return " ".join(f"{base}^{power}" if power != 1 else base for base, power in dim)


@dataclass(frozen=True, slots=True)
class Type:
    """The type of an expression."""

    def __str__(self) -> str:
        return "a value"


@dataclass(frozen=True, slots=True)
class TruthType(Type):
    def __str__(self) -> str:
        return "a yes or no"


@dataclass(frozen=True, slots=True)
class NumberType(Type):
    dimension: Dimension = ()
    noun: str = ""

    def __str__(self) -> str:
        return f"a count of {self.noun}" if self.noun else dimension_name(self.dimension)


@dataclass(frozen=True, slots=True)
class ChoiceType(Type):
    values: str

    def __str__(self) -> str:
        return f"one of {self.values}"


@dataclass(frozen=True, slots=True)
class ChoicesType(Type):
    values: str

    def __str__(self) -> str:
        return f"a set of {self.values}"


@dataclass(frozen=True, slots=True)
class OptionsType(Type):
    """A set parameter: options that law may edit."""

    values: str

    def __str__(self) -> str:
        return f"a set parameter of {self.values}"


@dataclass(frozen=True, slots=True)
class TextType(Type):
    def __str__(self) -> str:
        return "a text"


@dataclass(frozen=True, slots=True)
class ThingType(Type):
    kind: str

    def __str__(self) -> str:
        return f"a {self.kind}"


@dataclass(frozen=True, slots=True)
class ManyType(Type):
    kind: str

    def __str__(self) -> str:
        return f"a list of things of kind {self.kind}"


@dataclass(frozen=True, slots=True)
class KeyedType(Type):
    """A keyed relation before its key is named."""

    kind: str
    relation: str
    by: str

    def __str__(self) -> str:
        return f"a {self.relation}[...] that needs a key"


TRUTH = TruthType()
TEXT = TextType()
DATE = NumberType((("date", 1),))
"""A day of the calendar; days are compared with days alone."""


def comparable(a: NumberType, b: NumberType) -> bool:
    """Whether two numbers measure the same thing."""
    return a.dimension == b.dimension and (not a.noun or not b.noun or singular(a.noun) == singular(b.noun))
