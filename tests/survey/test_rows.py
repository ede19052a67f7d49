"""One row after another is answered as the checker answers, with the same gaps; what is not understood is refused."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clauseway.answers import finding as F
from clauseway.answers.check import check
from clauseway.answers.decide_condition import guarded, judge
from clauseway.case.open import open_project, project_from_text
from clauseway.case.project import member_path
from clauseway.case.things import Given, Project
from clauseway.language.possible import Interval
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import DESCRIPTION, Rulebook
from clauseway.readers.decide import Decider
from clauseway.survey import datasets, row_code, row_values
from clauseway.survey.plan import Plan, conditions_on, made_plan
from clauseway.survey.rows import Rows
from clauseway.survey.table import Asked, survey_data
from clauseway.text.problems import ClausewayError
from support.rulebooks import rulebook, small_rules
from support.small_code import OPENING, small_library
from support.survey_rows import demo, door, in_modes, row_of, some_names, some_value

TRUTHS = {-1: True, 0: False}


def drawn(book: Rulebook, project: Project, plan: Plan, rng: Random) -> dict[str, object]:
    """A row of values as they may be written."""
    found: dict[str, object] = {}
    for name, column in plan.columns.by_name.items():
        value = some_value(book, column.fact, project.facts.get(column.key), column.scale is not None, rng)
        scale = column.scale
        if scale is not None and value is not None:
            ends = [(end - scale.offset) / scale.factor for end in (column.fact.low, column.fact.high)]
            value = min(max(float(str(value)), ends[0]), ends[1])
            value = int(value) if value == int(value) and rng.random() < 0.5 else value
        if value is not None or rng.random() < 0.5:
            found[name] = value
    return found


def differing(book: Rulebook, project: Project, opening: str, seed: int, many: int) -> tuple[int, list[object]]:
    """How many cells were compared with the checker, and those that differ from it."""
    rng = Random(seed)
    names = some_names(book, project, opening, rng, 30)
    plan = made_plan(book, project, opening, names, rng.random() < 0.5)
    answers = Rows(book, project, opening, list(plan.columns.by_name), accept_memory=plan.accept_memory)
    descriptions = {code.code for code in book.codes if code.force == DESCRIPTION}
    cells, wrong = 0, list[object]()
    for _ in range(many):
        row = drawn(book, project, plan, rng)
        told = answers.answer(row)
        block = plan.columns.block({name: [row.get(name)] for name in plan.columns.by_name}, 1)
        described = row_of(plan, block, 0)
        for mode in {cell.mode for cell in plan.cells}:
            decider = Decider(book, described, mode, accept_memory=plan.accept_memory)
            for provision, condition, bound in conditions_on(
                decider, described.things[member_path("", "openings", opening)]
            ):
                number = answers.number(f"{provision.name}/{condition.label}", bound.subject, mode)
                truth, gaps = decider.truth(guarded(provision, condition.truth), bound.env)
                skipped = bool(judge(decider, provision, condition, bound.env).not_asked)
                found = told.truths[number]
                cells += 1
                if provision.code in descriptions:
                    is_right = found == (0 if truth is False and not skipped else -1)
                elif skipped:
                    is_right = found == -2
                else:
                    is_right = TRUTHS.get(found) is truth and set(told.missing(number)) == gaps
                if not is_right:
                    wrong.append((provision.name, condition.label, bound.subject, row, found, truth, gaps, skipped))
        (answer,) = check(book, described, only=(opening,), accept_memory=plan.accept_memory).answers
        # A check tries what is unknown: it may decide what is open here, and never the other way round.
        if told.verdict not in (answer.verdict, F.UNDETERMINED):
            wrong.append((row, told.verdict, answer.verdict))
    return cells, wrong


@pytest.mark.parametrize("opening", ["d101", "d104", "d106", "d109"])
def test_cell_by_cell_as_the_checker_with_its_gaps(opening: str) -> None:
    cells, wrong = differing(rulebook(), demo(), opening, 2, 4)
    assert wrong == []
    assert cells > 50


@pytest.mark.long
@pytest.mark.parametrize("seed", range(20))
def test_many_rows_as_the_checker(seed: int) -> None:
    for thing in demo().of_kind("opening"):
        assert differing(rulebook(), demo(), thing.id, seed, 12)[1] == []


@pytest.mark.parametrize(("opening", "seed"), [("d101", 7), ("d105", 0), ("d107", 5)])
def test_what_nobody_verified_excuses_as_in_a_check(opening: str, seed: int) -> None:
    cells, wrong = differing(rulebook("ibc@2024"), demo(), opening, seed, 4)
    assert wrong == []
    assert cells > 20


@pytest.mark.parametrize("opening", ["d104", "d105", "d111"])
def test_cell_by_cell_in_each_mode(opening: str) -> None:
    project = in_modes(rulebook(), demo(), Random(opening))
    cells, wrong = differing(rulebook(), project, opening, 3, 3)
    assert wrong == []
    assert cells > 100


MODES = ("open", "unoccupied")


def in_mode(path: str, fact: str, **numbers: float) -> Project:
    """The door in two modes, with one fact that has a number in some of them."""
    given = {mode: Given(Interval(number, number), "x") for mode, number in numbers.items()}
    return replace(door(), by_mode={(path, fact): given}, modes=MODES)


def test_a_number_of_one_mode_is_not_that_of_another() -> None:
    opening = F.Subject("opening", "openings/front")
    rows = Rows(rulebook(), in_mode(opening.path, "clear_width", open=0.5), "front", ["clear_height [mm]"])
    told = rows.answer({"clear_height [mm]": 1.0}).verdicts
    assert [told[rows.number("probe.counting/small", opening, mode)] for mode in MODES] == [F.MET, F.UNDETERMINED]


def test_what_is_stated_may_differ_from_what_is_computed_in_one_mode_alone() -> None:
    passage = F.Subject("passage", "openings/front/passages/go")
    project = in_mode("rooms/hall", "occupant_load", open=30.0, unoccupied=10.0)
    rows = Rows(rulebook(), project, "front", ["passages.go.occupant_load"])
    agrees = [rows.number("described.people/agrees", passage, mode) for mode in MODES]
    for stated, expected in ((30, [F.MET, F.UNMET]), (10, [F.UNMET, F.MET]), (40, [F.UNMET, F.UNMET])):
        told = rows.answer({"passages.go.occupant_load": stated}).verdicts
        assert [told[number] for number in agrees] == expected


# --- what is unknown ----------------------------------------------------------------------------------------

VALUES: dict[str, list[object]] = {
    "building.fire_alarm": [True, False],
    "building.sprinklers": ["none", "nfpa-13-throughout", "nfpa-13r-throughout"],
    "rooms.hall.group": ["B", "E", "I-2", "H-3"],
    "rooms.hall.occupant_load": [0, 9, 49, 50, 500],
    "devices.button.height [in]": [30.0, 40, 48.0, 48.5],
    "devices.button.kind": ["push-button", "approach-sensor"],
    "locks.magnet.kind": ["electromagnetic-direct-pull", "electric-strike"],
}


@cache
def front() -> Rows:
    return Rows(rulebook("ibc@2021"), door(), "front", list(VALUES))


@given(st.fixed_dictionaries({name: st.sampled_from([*values, None]) for name, values in VALUES.items()}), st.data())
@settings(max_examples=200, deadline=None)
def test_what_is_decided_without_a_value_stays_so_with_any(row: dict[str, object], data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(sorted(VALUES)))
    blank = front().answer({**row, name: None}).truths
    for value in VALUES[name]:
        told = front().answer({**row, name: value}).truths
        assert all(a > 0 or a == b or {a, b} == {-1, -2} for a, b in zip(blank, told, strict=True))


def test_what_is_remembered_is_bounded_and_changes_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (row_values, row_code):
        monkeypatch.setattr(module, "MOST", 3)
    rows, rng = Rows(rulebook("ibc@2021"), door(), "front", list(VALUES)), Random(1)
    for _ in range(60):
        row = {name: rng.choice([*values, None]) for name, values in VALUES.items()}
        assert rows.answer(row).verdicts == front().answer(row).verdicts
    made = rows._run.__globals__
    kept = [len(made[name]) for name in made if isinstance(made[name], dict) and not name.startswith("_")]
    assert max(kept) == 3
    assert sum(size == 3 for size in kept) > 1


def test_nothing_asked_and_what_may_exist_besides_are_no_pass() -> None:
    assert Rows(rulebook("ibc@2021"), door(), "front", ["building.fire_alarm"], only=()).answer({}).verdict == (
        F.UNDETERMINED
    )
    latch = small_rules() / "examples" / "lever-latch.yaml"
    for word, expected in (("all-below", F.COMPLIES), ("false", F.UNDETERMINED)):
        text = latch.read_text(encoding="utf-8")
        assert "complete: all-below" in text
        project = project_from_text(text.replace("complete: all-below", f"complete: {word}"), rulebook("ibc@2021"))
        (opening,) = project.of_kind("opening")
        rows = Rows(rulebook("ibc@2021"), project, opening.id, ["building.fire_alarm"])
        assert rows.answer({"building.fire_alarm": True}).verdict == expected


COMPARED = """\
parameters: {a_foot: {value: 1 ft}}
let: {width: opening.clear_width, height: opening.clear_height + a_foot}
conditions:
"""
OPERATORS = ("<=", "<", ">=", ">", "==", "!=")


def test_two_numbers_of_a_row_are_compared_as_the_checker_does(tmp_path: Path) -> None:
    says = "says: {asks: so, met: Yes., unmet: No.}, remedy: None."
    rule = COMPARED + "".join(
        f'  c{number}-{turned}: {{require: "{left} {operator} {right}", {says}}}\n'
        for number, operator in enumerate(OPERATORS)
        for turned, (left, right) in enumerate((("width", "height"), ("height", "width")))
    )
    book = resolve(small_library(tmp_path, rule), ["xx@2021"])
    project = project_from_text(OPENING, book)
    names = ["clear_width [ft]", "clear_height [ft]"]
    rows = Rows(book, project, "d", names)
    plan = made_plan(book, project, "d", names, False)
    written = [(a, b) for a in (None, 1.0, 2.0, 3.0, 3.0 + 1e-12) for b in (None, 1.0, 2.0)]
    block = plan.columns.block({name: [pair[at] for pair in written] for at, name in enumerate(names)}, len(written))
    seen = set()
    for number, pair in enumerate(written):
        told = rows.answer(dict(zip(names, pair, strict=True)))
        decider = Decider(book, row_of(plan, block, number))
        for provision, condition, bound in conditions_on(decider, decider.project.things["openings/d"]):
            cell = rows.number(f"{provision.name}/{condition.label}", bound.subject)
            truth, gaps = decider.truth(guarded(provision, condition.truth), bound.env)
            assert (TRUTHS.get(told.truths[cell]), set(told.missing(cell))) == (truth, gaps), (condition.label, pair)
            seen.add((condition.label, truth))
    assert len(seen) == 3 * 2 * len(OPERATORS)


def test_a_column_that_is_left_out_is_blank() -> None:
    row = dict.fromkeys(VALUES)
    assert front().answer({}).truths == front().answer(row).truths
    assert front().answer({**row, "devices.button.height [in]": float("nan")}).truths == front().answer(row).truths
    assert front().answer({**row, "devices.button.kind": "unknown"}).truths == front().answer(row).truths


def test_what_is_missing_is_named() -> None:
    answers = front()
    told = answers.answer({})
    open_cells = [number for number, truth in enumerate(told.truths) if truth > 0]
    assert open_cells
    assert all(told.missing(number) for number in open_cells)
    texts = {answers.missing_text(told.truths[number]) for number in open_cells}
    assert "openings/front/locks/magnet/by_hand/in/needs_key" in texts
    assert not any(told.missing(number) for number, truth in enumerate(told.truths) if truth <= 0)
    column = "locks.latch.by_hand.inside.height"
    latch = open_project(small_rules() / "examples" / "lever-latch.yaml", rulebook("ibc@2021"))
    height = Rows(rulebook("ibc@2021"), latch, "d", [column])
    told = height.answer({})
    assert {height.missing_text(truth) for truth in told.truths if truth > 0} == {column}
    assert F.UNDETERMINED not in height.answer({column: "40 in"}).verdicts


# --- what is not understood ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"building.fire_alam": True}, "did you mean: building.fire_alarm"),
        ({"building.fire_alarm": 1}, "1 for building.fire_alarm"),
        ({"building.fire_alarm": 0.0}, "for building.fire_alarm"),
        ({"building.fire_alarm": "yes"}, "did you mean: true"),
        ({"building.fire_alarm": {"value": "unknown"}}, "a map for building.fire_alarm"),
        ({"building.fire_alarm": ["true"]}, "a list for building.fire_alarm"),
        ({"rooms.hall.group": "Z"}, "Z is not a value of room.group"),
        ({"rooms.hall.group": True}, "true is not a value of room.group"),
        ({"rooms.hall.group": {"a": 1}}, "column rooms.hall.group"),
        ({"rooms.hall.occupant_load": 1.5}, "1.5 for room.occupant_load"),
        ({"rooms.hall.occupant_load": -1}, "-1 for room.occupant_load"),
        ({"rooms.hall.occupant_load": True}, "True for room.occupant_load"),
        ({"devices.button.height [in]": "40 in"}, "'40 in' for device.height"),
        ({"devices.button.height [in]": float("inf")}, "inf for device.height"),
        ({"devices.button.height [in]": 10**400}, "for device.height"),
        ({"devices.button.height [in]": [40.0]}, "[40.0] for device.height"),
    ],
)
def test_what_is_not_understood_is_refused(row: dict[str, object], said: str) -> None:
    full = {name: values[0] for name, values in VALUES.items()}
    front().answer(full)
    for each in (row, {**full, **row}):
        with pytest.raises(ClausewayError) as raised:
            front().answer(each)
        assert said in str(raised.value)


def test_a_name_that_is_no_column_is_refused_though_as_many_are_given() -> None:
    full = {name: values[0] for name, values in VALUES.items()}
    wrong = {name if name != "building.fire_alarm" else "building.fire_alarn": value for name, value in full.items()}
    with pytest.raises(ClausewayError, match=r"building\.fire_alarn"):
        front().answer(wrong)
    with pytest.raises(ClausewayError, match="did you mean"):
        Rows(rulebook("ibc@2021"), door(), "front", ["building.fire_alarn"])


# --- in a survey --------------------------------------------------------------------------------------------


def test_a_survey_names_what_is_missing_for_each_open_finding(tmp_path: Any) -> None:
    rows: list[dict[str, object]] = [
        {name: values[0] for name, values in VALUES.items()},
        {"building.fire_alarm": False},
        {},
    ]
    table = pa.table({name: pa.array([row.get(name) for row in rows]) for name in VALUES})
    pyarrow.parquet.write_table(table, tmp_path / "rows.parquet")
    out = tmp_path / "findings.csv"
    asked = Asked(findings=out, verdicts=frozenset((F.UNMET, F.UNDETERMINED)))
    survey_data(rulebook("ibc@2021"), door(), datasets.open_data(tmp_path / "rows.parquet"), asked)
    found = pyarrow.csv.read_csv(out).to_pylist()
    assert {each["verdict"] for each in found} == {F.UNMET, F.UNDETERMINED}
    assert all(bool(each["missing"]) is (each["verdict"] == F.UNDETERMINED) for each in found)
    blank = [each for each in found if each["row"] == 3 and each["verdict"] == F.UNDETERMINED]
    told = front().answer({})
    texts = sorted(
        front().missing_text(truth)
        for cell, truth in zip(front().cells, told.truths, strict=True)
        if truth > 0 and not cell.unseen
    )
    assert sorted(each["missing"] for each in blank) == texts
