"""Quantities as people type them - `34 1/2"`, `3'-0"`, `15 lbf`, `0.35 in wc` - turned exactly into SI.

Arithmetic is done in fractions and rounded once, so `42 in` and `1066.8 mm` are the same value. A unit is
never guessed: a quantity without one, and a unit with two meanings in the trade, are refused with an example.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from typing import Literal, NoReturn

from clauseway.text.nearest import nearest

System = Literal["us", "si"]
"""US customary or SI units."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity in its dimension's canonical unit (`DIMENSIONS`), and the text it was typed as.

    `system` is that of the unit typed; None for units that both systems share, such as seconds or volts.
    """

    value: float
    dimension: str
    system: System | None
    typed: str


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of quantity: its canonical unit, what one such quantity is called, and an example of one."""

    name: str
    unit: str
    noun: str
    example: str


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit by its names, the first being the usual one: canonical value = (typed + offset) * factor."""

    names: tuple[str, ...]
    dimension: str
    factor: Fraction
    system: System | None
    offset: Fraction = Fraction(0)


class QuantityError(ValueError):
    """Text that is not the quantity wanted: what was found, what was expected, and the nearest valid text."""

    def __init__(self, found: str, expected: str = "", nearest: str = "") -> None:
        self.found = found
        self.expected = expected
        self.nearest = nearest
        wanted = f"; expected {expected}" if expected else ""
        super().__init__(f"{found}{wanted}" + (f" (did you mean {nearest}?)" if nearest else ""))


DIMENSIONS: dict[str, Dimension] = {
    name: Dimension(name, unit, noun, example)
    for name, unit, noun, example in (
        ("length", "m", "a length", "42 in or 1067 mm"),
        ("area", "m2", "an area", "100 sq ft or 9.3 m2"),
        ("volume", "m3", "a volume", "10 cu ft or 0.28 m3"),
        ("time", "s", "a time", "15 s or 2 min"),
        ("force", "N", "a force", "15 lbf or 67 N"),
        ("pressure", "Pa", "a pressure", "0.35 in wc or 87 Pa"),
        ("torque", "N·m", "a torque", "10 ft-lbf or 13.6 N·m"),
        ("voltage", "V", "a voltage", "24 V"),
        ("current", "A", "a current", "500 mA or 0.5 A"),
        ("resistance", "ohm", "a resistance", "2200 ohm or 2.2 kohm"),
        ("power", "W", "a power", "12 W"),
        ("energy", "J", "an energy", "50 J or 84 Wh"),
        ("charge", "C", "a charge", "7 Ah"),
        ("illuminance", "lx", "an illuminance", "1 fc or 10.8 lx"),
        ("angle", "deg", "an angle", "90 deg"),
        ("ratio", "", "a ratio", "50 % or 1:12"),
        ("temperature", "°C", "a temperature", "68 °F or 20 °C"),
        ("sound", "dB", "a sound level", "75 dB"),
        ("speed", "m/s", "a speed", "100 ft/min or 0.5 m/s"),
        ("mass", "kg", "a mass", "10 lb or 4.5 kg"),
        ("count", "", "a count", "50 or 50 people"),
    )
}
"""Every dimension by its name."""

_INCH = Fraction("0.0254")
_FOOT = 12 * _INCH
_POUND = Fraction("0.45359237")
_GRAVITY = Fraction("9.80665")
_POUND_FORCE = _POUND * _GRAVITY


def _units(dimension: str, system: System | None, *rows: tuple[str, Fraction | int | str]) -> Iterable[Unit]:
    for names, factor in rows:
        yield Unit(tuple(names.split(", ")), dimension, Fraction(factor), system)


UNITS: tuple[Unit, ...] = (
    *_units(
        "length",
        "si",
        ("mm, millimeter, millimeters, millimetre, millimetres", "0.001"),
        ("cm, centimeter, centimeters, centimetre, centimetres", "0.01"),
        ("m, meter, meters, metre, metres", 1),
        ("km, kilometer, kilometers, kilometre, kilometres", 1000),
    ),
    *_units(
        "length",
        "us",
        ('in, ", inch, inches', _INCH),
        ("ft, ', foot, feet", _FOOT),
        ("yd, yard, yards", 3 * _FOOT),
        ("mi, mile, miles", 5280 * _FOOT),
    ),
    *_units(
        "area",
        "si",
        ("m2, sq m, sqm, square meter, square meters, square metre, square metres", 1),
        ("cm2, sq cm, square centimeters, square centimetres", "0.0001"),
        ("mm2, sq mm, square millimeters, square millimetres", "0.000001"),
    ),
    *_units(
        "area",
        "us",
        ("sq ft, ft2, sqft, sf, square foot, square feet", _FOOT**2),
        ("sq in, in2, sqin, square inch, square inches", _INCH**2),
    ),
    *_units(
        "volume",
        "si",
        ("m3, cu m, cubic meter, cubic meters, cubic metre, cubic metres", 1),
        ("L, l, liter, liters, litre, litres", "0.001"),
        ("mL, ml, cm3, milliliter, milliliters, millilitre, millilitres", "0.000001"),
    ),
    *_units(
        "volume",
        "us",
        ("cu ft, ft3, cf, cubic foot, cubic feet", _FOOT**3),
        ("cu in, in3, cubic inch, cubic inches", _INCH**3),
        ("gal, gallon, gallons", 231 * _INCH**3),
    ),
    *_units(
        "time",
        None,
        ("s, sec, secs, second, seconds", 1),
        ("min, mins, minute, minutes", 60),
        ("h, hr, hrs, hour, hours", 3600),
        ("d, day, days", 86_400),
        ("ms, millisecond, milliseconds", "0.001"),
    ),
    *_units("force", "si", ("N, newton, newtons", 1), ("kN, kilonewton, kilonewtons", 1000), ("kgf", _GRAVITY)),
    *_units(
        "force",
        "us",
        ("lbf, pound-force, pounds-force, pound force, pounds force", _POUND_FORCE),
        ("ozf, ounce-force, ounces-force", _POUND_FORCE / 16),
    ),
    *_units(
        "pressure",
        "si",
        ("Pa, pascal, pascals", 1),
        ("kPa, kilopascal, kilopascals", 1000),
        ("MPa", 1_000_000),
        ("bar", 100_000),
        ("mbar, hPa", 100),
    ),
    *_units(
        "pressure",
        "us",
        ("psi, lbf/in2", _POUND_FORCE / _INCH**2),
        ("psf, lbf/ft2", _POUND_FORCE / _FOOT**2),
        (
            'in wc, in w c, in wg, in w g, inwc, inwg, inH2O, in H2O, in water, "wc, " wc, "wg, " wg, '
            "inch water, inch of water, inches of water, inch water gage, inch water gauge, "
            "inches water gage, inches water gauge, inch water column, inches water column",
            1000 * _GRAVITY * _INCH,
        ),
    ),
    *_units("torque", "si", ("N·m, newton meter, newton meters, newton metre, newton metres", 1), ("N·cm", "0.01")),
    *_units(
        "torque",
        "us",
        ("ft·lbf, lbf·ft, foot pound-force, foot pounds-force", _POUND_FORCE * _FOOT),
        ("in·lbf, lbf·in, inch pound-force, inch pounds-force", _POUND_FORCE * _INCH),
    ),
    *_units(
        "voltage",
        None,
        ("V, volt, volts", 1),
        ("mV, mv, millivolt, millivolts", "0.001"),
        ("kV, kilovolts", 1000),
    ),
    *_units(
        "current",
        None,
        ("A, amp, amps, ampere, amperes", 1),
        ("mA, ma, milliamp, milliamps, milliampere, milliamperes", "0.001"),
        ("μA, uA, microamp, microamps", "0.000001"),
        ("kA, kiloamps", 1000),
    ),
    *_units(
        "resistance",
        None,
        ("ohm, ohms, Ω", 1),
        ("kohm, kohms, kΩ, kilohm, kilohms", 1000),
        ("Mohm, Mohms, MΩ, megohm, megohms", 1_000_000),
        ("mohm, mΩ, milliohm, milliohms", "0.001"),
    ),
    *_units(
        "power",
        None,
        ("W, watt, watts", 1),
        ("mW, mw, milliwatt, milliwatts", "0.001"),
        ("kW, kilowatt, kilowatts", 1000),
        ("MW, megawatt, megawatts", 1_000_000),
    ),
    *_units("power", "us", ("hp, horsepower", 550 * _FOOT * _POUND_FORCE)),
    *_units(
        "energy",
        None,
        ("Wh, W·h, watt-hour, watt-hours, watt hours", 3600),
        ("kWh, kilowatt-hours", 3_600_000),
    ),
    *_units("energy", "si", ("J, joule, joules", 1), ("kJ, kilojoules", 1000), ("MJ, megajoules", 1_000_000)),
    *_units("energy", "us", ("Btu", "1055.05585262")),
    *_units("temperature", "si", ("°C, C, degC, deg C, degrees C, celsius, degrees celsius", 1)),
    Unit(("K", "kelvin"), "temperature", Fraction(1), "si", Fraction("-273.15")),
    Unit(
        ("°F", "F", "degF", "deg F", "degrees F", "fahrenheit", "degrees fahrenheit"),
        "temperature",
        Fraction(5, 9),
        "us",
        Fraction(-32),
    ),
    *_units(
        "charge",
        None,
        ("Ah, A·h, amp-hour, amp-hours, amp hours, ampere-hours", 3600),
        ("mAh, mah, milliamp-hours", "3.6"),
        ("C, coulomb, coulombs, A·s", 1),
    ),
    *_units("illuminance", "si", ("lx, lux", 1)),
    *_units(
        "illuminance",
        "us",
        ("fc, ft-c, footcandle, footcandles, foot-candle, foot-candles, foot candles", 1 / _FOOT**2),
    ),
    *_units("angle", None, ("deg, °, degree, degrees", 1)),
    *_units("ratio", None, ("%, percent, per cent, pct", "0.01")),
    *_units("ratio", "us", ("in/ft", Fraction(1, 12))),
    *_units("sound", None, ("dB, dBA, dB(A), decibel, decibels", 1)),
    *_units("speed", "si", ("m/s", 1), ("mm/s", "0.001"), ("km/h, kph", Fraction(5, 18))),
    *_units(
        "speed",
        "us",
        ("ft/min, fpm, feet per minute", _FOOT / 60),
        ("ft/s, fps, ft/sec, feet per second", _FOOT),
        ("in/s, in/sec, inches per second", _INCH),
        ("mph, mi/h, miles per hour", 5280 * _FOOT / 3600),
    ),
    *_units("mass", "si", ("kg, kilogram, kilograms", 1), ("g, gram, grams", "0.001")),
    *_units("mass", "us", ("lb, lbs, pound, pounds, lbm", _POUND), ("oz, ounce, ounces", _POUND / 16)),
)
"""Every unit that is understood."""


def parse_quantity(text: str, dimension: str | None) -> Quantity:
    """The quantity that `text` says, in the canonical unit of `dimension` (None: whatever its unit measures).

    Raises QuantityError, a ValueError, when it is no such quantity; KeyError for an unknown dimension.
    """
    return _parse(text, DIMENSIONS[dimension] if dimension is not None else None)


def format_quantity(value: float, dimension: str, system: System | None) -> str:
    """A short text for `value` canonical units, rounded for reading, in units of `system` (None: SI).

    Raises KeyError for an unknown dimension and ValueError when `value` is not finite.
    """
    if not math.isfinite(value):
        raise ValueError(f"{value} is not a quantity")
    for least, large, small in _COMPOUNDS_SHOWN.get((DIMENSIONS[dimension].name, system or "si"), ()):
        if abs(value) >= least:
            return _compound(value, _BY_NAME[large][dimension], _BY_NAME[small][dimension])
    for name, least in _SHOWN.get((dimension, system or "si"), _SHOWN_IN_BOTH.get(dimension, ())):
        if abs(value) >= least:
            unit = _BY_NAME[name][dimension]
            typed = float(Fraction(value) / unit.factor - unit.offset)
            return f"{_number(typed, whole=name == 'mm' and abs(typed) >= 99.95)} {name}"
    return _number(value)


def both_systems(quantity: Quantity) -> str:
    """The quantity as typed, followed in brackets by the other system's units if those differ."""
    if quantity.system is None or (quantity.dimension, "us") not in _SHOWN:
        return quantity.typed
    other: System = "si" if quantity.system == "us" else "us"
    return f"{quantity.typed} ({format_quantity(quantity.value, quantity.dimension, other)})"


