"""Whole doors on which editions of the Life Safety Code, or that code and the building code, disagree.

The openings are invented: an example base of the rules with a few facts changed. Why each comes out as it does stands
beside it. Memory is accepted, since much of the Life Safety Code is known from it.
"""

from __future__ import annotations

from typing import Any

import pytest

from clauseway.answers.finding import COMPLIES, FAILS, MET, NEEDS_APPROVAL, NOT_APPLICABLE, UNDETERMINED, UNMET, Answer
from support import doors
from support.doors import opening

FREE = "free-egress/always-free"


def answer(data: dict[str, Any], code: str) -> Answer:
    return doors.answer(data, code, accept_memory=True)


def unmet(found: Answer) -> set[str]:
    """The conditions of the code that are not met, without its name."""
    own = (finding for finding in found.findings if finding.code not in ("engineering", "described"))
    return {finding.id.partition(".")[2] for finding in own if finding.verdict == UNMET}


def verdict_of(found: Answer, condition: str) -> str:
    """The one verdict of a condition, wherever it asks something."""
    asked = [finding for finding in found.findings if finding.id.partition(".")[2] == condition]
    (verdict,) = {finding.verdict for finding in asked} - {NOT_APPLICABLE}
    return verdict


LATCH = "openings.d.locks.latch"
HALL = "rooms.hall"
MAGNET = "openings.d.locks.magnet"
DELAYED = "openings.d.locks.delayed"
LEVER = "openings.d.locks.lever"

LEAF = {
    "openings.d.power_operated": "false",
    "openings.d.leaves.leaf.unlatching_force": "5 lbf",
    "openings.d.leaves.leaf.closing_device": "door-closer",
}
"""What the Life Safety Code asks of any leaf."""

ASSEMBLY = {
    f"{HALL}.group": "A-3",
    f"{HALL}.use": "assembly",
    f"{HALL}.life_safety_occupancy": "assembly",
    f"{HALL}.high_hazard": "false",
    f"{HALL}.exits": "2",
}

DELAYED_RIGHT = {
    "building.sprinklers_supervised": "true",
    "rooms.shop.high_hazard": "false",
    f"{DELAYED}.initiation_force": "15 lbf",
    f"{DELAYED}.by_hand.inside.needs_tool": "false",
    "openings.d.leaves.leaf.release_can_be_blocked": "false",
    "openings.d.signs.notice.beside_release": "true",
    "openings.d.signs.notice.readily_visible": "true",
    "openings.d.signs.notice.durable": "true",
    "openings.d.signs.notice.contrast": "true",
    "openings.d.signs.notice.letter_height": "1 in",
    "openings.d.signs.notice.stroke_width": "0.125 in",
}
"""A delayed door that meets both codes, wherever it is permitted."""


# --- panic hardware: from 50 people under the one code, from 100 under the other ------------------------------------


def hall_of(people: int) -> dict[str, Any]:
    return opening("lever-latch", LEAF, ASSEMBLY, {f"{HALL}.occupant_load": str(people)})


def test_a_lever_on_a_hall_for_60_lacks_panic_hardware_under_the_building_code_only() -> None:
    # IBC: Group A with 50 or more. NFPA 101: an assembly occupancy with 100 or more.
    ibc = answer(hall_of(60), "ibc@2021")
    assert ibc.verdict == FAILS
    assert unmet(ibc) == {"panic-hardware-required/by-occupancy"}
    assert answer(hall_of(60), "nfpa101@2021").verdict == COMPLIES


@pytest.mark.parametrize("edition", ["2012", "2015", "2018", "2021", "2024"])
def test_the_life_safety_code_asks_for_panic_hardware_from_100(edition: str) -> None:
    assert unmet(answer(hall_of(99), f"nfpa101@{edition}")) == set()
    assert unmet(answer(hall_of(100), f"nfpa101@{edition}")) == {"panic-hardware-required/by-occupancy"}


