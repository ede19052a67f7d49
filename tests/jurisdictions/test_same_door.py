"""The same door under the law of many places and days: other answers, each for a reason that is cited."""

from __future__ import annotations

from typing import NamedTuple

import pytest

from clauseway.law.adoption import Asked, jurisdiction_called, readings
from clauseway.text.problems import ClausewayError
from support.laws import answer, law, reading, shipped, told

LEAF = "openings.d.leaves.leaf"
DELAYED = "openings.d.locks.delayed"
NOTICE = "openings.d.signs.notice"
EXIT = {
    f"{DELAYED}.initiation_force": "20 lbf",
    f"{DELAYED}.delay": "30 s",
    f"{DELAYED}.approved_longer_delay": "true",
    f"{DELAYED}.delay_field_adjustable": "true",
    f"{DELAYED}.in_emergency_plan": "false",
    f"{NOTICE}.text": "PUSH UNTIL ALARM SOUNDS. DOOR CAN BE OPENED IN 30 SECONDS.",
    f"{NOTICE}.letter_height": "0.75 in",
    f"{NOTICE}.stroke_width": "0.125 in",
    f"{NOTICE}.tactile": "false",
    "rooms.shop.dementia_care": "false",
}
"""A delayed exit of a shop: 20 pounds for three seconds start a delay of 30 seconds, which an official approved."""


class Case(NamedTuple):
    place: str
    on: str
    condition: str
    verdict: str
    layer: str
    cite: str
    says: str = ""


MN = "Minn. R. 7511.1010; Minn. R. 1305.1010"
DELAYED_EXIT = [
    Case("US-NY", "2024-05-01", "delay", "met", "", "IBC 2018 1010.1.9.8", "30 s"),
    Case("US-OR", "2024-05-01", "delay", "met", "", "IBC 2021 1010.2.13", "30 s"),
    Case("US-CA", "2024-05-01", "delay", "unmet", "ca-2022", "CBC 2022 1010.2.13.1 item 4 exception", "dementia"),
    Case("US-CA", "2024-05-01", "not-field-adjustable", "unmet", "ca-2022", "CBC 2022 1010.2.13.1 item 4"),
    Case("US-CA", "2024-05-01", "tactile-sign", "unmet", "ca-2022", "CBC 2022 1010.2.13.1 item 6.4"),
    Case("US-CA", "2024-05-01", "sign", "unmet", "ca-2022", "CBC 2022 1010.2.13.1 item 6.3"),
    Case("US-CA", "2026-05-01", "delay", "unmet", "ca-2025", "CBC 2025 1010.2.12.1 item 4 exception", "dementia"),
    Case(
        "USNYC", "2024-05-01", "initiation-force", "unmet", "nyc-2022", "BC 2022 1010.1.9.7 item 4", "15 lbf (66.7 N)"
    ),
    Case("USNYC", "2024-05-01", "special-approval", "needs-approval", "nyc-2022", "BC 2022 1010.1.9.7", "authority"),
    Case("US-MN", "2024-05-01", "initiation-force", "unmet", "mn-2020", MN, "15 lbf (67 N)"),
    Case("US-MN", "2024-05-01", "initiation-time", "unmet", "mn-2020", MN, "1 s is the most"),
    Case("US-MI", "2024-05-01", "initiation-time", "met", "", "IBC 2015 1010.1.9.7", "3 s is the most"),
    Case("US-OH", "2024-05-01", "in-emergency-plan", "unmet", "oh-2024", "OAC 4101:1-10-01 (G)"),
    Case("USCHI", "2024-05-01", "delay", "met", "", "IBC 2018 1010.1.9.8"),
]


@pytest.mark.parametrize("case", DELAYED_EXIT, ids=lambda case: f"{case.place}-{case.on}-{case.condition}")
def test_a_delayed_exit(case: Case) -> None:
    _holds(case, "delayed-door", EXIT, "ibc.delayed-egress")


