"""What may exist besides what is described leaves rows as open as it leaves a check."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from clauseway.answers import finding as F
from clauseway.answers.check import check
from clauseway.case.open import project_from_text
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.survey.plan import made_plan
from clauseway.survey.rows import Rows
from clauseway.survey.run import VERDICTS, Survey
from support.small_code import HEAD, small_library

SAYS = "says: {asks: so, met: Yes., unmet: No.}, remedy: None."
OF_EACH = f"""\
conditions:
  quick: {{each: {{l: opening.locks}}, require: l.delays_egress or building.fire_alarm, {SAYS}}}
"""
OF_LOCKS = f"""\
{HEAD.replace("id: matter", "id: alarm").replace("subject: opening", "subject: lock")}
conditions:
  with-alarm: {{require: building.fire_alarm, {SAYS}}}
"""
DOOR = """\
codes: [xx@2021]
building: {{stories: 2, fire_alarm: {alarm}}}
openings:
  d:
    kind: swinging
"""
LOCK = "    locks: {{magnet: {{kind: electromagnetic-direct-pull, delays_egress: {delays}}}}}\n"
ALL = {F.COMPLIES, F.UNDETERMINED, F.FAILS}
LISTS = {
    "unsaid": ("", {F.COMPLIES, F.UNDETERMINED}),
    "none": ("    locks: none\n", {F.COMPLIES}),
    "one": (LOCK, ALL),
    "one alone": (LOCK + "    complete: all-below\n", ALL),
}
WORDS = {True: "true", False: "false", None: "unknown"}


@pytest.mark.parametrize(("listed", "expected"), LISTS.values(), ids=LISTS.keys())
def test_rows_are_as_open_as_a_check(listed: str, expected: set[str], tmp_path: Path) -> None:
    book = resolve(small_library(tmp_path, OF_EACH, alarm=OF_LOCKS), ["xx@2021"])
    described = (DOOR + listed).format(alarm="true", delays="true")
    names = ["building.fire_alarm", *(["locks.magnet.delays_egress"] if "magnet" in listed else [])]
    project = project_from_text(described, book)
    rows, plan = Rows(book, project, "d", names), made_plan(book, project, "d", names, False)
    seen = set()
    for values in product(WORDS, repeat=len(names)):
        alarm, delays = (WORDS[value] for value in (*values, None)[:2])
        (right,) = check(book, project_from_text((DOOR + listed).format(alarm=alarm, delays=delays), book)).answers
        row = dict(zip(names, values, strict=True))
        told = rows.answer(row)
        assert told.verdict == right.verdict, row
        findings = {(each.id, each.subject): each.verdict for each in right.findings}
        for cell, verdict in zip(rows.cells, told.verdicts, strict=True):
            assert cell.unseen or findings[cell.finding, cell.subject] == verdict, (cell, row)
        for settle in (False, True):
            block = plan.columns.block({name: [value] for name, value in row.items()}, 1)
            assert VERDICTS[Survey(plan, settle=settle).block(block).verdicts[0]] == right.verdict, row
        seen.add(right.verdict)
    assert seen == expected


def test_what_may_exist_besides_and_would_surely_fail_is_no_pass(tmp_path: Path) -> None:
    quiet = f"conditions: {{quiet: {{require: not building.fire_alarm, {SAYS}}}}}\n"
    book = resolve(small_library(tmp_path, quiet, alarm=OF_LOCKS), ["xx@2021"])
    described = DOOR.format(alarm="true")
    for locks, expected in (("", F.UNDETERMINED), ("    locks: none\n", F.COMPLIES)):
        rows = Rows(book, project_from_text(described + locks, book), "d", ["building.fire_alarm"])
        told = rows.answer({"building.fire_alarm": False})
        assert told.verdict == expected
        assert any(cell.unseen and truth == 0 for cell, truth in zip(rows.cells, told.truths, strict=True)) is (
            not locks
        )
        silent = project_from_text(described.replace("true", "false") + locks, book)
        assert check(book, silent).answers[0].verdict == expected


def test_a_description_is_told_of_where_it_cannot_be(tmp_path: Path) -> None:
    small_library(tmp_path, f"conditions: {{there: {{require: building.fire_alarm, {SAYS}}}}}\n")
    folder = tmp_path / "codes" / "yy"
    folder.mkdir()
    text = (tmp_path / "codes" / "xx" / "code.yaml").read_text(encoding="utf-8")
    (folder / "code.yaml").write_text(text.replace("xx", "yy").replace("law-when-adopted", "description"))
    (folder / "alarm.yaml").write_text(OF_LOCKS.replace("xx", "yy").replace("subject: lock", "subject: opening"))
    book = resolve(load(shipped=tmp_path), ["xx@2021"])
    described = DOOR.format(alarm="true") + "    locks: none\n"
    rows = Rows(book, project_from_text(described, book), "d", ["building.fire_alarm"])
    number = rows.number("yy.alarm/with-alarm", F.Subject("opening", "openings/d"))
    for value, truth in ((True, -1), (None, -1), (False, 0)):
        (right,) = check(book, project_from_text(described.replace("true", WORDS[value]), book)).answers
        told = rows.answer({"building.fire_alarm": value})
        assert (told.verdict, told.truths[number]) == (right.verdict, truth)
