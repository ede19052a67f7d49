"""Worked examples that public sources print, computed by the rules themselves. Each names its source.

Where a source uses a factor of another edition than it says, the line gives both editions.
"""

from __future__ import annotations

import re
from functools import cache

import pytest

from clauseway.answers.check import check
from clauseway.case.open import project_from_data
from clauseway.language.possible import Interval
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.readers.decide import Decider

LOADS = [
    # Trade article on classrooms of 20 sq ft net each: 960 / 20.
    ("we-001", "2018", {"use": "classroom", "area": "960 sq ft", "area_measured": "net"}, 48),
    # Copy of a trade article: 1,120 / 20.
    ("we-002", "2018", {"use": "classroom", "area": "1120 sq ft", "area_measured": "net"}, 56),
    # City of Fredericksburg, Texas, calculating occupancy: 1,500 / 30 up to 2015; from 2018 60 gross gives 25.
    ("we-008", "2015", {"use": "mercantile", "area": "1500 sq ft", "area_measured": "gross"}, 50),
    ("we-008 from 2018", "2018", {"use": "mercantile", "area": "1500 sq ft", "area_measured": "gross"}, 25),
    # Legal explainer of section 1006.2.1: 5,000 / 100. It calls that the 2024 edition, whose factor is 150: 34.
    ("we-012", "2015", {"use": "office", "area": "5000 sq ft", "area_measured": "gross"}, 50),
    ("we-012 from 2018", "2024", {"use": "office", "area": "5000 sq ft", "area_measured": "gross"}, 34),
    # Code officials' forum, a dwelling unit of 2,000 sq ft at 200 each.
    ("we-015", "2015", {"use": "dwelling-unit", "area": "2000 sq ft", "area_measured": "gross"}, 10),
    # Code officials' forum: workstations are no fixed seats, so 1,380 / 150 = 9.2, rounded up.
    ("we-031", "2018", {"use": "office", "area": "1380 sq ft", "area_measured": "gross"}, 10),
    # Question and answer page on a restaurant with tables: 500 / 15, printed as 33; the code leaves none out.
    ("we-009", "2018", {"use": "assembly-tables", "area": "500 sq ft", "area_measured": "net"}, 34),
    # The same of a kitchen gives 5 by the Life Safety Code, which stands below; this code has 200 for each.
    ("we-011 here", "2018", {"use": "kitchen", "area": "500 sq ft", "area_measured": "gross"}, 3),
    # Code officials' forum: 20 pews of 10 ft 6 in, 18 in each, makes 7 for each pew and 140 in all.
    (
        "we-013",
        "2018",
        {"use": "fixed-seating", "fixed_seats": "0", "bench_length": "2520 in", "booth_length": "0 in"},
        140,
    ),
    # Arithmetic on factors that were read: 3,000 / 15.
    ("we-059", "2018", {"use": "assembly-tables", "area": "3000 sq ft", "area_measured": "net"}, 200),
    # Arithmetic on factors that were read: 7,350 / 150.
    ("we-060", "2018", {"use": "office", "area": "7350 sq ft", "area_measured": "gross"}, 49),
]
WIDTHS = [
    # NYC building code explainer: 400 people need 80 in, on one door here; a flashcard of a course says the same.
    ("we-017 we-023", "80 in", 400, "met"),
    ("we-017 we-023 less", "79.9 in", 400, "unmet"),
    # The same explainer: 36 / 0.2. It divides the leaf; of such a leaf some 33 in are clear, as in we-049.
    ("we-018", "36 in", 180, "met"),
    ("we-018 more", "36 in", 181, "unmet"),
    # How-to site: half of the inches, times ten.
    ("we-025", "30 in", 150, "met"),
    ("we-025 more", "30 in", 151, "unmet"),
    ("we-025 wide", "72 in", 360, "met"),
    ("we-025 wide, more", "72 in", 361, "unmet"),
    # NYC building code explainer, exit door width: 400 people on two doors of 0.2 in each, 40 in for each door.
    ("we-019", "40 in", 200, "met"),
    ("we-019 less", "39.9 in", 200, "unmet"),
    # Exam forum: 185 people, 37 in of clear width.
    ("we-021", "37 in", 185, "met"),
    ("we-021 less", "36.9 in", 185, "unmet"),
    # Code officials' forum: 93 people need 18.6 in; the least width of a door governs then, by another clause.
    ("we-022", "18.6 in", 93, "met"),
    ("we-022 less", "18.5 in", 93, "unmet"),
    # Arithmetic on factors that were read: 32 / 0.2, 33 / 0.2.
    ("we-047", "32 in", 160, "met"),
    ("we-047 more", "32 in", 161, "unmet"),
    ("we-049", "33 in", 165, "met"),
    ("we-049 more", "33 in", 166, "unmet"),
    ("we-055", "64 in", 320, "met"),
    ("we-055 more", "64 in", 321, "unmet"),
    ("we-057", "68 in", 340, "met"),
    ("we-057 more", "68 in", 341, "unmet"),
]
REDUCED = [
    # Arithmetic on factors that were read: 32, 33, 34 and 41.5 in of 0.15 in each, sprinklered, with a voice alarm.
    ("we-048", "32 in", 213, 214),
    ("we-050", "33 in", 220, 221),
    ("we-052", "34 in", 226, 227),
    ("we-054", "41.5 in", 276, 277),
    ("we-056", "64 in", 426, 427),
    ("we-058", "68 in", 453, 454),
]
SYSTEMS = {"sprinklers": "nfpa-13-throughout", "voice_alarm": "true"}
ROOM_BESIDE_DOOR = [
    # U.S. Access Board, descriptions of the figures of 404.2.4.1: depth before the door, width beside its latch edge
    # or, where one comes from the hinge side and pushes, beside its hinge edge. we-039 has a latch and no closer.
    ("we-037", "pull-front", "front", "pull", "none", "60 in", "latch_clearance", "18 in"),
    ("we-039", "push-hinge", "hinge-side", "push", "none", "42 in", "hinge_clearance", "22 in"),
    ("we-040", "pull-latch", "latch-side", "pull", "door-closer", "54 in", "latch_clearance", "24 in"),
    ("we-041", "push-latch", "latch-side", "push", "door-closer", "48 in", "latch_clearance", "24 in"),
]
VESTIBULES = [
    # The same, figures of 404.2.6: inches between the doors, and how many leaves of 36 in (ours) swing into that space.
    ("we-043", 48, 0),
    ("we-044", 84, 1),
    ("we-045", 120, 2),
]
BY_NO_RULE = {
    "we-010": "concentrated business use is not told apart from other offices",
    "we-032": "the plan is not printed; two methods of one area, of which the rules round each space up",
}
"""Those that no rule computes; tests/compute works out the first."""
ALONE = {"we-026", "we-029", "we-030", "we-034", "we-063", "we-065"}
"""Those that have a test of their own below."""
ELSEWHERE = {"we-046": "P124, the letter of interpretation of 1981"}
"""Those that are described as an opening beside."""


