"""The sequence of operation: what happens normally, on the way out, without power, at a fire alarm, at its reset."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from clauseway.answers import finding as F
from clauseway.answers.wording import joined
from clauseway.case.things import Thing
from clauseway.handover.sheet import DESCRIBED, SequenceLine, Step
from clauseway.handover.steps import described_of, phase_of, place_of, when_of
from clauseway.model.vocabulary import KEYED, PHASES, Fact
from clauseway.readers.decide import Decider

_DECIDE = "not known: decide"
_ANY_TIME = "At any time."

NO_POWER = "not-electric"
"""What is said of a lock that answers to no event."""

TOLD = ("response", "action", "lock")
"""What is told of although no clause asks it: what locks do at events, and what devices do to them."""


def sequence_of(deciders: Mapping[str, Decider], opening: Thing, steps: Sequence[Step]) -> list[SequenceLine]:
    """The lines of a sequence in the order of its phases."""
    decider = next(iter(deciders.values()))
    lines = [*_held(decider, opening), *_asked(steps), *_as_described(deciders, opening, steps)]
    lines += _undescribed(decider, opening, steps)
    order = {phase: at for at, phase in enumerate(PHASES)}
    return sorted(_merged(lines), key=lambda line: order[line.phase])


def _held(decider: Decider, opening: Thing) -> Iterator[SequenceLine]:
    """What each lock holds while nothing happens."""
    project = decider.project
    for lock in project.owned_by(opening.path, "lock"):
        kind = project.given(lock.path, "kind", decider.mode)
        leaf = project.references.get((lock.path, "leaf"), "").rpartition("/")[2]
        listed = project.lists.get((lock.path, "secures"))
        ways = [path.rpartition("/")[2] for path in listed.members] if listed is not None else []
        known = kind is not None and bool(leaf) and listed is not None
        what = kind.typed if kind is not None else _DECIDE
        says = f"A lock ({what}) holds leaf {leaf or _DECIDE}; it can lock the way {joined(ways) or _DECIDE}."
        verdict = DESCRIBED if known else F.UNDETERMINED
        yield SequenceLine("normal", "Nothing happens.", (f"lock {lock.id}",), says, verdict, ())


def _asked(steps: Sequence[Step]) -> Iterator[SequenceLine]:
    for step in steps:
        for reason in step.reasons if step.phase else ():
            says = reason.says
            if reason.verdict == F.UNDETERMINED:
                says = f"Not known: measure or decide whether {reason.asks}."
            yield SequenceLine(step.phase, step.when or _ANY_TIME, (step.place,), says, reason.verdict, (reason,))


def _as_described(deciders: Mapping[str, Decider], opening: Thing, steps: Sequence[Step]) -> Iterator[SequenceLine]:
    """What is described of a phase and no clause asks."""
    asked = {(step.path, step.fact) for step in steps}
    for mode, decider in deciders.items():
        for path, name, _ in decider.project.part(opening.path).facts:
            thing = decider.project.things[path]
            fact = decider.vocabulary.kinds[thing.kind].facts[name]
            phase = phase_of(decider, thing, fact)
            described, _ = described_of(decider, thing, fact)
            if phase and described and thing.kind in TOLD and (path, name) not in asked:
                if thing.kind == "action" and not _on_the_way_out(decider, opening, thing):
                    phase = "normal"
                says = _said(fact, described)
                if len(deciders) > 1 and (path, name) in decider.project.by_mode:
                    says = f"In mode {mode}: {says}"
                when = when_of(decider, thing, fact) or _ANY_TIME
                yield SequenceLine(phase, when, (place_of(opening, path),), says, DESCRIBED, ())


def _on_the_way_out(decider: Decider, opening: Thing, action: Thing) -> bool:
    """Whether a device is on a side that people leave from, or may be."""
    project = decider.project
    side = project.references.get((project.owners[action.path], "side"))
    if not side:
        return True
    for passage in project.owned_by(opening.path, "passage"):
        role = project.given(passage.path, "role", decider.mode)
        if project.references.get((passage.path, "from_side")) == side and (role is None or role.typed != "none"):
            return True
    return False


def _said(fact: Fact, described: str) -> str:
    return f"{fact.ask} {described[:1].upper()}{described[1:]}."


def _undescribed(decider: Decider, opening: Thing, steps: Sequence[Step]) -> Iterator[SequenceLine]:
    """The events of which nobody said what a lock does at them, or of which it is claimed that it does nothing."""
    project, vocabulary = decider.project, decider.vocabulary
    asked = {step.path for step in steps}
    for lock in project.owned_by(opening.path, "lock"):
        power = project.given(lock.path, "fail_mode", decider.mode)
        if power is not None and power.typed == NO_POWER:
            continue
        for relation in vocabulary.kinds["lock"].relations.values():
            if relation.form != KEYED or relation.by not in vocabulary.lists:
                continue
            events: dict[str, list[str]] = {}
            for event, listed in vocabulary.lists[relation.by].values.items():
                path = f"{lock.path}/{relation.name}/{event}"
                if listed.phase and path not in project.things and path not in asked:
                    events.setdefault(listed.phase, []).append(event)
            closed = (lock.path, relation.name) in project.lists
            says = (
                "Nothing, as the description claims." if closed else "Not known: decide, or say that it does nothing."
            )
            for phase, names in events.items():
                when = f"Any of: {', '.join(names)}."
                yield SequenceLine(phase, when, (f"lock {lock.id}",), says, DESCRIBED if closed else F.UNDETERMINED, ())


def _merged(lines: Sequence[SequenceLine]) -> list[SequenceLine]:
    """Lines that say the same of several places, or for several reasons, become one."""
    merged: dict[tuple[str, ...], list[SequenceLine]] = {}
    for line in lines:
        merged.setdefault((line.phase, line.when, line.says, line.verdict), []).append(line)
    return [
        replace(
            same[0],
            places=tuple(dict.fromkeys(place for line in same for place in line.places)),
            reasons=tuple({reason.id: reason for line in same for reason in line.reasons}.values()),
        )
        for same in merged.values()
    ]
