"""What an id means: a provision, condition, parameter, fact or clause, in one text for terminal and site."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from clauseway.answers.address import page_of
from clauseway.answers.wording import joined
from clauseway.language import core
from clauseway.language.written import written
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Change, Citation, Condition, Line, Parameter, Provision, Template
from clauseway.model.vocabulary import Fact, Kind
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway.text.quantity import format_quantity


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with its lines."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Explanation:
    """What an id means; the order of the sections is fixed."""

    id: str
    kind: str
    title: str
    sections: tuple[Section, ...]


def explain(rulebook: Rulebook, identity: str) -> Explanation:
    """The explanation of an id: `ibc.sensor-release`, `sensor-release/listing`, `lock.kind`, `IBC 2021 1010.2.12`.

    Raises:
        ClausewayError: for an id that means nothing here, with the nearest.
    """
    from clauseway.answers.explain_table import explain_table

    named = rulebook.current(identity.strip())
    for find in (_provision, _condition, _parameter, _fact, _kind, _clause, _computation, explain_table):
        found = find(rulebook, named)
        if found is not None:
            return found
    known = sorted(every_id(rulebook))
    short = [name.partition(".")[2] for name in known if "." in name and name.partition(".")[0] in _codes(rulebook)]
    raise ClausewayError(
        Problem(
            NOWHERE,
            f"nothing is called {identity}",
            "a provision, condition, parameter, fact or section of " + one_of([str(code) for code in rulebook.adopted]),
            nearest(identity, [*known, *short]) or "",
        )
    )


def every_id(rulebook: Rulebook) -> Iterator[str]:
    """Each id that `explain` knows, sections aside."""
    for provision in rulebook.provisions.values():
        yield provision.name
        for condition in provision.permitted + provision.conditions:
            yield f"{provision.name}/{condition.label}"
    yield from rulebook.parameters
    yield from rulebook.vocabulary.fact_names
    yield from rulebook.vocabulary.kinds


def _codes(rulebook: Rulebook) -> set[str]:
    return {code.code for code in rulebook.codes}


def _named(identity: str, names: Callable[[], list[str]]) -> str | None:
    """The full id for one that may leave out its code."""
    known = names()
    if identity in known:
        return identity
    full = [name for name in known if name.partition(".")[2] == identity]
    return full[0] if len(full) == 1 else None


def cite(citation: Citation) -> str:
    """A citation in full, with how its number and its substance are known."""
    item = f", {citation.item}" if citation.item[:1].isalpha() else f", item {citation.item}" if citation.item else ""
    bases = f"substance: {known_by(citation)}"
    if citation.section_basis != citation.basis:
        bases += f"; number: {citation.section_basis.kind}"
    return f"{citation.code.upper()} {citation.edition} {citation.section}{item} ({bases})"


def known_by(citation: Citation) -> str:
    """How the substance of a citation is known."""
    basis = citation.basis
    return f"{basis.kind}, {basis.source}" if basis.source else basis.kind


def spoken(template: Template, rulebook: Rulebook) -> str:
    """A sentence with its required values, and the names of the facts where measured values will stand."""
    words = []
    for part in template:
        if isinstance(part, str):
            words.append(part)
        elif isinstance(part.node, core.Parameter):
            words.append(value_of(rulebook.parameters[part.node.key]))
        else:
            words.append(f"<{part.written}>")
    return "".join(words)


def value_of(parameter: Parameter) -> str:
    """A parameter as printed."""
    if parameter.form.startswith("options:"):
        return joined(list(parameter.printed), "or") or "none"
    first, *rest = parameter.printed
    return f"{first} ({rest[0]})" if rest else first


def printed_parameters(rulebook: Rulebook) -> dict[str, str]:
    """Each parameter's key with its printed value."""
    return {key: value_of(parameter) for key, parameter in rulebook.parameters.items()}


