"""What must hold for an opening to comply: each condition of each requirement, for each subject, in each mode."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from clauseway.answers.check import bindings, modes_of
from clauseway.answers.decide_condition import Bound, guarded_in
from clauseway.answers.finding import GUIDANCE
from clauseway.case.things import Thing
from clauseway.design.variant import Key, Step, Variant
from clauseway.language import core
from clauseway.language.possible import Truth
from clauseway.law.rulebook import DESCRIPTION, Rulebook
from clauseway.model.provision import Condition, Provision
from clauseway.model.vocabulary import SUBJECTS
from clauseway.readers.decide import Decider


@dataclass(frozen=True)
class Goal:
    """A condition for one subject in one mode."""

    provision: Provision
    condition: Condition
    bound: Bound
    mode: str
    node: core.Node
    of_description: bool = False
    """Whether it only says what a description must agree with: what is not known there contradicts nothing."""

    def holds(self, truth: Truth) -> bool:
        """Whether a truth of its term is as it must be."""
        return truth is True or (truth is None and self.of_description)

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
                for condition in provision.conditions:
                    node = guarded_in(rulebook, provision, condition.truth)
                    goals.append(Goal(provision, condition, bound, mode, node, provision.code in descriptions))
    return goals


@dataclass(frozen=True, slots=True)
class Least:
    """A least effort, and the facts and added things of which one at least has to change for it."""

    effort: float
    keys: frozenset[Key]


@dataclass(slots=True)
class Outlook:
    """What a search found of a goal: its least effort, and the steps toward it, or how many there are at least.

    It holds as long as nothing changes that the goal reads.
    """

    least: Least | None = None
    steps: list[Step] | None = None
    at_least: int = 0


@dataclass(frozen=True)
class Standing:
    """How a goal stands for a reader of a variant."""

    truth: Truth
    goal: Goal
    reader: Decider
    outlook: Outlook = field(default_factory=Outlook, compare=False, repr=False)

    @cached_property
    def read(self) -> frozenset[Key]:
        """The facts that the goal may read there, those behind derived ones too."""
        read = self.reader.reads(self.goal.node, self.goal.bound.env)
        return frozenset((path, dotted.partition(".")[2]) for path, dotted in read)


def standing_of(decider: Decider, goal: Goal) -> Standing:
    """How a goal stands for a reader of a variant."""
    return Standing(decider.truth(goal.node, goal.bound.env)[0], goal, decider)


def failing(goals: list[Goal], standings: list[Standing]) -> Iterator[tuple[int, Goal]]:
    """The goals that do not hold, with their places."""
    for at, (goal, found) in enumerate(zip(goals, standings, strict=True)):
        if not goal.holds(found.truth):
            yield at, goal