def _holds(case: Case, base: str, changes: dict[str, str], provision: str) -> None:
    found = answer(law(case.place, case.on), base, changes, f"{provision}/{case.condition}")
    assert found is not None
    assert found.verdict == case.verdict
    assert case.says in found.says
    if case.layer:
        assert (case.layer, case.cite) in found.amended
    else:
        assert case.cite in found.cites
        assert found.amended == ()


def test_what_a_state_adds_is_asked_nowhere_else() -> None:
    for place, condition in [
        ("US-OR", "not-field-adjustable"),
        ("US-NY", "initiation-force"),
        ("US-CA", "in-emergency-plan"),
    ]:
        assert answer(law(place, "2024-05-01"), "delayed-door", EXIT, f"ibc.delayed-egress/{condition}") is None
    assert answer(law("USNYC", "2024-05-01"), "delayed-door", EXIT, "ibc.delayed-egress/not-barred-group") is None
    assert answer(law("US-MI", "2024-05-01"), "delayed-door", EXIT, "ibc.delayed-egress/not-barred-group") is not None


@pytest.mark.parametrize(
    ("place", "condition", "unsaid"),
    [
        ("US-CA", "not-field-adjustable", f"{DELAYED}.delay_field_adjustable"),
        ("US-CA", "tactile-sign", f"{NOTICE}.tactile"),
        ("US-CA", "delay", "rooms.shop.dementia_care"),
        ("USNYC", "initiation-force", f"{DELAYED}.initiation_force"),
        ("US-MN", "initiation-time", f"{DELAYED}.initiation_time"),
        ("US-OH", "in-emergency-plan", f"{DELAYED}.in_emergency_plan"),
    ],
)
def test_what_is_unsaid_is_not_decided(place: str, condition: str, unsaid: str) -> None:
    found = answer(
        law(place, "2024-05-01"), "delayed-door", {**EXIT, unsaid: "unknown"}, f"ibc.delayed-egress/{condition}"
    )
    assert found is not None
    assert found.verdict == "undetermined"


CLASSROOM = {"rooms.shop.group": "E", "rooms.shop.use": "classroom", "rooms.shop.occupant_load": "49"}
"""A delayed exit of a classroom for 49."""


def test_in_massachusetts_the_applicant_chooses_and_a_classroom_comes_out_both_ways() -> None:
    old = answer(law("US-MA", "2025-01-15", "cmr-9"), "delayed-door", CLASSROOM, "ibc.delayed-egress/not-barred-group")
    new = answer(law("US-MA", "2025-01-15", "cmr-10"), "delayed-door", CLASSROOM, "ibc.delayed-egress/place")
    assert old is not None
    assert (old.verdict, old.cites[0]) == ("unmet", "IBC 2015 1010.1.9.7")
    assert new is not None
    assert (new.verdict, new.cites[0]) == ("met", "IBC 2021 1010.2.13")
    both = readings(shipped(), jurisdiction_called(shipped(), "US-MA"), Asked({"today": "2025-06-30"}))
    assert [each.choice for each in both] == ["cmr-9", "cmr-10"]
    codes = reading("US-MA", "2025-07-01").codes
    assert codes == ("ada@2010", "cms@2016", "ibc@2021", "ma-statutes@2020", "osha@2011")


@pytest.mark.parametrize(
    ("place", "load", "verdict"), [("US-OR", "60", "unmet"), ("US-MN", "60", "met"), ("US-OR", "49", "met")]
)
def test_a_larger_classroom(place: str, load: str, verdict: str) -> None:
    changes = {**CLASSROOM, "rooms.shop.occupant_load": load}
    found = answer(law(place, "2024-05-01"), "delayed-door", changes, "ibc.delayed-egress/place")
    assert found is not None
    assert found.verdict == verdict
    assert (("mn-2020", MN) in found.amended) is (place == "US-MN")


MEMORY_CARE = {
    "rooms.ward.use": "cognitive-treatment",
    "openings.d.locks.magnet.on.detection.unlocks": "false",
    "openings.d.locks.magnet.staff_can_unlock": "false",
}
"""A locked door of memory care that the detection does not unlock, and to which some staff have no key."""


