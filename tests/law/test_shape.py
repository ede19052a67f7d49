"""The shape of rule files: the shipped ones pass; a departure is said in people's words at its place."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from clauseway.law.shape import SUFFIX, check_shape
from clauseway.text.problems import Problem
from clauseway.text.source import Node, node_from_data, parse_yaml, read_yaml

ROOT = Path(__file__).parents[2]
RULES = ROOT / "rules"
SCHEMAS = RULES / "schemas"

NOT_FOR_PEOPLE = re.compile(
    r"schema|propert|additional|unevaluated|instance|oneOf|anyOf|allOf|\$|regex|pattern|is not of type"
    r"|is a required|does not match|None|\{'|\['"
)

REQUIREMENT = """\
id: free-egress
code: ibc
kind: requirement
title: Egress doors open from the egress side
about: Whoever leaves opens the door.
subject: lock
sections: {2018: "1010.1.9", 2021: "1010.2"}
basis: {2018: mn-2020, 2021: memory}
parameters:
  height_max: {value: 48 in, also: 1219 mm, item: {2018: "1"}}
conditions:
  no-key:
    require: not lock.by_hand[egress].needs_key
    says:
      asks: the lock opens without a key
      met: The lock opens without a key.
      unmet: The lock needs a key.
    remedy: Replace the key with a lever.
"""

ARRANGEMENT = """\
id: sensor-release
code: ibc
kind: locking-arrangement
title: Sensor release
about: A lock that a sensor frees.
subject: lock
sections: {2018: "1010.1.9.9"}
section_basis: {2018: iccsafe-bsj}
basis: mn-2020
proves: {if_met: contributes, if_unmet: violates}
applies: passage.role in egress_roles
recognised_by: lock.arrangement == "sensor-release"
not_recognised: This lock is not meant to be released by a sensor.
excuses: [free-egress/always-free]
assumes: {one-building: {require: building.alone, says: The clause is read for one building.}}
let: {busy: any(s.occupant_load > most for s in passage.serves)}
parameters:
  egress_roles: {of: passage.role, value: [required, provided]}
  groups: {of: occupancy_group, values: {2015: [A, B], 2018: none}, basis: {2018: memory}}
permitted:
  place:
    all_of:
      group: {require: all(s.group in groups for s in passage.serves), until: 2018}
      sprinklers: {where: building.fire_alarm}
    says: {asks: the place is allowed, met: It is allowed., unmet: It is not allowed.}
conditions:
  manual-release:
    item: {2015: "3", 2018: "4"}
    since: 2015
    some: {release: egress.devices, where: release.kind in buttons}
    lines:
      height:
        require: release.height <= height_max
        says: {asks: it is low, met: It is low., unmet: "It is at {release.height}.", undetermined: Who knows}
        remedy: Move it.
    says: {asks: a button is there, met: There is a button., unmet: There is no button.}
    remedy: Fit a button.
  one-per-path:
    each: {path: passage.paths}
    let: {delayed: count(o for o in path.openings)}
    require: delayed <= single
    where: building.fire_alarm
    exceptions:
      detention: {where: building.correctional}
      paired: {where: room.group in paired, require: delayed <= double}
    says: {asks: one delay, met: One., unmet: "{delayed} delays."}
    remedy: Take one away.
examples:
  base: {openings: {d: {locks: {magnet: {kind: electromagnetic-shear}}, signs: none}}}
  change: {building.fire_alarm: true}
  conditions:
    manual-release:
      met: [{}, {openings.d.locks.magnet.listings: [], editions: [2018]}]
      unmet: [{openings.d.devices.button.height: 48.1 in}]
      undetermined: [{openings.d.devices.button.height: unknown}]
      not-applicable: [{openings.d.locks: none}]
      needs-approval: []
revision: 3
aliases: [motion sensor]
related: [free-egress]
status: draft
verified: {2018: read in the reprint}
note: Cut down.
"""

DERIVATION = """\
id: load
code: ibc
kind: derivation
title: Occupant load of a room
about: Area over the factor.
subject: room
sections: {2021: "1004.5"}
basis: {2021: memory}
gives: room.occupant_load
cases:
  known: {when: room.known, value: ceil(room.area / factor)}
