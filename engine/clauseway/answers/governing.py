"""From what a person names (codes, or a jurisdiction and dates) to the rulebooks that a file is checked against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from clauseway.answers import finding as F
from clauseway.answers.under import Under, under
from clauseway.law.adoption import Asked, Reading, jurisdiction_called, readings
from clauseway.law.library import Library
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem


@dataclass(frozen=True)
class Governing:
    """A rulebook, how it came about, and what a report says of it."""

    rulebook: Rulebook
    reading: Reading
    under: Under

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
    jurisdiction = jurisdiction_called(library, name, place)
    found = readings(library, jurisdiction, asked)
    made = []
    for reading in found:
        terms = replace(reading.terms, drafts=drafts)
        layers = list(dict.fromkeys((*reading.layers, *extra)))
        rulebook = resolve(library, reading.codes, layers, terms)
        made.append(Governing(rulebook, reading, under(library, jurisdiction, asked, reading, len(found))))
    return tuple(made)


def the_only(found: Sequence[Governing], what: str) -> Governing:
    """The reading that there is.

    Raises:
        ClausewayError: when there are several, with the choices.
    """
    if len(found) == 1:
        return found[0]
    choices = [each.reading.label for each in found]
    near = nearest(what, choices) or ""
    expected = f"--choose or --authority, one of: {one_of(choices)}"
    raise ClausewayError(Problem(NOWHERE, f"{len(found)} readings of the law stand side by side here", expected, near))
