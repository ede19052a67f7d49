"""Openings a second, beside general-purpose engines on the same conditions, verdict by verdict.

    python tests/bench/survey_bench.py            # needs the extra bench
    python tests/bench/survey_bench.py --rows 1000 100000 --code ibc@2021

Each cell of the table is a process of its own: it warms up, runs five times, and tells the median. Nothing is judged.
"""

from __future__ import annotations

import argparse
import json
import platform
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2] / "engine"), str(HERE.parents[2] / "cli"), str(HERE.parent)]

from said import Case, Said, case, rows  # noqa: E402

OPENING = "d104"
COMPARED = 300
Verdicts = list[list[bool | None]]
"""For each row the truth of each condition."""


# --- our own ------------------------------------------------------------------------------------------------


def survey(made: Case, data: dict[str, list[Any]], whole: bool = False) -> tuple[Callable[[], object], Any]:
    """The survey of rows that lie in memory as Arrow columns."""
    import numpy as np
    import pyarrow as pa

    from clauseway.survey.datasets import BLOCK, prepared
    from clauseway.survey.planes import rows_of
    from clauseway.survey.run import Survey, Totals

    plan = made.whole if whole else made.plan
    runner = Survey(plan)
    # As a Parquet reader gives it: texts by distinct values.
    table = pa.table({name: pa.array(values) for name, values in data.items()})
    batches = [
        pa.record_batch(
            [c.dictionary_encode() if pa.types.is_string(c.type) else c for c in batch.columns],
            names=batch.schema.names,
        )
        for batch in table.to_batches(max_chunksize=BLOCK)
    ]

    def run() -> Totals:
        totals = Totals()
        for batch in batches:
            totals.add(runner.block(plan.columns.block(prepared(plan.columns, batch), batch.num_rows)).totals)
        return totals

    def verdicts() -> Verdicts:
        block = plan.columns.block(prepared(plan.columns, batches[0]), batches[0].num_rows)
        planes = runner.runner.run(block.rows, lambda number: plan.leaves[number](block))
        found: Verdicts = [[] for _ in range(block.rows)]
        for cell in plan.cells:
            met, unmet, skipped = (
                rows_of(plane, block.rows) if (plane := planes[number]) is not None else np.zeros(block.rows)
                for number in (cell.met, cell.unmet, cell.not_asked)
            )
            for row, each in enumerate(found):
                each.append(True if met[row] or skipped[row] else False if unmet[row] else None)
        return found

    return run, verdicts


def checker(made: Case, data: dict[str, list[Any]]) -> tuple[Callable[[], Verdicts], Any]:
    """The one-opening checker, row by row, with what is missing for each condition."""
    columns = made.plan.columns
    many = len(next(iter(data.values())))
    filled = {
        name: [float("nan") if value is None else value for value in values]
        if columns.by_name[name].scale is not None
        else values
        for name, values in data.items()
    }
    block = columns.block(filled, many)
    assumed = []
    for row in range(many):
        stated = {key: columns.value(key, block, row) for key in columns.all}
        assumed.append({key: value for key, (known, value) in stated.items() if known})

    def run() -> Verdicts:
        found: Verdicts = []
        for each in assumed:
            decider = made.decider.trying(each, False)
            found.append([decider.truth(node, env)[0] for _, node, env, _ in made.said])
        return found

    return run, run


# --- peers --------------------------------------------------------------------------------------------------


def polars(made: Case, data: dict[str, list[Any]]) -> tuple[Callable[[], object], Any]:
    """Polars expressions, counting as the survey counts."""
    import polars as pl

    def said(it: Said) -> Any:
        word = it[0]
        if word in ("and", "or"):
            parts = [said(part) for part in it[1:]]
            found = parts[0]
            for part in parts[1:]:
                found = found & part if word == "and" else found | part
            return found
        if word == "not":
            return ~said(it[1])
        if word == "certain":
            return pl.lit(it[1], dtype=pl.Boolean)
        column = pl.col(it[1])
        if word == "yes":
            return column
        if word == "in":
            return column.is_in(list(it[2]))
        return {"<=": column.le, ">=": column.ge, "<": column.lt, ">": column.gt}[word](it[2])

    frame = pl.DataFrame(data, strict=False)
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


