"""Which columns a term reads. What there is, and what leads where, is the same for all rows, so this is exact."""

from __future__ import annotations

from collections.abc import Collection

from clauseway.case.things import Thing
from clauseway.language import core
from clauseway.readers.decide import Decider, Env

Key = tuple[str, str]
"""A fact of a thing: its path and the name of the fact."""

NONE: frozenset[Key] = frozenset()


class Dependence:
    """What terms read of `columns`, for a reader of the opening that all rows are like."""

    def __init__(self, decider: Decider, columns: Collection[Key]) -> None:
        self.decider = decider
        self.columns = columns
        self._known: dict[tuple[object, ...], tuple[core.Node, frozenset[Key]]] = {}

    def of(self, node: core.Node, env: Env) -> frozenset[Key]:
        """The columns that the value of a term may depend on."""
        key = (id(node), *env, *(thing.key for thing in env.values()))
        if key not in self._known:
            self._known[key] = (node, self._of(node, env))
        return self._known[key][1]

    def derived(self, thing: Thing, derivation: str) -> frozenset[Key]:
        """The columns that a derivation reads for a thing."""
        return self.of(self.decider.rulebook.derivations[derivation].node, self.decider.around(thing))

    def _of(self, node: core.Node, env: Env) -> frozenset[Key]:
        if isinstance(node, core.Get):
            return self._fact(node, self.decider.thing(node.source, env))
        if isinstance(node, core.Holds):
            return self.of(self.decider.rulebook.holds[node.arrangement], env)
        if isinstance(node, core.Quantified | core.Listing):
            found = NONE
            for member in self.decider.collection(node.members, env).all:
                inner = {**env, node.variable: member.thing}
                found |= self.of(node.where, inner) | self.of(node.body, inner)
            return found
        return NONE.union(*(self.of(child, env) for child in core.children(node)))

    def _fact(self, node: core.Get, thing: Thing) -> frozenset[Key]:
        key = (thing.path, node.fact.partition(".")[2])
        if thing.unseen is not None or thing.absent:
            return NONE
        own = frozenset((key,)) if key in self.columns else NONE
        if not own and self.decider.project.given(*key, self.decider.mode) is not None:
            return NONE
        return own | self.derived(thing, node.derived) if node.derived else own
