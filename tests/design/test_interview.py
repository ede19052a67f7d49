"""An interview comes to the verdict that the whole description has, and asks nothing that can no longer matter."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from clauseway.answers.check import check
from clauseway.case.open import read_openings
from clauseway.case.project import read_project
from clauseway.case.things import Missing, Project
from clauseway.design.interview import Question, answered, ask
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError
from clauseway.text.source import node_from_data
from clauseway_cli.app import app


@cache
def book() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


@cache
def demo() -> Project:
    return read_project(read_openings("demo"), book().vocabulary)


DOORS = [thing.id for thing in demo().of_kind("opening")]


def oracle(project: Project, question: Question) -> str:
    """What somebody who has the whole description before them would answer."""
    missing = question.missing
    given = project.given(missing.path, missing.name, "normal")
    if given is not None:
        return given.typed
    kind = book().vocabulary.kinds[missing.kind]
    if missing.name in kind.facts:
        return "unknown"
    listed = project.lists.get((missing.path, missing.name))
    reference = project.references.get((missing.path, missing.name))
    if reference is not None:
        name = project.things[reference].id if reference else "none"
        return name if name in question.may_be else f"new {name}"
    if listed is None:
        return "unknown"
    if listed.members:
        return ", ".join(project.things[path].id for path in listed.members)
    return "none" if listed.closed else "unknown"


def start() -> dict[str, Any]:
    """Nothing is described but the names of the openings, rooms and the like: what an interview cannot invent."""
    data: dict[str, Any] = {"project": "From nothing"}
    plain = read_openings("demo").plain()
    assert isinstance(plain, dict)
    for key, value in plain.items():
        if key in ("codes", "modes"):
            data[key] = value
        elif isinstance(value, dict) and key not in ("building", "sets"):
            data[key] = {name: {} for name in value}
    return data


def interviewed(opening: str) -> tuple[str, list[Missing], dict[str, Any]]:
    data = start()
    asked: list[Missing] = []
    left: set[Missing] = set()
    while True:
        state = ask(book(), read_project(node_from_data(data, "test"), book().vocabulary), opening, left)
        if state.question is None:
            return state.verdict, asked, data
        missing = state.question.missing
        assert missing not in asked, f"{missing} is asked twice"
        assert state.question.waiting, "nothing waits for the answer"
        asked.append(missing)
        text = oracle(demo(), state.question)
        if text == "unknown":
            left.add(missing)
            continue
        data = answered(book(), data, state.question, text)


def whole_verdict(opening: str) -> str:
    return check(book(), demo(), only=[opening]).answers[0].verdict


@pytest.mark.parametrize(
    "opening", [door if door == "d114" else pytest.param(door, marks=pytest.mark.long) for door in DOORS]
)
def test_it_comes_to_the_verdict_of_the_whole_description(opening: str) -> None:
    verdict, asked, data = interviewed(opening)
    assert verdict == whole_verdict(opening)
    again = read_project(node_from_data(data, "test"), book().vocabulary)
    assert check(book(), again, only=[opening]).answers[0].verdict == verdict
    stated = [path for path, _ in demo().facts if path == "" or f"{path}/".startswith(f"openings/{opening}/")]
    print(f"{opening}: {verdict} after {len(asked)} questions; the whole description states {len(stated)} facts")


def test_a_yes_or_no_that_is_asked_for_makes_a_difference() -> None:
    """Whatever is asked, the findings after yes are not those after no: nothing is asked that cannot matter."""
    data, left = start(), set[Missing]()
    tried = 0
    while tried < 8:
        state = ask(book(), read_project(node_from_data(data, "test"), book().vocabulary), "d101", left)
        assert state.question is not None
        if state.question.may_be == ("yes", "no"):
            tried += 1
            after = [findings(answered(book(), data, state.question, text)) for text in ("yes", "no")]
            assert after[0] != after[1], state.question.missing
        text = oracle(demo(), state.question)
        data = data if text == "unknown" else answered(book(), data, state.question, text)
        left.add(state.question.missing)


def findings(data: dict[str, Any]) -> list[Any]:
    project = read_project(node_from_data(data, "test"), book().vocabulary)
    answer = check(book(), project, only=["d101"]).answers[0]
    return [(each.id, each.verdict, sorted(gap.missing for gap in each.missing)) for each in answer.findings]


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("sprinklers", "nfpa-13-thruout", "nfpa-13-throughout"),
        ("stories", "four", "a count, such as 50"),
        ("fire_alarm", "perhaps", "true or false"),
    ],
)
def test_an_answer_that_the_question_cannot_have_is_refused_and_changes_nothing(
    name: str, text: str, says: str
) -> None:
    data = start()
    question = Question(Missing("", "building", name), "?", "", ("x",), "", ())
    with pytest.raises(ClausewayError) as raised:
        answered(book(), data, question, text)
    assert says in str(raised.value)
    assert data == start()


def test_a_misspelt_name_does_not_make_a_new_thing() -> None:
    data = start()
    data["openings"]["d101"] = {"sides": {"inside": {}}, "passages": {"out": {}}}
    question = Question(Missing("openings/d101/passages/out", "passage", "from_side"), "?", "", ("x",), "", ())
    with pytest.raises(ClausewayError, match="inside"):
        answered(book(), data, question, "insid")
    made = answered(book(), data, question, "new lobby")["openings"]["d101"]
    assert made["passages"]["out"]["from_side"] == "lobby"
    assert list(made["sides"]) == ["inside", "lobby"]


def test_several_rooms_are_described_by_naming_them() -> None:
    data = start()
    data["openings"]["d101"] = {"passages": {"out": {}}}
    question = Question(Missing("openings/d101/passages/out", "passage", "serves", whole=True), "?", "", ("x",), "", ())
    with pytest.raises(ClausewayError, match="new attic"):
        answered(book(), data, question, "attic")
    made = answered(book(), data, question, "new attic, ticket-office")
    assert made["openings"]["d101"]["passages"]["out"]["serves"] == ["attic", "ticket-office"]
    assert made["rooms"]["attic"] == {}


def test_it_is_scripted_stopped_and_gone_on_with(tmp_path: Path) -> None:
    start_file, kept = tmp_path / "start.yaml", tmp_path / "kept.yaml"
    start_file.write_text("codes: [ibc@2021]\nopenings: {e1: {kind: swinging, wall_fire_rating: 0 min}}\n")
    run = CliRunner()
    first = run.invoke(app, ["interview", str(start_file), "e1", "-o", str(kept)], input="no\nleaf\nstop\n")
    assert first.exit_code == 3, first.output
    assert "names with commas" in first.output
    assert "Stopped here." in first.output
    assert "leaf: {}" in kept.read_text()
    assert start_file.read_text() == "codes: [ibc@2021]\nopenings: {e1: {kind: swinging, wall_fire_rating: 0 min}}\n"
    asked_first = first.output.split("\n")[1]
    second = run.invoke(app, ["interview", str(start_file), "e1", "-o", str(kept)], input="stop\n")
    assert second.exit_code == 3
    assert asked_first not in second.output, "what is answered is asked again"
    unknown = run.invoke(app, ["interview", str(start_file), "e2", "-o", str(kept)])
    assert isinstance(unknown.exception, ClausewayError)


def test_a_description_called_json_is_gone_on_with_as_well(tmp_path: Path) -> None:
    start_file, kept = tmp_path / "start.yaml", tmp_path / "kept.json"
    start_file.write_text("codes: [ibc@2021]\nopenings: {e1: {kind: swinging, wall_fire_rating: 0 min}}\n")
    for answers in ("leaf\nstop\n", "stop\n"):
        done = CliRunner().invoke(app, ["interview", str(start_file), "e1", "-o", str(kept)], input=answers)
        assert done.exit_code == 3, done.exception
    assert json.loads(kept.read_text())["openings"]["e1"]["leaves"] == {"leaf": {}}


def test_the_end_of_the_script_ends_the_interview(tmp_path: Path) -> None:
    start_file = tmp_path / "start.yaml"
    start_file.write_text("codes: [ibc@2021]\nopenings: {e1: {}}\n")
    done = CliRunner().invoke(app, ["interview", str(start_file), "e1", "-o", str(tmp_path / "kept.yaml")], input="")
    assert done.exit_code == 3
    assert not (tmp_path / "kept.yaml").exists()
