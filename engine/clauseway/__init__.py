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
    from clauseway.answers.affects import affected, affected_data
    from clauseway.answers.asked_law import Where, governing_for, rulebook_for
    from clauseway.answers.check import check
    from clauseway.answers.cited import cite, cited_data
    from clauseway.answers.clause_tables import clause_tables, clauses_data
    from clauseway.answers.compared import compared, compared_data
    from clauseway.answers.explain import explain
    from clauseway.answers.listed_data import code_list_data, explanation_data, facts_data, facts_found, rulebook_data
    from clauseway.answers.project_sheet import project_sheet
    from clauseway.answers.project_sheet_data import sheet_data
    from clauseway.answers.record import Input, Settings, make_record, read_record
    from clauseway.answers.report import report_data, report_json
    from clauseway.answers.sheet_data import computed_data
    from clauseway.answers.trace import trace
    from clauseway.answers.trace_node import findings_named
    from clauseway.answers.trace_text import trace_data
    from clauseway.answers.verify import by_rules_of, verification_data, verify
    from clauseway.answers.waivers import read_waivers, waived, waived_data
    from clauseway.case.named import openings_named
    from clauseway.case.open import open_project, project_from_data, project_from_text, read_openings
    from clauseway.design.data import needs_data, repair_data
    from clauseway.design.needs import needs
    from clauseway.design.next_question import interview_data, next_question
    from clauseway.design.repair import least_changes
    from clauseway.handover.build import handover_of
    from clauseway.handover.chosen import with_arrangement
    from clauseway.handover.data import handover_data, measured_data
    from clauseway.handover.results import measure
    from clauseway.handover.results_in import read_results
    from clauseway.law.library import load, with_layers
    from clauseway.law.resolve import resolve
    from clauseway.law.rulebook import from_json
    from clauseway.text.problems import ClausewayError
    from clauseway.text.source import node_from_data, parse_yaml

__version__ = "0.1.0"

_WHERE = {
    "affected": "answers.affects",
    "affected_data": "answers.affects",
    "by_rules_of": "answers.verify",
    "check": "answers.check",
    "cite": "answers.cited",
    "cited_data": "answers.cited",
    "clause_tables": "answers.clause_tables",
    "clauses_data": "answers.clause_tables",
    "ClausewayError": "text.problems",
    "code_list_data": "answers.listed_data",
    "compared": "answers.compared",
    "compared_data": "answers.compared",
    "computed_data": "answers.sheet_data",
    "explain": "answers.explain",
    "explanation_data": "answers.listed_data",
    "facts_data": "answers.listed_data",
    "facts_found": "answers.listed_data",
    "findings_named": "answers.trace_node",
    "from_json": "law.rulebook",
    "governing_for": "answers.asked_law",
    "handover_data": "handover.data",
    "handover_of": "handover.build",
    "Input": "answers.record",
    "interview_data": "design.next_question",
    "least_changes": "design.repair",
    "load": "law.library",
    "make_record": "answers.record",
    "measure": "handover.results",
    "measured_data": "handover.data",
    "needs": "design.needs",
    "needs_data": "design.data",
    "next_question": "design.next_question",
    "node_from_data": "text.source",
    "open_project": "case.open",
    "openings_named": "case.named",
    "parse_yaml": "text.source",
    "project_from_data": "case.open",
    "project_from_text": "case.open",
    "project_sheet": "answers.project_sheet",
    "read_openings": "case.open",
    "read_record": "answers.record",
    "read_results": "handover.results_in",
    "read_waivers": "answers.waivers",
    "repair_data": "design.data",
    "report_data": "answers.report",
    "report_json": "answers.report",
    "resolve": "law.resolve",
    "rulebook_data": "answers.listed_data",
    "rulebook_for": "answers.asked_law",
    "Settings": "answers.record",
    "sheet_data": "answers.project_sheet_data",
    "trace": "answers.trace",
    "trace_data": "answers.trace_text",
    "verification_data": "answers.verify",
    "verify": "answers.verify",
    "waived": "answers.waivers",
    "waived_data": "answers.waivers",
    "Where": "answers.asked_law",
    "with_arrangement": "handover.chosen",
    "with_layers": "law.library",
}

__all__ = [
    "ClausewayError",
    "Input",
    "Settings",
    "Where",
    "__version__",
    "affected",
    "affected_data",
    "by_rules_of",
    "check",
    "cite",
    "cited_data",
    "clause_tables",
    "clauses_data",
    "code_list_data",
    "compared",
    "compared_data",
    "computed_data",
    "explain",
    "explanation_data",
    "facts_data",
    "facts_found",
    "findings_named",
    "from_json",
    "governing_for",
    "handover_data",
    "handover_of",
    "interview_data",
    "least_changes",
    "load",
    "make_record",
    "measure",
    "measured_data",
    "needs",
    "needs_data",
    "next_question",
    "node_from_data",
    "open_project",
    "openings_named",
    "parse_yaml",
    "project_from_data",
    "project_from_text",
    "project_sheet",
    "read_openings",
    "read_record",
    "read_results",
    "read_waivers",
    "repair_data",
    "report_data",
    "report_json",
    "resolve",
    "rulebook_data",
    "rulebook_for",
    "sheet_data",
    "trace",
    "trace_data",
    "verification_data",
    "verify",
    "waived",
    "waived_data",
    "with_arrangement",
    "with_layers",
]


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