def _provision(rulebook: Rulebook, identity: str) -> Explanation | None:
    name = _named(identity, lambda: list(rulebook.provisions))
    if name is None:
        return None
    provision = rulebook.provisions[name]
    printed = printed_parameters(rulebook)
    sections = [Section("What it is", (provision.about, f"About a {provision.subject}; {provision.kind}."))]
    if provision.applies != core.TRUE:
        sections.append(Section("Where it applies", (written(provision.applies, printed),)))
    if provision.permitted:
        sections.append(Section("Where it is permitted", tuple(_conditions(rulebook, provision.permitted))))
    sections.append(Section("What it asks", tuple(_conditions(rulebook, provision.conditions))))
    if provision.excuses:
        sections.append(Section("What it excuses", provision.excuses))
    own = {key: p for key, p in rulebook.parameters.items() if key.startswith(f"{name}/")}
    if own:
        sections.append(Section("Values", tuple(_parameter_line(parameter) for parameter in own.values())))
    sections.append(Section("Facts it reads", tuple(facts_read(provision))))
    computing = computations_used(_roots(provision))
    if computing:
        sections.append(Section("Computations it uses", computing))
    sections.append(citation_section(rulebook, provision.citation))
    sections.append(Section("Page of the site", (page_of(name),)))
    if provision.history:
        sections.append(history(provision.history))
    return Explanation(name, provision.kind, provision.title, tuple(sections))


def _conditions(rulebook: Rulebook, conditions: tuple[Condition, ...]) -> Iterator[str]:
    for condition in conditions:
        item = condition.line.citation.item
        number = f" [{item}]" if item else ""
        yield f"{condition.label}{number}: {spoken(condition.line.asks, rulebook)}"


def _condition(rulebook: Rulebook, identity: str) -> Explanation | None:
    def names() -> list[str]:
        return [f"{p.name}/{c.label}" for p in rulebook.provisions.values() for c in p.permitted + p.conditions]

    name = _named(identity, names)
    if name is None:
        return None
    owner, _, label = name.partition("/")
    provision = rulebook.provisions[owner]
    condition = next(c for c in provision.permitted + provision.conditions if c.label == label)
    printed = printed_parameters(rulebook)
    line = condition.line
    computing = computations_used([condition.own])
    sections = [
        Section("What it asks", (spoken(line.asks, rulebook),)),
        Section("As a rule", (written(condition.own, printed),)),
    ]
    parts = tuple(
        f"{part.rpartition('/')[2]}: {spoken(inner.asks, rulebook) or written_part(condition, part, printed)}"
        for part, inner in condition.lines.items()
    )
    if parts:
        sections.append(Section("Its lines, alternatives and exceptions", parts))
    sections.append(Section("When it is not met", (spoken(line.unmet, rulebook), *_remedy(line, rulebook))))
    if condition.excused_by:
        sections.append(Section("Excused by", condition.excused_by))
    if computing:
        sections.append(Section("Computations it uses", computing))
    sections.append(Section("What a verdict proves", (_PROVES[line.citation.if_met], _PROVES[line.citation.if_unmet])))
    sections.append(citation_section(rulebook, line.citation))
    sections.append(Section("Page of the site", (page_of(name),)))
    if line.history:
        sections.append(history(line.history))
    return Explanation(name, "condition", f"{provision.title}: {label}", tuple(sections))


_PROVES = {
    "satisfies": "if_met: satisfies. Met, it satisfies its clause, which asks no more than this.",
    "contributes": "if_met: contributes. Met, it contributes to its clause, which asks other things as well.",
    "violates": "if_unmet: violates. Not met, its clause is violated, unless something excuses it.",
}


def written_part(condition: Condition, label: str, printed: dict[str, str]) -> str:
    """The rule text of a labelled part."""
    for node in core.walk(condition.own):
        if isinstance(node, core.Labelled) and node.label == label:
            return written(node.body, printed)
    return ""


def _remedy(line: Line, rulebook: Rulebook) -> tuple[str, ...]:
    text = spoken(line.remedy, rulebook)
    return (f"To do: {text}",) if text else ()


def _parameter_line(parameter: Parameter) -> str:
    name = parameter.key.rpartition("/")[2]
    return f"{name}: {value_of(parameter)} ({known_by(parameter.citation)})"


