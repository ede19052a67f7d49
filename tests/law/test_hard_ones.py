"""The language on what is hard to say: tables, sums over siblings, one of several methods, nested exceptions."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from clauseway.answers.check import bindings
from clauseway.answers.decide_condition import decide_condition
from clauseway.case.open import project_from_data
from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.readers.decide import Decider
from clauseway.text.problems import ClausewayError

CODE = """
code: xx
title: An invented code
publisher: nobody
editions: ["2018", "2021"]
force: law-when-adopted
about: For tests.
"""
SAYS = "{asks: it is so, met: It is so., unmet: It is not so.}"
HEAD = """
code: xx
title: A matter
about: For tests.
sections: {"2018": "1", "2021": "2"}
basis: {"2018": practice, "2021": practice}
"""
FACTORS = f"""
id: factors
kind: table
{HEAD}
keys: {{use: {{of: room.use}}, area: {{unit: area, banded: "true"}}}}
columns: {{share: {{unit: area}}}}
rows:
  small-office: {{use: office, area: 50 m2, share: 5 m2}}
  large-office: {{use: office, area: none, share: {{"2018": 9.3 m2, "2021": 14 m2}}}}
  assembly: {{use: assembly, area: none, share: 0.65 m2}}
"""
LOAD = f"""
id: load
kind: derivation
{HEAD}
subject: room
gives: room.occupant_load
value: ceil(room.area / lookup("factors", "share", room.use, room.area))
"""
LOSS = f"""
id: loss-of-one
kind: requirement
{HEAD}
subject: room
parameters:
  per_person: {{value: 0.2 in}}
  half: {{value: 50 %}}
let:
  needed: per_person * half * room.occupant_load
conditions:
  half-left:
    require: >-
      all(sum(p.opening.clear_width for p in room.served_by if p is not lost) >= needed for lost in room.served_by)
    says: {SAYS}
    remedy: Widen the doors.
"""
AS_OFFICE = f"""
id: as-office
kind: requirement
{HEAD}
subject: room
conditions:
  roomy:
    require: room.area >= lookup("factors", "share", "office", room.area)
    says: {SAYS}
    remedy: Enlarge it.
"""
METHODS = f"""
id: methods
kind: requirement
{HEAD}
subject: lock
parameters:
  reset: {{of: response.holds_until, value: [alarm-reset]}}
conditions:
  one-of-several:
    any_of:
      alarm: {{where: building.fire_alarm, require: 'lock.on["fire-alarm"].unlocks'}}
      command: {{where: building.fire_command_center, require: 'lock.on["remote-command"].unlocks'}}
      power: {{require: 'lock.on["loss-of-lock-power"].unlocks', since: "2021"}}
    says: {SAYS}
    remedy: Provide one.
  nested:
    require: lock.on["fire-alarm"].unlocks
    exceptions:
      high-rise:
        where: building.high_rise
        require: building.fire_command_center
        exceptions:
          correctional: {{where: building.correctional}}
    says: {SAYS}
    remedy: Let it unlock.
