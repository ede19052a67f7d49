"""How large a record is and how long its verification takes, for a building of many doors. Prints; judges nothing."""

from __future__ import annotations

import json
import time

import pytest

from clauseway.answers.record import Input, Settings, make_record, read_record
from clauseway.answers.verify import verify
from clauseway.case.open import DEMO, openings_path
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.text.source import parse_yaml

SIZES = (16, 112, 1008)


def many(text: str, openings: int) -> str:
    """The demo with its openings described again and again, under other names."""
    data = json.loads(json.dumps(parse_yaml(text, "demo").plain()))
    doors = data["openings"]
    copies = -(-openings // len(doors))
    data["openings"] = {f"{name}-{number}": door for number in range(copies) for name, door in doors.items()}
    return json.dumps(_without_paths(data))


def _without_paths(data: object) -> object:
    """The data without paths, which name single openings."""
    if isinstance(data, dict):
        return {key: _without_paths(inner) for key, inner in data.items() if key != "paths"}
    return [_without_paths(inner) for inner in data] if isinstance(data, list) else data


@pytest.mark.bench
def test_records_of_many_doors() -> None:
    rulebook = resolve(load(), ["ibc@2021"])
    settings = Settings(codes=("ibc@2021",))
    text = openings_path(DEMO).read_text(encoding="utf-8")
    for size in SIZES:
        given = Input("many", many(text, size))
        start = time.perf_counter()
        made = make_record(given, rulebook, settings, "1.0", processes=0)
        written = time.perf_counter() - start
        start = time.perf_counter()
        found = verify(read_record(made, "r"), "1.0", lambda *_: rulebook, processes=0)
        verified = time.perf_counter() - start
        assert found.status == 0
        per = len(made.encode()) / size / 1024
        print(f"{size} openings: {per:.0f} KiB each, written in {written:.1f} s, verified in {verified:.1f} s")
