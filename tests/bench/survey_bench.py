"""Openings a second, beside general-purpose engines on the same conditions, verdict by verdict.

    python tests/bench/survey_bench.py                 # all tables; needs the extra bench
    python tests/bench/survey_bench.py engines --rows 1000 100000 --code ibc@2021
    python tests/bench/survey_bench.py files growth    # from Parquet to counts, memory; time by number of conditions
    python tests/bench/survey_bench.py compare --openings 1000000 --processes 2

Each cell is a process of its own: it warms up, runs five times, and tells the median. Nothing is judged, except that
`compare` ends with status 1 if a verdict, or what is missing for it, differs from what the checker's reader says.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path
from random import Random
from typing import Any

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2] / "engine"), str(HERE.parents[2] / "cli"), str(HERE.parent)]

COMPARED = 300
CHUNK, BY_TERMS = 5000, 250
MORE = ["ibc@2021", "nfpa101@2021", "nfpa80@2022", "nfpa72@2022", "ada@2010", "a117-1@2017", "osha@2011", "nec@2023"]
GROWTH = (50, 100, 200, 400)
COLD_PLACES = ("USNYC", "US-CA", "USMKE")
COLD_DAY = "2026-05-01"
FILES = (250_000, 1_000_000, 4_000_000)
TRUTHS = {-2: True, -1: True, 0: False}
Cell = dict[str, Any]


def median_of_five(run: Callable[[], object]) -> float:
    """Seconds, after one run that is not counted."""
    run()
    took = []
    for _ in range(5):
        start = time.perf_counter()
        run()
        took.append(time.perf_counter() - start)
    return statistics.median(took)


# --- cells; each runs in a process of its own ------------------------------------------------------------------


def engine_cell(asked: argparse.Namespace, name: str, many: str) -> Cell:
    """An engine on a table in memory."""
    from engines import ENGINES, reader
    from said import case, table

    made = case(asked.code, asked.opening)
    engine, _ = ENGINES[name]
    plan = made.whole if name == "whole" else made.plan
    data = table(made, plan, int(many))
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    seconds = median_of_five(engine(made, data)[0])
    cell: Cell = {
        "conditions": len(plan.cells),
        "columns": len(plan.columns.all),
        "seconds": seconds,
        "memory": (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024,
    }
    if name != "whole":
        data = table(made, plan, COMPARED, seed=2)
        pairs = [
            (a, b)
            for ours, right in zip(engine(made, data)[1](), reader(made, data)[1](), strict=True)
            for a, b in zip(ours, right, strict=True)
        ]
        cell |= {"wrong": sum(a is not b for a, b in pairs), "compared": len(pairs)}
    return cell


def file_cell(asked: argparse.Namespace, path: str, which: str) -> Cell:
    """From a Parquet file to counts, as the command does it."""
    from said import case

    from clauseway.survey.datasets import open_data
    from clauseway.survey.table import Asked, survey_data

    made = case(asked.code, asked.opening)
    plan = made.whole if which == "whole" else made.plan
    data = open_data(Path(path))

    def run() -> object:
        return survey_data(made.rulebook, plan.project, data, Asked(like=""))

    start, wall = worked(), time.perf_counter()
    first = run()
    first_wall, first_cpu = time.perf_counter() - wall, worked() - start
    took = []
    for _ in range(3):
        start_wall = time.perf_counter()
        run()
        took.append(time.perf_counter() - start_wall)
    return {
        "rows": first.rows,  # type: ignore[attr-defined]
        "seconds": statistics.median(took),
        "cores": first_cpu / first_wall,
    }


def worked() -> float:
    """Seconds that processors have worked, for this process and for those that it began and that have ended."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in used)


