"""From what a person names (codes, or a jurisdiction and dates) to the rulebooks that a file is checked against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from clauseway.answers import finding as F
from clauseway.answers.under import Under, under
from clauseway.law.rulebook import Rulebook
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem

if TYPE_CHECKING:
    from clauseway.law.adoption import Asked
    from clauseway.law.library import Library
    from clauseway.law.shelf import Shelf


@dataclass(frozen=True)
class Governing:
    """A rulebook, and the law that it was made under."""

    rulebook: Rulebook
    under: Under

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes and editions that govern, by name."""
        return tuple(str(code) for code in self.rulebook.adopted)

    def told(self, report: F.Report) -> F.Report:
        """The report with the law that it was made under."""
        return replace(report, under=self.under)


def governing(
    library: Library,
    name: str,
    asked: Asked,
    extra: Sequence[str] = (),
    *,
    drafts: bool = False,
    place: Place = NOWHERE,
) -> tuple[Governing, ...]:
    """The rulebooks that govern in a jurisdiction, one for each reading.

    The layers in `extra` are laid over all of them; with `drafts` they need not be law.

    Raises:
        ClausewayError: for an unknown jurisdiction, a date with no adoption, or law that does not fit together.
    """
    from clauseway.law.adoption import jurisdiction_called, readings
    from clauseway.law.resolve import resolve

    jurisdiction = jurisdiction_called(library, name, place)
    found = readings(library, jurisdiction, asked)
    made = []
    for reading in found:
        terms = replace(reading.terms, drafts=drafts)
        layers = list(dict.fromkeys((*reading.layers, *extra)))
        rulebook = resolve(library, reading.codes, layers, terms)
        made.append(Governing(rulebook, under(library, jurisdiction, asked, reading, len(found))))
    return tuple(made)


def kept_governing(
    shelf: Shelf, name: str, asked: Asked, extra: Sequence[str] = (), place: Place = NOWHERE
) -> tuple[Governing, ...]:
    """The same from a shelf: read from the rules only where they are not kept."""
    key = (name, replace(asked, dates=dict(sorted(asked.dates.items()))), tuple(extra))
    found = [(book, law) for book, law in shelf.governed(key) if isinstance(law, Under)]
    if found and len(found) == found[0][1].readings:
        return tuple(Governing(book, law) for book, law in found)
    made = governing(shelf.library, name, asked, extra, place=place)
    shelf.keep_governed(key, [(each.rulebook, each.under) for each in made])
    return made


def the_only(found: Sequence[Governing], what: str) -> Governing:
    """The reading that there is.

    Raises:
        ClausewayError: when there are several, with the choices.
    """
    if len(found) == 1:
        return found[0]
    choices = [each.under.label for each in found]
    near = nearest(what, choices) or ""
    expected = f"--choose or --authority, one of: {one_of(choices)}"
    raise ClausewayError(Problem(NOWHERE, f"{len(found)} readings of the law stand side by side here", expected, near))