# Reading


_LONGEST = 100
_LARGEST = 10**12
_NUMBER = (
    r"(?:[0-9]+(?:\s+|-)[0-9]+\s*/\s*[0-9]+"
    r"|[0-9]+\s*/\s*[0-9]+"
    r"|(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)"
)
_FRACTION = re.compile(r"(?:([0-9]+)[\s-]+)?([0-9]+)\s*/\s*([0-9]+)")
_ONE = re.compile(rf"(?P<sign>[+-]?)\s*(?P<number>{_NUMBER})\s*(?P<unit>.*)", re.DOTALL)


def _two_units(large: str, between: str, small: str) -> re.Pattern[str]:
    """A whole number of a large unit followed by a number of a small one."""
    return re.compile(
        rf"(?P<sign>[+-]?)\s*(?P<large>[0-9]+)\s*(?:{large}){between}(?P<small>{_NUMBER})\s*(?:{small})",
        re.IGNORECASE,
    )


_FEET, _INCHES = r"'|ft\.?|foot|feet", r'"|in\.?|inch|inches'
_DAYS, _HOURS = r"d|days?", r"h|hrs?\.?|hours?"
_MINUTES, _SECONDS = r"mins?\.?|minutes?", r"s|secs?\.?|seconds?"


@cache
def _compounds() -> tuple[tuple[re.Pattern[str], str, System | None, Fraction, Fraction], ...]:
    return (
        (_two_units(_FEET, r"[\s-]*", _INCHES), "length", "us", _FOOT, _INCH),
        (_two_units(_DAYS, r"\s*", _HOURS), "time", None, Fraction(86_400), Fraction(3600)),
        (_two_units(_HOURS, r"\s*", _MINUTES), "time", None, Fraction(3600), Fraction(60)),
        (_two_units(_MINUTES, r"\s*", _SECONDS), "time", None, Fraction(60), Fraction(1)),
    )


