"""The other way: from a clause, value, amendment or fact to the provisions and findings that rest on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from clauseway.answers import finding as F
from clauseway.answers.explain import every_id
from clauseway.law.reach import reach
from clauseway.law.rulebook import Rulebook
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Problem

SCHEMA = "clauseway-affects/1"


@dataclass(frozen=True, slots=True)
class Affected:
    """All that rests on something: facts computed from it, provisions, conditions, and findings of a project."""

    id: str
    kind: str
    derived: tuple[str, ...]
    provisions: tuple[str, ...]
    conditions: tuple[str, ...]
    findings: tuple[tuple[str, F.Finding], ...]


def affected(rulebook: Rulebook, identity: str, report: F.Report | None = None) -> Affected:
    """What rests on a clause (`IBC 2021 1010.2.12`, or its number), a value, layer, fact, provision or computation.

    Raises:
        ClausewayError: for an id that means nothing here, with the nearest.
    """
    graph = reach(rulebook)
    computing = {name for name, data in graph.nodes(data=True) if data.get("kind") == "computation"}
    kind, seeds = _seeds(rulebook, rulebook.current(identity.strip()), set(graph.nodes), computing)
    touched: set[str] = set()
    waiting = sorted(seeds)
    while waiting:
        name = waiting.pop()
        if name in touched:
            continue
        touched.add(name)
        for after in graph.successors(name) if name in graph else ():
            waiting.append(after)
            provision = rulebook.provisions.get(after)
            if provision is not None and not name.startswith(f"{after}/"):
                own = provision.permitted + provision.conditions
                waiting += [f"{after}/{condition.label}" for condition in own]
    conditions = [
        f"{provision.name}/{condition.label}"
        for provision in rulebook.provisions.values()
        for condition in provision.permitted + provision.conditions
        if f"{provision.name}/{condition.label}" in touched
    ]
    found = [
        (answer.id, finding)
        for answer in (report.answers if report is not None else ())
        for finding in answer.findings
        if finding.id in touched and finding.verdict != F.NOT_APPLICABLE
    ]
    derived = sorted({d.fact for d in rulebook.derivations.values() if d.name in touched and d.fact not in seeds})
    provisions = sorted(name for name in rulebook.provisions if name in touched)
    return Affected(identity, kind, tuple(derived), tuple(provisions), tuple(conditions), tuple(found))


def _seeds(rulebook: Rulebook, identity: str, nodes: set[str], computing: set[str]) -> tuple[str, set[str]]:
    """What an id is, and the nodes of the graph that it stands for."""
    by_layer = set(_of_layer(rulebook, identity))
    if by_layer or identity in rulebook.layers:
        return "amendment", by_layer
    words = identity.replace("@", " ").replace("§", " ").split()
    if words and words[-1][:1].isdigit():
        cited = set(_of_section(rulebook, words[-1], [word.casefold() for word in words[:-1]]))
        if cited:
            return "clause", cited
    for name in (identity, *(f"{code.code}.{identity}" for code in rulebook.codes)):
        provision = rulebook.provisions.get(name)
        if provision is not None:
            return provision.kind, {name, *(f"{name}/{c.label}" for c in provision.permitted + provision.conditions)}
        if name in nodes or name in rulebook.parameters:
            kind = "condition" if "/" in name else "fact or table"
            kind = "parameter" if name in rulebook.parameters else kind
            kind = "derivation" if name in rulebook.derivations else kind
            kind = "computation" if name in computing else kind
            return kind, {name}
    if rulebook.vocabulary.fact(identity) is not None:
        return "fact", {identity}
    known = sorted({*every_id(rulebook), *rulebook.layers})
    raise ClausewayError(
        Problem(
            NOWHERE,
            f"nothing is called {identity}",
            "a clause, provision, condition, parameter, fact or layer"
            + (f"; layers: {one_of(rulebook.layers)}" if rulebook.layers else ""),
            nearest(identity, known) or "",
        )
    )


def _of_section(rulebook: Rulebook, section: str, before: list[str]) -> Iterator[str]:
    for provision in rulebook.provisions.values():
        if before and provision.code not in before:
            continue
        whole = provision.citation.section == section
        if whole:
            yield provision.name
        for condition in provision.permitted + provision.conditions:
            if whole or condition.line.citation.section == section:
                yield f"{provision.name}/{condition.label}"
    for key, parameter in rulebook.parameters.items():
        citation = parameter.citation
        if citation.section == section and (not before or citation.code in before):
            yield key
    for derivation in rulebook.derivations.values():
        if derivation.citation.section == section and (not before or derivation.code in before):
            yield derivation.name


def _of_layer(rulebook: Rulebook, layer: str) -> Iterator[str]:
    for provision in rulebook.provisions.values():
        own = provision.permitted + provision.conditions
        if any(change.layer == layer for change in provision.history):
            yield provision.name
            yield from (f"{provision.name}/{condition.label}" for condition in own)
        for condition in own:
            lines = (condition.line, *condition.lines.values())
            if any(change.layer == layer for line in lines for change in line.history):
                yield f"{provision.name}/{condition.label}"
    for key, parameter in rulebook.parameters.items():
        if any(change.layer == layer for change in parameter.history):
            yield key
    for name, derivation in rulebook.derivations.items():
        if any(change.layer == layer for change in derivation.history):
            yield name
    for name, table in rulebook.tables.items():
        if any(change.layer == layer for changes in table.history.values() for change in changes):
            yield name


def affected_data(found: Affected, rulebook: Rulebook) -> dict[str, Any]:
    """All that rests on something, as JSON data."""
    return {
        "schema": SCHEMA,
        "codes": [str(code) for code in rulebook.adopted],
        "digest": rulebook.digest,
        "id": found.id,
        "kind": found.kind,
        "derived": list(found.derived),
        "provisions": list(found.provisions),
        "conditions": list(found.conditions),
        "findings": [
            {
                "opening": opening,
                "finding": finding.id,
                "subject": finding.subject.path,
                "passage": finding.subject.passage,
                "mode": finding.mode or None,
                "verdict": finding.verdict,
            }
            for opening, finding in found.findings
        ],
    }
