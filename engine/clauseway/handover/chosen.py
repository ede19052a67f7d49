"""An opening with an arrangement chosen for its locks: what the arrangement needs is put in as proposed."""

from __future__ import annotations

from collections.abc import Iterator

from clauseway.answers.check import modes_of
from clauseway.case.things import Project
from clauseway.design.needs import FORBIDDEN, REFUSED, Option, needs
from clauseway.design.repair import typed
from clauseway.design.variant import AddThing, SetFact, Variant, applied
from clauseway.law.rulebook import Rulebook
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem

ARRANGEMENT = "arrangement"
"""The fact that says what a lock is meant as."""


def with_arrangement(
    rulebook: Rulebook, project: Project, opening: str, name: str, *, accept_memory: bool = False
) -> Project:
    """The project in which each lock of an opening that is not meant as anything yet is meant as an arrangement.

    What is described stays; what it needs besides is added as proposed.

    Raises:
        ClausewayError: for an arrangement that does not exist or is not permitted here, and where no lock is left.
    """
    place = Place(project.file)
    known = sorted({provision.id for provision in rulebook.arrangements})
    if name not in known:
        raise ClausewayError(Problem(place, f"no arrangement {name}", one_of(known, 12), nearest(name, known) or ""))
    mode = modes_of(rulebook, project)[0]
    waiting = [
        lock.path for lock in project.owned_by(opening, "lock") if project.given(lock.path, ARRANGEMENT, mode) is None
    ]
    if not waiting:
        found = f"every lock of {project.things[opening].id} has an arrangement already, or none is described"
        raise ClausewayError(Problem(place, found, "a lock without arrangement:"))
    chosen = False
    for lock in waiting:
        options = needs(rulebook, project, opening, accept_memory=accept_memory, only=name).options
        for option in (each for each in options if each.subject.path == lock):
            if option.standing == FORBIDDEN:
                raise _refused(option, place)
            project = _put_in(rulebook, project, option, mode)
            chosen = True
    if not chosen:
        found = f"{name} speaks of no lock of {project.things[opening].id}"
        raise ClausewayError(Problem(place, found, "an arrangement that clauseway needs shows"))
    return project


def _refused(option: Option, place: Place) -> ClausewayError:
    reasons = [need.says or f"it is not so that {need.asks}" for need in option.needs if need.standing == REFUSED]
    lock = option.subject.path.rpartition("/")[2]
    return ClausewayError(
        Problem(place, f"{option.id} is not permitted for lock {lock}: {' '.join(reasons)}", "another arrangement")
    )


def _put_in(rulebook: Rulebook, project: Project, option: Option, mode: str) -> Project:
    variant = Variant(project)
    for change in _wanted(project, option, mode):
        variant = variant.changed(change, rulebook.vocabulary)
    return applied(variant, lambda change: typed(rulebook, change))


def _wanted(project: Project, option: Option, mode: str) -> Iterator[AddThing | SetFact]:
    """The changes that the option makes, but for those of what is described."""
    for change in option.filled.changes:
        if isinstance(change, AddThing):
            if change.path not in project.things:
                yield change
        elif project.given(change.path, change.fact, mode) is None:
            yield change