@pytest.mark.parametrize(
    ("on", "staff", "verdict", "amended"),
    [
        ("2024-03-14", "false", "unmet", False),
        ("2024-03-14", "true", "unmet", False),
        ("2024-03-15", "false", "unmet", True),
        ("2024-03-15", "true", "met", True),
        ("2024-03-15", "unknown", "undetermined", True),
    ],
)
def test_memory_care_in_washington(on: str, staff: str, verdict: str, amended: bool) -> None:
    changes = {**MEMORY_CARE, "openings.d.locks.magnet.staff_can_unlock": staff}
    found = answer(law("US-WA", on), "memory-care-door", changes, "ibc.controlled-egress/detection")
    assert found is not None
    assert found.verdict == verdict
    assert (("wa-2021", "WAC 51-50-10100, 1010.2.14 exception 1") in found.amended) is amended


def test_in_oregon_the_key_of_the_staff_does_not_decide() -> None:
    found = answer(law("US-OR", "2024-05-01"), "memory-care-door", MEMORY_CARE, "ibc.controlled-egress/detection")
    assert found is not None
    assert (found.verdict, found.amended) == ("met", ())


def test_washington_moved_its_day_twice() -> None:
    def edition(on: str, known: str = "") -> str:
        return next(code for code in reading("US-WA", on, known).codes if code.startswith("ibc"))

    assert edition("2023-08-01", "2023-01-01") == "ibc@2021"
    assert edition("2023-08-01", "2023-06-07") == "ibc@2018"
    assert edition("2024-03-14", "2023-06-07") == "ibc@2021"
    assert edition("2024-03-14", "2023-09-25") == "ibc@2018"
    assert edition("2024-03-14") == "ibc@2018"
    assert edition("2024-03-15") == "ibc@2021"


def test_seattle_rests_on_the_state() -> None:
    assert reading("USSEA", "2020-05-01").codes[2] == "ibc@2015"
    assert reading("USSEA", "2024-05-01").codes[2] == "ibc@2018"
    late = reading("USSEA", "2025-01-01")
    assert (late.codes[2], late.layers) == ("ibc@2021", ("wa-2021",))


YARD = {f"{LEAF}.opening_force": "12 lbf", f"{LEAF}.motion_force": "12 lbf"}
"""The door of a hall to a yard that opens with twelve pounds."""


def test_an_exterior_door_of_twelve_pounds() -> None:
    chicago = answer(law("USCHI", "2024-05-01"), "panic-bar", YARD, "ibc.opening-force/exterior-hinged")
    assert chicago is not None
    assert chicago.verdict == "unmet"
    assert "8.5 lbf (38 N) is the most" in chicago.says
    assert ("chi-2019", "Municipal Code of Chicago 14B-10-1010 item 7 (1010.1.3)") in chicago.amended
    elsewhere = answer(law("US-NY", "2024-05-01"), "panic-bar", YARD, "ibc.opening-force/full-open")
    assert elsewhere is not None
    assert (elsewhere.verdict, elsewhere.amended) == ("met", ())


OFFICES = {
    "rooms.hall.occupant_load": "unknown",
    "rooms.hall.area": "5000 ft2",
    "openings.d.passages.out.swings_with_travel": "false",
}
"""Offices of 5,000 sq ft whose door swings in; nobody counted the people."""


@pytest.mark.parametrize(
    ("place", "measured", "verdict"),
    [("US-NY", "gross", "not-applicable"), ("USCHI", "net", "unmet"), ("US-MI", "gross", "unmet")],
)
def test_how_many_people_an_office_holds(place: str, measured: str, verdict: str) -> None:
    changes = {**OFFICES, "rooms.hall.area_measured": measured}
    found = answer(law(place, "2024-05-01"), "lever-latch", changes, "ibc.door-swing/with-travel")
    assert found is not None
    assert found.verdict == verdict


STAIR = {
    "openings.d.locks.lever.arrangement": "ordinary-free-egress",
    "openings.d.locks.lever.by_hand.stair.needs_key": "true",
    "rooms.offices.use": "tenant-space",
    "rooms.offices.single_exit_stair_access": "true",
    "building.single_exit_permitted": "false",
    "building.lockdown_drills": "false",
}
"""The stair door of a tenant reached from one stair, locked on the stair side."""


