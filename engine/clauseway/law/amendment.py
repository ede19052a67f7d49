"""Amendments: small layers of verbs over the picked provisions of a code.

A change names its target by a path of names, says what it expects to find there (`was`), and is refused when the
target is missing or different. Whatever it sets remembers who set it, where, and instead of what.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from clauseway.law.aliases import aliases_of
from clauseway.model.provision import Change
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway.text.source import Node

VERBS = ("set", "add", "remove", "replace", "put_in", "take_out", "renumber", "restate")
_NAMES_WAS = ("set", "remove", "replace", "put_in", "take_out", "renumber")
"""Verbs that change what is there, and so must say what they expect to find."""


@dataclass
class _Standing:
    """The provisions while layers are laid over them, and what earlier changes did to each path."""

    provisions: dict[str, Node]
    aliases: Mapping[str, str]
    removed: dict[str, Change] = field(default_factory=dict)
    touched: dict[str, tuple[str, Change]] = field(default_factory=dict)


def layers_named(layers: Iterable[Node], names: Sequence[str]) -> list[Node]:
    """The files of the named layers, in the order of the names and, inside a layer, of their places.

    Raises:
        ClausewayError: for a layer that does not exist, with the nearest.
    """
    every = list(layers)
    found: list[Node] = []
    known = sorted({_text(layer, "layer") for layer in every})
    for name in names:
        own = [layer for layer in every if _text(layer, "layer") == name]
        if not own:
            raise ClausewayError(
                Problem(
                    NOWHERE,
                    f"no layer {name}",
                    one_of(known) if known else "a folder under jurisdictions, with --rules",
                    nearest(name, known) or "",
                )
            )
        found.extend(sorted(own, key=lambda layer: layer.place.file))
    return found


def amend(provisions: Mapping[str, Node], layers: Sequence[Node], code: str, edition: str) -> dict[str, Node]:
    """The picked provisions of a code with the layers of it laid over them, the first layer first.

    Raises:
        ClausewayError: for a missing or changed target, an edition the layer does not speak of, two changes of one
            layer to one item; both places are named.
    """
    standing = _Standing(dict(provisions), aliases_of(provisions))
    problems: list[Problem] = []
    for layer in layers:
        if _text(layer, "code") != code:
            continue
        editions = layer.get("editions")
        speaks_of = [element.text or "" for element in editions.elements()] if editions is not None else []
        if editions is not None and edition not in speaks_of:
            problems.append(
                Problem(editions.place, f"this layer does not speak of {code}@{edition}", one_of(speaks_of))
            )
            continue
        changes = layer.get("changes")
        for node in changes.elements() if changes is not None else ():
            try:
                _apply(standing, node, layer, code)
            except ClausewayError as error:
                problems.extend(error.problems)
    if problems:
        raise ClausewayError(problems)
    return standing.provisions


def _text(node: Node, key: str) -> str:
    inner = node.get(key)
    return inner.text or "" if inner is not None else ""


def _apply(standing: _Standing, node: Node, layer: Node, code: str) -> None:
    at = node.get("at")
    written = at.text or "" if at is not None else ""
    owner, slash, inside = written.partition("/")
    address = f"{standing.aliases.get(owner, owner)}{slash}{inside}"
    where = (at or node).place
    verb = next(name for name in VERBS if node.get(name) is not None)
    operand = node.get(verb)
    assert operand is not None
    steps = address.split("/")
    name = _text(layer, "layer")
    earlier = standing.touched.get(address)
    if earlier is not None and earlier[0] == name:
        raise ClausewayError(
            Problem(
                where, f"{address} is changed twice in {name}; the first change is at {earlier[1].place}", "one change"
            )
        )
    if steps[0] not in standing.provisions:
        known = sorted(standing.provisions)
        raise ClausewayError(
            Problem(
                where,
                f"no provision {steps[0]} in this edition of {code}",
                one_of(known),
                nearest(steps[0], known) or "",
            )
        )
    target = _find(standing, steps, where)
    was = node.get("was")
    spoken = _number_of(target) if verb == "renumber" else _value(target)
    if was is None and verb in _NAMES_WAS:
        raise ClausewayError(Problem(node.place, f"{verb} without was", f"was: {_shown(spoken)}"))
    if was is not None:
        _check_was(was, target, spoken, address)
    change = Change(
        name,
        node.place,
        verb,
        _shown(spoken),
        _shown(operand),
        _text(node, "cite"),
        _text(node, "from"),
        _text(node, "direction"),
        _text(node, "authority"),
    )
    changed = _CHANGED[verb](target, operand, address)
    if changed is None:
        standing.removed[address] = change
    else:
        changed = replace(changed, history=(*target.history, change))
    if verb == "restate":
        changed = target
    standing.touched[address] = (name, change)
    provision = _placed(standing.provisions[steps[0]], steps[1:], changed)
    if provision is None:
        del standing.provisions[steps[0]]
    else:
        standing.provisions[steps[0]] = provision


def _find(standing: _Standing, steps: Sequence[str], where: Place) -> Node:
    node = standing.provisions[steps[0]]
    for depth, step in enumerate(steps[1:], 1):
        inner = node.get(step)
        if inner is None:
            path = "/".join(steps[: depth + 1])
            gone = standing.removed.get(path)
            if gone is not None:
                raise ClausewayError(
                    Problem(where, f"{path} was removed by {gone.layer} at {gone.place}", "a target that still stands")
                )
            known = [name for name, _ in node.items()]
            raise ClausewayError(
                Problem(
                    where,
                    f"{'/'.join(steps[:depth])} has no {step} ({node.place})",
                    one_of(known, 12) if known else "an existing name",
                    nearest(step, known) or "",
                )
            )
        node = inner
    return node


def _value(target: Node) -> Node:
    """What a verb on a parameter speaks of: its value."""
    inner = target.get("value")
    return inner if inner is not None else target


def _shown(node: Node) -> str:
    if node.is_map:
        return "[" + ", ".join(name for name, _ in node.items()) + "]"
    if node.is_list:
        return "[" + ", ".join(element.text or element.kind for element in node.elements()) + "]"
    return node.text or "nothing"


def _number_of(target: Node) -> Node:
    """What renumbering a provision or a condition speaks of: its section, or its item."""
    return target.get("section") or target.get("item") or target


def _check_was(was: Node, target: Node, found: Node, address: str) -> None:
    """`was` is the value; for a map, its names, or some of its fields with their values."""
    if was.is_map:
        for key, expected in was.items():
            inner = target.get(key)
            if inner is None or _shown(inner) != _shown(expected):
                raise _stale(was, f"{address}/{key}", _shown(expected), inner or target)
        return
    if _shown(was) != _shown(found):
        raise _stale(was, address, _shown(was), found)


def _stale(was: Node, address: str, expected: str, found: Node) -> ClausewayError:
    return ClausewayError(
        Problem(was.place, f"was says {expected}, but {address} is {_shown(found)} ({found.place})", _shown(found))
    )


def _placed(node: Node, steps: Sequence[str], changed: Node | None) -> Node | None:
    if not steps:
        return changed
    entries = dict(node.items())
    inner = _placed(entries[steps[0]], steps[1:], changed)
    if inner is None:
        del entries[steps[0]]
    else:
        entries[steps[0]] = inner
    return replace(node, value=entries)


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
    listed = _value(target)
    if not listed.is_list:
        raise ClausewayError(Problem(operand.place, f"{address} is {listed.kind}", "a list"))
    return list(listed.elements()), list(operand.elements()) if operand.is_list else [operand]


def _put_in(target: Node, operand: Node, address: str) -> Node:
    standing, new = _words(target, operand, address)
    for element in new:
        if element.text in [old.text for old in standing]:
            raise ClausewayError(Problem(element.place, f"{address} has {element.text} already", "a new value"))
    return _with_value(target, replace(_value(target), value=[*standing, *new]))


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
    return _with_value(target, replace(_value(target), value=left))


def _renumber(target: Node, operand: Node, _address: str) -> Node:
    entries = dict(target.items())
    key = "section" if "section" in entries else "item"
    entries[key] = operand
    return replace(target, value=entries)


def _restate(target: Node, _operand: Node, _address: str) -> Node:
    return target


_CHANGED = {
    "set": _set,
    "add": _add,
    "remove": _remove,
    "replace": _replace,
    "put_in": _put_in,
    "take_out": _take_out,
    "renumber": _renumber,
    "restate": _restate,
}
