"""Explanations of mutants that no example can notice (`mutants.yaml` beside the provisions of a code)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from clauseway.law.library import Code, Library
from clauseway.law.shape import check_shape
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import Node, read_yaml

FILE = "mutants"


@dataclass(frozen=True, slots=True)
class Equivalent:
    """One mutant that means the same as the rule, in some editions (all where none is named), and why."""

    mutant: str
    editions: tuple[str, ...]
    reason: str
    place: Place

    @property
    def owner(self) -> str:
        """The provision, derivation or table whose mutant it is."""
        return self.mutant.partition("/")[0].partition(" -- ")[0]


@dataclass(frozen=True)
class Equivalents:
    """All explanations of a code."""

    entries: tuple[Equivalent, ...] = ()

    def of(self, mutant: str, edition: str) -> Equivalent | None:
        """The explanation of a mutant in an edition, if there is one."""
        for entry in self.entries:
            if entry.mutant == mutant and (not entry.editions or edition in entry.editions):
                return entry
        return None


def equivalents_of(library: Library, code: Code) -> Equivalents:
    """The explanations that stand in the folders of a library.

    Raises:
        ClausewayError: for a file of the wrong shape, another code, or an edition or provision that it does not have.
    """
    entries: list[Equivalent] = []
    problems: list[Problem] = []
    for number, folder in enumerate(library.folders):
        path = folder / "codes" / code.id / f"{FILE}.yaml"
        if path.is_file():
            node = read_yaml(path, name=str(path) if number else f"rules/codes/{code.id}/{FILE}.yaml")
            problems += check_shape(node, FILE, library.folders[0] / "schemas")
            if not problems:
                entries += _entries(node, code, problems)
    if problems:
        raise ClausewayError(problems)
    return Equivalents(tuple(entries))


def _entries(file: Node, code: Code, problems: list[Problem]) -> Iterator[Equivalent]:
    named, listed = file.get("code"), file.get("equivalent")
    if named is None or named.text != code.id:
        problems.append(Problem((named or file).place, f"code {named.text if named else 'missing'}", code.id))
    known = [f"{code.id}.{name}" for name in code.provisions]
    for entry in listed.elements() if listed is not None else ():
        only, reason, mutants = entry.get("editions"), entry.get("reason"), entry.get("mutants")
        editions = tuple(element.text or "" for element in only.elements()) if only is not None else ()
        for label in editions:
            if label not in code.editions:
                near = nearest(label, code.editions) or ""
                problems.append(
                    Problem(entry.place, f"{code.id} has no edition {label}", one_of(code.editions, 20), near)
                )
        for mutant in mutants.elements() if mutants is not None else ():
            why = reason.text or "" if reason is not None else ""
            made = Equivalent(mutant.text or "", editions, why, mutant.place)
            if made.owner not in known:
                near = nearest(made.owner, known) or ""
                problems.append(Problem(mutant.place, f"no provision {made.owner}", "a provision of the code", near))
            yield made
