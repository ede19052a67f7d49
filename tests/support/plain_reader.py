"""A second reader of the core form for openings of which everything is known.

It is written without intervals, gaps or arrangement links, so that it shares no mistake with the checker. None
stands for what the language leaves undetermined even then: a fact of nothing, `all` of an empty list.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from clauseway.answers.check import bindings
from clauseway.case.things import Project, Thing
from clauseway.compute.registry import computation_named, evaluate
from clauseway.language import core
from clauseway.language.possible import Choice, Choices, Interval, Text
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Condition, Provision
from clauseway.model.vocabulary import INVERSE, SUBJECTS
from clauseway.readers.decide import Decider

Env = dict[str, Thing]


@dataclass(frozen=True)
class Number:
    value: float
    system: str | None = None
    also: float | None = None
    also_system: str | None = None


@dataclass(frozen=True)
class OneOf:
    """A set parameter."""

    options: frozenset[str]


def _and(truths: list[Any]) -> Any:
    return False if False in truths else None if None in truths else True


def _or(truths: list[Any]) -> Any:
    return True if True in truths else None if None in truths else False


def _not(truth: Any) -> Any:
    return None if truth is None else not truth


class PlainReader:
    """Reads conditions as a person would who has the whole description."""

    def __init__(self, rulebook: Rulebook, project: Project, mode: str = "") -> None:
        self.rulebook, self.project, self.mode = rulebook, project, mode

    def decisions(self) -> dict[tuple[str, str, str, str], Any]:
        found: dict[tuple[str, str, str, str], Any] = {}
        for mode in self.project.modes or ("",):
            reader = PlainReader(self.rulebook, self.project, mode)
            walker = Decider(self.rulebook, self.project, mode)
            for provision in self.rulebook.provisions.values():
                opens = "opening" in SUBJECTS[provision.subject]
                for thing in self.project.of_kind("opening" if opens else provision.subject):
                    for bound in bindings(walker, provision.subject, thing):
                        for condition in provision.permitted + provision.conditions:
                            key = (
                                mode,
                                f"{provision.name}/{condition.label}",
                                bound.subject.path,
                                bound.subject.passage,
                            )
                            found[key] = reader.condition(provision, condition, dict(bound.env))
        return found

    def condition(self, provision: Provision, condition: Condition, env: Env) -> Any:
        truth = self.read(condition.own, env)
        target = f"{provision.id}/{condition.label}"
        if condition in provision.conditions:
            for other in self.rulebook.provisions.values():
                if other.code == provision.code and target in other.excuses:
                    truth = _or([truth, self.holds(other, env)])
        for assumption in provision.assumptions:
            truth = truth if self.read(assumption.node, env) is True else None
        return _or([_not(self.read(provision.applies, env)), truth])

    def holds(self, provision: Provision, env: Env) -> Any:
        asked = [provision.recognised, provision.applies, *(c.own for c in provision.permitted + provision.conditions)]
        return _and([self.read(node, env) for node in asked])

    def read(self, node: core.Node, env: Env) -> Any:
        return _READ[type(node)](self, node, env)

    # --- things -----------------------------------------------------------------------------------------

    def thing(self, node: core.Node, env: Env) -> Thing | None:
        if isinstance(node, core.Named):
            return self.thing(node.body, env)
        if isinstance(node, core.Name):
            return env[node.name]
        source = self.thing(node.source, env)  # type: ignore[attr-defined]
        if source is None:
            return None
        if isinstance(node, core.Follow):
            target = self.project.references.get((source.path, node.relation))
            return self.project.things[target] if target else None
        assert isinstance(node, core.Slot)
        key = node.key
        if not isinstance(key, str):
            found = self.thing(key, env)
            if found is None:
                return None
            key = found.id
        path = f"{source.path}/{node.relation}/{key}" if source.path else f"{node.relation}/{key}"
        return self.project.things.get(path)

    def members(self, node: core.Node, env: Env) -> list[Thing]:
        if isinstance(node, core.Named):
            return self.members(node.body, env)
        assert isinstance(node, core.Members)
        source = self.thing(node.source, env)
        if source is None:
            return []
        relation = self.rulebook.vocabulary.kinds[source.kind].relations[node.relation]
        if relation.form != INVERSE:
            return [self.project.things[path] for path in self.project.lists[source.path, node.relation].members]
        return [thing for thing in self.project.of_kind(node.kind) if self.names(thing, relation.by, source.path)]

    def names(self, thing: Thing, relation: str, path: str) -> bool:
        listed = self.project.lists.get((thing.path, relation))
        return path in listed.members if listed else self.project.references.get((thing.path, relation)) == path

    # --- values -----------------------------------------------------------------------------------------

    def get(self, node: core.Get, env: Env) -> Any:
        thing = self.thing(node.source, env)
        kind, _, name = node.fact.partition(".")
        fact = self.rulebook.vocabulary.kinds[kind].facts[name]
        if thing is None:
            if not fact.when_absent:
                return None
            return fact.when_absent == "true" if fact.sort == "yes-no" else fact.when_absent
        modes = self.project.by_mode.get((thing.path, name))
        given = modes.get(self.mode) if modes is not None else self.project.facts.get((thing.path, name))
        if given is not None:
            return _plain(given.value)
        derivation = self.rulebook.derivations.get(node.derived)
        if derivation is None:
            return None
        inner: Env = {"building": self.project.things[""]}
        path: str | None = thing.path
        while path:
            inner[self.project.things[path].kind] = self.project.things[path]
            path = self.project.owners.get(path)
        return self.read(derivation.node, inner)

    def parameter(self, node: core.Parameter, env: Env) -> Any:
        value = self.rulebook.parameters[node.key].value
        if isinstance(value, Choice):
            return OneOf(value.options)
        if isinstance(value, Interval):
            return Number(value.low, value.system, value.also, value.also_system)
        return _plain(value)

    def arithmetic(self, node: core.Arithmetic, env: Env) -> Any:
        a, b = self.read(node.left, env), self.read(node.right, env)
        if a is None or b is None or (node.operator == "/" and b.value == 0):
            return None
        value = {"+": lambda: a.value + b.value, "-": lambda: a.value - b.value,
                 "*": lambda: a.value * b.value, "/": lambda: a.value / b.value}[node.operator]()  # fmt: skip
        return Number(value, _joint([a, b]))

    def function(self, node: core.Function, env: Env) -> Any:
        found = [self.read(argument, env) for argument in node.arguments]
        if None in found:
            return None
        chosen = {"min": min, "max": max, "ceil": math.ceil, "floor": math.floor, "abs": abs}[node.name](
            *(number.value for number in found)
        )
        return Number(float(chosen), _joint(found))

    def compute(self, node: core.Compute, env: Env) -> Any:
        given: dict[str, Any] = {}
        found: list[Any] = []
        for name, argument in node.arguments:
            if isinstance(argument, core.Listing):
                inner = [{**env, argument.variable: member} for member in self.members(argument.members, env)]
                kept = [(self.read(argument.where, each), each) for each in inner]
                if any(where is None for where, _ in kept):
                    return None
                numbers = [self.read(argument.body, each) for where, each in kept if where]
                given[name] = [number.value for number in numbers if number is not None]
                found += numbers
            else:
                number = self.read(argument, env)
                found.append(number)
                kelvin = computation_named(node.name).argument(name).dimension == "temperature"
                given[name] = number.value + 273.15 * kelvin if number is not None else None
        if None in found:
            return None
        try:
            return Number(evaluate(node.name, given), _joint(found))
        except ValueError:
            return None

    def cases(self, node: core.Cases, env: Env) -> Any:
        for when, body in node.cases:
            truth = self.read(when, env)
            if truth is None:
                return None
            if truth:
                return self.read(body, env)
        return self.read(node.otherwise, env) if node.otherwise is not None else None

    def lookup(self, node: core.Lookup, env: Env) -> Any:
        table = self.rulebook.tables[node.table]
        keys = [self.read(key, env) for key in node.keys]
        if None in keys:
            return None
        asked = [(at, column.banded) for at, column in enumerate(table.columns) if column.key]
        column = next(at for at, each in enumerate(table.columns) if each.name == node.column)
        for row in table.rows.values():
            if all(_meets(row[at], key, banded) for (at, banded), key in zip(asked, keys, strict=True)):
                return _plain(row[column])
        return None

    # --- truths -----------------------------------------------------------------------------------------

    def compare(self, node: core.Compare, env: Env) -> Any:
        a, b = self.read(node.left, env), self.read(node.right, env)
        if a is None or b is None:
            return None
        x = a.also if a.also is not None and a.also_system == b.system else a.value
        y = b.also if b.also is not None and b.also_system == a.system else b.value
        same = math.isclose(x, y, rel_tol=1e-9, abs_tol=0.0)
        return {"<=": x < y or same, "<": x < y and not same, ">=": x > y or same, ">": x > y and not same,
                "==": same, "!=": not same}[node.operator]  # fmt: skip

    def among(self, node: core.Belongs, env: Env) -> Any:
        value, options = self.read(node.value, env), self.read(node.options, env)
        return None if value is None else value in options.options

    def overlaps(self, node: core.Overlaps, env: Env) -> Any:
        value = self.read(node.value, env)
        return None if value is None else bool(value & self.read(node.options, env).options)

    def includes(self, node: core.Includes, env: Env) -> Any:
        value = self.read(node.value, env)
        return None if value is None else self.read(node.options, env).options <= value

    def same(self, node: core.SameChoice | core.SameText, env: Env) -> Any:
        a, b = self.read(node.left, env), self.read(node.right, env)
        if a is None or b is None:
            return None
        if isinstance(node, core.SameText):
            a, b = (" ".join(text.casefold().split()).rstrip(" .!") for text in (a, b))
        return a == b

    def same_thing(self, node: core.SameThing, env: Env) -> Any:
        a, b = self.thing(node.left, env), self.thing(node.right, env)
        return a is not None and b is not None and a.path == b.path

    def quantified(self, node: core.Quantified, env: Env) -> Any:
        rows = []
        for member in self.members(node.members, env):
            inner = {**env, node.variable: member}
            rows.append((self.read(node.where, inner), inner))
        if node.quantifier in ("count", "sum"):
            if any(where is None for where, _ in rows):
                return None
            kept = [inner for where, inner in rows if where]
            if node.quantifier == "count":
                return Number(float(len(kept)))
            found = [self.read(node.body, inner) for inner in kept]
            return None if None in found else Number(math.fsum(n.value for n in found), _joint(found))
        bodies = [(where, self.read(node.body, inner)) for where, inner in rows]
        if node.quantifier == "any":
            return _or([_and([where, body]) for where, body in bodies])
        truth = _and([_or([_not(where), body]) for where, body in bodies])
        nothing = node.quantifier == "all" and truth is True and not any(where is True for where, _ in bodies)
        return None if nothing else truth


def _joint(numbers: list[Any]) -> str | None:
    systems = {number.system for number in numbers if number.system}
    return systems.pop() if len(systems) == 1 else None


def _meets(cell: Any, key: Any, banded: bool) -> bool:
    """Whether a key is among the options of a cell, or its number, or up to it."""
    if isinstance(cell, Choice):
        return key in cell.options
    near = abs(key.value - cell.low) <= 1e-9 * max(abs(key.value), abs(cell.low))
    return near or (banded and key.value < cell.low)


def _plain(value: Any) -> Any:
    if isinstance(value, Interval):
        return Number(value.low, value.system)
    if isinstance(value, Choice):
        return next(iter(value.options))
    if isinstance(value, Choices):
        return value.sure
    return value.value if isinstance(value, Text) else value


_READ: dict[type[core.Node], Callable[..., Any]] = {
    core.Labelled: lambda reader, node, env: reader.read(node.body, env),
    core.Named: lambda reader, node, env: reader.read(node.body, env),
    core.Unverified: lambda reader, node, env: reader.read(node.body, env),
    core.Constant: lambda reader, node, env: node.truth,
    core.Options: lambda reader, node, env: OneOf(node.options),
    core.Not: lambda reader, node, env: _not(reader.read(node.body, env)),
    core.And: lambda reader, node, env: _and([reader.read(part, env) for part in node.parts]),
    core.Or: lambda reader, node, env: _or([reader.read(part, env) for part in node.parts]),
    core.When: lambda reader, node, env: _or([_not(reader.read(node.where, env)), reader.read(node.body, env)]),
    core.Holds: lambda reader, node, env: reader.holds(reader.rulebook.provisions[node.arrangement], env),
    core.Get: PlainReader.get,
    core.Parameter: PlainReader.parameter,
    core.Arithmetic: PlainReader.arithmetic,
    core.Function: PlainReader.function,
    core.Cases: PlainReader.cases,
    core.Lookup: PlainReader.lookup,
    core.Anything: lambda reader, node, env: None,
    core.Assuming: lambda reader, node, env: (
        reader.read(node.body, env) if reader.read(node.assumption, env) is True else None
    ),
    core.Compute: PlainReader.compute,
    core.Compare: PlainReader.compare,
    core.Belongs: PlainReader.among,
    core.Overlaps: PlainReader.overlaps,
    core.Includes: PlainReader.includes,
    core.SameChoice: PlainReader.same,
    core.SameText: PlainReader.same,
    core.SameThing: PlainReader.same_thing,
    core.Quantified: PlainReader.quantified,
}
