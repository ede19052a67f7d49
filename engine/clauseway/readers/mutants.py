"""Every small wrong version of a resolved rulebook, each under an id that stays the same while the rule does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from clauseway.language import core
from clauseway.language.possible import Choice, Interval
from clauseway.law.link import asking, holding
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import ARRANGEMENT, Assumption, Condition, Derivation, Parameter, Provision, Table
from clauseway.readers.mutate_terms import named_in, variants, with_named
from clauseway.readers.mutate_values import tables_near, values_near

SAME = "the core form stays the same"
UNREAD = "no test of this edition reads it"
NEVER_COMPARED = "it is read in computations only, which use the first printed number"


@dataclass(frozen=True, slots=True)
class Mutant:
    """A rulebook with one mistake.

    `id` names provision, part and mistake; `owner` is the provision, `part` the condition, parameter, derivation or
    table that changed (the provision where the change may reach all its conditions). `equivalent` says why no example
    can notice it, where that can be seen from the rule itself.
    """

    id: str
    owner: str
    part: str
    rulebook: Callable[[], Rulebook]
    equivalent: str = ""


def mutants_of(rulebook: Rulebook, name: str) -> Iterator[Mutant]:
    """All mutants of the provision, derivation or table called `name`, in the order of its parts.

    Raises:
        KeyError: for a name that the rulebook does not have.
    """
    seen: Counter[str] = Counter()
    for mutant in _mutants(rulebook, name):
        seen[mutant.id] += 1
        again = f" ({seen[mutant.id]})" if seen[mutant.id] > 1 else ""
        yield replace(mutant, id=mutant.id + again)


def names_in(rulebook: Rulebook, code: str) -> list[str]:
    """Everything of a code that can be mutated, by name."""
    names = [provision.name for provision in rulebook.provisions.values() if provision.code == code]
    names += [derivation.name for derivation in rulebook.derivations.values() if derivation.code == code]
    return sorted([*names, *(table.id for table in rulebook.tables.values() if table.code == code)])


def _mutants(rulebook: Rulebook, name: str) -> Iterator[Mutant]:
    if name in rulebook.tables:
        yield from _of_table(rulebook, rulebook.tables[name])
        return
    if name in rulebook.derivations:
        derivation = rulebook.derivations[name]
        roots = [derivation.node]
        yield from _parameters(rulebook, name, roots)
        yield from _of_derivation(rulebook, derivation)
        return
    provision = rulebook.provisions[name]
    yield from _parameters(rulebook, name, _roots(provision))
    yield from _of_provision(rulebook, provision)


def _with(rulebook: Rulebook, **changes: object) -> Callable[[], Rulebook]:
    return lambda: replace(rulebook, **changes)  # type: ignore[arg-type]


# --- parameters -----------------------------------------------------------------------------------------


def _parameters(rulebook: Rulebook, name: str, roots: list[core.Node]) -> Iterator[Mutant]:
    nodes = [part for root in roots for part in core.walk(root)]
    read = {part.key for part in nodes if isinstance(part, core.Parameter)}
    compared = {
        side.key
        for part in nodes
        if isinstance(part, core.Compare)
        for side in map(_value, (part.left, part.right))
        if isinstance(side, core.Parameter)
    }
    for key, parameter in sorted(rulebook.parameters.items()):
        if key.rpartition("/")[0] != name:
            continue
        for what, changed in values_near(parameter, rulebook.vocabulary):
            why = "" if key in read else UNREAD
            if changed.value == parameter.value:
                why = SAME
            elif not why and key not in compared and _only_second(parameter, changed):
                why = NEVER_COMPARED
            parameters = {**rulebook.parameters, key: changed}
            identity = f"{name}/parameters/{key.rpartition('/')[2]} -- {what}"
            yield Mutant(identity, name, key, _with(rulebook, parameters=parameters), why)


def _only_second(parameter: Parameter, changed: Parameter) -> bool:
    one, other = parameter.value, changed.value
    return isinstance(one, Interval) and isinstance(other, Interval) and one.low == other.low


def _value(node: core.Node) -> core.Node:
    while isinstance(node, core.Named | core.Labelled):
        node = node.body
    return node


# --- tables ---------------------------------------------------------------------------------------------


def _of_table(rulebook: Rulebook, table: Table) -> Iterator[Mutant]:
    derived = [derivation.node for derivation in rulebook.derivations.values()]
    asked = [root for provision in rulebook.provisions.values() for root in _roots(provision)]
    nodes = [part for root in derived + asked for part in core.walk(root)]
    lookups = {part for part in nodes if isinstance(part, core.Lookup) and part.table == table.id}
    for row, column, what, changed in tables_near(table):
        why = SAME if changed == table else ""
        if not why and column and not any(_may_read(table, lookup, row, column) for lookup in lookups):
            why = UNREAD
        tables = {**rulebook.tables, table.id: changed}
        at = f"{row}/{column}" if column else row
        yield Mutant(f"{table.id}/rows/{at} -- {what}", table.id, table.id, _with(rulebook, tables=tables), why)


def _may_read(table: Table, lookup: core.Lookup, row: str, column: str) -> bool:
    """Whether a lookup may come to a cell: its column or one of its keys, in a row that its fixed keys do not bar."""
    keys = [number for number, declared in enumerate(table.columns) if declared.key]
    if column != lookup.column and column not in [table.columns[number].name for number in keys]:
        return False
    for number, key in zip(keys, lookup.keys, strict=True):
        cell = table.rows[row][number]
        if isinstance(key, core.Options) and isinstance(cell, Choice) and not key.options & cell.options:
            return False
    return True


# --- provisions and derivations -------------------------------------------------------------------------


def _roots(provision: Provision) -> list[core.Node]:
    conditions = provision.permitted + provision.conditions
    return [
        provision.applies,
        provision.recognised,
        *(assumption.node for assumption in provision.assumptions),
        *(condition.own for condition in conditions),
    ]


def _of_derivation(rulebook: Rulebook, derivation: Derivation) -> Iterator[Mutant]:
    def mutant(what: str, node: core.Node) -> Mutant:
        derivations = {**rulebook.derivations, derivation.name: replace(derivation, node=node)}
        why = SAME if node == derivation.node else ""
        identity = f"{derivation.name} -- {what}"
        return Mutant(identity, derivation.name, derivation.name, _with(rulebook, derivations=derivations), why)

    for variant in variants(derivation.node, rulebook.vocabulary):
        yield mutant(variant.what, variant.node)
    for named in named_in([derivation.node]):
        for variant in variants(named.body, rulebook.vocabulary):
            body = with_named(derivation.node, named, replace(named, body=variant.node))
            yield mutant(f"in {named.name}: {variant.what}", body)


def _of_provision(rulebook: Rulebook, provision: Provision) -> Iterator[Mutant]:
    def mutant(label: str, what: str, part: str, changed: Provision) -> Mutant:
        return Mutant(
            f"{provision.name}/{label} -- {what}",
            provision.name,
            part,
            lambda: with_provision(rulebook, changed),
            SAME if changed == provision else "",
        )

    name, vocabulary = provision.name, rulebook.vocabulary
    for field, node in (("applies", provision.applies), ("recognised", provision.recognised)):
        if node == core.TRUE:
            continue
        if not isinstance(node, core.And):
            yield mutant(field, "left out", name, _replaced(provision, field, core.TRUE))
        for variant in variants(node, vocabulary):
            yield mutant(field, variant.what, name, _replaced(provision, field, variant.node))
    for assumption in provision.assumptions:
        label = f"assumes/{assumption.label}"
        rest = tuple(other for other in provision.assumptions if other is not assumption)
        yield mutant(label, "left out", name, replace(provision, assumptions=rest))
        for variant in variants(assumption.node, vocabulary):
            yield mutant(label, variant.what, name, _assuming(provision, assumption, variant.node))
    for condition in provision.permitted + provision.conditions:
        part = f"{name}/{condition.label}"
        if condition in provision.permitted:
            yield mutant(condition.label, "left out", part, _asking(provision, condition, core.TRUE))
        for variant in variants(condition.own, vocabulary):
            label = variant.label or condition.label
            yield mutant(label, variant.what, part, _asking(provision, condition, variant.node))
    for named in named_in(_roots(provision)):
        for variant in variants(named.body, vocabulary):
            changed = _renamed(provision, named, replace(named, body=variant.node))
            yield mutant(f"let/{named.name}", variant.what, name, changed)


def _replaced(provision: Provision, field: str, node: core.Node) -> Provision:
    return replace(provision, applies=node) if field == "applies" else replace(provision, recognised=node)


def _assuming(provision: Provision, assumption: Assumption, node: core.Node) -> Provision:
    changed = tuple(replace(a, node=node) if a is assumption else a for a in provision.assumptions)
    return replace(provision, assumptions=changed)


def _asking(provision: Provision, condition: Condition, own: core.Node) -> Provision:
    changed = asking(condition, own, condition.excused_by)

    def among(conditions: Iterable[Condition]) -> tuple[Condition, ...]:
        return tuple(changed if other is condition else other for other in conditions)

    return replace(provision, permitted=among(provision.permitted), conditions=among(provision.conditions))


def _renamed(provision: Provision, old: core.Named, new: core.Named) -> Provision:
    """The provision with a named sub-term changed wherever it is used."""

    def among(conditions: Iterable[Condition]) -> tuple[Condition, ...]:
        return tuple(asking(c, with_named(c.own, old, new), c.excused_by) for c in conditions)

    return replace(
        provision,
        applies=with_named(provision.applies, old, new),
        recognised=with_named(provision.recognised, old, new),
        assumptions=tuple(replace(a, node=with_named(a.node, old, new)) for a in provision.assumptions),
        permitted=among(provision.permitted),
        conditions=among(provision.conditions),
    )


def with_provision(rulebook: Rulebook, provision: Provision) -> Rulebook:
    """The rulebook with another version of one of its provisions, linked."""
    provisions: Mapping[str, Provision] = {**rulebook.provisions, provision.name: provision}
    holds = rulebook.holds
    if provision.kind == ARRANGEMENT:
        holds = {**holds, provision.name: holding(provision, rulebook.parameters)}
    return replace(rulebook, provisions=provisions, holds=holds)
