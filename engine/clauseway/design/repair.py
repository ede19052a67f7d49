"""The least change: the cheapest sets of a designer's changes after which an opening complies with everything.

Best first by effort, so that the first design that complies is a cheapest one among the values tried; each is checked
again by the checker itself.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import count

from clauseway.answers import finding as F
from clauseway.answers.check import check, modes_of
from clauseway.answers.wording import form_of, value_in_words
from clauseway.case.things import Project, Thing
from clauseway.design.bound import both, least_effort
from clauseway.design.candidates import Candidates, candidates_of
from clauseway.design.goals import Goal, Least, Outlook, Standing, failing, goals_of, standing_of
from clauseway.design.variant import AddThing, Change, SetFact, Step, Variant, applied, forgetting
from clauseway.design.ways import Limits, Ways
from clauseway.law.rulebook import Rulebook
from clauseway.readers.decide import Decider

BUDGET = 200
"""How many designs are looked at in the order of the least they can cost, before any design is taken that complies."""

DEEPEST = 200
"""How many more are looked at for that, one step after the other."""

REFUSED = 3
"""How many designs the checker may refuse that seemed to be whole before that is given up."""


MORE = 60
"""How many more are looked at for others once the least design is found."""

SPREAD = 3
"""How many times the effort of the least design another may take to be shown beside it."""


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
    """The answer of a search: designs by effort, or what blocks every one.

    `whole` says that every other design worth showing was looked at as well. Every design costs `at_least` as much; a
    first one that costs more was found where the search for a least one had to be given up.
    """

    opening: str
    designs: tuple[Design, ...]
    blocks: tuple[Block, ...]
    whole: bool
    looked_at: int
    at_least: int

    @property
    def proven(self) -> bool:
        """Whether the first design is a least one, or surely there is none."""
        return self.designs[0].cost <= self.at_least if self.designs else self.whole


def least_changes(
    rulebook: Rulebook, project: Project, opening: str, *, most: int = 3, accept_memory: bool = False
) -> Repair:
    """The cheapest designs for an opening, at most `most`, none of them a part of another.

    `opening` is the path of the opening, such as `openings/d101`.
    """
    return _Search(rulebook.without_practice(), project, project.things[opening], most, accept_memory).run()


@dataclass(slots=True)
class _Node:
    """A design on the way; how its goals stand, and what can be done next, is found when it is looked at.

    `before` is the design, and the step from it, that it comes from.
    """

    variant: Variant
    goals: list[Goal] = field(default_factory=list)
    standings: list[Standing] = field(default_factory=list)
    before: tuple[_Node, Step] | None = None
    least: float = 0
    complete: bool = False
    steps: list[Step] = field(default_factory=list)


class _Queue:
    """Designs by the least they can come to cost, then by the number of changes, then in the order found."""

    def __init__(self) -> None:
        self.heap: list[tuple[float, int, int, _Node]] = []
        self.order = count()

    def put(self, node: _Node, least: float) -> None:
        if least < math.inf:
            paid = sum(change.cost > 0 for change in node.variant.changes)
            heapq.heappush(self.heap, (least, paid, next(self.order), node))

    def take(self) -> tuple[float, _Node]:
        least, _, _, node = heapq.heappop(self.heap)
        return least, node


class _Search:
    def __init__(self, rulebook: Rulebook, project: Project, opening: Thing, most: int, accept_memory: bool) -> None:
        self.rulebook = rulebook
        self.start = Variant(project)
        self.opening = opening
        self.most = most
        self.accept_memory = accept_memory
        self.candidates: Candidates = candidates_of(rulebook)
        given = forgetting(
            project, rulebook.vocabulary, opening.path, lambda _thing, fact: fact.chosen_by == "designer"
        )
        self.limits = {
            mode: Limits(Decider(rulebook, given, mode, accept_memory=accept_memory, refuse_memory=not accept_memory))
            for mode in modes_of(rulebook, project)
        }
        self.found: list[Design] = []
        self.dead: list[frozenset[Change]] = []
        self.looked_at = 0
        self.budget = BUDGET

    def run(self) -> Repair:
        goals = goals_of(self.rulebook, self.start, self.opening, self.accept_memory)
        standings = self.standings(self.start, goals)
        blocks = tuple(self.blocks(goals, standings))
        queue = _Queue()
        seen: set[frozenset[Change]] = {frozenset()}
        if not blocks:
            queue.put(_Node(self.start, goals, standings), 0)
        while queue.heap and len(self.found) < self.most and self.looked_at < self.budget:
            least, node = queue.take()
            if self.found and least > SPREAD * max(1, self.found[0].cost):
                queue.heap.clear()
                break
            if any(touched(design.changes) <= touched(node.variant.changes) for design in self.found):
                continue
            if not node.steps and not node.complete:
                if self.is_dead(node.variant):
                    continue
                self.look(node)
                if node.least > least:
                    queue.put(node, node.least)
                    continue
            if node.complete:
                self.keep(node.variant)
                continue
            for step in node.steps:
                after = node.variant.after(step, self.rulebook.vocabulary)
                changes = frozenset(after.changes)
                if changes not in seen:
                    seen.add(changes)
                    queue.put(_Node(after, before=(node, step)), max(least, after.cost))
        whole = bool(blocks) or not queue.heap or len(self.found) >= self.most
        at_least = self.found[0].cost if self.found else queue.heap[0][0] if queue.heap else 0
        if not whole and not self.found:
            self.dive(goals, standings)
        if whole and not self.found and not blocks:
            blocks = tuple(self.standing_in_the_way())
        return Repair(self.opening.id, tuple(self.found), blocks, whole, self.looked_at, int(at_least))

    def dive(self, goals: list[Goal], standings: list[Standing]) -> None:
        """Find one design that complies, step after step, without regard to what others would cost."""
        last = self.looked_at + DEEPEST
        stack = [_Node(self.start, goals, standings)]
        refused = 0
        while stack and not self.found and self.looked_at < last and refused < REFUSED:
            node = stack.pop()
            if self.is_dead(node.variant):
                continue
            self.look(node)
            if node.complete:
                self.keep(self.spared(node.variant))
                refused += not self.found
            elif node.least < math.inf:
                steps = sorted(node.steps, key=lambda step: -sum(change.cost for change in step))
                stack += [_Node(node.variant.after(s, self.rulebook.vocabulary), before=(node, s)) for s in steps]

    def spared(self, variant: Variant) -> Variant:
        """A design without the changes that it can do without."""
        for change in sorted(variant.changes, key=lambda change: -change.cost):
            fewer = without(variant, change, self.start, self.rulebook)
            if change.cost and change in variant.changes and self.reaches(fewer):
                variant = fewer
        return variant

    def standing_in_the_way(self) -> Iterator[Block]:
        """What is not met now, where each of it could be changed but not all of it at once."""
        report = check(self.rulebook, self.start.project, only=[self.opening.id], accept_memory=self.accept_memory)
        for finding in report.answers[0].findings:
            if not finding.claimed and finding.verdict not in (F.MET, F.NOT_APPLICABLE):
                yield Block(finding.id, finding.says, finding)

    def look(self, node: _Node) -> None:
        """Find the steps from a design and the least that any design on top of it costs."""
        self.looked_at += 1
        if node.before is not None:
            before, step = node.before
            node.goals, node.standings = self.after(node.variant, step, before.goals, before.standings)
            node.before = None
        fewest: list[Step] | None = None
        bounds: list[Least] = []
        modes = self.ways_of(node.variant)
        open_goals = [(goal, node.standings[at]) for at, goal in failing(node.goals, node.standings)]
        for goal, standing in open_goals:
            outlook = standing.outlook
            if outlook.least is None:
                outlook.least = least_effort(modes[goal.mode], goal.node, goal.bound.env)
            bounds.append(outlook.least)
            if outlook.least.effort == math.inf:
                self.give_up(node, standing)
                return
        for goal, standing in open_goals:
            steps = _steps(modes[goal.mode], goal, standing.outlook, math.inf if fewest is None else len(fewest))
            if steps == []:
                self.give_up(node, standing)
                return
            if steps is not None and (fewest is None or len(steps) < len(fewest)):
                fewest = steps
        node.complete = fewest is None
        node.steps = fewest or []
        node.least = node.variant.cost + both(bounds).effort

    def give_up(self, node: _Node, standing: Standing) -> None:
        """A goal that nothing more can meet: no design with what was set of all that it reads can be whole."""
        node.least = math.inf
        added = any(isinstance(change, AddThing) for change in node.variant.changes)
        reason = frozenset(
            change
            for change in node.variant.changes
            if added or (isinstance(change, SetFact) and change.key in standing.read)
        )
        self.dead.append(reason)

    def is_dead(self, variant: Variant) -> bool:
        """Whether a design holds what was found to lead nowhere."""
        changes = frozenset(variant.changes)
        return any(reason <= changes for reason in self.dead)

    def after(
        self, variant: Variant, step: Step, goals: list[Goal], standings: list[Standing]
    ) -> tuple[list[Goal], list[Standing]]:
        """How the goals stand after one more step; those that did not read what changed stand as before."""
        if any(isinstance(change, AddThing) for change in step):
            goals = goals_of(self.rulebook, variant, self.opening, self.accept_memory)
            return goals, self.standings(variant, goals)
        keys = {change.key for change in step if isinstance(change, SetFact)}
        readers = self.readers(variant)
        return goals, [
            standing_of(readers[goal.mode], goal) if keys & old.read else old
            for goal, old in zip(goals, standings, strict=True)
        ]

    def readers(self, variant: Variant) -> dict[str, Decider]:
        """A reader of a variant for each mode."""
        return {mode: variant.decider(self.rulebook, mode, self.accept_memory) for mode in self.limits}

    def standings(self, variant: Variant, goals: list[Goal]) -> list[Standing]:
        readers = self.readers(variant)
        return [standing_of(readers[goal.mode], goal) for goal in goals]

    def ways_of(self, variant: Variant) -> dict[str, Ways]:
        """The steps from a variant in each mode."""
        readers = self.readers(variant)
        return {mode: Ways(variant, readers[mode], limits, self.candidates) for mode, limits in self.limits.items()}

    def keep(self, variant: Variant) -> None:
        """Take a design if nothing in it can be left out and the checker agrees."""
        for change in variant.changes:
            if change.cost and self.reaches(without(variant, change, self.start, self.rulebook)):
                return
        if self.complies(variant):
            self.budget = min(BUDGET, self.looked_at + MORE)
            self.found.append(Design(variant.changes, variant.cost, self.described(variant)))

    def described(self, variant: Variant) -> Project:
        return applied(variant, lambda change: typed(self.rulebook, change))

    def reaches(self, variant: Variant) -> bool:
        """Whether every goal holds."""
        goals = goals_of(self.rulebook, variant, self.opening, self.accept_memory)
        readers = self.readers(variant)
        return all(goal.holds(readers[goal.mode].truth(goal.node, goal.bound.env)[0]) for goal in goals)

    def complies(self, variant: Variant) -> bool:
        report = check(self.rulebook, self.described(variant), only=[self.opening.id], accept_memory=self.accept_memory)
        return report.answers[0].verdict == F.COMPLIES

    def blocks(self, goals: list[Goal], standings: list[Standing]) -> list[Block]:
        """What fails whatever a designer chooses, or waits for what nobody knows."""
        report = check(self.rulebook, self.start.project, only=[self.opening.id], accept_memory=self.accept_memory)
        findings = {(f.id, f.subject, f.mode): f for f in report.answers[0].findings}
        found: list[Block] = []
        modes = self.ways_of(self.start)
        for _, goal in failing(goals, standings):
            ways = modes[goal.mode]
            possible = least_effort(ways, goal.node, goal.bound.env).effort < math.inf
            if possible and next(ways.toward(goal.node, goal.bound.env), None) is not None:
                continue
            key = (goal.name, goal.bound.subject, goal.mode)
            finding = findings.get(key) or findings.get((*key[:2], ""))
            if finding is not None:
                found.append(Block(goal.name, finding.says, finding))
            else:
                open_lists = [f for f in report.answers[0].findings if f.id.endswith("/complete")]
                found += [Block(f.id, f.says, f) for f in open_lists if all(b.id != f.id for b in found)]
        return found


def _steps(ways: Ways, goal: Goal, outlook: Outlook, enough: float) -> list[Step] | None:
    """The steps toward a goal, where there are fewer than `enough`."""
    if outlook.steps is None and outlook.at_least < enough:
        found: dict[Step, None] = {}
        for step in ways.toward(goal.node, goal.bound.env):
            found[step] = None
            if len(found) >= enough:
                outlook.at_least = len(found)
                return None
        outlook.steps = list(found)
    return outlook.steps


def touched(changes: tuple[Change, ...]) -> set[tuple[str, str]]:
    """What a set of changes touches and pays for: facts by path and name, added things by their kind."""
    return {
        (change.path, change.fact) if isinstance(change, SetFact) else (change.kind, change.side)
        for change in changes
        if change.cost
    }


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