@cache
def book(edition: str) -> Rulebook:
    return resolve(load(), [f"ibc@{edition}"])


@pytest.mark.parametrize(("edition", "room", "people"), [line[1:] for line in LOADS], ids=[line[0] for line in LOADS])
def test_occupant_load(edition: str, room: dict[str, str], people: int) -> None:
    project = project_from_data({"rooms": {"r": room}, "openings": {"d": {}}}, book(edition))
    value, _ = Decider(book(edition), project).fact(
        project.things["rooms/r"], "room.occupant_load", "ibc.occupant-load"
    )
    assert isinstance(value, Interval)
    assert (value.low, value.high) == (people, people)


def capacity(width: str, people: int, group: str = "A-3", **building: str) -> str:
    data = {
        "building": {"sprinklers": "none", "voice_alarm": "false", **building},
        "rooms": {"hall": {"group": group, "occupant_load": str(people)}},
        "openings": {
            "d": {
                "kind": "swinging",
                "clear_width": width,
                "sides": {"in": {"space": "hall"}, "out": {}},
                "passages": {
                    "out": {
                        "from_side": "in",
                        "to_side": "out",
                        "role": "required",
                        "serves": ["hall"],
                        "complete": "true",
                        "occupant_load": str(people),
                    }
                },
                "complete": ["passages", "sides"],
            }
        },
    }
    report = check(book("2018"), project_from_data(data, book("2018")), only=["d"])
    return next(f.verdict for f in report.answers[0].findings if f.id == "ibc.egress-capacity/width")


@pytest.mark.parametrize(("width", "people", "verdict"), [w[1:] for w in WIDTHS], ids=[w[0] for w in WIDTHS])
def test_capacity(width: str, people: int, verdict: str) -> None:
    assert capacity(width, people) == verdict


@pytest.mark.parametrize(("width", "most", "more"), [line[1:] for line in REDUCED], ids=[line[0] for line in REDUCED])
def test_capacity_with_sprinklers_and_a_voice_alarm(width: str, most: int, more: int) -> None:
    assert capacity(width, most, **SYSTEMS) == "met"
    assert capacity(width, more, **SYSTEMS) == "unmet"


