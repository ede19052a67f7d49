"""The least effort that a truth can still cost: never more than it does cost, so that a search may rely on it."""

from __future__ import annotations

import math
from collections.abc import Iterable

from clauseway.design.effort import weight
from clauseway.design.goals import Least
from clauseway.design.variant import AddThing, Key
from clauseway.design.ways import Ways
from clauseway.language import core
from clauseway.readers.decide import Env

NOTHING = Least(0, frozenset())
NEVER = Least(math.inf, frozenset())


def both(bounds: Iterable[Least]) -> Least:
    """What several things cost together: those that share no change add up."""
    taken: frozenset[Key] = frozenset()
    everything: frozenset[Key] = frozenset()
    total = 0.0
    for bound in sorted(bounds, key=lambda b: (-b.effort, sorted(b.keys))):
        everything |= bound.keys
        if not bound.keys & taken:
            total += bound.effort
            taken |= bound.keys
    return Least(total, everything)


def either(bounds: Iterable[Least]) -> Least:
    """What the cheapest of several ways costs."""
    found = list(bounds)
    if not found:
        return NEVER
    return Least(min(bound.effort for bound in found), frozenset().union(*(bound.keys for bound in found)))


def least_effort(ways: Ways, node: core.Node, env: Env, want: bool = True) -> Least:
    """The least effort after which `node` may have the wanted truth."""
    if ways.truth(node, env) is want:
        return NOTHING
    if ways.limits.never(node, env, want):
        return NEVER
    if isinstance(node, core.Labelled | core.Named | core.Unverified):
        return least_effort(ways, node.body, env, want)
    if isinstance(node, core.Not):
        return least_effort(ways, node.body, env, not want)
    if isinstance(node, core.And | core.Or):
        parts = [least_effort(ways, part, env, want) for part in node.parts]
        return both(parts) if isinstance(node, core.And) is want else either(parts)
    if isinstance(node, core.When):
        return _unless(ways, node.where, node.body, env, want)
    if isinstance(node, core.Assuming):
        return both([least_effort(ways, node.assumption, env), least_effort(ways, node.body, env, want)])
    if isinstance(node, core.Holds):
        return least_effort(ways, ways.decider.rulebook.holds[node.arrangement], env, want)
    if isinstance(node, core.Quantified) and node.quantifier in ("any", "all", "each"):
        return _of_members(ways, node, env, want)
    return _of_values(ways, node, env)


def _unless(ways: Ways, where: core.Node, body: core.Node, env: Env, want: bool) -> Least:
    parts = [least_effort(ways, where, env, not want), least_effort(ways, body, env, want)]
    return either(parts) if want else both(parts)


def _of_members(ways: Ways, node: core.Quantified, env: Env, want: bool) -> Least:
    """One member, one to be added included, is enough for `any` to hold or `all` to fail; else all are needed."""
    any_of = node.quantifier == "any"
    bounds: list[Least] = []
    for member in ways.decider.collection(node.members, env).members:
        if member.belongs is not True:
            continue
        inner = {**env, node.variable: member.thing}
        if any_of:
            parts = [least_effort(ways, part, inner, want) for part in (node.where, node.body)]
            bounds.append(both(parts) if want else either(parts))
        else:
            bounds.append(_unless(ways, node.where, node.body, inner, want))
    if any_of is not want:
        return both(bounds)
    added = ways.addition(node, env) if any_of else None
    if added is not None:
        bounds.append(Least(added.cost, frozenset((_key(added),))))
    return either(bounds)


def _key(added: AddThing) -> Key:
    return (added.path.rpartition("/")[0], added.side)


def _of_values(ways: Ways, node: core.Node, env: Env) -> Least:
    """The cheapest fact of a comparison that a designer may still set."""
    bounds = []
    for (path, name), (thing, _, _) in ways.facts_in(node, env).items():
        fact = ways.vocabulary.kinds[thing.kind].facts[name]
        if ways.may_set(path, name, fact):
            effort = 0 if ways.is_added(path) else weight(fact.effort)
            bounds.append(Least(effort, frozenset(((path, name),))))
    return either(bounds)
