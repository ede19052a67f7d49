"""Single steps that lead toward a wanted truth: the branches of every search over designs.

A term that has not the wanted truth can only get it by a change of something it reads. The structure of the term says
which: of a conjunction the first part that fails has to change in any case, of a disjunction any part may. So a search
that always follows these branches misses no set of changes made of the values it tries.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from clauseway.case.things import Thing
from clauseway.design.candidates import Candidates
from clauseway.design.effort import weight
from clauseway.design.variant import AddThing, Change, Key, SetFact, Step, Variant, free_path
from clauseway.language import core
from clauseway.language.possible import Truth, Value, every
from clauseway.model.vocabulary import INVERSE, OWNS, Fact
from clauseway.readers.decide import Decider, Env

MOST_ADDED = 2
"""How many things a design may add."""

MOST_FACTS = 12
"""How many facts one part of what is asked of an added thing may set."""


TermKey = tuple[int, tuple[str, ...]]

Remembered = dict[TermKey, tuple[core.Node, Truth]]
"""Truths by term; each term is kept, so that no other can take its identity."""


def term_key(node: core.Node, env: Env) -> TermKey:
    """What identifies a term, as long as it is kept, with the things bound in it."""
    return (id(node), tuple(thing.path for thing in env.values()))


class Limits:
    """What no choice of a designer can bring about: terms decided by what is given alone.

    `relaxed` reads the project with every choice forgotten.
    """

    def __init__(self, relaxed: Decider) -> None:
        self.relaxed = relaxed
        self._known: Remembered = {}

    def never(self, node: core.Node, env: Env, want: bool) -> bool:
        """Whether no choice of a designer gives `node` the wanted truth."""
        key = term_key(node, env)
        if key not in self._known:
            self._known[key] = (node, self.relaxed.truth(node, env)[0])
        return self._known[key][1] is (not want)


class Ways:
    """The next steps of one variant."""

    def __init__(self, variant: Variant, decider: Decider, limits: Limits, candidates: Candidates) -> None:
        self.variant = variant
        self.decider = decider
        self.limits = limits
        self.candidates = candidates
        self.vocabulary = decider.vocabulary
        self._truths: Remembered = {}

    def truth(self, node: core.Node, env: Env) -> Truth:
        """How a term stands in this variant."""
        key = term_key(node, env)
        if key not in self._truths:
            self._truths[key] = (node, self.decider.truth(node, env)[0])
        return self._truths[key][1]

    def toward(self, node: core.Node, env: Env, want: bool = True) -> Iterator[Step]:
        """Steps of which one is in every set of changes that gives `node` the wanted truth."""
        if self.truth(node, env) is want or self.limits.never(node, env, want):
            return
        if isinstance(node, core.Labelled | core.Named):
            yield from self.toward(node.body, env, want)
        elif isinstance(node, core.Unverified):
            if want is False or self.decider.accept_memory:
                yield from self.toward(node.body, env, want)
        elif isinstance(node, core.Not):
            yield from self.toward(node.body, env, not want)
        elif isinstance(node, core.And | core.Or):
            yield from self.parts(list(node.parts), env, want, isinstance(node, core.And))
        elif isinstance(node, core.When):
            yield from self.unless(node.where, node.body, env, want)
        elif isinstance(node, core.Assuming):
            assumed = self.truth(node.assumption, env) is True
            yield from self.toward(node.body if assumed else node.assumption, env, want if assumed else True)
        elif isinstance(node, core.Holds):
            yield from self.toward(self.decider.rulebook.holds[node.arrangement], env, want)
        elif isinstance(node, core.Quantified):
            yield from self.members(node, env, want)
        else:
            yield from self.values(node, env, want)

    def parts(self, parts: list[core.Node], env: Env, want: bool, conjunction: bool) -> Iterator[Step]:
        """All parts are needed for a conjunction to hold or a disjunction to fail; else any will do."""
        if conjunction is want:
            failing = [part for part in parts if self.truth(part, env) is not want]
            if any(self.limits.never(part, env, want) for part in failing):
                return
            yield from self.toward(failing[0], env, want)
        else:
            for part in parts:
                yield from self.toward(part, env, want)

    def members(self, node: core.Quantified, env: Env, want: bool) -> Iterator[Step]:
        any_of = node.quantifier == "any"
        collection = self.decider.collection(node.members, env)
        if any_of is want:
            for member in collection.members:
                if member.belongs is True:
                    yield from self._member(node, env, member.thing, want)
            if any_of:
                yield from self.additions(node, env)
            return
        for member in collection.members:
            inner = {**env, node.variable: member.thing}
            passes = every((member.belongs, self.truth(node.where, inner)))
            body = self.truth(node.body, inner)
            if passes is False or body is (not any_of):
                continue
            if member.belongs is True:
                yield from self._member(node, env, member.thing, want)
            return

    def _member(self, node: core.Quantified, env: Env, thing: Thing, want: bool) -> Iterator[Step]:
        inner = {**env, node.variable: thing}
        if node.quantifier == "any":
            yield from self.parts([node.where, node.body], inner, want, conjunction=True)
        else:
            yield from self.unless(node.where, node.body, inner, want)

    def unless(self, where: core.Node, body: core.Node, env: Env, want: bool) -> Iterator[Step]:
        """Toward `where` failing or `body` holding; or, unwanted, toward `where` holding and `body` failing."""
        if want:
            yield from self.toward(where, env, False)
            yield from self.toward(body, env, True)
        elif self.truth(where, env) is not True:
            yield from self.toward(where, env, True)
        else:
            yield from self.toward(body, env, False)

    def additions(self, node: core.Quantified, env: Env) -> Iterator[Step]:
        """One more device or sign, where a designer may add it."""
        added = self.addition(node, env)
        if added is not None:
            yield self.filled(added, node, env)

    def addition(self, node: core.Quantified, env: Env) -> AddThing | None:
        """The device or sign that a designer may add to a collection, if any."""
        members = node.members.body if isinstance(node.members, core.Named) else node.members
        if not isinstance(members, core.Members) or not self.vocabulary.kinds[members.kind].adding:
            return None
        if sum(isinstance(change, AddThing) for change in self.variant.changes) >= MOST_ADDED:
            return None
        source = self.decider.thing(members.source, env)
        relation = self.vocabulary.kinds[source.kind].relations[members.relation]
        owner = source.path if relation.form == OWNS else self.decider.project.owners.get(source.path, "")
        if source.unseen is not None or source.absent or not owner:
            return None
        owned = self.vocabulary.kinds[self.decider.project.things[owner].kind].owned(members.kind)
        if owned is None or relation.form not in (OWNS, INVERSE):
            return None
        side = source.path if relation.form == INVERSE and source.kind == "side" else ""
        path = free_path(self.decider.project, owner, owned.name, members.kind)
        return AddThing(path, members.kind, side, weight(self.vocabulary.kinds[members.kind].adding))

    def filled(self, added: AddThing, node: core.Quantified, env: Env) -> Step:
        """An added thing with as much of what is asked of it as its own facts can give, in one way that does."""
        step: list[Change] = [added]
        asked = [node.where, *(node.body.parts if isinstance(node.body, core.And) else (node.body,))]
        for part in asked:
            for _ in range(MOST_FACTS):
                ways = self.on_top(tuple(step))
                inner = {**env, node.variable: ways.variant.project.things[added.path]}
                own = (way for way in ways.toward(part, inner) if len(way) == 1 and ways.is_added(way[0].path))
                found = next(own, None)
                if found is None:
                    break
                step += found
        return tuple(step)

    def on_top(self, step: Step) -> Ways:
        """The ways of the variant after one more step."""
        variant = self.variant.after(step, self.vocabulary)
        decider = variant.decider(self.decider.rulebook, self.decider.mode, self.decider.accept_memory)
        return Ways(variant, decider, self.limits, self.candidates)

    def values(self, node: core.Node, env: Env, want: bool) -> Iterator[Step]:
        """Values of single facts in a comparison: those that decide it, or all where none does alone."""
        read = self.facts_in(node, env)
        decide: list[Step] = []
        others: list[Step] = []
        for (path, name), (thing, dotted, value) in read.items():
            fact = self.vocabulary.kinds[thing.kind].facts[name]
            if not self.may_set(path, name, fact):
                continue
            added = self.is_added(path)
            cost = 0 if added else weight(fact.effort)
            for candidate in self.candidates.values(dotted, value):
                change = SetFact(path, thing.kind, name, candidate, cost)
                if self.tried(change, node, env) is want:
                    decide.append((change,))
                    if added:
                        break
                elif len(read) > 1:
                    others.append((change,))
        yield from decide or others

    def may_set(self, path: str, name: str, fact: Fact) -> bool:
        """Whether a designer may set a fact that this design has not set yet."""
        chosen = fact.chosen_by == "designer" and fact.sort not in ("approval", "date")
        return chosen and (path, name) not in self.locked

    @cached_property
    def locked(self) -> set[Key]:
        """What was set already: a design sets a fact once, but those of an added thing as often as need be."""
        return {change.key for change in self.variant.changes if isinstance(change, SetFact) and change.cost}

    def is_added(self, path: str) -> bool:
        """Whether a path lies in a thing that the design adds, whose facts cost nothing by themselves."""
        added = [change.path for change in self.variant.changes if isinstance(change, AddThing)]
        return any(path == new or path.startswith(f"{new}/") for new in added)

    def tried(self, change: SetFact, node: core.Node, env: Env) -> bool | None:
        """The truth of a comparison with one value set."""
        assumed = {**self.decider.assumed, change.key: change.value}
        return self.decider.trying(assumed, self.decider.accept_memory).truth(node, env)[0]

    def facts_in(self, node: core.Node, env: Env) -> dict[Key, tuple[Thing, str, Value]]:
        """The facts of things that exist which a comparison reads, with their values."""
        return {(path, read[1].partition(".")[2]): read for (path, _), read in self.decider.reads(node, env).items()}
