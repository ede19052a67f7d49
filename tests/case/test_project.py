"""Files of openings: what is refused and how, and what a claim of completeness means."""

from __future__ import annotations

import pytest

from clauseway.answers.check import check
from clauseway.case.project import read_project
from clauseway.case.things import Listed, Project
from clauseway.language.possible import Choice, Choices, Interval, Text
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import node_from_data, parse_yaml
from support.rulebooks import rulebook

FILE = """\
project: A hall
building: {fire_alarm: true}
rooms:
  hall: {group: A-3, occupant_load: 120}
  lobby: {group: B}
openings:
  d101:
    kind: swinging
    sides:
      inside: {space: hall}
      outside: {space: lobby}
    passages:
      out: {from_side: inside, to_side: outside, role: required, serves: [hall]}
    locks:
      magnet: {kind: electromagnetic-shear, secures: [out], by_hand: {inside: {height: 40 in}}}
    devices:
      button: {kind: push-button, side: inside, acts: {magnet: {unlocks: true}}}
"""


def read(text: str) -> Project:
    return read_project(parse_yaml(text, "doors.yaml"), rulebook().vocabulary)


def refused(text: str) -> tuple[Problem, ...]:
    with pytest.raises(ClausewayError) as error:
        read(text)
    assert all(problem.place.file == "doors.yaml" and problem.place.line for problem in error.value.problems)
    return error.value.problems


def changed(old: str, new: str) -> str:
    assert old in FILE
    return FILE.replace(old, new, 1)


def test_the_file_itself_is_read() -> None:
    project = read(FILE)
    assert project.name == "A hall"
    assert project.facts["rooms/hall", "group"].value == Choice(frozenset({"A-3"}))
    assert project.references["openings/d101/devices/button", "side"] == "openings/d101/sides/inside"
    assert project.owners["openings/d101/locks/magnet"] == "openings/d101"
    height = project.facts["openings/d101/locks/magnet/by_hand/inside", "height"]
    assert height.value == Interval(1.016, 1.016, "us")
    assert (height.typed, height.place.line, height.known_by) == ("40 in", 15, "stated")


@pytest.mark.parametrize(
    ("old", "new", "line", "found", "near"),
    [
        ("kind: swinging", "knd: swinging", 8, "a opening has no knd", "kind"),
        ("kind: swinging", "fire_ratin: 1 h", 8, "has no fire_ratin", "fire_rating"),
        ("kind: swinging", "kind: swingin", 8, "swingin is not a value of opening.kind", "swinging"),
        ("height: 40 in", "height: 40 s", 15, "", ""),
        ("height: 40 in", "height: 40", 15, "", ""),
        ("height: 40 in", "height: forty inches", 15, "", ""),
        ("height: 40 in", "height: -1 in", 15, "-1 in for hand_release.height is outside", ""),
        ("height: 40 in", "height: [40 in]", 15, "a list for hand_release.height", ""),
        ("occupant_load: 120", "occupant_load: 12:30", 4, "", ""),
        ("occupant_load: 120", "occupant_load: 1.5", 4, "", ""),
        ("occupant_load: 120", "occupant_load: 120 in", 4, "", ""),
        ("group: A-3", "group: A-7", 4, "A-7 is not a value of room.group", ""),
        ("group: A-3", "group: {one_of: [A-3, Z]}", 4, "Z is not a value", ""),
        ("fire_alarm: true", "fire_alarm: yes", 2, "yes for building.fire_alarm", "true"),
        ("fire_alarm: true", "fire_alarm: no", 2, "no for building.fire_alarm", "false"),
        ("fire_alarm: true", "fire_alarm: 1", 2, "1 for building.fire_alarm", ""),
        ("fire_alarm: true", "fire_alarm: {vlaue: true}", 2, "building.fire_alarm has no vlaue", "value"),
        ("fire_alarm: true", "fire_alarm: {value: true, known_by: guessed}", 2, "known_by guessed", ""),
        ("fire_alarm: true", "fire_alarm: {at_least: true}", 2, "a range for building.fire_alarm", ""),
        ("height: 40 in", "height: {one_of: [40 in]}", 15, "hand_release.height is no choice", ""),
        ("height: 40 in", "height: {at_least: 50 in, at_most: 40 in}", 15, "at least more than it is at most", ""),
        ("space: hall", "space: hal", 10, "no room called hal", "hall"),
        ("from_side: inside", "from_side: insid", 13, "no side called insid", "inside"),
        ("serves: [hall]", "serves: [hall, hall]", 13, "hall is named twice", ""),
        ("serves: [hall]", "serves: hall", 13, "text for serves", ""),
        ("secures: [out]", "secures: [in]", 15, "no passage called in", ""),
        ("acts: {magnet:", "acts: {magnt:", 17, "no lock called magnt", "magnet"),
        ("by_hand: {inside:", "by_hand: {insde:", 15, "no side called insde", "inside"),
        ("by_hand: {inside: {height: 40 in}}", "on: {fire-alrm: {unlocks: true}}", 15, "fire-alrm", "fire-alarm"),
        ("inside: {space: hall}", "inside: {space: hall, devices: [button]}", 10, "devices is not written down", ""),
        ("    locks:\n", "    lokcs:\n", 14, "a opening has no lokcs", "locks"),
        ("building: {", "bulding: {", 2, "unknown name: bulding", "building"),
        ("project: A hall", "modes: [opne]", 1, "unknown mode: opne", "open"),
        ("lobby: {group: B}", "lobby: B", 5, "text where a room", ""),
        ("lobby: {group: B}", "complete: {group: B}", 5, "complete as a name", ""),
        ("lobby: {group: B}", "two words: {group: B}", 5, "two words as a name", ""),
        ("kind: swinging", "complete: maybe", 8, "complete: maybe", ""),
        ("kind: swinging", "complete: [lock]", 8, "has no list lock", "locks"),
        ("kind: swinging", "count: {lock: 1}", 8, "has no list lock", "locks"),
        ("kind: swinging", "count: {locks: many}", 8, "count: many", ""),
        ("kind: swinging", "count: {locks: -1}", 8, "count: -1", ""),
    ],
)  # fmt: skip
def test_refusals(old: str, new: str, line: int, found: str, near: str) -> None:
    problem = refused(changed(old, new))[0]
    assert problem.place.line == line
    assert problem.place.column
    assert found in problem.found
    if near:
        assert problem.nearest == near


