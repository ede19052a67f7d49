"""The least change: the cheapest sets of a designer's changes after which an opening complies with everything.

Best first by effort, so that the first design that complies is a cheapest one among the values tried; each is checked
again by the checker itself.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, replace
from itertools import count

from clauseway.answers import finding as F
from clauseway.answers.check import check
from clauseway.answers.wording import form_of, value_in_words
from clauseway.case.things import Project, Thing
from clauseway.design.candidates import Candidates, candidates_of
from clauseway.design.goals import Goal, Standing, failing, goals_of, standing
from clauseway.design.variant import AddThing, Change, SetFact, Variant, applied, forgetting
from clauseway.design.ways import Ways
from clauseway.law.rulebook import Rulebook
from clauseway.readers.decide import Decider

BUDGET = 3000
"""How many designs are looked at before the search gives up and says so."""


@dataclass(frozen=True, slots=True)
class Design:
    """A set of changes after which the opening complies."""

    changes: tuple[Change, ...]
    cost: int
    project: Project


@dataclass(frozen=True, slots=True)
class Block:
    """A condition that no change of a designer's choices can meet, and what it waits for or rests on."""

    id: str
    says: str
    finding: F.Finding


@dataclass(frozen=True, slots=True)
class Repair:
    """The answer of a search: designs by effort; or what blocks every one; `whole` unless the search gave up."""

    opening: str
    designs: tuple[Design, ...]
    blocks: tuple[Block, ...]
    whole: bool
    looked_at: int


def least_changes(
    rulebook: Rulebook, project: Project, opening: str, *, most: int = 3, accept_memory: bool = False
) -> Repair:
    """The cheapest designs for an opening, at most `most`, none of them a part of another.

    `opening` is the path of the opening, such as `openings/d101`.
    """
    return _Search(rulebook, project, project.things[opening], most, accept_memory).run()


class _Search:
    def __init__(self, rulebook: Rulebook, project: Project, opening: Thing, most: int, accept_memory: bool) -> None:
        self.rulebook = rulebook
        self.start = Variant(project)
        self.opening = opening
        self.most = most
        self.accept_memory = accept_memory
        self.candidates: Candidates = candidates_of(rulebook)
        self.relaxed = forgetting(
            project, rulebook.vocabulary, opening.path, lambda _thing, fact: fact.chosen_by == "designer"
        )
        self.found: list[Design] = []
        self.looked_at = 0

    def run(self) -> Repair:
        goals = goals_of(self.rulebook, self.start, self.opening, self.accept_memory)
        standings = [standing(self.rulebook, self.start, goal, self.accept_memory) for goal in goals]
        blocks = tuple(self.blocks(goals, standings))
        order = count()
        heap: list[tuple[int, int, int, Variant, list[Goal], list[Standing]]] = []
        seen: set[frozenset[Change]] = {frozenset()}
        if not blocks:
            heap.append((0, 0, next(order), self.start, goals, standings))
        while heap and len(self.found) < self.most and self.looked_at < BUDGET:
            cost, _, _, variant, goals, standings = heapq.heappop(heap)
            if any(set(design.changes) <= set(variant.changes) for design in self.found):
                continue
            self.looked_at += 1
            open_goals = [goal for _, goal in failing(goals, standings)]
            if not open_goals:
                self.keep(variant)
                continue
            for change in self.branches(variant, open_goals):
                changes = frozenset((*variant.changes, change))
                if changes in seen:
                    continue
                seen.add(changes)
                after = variant.changed(change, self.rulebook.vocabulary)
                new_goals, new_standings = self.after(after, change, goals, standings)
                paid = len([c for c in after.changes if c.cost])
                heapq.heappush(heap, (cost + change.cost, paid, next(order), after, new_goals, new_standings))
        whole = bool(blocks) or not heap or len(self.found) >= self.most
        return Repair(self.opening.id, tuple(self.found), blocks, whole, self.looked_at)

    def after(
        self, variant: Variant, change: Change, goals: list[Goal], standings: list[Standing]
    ) -> tuple[list[Goal], list[Standing]]:
        """How the goals stand after one more change; those that did not read what changed stand as before."""
        if isinstance(change, AddThing):
            goals = goals_of(self.rulebook, variant, self.opening, self.accept_memory)
            return goals, [standing(self.rulebook, variant, goal, self.accept_memory) for goal in goals]
        return goals, [
            standing(self.rulebook, variant, goal, self.accept_memory) if change.key in old.read else old
            for goal, old in zip(goals, standings, strict=True)
        ]

    def branches(self, variant: Variant, open_goals: list[Goal]) -> list[Change]:
        """The ways of the open goal that has the fewest: none at all ends the branch."""
        fewest: list[Change] | None = None
        for goal in open_goals:
            ways = list(dict.fromkeys(self.ways(variant, goal)))
            if fewest is None or len(ways) < len(fewest):
                fewest = ways
            if not fewest:
                break
        return fewest or []

    def ways(self, variant: Variant, goal: Goal) -> list[Change]:
        decider = variant.decider(self.rulebook, goal.mode, self.accept_memory)
        relaxed = Decider(self.rulebook, self.relaxed, goal.mode, accept_memory=True)
        return list(Ways(variant, decider, relaxed, self.candidates).toward(goal.node, goal.bound.env))

    def keep(self, variant: Variant) -> None:
        """Take a design if nothing in it can be left out and the checker agrees."""
        for change in variant.changes:
            if change.cost and self.complies(without(variant, change, self.start, self.rulebook)):
                return
        if self.complies(variant):
            self.found.append(Design(variant.changes, variant.cost, self.described(variant)))

    def described(self, variant: Variant) -> Project:
        return applied(variant, lambda change: typed(self.rulebook, change))

    def complies(self, variant: Variant) -> bool:
        report = check(self.rulebook, self.described(variant), only=[self.opening.id], accept_memory=self.accept_memory)
        return report.answers[0].verdict == F.COMPLIES

    def blocks(self, goals: list[Goal], standings: list[Standing]) -> list[Block]:
        """What fails whatever a designer chooses, or waits for what nobody knows."""
        report = check(self.rulebook, self.start.project, only=[self.opening.id], accept_memory=self.accept_memory)
        findings = {(f.id, f.subject, f.mode): f for f in report.answers[0].findings}
        found: list[Block] = []
        for _, goal in failing(goals, standings):
            if self.ways(self.start, goal):
                continue
            key = (goal.name, goal.bound.subject, goal.mode)
            finding = findings.get(key) or findings.get((*key[:2], ""))
            if finding is not None:
                found.append(Block(goal.name, finding.says, finding))
            else:
                open_lists = [f for f in report.answers[0].findings if f.id.endswith("/complete")]
                found += [Block(f.id, f.says, f) for f in open_lists if all(b.id != f.id for b in found)]
        return found


def without(variant: Variant, left_out: Change, start: Variant, rulebook: Rulebook) -> Variant:
    """The variant with one change, and what hangs on it, left out."""
    result = start
    for change in variant.changes:
        hangs = isinstance(left_out, AddThing) and change.path.startswith(left_out.path)
        if change != left_out and not hangs:
            result = result.changed(change, rulebook.vocabulary)
    return replace(result)


def typed(rulebook: Rulebook, change: SetFact) -> str:
    """A proposed value as a person would type it."""
    fact = rulebook.vocabulary.kinds[change.kind].facts[change.fact]
    if isinstance(change.value, bool):
        return "true" if change.value else "false"
    return value_in_words(change.value, form_of(fact), rulebook.vocabulary)