_UNIT_AND_NUMBER = re.compile(r"[0-9]\s*['a-z][a-z.]*[\s-]*[.0-9]", re.IGNORECASE)
"""What stands somewhere in every quantity of two units; few have it."""

_RATIO = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*:\s*([0-9]+(?:\.[0-9]+)?)")
_NOUN = re.compile(r"[^\W\d_]+(?:[ -][^\W\d_]+)*")
_FURTHER_NUMBER = re.compile(r"(?:^x?|[\s–×±-])[-+]?\.?[0-9]")
_FEET_AND_NUMBER = re.compile(rf"[0-9]+\s*'[\s-]*{_NUMBER}")

_BEFORE = str.maketrans({"º": "°", "˚": "°"})
_AFTER = str.maketrans(
    {
        **dict.fromkeys("’‘′`´", "'"),
        **dict.fromkeys("”“″„", '"'),
        **dict.fromkeys("−‐‑", "-"),
        **dict.fromkeys("⋅•∙", "·"),
        "⁄": "/",
        "µ": "μ",
    }
)
_VULGAR_FRACTION = re.compile("(?<=[0-9])\\s*([¼-¾⅐-⅞])")

# Units that people type and that mean something else than they seem to, each with the unit to type instead.
_HINTS: dict[str, tuple[str, str]] = {
    **dict.fromkeys(("vdc", "vac", "v dc", "v ac", "volts dc", "volts ac"), ("also says which current", "V")),
    **dict.fromkeys(("awg", "ga", "gauge"), ("is a size of wire or sheet, not a quantity", "")),
    **dict.fromkeys(("va", "kva"), ("is apparent power, not power in watts", "")),
    **dict.fromkeys(("month", "months", "year", "years", "yr"), ("has no fixed length; give days", "")),
    **dict.fromkeys(
        ("ft-lb", "ft-lbs", "ft lb", "ft lbs", "lb-ft", "lb ft", "foot-pounds", "foot pounds"),
        ("leaves force and mass unclear", "ft-lbf"),
    ),
    **dict.fromkeys(
        ("in-lb", "in-lbs", "in lb", "in lbs", "lb-in", "lb in", "inch-pounds", "inch pounds"),
        ("leaves force and mass unclear", "in-lbf"),
    ),
}
_MASS_AS_FORCE = frozenset({"lb", "lbs", "pound", "pounds", "#"})
# Written in other case these could be taken for a unit a thousand million times larger or smaller.
_CASE_MATTERS = frozenset(
    {"mV", "mv", "mA", "ma", "mah", "mw", "mAh", "mW", "MW", "MPa", "mohm", "Mohm", "Mohms", "mΩ", "MΩ", "MJ"}
)


