"""What a finding rests on that nobody has verified, and a check that decides nothing on such ground."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

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
    grounds = rulebook.noted(
        ("grounds", provision.name, id(condition)), lambda: _grounds(rulebook, [condition.own, provision.applies])
    )
    found = set(grounds.unverified)
    if grounds.derived:
        derived = {key.rpartition(": ")[2] for key, fact in facts.items() if fact.known_by == "derived"}
        waiting, seen = [grounds], set[str]()
        while waiting:
            for fact, name in waiting.pop().derived:
                if fact in derived and name not in seen:
                    seen.add(name)
                    further = _behind(rulebook, name)
                    found |= further.unverified
                    waiting.append(further)
    if condition.line.citation.basis.kind == MEMORY:
        found.add(f"{provision.name}/{condition.label}")
    return tuple(sorted(found))


@dataclass(frozen=True, slots=True)
class _Grounds:
    """What stands in some terms: what nobody has verified, and the facts with the derivations that may give them."""

    unverified: frozenset[str]
    derived: tuple[tuple[str, str], ...]


def _behind(rulebook: Rulebook, name: str) -> _Grounds:
    """The grounds of a derivation, itself among them."""

    def make() -> _Grounds:
        derivation = rulebook.derivations[name]
        own = _grounds(rulebook, [derivation.node])
        itself = {derivation.name} if derivation.citation.basis.kind == MEMORY else set[str]()
        return replace(own, unverified=own.unverified | itself)

    return rulebook.noted(("grounds", name), make)


_GROUNDS = frozenset((core.Parameter, core.Lookup, core.Unverified, core.Get))


def _grounds(rulebook: Rulebook, nodes: list[core.Node]) -> _Grounds:
    unverified: set[str] = set()
    derived: dict[tuple[str, str], None] = {}
    for node in (inner for outer in nodes for inner in core.walk(outer)):
        if type(node) not in _GROUNDS:
            continue
        if isinstance(node, core.Parameter):
            if rulebook.parameters[node.key].citation.basis.kind == MEMORY:
                unverified.add(node.key)
        elif isinstance(node, core.Lookup):
            if rulebook.tables[node.table].citation.basis.kind == MEMORY:
                unverified.add(node.table)
        elif isinstance(node, core.Unverified):
            unverified.add(node.label)
        elif isinstance(node, core.Get) and node.derived:
            derived[node.fact, node.derived] = None
    return _Grounds(frozenset(unverified), tuple(derived))


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
