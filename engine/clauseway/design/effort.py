"""What it takes to change something, as a rank: common practice, no source, and no price."""

from __future__ import annotations

from collections.abc import Mapping

WEIGHTS: Mapping[str, int] = {"paper": 1, "setting": 2, "wiring": 5, "device": 8, "hardware": 13, "construction": 40}
"""Ranks of effort: a statement or a drawing, a setting, a cable, a device, door hardware, the opening itself."""


def weight(effort: str) -> int:
    """The rank of an effort class."""
    return WEIGHTS[effort]