def test_a_business_with_100_people_needs_no_panic_hardware_in_either_code() -> None:
    # The number alone asks for nothing: the occupancy must be assembly, educational or day care.
    data = opening("lever-latch", LEAF, {f"{HALL}.occupant_load": "100", f"{HALL}.high_hazard": "false"})
    for code in ("ibc@2021", "nfpa101@2021"):
        assert "panic-hardware-required/by-occupancy" not in unmet(answer(data, code))


# --- delayed egress: assembly, and the number of doors in a path ----------------------------------------------------


def delayed_hall(main_exit: str) -> dict[str, Any]:
    place = {
        "rooms.shop.group": "A-3",
        "rooms.shop.use": "assembly",
        "rooms.shop.life_safety_occupancy": "assembly",
        "openings.d.passages.out.main_exit": main_exit,
    }
    return opening("delayed-door", LEAF, DELAYED_RIGHT, place)


def test_delayed_egress_in_assembly_is_barred_by_the_building_code_and_permitted_by_the_life_safety_code() -> None:
    # IBC 2018 lists Groups B, F, I, M, R, S, U, small classrooms and courtrooms; NFPA 101 chapters 12 and 13 permit it.
    ibc = answer(delayed_hall("false"), "ibc@2018")
    assert ibc.verdict == FAILS
    assert {FREE, "delayed-egress/place"} <= unmet(ibc)
    assert answer(delayed_hall("false"), "nfpa101@2018").verdict == COMPLIES


def test_at_the_main_entrance_of_an_assembly_hall_both_codes_bar_it() -> None:
    # Chapters 12 and 13 leave out the main entrance and exit.
    found = answer(delayed_hall("true"), "nfpa101@2018")
    assert found.verdict == FAILS
    assert unmet(found) >= {FREE, "delayed-egress/assembly-not-main-exit"}
    assert answer(delayed_hall("true"), "ibc@2018").verdict == FAILS


def test_two_delayed_doors_in_a_row_are_one_too_many_for_the_building_code_and_for_a_lodging_house() -> None:
    # NFPA 101 has no limit in chapter 7; only the lodging chapter (and small board and care) allows one to a path.
    second = {"openings.e.locks.second.delays_egress": "true"}
    shop = opening("delayed-door", LEAF, DELAYED_RIGHT, second)
    assert "delayed-egress/one-per-path" in unmet(answer(shop, "ibc@2018"))
    assert answer(shop, "nfpa101@2018").verdict == COMPLIES
    lodging = opening(
        "delayed-door", LEAF, DELAYED_RIGHT, second, {"rooms.shop.life_safety_occupancy": "lodging-rooming"}
    )
    assert "delayed-egress/one-per-path" in unmet(answer(lodging, "nfpa101@2018"))


def test_only_the_life_safety_code_puts_a_number_on_the_force_that_starts_the_delay() -> None:
    # 15 lbf in NFPA 101; the IBC has had no number since 2015.
    data = opening("delayed-door", LEAF, DELAYED_RIGHT, {f"{DELAYED}.initiation_force": "15.1 lbf"})
    assert "delayed-egress/initiation-force" in unmet(answer(data, "nfpa101@2018"))
    assert answer(data, "ibc@2018").verdict == COMPLIES


# --- sensor release: an assembly hall while people are in it, and light at the door ---------------------------------


def sensor_hall(locked_while_occupied: str) -> dict[str, Any]:
    few = {f"{HALL}.occupant_load": "40", f"{MAGNET}.locked_while_occupied": locked_while_occupied}
    return opening("sensor-magnet", LEAF, ASSEMBLY, few)


def test_a_sensor_released_door_of_an_assembly_hall_may_not_be_locked_while_people_are_inside() -> None:
    # IBC 2018 permits sensor release in Group A at any time; NFPA 101 12.2.2.2.6 only while nobody is there.
    locked, free = sensor_hall("true"), sensor_hall("false")
    assert unmet(answer(locked, "ibc@2018")) == set()
    found = answer(locked, "nfpa101@2018")
    assert found.verdict == FAILS
    assert unmet(found) == {FREE, "sensor-release/assembly-not-locked-while-occupied"}
    assert FREE not in unmet(answer(free, "nfpa101@2018"))
    unsaid = answer(opening("sensor-magnet", LEAF, ASSEMBLY, {f"{HALL}.occupant_load": "40"}), "nfpa101@2018")
    assert verdict_of(unsaid, "sensor-release/assembly-not-locked-while-occupied") == UNDETERMINED
    assert verdict_of(unsaid, FREE) == UNDETERMINED


