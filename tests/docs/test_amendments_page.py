"""The table of kinds on the page about amendments points at what is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
ROWS = re.findall(
    r"^\| (\d+) \| ([^|]+) \| (.+) \|$", (ROOT / "docs" / "amendments.md").read_text(encoding="utf-8"), re.M
)
POINTED = re.compile(r"`((?:rules|tests)/[^`]+)`(?:: `([^`]+)`)?")


def test_every_kind_has_its_row() -> None:
    assert [int(number) for number, _, _ in ROWS] == list(range(1, 56))


@pytest.mark.parametrize(("number", "kind", "said"), ROWS, ids=[number for number, _, _ in ROWS])
def test_a_row_points_at_what_expresses_it(number: str, kind: str, said: str) -> None:
    pointed = POINTED.findall(said)
    assert pointed, f"{number} {kind}: nothing is pointed at"
    for path, text in pointed:
        file = ROOT / path
        assert file.is_file(), f"{number}: {path}"
        held = file.read_text(encoding="utf-8")
        assert text in held, f"{number}: {path} does not hold {text}"
        if path.startswith("tests/"):
            assert f"def {text}(" in held
