"""Single changes that lead toward a wanted truth: the branches of every search over designs.

A term that has not the wanted truth can only get it by a change of something it reads. The structure of the term says
which: of a conjunction the first part that fails has to change in any case, of a disjunction any part may. So a search
that always follows these branches misses no set of changes made of the values it tries.
"""

from __future__ import annotations

from collections.abc import Iterator

from clauseway.case.things import Thing
from clauseway.design.candidates import Candidates
from clauseway.design.effort import weight
from clauseway.design.variant import AddThing, Change, Key, SetFact, Variant, free_path
from clauseway.language import core
from clauseway.language.possible import Value, every
from clauseway.model.vocabulary import INVERSE, OWNS
from clauseway.readers.decide import Decider, Env

MOST_ADDED = 2
"""How many things a design may add."""


class Ways:
    """The next changes of one variant. `relaxed` knows only what is given: what it refuses no designer can change."""

    def __init__(self, variant: Variant, decider: Decider, relaxed: Decider, candidates: Candidates) -> None:
        self.variant = variant
        self.decider = decider
        self.relaxed = relaxed
        self.candidates = candidates
        self.vocabulary = decider.vocabulary

    def toward(self, node: core.Node, env: Env, want: bool = True) -> Iterator[Change]:
        """Changes of which one is in every set of changes that gives `node` the wanted truth."""
        if self.decider.truth(node, env)[0] is want or self.never(node, env, want):
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
            yield from self.parts([core.Not(node.where), node.body], env, want, conjunction=False)
        elif isinstance(node, core.Assuming):
            assumed = self.decider.truth(node.assumption, env)[0] is True
            yield from self.toward(node.body if assumed else node.assumption, env, want if assumed else True)
        elif isinstance(node, core.Holds):
            yield from self.toward(self.decider.rulebook.holds[node.arrangement], env, want)
        elif isinstance(node, core.Quantified):
            yield from self.members(node, env, want)
        else:
            yield from self.values(node, env, want)

    def never(self, node: core.Node, env: Env, want: bool) -> bool:
        """Whether no choice of a designer gives `node` the wanted truth."""
        return self.relaxed.truth(node, env)[0] is (not want)

    def parts(self, parts: list[core.Node], env: Env, want: bool, conjunction: bool) -> Iterator[Change]:
        """All parts are needed for a conjunction to hold or a disjunction to fail; else any will do."""
        if conjunction is want:
            failing = [part for part in parts if self.decider.truth(part, env)[0] is not want]
            if any(self.never(part, env, want) for part in failing):
                return
            yield from self.toward(failing[0], env, want)
        else:
            for part in parts:
                yield from self.toward(part, env, want)

    def members(self, node: core.Quantified, env: Env, want: bool) -> Iterator[Change]:
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
            passes = every((member.belongs, self.decider.truth(node.where, inner)[0]))
            body = self.decider.truth(node.body, inner)[0]
            if passes is False or body is (not any_of):
                continue
            if member.belongs is True:
                yield from self._member(node, env, member.thing, want)
            return

    def _member(self, node: core.Quantified, env: Env, thing: Thing, want: bool) -> Iterator[Change]:
        inner = {**env, node.variable: thing}
        if node.quantifier == "any":
            both = core.conjunction([node.where, node.body])
            yield from self.toward(both, inner, want)
        else:
            yield from self.parts([core.Not(node.where), node.body], inner, want, conjunction=False)

    def additions(self, node: core.Quantified, env: Env) -> Iterator[Change]:
        """One more device or sign, where a designer may add it."""
        members = node.members.body if isinstance(node.members, core.Named) else node.members
        if not isinstance(members, core.Members) or not self.vocabulary.kinds[members.kind].adding:
            return
        if sum(isinstance(change, AddThing) for change in self.variant.changes) >= MOST_ADDED:
            return
        source = self.decider.thing(members.source, env)
        relation = self.vocabulary.kinds[source.kind].relations[members.relation]
        owner = source.path if relation.form == OWNS else self.decider.project.owners.get(source.path, "")
        if source.unseen is not None or source.absent or not owner:
            return
        owned = self.vocabulary.kinds[self.decider.project.things[owner].kind].owned(members.kind)
        if owned is None or relation.form not in (OWNS, INVERSE):
            return
        side = source.path if relation.form == INVERSE and source.kind == "side" else ""
        path = free_path(self.decider.project, owner, owned.name, members.kind)
        cost = weight(self.vocabulary.kinds[members.kind].adding)
        yield AddThing(path, members.kind, side, cost)

    def values(self, node: core.Node, env: Env, want: bool) -> Iterator[Change]:
        """Values of single facts in a comparison: those that decide it, or all where none does alone."""
        read = self.facts_in(node, env)
        decide: list[SetFact] = []
        others: list[SetFact] = []
        for (path, name), (thing, dotted, value) in read.items():
            fact = self.vocabulary.kinds[thing.kind].facts[name]
            if fact.chosen_by != "designer" or fact.sort in ("approval", "date") or (path, name) in self.locked:
                continue
            added = self.is_added(path)
            cost = 0 if added else weight(fact.effort)
            chosen = 0
            for candidate in self.candidates.values(dotted, value):
                change = SetFact(path, thing.kind, name, candidate, cost)
                if self.tried(change, node, env) is want:
                    decide.append(change)
                    chosen += 1
                    if added and chosen >= 2:
                        break
                elif len(read) > 1:
                    others.append(change)
        yield from decide or others

    @property
    def locked(self) -> set[Key]:
        """What was set already: a design sets a fact once."""
        return {change.key for change in self.variant.changes if isinstance(change, SetFact)}

    def is_added(self, path: str) -> bool:
        """Whether a path lies in a thing that the design adds, whose facts cost nothing by themselves."""
        added = [change.path for change in self.variant.changes if isinstance(change, AddThing)]
        return any(path == new or path.startswith(f"{new}/") for new in added)

    def tried(self, change: SetFact, node: core.Node, env: Env) -> bool | None:
        """The truth of a comparison with one value set."""
        variant = self.variant.changed(change, self.vocabulary)
        trial = variant.decider(self.decider.rulebook, self.decider.mode, self.decider.accept_memory)
        return trial.truth(node, env)[0]

    def facts_in(self, node: core.Node, env: Env) -> dict[Key, tuple[Thing, str, Value]]:
        """The facts of things that exist which a comparison reads, with their values."""
        found: dict[Key, tuple[Thing, str, Value]] = {}

        def note(thing: Thing, dotted: str, value: Value) -> None:
            if thing.unseen is None:
                found[(thing.path, dotted.partition(".")[2])] = (thing, dotted, value)

        reader = self.variant.decider(self.decider.rulebook, self.decider.mode, self.decider.accept_memory, note)
        reader.value(node, env)
        return found
