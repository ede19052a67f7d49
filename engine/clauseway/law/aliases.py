"""Former ids of provisions: an id is for ever, so that a renamed provision still answers to the old one."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Iterator, Mapping

from clauseway.text.problems import Problem
from clauseway.text.source import Node

_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def aliases_of(provisions: Mapping[str, Node]) -> dict[str, str]:
    """Each former id of some provisions of one code, with the id of today."""
    return {alias.text or "": name for name, node in provisions.items() for alias in _written(node)}


def _written(node: Node) -> Iterable[Node]:
    listed = node.get("aliases")
    return listed.elements() if listed is not None else ()


def wrong_aliases(provisions: Mapping[str, Node]) -> Iterator[Problem]:
    """Aliases that are no id, that are the id of a provision, or that two provisions claim."""
    first: dict[str, Node] = {}
    for node in provisions.values():
        for alias in _written(node):
            name = alias.text or ""
            if not _ID.fullmatch(name):
                yield Problem(alias.place, f"alias {name}", "an id: small letters and digits joined by `-`")
            elif name in provisions:
                yield Problem(alias.place, f"{name} is a provision: {provisions[name].place}", "an id that is gone")
            elif name in first:
                yield Problem(alias.place, f"the alias {name} is there already: {first[name].place}", "one provision")
            first.setdefault(name, alias)


def current(identity: str, aliases: Mapping[str, str], codes: Iterable[str], known: Container[str] = ()) -> str:
    """An id of today for one that begins with a former id: `ibc.old/height`, or `old/height` without its code.

    `aliases` and `known` have full names, such as `ibc.old`; what is known as it stands is left alone.
    """
    head, slash, rest = identity.partition("/")
    names = [head, *(f"{code}.{head}" for code in codes)]
    if any(name in known for name in names):
        return identity
    return next((f"{aliases[name]}{slash}{rest}" for name in names if name in aliases), identity)
