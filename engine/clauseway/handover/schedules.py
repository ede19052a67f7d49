"""The schedules of devices and of signs: everything described of each, and what is asked of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from clauseway.answers.wording import joined
from clauseway.case.things import Project, Thing
from clauseway.handover.demands import supplies_of
from clauseway.handover.sheet import DESCRIBED, Row, Setting, Step
from clauseway.handover.steps import described_of, event_of, place_of
from clauseway.model.vocabulary import ONE, Kind
from clauseway.readers.decide import Decider

KINDS = ("leaf", "lock", "device")
WHAT = "kind"
SIGN_TEXT = ("sign_text", "text")
"""The facts that hold a wording, of a device and of a sign."""


def device_rows(deciders: Mapping[str, Decider], opening: Thing, steps: Sequence[Step]) -> Iterator[Row]:
    """The leaves, locks, devices and supplies of an opening."""
    decider = next(iter(deciders.values()))
    things = [thing for kind in KINDS for thing in decider.project.owned_by(opening.path, kind)]
    for thing in [*things, *supplies_of(decider, opening)]:
        yield _row(decider, thing, _settings(deciders, opening, thing, steps))


def sign_rows(deciders: Mapping[str, Decider], opening: Thing, steps: Sequence[Step]) -> Iterator[Row]:
    """The signs of an opening, and the wordings on its devices."""
    decider = next(iter(deciders.values()))
    for thing in decider.project.owned_by(opening.path, "sign"):
        yield _row(decider, thing, _settings(deciders, opening, thing, steps))
    for thing in decider.project.owned_by(opening.path, "device"):
        worded = [each for each in _settings(deciders, opening, thing, steps) if each.fact in SIGN_TEXT]
        if worded:
            yield _row(decider, thing, worded)


def _row(decider: Decider, thing: Thing, settings: Sequence[Setting]) -> Row:
    kind = decider.vocabulary.kinds[thing.kind]
    what, about = kind.title, ""
    fact = kind.facts.get(WHAT)
    if fact is not None and fact.sort == "choice":
        given = decider.project.given(thing.path, WHAT, decider.mode)
        what = given.typed if given is not None else f"{kind.title}, kind not known: decide"
        listed = decider.vocabulary.lists[fact.values].values.get(what)
        about = listed.about if listed is not None else ""
    return Row(
        thing.path,
        thing.kind,
        what,
        about,
        _where(decider.project, kind, thing),
        tuple(each for each in settings if each.fact != WHAT or each.path != thing.path),
    )


def _where(project: Project, kind: Kind, thing: Thing) -> str:
    """The things that it refers to: its side, its leaf, its supply, the ways it can lock."""
    words = []
    for relation in kind.relations.values():
        name = relation.name.replace("_", " ")
        if relation.form == ONE and (thing.path, relation.name) in project.references:
            to = project.references[(thing.path, relation.name)].rpartition("/")[2]
            words.append(f"{name}: {to or 'none'}")
        elif relation.form == "many" and (thing.path, relation.name) in project.lists:
            members = project.lists[(thing.path, relation.name)].members
            words.append(f"{name}: {joined([path.rpartition('/')[2] for path in members]) or 'none'}")
    return "; ".join(words)


def _settings(deciders: Mapping[str, Decider], opening: Thing, thing: Thing, steps: Sequence[Step]) -> list[Setting]:
    """What is described of a thing and of what it does to others, and what is asked of it; events stand elsewhere."""
    decider = next(iter(deciders.values()))
    mine = {thing.path: thing}
    inside = f"{thing.path}/"
    for path, part in sorted(decider.project.things.items()):
        if path.startswith(inside) and not event_of(decider, part)[0]:
            mine[path] = part
    found: dict[tuple[str, str], Setting] = {}
    for step in steps:
        if (step.path in mine or step.path.startswith(inside)) and not _is_event(decider, step.path):
            words = _words(opening, thing, step.path, step.fact)
            found.setdefault(
                (step.path, step.fact),
                Setting(step.path, step.fact, words, step.described, step.accepted.words, step.verdict),
            )
    for path, part in mine.items():
        for fact in decider.vocabulary.kinds[part.kind].facts.values():
            described, known_by = described_of(decider, part, fact)
            if described and known_by != "derived" and (path, fact.name) not in found:
                words = _words(opening, thing, path, fact.name)
                found[(path, fact.name)] = Setting(path, fact.name, words, described, "", DESCRIBED)
    return list(found.values())


def _is_event(decider: Decider, path: str) -> bool:
    return bool(event_of(decider, Thing(path, "response", ""))[0])


def _words(opening: Thing, thing: Thing, path: str, fact: str) -> str:
    name = fact.replace("_", " ")
    if path == thing.path:
        return name
    inner = place_of(opening, path).removeprefix(f"{place_of(opening, thing.path)}, ")
    return f"{inner}: {name}"
