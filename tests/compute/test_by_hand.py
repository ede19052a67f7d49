"""Computations that no check of the facts covers, worked by hand; a few chains from door to verdict."""

from __future__ import annotations

import pytest

from clauseway.compute import battery, door, egress, magnetics, release, supply, wire
from clauseway.compute.units import INCH, POUND_FORCE, to_si


def test_pull_pressure_of_the_facts() -> None:
    for tesla, kilopascal in ((1.0, 397.9), (1.6, 1018.6), (2.0, 1591.5)):
        assert magnetics.pull_pressure(tesla) == pytest.approx(kilopascal * 1e3, rel=1e-4)


def test_a_strip_of_tape_on_the_face() -> None:
    """0.05 to 0.06 mm between the faces cost 29 to 42 % of the contact force."""
    at_contact = magnetics.retained_share(200.0, 0.12, 1e-5)
    for gap, left in ((5e-5, 0.713), (6e-5, 0.581), (1e-4, 0.279)):
        assert magnetics.retained_share(200.0, 0.12, gap) / at_contact == pytest.approx(left, abs=1e-3)


def test_inductance_and_time_constant_of_the_illustrative_lock() -> None:
    henry = release.inductance(400.0, 4.5e-3, 0.5)
    assert henry == pytest.approx(3.6)
    assert release.time_constant(henry, 24.0) == pytest.approx(0.15)
    assert release.time_constant(4.0 * henry, 96.0) == pytest.approx(0.15)
    assert release.stored_energy(henry, 0.5) == pytest.approx(0.45)


def test_residual_pull_is_none_where_the_closer_takes_it_all() -> None:
    assert release.residual_force_limit(100.0, 120.0, 0.8, 0.8) == 0.0
    bare = release.residual_force_limit(133.4, 35.6, 0.84, 0.84)
    assert bare == pytest.approx(97.8)
    blown = release.residual_force_limit(133.4, 35.6, 0.84, 0.84, 25.0, 0.9144, 2.1336)
    assert blown == pytest.approx(97.8 - 25.0 * 0.9144**2 * 2.1336 / 2.0 / 0.84)


def test_released_door_adds_the_residual_pull_to_the_opening_force() -> None:
    opened = door.opening_force(40.0, 0.9144, 2.1336, 25.0)
    assert door.released_force(40.0, 0.9144, 2.1336, 25.0, 18.0) == pytest.approx(opened + 18.0)
    assert door.released_force(40.0, 0.9144, 2.1336, 25.0, 18.0, 0.5) == pytest.approx(opened + 9.0)


def test_supply_takes_the_larger_of_margin_and_inrush() -> None:
    assert supply.required_current(2.0, 1.25, 0.5, 0.0) == pytest.approx(3.0)
    assert supply.required_current(2.0, 1.25, 0.0, 1.3) == pytest.approx(3.3)
    assert supply.loading(1.6, 2.0) == pytest.approx(0.8)
    assert supply.inrush_current(0.35, 3.0) == pytest.approx(1.05)
    assert supply.duty_current(0.5, 10.0, 0.5) == 0.5


def test_lock_without_a_data_sheet() -> None:
    assert supply.lock_current(12.0) == pytest.approx(0.5)
    assert supply.lock_current(24.0) == pytest.approx(0.25)
    assert supply.lock_current(12.0, 3.0) == pytest.approx(0.25)


def test_windings_the_wrong_way_round() -> None:
    """Two of 48 ohm: in series on 12 V half the ampere-turns, side by side on 24 V four times the power."""
    right = supply.coil_current(12.0, supply.load_resistance(48.0, 1.0, 2.0))
    weak = supply.coil_current(12.0, supply.load_resistance(48.0, 2.0, 1.0))
    hot = supply.coil_current(24.0, supply.load_resistance(48.0, 1.0, 2.0))
    # In series each winding has the whole current, side by side half of it.
    assert weak / (right / 2.0) == pytest.approx(0.5)
    assert supply.power(24.0, hot) == pytest.approx(4.0 * supply.power(12.0, right))


