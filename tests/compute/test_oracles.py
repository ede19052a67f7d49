"""Our functions against libraries that know nothing of them: solvers, finite meshes, tables, unit systems."""

from __future__ import annotations

import math
from pathlib import Path

import fluids
import magpylib
import numpy as np
import pint
import pytest
import scipy.constants as constants
from numpy.polynomial import Polynomial
from scipy.integrate import quad, solve_ivp
from scipy.interpolate import interp1d
from scipy.optimize import brentq, minimize_scalar

from clauseway.compute import battery, door, egress, magnetics, release, supply, wire
from clauseway.compute.description import described
from clauseway.compute.registry import SUBJECTS, module_of
from clauseway.compute.units import FOOT, INCH, MILE_PER_HOUR, POUND_FORCE


@pytest.fixture(scope="module")
def units() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (magnetics.MU_0, constants.mu_0),
        (POUND_FORCE, constants.lbf),
        (MILE_PER_HOUR, constants.mph),
        (FOOT, constants.foot),
        (INCH, constants.inch),
    ],
)
def test_constants(ours: float, theirs: float) -> None:
    assert ours == pytest.approx(theirs, rel=1e-11)


# --------------------------------------------------------------------------------------------- magnetics


def test_holding_force_in_a_unit_system(units: pint.UnitRegistry) -> None:
    force = units.Quantity(1.6, "T") ** 2 * units.Quantity(52.4, "cm**2") / (2 * units.mu_0)
    assert magnetics.holding_force(1.6, 52.4e-4) == pytest.approx(force.to("N").magnitude, rel=1e-9)


def test_holding_force_between_two_meshed_magnets() -> None:
    """Two long magnets in contact carry their full polarisation through the joint."""
    size, length = 0.1, 0.6
    still = magpylib.magnet.Cuboid(polarization=(0, 0, 1), dimension=(size, size, length))
    hung = still.copy(position=(0, 0, -length))
    force, _ = magpylib.getFT(still, hung, pivot=None, meshing=40_000)
    assert abs(force[2]) == pytest.approx(magnetics.holding_force(1.0, size**2), rel=0.02)


@pytest.mark.parametrize("position", [0.0, 0.3, 0.8, 1.0])
@pytest.mark.parametrize("slenderness", [1.0, 5.0, 200.0])
def test_solenoid_field(position: float, slenderness: float) -> None:
    """A winding of n·I has the field of a magnet of polarisation µ0·n·I, less the polarisation inside it."""
    radius, turns, current = 0.01, 2000.0, 0.5
    length = slenderness * radius
    polarisation = constants.mu_0 * turns * current
    body = magpylib.magnet.Cylinder(polarization=(0, 0, polarisation), dimension=(2 * radius, length))
    at = position * length / 2.0 * (1.0 - 1e-9)
    theirs = body.getB((0.0, 0.0, at))[2]
    ours = magnetics.solenoid_field(turns, current, length, radius, position)
    assert ours == pytest.approx(theirs, rel=1e-6)


def test_flux_density_by_root_finding() -> None:
    b, h = np.array(magnetics.SOFT_STEEL).T
    curve = interp1d(b, h, fill_value="extrapolate")
    for ampere_turns in (20.0, 120.0, 200.0, 230.0):
        for gap in (0.0, 2e-5, 1e-4, 1e-3, 4e-3):

            def surplus(flux: float, driven: float = ampere_turns, g: float = gap) -> float:
                return float(curve(flux)) * 0.12 + flux * g / constants.mu_0 - driven

            root = brentq(surplus, 0.0, 1.9, xtol=1e-12)
            assert magnetics.flux_density(ampere_turns, 0.12, gap) == pytest.approx(root, rel=1e-8)
            assert magnetics.ampere_turns_needed(root, 0.12, gap) == pytest.approx(ampere_turns, rel=1e-9)


def test_it_is_the_door_that_takes_a_blow() -> None:
    """Pulling the illustrative lock from contact to 3 mm takes less than 1 J, of a dynamic rating of 45 J."""
    work, _ = quad(lambda gap: magnetics.force_at_gap(200.0, 0.12, 52.4e-4, gap), 0.0, 3e-3, limit=200)
    assert 0.5 < work < 1.0


