from __future__ import annotations

import math
from fractions import Fraction
from random import Random

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clauseway.text import quantity
from clauseway.text.quantity import (
    DIMENSIONS,
    UNITS,
    Quantity,
    QuantityError,
    Unit,
    both_systems,
    format_quantity,
    parse_quantity,
)

PINT: pint.UnitRegistry = pint.UnitRegistry()
UNITS_NAMED_ALIKE = """mm cm m km ft mi L mL s min h ms N kN kgf lbf Pa kPa MPa bar mbar psi V mV kV A mA kA
ohm kohm Mohm mohm W mW kW MW hp J kJ MJ Wh kWh Ah mAh C deg K m/s mm/s km/h ft/min ft/s mph kg g lb oz dB"""

# The same units in pint's words; the first name of each unit is the key.
ORACLE = dict.fromkeys(UNITS_NAMED_ALIKE.split()) | {
    "in": "inch",
    "yd": "yard",
    "d": "day",
    "gal": "gallon",
    "ozf": "ounce * g_0",
    "psf": "lbf/ft**2",
    "m2": "m**2",
    "cm2": "cm**2",
    "mm2": "mm**2",
    "sq ft": "ft**2",
    "sq in": "inch**2",
    "m3": "m**3",
    "cu ft": "ft**3",
    "cu in": "inch**3",
    "in wc": "inch * kg/L * g_0",
    "Btu": "Btu_it",
    "μA": "microampere",
    "N·m": "N*m",
    "N·cm": "N*cm",
    "ft·lbf": "ft*lbf",
    "in·lbf": "inch*lbf",
    "in/s": "inch/s",
    "°C": "degC",
    "°F": "degF",
    "lx": "lux",
    "fc": "lumen/ft**2",
    "%": "percent",
    "in/ft": "inch/ft",
}
CANONICAL = {"N·m": "N*m", "": "dimensionless", "°C": "degC", "m2": "m**2", "m3": "m**3", "lx": "lux"}


def spelled(unit: Unit) -> list[str]:
    return [name for name in unit.names if not (unit.dimension == "charge" and name == "C")] or ["C"]


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: f"{unit.dimension}-{unit.names[0]}")
def test_every_unit_agrees_with_pint(unit: Unit) -> None:
    theirs = ORACLE[unit.names[0]] or unit.names[0]
    for typed in (1.0, 7.25, 68.0):
        if unit.dimension == "sound":
            expected = typed
        else:
            canonical = DIMENSIONS[unit.dimension].unit
            expected = PINT.Quantity(typed, theirs).to(CANONICAL.get(canonical, canonical)).magnitude
        for name in spelled(unit):
            found = parse_quantity(f"{typed} {name}", unit.dimension)
            assert found.value == pytest.approx(expected, rel=1e-12, abs=1e-12), name
            assert found.dimension == unit.dimension
            assert found.system == unit.system


def test_every_name_means_one_unit_in_its_dimension() -> None:
    seen: dict[tuple[str, str], Unit] = {}
    for unit in UNITS:
        for name in unit.names:
            assert seen.setdefault((unit.dimension, name), unit) is unit, name
    assert {unit.dimension for unit in UNITS} | {"count"} == set(DIMENSIONS)


IN, FT = Fraction("0.0254"), Fraction("0.3048")


