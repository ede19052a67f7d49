"""How large a record is and how long its verification takes, for a building of many doors. Prints; judges nothing."""

from __future__ import annotations

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
    import yaml

    data = parse_yaml(text, "demo").plain()
    assert isinstance(data, dict)
    doors = data["openings"]
    copies = -(-openings // len(doors))
    data["openings"] = {f"{name}-{number}": door for number in range(copies) for name, door in doors.items()}
    data.pop("paths", None)
    plain = yaml.safe_dump(data["openings"], sort_keys=False)
    for name in doors:
        plain = plain.replace(f"- {name}\n", "")
    data["openings"] = yaml.safe_load(plain)
    for door in data["openings"].values():
        for passage in (door.get("passages") or {}).values():
            if isinstance(passage, dict):
                passage.pop("paths", None)
    return yaml.safe_dump(data, sort_keys=False)


@pytest.mark.bench
def test_records_of_many_doors() -> None:
    rulebook = resolve(load(), ["ibc@2021"])
    settings = Settings(codes=("ibc@2021",))
    text = openings_path(DEMO).read_text(encoding="utf-8")
    for size in SIZES:
        given = Input("many", many(text, size))
        start = time.perf_counter()
        made = make_record(given, rulebook, settings, "1.0")
        written = time.perf_counter() - start
        start = time.perf_counter()
        found = verify(read_record(made, "r"), "1.0", lambda *_: rulebook)
        verified = time.perf_counter() - start
        assert found.status == 0
        per = len(made.encode()) / size / 1024
        print(f"{size} openings: {per:.0f} KiB each, written in {written:.1f} s, verified in {verified:.1f} s")
