"""Waivers and approvals: who accepted which finding, on what ground, until when. They stand beside a verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clauseway.law.aliases import current
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node

SCHEMA = "clauseway-waivers/1"
REQUIRED = ("finding", "opening", "granted_by", "evidence", "until")
OPTIONAL = ("conditions", "subject")
STANDS, EXPIRED, MISMATCHED, UNDATED = "stands", "EXPIRED", "MATCHES NOTHING", "NOT CHECKED AGAINST A DATE"


@dataclass(frozen=True, slots=True)
class Waived:
    """A waiver beside the findings that it is about, and whether it stands on the day of the check."""

    waiver: Mapping[str, str]
    state: str
    verdicts: tuple[str, ...]


def read_waivers(node: Node) -> tuple[Mapping[str, str], ...]:
    """The waivers in a file, each as text by name.

    Raises:
        ClausewayError: with every missing or unknown name and every date that is none.
    """
    problems: list[Problem] = []
    listed = node.get("waivers") if node.is_map else node
    if listed is None or not listed.is_list:
        raise ClausewayError(Problem(node.place, "no list of waivers", "waivers: with a list"))
    found: list[Mapping[str, str]] = []
    for entry in listed.elements():
        if not entry.is_map:
            problems.append(Problem(entry.place, f"{entry.kind} where a waiver is expected", one_of(REQUIRED)))
            continue
        values: dict[str, str] = {"at": str(entry.place)}
        for key, inner in entry.items():
            known = REQUIRED + OPTIONAL
            if key not in known:
                place = inner.key_place or inner.place
                problems.append(Problem(place, f"unknown name: {key}", one_of(known), nearest(key, known) or ""))
            if inner.is_list:
                values[key] = "; ".join(element.text or "" for element in inner.elements())
            else:
                values[key] = inner.text or ""
        problems += [
            Problem(entry.place, f"a waiver without {key}", one_of(REQUIRED)) for key in REQUIRED if not values.get(key)
        ]
        until = entry.get("until")
        if until is not None and not _is_date(until.text or ""):
            problems.append(Problem(until.place, f"until {until.text}", "a date such as 2027-06-30"))
        found.append(values)
    if problems:
        raise ClausewayError(problems)
    return tuple(found)


def under_current_names(
    waivers: Sequence[Mapping[str, str]], aliases: Mapping[str, str]
) -> tuple[Mapping[str, str], ...]:
    """The waivers with the ids of today, where a provision has been renamed since they were written."""
    return tuple({**waiver, "finding": current(waiver["finding"], aliases, ())} for waiver in waivers)


def _is_date(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def waived(report: Mapping[str, Any], waivers: Sequence[Mapping[str, str]], on: str) -> list[Waived]:
    """Each waiver beside what it is about, in report data; one that is for nothing, or over, says so."""
    result = []
    for waiver in waivers:
        verdicts = tuple(
            finding["verdict"]
            for answer in [*report["openings"], *report["others"]]
            if answer["id"] == waiver.get("opening")
            for finding in answer["findings"]
            if finding["id"] == waiver.get("finding") and _about(finding, waiver.get("subject", ""))
        )
        open_ones = [verdict for verdict in verdicts if verdict not in ("met", "not-applicable")]
        if not open_ones:
            state = MISMATCHED
        elif not on:
            state = UNDATED
        else:
            state = EXPIRED if waiver.get("until", "") < on else STANDS
        result.append(Waived(waiver, state, verdicts))
    return result


def _about(finding: Mapping[str, Any], subject: str) -> bool:
    identity = str(finding["subject"].get("id", ""))
    return subject in ("", identity, identity.rpartition("/")[2])


def waived_text(found: Sequence[Waived]) -> list[str]:
    """A line for each waiver, the loud ones first."""
    loud = sorted(found, key=lambda each: each.state == STANDS)
    lines = []
    for each in loud:
        waiver = each.waiver
        verdict = ", ".join(dict.fromkeys(each.verdicts)) or "no such finding"
        conditions = f"; conditions: {waiver['conditions']}" if waiver.get("conditions") else ""
        lines.append(
            f"{waiver.get('opening')} {waiver.get('finding')}: {verdict}. Waiver by {waiver.get('granted_by')} until "
            f"{waiver.get('until')}: {each.state} ({waiver.get('evidence')}{conditions}; {waiver.get('at')})"
        )
    return lines


def waived_data(report: Mapping[str, Any], found: Sequence[Waived], on: str) -> dict[str, Any]:
    """Waivers beside the verdicts they are about, as JSON data; `report` is the data of that report."""
    return {
        "schema": SCHEMA,
        "digest": report["rulebook"]["digest"],
        "on": on or None,
        "waivers": [
            {
                **{name: each.waiver.get(name) or None for name in (*REQUIRED, *OPTIONAL, "at")},
                "state": _STATES[each.state],
                "verdicts": list(each.verdicts),
            }
            for each in found
        ],
        "openings": [{"id": answer["id"], "verdict": answer["verdict"]} for answer in report["openings"]],
    }


_STATES = {STANDS: "stands", EXPIRED: "expired", MISMATCHED: "matches-nothing", UNDATED: "not-dated"}