def test_a_wrong_unit_says_what_is_expected() -> None:
    problem = refused(changed("height: 40 in", "height: 40 s"))[0]
    assert "hand_release.height" in problem.found
    assert "length" in problem.expected


def test_an_opening_described_twice() -> None:
    problem = refused(FILE + "  d101:\n    kind: sliding\n")[0]
    assert problem.place.line == 18
    assert "d101" in problem.found


def test_all_problems_come_together_in_order() -> None:
    text = FILE.replace("swinging", "swingin").replace("space: hall", "space: hal").replace("true", "yes")
    found = refused(text)
    assert [problem.place.line for problem in found] == [2, 8, 10, 17]


@pytest.mark.parametrize(
    "text", ["- a list\n", "just text\n", "project: nothing else\n", "openings: none\n", "openings:\n"]
)
def test_a_file_without_openings(text: str) -> None:
    assert refused(text)


# --- sets -----------------------------------------------------------------------------------------------

SET = FILE + (
    "sets:\n  shear: {thing: lock, kind: electromagnetic-shear, fail_mode: fail-safe, by_hand: {inside: {hands: 1}}}\n"
)


def test_a_set_is_laid_under_what_the_thing_says() -> None:
    project = read(
        SET.replace("magnet: {kind: electromagnetic-shear,", "magnet: {like: shear, fail_mode: fail-secure,")
    )
    magnet = "openings/d101/locks/magnet"
    assert project.facts[magnet, "kind"].value == Choice(frozenset({"electromagnetic-shear"}))
    assert project.facts[magnet, "fail_mode"].value == Choice(frozenset({"fail-secure"}))
    assert project.facts[f"{magnet}/by_hand/inside", "hands"].value == Interval(1.0, 1.0)
    assert project.facts[f"{magnet}/by_hand/inside", "height"].typed == "40 in"


@pytest.mark.parametrize(
    ("text", "found", "near"),
    [
        (changed("magnet: {kind", "magnet: {like: shear, kind"), "no set shear", ""),
        (SET.replace("magnet: {kind", "magnet: {like: sheer, kind"), "no set sheer", "shear"),
        (SET, "the set shear is not used", ""),
        (SET.replace("button: {kind", "button: {like: shear, kind"), "the set shear is for", ""),
        (
            SET.replace("thing: lock, ", "").replace("magnet: {kind", "magnet: {like: shear, kind"),
            "the set shear is for",
            "",
        ),
        (
            SET.replace("thing: lock", "thing: lock, like: other").replace(
                "magnet: {kind", "magnet: {like: shear, kind"
            ),
            "a set that uses a set",
            "",
        ),
        (
            SET.replace("fail_mode: fail-safe", "fail_mod: fail-safe").replace(
                "magnet: {kind", "magnet: {like: shear, kind"
            ),
            "a lock has no fail_mod",
            "fail_mode",
        ),
    ],
)
def test_sets_that_cannot_be(text: str, found: str, near: str) -> None:
    problems = refused(text)
    problem = next(problem for problem in problems if found in problem.found)
    assert problem.nearest in (near, "") if not near else problem.nearest == near


