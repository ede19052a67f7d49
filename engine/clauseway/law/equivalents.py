"""Explanations of mutants that no example can notice (`mutants.yaml` beside the provisions of a code)."""

from __future__ import annotations

from dataclasses import dataclass

from clauseway.law.folders import shipped_rules
from clauseway.law.library import Code, Library
from clauseway.law.shape import check_shape
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import read_yaml

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
        ClausewayError: for a file of the wrong shape, another code, or an edition that the code does not have.
    """
    entries: list[Equivalent] = []
    problems: list[Problem] = []
    for folder in library.folders:
        path = folder / "codes" / code.id / f"{FILE}.yaml"
        if not path.is_file():
            continue
        node = read_yaml(path, name=f"rules/codes/{code.id}/{FILE}.yaml")
        departures = check_shape(node, FILE, shipped_rules() / "schemas")
        if departures:
            raise ClausewayError(departures)
        named = node.get("code")
        if named is None or named.text != code.id:
            problems.append(Problem((named or node).place, f"code {named.text if named else 'missing'}", code.id))
        listed = node.get("equivalent")
        for entry in listed.elements() if listed is not None else ():
            only = entry.get("editions")
            editions = tuple(element.text or "" for element in only.elements()) if only is not None else ()
            for label in editions:
                if label not in code.editions:
                    near = nearest(label, code.editions) or ""
                    problems.append(
                        Problem(entry.place, f"{code.id} has no edition {label}", one_of(code.editions, 20), near)
                    )
            reason, mutants = entry.get("reason"), entry.get("mutants")
            for mutant in mutants.elements() if mutants is not None else ():
                why = reason.text or "" if reason is not None else ""
                entries.append(Equivalent(mutant.text or "", editions, why, mutant.place))
    if problems:
        raise ClausewayError(problems)
    return Equivalents(tuple(entries))
