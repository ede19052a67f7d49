"""The frozen resolved sets: what stands in the rules is what was reviewed, and a change shows as what it is."""

from __future__ import annotations

import pytest

from support.resolved import ADDED, CHANGED, FOLDER, REMOVED, by_line, changes, texts, told

REWRITE = "reviewed? then: .venv/bin/python tests/support/resolved.py"
BEFORE = """\
ibc 2018 2021
delayed-egress/delay_max = 15 s (4) @ 2018 2021
delayed-egress/initiation_max = 3 s (4) @ 2018 2021
delayed-egress/sign asks (6) 0a1b2c3d @ 2018
"""
AFTER = """\
ibc 2018 2021
delayed-egress/delay_max = 15 s (4) @ 2018 2021
delayed-egress/initiation_max = 3 s (4) @ 2018
delayed-egress/initiation_max = 1 s (4) @ 2021
delayed-egress/rearm asks (4) 99999999 @ 2021
"""


def test_what_the_rules_resolve_to_is_what_was_reviewed() -> None:
    wanted = texts()
    there = {path: path.read_text(encoding="utf-8") for path in FOLDER.rglob("*.txt")}
    found = []
    for path in sorted({*wanted, *there}):
        lines = told(changes(by_line(there.get(path, "\n")), by_line(wanted.get(path, "\n"))))
        found += [f"{path.relative_to(FOLDER)}: {line}" for line in lines]
    assert found == [], REWRITE
    assert there == wanted, REWRITE


def test_a_change_shows_as_added_removed_or_changed() -> None:
    found = changes(by_line(BEFORE), by_line(AFTER))
    assert [(what, key) for what, key, _, _ in found] == [
        (CHANGED, "delayed-egress/initiation_max @ 2021"),
        (ADDED, "delayed-egress/rearm @ 2021"),
        (REMOVED, "delayed-egress/sign @ 2018"),
    ]
    assert told(found)[0] == "changed delayed-egress/initiation_max @ 2021: = 3 s (4) -> = 1 s (4)"
    assert changes(by_line(BEFORE), by_line(BEFORE)) == []


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("by permit-application", "by permit-issue", CHANGED),
        ("  added delayed-egress/force: = 15 lbf\n", "", REMOVED),
        ("= 15 lbf", "= 20 lbf", CHANGED),
        ("nyc: ", "nyc-2014: ", REMOVED),
    ],
)
def test_a_change_of_an_adoption_or_an_amendment_shows(old: str, new: str, what: str) -> None:
    place = "USNYC\n\nnyc: ibc@2015 + nyc-2022, by permit-application\n  added delayed-egress/force: = 15 lbf\n"
    assert what in [each[0] for each in changes(by_line(place), by_line(place.replace(old, new)))]


def test_every_jurisdiction_and_every_code_is_frozen() -> None:
    names = {path.relative_to(FOLDER).as_posix() for path in texts()}
    assert {"US-CA.txt", "USNYC.txt", "AU-VIC.txt", "codes/ibc.txt"} <= names
