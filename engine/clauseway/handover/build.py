"""Putting together what an installer takes away for one opening, from what is asked of it and nothing else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from clauseway.answers import finding as F
from clauseway.answers.check import check, modes_of
from clauseway.case.things import UNASKABLE, Given, Project, Thing
from clauseway.handover.demands import Demand, demands_of
from clauseway.handover.schedules import device_rows, sign_rows
from clauseway.handover.sequence import sequence_of
from clauseway.handover.sheet import Confirm, Handover, Step
from clauseway.handover.steps import Asked, asked_facts, described_of, place_of, reason_of, steps_of
from clauseway.handover.terms import facts_in
from clauseway.language.possible import Choice, is_decided
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import Fact, Vocabulary
from clauseway.readers.decide import Decider

WORK, IN_USE = "work", "existing-untouched"
"""The fact that says what is done at an opening, and its value once the door is in use."""


_SUBJECTS = ("lock", "leaf", "device", "sign", "supply", "opening")
"""What a condition may be about, the innermost first."""


def handover_of(rulebook: Rulebook, project: Project, opening: str, *, accept_memory: bool = False) -> Handover:
    """What an installer takes away for an opening, by its path such as `openings/d101`."""
    thing = project.things[opening]
    deciders = _deciders(rulebook, project, accept_memory)
    demands = list(demands_of(list(deciders.values()), thing))
    asked = asked_facts(deciders, demands)
    acceptance = steps_of(deciders, thing, asked)
    answer = check(rulebook, project, only=[thing.id], accept_memory=accept_memory).answers[0]
    location = project.facts.get((opening, "location"))
    meant = tuple(each for each in answer.arrangements if each.claimed == F.MET)
    return Handover(
        thing.id,
        location.typed if location is not None else "",
        opening,
        answer.verdict,
        answer.works,
        meant,
        tuple(device_rows(deciders, thing, acceptance)),
        tuple(sequence_of(deciders, thing, acceptance)),
        tuple(sign_rows(deciders, thing, acceptance)),
        tuple(_absent(deciders, thing, demands)),
        tuple(acceptance),
        tuple(_to_confirm(deciders, thing, demands, acceptance)),
        tuple(_inspection(rulebook, project, thing, asked, acceptance, accept_memory)),
        tuple(_not_known(answer, rulebook.practice)),
        tuple(_not_described(answer, rulebook.practice)),
        answer.relies_on,
        answer.memory,
    )


def _deciders(rulebook: Rulebook, project: Project, accept_memory: bool) -> dict[str, Decider]:
    return {mode: Decider(rulebook, project, mode, accept_memory=accept_memory) for mode in modes_of(rulebook, project)}


def _absent(deciders: Mapping[str, Decider], opening: Thing, demands: Sequence[Demand]) -> Iterator[Confirm]:
    """What is asked for and not described at all: a device or sign to be provided."""
    seen = set()
    for demand in demands:
        if not demand.term.absent or demand.id in seen:
            continue
        seen.add(demand.id)
        decider = deciders[demand.mode]
        reason = reason_of(decider, [demand])
        yield Confirm(place_of(opening, _subject(demand).path), reason.asks, reason.says, (), reason.verdict, reason)


def _subject(demand: Demand) -> Thing:
    """The innermost thing that a condition is about."""
    env = demand.term.env
    return next((env[name] for name in _SUBJECTS if name in env), env["building"])


def _to_confirm(
    deciders: Mapping[str, Decider], opening: Thing, demands: Sequence[Demand], steps: Sequence[Step]
) -> Iterator[Confirm]:
    """What is asked of the designer's choices and no step shows, each line once for each subject."""
    shown = {id(demand) for step in steps for demand in step.demands}
    seen = set()
    for demand in demands:
        if id(demand) in shown or demand.term.absent:
            continue
        decider = deciders[demand.mode]
        facts = [
            (thing, fact)
            for thing, dotted in facts_in(decider, demand.term).values()
            if (fact := decider.vocabulary.fact(dotted)) is not None and _is_confirmed(fact)
        ]
        # What holds in one mode only is shown for each mode by itself.
        by_mode = any((thing.path, fact.name) in decider.project.by_mode for thing, fact in facts)
        mode = demand.mode if by_mode else ""
        key = (demand.id, _subject(demand).path, tuple(thing.path for thing, _ in facts), mode)
        if not facts or key in seen:
            continue
        seen.add(key)
        reason = reason_of(decider, [demand])
        described = tuple(
            dict.fromkeys(f"{place_of(opening, thing.path)}: {_words(decider, thing, fact)}" for thing, fact in facts)
        )
        place = place_of(opening, _subject(demand).path) + (f", {mode.replace('-', ' ')}" if mode else "")
        yield Confirm(place, reason.asks, reason.says, described, reason.verdict, reason)


def _is_confirmed(fact: Fact) -> bool:
    return fact.chosen_by == "designer" or fact.sort == "approval"


def _words(decider: Decider, thing: Thing, fact: Fact) -> str:
    described, _ = described_of(decider, thing, fact)
    return f"{fact.name.replace('_', ' ')}: {described or 'not known: decide'}"


def _inspection(
    rulebook: Rulebook, project: Project, opening: Thing, today: Asked, acceptance: Sequence[Step], accept_memory: bool
) -> list[Step]:
    """The steps that use may change, with all that is asked today and once the door is in use."""
    in_use = _in_use(rulebook.vocabulary, project, opening)
    if in_use is None:
        return [step for step in acceptance if step.again]
    deciders = _deciders(rulebook, in_use, accept_memory)
    asked = asked_facts(deciders, list(demands_of(list(deciders.values()), opening)))
    for at, (thing, fact, demands) in today.items():
        own = asked.setdefault(at, (thing, fact, []))[2]
        own += [demand for demand in demands if demand.id not in {each.id for each in own}]
    again = {at: each for at, each in asked.items() if each[1].measured is not None and each[1].measured.again}
    return steps_of(deciders, opening, again)


def _in_use(vocabulary: Vocabulary, project: Project, opening: Thing) -> Project | None:
    """The project with a door that is new, or of which it is not said, as one in use; none where it is so already."""
    fact = vocabulary.kinds[opening.kind].facts.get(WORK)
    if fact is None or IN_USE not in vocabulary.lists[fact.values].leaves:
        return None
    key = (opening.path, WORK)
    given = project.facts.get(key)
    if given is not None and is_decided(given.value) and given.typed != "new":
        return None
    return replace(project, facts={**project.facts, key: Given(Choice(frozenset((IN_USE,))), IN_USE)})


def _not_known(answer: F.Answer, practice: frozenset[str]) -> Iterator[F.Asked]:
    """What findings of codes that are not decided wait for, each once."""
    seen = set()
    for finding in answer.findings:
        if finding.code in practice or finding.verdict not in (F.UNDETERMINED, F.NEEDS_APPROVAL):
            continue
        for asked in finding.missing:
            if asked.missing not in seen and asked.missing.kind not in UNASKABLE - {"clause"}:
                seen.add(asked.missing)
                yield asked


def _not_described(answer: F.Answer, practice: frozenset[str]) -> list[str]:
    """What engineering would need and nobody described."""
    undecided = [f for f in answer.findings if f.code in practice and f.verdict == F.UNDETERMINED]
    return sorted({asked.fact for finding in undecided for asked in finding.missing})
