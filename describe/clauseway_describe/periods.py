"""Which rulebooks the page needs: for each place, the days on which its law changes, and what governs between them."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass

from clauseway.answers.governing import governing
from clauseway.law.adoption import Asked, above
from clauseway.law.library import Library
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.model.jurisdiction import ADOPTED, TODAY, Jurisdiction
from clauseway.text.problems import ClausewayError
from clauseway.text.source import Node

_DAY = re.compile(r"[12][0-9]{3}-[01][0-9]-[0-3][0-9]")


@dataclass(frozen=True, slots=True)
class Reading:
    """One way in which the law of a place may be read: its label, its codes and layers, and its rulebook."""

    label: str
    rulebook: Rulebook


@dataclass(frozen=True, slots=True)
class Period:
    """What governs from a day on, until the next period; no reading where nothing that is encoded governs."""

    since: str
    readings: tuple[Reading, ...]
    why_none: str = ""


def periods(library: Library, jurisdiction: Jurisdiction, first: str) -> Iterator[Period]:
    """The periods of the law of a place from a first day on; a period is given once for the same rulebooks."""
    before: tuple[tuple[str, str], ...] | None = None
    for day in _days(library, jurisdiction, first):
        try:
            found = governing(library, jurisdiction.id, Asked({TODAY: day}))
        except ClausewayError as error:
            period = Period(day, (), error.problems[0].found)
        else:
            period = Period(day, tuple(Reading(each.under.label, each.rulebook) for each in found))
        now = tuple((each.label, each.rulebook.digest) for each in period.readings)
        if now != before:
            yield period
        before = now


def _days(library: Library, jurisdiction: Jurisdiction, first: str) -> list[str]:
    """The first day, and every later one that an adoption or a layer of the place or above it names."""
    days = {first}
    places = list(above(library, jurisdiction))
    followed = {a.follows for place in places for a in place.adoptions.values() if a.follows}
    places += [library.jurisdictions[name] for name in sorted(followed) if name in library.jurisdictions]
    names = {name for place in places for a in place.adoptions.values() for name, _ in a.layers}
    for place in places:
        for adoption in place.adoptions.values():
            if adoption.status == ADOPTED:
                days |= {day for term in adoption.terms for day in (term.since, term.until) if _DAY.fullmatch(day)}
    for layer in library.layers:
        name = layer.get("layer")
        if name is not None and name.text in names:
            days |= set(_dates_in(layer))
    return sorted(day for day in days if day >= first)


def _dates_in(node: Node) -> Iterator[str]:
    if node.text is not None and _DAY.fullmatch(node.text):
        yield node.text
    for _, inner in node.items():
        yield from _dates_in(inner)
    for inner in node.elements():
        yield from _dates_in(inner)


def editions(
    library: Library, told: Callable[[str], None], only: Collection[str] | None = None
) -> Iterator[tuple[str, str, Rulebook]]:
    """Each code in each edition by itself (or those in `only`): its name with the edition, its title, its rulebook."""
    for name, code in library.codes.items():
        if code.always:
            continue
        for edition in code.editions:
            if only is not None and f"{name}@{edition}" not in only:
                continue
            told(f"{name}@{edition}")
            rulebook = resolve(library, [f"{name}@{edition}"])
            title = next(each.title for each in rulebook.codes if each.code == name)
            yield f"{name}@{edition}", f"{title} {edition}", rulebook