def _parameter(rulebook: Rulebook, identity: str) -> Explanation | None:
    name = _named(identity, lambda: list(rulebook.parameters))
    if name is None:
        return None
    parameter = rulebook.parameters[name]
    sections = [
        Section("Value", (value_of(parameter),)),
        *_readings(parameter),
        Section("Used by", tuple(users_of(rulebook, name))),
        citation_section(rulebook, parameter.citation),
    ]
    if parameter.history:
        sections.append(history(parameter.history))
    return Explanation(name, "parameter", name.rpartition("/")[2].replace("_", " "), tuple(sections))


def _readings(parameter: Parameter) -> Iterator[Section]:
    """What others give for it, where sources differ."""
    if parameter.readings:
        lines = (f"{each.value}: {each.says} ({each.basis.source or each.basis.kind})" for each in parameter.readings)
        yield Section("Sources differ", tuple(lines))


def users_of(rulebook: Rulebook, parameter: str) -> Iterator[str]:
    """The conditions that read a parameter."""
    for provision in rulebook.provisions.values():
        for condition in provision.permitted + provision.conditions:
            nodes = (provision.applies, condition.own)
            if any(isinstance(n, core.Parameter) and n.key == parameter for root in nodes for n in core.walk(root)):
                yield f"{provision.name}/{condition.label}"


def _fact(rulebook: Rulebook, identity: str) -> Explanation | None:
    fact = rulebook.vocabulary.fact(identity)
    if fact is None:
        return None
    sections = [
        Section("What it is", (fact.about,)),
        Section("To ask", (fact.ask,)),
        Section("May be", tuple(_answers(rulebook, fact))),
    ]
    chosen = f"the designer's choice ({fact.effort})" if fact.effort else "given by the building and its use"
    sections.append(Section("Whose to choose", (chosen,)))
    derived = rulebook.deriving(identity)
    if derived:
        computed = tuple(f"{d.name}: {written(d.node, printed_parameters(rulebook))}" for d in derived)
        sections.append(Section("Computed as", computed))
    sections.append(Section("Read by", tuple(readers_of(rulebook, identity)) or ("no condition of this rulebook",)))
    sections.append(Section("Declared", (str(fact.place),)))
    return Explanation(identity, "fact", fact.name.replace("_", " "), tuple(sections))


def _answers(rulebook: Rulebook, fact: Fact) -> Iterator[str]:
    if fact.sort in ("choice", "choices"):
        for value, listed in rulebook.vocabulary.lists[fact.values].values.items():
            yield f"{value}: {listed.about}" if listed.about else value
    elif fact.sort in ("yes-no", "approval"):
        yield "true or false"
    elif fact.sort == "quantity":
        low = "" if abs(fact.low) == float("inf") else f", from {format_quantity(fact.low, fact.unit, 'us')}"
        high = "" if abs(fact.high) == float("inf") else f", to {format_quantity(fact.high, fact.unit, 'us')}"
        yield f"a value with a unit of {fact.unit}{low}{high}"
    else:
        yield f"a number of {fact.noun}" if fact.sort == "count" else f"a {fact.sort}"


def readers_of(rulebook: Rulebook, fact: str) -> Iterator[str]:
    """The conditions that read a fact."""
    for provision in rulebook.provisions.values():
        scope = {n.fact for n in core.walk(provision.applies) if isinstance(n, core.Get)}
        for condition in provision.permitted + provision.conditions:
            own = {node.fact for node in core.walk(condition.own) if isinstance(node, core.Get)}
            if fact in own or fact in scope:
                yield f"{provision.name}/{condition.label}"


def _roots(provision: Provision) -> list[core.Node]:
    return [provision.applies, provision.recognised, *(c.own for c in provision.permitted + provision.conditions)]


def facts_read(provision: Provision) -> list[str]:
    """The facts that a provision reads, sorted."""
    return sorted({node.fact for root in _roots(provision) for node in core.walk(root) if isinstance(node, core.Get)})


