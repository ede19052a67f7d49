"""A survey answers each row as the one-opening checker does, and leaves nothing out silently."""

from __future__ import annotations

import gc
import json
import warnings
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any
from weakref import ref

import jsonschema
import numpy as np
import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet
import pytest
from typer.testing import CliRunner

from clauseway.answers import finding as F
from clauseway.answers.check import bindings, check
from clauseway.answers.decide_condition import guarded, judge
from clauseway.case.open import open_project, project_from_data
from clauseway.case.things import Project
from clauseway.language.possible import Text
from clauseway.law.folders import shipped_rules
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import SUBJECTS
from clauseway.readers.decide import Decider
from clauseway.survey import block as blocks
from clauseway.survey import datasets
from clauseway.survey import table as surveys
from clauseway.survey.block import Block
from clauseway.survey.columns import Columns
from clauseway.survey.plan import Plan, made_plan
from clauseway.survey.rows import Rows
from clauseway.survey.run import VERDICTS, Survey
from clauseway.survey.table import Asked, survey_data
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from support.rulebooks import rulebook, small_rules
from support.survey_rows import DOOR, demo, door, in_modes, row_of, some_names, some_value

EVERY = frozenset((F.MET, F.UNMET, F.UNDETERMINED, F.NEEDS_APPROVAL, F.NOT_APPLICABLE))
TRUTHS = {True: F.MET, False: F.UNMET, None: F.UNDETERMINED}


def latch() -> Project:
    """A door that complies."""
    return open_project(small_rules() / "examples" / "lever-latch.yaml", rulebook("ibc@2021"))


# --- row by row as the checker ------------------------------------------------------------------------------


def some_rows(book: Rulebook, project: Project, plan: Plan, many: int, rng: Random) -> Block:
    data: dict[str, Any] = {}
    for name, column in plan.columns.by_name.items():
        own = project.facts.get(column.key)
        values = [some_value(book, column.fact, own, column.scale is not None, rng) for _ in range(many)]
        if column.scale is not None:
            scale = column.scale
            ends = [(end - scale.offset) / scale.factor for end in (column.fact.low, column.fact.high)]
            data[name] = [float("nan") if v is None else min(max(float(str(v)), ends[0]), ends[1]) for v in values]
        else:
            data[name] = values
    return plan.columns.block(data, many)


Cells = dict[tuple[str, str, F.Subject, int], str]


def surveyed(plan: Plan, block: Block, settle: bool) -> tuple[Cells, list[str]]:
    answered = Survey(plan, settle=settle).block(block, details=EVERY)
    cells = {
        (found.cell.mode, found.cell.finding, found.cell.subject, int(row)): found.verdict
        for found in answered.found
        for row in found.rows
    }
    assert sum(answered.totals.verdicts.values()) == answered.totals.rows == block.rows
    return cells, [VERDICTS[number] for number in answered.verdicts]


def differing(book: Rulebook, project: Project, opening: str, seed: int, many: int) -> tuple[int, list[object]]:
    """How many cells were compared with the checker, and those that differ from it."""
    rng = Random(seed)
    plan = made_plan(book, project, opening, some_names(book, project, opening, rng, 30), rng.random() < 0.5)
    accepts = plan.accept_memory
    block = some_rows(book, project, plan, many, rng)
    cells, wrong = 0, list[object]()
    quick, _ = surveyed(plan, block, settle=False)
    settled, verdicts = surveyed(plan, block, settle=True)
    for row in range(many):
        described = row_of(plan, block, row)
        for mode in {cell.mode for cell in plan.cells}:
            decider = Decider(book, described, mode, accept_memory=accepts)
            for provision in book.requirements:
                if "opening" not in SUBJECTS[provision.subject] or provision.code in (*book.practice, "described"):
                    continue
                for bound in bindings(decider, provision.subject, described.things[f"openings/{opening}"]):
                    for condition in provision.conditions:
                        key = (mode, f"{provision.name}/{condition.label}", bound.subject, row)
                        if key not in quick:
                            continue
                        cells += 1
                        judged = judge(decider, provision, condition, bound.env)
                        raw = decider.truth(guarded(provision, condition.truth), bound.env)[0]
                        if quick[key] != (F.NOT_APPLICABLE if judged.not_asked else TRUTHS[raw]):
                            wrong.append((key, quick[key], raw))
                        if settled[key] != judged.verdict:
                            wrong.append((key, settled[key], judged.verdict))
        (answer,) = check(book, described, only=(opening,), accept_memory=accepts).answers
        if answer.verdict != verdicts[row]:
            wrong.append((row, answer.verdict, verdicts[row]))
    return cells, wrong


