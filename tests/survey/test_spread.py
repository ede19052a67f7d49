"""A survey on a cluster counts what a survey here counts, also when a worker is killed on the way."""

from __future__ import annotations

import json
import os
import signal
from pathlib import Path
from random import Random
from threading import Timer
from typing import Any

import pyarrow as pa
import pyarrow.parquet
import pytest

from clauseway.case.open import project_from_data
from clauseway.survey import datasets, spread
from clauseway.survey.datasets import open_data
from clauseway.survey.table import Asked, survey_data
from clauseway.text.problems import ClausewayError
from support.rulebooks import rulebook

DOOR: dict[str, Any] = {
    "codes": ["ibc@2021"],
    "rooms": {"hall": {"group": "B"}},
    "openings": {
        "front": {
            "complete": "all-below",
            "sides": {"in": {"space": "hall"}, "out": {}},
            "passages": {"go": {"from_side": "in", "to_side": "out", "role": "required"}},
            "locks": {"magnet": {"kind": "electromagnetic-direct-pull", "secures": ["go"]}},
        }
    },
}


def data(folder: Path, many: int, group: int) -> Path:
    rng = Random(many)
    table = pa.table(
        {
            "rooms.hall.group": pa.array([rng.choice(["B", "I-2", "E", None]) for _ in range(many)], pa.string()),
            "building.fire_alarm": [rng.choice([True, False, None]) for _ in range(many)],
        }
    )
    pyarrow.parquet.write_table(table, folder / "rows.parquet", row_group_size=group)
    return folder / "rows.parquet"


def test_parts_make_up_the_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(datasets, "BLOCK", 250)
    found = open_data(data(tmp_path, 1030, 100))
    book, asked = rulebook("ibc@2021"), Asked()
    parts = datasets.parts_of(found.path)
    assert [first for _, first in parts] == [0, 300, 600, 900]
    assert [number for groups, _ in parts for number in groups] == list(range(11))
    whole = survey_data(book, project_from_data(DOOR, book), found, asked)
    setup = (book.json, json.dumps(DOOR), found.names, asked)
    added = spread.counted((), 0, setup, str(found.path))
    for groups, first in parts:
        added.add(spread.counted(groups, first, setup, str(found.path)))
    assert added == whole
    assert whole.rows == 1030


def test_only_parquet_is_spread(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("building.fire_alarm\ntrue\n", encoding="utf-8")
    with pytest.raises(ClausewayError, match="not a Parquet file"):
        spread.spread(rulebook("ibc@2021"), "{}", open_data(tmp_path / "a.csv"), Asked(), "tcp://127.0.0.1:1")


@pytest.mark.long
def test_a_worker_that_is_killed_changes_no_count(tmp_path: Path) -> None:
    distributed = pytest.importorskip("distributed")
    found = open_data(data(tmp_path, 2_000_000, 1 << 16))
    book = rulebook("ibc@2021")
    whole = survey_data(book, project_from_data(DOOR, book), found, Asked())
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        with distributed.Client(cluster) as client:
            pids = list(client.run(os.getpid).values())
        seen: list[int] = []

        def kill(rows: int, _: int | None) -> None:
            if not seen:
                os.kill(pids[0], signal.SIGKILL)
            seen.append(rows)

        stop = Timer(120, lambda: os.kill(os.getpid(), signal.SIGINT))
        stop.start()
        counted = spread.spread(book, json.dumps(DOOR), found, Asked(), cluster.scheduler_address, kill)
        stop.cancel()
    assert counted == whole
    assert len(seen) == len(datasets.parts_of(found.path)) > 4
