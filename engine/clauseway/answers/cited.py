"""Citations in a text, looked up in the tables of clauses of all codes and editions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from clauseway.answers.citing import OPEN, Meaning, meanings, meanings_data
from clauseway.answers.coverage import coverage
from clauseway.law.library import Library
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.citation import Reading, read_citations
from clauseway.text.problems import NOWHERE, ClausewayError, Problem


@dataclass(frozen=True, slots=True)
class Cited:
    """What a text cites: how it was read, and what each citation means."""

    reading: Reading
    meanings: tuple[Meaning, ...]

    @property
    def status(self) -> int:
        """0 all are known, 1 a number is of another edition or not known, 3 no edition is named or a part not read."""
        if any(not each.sound and each.state != OPEN for each in self.meanings):
            return 1
        return 3 if self.reading.unread or not all(each.sound for each in self.meanings) else 0


def cite(library: Library, text: str, book: Callable[[str], Rulebook] | None = None) -> Cited:
    """What the citations in a text mean, such as `IBC 2021 1010.2.11`; `book` resolves `ibc@2021` where given.

    Raises:
        ClausewayError: for a text that cites no section, or that is too long.
    """
    codes = {name: code for name, code in library.codes.items() if not code.always}
    names = {name: code.names for name, code in codes.items()}
    try:
        reading = read_citations(text, names, [edition for code in codes.values() for edition in code.editions])
    except ValueError as error:
        raise ClausewayError(Problem(NOWHERE, str(error), "a shorter text")) from None
    if not reading.citations:
        known = ", ".join(reading.unread)
        found = f"no section is cited{f', though {known} is named' if known else ''}"
        raise ClausewayError(Problem(NOWHERE, found, 'such as "IBC 2021 1010.2.11", "ADA 404.2.9"'))
    wanted = {each.code for each in reading.citations}
    resolved = book or (lambda edition: resolve(library, [edition]))
    tables = [
        coverage(resolved(f"{name}@{edition}"), name, code.clauses)
        for name, code in codes.items()
        if name in wanted or "" in wanted
        for edition in code.editions
    ]
    return Cited(reading, meanings(reading, tables, names))


def cited_data(found: Cited) -> dict[str, Any]:
    """What a text cites, as JSON data."""
    return meanings_data(found.reading, found.meanings)
