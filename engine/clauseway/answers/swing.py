"""Which doors answer otherwise under another rulebook, by which condition, and by which difference of the rules."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from clauseway.answers import finding as F
from clauseway.answers.contrast import Contrast, Step
from clauseway.language import core
from clauseway.law.rulebook import Rulebook

_Key = tuple[str, str, str, str]


@dataclass(frozen=True, slots=True)
class Turn:
    """A condition with another verdict for a subject; `was` or `now` is empty where it is not asked.

    `says` is the sentence of the second report, or of the first where the second asks nothing.
    """

    finding: str
    subject: F.Subject
    mode: str
    was: str
    now: str
    says: str
    why: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Swing:
    """An opening or other thing that answers otherwise; `was` and `now` may be the same verdict for other reasons."""

    kind: str
    id: str
    title: str
    was: str
    now: str
    turns: tuple[Turn, ...]


@dataclass(frozen=True)
class Swings:
    """All that answer otherwise, and how many there are in all."""

    found: tuple[Swing, ...]
    openings: int

    @property
    def verdicts(self) -> tuple[Swing, ...]:
        """Those whose verdict is another."""
        return tuple(each for each in self.found if each.was != each.now)


def swings(books: Sequence[Rulebook], reports: Sequence[F.Report], found: Contrast) -> Swings:
    """What answers otherwise from the first report to the second, made under the first and second rulebook."""
    before, after = ({(a.kind, a.id): a for a in report.answers} for report in reports)
    made = []
    for key in dict.fromkeys((*before, *after)):
        was, now = before.get(key), after.get(key)
        turns = tuple(_turns(was, now, books, found))
        verdicts = (was.verdict if was else "", now.verdict if now else "")
        if turns or verdicts[0] != verdicts[1]:
            one = now or was
            assert one is not None
            made.append(Swing(one.kind, one.id, one.title, *verdicts, turns))
    openings = sum(1 for kind, _ in {**before, **after} if kind == "opening")
    return Swings(tuple(made), openings)


def _turns(was: F.Answer | None, now: F.Answer | None, books: Sequence[Rulebook], found: Contrast) -> Iterator[Turn]:
    old, new = _findings(was), _findings(now)
    moved = _moved(was, now)
    for key in sorted({*old, *new}):
        first, second = old.get(key), new.get(key)
        verdicts = [_asked(each) for each in (first, second)]
        if verdicts[0] == verdicts[1]:
            continue
        one = second or first
        assert one is not None
        rests = {name for book in books for name in _rests_on(book, one.id, moved)}
        every = (*found.every, *found.known)
        why = tuple(step for step in every if _belongs(step, rests))
        yield Turn(one.id, one.subject, one.mode, verdicts[0], verdicts[1], one.says, why)


def _findings(answer: F.Answer | None) -> dict[_Key, F.Finding]:
    every = answer.findings if answer is not None else ()
    return {(each.id, each.subject.path, each.subject.passage, each.mode): each for each in every}


def _asked(finding: F.Finding | None) -> str:
    """The verdict; nothing where the condition is not there or asks nothing here."""
    return "" if finding is None or finding.verdict == F.NOT_APPLICABLE else finding.verdict


def _moved(was: F.Answer | None, now: F.Answer | None) -> frozenset[str]:
    """The arrangements that are met or permitted otherwise."""

    def standing(answer: F.Answer | None) -> dict[tuple[str, F.Subject, str], tuple[str, str]]:
        every = answer.arrangements if answer is not None else ()
        return {(each.id, each.subject, each.mode): (each.verdict, each.permitted) for each in every}

    old, new = standing(was), standing(now)
    return frozenset(key[0] for key in {*old, *new} if old.get(key) != new.get(key))


def _rests_on(book: Rulebook, finding: str, moved: frozenset[str]) -> Iterator[str]:
    """The names of all that a condition rests on: its provision, itself, values, tables, derivations, arrangements."""
    owner, _, label = finding.partition("/")
    provision = book.provisions.get(owner)
    if provision is None:
        yield from (owner, finding)
        return
    waiting: list[core.Node] = [provision.applies, provision.recognised]
    waiting += [c.truth for c in provision.permitted + provision.conditions if c.label == label]
    yield from (owner, finding)
    seen = {owner}
    while waiting:
        for node in core.walk(waiting.pop()):
            if isinstance(node, core.Parameter):
                yield node.key
            elif isinstance(node, core.Lookup):
                yield node.table
            elif isinstance(node, core.Get) and node.derived and node.derived not in seen:
                seen.add(node.derived)
                yield node.derived
                waiting.append(book.derivations[node.derived].node)
            elif isinstance(node, core.Holds) and node.arrangement in moved - seen:
                seen.add(node.arrangement)
                arrangement = book.provisions[node.arrangement]
                yield node.arrangement
                own = arrangement.permitted + arrangement.conditions
                yield from (f"{node.arrangement}/{condition.label}" for condition in own)
                waiting += [arrangement.applies, arrangement.recognised, *(condition.truth for condition in own)]


def _belongs(step: Step, rests: set[str]) -> bool:
    """Whether a difference is of what a condition rests on; a new number of a section decides nothing."""
    if step.kind == "renumbered":
        return False
    return step.id in rests or (step.part in ("cell", "row") and step.id.partition("/")[0] in rests)