def test_ideal_formula_parts_from_the_real_circuit_on_closing() -> None:
    real = [magnetics.force_at_gap(200.0, 0.12, 52.4e-4, gap) for gap in (1e-5, 1e-4, 1e-3)]
    ideal = [magnetics.ideal_force(200.0, 52.4e-4, 2.0 * gap) for gap in (1e-5, 1e-4, 1e-3)]
    ratios = [a / b for a, b in zip(ideal, real, strict=True)]
    assert ratios[0] > 40.0
    assert ratios == sorted(ratios, reverse=True)
    assert ratios[-1] == pytest.approx(1.06, abs=0.01)


# ----------------------------------------------------------------------------------------------- release


@pytest.mark.parametrize("clamp", [0.0, 0.7, 24.0, 40.0, 1000.0])
@pytest.mark.parametrize(("inductance", "resistance", "initial"), [(3.6, 24.0, 0.5), (14.4, 96.0, 0.25)])
def test_release_time_by_a_solver_of_differential_equations(
    inductance: float, resistance: float, initial: float, clamp: float
) -> None:
    target = 0.1 * initial

    def let_go(_: float, state: list[float]) -> float:
        return state[0] - target

    let_go.terminal = True  # type: ignore[attr-defined]
    solved = solve_ivp(
        lambda _, state: [-(resistance * state[0] + clamp) / inductance],
        (0.0, 10.0), [initial], events=let_go, rtol=1e-10, atol=1e-13,
    )  # fmt: skip
    (when,) = solved.t_events[0]
    assert release.time(initial, target, inductance, resistance, clamp) == pytest.approx(when, rel=1e-7)
    half = float(when) / 2.0
    solved = solve_ivp(
        lambda _, state: [-(resistance * state[0] + clamp) / inductance], (0.0, half), [initial],
        rtol=1e-10, atol=1e-13,
    )  # fmt: skip
    ours = release.current_at(initial, inductance, resistance, clamp, half)
    assert ours == pytest.approx(solved.y[0][-1], rel=1e-7)


def test_stored_energy_is_what_the_coil_gives_back() -> None:
    tau = release.time_constant(3.6, 24.0)

    def heating(instant: float) -> float:
        return 24.0 * release.current_at(0.5, 3.6, 24.0, 0.0, instant) ** 2

    heat, _ = quad(heating, 0.0, 20.0 * tau, epsabs=1e-12)
    assert release.stored_energy(3.6, 0.5) == pytest.approx(heat, rel=1e-9)


# ------------------------------------------------------------------------------------------------ supply


def test_rectifier_average_and_ripple_by_waveform() -> None:
    """Sampled waveforms: the mean of a rectified sine, and a filter capacitor run through ten half waves."""
    peak = supply.rectified_peak(12.0)
    angles = np.linspace(0.0, math.pi, 200_001)
    mean = np.trapezoid(peak * np.sin(angles), angles) / math.pi
    assert supply.rectified_average(12.0) == pytest.approx(mean)

    current, capacitance, mains = 0.5, 4700e-6, 60.0
    step = 1.0 / (2.0 * mains * 4000)
    voltage, seen = peak, []
    for instant in range(40_000):
        fed = peak * abs(math.cos(2.0 * math.pi * mains * instant * step))
        voltage = max(fed, voltage - current / capacitance * step)
        seen.append(voltage)
    sag = max(seen[8000:]) - min(seen[8000:])
    ours = supply.ripple(current, capacitance, mains)
    # The capacitor is charged again before the half wave is over: the formula is an upper bound.
    assert 0.85 * ours < sag < ours


def test_coil_and_power_in_a_unit_system(units: pint.UnitRegistry) -> None:
    volts, ohms = units.Quantity(24, "V"), units.Quantity(96, "ohm")
    assert supply.coil_current(24.0, 96.0) == (volts / ohms).to("A").magnitude
    assert supply.power(24.0, 0.25) == (volts**2 / ohms).to("W").magnitude


# -------------------------------------------------------------------------------------------------- wire


@pytest.mark.parametrize("gauge", range(10, 31))
def test_gauge_against_a_table_of_wire(gauge: int) -> None:
    tabulated = fluids.piping.t_from_gauge(gauge, schedule="AWG")
    # The table is rounded to a ten-thousandth of an inch.
    assert wire.gauge_diameter(gauge) == pytest.approx(tabulated, abs=0.6e-4 * INCH)
    assert wire.thinnest_gauge(wire.gauge_area(gauge)) == gauge


