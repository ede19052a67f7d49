"""On what an amended part rests afterwards, and where a change with a scope applies.

What an amendment sets is known as the amendment is known, not as the part of the base was. A change that nobody has
read may not take a duty away: a removal leaves nothing behind that could carry the warning.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from clauseway.model.provision import ARRANGEMENT, MEMORY
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node

_CONDITIONS = ("conditions", "permitted", "lines", "all_of", "exceptions", "any_of")
_DUTIES = ("conditions", "permitted", "lines", "all_of", "assumes")
_CITED = (*_CONDITIONS, "parameters")
"""Maps whose members say for themselves how they are known."""


def takes_away_a_duty(verb: str, steps: Sequence[str], kind: str) -> bool:
    """Whether a change to a provision of a kind takes away what was asked: a condition, a line, a whole requirement."""
    if len(steps) == 1:
        return verb == "remove" and kind != ARRANGEMENT
    return verb == "remove" and len(steps) > 2 and steps[-2] in _DUTIES


def owner_of(steps: Sequence[str]) -> int:
    """How many steps lead from the provision to the innermost part that says for itself how it is known."""
    deepest = 0
    for at, step in enumerate(steps[:-1]):
        if step in _CITED:
            deepest = at + 2
    return deepest


def resting(provision: Node, verb: str, steps: Sequence[str], operand: Node, basis: Node | None, change: Node) -> Node:
    """The provision where what a change made rests on what the change rests on.

    Args:
        provision: As the verb left it.
        verb: What was done.
        steps: The path inside the provision.
        operand: What the verb says.
        basis: How the change is known; nothing is memory.
        change: The change, for its place.
    """
    said = basis if basis is not None else Node(MEMORY, change.place)
    if verb == "add" or (verb == "replace" and steps and steps[-1] in _CITED):
        if steps and steps[-1] in _CITED:
            for name, _ in operand.items():
                provision = _on(provision, (*steps, name), said, only_missing=True)
            return provision
        for holder, inner in operand.items():
            for name, _ in inner.items() if holder in _CITED else ():
                provision = _on(provision, (*steps, holder, name), said, only_missing=True)
    if verb in ("remove", "renumber"):
        return provision
    depth = owner_of(steps)
    if depth:
        return _on(provision, steps[:depth], said, only_missing=verb == "replace" and depth == len(steps))
    if said.text == MEMORY and steps:
        return _on(provision, (), said)
    return provision


def _on(node: Node, steps: Sequence[str], basis: Node, *, only_missing: bool = False) -> Node:
    entries = dict(node.items())
    if steps:
        inner = entries.get(steps[0])
        if inner is None:
            return node
        entries[steps[0]] = _on(inner, steps[1:], basis, only_missing=only_missing)
    elif node.is_map and not (only_missing and "basis" in entries):
        entries["basis"] = basis
    else:
        return node
    return replace(node, value=entries)


def within_scope(verb: str, steps: Sequence[str], target: Node, operand: Node, scope: Node) -> Node:
    """What a change makes of conditions where it applies only in part: added there, or waived there.

    Raises:
        ClausewayError: for anything but conditions added or removed.
    """
    if verb == "add" and steps[-1] in _CONDITIONS and operand.is_map:
        entries = dict(target.items())
        for name, inner in operand.items():
            if name in entries:
                found = f"{'/'.join(steps)} has {name} already ({entries[name].place})"
                raise ClausewayError(Problem((inner.key_place or inner.place), found, "a new name"))
            entries[name] = _where(inner, scope, "{}")
        return replace(target, value=entries)
    if verb == "remove" and len(steps) > 2 and steps[-2] in _CONDITIONS:
        return _where(target, scope, "not ({})")
    raise ClausewayError(
        Problem(scope.place, f"scope beside {verb} at {'/'.join(steps)}", "add or remove of conditions")
    )


def _where(node: Node, scope: Node, form: str) -> Node:
    own = node.get("where")
    said = form.format(scope.text or "")
    both = f"({said}) and ({own.text})" if own is not None else said
    return replace(node, value={**dict(node.items()), "where": Node(both, scope.place, None, True)})
