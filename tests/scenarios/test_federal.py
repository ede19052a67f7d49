"""Doors under federal rules and the standards that the building codes refer to, where those disagree with one another.

The openings are invented: an example base of the rules with a few facts changed. Why each comes out as it does stands
beside it.
"""

from __future__ import annotations

import pytest

from clauseway.answers.finding import COMPLIES, FAILS, MET, UNDETERMINED, UNMET
from support.doors import answer, opening, report, with_verdict

UNSAID = "unknown"


LEAF = "openings.d.leaves.leaf"
LATCH = "openings.d.locks.latch"
MAGNET = "openings.d.locks.magnet"
INSIDE = "openings.d.sides.inside"


# --- ADA beside the building code -----------------------------------------------------------------------------


def test_a_lever_door_with_closer_and_reader_meets_the_federal_standards() -> None:
    # Every fact stated, 48 in deep with 12 in beside the latch asked on the push side, 60 and 18 on the other. Only
    # the tactile sign is from memory (216.4.1), and it is a requirement, so it permits nothing.
    found = answer(opening("accessible-door"), "ada@2010")
    assert with_verdict(found, UNMET) == set()
    assert found.verdict == COMPLIES


def test_panic_hardware_of_15_lbf_passes_the_building_code_and_fails_the_federal_limit_of_5() -> None:
    # IBC 1010.2.9.3 item 3 allows 15 lbf; ADA 309.4 allows 5 lbf for any operable part.
    door = opening("panic-bar", {"openings.d.security_operated": "false"})
    both = answer(door, "ibc@2021", "ada@2010")
    assert "ibc.panic-hardware-installation/unlatching-force" in with_verdict(both, MET)
    assert "ada.hardware/force" in with_verdict(both, UNMET)
    assert both.verdict == FAILS
    light = answer(opening("panic-bar", {f"{LEAF}.unlatching_force": "5 lbf"}), "ibc@2021", "ada@2010")
    assert {"ada.hardware/force", "ibc.panic-hardware-installation/unlatching-force"} <= with_verdict(light, MET)


def test_an_unknown_force_passes_neither() -> None:
    door = opening("panic-bar", {"openings.d.security_operated": "false", f"{LEAF}.unlatching_force": UNSAID})
    assert {
        "ada.hardware/force",
        "ibc.panic-hardware-installation/unlatching-force",
    } <= with_verdict(answer(door, "ibc@2021", "ada@2010"), UNDETERMINED)


def test_the_accessibility_standard_moved_from_5_to_15_lbf_between_its_editions() -> None:
    # A117.1-2017, which IBC 2021 refers to, allows 15 lbf pushed; 2009, which IBC 2018 refers to, 5 lbf.
    bar = opening("panic-bar", {"openings.d.locks.bar.by_hand.inside.hardware": "panic-bar"})
    assert "a117-1.hardware-force/force" in with_verdict(answer(bar, "a117-1@2009"), UNMET)
    assert "a117-1.hardware-force/push-or-pull" in with_verdict(answer(bar, "a117-1@2017"), MET)


@pytest.mark.parametrize(
    ("height", "ibc_2018", "ibc_2021", "ada"),
    [
        ("80 in", MET, MET, MET),
        # 2021 put magnets beside closers and stops at 78 in; the federal text names closers and stops only.
        ("78 in", UNMET, MET, UNMET),
        ("77.9 in", UNMET, UNMET, UNMET),
    ],
)
def test_a_magnet_at_78_in_passes_only_the_building_code_of_2021(
    height: str, ibc_2018: str, ibc_2021: str, ada: str
) -> None:
    door = opening("sensor-magnet", {f"{MAGNET}.head_clearance": height})
    assert "ibc.projections/head-clearance" in with_verdict(answer(door, "ibc@2018", "ada@2010"), ibc_2018)
    found = answer(door, "ibc@2021", "ada@2010")
    assert "ibc.projections/head-clearance" in with_verdict(found, ibc_2021)
    assert "ada.headroom/head-clearance" in with_verdict(found, ada)


