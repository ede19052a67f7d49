"""What a designer is told, as plain data: stable order, the same bytes for the same input."""

from __future__ import annotations

from typing import Any

from clauseway.answers.report import citation_data, headed
from clauseway.answers.wording import place_in_words
from clauseway.design.needs import Need, Needs, Option
from clauseway.design.repair import Repair, typed
from clauseway.design.variant import AddThing, Change, SetFact
from clauseway.law.rulebook import Rulebook

NEEDS_SCHEMA = "clauseway-needs/1"
REPAIR_SCHEMA = "clauseway-repair/1"


def needs_data(found: Needs, rulebook: Rulebook) -> dict[str, Any]:
    """The options of an opening as JSON data."""
    return {
        **headed(NEEDS_SCHEMA, rulebook, found.opening),
        "options": [_option(option) for option in found.options],
    }


def _option(option: Option) -> dict[str, Any]:
    return {
        "arrangement": option.id,
        "title": option.title,
        "lock": option.subject.path,
        "passage": option.subject.passage,
        "standing": option.standing,
        "citation": citation_data(option.citation),
        "adds": [{"path": added.path, "kind": added.kind, "side": added.side or None} for added in option.added],
        "needs": [_need(need) for need in option.needs],
    }


def _need(need: Need) -> dict[str, Any]:
    return {
        "id": need.id,
        "standing": need.standing,
        "asks": need.asks,
        "says": need.says or None,
        "remedy": need.remedy or None,
        "citation": citation_data(need.citation),
        "rests_on_memory": need.memory,
        "build_to": [
            {
                "of": value.path,
                "fact": f"{value.kind}.{value.fact}",
                "value": value.words,
                "effort": value.effort,
            }
            for value in need.build_to
        ],
        "missing": [{"fact": asked.fact, "of": asked.missing.path, "ask": asked.ask} for asked in need.missing],
    }


def repair_data(found: Repair, rulebook: Rulebook) -> dict[str, Any]:
    """The least changes of an opening as JSON data."""
    return {
        **headed(REPAIR_SCHEMA, rulebook, found.opening),
        "proven": found.proven,
        "all_shown": found.whole,
        "looked_at": found.looked_at,
        "at_least": found.at_least,
        "designs": [
            {
                "effort": design.cost,
                "changes": [change_data(change, rulebook) for change in design.changes],
            }
            for design in found.designs
        ],
        "blocked_by": [
            {
                "id": block.id,
                "says": block.says,
                "verdict": block.finding.verdict,
                "citations": [citation_data(citation) for citation in block.finding.citations],
                "missing": [asked.ask for asked in block.finding.missing],
            }
            for block in found.blocks
        ],
    }


def change_data(change: Change, rulebook: Rulebook) -> dict[str, Any]:
    """One change as JSON data."""
    if isinstance(change, AddThing):
        return {"add": change.kind, "path": change.path, "side": change.side or None, "effort": change.cost}
    return {
        "set": f"{change.kind}.{change.fact}",
        "of": change.path,
        "to": typed(rulebook, change),
        "effort": change.cost,
    }


def change_in_words(change: Change, rulebook: Rulebook, was: str = "") -> str:
    """One change as people say it; `was` is what was typed before."""
    if isinstance(change, SetFact):
        name = change.fact.replace("_", " ")
        before = f" (now {was})" if was else ""
        return f"{place_in_words(change.path)}: {name}: {typed(rulebook, change)}{before}"
    side = f" on the side {change.side.rpartition('/')[2]}" if change.side else ""
    return f"add a {rulebook.vocabulary.kinds[change.kind].title}{side}: {change.path.rpartition('/')[2]}"
