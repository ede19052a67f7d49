"""A provision as the readers see it: one edition, resolved, linked, in the core form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from clauseway.language.core import Node
from clauseway.language.possible import Value
from clauseway.text.problems import Place

REQUIREMENT, ARRANGEMENT, DERIVATION, TABLE = "requirement", "locking-arrangement", "derivation", "table"

MEMORY = "memory"
"""The kind of basis on which a permission does not excuse unless the user accepts it."""


@dataclass(frozen=True, slots=True)
class Basis:
    """How a thing is known: `kind` is published, reprint, secondary, memory or practice."""

    kind: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """A step in the history of a value: who set it, where, on what ground, instead of what."""

    layer: str
    place: Place
    verb: str
    was: str
    now: str
    cite: str = ""
    since: str = ""
    direction: str = ""
    authority: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Citation:
    """Where a statement stands. `basis` speaks of the substance, `section_basis` of the section's number.

    The citation of a condition says what its verdict proves about the clause: `if_met` is `satisfies` (the clause asks
    no more) or `contributes` (it is one of several things asked), `if_unmet` is `violates`.
    """

    code: str
    edition: str
    section: str
    item: str
    basis: Basis
    section_basis: Basis
    if_met: str = ""
    if_unmet: str = ""


@dataclass(frozen=True, slots=True)
class Placeholder:
    """A measured or required value inside a sentence, and how to print it (`form`: quantity:length, choice:x)."""

    node: Node
    form: str
    written: str


Template = tuple[str | Placeholder, ...]
"""A sentence: pieces of text and the values between them."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One of several values that sources give for one parameter: what is printed, who says so, how it is known."""

    value: str
    says: str
    basis: Basis


@dataclass(frozen=True, slots=True)
class Parameter:
    """A named value of a provision in one edition.

    `value` is what comparisons use; `printed` is what the code prints, in the order of its printing.
    """

    key: str
    value: Value
    printed: tuple[str, ...]
    form: str
    citation: Citation
    place: Place
    history: tuple[Change, ...] = ()
    readings: tuple[Reading, ...] = ()
    """Where sources differ: every value, the chosen one among them."""


@dataclass(frozen=True, slots=True)
class Line:
    """What can be said about a condition, a line of a group, an alternative or an exception."""

    label: str
    citation: Citation
    asks: Template
    met: Template
    unmet: Template
    remedy: Template
    place: Place
    history: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition of a provision.

    `own` is what the condition itself asks; `truth` adds the arrangements that excuse it. `form` is plain, some (a
    group bound to one member) or each. `lines` holds the parts that have an address, by label.
    """

    label: str
    own: Node
    truth: Node
    form: str
    line: Line
    lines: Mapping[str, Line]
    excused_by: tuple[str, ...]
    opposes: tuple[tuple[str, str], ...] = ()
    """Conditions of other codes that ask the opposite, each with the reason why."""


@dataclass(frozen=True, slots=True)
class Assumption:
    """Where our reading of a clause would be wrong."""

    label: str
    node: Node
    says: Template


@dataclass(frozen=True, slots=True)
class Provision:
    """A requirement or a locking arrangement in one edition of one code."""

    id: str
    code: str
    edition: str
    kind: str
    title: str
    about: str
    subject: str
    citation: Citation
    applies: Node
    recognised: Node
    not_recognised: str
    assumptions: tuple[Assumption, ...]
    permitted: tuple[Condition, ...]
    conditions: tuple[Condition, ...]
    excuses: tuple[str, ...]
    place: Place
    revision: str = "1"
    history: tuple[Change, ...] = ()

    @property
    def name(self) -> str:
        """The id that findings carry, such as `ibc.sensor-release`."""
        return f"{self.code}.{self.id}"


@dataclass(frozen=True, slots=True)
class Derivation:
    """A computed fact: the value of `fact` where nobody gave one.

    `agrees` says which stated value agrees with the computed one: `equal`, `at-least` or `at-most` it, or `any`, where
    the computed one is only what is common.
    """

    id: str
    code: str
    edition: str
    fact: str
    title: str
    node: Node
    citation: Citation
    place: Place
    agrees: str = "equal"
    history: tuple[Change, ...] = ()

    @property
    def name(self) -> str:
        """The id that terms refer to it by, such as `ibc.occupant-load`."""
        return f"{self.code}.{self.id}"


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table; a key column may be banded, its cells being upper bounds."""

    name: str
    form: str
    key: bool
    banded: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A printed table: rows by name, a value for each column."""

    id: str
    code: str
    edition: str
    title: str
    columns: tuple[Column, ...]
    rows: Mapping[str, tuple[Value, ...]]
    citation: Citation
    place: Place
    history: Mapping[str, tuple[Change, ...]] = field(default_factory=dict)
    """The changes of a cell, under its row and column joined by `/`; of a whole row, under its name."""