def test_a_lock_used_only_for_security_may_sit_at_60_in_under_the_building_code_alone() -> None:
    # IBC 1010.2.3 lets locks that serve only security sit at any height; ADA 404.2.7 has no such exception.
    door = opening("accessible-door", {f"{LATCH}.by_hand.inside.height": "60 in", f"{LATCH}.security_only": "true"})
    found = answer(door, "ibc@2021", "ada@2010")
    assert "ibc.hardware-height/height" in with_verdict(found, MET)
    assert "ada.hardware/height" in with_verdict(found, UNMET)


def test_a_device_low_enough_to_reach_is_too_low_for_the_building_code() -> None:
    # ADA 308 reaches down to 15 in; the button of IBC 1010.2.12 item 4 sits between 40 and 48 in.
    button = "openings.d.devices.button"
    said = {"place": "at-the-door", "on_leaf": "false", "reach": "forward", "reach_depth": "0 in"}
    changes = {f"{button}.{name}": value for name, value in said.items()}
    for height, ibc in (("15 in", UNMET), ("40 in", MET), ("48 in", MET)):
        found = answer(opening("sensor-magnet", {**changes, f"{button}.height": height}), "ibc@2021", "ada@2010")
        assert "ada.operable-parts/height" in with_verdict(found, MET)
        assert "ibc.sensor-release/manual-release" in with_verdict(found, ibc)


def test_a_planter_before_the_button_takes_it_out_of_reach_at_a_height_that_is_right_without_it() -> None:
    # 48 in is right with nothing in the way; over 21 in the highest forward reach is 44 in.
    reader = "openings.d.devices.reader"
    free = answer(opening("accessible-door", {f"{reader}.height": "48 in"}), "ada@2010")
    assert free.verdict == COMPLIES
    planted = answer(
        opening("accessible-door", {f"{reader}.height": "48 in", f"{reader}.reach_depth": "21 in"}), "ada@2010"
    )
    assert with_verdict(planted, UNMET) == {"ada.operable-parts/forward-reach"}


@pytest.mark.parametrize(
    ("approach", "depth", "latch", "hinge", "verdict"),
    [
        # The push side of a door with closer and latch, row by row of Table 404.2.4.1, missed by a tenth of an inch.
        ("front", "48 in", "12 in", "0 in", COMPLIES),
        ("front", "48 in", "11.9 in", "0 in", FAILS),
        ("hinge-side", "48 in", "0 in", "22 in", COMPLIES),
        ("hinge-side", "47.9 in", "0 in", "22 in", FAILS),
        ("latch-side", "48 in", "24 in", "0 in", COMPLIES),
        ("latch-side", "48 in", "23.9 in", "0 in", FAILS),
        # What was not measured is not enough.
        ("latch-side", "48 in", UNSAID, "0 in", UNDETERMINED),
    ],
)
def test_the_room_before_a_door_depends_on_the_way_one_comes(
    approach: str, depth: str, latch: str, hinge: str, verdict: str
) -> None:
    changes = {
        f"{INSIDE}.approaches": [approach],
        f"{INSIDE}.clear_depth": depth,
        f"{INSIDE}.latch_clearance": latch,
        f"{INSIDE}.hinge_clearance": hinge,
    }
    assert answer(opening("accessible-door", changes), "ada@2010").verdict == verdict


def test_an_opening_that_no_rule_makes_accessible_is_not_judged_by_the_width_rules() -> None:
    found = answer(opening("accessible-door", {"openings.d.required_accessible": "false"}), "ada@2010")
    assert "ada.clear-width/width" not in with_verdict(found, MET) | with_verdict(found, UNMET)


# --- workplaces -----------------------------------------------------------------------------------------------


