"""Whole doors on which the editions of the International Building Code agree, and those on which they do not.

The openings are invented: an example base of the rules with a few facts changed. Why each comes out as it does stands
beside it. Where an edition is known from memory, that is said, and memory is accepted.
"""

from __future__ import annotations

from typing import Any

import pytest

from clauseway.answers.finding import COMPLIES, FAILS, MET, UNDETERMINED, UNMET
from support.doors import answer, opening, verdict_of, with_verdict

EDITIONS = ("2015", "2018", "2021", "2024")
HALL = "rooms.hall"
OUT = "openings.d.passages.out"
LEAF = "openings.d.leaves.leaf"
LATCH = "openings.d.locks.latch"
MAGNET = "openings.d.locks.magnet"
BUTTON = "openings.d.devices.button"


def told(data: dict[str, Any], edition: str, *, accept_memory: bool = False) -> tuple[str, set[str]]:
    """The verdict in an edition, and the conditions that are not met, without the name of the code."""
    found = answer(data, f"ibc@{edition}", accept_memory=accept_memory)
    return found.verdict, {name.removeprefix("ibc.") for name in with_verdict(found, UNMET)}


def people(number: int) -> dict[str, str]:
    return {f"{HALL}.occupant_load": str(number), f"{OUT}.occupant_load": str(number), f"{HALL}.exits": "2"}


# --- 49 and 50 people -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_lever_does_for_49_people_in_assembly_and_not_for_50(edition: str) -> None:
    # Panic hardware from 50 people in Groups A and E; a latch worked by a lever is none.
    assembly = {f"{HALL}.group": "A-3", f"{HALL}.use": "assembly"}
    assert told(opening("lever-latch", assembly, people(49)), edition) == (COMPLIES, set())
    lacking = {"panic-hardware-required/by-occupancy"}
    assert told(opening("lever-latch", assembly, people(50)), edition) == (FAILS, lacking)


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_door_swings_out_from_50_people(edition: str) -> None:
    inward = {f"{OUT}.swings_with_travel": "false"}
    assert told(opening("lever-latch", inward, people(49)), edition) == (COMPLIES, set())
    assert told(opening("lever-latch", inward, people(50)), edition) == (FAILS, {"door-swing/with-travel"})


def test_an_office_of_7000_square_feet_may_swing_in_since_2018() -> None:
    # 7,000 / 100 = 70 people by the factor of 2015, 7,000 / 150 = 46.7, so 47, from 2018.
    area = {f"{HALL}.occupant_load": None, f"{HALL}.area": "7000 sq ft", f"{HALL}.area_measured": "gross"}
    data = opening("lever-latch", area, {f"{OUT}.swings_with_travel": "false", f"{HALL}.exits": "2"})
    assert told(data, "2015") == (FAILS, {"door-swing/with-travel"})
    for edition in EDITIONS[1:]:
        assert told(data, edition) == (COMPLIES, set())


# --- the button of a sensor-released magnet, in inches and in metric -------------------------------------------------

UNFREE = {"free-egress/always-free", "monitored-egress/free-or-arranged", "sensor-release/manual-release"}


@pytest.mark.parametrize("height", ["40 in", "3'-4\"", "1016 mm", "48 in", "4'-0\"", "1219 mm"])
@pytest.mark.parametrize("distance", ["5 ft", "60 in", "1524 mm"])
def test_a_button_at_the_limit_is_right_in_any_unit(height: str, distance: str) -> None:
    # 40 to 48 in (1016 to 1219 mm), within 5 ft (1524 mm): compared with what is printed in the unit of the drawing.
    data = opening("sensor-magnet", {f"{BUTTON}.height": height, f"{BUTTON}.acts.magnet.distance": distance})
    assert told(data, "2018") == (COMPLIES, set())


@pytest.mark.parametrize(
    "place",
    [{"height": h} for h in ("3'-3 7/8\"", "1015 mm", "4'-0 1/8\"", "1220 mm")]
    + [{"acts.magnet.distance": d} for d in ("5'-0 1/8\"", "1525 mm")],
)
def test_a_button_just_beside_the_limit_is_wrong_in_any_unit(place: dict[str, str]) -> None:
    data = opening("sensor-magnet", {f"{BUTTON}.{name}": value for name, value in place.items()})
    assert told(data, "2018") == (FAILS, UNFREE)


