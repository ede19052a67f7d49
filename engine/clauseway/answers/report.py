"""A report as plain data: stable order, the same bytes for the same input. Its schema is report.schema.json."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from clauseway.answers import finding as F
from clauseway.answers.address import page_of
from clauseway.answers.waivers import waived
from clauseway.model.provision import Change, Citation
from clauseway.text.indented import indented
from clauseway.text.problems import Place

if TYPE_CHECKING:
    from clauseway.law.rulebook import Rulebook

SCHEMA = "clauseway-report/1"
CAUTION = (
    "A reading of the codes, not an approval: the authority having jurisdiction decides, local amendments govern, "
    "and licensed professionals design and sign."
)


def headed(schema: str, rulebook: Rulebook, opening: str) -> dict[str, Any]:
    """What JSON data on one opening begin with."""
    return {
        "schema": schema,
        "caution": CAUTION,
        "codes": [str(code) for code in rulebook.adopted],
        "digest": rulebook.digest,
        "opening": opening,
    }


def report_data(report: F.Report) -> dict[str, Any]:
    """The report as JSON data."""
    law = None
    if report.under is not None:
        from clauseway.answers.under import under_data

        law = under_data(report.under)
    return {
        "schema": SCHEMA,
        "caution": CAUTION,
        "project": report.project,
        "file": report.file,
        "rulebook": {
            "in": report.under.jurisdiction if report.under is not None else None,
            "law": law,
            "on": report.on or None,
            "codes": [str(code) for code in report.codes],
            "layers": list(report.layers),
            "digest": report.digest,
            "conditions": report.conditions,
            "standing": {str(code): code.force for code in report.codes},
            "practice": sorted(report.practice),
            "strict": report.strict,
        },
        "openings": [answer_data(answer, report.practice) for answer in report.answers if answer.kind == "opening"],
        "others": [answer_data(answer, report.practice) for answer in report.answers if answer.kind != "opening"],
    }


def report_json(reports: list[F.Report], waivers: Sequence[Mapping[str, str]] | None = None) -> str:
    """One report, or a list of several, as text that ends with a new line; with waivers, each with its state."""
    data: Any = [report_data(report) for report in reports]
    if waivers is not None:
        for each in data:
            each["waivers"] = [
                {"waiver": dict(found.waiver), "state": found.state, "verdicts": list(found.verdicts)}
                for found in waived(each, waivers, each["rulebook"]["on"] or "")
            ]
    return indented(data[0] if len(data) == 1 else data) + "\n"


def answer_text(answer: F.Answer, practice: frozenset[str]) -> str:
    """The answer on one opening, room ... as the text that stands in the text of a report."""
    return _deeper(indented(answer_data(answer, practice)), 4)


def report_parts(head: Mapping[str, Any], answers: Iterable[tuple[str, str]]) -> Iterator[str]:
    """The text of a report part by part, as `report_json` gives it whole and without the new line at its end.

    `head` is the report without its answers; these are their kinds and their texts, openings first.
    """
    text = indented({**head, "openings": [], "others": []})
    yield text.removesuffix('[],\n  "others": []\n}')
    lists = {"opening": "", "other": ',\n  "others": '}
    at, empty = "opening", True
    for kind, answer in answers:
        if at == "opening" and kind != "opening":
            yield ("[]" if empty else "\n  ]") + lists["other"]
            at, empty = "other", True
        yield ("[\n    " if empty else ",\n    ") + answer
        empty = False
    yield "[]" if empty else "\n  ]"
    yield "\n}" if at == "other" else lists["other"] + "[]\n}"


def _deeper(text: str, by: int) -> str:
    """JSON text as it stands further inside; a new line in it is never part of a value."""
    return text.replace("\n", "\n" + " " * by)


def answer_data(answer: F.Answer, practice: frozenset[str]) -> dict[str, Any]:
    """The answer on one opening, room ... as it stands in a report."""
    return {
        "kind": answer.kind,
        "id": answer.id,
        "location": answer.title,
        "verdict": answer.verdict,
        "works": answer.works,
        "arrangements": [_arrangement(arrangement) for arrangement in answer.arrangements],
        "findings": [_finding(finding, practice) for finding in answer.findings],
        "relies_on": list(answer.relies_on),
        "rests_on_memory": list(answer.memory),
        "conflicts": [{"between": list(c.ids), "verdicts": list(c.verdicts), "why": c.why} for c in answer.conflicts],
    }


def _subject(subject: F.Subject) -> dict[str, str]:
    data = {"kind": subject.kind, "id": subject.path or "building"}
    if subject.passage:
        data["passage"] = subject.passage
    return data


def _arrangement(answer: F.ArrangementAnswer) -> dict[str, Any]:
    return {
        "id": answer.id,
        "title": answer.title,
        "page": page_of(answer.id),
        "subject": _subject(answer.subject),
        "mode": answer.mode or None,
        "claimed": answer.claimed,
        "permitted": answer.permitted,
        "verdict": answer.verdict,
        "citation": citation_data(answer.citation),
        "lacks": [{"id": lack.label, "verdict": lack.verdict, "says": lack.says} for lack in answer.lacks],
    }


def _finding(finding: F.Finding, practice: frozenset[str]) -> dict[str, Any]:
    of = "practice" if finding.code in practice else "arrangement" if finding.claimed else "requirement"
    return {
        "id": finding.id,
        "title": finding.title,
        "subject": _subject(finding.subject),
        "mode": finding.mode or None,
        "of": of,
        "verdict": finding.verdict,
        "raw": finding.raw,
        "excused_by": list(finding.excused_by),
        "citations": [citation_data(citation) for citation in finding.citations],
        "says": finding.says,
        "remedy": finding.remedy or None,
        "facts": {
            key: {"value": fact.value or None, "known_by": fact.known_by, "at": _place(fact.place)}
            for key, fact in finding.facts.items()
        },
        "parameters": {
            key: {
                "value": parameter.value,
                "citation": citation_data(parameter.citation),
                "at": _place(parameter.place),
            }
            for key, parameter in finding.parameters.items()
        },
        "missing": [
            {"fact": asked.fact, "of": asked.missing.path or "building", "ask": asked.ask} for asked in finding.missing
        ],
        "members": [
            {
                "ref": row.path,
                "verdict": row.verdict,
                "lines": {part.label.rpartition("/")[2]: part.verdict for part in row.parts},
                "says": {part.label.rpartition("/")[2]: part.says for part in row.parts if part.says},
            }
            for row in finding.members
        ],
        "memory": list(finding.memory),
        "page": page_of(finding.id),
        "amended_by": [change_data(change) for change in _changes(finding)],
        "at": _place(finding.place),
    }


def _changes(finding: F.Finding) -> list[Change]:
    """The amendments that a finding rests on, those of its parameters included."""
    used = [change for parameter in finding.parameters.values() for change in parameter.history]
    return list(dict.fromkeys([*finding.history, *used]))


def change_data(change: Change) -> dict[str, str]:
    """A step in the history of a value as JSON data."""
    return {
        "layer": change.layer,
        "verb": change.verb,
        "was": change.was,
        "now": change.now,
        "cite": change.cite,
        "from": change.since,
        "direction": change.direction,
        "authority": change.authority,
        "reason": change.reason,
        "at": _place(change.place),
    }


def citation_data(citation: Citation) -> dict[str, str]:
    """A citation as JSON data; that of a condition says what its verdict proves about the clause."""
    data = {
        "code": citation.code.upper(),
        "edition": citation.edition,
        "section": citation.section,
        "item": citation.item,
        "basis": citation.basis.kind,
        "source": citation.basis.source,
        "section_basis": citation.section_basis.kind,
    }
    if citation.if_met:
        data |= {"if_met": citation.if_met, "if_unmet": citation.if_unmet}
    return data


def _place(place: Place) -> str:
    return str(place)
