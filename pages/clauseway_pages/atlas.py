"""All rules, resolved once: every provision in all its editions, what reads what, and the examples with answers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from clauseway.answers.explain import facts_read
from clauseway.language import core
from clauseway.law.library import Code, Library
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Condition, Derivation, Parameter, Provision, Table
from clauseway_pages.cases import Case, cases_of

Book = Provision | Derivation | Table
"""What has a page under `provisions/`."""


@dataclass(frozen=True)
class Across:
    """A provision, derivation or table in all editions that have it, oldest first."""

    name: str
    code: Code
    editions: Mapping[str, Book]

    @property
    def newest(self) -> str:
        """The newest edition that has it."""
        return list(self.editions)[-1]

    @property
    def now(self) -> Book:
        """What it is in its newest edition."""
        return self.editions[self.newest]

    @property
    def id(self) -> str:
        """Its id without the code."""
        return self.name.removeprefix(f"{self.code.id}.")

    @property
    def kind(self) -> str:
        """Its kind: requirement, locking-arrangement, derivation or table."""
        now = self.now
        return now.kind if isinstance(now, Provision) else "derivation" if isinstance(now, Derivation) else "table"


def conditions_in(provision: Book) -> tuple[Condition, ...]:
    """The conditions of a provision, where it is permitted first; none of a derivation or table."""
    return provision.permitted + provision.conditions if isinstance(provision, Provision) else ()


@dataclass(frozen=True)
class Atlas:
    """A library with a rulebook for each edition of each code."""

    library: Library
    books: Mapping[str, Mapping[str, Rulebook]] = field(repr=False)

    @cached_property
    def provisions(self) -> dict[str, Across]:
        """Everything that has a page under `provisions/`, by full name."""
        found: dict[str, Across] = {}
        for code in self.library.codes.values():
            by_name: dict[str, dict[str, Book]] = {}
            for edition, book in self.books[code.id].items():
                for name, each in _own(book, code.id):
                    by_name.setdefault(name, {})[edition] = each
            found |= {name: Across(name, code, by_name[name]) for name in sorted(by_name)}
        return found

    def book(self, across: Across, edition: str = "") -> Rulebook:
        """The rulebook of an edition in which a provision stands, by default the newest."""
        return self.books[across.code.id][edition or across.newest]

    def values(self, across: Across, edition: str) -> dict[str, Parameter]:
        """The values of a provision in one edition, by name."""
        head = f"{across.name}/"
        book = self.book(across, edition)
        return {key.removeprefix(head): value for key, value in book.parameters.items() if key.startswith(head)}

    @cached_property
    def cases(self) -> dict[str, dict[str, list[Case]]]:
        """The examples of each provision by condition, each with the answer of the engine."""
        return {
            name: cases_of(self.library, across.code, across.id, self.books[across.code.id])
            for name, across in self.provisions.items()
            if isinstance(across.now, Provision)
        }

    @cached_property
    def reading(self) -> dict[str, dict[str, list[str]]]:
        """By fact, computation or table: what reads it, by full name, with the labels of its conditions."""
        found: dict[str, dict[str, list[str]]] = {}
        for across in self.provisions.values():
            for read, label in dict.fromkeys(_reads(across)):
                labels = found.setdefault(read, {}).setdefault(across.name, [])
                if label:
                    labels.append(label)
        return found


def atlas_of(library: Library) -> Atlas:
    """Resolve every edition of every code.

    Raises:
        ClausewayError: for rules that do not fit together.
    """
    return Atlas(
        library,
        {
            code.id: {edition: resolve(library, [f"{code.id}@{edition}"]) for edition in code.editions}
            for code in library.codes.values()
        },
    )


def _own(book: Rulebook, code: str) -> Iterator[tuple[str, Book]]:
    """What a rulebook holds of one code."""
    yield from ((name, each) for name, each in book.provisions.items() if each.code == code)
    yield from ((name, each) for name, each in book.derivations.items() if each.code == code)
    for name, each in book.tables.items():
        if each.code == code:
            yield name if name.startswith(f"{code}.") else f"{code}.{name}", each


def _reads(across: Across) -> Iterator[tuple[str, str]]:
    """What a provision reads, in any edition, with the condition that reads it (empty for the whole)."""
    for each in across.editions.values():
        if isinstance(each, Derivation):
            yield from ((name, "") for name in named_in(each.node))
        elif isinstance(each, Provision):
            yield from ((fact, "") for fact in facts_read(each))
            for condition in conditions_in(each):
                yield from ((name, condition.label) for name in named_in(condition.own))


def named_in(node: core.Node) -> Iterator[str]:
    """The facts, computations and tables that a term names."""
    for part in core.walk(node):
        if isinstance(part, core.Get):
            yield part.fact
        elif isinstance(part, core.Compute):
            yield part.name
        elif isinstance(part, core.Lookup):
            yield part.table