def _contexts(made: Case, data: dict[str, list[Any]]) -> tuple[dict[str, str], list[dict[str, Any]]]:
    names = {name: f"c{number}" for number, name in enumerate(data)}
    many = len(next(iter(data.values())))
    return names, [{names[n]: v[row] for n, v in data.items() if v[row] is not None} for row in range(many)]


def cel(made: Case, data: dict[str, list[Any]]) -> tuple[Callable[[], Verdicts], Any]:
    """A Rust binding of the Common Expression Language; a blank is a name that is not bound."""
    import cel as engine

    names, contexts = _contexts(made, data)
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


def jsonlogic(made: Case, data: dict[str, list[Any]]) -> tuple[Callable[[], Verdicts], Any]:
    """A Rust binding of JSON logic, rules compiled once and data parsed once for a row."""
    import datalogic_py as engine

    names, contexts = _contexts(made, data)
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


ENGINES: dict[str, tuple[Callable[..., Any], int]] = {
    "survey": (survey, 10**9),
    "checker": (checker, 1000),
    "polars": (polars, 10**9),
    "cel": (cel, 1000),
    "jsonlogic": (jsonlogic, 1000),
}
"""The engines, each with the most rows that it is given: what takes a row at a time takes as long for each."""


def one(name: str, many: int, codes: list[str], opening: str) -> dict[str, Any]:
    """One cell of the table."""
    made = case(codes, opening)
    engine, _ = ENGINES[name.partition("-")[0]]
    more = {"whole": True} if name == "survey-whole" else {}
    run, _ = engine(made, rows(made, many), **more)
    run()
    took = []
    for _ in range(5):
        start = time.perf_counter()
        run()
        took.append(time.perf_counter() - start)
    wrong, compared = None, 0
    if name != "survey-whole":
        data = rows(made, COMPARED, seed=2)
        found, right = engine(made, data)[1](), checker(made, data)[0]()
        pairs = [
            (a, b) for left, right_row in zip(found, right, strict=True) for a, b in zip(left, right_row, strict=True)
        ]
        wrong, compared = sum(a is not b for a, b in pairs), len(pairs)
    return {
        "conditions": len(made.whole.cells if more else made.said),
        "columns": len(made.whole.columns.all),
        "seconds": statistics.median(took),
        "wrong": wrong,
        "compared": compared,
        "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    }


def main() -> None:
    """Run every cell in its own process and print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--rows", type=int, nargs="*", default=[1, 1000, 100_000, 1_000_000])
    parser.add_argument("--code", nargs="*", default=["ibc@2021"])
    parser.add_argument("--opening", default=OPENING)
    parser.add_argument("--one", nargs=2)
    asked = parser.parse_args()
    if asked.one:
        print(json.dumps(one(asked.one[0], int(asked.one[1]), asked.code, asked.opening)))
        return
    print(f"{platform.machine()}, Python {platform.python_version()}, {', '.join(asked.code)}, like {asked.opening}")
    print(f"{'engine':14} {'rows':>9} {'conditions':>10} {'openings/s':>12} {'MB':>6}  wrong")
    for name in [*ENGINES, "survey-whole"]:
        most = ENGINES[name.partition("-")[0]][1]
        for many in sorted({min(each, most) for each in asked.rows}):
            command = [
                sys.executable,
                str(HERE),
                "--one",
                name,
                str(many),
                "--opening",
                asked.opening,
                "--code",
                *asked.code,
            ]
            done = subprocess.run(command, capture_output=True, text=True, check=False)
            if done.returncode:
                print(f"{name:14} {many:>9,}  {done.stderr.strip().splitlines()[-1]}", flush=True)
                continue
            cell = json.loads(done.stdout)
            share = "" if cell["wrong"] is None else f"{cell['wrong']} of {cell['compared']:,}"
            speed = many / cell["seconds"]
            print(
                f"{name:14} {many:>9,} {cell['conditions']:>10} {speed:>12,.0f} {cell['memory']:>6}  {share}",
                flush=True,
            )


if __name__ == "__main__":
    main()