def test_class_2_is_5_amperes_up_to_20_volts() -> None:
    assert [supply.class_2_current(volts) for volts in (5.0, 12.0, 20.0, 25.0)] == [5.0, 5.0, 5.0, 4.0]
    assert [supply.class_2_apparent_power(volts) for volts in (5.0, 12.0, 20.0, 25.0)] == [25.0, 60.0, 100.0, 100.0]


def test_force_at_the_end_of_200_feet() -> None:
    loop = wire.loop_resistance(to_si(200.0, "ft"), wire.gauge_area(18))
    assert wire.force_share(24.0, loop) == pytest.approx(0.817, abs=1e-3)
    assert wire.divider_voltage(12.0, 24.0, to_si(200.0, "ft"), wire.gauge_area(18)) / 24.0 == pytest.approx(
        0.452, abs=1e-3
    )


def test_drop_from_a_data_sheet_is_the_drop_of_the_gauge() -> None:
    area = wire.gauge_area(18)
    per_length = wire.resistance_per_length(area, 348.15, 1.02)
    assert wire.drop_from_resistance(40.0, 0.5, per_length) == pytest.approx(
        wire.voltage_drop(40.0, 0.5, area, 348.15, 1.02)
    )


def test_resistance_of_a_table_at_75_degrees_goes_back_by_its_own_coefficient() -> None:
    back = wire.resistance_at_temperature(7.77, 293.15, 348.15, 0.00323)
    assert back == pytest.approx(6.385, rel=2e-3)


def test_next_battery_made() -> None:
    hours = [(0.0, 4.0), (7.0, 7.0), (7.01, 7.2), (7.5, 10.0), (12.48, 18.0), (55.0, 55.0)]
    for needed, size in hours:
        assert battery.standard_size(needed * 3600.0) == pytest.approx(size * 3600.0)


def test_battery_in_the_cold_and_at_the_end_of_its_life() -> None:
    assert battery.corrected_capacity(36_000.0) == pytest.approx(45_000.0, rel=1e-3)
    assert battery.corrected_capacity(36_000.0, 283.15, 1.0) == pytest.approx(36_000.0 * 1.195, rel=1e-3)


def test_battery_margin_went_up_in_2022() -> None:
    editions = (2010.0, 2013.0, 2016.0, 2019.0, 2022.0, 2025.0)
    assert [battery.margin_by_edition(edition) for edition in editions] == [1.2, 1.2, 1.2, 1.2, 1.25, 1.25]


def test_standby_that_the_alarm_eats_up_is_none() -> None:
    assert battery.standby_time(3600.0, 0.5, 10.0, 600.0) == 0.0


def test_battery_that_holds_egress_doors_too_long() -> None:
    assert battery.unlock_allowance(600.0) == 0.0
    assert battery.unlock_allowance(86_400.0) < 0.0


def test_closer_sizes_cover_width_and_mass() -> None:
    leaves = [(0.75, 20.0, 1), (0.76, 20.0, 2), (0.9, 61.0, 4), (1.1, 80.0, 4), (0.9, 130.0, 7), (1.6, 160.0, 7)]
    for width, mass, size in leaves:
        assert door.closer_size(width, mass) == size


def test_head_clearance_under_a_lock_on_the_push_side() -> None:
    clearance = door.head_clearance(80.0 * INCH, 2.625 * INCH)
    assert clearance == pytest.approx(77.375 * INCH)
    assert door.head_clearance(84.0 * INCH, 2.625 * INCH, 0.25 * INCH) == pytest.approx(81.125 * INCH)


def test_head_clearance_under_a_lock_on_the_pull_side() -> None:
    """On the face of the head nothing hangs down unless the head is lower than the lock."""
    assert door.head_clearance_pull_side(80.0 * INCH, 2.625 * INCH, 4.0 * INCH) == pytest.approx(80.0 * INCH)
    assert door.head_clearance_pull_side(80.0 * INCH, 2.625 * INCH, 2.0 * INCH) == pytest.approx(79.375 * INCH)


