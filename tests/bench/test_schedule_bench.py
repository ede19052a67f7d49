"""How long many doors of an architect's sheet take, from the workbook to the page, and how much memory. Prints."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway_schedules.propose import mapping_text, propose
from clauseway_schedules.read_book import read_book
from support.architect import BASE, write

SIZES = (300, 10_000)
PROGRAM = "import sys; from clauseway_cli.entry import main; main()"


@pytest.mark.bench
def test_from_a_schedule_to_a_page(tmp_path: Path) -> None:
    resource = pytest.importorskip("resource")
    rulebook = resolve(load(), ["ibc@2021"])
    (tmp_path / "base.yaml").write_text(BASE)
    for size in SIZES:
        schedule, mapping = tmp_path / f"{size}.xlsx", tmp_path / f"{size}.yaml"
        write(schedule, doors=size)
        book = read_book(schedule)
        text = mapping_text(book, propose(book, rulebook.vocabulary), "base.yaml")
        mapping.write_text(text.replace("confirmed: no", "confirmed: yes"))
        for ending in ("html", "csv"):
            out = tmp_path / f"{size}.{ending}"
            start = time.perf_counter()
            run = subprocess.run(
                [sys.executable, "-c", PROGRAM, "schedule", "report", str(schedule), str(mapping), "-o", str(out)],
                capture_output=True,
                check=False,
                env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
            )
            taken = time.perf_counter() - start
            assert run.returncode in (1, 3), run.stderr.decode()
            most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
            print(
                f"{size} doors, {os.cpu_count()} processors: {taken:.1f} s to .{ending} of "
                f"{out.stat().st_size / 2**20:.1f} MiB; at most {most:.0f} MiB in one process so far"
            )
