"""What the registered computations take and give, in the types of the rule language."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import NoReturn

from clauseway.compute.registry import computation_called, computations
from clauseway.language.types import UNITS, Dimension, dimension, times
from clauseway.text.nearest import nearest

_PLAIN = frozenset(
    ("persons", "share", "gauge", "size", "year", "switch")  # plain numbers in the rule language
)
_NAMED = {"moment": "torque", "temperature-difference": "temperature", "magnetomotive-force": "current"}
_QUOTIENTS: Mapping[str, tuple[str, str]] = {
    "frequency": ("ratio", "time"),
    "temperature-coefficient": ("ratio", "temperature"),
    "resistance-per-length": ("resistance", "length"),
    "stiffness": ("force", "length"),
    "mass-density": ("mass", "volume"),
    "turns-per-length": ("ratio", "length"),
    "area-per-person": ("area", "ratio"),
    "width-per-person": ("length", "ratio"),
    "person-density": ("ratio", "area"),
    "person-flow": ("ratio", "time"),
}
_PRODUCTS: Mapping[str, tuple[str, str]] = {
    "resistivity": ("resistance", "length"),
    "apparent-power": ("voltage", "current"),
    "flux": ("voltage", "time"),
    "inductance": ("resistance", "time"),
}


@dataclass(frozen=True)
class Taken:
    """One argument of a computation."""

    dimension: Dimension
    meaning: str
    required: bool
    many: bool
    whole: bool


@dataclass(frozen=True)
class Signature:
    """What a computation takes by name, and the dimension of what it gives; `noun` where it counts something."""

    name: str
    takes: Mapping[str, Taken]
    gives: Dimension
    noun: str


def dimension_of(name: str) -> Dimension:
    """The dimension in the rule language of a dimension of the computations.

    Raises:
        KeyError: for one that rules cannot speak of.
    """
    if name in _PLAIN:
        return ()
    if name in UNITS:
        return dimension(name)
    if name in _NAMED:
        return dimension(_NAMED[name])
    if name in _QUOTIENTS:
        above, below = _QUOTIENTS[name]
        return times(dimension(above), dimension(below), -1)
    if name in _PRODUCTS:
        one, other = _PRODUCTS[name]
        return times(dimension(one), dimension(other))
    if name == "flux-density":
        return times(dimension_of("flux"), dimension("area"), -1)
    if name == "capacitance":
        return times(dimension("charge"), dimension("voltage"), -1)
    if name == "specific-flow":
        return times(dimension_of("person-flow"), dimension("length"), -1)
    if name == "stack-coefficient":
        return times(times(dimension("pressure"), dimension("temperature")), dimension("length"), -1)
    raise KeyError(name)


def printed_form(name: str) -> str:
    """How the result of a computation is printed: as a quantity where rules have its dimension."""
    result = computations()[name].result
    if result.dimension == "persons":
        return "count:people"
    kind = {"share": "ratio", **_NAMED}.get(result.dimension, result.dimension)
    return f"quantity:{kind}" if kind in UNITS and kind != "count" else "number:"


def signature_of(name: str, refuse: Callable[[str, str, str], NoReturn]) -> Signature:
    """The signature of a computation; `refuse` is told what was found, what was expected and the nearest name."""
    record = computation_called(name)
    if record is None:
        known = computations()
        refuse(f"no computation is called {name}", "a name such as wire.voltage-drop", nearest(name, known) or "")
    takes = {
        argument.name: Taken(
            dimension_of(argument.dimension),
            argument.meaning,
            argument.default is None,
            argument.many,
            argument.whole,
        )
        for argument in record.arguments
    }
    noun = "people" if record.result.dimension == "persons" else record.result.name if record.result.whole else ""
    return Signature(name, takes, dimension_of(record.result.dimension), noun)
