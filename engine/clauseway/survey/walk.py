"""From terms of the core form to whatever joins truths: one walk for planes of many rows and for the code of one.

Nothing here says what a term means. What is the same in every row is asked of the one-opening checker once; a term
that joins truths becomes what a logic has for it; any other term is a leaf, which that logic's own walk makes.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from typing import Generic, Protocol, TypeVar

from clauseway.case.things import Missing
from clauseway.language import core
from clauseway.language.possible import Truth
from clauseway.model.provision import Condition, Provision
from clauseway.readers.collection import NO_GAPS, Collection, Gaps
from clauseway.readers.decide import Decider, Env
from clauseway.survey.dependence import Dependence, Key

T = TypeVar("T")


class Logic(Protocol[T]):
    """Kleene's logic over truths of some kind; what is undetermined may carry what is missing for it."""

    def certain(self, truth: Truth, gaps: Gaps) -> T:
        """A truth that is the same in every row."""

    def every(self, truths: Iterable[T]) -> T:
        """Conjunction."""

    def some(self, truths: Iterable[T]) -> T:
        """Disjunction."""

    def inverse(self, truth: T) -> T:
        """Negation."""

    def surely(self, truth: T) -> T:
        """Whether it is true: false where it is undetermined."""

    def if_any(self, found: T, any_passes: T, gap: Missing) -> T:
        """What was found of all members, but undetermined where it is true and not sure that there is any."""

    def under(self, assumption: T, body: T) -> T:
        """The body where the assumption is true, else undetermined."""

    def unverified(self, body: T, clause: Missing) -> T:
        """The body, but undetermined where it is true."""


class Walk(ABC, Generic[T]):
    """Takes terms to truths of a logic, for one reader and the columns that differ from row to row."""

    def __init__(self, decider: Decider, columns: Iterable[Key], logic: Logic[T]) -> None:
        self.decider = decider
        self.logic = logic
        self.dependence = Dependence(decider, frozenset(columns))
        self._known: dict[tuple[object, ...], tuple[core.Node, T]] = {}

    @abstractmethod
    def leaf(self, node: core.Node, env: Env, read: frozenset[Key]) -> T:
        """A term that is no junction of truths and reads these columns."""

    def truth(self, node: core.Node, env: Env) -> T:
        """The truth of a term."""
        names = core.free_names(node)
        things = env.items() if core.ANY_NAME in names else [(name, env.get(name)) for name in names]
        key = (id(node), *things)
        if key not in self._known:
            self._known[key] = (node, self._truth(node, env))
        return self._known[key][1]

    def _truth(self, node: core.Node, env: Env) -> T:
        read = self.dependence.of(node, env)
        logic = self.logic
        if not read:
            return logic.certain(*self.decider.truth(node, env))
        if isinstance(node, core.And):
            return logic.every([self.truth(part, env) for part in node.parts])
        if isinstance(node, core.Or):
            return logic.some([self.truth(part, env) for part in node.parts])
        if isinstance(node, core.Not):
            return logic.inverse(self.truth(node.body, env))
        if isinstance(node, core.When):
            return logic.some([logic.inverse(self.truth(node.where, env)), self.truth(node.body, env)])
        if isinstance(node, core.Labelled | core.Named):
            return self.truth(node.body, env)
        if isinstance(node, core.Holds):
            return self.truth(self.decider.rulebook.holds[node.arrangement], env)
        if isinstance(node, core.Assuming):
            return logic.under(self.truth(node.assumption, env), self.truth(node.body, env))
        if isinstance(node, core.Unverified):
            body = self.truth(node.body, env)
            accepted = self.decider.accept_memory
            return body if accepted else logic.unverified(body, Missing("", "clause", node.label))
        if isinstance(node, core.Quantified) and node.quantifier in ("any", "all", "each"):
            return self._quantified(node, env)
        return self.leaf(node, env, read)

    def _passing(self, node: core.Quantified, collection: Collection, env: Env) -> list[tuple[T, Env]]:
        """Whether each member belongs and passes the filter, with the things bound for it."""
        found: list[tuple[T, Env]] = []
        for member in collection.all:
            inner = {**env, node.variable: member.thing}
            belongs = self.logic.certain(member.belongs, member.gaps if member.belongs is None else NO_GAPS)
            found.append((self.logic.every([belongs, self.truth(node.where, inner)]), inner))
        return found

    def _quantified(self, node: core.Quantified, env: Env) -> T:
        logic, collection = self.logic, self.decider.collection(node.members, env)
        members = self._passing(node, collection, env)
        if node.quantifier == "any":
            return logic.some([logic.every([passes, self.truth(node.body, inner)]) for passes, inner in members])
        found = logic.every(
            [logic.some([logic.inverse(passes), self.truth(node.body, inner)]) for passes, inner in members]
        )
        if node.quantifier == "each":
            return found
        return logic.if_any(found, logic.some([passes for passes, _ in members]), collection.gap)

    def not_asked(self, provision: Provision, condition: Condition, env: Env) -> T:
        """Whether a condition asks nothing: outside its scope or case, or where there is nothing that it speaks of."""
        logic = self.logic
        reasons = [logic.surely(logic.inverse(self.truth(provision.applies, env)))]
        node = condition.own
        if isinstance(node, core.When):
            reasons.append(logic.surely(logic.inverse(self.truth(node.where, env))))
            node = node.body
        if isinstance(node, core.Quantified) and node.quantifier == "each":
            collection = self.decider.collection(node.members, env)
            if collection.most == 0:
                members = [passes for passes, _ in self._passing(node, collection, env)]
                reasons.append(logic.every([logic.surely(logic.inverse(passes)) for passes in members]))
        return logic.some(reasons)

    def same(self, node: core.Node, env: Env) -> object:
        """What is the same for terms that ask the same of the same column; else the term itself."""
        value = node.value if isinstance(node, core.Belongs | core.Overlaps | core.Includes) else node
        if not isinstance(value, core.Get):
            return object()
        source = self.decider.thing(value.source, env)
        key = (type(node), source.path, value.fact, value.derived)
        if value is node:
            return key
        if self.dependence.of(node.options, env):  # type: ignore[attr-defined]
            return object()
        return *key, self.decider.value(node.options, env)[0]  # type: ignore[attr-defined]