def test_a_new_sensor_released_door_without_emergency_light_does_for_the_building_code_only() -> None:
    # NFPA 101 7.9.1.1(6) asks for emergency lighting at new sensor-released doors and spares existing ones.
    dark = {"openings.d.sides.inside.emergency_lighting": "false", f"{HALL}.high_hazard": "false"}
    new = opening("sensor-magnet", LEAF, dark)
    assert FREE not in unmet(answer(new, "ibc@2018"))
    assert unmet(answer(new, "nfpa101@2018")) == {FREE, "sensor-release/emergency-lighting"}
    existing = opening("sensor-magnet", LEAF, dark, {"openings.d.work": "existing-untouched"})
    assert unmet(answer(existing, "nfpa101@2018")) == set()


@pytest.mark.parametrize("code", ["ibc@2018", "nfpa101@2012", "nfpa101@2018", "nfpa101@2024"])
def test_on_the_button_beside_the_door_both_codes_agree(code: str) -> None:
    # 40 to 48 in, the power cut by the button itself, 30 s: a button that only tells the controller fails everywhere.
    wired = {
        "openings.d.devices.button.acts.magnet.how": "signals-controller",
        f"{HALL}.high_hazard": "false",
    }
    found = answer(opening("sensor-magnet", LEAF, wired), code)
    assert {FREE, "sensor-release/manual-release"} <= unmet(found)


def test_sensor_release_in_a_storage_building_asks_the_chapter_and_not_the_group() -> None:
    # IBC 2015 lists groups, without S; NFPA 101-2015 permits it in chapter 42. Detention is in no list of NFPA 101.
    store = {f"{HALL}.group": "S-1", f"{HALL}.use": "storage", f"{HALL}.life_safety_occupancy": "storage"}
    data = opening("sensor-magnet", LEAF, store, {f"{HALL}.high_hazard": "false"})
    assert "sensor-release/listed-group" in unmet(answer(data, "ibc@2015"))
    assert unmet(answer(data, "nfpa101@2015")) == set()


# --- elevator lobbies -----------------------------------------------------------------------------------------------

LOBBY = {
    "building.new_high_rise": "false",
    "building.sprinklers_supervised": "true",
    "building.sprinkler_flow_starts_alarm": "true",
    "rooms.lobby.life_safety_occupancy": "hospital",
    "rooms.lobby.high_hazard": "false",
    "rooms.lobby.smoke_detection_supervised": "true",
    "rooms.lobby.smoke_detection_notifies": "true",
    f"{MAGNET}.on.fire-alarm.stays_latched": "false",
    f"{MAGNET}.by_hand.lobby.needs_tool": "false",
    "openings.d.sides.lobby.communication_staffed": "true",
    "openings.d.sides.lobby.communication_staff_trained": "true",
}


def test_a_locked_elevator_lobby_of_a_hospital() -> None:
    # IBC had no clause on it before 2024; NFPA 101 has had one since 2009, and chapter 18 permits it.
    data = opening("elevator-lobby-door", LEAF, LOBBY)
    assert FREE in unmet(answer(data, "ibc@2018"))
    assert answer(data, "nfpa101@2012").verdict == COMPLIES
    assert answer(data, "nfpa101@2018").verdict == COMPLIES
    # A manual box need not unlock the door, the fire alarm otherwise must.
    deaf = opening("elevator-lobby-door", LEAF, LOBBY, {f"{MAGNET}.on.fire-alarm.unlocks": "false"})
    assert {FREE, "elevator-lobby/fire-alarm"} <= unmet(answer(deaf, "nfpa101@2018"))


