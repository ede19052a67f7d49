"""The steps of a test: each fact that something asks and that can be found out at the door, with what is accepted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from clauseway.answers import finding as F
from clauseway.answers.decide_condition import VERDICTS
from clauseway.answers.wording import fact_label, form_of, place_in_words, render, undetermined, value_in_words
from clauseway.case.things import Thing
from clauseway.design.variant import PROPOSED
from clauseway.handover.accepted import Accepted, accepted_of
from clauseway.handover.demands import Demand
from clauseway.handover.sheet import Reason, Step
from clauseway.handover.terms import Key, facts_in
from clauseway.language.possible import Value, every, is_decided
from clauseway.model.vocabulary import KEYED, PHASES, Fact
from clauseway.readers.decide import Decider

_POWER = "loss-of-power"

Asked = dict[tuple[str, Key], tuple[Thing, Fact, list[Demand]]]
"""By mode and fact: the thing, the fact, and what is asked of it."""


def asked_facts(deciders: Mapping[str, Decider], demands: Sequence[Demand]) -> Asked:
    """The facts that are asked about, in the order of asking; what is not there at all has none."""
    found: Asked = {}
    for demand in demands:
        if demand.term.absent or demand.term.whole:
            continue
        decider = deciders[demand.mode]
        for key, (thing, dotted) in facts_in(decider, demand.term).items():
            fact = decider.vocabulary.fact(dotted)
            if fact is not None:
                found.setdefault((demand.mode, key), (thing, fact, []))[2].append(demand)
    return found


def steps_of(deciders: Mapping[str, Decider], opening: Thing, asked: Asked) -> list[Step]:
    """The steps for the facts that can be measured, in the order of the phases; alike in all modes, one for all."""
    steps = [step for step in _steps(deciders, opening, asked) if step is not None]
    if len(deciders) > 1:
        steps = list(_folded(steps, len(deciders)))
    order = ["", *PHASES]
    return sorted(steps, key=lambda step: (order.index(step.phase), _place(step.path), step.path, step.fact, step.mode))


def _place(path: str) -> int:
    order = ("openings", "leaves", "locks", "devices", "signs", "sides", "passages", "supplies")
    relation = path.split("/")[2] if path.count("/") > 1 else path.partition("/")[0]
    return order.index(relation) if relation in order else len(order)


def _folded(steps: Sequence[Step], modes: int) -> Iterator[Step]:
    alike: dict[tuple[str, str, str, str, str], list[Step]] = {}
    for step in steps:
        key = (step.path, step.fact, step.accepted.words, step.described, step.verdict)
        alike.setdefault(key, []).append(step)
    for same in alike.values():
        if len(same) == modes:
            whole = tuple(demand for step in same for demand in step.demands)
            yield replace(same[0], id=same[0].id.partition("@")[0], mode="", demands=whole)
        else:
            yield from same


def _steps(deciders: Mapping[str, Decider], opening: Thing, asked: Asked) -> Iterator[Step | None]:
    for (mode, key), (thing, fact, demands) in asked.items():
        if fact.measured is not None:
            yield _step(deciders[mode], opening, thing, fact, key, demands)


def _step(
    decider: Decider, opening: Thing, thing: Thing, fact: Fact, key: Key, demands: Sequence[Demand]
) -> Step | None:
    measured = fact.measured
    assert measured is not None
    # Engineering is tested at the door where use may change it; the rest of it is computed.
    tested = [demand for demand in demands if measured.again or not demand.practice]
    alone = [(demand, accepted_of(decider, [demand.term], key, fact)) for demand in tested]
    each = {id(demand): accepted for demand, accepted in alone if accepted is not None}
    bearing = [demand for demand in tested if id(demand) in each]
    if not bearing:
        return None

    def together(some: Sequence[Demand]) -> Accepted:
        if len(some) == 1:
            return each[id(some[0])]
        return accepted_of(decider, [demand.term for demand in some], key, fact) or Accepted("no value by itself")

    lines: dict[str, list[Demand]] = {}
    for demand in bearing:
        lines.setdefault(demand.id, []).append(demand)
    described, known_by = described_of(decider, thing, fact)
    return Step(
        step_id(opening, thing, fact, decider.mode),
        thing.path,
        thing.kind,
        fact.name,
        decider.mode,
        phase_of(decider, thing, fact),
        place_of(opening, thing.path),
        when_of(decider, thing, fact),
        fact.ask,
        measured.tool,
        measured.how,
        measured.to,
        measured.again,
        described,
        known_by,
        together([demand for demand in bearing if not demand.term.only_if] or bearing),
        VERDICTS[every(demand.term.truth(decider) for demand in bearing)],
        tuple(replace(reason_of(decider, same), accepted=together(same).words) for same in lines.values()),
        tuple(bearing),
    )


def reason_of(decider: Decider, demands: Sequence[Demand]) -> Reason:
    """A line as it stands with what is described: the worst of its parts that are given."""
    truths = [demand.term.truth(decider) for demand in demands]
    found = VERDICTS[every(truths)]
    demand = next((d for d, truth in zip(demands, truths, strict=True) if VERDICTS[truth] == found), demands[0])
    line, env = demand.line, demand.term.env
    asks = render(line.asks, decider, env)
    if found == F.UNDETERMINED:
        says = undetermined(asks, [])
    else:
        says = render(line.met if found == F.MET else line.unmet, decider, env) or asks
    gaps = [gap for where, around in demand.term.only_if for gap in decider.truth(where, around)[1]]
    depends = tuple(dict.fromkeys(fact_label(gap) for gap in sorted(gaps)))
    return Reason(demand.id, line.citation, asks, says, found, demand.practice, demand.memory, depends)


# --- words ----------------------------------------------------------------------------------------------


def step_id(opening: Thing, thing: Thing, fact: Fact, mode: str) -> str:
    """Where the fact stands in the file of openings, from the opening on."""
    inside = thing.path.removeprefix(f"{opening.path}/") if thing.path != opening.path else ""
    name = ".".join([*inside.split("/"), fact.name]) if inside else fact.name
    return f"{name}@{mode}" if mode else name


def place_of(opening: Thing, path: str) -> str:
    """A path as people say it at the opening."""
    return place_in_words(path).removeprefix(f"{opening.id}, ") if path != opening.path else "the opening"


def described_of(decider: Decider, thing: Thing, fact: Fact) -> tuple[str, str]:
    """What is described of a fact and how it is known; empty while nobody said it."""
    given = decider.project.given(thing.path, fact.name, decider.mode)
    if given is not None:
        words = {"true": "yes", "false": "no"} if fact.sort in ("yes-no", "approval") else {}
        said = words.get(given.typed, given.typed)
        if given.known_by == PROPOSED:
            said = "within what is accepted" if fact.sort in ("quantity", "count") else said
            said = f"{said} (proposed)"
        return said, given.known_by
    if thing.absent and fact.when_absent:
        words = {"true": "yes", "false": "no"}
        return words.get(fact.when_absent, fact.when_absent), "derived"
    computed = {value_in_words(value, form_of(fact), decider.vocabulary) for value in _derived(decider, thing, fact)}
    return (computed.pop(), "derived") if len(computed) == 1 else ("", "unknown")


def _derived(decider: Decider, thing: Thing, fact: Fact) -> Iterator[Value]:
    """What derivations make of a fact that nobody stated, where they do."""
    for derivation in decider.rulebook.deriving(f"{thing.kind}.{fact.name}"):
        value = decider.derived(thing, derivation.name)[0]
        if is_decided(value):
            yield value


def phase_of(decider: Decider, thing: Thing, fact: Fact) -> str:
    """The phase in which a fact speaks: its own, or that of the event that its thing is kept under."""
    return fact.phase or event_of(decider, thing)[1]


def event_of(decider: Decider, thing: Thing) -> tuple[str, str]:
    """The definition and the phase of the listed word under which a thing is kept; empty where it is under none."""
    owner, relation, key = _steps_up(thing.path)
    kind = _kind_of(decider, owner)
    if kind:
        found = decider.vocabulary.kinds[kind].relations.get(relation)
        if found is not None and found.form == KEYED and found.by in decider.vocabulary.lists:
            listed = decider.vocabulary.lists[found.by].values.get(key)
            return (listed.about, listed.phase) if listed is not None else ("", "")
    return "", ""


def _steps_up(path: str) -> tuple[str, str, str]:
    owner, relation, key = path.rsplit("/", 2) if path.count("/") > 1 else ("", *path.partition("/")[::2])
    return owner, relation, key


def _kind_of(decider: Decider, path: str) -> str:
    thing = decider.project.things.get(path)
    return thing.kind if thing is not None and path else ""


def when_of(decider: Decider, thing: Thing, fact: Fact) -> str:
    """What brings about what a fact tells: an event, a device that is used or loses its power, a hand."""
    event, _ = event_of(decider, thing)
    if event:
        return event
    owner, _, key = _steps_up(thing.path)
    if thing.kind == "action":
        device = decider.project.things[owner]
        does = "loses its power" if fact.phase == _POWER else f"is used{_side_words(decider, device)}"
        return f"The {_kind_words(decider, device)} {device.id} {does}."
    if thing.kind == "hand_release":
        return f"Somebody opens it by hand from {key}."
    return ""


def _kind_words(decider: Decider, thing: Thing) -> str:
    given = decider.project.given(thing.path, "kind", decider.mode)
    return given.typed if given is not None else thing.kind


def _side_words(decider: Decider, thing: Thing) -> str:
    side = decider.project.references.get((thing.path, "side"), "")
    return f" from {side.rpartition('/')[2]}" if side else ""