# --- values ---------------------------------------------------------------------------------------------


def fact(text: str, path: str, name: str) -> object:
    given = read(text).facts.get((path, name))
    return given.value if given is not None else "nothing"


@pytest.mark.parametrize("nothing", ["unknown", "", "~", "{other: a spiral door}", "{value: unknown}"])
def test_what_says_nothing(nothing: str) -> None:
    assert fact(changed("kind: swinging", f"kind: {nothing}"), "openings/d101", "kind") == "nothing"


def test_a_broad_value_is_any_of_its_parts() -> None:
    value = fact(changed("group: A-3", "group: I-2"), "rooms/hall", "group")
    assert value == Choice(frozenset({"I-2-c1", "I-2-c2"}))


def test_ranges_and_sets() -> None:
    hand = "openings/d101/locks/magnet/by_hand/inside"
    low = fact(changed("height: 40 in", "height: {at_least: 40 in}"), hand, "height")
    assert isinstance(low, Interval)
    assert (low.low, low.high, low.system) == (1.016, float("inf"), None)
    both = fact(changed("height: 40 in", "height: {at_least: 40 in, at_most: 50 in}"), hand, "height")
    assert both == Interval(1.016, 1.27)
    high = fact(changed("height: 40 in", "height: {at_most: 40 in}"), hand, "height")
    assert high == Interval(0.0, 1.016)
    one = fact(changed("group: A-3", "group: {one_of: [A-3, B]}"), "rooms/hall", "group")
    assert one == Choice(frozenset({"A-3", "B"}))


def test_sets_of_values() -> None:
    magnet = "openings/d101/locks/magnet"

    def listings(written: str) -> object:
        text = changed("kind: electromagnetic-shear", f"kind: electromagnetic-shear, listings: {written}")
        return fact(text, magnet, "listings")

    assert listings("[UL 294, UL 1034]") == Choices(frozenset({"UL 294", "UL 1034"}), frozenset({"UL 294", "UL 1034"}))
    assert listings("UL 294") == Choices(frozenset({"UL 294"}), frozenset({"UL 294"}))
    assert listings("none") == listings("[]") == Choices(frozenset(), frozenset())
    assert listings("unknown") == "nothing"
    least = listings("{at_least: [UL 294]}")
    assert isinstance(least, Choices)
    assert least.sure == {"UL 294"}
    assert "UL 305" in least.possible


def test_texts_stay_what_was_typed() -> None:
    text = changed("kind: push-button", "kind: push-button, sign_text: no")
    assert fact(text, "openings/d101/devices/button", "sign_text") == Text("no")


def test_how_a_value_is_known() -> None:
    text = changed("height: 40 in", "height: {value: 40 in, known_by: measured, note: by tape}")
    given = read(text).facts["openings/d101/locks/magnet/by_hand/inside", "height"]
    assert (given.typed, given.known_by, given.note) == ("40 in", "measured", "by tape")


# --- closed lists ---------------------------------------------------------------------------------------


def listed(text: str, path: str, relation: str) -> tuple[int, int, int | None]:
    found = read(text).lists[path, relation]
    return len(found.members), found.least, found.most


def test_lists_are_open_unless_said_to_be_whole() -> None:
    assert listed(FILE, "openings/d101", "locks") == (1, 0, None)
    assert listed(FILE, "openings/d101", "signs") == (0, 0, None)
    assert listed(FILE, "openings/d101/locks/magnet", "secures") == (1, 0, None)
    assert listed(FILE, "", "rooms") == (2, 0, None)


def test_complete_closes_the_lists_of_the_thing_itself() -> None:
    text = changed("kind: swinging", "complete: true")
    assert listed(text, "openings/d101", "locks") == (1, 0, 0)
    assert listed(text, "openings/d101", "signs") == (0, 0, 0)
    assert listed(text, "openings/d101/locks/magnet", "secures") == (1, 0, None)
    assert ("openings/d101/locks/magnet", "by_hand") not in read(text).lists


def test_complete_may_name_lists() -> None:
    text = changed("kind: swinging", "complete: [locks]")
    assert listed(text, "openings/d101", "locks") == (1, 0, 0)
    assert listed(text, "openings/d101", "devices") == (1, 0, None)


def test_all_below_closes_everything_under_the_thing() -> None:
    text = changed("kind: swinging", "complete: all-below")
    project = read(text)
    assert all(found.closed for (path, _), found in project.lists.items() if path.startswith("openings/d101"))
    assert ("openings/d101/locks/magnet", "on") in project.lists
    assert ("openings/d101/locks/magnet", "by_hand") in project.lists
    assert not project.lists["", "openings"].closed


