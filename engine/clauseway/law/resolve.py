"""From codes and editions to one rulebook: pick the edition, lower, link, freeze."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from clauseway.law.aliases import aliases_of, current
from clauseway.law.elaborate import Scope, TableShape
from clauseway.law.kept import kept_for
from clauseway.law.layered import Layered, amended_problems, layered, vocabulary_with
from clauseway.law.laying import Terms, layers_named
from clauseway.law.library import Code, Library
from clauseway.law.link import link
from clauseway.law.lower import Context, lower_derivation, lower_provision, text_of
from clauseway.law.rulebook import CodeEdition, Rulebook
from clauseway.law.tables import lower_table
from clauseway.model.provision import ARRANGEMENT, DERIVATION, TABLE, Condition, Derivation, Parameter, Provision, Table
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway.text.source import Node


def parse_code(written: str, library: Library, place: Place = NOWHERE) -> tuple[Code, str]:
    """The code and edition that `ibc@2021` names, written at `place`.

    Raises:
        ClausewayError: for an unknown code or an edition it does not have, with what there is.
    """
    name, at, edition = written.partition("@")
    code = library.code(name, place)
    if not at:
        raise ClausewayError(
            Problem(place, f"{written} names no edition", one_of([f"{name}@{label}" for label in code.editions], 20))
        )
    if edition not in code.editions:
        raise ClausewayError(
            Problem(
                place,
                f"{code.title} has no edition {edition}",
                one_of(code.editions, 20),
                nearest(edition, code.editions) or "",
            )
        )
    return code, edition


def resolve(library: Library, codes: Sequence[str], layers: Sequence[str] = (), terms: Terms | None = None) -> Rulebook:
    """The rulebook of some codes in one edition each, such as `["ibc@2021"]`, with layers of amendments by name.

    `terms` says on which dates, for which authority and site the layers are laid.

    Raises:
        ClausewayError: for an unknown code or edition, two editions of one code, or rules that do not fit together.
    """
    if not codes:
        raise ClausewayError(Problem(NOWHERE, "no code is named", "at least one, such as ibc@2021"))
    wanted: dict[str, tuple[Code, str]] = {}
    for written in codes:
        code, edition = parse_code(written, library)
        if code.id in wanted and wanted[code.id][1] != edition:
            raise ClausewayError(
                Problem(
                    NOWHERE,
                    f"two editions of {code.id}: {wanted[code.id][1]} and {edition}",
                    "one edition of a code; check twice to compare",
                )
            )
        wanted[code.id] = (code, edition)
    for code in library.codes.values():
        if code.always:
            wanted.setdefault(code.id, (code, code.editions[-1]))
    terms = terms or Terms()
    amendments = layers_named(library.layers, layers, terms)
    for layer in amendments:
        speaks_of = text_of(layer, "code")
        if speaks_of not in wanted:
            raise ClausewayError(
                Problem(
                    layer.place,
                    f"the layer {text_of(layer, 'layer')} amends {speaks_of}, which is not checked",
                    one_of(sorted(wanted)),
                    nearest(speaks_of, wanted) or "",
                )
            )
    library = replace(library, vocabulary=vocabulary_with(library.vocabulary, amendments))
    found, problems = layered(library, wanted, amendments, terms)
    picked = {name: each.provisions for name, each in found.items()}
    problems += _derived_twice(picked)
    if problems:
        raise ClausewayError(problems)
    made: list[Provision] = []
    parameters: dict[str, Parameter] = {}
    derivations: dict[str, Derivation] = {}
    tables: dict[str, Table] = {}
    for name, each in found.items():
        code, edition = wanted[name]
        derived = _deriving(name, picked, library.codes)
        problems += _lower_code(library, code, edition, each, derived, made, parameters, derivations, tables)
    if problems:
        raise ClausewayError(problems)
    aliases = {
        f"{name}.{old}": f"{name}.{new}" for name, nodes in picked.items() for old, new in aliases_of(nodes).items()
    }
    made = [_under_current_names(provision, aliases) for provision in made]
    provisions, holds = link(made, parameters, derivations.values())
    return Rulebook(
        tuple(
            CodeEdition(code.id, code.title, edition, code.force, code.publisher)
            for code, edition in (wanted[name] for name in sorted(wanted))
        ),
        library.vocabulary,
        provisions,
        parameters,
        derivations,
        tables,
        holds,
        {name: each.sources.entries for name, each in sorted(found.items())},
        tuple(dict.fromkeys(text_of(layer, "layer") for layer in amendments)),
        aliases,
    )


def _under_current_names(provision: Provision, aliases: Mapping[str, str]) -> Provision:
    """The provision where what it excuses and opposes has the ids of today."""
    if not aliases:
        return provision

    def renamed(condition: Condition) -> Condition:
        return replace(condition, opposes=tuple((current(n, aliases, ()), why) for n, why in condition.opposes))

    return replace(
        provision,
        excuses=tuple(
            current(target, aliases, [provision.code]).removeprefix(f"{provision.code}.")
            for target in provision.excuses
        ),
        permitted=tuple(renamed(condition) for condition in provision.permitted),
        conditions=tuple(renamed(condition) for condition in provision.conditions),
    )


def _lower_code(
    library: Library,
    code: Code,
    edition: str,
    layered: Layered,
    derived: Mapping[str, str],
    made: list[Provision],
    parameters: dict[str, Parameter],
    derivations: dict[str, Derivation],
    tables: dict[str, Table],
) -> Iterable[Problem]:
    """Lower all provisions of a code into the collections; what is wrong comes back."""
    picked = layered.provisions
    arrangements = {
        name: text_of(node, "subject") for name, node in picked.items() if text_of(node, "kind") == ARRANGEMENT
    }
    scope = Scope(library.vocabulary, {}, arrangements, {}, code.id, derived=derived, aliases=aliases_of(picked))
    context = Context(library.vocabulary, code.id, edition, layered.sources, scope)
    problems: list[Problem] = []
    shapes: dict[str, TableShape] = {}
    for name, node in picked.items():
        if text_of(node, "kind") == TABLE:
            try:
                table, shapes[name] = lower_table(node, context)
                tables[table.id] = table
            except ClausewayError as error:
                problems.extend(amended_problems(node, error.problems))
    context = replace(context, scope=replace(scope, tables=shapes))
    kept = kept_for(context)
    for node in picked.values():
        kind = text_of(node, "kind")
        if kind == TABLE:
            continue
        try:
            if kind == DERIVATION:
                derivation, own = kept.made(node, lower_derivation)
                derivations[derivation.name] = derivation
                parameters.update(own)
            else:
                lowered = kept.made(node, lower_provision)
                made.append(lowered.provision)
                parameters.update(lowered.parameters)
        except ClausewayError as error:
            problems.extend(amended_problems(node, error.problems))
    return problems


def _derived_twice(picked: Mapping[str, Mapping[str, Node]]) -> Iterable[Problem]:
    """Facts that one code derives in two ways."""
    for nodes in picked.values():
        first: dict[str, Node] = {}
        for node in _derivations(nodes):
            fact = text_of(node, "gives")
            if fact in first:
                yield Problem(node.place, f"{fact} is derived already: {first[fact].place}", "one derivation")
            first.setdefault(fact, node)


def _derivations(picked: Mapping[str, Node]) -> list[Node]:
    return [node for node in picked.values() if text_of(node, "kind") == DERIVATION]


def _deriving(code: str, picked: Mapping[str, Mapping[str, Node]], codes: Mapping[str, Code]) -> Mapping[str, str]:
    """The derivation by which a code reads each derived fact: its own, else one that always speaks, else the only one.

    Where several other codes each have one, none is chosen for it, and the fact is known only where it is stated.
    """
    ways: dict[str, dict[str, str]] = {}
    for name, nodes in picked.items():
        for node in _derivations(nodes):
            ways.setdefault(text_of(node, "gives"), {})[name] = f"{name}.{text_of(node, 'id')}"
    chosen: dict[str, str] = {}
    for fact, by_code in ways.items():
        always = [by_code[name] for name in by_code if codes[name].always]
        only = list(by_code.values()) if len(by_code) == 1 else []
        found = [by_code[code]] if code in by_code else always or only
        if found:
            chosen[fact] = found[0]
    return chosen
