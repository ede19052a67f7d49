"""What is asked of an opening and its supplies: by requirements, by the arrangement that each lock is meant as."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from clauseway.answers import finding as F
from clauseway.answers.check import bindings
from clauseway.answers.decide_condition import Bound, judge
from clauseway.answers.strict import from_memory
from clauseway.case.things import Thing
from clauseway.handover.terms import Term, terms_of
from clauseway.language import core
from clauseway.law.rulebook import DESCRIPTION, Rulebook
from clauseway.model.provision import ARRANGEMENT, Condition, Line, Provision
from clauseway.model.vocabulary import SUBJECTS
from clauseway.readers.decide import Decider, Env


@dataclass(frozen=True)
class Demand:
    """A part of a condition that is asked here, with the line it stands in."""

    id: str
    provision: Provision
    condition: Condition
    line: Line
    term: Term
    mode: str
    practice: bool
    memory: bool


def demands_of(deciders: Sequence[Decider], opening: Thing) -> Iterator[Demand]:
    """Everything asked of an opening, mode by mode, in the order of provisions; what is excused is not asked."""
    for decider in deciders:
        for provision in decider.rulebook.provisions.values():
            if provision.code in _descriptions(decider.rulebook):
                continue
            for bound in _subjects(decider, provision, opening):
                for condition in provision.permitted + provision.conditions:
                    yield from _demands(decider, provision, condition, bound)


def _descriptions(rulebook: Rulebook) -> frozenset[str]:
    return frozenset(code.code for code in rulebook.codes if code.force == DESCRIPTION)


def supplies_of(decider: Decider, opening: Thing) -> list[Thing]:
    """The supplies that feed the locks of an opening, in the order of their paths."""
    project = decider.project
    paths = {
        project.references.get((lock.path, relation.name), "")
        for lock in project.owned_by(opening.path, "lock")
        for relation in decider.vocabulary.kinds["lock"].relations.values()
        if relation.kind == "supply"
    }
    return [project.things[path] for path in sorted(paths) if path]


def _subjects(decider: Decider, provision: Provision, opening: Thing) -> Iterator[Bound]:
    things = [opening] if "opening" in SUBJECTS[provision.subject] else []
    for thing in supplies_of(decider, opening) if provision.subject == "supply" else things:
        for bound in bindings(decider, provision.subject, thing):
            if any(each.unseen is not None for each in bound.env.values()):
                continue
            if provision.kind != ARRANGEMENT or _is_meant(decider, provision, bound.env):
                yield bound


def _is_meant(decider: Decider, provision: Provision, env: Env) -> bool:
    meant = decider.truth(provision.recognised, env)[0] is True
    return meant and decider.truth(provision.applies, env)[0] is not False


def _demands(decider: Decider, provision: Provision, condition: Condition, bound: Bound) -> Iterator[Demand]:
    judged = judge(decider, provision, condition, bound.env)
    practice = provision.code in decider.rulebook.practice
    if judged.not_asked or (practice and judged.verdict == F.UNDETERMINED):
        return
    if judged.raw != F.MET and _is_excused(decider, condition, bound.env):
        return
    memory = bool(from_memory(decider.rulebook, provision, condition, {}))
    terms = list(terms_of(decider, core.When(provision.applies, condition.own), bound.env))
    if not terms and judged.verdict == F.UNMET:
        # It asks for an arrangement that the lock is not meant as: what is not met is told as a whole.
        terms = [Term(condition.own, bound.env, True, whole=True)]
    for term in terms:
        line = condition.lines.get(term.label, condition.line)
        if not line.asks:
            line = condition.line
        yield Demand(f"{provision.name}/{line.label}", provision, condition, line, term, decider.mode, practice, memory)


def _is_excused(decider: Decider, condition: Condition, env: Env) -> bool:
    """Whether an arrangement that the lock is meant as stands in for the condition, wholly met or not: it asks then."""
    for name in condition.excused_by:
        arrangement = decider.rulebook.provisions[name]
        if decider.truth(core.Holds(name), env)[0] is True or _is_meant(decider, arrangement, env):
            return True
    return False