@pytest.mark.parametrize("opening", ["d101", "d104", "d106", "d109"])
def test_cell_by_cell_as_the_checker(opening: str) -> None:
    cells, wrong = differing(rulebook(), demo(), opening, 1, 4)
    assert wrong == []
    assert cells > 50


@pytest.mark.long
@pytest.mark.parametrize("seed", range(20))
def test_many_rows_as_the_checker(seed: int) -> None:
    for thing in demo().of_kind("opening"):
        assert differing(rulebook(), demo(), thing.id, seed, 12)[1] == []


def test_a_changed_provision_changes_both() -> None:
    """There is one reading of a rule: whoever changes its term changes the checker and the survey alike."""
    book, name = rulebook("ibc@2021"), "ibc.hardware-height"
    changed = book.provisions[name]
    turned = replace(
        changed,
        conditions=tuple(replace(c, own=_not(c.own), truth=_not(c.truth)) for c in changed.conditions),
    )
    other = replace(book, provisions={**book.provisions, name: turned})
    found = []
    for each in (book, other):
        plan = made_plan(each, latch(), "d", ["locks.latch.by_hand.inside.height"], False)
        block = plan.columns.block({"locks.latch.by_hand.inside.height": ["40 in", "20 in", None]}, 3)
        answers, _ = surveyed(plan, block, settle=False)
        found.append([answers[key] for key in sorted(answers, key=str) if key[1].startswith(name)])
        checked = [
            finding.verdict
            for row in range(3)
            for finding in check(each, row_of(plan, block, row)).answers[0].findings
            if finding.id.startswith(name)
        ]
        assert sorted(found[-1]) == sorted(checked)
    assert found[0] != found[1]


def _not(term: Any) -> Any:
    from clauseway.language import core

    return core.When(term.where, core.Not(term.body)) if isinstance(term, core.When) else core.Not(term)


# Each item of the arrangement reads one of these: none of them is the same for all rows.
UNVERIFIED: dict[str, list[Any]] = {
    "devices.sensor.acts.magnet.detects_approach": [True, False, None],
    "devices.button.height [in]": 3 * [42.0],
    "building.fire_alarm": 3 * [True],
    "building.sprinklers": 3 * ["nfpa-13-throughout"],
    "building.automatic_detection": 3 * ["none"],
}


@pytest.mark.parametrize(
    ("accept_memory", "expected"),
    [(False, [F.UNDETERMINED, F.FAILS, F.UNDETERMINED]), (True, [F.COMPLIES, F.FAILS, F.UNDETERMINED])],
)
@pytest.mark.parametrize("settle", [False, True])
def test_what_nobody_verified_excuses_only_where_that_is_accepted(
    accept_memory: bool, expected: list[str], settle: bool
) -> None:
    book = rulebook("ibc@2024")
    project = open_project(small_rules() / "examples" / "sensor-magnet.yaml", book)
    plan = made_plan(book, project, "d", list(UNVERIFIED), accept_memory)
    answered = Survey(plan, settle=settle).block(plan.columns.block(UNVERIFIED, 3))
    assert [VERDICTS[number] for number in answered.verdicts] == expected
    rows = Rows(book, project, "d", list(UNVERIFIED), accept_memory=accept_memory)
    written = [dict(zip(UNVERIFIED, values, strict=True)) for values in zip(*UNVERIFIED.values(), strict=True)]
    assert [rows.answer(row).verdict for row in written] == expected


@pytest.mark.parametrize("opening", ["d104", "d105", "d111"])
def test_cell_by_cell_in_each_mode(opening: str) -> None:
    cells, wrong = differing(rulebook(), in_modes(rulebook(), demo(), Random(opening)), opening, 3, 3)
    assert wrong == []
    assert cells > 100


