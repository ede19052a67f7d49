"""Doors outside the United States, in metric units: what the code, standard or guidance of the place says of them.

The openings are invented: an example base of the rules with a few facts changed. Why each comes out as it does stands
beside it.
"""

from __future__ import annotations

from typing import Any

import pytest

from clauseway.answers.finding import COMPLIES, FAILS, MET, NEEDS_APPROVAL, UNDETERMINED, UNMET
from support.doors import answer, opening, with_verdict

MAGNET = "openings.d.locks.magnet"
GREEN = "openings.d.devices.green"
BAR = "openings.d.locks.bar"
BOLT = "openings.d.locks.bolt"


# --- England: guidance ----------------------------------------------------------------------------------------


def test_a_magnet_with_a_green_call_point_does_in_an_english_office() -> None:
    # Alarm, power loss, system failure and a Type A call point all free it: all that 5.11 asks for.
    found = answer(opening("call-point-magnet"), "adb@2019")
    assert found.verdict == COMPLIES
    assert with_verdict(found, UNMET) == set()
    (permitted,) = [each for each in found.arrangements if each.id == "adb.electric-locks" and each.verdict == MET]
    assert permitted.subject.path == "openings/d/locks/magnet"


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        # A button that springs back lets the lock close again behind the first person.
        ({f"{GREEN}.actuation": "momentary"}, "override"),
        # A push button is what the IBC asks for; here the override is a call point.
        ({f"{GREEN}.kind": "push-button"}, "override"),
        # A call point on the wrong side helps nobody who escapes.
        ({f"{GREEN}.side": "outside"}, "override"),
        # The alarm alone is not enough, nor is the call point alone: the list is joined by "and".
        ({f"{MAGNET}.on.fire-alarm": {"unlocks": False}}, "fire-alarm"),
        ({f"{MAGNET}.on.loss-of-controller-power": {"unlocks": False}}, "system-error"),
    ],
)
def test_guidance_is_reported_and_yet_fails_no_door(change: dict[str, Any], reason: str) -> None:
    # Another way may do as well, so the building control body decides: the departure is shown, the door does not fail.
    found = answer(opening("call-point-magnet", change), "adb@2019")
    assert f"adb.electric-locks/{reason}" in with_verdict(found, UNMET)
    assert "adb.door-fastenings/openable" in with_verdict(found, UNMET)
    assert found.verdict == NEEDS_APPROVAL


def test_what_is_not_said_of_the_call_point_is_not_taken_for_right() -> None:
    found = answer(opening("call-point-magnet", {f"{GREEN}.actuation": None}), "adb@2019")
    assert found.verdict == UNDETERMINED
    assert "adb.door-fastenings/openable" in with_verdict(found, UNDETERMINED)


def test_a_door_used_both_ways_has_a_call_point_on_both_sides() -> None:
    # Escape the other way too, and there is only a reader on that side.
    data = opening("call-point-magnet", {"openings.d.passages.in.role": "required"})
    data["openings"]["d"]["passages"]["in"]["serves"] = ["outside"]
    found = answer(data, "adb@2019")
    (lacking,) = {
        f.subject.passage for f in found.findings if f.id == "adb.electric-locks/override" and f.verdict == UNMET
    }
    assert lacking == "openings/d/passages/in"


# --- Europe: lever or bar -------------------------------------------------------------------------------------


def test_a_lever_serves_staff_who_know_the_door() -> None:
    assert answer(opening("metric-lever"), "en179@2008", "adb@2019").verdict == COMPLIES


def test_a_lever_where_the_public_goes_is_the_wrong_device() -> None:
    # EN 179 is for people who know the door. The guidance only notes it above 60 people; the standard itself fails.
    data = opening("metric-lever")
    data["rooms"]["hall"] |= {"users_familiar": False, "purpose_group": "assembly-recreation", "occupant_load": 61}
    guided = answer(data, "adb@2019")
    assert with_verdict(guided, UNMET) == {"adb.panic-fastenings/panic-device"}
    assert guided.verdict == NEEDS_APPROVAL
    both = answer(data, "adb@2019", "en179@2008")
    assert with_verdict(both, UNMET) == {"adb.panic-fastenings/panic-device", "en179.intended-users/familiar"}
    assert both.verdict == FAILS


def test_a_panic_bar_does_for_the_theatre() -> None:
    found = answer(opening("metric-panic-bar"), "en1125@2008", "adb@2019")
    assert found.verdict == COMPLIES