def test_a_magnet_of_a_warehouse_waits_for_2018() -> None:
    # 2015 lists the groups for sensor release, without S; from 2018 only H is barred. Known from memory for 2015.
    store = {f"{HALL}.group": "S-1", f"{HALL}.use": "storage", **people(40)}
    data = opening("sensor-magnet", store)
    barred = {"free-egress/always-free", "sensor-release/listed-group"}
    assert told(data, "2015", accept_memory=True) == (FAILS, barred)
    assert told(data, "2018") == (COMPLIES, set())
    assert told(data, "2021") == (COMPLIES, set())


# --- a magnet beside required panic hardware -----------------------------------------------------------------------

SCHOOL = {f"{HALL}.group": "E", f"{HALL}.use": "classroom", **people(60)}
BAR = {
    "kind": "panic-hardware",
    "leaf": "leaf",
    "arrangement": "ordinary-free-egress",
    "secures": ["out"],
    "security_only": "false",
    "self_locking": "false",
    "delays_egress": "false",
    "by_hand": {
        "inside": {
            "always_opens": "true",
            "operating_part": "true",
            "needs_key": "false",
            "needs_code_or_card": "false",
            "needs_special_knowledge": "false",
            "needs_special_effort": "false",
            "needs_tight_grasp": "false",
            "motions": "1",
            "operations": "1",
            "single_direction": "true",
            "shares_motion": "true",
            "height": "40 in",
        },
        "outside": {"operating_part": "false"},
    },
}
WITH_BAR = {
    "openings.d.locks.bar": BAR,
    f"{LEAF}.panic_hardware": "panic-hardware",
    f"{LEAF}.panic_listings": ["UL 305", "BHMA A156.3"],
    f"{LEAF}.actuating_length": "20 in",
    f"{LEAF}.unlatching_force": "15 lbf",
}


def test_a_sensor_released_magnet_beside_a_panic_bar_was_allowed_in_2018_and_2021_only() -> None:
    # 60 people in Group E need panic hardware. 2015 let a magnet stand beside it only if the bar itself frees it; 2018
    # and 2021 sensor release too; 2024 bars sensor release at such doors.
    data = opening("sensor-magnet", SCHOOL, WITH_BAR)
    lacking = {"panic-hardware-required/by-occupancy"}
    assert told(data, "2015", accept_memory=True) == (FAILS, lacking)
    assert told(data, "2018") == (COMPLIES, set())
    assert told(data, "2021") == (COMPLIES, set())
    verdict, unmet = told(data, "2024", accept_memory=True)
    assert verdict == FAILS
    assert unmet == lacking | {
        "free-egress/always-free",
        "monitored-egress/free-or-arranged",
        "sensor-release/no-panic-by-people",
    }


@pytest.mark.parametrize("edition", ["2018", "2021"])
def test_without_the_bar_the_magnet_alone_is_a_lock_too_many(edition: str) -> None:
    assert told(opening("sensor-magnet", SCHOOL), edition) == (FAILS, {"panic-hardware-required/by-occupancy"})


def test_an_unknown_load_passes_no_edition() -> None:
    data = opening("sensor-magnet", SCHOOL, WITH_BAR, {f"{HALL}.occupant_load": "unknown", f"{HALL}.area": "unknown"})
    assert told(data, "2024", accept_memory=True)[0] == UNDETERMINED
    data = opening("sensor-magnet", SCHOOL, {f"{HALL}.occupant_load": "unknown", f"{HALL}.area": "unknown"})
    assert told(data, "2018")[0] == UNDETERMINED


# --- delayed egress ------------------------------------------------------------------------------------------------

SHOP = "rooms.shop"


def test_a_small_classroom_may_delay_egress_since_2018() -> None:
    # 2015 bars Group E; from 2018 a classroom for fewer than 50 is in the list (the list of 2018 was read, that of
    # 2021 and 2024 is memory).
    room = {f"{SHOP}.group": "E", f"{SHOP}.use": "classroom", f"{SHOP}.occupant_load": "40"}
    data = opening("delayed-door", room)
    assert told(data, "2015") == (FAILS, {"free-egress/always-free", "delayed-egress/not-barred-group"})
    for edition in EDITIONS[1:]:
        assert told(data, edition, accept_memory=True) == (COMPLIES, set())


def test_a_courtroom_could_delay_egress_in_2018_but_had_to_have_panic_hardware_until_2021() -> None:
    # 2018 permits it at doors other than the main exit, and forgot the panic hardware of Group A; 2021 excepts it.
    court = {f"{SHOP}.group": "A-3", f"{SHOP}.use": "courtroom", f"{OUT}.main_exit": "false"}
    data = opening("delayed-door", court)
    barred = {"free-egress/always-free", "delayed-egress/not-barred-group", "panic-hardware-required/by-occupancy"}
    assert told(data, "2015") == (FAILS, barred)
    assert told(data, "2018", accept_memory=True) == (FAILS, {"panic-hardware-required/by-occupancy"})
    assert told(data, "2021", accept_memory=True) == (COMPLIES, set())