@pytest.mark.parametrize(
    ("typed", "dimension", "value"),
    [
        ("34 1/2 in", "length", IN * Fraction("34.5")),
        ("34-1/2 in", "length", IN * Fraction("34.5")),
        ("34.5 in", "length", IN * Fraction("34.5")),
        ('34 1/2"', "length", IN * Fraction("34.5")),
        ("34½ in", "length", IN * Fraction("34.5")),
        ("34 ½”", "length", IN * Fraction("34.5")),
        ("34 1⁄2 in", "length", IN * Fraction("34.5")),
        ("½ in", "length", IN / 2),
        ("¾″", "length", IN * Fraction("0.75")),
        (".25 in", "length", IN / 4),
        ("34. in", "length", IN * 34),
        ("34in.", "length", IN * 34),
        ("42 IN", "length", IN * 42),
        ("3'-0\"", "length", FT * 3),
        ("3’-0”", "length", FT * 3),
        ("3′ 0 1/2″", "length", FT * 3 + IN / 2),
        ("3' 1/2\"", "length", FT * 3 + IN / 2),
        ("3'-1-1/2\"", "length", FT * 3 + IN * Fraction("1.5")),
        ("3 ft 6 in", "length", IN * 42),
        ("3 ft. 6 in.", "length", IN * 42),
        ("3 feet - 6 inches", "length", IN * 42),
        ("-3'-6\"", "length", IN * -42),
        ("−5 mm", "length", Fraction("-0.005")),
        ("864 MM", "length", Fraction("0.864")),
        ("864 mm", "length", Fraction("0.864")),
        ("0.864 m", "length", Fraction("0.864")),
        ("1e3 mm", "length", Fraction(1)),
        ("1.5E-3 km", "length", Fraction("1.5")),
        ("100 sq. ft.", "area", 100 * FT**2),
        ("100 ft^2", "area", 100 * FT**2),
        ("100 ft²", "area", 100 * FT**2),
        ("9.3 m²", "area", Fraction("9.3")),
        ("0.35 in. w.c.", "pressure", Fraction("0.35") * 1000 * Fraction("9.80665") * IN),
        ('0.35" wc', "pressure", Fraction("0.35") * 1000 * Fraction("9.80665") * IN),
        ("30 Sec.", "time", Fraction(30)),
        ("1.5 h", "time", Fraction(5400)),
        ("1 min 30 s", "time", Fraction(90)),
        ("1 h 30 min", "time", Fraction(5400)),
        ("1 day 12 hrs", "time", Fraction(129_600)),
        ("500 ma", "current", Fraction("0.5")),
        ("2.2 kΩ", "resistance", Fraction(2200)),
        ("13.6 N-m", "torque", Fraction("13.6")),
        ("13.6 Nm", "torque", Fraction("13.6")),
        ("50%", "ratio", Fraction("0.5")),
        ("0.5", "ratio", Fraction("0.5")),
        ("1:12", "ratio", Fraction(1, 12)),
        ("1/4 in / ft", "ratio", Fraction(1, 48)),
        ("68 º F", "temperature", None),
        ("90°", "angle", Fraction(90)),
        ("50 people", "count", Fraction(50)),
        ("1 fire alarm system", "count", Fraction(1)),
        ("50", "count", Fraction(50)),
        ("50", None, Fraction(50)),
        ("7 Ah", None, Fraction(25200)),
    ],
)
def test_what_people_type_is_read_exactly(typed: str, dimension: str | None, value: Fraction | None) -> None:
    if value is None:
        with pytest.raises(QuantityError, match="did you mean 68 °F"):
            parse_quantity(typed, dimension)
        return
    found = parse_quantity(f"  {typed} ", dimension)
    assert found.value == float(value)
    assert found.typed == typed


def test_us_and_si_spellings_of_one_quantity_are_equal() -> None:
    assert parse_quantity("42 in", "length").value == parse_quantity("1066.8 mm", "length").value
    assert parse_quantity("3'-6\"", "length").value == parse_quantity("1.0668 m", "length").value
    assert parse_quantity("68 F", "temperature").value == parse_quantity("20 °C", "temperature").value == 20