def test_a_magnet_above_a_panic_bar_takes_its_promise_away() -> None:
    # Pushing the bar no longer opens the door: a magnet holds it until something else lets go.
    data = opening("metric-panic-bar")
    magnet = {"kind": "electromagnetic-direct-pull", "leaf": "leaf", "secures": ["out"], "listings": [],
              "security_only": False, "by_hand": {"inside": {"always_opens": False}}}  # fmt: skip
    data["openings"]["d"]["locks"]["magnet"] = magnet
    found = answer(data, "en1125@2008")
    assert with_verdict(found, UNMET) == {"en1125.sole-fastening/nothing-else-holds"}
    assert found.verdict == FAILS


def test_a_short_bar_is_measured_against_the_leaf() -> None:
    # 60 % of 1200 mm is 720 mm. An American pad of half the leaf, 600 mm, falls short.
    found = answer(opening("metric-panic-bar", {"openings.d.leaves.leaf.actuating_length": "600 mm"}), "en1125@2008")
    assert with_verdict(found, UNMET) == {"en1125.release/bar-length"}


# --- Europe: a door that keeps people waiting -----------------------------------------------------------------


def test_a_delay_needs_somebody_to_allow_it_there() -> None:
    # The standard allows 15 s and, under supervision, 180 s more; whether here, national rules say.
    asked = answer(opening("delayed-exit-system", {f"{BOLT}.approved_delay": None}), "en13637@2015")
    assert asked.verdict == NEEDS_APPROVAL
    assert with_verdict(asked, NEEDS_APPROVAL) == {"en13637.time-delay/accepted-here"}
    assert answer(opening("delayed-exit-system"), "en13637@2015").verdict == COMPLIES


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({f"{BOLT}.delay": "20 s"}, "time-delay/first-delay"),
        ({f"{BOLT}.second_delay": "5 min"}, "time-delay/second-delay"),
        # Nobody watches the door while the second delay runs.
        ({f"{BOLT}.supervised": False}, "time-delay/supervised"),
        # It must not block when the power is gone.
        ({f"{BOLT}.fail_mode": "fail-secure"}, "system/not-fail-secure"),
        ({f"{BOLT}.on.loss-of-lock-power": {"unlocks": False}}, "system/power-loss"),
        # A lock and a button bought apart are no tested system.
        ({f"{BOLT}.system_listings": []}, "system/tested-as-one"),
    ],
)
def test_a_delaying_system_fails_for_one_thing(change: dict[str, Any], reason: str) -> None:
    found = answer(opening("delayed-exit-system", change), "en13637@2015")
    assert with_verdict(found, UNMET) == {f"en13637.{reason}"}
    assert found.verdict == FAILS


def test_a_system_that_does_not_say_whether_it_delays_is_not_taken_for_prompt() -> None:
    found = answer(opening("delayed-exit-system", {f"{BOLT}.delays_egress": None, f"{BOLT}.delay": "60 s"}),
                   "en13637@2015")  # fmt: skip
    assert "en13637.time-delay/first-delay" in with_verdict(found, UNDETERMINED)
    assert found.verdict == UNDETERMINED


def test_guidance_for_england_has_no_delay_to_offer() -> None:
    # The same system meets its standard, and departs from the guidance, which knows no delay.
    found = answer(opening("delayed-exit-system"), "adb@2019", "en13637@2015")
    assert {"adb.door-fastenings/openable"} <= with_verdict(found, UNMET)
    assert found.verdict == NEEDS_APPROVAL


# --- Canada ---------------------------------------------------------------------------------------------------