def test_what_was_not_read_of_elevator_lobbies_stays_undetermined() -> None:
    # The permission was read for health care only, and the text of 2021 not at all.
    office = opening("elevator-lobby-door", LEAF, LOBBY, {"rooms.lobby.life_safety_occupancy": "business"})
    assert verdict_of(answer(office, "nfpa101@2018"), FREE) == UNDETERMINED
    hospital = opening("elevator-lobby-door", LEAF, LOBBY)
    assert verdict_of(answer(hospital, "nfpa101@2021"), FREE) == UNDETERMINED


# --- stairs ---------------------------------------------------------------------------------------------------------

STAIR = {"rooms.offices.high_hazard": "false", "stairs.s1.selected_reentry": "false"}
BACK = {
    f"{LEVER}.by_hand.stair.needs_key": "false",
    f"{LEVER}.by_hand.stair.needs_code_or_card": "false",
    f"{LEVER}.by_hand.stair.needs_special_knowledge": "false",
}


def stair(stories: int, alarm: str, remote: str) -> dict[str, Any]:
    facts = {
        "stairs.s1.stories_served": str(stories),
        f"{LEVER}.on.fire-alarm.unlocks": alarm,
        f"{LEVER}.on.remote-command.unlocks": remote,
    }
    return opening("stair-door", LEAF, STAIR, BACK, facts)


def test_who_unlocks_a_tall_stair() -> None:
    # IBC 2018: a switch inside the main entrance. NFPA 101: the fire alarm, by itself. Neither accepts the other's.
    by_alarm, by_switch = stair(6, "true", "false"), stair(6, "false", "true")
    assert "stair-doors/opens-from-stair" in unmet(answer(by_alarm, "ibc@2018"))
    assert unmet(answer(by_alarm, "nfpa101@2018")) == set()
    assert "stair-doors/opens-from-stair" not in unmet(answer(by_switch, "ibc@2018"))
    assert unmet(answer(by_switch, "nfpa101@2018")) == {"stair-reentry/lets-people-back"}


def test_a_stair_of_four_stories_may_stay_locked_under_the_life_safety_code() -> None:
    # NFPA 101 asks for re-entry above four stories only; the IBC exempts no height from remote release.
    data = stair(4, "false", "false")
    assert unmet(answer(data, "nfpa101@2018")) == set()
    assert "stair-doors/opens-from-stair" in unmet(answer(data, "ibc@2018"))


# --- health care ----------------------------------------------------------------------------------------------------


def test_a_memory_care_unit_whose_lock_no_alarm_releases() -> None:
    # NFPA 101 18.2.2.2.5.1: staff who can unlock at all times are enough. IBC controlled egress asks for release by
    # fire systems. CMS enforces the edition of 2012.
    deaf = {f"{MAGNET}.on.{event}.unlocks": "false" for event in ("fire-alarm", "sprinkler-flow", "detection")}
    data = opening("memory-care-door", LEAF, deaf, {"rooms.ward.high_hazard": "false", "rooms.ward.exits": "2"})
    assert FREE in unmet(answer(data, "ibc@2018"))
    assert answer(data, "nfpa101@2012").verdict == COMPLIES


def test_a_second_lock_on_such_a_door_waits_for_the_authority() -> None:
    # 18.2.2.2.6: one locking device on each door, more with approval.
    bolt = {"kind": "powered-bolt", "arrangement": "controlled-egress", "secures": ["out"], "leaf": "leaf"}
    two = opening("memory-care-door", LEAF, {"rooms.ward.high_hazard": "false", "openings.d.locks.bolt": bolt})
    two["openings"]["d"]["locks"]["bolt"]["by_hand"] = {"inside": {"always_opens": "false"}}
    assert verdict_of(answer(two, "nfpa101@2012"), "clinical-needs-locking/one-lock") == NEEDS_APPROVAL


# --- editions -------------------------------------------------------------------------------------------------------