def test_voltage_drop_in_a_unit_system(units: pint.UnitRegistry) -> None:
    rho = units.Quantity(1.7241e-8, "ohm*m")
    radius = units.Quantity(0.127 * 92 ** (18 / 39), "mm") / 2
    theirs = 2 * units.Quantity(200, "ft") * units.Quantity(0.6, "A") * rho / (math.pi * radius**2)
    ours = wire.voltage_drop(200 * FOOT, 0.6, wire.gauge_area(18))
    assert ours == pytest.approx(theirs.to("V").magnitude, rel=1e-12)


def test_daisy_chain_by_solving_the_circuit() -> None:
    """Node voltages of a ladder of wire and current sinks, from the matrix of its conductances."""
    lengths, currents = [12.0, 30.0, 7.5, 22.0], [0.5, 0.25, 0.0, 0.7]
    area = wire.gauge_area(18)
    conductance = [1.0 / wire.loop_resistance(length, area) for length in lengths]
    matrix = np.zeros((4, 4))
    for place, g in enumerate(conductance):
        matrix[place, place] += g
        if place:
            matrix[place - 1, place - 1] += g
            matrix[place, place - 1] -= g
            matrix[place - 1, place] -= g
    fed = np.array([24.0 * conductance[0], 0.0, 0.0, 0.0]) - np.array(currents)
    nodes = np.linalg.solve(matrix, fed)
    drop = wire.chain_drop(tuple(lengths), tuple(currents), area)
    assert 24.0 - drop == pytest.approx(nodes[-1], rel=1e-12)


def test_divider_by_root_finding() -> None:
    area, length, lock = wire.gauge_area(20), 80.0, 24.0

    def mismatch(voltage: float) -> float:
        return voltage - wire.voltage_at_lock(12.0, length, voltage / lock, area)

    found = brentq(mismatch, 0.1, 12.0)
    assert wire.divider_voltage(12.0, lock, length, area) == pytest.approx(found, rel=1e-9)


def test_longest_run_and_smallest_area_by_root_finding() -> None:
    area = wire.gauge_area(16)
    farthest = brentq(lambda length: wire.voltage_drop(length, 0.5, area) - 0.6, 1.0, 1000.0)
    assert wire.longest_run(12.0, 0.5, area) == pytest.approx(farthest, rel=1e-9)
    thinnest = brentq(lambda a: wire.voltage_drop(50.0, 0.5, a) - 0.6, 1e-8, 1e-4, xtol=1e-16)
    assert wire.smallest_area(50.0, 0.5, 12.0) == pytest.approx(thinnest, rel=1e-6)


# ----------------------------------------------------------------------------------------------- battery


def test_temperature_factor_by_a_polynomial_library() -> None:
    cubic = Polynomial([1.405, -2.4941, 4.1916, -2.8117])
    for celsius in np.linspace(-20.0, 50.0, 29):
        factor = battery.temperature_factor(273.15 + celsius)
        assert factor == pytest.approx(cubic(celsius / 100.0), rel=1e-12)


def test_run_time_by_emptying_the_battery() -> None:
    """Discharge step by step: the effective current C/H·(I·H/C)^k empties the rated capacity."""
    capacity, current, k, hours = 7.0 * 3600, 1.5, 1.15, 72_000.0
    rate = capacity / hours

    def empty(_: float, state: list[float]) -> float:
        return state[0]

    empty.terminal = True  # type: ignore[attr-defined]
    solved = solve_ivp(lambda _t, _s: [-rate * (current / rate) ** k], (0.0, 1e6), [capacity], events=empty, rtol=1e-9)
    assert battery.run_time(capacity, current, k) == pytest.approx(solved.t_events[0][0], rel=1e-6)


def test_capacity_in_a_unit_system(units: pint.UnitRegistry) -> None:
    q = units.Quantity
    theirs = (q(0.42, "A") * q(24, "h") + q(3.8, "A") * q(5, "min")) * 1.2
    ours = battery.capacity(0.42, 86_400.0, 3.8, 300.0, 1.2)
    assert ours == pytest.approx(theirs.to("C").magnitude, rel=1e-12)