@pytest.mark.parametrize(("opening", "seed"), [("d101", 1), ("d104", 2), ("d106", 3), ("d109", 4)])
def test_what_was_read_before_changes_no_answer(opening: str, seed: int) -> None:
    rng = Random(seed)
    names = some_names(rulebook(), demo(), opening, rng, 30)

    def planned() -> Plan:
        return made_plan(rulebook(), demo(), opening, names, accept_memory=False)

    kept = planned()
    columns = kept.columns.by_name
    survey = Survey(kept)
    for many in (3, 40, 4, 40):
        # Values come in another order each time, and some that were not there before.
        data = {}
        for name, column in columns.items():
            own = demo().facts.get(column.key)
            values = [some_value(rulebook(), column.fact, own, column.scale is not None, rng) for _ in range(many)]
            scale = column.scale
            if scale is not None:
                ends = [(end - scale.offset) / scale.factor for end in (column.fact.low, column.fact.high)]
                values = [None if v is None else min(max(float(str(v)), ends[0]), ends[1]) for v in values]
            data[name] = pa.array(values, pa.float64() if scale is not None else None)
        (batch,) = pa.table(data).to_batches()
        fresh = planned()
        told, right = (
            (each, each.block(plan.columns.block(datasets.prepared(plan.columns, batch), many), details=EVERY))
            for each, plan in ((survey, kept), (Survey(fresh), fresh))
        )
        assert told[1].verdicts.tolist() == right[1].verdicts.tolist()
        assert vars(told[1].totals) == vars(right[1].totals)


# --- what is unknown ----------------------------------------------------------------------------------------


def counted(table: pa.Table, tmp_path: Path, project: Project | None = None, **asked: Any) -> Any:
    path = tmp_path / "rows.parquet"
    pyarrow.parquet.write_table(table, path)
    return survey_data(rulebook("ibc@2021"), project or door(), datasets.open_data(path), Asked(**asked))


def test_a_blank_is_unknown_and_never_the_value_of_the_description(tmp_path: Path) -> None:
    stated = {"locks.latch.by_hand.inside.height": ["40 in", "20 in", None, ""]}
    totals = counted(pa.table(stated), tmp_path, latch())
    tally = totals.findings["ibc.hardware-height/height"]
    # From the other side, where the column says nothing, it is met in all four rows.
    assert (tally.met - 4, tally.unmet, tally.undetermined) == (1, 1, 2)
    assert totals.verdicts[F.COMPLIES] == 1


def test_a_list_that_may_be_longer_is_never_a_pass(tmp_path: Path) -> None:
    openings = {"front": {**DOOR["openings"]["front"], "complete": False}}
    totals = counted(pa.table({"id": [1, 2]}), tmp_path, door(openings=openings))
    assert totals.verdicts[F.COMPLIES] == 0
    assert totals.findings["described.locks/complete"].undetermined == 2


def test_other_openings_of_a_rows_building_are_not_known() -> None:
    two = {"front": DOOR["openings"]["front"], "back": DOOR["openings"]["front"]}
    project = project_from_data({**DOOR, "complete": ["openings"], "openings": two}, rulebook())
    assert project.lists["", "openings"].closed
    plan = made_plan(rulebook(), project, "front", [], False)
    assert not plan.project.lists["", "openings"].closed
    assert "openings/back" not in plan.project.things


# --- what is wrong with the data ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        ({"locks.magnet.kidn": ["x"]}, "did you mean: locks.magnet.kind"),
        ({"locks.magnet.kind": ["a magnet"]}, "a magnet is not a value of lock.kind"),
        ({"devices.button.height": [40.0]}, "numbers without a unit"),
        ({"devices.button.height [s]": [40.0]}, "column devices.button.height"),
        ({"devices.button.height [in]": ["40 in"]}, "text among numbers"),
        ({"devices.button.height [in]": [True]}, "true or false among numbers"),
        ({"devices.button.height [in]": [30.0], "devices.button.height [mm]": [2000.0]}, "height once more"),
        ({"devices.button.height": ["30 in"], "devices.button.height [in]": [80.0]}, "height once more"),
        ({"devices.button.height [in]": [-4.0]}, "-4 for"),
        ({"devices.button.height [in]": [float("inf")]}, "inf for"),
        ({"rooms.hall.occupant_load": [1.5]}, "1.5 for room.occupant_load"),
        ({"rooms.hall.occupant_load [m2]": [15]}, "column rooms.hall.occupant_load [m2]: `0 m2` is an area"),
        ({"rooms.hall.occupant_load [persons]": [1.5]}, "1.5 for room.occupant_load"),
        ({"locks.magnet.kind [in]": ["x"]}, "a unit for a choice"),
        ({"building.fire_alarm": ["yes"]}, "did you mean: true"),
        ({"building.fire_alarm": [{"value": "true"}]}, "values of the type struct<value: string>"),
        ({"locks.magnet.listings": [["UL 1"]]}, "UL 1 is not a value of lock.listings"),
        ({"like": ["back"]}, "row 1 is like back"),
        ({"like": [None]}, "row 1 is like nothing"),
    ],
)
def test_what_is_not_understood_is_refused(columns: dict[str, Any], said: str, tmp_path: Path) -> None:
    with pytest.raises(ClausewayError) as raised:
        counted(pa.table(columns), tmp_path)
    assert said in str(raised.value)