@pytest.mark.parametrize(
    ("typed", "dimension", "message"),
    [
        ("42", "length", "`42` has no unit; expected a length, such as 42 in or 1067 mm"),
        ("0", "time", "`0` has no unit; expected a time, such as 15 s or 2 min"),
        ("30 s", "length", "`30 s` is a time; expected a length, such as 42 in or 1067 mm"),
        ("3'-0\"", "time", "`3'-0\"` is a length; expected a time"),
        ("1:12", "length", "is a ratio; expected a length"),
        ("90 deg", "temperature", "is an angle; expected a temperature"),
        ("30 s", "count", "`30 s` is a time; expected a count"),
        ("15 lb", "force", "`lb` is a mass; expected a force, such as 15 lbf or 67 N (did you mean 15 lbf?)"),
        ("15#", "force", "did you mean 15 lbf?"),
        ("15 kg", "force", "`15 kg` is a mass; expected a force"),
        ("10 ft-lb", "torque", "did you mean 10 ft-lbf?"),
        ("10 in-lbs", "torque", "did you mean 10 in-lbf?"),
        ("12 VDC", "voltage", "did you mean 12 V?"),
        ("12 vdc", None, "did you mean 12 V?"),
        ("12 VDC", "length", "`VDC` also says which current; expected a length, such as 42 in or 1067 mm"),
        ("12 AWG", "count", "`AWG` is a size of wire"),
        ("12 AWG", "length", "`AWG` is a size of wire"),
        ("20 VA", "power", "apparent power"),
        ("12 months", "time", "no fixed length"),
        (
            "1,5 m",
            "length",
            "has a comma in its number; expected a length, such as 42 in or 1067 mm, and no commas",
        ),
        ("1,5 m", "length", "did you mean 1.5 m?"),
        ("1,067 mm", "length", "has a comma"),
        ("42 inchs", "length", "`inchs` is not a unit"),
        ("42 inchs", "length", "did you mean 42 inches?"),
        ("500 MA", "current", "did you mean 500 mA?"),
        ("15 zork", "force", "`zork` is not a unit; expected a force"),
        ("15 zork", None, "expected a number and a unit, such as 42 in or 30 s"),
        ("3'-6", "length", "did you mean 3'-6\"?"),
        ("30-60 in", "length", "holds more than one number"),
        ("30–60 in", "length", "holds more than one number"),
        ("30 to 60 in", "length", "holds more than one number"),
        ("30 in or 60 in", "length", "holds more than one number"),
        ("4 in x 6 in", "length", "holds more than one number"),
        ("4x6 in", "length", "holds more than one number"),
        ("1 067 mm", "length", "holds more than one number"),
        ("34 5/4 in", "length", "not smaller than 1"),
        ("1/0 in", "length", "divides by zero"),
        ("1:0", "ratio", "divides by zero"),
        ("≤ 42 in", "length", "sign of comparison"),
        (">42 in", "length", "sign of comparison"),
        ("", "length", "no quantity is given; expected a length"),
        (" \t", "length", "no quantity is given"),
        ("about forty", "length", "does not begin with a number"),
        ("in", "length", "does not begin with a number"),
        ("٣ in", "length", "does not begin with a number"),
        ("NaN", "length", "`NaN` is not a number"),
        ("-inf m", "length", "does not begin with a number"),
        ("Infinity", "ratio", "is not a number"),
        ("1e999 m", "length", "out of range"),
        ("1e-999 m", "length", "out of range"),
        ("1e99999999999999999999 m", "length", "out of range"),
        ("1e13 m", "length", "out of range"),
        ("2e9 km", "length", "out of range"),
        ("9" * 90 + " m", "length", "out of range"),
        ("9" * 200 + " m", "length", "too long"),
        ("1.5 doors", "count", "is not a whole number; expected a count, such as 50 or 50 people"),
        ("-3 doors", "count", "is below zero"),
        ("50 people!", "count", "is not a unit"),
    ],
)
def test_anything_else_is_refused_in_words(typed: str, dimension: str | None, message: str) -> None:
    assert issubclass(QuantityError, ValueError)
    with pytest.raises(QuantityError) as caught:
        parse_quantity(typed, dimension)
    assert message in str(caught.value)


def test_the_parts_of_a_refusal_are_kept() -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity("15 lb", "force")
    assert caught.value.found == "`lb` is a mass"
    assert caught.value.expected == "a force, such as 15 lbf or 67 N"
    assert caught.value.nearest == "15 lbf"


def test_an_unknown_dimension_is_the_callers_mistake() -> None:
    with pytest.raises(KeyError):
        parse_quantity("1 m", "lenght")
    with pytest.raises(KeyError):
        format_quantity(1.0, "lenght", "si")


@pytest.mark.parametrize("dimension", DIMENSIONS.values(), ids=lambda dimension: dimension.name)
def test_the_examples_in_messages_are_read(dimension: object) -> None:
    assert hasattr(dimension, "example")
    for example in dimension.example.split(" or "):
        assert parse_quantity(example, dimension.name).dimension == dimension.name  # type: ignore[attr-defined]


@given(st.text(max_size=40), st.sampled_from([None, *DIMENSIONS]))
def test_any_text_is_read_or_refused(text: str, dimension: str | None) -> None:
    try:
        found = parse_quantity(text, dimension)
    except QuantityError:
        return
    assert math.isfinite(found.value)


@given(st.text(alphabet="0123456789 .-+/'\"½eEinftmsh°,:%lb", max_size=16), st.sampled_from([None, *DIMENSIONS]))
def test_text_of_the_right_characters_is_read_or_refused(text: str, dimension: str | None) -> None:
    try:
        found = parse_quantity(text, dimension)
    except QuantityError:
        return
    assert math.isfinite(found.value)


@given(st.integers(0, 500), st.integers(0, 15))
def test_sixteenths_are_exact_in_every_spelling(inches: int, sixteenths: int) -> None:
    exact = float(IN * (inches + Fraction(sixteenths, 16)))
    feet, rest = divmod(inches, 12)
    for typed in (
        f"{inches} {sixteenths}/16 in",
        f'{inches}-{sixteenths}/16"',
        f"{inches + sixteenths / 16!r} in",
        f"{feet}'-{rest} {sixteenths}/16\"",
        f"{feet} ft {rest} {sixteenths}/16 in",
    ):
        assert parse_quantity(typed, "length").value == exact