@pytest.mark.parametrize(
    ("place", "stories", "verdict", "layer"),
    [
        ("US-NY", "6", "met", ""),
        ("USNYC", "6", "unmet", "nyc-2022"),
        ("USNYC", "4", "unmet", "nyc-2022"),
        ("US-MN", "4", "met", "mn-2020"),
    ],
)
def test_a_locked_stair_door(place: str, stories: str, verdict: str, layer: str) -> None:
    changes = {**STAIR, "stairs.s1.stories_served": stories}
    found = answer(law(place, "2024-05-01"), "stair-door", changes, "ibc.stair-doors/opens-from-stair")
    assert found is not None
    assert found.verdict == verdict
    assert (layer in [name for name, _ in found.amended]) is bool(layer)


def test_a_small_school_in_florida() -> None:
    room = {"rooms.classroom.high_hazard": "false", "rooms.classroom.occupant_load": "6"}
    florida = answer(law("US-FL", "2024-05-01"), "classroom-lock", room, "nfpa101.door-swing/with-travel")
    assert florida is not None
    assert florida.verdict == "unmet"
    assert ("fl-69a-58", "F.A.C. 69A-58.0081(1)(e)") in florida.amended
    codes = reading("US-FL", "2024-05-01").codes
    assert {"ibc@2021", "nfpa101@2021"} <= set(codes), "two codes side by side"


def test_a_self_locking_suite_door_in_ontario() -> None:
    door = {"openings.d.locks.night_latch.self_locking": "true", "rooms.unit.hotel": "false"}
    found = answer(law("CA-ON", "2025-05-01"), "unit-night-latch", door, "nbcc.suite-doors/not-self-locking")
    assert found is not None
    assert (found.verdict, found.cites[0]) == ("unmet", "NBCC 2020 3.3.4.5.(1)")
    assert ("on-2024", "O. Reg. 163/24, Division B 3.3.4.5.(1)") in found.amended
    assert answer(law("CA-BC", "2025-05-01"), "unit-night-latch", door, "nbcc.suite-doors/not-self-locking") is None


def test_a_ruling_binds_its_site_alone() -> None:
    magnet = {
        "rooms.hall.major_occupancy": "business-personal-services",
        "openings.d.locks.latch.kind": "electromagnetic-direct-pull",
        "openings.d.locks.latch.arrangement": "door-hardware-release",
    }
    condition = "nbcc.exit-door-release/readily-opened"
    elsewhere = answer(law("CA-BC", "2025-05-01"), "metric-lever", magnet, condition)
    there = answer(law("CA-BC", "2025-05-01", site="bcab-1483"), "metric-lever", magnet, condition)
    assert elsewhere is not None
    assert there is not None
    assert (elsewhere.verdict, there.verdict) == ("undetermined", "met")
    assert ("bcab-1483", "BCAB decision 1483") in there.amended


@pytest.mark.parametrize(
    ("place", "on"), [("AU-VIC", "2020-05-01"), ("AU-VIC", "2024-05-01"), ("AU-NSW", "2024-05-01")]
)
def test_the_handle_of_a_childrens_service(place: str, on: str) -> None:
    """Victoria substituted the clause in 2019 and inserted a subclause in 2022: the same effect by other verbs."""
    door = {
        "rooms.hall.childrens_service": "true",
        "rooms.hall.sole_occupancy_unit": "false",
        "rooms.hall.secure_use": "false",
        "building.sprinklers": "none",
        "building.automatic_detection": "none",
        "openings.d.passages.out.to_enclosed_play_area": "false",
        f"{LEAF}.self_closing": "true",
        "openings.d.locks.latch.by_hand.inside.height": "1600 mm",
    }
    found = answer(law(place, on), "metric-lever", door, "ncc.latch-operation/out-of-reach-of-children")
    national = answer(law(place, on), "metric-lever", door, "ncc.latch-operation/height")
    assert national is not None
    if place == "AU-NSW":
        assert (found, national.verdict) == (None, "unmet")
        return
    assert found is not None
    assert (found.verdict, national.verdict) == ("met", "not-applicable")
    assert found.amended[0][0] == f"vic-{'2019' if on < '2023' else '2022'}"


