"""A calculation sheet from the registry alone: no subject is known to whoever prints it."""

from __future__ import annotations

from typing import Any

import pytest

from clauseway.compute import wire
from clauseway.compute.registry import Range, computations
from clauseway.compute.sheet import range_text, sheet

DROP: dict[str, Any] = {"length": 60.96, "current": 0.6, "area": wire.gauge_area(18)}


def test_sheet_has_formula_numbers_result_in_both_systems_and_caution() -> None:
    page = sheet("wire.voltage-drop", DROP)
    assert page.formula == "2·L·I·R'(A, T, s)"
    assert page.formula_with_numbers == "2·60.96 m·0.6 A·R'(8.23e-07 m², 293.1 K, 1)"
    assert page.metric == page.customary == "1.532 V"
    lines = {line.name: line for line in page.lines}
    assert (lines["length"].metric, lines["length"].customary) == ("60.96 m", "200 ft")
    assert (lines["area"].metric, lines["area"].customary) == ("0.823 mm²", "1.624 kcmil")
    assert (lines["temperature"].metric, lines["temperature"].customary) == ("20 °C", "68 °F")
    assert lines["length"].default_from is None
    assert "20 °C" in str(lines["temperature"].default_from)
    assert page.computation.sources
    assert page.computation.assumptions
    assert page.computation.caution


def test_sheet_of_ranges_and_unknowns() -> None:
    page = sheet("wire.voltage-drop", {**DROP, "length": (30.48, 60.96), "current": None})
    assert page.formula_with_numbers == ""
    assert page.metric == "0 V to 255.4 V"
    lines = {line.name: line for line in page.lines}
    assert lines["length"].customary == "100 ft to 200 ft"
    assert lines["current"].metric == "unknown"
    chain = sheet("wire.chain-drop", {"segment_lengths": [10.0, (5.0, None)], "currents": [0.5, 0.5], "area": 1e-6})
    assert chain.lines[0].metric == "[10 m, 5 m to ?]"


def test_sheet_shows_both_readings_of_a_disagreement() -> None:
    page = sheet("egress.passing-time", {"occupants": 100.0, "clear_width": 0.8128})
    assert page.metric == "150 s"
    assert [(reading.says[:15], reading.metric) for reading in page.alternatives] == [
        ("effective width", "150 s"),
        ("clear width: no", "94.64 s"),
    ]
    page = sheet("release.time", {"initial_current": 0.5, "release_current": 0.05, "inductance": 3.6,
                                  "resistance": 24.0, "clamp_voltage": 40.0})  # fmt: skip
    assert page.metric == "34.92 ms"
    assert [reading.metric for reading in page.alternatives] == ["285 ms", "34.92 ms"]


@pytest.mark.parametrize(
    ("result", "text"),
    [
        (Range(1.0, 1.0), "1 V"),
        (Range(1.0, 2.5), "1 V to 2.5 V"),
        (Range(1.0, None), "at least 1 V"),
        (Range(None, 2.5), "at most 2.5 V"),
        (Range(None, None), "nothing can be said"),
    ],
)
def test_ranges_read_like_sentences(result: Range, text: str) -> None:
    assert range_text(result, "V") == text


@pytest.mark.parametrize("name", list(computations()))
def test_a_sheet_of_nothing_known_is_honest(name: str) -> None:
    page = sheet(name, {argument.name: None for argument in computations()[name].arguments})
    assert page.result.point is None
    assert page.metric
    assert all(line.metric == "unknown" for line in page.lines)
