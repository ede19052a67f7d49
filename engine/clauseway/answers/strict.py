"""What a finding rests on that nobody has verified, and a check that decides nothing on such ground."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from clauseway.answers import finding as F
from clauseway.answers.wording import joined
from clauseway.case.things import Missing
from clauseway.language import core
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import MEMORY, Condition, Provision


def from_memory(
    rulebook: Rulebook, provision: Provision, condition: Condition, facts: Mapping[str, F.UsedFact]
) -> tuple[str, ...]:
    """The clauses, values, tables and derivations behind a condition that are known from memory only, sorted.

    `facts` are those that its decision read; a derivation counts only where its result was used.
    """
    derived = {key.rpartition(": ")[2] for key, fact in facts.items() if fact.known_by == "derived"}
    found = set(_unverified(rulebook, [condition.own, provision.applies], derived))
    if condition.line.citation.basis.kind == MEMORY:
        found.add(f"{provision.name}/{condition.label}")
    return tuple(sorted(found))


def _unverified(rulebook: Rulebook, nodes: list[core.Node], derived: set[str]) -> Iterator[str]:
    waiting, seen = nodes, set[str]()
    while waiting:
        for node in core.walk(waiting.pop()):
            if isinstance(node, core.Parameter):
                if rulebook.parameters[node.key].citation.basis.kind == MEMORY:
                    yield node.key
            elif isinstance(node, core.Lookup):
                if rulebook.tables[node.table].citation.basis.kind == MEMORY:
                    yield node.table
            elif isinstance(node, core.Unverified):
                yield node.label
            elif isinstance(node, core.Get) and node.derived and node.fact in derived and node.derived not in seen:
                seen.add(node.derived)
                derivation = rulebook.derivations[node.derived]
                if derivation.citation.basis.kind == MEMORY:
                    yield derivation.name
                waiting.append(derivation.node)


def undecided_from_memory(finding: F.Finding) -> F.Finding:
    """The finding as it is where nothing unverified may decide."""
    if not finding.memory or finding.verdict == F.UNDETERMINED:
        return finding
    names = list(finding.memory)
    shown = names[:3] + ([f"{len(names) - 3} more"] if len(names) > 3 else [])
    return replace(
        finding,
        verdict=F.UNDETERMINED,
        says=f"Not decided, because it rests on what nobody has verified: {joined(shown)}.",
        remedy="",
        missing=tuple(
            F.Asked(
                Missing("", "clause", name),
                f"clause text of {name}",
                f"{name} is known from memory only: has somebody read it in the adopted code?",
            )
            for name in names
        ),
    )
