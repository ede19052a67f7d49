"""What general-purpose engines can be asked: conditions of a rulebook for one opening, as plain expressions of columns.

What is the same in every row is folded, collections are unrolled, arrangements written out: all in the peers' favour.
What is left are `and`, `or`, `not` of comparisons of a column with constants; conditions that need more are left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random
from typing import Any

import numpy as np
import pyarrow as pa

from clauseway.answers.check import bindings
from clauseway.answers.decide_condition import guarded_in, judge
from clauseway.case.open import open_project
from clauseway.case.things import Project
from clauseway.language import core
from clauseway.language.possible import Choice, Interval
from clauseway.law.cache import cache_folder
from clauseway.law.rulebook import Rulebook
from clauseway.law.shelf import Shelf
from clauseway.model.provision import Condition, Provision
from clauseway.model.vocabulary import SUBJECTS
from clauseway.readers.decide import Decider, Env
from clauseway.survey.columns import Columns, fact_names
from clauseway.survey.dependence import Dependence
from clauseway.survey.plan import Cell, Plan, alone, conditions_on, made_plan

Said = tuple[Any, ...]
UNITS = {"length": "in", "time": "s", "force": "lbf"}
SLACK = 1e-9


class Unsaid(Exception):
    """A term that these engines are not asked."""


@dataclass(frozen=True)
class Case:
    """Conditions of one opening with the columns they read: as expressions, and as a plan of our own.

    `whole` has every condition; `plan` those that have an expression, in the same order as `said`.
    """

    rulebook: Rulebook
    said: list[tuple[Cell, core.Node, Env, Said]]
    plan: Plan
    whole: Plan
    decider: Decider


def case(codes: list[str], opening: str) -> Case:
    """The conditions of the codes for an opening of the demo, every fact that they read being a column.

    What the engines are compared on has the columns that its expressions read, and no others.
    """
    book = Shelf((), cache_folder()).rulebook(codes)
    project = open_project("demo", book)
    whole = made_plan(book, project, opening, columns_of(book, project, opening), False)
    read = set[str]()
    for *_, said in _sayable(whole):
        _collect_names(said, read)
    plan = made_plan(book, project, opening, [name for name in whole.columns.by_name if name in read], False)
    found = _sayable(plan)
    cells = [cell for cell, *_ in found]
    return Case(book, found, replace(plan, cells=cells), whole, Decider(book, plan.project))


@dataclass(frozen=True)
class Asked:
    """A condition of a plan, the term that the checker is asked, and what it is about."""

    cell: Cell
    provision: Provision
    condition: Condition
    node: core.Node
    env: Env

    def agrees(self, told: bool | None, decider: Decider) -> bool:
        """Whether the checker says the same; what it does not ask is as good as met."""
        truth, _ = decider.truth(self.node, self.env)
        if told is True and truth is None:
            return bool(judge(decider, self.provision, self.condition, self.env).not_asked)
        return told is truth


def conditions_of(plan: Plan) -> Iterator[Asked]:
    """Each condition of a plan."""
    book, decider = plan.rulebook, Decider(plan.rulebook, plan.project)
    by_key = {(cell.finding, cell.subject): cell for cell in plan.cells if not cell.mode}
    for provision, condition, bound in conditions_on(decider, plan.project.things[f"openings/{plan.opening}"]):
        if provision.code != "described":
            cell = by_key[f"{provision.name}/{condition.label}", bound.subject]
            yield Asked(cell, provision, condition, guarded_in(book, provision, condition.truth), bound.env)


def has_collections(book: Rulebook, node: core.Node) -> bool:
    """Whether a term speaks of all or any members of a collection, itself or through an arrangement."""
    for inner in core.walk(node):
        if isinstance(inner, core.Quantified):
            return True
        if isinstance(inner, core.Holds) and has_collections(book, book.holds[inner.arrangement]):
            return True
    return False


def _sayable(plan: Plan) -> list[tuple[Cell, core.Node, Env, Said]]:
    sayer = _Sayer(Decider(plan.rulebook, plan.project), plan.columns)
    found = []
    for asked in conditions_of(plan):
        try:
            said = sayer.say(asked.node, asked.env)
        except Unsaid:
            continue
        if said[0] != "certain":
            found.append((asked.cell, asked.node, asked.env, said))
    return found


def _collect_names(said: Said, names: set[str]) -> None:
    if said[0] in ("and", "or", "not"):
        for part in said[1:]:
            _collect_names(part, names)
    elif said[0] != "certain":
        names.add(said[1])


def columns_of(book: Rulebook, project: Project, opening: str) -> list[str]:
    """The names of the columns for all facts that a condition reads and that a table can hold plainly."""
    possible = fact_names(project, opening, book.vocabulary)
    keys = {key: name for name, (key, _) in possible.items()}
    single = alone(project, opening, keys, book)
    reads = Dependence(Decider(book, single), keys)
    read = {
        key
        for provision in book.requirements
        if "opening" in SUBJECTS[provision.subject] and provision.code not in book.practice
        for bound in bindings(reads.decider, provision.subject, single.things[f"openings/{opening}"])
        for condition in provision.conditions
        for key in reads.of(guarded_in(book, provision, condition.truth), bound.env)
    }
    found = []
    for key in sorted(read):
        fact = book.vocabulary.kinds[possible[keys[key]][1]].facts[key[1]]
        if fact.sort in ("yes-no", "choice", "count"):
            found.append(keys[key])
        elif fact.sort == "quantity" and fact.unit in UNITS:
            found.append(f"{keys[key]} [{UNITS[fact.unit]}]")
    return found


class _Sayer:
    def __init__(self, decider: Decider, columns: Columns) -> None:
        self.decider, self.columns = decider, columns
        self.reads = Dependence(decider, columns.all)
        self._known: dict[tuple[object, ...], tuple[core.Node, Said]] = {}

    def say(self, node: core.Node, env: Env) -> Said:
        key = (id(node), *env.items())
        if key not in self._known:
            self._known[key] = (node, self._say(node, env))
        return self._known[key][1]

    def _say(self, node: core.Node, env: Env) -> Said:
        if not self.reads.of(node, env):
            return ("certain", self.decider.truth(node, env)[0])
        if isinstance(node, core.And | core.Or):
            return _join("and" if isinstance(node, core.And) else "or", [self.say(part, env) for part in node.parts])
        if isinstance(node, core.Not):
            return _not(self.say(node.body, env))
        if isinstance(node, core.When):
            return _join("or", [_not(self.say(node.where, env)), self.say(node.body, env)])
        if isinstance(node, core.Labelled | core.Named):
            return self.say(node.body, env)
        if isinstance(node, core.Holds):
            return self.say(self.decider.rulebook.holds[node.arrangement], env)
        if isinstance(node, core.Quantified) and node.quantifier in ("any", "each"):
            parts = []
            for member in self.decider.collection(node.members, env).all:
                inner = {**env, node.variable: member.thing}
                passes = _join("and", [("certain", member.belongs), self.say(node.where, inner)])
                body = self.say(node.body, inner)
                if node.quantifier == "any":
                    parts.append(_join("and", [passes, body]))
                else:
                    parts.append(_join("or", [_not(passes), body]))
            return _join("or" if node.quantifier == "any" else "and", parts)
        if isinstance(node, core.Get):
            return ("yes", self._name(node, env))
        if isinstance(node, core.Belongs) and not self.reads.of(node.options, env):
            options, _ = self.decider.value(node.options, env)
            assert isinstance(options, Choice)
            return ("in", self._name(node.value, env), tuple(sorted(options.options)))
        if isinstance(node, core.Compare):
            return self._compare(node, env)
        raise Unsaid

    def _compare(self, node: core.Compare, env: Env) -> Said:
        turned = {"<=": ">=", ">=": "<=", "<": ">", ">": "<"}
        operator, left, right = node.operator, node.left, node.right
        if not self.reads.of(left, env):
            operator, left, right = turned.get(operator, operator), right, left
        if operator not in turned or self.reads.of(right, env):
            raise Unsaid
        name = self._name(left, env)
        value, _ = self.decider.value(right, env)
        column = self.columns.by_name[name]
        if not isinstance(value, Interval) or not value.is_point or column.scale is None:
            raise Unsaid
        number = value.low
        if value.also is not None and column.scale.system == value.also_system:
            number = value.also
        written = (number - column.scale.offset) / column.scale.factor
        slack = SLACK * abs(written) * (1 if operator in ("<=", ">") else -1)
        return (operator, name, written + slack)

    def _name(self, node: core.Node, env: Env) -> str:
        while isinstance(node, core.Named | core.Labelled):
            node = node.body
        if not isinstance(node, core.Get) or node.derived:
            raise Unsaid
        key = (self.decider.thing(node.source, env).path, node.fact.partition(".")[2])
        if key not in self.columns.all:
            raise Unsaid
        return self.columns.all[key].name


def _not(said: Said) -> Said:
    if said[0] == "certain":
        return ("certain", None if said[1] is None else not said[1])
    return ("not", said)


def _join(word: str, parts: list[Said]) -> Said:
    ends = word == "or"
    if ("certain", ends) in parts:
        return ("certain", ends)
    kept = [part for part in parts if part != ("certain", not ends)]
    if not kept:
        return ("certain", not ends)
    return kept[0] if len(kept) == 1 else (word, *kept)


def table(made: Case, plan: Plan, many: int, seed: int = 1) -> pa.Table:
    """Random rows for the columns of a plan, around what is compared; one in seven cells is blank.

    Texts are kept by distinct values and counts as whole numbers, as a Parquet reader gives them.
    """
    rng = np.random.default_rng(seed)
    limits: dict[str, list[float]] = {}
    options: dict[str, list[str]] = {}
    for *_, said in made.said:
        _collect(said, limits, options)
    columns = {}
    for name, column in plan.columns.by_name.items():
        # What values a column may have, is the same in every table.
        own = Random(name)
        values: list[Any]
        if column.fact.sort == "yes-no":
            values = [True, False]
        elif column.fact.sort == "choice":
            listed = sorted(made.rulebook.vocabulary.lists[column.fact.values].leaves)
            near = [each for each in options.get(name, []) if each in listed]
            values = sorted({*near, *(own.choice(listed) for _ in range(1 + len(near)))})
        else:
            assert column.scale is not None
            ends = [(end - column.scale.offset) / column.scale.factor for end in (column.fact.low, column.fact.high)]
            near_at = [float(round(value) + step) for value in limits.get(name, [10.0]) for step in (-3, -1, 0, 1, 3)]
            values = [value for value in near_at if ends[0] <= value <= ends[1]] or [float(ends[0])]
            values = [int(value) for value in values] if column.fact.sort == "count" else values
        drawn, blank = rng.integers(0, len(values), many), rng.random(many) < 1 / 7
        if column.fact.sort == "choice":
            places = pa.array(drawn.astype(np.int32), mask=blank)
            columns[name] = pa.DictionaryArray.from_arrays(places, pa.array(values))
        else:
            columns[name] = pa.array(np.array(values)[drawn], mask=blank)
    return pa.table(columns)


def _collect(said: Said, limits: dict[str, list[float]], options: dict[str, list[str]]) -> None:
    if said[0] in ("and", "or", "not"):
        for part in said[1:]:
            _collect(part, limits, options)
    elif said[0] == "in":
        options.setdefault(said[1], []).extend(each for each in said[2] if each not in options.get(said[1], []))
    elif said[0] in ("<=", ">=", "<", ">"):
        limits.setdefault(said[1], []).append(said[2])