def test_the_workplace_rule_counts_more_than_50_where_the_building_code_counts_50() -> None:
    # 50 people and a door that swings inward: IBC 1010.1.2.1 says 50 or more, 1910.36(e)(2) says more than 50.
    door = opening("alarm-released-magnet", {"openings.d.passages.out.swings_with_travel": "false"})
    for people, osha in (("50", "not-applicable"), ("51", UNMET)):
        door["rooms"]["hall"]["occupant_load"] = people
        found = answer(door, "ibc@2021", "osha@2011")
        assert "ibc.door-swing/with-travel" in with_verdict(found, UNMET)
        assert "osha.exit-doors/swing" in with_verdict(found, osha)


def test_a_magnet_freed_only_by_a_wall_button_violates_the_workplace_rule_unless_another_code_is_shown() -> None:
    # The letter of 1981: a device that must be pressed before the hardware works violates 1910.36(d)(1).
    button = {"openings.d.devices.sensor.kind": "push-button"}
    alone = answer(opening("alarm-released-magnet", button), "osha@2011")
    assert with_verdict(alone, UNMET) == {"osha.exit-doors-unlocked/nothing-to-press-first"}
    shown = answer(opening("alarm-released-magnet", {**button, "building.shown_egress_code": "IFC-2009"}), "osha@2011")
    assert shown.verdict == COMPLIES
    unsaid = answer(opening("alarm-released-magnet", {**button, "building.shown_egress_code": UNSAID}), "osha@2011")
    assert unsaid.verdict == UNDETERMINED


def test_a_door_28_in_wide_does_for_a_workplace_and_for_nobody_else() -> None:
    # 1910.36(g)(2) asks 28 in; ADA 404.2.3 and IBC 1010.1.1 ask 32 in.
    found = answer(opening("alarm-released-magnet"), "osha@2011", "ada@2010", "ibc@2021")
    assert "osha.exit-doors/width" in with_verdict(found, MET)
    assert {"ada.clear-width/width", "ibc.door-clear-width/width"} <= with_verdict(found, UNMET)


# --- fire doors and the fire alarm ----------------------------------------------------------------------------


def test_a_fail_safe_strike_on_a_fire_door_is_the_usual_mistake_at_stairs() -> None:
    # Stair re-entry wants the stair side free without power; NFPA 80 wants the strike locked so that the door latches.
    found = answer(opening("fire-door-strike", {"openings.d.locks.strike.fail_mode": "fail-safe"}), "nfpa80@2016")
    assert with_verdict(found, UNMET) == {"nfpa80.fire-door-hardware/strike-fail-secure"}
    assert answer(opening("fire-door-strike"), "nfpa80@2016").verdict == COMPLIES


def test_the_gap_of_a_20_minute_wood_door_was_eased_in_2016() -> None:
    # 3/16 in at the edges of a wood door in a steel frame: the upper limit was 1/8 in for every wood door up to 2013.
    door = opening(
        "fire-door-strike",
        {
            "openings.d.fire_rating": "20 min",
            f"{LEAF}.material": "wood",
            f"{LEAF}.edge_clearance_most": "3/16 in",
        },
    )
    for edition in ("2010", "2013"):
        assert with_verdict(answer(door, f"nfpa80@{edition}"), UNMET) == {"nfpa80.clearances/other-edges"}
    for edition in ("2016", "2019", "2022"):
        # That it stood on in 2022 is memory.
        assert answer(door, f"nfpa80@{edition}", accept_memory=True).verdict == COMPLIES


def test_a_hole_larger_than_1_in_is_a_matter_of_listing_only_since_2016() -> None:
    door = opening("fire-door-strike", {f"{LEAF}.field_hole": "1 1/4 in", f"{LEAF}.larger_hole_listed": "true"})
    for edition in ("2010", "2013"):
        assert with_verdict(answer(door, f"nfpa80@{edition}"), UNMET) == {"nfpa80.field-preparation/holes"}
    for edition in ("2016", "2019", "2022"):
        assert answer(door, f"nfpa80@{edition}").verdict == COMPLIES


