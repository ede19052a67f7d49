"""Picking one edition out of a provision's file, before anything else looks at it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from operator import is_

from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node

_EXACT = ("basis", "section_basis", "sections")
"""Maps that say something of each edition by itself; all others hold from one edition until the next named."""

_UNTOUCHED = ("examples", "about", "title")


def exists_in(provision: Node, edition: str) -> bool:
    """Whether the provision stands in this edition: only those under `sections` do."""
    sections = provision.get("sections")
    return sections is not None and sections.get(edition) is not None


def pick(provision: Node, edition: str, order: Sequence[str]) -> Node:
    """The provision as it stands in one edition: no edition maps, no since or until.

    `order` lists the code's editions, oldest first; labels are never compared with each other.

    Raises:
        ClausewayError: for a since or until that is no edition of the code.
    """
    picked = _pick(provision, edition, tuple(order), frozenset(order), "")
    assert picked is not None
    return picked


def _pick(node: Node, edition: str, order: tuple[str, ...], labels: frozenset[str], key: str) -> Node | None:
    """What stands of a node in an edition; the very same node where that is all of it."""
    value = node.value
    if isinstance(value, list):
        elements = [_pick(element, edition, order, labels, "") for element in value]
        if all(map(is_, elements, value)):
            return node
        return replace(node, value=[element for element in elements if element is not None])
    if not isinstance(value, dict):
        return node
    if value and labels.issuperset(value):
        chosen = value.get(edition) if key in _EXACT else _standing(value, edition, order)
        return _pick(chosen, edition, order, labels, "") if chosen is not None else None
    if ("since" in value or "until" in value) and not _is_in_force(value, edition, order):
        return None
    result: dict[str, Node] = {}
    same = True
    for name, inner in value.items():
        if name in ("since", "until"):
            same = False
            continue
        if name in _UNTOUCHED:
            result[name] = inner
            continue
        picked = _pick(inner, edition, order, labels, name)
        same = same and picked is inner
        if picked is None:
            continue
        if name == "values" and key != "table":
            name, same = "value", False
        elif name == "sections":
            name, same = "section", False
        result[name] = picked
    if key == "parameters":
        closed = [name for name, parameter in result.items() if _is_closed(parameter)]
        for name in closed:
            del result[name]
        same = same and not closed
    return node if same else replace(node, value=result)


def _standing(entries: dict[str, Node], edition: str, order: tuple[str, ...]) -> Node | None:
    chosen = None
    for label in order:
        chosen = entries.get(label, chosen)
        if label == edition:
            return chosen
    return None


def _is_in_force(entries: dict[str, Node], edition: str, order: tuple[str, ...]) -> bool:
    at = order.index(edition)
    for name, wanted in (("since", 1), ("until", -1)):
        limit = entries.get(name)
        if limit is None:
            continue
        if limit.text not in order:
            raise ClausewayError(
                Problem(
                    limit.place, f"{name} {limit.text or limit.kind}", "an edition of the code: " + ", ".join(order)
                )
            )
        reached = at >= order.index(limit.text)
        if reached is (wanted < 0):
            return False
    return True


def _is_closed(parameter: Node) -> bool:
    value = parameter.get("value")
    return value is None or value.text == "none"
