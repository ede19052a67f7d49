"""Every number of the engineering facts that can be checked, as a call of our function, not of a formula.

The data files say what each number is, where it is from and how it is known.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
import yaml

from clauseway.compute.registry import computation_named, evaluate
from clauseway.compute.units import convert, from_si, to_si, unit_named

DATA = Path(__file__).parent / "data"


def load(name: str) -> Any:
    return yaml.safe_load((DATA / name).read_text(encoding="utf-8"))


CHECKS: list[dict[str, Any]] = load("checks.yaml")
WORKED: list[dict[str, Any]] = load("worked.yaml")
TABLES: dict[str, dict[str, Any]] = load("tables.yaml")

UNMAPPED_CHECKS = {"saturation-doubling-mmf"}


def split(text: str) -> tuple[float, str]:
    number, _, unit = text.partition(" ")
    return float(number), unit


def put_in(name: str, argument: str, value: Any) -> float | tuple[float, ...]:
    """One argument of a call in SI: a quantity, a list of them, a call, or a value a computation lists."""
    if isinstance(value, list):
        return tuple(single(name, argument, member) for member in value)
    return single(name, argument, value)


def single(name: str, argument: str, value: Any) -> float:
    if isinstance(value, str):
        number, unit = split(value)
        return computation_named(name).argument(argument).si(number, unit)
    if "reading" in value or "typical" in value:
        return listed(value)
    return call(value)


def listed(value: dict[str, str]) -> float:
    """The value under a reading of a disagreement, or a typical value, by its place in the description."""
    ((kind, where),) = value.items()
    name, argument, place = where.split()
    record = computation_named(name)
    readings = (
        record.argument(argument).typical
        if kind == "typical"
        else [reading for matter in record.disagreements for reading in matter.readings]
    )
    values = [dict(reading.settings)[argument] for reading in readings if argument in dict(reading.settings)]
    return values[int(place)]


def call(compute: dict[str, dict[str, Any]]) -> float:
    ((name, arguments),) = compute.items()
    return evaluate(name, {argument: put_in(name, argument, value) for argument, value in arguments.items()})


def result_of(check: dict[str, Any], unit: str) -> float:
    """Our number for a check, in the unit of the number expected."""
    if "convert" in check:
        return convert(*split(check["convert"]), unit)
    (name,) = check["compute"]
    ours = call(check["compute"])
    if "over" in check:
        return ours / call(check["over"])
    if "apart_from" in check:
        return (ours - to_si(*split(check["apart_from"]))) / ours
    if "minus" in check:
        ours -= call(check["minus"])
    expected = unit_named(unit).dimension
    assert expected == computation_named(name).result.dimension or unit == "1", (name, unit)
    return from_si(ours, unit)


def close(ours: float, expected: float, check: dict[str, Any]) -> bool:
    if "within" in check:
        return abs(ours - expected) <= split(check["within"])[0]
    return math.isclose(ours, expected, rel_tol=check.get("relative", 1e-3))


def by_id(checks: list[dict[str, Any]]) -> list[Any]:
    return [pytest.param(check, id=f"{check['id']} ({check['status']})") for check in checks]


@pytest.mark.parametrize("check", by_id([check for check in CHECKS if "not_mapped" not in check]))
def test_check(check: dict[str, Any]) -> None:
    expected, unit = split(check["expect"])
    ours = result_of(check, unit)
    assert close(ours, expected, check), f"{check['source']}: {check['expect']}, ours {ours:.6g} {unit}"


def test_no_check_is_lost() -> None:
    assert len(CHECKS) == 139
    assert len({check["id"] for check in CHECKS}) == 139
    assert {check["id"] for check in CHECKS if "not_mapped" in check} == UNMAPPED_CHECKS


@pytest.mark.parametrize("check", by_id(CHECKS))
def test_check_says_where_its_number_is_from(check: dict[str, Any]) -> None:
    assert check["source"].strip()
    assert check["kind"] in ("published", "derived", "library", "constant")
    assert check["status"] in ("checked", "memory", "mixed")


def test_saturation_holds_back_a_doubled_coil() -> None:
    """Twice the ampere-turns give less than twice the flux, and more than finite elements with leakage."""
    circuit: dict[str, float] = {"core_length": 0.4305625, "total_gap": 1e-3}
    once = evaluate("magnetics.flux-density", {"ampere_turns": 968.0, **circuit})
    twice = evaluate("magnetics.flux-density", {"ampere_turns": 1936.0, **circuit})
    (printed,) = (check for check in CHECKS if check["id"] == "saturation-doubling-mmf")
    assert split(printed["expect"])[0] < twice / once < 1.9


@pytest.mark.parametrize("check", by_id([check for check in WORKED if "not_mapped" not in check]))
def test_worked_example(check: dict[str, Any]) -> None:
    expected, unit = split(check["expect"])
    ours = result_of(check, unit)
    assert close(ours, expected, {"relative": 2e-4}), f"{check['source']}: {expected}, ours {ours:.6g} {unit}"


def test_worked_examples_that_are_no_computation_say_why() -> None:
    unmapped = {check["id"]: check["not_mapped"] for check in WORKED if "not_mapped" in check}
    assert set(unmapped) == {"we-032", "we-034", "we-037", "we-039", "we-040", "we-041", "we-046"}
    assert all(unmapped.values())


def test_rooms_rounded_one_by_one_are_never_fewer() -> None:
    rooms = [123.0, 310.5, 88.0, 47.3, 1201.0]
    load_of = [evaluate("egress.occupant-load", {"area": room, "area_per_person": 13.94}) for room in rooms]
    whole = evaluate("egress.occupant-load", {"area": sum(rooms), "area_per_person": 13.94})
    assert sum(load_of) >= whole


# ------------------------------------------------------------------------------------------------ tables


def cell(name: str, unit: str, **given: float | str) -> float:
    settled = {
        argument: put_in(name, argument, value) if isinstance(value, str) else value
        for argument, value in given.items()
    }
    return from_si(evaluate(name, settled), unit)


def test_table_of_pole_areas() -> None:
    table = TABLES["pole_area_cm2"]
    for pounds, areas in table["rows"].items():
        for flux_density, area in zip(table["columns"], areas, strict=True):
            ours = cell("magnetics.pole-area", "cm²", force=f"{pounds} lbf", flux_density=flux_density)
            assert ours == pytest.approx(area, abs=0.0051)


def test_table_of_force_against_gap() -> None:
    table = TABLES["force_at_gap"]
    coil: dict[str, float] = {"ampere_turns": 200.0, "core_length": 0.12}
    contact = cell("magnetics.force-at-gap", "lbf", gap="0.01 mm", pole_area="52.4 cm²", **coil)
    for gap, b, pounds, share in zip(
        table["gap_mm"], table["B_T"], table["F_lbf"], table["percent_of_contact"], strict=True
    ):
        force = cell("magnetics.force-at-gap", "lbf", gap=f"{gap} mm", pole_area="52.4 cm²", **coil)
        assert force == pytest.approx(pounds, abs=0.6)
        assert cell("magnetics.flux-density", "T", total_gap=2e-3 * gap, **coil) == pytest.approx(b, abs=6e-4)
        assert 100.0 * force / contact == pytest.approx(share, abs=0.06)


def test_table_of_wire() -> None:
    for awg, d, area, cmil, at_20, at_25, at_40, at_75, per_km in TABLES["awg_solid_copper"]["rows"]:
        assert cell("wire.gauge-diameter", "mm", gauge=awg) == pytest.approx(d, rel=1e-4)
        a = evaluate("wire.gauge-area", {"gauge": awg})
        assert from_si(a, "mm²") == pytest.approx(area, rel=2e-4)
        assert from_si(a, "kcmil") * 1000.0 == pytest.approx(cmil, rel=1e-3)
        for celsius, ohm in ((20, at_20), (25, at_25), (40, at_40), (75, at_75)):
            ours = cell("wire.resistance-per-length", "ohm/kft", area=a, temperature=f"{celsius} °C")
            assert ours == pytest.approx(ohm, rel=3e-4)
        assert cell("wire.resistance-per-length", "ohm/km", area=a) == pytest.approx(per_km, rel=5e-4)


def test_table_of_the_electrical_code_at_75_degrees() -> None:
    for awg, solid, stranded, *_ in TABLES["table_8_75C_ohm_per_kft"]["rows"]:
        a = evaluate("wire.gauge-area", {"gauge": awg})
        ours = cell("wire.resistance-per-length", "ohm/kft", area=a, temperature="75 °C")
        assert ours == pytest.approx(solid, rel=2e-3)
        twisted = cell("wire.resistance-per-length", "ohm/kft", area=a, temperature="75 °C", stranding=1.02)
        assert twisted == pytest.approx(stranded, rel=1e-2)


@pytest.mark.parametrize("celsius", [20, 75])
def test_table_of_longest_runs(celsius: int) -> None:
    table = TABLES[f"max_run_ft_5pct_{celsius}C"]
    for volts, amperes, *runs in table["rows"]:
        for awg, run in zip(table["gauges"], runs, strict=True):
            ours = cell(
                "wire.longest-run", "ft", supply_voltage=volts, current=amperes,
                area=evaluate("wire.gauge-area", {"gauge": awg}), temperature=f"{celsius} °C",
            )  # fmt: skip
            assert ours == pytest.approx(run, abs=0.6)


def test_table_of_battery_temperature() -> None:
    for celsius, factor in TABLES["temperature_factor"]["rows"].items():
        ours = cell("battery.temperature-factor", "1", temperature=f"{celsius} °C")
        assert ours == pytest.approx(factor, abs=2e-3)


def test_published_table_of_door_pressure_in_all_25_cells() -> None:
    table = TABLES["pressure_limit_inH2O"]
    coefficient = listed({"reading": "door.opening-force coefficient 1"})
    cells = 0
    for pounds, limits in table["rows"].items():
        for inches, limit in zip(table["columns"], limits, strict=True):
            ours = cell(
                "door.pressure-limit", "inH2O", force_limit="30 lbf", closer_force=f"{pounds} lbf",
                width=f"{inches} in", height="7 ft", handle_offset="3 in", coefficient=coefficient,
            )  # fmt: skip
            assert f"{ours:.2f}" == f"{limit:.2f}", (pounds, inches)
            cells += 1
    assert cells == 25


def test_table_of_100_people_through_a_door() -> None:
    for _, clear, effective, flow, seconds, flow_clear, seconds_clear in TABLES["time_100_people_s"]["rows"]:
        assert cell("egress.effective-width", "m", clear_width=clear) == pytest.approx(effective, abs=6e-5)
        assert evaluate("egress.flow", {"clear_width": clear}) == pytest.approx(flow, abs=6e-5)
        people = {"occupants": 100.0, "clear_width": clear}
        assert evaluate("egress.passing-time", people) == pytest.approx(seconds, abs=0.06)
        whole = {**people, "boundary_layer": 0.0}
        assert 100.0 / flow_clear == pytest.approx(seconds_clear, abs=0.06)
        assert evaluate("egress.passing-time", whole) == pytest.approx(seconds_clear, abs=0.06)


def test_official_worked_example_of_evacuation() -> None:
    for element, clear, specific, flow, people, seconds in TABLES["circ_1166"]["rows"]:
        door = {"clear_width": clear, "specific_flow": specific, "boundary_layer": 0.0}
        assert evaluate("egress.flow", door) == pytest.approx(flow, abs=5e-3), element
        time = evaluate("egress.passing-time", {"occupants": people, **door})
        assert time == pytest.approx(seconds, abs=0.6), element