otherwise: room.area / factor
"""

TABLE = """\
id: factors
code: ibc
kind: table
title: Area per person
about: Area for each person by use.
sections: {2021: "1004.5"}
basis: {2021: memory}
keys: {use: {of: room.use}, load: {unit: people, banded: true}}
columns: {area: {unit: area}, measured: {of: room.measured}}
rows:
  office, open: {use: office, load: 49 people, area: {2018: 100 ft2, 2021: 150 ft2}, measured: gross}
  assembly: {use: [assembly, lobby], load: none, area: 7 ft2, measured: net}
"""

THING = """\
thing: lock
title: lock
plural: locks
about: One locking device.
within: opening
relations:
  leaf: {one: leaf, about: its leaf, ask: Which leaf?}
  secures: {many: passage, about: what it locks, ask: Which ways?}
  on: {keyed: response, by: event, about: what it does}
  parts: {owns: part, most: 2, about: its parts}
  signs: {inverse: sign.lock, about: signs that speak of it}
facts:
  kind:
    is: choice
    values: {magnet: A magnet., strike: {within: magnet, about: A strike.}}
    about: The kind.
    ask: Which kind?
    from: designer
    effort: device
  group: {is: choices, values: occupancy_group, about: Groups., ask: Which?, from: given}
  delay: {is: quantity, unit: time, range: ["0 s", none], about: D., ask: So?, from: given, when_absent: 0 s}
  load: {is: count, noun: people, range: ["0", none], about: People., ask: How many?, from: given}
  longer: {is: approval, about: A longer delay., ask: Approved?, from: given}
"""

LISTS = "lists: {event: {about: What happens., values: {fire-alarm: {about: Alarm.}, UL 294: Listed.}}}\n"

CODE = """\
code: ibc
title: International Building Code
publisher: ICC
editions: [2015, 2018]
force: law-when-adopted
about: The model code.
"""

SOURCES = "sources: {mn-2020: {title: Reprint, kind: reprint, where: a shelf, note: Mixed.}}\n"

LAYER = """\
layer: XX-A
code: ibc
title: An invented city
about: What it is.
editions: [2018]
status: draft
binding: ruling
site: 1 Harbour Street
authority: fire-marshal
basis: ord-1
enacted: {by: ordinance, on: 2021-05-01, cite: Ord. 1}
sources: {ord-1: {title: Ordinance 1, kind: published, where: a shelf}}
vocabulary: {occupancy_group: {R-5: {about: Small ones., within: R}}}
changes:
  - {at: delayed-egress/permitted/place/any_of/classroom, remove: true, cite: Ord. 1, from: 2022-11-07,
     scope: room.x, editions: [2018]}
  - {at: delayed-egress/parameters/groups, take_out: [I], was: [B, I], cite: [Ord. 2, Fire 2], direction: stricter}
  - {at: delayed-egress/parameters/high, set: 46 in, also: 1168 mm, was: 48 in, cite: Ord. 4, comply_by: 2030-01-01}
  - {at: delayed-egress/conditions/one/exceptions, replace: {a: {where: room.x}}, was: [a], cite: Ord. 3,
     until: 2025-01-01, decided_by: today, reason: It says so., authority: the-city, basis: memory}
examples:
  - {says: A class room may not., base: delayed-door, change: {openings.d.x: 1}, editions: [2018], on: 2023-01-01,
     before: {delayed-egress/place: met}, expect: {delayed-egress/place: unmet}}
"""

ADOPTIONS = """\
jurisdiction: XX-A
name: An invented state
parent: XX
about: What it is.
decided_by: permit-issue
local_amendments: stricter
authorities: {fire-marshal: The fire marshal}
sources: {ord-1: {title: Ordinance 1, kind: published, where: a shelf}}
adoptions:
  one: {title: The first, code: ibc@2018, layers: [XX-A], from: 2020-01-01, until: two, cite: Ord. 1, basis: ord-1}
  two:
    title: The second
    follows: parent
    of: ibc
    dates: [{known: 2021-01-01, from: 2022-01-01, until: 2026-01-01, cite: [Ord. 2]}]
    choice: [one]
    decided_by: today
    authority: fire-marshal
    cite: Ord. 2
    basis: memory
    status: adopted
    note: More.
clauses:
  vestibules: {title: Vestibules, cite: Ord. 3, basis: memory, standing: needs-human, adoptions: [two], note: Look.}