@pytest.mark.parametrize("edition", EDITIONS)
def test_two_delayed_doors_in_a_path_are_one_too_many_in_every_edition(edition: str) -> None:
    data = opening("delayed-door", {"openings.e.locks.second.delays_egress": "true"})
    verdict, unmet = told(data, edition, accept_memory=True)
    assert verdict == FAILS
    assert {"delayed-egress/one-per-path", "free-egress/always-free"} <= unmet


# --- places that got a clause of their own --------------------------------------------------------------------------


def test_an_elevator_lobby_may_be_locked_only_since_2024() -> None:
    # No arrangement before 2024. Its conditions are memory, and a permission from memory excuses nothing by itself.
    data = opening("elevator-lobby-door")
    for edition in EDITIONS[:3]:
        assert told(data, edition) == (FAILS, {"free-egress/always-free", "free-egress/no-special-knowledge"})
    assert told(data, "2024") == (UNDETERMINED, set())
    assert told(data, "2024", accept_memory=True) == (COMPLIES, set())


def test_a_key_lock_to_a_courtyard_is_permitted_since_2021() -> None:
    data = opening("exterior-key-lock")
    for edition in EDITIONS[:2]:
        verdict, unmet = told(data, edition)
        assert verdict == FAILS
        assert {"free-egress/always-free", "free-egress/no-key"} <= unmet
    for edition in EDITIONS[2:]:
        assert told(data, edition, accept_memory=True) == (COMPLIES, set())


def test_electrical_equipment_of_1000_amperes_counts_since_2021() -> None:
    # Up to 2018 1,200 A and more than 6 ft wide; from 2021 800 A with the door less than 25 ft away.
    room = {
        f"{HALL}.use": "electrical",
        f"{HALL}.equipment_amperes": "1000 A",
        f"{HALL}.equipment_width": "7 ft",
        f"{HALL}.has_overcurrent_switching_or_control_devices": "true",
        f"{OUT}.within_working_space_distance": "24 ft",
    }
    data = opening("lever-latch", room)
    for edition in EDITIONS[:2]:
        assert told(data, edition) == (COMPLIES, set())
    for edition in EDITIONS[2:]:
        assert told(data, edition) == (FAILS, {"panic-hardware-required/electrical-equipment"})
    far = opening("lever-latch", room, {f"{OUT}.within_working_space_distance": "25 ft"})
    assert told(far, "2021") == (COMPLIES, set())


# --- hardware and leaf ---------------------------------------------------------------------------------------------


def test_turning_and_then_pulling_is_one_operation_and_two_motions() -> None:
    # Up to 2018 one operation frees the door, from 2021 one motion.
    data = opening("lever-latch", {f"{LATCH}.by_hand.inside.motions": "2"})
    for edition in EDITIONS[:2]:
        assert told(data, edition) == (COMPLIES, set())
    for edition in EDITIONS[2:]:
        assert told(data, edition) == (FAILS, {"unlatching/one-motion"})


def test_a_leaf_of_50_inches_is_too_wide_until_2021() -> None:
    data = opening("lever-latch", {f"{LEAF}.width": "50 in", "openings.d.power_operated": "false"})
    for edition in EDITIONS[:2]:
        assert told(data, edition) == (FAILS, {"door-clear-width/leaf-width"})
    for edition in EDITIONS[2:]:
        assert told(data, edition) == (COMPLIES, set())
    at_the_limit = opening("lever-latch", {f"{LEAF}.width": "1219 mm", "openings.d.power_operated": "false"})
    assert told(at_the_limit, "2018") == (COMPLIES, set())


def test_a_leaf_with_an_operator_may_take_15_lbf_since_2021() -> None:
    # 5 lbf for an interior door; from 2021 a power-operated one may take 15 lbf (30 to set it in motion) by hand.
    forces = {f"{LEAF}.opening_force": "15 lbf", f"{LEAF}.motion_force": "30 lbf"}
    data = opening("lever-latch", forces, {"openings.d.power_operated": "true"})
    for edition in EDITIONS[:2]:
        assert told(data, edition) == (FAILS, {"opening-force/interior"})
    found = answer(data, "ibc@2021")  # what else is asked of its drive is not described
    assert verdict_of(found, "ibc.opening-force/interior") == MET
    assert with_verdict(found, UNMET) == set()
    by_hand = opening("lever-latch", forces, {"openings.d.power_operated": "false"})
    assert told(by_hand, "2021") == (FAILS, {"opening-force/interior"})
