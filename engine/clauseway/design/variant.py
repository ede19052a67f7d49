"""A described project with some of it changed: facts set, devices or signs added, choices forgotten."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from clauseway.case.project import member_path
from clauseway.case.things import Given, Listed, Project, Thing
from clauseway.language.possible import Value
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import OWNS, Fact, Vocabulary
from clauseway.readers.decide import Decider
from clauseway.text.problems import NOWHERE

PROPOSED = "proposed"
"""How a proposed value is known."""

Key = tuple[str, str]
"""The path of a thing and the name of a fact of it."""


@dataclass(frozen=True, slots=True)
class SetFact:
    """A fact of a thing given a value."""

    path: str
    kind: str
    fact: str
    value: Value
    cost: int

    @property
    def key(self) -> Key:
        """What it sets."""
        return (self.path, self.fact)


@dataclass(frozen=True, slots=True)
class AddThing:
    """A device or a sign added to an opening, on one side of it or on none in particular."""

    path: str
    kind: str
    side: str
    cost: int


Change = SetFact | AddThing

Step = tuple[Change, ...]
"""What is changed at once: one fact, or an added thing with all that is asked of it."""


@dataclass(frozen=True)
class Variant:
    """A project with changes on top; `project` has the added things, `assumed` the values that were set.

    `readers` are those of the project without the values that were set: what these do not touch is read once for all.
    """

    project: Project
    assumed: Mapping[Key, Value] = field(default_factory=dict)
    changes: tuple[Change, ...] = ()
    readers: dict[tuple[str, bool], Decider] = field(default_factory=dict, compare=False, repr=False)

    def decider(self, rulebook: Rulebook, mode: str, accept_memory: bool) -> Decider:
        """A reader of it."""
        base = self.readers.get((mode, accept_memory))
        if base is None or base.rulebook is not rulebook:
            base = Decider(rulebook, self.project, mode, accept_memory=accept_memory)
            self.readers[mode, accept_memory] = base
        return base.trying(self.assumed, accept_memory) if self.assumed else base

    def changed(self, change: Change, vocabulary: Vocabulary) -> Variant:
        """It with one more change."""
        if isinstance(change, SetFact):
            earlier = (c for c in self.changes if not (isinstance(c, SetFact) and c.key == change.key))
            changes = (*earlier, change)
            return Variant(self.project, {**self.assumed, change.key: change.value}, changes, self.readers)
        return Variant(with_thing(self.project, change, vocabulary), self.assumed, (*self.changes, change))

    def after(self, step: Step, vocabulary: Vocabulary) -> Variant:
        """It with the changes of one step."""
        result = self
        for change in step:
            result = result.changed(change, vocabulary)
        return result

    @property
    def cost(self) -> int:
        """The effort of all its changes."""
        return sum(change.cost for change in self.changes)


def with_thing(project: Project, added: AddThing, vocabulary: Vocabulary) -> Project:
    """The project with one more device or sign; a list that was known to be whole stays so."""
    owner = added.path.rsplit("/", 2)[0]
    relation = added.path.rsplit("/", 2)[1]
    name = added.path.rpartition("/")[2]
    listed = project.lists.get((owner, relation), Listed())
    references = {**project.references}
    if added.side:
        by = next(r.name for r in vocabulary.kinds[added.kind].relations.values() if r.kind == "side")
        references[(added.path, by)] = added.side
    return replace(
        project,
        things={**project.things, added.path: Thing(added.path, added.kind, name)},
        owners={**project.owners, added.path: owner},
        lists={**project.lists, (owner, relation): replace(listed, members=(*listed.members, added.path))},
        references=references,
        places={**project.places, added.path: NOWHERE},
    )


def free_path(project: Project, owner: str, relation: str, kind: str) -> str:
    """A path for one more member that is not taken: `new-device`, `new-device-2`, ..."""
    number = 1
    while True:
        path = member_path(owner, relation, f"new-{kind}" + (f"-{number}" if number > 1 else ""))
        if path not in project.things:
            return path
        number += 1


def applied(variant: Variant, typed: Callable[[SetFact], str]) -> Project:
    """The project as it would be described with the changes made; `typed` prints a value as a person would type it."""
    facts = {**variant.project.facts}
    by_mode = {**variant.project.by_mode}
    things = {**variant.project.things}
    owners = {**variant.project.owners}
    for change in variant.changes:
        if not isinstance(change, SetFact):
            continue
        given = Given(change.value, typed(change), NOWHERE, PROPOSED)
        if change.path not in things:
            things[change.path] = Thing(change.path, change.kind, change.path.rpartition("/")[2])
            owners[change.path] = change.path.rsplit("/", 2)[0]
        by_mode.pop(change.key, None)
        facts[change.key] = given
    return replace(variant.project, facts=facts, by_mode=by_mode, things=things, owners=owners)


def forgetting(
    project: Project, vocabulary: Vocabulary, opening: str, forget: Callable[[Thing, Fact], bool]
) -> Project:
    """The project without what a designer chose at an opening, where more of what can be added may be there."""

    def kept(key: Key) -> bool:
        thing = project.things.get(key[0])
        if thing is None:
            return True
        fact = vocabulary.kinds[thing.kind].facts.get(key[1])
        return fact is None or not forget(thing, fact)

    lists = {**project.lists}
    kind = vocabulary.kinds["opening"]
    for relation in kind.relations.values():
        if relation.form == OWNS and vocabulary.kinds[relation.kind].adding:
            listed = lists.get((opening, relation.name), Listed())
            lists[(opening, relation.name)] = replace(listed, most=None)
    return replace(
        project,
        facts={key: given for key, given in project.facts.items() if kept(key)},
        by_mode={key: given for key, given in project.by_mode.items() if kept(key)},
        lists=lists,
    )
