"""A report as calm text for 80 columns: the verdict first, then what to do, then what is unknown."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from functools import partial
from typing import TYPE_CHECKING

from clauseway.answers import finding as F
from clauseway.answers.address import page_of
from clauseway.answers.report import CAUTION
from clauseway.model.provision import Citation
from clauseway_cli.works_text import works_text

if TYPE_CHECKING:
    from clauseway.answers.explain import Explanation

WIDTH = 80
_VERDICTS = {**F.VERDICT_WORDS, F.FAILS: "DOES NOT COMPLY", F.NOT_APPLICABLE: ""}
_MARKS = {
    F.MET: "met",
    F.UNMET: "NOT MET",
    F.UNDETERMINED: "not known",
    F.NOT_APPLICABLE: "not asked",
    F.NEEDS_APPROVAL: "approval",
}


def report_text(report: F.Report, *, everything: bool = False, width: int = WIDTH, site: str = "") -> str:
    """The report as text; findings name their pages on a site that is built there."""
    lines: list[str] = [report.project]
    if report.under is not None:
        from clauseway_cli.law_text import law_lines

        lines += law_lines(report.under, width)
    codes = ", ".join(f"{code.title} {code.edition}" for code in report.codes)
    lines += _wrapped(f"Checked under: {codes}", width)
    guidance = [code.title for code in report.codes if code.code in report.guidance]
    if guidance:
        lines += _wrapped(f"Guidance, not law: {', '.join(guidance)}", width)
    if report.strict:
        lines += _wrapped("Strict: nothing known from memory only decides.", width)
    if report.layers:
        lines += _wrapped(f"Amended by: {', '.join(report.layers)}", width)
    lines += [f"Rulebook: {report.digest[:19]}", ""]
    openings = [answer for answer in report.answers if answer.kind == "opening"]
    others = [answer for answer in report.answers if answer.kind != "opening"]
    lines += _wrapped(_count(openings), width)
    for answer in openings + [other for other in others if everything or not _is_quiet(other)]:
        lines += ["", *_answer(answer, report, everything, width, site)]
    lines += ["", *_wrapped(CAUTION, width)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _count(answers: list[F.Answer]) -> str:
    words = {
        F.FAILS: "do not comply",
        F.UNDETERMINED: "not decided",
        F.NEEDS_APPROVAL: "need approval",
        F.COMPLIES: "with no violation found",
    }
    single = {"do not comply": "does not comply", "need approval": "needs approval"}
    counts = [(sum(a.verdict == verdict for a in answers), text) for verdict, text in words.items()]
    counts = [(count, single.get(text, text) if count == 1 else text) for count, text in counts]
    noun = "opening" if len(answers) == 1 else "openings"
    counted = ", ".join(f"{count} {text}" for count, text in counts if count)
    broken = sum(answer.works == "no" for answer in answers)
    return f"{len(answers)} {noun}: {counted}" + (f"; {broken} with something that does not work." if broken else ".")


def _is_quiet(answer: F.Answer) -> bool:
    return answer.verdict == F.COMPLIES or (answer.verdict == F.NOT_APPLICABLE and answer.works != "no")


def _answer(answer: F.Answer, report: F.Report, everything: bool, width: int, site: str) -> Iterator[str]:
    told = partial(_finding, width=width, site=site)
    coded = [finding for finding in answer.findings if finding.code not in report.practice]
    name = answer.id if answer.kind == "opening" else f"{answer.kind} {answer.id}"
    verdict = _VERDICTS[answer.verdict]
    if answer.verdict == F.COMPLIES:
        applied = {f.id for f in coded if not f.claimed and f.verdict != F.NOT_APPLICABLE}
        verdict = f"no violation found in {len(applied)} of {report.conditions} encoded conditions"
    head = f"{name}  {answer.title}"
    if len(head) + len(verdict) + 2 <= width:
        yield head + " " * (width - len(head) - len(verdict)) + verdict
    else:
        yield from _wrapped(head, width)
        yield verdict.rjust(width)
    yield "-" * width
    if not coded and answer.kind == "opening":
        yield from _wrapped("No requirement of these codes speaks of what is described here.", width)
    claims = [f for f in answer.findings if f.claimed]
    unmet = [f for f in coded if f.verdict == F.UNMET and not f.claimed]
    fails = [f for f in unmet if f.code not in report.guidance]
    explained = [f for f in claims if f.verdict == F.UNMET] if fails else []
    if fails:
        yield "Fails"
        for finding in fails + explained:
            yield from told(finding)
        yield from _options(answer, width)
    departs = [f for f in unmet if f.code in report.guidance]
    if departs:
        yield "Departs from guidance (another way may comply; the authority decides)"
        for finding in departs:
            yield from told(finding)
    if answer.conflicts:
        yield "Codes in conflict (ask each authority; nothing is settled here)"
        for conflict in answer.conflicts:
            first, second = conflict.ids
            yield from _item(f"{first} and {second}: {conflict.why}", width)
    waiting = [
        f for f in answer.findings if f.verdict == F.NEEDS_APPROVAL and (not f.claimed or answer.verdict != F.COMPLIES)
    ]
    if waiting:
        yield "Needs approval"
        for finding in waiting:
            yield from told(finding)
    unknown = [f for f in coded if f.verdict == F.UNDETERMINED and not f.claimed]
    if unknown:
        yield "Not known"
        yield from _questions(unknown, width)
    excused = [f for f in answer.findings if f.excused_by]
    if excused:
        yield "Permitted by"
        permits = {
            f"{_about(finding)}: {arrangement.title} ({cite(arrangement.citation)})": None
            for finding in excused
            for arrangement in answer.arrangements
            if arrangement.id in finding.excused_by and arrangement.subject == finding.subject
        }
        for text in permits:
            yield from _item(text, width)
    if answer.relies_on and answer.verdict != F.FAILS:
        yield "Relies on"
        yield from _item("; ".join(answer.relies_on) + ".", width)
    if any(finding.memory for finding in coded if finding.verdict != F.NOT_APPLICABLE):
        yield from _wrapped(_memory(coded), width)
    yield from works_text(answer, report.practice, lambda text: _item(text, width), told)
    if everything:
        yield "All findings"
        for finding in answer.findings:
            mode = f" in mode {finding.mode}" if finding.mode else ""
            yield from _item(f"{_MARKS[finding.verdict]}: {finding.id}, {_about(finding)}{mode}: {finding.says}", width)


def _memory(findings: list[F.Finding]) -> str:
    """How much of an answer rests on what nobody has verified."""
    asked = [finding for finding in findings if finding.verdict != F.NOT_APPLICABLE]
    resting = sum(bool(finding.memory) for finding in asked)
    names = len({name for finding in asked for name in finding.memory})
    return (
        f"{resting} of {len(asked)} findings rest on {names} clause{'s' if names != 1 else ''} or values known from "
        "memory only: verify them in the adopted code."
    )


def _about(finding: F.Finding) -> str:
    steps = finding.subject.path.split("/")
    name = steps[-1] if steps[-1] else "building"
    passage = finding.subject.passage.rpartition("/")[2]
    return f"{finding.subject.kind} {name}" + (f" ({passage})" if passage else "")


def cite(citation: Citation) -> str:
    """A citation as people print it; marked where its number or substance is from memory."""
    if citation.code == "described":
        return "What is described"
    if citation.code == "engineering":
        mark = " [memory]" if citation.basis.kind == "memory" else ""
        return f"Engineering, {citation.section}{mark}"
    item = citation.item
    if item:
        item = f" {item[0].lower()}{item[1:]}" if item[0].isalpha() else f" item {item}"
    mark = " [memory]" if "memory" in (citation.basis.kind, citation.section_basis.kind) else ""
    return f"{citation.code.upper()} {citation.edition} {citation.section}{item}{mark}"


def _finding(finding: F.Finding, width: int, site: str) -> Iterator[str]:
    mode = f", in mode {finding.mode}" if finding.mode else ""
    source = "; ".join(cite(citation) for citation in finding.citations)
    yield from _item(f"{_about(finding)}{mode}: {finding.says}", width)
    nearest = next((row for row in finding.members if row.verdict != F.MET), None)
    remedies: list[str] = []
    if nearest is not None and nearest.parts and finding.verdict == F.UNMET:
        name = nearest.path.rpartition("/")[2]
        for part in nearest.parts:
            if part.verdict in (F.UNMET, F.UNDETERMINED):
                yield from _item(f"{name}: {part.says}", width, indent=6, mark="")
                remedies += [part.remedy] if part.remedy else []
    if source:
        yield from _item(source, width, indent=6, mark="")
    for change in dict.fromkeys([*finding.history, *(c for p in finding.parameters.values() for c in p.history)]):
        text = f"Amended by {change.layer} ({change.cite}): {change.was} -> {change.now}"
        yield from _item(text, width, indent=6, mark="")
    for remedy in remedies or ([finding.remedy] if finding.remedy else []):
        yield from _item(f"To do: {remedy}", width, indent=6, mark="")
    if site:
        # In one piece, so that a terminal can follow it.
        yield f"{' ' * 6}{site.rstrip('/')}/{page_of(finding.id)}"


def _options(answer: F.Answer, width: int) -> Iterator[str]:
    """The nearest arrangements, permitted first, where a lock has to be excused."""
    excusable = [f for f in answer.findings if f.verdict == F.UNMET and not f.claimed and f.raw == F.UNMET]
    for subject in dict.fromkeys(f.subject for f in excusable):
        options = [a for a in answer.arrangements if a.subject == subject and a.permitted != F.UNMET]
        options = [a for a in options if a.permitted in (F.MET, F.NOT_APPLICABLE)] or options
        if not options:
            continue
        shown = []
        for option in options[:2]:
            lacks = ", ".join(lack.label for lack in option.lacks[:4]) + (", ..." if len(option.lacks) > 4 else "")
            shown.append(
                f"{option.title} ({cite(option.citation)}): "
                + (f"lacks {lacks}" if lacks else "wholly met, if so meant")
            )
        name = subject.path.rpartition("/")[2]
        yield from _item(f"Nearest for {name}: " + "; ".join(shown) + ".", width)


def _questions(findings: Iterable[F.Finding], width: int) -> Iterator[str]:
    asked: dict[str, list[str]] = {}
    for finding in findings:
        if not finding.missing:
            asked.setdefault(finding.says, [])
        for missing in finding.missing:
            labels = asked.setdefault(missing.ask, [])
            if finding.id not in labels:
                labels.append(finding.id)
    # What most findings wait for comes first.
    for question, labels in sorted(asked.items(), key=lambda entry: -len(entry[1])):
        yield from _item(question, width)
        if labels:
            more = f" and {len(labels) - 2} more" if len(labels) > 2 else ""
            yield from _item(f"for {', '.join(labels[:2])}{more}", width, indent=6, mark="")


def _item(text: str, width: int, indent: int = 2, mark: str = "- ") -> list[str]:
    return textwrap.wrap(
        text,
        width,
        initial_indent=" " * indent + mark,
        subsequent_indent=" " * (indent + len(mark)),
        break_on_hyphens=False,
    )


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, break_on_hyphens=False)


def explanation_text(explanation: Explanation, width: int = WIDTH) -> str:
    """An explanation as text, its sections in their order."""
    lines = _wrapped(f"{explanation.id} ({explanation.kind})", width) + _wrapped(explanation.title, width)
    for section in explanation.sections:
        lines += ["", section.heading]
        for line in section.lines:
            lines += _item(line, width)
    return "\n".join(lines) + "\n"


def listed_text(rows: list[tuple[str, str]], none: str, width: int = WIDTH) -> str:
    """Names with a short text each."""
    if not rows:
        return f"{none}\n"
    lines: list[str] = []
    for name, about in rows:
        if len(name) <= 44 and len(about) <= width - 46:
            lines.append(f"{name:<44}  {about}")
            continue
        lines.append(name)
        lines += textwrap.wrap(about, width, initial_indent="    ", subsequent_indent="    ")
    return "\n".join(lines) + "\n"
