"""A report as one page of HTML that needs nothing else: no network, no other file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib.resources import files
from typing import Any

from clauseway_reports.summary import Report, changed_since, claimed, summary
from clauseway_reports.tables import arrangement_matrix
from clauseway_reports.words import FINDINGS, NOWHERE, VERDICTS, clause_of


def page(
    reports: Sequence[tuple[Report, Mapping[str, str]]],
    *,
    title: str = "",
    before: Report | None = None,
    site: str = "",
) -> str:
    """The page of one or several reports, each with the storeys of its openings; `before` is an older report of one.
    With `site`, the address of a built site, each finding links to its page there.

    The same reports give the same bytes.
    """
    from jinja2 import Environment, StrictUndefined

    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    source = files("clauseway_reports").joinpath("page.html").read_text(encoding="utf-8")
    template = environment.from_string(source)
    return template.render(
        title=title or "; ".join(dict.fromkeys(report["project"] or report["file"] for report, _ in reports)),
        parts=[_part(report, storeys, before, number) for number, (report, storeys) in enumerate(reports, 1)],
        site=site.rstrip("/"),
        verdicts=VERDICTS,
        findings=FINDINGS,
        clause_of=clause_of,
        caution=reports[0][0]["caution"] if reports else "",
    )


def _part(report: Report, storeys: Mapping[str, str], before: Report | None, number: int) -> dict[str, Any]:
    titles, rows = arrangement_matrix(report)
    return {
        "number": number,
        "report": report,
        "summary": summary(report, storeys),
        "doors": [_door(door, storeys) for door in report["openings"]],
        "others": [other for other in report["others"] if any(f["verdict"] != "met" for f in other["findings"])],
        "matrix": {"titles": titles, "rows": rows},
        "changed": changed_since(before, report) if before is not None else None,
        "storeys": sorted({storeys.get(door["id"], NOWHERE) for door in report["openings"]}),
    }


def _door(door: Mapping[str, Any], storeys: Mapping[str, str]) -> dict[str, Any]:
    def of(verdict: str) -> list[Mapping[str, Any]]:
        return [f for f in door["findings"] if f["verdict"] == verdict and f["of"] == "requirement"]

    asked: dict[str, str] = {}
    for finding in of("undetermined") + of("needs-approval"):
        for missing in finding["missing"]:
            asked.setdefault(missing["ask"], missing["fact"])
    clauses = {clause_of(c) for finding in of("unmet") for c in finding["citations"]}
    return {
        **door,
        "storey": storeys.get(door["id"], NOWHERE),
        "claimed": claimed(door),
        "unmet": of("unmet"),
        "open": of("undetermined"),
        "approvals": of("needs-approval"),
        "asked": list(asked),
        "practice": [f for f in door["findings"] if f["of"] == "practice" and f["verdict"] == "unmet"],
        "lacks": [a for a in door["arrangements"] if a["claimed"] == "met" and a["verdict"] != "met"],
        "met": len(of("met")),
        "words": " ".join(
            [door["id"], door["location"] or "", *sorted(clauses), *(f["id"] for f in of("unmet"))]
        ).casefold(),
    }
