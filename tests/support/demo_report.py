"""The report on the demo under the IBC of 2021 as JSON data, made once."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from clauseway.answers.check import check
from clauseway.answers.report import report_data
from clauseway.case.open import DEMO, open_project
from clauseway.law.library import load
from clauseway.law.resolve import resolve


@cache
def _text() -> str:
    rulebook = resolve(load(), ["ibc@2021"])
    return json.dumps(report_data(check(rulebook, open_project(DEMO, rulebook))))


def demo() -> dict[str, Any]:
    """A report of one's own, to be changed at will."""
    data: dict[str, Any] = json.loads(_text())
    return data
