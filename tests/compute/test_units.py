"""Our units against an independent library, and dimension errors caught at the door."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clauseway.compute.registry import computations
from clauseway.compute.units import (
    DIMENSIONS,
    UNITS,
    convert,
    from_si,
    label,
    number,
    shown,
    to_si,
    unit_named,
)

#: How the independent library spells a unit of ours; the rest are spelled alike.
SPELLED = {
    "m²": "m**2", "cm²": "cm**2", "mm²": "mm**2", "in²": "in**2", "ft²": "ft**2", "kcmil": "kcmil",
    "inH2O": "inH2O", "psf": "lbf/ft**2", "N·m": "N*m", "lbf·ft": "lbf*ft", "ft·lbf": "ft*lbf",
    "kg/m³": "kg/m**3", "lb/ft³": "lb/ft**3", "ohm·m": "ohm*m", "A·h": "A*h",
    "VA": "V*A", "°C": "degC", "°F": "degF", "K": "kelvin", "K-diff": "delta_degC", "°F-diff": "delta_degF",
    "A-turn": "A", "turn/m": "1/m", "turn/in": "1/in", "person": "",
    "m²/person": "m**2", "ft²/person": "ft**2",
    "m/person": "m", "mm/person": "mm", "in/person": "in", "person/m²": "1/m**2", "person/ft²": "1/ft**2",
    "person/s": "1/s", "person/min": "1/min", "person/m/s": "1/m/s", "person/ft/min": "1/ft/min",
    "Pa·K/m": "Pa*K/m", "inH2O·R/ft": "inH2O*delta_degF/ft", "part": "", "%": "percent", "1": "",
}  # fmt: skip
COUNTS = {"count", "AWG", "year", "size", "0/1"}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    ureg = pint.UnitRegistry()
    ureg.define("kcmil = 1000 * circular_mil")
    return ureg


@pytest.mark.parametrize("name", sorted(set(UNITS) - COUNTS))
def test_unit_agrees_with_the_library(name: str, registry: pint.UnitRegistry) -> None:
    unit = UNITS[name]
    si = DIMENSIONS[unit.dimension].si
    ours = to_si(37.5, name)
    quantity = registry.Quantity(37.5, SPELLED.get(name, name))
    theirs = quantity.to(SPELLED.get(si, si)).magnitude
    assert ours == pytest.approx(theirs, rel=2e-8)


def test_exact_units(registry: pint.UnitRegistry) -> None:
    assert convert(1200.0, "lbf", "N") == pytest.approx(5337.8659383126, rel=1e-14)
    assert convert(1.0, "inH2O", "psf") == pytest.approx(5.20233, abs=5e-6)
    assert convert(100.0, "°F", "°C") == pytest.approx(37.7777777777778, rel=1e-13)


@given(st.sampled_from(sorted(UNITS)), st.floats(-1e9, 1e9, allow_nan=False))
def test_units_round_trip(name: str, value: float) -> None:
    unit = UNITS[name]
    back = from_si(to_si(value, name), name)
    assert math.isclose(back, value, rel_tol=1e-12, abs_tol=1e-12 * max(1.0, abs(unit.offset / unit.scale)))


def test_every_dimension_shows_units_of_its_own() -> None:
    for dimension in DIMENSIONS.values():
        for unit in (dimension.si, dimension.metric, dimension.customary):
            assert unit_named(unit).dimension == dimension.name
        assert to_si(1.0, dimension.si) == 1.0


def test_every_argument_and_result_shows_units_of_its_own_dimension() -> None:
    for record in computations().values():
        for thing in (*record.arguments, record.result):
            for unit in (thing.unit, *thing.units):
                assert unit_named(unit).dimension == thing.dimension, (record.name, thing.name)


@pytest.mark.parametrize(
    ("name", "argument", "value", "unit", "words"),
    [
        ("wire.voltage-drop", "current", 12.0, "V", ["current: found 12 V, a voltage", "a current, in A"]),
        ("wire.voltage-drop", "length", 3.0, "mm²", ["length: found 3 mm², an area", "a length, in m"]),
        ("battery.capacity", "standby_time", 24.0, "A·h", ["standby_time: found 24 A·h, a charge", "in s"]),
        ("wire.voltage-drop", "length", 3.0, "fathom", ["length: unit: found 'fathom'"]),
        ("door.opening-force", "closer_force", 9.0, "lb", ["closer_force: found 9 lb, a mass"]),
    ],
)
def test_dimension_errors_are_caught_at_the_door(
    name: str, argument: str, value: float, unit: str, words: list[str]
) -> None:
    with pytest.raises(ValueError, match="expected") as caught:
        computations()[name].argument(argument).si(value, unit)
    for word in words:
        assert word in str(caught.value)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"), (-0.0, "0"), (5337.87, "5338"), (0.04167, "0.04167"), (12.0, "12"), (1.5, "1.5"),
        (123456.7, "123457"), (3.2e-9, "3.2e-09"), (-0.5, "-0.5"), (99.996, "100"), (1e7, "1e+07"),
    ],
)  # fmt: skip
def test_numbers_read_like_numbers(value: float, text: str) -> None:
    assert number(value) == text


def test_units_read_like_units() -> None:
    assert shown(0.8128, "in") == "32 in"
    assert shown(348.15, "°C") == "75 °C"
    assert shown(0.05, "%") == "5 %"
    assert shown(3.0, "count") == "3"
    assert label("ohm/kft") == "Ω/kft"