@pytest.mark.parametrize(
    ("place", "stories", "verdict"),
    [("US-IL", "5", "unmet"), ("USCHI", "5", "unmet"), ("US-IL", "4", "not-applicable"), ("US-NY", "5", "")],
)
def test_the_stair_statute_of_illinois_binds_its_cities_too(place: str, stories: str, verdict: str) -> None:
    """A stair door that the fire alarm and a switch unlock, in a stair without two-way communication."""
    changes = {"building.stories": stories, "stairs.s1.communication": "false"}
    condition = "il-statutes.stair-doors-over-four-stories/reentry"
    found = answer(law(place, "2024-05-01"), "stair-door", changes, condition)
    assert (found.verdict if found is not None else "") == verdict
    if found is not None:
        assert found.cites[0].endswith("425 ILCS 55/1.5")


@pytest.mark.parametrize(("work", "verdict"), [("existing-untouched", "unmet"), ("new", "not-applicable")])
def test_chicago_asks_existing_stairs_too(work: str, verdict: str) -> None:
    changes = {"openings.d.work": work, "stairs.s1.stories_served": "5", "stairs.s1.communication": "false"}
    found = answer(law("USCHI", "2024-05-01"), "stair-door", changes, "chi-14x.existing-stair-reentry/reentry")
    assert found is not None
    assert (found.verdict, found.cites[0]) == (verdict, "CHI-14X 2020 505.9.9.1")


def test_a_wall_button_under_the_labour_law_of_massachusetts() -> None:
    """The building code accepts sensor and button; the statute names knob, pressure and panic device."""
    hand = "openings.d.locks.magnet.by_hand.inside"
    door = {"building.workplace": "true", f"{hand}.hardware": "none", f"{hand}.body_pressure": "false"}
    place = law("US-MA", "2025-01-15", "cmr-10")
    statute = answer(place, "sensor-magnet", door, "ma-statutes.doors-in-business-hours/knob-pressure-or-panic-device")
    building_code = answer(place, "sensor-magnet", door, "ibc.sensor-release/manual-release")
    assert statute is not None
    assert building_code is not None
    assert (statute.verdict, building_code.verdict) == ("unmet", "met")
    assert statute.cites == ("MA-STATUTES 2020 c.149 s.126",)


def test_two_seconds_in_the_residential_care_of_california() -> None:
    care = {**EXIT, "rooms.shop.elderly_care_licensed": "true", f"{DELAYED}.initiation_force": "15 lbf"}
    place = law("US-CA", "2024-05-01")
    statute = answer(place, "delayed-door", care, "ca-statutes.elderly-care-delayed-egress/initiation")
    building_code = answer(place, "delayed-door", care, "ibc.delayed-egress/initiation-time")
    assert statute is not None
    assert building_code is not None
    assert (statute.verdict, building_code.verdict) == ("unmet", "met")
    both = answer(place, "delayed-door", care, "ca-statutes.elderly-care-delayed-egress/both-systems")
    assert both is not None
    assert both.verdict == "unmet", "either system is enough for the building code, not for the statute"


@pytest.mark.parametrize(
    ("on", "verdict"),
    [("2022-03-22", "unmet"), ("2024-05-01", "met")],
)
def test_the_plans_of_a_barricade_in_michigan(on: str, verdict: str) -> None:
    lock = "openings.d.locks.lever"
    device = {f"{lock}.arrangement": "temporary-door-locking", f"{lock}.permit_documents": "plans"}
    found = answer(law("US-MI", on), "classroom-lock", device, "mi-statutes.school-temporary-locking/documents-filed")
    assert (found.verdict if found is not None else "no law") == verdict


def test_before_its_school_act_michigan_had_none() -> None:
    assert "mi-statutes@2020" in reading("US-MI", "2020-06-01").codes
    assert not [code for code in reading("US-MI", "2020-05-31").codes if code.startswith("mi-statutes")]
    assert "mi-statutes@2022" in reading("US-MI", "2022-03-23").codes