@pytest.mark.parametrize(
    ("name", "values", "said"),
    [
        ("building.fire_alarm", [True, 1], "1 for building.fire_alarm"),
        ("building.fire_alarm", [False, 0.0], "0.0 for building.fire_alarm"),
        ("building.fire_alarm", [True, {"at_least": "1"}], "a range for building.fire_alarm"),
        ("building.stories", [2, True], "True among numbers"),
        ("building.stories", [2, "3"], "'3' among numbers"),
        ("building.stories", np.array([True, True]), "among numbers"),
        ("since_inspection [days]", [3.0, 1.7e308], "1.7e+308 for opening.since_inspection"),
        ("building.stories", [2, [3]], "[3] among numbers"),
        ("building.stories", [2, 10**400], "no number among numbers"),
    ],
)
def test_what_python_takes_for_the_same_or_for_a_number_is_refused(name: str, values: list[Any], said: str) -> None:
    columns = made_plan(rulebook(), door(), "front", [name], False).columns
    with pytest.raises(ClausewayError) as raised, warnings.catch_warnings(action="error"):
        [columns.block({name: values[:rows]}, rows) for rows in (1, 2)]
    assert said in str(raised.value)


def test_texts_that_python_takes_for_the_same_are_not() -> None:
    columns = made_plan(rulebook(), door(), "front", ["location"], False).columns
    written = [1, True, 1.0, "1", "true"]
    block = columns.block({"location": written}, len(written))
    key = columns.by_name["location"].key
    stated = [columns.value(key, block, row)[1] for row in range(len(written))]
    assert stated == [Text("1"), Text("true"), Text("1.0"), Text("1"), Text("true")]


def test_a_value_for_a_thing_that_is_not_there_is_refused(tmp_path: Path) -> None:
    plain = {key: value for key, value in DOOR["openings"]["front"].items() if key not in ("devices", "locks")}
    plain |= {"devices": "none", "locks": "none"}
    project = door(openings={"front": DOOR["openings"]["front"], "plain": plain})
    column = "devices.button.height"
    fine = pa.table({"like": ["front", "plain"], column: ["40 in", None]})
    assert counted(fine, tmp_path, project).rows == 2
    with pytest.raises(ClausewayError, match="which has no such thing"):
        counted(pa.table({"like": ["front", "plain"], column: ["40 in", "40 in"]}), tmp_path, project)
    with pytest.raises(ClausewayError, match=r"locks.magnet.listings is \[\] in a row that is like plain"):
        counted(pa.table({"like": ["front", "plain"], "locks.magnet.listings": [None, []]}), tmp_path, project)
    with pytest.raises(ClausewayError, match="no column like"):
        counted(pa.table({column: ["40 in"]}), tmp_path, project)


@pytest.mark.parametrize("name", ["rows.txt", "rows.parquet", "rows.csv", "rows.arrow", "none.parquet"])
def test_a_file_that_is_no_table_is_refused(name: str, tmp_path: Path) -> None:
    if name.startswith("rows"):
        (tmp_path / name).write_bytes(b"\x00\xff" if name != "rows.csv" else b"a,a\n1,2\n")
    with pytest.raises(ClausewayError):
        survey_data(rulebook("ibc@2021"), door(), datasets.open_data(tmp_path / name), Asked())


# --- files --------------------------------------------------------------------------------------------------


def rows(many: int) -> pa.Table:
    rng = Random(many)
    return pa.table(
        {
            "id": [f"door {number}" for number in range(many)],
            "rooms.hall.group": pa.array([rng.choice(["B", "I-2", "E", None]) for _ in range(many)], pa.string()),
            "devices.button.height [in]": [rng.choice([30.0, 40.0, 48.0, None]) for _ in range(many)],
            "building.fire_alarm": [rng.choice([True, False, None]) for _ in range(many)],
            "note": [str(number) for number in range(many)],
        }
    )


def written(table: pa.Table, path: Path) -> Path:
    if path.suffix == ".csv":
        pyarrow.csv.write_csv(table, path)
    elif path.suffix == ".parquet":
        pyarrow.parquet.write_table(table, path, row_group_size=7)
    else:
        with pa.ipc.new_file(str(path), table.schema) as writer:
            writer.write_table(table, max_chunksize=5)
    return path


