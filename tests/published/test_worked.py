"""Worked examples that public sources print, computed by the rules themselves. Each names its source.

Where a source uses a factor of another edition than it says, the line gives both editions.
"""

from __future__ import annotations

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
]
WIDTHS = [
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
]
REDUCED = [
    # Arithmetic on factors that were read: 32, 33, 34 and 41.5 in of 0.15 in each, sprinklered, with a voice alarm.
    ("we-048", "32 in", 213, 214),
    ("we-050", "33 in", 220, 221),
    ("we-052", "34 in", 226, 227),
    ("we-054", "41.5 in", 276, 277),
]


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


def capacity(width: str, people: int, **building: str) -> str:
    data = {
        "building": {"sprinklers": "none", "voice_alarm": "false", **building},
        "rooms": {"hall": {"group": "A-3", "occupant_load": str(people)}},
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
    systems = {"sprinklers": "nfpa-13-throughout", "voice_alarm": "true"}
    assert capacity(width, most, **systems) == "met"
    assert capacity(width, more, **systems) == "unmet"


def test_one_exit_from_a_dwelling_unit_by_edition() -> None:
    # Code officials' forum (we-015): a unit of 10 people has one exit; from 2018 the limit in Group R-2 is 20.
    for edition, people, verdict in (
        ("2015", 10, "met"),
        ("2015", 11, "unmet"),
        ("2018", 20, "met"),
        ("2018", 21, "unmet"),
    ):
        room = {"group": "R-2", "occupant_load": str(people), "exits": "1", "common_path": "60 ft"}
        data = {
            "building": {"sprinklers": "nfpa-13-throughout"},
            "rooms": {"unit": room},
            "openings": {
                "d": {
                    "sides": {"in": {"space": "unit"}, "out": {}},
                    "passages": {
                        "out": {"from_side": "in", "role": "required", "serves": ["unit"], "complete": "true"}
                    },
                    "complete": ["passages", "sides"],
                }
            },
        }
        report = check(book(edition), project_from_data(data, book(edition)), only=["d"])
        found = [f.verdict for f in report.answers[0].findings if f.id == "ibc.exits-from-spaces/two-or-few"]
        assert found == [verdict], (edition, people)
