"""What holds for every computation, whatever the numbers: no NaN, directions as declared, sound ranges.

Numbers are drawn over each argument's whole declared range; its ends and usual values as often as the rest.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clauseway.compute import battery, door, egress, magnetics, release, wire
from clauseway.compute.description import Argument, Computation
from clauseway.compute.registry import Given, computations, evaluate, evaluate_ranges, evaluate_surely

RECORDS = [pytest.param(record, id=name) for name, record in computations().items()]
Box = dict[str, Any]

#: Hypothesis draws a seed; the many numbers of one round come from it, which is a hundred times faster.
seeds = st.integers(0, 2**48)
ROUNDS = 25


def place(argument: Argument, share: float) -> float:
    """A number in the argument's range; on a logarithmic scale where the range spans orders of magnitude."""
    low, high = argument.low, argument.high
    if low > 0.0 and high / low > 100.0:
        value = low * (high / low) ** share
    elif low == 0.0 and high > 100.0:
        value = high * share**4
    else:
        value = low + (high - low) * share
    value = min(max(value, low), high)
    return float(round(value)) if argument.whole else value


def number(rng: random.Random, argument: Argument) -> float:
    if rng.random() < 0.6:
        return place(argument, rng.random())
    known = [argument.low, argument.high, argument.low if argument.default is None else argument.default]
    known += [value for reading in argument.typical for _, value in reading.settings]
    return rng.choice(known)


def point(rng: random.Random, record: Computation) -> dict[str, Any]:
    size = rng.randint(1, 4)
    return {a.name: [number(rng, a) for _ in range(size)] if a.many else number(rng, a) for a in record.arguments}


def edge(rng: random.Random, argument: Argument) -> Any:
    first, second = number(rng, argument), number(rng, argument)
    return first if rng.random() < 0.4 else (min(first, second), max(first, second))


def box(rng: random.Random, record: Computation) -> Box:
    size = rng.randint(1, 3)
    drawn: Box = {}
    for argument in record.arguments:
        if argument.many:
            drawn[argument.name] = [edge(rng, argument) for _ in range(size)]
        else:
            drawn[argument.name] = None if rng.random() < 0.1 else edge(rng, argument)
    return drawn


def inside(rng: random.Random, argument: Argument, span: Any) -> float:
    whole = (argument.low, argument.high)
    low, high = whole if span is None else span if isinstance(span, tuple) else (span, span)
    share = rng.choice([0.0, 1.0, rng.random()])
    value = min(max(low + (high - low) * share, low), high)
    return float(min(max(round(value), low), high)) if argument.whole else value


def member(rng: random.Random, record: Computation, drawn: Box) -> dict[str, Any]:
    return {
        argument.name: [inside(rng, argument, span) for span in drawn[argument.name]]
        if argument.many
        else inside(rng, argument, drawn[argument.name])
        for argument in record.arguments
    }


def result(record: Computation, values: dict[str, Any]) -> float | None:
    try:
        return record.calculate(values)
    except ValueError:
        return None


