"""A report in which what many findings share is written once: facts, values, citations and the like.

Folded, a finding names what it shares by numbers into the report's list `shared`; what decides (id, verdict, sentence)
stays in the finding, to be read as it is.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

SHARED = "shared"
_MAPS = ("facts", "parameters")
_LISTS = ("citations", "members", "memory", "missing", "amended_by")
_WHOLE = ("subject", "title", "at", "remedy")
_SECTIONS = ("openings", "others")
MOST_UNFOLDED = 1024 * 1024 * 1024
"""Characters that a report may unfold to: thousands of openings."""


def fold(report: Mapping[str, Any]) -> dict[str, Any]:
    """The report with a list of what is shared; the same report gives the same list."""
    shared: list[Any] = []
    numbers: dict[str, int] = {}

    def number(value: Any) -> int:
        key = json.dumps(value, ensure_ascii=False, sort_keys=True)
        if key not in numbers:
            numbers[key] = len(shared)
            shared.append(value)
        return numbers[key]

    def short(finding: Mapping[str, Any]) -> dict[str, Any]:
        result = dict(finding)
        for name in _MAPS:
            if name in finding:
                result[name] = [number([key, value]) for key, value in sorted(finding[name].items())]
        for name in _LISTS:
            if name in finding:
                result[name] = [number(value) for value in finding[name]]
        for name in _WHOLE:
            if name in finding:
                result[name] = number(finding[name])
        return result

    folded = dict(report)
    for section in _SECTIONS:
        folded[section] = [
            {**answer, "findings": [short(finding) for finding in answer["findings"]]}
            for answer in report.get(section, [])
        ]
    return {**folded, SHARED: shared}


def unfold(report: Mapping[str, Any]) -> dict[str, Any]:
    """The report that was folded.

    Raises:
        ValueError: for one that `fold` did not make, or that unfolds to too much.
    """
    shared = report.get(SHARED)
    if not isinstance(shared, list):
        raise ValueError("the report has no list of what is shared")
    sizes = [len(json.dumps(value, ensure_ascii=False)) for value in shared]
    left = MOST_UNFOLDED

    def value(number: Any) -> Any:
        nonlocal left
        if isinstance(number, bool) or not isinstance(number, int) or not 0 <= number < len(shared):
            raise ValueError(f"nothing is shared under {str(number)[:20]}")
        left -= sizes[number]
        if left < 0:
            raise ValueError("the report unfolds to too much")
        return shared[number]

    def pair(number: Any) -> tuple[str, Any]:
        found = value(number)
        if not isinstance(found, list) or len(found) != 2 or not isinstance(found[0], str):
            raise ValueError(f"no name and value are shared under {number}")
        return found[0], found[1]

    def whole(finding: Mapping[str, Any]) -> dict[str, Any]:
        result = dict(finding)
        for name in _MAPS:
            if name in finding:
                result[name] = dict(pair(number) for number in finding[name])
        for name in _LISTS:
            if name in finding:
                result[name] = [value(number) for number in finding[name]]
        for name in _WHOLE:
            if name in finding:
                result[name] = value(finding[name])
        return result

    unfolded = {key: inner for key, inner in report.items() if key != SHARED}
    for section in _SECTIONS:
        unfolded[section] = [
            {**answer, "findings": [whole(finding) for finding in answer["findings"]]}
            for answer in report.get(section, [])
        ]
    return unfolded
