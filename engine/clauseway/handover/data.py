"""What an installer takes away and brings back, as plain data: stable order, the same bytes for the same input."""

from __future__ import annotations

from typing import Any

from clauseway.answers.report import CAUTION, citation_data
from clauseway.answers.under import Under, under_data
from clauseway.handover.accepted import Accepted, Limit
from clauseway.handover.results import Measurements, Reading
from clauseway.handover.sheet import Confirm, Handover, Reason, Row, SequenceLine, Setting, Step
from clauseway.law.rulebook import Rulebook

HANDOVER_SCHEMA = "clauseway-handover/1"
MEASURED_SCHEMA = "clauseway-measured/1"
CAUTIONS = (
    CAUTION,
    "Work on live circuits and on connections to a fire alarm system is for people qualified to do it, with the "
    "system's owner told first. Test every release at the door, with the power off as well.",
    "What is marked [memory] nobody has read in the code itself yet: verify it in the adopted code.",
    "The limits are those of the clauses, and no tolerance is added to them. A reading that lies nearer to a limit "
    "than it can be read is measured again, more finely.",
)
"""What stands on every sheet."""


def handover_data(found: Handover, rulebook: Rulebook, project: str, law: Under | None = None) -> dict[str, Any]:
    """All that an installer takes away for an opening, as JSON data; `law` is what a named place has adopted."""
    return {
        "schema": HANDOVER_SCHEMA,
        "cautions": list(CAUTIONS),
        "project": project,
        "law": under_data(law) if law is not None else None,
        "codes": [str(code) for code in rulebook.adopted],
        "layers": list(rulebook.layers),
        "digest": rulebook.digest,
        "opening": found.opening,
        "location": found.title,
        "verdict": found.verdict,
        "works": found.works,
        "arrangements": [
            {
                "id": each.id,
                "title": each.title,
                "lock": each.subject.path,
                "passage": each.subject.passage,
                "verdict": each.verdict,
                "citation": citation_data(each.citation),
            }
            for each in found.arrangements
        ],
        "devices": [_row(row) for row in found.devices],
        "sequence": [_line(line) for line in found.sequence],
        "signs": [_row(row) for row in found.signs],
        "provide": [_confirm(each) for each in found.provide],
        "acceptance": [step_data(step) for step in found.acceptance],
        "confirm": [_confirm(each) for each in found.confirm],
        "inspection": [step_data(step) for step in found.inspection],
        "not_known": [
            {"fact": each.fact, "of": each.missing.path or "building", "ask": each.ask} for each in found.not_known
        ],
        "not_described": list(found.not_described),
        "relies_on": list(found.relies_on),
        "rests_on_memory": list(found.memory),
    }


def step_data(step: Step) -> dict[str, Any]:
    """A step as JSON data."""
    return {
        "id": step.id,
        "of": step.path,
        "fact": f"{step.kind}.{step.fact}",
        "mode": step.mode or None,
        "phase": step.phase or None,
        "place": step.place,
        "when": step.when or None,
        "question": step.question,
        "instrument": step.tool,
        "how": step.how,
        "read_to": step.to or None,
        "described": step.described or None,
        "known_by": step.known_by,
        "accepted": _accepted(step.accepted),
        "surely_asked": step.surely_asked,
        "verdict": step.verdict,
        "reasons": [_reason(reason) for reason in step.reasons],
    }


def _accepted(accepted: Accepted) -> dict[str, Any]:
    return {
        "words": accepted.words,
        "spans": [{"low": _limit(low), "high": _limit(high)} for low, high in accepted.spans],
        "values": list(accepted.values),
        "provisional": accepted.provisional,
    }


def _limit(limit: Limit | None) -> dict[str, Any] | None:
    if limit is None:
        return None
    return {
        "value": limit.value.low,
        "words": limit.words,
        "included": limit.included,
        "parameter": limit.parameter or None,
    }


def _reason(reason: Reason) -> dict[str, Any]:
    return {
        "id": reason.id,
        "citation": citation_data(reason.citation),
        "asks": reason.asks,
        "says": reason.says,
        "verdict": reason.verdict,
        "accepts": reason.accepted or None,
        "only_if": list(reason.only_if),
        "practice": reason.practice,
        "rests_on_memory": reason.memory,
    }


def _line(line: SequenceLine) -> dict[str, Any]:
    return {
        "phase": line.phase,
        "when": line.when,
        "places": list(line.places),
        "says": line.says,
        "verdict": line.verdict,
        "reasons": [_reason(reason) for reason in line.reasons],
    }


def _row(row: Row) -> dict[str, Any]:
    return {
        "of": row.path,
        "kind": row.kind,
        "what": row.what,
        "about": row.about or None,
        "place": row.place or None,
        "settings": [_setting(setting) for setting in row.settings],
    }


def _setting(setting: Setting) -> dict[str, Any]:
    return {
        "of": setting.path,
        "fact": setting.fact,
        "words": setting.words,
        "described": setting.described or None,
        "accepted": setting.accepted or None,
        "verdict": setting.verdict,
    }


def _confirm(confirm: Confirm) -> dict[str, Any]:
    return {
        "place": confirm.place,
        "asks": confirm.asks,
        "says": confirm.says,
        "described": list(confirm.described),
        "verdict": confirm.verdict,
        "reason": _reason(confirm.reason),
    }


def measured_data(found: Measurements, rulebook: Rulebook) -> dict[str, Any]:
    """What was measured at an opening, with its verdicts, as JSON data."""
    return {
        "schema": MEASURED_SCHEMA,
        "caution": CAUTION,
        "codes": [str(code) for code in rulebook.adopted],
        "layers": list(rulebook.layers),
        "digest": rulebook.digest,
        "opening": found.opening,
        "before": found.before,
        "after": found.after,
        "readings": [_reading(reading) for reading in found.readings],
        "not_measured": [step.id for step in found.not_measured],
    }


def _reading(reading: Reading) -> dict[str, Any]:
    return {
        "step": reading.step.id,
        "value": reading.value,
        "by": reading.by or None,
        "note": reading.note or None,
        "accepted": reading.step.accepted.words,
        "verdict": reading.verdict,
        "says": list(reading.says),
    }
