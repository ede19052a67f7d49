"""How long options and least changes of a door take, with the codes of a place, and with ever more left open."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from random import Random

import pytest

from clauseway.answers.governing import governing
from clauseway.case.open import open_project
from clauseway.case.things import Project
from clauseway.design.needs import needs
from clauseway.design.repair import least_changes
from clauseway.law.adoption import Asked
from clauseway.law.library import load
from clauseway.law.rulebook import Rulebook
from clauseway.law.shelf import Shelf
from clauseway.model.jurisdiction import TODAY

LAWS = {"ibc@2021": "", "USNYC": "2026-01-01", "US-CA": "2026-01-01"}
Work = Callable[[Rulebook, Project, str], object]
FREE = (0, 5, 10, 20, 40)


def _book(name: str, day: str) -> Rulebook:
    if not day:
        return Shelf().rulebook([name])
    return governing(load(), name, Asked({TODAY: day}))[0].rulebook


def _seconds(work: Work, book: Rulebook, project: Project, path: str) -> float:
    started = time.process_time()
    work(book, project, path)
    return time.process_time() - started


@pytest.mark.bench
@pytest.mark.parametrize("law", LAWS)
def test_every_door_of_the_demo(law: str) -> None:
    book = _book(law, LAWS[law])
    project = open_project("demo", book)
    paths = [opening.path for opening in project.of_kind("opening")]
    works: tuple[tuple[str, Work], ...] = (("needs", needs), ("repair", least_changes))
    for name, work in works:
        took = sorted((_seconds(work, book, project, path), path) for path in paths)
        print(f"{law}: {name}: median {took[len(took) // 2][0]:.2f} s, most {took[-1][0]:.2f} s ({took[-1][1]})")
    assert paths


@pytest.mark.bench
def test_growth_with_what_is_left_open() -> None:
    book = _book("ibc@2021", "")
    project = open_project("demo", book)
    for many in FREE:
        fewer, known = _forgetting(project, book, "openings/d104", many)
        times = [_seconds(work, book, fewer, "openings/d104") for work in (needs, least_changes)]
        print(f"{many} of {known} facts left open: needs {times[0]:.2f} s, repair {times[1]:.2f} s")
    assert known


def _forgetting(project: Project, book: Rulebook, opening: str, many: int) -> tuple[Project, int]:
    """The project without some facts of an opening that a designer chooses; and how many there are."""
    chosen = [
        (path, name)
        for path, name, _ in project.part(opening).facts
        if book.vocabulary.kinds[project.things[path].kind].facts[name].chosen_by == "designer"
    ]
    gone = set(Random(1).sample(chosen, min(many, len(chosen))))
    return replace(project, facts={key: given for key, given in project.facts.items() if key not in gone}), len(chosen)
