"""A rulebook: every provision that speaks, resolved, linked and frozen. A check needs nothing else."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, TypeVar

from clauseway.language.core import Node
from clauseway.law import codec
from clauseway.law.aliases import current
from clauseway.model.provision import ARRANGEMENT, REQUIREMENT, Derivation, Parameter, Provision, Table
from clauseway.model.vocabulary import Vocabulary
from clauseway.text.problems import NOWHERE, ClausewayError, Problem

FORMAT = "clauseway-rulebook/1"

T = TypeVar("T")


@codec.register
@dataclass(frozen=True, slots=True)
class CodeEdition:
    """A code in one edition, and its standing: law once adopted, guidance, `description` for our own checks of what a
    person described, or `practice` for whether it works."""

    code: str
    title: str
    edition: str
    force: str
    publisher: str = ""

    def __str__(self) -> str:
        return f"{self.code}@{self.edition}"


DESCRIPTION, PRACTICE = "description", "practice"
"""The standing of what is no code: what a description must agree with, and whether what is described works."""


@codec.register
@dataclass(frozen=True)
class Rulebook:
    """Provisions, derivations and tables by name, with what they refer to.

    `holds` has the truth of each locking arrangement.
    """

    codes: tuple[CodeEdition, ...]
    vocabulary: Vocabulary
    provisions: Mapping[str, Provision]
    parameters: Mapping[str, Parameter]
    derivations: Mapping[str, Derivation]
    tables: Mapping[str, Table]
    holds: Mapping[str, Node]
    sources: Mapping[str, Mapping[str, Mapping[str, str]]]
    layers: tuple[str, ...] = ()
    aliases: Mapping[str, str] = field(default_factory=dict)
    """Former names of provisions, such as `ibc.old`, each with the name of today."""

    def current(self, identity: str) -> str:
        """The id of today for one that begins with the former id of a provision; any other as it is."""
        return current(identity, self.aliases, [code.code for code in self.codes], self.provisions)

    @property
    def adopted(self) -> tuple[CodeEdition, ...]:
        """The codes that are codes: neither our checks of a description nor engineering practice."""
        return tuple(code for code in self.codes if code.force not in (DESCRIPTION, PRACTICE))

    @cached_property
    def practice(self) -> frozenset[str]:
        """What speaks of whether things work, and never of whether they comply."""
        return frozenset(code.code for code in self.codes if code.force == PRACTICE)

    def without_practice(self) -> Rulebook:
        """The same rulebook without what it asks of whether things work; what it derives stays."""

        def make() -> Rulebook:
            kept = {name: p for name, p in self.provisions.items() if p.code not in self.practice}
            found = replace(self, provisions=kept)
            # It follows from this one alone, so that the whole need not be written to name it.
            found.__dict__["digest"] = codec.digest(f"{FORMAT} without practice {self.digest}")
            return found

        return self.noted("without practice", make)

    @cached_property
    def notes(self) -> dict[object, Any]:
        """What readers work out of this rulebook once; no part of it, and empty in a changed copy."""
        return {}

    def noted(self, key: object, make: Callable[[], T]) -> T:
        """What `make` gives, made once for a key; make keys of names, or of the ids of parts of this rulebook."""
        if key not in self.notes:
            self.notes[key] = make()
        found: T = self.notes[key]
        return found

    @cached_property
    def requirements(self) -> tuple[Provision, ...]:
        """The requirements, by name."""
        return tuple(p for p in self.provisions.values() if p.kind == REQUIREMENT)

    @cached_property
    def arrangements(self) -> tuple[Provision, ...]:
        """The locking arrangements, by name."""
        return tuple(p for p in self.provisions.values() if p.kind == ARRANGEMENT)

    def deriving(self, fact: str) -> tuple[Derivation, ...]:
        """The derivations of a fact, one for each code that has one, by name."""
        return self._deriving.get(fact, ())

    @cached_property
    def _deriving(self) -> dict[str, tuple[Derivation, ...]]:
        found: dict[str, tuple[Derivation, ...]] = {}
        for derivation in self.derivations.values():
            found[derivation.fact] = (*found.get(derivation.fact, ()), derivation)
        return found

    @cached_property
    def json(self) -> str:
        """The canonical text from which `from_json` makes an equal rulebook."""
        return codec.to_json(self)

    @cached_property
    def digest(self) -> str:
        """What identifies this rulebook: a digest of everything in it."""
        return codec.digest(FORMAT + self.json)


def from_json(text: str) -> Rulebook:
    """The rulebook written by `Rulebook.json`; standard library only.

    Raises:
        ClausewayError: for text that is no compiled rulebook of this version.
    """
    try:
        rulebook = codec.decode(json.loads(text))
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise ClausewayError(Problem(NOWHERE, f"not a compiled rulebook: {error}")) from None
    if not isinstance(rulebook, Rulebook):
        raise ClausewayError(Problem(NOWHERE, "not a compiled rulebook"))
    return rulebook
