"""Engines that are given the same conditions and the same rows, each in its own idiom and with its rules made ready.

An engine is a function of the conditions and an Arrow table. It gives what is timed, and what gives the verdicts: for
each row the truth of each condition. What is timed counts, for each condition, the rows where it is true and false;
engines that take a row at a time give the verdicts themselves. Reading data into an engine's own form is not timed,
except for the survey, which has no form of its own: it reads Arrow, and checks every value of it, in the timed run.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import numpy as np
import pyarrow as pa
from said import Case, Said

from clauseway.survey.datasets import prepared
from clauseway.survey.plan import Plan
from clauseway.survey.planes import rows_of
from clauseway.survey.rows import RowAnswer, Rows
from clauseway.survey.run import Survey, Totals
from clauseway.survey.shared import Crew, processes

Verdicts = list[list[bool | None]]
Engine = tuple[Callable[[], object], Callable[[], Verdicts]]


def survey(made: Case, table: pa.Table) -> Engine:
    """The survey."""
    return surveyed(made.plan, table)


def whole(made: Case, table: pa.Table) -> Engine:
    """The survey of every condition of the rulebook, sayable elsewhere or not."""
    return surveyed(made.whole, table)


def surveyed(plan: Plan, table: pa.Table) -> Engine:
    """The survey of a plan's conditions."""
    runner = Survey(plan)
    blocks = -(-table.num_rows // runner.rows)
    size = -(-table.num_rows // (64 * blocks)) * 64
    batches = table.combine_chunks().to_batches(max_chunksize=size)

    def counted(batch: pa.RecordBatch) -> Totals:
        return runner.block(plan.columns.block(prepared(plan.columns, batch), batch.num_rows)).totals

    # The copies of this process are there before, as are the threads of other engines.
    crew = Crew(counted, batches, processes())

    def run() -> Totals:
        totals = Totals()
        for each in crew.answers():
            totals.add(each)
        return totals

    def verdicts() -> Verdicts:
        found: Verdicts = []
        for batch in batches:
            found += verdicts_of(runner, plan.columns.block(prepared(plan.columns, batch), batch.num_rows))
        return found

    return run, verdicts


def verdicts_of(runner: Survey, block: Any) -> Verdicts:
    """For each row of a block the truth of each condition; where a condition is not asked, that is as good as true."""
    planes = runner.planes(block)
    columns = []
    for cell in runner.plan.cells:
        met, unmet, skipped = (
            rows_of(planes[runner.runner.at[number]], block.rows) for number in (cell.met, cell.unmet, cell.not_asked)
        )
        truth = np.full(block.rows, None, dtype=object)
        truth[unmet] = False
        truth[met | skipped] = True
        columns.append(truth)
    return [list(row) for row in zip(*columns, strict=True)]


def assumed_in(plan: Any, table: pa.Table) -> list[dict[Any, Any]]:
    """For each row what the checker is told."""
    columns = plan.columns
    block = columns.block(prepared(columns, table.combine_chunks().to_batches()[0]), table.num_rows)
    found = []
    for row in range(table.num_rows):
        stated = {key: columns.value(key, block, row) for key in columns.all}
        found.append({key: value for key, (known, value) in stated.items() if known})
    return found


def checker(made: Case, table: pa.Table) -> Engine:
    """The one-opening checker, row by row from values as they are written, every one of which it checks; with what is
    missing for each condition that is undetermined, and whether a condition is asked at all."""
    only = {(cell.finding, cell.subject) for cell in made.plan.cells}
    answers = Rows(made.rulebook, made.plan.project, made.plan.opening, table.column_names, only=only)
    at = [answers.number(cell.finding, cell.subject) for cell in made.plan.cells]
    rows = table.to_pylist()
    truths = {-2: True, -1: True, 0: False}

    def run() -> list[RowAnswer]:
        return [answers.answer(row) for row in rows]

    return run, lambda: [[truths.get(found.truths[number]) for number in at] for found in run()]


def reader(made: Case, table: pa.Table) -> Engine:
    """The checker's reader, term by term, from values that were read before; it says what the others must say."""
    assumed = assumed_in(made.plan, table)

    def run() -> Verdicts:
        found: Verdicts = []
        for each in assumed:
            decider = made.decider.trying(each, False)
            found.append([decider.truth(node, env)[0] for _, node, env, _ in made.said])
        return found

    return run, run


def polars(made: Case, table: pa.Table) -> Engine:
    """Polars expressions over categorical columns, lazily, on as many threads as it takes."""
    import polars as pl

    def said(it: Said) -> Any:
        word = it[0]
        if word in ("and", "or"):
            parts = [said(part) for part in it[1:]]
            return pl.all_horizontal(parts) if word == "and" else pl.any_horizontal(parts)
        if word == "not":
            return ~said(it[1])
        if word == "certain":
            return pl.lit(it[1], dtype=pl.Boolean)
        column = pl.col(it[1])
        if word == "yes":
            return column
        if word == "in":
            return column == it[2][0] if len(it[2]) == 1 else column.is_in(list(it[2]))
        return {"<=": column.le, ">=": column.ge, "<": column.lt, ">": column.gt}[word](it[2])

    frame = pl.from_arrow(table)
    assert isinstance(frame, pl.DataFrame)
    terms = [said(each[3]) for each in made.said]
    counts = [part for n, e in enumerate(terms) for part in (e.sum().alias(f"t{n}"), (~e).sum().alias(f"f{n}"))]

    def verdicts() -> Verdicts:
        found = frame.select(e.alias(str(n)) for n, e in enumerate(terms))
        return [list(row) for row in found.rows()]

    return lambda: frame.lazy().select(counts).collect(), verdicts


def _as_cel(it: Said, names: dict[str, str]) -> str:
    word = it[0]
    if word in ("and", "or"):
        return "(" + {"and": " && ", "or": " || "}[word].join(_as_cel(part, names) for part in it[1:]) + ")"
    if word == "not":
        return f"!({_as_cel(it[1], names)})"
    if word == "certain":
        return "nothing" if it[1] is None else str(it[1]).lower()
    if word == "yes":
        return names[it[1]]
    if word == "in":
        return f"({names[it[1]]} in {json.dumps(list(it[2]))})"
    return f"({names[it[1]]} {word} {float(it[2])!r})"


def _contexts(table: pa.Table) -> tuple[dict[str, str], list[dict[str, Any]]]:
    names = {name: f"c{number}" for number, name in enumerate(table.column_names)}
    floats = [pa.types.is_integer(field.type) for field in table.schema]
    contexts = []
    for row in table.to_pylist():
        stated = zip(row.items(), floats, strict=True)
        contexts.append({names[n]: float(v) if f else v for (n, v), f in stated if v is not None})
    return names, contexts


def cel(made: Case, table: pa.Table) -> Engine:
    """A Rust binding of the Common Expression Language; a blank is a name that is not bound."""
    import cel as engine

    names, contexts = _contexts(table)
    programs = [engine.compile(_as_cel(each[3], names)) for each in made.said]

    def one(program: Any, context: Any) -> bool | None:
        try:
            found = program.execute(context)
        except Exception:
            return None
        return found if isinstance(found, bool) else None

    def run() -> Verdicts:
        found: Verdicts = []
        for values in contexts:
            context = engine.Context(variables=values)
            found.append([one(program, context) for program in programs])
        return found

    return run, run


def _as_logic(it: Said, names: dict[str, str]) -> Any:
    word = it[0]
    if word in ("and", "or"):
        return {word: [_as_logic(part, names) for part in it[1:]]}
    if word == "not":
        return {"!": [_as_logic(it[1], names)]}
    if word == "certain":
        return it[1]
    value = {"var": names[it[1]]}
    if word == "yes":
        return value
    return {"in": [value, list(it[2])]} if word == "in" else {word: [value, it[2]]}


def jsonlogic(made: Case, table: pa.Table) -> Engine:
    """A Rust binding of JSON logic, rules compiled once and the data of a row parsed once, from its text."""
    import datalogic_py as engine

    names, contexts = _contexts(table)
    made_engine = engine.Engine()
    rules = [made_engine.compile(_as_logic(each[3], names)) for each in made.said]
    texts = [json.dumps(values) for values in contexts]

    def one(rule: Any, handle: Any) -> bool | None:
        try:
            found = rule.evaluate_data(handle)
        except Exception:
            return None
        return None if found is None else bool(found)

    def run() -> Verdicts:
        found: Verdicts = []
        for text in texts:
            handle = engine.DataHandle(text)
            found.append([one(rule, handle) for rule in rules])
        return found

    return run, run


ENGINES: dict[str, tuple[Callable[[Case, pa.Table], Engine], int]] = {
    "survey": (survey, 10**9),
    "whole": (whole, 10**9),
    "polars": (polars, 10**9),
    "jsonlogic": (jsonlogic, 1000),
    "cel": (cel, 1000),
    "checker": (checker, 1000),
    "reader": (reader, 1000),
}
"""The engines, each with the most rows that it is given: what takes a row at a time takes as long for each."""