def write_cell(asked: argparse.Namespace, path: str, many: str, which: str) -> Cell:
    """The file for a cell; in its own process, so that what made it counts nowhere."""
    import pyarrow.parquet
    from said import case, table

    made = case(asked.code, asked.opening)
    plan = made.whole if which == "whole" else made.plan
    left, seed, writer = int(many), 0, None
    while left > 0:
        part = table(made, plan, min(left, 250_000), seed=100 + seed)
        writer = writer or pyarrow.parquet.ParquetWriter(path, part.schema)
        writer.write_table(part)
        left, seed = left - part.num_rows, seed + 1
    assert writer is not None
    writer.close()
    return {"columns": len(plan.columns.all), "megabytes": Path(path).stat().st_size // 1024**2}


def growth_cell(asked: argparse.Namespace, many: str) -> Cell:
    """So many conditions of several codes, drawn at random, over the columns of all of them."""
    from engines import surveyed
    from said import case, table

    made = case(MORE, asked.opening)
    drawn = sorted(Random(1).sample(range(len(made.whole.cells)), len(made.whole.cells))[: int(many)])
    cells = [made.whole.cells[number] for number in drawn]
    plan = replace(made.whole, cells=cells)
    data = table(made, made.whole, 200_000)
    return {
        "conditions": len(cells),
        "of": len(made.whole.cells),
        "seconds": median_of_five(surveyed(plan, data)[0]),
    }


def collections_cell(asked: argparse.Namespace, which: str) -> Cell:
    """The conditions that speak of collections, through arrangements too, or those that do not, or none at all."""
    from engines import surveyed
    from said import case, conditions_of, has_collections, table

    made = case(asked.code, asked.opening)
    asks = [each for each in conditions_of(made.whole) if which != "none"]
    found = [each for each in asks if has_collections(made.rulebook, each.node) is (which == "with")]
    plan = replace(made.whole, cells=[each.cell for each in found])
    data = table(made, made.whole, 200_000)
    return {"conditions": len(found), "seconds": median_of_five(surveyed(plan, data)[0])}


def environment(**more: str) -> dict[str, str]:
    """That of a program that is installed: its modules are compiled, as those of Typer are."""
    paths = {"PYTHONPATH": os.pathsep.join(sys.path[:2]), "PYTHONDONTWRITEBYTECODE": ""}
    return {**os.environ, **paths, **more}


def ways_of(asked: argparse.Namespace) -> list[list[str]]:
    """What a check goes by: a code, and the law of some places."""
    return [["--code", asked.code[0]], *(["--in", place, "--on", COLD_DAY] for place in COLD_PLACES)]


def start_cell(asked: argparse.Namespace, opening: str) -> Cell:
    """`clauseway check` of one opening beside an empty Typer application: medians of twenty, one after the other."""
    empty = "import typer\napp = typer.Typer()\n@app.command()\ndef main() -> None:\n    pass\napp()\n"
    commands = {"empty": ["-c", empty]}
    for way in ways_of(asked):
        commands[way[1]] = ["-m", "clauseway", "check", "demo", "--opening", opening, *way]
    took: dict[str, list[float]] = {name: [] for name in commands}
    for number in range(21):
        for name, command in commands.items():
            start = time.perf_counter()
            done = subprocess.run([sys.executable, *command], env=environment(), capture_output=True, check=False)
            if done.returncode not in (0, 1, 3) or (name != "empty" and opening.encode() not in done.stdout):
                raise SystemExit(done.stderr.decode())
            if number:
                took[name].append(time.perf_counter() - start)
    return {name: statistics.median(each) for name, each in took.items()}


def cold_cell(asked: argparse.Namespace, opening: str) -> Cell:
    """A first `clauseway check` of one opening, by a code and by places: medians of seven, an empty cache for each.

    Seconds of wall, and of processor time, which other work on the machine changes less.
    """
    found: Cell = {}
    for way in ways_of(asked):
        walls, busy = [], []
        for _ in range(7):
            with tempfile.TemporaryDirectory() as folder:
                paths = environment(CLAUSEWAY_CACHE=str(Path(folder) / "cache"))
                command = [sys.executable, "-m", "clauseway", "check", "demo", "--opening", opening, *way]
                before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
                done = subprocess.run(command, env=paths, capture_output=True, check=False)
                walls.append(time.perf_counter() - start)
                after = resource.getrusage(resource.RUSAGE_CHILDREN)
                busy.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
                kept = any((Path(folder) / "cache").glob("*"))
            if done.returncode not in (0, 1, 3) or opening.encode() not in done.stdout or not kept:
                raise SystemExit(done.stderr.decode() or "nothing was kept: the cache was not empty, or is off")
        found[way[1]] = [statistics.median(walls), statistics.median(busy)]
    return found


CELLS: dict[str, Callable[..., Cell]] = {
    "engine": engine_cell,
    "file": file_cell,
    "write": write_cell,
    "growth": growth_cell,
    "collections": collections_cell,
    "start": start_cell,
    "cold": cold_cell,
}


# --- tables ----------------------------------------------------------------------------------------------------


def cell_of(asked: argparse.Namespace, *words: str) -> Cell:
    """A cell from a process of its own.

    Raises:
        RuntimeError: with the last line that it wrote, when it fails.
    """
    command = [sys.executable, str(HERE), "--cell", *words, "--opening", asked.opening, "--code", *asked.code]
    peak = 0
    with tempfile.TemporaryFile("w+") as out, tempfile.TemporaryFile("w+") as err:
        cell = subprocess.Popen(command, stdout=out, stderr=err)
        while cell.poll() is None:
            if words[0] == "file":
                peak = max(peak, sum(map(memory_of, with_children(cell.pid))))
            time.sleep(0.02)
        out.seek(0), err.seek(0)
        if cell.returncode:
            raise RuntimeError((err.read().strip().splitlines() or ["?"])[-1])
        found: Cell = json.loads(out.read())
    return {**found, "memory": peak >> 10} if peak else found


def with_children(process: int) -> list[int]:
    """A process and those that it began, as Linux tells."""
    found = [process]
    for each in found:
        with suppress(OSError):
            for task in Path(f"/proc/{each}/task").iterdir():
                found += map(int, (task / "children").read_text(encoding="ascii").split())
    return found


def memory_of(process: int) -> int:
    """Kilobytes that a process holds; what several hold together is counted in parts."""
    with suppress(OSError):
        for line in Path(f"/proc/{process}/smaps_rollup").read_text(encoding="ascii").splitlines():
            if line.startswith("Pss:"):
                return int(line.split()[1])
    return 0


def engines(asked: argparse.Namespace) -> None:
    """Engines beside each other, on tables in memory."""
    sys.path.insert(0, str(HERE.parent))
    from engines import ENGINES

    print(f"{'engine':10} {'rows':>9} {'conditions':>10} {'columns':>7} {'openings/s':>12} {'MB':>5}  wrong verdicts")
    best: dict[str, tuple[int, float]] = {}
    for name, (_, most) in ENGINES.items():
        for many in sorted({min(each, most) for each in asked.rows}):
            try:
                cell = cell_of(asked, "engine", name, str(many))
            except RuntimeError as error:
                print(f"{name:10} {many:>9,}  {error}", flush=True)
                continue
            speed = many / cell["seconds"]
            best[name] = many, speed
            share = f"{cell['wrong']:,} of {cell['compared']:,}" if "wrong" in cell else ""
            print(
                f"{name:10} {many:>9,} {cell['conditions']:>10} {cell['columns']:>7} {speed:>12,.0f} "
                f"{cell['memory']:>5}  {share}",
                flush=True,
            )
    for name in ("cel", "jsonlogic"):
        if "checker" in best and name in best:
            print(f"the checker, one opening after another: {best['checker'][1] / best[name][1]:,.1f} times {name}")
    for name, (many, speed) in best.items():
        if "survey" in best and name not in ("survey", "whole"):
            print(
                f"the survey of {best['survey'][0]:,} rows: {best['survey'][1] / speed:,.1f} times {name} of {many:,}"
            )


def files(asked: argparse.Namespace) -> None:
    """From Parquet to counts."""
    print(f"{'conditions':10} {'rows':>9} {'columns':>7} {'file MB':>7} {'openings/s':>12} {'cores':>5} {'peak MB':>7}")
    for which in ("sayable", "whole"):
        for many in asked.files:
            with tempfile.TemporaryDirectory() as folder:
                path = str(Path(folder) / "rows.parquet")
                made = cell_of(asked, "write", path, str(many), which)
                cell = cell_of(asked, "file", path, which)
            assert cell["rows"] == many
            print(
                f"{which:10} {many:>9,} {made['columns']:>7} {made['megabytes']:>7} {many / cell['seconds']:>12,.0f} "
                f"{cell['cores']:>5.1f} {cell.get('memory', 0):>7}",
                flush=True,
            )


def growth(asked: argparse.Namespace) -> None:
    """Time by number of conditions."""
    print(f"{'conditions':>10} {'ns an opening':>14}")
    for many in GROWTH:
        cell = cell_of(asked, "growth", str(many))
        print(f"{cell['conditions']:>10} {cell['seconds'] / 200_000 * 1e9:>14.0f}  of {cell['of']}", flush=True)


def collections(asked: argparse.Namespace) -> None:
    """What collections cost."""
    print(f"{'collections':11} {'conditions':>10} {'ns an opening':>14} {'each, beside reading':>21}")
    reading = 0.0
    for which in ("none", "without", "with"):
        cell = cell_of(asked, "collections", which)
        took = cell["seconds"] / 200_000 * 1e9
        reading = reading or took
        each = (took - reading) / max(cell["conditions"], 1)
        print(f"{which:11} {cell['conditions']:>10} {took:>14.0f} {each:>21.1f}", flush=True)


def start(asked: argparse.Namespace) -> None:
    """Start-up with the rulebook kept, and first checks without."""
    cell = cell_of(asked, "start", asked.opening)
    empty = cell.pop("empty")
    print(f"an empty Typer application: {empty * 1000:.0f} ms")
    for way, wall in cell.items():
        print(f"check under {way}, kept: {wall * 1000:.0f} ms, {wall / empty:.2f} times as long")
    for way, (wall, busy) in cell_of(asked, "cold", asked.opening).items():
        print(f"first check of {way}, nothing kept: {wall * 1000:.0f} ms, {busy * 1000:.0f} of processor time")


def compare(asked: argparse.Namespace) -> None:
    """Every condition of random openings: by the survey, by the checker row by row, and for some by its reader."""
    numbers = range(-(-asked.openings // CHUNK))
    wrong = compared = 0
    began = time.perf_counter()
    with get_context("spawn").Pool(asked.processes, _prepare, (asked.code, asked.opening)) as pool:
        for done, (cells, differing) in enumerate(pool.imap_unordered(_differing, numbers), 1):
            compared, wrong = compared + cells, wrong + differing
            if done % 10 == 0 or done == len(numbers):
                took = time.perf_counter() - began
                some = done * BY_TERMS
                print(
                    f"{done * CHUNK:,} openings ({some:,} of them by terms), {compared:,} verdicts, {wrong:,} differ, "
                    f"{took:,.0f} s",
                    flush=True,
                )
    raise SystemExit(1 if wrong else 0)


_MADE: list[Any] = []


def _prepare(codes: list[str], opening: str) -> None:
    from said import case, conditions_of

    from clauseway.readers.decide import Decider
    from clauseway.survey.rows import Rows
    from clauseway.survey.run import Survey

    made = case(codes, opening)
    asks = list(conditions_of(made.whole))
    plan = replace(made.whole, cells=[each.cell for each in asks])
    answers = Rows(made.rulebook, plan.project, opening, list(plan.columns.by_name))
    numbers = [answers.number(each.cell.finding, each.cell.subject) for each in asks]
    _MADE[:] = [made, Survey(plan), Decider(made.rulebook, plan.project), asks, answers, numbers]


def _differing(number: int) -> tuple[int, int]:
    from engines import assumed_in, verdicts_of
    from said import table

    from clauseway.survey.datasets import prepared

    made, runner, checker, asks, answers, numbers = _MADE
    columns = runner.plan.columns
    rows = table(made, runner.plan, CHUNK, seed=10_000 + number)
    found = verdicts_of(runner, columns.block(prepared(columns, rows.to_batches()[0]), CHUNK))
    wrong = compared = 0
    for told, row in zip(found, rows.to_pylist(), strict=True):
        truths = answers.answer(row).truths
        compared += len(numbers)
        wrong += sum(TRUTHS.get(truths[at]) is not truth for at, truth in zip(numbers, told, strict=True))
    # The reader goes term by term, and takes as long for one opening as the others for hundreds.
    some = rows.slice(0, BY_TERMS)
    for assumed, row in zip(assumed_in(runner.plan, some), some.to_pylist(), strict=True):
        decider, one = checker.trying(assumed, False), answers.answer(row)
        for each, at in zip(asks, numbers, strict=True):
            is_alike = each.agrees(TRUTHS.get(one.truths[at]), decider)
            wrong += not is_alike or (
                one.truths[at] > 0 and set(one.missing(at)) != decider.truth(each.node, each.env)[1]
            )
    return compared, wrong


TABLES: dict[str, Callable[[argparse.Namespace], None]] = {
    "engines": engines,
    "files": files,
    "growth": growth,
    "collections": collections,
    "start": start,
    "compare": compare,
}


def main() -> None:
    """Print the tables that are asked for; all but the comparison, if none is named."""
    parser = argparse.ArgumentParser()
    parser.add_argument("tables", nargs="*", metavar="TABLE", help=", ".join(TABLES))
    parser.add_argument("--rows", type=int, nargs="*", default=[1, 1000, 100_000, 1_000_000])
    parser.add_argument("--files", type=int, nargs="*", default=FILES)
    parser.add_argument("--code", nargs="*", default=["ibc@2021"])
    parser.add_argument("--opening", default="d104")
    parser.add_argument("--openings", type=int, default=1_000_000)
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    parser.add_argument("--cell", nargs="+")
    asked = parser.parse_args()
    if asked.cell:
        print(json.dumps(CELLS[asked.cell[0]](asked, *asked.cell[1:])))
        return
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
          f"{', '.join(asked.code)}, like {asked.opening}")  # fmt: skip
    wrong = [name for name in asked.tables if name not in TABLES]
    if wrong:
        parser.error(f"no table {wrong[0]}; there are {', '.join(TABLES)}")
    for name in asked.tables or ["engines", "files", "growth", "collections", "start"]:
        print(f"\n{name}")
        TABLES[name](asked)


if __name__ == "__main__":
    main()
