"""Openings that are wholly described, and the same ones with something left unsaid."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cache
from random import Random

from clauseway.answers.check import bindings
from clauseway.answers.decide_condition import decide_truth, guarded
from clauseway.case.project import member_path, read_project
from clauseway.case.things import Given, Listed, Project, Thing
from clauseway.language import core
from clauseway.language.possible import Choice, Choices, Interval, System, Text, Truth, Value, is_decided
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import KEYED, MANY, ONE, OWNS, SUBJECTS, Fact, Kind, Relation
from clauseway.readers.decide import Decider
from clauseway.text.problems import NOWHERE
from clauseway.text.source import read_yaml
from support.plain_reader import PlainReader
from support.rulebooks import small_rules

BASES = ("sensor-magnet", "lever-latch", "panic-bar", "touch-bar-magnet")
VERDICT_TRUTH: dict[str, Truth] = {"met": True, "unmet": False}
NEW = "new"

Key = tuple[str, str, str, str]
"""Mode, provision and condition, subject, passage."""


@dataclass(frozen=True)
class Knowledge:
    """What a rulebook reads, and the values that matter to it."""

    rulebook: Rulebook
    facts: frozenset[str]
    numbers: dict[str, tuple[float, ...]]
    texts: tuple[str, ...]
    words: frozenset[str]


@cache
def knowledge_of(digest: str) -> Knowledge:
    """The knowledge about a rulebook that `know` has seen."""
    return _KNOWN[digest]


_KNOWN: dict[str, Knowledge] = {}


def know(rulebook: Rulebook) -> Knowledge:
    """The facts that some rule reads, and all thresholds with the smallest steps beside them."""
    if rulebook.digest in _KNOWN:
        return _KNOWN[rulebook.digest]
    nodes: list[core.Node] = [derivation.node for derivation in rulebook.derivations.values()]
    for provision in rulebook.provisions.values():
        nodes += [provision.applies, provision.recognised, *(a.node for a in provision.assumptions)]
        nodes += [condition.own for condition in provision.permitted + provision.conditions]
    facts = {part.fact for node in nodes for part in core.walk(node) if isinstance(part, core.Get)}
    numbers: dict[str, set[float]] = {}
    texts, words = {"SOMETHING ELSE", ""}, set()
    for parameter in rulebook.parameters.values():
        value = parameter.value
        if isinstance(value, Interval):
            unit = parameter.form.partition(":")[2] if parameter.form.startswith("quantity") else "count"
            for printed in (value.low, value.also):
                if printed is not None:
                    step = 1.0 if unit == "count" else max(abs(printed), 1.0) * 1e-8
                    numbers.setdefault(unit, set()).update(
                        (printed, printed + step, printed - step, printed * (1 + 1e-10))
                    )
        elif isinstance(value, Text) and value.value:
            texts |= {value.value, value.value.lower(), f"{value.value} "}
        elif isinstance(value, Choice):
            words |= value.options
    words |= {o for node in nodes for part in core.walk(node) if isinstance(part, core.Options) for o in part.options}
    kept = {unit: tuple(sorted(found)) for unit, found in numbers.items()}
    _KNOWN[rulebook.digest] = Knowledge(rulebook, frozenset(facts), kept, tuple(sorted(texts)), frozenset(words))
    return _KNOWN[rulebook.digest]


@cache
def base(name: str) -> Project:
    """An example base, read against the vocabulary of the small rules."""
    from support.rulebooks import rulebook

    return read_project(read_yaml(small_rules() / "examples" / f"{name}.yaml", name=name), rulebook().vocabulary)


# --- values ---------------------------------------------------------------------------------------------


def _numbers(fact: Fact, known: Knowledge, low: float, high: float) -> list[float]:
    found = [*known.numbers.get(fact.unit if fact.sort == "quantity" else "count", ()), 0.0, 1.0, 2.0]
    if fact.sort == "count":
        found = [float(round(value)) for value in found]
    found = [value for value in found if low <= value <= high]
    finite = [value for value in (low, high) if math.isfinite(value)]
    return found + finite or [low if math.isfinite(low) else high if math.isfinite(high) else 0.0]


def _given(value: Value) -> Given:
    return Given(value, str(value))


def _system(rng: Random) -> System | None:
    return rng.choice(("us", "si", "us", "si", None))


def some_value(fact: Fact, known: Knowledge, rng: Random, within: Value = None) -> Given:
    """A decided value that the fact may have, inside `within` when that is a range or a set."""
    vocabulary = known.rulebook.vocabulary
    possible = within if within is not None else vocabulary.unknown(fact)
    if isinstance(possible, Interval):
        value = rng.choice(_numbers(fact, known, possible.low, possible.high))
        return _given(Interval(value, value, _system(rng) if fact.sort == "quantity" else None))
    if isinstance(possible, Choice):
        wanted = sorted(possible.options & known.words) or sorted(possible.options)
        options = wanted if rng.random() < 0.7 else sorted(possible.options)
        return _given(Choice(frozenset((rng.choice(options),))))
    if isinstance(possible, Choices):
        chosen = possible.sure | {o for o in sorted(possible.possible) if o in known.words and rng.random() < 0.5}
        return _given(Choices(frozenset(chosen), frozenset(chosen)))
    if isinstance(possible, Text):
        return _given(possible if possible.value is not None else Text(rng.choice(known.texts)))
    return _given(rng.random() < 0.6)


def widened(value: Value, fact: Fact, known: Knowledge, rng: Random) -> Value:
    """A range or set that holds a decided value; None when the fact is said to be any."""
    if isinstance(value, Interval):
        near = [*_numbers(fact, known, fact.low, fact.high), value.low]
        low = rng.choice([v for v in [*near, fact.low] if v <= value.low])
        high = rng.choice([v for v in [*near, fact.high] if v >= value.high])
        return Interval(low, high)
    if isinstance(value, Choice):
        leaves = sorted(known.rulebook.vocabulary.lists[fact.values].leaves)
        return Choice(value.options | set(rng.sample(leaves, min(len(leaves), rng.randint(1, 3)))))
    if isinstance(value, Choices):
        sure = frozenset(option for option in sorted(value.sure) if rng.random() < 0.5)
        return Choices(sure, value.possible | (known.words & known.rulebook.vocabulary.lists[fact.values].leaves))
    return None


# --- projects that can be changed -----------------------------------------------------------------------


@dataclass
class Draft:
    """A project whose parts can be changed."""

    project: Project
    known: Knowledge
    rng: Random
    things: dict[str, Thing] = field(default_factory=dict)
    owners: dict[str, str] = field(default_factory=dict)
    facts: dict[tuple[str, str], Given] = field(default_factory=dict)
    by_mode: dict[tuple[str, str], dict[str, Given]] = field(default_factory=dict)
    lists: dict[tuple[str, str], Listed] = field(default_factory=dict)
    references: dict[tuple[str, str], str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.things, self.owners = dict(self.project.things), dict(self.project.owners)
        self.facts, self.lists = dict(self.project.facts), dict(self.project.lists)
        self.by_mode = {key: dict(modes) for key, modes in self.project.by_mode.items()}
        self.references = dict(self.project.references)

    def done(self) -> Project:
        return replace(self.project, things=self.things, owners=self.owners, facts=self.facts, by_mode=self.by_mode,
                       lists=self.lists, references=self.references,
                       places={path: self.project.places.get(path, NOWHERE) for path in self.things})  # fmt: skip

    def kind(self, thing: Thing) -> Kind:
        return self.known.rulebook.vocabulary.kinds[thing.kind]

    def reads(self, thing: Thing, fact: Fact) -> bool:
        """Whether a fact may be filled in: a rule reads it, and no rule derives it."""
        dotted = f"{thing.kind}.{fact.name}"
        return dotted in self.known.facts and not self.known.rulebook.deriving(dotted)

    def readable(self) -> list[tuple[Thing, Fact]]:
        return [
            (thing, fact)
            for _, thing in sorted(self.things.items())
            for fact in self.kind(thing).facts.values()
            if self.reads(thing, fact)
        ]

    def modes(self) -> tuple[str, ...]:
        return self.project.modes or ("",)

    # --- completing -------------------------------------------------------------------------------------

    def complete(self) -> None:
        """Say everything: close each list with or without more members, settle references, fill in facts."""
        waiting = [""]
        seen: set[str] = set()
        while waiting:
            path = waiting.pop()
            if path in seen:
                continue
            seen.add(path)
            thing = self.things[path]
            for relation in self.kind(thing).relations.values():
                if relation.form == OWNS:
                    waiting.extend(self.close_owned(thing, relation))
        for path in sorted(self.things):
            for relation in self.kind(self.things[path]).relations.values():
                if relation.form == ONE and (path, relation.name) not in self.references:
                    here = self.reachable(path, relation.kind)
                    self.references[path, relation.name] = self.rng.choice([*here, *here, ""])
                elif relation.form == MANY:
                    self.close_many(path, relation)
        for path in sorted(self.things):
            for relation in self.kind(self.things[path]).relations.values():
                if relation.form == KEYED:
                    self.close_keyed(path, relation)
        for thing, fact in self.readable():
            self.fill(thing, fact)

    def close_owned(self, thing: Thing, relation: Relation) -> list[str]:
        listed = self.lists.get((thing.path, relation.name), Listed())
        most = min(listed.most if listed.most is not None else 2, 2 + listed.least)
        # Whole openings take long to make and storeys say little.
        if listed.most is None and relation.kind in ("storey", "stair", "supply", "cable"):
            most = 0
        elif listed.most is None and relation.kind == "opening":
            most = self.rng.choice((0, 0, 1))
        more = self.rng.randint(listed.least, max(listed.least, most))
        members = list(listed.members)
        for _ in range(more):
            members.append(self.add(thing.path, relation))
        self.lists[thing.path, relation.name] = Listed(tuple(members), 0, 0)
        return members

    def add(self, owner: str, relation: Relation) -> str:
        identity = f"{NEW}-{len(self.things)}"
        path = member_path(owner, relation.name, identity)
        self.things[path] = Thing(path, relation.kind, identity)
        self.owners[path] = owner
        return path

    def reachable(self, path: str, kind: str) -> list[str]:
        """The things of a kind that the thing at `path` may refer to: those of the nearest owner that has any."""
        at: str | None = path
        while at is not None:
            owned = self.kind(self.things[at]).owned(kind)
            if owned is not None:
                return list(self.lists.get((at, owned.name), Listed()).members)
            at = self.owners.get(at) if at else None
        return []

    def close_many(self, path: str, relation: Relation) -> None:
        listed = self.lists.get((path, relation.name), Listed())
        others = [other for other in self.reachable(path, relation.kind) if other not in listed.members]
        most = len(others) if listed.most is None else min(listed.most, len(others))
        if most < listed.least:
            raise Impossible
        more = self.rng.sample(others, self.rng.randint(listed.least, most))
        self.lists[path, relation.name] = Listed((*listed.members, *more), 0, 0)

    def close_keyed(self, path: str, relation: Relation) -> None:
        if (path, relation.name) in self.lists:
            return
        lists = self.known.rulebook.vocabulary.lists
        if relation.by in lists:
            keys = sorted(lists[relation.by].leaves)
        else:
            keys = [self.things[other].id for other in self.reachable(path, relation.by)]
        for key in keys:
            slot = member_path(path, relation.name, key)
            if slot not in self.things and self.rng.random() < 0.5:
                self.things[slot] = Thing(slot, relation.kind, key)
                self.owners[slot] = path
        self.lists[path, relation.name] = Listed((), 0, 0)

    def fill(self, thing: Thing, fact: Fact) -> None:
        key = (thing.path, fact.name)
        modes = self.by_mode.get(key)
        if modes is not None:
            for mode in self.modes():
                before = modes.get(mode)
                if before is None or not is_decided(before.value):
                    modes[mode] = some_value(fact, self.known, self.rng, before.value if before else None)
            return
        before = self.facts.get(key)
        if before is None or not is_decided(before.value):
            within = before.value if before is not None else None
            if len(self.modes()) > 1 and before is None and self.rng.random() < 0.3:
                self.by_mode[key] = {mode: some_value(fact, self.known, self.rng) for mode in self.modes()}
            else:
                self.facts[key] = some_value(fact, self.known, self.rng, within)

    # --- changing and hiding ----------------------------------------------------------------------------

    def edit(self) -> None:
        """Give one fact another value."""
        thing, fact = self.rng.choice(self.readable())
        key = (thing.path, fact.name)
        if key not in self.by_mode:
            self.facts[key] = some_value(fact, self.known, self.rng)

    def hide(self) -> None:
        """Take back one thing that is said."""
        self.rng.choice((self.hide_fact, self.hide_fact, self.widen, self.open_list, self.open_list, self.remove,
                         self.remove, self.hide_reference))()  # fmt: skip

    def stated(self) -> list[tuple[Thing, Fact]]:
        return [
            (t, f) for t, f in self.readable() if (t.path, f.name) in self.facts or (t.path, f.name) in self.by_mode
        ]

    def hide_fact(self) -> None:
        said = self.stated()
        if not said:
            return
        thing, fact = self.rng.choice(said)
        modes = self.by_mode.get((thing.path, fact.name))
        if modes and len(modes) > 1 and self.rng.random() < 0.5:
            del modes[self.rng.choice(sorted(modes))]
            return
        self.facts.pop((thing.path, fact.name), None)
        self.by_mode.pop((thing.path, fact.name), None)

    def widen(self) -> None:
        said = [(t, f) for t, f in self.stated() if (t.path, f.name) in self.facts]
        if not said:
            return
        thing, fact = self.rng.choice(said)
        before = self.facts.pop((thing.path, fact.name))
        wider = widened(before.value, fact, self.known, self.rng)
        if wider is not None:
            self.facts[thing.path, fact.name] = _given(wider)

    def open_list(self) -> None:
        key = self.rng.choice(sorted(self.lists))
        if key not in self.lists:
            return
        relation = self.kind(self.things[key[0]]).relations[key[1]]
        if relation.form == KEYED:
            del self.lists[key]
        else:
            self.lists[key] = Listed(self.lists[key].members)

    def remove(self) -> None:
        """Forget a thing; the list it was in is open, or only its length is known."""
        found = [path for path, thing in sorted(self.things.items()) if thing.kind not in ("building", "opening")]
        if not found:
            return
        path = self.rng.choice(found)
        owner, name, _ = path.rsplit("/", 2) if path.count("/") > 1 else ("", *path.split("/"))
        listed = self.lists.pop((owner, name), None)
        if listed is not None and self.kind(self.things[owner]).relations[name].form == OWNS:
            rest = tuple(member for member in listed.members if member != path)
            counted = listed.most == listed.least and self.rng.random() < 0.5
            self.lists[owner, name] = Listed(rest, listed.least + 1, listed.least + 1) if counted else Listed(rest)
        identity = self.things[path].id
        self.forget(path, identity)

    def forget(self, path: str, identity: str) -> None:
        kind = self.things[path].kind
        for other in [other for other in self.things if other == path or other.startswith(f"{path}/")]:
            del self.things[other]
            self.owners.pop(other, None)
        here = self.things
        self.facts = {key: given for key, given in self.facts.items() if key[0] in here}
        self.by_mode = {key: given for key, given in self.by_mode.items() if key[0] in here}
        self.references = {
            key: target for key, target in self.references.items() if key[0] in here and (not target or target in here)
        }
        lists: dict[tuple[str, str], Listed] = {}
        for (at, name), listed in self.lists.items():
            if at not in here:
                continue
            relation = self.kind(here[at]).relations[name]
            if relation.form == KEYED and relation.by == kind:
                continue
            if any(member not in here for member in listed.members):
                listed = Listed(tuple(member for member in listed.members if member in here))
            lists[at, name] = listed
        self.lists = lists
        for slot in [other for other, thing in here.items() if thing.id == identity and self.is_slot(other, kind)]:
            if slot in self.things:
                self.forget(slot, identity)

    def is_slot(self, path: str, kind: str) -> bool:
        owner = self.owners.get(path)
        if owner is None:
            return False
        relation = self.kind(self.things[owner]).relations.get(path.split("/")[-2])
        return relation is not None and relation.form == KEYED and relation.by == kind

    def hide_reference(self) -> None:
        if self.references:
            del self.references[self.rng.choice(sorted(self.references))]


class Impossible(Exception):
    """No completion of this kind exists: a count claims more than there is to refer to."""


def completed(project: Project, known: Knowledge, rng: Random) -> Project:
    """The project with everything said that it leaves open."""
    draft = Draft(project, known, rng)
    draft.complete()
    return draft.done()


def edited(project: Project, known: Knowledge, rng: Random, times: int) -> Project:
    """The project with some facts changed; openings that fail come out as often as others."""
    draft = Draft(project, known, rng)
    for _ in range(times):
        draft.edit()
    return draft.done()


def hidden(project: Project, known: Knowledge, rng: Random, times: int) -> Project:
    """The project with less said."""
    draft = Draft(project, known, rng)
    for _ in range(times):
        draft.hide()
    return draft.done()


# --- verdicts -------------------------------------------------------------------------------------------


def decisions(rulebook: Rulebook, project: Project, accept_memory: bool) -> dict[Key, tuple[Truth, ...]]:
    """For each condition and subject: what the check decides, and the truth it finds without settling."""
    found: dict[Key, tuple[Truth, ...]] = {}
    for mode in project.modes or ("",):
        decider = Decider(rulebook, project, mode, accept_memory=accept_memory)
        for provision in rulebook.provisions.values():
            opens = "opening" in SUBJECTS[provision.subject]
            for thing in project.of_kind("opening" if opens else provision.subject):
                for bound in bindings(decider, provision.subject, thing):
                    for condition in provision.permitted + provision.conditions:
                        node = guarded(provision, condition.truth)
                        raw = decider.truth(node, bound.env)[0]
                        settled = VERDICT_TRUTH.get(decide_truth(decider, node, bound.env)[0])
                        name = f"{provision.name}/{condition.label}"
                        found[mode, name, bound.subject.path, bound.subject.passage] = (settled, raw)
    return found


def as_seen_in(path: str, partial: Project) -> str:
    """The path by which a partial project knows a thing: that of a member not listed ends in `?`."""
    if path.count("/") < 2 or path in partial.things:
        return path
    owner, relation, _ = path.rsplit("/", 2)
    return f"{owner}/{relation}/?" if owner in partial.things else path


@dataclass(frozen=True)
class Disagreement:
    """A verdict on a partial project that one of its completions contradicts."""

    key: Key
    partial: Truth
    complete: Truth
    by: str


def disagreements(rulebook: Rulebook, partial: Project, completions: Iterable[Project], accept_memory: bool,
                  before: dict[Key, tuple[Truth, ...]] | None = None) -> list[Disagreement]:  # fmt: skip
    """Where what is decided on a partial project is not so on a completion, by the checker and by plain reading."""
    decided = before or decisions(rulebook, partial, accept_memory)
    found: list[Disagreement] = []
    for whole in completions:
        after = decisions(rulebook, whole, accept_memory)
        plain = PlainReader(rulebook, whole).decisions() if accept_memory else {}
        for key, (settled, _) in after.items():
            mode, name, subject, passage = key
            seen = (mode, name, as_seen_in(subject, partial), as_seen_in(passage, partial))
            for truth in decided.get(seen, ()):
                if truth is None:
                    continue
                if settled is not truth:
                    found.append(Disagreement(key, truth, settled, "checker"))
                if plain.get(key) not in (None, truth):
                    found.append(Disagreement(key, truth, plain[key], "plain reading"))
    return found


# --- cases ----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Case:
    """A partial project, the whole one it was made from, and other completions of it."""

    whole: Project
    partial: Project
    completions: tuple[Project, ...]


def made_case(known: Knowledge, rng: Random, completions: int = 2, bases: tuple[str, ...] = BASES) -> Case:
    """A base with some facts changed, completed, then left partly unsaid."""
    project = base(rng.choice(bases))
    if rng.random() < 0.25:
        project = replace(project, modes=("open", "unoccupied"))
    whole = completed(edited(project, known, rng, rng.randint(0, 3)), known, rng)
    partial = hidden(whole, known, rng, rng.choice((1, 1, 2, 3, 5, 8)))
    others: list[Project] = []
    for _ in range(completions):
        try:
            others.append(completed(partial, known, rng))
        except Impossible:
            continue
    return Case(whole, partial, (whole, *others))


def contradictions(rulebook: Rulebook, seed: int, completions: int = 2) -> list[Disagreement]:
    """The completion property on the case that a seed stands for: what contradicts it."""
    rng = Random(seed)
    case = made_case(know(rulebook), rng, completions)
    return disagreements(rulebook, case.partial, case.completions, rng.random() < 0.7)
