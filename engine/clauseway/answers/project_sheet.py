"""A calculation sheet of a whole project: what engineering practice computes of each door and supply, laid out.

Nothing is computed here that the rules do not compute: each line stands under the condition or the derived fact that
uses it. What is not described stays undetermined, with what is missing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from clauseway.answers import finding as F
from clauseway.answers.check import bindings, check, modes_of
from clauseway.answers.wording import fact_label, form_of, value_in_words
from clauseway.case.things import Project, Thing
from clauseway.compute.registry import computation_named
from clauseway.language import core
from clauseway.language.possible import Interval, is_decided
from clauseway.law.computations import printed_form
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Derivation
from clauseway.model.vocabulary import SUBJECTS
from clauseway.readers.computed import given_of
from clauseway.readers.decide import Decider, Env

COMPUTED = "computed"


@dataclass(frozen=True, slots=True)
class Step:
    """One computation: its formula, the numbers put in where all are known, and the result, in SI at its ends."""

    name: str
    title: str
    formula: str
    numbers: str
    result: str
    low: float
    high: float
    unit: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Item:
    """A condition or a derived fact of one subject, with the steps behind it.

    `verdict` is that of a finding, or `computed` for a fact that decides nothing.
    """

    subject: F.Subject
    id: str
    title: str
    verdict: str
    says: str
    remedy: str
    steps: tuple[Step, ...]
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """The items of one door or supply."""

    kind: str
    id: str
    title: str
    works: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class ProjectSheet:
    """The pages of a project, doors first."""

    project: str
    file: str
    digest: str
    pages: tuple[Page, ...]


def project_sheet(rulebook: Rulebook, project: Project, only: Sequence[str] = ()) -> ProjectSheet:
    """The sheet of every opening and supply, or of the openings whose ids are in `only`."""
    report = check(rulebook, project, only=only)
    decider = Decider(rulebook, project, modes_of(rulebook, project)[0])
    pages = [_page(decider, answer) for answer in report.answers if answer.kind in ("opening", "supply")]
    return ProjectSheet(report.project, report.file, report.digest, tuple(page for page in pages if page.items))


def _page(decider: Decider, answer: F.Answer) -> Page:
    things = decider.project.of_kind(answer.kind)
    thing = next(each for each in things if each.id == answer.id)
    items = [*_conditions(decider, thing, answer), *_derived(decider, thing)]
    items.sort(key=lambda item: (item.subject.path, item.subject.passage, item.id))
    return Page(answer.kind, answer.id, answer.title, answer.works, tuple(items))


def _conditions(decider: Decider, thing: Thing, answer: F.Answer) -> Iterator[Item]:
    """The findings of practice that ask something, each once."""
    seen = set()
    for finding in answer.findings:
        key = (finding.id, finding.subject)
        asked = finding.code in decider.rulebook.practice and finding.verdict != F.NOT_APPLICABLE
        if not asked or key in seen:
            continue
        seen.add(key)
        name, _, label = finding.id.rpartition("/")
        provision = decider.rulebook.provisions[name]
        node = next(condition.own for condition in provision.conditions if condition.label == label)
        start = thing if thing.kind in SUBJECTS[provision.subject] else decider.project.things[finding.subject.path]
        env = next(b.env for b in bindings(decider, provision.subject, start) if b.subject == finding.subject)
        yield Item(
            finding.subject,
            finding.id,
            finding.title,
            finding.verdict,
            finding.says,
            finding.remedy,
            tuple(_steps(decider, node, env)),
            tuple(dict.fromkeys(asked.fact for asked in finding.missing)),
        )


def _derived(decider: Decider, thing: Thing) -> Iterator[Item]:
    """The facts that practice computes of a thing and of what belongs to it."""
    for derivation in decider.rulebook.derivations.values():
        computes = any(isinstance(node, core.Compute) for node in core.walk(derivation.node))
        if derivation.code not in decider.rulebook.practice or not computes:
            continue
        kind = derivation.fact.partition(".")[0]
        for part in decider.project.part(thing.path).things:
            if part.kind == kind:
                yield _fact(decider, derivation, part)


def _fact(decider: Decider, derivation: Derivation, part: Thing) -> Item:
    value, gaps = decider.derived(part, derivation.name)
    fact = decider.vocabulary.fact(derivation.fact)
    assert fact is not None
    words = value_in_words(value, form_of(fact), decider.vocabulary)
    decided = is_decided(value)
    return Item(
        F.Subject(part.kind, part.path),
        derivation.name,
        derivation.title,
        COMPUTED if decided else F.UNDETERMINED,
        f"{fact.about.rstrip('.')}: {words}." if decided else f"{derivation.title}: not known.",
        "",
        tuple(_steps(decider, derivation.node, decider.around(part))),
        () if decided else tuple(sorted({fact_label(missing) for missing in gaps})),
    )


def _steps(decider: Decider, node: core.Node, env: Env) -> Iterator[Step]:
    """The computations in a term, innermost last, each once; those inside a list are part of what takes the list."""
    seen: set[core.Node] = set()
    for part in _outside_lists(node):
        if isinstance(part, core.Compute) and part not in seen:
            seen.add(part)
            yield _step(decider, part, env)


def _outside_lists(node: core.Node) -> Iterator[core.Node]:
    yield node
    if not isinstance(node, core.Quantified | core.Listing):
        for child in core.children(node):
            yield from _outside_lists(child)


def _step(decider: Decider, node: core.Compute, env: Env) -> Step:
    record = computation_named(node.name)
    value, _ = decider.value(node, env)
    assert isinstance(value, Interval)
    numbers = ""
    if value.is_point:
        numbers = record.formula_with_numbers(given_of(record, decider.spans(node, env)[0]))
    return Step(
        record.name,
        record.title,
        f"{record.result.symbol} = {record.formula_with_symbols()}",
        numbers,
        value_in_words(value, printed_form(node.name), decider.vocabulary),
        value.low,
        value.high,
        record.result.unit,
        tuple(str(source) for source in record.sources),
    )
