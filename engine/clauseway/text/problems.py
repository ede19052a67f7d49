"""What went wrong in something a person wrote: where, what was found, what was expected.

Every error about an input is a `Problem`; one file's problems are raised together as a `ClausewayError`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, order=True, slots=True)
class Place:
    """A position in a file; `line` and `column` count from 1, and 0 means the file as a whole."""

    file: str = ""
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        if not self.line:
            return self.file
        return f"{self.file}:{self.line}:{self.column}"

    def shifted(self, columns: int) -> Place:
        """The place `columns` further right on the same line."""
        return Place(self.file, self.line, self.column + columns) if self.line else self


NOWHERE = Place()


@dataclass(frozen=True, order=True)
class Problem:
    """One thing that is wrong: its place, what was found, what was expected, and the nearest valid name."""

    place: Place
    found: str
    expected: str = ""
    nearest: str = ""

    def __str__(self) -> str:
        lines = [f"{self.place}: {self.found}" if self.place.file else self.found]
        if self.expected:
            lines.append(f"    expected: {self.expected}")
        if self.nearest:
            lines.append(f"    did you mean: {self.nearest}?")
        return "\n".join(lines)


class ClausewayError(Exception):
    """Input that cannot be used. `problems` holds every one found, in the order of their places."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        several = (problems,) if isinstance(problems, Problem) else tuple(dict.fromkeys(problems))
        self.problems: tuple[Problem, ...] = tuple(sorted(several))
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def __reduce__(self) -> tuple[type[ClausewayError], tuple[tuple[Problem, ...]]]:
        """From one process to another it goes with its problems, not with the text of them."""
        return type(self), (self.problems,)