@pytest.mark.parametrize(
    ("place", "installed", "verdict"),
    [
        ("USMKE", "2002-06-30", "not-applicable"),
        ("USMKE", "2002-07-01", "unmet"),
        ("USMKE", "unknown", "undetermined"),
        ("US-WI", "2002-06-30", "unmet"),
    ],
)
def test_an_old_magnet_in_milwaukee(place: str, installed: str, verdict: str) -> None:
    """A magnet at an entrance that the fire alarm does not release; the day on which it was installed decides."""
    door = {
        "openings.d.passages.out.main_exit": "true",
        "openings.d.locks.magnet.on.fire-alarm.unlocks": "false",
        "openings.d.locks.magnet.installed_on": installed,
    }
    found = answer(law(place, "2024-05-01"), "sensor-magnet", door, "ibc.sensor-release/fire-alarm")
    assert found is not None
    assert found.verdict == verdict
    assert (("mke-214", "Milwaukee Code 214-33") in found.amended) is (place == "USMKE")


@pytest.mark.parametrize(
    ("place", "base", "changes", "condition", "verdict"),
    [
        ("US-MN", "memory-care-door", {}, "mn-mdh.locked-nursing-unit/waiver", "undetermined"),
        (
            "US-MN",
            "memory-care-door",
            {"openings.d.locks.magnet.worn_sensors_only": "false"},
            "mn-mdh.locked-nursing-unit/waiver",
            "needs-approval",
        ),
        (
            "US-WI",
            "delayed-door",
            {"rooms.shop.adult_day_care": "true"},
            "wi-dhs.adult-day-care-delayed-egress/both-systems",
            "unmet",
        ),
        (
            "US-WA",
            "delayed-door",
            {"rooms.shop.group_care_of_children": "true"},
            "wa-dcyf.group-care-time-delay/licensing",
            "needs-approval",
        ),
    ],
)
def test_who_licenses_the_place_asks_more(
    place: str, base: str, changes: dict[str, str], condition: str, verdict: str
) -> None:
    found = answer(law(place, "2024-05-01"), base, changes, condition)
    assert found is not None
    assert found.verdict == verdict
    assert answer(law("US-OR", "2024-05-01"), base, changes, condition) is None


def test_a_permit_in_denver() -> None:
    found = answer(law("USDEN", "2024-05-01"), "sensor-magnet", {}, "ibc.access-control-permit/permit")
    assert found is not None
    assert found.verdict == "needs-approval"
    assert answer(law("US-OR", "2024-05-01"), "sensor-magnet", {}, "ibc.access-control-permit/permit") is None


def test_a_report_names_the_law_and_what_a_person_must_look_at() -> None:
    under = told(law("US-MN", "2024-05-01"), "delayed-door", EXIT)["rulebook"]["law"]
    assert ("US-MN/mbc-2020", "ibc@2018") in [(each["id"], each["code"]) for each in under["adopted"]]
    assert {"special-detention", "code-of-2015"} <= {clause["id"] for clause in under["not_encoded"]}


@pytest.mark.parametrize(
    ("place", "on", "offers"),
    [
        ("US-CA", "2021-05-01", "cbc-2022 from 2023-01-01"),
        ("USNYC", "2020-05-01", "bc-2022 from 2022-11-07"),
        ("CA-ON", "2024-05-01", "obc-2024 from 2025-01-01"),
    ],
)
def test_a_day_whose_law_is_not_encoded_has_no_rulebook(place: str, on: str, offers: str) -> None:
    with pytest.raises(ClausewayError, match="that is encoded in force") as caught:
        law(place, on)
    assert offers in str(caught.value)


def test_texas_has_no_building_code_that_is_encoded() -> None:
    assert not any(code.startswith("ibc") for code in reading("US-TX", "2024-05-01").codes)
    assert "state-default" in {clause.id for _, clause in law("US-TX", "2024-05-01").under.not_encoded}
