"""What a provision means in one edition, as a short digest: a change of meaning is another digest.

Meaning is what decides, and what is cited for it: the core form of scope, recognition, assumptions, permissions and
conditions; what is excused and opposed; the values; sections, items and how each is known; and the labels by which
findings are named. Not meaning: titles, sentences, remedies, notes, comments, examples, places in files, the order of
conditions, the names of `let`, how a number is spelt (`34 in`, `2'-10"`), which other provision computes a fact, and
the members of a value list (save those in the cells of a table). A rule that is written in another form, such as
`a <= b` for `b >= a`, counts as changed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from clauseway.language import core
from clauseway.law import codec
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Citation, Condition, Derivation, Parameter, Provision, Table

_LENGTH = 16


def meanings(rulebook: Rulebook, code: str) -> dict[str, str]:
    """The digest of each provision, derivation and table of a code, by its id, in the edition that is resolved."""
    found: dict[str, str] = {}
    values: dict[str, list[Parameter]] = {}
    for key, value in rulebook.parameters.items():
        values.setdefault(key.partition("/")[0], []).append(value)
    for provision in rulebook.provisions.values():
        if provision.code == code:
            found[provision.id] = _digest(_provision(provision), provision.name, values.get(provision.name, []))
    for derivation in rulebook.derivations.values():
        if derivation.code == code:
            name = derivation.name
            found[derivation.id] = _digest(_derivation(derivation), name, values.get(name, []))
    for table in rulebook.tables.values():
        if table.code == code:
            found[table.id.removeprefix(f"{code}.")] = _digest(_table(table), table.id, [])
    return found


def _digest(meaning: Mapping[str, object], name: str, values: Iterable[Parameter]) -> str:
    whole = {**meaning, "values": {value.key: _value(value) for value in values}}
    # A provision speaks of itself without its name, so that a new name alone is no new meaning.
    text = codec.to_json(_sorted(whole)).replace(f'"{name}/', '"/').replace(f'"{name}"', '"/"')
    return codec.digest(text).partition(":")[2][:_LENGTH]


def _sorted(value: object) -> object:
    """Maps by their keys, so that the order in which things are written is no part of a meaning."""
    if isinstance(value, Mapping):
        return {key: _sorted(value[key]) for key in sorted(value)}
    return value


def _provision(provision: Provision) -> dict[str, object]:
    return {
        "kind": provision.kind,
        "subject": provision.subject,
        "citation": _citation(provision.citation),
        "applies": bare(provision.applies),
        "recognised": bare(provision.recognised),
        "assumes": {assumption.label: bare(assumption.node) for assumption in provision.assumptions},
        "permitted": {condition.label: _condition(condition) for condition in provision.permitted},
        "conditions": {condition.label: _condition(condition) for condition in provision.conditions},
        "excuses": tuple(sorted(provision.excuses)),
    }


def _condition(condition: Condition) -> dict[str, object]:
    return {
        "own": bare(condition.own),
        "form": condition.form,
        "citation": _citation(condition.line.citation),
        "lines": {label: _citation(line.citation) for label, line in condition.lines.items()},
        "opposes": tuple(sorted(name for name, _ in condition.opposes)),
    }


def _derivation(derivation: Derivation) -> dict[str, object]:
    return {
        "gives": derivation.fact,
        "agrees": derivation.agrees,
        "citation": _citation(derivation.citation),
        "value": bare(derivation.node),
    }


def _table(table: Table) -> dict[str, object]:
    names = [column.name for column in table.columns]
    return {
        "citation": _citation(table.citation),
        "columns": {column.name: (column.form, column.key, column.banded) for column in table.columns},
        "rows": {row: dict(zip(names, cells, strict=True)) for row, cells in table.rows.items()},
    }


def _value(parameter: Parameter) -> dict[str, object]:
    options = parameter.form.startswith("options:")
    value = tuple(sorted(parameter.printed)) if options else parameter.value
    return {"form": parameter.form, "value": value, "citation": _citation(parameter.citation)}


def _citation(citation: Citation) -> tuple[str, ...]:
    known = (citation.basis.kind, citation.basis.source, citation.section_basis.kind, citation.section_basis.source)
    return (citation.section, citation.item, *known, citation.if_met, citation.if_unmet)


def bare(node: core.Node) -> core.Node:
    """A term without the names of its sub-terms and without what other files make of its words."""
    if isinstance(node, core.Named):
        return bare(node.body)
    inner = core.rebuilt(node, bare)
    if isinstance(inner, core.Get):
        return replace(inner, derived="")
    if isinstance(inner, core.Options):
        return replace(inner, options=frozenset())
    return inner
