"""Clauseway: which codes govern an electrically locked door, what they ask, and where each answer comes from.

    library = clauseway.load()
    rulebook = clauseway.resolve(library, ["ibc@2021"])
    project = clauseway.open_project(path, rulebook)
    report = clauseway.check(rulebook, project)

The names here are loaded when they are first used, so that a check on a compiled rulebook needs the standard
library alone. A report is a reading of the codes, not an approval.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from clauseway.answers.check import check
    from clauseway.answers.report import report_data, report_json
    from clauseway.case.open import open_project, project_from_data
    from clauseway.law.library import load
    from clauseway.law.resolve import resolve
    from clauseway.law.rulebook import from_json
    from clauseway.text.problems import ClausewayError

__version__ = "0.1.0"

_WHERE = {
    "check": "answers.check",
    "report_data": "answers.report",
    "report_json": "answers.report",
    "open_project": "case.open",
    "project_from_data": "case.open",
    "load": "law.library",
    "resolve": "law.resolve",
    "from_json": "law.rulebook",
    "ClausewayError": "text.problems",
}

__all__ = [
    "ClausewayError",
    "__version__",
    "check",
    "from_json",
    "load",
    "open_project",
    "project_from_data",
    "report_data",
    "report_json",
    "resolve",
]


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