def test_a_hospital_has_no_smaller_share() -> None:
    # Arithmetic on factors that were read (we-065): Group I-2 stays at 0.2, so 34 in do for 170, and not for 226.
    assert capacity("34 in", 170, "I-2", **SYSTEMS) == "met"
    assert capacity("34 in", 171, "I-2", **SYSTEMS) == "unmet"
    assert capacity("34 in", 226, "A-3", **SYSTEMS) == "met"


def exits(edition: str, room: dict[str, str], condition: str, **building: str) -> str:
    return of_room(f"exits-from-spaces/{condition}", edition, room, **building)


def of_room(condition: str, edition: str, room: dict[str, str], clear_width: str = "34 in", **building: str) -> str:
    """The verdict of a condition on the one door that is described of a room."""
    data = {
        "building": building,
        "rooms": {"room": room},
        "openings": {
            "d": {
                "kind": "swinging",
                "clear_width": clear_width,
                "sides": {"in": {"space": "room"}, "out": {}},
                "passages": {"out": {"from_side": "in", "role": "required", "serves": ["room"], "complete": "true"}},
                "complete": ["passages", "sides"],
            }
        },
    }
    report = check(book(edition), project_from_data(data, book(edition)), only=["d"])
    (verdict,) = {f.verdict for f in report.answers[0].findings if f.id == f"ibc.{condition}"}
    return verdict


def test_one_exit_from_a_dwelling_unit_by_edition() -> None:
    # Code officials' forum (we-015): a unit of 10 people has one exit; from 2018 the limit in Group R-2 is 20.
    for edition, people, verdict in (
        ("2015", 10, "met"),
        ("2015", 11, "unmet"),
        ("2018", 20, "met"),
        ("2018", 21, "unmet"),
    ):
        unit = {"group": "R-2", "occupant_load": str(people), "exits": "1", "common_path": "60 ft"}
        assert exits(edition, unit, "two-or-few", sprinklers="nfpa-13-throughout") == verdict, (edition, people)


def test_three_exits_from_501_people() -> None:
    # Code officials' forum (we-026), a break room for 516: at least three. It quotes the row from 501 to 1,000.
    assert exits("2015", {"occupant_load": "516", "exits": "3"}, "three") == "met"
    assert exits("2015", {"occupant_load": "516", "exits": "2"}, "three") == "unmet"
    assert exits("2015", {"occupant_load": "500", "exits": "2"}, "three") == "met"


def test_49_people_in_an_office_may_have_one_exit() -> None:
    # Arithmetic on factors that were read (we-060): 49 people, one fewer than need two exits.
    office = {"use": "office", "group": "B", "area_measured": "gross", "exits": "1", "common_path": "75 ft"}
    assert exits("2018", {**office, "area": "7350 sq ft"}, "two-or-few", sprinklers="none") == "met"
    assert exits("2018", {**office, "area": "7351 sq ft"}, "two-or-few", sprinklers="none") == "unmet"


def test_a_kitchen_by_the_life_safety_code() -> None:
    # Question and answer page on restaurants (we-011): 500 sq ft at 100 each are 5 people. The IBC has 200: see above.
    kitchen = {"use": "kitchen", "area": "500 sq ft", "area_measured": "gross"}
    life_safety = resolve(load(), ["nfpa101@2018"])
    project = project_from_data({"rooms": {"r": kitchen}, "openings": {"d": {}}}, life_safety)
    value, _ = Decider(life_safety, project).fact(
        project.things["rooms/r"], "room.occupant_load", "nfpa101.occupant-load"
    )
    assert isinstance(value, Interval)
    assert (value.low, value.high) == (5, 5)


def apart(separation: str, diagonal: str, sprinklers: str) -> str:
    room = {"group": "B", "occupant_load": "120", "exits": "2", "exit_separation": separation, "diagonal": diagonal}
    return of_room("exit-separation/apart", "2018", room, sprinklers=sprinklers)


def test_exits_half_or_a_third_of_the_diagonal_apart() -> None:
    # Question and answer page (we-030): a room of 50 by 50 ft has a diagonal of about 70 ft; half of 70.71 is 35.36.
    assert apart("35.36 ft", "70.71 ft", "none") == "met"
    assert apart("35.35 ft", "70.71 ft", "none") == "unmet"
    # Arithmetic on factors that were read (we-063): 80 by 60 ft, diagonal 100 ft. A third is 33 1/3, written as 33.33,
    # which is a little less.
    assert apart("33.34 ft", "100 ft", "nfpa-13-throughout") == "met"
    assert apart("33.33 ft", "100 ft", "nfpa-13-throughout") == "unmet"