def test_the_same_rows_count_the_same_from_every_kind_of_file_and_block(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book, table, asked = rulebook("ibc@2021"), rows(300), Asked(ignored=("note",))
    found = []
    for name in ("a.parquet", "a.csv", "a.arrow", "a.feather"):
        for block in (1 << 17, 64):
            monkeypatch.setattr(blocks, "BLOCK", block)
            data = datasets.open_data(written(table, tmp_path / f"{block}{name}"))
            found.append(survey_data(book, door(), data, asked))
    assert all(each == found[0] for each in found)
    assert found[0].rows == 300


def run(arguments: Iterable[str | Path]) -> Any:
    return CliRunner().invoke(app, ["survey", *map(str, arguments)])


def test_row_groups_are_counted_side_by_side_as_one_after_the_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(datasets, "BLOCK", 100)
    monkeypatch.setattr(surveys, "processes", lambda: 2)
    book, asked, table = rulebook("ibc@2021"), Asked(ignored=("note",)), rows(700)
    pyarrow.parquet.write_table(table, tmp_path / "one.parquet", row_group_size=700)
    pyarrow.parquet.write_table(table, tmp_path / "many.parquet", row_group_size=100)
    one, many = (datasets.open_data(tmp_path / f"{name}.parquet") for name in ("one", "many"))
    assert (len(one.parts()), len(many.parts())) == (1, 7)
    told: list[int] = []
    found = survey_data(book, door(), many, asked, lambda done, of: told.append(done))
    assert found == survey_data(book, door(), one, asked)
    assert told == [100, 200, 300, 400, 500, 600, 700]


def test_what_is_refused_in_one_of_several_parts_is_that_of_the_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(datasets, "BLOCK", 10)
    monkeypatch.setattr(surveys, "processes", lambda: 3)
    groups = ["B"] * 45 + ["cellar"] + ["B"] * 9 + ["attic"] * 5
    table = pa.table({"rooms.hall.group": groups})
    pyarrow.parquet.write_table(table, tmp_path / "rows.parquet", row_group_size=10)
    data = datasets.open_data(tmp_path / "rows.parquet")
    for _ in range(5):
        with pytest.raises(ClausewayError, match="cellar"):
            survey_data(rulebook("ibc@2021"), door(), data, Asked())


def test_a_block_goes_when_nobody_has_it_any_more() -> None:
    plan = made_plan(rulebook("ibc@2021"), demo(), "d104", ["clear_width [in]", "passages.out.occupant_load"], False)
    runner = Survey(plan)
    gc.collect()
    gc.disable()
    try:
        block = plan.columns.block({"clear_width [in]": [32.0, None], "passages.out.occupant_load": [None, 100]}, 2)
        runner.block(block)
        gone = ref(block)
        del block
        assert gone() is None
    finally:
        gc.enable()


def test_the_command_counts_and_writes_what_fails(tmp_path: Path) -> None:
    data = written(rows(40), tmp_path / "rows.parquet")
    openings = tmp_path / "types.yaml"
    openings.write_text(json.dumps(DOOR), encoding="utf-8")
    failing, findings = tmp_path / "failing.csv", tmp_path / "findings.parquet"
    done = run([data, "--openings", openings, "--ignore", "note", "--failing", failing, "--findings", findings,
                "--format", "json"])  # fmt: skip
    assert done.exit_code in (1, 3), done.output
    counts = json.loads(done.output)
    schema = json.loads((shipped_rules() / "schemas" / "survey.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(counts)
    assert counts["rows"] == 40 == sum(counts["verdicts"].values())
    fails = counts["verdicts"]["does-not-comply"]
    assert len(failing.read_text(encoding="utf-8").splitlines()) == fails + 1
    table = pyarrow.parquet.read_table(findings)
    assert table.num_rows == sum(tally["unmet"] for tally in counts["findings"].values())
    if table.num_rows:
        assert table.column("id").to_pylist()[0].startswith("door ")
    again = run([data, "--openings", openings, "--ignore", "note", "--failing", failing])
    assert again.exit_code != 0
    assert "exists already" in str(again.exception)
    text = run([data, "--openings", openings, "--ignore", "note"])
    assert "40 rows" in text.output


def test_columns_say_what_the_description_may_say() -> None:
    columns = Columns(demo(), "d101", rulebook().vocabulary, ["building.fire_alarm", "nothing", "fire_rating"])
    assert sorted(columns.by_name) == ["building.fire_alarm", "fire_rating"]
