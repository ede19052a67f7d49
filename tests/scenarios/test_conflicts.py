"""Whole doors of which one code asks what another objects to: each code answers, and nothing is settled silently.

The openings are invented: an example base of the rules with a few facts changed.
"""

from __future__ import annotations

from typing import Any

import pytest

from clauseway.answers.finding import COMPLIES, FAILS, MET, NEEDS_APPROVAL, UNDETERMINED, UNMET
from clauseway.law.library import load
from clauseway_cli.text import report_text
from support.doors import answer, opening, report, rulebook, verdict_of, with_verdict

BUTTON = "ibc.sensor-release/manual-release"
CANADA = "nbcc.exit-door-release/readily-opened"
ENGLAND = "adb.door-fastenings/openable"
OFFICE = {"rooms.hall.major_occupancy": "business-personal-services"}
BY_HAND = "openings.d.locks.magnet.by_hand.inside"


def magnet(*changes: dict[str, Any]) -> dict[str, Any]:
    """A magnet that a sensor frees, with a push button beside the door, in an office."""
    return opening("sensor-magnet", OFFICE, *changes)


# --- a button that one code demands and another calls a special device ------------------------------------------------


def test_each_code_alone_says_what_it_says_and_there_is_no_conflict() -> None:
    american, canadian = answer(magnet(), "ibc@2021"), answer(magnet(), "nbcc@2005")
    assert (american.verdict, american.conflicts) == (COMPLIES, ())
    assert (canadian.verdict, canadian.conflicts) == (FAILS, ())
    assert with_verdict(canadian, UNMET) == {CANADA}


@pytest.mark.parametrize("codes", [("ibc@2021", "nbcc@2005"), ("nbcc@2005", "ibc@2021")])
def test_both_together_fail_the_door_and_name_the_conflict(codes: tuple[str, str]) -> None:
    # The IBC asks for a button beside the door (1010.2.12 item 4), and the magnet meets all of its list. An appeal
    # board in British Columbia held such a button to be a special device, so that the exit is not readily opened.
    found = answer(magnet(), *codes)
    assert found.verdict == FAILS
    assert with_verdict(found, UNMET) == {CANADA}
    assert {"ibc.free-egress/always-free", BUTTON} <= with_verdict(found, MET)
    (conflict,) = found.conflicts
    assert conflict.ids == (CANADA, BUTTON)
    assert conflict.verdicts == (UNMET, MET)


def test_taking_the_button_away_only_turns_the_other_code_against_the_door() -> None:
    found = answer(magnet({"openings.d.devices.button": None}), "ibc@2021", "nbcc@2005")
    assert found.verdict == FAILS
    assert {"ibc.free-egress/always-free", BUTTON, CANADA} <= with_verdict(found, UNMET)
    (conflict,) = found.conflicts
    assert conflict.verdicts == (UNMET, UNMET)


def test_the_conflict_is_told_to_whoever_reads_the_answer() -> None:
    text = " ".join(report_text(report(magnet(), "ibc@2021", "nbcc@2005")).split())
    assert "Codes in conflict (ask each authority; nothing is settled here)" in text
    assert f"{CANADA} and {BUTTON}: The IBC asks for a button beside the door" in text
    assert "Codes in conflict" not in report_text(report(magnet(), "ibc@2021"))


def test_hardware_that_always_opens_the_door_satisfies_both_without_conflict() -> None:
    found = answer(opening("lever-latch", OFFICE), "ibc@2021", "nbcc@2005")
    assert (found.verdict, found.conflicts) == (COMPLIES, ())


def test_a_conflict_is_told_although_a_fact_is_missing_and_nothing_passes() -> None:
    found = answer(magnet({f"{BY_HAND}.always_opens": "unknown"}), "ibc@2021", "nbcc@2005")
    assert verdict_of(found, CANADA) == UNDETERMINED
    assert found.verdict == UNDETERMINED
    assert [conflict.ids for conflict in found.conflicts] == [(CANADA, BUTTON)]


# --- a button beside guidance that asks for a call point --------------------------------------------------------------

ENGLISH = {
    "rooms.hall.purpose_group": "office",
    "rooms.hall.users_familiar": "true",
    "rooms.hall.very_high_fire_risk": "false",
    "openings.d.power_operated": "false",
    "openings.d.leaves.leaf.opening_angle": "110 deg",
}


def test_guidance_that_objects_to_the_button_departs_and_does_not_fail_the_door() -> None:
    # England asks for a call point that stays worked; a button that springs back is none. It is guidance: another way
    # may do, so the building control body is to be asked, while the IBC is met.
    found = answer(magnet(ENGLISH), "ibc@2021", "adb@2019")
    assert with_verdict(found, UNMET) == {ENGLAND}
    assert found.verdict == NEEDS_APPROVAL
    assert verdict_of(found, BUTTON) == MET
    assert [conflict.ids for conflict in found.conflicts] == [(ENGLAND, BUTTON)]
    assert answer(magnet(ENGLISH), "adb@2019").conflicts == ()


# --- a button where a labour law names the ways of opening ------------------------------------------------------------

MASSACHUSETTS = "ma-statutes.doors-in-business-hours/knob-pressure-or-panic-device"
SHOP = {
    "building.workplace": "true",
    "building.dwelling_units": "0",
    f"{BY_HAND}.hardware": "none",
    f"{BY_HAND}.body_pressure": "false",
}


def test_a_labour_law_that_names_knob_and_panic_device_objects_to_the_button() -> None:
    # To the letter a button is neither a knob, nor pressure on the door, nor a panic device (c. 149 s. 126).
    found = answer(magnet(SHOP), "ibc@2021", "ma-statutes@2020")
    assert found.verdict == FAILS
    assert with_verdict(found, UNMET) == {MASSACHUSETTS}
    assert verdict_of(found, BUTTON) == MET
    assert [conflict.ids for conflict in found.conflicts] == [(MASSACHUSETTS, BUTTON)]


def test_the_labour_law_does_not_speak_of_a_place_that_is_no_work_place() -> None:
    found = answer(magnet(SHOP, {"building.workplace": "false"}), "ibc@2021", "ma-statutes@2020")
    assert with_verdict(found, UNMET) == set()
    assert found.verdict == COMPLIES


def test_every_conflict_that_the_rules_declare_has_a_door_here() -> None:
    declared = {
        (f"{provision.name}/{condition.label}", other)
        for code in load().codes
        for provision in rulebook(f"{code}@{load().codes[code].editions[-1]}").provisions.values()
        for condition in provision.permitted + provision.conditions
        for other, _ in condition.opposes
    }
    assert declared == {(CANADA, BUTTON), (ENGLAND, BUTTON), (MASSACHUSETTS, BUTTON)}
