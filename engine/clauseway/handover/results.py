"""Measured values put into a description as facts, and what they come to: verdicts by the checker alone."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from clauseway.answers import finding as F
from clauseway.answers.check import check, modes_of
from clauseway.answers.decide_condition import VERDICTS
from clauseway.case.project import read_project
from clauseway.case.read_value import read_value
from clauseway.case.things import Project
from clauseway.handover.build import handover_of
from clauseway.handover.demands import Demand
from clauseway.handover.results_in import Result, Results
from clauseway.handover.sheet import Handover, Step
from clauseway.handover.steps import reason_of
from clauseway.language.possible import every
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import Fact, Vocabulary
from clauseway.readers.decide import Decider
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway.text.source import Node, node_from_data

Data = dict[str, Any]
MEASURED = "measured"
_YES = {"yes": "true", "y": "true", "no": "false", "n": "false"}


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured value with its verdict, and the sentences of the lines that ask it."""

    step: Step
    value: str
    by: str
    note: str
    verdict: str
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Measurements:
    """What was measured at an opening: its verdict before and after, and the description with the measured facts."""

    opening: str
    before: str
    after: str
    readings: tuple[Reading, ...]
    not_measured: tuple[Step, ...]
    data: Data

    @property
    def status(self) -> int:
        """0 all steps measured and met and the opening complies, 1 something fails, 3 something is open."""
        verdicts = {reading.verdict for reading in self.readings}
        if F.UNMET in verdicts or self.after == F.FAILS:
            return 1
        return 3 if verdicts - {F.MET} or self.not_measured or self.after != F.COMPLIES else 0


def measure(rulebook: Rulebook, description: Node, results: Results, *, accept_memory: bool = False) -> Measurements:
    """The description with the results in it as measured facts, and a verdict on each of them.

    Raises:
        ClausewayError: for an opening or a step that does not exist, and for a value that its fact cannot have.
    """
    vocabulary = rulebook.vocabulary
    project = read_project(description, vocabulary)
    path = _opening(project, results)
    sheet = handover_of(rulebook, project, path, accept_memory=accept_memory)
    plain = description.plain()
    data: Data = copy.deepcopy(plain) if isinstance(plain, dict) else {}
    problems: list[Problem] = []
    taken: list[tuple[Step, Result]] = []
    for line in results.lines:
        try:
            taken.append((_step(sheet, line), line))
            _put_in(rulebook, project, data, *taken[-1])
        except ClausewayError as error:
            problems.extend(error.problems)
    if problems:
        raise ClausewayError(problems)
    after = read_project(node_from_data(data, project.file), vocabulary)
    _check_taken(rulebook, after, taken)
    deciders = {mode: Decider(rulebook, after, mode, accept_memory=accept_memory) for mode in modes_of(rulebook, after)}
    measured = {line.step for line in results.lines}
    return Measurements(
        results.opening,
        sheet.verdict,
        check(rulebook, after, only=[results.opening], accept_memory=accept_memory).answers[0].verdict,
        tuple(_reading(deciders, step, line) for step, line in taken),
        tuple(step for step in sheet.acceptance if step.id not in measured),
        data,
    )


def _opening(project: Project, results: Results) -> str:
    known = {thing.id: thing.path for thing in project.of_kind("opening")}
    if results.opening not in known:
        place = Place(project.file)
        found = f"no opening {results.opening}"
        raise ClausewayError(Problem(place, found, one_of(known, 12), nearest(results.opening, known) or ""))
    return known[results.opening]


def _step(sheet: Handover, line: Result) -> Step:
    step = sheet.step(line.step)
    if step is None:
        known = list(sheet.by_id)
        raise ClausewayError(
            Problem(line.place, f"no step {line.step}", one_of(known, 8), nearest(line.step, known) or "")
        )
    return step


def _put_in(rulebook: Rulebook, project: Project, data: Data, step: Step, line: Result) -> None:
    """Write a measured value where its fact stands in the description."""
    fact = rulebook.vocabulary.kinds[step.kind].facts[step.fact]
    value = _typed(rulebook.vocabulary, fact, f"{step.kind}.{step.fact}", line)
    note = ", ".join(part for part in (line.by and f"measured by {line.by}", line.note) if part)
    entry: Data = {"value": value, "known_by": MEASURED, **({"note": note} if note else {})}
    home = _entry(data, step.path, line.place)
    modes = [step.mode] if step.mode else []
    if not modes and (step.path, step.fact) in project.by_mode:
        modes = modes_of(rulebook, project)
    if not modes:
        home[step.fact] = entry
    for mode in modes:
        _inner(_inner(home, "modes"), mode)[step.fact] = entry


def _typed(vocabulary: Vocabulary, fact: Fact, dotted: str, line: Result) -> Any:
    value: Any = line.value
    if fact.sort in ("yes-no", "approval"):
        value = _YES.get(value.casefold(), value)
    elif fact.sort == "choices":
        value = [] if value == "none" else [part.strip() for part in value.split(",")]
    try:
        read_value(node_from_data(value, line.place.file), fact, dotted, vocabulary)
    except ClausewayError as error:
        raise ClausewayError([replace(problem, place=line.place) for problem in error.problems]) from None
    return value


def _entry(data: Data, path: str, place: Place) -> Data:
    entry = data
    for step in path.split("/") if path else ["building"]:
        entry = _inner(entry, step, place)
    return entry


def _inner(entry: Data, key: str, place: Place = NOWHERE) -> Data:
    inner = entry.get(key)
    if inner is None:
        inner = entry[key] = {}
    if not isinstance(inner, dict):
        raise ClausewayError(
            Problem(place, f"the description says {key}: {inner}", "a description of what was measured")
        )
    return inner


def _check_taken(rulebook: Rulebook, after: Project, taken: Iterable[tuple[Step, Result]]) -> None:
    """Refuse what the description does not take over, such as a value that another part of it states as well."""
    for step, line in taken:
        for mode in [step.mode] if step.mode else modes_of(rulebook, after):
            given = after.given(step.path, step.fact, mode)
            if given is None or given.known_by != MEASURED:
                raise ClausewayError(
                    Problem(line.place, f"the description states {step.id} in another place as well", "one place")
                )


def _reading(deciders: dict[str, Decider], step: Step, line: Result) -> Reading:
    verdict = VERDICTS[every(demand.term.truth(deciders[demand.mode]) for demand in step.demands)]
    says = tuple(dict.fromkeys(_says(deciders, step)))
    return Reading(step, line.value, line.by, line.note, verdict, says)


def _says(deciders: dict[str, Decider], step: Step) -> Iterator[str]:
    lines: dict[tuple[str, str], list[Demand]] = {}
    for demand in step.demands:
        lines.setdefault((demand.mode, demand.id), []).append(demand)
    for (mode, _), same in lines.items():
        yield reason_of(deciders[mode], same).says