def computations_used(roots: list[core.Node]) -> tuple[str, ...]:
    """The computations that terms use, with their formulas, sorted."""
    names = {node.name for root in roots for node in core.walk(root) if isinstance(node, core.Compute)}
    if not names:
        return ()
    from clauseway.compute.registry import computation_named

    records = [computation_named(name) for name in sorted(names)]
    return tuple(f"{record.name}: {record.title}, {record.formula_with_symbols()}" for record in records)


def _computation(rulebook: Rulebook, identity: str) -> Explanation | None:
    """A computation that these rules use."""
    users = [
        f"{provision.name}/{condition.label}"
        for provision in rulebook.provisions.values()
        for condition in provision.permitted + provision.conditions
        if any(isinstance(n, core.Compute) and n.name == identity for n in core.walk(condition.own))
    ]
    users += [
        derivation.name
        for derivation in rulebook.derivations.values()
        if any(isinstance(n, core.Compute) and n.name == identity for n in core.walk(derivation.node))
    ]
    if not users:
        return None
    from clauseway.compute.registry import computation_named

    record = computation_named(identity)
    takes = tuple(f"{a.name} ({a.symbol}): {a.meaning}, {a.span()}" for a in record.arguments)
    sections = [
        Section("Formula", (f"{record.result.symbol} = {record.formula_with_symbols()}",)),
        Section("What it takes", takes),
        Section("Used by", tuple(users)),
        Section("Source", tuple(str(source) for source in record.sources)),
    ]
    if record.assumptions:
        sections.append(Section("Assumes", record.assumptions))
    if record.caution:
        sections.append(Section("Caution", (record.caution,)))
    return Explanation(record.name, "computation", record.title, tuple(sections))


def _kind(rulebook: Rulebook, identity: str) -> Explanation | None:
    kind: Kind | None = rulebook.vocabulary.kinds.get(identity)
    if kind is None:
        return None
    facts = tuple(f"{kind.name}.{fact.name}: {fact.about}" for fact in kind.facts.values())
    relations = tuple(f"{relation.name}: {relation.about}" for relation in kind.relations.values())
    return Explanation(
        kind.name,
        "kind of thing",
        kind.title,
        (Section("What it is", (kind.about,)), Section("Leads to", relations), Section("Facts", facts)),
    )


def _clause(rulebook: Rulebook, identity: str) -> Explanation | None:
    """What is encoded of a section, written as `IBC 2021 1010.2.12` or as the section alone."""
    words = identity.replace("@", " ").replace("§", " ").split()
    section = words[-1] if words else ""
    if not section[:1].isdigit() or "." not in section:
        return None
    lines: list[str] = []
    for provision in rulebook.provisions.values():
        if words[:-1] and words[0].casefold() != provision.code:
            continue
        for condition in provision.permitted + provision.conditions:
            if condition.line.citation.section == section or provision.citation.section == section:
                lines.append(f"{provision.name}/{condition.label}: {spoken(condition.line.asks, rulebook)}")
    if not lines:
        return None
    return Explanation(identity, "clause", f"Section {section}", (Section("Encoded as", tuple(lines)),))


def citation_section(rulebook: Rulebook, citation: Citation) -> Section:
    """Where a thing stands, and how that is known."""
    lines = [cite(citation)]
    for basis in dict.fromkeys((citation.basis, citation.section_basis)):
        source = rulebook.sources.get(citation.code, {}).get(basis.source)
        if source:
            lines.append(f"{basis.source}: {source.get('title', '')}".rstrip(": "))
    return Section("Where it stands", tuple(lines))


def history(changes: tuple[Change, ...]) -> Section:
    """Who set a thing, from which day, and instead of what."""
    lines = []
    for c in changes:
        said = filter(None, (c.cite, c.direction, c.authority, f"from {c.since}" if c.since else ""))
        lines.append(f"{c.layer}: {c.verb}, {c.was} -> {c.now} ({', '.join(said)}; {c.place})")
    return Section("Amended", tuple(lines))