@pytest.mark.parametrize(("left", "verdict"), [("38.5 in", "met"), ("38.4 in", "unmet")])
def test_what_is_left_when_three_of_four_exits_share_one_way(left: str, verdict: str) -> None:
    # Code officials' forum (we-029): 385 people, three of four exits behind one door. The other must serve half of
    # them, 192.5; at 0.2 in each that is 38.5 in. The shared door is 72 in here.
    lost = 72
    width = f"{lost + float(left.removesuffix(' in'))} in"
    room = {"group": "B", "occupant_load": "385", "exits": "4", "exits_width": width}
    assert of_room("loss-of-one-exit/half-left", "2021", room, clear_width=f"{lost} in", sprinklers="none") == verdict


def test_four_flats_on_the_third_storey_may_have_one_exit() -> None:
    # Code officials' forum (we-034), the table of 2018 for Group R-2: four units, 125 ft, sprinklered.
    flats = {"number": "3", "group": "R-2", "exits": "1", "occupant_load": "16", "dwelling_units": "4"}
    ways = {"escape_openings": "true", "common_path": "125 ft", "travel_distance": "125 ft", "open_parking": "false"}
    building = {"sprinklers": "nfpa-13-throughout"}
    data = {"building": building, "storeys": {"third": {**flats, **ways}}, "openings": {"d": {}}}
    report = check(book("2018"), project_from_data(data, book("2018")))
    (storey,) = [answer for answer in report.answers if answer.kind == "storey"]
    verdicts = {f.id: f.verdict for f in storey.findings}
    assert verdicts["ibc.exits-per-storey/two"] == "met"
    more = {"building": building, "storeys": {"third": {**flats, **ways, "dwelling_units": "5"}}, "openings": {"d": {}}}
    (storey,) = [
        answer
        for answer in check(book("2018"), project_from_data(more, book("2018"))).answers
        if answer.kind == "storey"
    ]
    assert {f.id: f.verdict for f in storey.findings}["ibc.exits-per-storey/two"] == "unmet"


@cache
def accessible() -> Rulebook:
    return resolve(load(), ["ada@2010"])


def access(opening: dict[str, object], condition: str) -> str:
    data = {"openings": {"d": {"required_accessible": "true", "kind": "swinging", **opening}}}
    report = check(accessible(), project_from_data(data, accessible()), only=["d"])
    (verdict,) = {f.verdict for f in report.answers[0].findings if f.id == f"ada.{condition}"}
    return verdict


def just_less(inches: str) -> str:
    return f"{float(inches.removesuffix(' in')) - 0.1:.1f} in"


@pytest.mark.parametrize(
    ("condition", "comes_from", "moves", "closer", "depth", "edge", "beside"),
    [line[1:] for line in ROOM_BESIDE_DOOR],
    ids=[line[0] for line in ROOM_BESIDE_DOOR],
)
def test_room_before_and_beside_a_door(
    condition: str, comes_from: str, moves: str, closer: str, depth: str, edge: str, beside: str
) -> None:
    def verdict(depth: str, beside: str) -> str:
        floor = {"approaches": [comes_from], "clear_depth": depth, edge: beside, "latch_obstruction": "0 in"}
        passage = {"from_side": "in", "to_side": "out", "swings_with_travel": str(moves == "push").lower()}
        opening = {
            "power_operated": "false",
            "hospital_patient_entry": "false",
            "sides": {"in": floor, "out": {}},
            "passages": {"way": passage},
            "leaves": {"leaf": {"closing_device": closer, "positive_latching": "true"}},
            "complete": ["leaves", "passages", "sides"],
        }
        return access(opening, f"maneuvering-clearance/{condition}")

    assert verdict(depth, beside) == "met"
    assert verdict(just_less(depth), beside) == "unmet"
    assert verdict(depth, just_less(beside)) == "unmet"


@pytest.mark.parametrize(("gap", "leaves"), [line[1:] for line in VESTIBULES], ids=[line[0] for line in VESTIBULES])
def test_room_between_two_doors(gap: int, leaves: int) -> None:
    left = gap - 36 * leaves
    door = {"in_series": "true", "power_operated": "false", "security_operated": "false"}
    assert access({**door, "series_distance": f"{left} in"}, "doors-in-series/distance") == "met"
    assert access({**door, "series_distance": f"{left - 0.1} in"}, "doors-in-series/distance") == "unmet"


def test_no_worked_example_is_lost() -> None:
    """44 were collected; each is computed by a rule, described as an opening, or has the reason why no rule does it."""
    tables = [*LOADS, *WIDTHS, *REDUCED, *ROOM_BESIDE_DOOR, *VESTIBULES]
    computed = {name for line in tables for name in re.findall(r"we-\d+", line[0])} | ALONE
    assert not computed & (BY_NO_RULE.keys() | ELSEWHERE.keys())
    assert not BY_NO_RULE.keys() & ELSEWHERE.keys()
    assert len(computed | BY_NO_RULE.keys() | ELSEWHERE.keys()) == 44