def test_the_battery_of_the_fire_alarm_may_hold_a_door_for_ten_minutes_and_the_locks_own_supply_for_longer() -> None:
    # 21.10.3 speaks of the secondary supply of the fire alarm; 21.10.4 exempts a supply of the locks' own that lets go
    # without power. The building code's sensor release does not ask about batteries at all.
    held = {f"{MAGNET}.on.loss-of-mains.within": "4 h"}
    own = answer(opening("alarm-released-magnet", held), "nfpa72@2019")
    assert own.verdict == COMPLIES
    panel = answer(
        opening("alarm-released-magnet", {**held, "supplies.psu.from_fire_alarm_unit": "true"}), "nfpa72@2019"
    )
    assert with_verdict(panel, UNMET) == {"nfpa72.electrically-locked-doors/standby"}
    unsaid = answer(
        opening("alarm-released-magnet", {**held, "supplies.psu.from_fire_alarm_unit": UNSAID}), "nfpa72@2019"
    )
    assert "nfpa72.electrically-locked-doors/standby" in with_verdict(unsaid, UNDETERMINED)


@pytest.mark.parametrize(
    ("edition", "section"),
    [("2010", "21.9.3"), ("2013", "21"), ("2016", "21"), ("2019", "21.10.3"), ("2022", "21.10.3")],
)
def test_the_ten_minute_rule_cites_the_section_of_its_edition_or_the_chapter_where_that_is_not_settled(
    edition: str, section: str
) -> None:
    found = answer(opening("alarm-released-magnet"), f"nfpa72@{edition}")
    cited = [each for each in found.findings if each.id == "nfpa72.electrically-locked-doors/standby"]
    assert {citation.section for finding in cited for citation in finding.citations} == {section}


# --- health care ----------------------------------------------------------------------------------------------


def test_a_magnet_alone_does_not_latch_a_corridor_door_of_a_certified_hospital() -> None:
    # The building code has nothing against a bare magnet on a door that is not fire-rated; 42 CFR 482.41 asks a latch.
    care = {"building.federal_health_program": "true", "openings.d.corridor_to_care": "true"}
    bare = {f"{LEAF}.positive_latching": "false", f"{LEAF}.roller_latch": "false"}
    certified = answer(opening("sensor-magnet", {**care, **bare}), "ibc@2021", "cms@2016")
    assert with_verdict(certified, UNMET) == {"cms.corridor-latching/latches"}
    private = answer(
        opening("sensor-magnet", {**care, **bare, "building.federal_health_program": "false"}), "ibc@2021", "cms@2016"
    )
    assert with_verdict(private, UNMET) == set()


# --- electrical code ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", ["2014", "2017", "2020", "2023"])
def test_the_electrical_code_looks_at_25_ft_where_the_ibc_of_2018_looked_at_1200_amperes(
    edition: str,
) -> None:
    # 800 A within 25 ft: panic hardware by NEC 110.26(C)(3) since 2014; IBC 2018 begins at 1,200 A.
    door = opening(
        "lever-latch",
        {
            "rooms.hall.use": "electrical",
            "rooms.hall.equipment_amperes": "800 A",
            "rooms.hall.equipment_width": "10 ft",
            "rooms.hall.has_overcurrent_switching_or_control_devices": "true",
            "openings.d.passages.out.within_working_space_distance": "20 ft",
        },
    )
    found = answer(door, "ibc@2018", f"nec@{edition}")
    assert "nec.electrical-room-panic/panic-hardware" in with_verdict(found, UNMET)
    assert not any(each.startswith("ibc.panic-hardware-required/electrical") for each in with_verdict(found, UNMET))


def test_a_supply_of_10_amperes_at_24_volts_is_no_class_2_source() -> None:
    for current, verdict in (("4 A", MET), ("10 A", UNMET), (UNSAID, UNDETERMINED)):
        data = opening("alarm-released-magnet", {"supplies.psu.current_rating": current})
        found = {
            finding.verdict
            for each in report(data, "nec@2017").answers
            for finding in each.findings
            if finding.id == "nec.class-2-supply/limits"
        }
        assert found == {verdict}
