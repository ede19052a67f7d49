"""Linking provisions: excuses reach their conditions, permissions from memory are guarded, cycles are refused."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from clauseway.language import core
from clauseway.law.graph import cycle_in
from clauseway.model.provision import ARRANGEMENT, MEMORY, Condition, Derivation, Parameter, Provision
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem


def link(
    provisions: Iterable[Provision], parameters: Mapping[str, Parameter], derivations: Iterable[Derivation]
) -> tuple[dict[str, Provision], dict[str, core.Node]]:
    """Provisions by name with their excuses in place, and the truth of each arrangement.

    Raises:
        ClausewayError: for an excuse of something that is not there, or a cycle, which is printed.
    """
    named = {provision.name: provision for provision in provisions}
    problems: list[Problem] = []
    excused: dict[tuple[str, str], list[str]] = {}
    for provision in named.values():
        for target in provision.excuses:
            owner_id, _, label = target.partition("/")
            owner = named.get(f"{provision.code}.{owner_id}")
            labels = [condition.label for condition in owner.conditions] if owner else []
            if owner is None or label not in labels:
                known = sorted(
                    f"{p.id}/{c.label}" for p in named.values() if p.code == provision.code for c in p.conditions
                )
                problems.append(
                    Problem(
                        provision.place,
                        f"{provision.id} excuses {target}, which is not there",
                        one_of(known),
                        nearest(target, known) or "",
                    )
                )
            elif owner.subject != provision.subject:
                problems.append(
                    Problem(
                        provision.place,
                        f"{provision.id} is about a {provision.subject} and excuses {target}, "
                        f"which is about a {owner.subject}",
                        "the same subject",
                    )
                )
            else:
                excused.setdefault((owner.name, label), []).append(provision.name)
    problems += _opposed_to_nothing(named)
    if problems:
        raise ClausewayError(problems)
    guarded = {name: _guarded(provision, parameters) for name, provision in named.items()}
    holds = {name: holding(p, parameters) for name, p in guarded.items() if p.kind == ARRANGEMENT}
    linked = {
        name: replace(
            provision,
            conditions=tuple(
                asking(condition, condition.own, sorted(excused.get((name, condition.label), ())))
                for condition in provision.conditions
            ),
        )
        for name, provision in guarded.items()
    }
    _refuse_cycles(linked, holds, list(derivations))
    return linked, holds


def _opposed_to_nothing(named: Mapping[str, Provision]) -> Iterable[Problem]:
    """Conditions said to oppose one that its code, where it is checked beside, does not have."""
    codes = {provision.code for provision in named.values()}
    labels = {f"{p.name}/{c.label}" for p in named.values() for c in p.permitted + p.conditions}
    for provision in named.values():
        for condition in provision.permitted + provision.conditions:
            for other, _ in condition.opposes:
                if other not in labels and other.partition(".")[0] in codes and other.partition("/")[0] in named:
                    found = f"{provision.id}/{condition.label} opposes {other}, which is not there"
                    yield Problem(condition.line.place, found, one_of(sorted(labels)), nearest(other, labels) or "")


def holding(provision: Provision, parameters: Mapping[str, Parameter]) -> core.Node:
    """When an arrangement counts: recognised, in scope, permitted and wholly met, where our reading of it fits."""
    asked = [_whole(provision, condition, parameters) for condition in provision.permitted + provision.conditions]
    node = core.conjunction([provision.recognised, provision.applies, *asked])
    for assumption in reversed(provision.assumptions):
        node = core.Assuming(assumption.node, node)
    return node


def asking(condition: Condition, own: core.Node, arrangements: Sequence[str]) -> Condition:
    """The condition where it asks `own`, and is excused by arrangements that hold."""
    truth = core.disjunction([own, *(core.Holds(name) for name in arrangements)])
    return replace(condition, own=own, truth=truth, excused_by=tuple(arrangements))


def _whole(provision: Provision, condition: Condition, parameters: Mapping[str, Parameter]) -> core.Node:
    """A condition as the arrangement needs it: undetermined when it rests on memory."""
    known = condition.line.citation.basis.kind != MEMORY and not _rests_on_memory(condition.own, parameters)
    return condition.own if known else core.Unverified(f"{provision.name}/{condition.label}", condition.own)


def _guarded(provision: Provision, parameters: Mapping[str, Parameter]) -> Provision:
    """The provision with each permission inside its conditions guarded when that permission rests on memory."""

    def guard(condition: Condition) -> Condition:
        def change(node: core.Node) -> core.Node:
            inner = core.rebuilt(node, change)
            if not isinstance(inner, core.Labelled):
                return inner
            permits = inner.role == "exception" or (provision.kind == ARRANGEMENT and inner.role == "alternative")
            line = condition.lines[inner.label]
            own = line.citation.basis
            from_memory = (own.kind == MEMORY and own != condition.line.citation.basis) or _rests_on_memory(
                inner.body, parameters
            )
            if permits and from_memory:
                return replace(inner, body=core.Unverified(f"{provision.name}/{inner.label}", inner.body))
            return inner

        own = change(condition.own)
        return replace(condition, own=own, truth=own)

    return replace(
        provision,
        permitted=tuple(guard(condition) for condition in provision.permitted),
        conditions=tuple(guard(condition) for condition in provision.conditions),
    )


def _rests_on_memory(node: core.Node, parameters: Mapping[str, Parameter]) -> bool:
    """Whether a parameter from memory stands in `node`, outside of the permissions it may hold."""
    if isinstance(node, core.Parameter):
        return parameters[node.key].citation.basis.kind == MEMORY
    if isinstance(node, core.Labelled) and node.role in ("alternative", "exception"):
        return False
    return any(_rests_on_memory(child, parameters) for child in core.children(node))


def _refuse_cycles(
    provisions: Mapping[str, Provision], holds: Mapping[str, core.Node], derivations: list[Derivation]
) -> None:
    derived = {derivation.name: derivation for derivation in derivations}
    edges: list[tuple[str, str]] = []

    def reach(source: str, node: core.Node) -> None:
        for part in core.walk(node):
            if isinstance(part, core.Holds):
                edges.append((source, part.arrangement))
            elif isinstance(part, core.Get) and part.derived:
                edges.append((source, part.derived))

    for name, node in holds.items():
        reach(name, node)
    for derivation in derivations:
        reach(derivation.name, derivation.node)
    found = cycle_in(edges)
    if found:
        first = found[0]
        place = derived[first].place if first in derived else provisions[first].place
        steps = " -> ".join(derived[name].fact if name in derived else name for name in found)
        raise ClausewayError(Problem(place, f"a cycle: {steps}", "provisions that do not need themselves"))