def test_filler_and_bracket_by_frame() -> None:
    assert door.filler_thickness(0.04, 0.05, 0.016) == 0.0
    assert door.filler_thickness(0.06, 0.05, 0.016) == 0.016
    assert door.bracket_extension(0.06, 0.10) == 0.0
    assert door.bracket_extension(0.06, 0.045) == pytest.approx(0.015)


def test_the_lock_counts_where_it_sits() -> None:
    """A 1200 lbf lock at mid-header gives way to 655 lbf at the latch edge, with a closer a little more."""
    held = 1200.0 * POUND_FORCE
    bare = door.break_force(held, 18.0 * INCH, 33.0 * INCH)
    assert bare / POUND_FORCE == pytest.approx(654.5, abs=0.1)
    closer = door.closer_moment(8.0 * POUND_FORCE, 36.0 * INCH)
    assert door.break_force(held, 18.0 * INCH, 33.0 * INCH, closer) == pytest.approx(bare + 8.0 * POUND_FORCE)
    assert door.push_multiple(bare, 140.0) == pytest.approx(bare / 140.0)


@pytest.mark.parametrize(
    ("people", "single", "exits"),
    [(1, 0, 2), (49, 49, 1), (50, 49, 2), (500, 0, 2), (501, 0, 3), (1000, 0, 3), (1001, 0, 4)],
)
def test_number_of_exits(people: int, single: int, exits: int) -> None:
    assert egress.exits_required(people, single) == exits


def test_loss_of_one_of_three_exits() -> None:
    assert egress.capacity_after_loss((160.0, 220.0, 160.0)) == 320.0
    assert egress.share_after_loss((160.0, 220.0, 160.0), 400.0) == pytest.approx(0.8)
    assert egress.capacity_after_loss((160.0,)) == 0.0
    assert egress.least_each(385.0, 4.0) == pytest.approx(96.25)


def test_booths_and_benches() -> None:
    assert egress.bench_load(60.0 * INCH, 3.0, 24.0 * INCH) == 9.0
    assert egress.bench_load(60.0 * INCH, 3.0, 24.0 * INCH, 0.0) == 6.0


def test_speed_and_flow_of_a_crowd() -> None:
    assert egress.walking_speed(1.88) == pytest.approx(0.7, abs=2e-3)
    assert egress.specific_flow(1.88) == pytest.approx(egress.walking_speed(1.88) * 1.88)


def test_a_lock_that_shuts_again_behind_everyone() -> None:
    """100 people who each wait 2 s lose 200 s, against 2 s once when the lock stays released."""
    once = egress.passing_time(100.0, 0.8128, 2.0)
    each = egress.relocking_time(100.0, 2.0, 0.8128)
    assert each - once == pytest.approx(198.0)


def test_two_locks_of_a_pair_from_the_supply_to_the_release() -> None:
    """A whole chain: two 6 W locks on 12 V at 30 m of 18 AWG, their battery and their release."""
    current = 2.0 * supply.lock_current(12.0)
    drop = wire.voltage_drop(30.0, current, wire.gauge_area(18))
    assert wire.drop_share(drop, 12.0) == pytest.approx(0.105, abs=1e-3)
    assert wire.thinnest_gauge(wire.smallest_area(30.0, current, 12.0)) == 14.0
    assert supply.required_current(current, charging_current=0.5) == pytest.approx(1.75)
    assert supply.class_2_current(12.0) > 1.75
    slow = release.time(0.5, 0.05, 3.6, 24.0, 0.7)
    fast = release.time(0.5, 0.05, 3.6, 24.0, 40.0)
    assert release.chain(0.3, 0.05, 0.01, slow) > 0.5 > release.chain(0.3, 0.05, 0.01, fast)
