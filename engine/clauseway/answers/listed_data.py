"""What there is to look up, as plain data: the codes, the facts of the vocabulary, and what an id means."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from clauseway.answers.explain import Explanation
from clauseway.law.library import Library
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import Fact, Vocabulary

CODES_SCHEMA = "clauseway-code-list/1"
FACTS_SCHEMA = "clauseway-facts/1"
EXPLANATION_SCHEMA = "clauseway-explanation/1"
RULEBOOK_SCHEMA = "clauseway-rulebook-summary/1"


def code_list_data(library: Library) -> dict[str, Any]:
    """Every code with its editions, oldest first, and its layers of amendments; every jurisdiction; as JSON data."""
    layers: dict[str, set[str]] = {}
    for node in library.layers:
        named, code = node.get("layer"), node.get("code")
        if named is not None and code is not None:
            layers.setdefault(code.text or "", set()).add(named.text or "")
    return {
        "schema": CODES_SCHEMA,
        "codes": [
            {
                "id": code.id,
                "title": code.title,
                "publisher": code.publisher,
                "force": code.force,
                "about": code.about,
                "editions": list(code.editions),
                "always": code.always,
                "layers": sorted(layers.get(code.id, ())),
            }
            for _, code in sorted(library.codes.items())
        ],
        "jurisdictions": [{"id": each.id, "name": each.name} for _, each in sorted(library.jurisdictions.items())],
    }


def rulebook_data(rulebook: Rulebook) -> dict[str, Any]:
    """What a rulebook is made of, and the digest that identifies it, as JSON data."""
    return {
        "schema": RULEBOOK_SCHEMA,
        "digest": rulebook.digest,
        "codes": [str(code) for code in rulebook.adopted],
        "layers": list(rulebook.layers),
        "requirements": len(rulebook.requirements),
        "arrangements": sorted(provision.name for provision in rulebook.arrangements),
        "conditions": sum(len(p.permitted) + len(p.conditions) for p in rulebook.provisions.values()),
        "parameters": len(rulebook.parameters),
    }


def facts_found(vocabulary: Vocabulary, search: str = "", chosen_by: str = "") -> list[tuple[str, Fact]]:
    """The facts that have `search` in their name or meaning, by name; `chosen_by` may be given or designer.

    Raises:
        ValueError: for another `chosen_by`.
    """
    if chosen_by not in ("", "given", "designer"):
        raise ValueError(f"chosen by {chosen_by}")
    wanted = search.casefold()
    facts = ((name, vocabulary.fact(name)) for name in vocabulary.fact_names)
    return [
        (name, fact)
        for name, fact in facts
        if fact is not None
        and chosen_by in ("", fact.chosen_by)
        and wanted in f"{name} {fact.about}".casefold()
    ]  # fmt: skip


def facts_data(found: Sequence[tuple[str, Fact]], rulebook: Rulebook) -> dict[str, Any]:
    """Facts with what they may be, as JSON data; numbers are in the canonical unit that stands beside them."""
    return {
        "schema": FACTS_SCHEMA,
        "codes": [str(code) for code in rulebook.adopted],
        "digest": rulebook.digest,
        "facts": [_fact(name, fact, rulebook.vocabulary) for name, fact in found],
    }


def _fact(name: str, fact: Fact, vocabulary: Vocabulary) -> dict[str, Any]:
    listed = vocabulary.lists[fact.values].values if fact.values else {}
    return {
        "fact": name,
        "sort": fact.sort,
        "about": fact.about,
        "ask": fact.ask,
        "unit": fact.unit or None,
        "least": fact.low if math.isfinite(fact.low) else None,
        "most": fact.high if math.isfinite(fact.high) else None,
        "values": [{"value": value, "about": about.about} for value, about in listed.items()],
        "chosen_by": fact.chosen_by,
        "effort": fact.effort or None,
        "at": str(fact.place),
    }


def explanation_data(explanation: Explanation, rulebook: Rulebook) -> dict[str, Any]:
    """An explanation, its sections in their order, as JSON data."""
    return {
        "schema": EXPLANATION_SCHEMA,
        "codes": [str(code) for code in rulebook.adopted],
        "layers": list(rulebook.layers),
        "digest": rulebook.digest,
        "id": explanation.id,
        "kind": explanation.kind,
        "title": explanation.title,
        "sections": [{"heading": each.heading, "lines": list(each.lines)} for each in explanation.sections],
    }