SCHOOL = {
    "rooms.classroom.high_hazard": "false",
    "rooms.classroom.life_safety_existing": "true",
    f"{LEVER}.approved_locking_means": "true",
    f"{LEVER}.locks_without_opening": "true",
    f"{LEVER}.in_emergency_plan": "true",
    f"{LEVER}.staff_drilled": "true",
    f"{LEVER}.by_hand.inside.needs_tool": "false",
    f"{LEVER}.by_hand.inside.shares_motion": "false",
}


@pytest.mark.parametrize(
    ("code", "existing", "fails"),
    [
        ("nfpa101@2015", "true", True),  # before the clause on classrooms
        ("nfpa101@2018", "true", False),  # interim amendment 1436: two operations, one after the other
        ("nfpa101@2021", "true", False),  # carried on
        ("nfpa101@2018", "false", True),  # in existing schools only
        ("ibc@2018", "true", True),  # never under the building code
    ],
)
def test_a_second_bolt_against_intruders_in_a_classroom(code: str, existing: str, fails: bool) -> None:
    data = opening("classroom-lock", LEAF, SCHOOL, {"rooms.classroom.life_safety_existing": existing})
    condition = "unlatching/all-together" if code.startswith("ibc") else "releasing-device/all-together"
    assert verdict_of(answer(data, code), condition) == (UNMET if fails else MET)


def test_an_office_floor_of_60000_square_feet_needs_a_third_way_out_until_2015() -> None:
    # 100 sq ft for each person until 2015 give 600 people, 150 from 2018 give 400; above 500 three are asked for.
    floor = {f"{HALL}.area": "60000 ft2", f"{HALL}.area_measured": "gross", f"{HALL}.exits": "2"}
    data = opening("lever-latch", LEAF, floor, {f"{HALL}.occupant_load": None, f"{HALL}.high_hazard": "false"})
    assert verdict_of(answer(data, "nfpa101@2015"), "number-of-exits/three") == UNMET
    assert verdict_of(answer(data, "nfpa101@2018"), "number-of-exits/three") == MET


def test_a_magnet_released_by_its_panic_bar_is_not_judged_where_the_text_moved() -> None:
    # 7.2.1.5.6 until 2018; from 2021 in 7.2.1.6, which was not read.
    wired = {
        f"{HALL}.high_hazard": "false",
        "openings.d.devices.bar.acts.magnet.unlocks_on_device_power_loss": "true",
        "openings.d.leaves.leaf.release_can_be_blocked": "false",
        f"{LATCH}.by_hand.inside.needs_tool": "false",
        f"{MAGNET}.by_hand.inside.needs_tool": "false",
    }
    data = opening("touch-bar-magnet", LEAF, wired)
    assert answer(data, "nfpa101@2018").verdict == COMPLIES
    assert answer(data, "nfpa101@2021").verdict == UNDETERMINED
    assert unmet(answer(data, "nfpa101@2021")) == set()


def test_a_lock_used_only_for_security_has_no_free_choice_of_height() -> None:
    # IBC 1010.2.3 lets it be at any height; NFPA 101 keeps it within 34 to 48 in.
    high = {f"{LATCH}.security_only": "true", f"{LATCH}.by_hand.inside.height": "60 in", f"{HALL}.high_hazard": "false"}
    data = opening("lever-latch", LEAF, high)
    assert "hardware-height/height" not in unmet(answer(data, "ibc@2021"))
    assert unmet(answer(data, "nfpa101@2021")) == {"releasing-device/height"}


@pytest.mark.parametrize("occupancy", ["business", "one-two-family-dwelling", "lodging-rooming", "hospital"])
def test_what_was_not_read_of_an_arrangement_spares_no_lock_that_is_none_of_it(occupancy: str) -> None:
    # An assumption about elevator lobbies, key locks or delayed egress leaves a plain lock to be judged.
    shut = {f"{LATCH}.by_hand.inside.always_opens": "false", f"{HALL}.high_hazard": "false"}
    data = opening("lever-latch", LEAF, shut, {f"{HALL}.life_safety_occupancy": occupancy})
    assert FREE in unmet(answer(data, "nfpa101@2018"))
