"""What a check answers with: findings, arrangements and openings, complete and ready to be shown."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from clauseway.case.things import Missing
from clauseway.law.rulebook import CodeEdition
from clauseway.model.provision import Change, Citation
from clauseway.text.problems import Place

if TYPE_CHECKING:
    from clauseway.answers.under import Under

MET, UNMET, UNDETERMINED, NOT_APPLICABLE, NEEDS_APPROVAL = (
    "met",
    "unmet",
    "undetermined",
    "not-applicable",
    "needs-approval",
)
COMPLIES, FAILS = "complies", "does-not-comply"
VERDICT_WORDS = {
    COMPLIES: "no violation found",
    FAILS: "does not comply",
    UNDETERMINED: "not decided",
    NEEDS_APPROVAL: "needs approval",
}
"""What the verdicts on an opening are called wherever people read them."""
GUIDANCE = "guidance"


@dataclass(frozen=True, slots=True)
class Subject:
    """What a finding is about; `passage` names the direction for locks and leaves."""

    kind: str
    path: str
    passage: str = ""


@dataclass(frozen=True, slots=True)
class Asked:
    """A missing fact with the question to ask for it."""

    missing: Missing
    fact: str
    ask: str


@dataclass(frozen=True, slots=True)
class UsedFact:
    """A fact that a finding rests on: what was typed and where; `value` is empty while it is unknown."""

    value: str
    place: Place
    known_by: str


@dataclass(frozen=True, slots=True)
class UsedParameter:
    """A parameter that a finding rests on, as printed, and the item and basis it is known from."""

    value: str
    citation: Citation
    place: Place
    history: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """The verdict on one line of a group for one member, with its sentence."""

    label: str
    verdict: str
    says: str
    remedy: str
    citation: Citation


@dataclass(frozen=True, slots=True)
class MemberRow:
    """One member of a group: which lines it meets."""

    path: str
    verdict: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """A condition, decided for one subject.

    `verdict` is effective; `raw` is that of the condition by itself, before any arrangement excuses it. `claimed`
    tells a finding on an arrangement, which explains an excuse, from one on a requirement, which decides.
    """

    id: str
    code: str
    title: str
    subject: Subject
    mode: str
    verdict: str
    raw: str
    citations: tuple[Citation, ...]
    says: str
    remedy: str
    facts: Mapping[str, UsedFact]
    parameters: Mapping[str, UsedParameter]
    missing: tuple[Asked, ...]
    members: tuple[MemberRow, ...]
    excused_by: tuple[str, ...]
    claimed: bool
    place: Place
    history: tuple[Change, ...] = ()
    memory: tuple[str, ...] = ()
    """The clauses, values, tables and derivations behind it that nobody has verified."""
    opposes: tuple[tuple[str, str], ...] = ()
    """Conditions of other codes that ask the opposite, each with the reason why."""


@dataclass(frozen=True, slots=True)
class Lack:
    """A condition of an arrangement that is not met."""

    label: str
    verdict: str
    says: str


@dataclass(frozen=True, slots=True)
class ArrangementAnswer:
    """How far a lock meets an arrangement: as claimed, or as an option."""

    id: str
    title: str
    subject: Subject
    mode: str
    verdict: str
    permitted: str
    claimed: str
    lacks: tuple[Lack, ...]
    citation: Citation


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two codes that ask opposite things of one opening; neither is preferred."""

    ids: tuple[str, str]
    verdicts: tuple[str, str]
    why: str


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer for one opening, or for one room, stair, path, storey, supply or building."""

    kind: str
    id: str
    title: str
    verdict: str
    findings: tuple[Finding, ...]
    arrangements: tuple[ArrangementAnswer, ...]
    relies_on: tuple[str, ...]
    conflicts: tuple[Conflict, ...] = ()
    works: str = "not-described"
    """Whether what is described works by engineering practice: yes, no, undetermined or not-described."""

    @property
    def memory(self) -> tuple[str, ...]:
        """What the answer rests on that nobody has verified."""
        asked = (finding for finding in self.findings if finding.verdict != NOT_APPLICABLE)
        return tuple(sorted({name for finding in asked for name in finding.memory}))


@dataclass(frozen=True, slots=True)
class Report:
    """Everything that a check of one file found."""

    project: str
    file: str
    codes: tuple[CodeEdition, ...]
    on: str
    digest: str
    answers: tuple[Answer, ...]
    conditions: int
    layers: tuple[str, ...] = ()
    strict: bool = False
    practice: frozenset[str] = frozenset()
    """What speaks of whether things work and is no code."""
    under: Under | None = None
    """The law of a jurisdiction, where one was named."""

    @property
    def guidance(self) -> frozenset[str]:
        """The codes that are guidance: what departs from them needs another way to comply, and is no violation."""
        return frozenset(code.code for code in self.codes if code.force == GUIDANCE)

    @property
    def status(self) -> int:
        """0 all comply, 1 something unmet or surely not working, 3 something undetermined or needing approval.

        Engineering that is not decided changes nothing: a door is not open to doubt because its wire is not described.
        """
        statuses = {status_of(answer.verdict, answer.works) for answer in self.answers}
        return worst(statuses)


def status_of(verdict: str, works: str) -> int:
    """What one answer comes to, as `Report.status`."""
    if verdict == FAILS or works == "no":
        return 1
    return 0 if verdict in (COMPLIES, NOT_APPLICABLE) else 3


def worst(statuses: Iterable[int]) -> int:
    """The status of several together: 1, then 3, then 0."""
    there = set(statuses)
    return next((status for status in (1, 3) if status in there), 0)