def _spellings(name: str) -> Iterable[str]:
    yield name
    if "·" in name:
        yield from (name.replace("·", joint) for joint in ("-", " ", "*", ""))


def _unit_index(folded: bool) -> dict[str, dict[str, Unit]]:
    index: dict[str, dict[str, Unit]] = {}
    for unit in UNITS:
        for name in unit.names:
            if not folded or name not in _CASE_MATTERS:
                for spelling in _spellings(name):
                    key = spelling.casefold() if folded else spelling
                    index.setdefault(key, {}).setdefault(unit.dimension, unit)
    return index


_BY_NAME = _unit_index(folded=False)
_BY_FOLDED_NAME = _unit_index(folded=True)


@lru_cache(maxsize=4096)
def _parse(text: str, wanted: Dimension | None) -> Quantity:
    typed = text.strip()
    expected = _expectation(wanted)
    if not typed:
        raise QuantityError("no quantity is given", expected)
    if len(typed) > _LONGEST:
        raise QuantityError(f"`{typed[:40]}...` is too long for a quantity", expected)
    plain = _plain(typed)
    for pattern, dimension, system, large, small in _compounds() if _UNIT_AND_NUMBER.search(plain) else ():
        if match := pattern.fullmatch(plain):
            amount = int(match["large"]) * large + _value_of(match["small"], typed, expected) * small
            return _quantity(-amount if match["sign"] == "-" else amount, dimension, system, typed, wanted)
    if match := _RATIO.fullmatch(plain):
        if not Fraction(match[2]):
            raise QuantityError(f"`{typed}` divides by zero", expected)
        return _quantity(Fraction(match[1]) / Fraction(match[2]), "ratio", None, typed, wanted)
    match = _ONE.match(plain)
    if match is None:
        _refuse_without_number(typed, plain, expected)
    number = _value_of(match["number"], typed, expected)
    if match["sign"] == "-":
        number = -number
    spelled = match["unit"].strip()
    said = f"{match['sign']}{match['number']}"
    if not spelled and wanted is not None and wanted.name == "ratio":
        return _quantity(number, "ratio", None, typed, wanted)
    if not spelled and (wanted is None or wanted.name == "count"):
        return _counted(number, typed)
    if not spelled:
        raise QuantityError(f"`{typed}` has no unit", expected)
    unit = _unit(spelled, said, typed, wanted, expected)
    if unit is None:
        return _counted(number, typed)
    return _quantity((number + unit.offset) * unit.factor, unit.dimension, unit.system, typed, wanted)


