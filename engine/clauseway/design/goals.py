"""What must hold for an opening to comply: each condition of each requirement, for each subject, in each mode."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from clauseway.answers.check import bindings, modes_of
from clauseway.answers.decide_condition import Bound, guarded
from clauseway.answers.finding import GUIDANCE
from clauseway.case.things import Thing
from clauseway.design.variant import Key, Variant
from clauseway.language import core
from clauseway.language.possible import Truth, Value
from clauseway.law.rulebook import DESCRIPTION, Rulebook
from clauseway.model.provision import Condition, Provision
from clauseway.model.vocabulary import SUBJECTS


@dataclass(frozen=True)
class Goal:
    """A condition for one subject in one mode."""

    provision: Provision
    condition: Condition
    bound: Bound
    mode: str
    node: core.Node
    said: bool = False
    """It is about the description itself, which must not contradict it; that it is not described is no matter."""

    @property
    def name(self) -> str:
        """The id of its finding."""
        return f"{self.provision.name}/{self.condition.label}"


def goals_of(rulebook: Rulebook, variant: Variant, opening: Thing, accept_memory: bool) -> list[Goal]:
    """The goals of an opening, in a fixed order; guidance is none."""
    guidance = {code.code for code in rulebook.codes if code.force == GUIDANCE}
    descriptions = {code.code for code in rulebook.codes if code.force == DESCRIPTION}
    goals: list[Goal] = []
    for mode in modes_of(rulebook, variant.project):
        decider = variant.decider(rulebook, mode, accept_memory)
        for provision in rulebook.requirements:
            if "opening" not in SUBJECTS[provision.subject] or provision.code in guidance:
                continue
            for bound in bindings(decider, provision.subject, opening):
                said = provision.code in descriptions
                for condition in provision.conditions:
                    goals.append(Goal(provision, condition, bound, mode, guarded(provision, condition.truth), said))
    return goals


@dataclass(frozen=True)
class Standing:
    """The truth of a goal and the facts that it read."""

    truth: Truth
    read: frozenset[Key]


def standing(rulebook: Rulebook, variant: Variant, goal: Goal, accept_memory: bool) -> Standing:
    """How a goal stands in a variant. A reader of its own, so that every fact behind a derived one is noted."""
    read: set[Key] = set()

    def note(thing: Thing, dotted: str, _value: Value) -> None:
        read.add((thing.path, dotted.partition(".")[2]))

    decider = variant.decider(rulebook, goal.mode, accept_memory, note)
    truth = decider.truth(goal.node, goal.bound.env)[0]
    return Standing(True if goal.said and truth is None else truth, frozenset(read))


def failing(goals: list[Goal], standings: list[Standing]) -> Iterator[tuple[int, Goal]]:
    """The goals that do not hold, with their places."""
    for at, (goal, found) in enumerate(zip(goals, standings, strict=True)):
        if found.truth is not True:
            yield at, goal
