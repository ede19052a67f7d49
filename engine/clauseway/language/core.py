"""The one form of a rule that every reader uses.

Everything a rule file can say is lowered to these nodes; no reader sees YAML or Python syntax. Nodes are
frozen and hashable, so that equal sub-terms can be shared and a changed term is a different value.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from operator import is_


@dataclass(frozen=True)
class Node:
    """A term of the core form."""

    # What is worked out of a term once, and is no part of it: neither compared nor written.
    __slots__ = ("_code", "_free")


# --- things ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Name(Node):
    """A thing bound by the subject or by a quantifier."""

    name: str


@dataclass(frozen=True, slots=True)
class Follow(Node):
    """The one thing that a relation leads to."""

    source: Node
    relation: str
    kind: str


@dataclass(frozen=True, slots=True)
class Slot(Node):
    """The thing kept under a key: a listed word, or another thing."""

    source: Node
    relation: str
    key: str | Node
    kind: str


@dataclass(frozen=True, slots=True)
class Members(Node):
    """The things that a relation leads to, as a collection."""

    source: Node
    relation: str
    kind: str


# --- values ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Get(Node):
    """The value of a fact of a thing; `fact` is its dotted name.

    `derived` names the derivation that answers where nobody stated the fact; empty where no derivation does. Two
    codes may compute one fact in their own ways, and each reads its own.
    """

    source: Node
    fact: str
    derived: str = ""


@dataclass(frozen=True, slots=True)
class Parameter(Node):
    """A named parameter of a provision; `key` is provision/name."""

    key: str


@dataclass(frozen=True, slots=True)
class Options(Node):
    """A fixed set of listed values, written as one value in an expression."""

    written: str
    options: frozenset[str]


@dataclass(frozen=True, slots=True)
class Lookup(Node):
    """A cell of a table, by its key columns."""

    table: str
    column: str
    keys: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Arithmetic(Node):
    operator: str
    left: Node
    right: Node


@dataclass(frozen=True, slots=True)
class Function(Node):
    """`min max ceil floor sqrt exp log abs` of numbers."""

    name: str
    arguments: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Compute(Node):
    """A registered computation by its name, with what it takes by name; its value is a number.

    Where what it takes has no result, or may have none, the value is unknown.
    """

    name: str
    arguments: tuple[tuple[str, Node], ...]


@dataclass(frozen=True, slots=True)
class Listing(Node):
    """A number for each member of a collection that passes `where`: what a computation takes as a list."""

    variable: str
    members: Node
    where: Node
    body: Node


@dataclass(frozen=True, slots=True)
class Anything(Node):
    """All that a fact may be: what a derivation says where none of its cases holds."""

    fact: str


@dataclass(frozen=True, slots=True)
class Cases(Node):
    """The value of the first case that holds; with an unknown one, whatever is still open."""

    cases: tuple[tuple[Node, Node], ...]
    otherwise: Node


# --- truths ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Constant(Node):
    truth: bool


@dataclass(frozen=True, slots=True)
class Not(Node):
    body: Node


@dataclass(frozen=True, slots=True)
class And(Node):
    parts: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Or(Node):
    parts: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class When(Node):
    """`body` is asked only where `where` holds; elsewhere nothing is asked."""

    where: Node
    body: Node


@dataclass(frozen=True, slots=True)
class Assuming(Node):
    """`body` counts only where `assumption` holds; elsewhere the reading does not fit: undetermined."""

    assumption: Node
    body: Node


@dataclass(frozen=True, slots=True)
class Unverified(Node):
    """A permission that rests on memory: what it would allow stays undetermined unless the user accepts it."""

    label: str
    body: Node


@dataclass(frozen=True, slots=True)
class Compare(Node):
    """A comparison of numbers: one of `<= < >= > == !=`."""

    operator: str
    left: Node
    right: Node


@dataclass(frozen=True, slots=True)
class Belongs(Node):
    """Whether a chosen value is among options (a set parameter or `Options`)."""

    value: Node
    options: Node


@dataclass(frozen=True, slots=True)
class Overlaps(Node):
    """Whether a set holds at least one of the options."""

    value: Node
    options: Node


@dataclass(frozen=True, slots=True)
class Includes(Node):
    """Whether a set holds all of the options."""

    value: Node
    options: Node


@dataclass(frozen=True, slots=True)
class SameChoice(Node):
    left: Node
    right: Node


@dataclass(frozen=True, slots=True)
class SameText(Node):
    left: Node
    right: Node


@dataclass(frozen=True, slots=True)
class SameThing(Node):
    left: Node
    right: Node


@dataclass(frozen=True, slots=True)
class Holds(Node):
    """Whether a locking arrangement is recognised, permitted and wholly met for the subject at hand."""

    arrangement: str


@dataclass(frozen=True, slots=True)
class Quantified(Node):
    """`any all each count sum` over a collection.

    `any`, `all`, `each` have a truth as body and give one; `count` has a truth and gives a number; `sum` has a
    number and gives one. `each` is `all` where an empty closed list means that nothing is asked.
    """

    quantifier: str
    variable: str
    members: Node
    where: Node
    body: Node


# --- names for readers ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Labelled(Node):
    """A part with an address of its own; truth ignores the label.

    `role` is line, alternative or exception.
    """

    label: str
    role: str
    body: Node


@dataclass(frozen=True, slots=True)
class Named(Node):
    """A sub-term under the name that the rule's author gave it; its value is the body's."""

    name: str
    body: Node


TRUE = Constant(True)
FALSE = Constant(False)


def conjunction(parts: list[Node]) -> Node:
    """`And` of the parts that say something."""
    kept = tuple(part for part in parts if part != TRUE)
    if not kept:
        return TRUE
    return kept[0] if len(kept) == 1 else And(kept)


def disjunction(parts: list[Node]) -> Node:
    """`Or` of the parts."""
    return parts[0] if len(parts) == 1 else Or(tuple(parts))


_HOLDING: dict[type[Node], tuple[str, ...]] = {}


def _holding(kind: type[Node]) -> tuple[str, ...]:
    """The fields in which terms of a kind hold others."""
    names = _HOLDING.get(kind)
    if names is None:
        # The annotations are text here; what speaks of nodes may hold some.
        names = _HOLDING[kind] = tuple(field.name for field in fields(kind) if "Node" in str(field.type))
    return names


def children(node: Node) -> list[Node]:
    """The nodes directly inside `node`, in the order of its fields."""
    found: list[Node] = []
    names = _HOLDING.get(type(node))
    for name in names if names is not None else _holding(type(node)):
        value = getattr(node, name)
        if isinstance(value, Node):
            found.append(value)
        elif type(value) is tuple:
            _add_nodes(value, found)
    return found


def _add_nodes(parts: tuple[object, ...], found: list[Node]) -> None:
    for item in parts:
        if isinstance(item, Node):
            found.append(item)
        elif type(item) is tuple:
            _add_nodes(item, found)


def rebuilt(node: Node, change: Callable[[Node], Node]) -> Node:
    """`node` with `change` applied to each node directly inside it; `node` itself where that changes none of them."""
    new: dict[str, object] = {}
    for name in _holding(type(node)):
        value = getattr(node, name)
        changed = _changed(value, change)
        if changed is not value:
            new[name] = changed
    return replace(node, **new) if new else node


def _changed(value: object, change: Callable[[Node], Node]) -> object:
    if isinstance(value, Node):
        return change(value)
    if isinstance(value, tuple):
        changed = [_changed(item, change) for item in value]
        return value if all(map(is_, value, changed)) else tuple(changed)
    return value


def walk(node: Node) -> Iterator[Node]:
    """`node` and all nodes inside it, outermost first."""
    waiting = [node]
    while waiting:
        at = waiting.pop()
        yield at
        waiting.extend(reversed(children(at)))


ANY_NAME = "*"


def free_names(node: Node) -> tuple[str, ...]:
    """The names of things that a term takes from outside, sorted.

    Where an arrangement is asked about, whose own term says what it takes, one of them is `ANY_NAME`.
    """
    try:
        return node._free  # type: ignore[attr-defined, no-any-return]
    except AttributeError:
        names: set[str] = {node.name} if isinstance(node, Name) else set()
        if isinstance(node, Holds):
            names.add(ANY_NAME)
        for child in children(node):
            names.update(free_names(child))
        if isinstance(node, Quantified | Listing):
            inner = {*free_names(node.where), *free_names(node.body)} - {node.variable}
            names = {*free_names(node.members), *inner}
        found = tuple(sorted(names))
        object.__setattr__(node, "_free", found)
        return found
