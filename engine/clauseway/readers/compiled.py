"""What is kept of a term for one rulebook: how often it was asked, and its functions once it is asked often.

Writing and compiling a function takes as long as reading its term some ten times. A single door is therefore read
term by term; for a building of doors, or for one door tried in a hundred ways, the terms become code.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import count
from typing import Any

from clauseway.language import core
from clauseway.law.rulebook import Rulebook

OFTEN = 60
"""How many times a term is read before its function is written."""


@dataclass(frozen=True, slots=True)
class Ref:
    """A fact as a term reads it: `key` names it together with the derivation that answers where nobody stated it."""

    key: str
    dotted: str
    name: str
    derivation: str


class Code:
    """A term of one rulebook with its functions, `run` for its value and `tell` for what it reads.

    `names` are those of the things that the functions take, and `number` tells the term from every other.
    """

    __slots__ = ("asked", "facts", "names", "node", "number", "owner", "run", "tell", "told")

    def __init__(self, owner: dict[object, Any], node: core.Node, names: tuple[str, ...], number: int) -> None:
        self.owner = owner
        self.node = node
        self.names = names
        self.number = number
        self.facts: frozenset[str] | None = None
        self.asked = 0
        self.told = 0
        self.run: Callable[..., Any] | None = None
        self.tell: Callable[..., Any] | None = None


def code_of(rulebook: Rulebook, node: core.Node) -> Code:
    """What is kept of a term; a term that two rulebooks share is kept for the one that asked last."""
    try:
        code: Code = node._code  # type: ignore[attr-defined]
        if code.owner is rulebook.notes:
            return code
    except AttributeError:
        pass
    numbers = rulebook.noted("numbers of terms", count)
    code = Code(rulebook.notes, node, names_of(rulebook, node), next(numbers))
    object.__setattr__(node, "_code", code)
    return code


def running(rulebook: Rulebook, code: Code) -> Callable[..., Any]:
    """The function for the value of a term, written where there is none yet."""
    if code.run is None:
        code.run = _compiled(rulebook, code, "run")
    return code.run


def telling(rulebook: Rulebook, code: Code) -> Callable[..., Any]:
    """The function for what a term reads, written where there is none yet."""
    if code.tell is None:
        code.tell = _compiled(rulebook, code, "tell")
    return code.tell


def _compiled(rulebook: Rulebook, code: Code, name: str) -> Callable[..., Any]:
    from clauseway.readers.source import Writer

    def outlined(node: core.Node) -> tuple[object, int, tuple[str, ...]]:
        if isinstance(node, core.Holds):
            node = rulebook.holds[node.arrangement]
        other = code_of(rulebook, node)
        return other, other.number, other.names

    writer = Writer(rulebook, code.names, outlined, rulebook.noted("terms apart", lambda: _apart(rulebook)))
    source = writer.source(code.node) if name == "run" else writer.reads(code.node)
    made: dict[str, Any] = writer.known
    # What is compiled was written from the checked form: names are numbered and texts quoted by the writer itself.
    exec(compile(source, f"<term {code.number}>", "exec"), made)
    function: Callable[..., Any] = made[name]
    return function


def _apart(rulebook: Rulebook) -> frozenset[int]:
    """The scopes and assumptions of provisions, which stand in the terms of all their conditions."""
    provisions = rulebook.provisions.values()
    found = {id(provision.applies) for provision in provisions}
    found |= {id(assumption.node) for provision in provisions for assumption in provision.assumptions}
    found |= {id(c.own) for provision in provisions for c in provision.conditions if c.own is not c.truth}
    return frozenset(found - {id(core.TRUE), id(core.FALSE)})


def names_of(rulebook: Rulebook, node: core.Node) -> tuple[str, ...]:
    """The names of the things that a term takes, those of the arrangements that it asks about included; sorted."""
    free = core.free_names(node)
    if core.ANY_NAME not in free:
        return free
    return tuple(sorted(_taken(rulebook, node)))


def _taken(rulebook: Rulebook, node: core.Node) -> set[str]:
    if isinstance(node, core.Holds):
        return set(names_of(rulebook, rulebook.holds[node.arrangement]))
    if isinstance(node, core.Name):
        return {node.name}
    if isinstance(node, core.Quantified | core.Listing):
        inner = _taken(rulebook, node.where) | _taken(rulebook, node.body)
        return _taken(rulebook, node.members) | (inner - {node.variable})
    return {name for child in core.children(node) for name in _taken(rulebook, child)}
