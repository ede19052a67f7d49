"""Clauseway: which codes govern an electrically locked door, what they ask, and where each answer comes from.

    library = clauseway.load()
    rulebook = clauseway.resolve(library, ["ibc@2021"])
    project = clauseway.open_project(path, rulebook)
    report = clauseway.check(rulebook, project)

The names here are loaded when they are first used, so that a check on a compiled rulebook needs the standard
library alone. They are the public ones, described in docs/python.md; others may change. A report is a reading of the
codes, not an approval.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from clauseway.answers.asked_law import Where, governing_for, rulebook_for
    from clauseway.answers.check import check
    from clauseway.answers.clause_tables import clause_tables, clauses_data
    from clauseway.answers.explain import explain
    from clauseway.answers.listed_data import code_list_data, explanation_data, facts_data, facts_found, rulebook_data
    from clauseway.answers.report import report_data, report_json
    from clauseway.answers.sheet_data import computed_data
    from clauseway.answers.trace import trace
    from clauseway.answers.trace_node import findings_named
    from clauseway.answers.trace_text import trace_data
    from clauseway.case.named import openings_named
    from clauseway.case.open import open_project, project_from_data, project_from_text, read_openings
    from clauseway.design.data import needs_data, repair_data
    from clauseway.design.needs import needs
    from clauseway.design.repair import least_changes
    from clauseway.law.library import load
    from clauseway.law.resolve import resolve
    from clauseway.law.rulebook import from_json
    from clauseway.text.problems import ClausewayError

__version__ = "0.1.0"

_WHERE = {
    "check": "answers.check",
    "clause_tables": "answers.clause_tables",
    "clauses_data": "answers.clause_tables",
    "ClausewayError": "text.problems",
    "code_list_data": "answers.listed_data",
    "computed_data": "answers.sheet_data",
    "explain": "answers.explain",
    "explanation_data": "answers.listed_data",
    "facts_data": "answers.listed_data",
    "facts_found": "answers.listed_data",
    "findings_named": "answers.trace_node",
    "from_json": "law.rulebook",
    "governing_for": "answers.asked_law",
    "least_changes": "design.repair",
    "load": "law.library",
    "needs": "design.needs",
    "needs_data": "design.data",
    "open_project": "case.open",
    "openings_named": "case.named",
    "project_from_data": "case.open",
    "project_from_text": "case.open",
    "read_openings": "case.open",
    "repair_data": "design.data",
    "report_data": "answers.report",
    "report_json": "answers.report",
    "resolve": "law.resolve",
    "rulebook_data": "answers.listed_data",
    "rulebook_for": "answers.asked_law",
    "trace": "answers.trace",
    "trace_data": "answers.trace_text",
    "Where": "answers.asked_law",
}

__all__ = [
    "ClausewayError",
    "Where",
    "__version__",
    "check",
    "clause_tables",
    "clauses_data",
    "code_list_data",
    "computed_data",
    "explain",
    "explanation_data",
    "facts_data",
    "facts_found",
    "findings_named",
    "from_json",
    "governing_for",
    "least_changes",
    "load",
    "needs",
    "needs_data",
    "open_project",
    "openings_named",
    "project_from_data",
    "project_from_text",
    "read_openings",
    "repair_data",
    "report_data",
    "report_json",
    "resolve",
    "rulebook_data",
    "rulebook_for",
    "trace",
    "trace_data",
]


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