@given(
    st.sampled_from(sorted(set(DIMENSIONS) - {"count"})),
    st.floats(1e-6, 1e9) | st.floats(-1e6, -1e-6),
    st.sampled_from(["us", "si", None]),
)
def test_what_is_shown_can_be_read_again(dimension: str, value: float, system: str | None) -> None:
    shown = format_quantity(value, dimension, system)  # type: ignore[arg-type]
    again = parse_quantity(shown, dimension)
    assert again.value == pytest.approx(value, rel=0.0051, abs=0.1 if dimension == "temperature" else 1e-9)
    assert len(shown) <= 30


@given(st.sampled_from(UNITS), st.integers(1, 10_000), st.integers(0, 99))
def test_a_shown_us_quantity_keeps_its_value(unit: Unit, whole: int, hundredths: int) -> None:
    typed = f"{whole}.{hundredths:02} {spelled(unit)[0]}"
    quantity = parse_quantity(typed, unit.dimension)
    assert quantity == parse_quantity(typed, None) or unit.names[0] == "C"
    assert both_systems(quantity).startswith(typed)


@pytest.mark.parametrize(
    ("value", "dimension", "us", "si"),
    [
        (1.0668, "length", "42 in", "1067 mm"),
        (1.067, "length", "42 in", "1067 mm"),
        (0.8763, "length", "34.5 in", "876 mm"),
        (0.0127, "length", "0.5 in", "12.7 mm"),
        (3.048, "length", "10 ft", "3048 mm"),
        (3.175, "length", "10 ft 5 in", "3175 mm"),
        (-3.175, "length", "-10 ft 5 in", "-3175 mm"),
        (15.24, "length", "50 ft", "15.24 m"),
        (0.0, "length", "0 in", "0 mm"),
        (9.290304, "area", "100 sq ft", "9.29 m2"),
        (30.0, "time", "30 s", "30 s"),
        (150.0, "time", "2 min 30 s", "2 min 30 s"),
        (7200.0, "time", "2 h", "2 h"),
        (7_776_000.0, "time", "90 d", "90 d"),
        (66.7233242289075, "force", "15 lbf", "66.7 N"),
        (87.1811185, "pressure", "0.35 in wc", "87.2 Pa"),
        (13.558179483314, "torque", "10 ft-lbf", "13.6 N·m"),
        (10.7639104167097, "illuminance", "1 fc", "10.8 lx"),
        (20.0, "temperature", "68 °F", "20 °C"),
        (0.5, "current", "500 mA", "500 mA"),
        (25200.0, "charge", "7 Ah", "7 Ah"),
        (0.5, "ratio", "50 %", "50 %"),
        (50.0, "count", "50", "50"),
    ],
)
def test_quantities_are_shown_as_the_trade_writes_them(value: float, dimension: str, us: str, si: str) -> None:
    assert format_quantity(value, dimension, "us") == us
    assert format_quantity(value, dimension, "si") == si
    assert format_quantity(value, dimension, None) == si


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_not_shown(value: float) -> None:
    with pytest.raises(ValueError, match="not a quantity"):
        format_quantity(value, "length", "si")


@pytest.mark.parametrize(
    ("typed", "dimension", "shown"),
    [
        ("42 in", "length", "42 in (1067 mm)"),
        ("864 mm", "length", "864 mm (34 in)"),
        ("3'-0\"", "length", "3'-0\" (914 mm)"),
        ("15 lbf", "force", "15 lbf (66.7 N)"),
        ("30 sec", "time", "30 sec"),
        ("1 hp", "power", "1 hp"),
        ("50 people", "count", "50 people"),
    ],
)
def test_both_systems_are_shown_where_they_differ(typed: str, dimension: str, shown: str) -> None:
    assert both_systems(parse_quantity(typed, dimension)) == shown


def test_a_quantity_can_be_made_by_hand() -> None:
    assert both_systems(Quantity(1.0, "length", "si", "1 m")) == "1 m (39.4 in)"


def test_no_quantity_of_two_units_is_overlooked() -> None:
    pieces = [
        "5", "12", "3.5", ".5", "1/2", "3 1/2", " ", "-", "'", '"', "ft", "ft.", "foot", "in", "in.", "inches", "d",
        "days", "h", "hr.", "min", "mins.", "s", "sec.", "FT", "S", "+", "mm",
    ]  # fmt: skip
    random = Random(3)
    found = 0
    for _ in range(100_000):
        text = "".join(random.choice(pieces) for _ in range(random.randint(3, 6)))
        if any(pattern.fullmatch(text) for pattern, *_ in quantity._compounds()):
            found += 1
            assert quantity._UNIT_AND_NUMBER.search(text), text
    assert found > 10
