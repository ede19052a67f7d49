"""Units in which the computations' numbers are shown and read: one factor to SI each.

The functions of this package take and give plain floats in SI units. This table only says how such a float is
shown in metric and in US customary units, and refuses a number whose unit belongs to another dimension.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

INCH: Final = 0.0254
FOOT: Final = 0.3048
POUND: Final = 0.45359237
STANDARD_GRAVITY: Final = 9.80665
POUND_FORCE: Final = POUND * STANDARD_GRAVITY
INCH_OF_WATER: Final = 249.08891
MILE_PER_HOUR: Final = 0.44704


@dataclass(frozen=True)
class Unit:
    """A unit: `value in SI = value * scale + offset`."""

    name: str
    dimension: str
    scale: float
    offset: float = 0.0


@dataclass(frozen=True)
class Dimension:
    """A kind of quantity: how it is said, its SI unit, and the units it is usually shown in."""

    name: str
    said: str
    si: str
    metric: str
    customary: str


def _dimension(name: str, said: str, si: str, metric: str = "", customary: str = "") -> Dimension:
    return Dimension(name, said, si, metric or si, customary or metric or si)


_DIMENSIONS: Final = (
    _dimension("length", "a length", "m", "m", "ft"),
    _dimension("area", "an area", "m²", "m²", "ft²"),
    _dimension("force", "a force", "N", "N", "lbf"),
    _dimension("pressure", "a pressure", "Pa", "Pa", "inH2O"),
    _dimension("moment", "a moment", "N·m", "N·m", "lbf·ft"),
    _dimension("energy", "an energy", "J", "J", "ft·lbf"),
    _dimension("stiffness", "a stiffness", "N/m", "N/mm", "lbf/in"),
    _dimension("mass", "a mass", "kg", "kg", "lb"),
    _dimension("mass-density", "a mass density", "kg/m³", "kg/m³", "lb/ft³"),
    _dimension("speed", "a speed", "m/s", "m/s", "mph"),
    _dimension("time", "a time", "s"),
    _dimension("frequency", "a frequency", "Hz"),
    _dimension("temperature", "a temperature", "K", "°C", "°F"),
    _dimension("temperature-difference", "a temperature difference", "K-diff", "K-diff", "°F-diff"),
    _dimension("temperature-coefficient", "a temperature coefficient", "1/K"),
    _dimension("current", "a current", "A"),
    _dimension("voltage", "a voltage", "V"),
    _dimension("resistance", "a resistance", "ohm"),
    _dimension("resistance-per-length", "a resistance per length", "ohm/m", "ohm/km", "ohm/kft"),
    _dimension("resistivity", "a resistivity", "ohm·m"),
    _dimension("inductance", "an inductance", "H"),
    _dimension("capacitance", "a capacitance", "F", "uF"),
    _dimension("charge", "a charge", "C", "A·h"),
    _dimension("power", "a power", "W"),
    _dimension("apparent-power", "an apparent power", "VA"),
    _dimension("flux-density", "a flux density", "T"),
    _dimension("flux", "a magnetic flux", "Wb", "mWb"),
    _dimension("magnetomotive-force", "ampere-turns", "A-turn"),
    _dimension("turns-per-length", "turns per length", "turn/m", "turn/m", "turn/in"),
    _dimension("persons", "a number of people", "person"),
    _dimension("area-per-person", "an area per person", "m²/person", "m²/person", "ft²/person"),
    _dimension("width-per-person", "a width per person", "m/person", "mm/person", "in/person"),
    _dimension("person-density", "people per area", "person/m²", "person/m²", "person/ft²"),
    _dimension("person-flow", "people per time", "person/s", "person/s", "person/min"),
    _dimension("specific-flow", "people per time and width", "person/m/s", "person/m/s", "person/ft/min"),
    _dimension("stack-coefficient", "a stack coefficient", "Pa·K/m", "Pa·K/m", "inH2O·R/ft"),
    _dimension("ratio", "a plain number", "1"),
    _dimension("share", "a share", "part", "%"),
    _dimension("count", "a count", "count"),
    _dimension("gauge", "a wire gauge number", "AWG"),
    _dimension("year", "a year", "year"),
    _dimension("size", "a size number", "size"),
    _dimension("switch", "0 or 1", "0/1"),
)

DIMENSIONS: Final = MappingProxyType({dimension.name: dimension for dimension in _DIMENSIONS})

_SCALES: Final[dict[str, dict[str, float]]] = {
    "length": {"m": 1.0, "cm": 0.01, "mm": 1e-3, "um": 1e-6, "km": 1e3, "in": INCH, "ft": FOOT},
    "area": {
        "m²": 1.0,
        "cm²": 1e-4,
        "mm²": 1e-6,
        "in²": INCH**2,
        "ft²": FOOT**2,
        "kcmil": math.pi / 4.0 * INCH**2 / 1000.0,
    },
    "force": {"N": 1.0, "kN": 1e3, "lbf": POUND_FORCE, "kgf": STANDARD_GRAVITY},
    "pressure": {
        "Pa": 1.0,
        "kPa": 1e3,
        "inH2O": INCH_OF_WATER,
        "psf": POUND_FORCE / FOOT**2,
        "psi": POUND_FORCE / INCH**2,
    },
    "moment": {"N·m": 1.0, "lbf·ft": POUND_FORCE * FOOT},
    "energy": {"J": 1.0, "ft·lbf": POUND_FORCE * FOOT},
    "stiffness": {"N/m": 1.0, "N/mm": 1e3, "lbf/in": POUND_FORCE / INCH},
    "mass": {"kg": 1.0, "lb": POUND},
    "mass-density": {"kg/m³": 1.0, "lb/ft³": POUND / FOOT**3},
    "speed": {"m/s": 1.0, "mph": MILE_PER_HOUR, "km/h": 1.0 / 3.6, "ft/min": FOOT / 60.0},
    "time": {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0},
    "frequency": {"Hz": 1.0, "1/h": 1.0 / 3600.0},
    "temperature-difference": {"K-diff": 1.0, "°F-diff": 5.0 / 9.0},
    "temperature-coefficient": {"1/K": 1.0},
    "current": {"A": 1.0, "mA": 1e-3},
    "voltage": {"V": 1.0},
    "resistance": {"ohm": 1.0},
    "resistance-per-length": {"ohm/m": 1.0, "ohm/km": 1e-3, "ohm/kft": 1e-3 / FOOT},
    "resistivity": {"ohm·m": 1.0},
    "inductance": {"H": 1.0, "mH": 1e-3},
    "capacitance": {"F": 1.0, "uF": 1e-6},
    "charge": {"C": 1.0, "A·h": 3600.0},
    "power": {"W": 1.0},
    "apparent-power": {"VA": 1.0},
    "flux-density": {"T": 1.0, "mT": 1e-3},
    "flux": {"Wb": 1.0, "mWb": 1e-3},
    "magnetomotive-force": {"A-turn": 1.0},
    "turns-per-length": {"turn/m": 1.0, "turn/in": 1.0 / INCH},
    "persons": {"person": 1.0},
    "area-per-person": {"m²/person": 1.0, "ft²/person": FOOT**2},
    "width-per-person": {"m/person": 1.0, "mm/person": 1e-3, "in/person": INCH},
    "person-density": {"person/m²": 1.0, "person/ft²": 1.0 / FOOT**2},
    "person-flow": {"person/s": 1.0, "person/min": 1.0 / 60.0},
    "specific-flow": {"person/m/s": 1.0, "person/ft/min": 1.0 / FOOT / 60.0},
    "stack-coefficient": {"Pa·K/m": 1.0, "inH2O·R/ft": INCH_OF_WATER / 1.8 / FOOT},
    "ratio": {"1": 1.0},
    "share": {"part": 1.0, "%": 0.01},
    "count": {"count": 1.0},
    "gauge": {"AWG": 1.0},
    "year": {"year": 1.0},
    "size": {"size": 1.0},
    "switch": {"0/1": 1.0},
}

UNITS: Final = MappingProxyType(
    {name: Unit(name, kind, scale) for kind, scales in _SCALES.items() for name, scale in scales.items()}
    | {
        "K": Unit("K", "temperature", 1.0),
        "°C": Unit("°C", "temperature", 1.0, 273.15),
        "°F": Unit("°F", "temperature", 5.0 / 9.0, 459.67 * 5.0 / 9.0),
    }
)


def unit_named(name: str) -> Unit:
    """The unit of that name; ValueError with the nearest names if there is none."""
    if name in UNITS:
        return UNITS[name]
    import difflib

    near = difflib.get_close_matches(name, UNITS, n=3, cutoff=0.5)
    hint = f", perhaps {' or '.join(near)}" if near else ""
    raise ValueError(f"unit: found {name!r}, expected a known unit{hint}")


def to_si(value: float, unit: str, dimension: str = "") -> float:
    """`value` of `unit` in SI; with `dimension`, a unit of another dimension is refused (ValueError)."""
    known = unit_named(unit)
    if dimension and known.dimension != dimension:
        wanted = DIMENSIONS[dimension]
        found = DIMENSIONS[known.dimension]
        raise ValueError(f"found {value:g} {unit}, {found.said}; expected {wanted.said}, in {wanted.si}")
    return value * known.scale + known.offset


def from_si(value: float, unit: str) -> float:
    """A value in SI, in `unit`."""
    known = unit_named(unit)
    return (value - known.offset) / known.scale


def convert(value: float, unit: str, into: str) -> float:
    """`value` of `unit` in the unit `into`, of the same dimension."""
    return from_si(to_si(value, unit, unit_named(into).dimension), into)


def label(unit: str) -> str:
    """The unit as it is printed after a number; plain counts print nothing."""
    if unit in ("1", "count", "part", "0/1", "year"):
        return ""
    return {"K-diff": "K", "°F-diff": "°F", "ohm": "Ω", "uF": "µF"}.get(unit, unit.replace("ohm", "Ω"))


def number(value: float) -> str:
    """A number as text: four significant digits, and no exponent where people would not use one."""
    if value == 0.0:
        return "0"
    if not 1e-4 <= abs(value) < 1e7:
        return f"{value:.4g}"
    places = max(0, 3 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def shown(value: float, unit: str) -> str:
    """A value in SI as text in `unit`."""
    return f"{number(from_si(value, unit))} {label(unit)}".rstrip()