def test_a_thing_below_may_still_be_open() -> None:
    text = changed("kind: swinging", "complete: all-below").replace("magnet: {kind", "magnet: {complete: false, kind")
    assert listed(text, "openings/d101/locks/magnet", "secures") == (1, 0, None)
    assert ("openings/d101/locks/magnet", "on") not in read(text).lists


def test_a_building_may_be_whole() -> None:
    project = read("complete: true\n" + FILE)
    assert project.lists["", "openings"].closed
    assert project.lists["", "paths"] == Listed((), 0, 0, project.lists["", "paths"].place)


def test_none_is_a_closed_empty_list() -> None:
    text = changed("serves: [hall]", "serves: none")
    assert listed(text, "openings/d101/passages/out", "serves") == (0, 0, 0)
    assert listed(changed("kind: swinging", "signs: none"), "openings/d101", "signs") == (0, 0, 0)
    assert listed(changed("kind: swinging", "signs:"), "openings/d101", "signs") == (0, 0, None)
    assert listed(changed("serves: [hall]", "serves: unknown"), "openings/d101/passages/out", "serves") == (0, 0, None)


def test_a_reference_to_nothing_is_not_an_unknown_one() -> None:
    leaf = ("openings/d101/locks/magnet", "leaf")
    assert leaf not in read(FILE).references
    assert read(changed("secures: [out]", "secures: [out], leaf: none")).references[leaf] == ""
    assert leaf not in read(changed("secures: [out]", "secures: [out], leaf: unknown")).references


def test_counts() -> None:
    assert listed(changed("kind: swinging", "count: {locks: 3}"), "openings/d101", "locks") == (1, 2, 2)
    assert listed(changed("kind: swinging", "count: {locks: 1}"), "openings/d101", "locks") == (1, 0, 0)
    assert listed(changed("kind: swinging", "count: {signs: 0}"), "openings/d101", "signs") == (0, 0, 0)
    assert listed("count: {openings: 9}\n" + FILE, "", "openings") == (1, 8, 8)


def test_counts_that_contradict() -> None:
    assert "1 locks where 0 are claimed" in refused(changed("kind: swinging", "count: {locks: 0}"))[0].found
    both = changed("kind: swinging", "complete: true\n    count: {locks: 2}")
    assert "1 locks, said to be all, where 2 are claimed" in refused(both)[0].found
    nothing = changed("kind: swinging", "signs: none\n    count: {signs: 1}")
    assert "0 signs, said to be all, where 1 are claimed" in refused(nothing)[0].found


# --- modes ----------------------------------------------------------------------------------------------

MODES = "modes: [open, unoccupied]\n" + FILE.replace(
    "secures: [out],", "secures: [out], modes: {open: {self_locking: false}, unoccupied: {self_locking: true}},"
)


def test_facts_by_mode() -> None:
    project = read(MODES)
    magnet = "openings/d101/locks/magnet"
    assert project.modes == ("open", "unoccupied")
    found = [project.given(magnet, "self_locking", mode) for mode in ("open", "unoccupied", "lockdown", "")]
    assert [given.value if given else None for given in found] == [False, True, None, None]
    assert project.given(magnet, "kind", "open") == project.given(magnet, "kind", "")


def test_each_mode_is_judged() -> None:
    report = check(rulebook(), read(MODES))
    modes = {
        f.mode: f.verdict for a in report.answers for f in a.findings
        if f.id == "probe.holding/plain" and f.subject.path.endswith("magnet") and f.subject.passage.endswith("out")
    }  # fmt: skip
    assert set(modes) == {"open", "unoccupied"}


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        ("open: {self_locking", "opne: {self_locking", "unknown mode: opne"),
        ("modes: {open: {self", "self_locking: true, modes: {open: {self", "for every mode and for"),
        ("open: {self_locking: false}", "open: {leaf: none}", "leaf in one mode only"),
        ("open: {self_locking: false}", "open: {modes: {}}", "modes inside modes"),
        ("open: {self_locking: false}", "open: {self_lokcing: false}", "a lock has no self_lokcing"),
        ("open: {self_locking: false}", "open: {self_locking: no}", "no for lock.self_locking"),
    ],
)  # fmt: skip
def test_modes_that_cannot_be(old: str, new: str, found: str) -> None:
    assert old in MODES
    assert any(found in problem.found for problem in refused(MODES.replace(old, new, 1)))


def test_data_reads_like_a_file() -> None:
    plain = parse_yaml(FILE, "doors.yaml").plain()
    project = read_project(node_from_data(plain, "data"), rulebook().vocabulary)
    assert set(project.things) == set(read(FILE).things)
    assert {key: given.value for key, given in project.facts.items()} == {
        key: given.value for key, given in read(FILE).facts.items()
    }
