"""What each locking arrangement needs at an opening: what a designer has to build to, and what the building must have.

Nothing is listed a second time: the conditions of the arrangement are filled in by the search, and how far each value
may move is found by asking the same conditions again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from clauseway.answers.check import bindings, modes_of
from clauseway.answers.decide_condition import Bound, guarded_in
from clauseway.answers.finding import Asked, Subject
from clauseway.answers.strict import from_memory
from clauseway.answers.wording import fact_label, place_in_words, question, render
from clauseway.case.things import Listed, Project, Thing
from clauseway.design.candidates import Candidates, candidates_of
from clauseway.design.effort import WEIGHTS
from clauseway.design.fill import Filler, Term
from clauseway.design.region import Region, region_in_words, region_of
from clauseway.design.variant import AddThing, SetFact, Variant, forgetting
from clauseway.design.ways import Limits
from clauseway.language.possible import Value
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Citation, Condition, Provision
from clauseway.model.vocabulary import Fact
from clauseway.readers.collection import Gaps
from clauseway.readers.decide import Decider
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem

PERMITTED, DEPENDS, FORBIDDEN = "permitted", "depends", "not-permitted"
SATISFIED, PROVIDE, OPEN, REFUSED = "satisfied", "provide", "open", "refused"
KEPT = ("hardware", "construction")
"""Efforts of choices that are kept as described; cheaper ones are forgotten, and what they must be is found."""

IDENTITY = "kind"
"""The fact that says what a thing is: it is kept too, so that a described button stays a button."""


@dataclass(frozen=True, slots=True)
class BuildTo:
    """A value to build to."""

    path: str
    kind: str
    fact: str
    region: Region
    words: str
    effort: str


@dataclass(frozen=True, slots=True)
class Need:
    """One condition of an arrangement: satisfied, to be provided, open, or refused by what is given."""

    id: str
    standing: str
    asks: str
    citation: Citation
    build_to: tuple[BuildTo, ...]
    missing: tuple[Asked, ...]
    says: str
    remedy: str
    memory: bool


@dataclass(frozen=True, slots=True)
class Option:
    """One arrangement for one lock in one direction.

    `added` are the devices and signs that it needs besides those described; `filled` is a design that meets it.
    """

    id: str
    title: str
    subject: Subject
    standing: str
    citation: Citation
    needs: tuple[Need, ...]
    added: tuple[AddThing, ...]
    filled: Variant


@dataclass(frozen=True, slots=True)
class Needs:
    """The options of an opening, permitted before open before forbidden."""

    opening: str
    title: str
    options: tuple[Option, ...]


def needs(rulebook: Rulebook, project: Project, opening: str, *, accept_memory: bool = False, only: str = "") -> Needs:
    """The options of an opening by its path, such as `openings/d101`.

    An opening whose locks are not described yet is given one lock that holds every passage. `only` is the id of the
    arrangement to look at, all of them when empty.

    Raises:
        ClausewayError: when no arrangement is called `only`, with the nearest.
    """
    known = sorted({provision.id for provision in rulebook.arrangements})
    if only and only not in known:
        raise ClausewayError(
            Problem(Place(project.file), f"no arrangement {only}", one_of(known, 12), nearest(only, known) or "")
        )
    project = _with_a_lock(project, opening)
    mode = modes_of(rulebook, project)[0]
    search = _Needs(rulebook.without_practice(), project, opening, mode, accept_memory)
    order = {PERMITTED: 0, DEPENDS: 1, FORBIDDEN: 2}
    options = sorted(
        search.options(only),
        key=lambda option: (
            option.subject.path,
            option.subject.passage,
            order[option.standing],
            sum(WEIGHTS[value.effort] for need in option.needs for value in need.build_to),
            option.id,
        ),
    )
    located = project.facts.get((opening, "location"))
    return Needs(project.things[opening].id, located.typed if located is not None else "", tuple(options))


def _with_a_lock(project: Project, opening: str) -> Project:
    listed = project.lists.get((opening, "locks"), Listed())
    if listed.members:
        return project
    path = f"{opening}/locks/new-lock"
    passages = project.lists.get((opening, "passages"), Listed()).members
    return replace(
        project,
        things={**project.things, path: Thing(path, "lock", "new-lock")},
        owners={**project.owners, path: opening},
        lists={**project.lists, (opening, "locks"): Listed((path,), 0, 0), (path, "secures"): Listed(passages, 0, 0)},
    )


class _Needs:
    def __init__(self, rulebook: Rulebook, project: Project, opening: str, mode: str, accept_memory: bool) -> None:
        self.rulebook = rulebook
        self.vocabulary = rulebook.vocabulary
        self.opening = project.things[opening]
        self.mode = mode
        self.candidates: Candidates = candidates_of(rulebook)
        inside = f"{opening}/"

        def cheap(thing: Thing, fact: Fact) -> bool:
            mine = thing.path == opening or thing.path.startswith(inside)
            return mine and fact.chosen_by == "designer" and fact.effort not in KEPT and fact.name != IDENTITY

        def chosen(_thing: Thing, fact: Fact) -> bool:
            return fact.chosen_by == "designer"

        self.base = Variant(forgetting(project, self.vocabulary, opening, cheap))
        self.given = Limits(self._reader(forgetting(project, self.vocabulary, opening, chosen)))
        limits = Limits(self._reader(self.base.project))
        self.filler = Filler(rulebook, limits, self.candidates, mode, True)
        self.accept_memory = accept_memory

    def _reader(self, project: Project) -> Decider:
        return Decider(self.rulebook, project, self.mode, accept_memory=True)

    def options(self, only: str) -> Iterator[Option]:
        decider = self.base.decider(self.rulebook, self.mode, True)
        for provision in self.rulebook.arrangements:
            if only not in ("", provision.id):
                continue
            for bound in bindings(decider, provision.subject, self.opening):
                passage = bound.env.get("passage")
                if bound.thing.unseen is not None or (passage is not None and passage.unseen is not None):
                    continue
                if decider.truth(provision.applies, bound.env)[0] is False:
                    continue
                yield self.option(provision, bound)

    def option(self, provision: Provision, bound: Bound) -> Option:
        conditions = provision.permitted + provision.conditions
        terms: list[Term] = [(provision.recognised, bound.env), (provision.applies, bound.env)]
        terms += [(assumption.node, bound.env) for assumption in provision.assumptions]
        book = self.rulebook
        asked = {each.label: (guarded_in(book, provision, each.own), bound.env) for each in conditions}
        variant, left = self.filler.filled(self.base, [*terms, *asked.values()])
        reads = {label: self._reads(variant, term) for label, term in asked.items()}
        found = tuple(
            self.need(provision, condition, asked[condition.label], variant, reads, asked) for condition in conditions
        )
        standings = {need.standing for need in found}
        standing = PERMITTED
        if OPEN in standings or any(term in left for term in terms):
            standing = DEPENDS
        if REFUSED in standings:
            standing = FORBIDDEN
        added = tuple(change for change in variant.changes if isinstance(change, AddThing))
        return Option(
            provision.name, provision.title, bound.subject, standing, provision.citation, found, added, variant
        )

    def _reads(self, variant: Variant, term: Term) -> set[tuple[str, str]]:
        read = variant.decider(self.rulebook, self.mode, True).reads(*term)
        return {(path, dotted.partition(".")[2]) for path, dotted in read}

    def need(
        self,
        provision: Provision,
        condition: Condition,
        term: Term,
        variant: Variant,
        reads: dict[str, set[tuple[str, str]]],
        asked: dict[str, Term],
    ) -> Need:
        decider = variant.decider(self.rulebook, self.mode, True)
        truth, gaps = decider.truth(*term)
        before = self.filler.truth(self.base, term)
        build_to: tuple[BuildTo, ...] = ()
        standing = SATISFIED if before is True else PROVIDE
        if self.given.never(condition.own, term[1], True):
            standing = REFUSED
        elif truth is not True:
            standing = OPEN
        if standing == PROVIDE:
            build_to = tuple(self._build_to(variant, condition.label, reads, asked))
        says = render(condition.line.unmet, decider, term[1]) if standing in (REFUSED, OPEN) and truth is False else ""
        return Need(
            f"{provision.name}/{condition.label}",
            standing,
            render(condition.line.asks, decider, term[1]),
            condition.line.citation,
            build_to,
            self._asked(gaps) if standing == OPEN else (),
            says,
            render(condition.line.remedy, decider, term[1]) if standing != SATISFIED else "",
            bool(from_memory(self.rulebook, provision, condition, {})),
        )

    def _asked(self, gaps: Gaps) -> tuple[Asked, ...]:
        return tuple(Asked(gap, fact_label(gap), question(gap, self.vocabulary)) for gap in sorted(gaps))

    def _build_to(
        self, variant: Variant, label: str, reads: dict[str, set[tuple[str, str]]], asked: dict[str, Term]
    ) -> Iterator[BuildTo]:
        for change in variant.changes:
            if not isinstance(change, SetFact) or change.key not in reads[label]:
                continue
            fact = self.vocabulary.kinds[change.kind].facts[change.fact]
            touched = [asked[other] for other, read in reads.items() if change.key in read]

            def holds(value: Value, change: SetFact = change, touched: list[Term] = touched) -> bool:
                moved = variant.changed(replace(change, value=value), self.vocabulary)
                return all(self.filler.truth(moved, term) is True for term in touched)

            region = region_of(change, fact, self.candidates, holds)
            words = region_in_words(region, fact, self.vocabulary)
            yield BuildTo(change.path, change.kind, change.fact, region, words, fact.effort)


def value_line(value: BuildTo) -> str:
    """A value to build to as a line of text."""
    return f"{place_in_words(value.path)}: {value.fact.replace('_', ' ')}: {value.words}"