def _expectation(wanted: Dimension | None) -> str:
    if wanted is None:
        return "a number and a unit, such as 42 in or 30 s"
    return f"{wanted.noun}, such as {wanted.example}"


def _plain(typed: str) -> str:
    if not typed.isascii():
        spaced = _VULGAR_FRACTION.sub(r" \1", typed.translate(_BEFORE))
        typed = unicodedata.normalize("NFKC", spaced).translate(_AFTER)
    return typed.replace("''", '"')


def _value_of(number: str, typed: str, expected: str) -> Fraction:
    if parts := _FRACTION.fullmatch(number):
        whole, numerator, denominator = int(parts[1] or 0), int(parts[2]), int(parts[3])
        if not denominator:
            raise QuantityError(f"`{typed}` divides by zero", expected)
        if parts[1] and numerator >= denominator:
            raise QuantityError(f"`{typed}` has a fraction that is not smaller than 1", expected)
        return whole + Fraction(numerator, denominator)
    exponent = number.lower().partition("e")[2]
    if len(exponent.lstrip("+-0")) > 2:
        raise QuantityError(f"`{typed}` is out of range", expected)
    return Fraction(number)


def _refuse_without_number(typed: str, plain: str, expected: str) -> NoReturn:
    if plain.lstrip("+-").casefold() in ("nan", "inf", "infinity"):
        raise QuantityError(f"`{typed}` is not a number", expected)
    if plain[:1] in "<>=≤≥~±≈":
        raise QuantityError(f"`{typed}` begins with a sign of comparison", expected)
    raise QuantityError(f"`{typed}` does not begin with a number", expected)


