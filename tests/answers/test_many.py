"""Many openings over several processes: the same answers in the same order, whatever the number of processes."""

from __future__ import annotations

import copy
import json
from functools import cache
from typing import Any

import pytest

from clauseway.answers import finding as F
from clauseway.answers import many
from clauseway.answers.check import check, report_of
from clauseway.answers.many import Work, made_of_each
from clauseway.answers.record import Input, Settings, make_record
from clauseway.answers.report import answer_text, report_data, report_json, report_parts
from clauseway.case.open import DEMO, openings_path, project_from_data
from clauseway.case.things import Project
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.source import read_yaml

COPIES = 5


@cache
def shipped() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


@cache
def building() -> Project:
    """The demo with some of its doors several times."""
    demo: Any = read_yaml(openings_path(DEMO)).plain()
    for name in ("d101", "d102", "d103", "d104", "d105"):
        for number in range(COPIES):
            demo["openings"][f"{name}-{number}"] = copy.deepcopy(demo["openings"][name])
    return project_from_data(demo, shipped())


def texts(processes: int, told: list[tuple[int, int]] | None = None) -> list[tuple[str, str]]:
    work = Work(shipped(), building(), lambda answer: answer_text(answer, shipped().practice))
    tell = None if told is None else lambda done, total: told.append((done, total))
    return [(each.kind, each.of) for each in made_of_each(work, processes=processes, tell=tell)]


def test_one_process_or_two_give_the_same_text_as_a_whole_report(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(many, "FEW", 10)
    monkeypatch.setattr(many, "AT_ONCE", 7)
    told: list[tuple[int, int]] = []
    one, two = texts(1), texts(2, told)
    assert one == two
    total = told[-1][1]
    assert told[-1] == (total, total)
    assert [done for done, _ in told] == sorted({done for done, _ in told})
    report = check(shipped(), building())
    head = report_data(report_of(shipped(), building(), []))
    assert "".join(report_parts(head, two)) + "\n" == report_json([report])


@pytest.mark.parametrize("kinds", [[], ["opening"], ["supply"], ["opening", "opening", "supply", "room"]])
def test_a_report_in_parts_is_the_text_of_the_whole(kinds: list[str]) -> None:
    answers = [F.Answer(kind, f"x{number}", "", F.UNDETERMINED, (), (), ()) for number, kind in enumerate(kinds)]
    report = F.Report("a", "b", (), "", "c", tuple(answers), 0)
    parts = [(each.kind, answer_text(each, frozenset())) for each in answers]
    head = {**report_data(report), "openings": [], "others": []}
    assert "".join(report_parts(head, parts)) + "\n" == report_json([report])
    json.loads("".join(report_parts(head, parts)))


def test_what_goes_wrong_in_a_process_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(many, "FEW", 10)

    def made(answer: F.Answer) -> str:
        if answer.id == "d116":
            raise ValueError(f"no {answer.id}")
        return answer.id

    for processes in (1, 2):
        with pytest.raises(ValueError, match="no d116"):
            list(made_of_each(Work(shipped(), building(), made), processes=processes))


def test_statuses_are_those_of_a_report() -> None:
    report = check(shipped(), building())
    made = list(made_of_each(Work(shipped(), building(), lambda answer: answer.id), processes=1))
    assert F.worst(F.status_of(each.verdict, each.works) for each in made) == report.status == 1
    assert [(each.kind, each.of, each.verdict) for each in made] == [(a.kind, a.id, a.verdict) for a in report.answers]


def test_a_record_is_the_same_whatever_the_number_of_processes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(many, "FEW", 2)
    monkeypatch.setattr(many, "AT_ONCE", 2)
    demo: Any = read_yaml(openings_path(DEMO)).plain()
    demo["openings"] = {name: demo["openings"][name] for name in ("d101", "d102", "d103", "d107")}
    demo.pop("paths")
    sets = demo.pop("sets")
    demo["sets"] = {name: sets[name] for name in sorted(used_in(demo))}
    given, settings = Input("doors.json", json.dumps(demo)), Settings(codes=("ibc@2021",))
    one, two = (make_record(given, shipped(), settings, "1.0", processes=number) for number in (1, 2))
    assert one == two
    assert len(json.loads(one)["traces"]["roots"]) > 3


def used_in(at: Any) -> set[str]:
    """The sets that things are like."""
    if not isinstance(at, dict):
        return set()
    own = {at["like"]} if "like" in at else set()
    return own.union(*(used_in(inner) for inner in at.values()))