def test_a_canadian_magnet_opens_within_15_seconds_of_a_push() -> None:
    # The conditions of 2005 were read; those of 2020 are memory, and a permission from memory excuses nothing.
    data = opening("canadian-magnet")
    assert answer(data, "nbcc@2005").verdict == COMPLIES
    assert answer(data, "nbcc@2020").verdict == UNDETERMINED
    assert answer(data, "nbcc@2020", accept_memory=True).verdict == COMPLIES


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({f"{MAGNET}.delay": "30 s"}, "delay"),
        ({f"{MAGNET}.initiation_force": "100 N"}, "force"),
        # A button on the wall starts nothing at the door's own hardware, which is what the code asks for.
        ({"openings.d.devices.bar.on_leaf": False}, "door-hardware"),
        # Anybody could switch the lock off, or nobody at once.
        ({"openings.d.devices.switch.authorized_only": False}, "authorized-switch"),
        ({"openings.d.devices.switch.acts.magnet.immediate": False}, "authorized-switch"),
        ({f"{MAGNET}.on.fire-alarm": {"unlocks": False}}, "fire-alarm"),
        ({f"{MAGNET}.rearm": "automatic"}, "reset"),
        ({"openings.d.signs": "none"}, "sign"),
        # High-hazard industry: no magnet at all.
        ({"rooms.hall.major_occupancy": "high-hazard-industrial"}, "not-high-hazard"),
    ],
)
def test_a_canadian_magnet_fails_for_one_thing(change: dict[str, Any], reason: str) -> None:
    found = answer(opening("canadian-magnet", change), "nbcc@2005")
    unmet = with_verdict(found, UNMET)
    assert {"nbcc.exit-door-release/readily-opened", f"nbcc.electromagnetic-locks/{reason}"} <= unmet
    assert found.verdict == FAILS


def test_in_canada_a_magnet_on_the_way_to_an_exit_waits_for_2015() -> None:
    # 2005 speaks of exit doors; from 2015 of any door, and the delays of a path add up to 15 s at most (memory).
    inner = opening("canadian-magnet", {"openings.d.passages.out.component": "exit-access"})
    assert "nbcc.electromagnetic-locks/exit-door" in with_verdict(answer(inner, "nbcc@2005"), UNMET)
    for edition in ("2015", "2020"):
        assert answer(inner, f"nbcc@{edition}", accept_memory=True).verdict == COMPLIES


@pytest.mark.parametrize(("edition", "fails"), [("2005", False), ("2015", True), ("2020", True)])
def test_in_canada_two_delays_in_a_path_add_up_since_2015(edition: str, fails: bool) -> None:
    # 10 s and 6 s: each is right by itself, together they are more than 15 s. Known from memory for 2015 and 2020.
    second = {"complete": "all-below", "locks": {"next": {"delays_egress": "true", "delay": "6 s"}}, "passages": "none"}
    path = {"openings.e": {**second, "sides": "none"}, "paths.p1.openings": ["d", "e"]}
    found = answer(opening("canadian-magnet", path, {f"{MAGNET}.delay": "10 s"}), f"nbcc@{edition}", accept_memory=True)
    assert ("nbcc.electromagnetic-locks/path-delay" in with_verdict(found, UNMET)) is fails
    assert ("nbcc.exit-door-release/readily-opened" in with_verdict(found, UNMET)) is fails


def test_an_american_magnet_does_not_do_in_canada() -> None:
    # Sensor and button free it, nothing on the door does: held to be a special device.
    data = opening("sensor-magnet", {"rooms.hall.major_occupancy": "business-personal-services"})
    found = answer(data, "nbcc@2005", "ibc@2021")
    assert "nbcc.exit-door-release/readily-opened" in with_verdict(found, UNMET)
    assert "ibc.free-egress/always-free" not in with_verdict(found, UNMET) | with_verdict(found, UNDETERMINED)
    assert "ibc.free-egress/always-free" in with_verdict(found, MET)
    assert found.verdict == FAILS
    opposed = {conflict.ids for conflict in found.conflicts}
    assert ("nbcc.exit-door-release/readily-opened", "ibc.sensor-release/manual-release") in opposed


def test_a_magnet_where_people_are_cared_for_is_not_decided() -> None:
    # A second sentence covers such doors since 2015; it is not encoded, so nothing is said against the door or for it.
    data = opening("canadian-magnet", {"rooms.hall.major_occupancy": "care", f"{MAGNET}.delay": "60 s"})
    found = answer(data, "nbcc@2020", accept_memory=True)
    assert "nbcc.exit-door-release/readily-opened" in with_verdict(found, UNDETERMINED)
    assert found.verdict == UNDETERMINED


def test_above_100_people_a_latch_yields_to_a_push() -> None:
    crowd = {"rooms.hall.major_occupancy": "assembly-1", "rooms.hall.occupant_load": 101}
    assert answer(opening("metric-panic-bar", crowd), "nbcc@2020").verdict == COMPLIES
    lever = opening("metric-panic-bar", crowd | {f"{BAR}.by_hand.inside.body_pressure": False})
    assert with_verdict(answer(lever, "nbcc@2020"), UNMET) == {"nbcc.panic-release/push"}