"""


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Rulebook]:
    root = tmp_path_factory.mktemp("hard") / "rules"
    shutil.copytree(shipped_rules() / "facts", root / "facts")
    shutil.copytree(shipped_rules() / "schemas", root / "schemas")
    folder = root / "codes" / "xx"
    folder.mkdir(parents=True)
    texts = {"factors": FACTORS, "load": LOAD, "loss-of-one": LOSS, "as-office": AS_OFFICE, "methods": METHODS}
    for name, text in {"code": CODE, **texts}.items():
        (folder / f"{name}.yaml").write_text(text)
    library = load(shipped=root)
    return {edition: resolve(library, [f"xx@{edition}"]) for edition in ("2018", "2021")}


def verdict(book: Rulebook, data: dict[str, object], provision: str, label: str) -> str:
    project = project_from_data(data, book)
    decider = Decider(book, project)
    found = book.provisions[f"xx.{provision}"]
    condition = next(c for c in found.conditions if c.label == label)
    path = "rooms/hall" if found.subject == "room" else "openings/a"
    bounds = list(bindings(decider, found.subject, project.things[path]))
    return decide_condition(decider, found, condition, bounds[0], claimed=False).verdict


def hall(widths: dict[str, str | None], complete: bool = True, **room: object) -> dict[str, object]:
    openings = {
        name: {
            "complete": "all-below",
            **({"clear_width": width} if width else {}),
            "sides": {"in": {"space": "hall"}, "out": {}},
            "passages": {"out": {"from_side": "in", "to_side": "out", "role": "required", "serves": ["hall"]}},
        }
        for name, width in widths.items()
    }
    return {"rooms": {"hall": {**room, "complete": ["served_by"] if complete else "false"}}, "openings": openings}


def test_a_room_keeps_half_its_width_when_one_door_is_lost(books: dict[str, Rulebook]) -> None:
    # 200 people need 0.2 in each: 40 in; with one of two doors lost, half of it: 20 in.
    book = books["2018"]
    assert verdict(book, hall({"a": "32 in", "b": "20 in"}, occupant_load="200"), "loss-of-one", "half-left") == "met"
    assert (
        verdict(book, hall({"a": "32 in", "b": "19.9 in"}, occupant_load="200"), "loss-of-one", "half-left") == "unmet"
    )


def test_an_unknown_width_does_not_matter_where_the_others_are_enough(books: dict[str, Rulebook]) -> None:
    enough = hall({"a": "32 in", "b": "32 in", "c": None}, occupant_load="200")
    assert verdict(books["2018"], enough, "loss-of-one", "half-left") == "met"
    short = hall({"a": "32 in", "b": None}, occupant_load="200")
    assert verdict(books["2018"], short, "loss-of-one", "half-left") == "undetermined"


def test_a_door_that_may_exist_keeps_a_list_open(books: dict[str, Rulebook]) -> None:
    few = hall({"a": "32 in"}, complete=False, occupant_load="200")
    assert verdict(books["2018"], few, "loss-of-one", "half-left") == "undetermined"
    assert verdict(books["2018"], hall({"a": "32 in"}, occupant_load="200"), "loss-of-one", "half-left") == "unmet"


@pytest.mark.parametrize(
    ("edition", "room", "people"),
    [
        ("2018", {"use": "office", "area": "50 m2"}, (10, 10)),
        ("2018", {"use": "office", "area": "93 m2"}, (10, 10)),
        ("2021", {"use": "office", "area": "93 m2"}, (7, 7)),
        ("2018", {"use": "assembly", "area": "65 m2"}, (100, 100)),
        ("2018", {"use": {"one_of": ["office", "assembly"]}, "area": "65 m2"}, (7, 100)),
        ("2018", {"use": "office", "area": {"at_least": "40 m2", "at_most": "60 m2"}}, (5, 12)),
    ],
)
def test_a_table_gives_the_hull_of_the_rows_its_keys_may_meet(
    books: dict[str, Rulebook], edition: str, room: dict[str, object], people: tuple[int, int]
) -> None:
    project = project_from_data(hall({"a": "32 in"}, **room), books[edition])
    value, _ = Decider(books[edition], project).fact(project.things["rooms/hall"], "room.occupant_load", "xx.load")
    assert (value.low, value.high) == people  # type: ignore[union-attr]


def test_a_row_may_be_asked_for_by_a_value_in_quotes(books: dict[str, Rulebook]) -> None:
    # The share of an office up to 50 m2 is 5 m2, whatever the room is used for.
    asked = [("5 m2", "met"), ("4.99 m2", "unmet"), (None, "undetermined")]
    for area, expected in asked:
        room = {"use": "assembly", **({"area": area} if area else {})}
        assert verdict(books["2018"], hall({"a": "32 in"}, **room), "as-office", "roomy") == expected


def lock(events: dict[str, object], **building: object) -> dict[str, object]:
    return {
        "building": building,
        "openings": {
            "a": {
                "complete": "all-below",
                "sides": {"in": {}, "out": {}},
                "passages": {"out": {"from_side": "in", "to_side": "out", "role": "required"}},
                "locks": {"one": {"secures": ["out"], "on": {k: {"unlocks": v} for k, v in events.items()}}},
            }
        },
    }


def test_an_alternative_whose_where_fails_is_not_available(books: dict[str, Rulebook]) -> None:
    without = lock({"remote-command": "true"}, fire_alarm="false", fire_command_center="false")
    assert verdict(books["2018"], without, "methods", "one-of-several") == "unmet"
    with_one = lock({"remote-command": "true"}, fire_alarm="false", fire_command_center="true")
    assert verdict(books["2018"], with_one, "methods", "one-of-several") == "met"


def test_an_alternative_of_a_later_edition(books: dict[str, Rulebook]) -> None:
    power = lock({"loss-of-lock-power": "true"}, fire_alarm="false", fire_command_center="false")
    assert verdict(books["2018"], power, "methods", "one-of-several") == "unmet"
    assert verdict(books["2021"], power, "methods", "one-of-several") == "met"


@pytest.mark.parametrize(
    ("building", "expected"),
    [
        ({"high_rise": "false"}, "unmet"),
        ({"high_rise": "true", "fire_command_center": "true"}, "met"),
        ({"high_rise": "true", "fire_command_center": "false", "correctional": "false"}, "unmet"),
        ({"high_rise": "true", "fire_command_center": "false", "correctional": "true"}, "met"),
        ({"high_rise": "true", "fire_command_center": "false"}, "undetermined"),
    ],
)
def test_exceptions_inside_exceptions(books: dict[str, Rulebook], building: dict[str, object], expected: str) -> None:
    assert verdict(books["2018"], lock({"fire-alarm": "false"}, **building), "methods", "nested") == expected


def test_a_misspelt_value_for_a_key_is_refused_with_the_nearest(tmp_path: Path) -> None:
    shutil.copytree(shipped_rules() / "facts", tmp_path / "rules" / "facts")
    shutil.copytree(shipped_rules() / "schemas", tmp_path / "rules" / "schemas")
    folder = tmp_path / "rules" / "codes" / "xx"
    folder.mkdir(parents=True)
    for name, text in {"code": CODE, "factors": FACTORS, "as-office": AS_OFFICE.replace('"office"', '"offce"')}.items():
        (folder / f"{name}.yaml").write_text(text)
    with pytest.raises(ClausewayError) as refused:
        resolve(load(shipped=tmp_path / "rules"), ["xx@2018"])
    assert '"offce" is not a value of room.use' in str(refused.value)
    assert refused.value.problems[0].nearest == "office"
