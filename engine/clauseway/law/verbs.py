"""What each verb of an amendment makes of its target."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node

VERBS = ("set", "add", "remove", "replace", "put_in", "take_out", "renumber", "restate")
NAMES_WAS = frozenset(("set", "remove", "replace", "put_in", "take_out", "renumber"))
"""Verbs that change what is there, and so must say what they expect to find."""

Verb = Callable[[Node, Node, str], Node | None]
"""The target, what the verb says, and the address for messages, to what stands there afterwards."""


def value_of(target: Node) -> Node:
    """What a verb on a parameter speaks of: its value."""
    inner = target.get("value")
    return inner if inner is not None else target


def number_of(target: Node) -> Node:
    """What renumbering a provision or a condition speaks of: its section, or its item."""
    return target.get("section") or target.get("item") or target


def shown(node: Node) -> str:
    """A node in short, for messages and histories: a text, the members of a list, the names of a map."""
    if node.is_map:
        return "[" + ", ".join(name for name, _ in node.items()) + "]"
    if node.is_list:
        return "[" + ", ".join(element.text or element.kind for element in node.elements()) + "]"
    return node.text or "nothing"


def check_was(was: Node, target: Node, found: Node, address: str) -> None:
    """Compare what an amendment expects with what stands there; for a map, its names, or some fields with values.

    Raises:
        ClausewayError: with both places, where they differ.
    """
    if was.is_map:
        for key, expected in was.items():
            inner = target.get(key)
            if inner is None or shown(inner) != shown(expected):
                raise _stale(was, f"{address}/{key}", shown(expected), inner or target)
        return
    if shown(was) != shown(found):
        raise _stale(was, address, shown(was), found)


def _stale(was: Node, address: str, expected: str, found: Node) -> ClausewayError:
    return ClausewayError(
        Problem(was.place, f"was says {expected}, but {address} is {shown(found)} ({found.place})", shown(found))
    )


def _with_value(target: Node, operand: Node) -> Node:
    """The target with a new value; a second printed value no longer speaks of it."""
    if target.get("value") is None:
        return replace(target, value=operand.value, place=operand.place, quoted=operand.quoted)
    entries = {key: inner for key, inner in target.items() if key != "also"}
    entries["value"] = operand
    return replace(target, value=entries)


def _set(target: Node, operand: Node, _address: str) -> Node:
    return _with_value(target, operand)


def _add(target: Node, operand: Node, address: str) -> Node:
    if not (target.is_map and operand.is_map):
        raise ClausewayError(Problem(operand.place, f"add to {target.kind} at {address}", "a map of names to add"))
    entries = dict(target.items())
    for key, inner in operand.items():
        if key in entries:
            raise ClausewayError(
                Problem(
                    inner.key_place or inner.place,
                    f"{address} has {key} already ({entries[key].place})",
                    "a new name, or set",
                )
            )
        entries[key] = inner
    return replace(target, value=entries)


def _remove(_target: Node, _operand: Node, _address: str) -> None:
    return None


def _replace(target: Node, operand: Node, _address: str) -> Node:
    return replace(operand, key_place=target.key_place)


def _words(target: Node, operand: Node, address: str) -> tuple[list[Node], list[Node]]:
    listed = value_of(target)
    if not listed.is_list:
        raise ClausewayError(Problem(operand.place, f"{address} is {listed.kind}", "a list"))
    return list(listed.elements()), list(operand.elements()) if operand.is_list else [operand]


def _put_in(target: Node, operand: Node, address: str) -> Node:
    standing, new = _words(target, operand, address)
    for element in new:
        if element.text in [old.text for old in standing]:
            raise ClausewayError(Problem(element.place, f"{address} has {element.text} already", "a new value"))
    return _with_value(target, replace(value_of(target), value=[*standing, *new]))


def _take_out(target: Node, operand: Node, address: str) -> Node:
    standing, gone = _words(target, operand, address)
    for element in gone:
        known = [old.text or "" for old in standing]
        if element.text not in known:
            raise ClausewayError(
                Problem(
                    element.place,
                    f"{address} has no {element.text}",
                    one_of(known, 20),
                    nearest(element.text or "", known) or "",
                )
            )
    left = [old for old in standing if old.text not in [element.text for element in gone]]
    return _with_value(target, replace(value_of(target), value=left))


def _renumber(target: Node, operand: Node, _address: str) -> Node:
    entries = dict(target.items())
    key = "section" if "section" in entries else "item"
    entries[key] = operand
    return replace(target, value=entries)


def _restate(target: Node, _operand: Node, _address: str) -> Node:
    return target


CHANGED: Mapping[str, Verb] = {
    "set": _set,
    "add": _add,
    "remove": _remove,
    "replace": _replace,
    "put_in": _put_in,
    "take_out": _take_out,
    "renumber": _renumber,
    "restate": _restate,
}