"""

OPENINGS = """\
project: Harbour Hall (invented)
codes: [ibc@2021]
in: XX-A
dates: {permit-application: 2024-05-01}
site: 1 Harbour Street
authorities: [fire-marshal]
modes: [open]
building: {sprinklers: none}
sets: {magnet-600: {thing: lock, kind: electromagnetic-shear}}
rooms: {hall: {group: A-3, occupant_load: {at_least: 40, at_most: 60}}}
paths: {p1: {openings: [d101], complete: true}}
stairs: none
openings:
  d101:
    complete: [locks, devices]
    count: {locks: 1}
    sides: {inside: {space: hall}, outside: }
    locks:
      magnet: {like: magnet-600, on: {fire-alarm: {unlocks: true}}, modes: {open: {delay: 1 s}}, else: true}
    devices: unknown
    anything: at all
  d102:
"""

GOOD = {
    "requirement": ("provision", REQUIREMENT),
    "arrangement": ("provision", ARRANGEMENT),
    "derivation": ("provision", DERIVATION),
    "table": ("provision", TABLE),
    "facts": ("facts", THING),
    "lists": ("lists", LISTS),
    "code": ("code", CODE),
    "sources": ("sources", SOURCES),
    "layer": ("layer", LAYER),
    "adoptions": ("adoptions", ADOPTIONS),
    "openings": ("openings", OPENINGS),
}


def check(text: str, schema: str) -> list[Problem]:
    return check_shape(parse_yaml(text, "a.yaml"), schema, SCHEMAS)


def departing(name: str, old: str, new: str) -> list[Problem]:
    schema, text = GOOD[name]
    assert old in text
    return check(text.replace(old, new, 1), schema)


def shipped() -> Iterator[tuple[str, Path]]:
    for path in sorted(RULES.glob("facts/*.yaml")):
        yield ("lists" if path.stem == "lists" else "facts"), path
    for path in sorted(RULES.glob("codes/*/*.yaml")):
        yield (path.stem if path.stem in ("code", "sources", "clauses", "mutants") else "provision"), path
    for path in sorted([*RULES.glob("examples/*.yaml"), *RULES.glob("demo/*.yaml")]):
        yield "openings", path


@pytest.mark.parametrize(("schema", "path"), [pytest.param(*each, id=each[1].name) for each in shipped()])
def test_shipped_files_have_their_shape(schema: str, path: Path) -> None:
    assert [str(problem) for problem in check_shape(read_yaml(path), schema, SCHEMAS)] == []


@pytest.mark.parametrize("name", GOOD)
def test_every_key_of_the_language_is_accepted(name: str) -> None:
    schema, text = GOOD[name]
    assert [str(problem) for problem in check(text, schema)] == []


# Each line: a file, what in it gives way to what, and the problem that follows: the text at its place, what
# is found, and the nearest valid name.
DEPARTURES = [
    ("requirement", "    remedy:", "    remidy:", "remidy:", "unknown key: remidy", "remedy"),
    ("requirement", "    require:", "    requires:", "requires:", "unknown key: requires", "require"),
    ("requirement", "subject: lock\n", "", "id:", "missing key: subject", ""),
    ("requirement", "    remedy: Replace the key with a lever.\n", "", "require:", "missing key: remedy",
     ""),
    ("requirement", "    require: not lock.by_hand[egress].needs_key\n", "", "says:",
     "missing key: require, any_of, all_of or some", ""),
    ("requirement", "      asks: the lock opens without a key\n", "", "met:", "missing key: asks", ""),
    ("requirement", "  no-key:", "  no_key:", "no_key:", "the name `no_key`", "no-key"),
    ("requirement", "  height_max:", "  height-max:", "height-max:", "the name `height-max`", "height_max"),
    ("requirement", "    require: not lock.by_hand[egress].needs_key", "    require: [a]", "[a]",
     "a list where text is expected", ""),
    ("requirement", "    require: not lock.by_hand[egress].needs_key", "    require:", "\n",
     "nothing where text is expected", ""),
    ("requirement", "kind: requirement", "kind: requirment", "requirment", "`requirment`", "requirement"),
    ("requirement", "kind: requirement\n", "", "id:", "missing key: kind", ""),
    ("requirement", "subject: lock", "subject: door", "door", "`door`", ""),
    ("requirement", "sections: {2018:", "sections: {first:", "first:", "the name `first`", ""),
    ("requirement", 'sections: {2018: "1010.1.9", 2021: "1010.2"}', "sections: {}", "{}",
     "a map with nothing in it", ""),
    ("requirement", "value: 48 in", "value: 48 in, values: {2018: 40 in}", "values:",
     "value and values stand together", ""),
    ("requirement", "value: 48 in, ", "", "{also:", "missing key: value or values", ""),
    ("requirement", "item: {2018:", "item: {late:", "late:", "the name `late`", ""),
    ("requirement", "conditions:", "recognised_by: x\nconditions:", "recognised_by:",
     "unknown key: recognised_by", ""),
    ("arrangement", "status: draft", "status: drafty", "drafty", "`drafty`", "draft"),
    ("arrangement", "revision: 3", "revision: three", "three", "`three`", ""),
    ("arrangement", "[free-egress/always-free]", "[free-egress]", "free-egress]", "`free-egress`", ""),
    ("arrangement", "    require: delayed <= single\n", "    require: a\n    any_of: {x: {require: b}}\n",
     "any_of:", "require and any_of stand together", ""),
    ("arrangement", "    require: delayed <= single\n",
     "    some: {x: y}\n    lines: {a: {require: b, says: {asks: a, met: b, unmet: c}}}\n", "some:",
     "some cannot stand here", ""),
    ("arrangement", "{where: building.correctional}", "{item: A}", "{item:",
     "missing key: require, any_of, all_of, some or where", ""),
    ("arrangement", "{release: egress.devices, where: release.kind in buttons}", "{a: b, c: d}", "{a:",
     "a map with 2 entries", ""),
    ("arrangement", "{path: passage.paths}", "{}", "{}", "a map with nothing in it", ""),
    ("arrangement", "{if_met: contributes,", "{if_met: contribute,", "contribute,", "`contribute`",
     "contributes"),
    ("arrangement", "      not-applicable:", "      not_applicable:", "not_applicable:",
     "unknown key: not_applicable", "not-applicable"),
    ("arrangement", "{openings.d.locks: none}", "{openings: none}", "openings:", "the name `openings`", ""),
    ("arrangement", "base: {openings:", "base: {opening:", "opening:", "unknown key: opening", "openings"),
    ("derivation", "otherwise:", "value: x\notherwise:", "cases:", "value and cases stand together", ""),
    ("derivation", "gives: room.occupant_load", "gives: occupant_load", "occupant_load", "`occupant_load`",
     ""),
    ("derivation", "cases:\n  known: {when: room.known, value: ceil(room.area / factor)}\n", "value: x\n",
     "id:", "missing key: cases", ""),
    ("table", "banded: true", "banded: yes", "yes}", "`yes`", ""),
    ("table", "{of: room.use}", "{of: room.use, unit: length}", "unit:", "of and unit stand together", ""),
    ("table", "area: 7 ft2", "area: {of: 7 ft2}", "of:", "the name `of`", ""),
    ("facts", "is: quantity, unit: time,", "is: quantity,", "{is:", "missing key: unit", ""),
    ("facts", "unit: time", "unit: hour", "hour,", "`hour`", ""),
    ("facts", "is: approval,", "is: approval, unit: time,", "unit:", "unit cannot stand here", ""),
    ("facts", "    effort: device\n", "", "is:", "missing key: effort", ""),
    ("facts", "    from: designer", "    from: given", "effort:", "effort cannot stand here", ""),
    ("facts", "is: choices, values: occupancy_group,", "is: choices,", "{is:", "missing key: values", ""),
    ("facts", "{magnet: A magnet.,", "{unknown: A magnet.,", "unknown:", "the name `unknown`", ""),
    ("facts", '["0 s", none]', '["0 s"]', '["0 s"]', "a list with one entry", ""),
    ("facts", "{one: leaf,", "{ones: leaf,", "ones:", "unknown key: ones", "one"),
    ("facts", "by: event, ", "", "{keyed:", "missing key: by", ""),
    ("facts", "{one: leaf,", "{one: leaf, many: leaf,", "many:", "one and many stand together", ""),
    ("lists", "{about: Alarm.}", "{within: Alarm}", "{within:", "missing key: about", ""),
    ("lists", "{event:", "{Event Kind:", "Event Kind:", "the name `Event Kind`", "event_kind"),
    ("code", "[2015, 2018]", "[2015, 2015]", "[2015,", "a list with 2 entries", ""),
    ("code", "[2015, 2018]", "2015", "2015", "text where a list is expected", ""),
    ("sources", "kind: reprint", "kind: reprints", "reprints,", "`reprints`", "reprint"),
    ("sources", "{mn-2020:", "{memory:", "memory:", "the name `memory`", ""),
    ("adoptions", "until: two", "till: two", "till:", "unknown key: till", "until"),
    ("adoptions", "code: ibc@2018", "code: ibc 2018", "ibc 2018,", "`ibc 2018`", ""),
    ("adoptions", "code: ibc@2018, ", "", "{title:", "missing key: code or follows", ""),
    ("adoptions", "jurisdiction: XX-A", "jurisdiction: Utopia", "Utopia", "`Utopia`", ""),
    ("adoptions", "decided_by: permit-issue", "decided_by: permit", "permit", "`permit`", "permit-issue"),
    ("adoptions", "cite: Ord. 1,", "cite: an ordinance,", "an ordinance,", "`an ordinance`", ""),
    ("layer", "cite: Ord. 1, from", "cite: the ordinance, from", "the ordinance,", "`the ordinance`", ""),
    ("layer", "remove: true, ", "", "{at:",
     "missing key: set, add, remove, replace, put_in, take_out, renumber or restate", ""),
    ("layer", "remove: true", "remove: yes", "yes,", "`yes`", ""),
    ("layer", "from: 2022-11-07", "from: 7 November", "7 November,", "`7 November`", ""),
    ("layer", "direction: stricter", "direction: strict", "strict}", "`strict`", "stricter"),
    ("layer", "take_out: [I]", "takeout: [I]", "takeout:", "unknown key: takeout", "take_out"),
    ("openings", "openings:\n  d101", "openigns:\n  d101", "openigns:", "unknown key: openigns",
     "openings"),
    ("openings", "ibc@2021", "ibc 2021", "ibc 2021]", "`ibc 2021`", ""),
    ("openings", "stairs: none", "stairs: no", "no", "`no`", "none"),
    ("openings", "devices: unknown", "devices: [button]", "[button]",
     "a list where a map, text or nothing is expected", ""),
    ("openings", "{thing: lock, kind", "{kind", "{kind:", "missing key: thing", ""),
    ("openings", "count: {locks: 1}", "count: {locks: one}", "one}", "`one`", ""),
]  # fmt: skip


@pytest.mark.parametrize(("name", "old", "new", "place", "found", "near"), DEPARTURES)
def test_a_departure_is_said_once_at_its_place(
    name: str, old: str, new: str, place: str, found: str, near: str
) -> None:
    (problem,) = departing(name, old, new)
    assert (problem.found, problem.nearest) == (found, near)
    assert not NOT_FOR_PEOPLE.search(str(problem))
    lines = GOOD[name][1].replace(old, new, 1).splitlines(keepends=True)
    assert lines[problem.place.line - 1][problem.place.column - 1 :].startswith(place)


def test_expectations_are_in_words() -> None:
    assert departing("requirement", "    remedy:", "    remidy:")[0].expected.startswith("any_of, all_of, some, ")
    assert departing("requirement", "  no-key:", "  no key:")[0].expected == (
        "small letters and digits joined by `-`, such as power-loss"
    )
    assert departing("facts", "    effort: device\n", "")[0].expected == "effort with `from: designer`"
    assert departing("facts", "unit: time", "unit: [time]")[0].found == "a list where text is expected"
    assert departing("facts", "from: designer", "from: nobody")[0].expected == "given or designer"
    assert departing("arrangement", "status: draft", "status: x")[0].expected == "draft, reviewed or stable"
    assert "the last" not in departing("facts", "unit: time", "unit: hour")[0].expected
    assert departing("facts", "unit: time", "unit: hour")[0].expected.endswith("temperature or sound")


def test_all_problems_of_a_file_come_together_and_in_order() -> None:
    text = REQUIREMENT.replace("title:", "titel:").replace("subject: lock", "subject: door")
    text = text.replace("no-key", "no_key").replace("    remedy", "    remidy")
    problems = check(text, "provision")
    assert [problem.place.line for problem in problems] == [4, 6, 12, 18]
    assert problems == sorted(problems)


def test_files_that_are_no_map() -> None:
    for schema in {schema for schema, _ in GOOD.values()}:
        for text, kind in (("[a]", "a list"), ("a", "text")):
            assert [p.found for p in check(text, schema)] == [f"{kind} where a map is expected"]


def test_data_without_places_is_named_by_its_path() -> None:
    node = node_from_data({"openings": {"d": {"locks": {"magnet": "a magnet"}}}}, "the request")
    (problem,) = check_shape(node, "openings", SCHEMAS)
    assert problem.found == "openings/d/locks/magnet: text where a map or nothing is expected"
    assert problem.expected == "a map of facts"


def test_schemas_go_by_short_or_file_name_and_unknown_ones_are_refused() -> None:
    node = parse_yaml(CODE, "a.yaml")
    assert check_shape(node, "code", SCHEMAS) == check_shape(node, "code.schema.json", SCHEMAS) == []
    with pytest.raises(FileNotFoundError, match="no recipes"):
        check_shape(node, "recipes", SCHEMAS)


# The schemas themselves


def parts(schema: Any) -> Iterator[dict[str, Any]]:
    if isinstance(schema, dict):
        yield schema
    for inner in schema.values() if isinstance(schema, dict) else schema if isinstance(schema, list) else ():
        yield from parts(inner)


@pytest.mark.parametrize("path", sorted(SCHEMAS.glob("*" + SUFFIX)), ids=lambda path: path.name)
def test_schemas_are_valid_and_say_what_they_expect(path: Path) -> None:
    schema = json.loads(path.read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    for part in parts(schema):
        if isinstance(part.get("pattern"), str):
            assert part.get("title"), part
        if isinstance(reference := part.get("$ref"), str):
            file, _, inside = reference.partition("#")
            target = json.loads((SCHEMAS / (file or path.name)).read_text(encoding="utf-8"))
            for step in filter(None, inside.split("/")):
                target = target[step]
        closed = part.get("additionalProperties")
        if isinstance(part.get("properties"), dict) and part.get("required") and "type" in part and closed is None:
            assert path.name in ("openings" + SUFFIX, "provision" + SUFFIX), part


# Whatever is typed


JUNK: tuple[Any, ...] = (
    None,
    "",
    "x",
    "no such thing",
    [],
    ["a", "a"],
    [[]],
    {},
    {"x": "y"},
    {"where": None},
    {"2021": []},
)


def places(data: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield path
    for key, inner in data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ():
        yield from places(inner, (*path, key))


def spoilt(data: Any, chance: random.Random) -> Any:
    path = chance.choice([path for path in places(data) if path])
    holder = data
    for step in path[:-1]:
        holder = holder[step]
    how = chance.randrange(3)
    if how == 0:
        del holder[path[-1]]
    elif how == 1 or isinstance(holder, list):
        holder[path[-1]] = chance.choice(JUNK)
    else:
        holder[chance.choice(["zz", "where", "require", "Some Name", f"{path[-1]}s"])] = holder.pop(path[-1])
    return data


def as_json(data: Any) -> Node:
    return parse_yaml(json.dumps(data, indent=1), "a.json")


@pytest.mark.parametrize("name", GOOD)
def test_spoilt_files_are_refused_in_words_at_a_place_or_accepted(name: str) -> None:
    schema, text = GOOD[name]
    chance = random.Random(name)
    plain = parse_yaml(text, "a.yaml").plain()
    refused = 0
    for _ in range(150):
        data = json.loads(json.dumps(plain))
        for _ in range(chance.choice((1, 1, 3))):
            data = spoilt(data, chance) if len(list(places(data))) > 1 else data
        problems = check_shape(as_json(data), schema, SCHEMAS)
        refused += bool(problems)
        for problem in problems:
            assert problem.place.line
            assert problem.found
            assert not NOT_FOR_PEOPLE.search(f"{problem.found} {problem.expected}"), problem
        bare = check_shape(node_from_data(data, "data"), schema, SCHEMAS)
        assert bool(bare) == bool(problems)
    assert refused > 50
