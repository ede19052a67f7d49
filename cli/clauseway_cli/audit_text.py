"""What the auditor's commands print."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from clauseway.answers import finding as F
from clauseway.answers.affects import Affected
from clauseway.answers.report import report_data
from clauseway.answers.verify import Difference, Verification
from clauseway.answers.waivers import waived, waived_text
from clauseway.answers.wording import place_in_words

_VERDICTS = {"": "none", "does-not-comply": "DOES NOT COMPLY", "complies": "no violation found"}


def verification_text(found: Verification, signature: str = "") -> str:
    """The state of a record, the worst first."""
    lines = [found.name]
    if found.damage:
        lines += ["Integrity: DAMAGED", *(f"  - {line}" for line in found.damage)]
    else:
        lines.append("Integrity: every part matches its digest")
    lines += [signature] if signature else []
    lines += [line[:1].upper() + line[1:] for line in found.unable]
    if found.inside:
        lines += ["By the rules inside: NOT WHAT IS RECORDED", *_differences(found.inside)]
    elif not any("rules inside" in line for line in found.unable):
        lines.append(f"By the rules inside: the same {found.findings} findings")
    if found.rules_today:
        lines.append(f"By today's rules ({found.rules_today[:19]}): {found.same} same, {len(found.today)} changed")
        lines += _differences(found.today)
    return "\n".join(lines) + "\n"


def _differences(found: Iterable[Difference]) -> Iterator[str]:
    for opening, differences in groupby(sorted(found, key=lambda d: d.opening), key=lambda d: d.opening):
        yield f"  {opening or 'all'}"
        for d in differences:
            mode = f", mode {d.mode}" if d.mode else ""
            verdict = f"{d.was or 'none'} -> {d.now or 'none'}" if d.was != d.now else f"{d.was}, said otherwise"
            yield f"    - {d.finding} ({d.subject}{mode}): {verdict}; by {', '.join(d.causes)}"


def history_text(steps: Sequence[tuple[str, str, Sequence[str], Sequence[Difference]]]) -> str:
    """What changed from each record to the next, door by door."""
    lines: list[str] = []
    for before, after, verdicts, differences in steps:
        lines += [f"{before} -> {after}", *(f"  {line}" for line in verdicts)]
        lines += [*_differences(differences)] if differences else ["  nothing changed"]
    return "\n".join(lines) + "\n"


def verdict_changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    """The openings whose verdict is another in the second report, or that are only in one."""

    def verdicts(report: Mapping[str, Any]) -> dict[str, str]:
        return {answer["id"]: answer["verdict"] for answer in report["openings"]}

    def word(verdict: str) -> str:
        return _VERDICTS.get(verdict, verdict)

    was, now = verdicts(old), verdicts(new)
    changed = [name for name in sorted(set(was) | set(now)) if was.get(name) != now.get(name)]
    return [f"{name}: {word(was.get(name, ''))} -> {word(now.get(name, ''))}" for name in changed]


def affected_text(found: Affected) -> str:
    """All that rests on something."""
    lines = [f"{found.id} ({found.kind})"]
    for heading, names in (
        ("Facts computed from it", found.derived),
        ("Provisions that rest on it", found.provisions),
        ("Conditions that rest on it", found.conditions),
    ):
        if names:
            lines += ["", heading, *(f"  - {name}" for name in names)]
    if found.findings:
        lines += ["", "Findings that rest on it"]
        for opening, findings in groupby(found.findings, key=lambda pair: pair[0]):
            lines.append(f"  {opening}")
            for _, f in findings:
                passage = f" ({f.subject.passage.rpartition('/')[2]})" if f.subject.passage else ""
                lines.append(f"    - {f.id}, {place_in_words(f.subject.path)}{passage}: {f.verdict}")
    if len(lines) == 1:
        lines.append("nothing in this rulebook rests on it")
    return "\n".join(lines) + "\n"


def waivers_text(reports: Sequence[F.Report], kept: Sequence[Mapping[str, str]]) -> str:
    """The waivers of a check as text, to stand on top of it."""
    lines = ["Waivers (a verdict never hangs on one)"]
    for report in reports:
        for line in waived_text(waived(report_data(report), kept, report.on)):
            lines += textwrap.wrap(line, 80, initial_indent="  - ", subsequent_indent="    ", break_on_hyphens=False)
    return "\n".join(lines) + "\n\n"