@pytest.mark.parametrize("record", RECORDS)
@settings(max_examples=8, deadline=None)
@given(seed=seeds)
def test_ranges_contain_every_sampled_point(record: Computation, seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(ROUNDS):
        drawn = box(rng, record)
        samples = [member(rng, record, drawn) for _ in range(3)]
        try:
            answer = evaluate_ranges(record.name, drawn)
        except ValueError:
            assert all(result(record, sample) is None for sample in samples), drawn
            continue
        for sample in samples:
            value = result(record, sample)
            assert value is None or value in answer, (drawn, sample, value, answer)
        for end in (answer.low, answer.high):
            assert end is None or (math.isfinite(end) and record.result.holds(end))


@pytest.mark.parametrize("record", RECORDS)
@settings(max_examples=8, deadline=None)
@given(seed=seeds)
def test_where_something_is_sure_every_point_has_a_result_inside(record: Computation, seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(ROUNDS):
        drawn = box(rng, record)
        answer = evaluate_surely(record.name, drawn)
        if answer.low is None and answer.high is None:
            continue
        assert answer.low is not None
        assert answer.high is not None
        for sample in (member(rng, record, drawn) for _ in range(6)):
            value = result(record, sample)
            assert value is not None, (drawn, sample)
            assert value in answer, (drawn, sample, value, answer)


@pytest.mark.parametrize("record", RECORDS)
def test_something_is_sure_of_every_computation(record: Computation) -> None:
    rng = random.Random(1)
    answers = [evaluate_surely(record.name, box(rng, record)) for _ in range(300)]
    assert any(answer.low is not None for answer in answers)


@pytest.mark.parametrize("record", RECORDS)
@settings(max_examples=8, deadline=None)
@given(seed=seeds)
def test_results_move_as_declared(record: Computation, seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(ROUNDS):
        values = point(rng, record)
        argument = rng.choice(record.arguments)
        moved: list[float] = []
        for step in sorted(number(rng, argument) for _ in range(3)):
            put = [step, *values[argument.name][1:]] if argument.many else step
            value = result(record, {**values, argument.name: put})
            if value is not None:
                moved.append(value)
        slack = 1e-9 * max(map(abs, moved), default=0.0)
        rises = all(b >= a - slack for a, b in pairwise(moved))
        falls = all(b <= a + slack for a, b in pairwise(moved))
        held = {"+": rises, "-": falls, "±": rises or falls, "0": True}
        assert held[argument.direction], (argument.name, values, moved)


@pytest.mark.parametrize("record", RECORDS)
@settings(max_examples=8, deadline=None)
@given(seed=seeds)
def test_nothing_but_finite_physical_numbers_comes_out(record: Computation, seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(ROUNDS):
        values = point(rng, record)
        for argument in record.arguments:
            wild = rng.choice([0.0, -0.0, -1.0, 1e-300, 1e300, math.nan, math.inf, -math.inf, rng.gauss()])
            if rng.random() < 0.3:
                values[argument.name] = [wild] if argument.many else wild
        value = result(record, values)
        assert value is None or (math.isfinite(value) and record.result.holds(value)), values


@pytest.mark.parametrize("record", RECORDS)
@settings(max_examples=5, deadline=None)
@given(seed=seeds)
def test_points_are_exact_and_a_wider_box_never_says_more(record: Computation, seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(ROUNDS):
        values = point(rng, record)
        value = result(record, values)
        if value is None:
            continue
        assert evaluate_ranges(record.name, values).point == value
        loosened: dict[str, Given] = {**values, rng.choice(record.arguments).name: None}
        assert value in evaluate_ranges(record.name, loosened)


@pytest.mark.parametrize("record", RECORDS)
def test_most_of_what_is_drawn_has_a_result(record: Computation) -> None:
    """The properties above are worth something only where the drawn numbers are not nearly all refused."""
    rng = random.Random(20_240)
    kept = sum(result(record, point(rng, record)) is not None for _ in range(200))
    assert kept >= 40, kept


# ------------------------------------------------------------------------- what people count on, by name


def rising(values: Sequence[float]) -> bool:
    return all(a < b for a, b in pairwise(values))


positive = st.floats(0.05, 1.0)


@given(st.floats(20.0, 500.0), st.lists(st.floats(0.0, 3e-3), min_size=2, max_size=6, unique=True))
def test_force_falls_with_the_gap(ampere_turns: float, gaps: list[float]) -> None:
    forces = [magnetics.force_at_gap(ampere_turns, 0.12, 52.4e-4, gap) for gap in sorted(gaps, reverse=True)]
    assert all(a <= b for a, b in pairwise(forces))
    contact = magnetics.force_at_gap(ampere_turns, 0.12, 52.4e-4, 0.0)
    assert magnetics.force_at_gap(ampere_turns, 0.12, 52.4e-4, 3e-3) < contact


@given(st.floats(1.0, 400.0), st.floats(1.01, 2.0), positive, st.integers(12, 24))
def test_drop_grows_with_length_and_falls_with_gauge_area(
    length: float, more: float, current: float, gauge: int
) -> None:
    area, thinner = wire.gauge_area(gauge), wire.gauge_area(gauge + 1)
    assert wire.voltage_drop(length * more, current, area) > wire.voltage_drop(length, current, area)
    assert wire.voltage_drop(length, current, thinner) > wire.voltage_drop(length, current, area)
    assert wire.voltage_drop(length, current, area, 348.15) > wire.voltage_drop(length, current, area) > 0.0


@given(st.floats(1.0, 400.0), positive, st.floats(0.02, 0.2))
def test_the_gauge_chosen_keeps_the_drop_and_the_next_thinner_does_not(
    length: float, current: float, share: float
) -> None:
    need = wire.smallest_area(length, current, 12.0, share)
    if not 2.5e-8 < need < 1e-4:
        return
    gauge = wire.thinnest_gauge(need)
    limit = share * 12.0
    assert wire.voltage_drop(length, current, wire.gauge_area(gauge)) <= limit * (1.0 + 1e-8)
    if gauge < 40.0:
        assert wire.voltage_drop(length, current, wire.gauge_area(gauge + 1.0)) > limit


@given(positive, st.floats(0.5, 75.0), st.floats(1.01, 3.0))
def test_battery_grows_with_hours(current: float, hours: float, more: float) -> None:
    short = battery.capacity(current, hours * 3600.0, 1.0, 300.0)
    assert battery.capacity(current, hours * more * 3600.0, 1.0, 300.0) > short
    if 360.0 < short < 3.6e7:
        assert battery.standby_time(short, current, 1.0, 300.0) == pytest.approx(hours * 3600.0)
        assert battery.run_time(short, current) > battery.run_time(short, current * more)


@given(st.floats(0.01, 0.49), st.floats(0.0, 200.0), st.floats(1.01, 5.0))
def test_release_is_faster_with_a_higher_clamp(release_current: float, clamp: float, more: float) -> None:
    slow = release.time(0.5, release_current, 3.6, 24.0, clamp)
    assert release.time(0.5, release_current, 3.6, 24.0, clamp * more + 0.1) < slow
    assert release.current_at(0.5, 3.6, 24.0, clamp, slow) == pytest.approx(release_current)


@given(st.floats(0.0, 60.0), st.floats(0.6, 1.2), st.floats(0.0, 100.0))
def test_pressure_limit_reaches_the_force_limit(closer: float, width: float, more: float) -> None:
    limit = closer + 10.0 + more
    pressure = door.pressure_limit(limit, closer, width, 2.1)
    if pressure <= 2000.0:
        assert door.opening_force(closer, width, 2.1, pressure) == pytest.approx(limit)


@given(st.floats(50.0, 50_000.0), st.floats(1e-3, 5e-3), st.floats(150.0, 400.0))
def test_implied_gap_is_where_the_force_is_reached(force: float, area: float, ampere_turns: float) -> None:
    if magnetics.force_at_gap(ampere_turns, 0.12, area, 0.0) < force:
        with pytest.raises(ValueError, match="does not reach"):
            magnetics.implied_gap(force, area, ampere_turns, 0.12)
        return
    gap = magnetics.implied_gap(force, area, ampere_turns, 0.12)
    if gap <= 3e-3:
        assert magnetics.force_at_gap(ampere_turns, 0.12, area, gap) == pytest.approx(force, rel=1e-6)


@given(st.floats(1.0, 1e5), st.sampled_from([5.0, 7.0, 15.0, 20.0, 100.0, 150.0]))
def test_occupant_load_is_never_below_area_over_factor(area: float, factor: float) -> None:
    load = egress.occupant_load(area * 0.3048**2, factor * 0.3048**2)
    exact = area / factor
    assert exact * (1.0 - 1e-8) <= load < exact + 1.0 + 1e-8
    assert egress.occupant_load(area * 0.3048**2, factor * 0.3048**2, 0.0) <= load


@given(st.integers(1, 2000), st.sampled_from([5.0, 7.0, 15.0, 20.0, 100.0, 150.0]))
def test_a_whole_load_stays_whole_through_units(people: int, factor: float) -> None:
    area, each = people * factor * 0.3048**2, factor * 0.3048**2
    assert egress.occupant_load(area, each) == people
    if people >= 20:
        assert egress.capacity(people * 0.2 * 0.0254, 0.2 * 0.0254) == people


@given(st.lists(st.floats(1.0, 500.0), min_size=2, max_size=6))
def test_loss_of_any_one_exit_leaves_at_least_what_is_said(capacities: list[float]) -> None:
    left = egress.capacity_after_loss(tuple(capacities))
    for lost in range(len(capacities)):
        rest = math.fsum(capacities[:lost] + capacities[lost + 1 :])
        assert rest >= left * (1.0 - 1e-12)


def test_a_hot_conductor_and_a_cold_battery_ask_for_more() -> None:
    kelvins = [260.0, 280.0, 300.0, 320.0]
    assert rising([evaluate("wire.resistance-per-length", {"area": 1e-6, "temperature": t}) for t in kelvins])
    assert rising([-evaluate("battery.temperature-factor", {"temperature": t}) for t in kelvins])
