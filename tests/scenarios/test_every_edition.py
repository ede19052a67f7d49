"""For each code and edition that is here, at least one whole door on which it and another one disagree.

A door is an example base of the rules with a few facts changed. Each line says what conditions of the editions come
to, and the comment why. Known from memory counts here. Other scenarios beside look at the same matters more closely.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest

from clauseway.answers.finding import MET, NOT_APPLICABLE, UNMET
from clauseway.law.library import load
from support.doors import answer, opening

DOOR = "openings.d"
HALL = "rooms.hall"
LEAF = f"{DOOR}.leaves.leaf"
MAGNET = f"{DOOR}.locks.magnet"
DELAYED = f"{DOOR}.locks.delayed"
LEVER = f"{DOOR}.locks.lever"
IBC = ("2015", "2018", "2021", "2024")
LIFE_SAFETY = ("2012", "2015", "2018", "2021", "2024")
NOT_BODIES = ("description", "practice")
"""What is no code of anybody: what a description must agree with, and whether things work."""


@dataclass(frozen=True)
class Scene:
    base: str
    changes: dict[str, Any]
    says: tuple[tuple[str, tuple[str, ...], str, str], ...]
    """A code, editions of it, a condition, and the verdict on it in each of these editions."""

    @property
    def disagreeing(self) -> set[str]:
        """The editions on both sides of a disagreement: for some the door is wrong, and not for others."""
        sides = {verdict == UNMET for _, _, _, verdict in self.says}
        return {f"{code}@{e}" for code, editions, _, _ in self.says for e in editions} if len(sides) == 2 else set()


SCENES = {
    # Assembly for 60: panic hardware from 50 in the building code, from 100 in the life safety code.
    "a lever on a hall for 60": Scene(
        "lever-latch",
        {
            f"{HALL}.group": "A-3",
            f"{HALL}.use": "assembly",
            f"{HALL}.life_safety_occupancy": "assembly",
            f"{HALL}.occupant_load": "60",
        },
        (
            ("ibc", IBC, "panic-hardware-required/by-occupancy", UNMET),
            ("nfpa101", LIFE_SAFETY, "panic-hardware-required/by-occupancy", NOT_APPLICABLE),
        ),
    ),
    # At 50 people a door swings out by the building code; a workplace rule counts more than 50.
    "a door of a shop for 50 that swings in": Scene(
        "lever-latch",
        {
            f"{HALL}.occupant_load": "50",
            f"{HALL}.high_hazard": "false",
            f"{DOOR}.passages.out.swings_with_travel": "false",
            "building.workplace": "true",
        },
        (
            ("ibc", IBC, "door-swing/with-travel", UNMET),
            ("osha", ("2011",), "exit-doors/swing", NOT_APPLICABLE),
        ),
    ),
    # 800 A within 25 ft: the electrical code since 2014, the building code of 2018 from 1,200 A only.
    "a lever on a room with 800 A": Scene(
        "lever-latch",
        {
            f"{HALL}.use": "electrical",
            f"{HALL}.equipment_amperes": "800 A",
            f"{HALL}.equipment_width": "10 ft",
            f"{HALL}.has_overcurrent_switching_or_control_devices": "true",
            f"{DOOR}.passages.out.within_working_space_distance": "20 ft",
        },
        (
            ("nec", ("2014", "2017", "2020", "2023"), "electrical-room-panic/panic-hardware", UNMET),
            ("ibc", ("2018",), "panic-hardware-required/electrical-room", NOT_APPLICABLE),
        ),
    ),
    # The battery of the fire alarm holds a door for 4 hours: ten minutes at most. The building code does not ask.
    "a magnet held by the battery of the fire alarm": Scene(
        "sensor-magnet",
        {
            "supplies": {"psu": {"kind": "dc", "standby_battery": "true", "from_fire_alarm_unit": "true"}},
            f"{MAGNET}.supply": "psu",
            f"{MAGNET}.standby_battery": "true",
            f"{MAGNET}.on.loss-of-mains": {"unlocks": "true", "within": "4 h"},
        },
        (
            ("nfpa72", ("2010", "2013", "2016", "2019", "2022"), "electrically-locked-doors/standby", UNMET),
            ("ibc", ("2021",), "sensor-release/lock-power-loss", MET),
        ),
    ),
    # 3/16 in beside a wood door of 20 minutes in a steel frame: 1/8 in was the most until 2013.
    "a wood fire door with a gap of 3/16 in": Scene(
        "fire-door-strike",
        {f"{DOOR}.fire_rating": "20 min", f"{LEAF}.material": "wood", f"{LEAF}.edge_clearance_most": "3/16 in"},
        (
            ("nfpa80", ("2010", "2013"), "clearances/other-edges", UNMET),
            ("nfpa80", ("2016", "2019", "2022"), "clearances/other-edges", MET),
        ),
    ),
    # A bar that takes 15 lbf: panic hardware may; operable parts only 5 lbf by the federal standards and A117.1-2009.
    "a panic bar of 15 lbf": Scene(
        "panic-bar",
        {f"{DOOR}.security_operated": "false", f"{DOOR}.locks.bar.by_hand.inside.hardware": "panic-bar"},
        (
            ("ada", ("2010",), "hardware/force", UNMET),
            ("a117-1", ("2009",), "hardware-force/force", UNMET),
            ("a117-1", ("2017",), "hardware-force/push-or-pull", MET),
            ("ibc", IBC, "panic-hardware-installation/unlatching-force", MET),
        ),
    ),
    # A bare magnet on a corridor door of a hospital with an outpatient group: the federal rule asks for a latch.
    "a magnet without a latch at a federal hospital": Scene(
        "sensor-magnet",
        {
            "building.federal_health_program": "true",
            f"{DOOR}.corridor_to_care": "true",
            f"{LEAF}.positive_latching": "false",
            f"{LEAF}.roller_latch": "false",
        },
        (
            ("cms", ("2016",), "corridor-latching/latches", UNMET),
            ("ibc", ("2021",), "free-egress/always-free", MET),
        ),
    ),
    # A lever where the public goes: EN 179 is for people who know the door; the building code takes a lever for 40.
    "a lever for the public": Scene(
        "metric-lever",
        {f"{HALL}.users_familiar": "false", f"{HALL}.group": "B", f"{HALL}.occupant_load": "40"},
        (
            ("en179", ("2008",), "intended-users/familiar", UNMET),
            ("ibc", ("2021",), "panic-hardware-required/by-occupancy", NOT_APPLICABLE),
        ),
    ),
    # A bar of half the leaf, 600 of 1,200 mm: the building code asks for half, EN 1125 for 60 percent.
    "a bar of half the leaf": Scene(
        "metric-panic-bar",
        {f"{LEAF}.actuating_length": "600 mm"},
        (
            ("en1125", ("2008",), "release/bar-length", UNMET),
            ("ibc", ("2021",), "panic-hardware-installation/actuating-length", MET),
        ),
    ),
    # On the way to an exit a Canadian magnet waited for 2015.
    "a Canadian magnet on the way to an exit": Scene(
        "canadian-magnet",
        {f"{DOOR}.passages.out.component": "exit-access"},
        (
            ("nbcc", ("2005",), "electromagnetic-locks/exit-door", UNMET),
            ("nbcc", ("2015", "2020"), "exit-door-release/readily-opened", MET),
        ),
    ),
    # A system that holds a door for 15 s, and for 180 s when somebody watches it, is what EN 13637 is for. The guidance
    # for England has no delay to offer.
    "a supervised delay of 180 s in England": Scene(
        "delayed-exit-system",
        {},
        (
            ("en13637", ("2015",), "time-delay/second-delay", MET),
            ("adb", ("2019",), "door-fastenings/openable", UNMET),
        ),
    ),
    # A lever at 1,200 mm: 1,100 is the highest in Australia, 48 in (1,219 mm) under the building code.
    "a lever at 1200 mm": Scene(
        "metric-lever",
        {
            f"{HALL}.sole_occupancy_unit": "false",
            f"{HALL}.secure_use": "false",
            "building.sprinklers": "none",
            "building.automatic_detection": "none",
            f"{DOOR}.locks.latch.by_hand.inside.height": "1200 mm",
        },
        (("ncc", ("2019", "2022"), "latch-operation/height", UNMET), ("ibc", ("2021",), "hardware-height/height", MET)),
    ),
    # California: delay in residential care for the elderly is for houses with people with dementia.
    "a delayed door of a care home without dementia care": Scene(
        "delayed-door",
        {
            "rooms.shop.group": "R-4",
            "rooms.shop.elderly_care_licensed": "true",
            "rooms.shop.dementia_care": "false",
        },
        (
            ("ca-statutes", ("2020",), "elderly-care-delayed-egress/dementia-care", UNMET),
            ("ibc", ("2021",), "delayed-egress/delay", MET),
        ),
    ),
    # Chicago and Illinois want a way to talk in a stair of five stories whose doors are locked; so far the code of 2021
    # asks for it in high-rise buildings only.
    "a locked stair of five stories where nobody can call": Scene(
        "stair-door",
        {
            "building.stories": "5",
            f"{DOOR}.work": "existing-untouched",
            "stairs.s1.stories_served": "5",
            "stairs.s1.communication": "false",
            f"{LEVER}.on.detection": {"unlocks": "true"},
        },
        (
            ("chi-14x", ("2020",), "existing-stair-reentry/reentry", UNMET),
            ("il-statutes", ("2006", "2019"), "stair-doors-over-four-stories/reentry", UNMET),
            ("ibc", ("2021",), "stair-doors/opens-from-stair", MET),
        ),
    ),
    # A button on the wall is no knob, no pressure on the door and no panic device.
    "a magnet with a button at a workplace in Massachusetts": Scene(
        "sensor-magnet",
        {
            "building.workplace": "true",
            f"{MAGNET}.by_hand.inside.hardware": "none",
            f"{MAGNET}.by_hand.inside.body_pressure": "false",
        },
        (
            ("ma-statutes", ("2020",), "doors-in-business-hours/knob-pressure-or-panic-device", UNMET),
            ("ibc", ("2021",), "sensor-release/manual-release", MET),
        ),
    ),
    # Michigan: sealed documents for a lock against intruders until 2022, plans since.
    "a temporary lock of a classroom with plans": Scene(
        "classroom-lock",
        {f"{LEVER}.arrangement": "temporary-door-locking", f"{LEVER}.permit_documents": "plans"},
        (
            ("mi-statutes", ("2020",), "school-temporary-locking/documents-filed", UNMET),
            ("mi-statutes", ("2022",), "school-temporary-locking/documents-filed", MET),
        ),
    ),
    # Minnesota counts a locked nursing unit as a restraint, which needs a waiver; the building code does not.
    "a locked nursing unit without a waiver": Scene(
        "memory-care-door",
        {f"{MAGNET}.worn_sensors_only": "false", f"{MAGNET}.health_waiver": "false"},
        (
            ("mn-mdh", ("2025",), "locked-nursing-unit/waiver", UNMET),
            ("ibc", ("2021",), "controlled-egress/clinical-need", MET),
        ),
    ),
    # Washington: children in group care must have another door to escape by.
    "the only exterior door of a group home, delayed": Scene(
        "delayed-door",
        {"rooms.shop.group_care_of_children": "true", "rooms.shop.other_exterior_door": "false"},
        (
            ("wa-dcyf", ("2018",), "group-care-time-delay/another-door", UNMET),
            ("ibc", ("2021",), "delayed-egress/delay", MET),
        ),
    ),
    # Wisconsin: sprinklers and detection; the building code is content with one of them.
    "a delayed door of a day centre for adults without detection throughout": Scene(
        "delayed-door",
        {"rooms.shop.adult_day_care": "true", "building.automatic_detection": "partial"},
        (
            ("wi-dhs", ("2020",), "adult-day-care-delayed-egress/both-systems", UNMET),
            ("ibc", ("2021",), "delayed-egress/fire-system", MET),
        ),
    ),
}
LINES = [
    pytest.param(scene, code, edition, condition, verdict, id=f"{name}: {code}@{edition}")
    for name, scene in SCENES.items()
    for code, editions, condition, verdict in scene.says
    for edition in editions
]


@pytest.mark.parametrize(("scene", "code", "edition", "condition", "verdict"), LINES)
def test_a_door_on_which_codes_or_editions_disagree(
    scene: Scene, code: str, edition: str, condition: str, verdict: str
) -> None:
    found = answer(opening(scene.base, scene.changes), f"{code}@{edition}", accept_memory=True)
    verdicts = {finding.verdict for finding in found.findings if finding.id == f"{code}.{condition}"}
    asked = verdicts - {NOT_APPLICABLE}
    assert (asked or verdicts) == {verdict}


def test_every_edition_of_every_code_disagrees_with_another_somewhere() -> None:
    shipped = {
        f"{code.id}@{edition}"
        for code in load().codes.values()
        if code.force not in NOT_BODIES
        for edition in code.editions
    }
    disagreeing = {edition for scene in SCENES.values() for edition in scene.disagreeing}
    assert all(scene.disagreeing for scene in SCENES.values())
    assert disagreeing == shipped