def _quantity(
    amount: Fraction, dimension: str, system: System | None, typed: str, wanted: Dimension | None
) -> Quantity:
    if wanted is not None and dimension != wanted.name:
        raise QuantityError(f"`{typed}` is {DIMENSIONS[dimension].noun}", _expectation(wanted))
    if abs(amount) > _LARGEST:
        raise QuantityError(f"`{typed}` is out of range", _expectation(wanted))
    return Quantity(float(amount), dimension, system, typed)


def _counted(number: Fraction, typed: str) -> Quantity:
    counting = DIMENSIONS["count"]
    if number.denominator != 1 or number < 0:
        problem = "is below zero" if number < 0 else "is not a whole number"
        raise QuantityError(f"`{typed}` {problem}", _expectation(counting))
    return _quantity(number, "count", None, typed, counting)


def is_unit(word: str) -> bool:
    """Whether a word is a unit, or one that people take for a unit, of any quantity."""
    folded = word.casefold()
    return word in _BY_NAME or folded in _BY_FOLDED_NAME or folded in _HINTS or folded in _MASS_AS_FORCE


def _unit(spelled: str, said: str, typed: str, wanted: Dimension | None, expected: str) -> Unit | None:
    """The unit spelled; None for the noun of a count."""
    name = re.sub(r"\s*/\s*", "/", " ".join(spelled.replace(".", "").replace("^", "").split()))
    folded = name.casefold()
    if wanted is not None and wanted.name == "force" and folded in _MASS_AS_FORCE:
        raise QuantityError(f"`{spelled}` is a mass", expected, f"{said} lbf")
    if hint := _HINTS.get(folded):
        meaning, instead = hint
        fits = instead and (wanted is None or wanted.name in _BY_NAME[instead])
        raise QuantityError(f"`{spelled}` {meaning}", expected, f"{said} {instead}" if fits else "")
    found = _BY_NAME.get(name) or _BY_FOLDED_NAME.get(folded)
    if found:
        return found.get(wanted.name if wanted else "") or next(iter(found.values()))
    if re.match(r",\s*[0-9]", spelled):
        after = spelled[1:].strip()
        thousands = re.match(r"[0-9]{3}(?![0-9])", after)
        decimal = "" if thousands else f"{said}.{after}"
        raise QuantityError(f"`{typed}` has a comma in its number", f"{expected}, and no commas", decimal)
    if _FEET_AND_NUMBER.fullmatch(f"{said}{spelled}"):
        raise QuantityError(f"`{typed}` ends without a unit", expected, f'{typed}"')
    if _FURTHER_NUMBER.search(spelled):
        raise QuantityError(f"`{typed}` holds more than one number", f"one quantity: {expected}")
    if wanted is not None and wanted.name == "count" and _NOUN.fullmatch(spelled):
        return None
    names = [each for each, units in _BY_NAME.items() if wanted is None or wanted.name in units]
    near = nearest(name, names)
    raise QuantityError(f"`{spelled}` is not a unit", expected, f"{said} {near}" if near else "")