# -------------------------------------------------------------------------------------------------- door


def test_opening_force_in_pounds_and_in_newtons(units: pint.UnitRegistry) -> None:
    q = units.Quantity
    wide, high, off = q(3, "ft"), q(7, "ft"), q(3, "inch")
    theirs = q(9, "lbf") + wide * wide * high * q(0.35, "inH2O") / (2 * (wide - off))
    ours = door.opening_force(9 * POUND_FORCE, 3 * FOOT, 7 * FOOT, 0.35 * 249.08891, 3 * INCH)
    assert ours == pytest.approx(theirs.to("N").magnitude, rel=1e-7)


def test_opening_force_by_moments_strip_by_strip() -> None:
    wide, high, pressure, off = 0.9, 2.1, 30.0, 0.07
    moment, _ = quad(lambda x: pressure * high * x, 0.0, wide)
    assert door.pressure_moment(pressure, wide, high) == pytest.approx(moment, rel=1e-12)
    push = moment / (wide - off)
    assert door.opening_force(0.0, wide, high, pressure, off) == pytest.approx(push, rel=1e-12)
    assert door.break_force(0.0, 0.8, wide - off, 0.0, moment) == pytest.approx(push, rel=1e-12)


def test_wind_pressure_as_the_loss_of_one_velocity_head() -> None:
    air = fluids.ATMOSPHERE_1976(0.0).rho
    theirs = fluids.dP_from_K(1.0, air, 30 * constants.mph)
    assert door.wind_pressure(30 * constants.mph) == pytest.approx(theirs, rel=1e-5)


def test_stack_pressure_from_air_densities() -> None:
    """Weight of the two columns of air, from the ideal gas: the coefficient is within 0.5 %."""
    outside, inside, height = 255.15, 294.15, 30.0
    density = [101_325.0 * 0.0289647 / (constants.R * kelvin) for kelvin in (outside, inside)]
    weight = (density[0] - density[1]) * constants.g * height
    assert door.stack_pressure(outside, inside, height) == pytest.approx(weight, rel=5e-3)


def test_impact_stiffness_by_a_spring() -> None:
    force, energy = 5338.0, 44.7
    stiffness = door.impact_stiffness(force, energy)
    stretched = brentq(lambda x: stiffness * x**2 / 2.0 - energy, 0.0, 1.0, xtol=1e-14)
    assert stiffness * stretched == pytest.approx(force, rel=1e-9)


# ------------------------------------------------------------------------------------------------ egress


@pytest.mark.parametrize("speed", [1.40, 1.08])
def test_peak_flow_by_a_search(speed: float) -> None:
    found = minimize_scalar(
        lambda density: -egress.specific_flow(density, speed), bounds=(0.1, 3.5), method="bounded",
        options={"xatol": 1e-9},
    )  # fmt: skip
    assert egress.peak_specific_flow(speed) == pytest.approx(-found.fun, rel=1e-12)
    assert found.x == pytest.approx(1.0 / (2.0 * 0.266), rel=1e-5)


def test_density_for_flow_by_the_roots_of_a_polynomial() -> None:
    for flow in (0.2, 0.8, 1.0428571, 1.3):
        roots = np.roots([-0.266 * 1.4, 1.4, -flow])
        assert egress.density_for_flow(flow) == pytest.approx(min(roots), rel=1e-9)


def test_passing_time_by_counting_people() -> None:
    flow = egress.flow(0.9)
    clock, through = 15.0, 0.0
    while through < 100.0:
        clock += 1e-3
        through += flow * 1e-3
    assert egress.passing_time(100.0, 0.9, 15.0) == pytest.approx(clock, abs=2e-3)


def test_diagonal() -> None:
    assert egress.diagonal(50.0, 80.0) == pytest.approx(float(np.hypot(50.0, 80.0)), rel=1e-15)


def test_enough_computations_have_an_oracle_of_their_own() -> None:
    """At least twelve are asked for; this file calls many more, and each call stands beside a library."""
    text = Path(__file__).read_text(encoding="utf-8")
    called = {
        record.name
        for module in map(module_of, SUBJECTS)
        for name, member in vars(module).items()
        if (record := described(member)) and f"{record.subject}.{name}(" in text
    }
    assert len(called) >= 30, sorted(called)