# Writing


# The units in which a quantity is shown, each with the least canonical value it is used for.
_SHOWN: dict[tuple[str, str], tuple[tuple[str, float], ...]] = {
    ("length", "si"): (("km", 10_000), ("m", 10), ("mm", 0)),
    ("length", "us"): (("in", 0),),
    ("area", "si"): (("m2", 0.01), ("mm2", 0)),
    ("area", "us"): (("sq ft", float(_FOOT**2)), ("sq in", 0)),
    ("volume", "si"): (("m3", 0.1), ("L", 0)),
    ("volume", "us"): (("cu ft", float(_FOOT**3)), ("cu in", 0)),
    ("force", "si"): (("kN", 10_000), ("N", 0)),
    ("force", "us"): (("lbf", 0),),
    ("pressure", "si"): (("kPa", 1000), ("Pa", 0)),
    ("pressure", "us"): (("psi", 6894), ("in wc", 0)),
    ("torque", "si"): (("N·m", 0),),
    ("torque", "us"): (("ft-lbf", 1.355), ("in-lbf", 0)),
    ("illuminance", "si"): (("lx", 0),),
    ("illuminance", "us"): (("fc", 0),),
    ("temperature", "si"): (("°C", 0),),
    ("temperature", "us"): (("°F", 0),),
    ("speed", "si"): (("m/s", 0),),
    ("speed", "us"): (("ft/min", 0),),
    ("mass", "si"): (("kg", 1), ("g", 0)),
    ("mass", "us"): (("lb", 0.45), ("oz", 0)),
}
_SHOWN_IN_BOTH: dict[str, tuple[tuple[str, float], ...]] = {
    "time": (("s", 0.1), ("ms", 0)),
    "voltage": (("V", 0),),
    "current": (("A", 1), ("mA", 0)),
    "resistance": (("kohm", 10_000), ("ohm", 0)),
    "power": (("kW", 10_000), ("W", 0)),
    "energy": (("Wh", 3600), ("J", 0)),
    "charge": (("Ah", 36), ("C", 0)),
    "angle": (("deg", 0),),
    "ratio": (("%", 0),),
    "sound": (("dB", 0),),
}
# From which value on a quantity is shown in two units, the larger whole.
_TIMES_SHOWN = ((259_200.0, "d", "h"), (7200.0, "h", "min"), (120.0, "min", "s"))
_COMPOUNDS_SHOWN: dict[tuple[str, str], tuple[tuple[float, str, str], ...]] = {
    ("length", "us"): ((float(10 * _FOOT), "ft", "in"),),
    ("time", "us"): _TIMES_SHOWN,
    ("time", "si"): _TIMES_SHOWN,
}


def _number(value: float, whole: bool = False) -> str:
    """`value` to three significant digits, or as many up to six as make it exact; `whole` has no decimals."""
    size = abs(value)
    if size < 1e-9:
        return "0"
    if size < 1e-3 or size >= 1e15:
        return f"{value:.3g}"
    order = math.floor(math.log10(size))
    if whole:
        return f"{value:.0f}"
    for digits in (3, 4, 5, 6):
        decimals = max(0, digits - 1 - order)
        if abs(round(value, decimals) - value) <= 1e-9 * size:
            break
    else:
        decimals = max(0, 2 - order)
    shown = f"{value:.{decimals}f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def _compound(value: float, large: Unit, small: Unit) -> str:
    """`value` as a whole number of the larger unit and, unless it is zero, a number of the smaller."""
    tenths = round(Fraction(abs(value)) / small.factor * 10)
    wholes, rest = divmod(tenths, int(large.factor / small.factor) * 10)
    shown = f"{'-' if value < 0 else ''}{wholes} {large.names[0]}"
    return f"{shown} {_number(rest / 10)} {small.names[0]}" if rest else shown


def singular(noun: str) -> str:
    """The noun of a count as one of them; counts are printed as `1 system` and `50 people`."""
    return {"people": "person", "persons": "person"}.get(noun, noun[:-1] if noun.endswith("s") else noun)
