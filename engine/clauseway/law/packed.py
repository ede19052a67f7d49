"""A rulebook as a table in which each distinct part stands once: small to keep, quick to read back.

The codec writes a tree, for people and digests; a rulebook repeats the same names, citations and terms thousands of
times. Here a part refers to its own parts by their row. It is data only: reading it back makes instances of the
registered dataclasses and nothing else.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from clauseway.law.codec import class_named, name_of, written_as
from clauseway.law.rulebook import Rulebook

TUPLE, SET, MAP = "()", "{}", "{:}"

_SCALARS = (0, "", 0)
"""The group of what has no parts, at depth 0."""


def to_text(rulebook: Rulebook, beside: object = None) -> str:
    """A rulebook with its digest, and what is kept beside it, as one line of JSON, for `from_text`."""
    data = {"digest": rulebook.digest, "rulebook": pack(rulebook), "beside": pack(beside)}
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def from_text(text: str | bytes) -> Rulebook:
    """The rulebook that `to_text` wrote, as `both_from_text` does."""
    return both_from_text(text)[0]


def both_from_text(text: str | bytes) -> tuple[Rulebook, Any]:
    """The rulebook that `to_text` wrote, and what it kept beside it.

    Its digest is believed: know that the text is as it was written.

    Raises:
        ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError: for any other text.
    """
    data = json.loads(text)
    rulebook = unpack(data["rulebook"])
    if not isinstance(rulebook, Rulebook) or not isinstance(data["digest"], str):
        raise ValueError("not a rulebook")
    # What a cached property keeps; it saves writing the whole rulebook only to name it.
    rulebook.__dict__["digest"] = data["digest"]
    return rulebook, unpack(data["beside"])


def pack(value: object) -> dict[str, Any]:
    """Plain JSON data for a value made of registered dataclasses, tuples, frozen sets, maps and scalars.

    `scalars` are the first rows. `groups` has what else is made of them: each a name, how many parts a row has, how
    many rows, and their parts by row, the first part of every row first. All that a group refers to stands before it.

    Raises:
        TypeError: for anything else.
    """
    packer = _Packer()
    packer.add(value)
    return packer.grouped()


class _Packer:
    def __init__(self) -> None:
        self._rows: list[Any] = []
        self._groups: dict[tuple[int, str, int], list[int]] = {_SCALARS: []}
        self._depths: list[int] = []
        self._texts: dict[str, int] = {}
        self._known: dict[object, int] = {}
        self._seen: dict[int, int] = {}

    def grouped(self) -> dict[str, Any]:
        """The rows as `pack` gives them: by depth, so that parts stand before the whole, and by kind."""
        scalars, *groups = sorted(self._groups.items())
        order = [row for _, rows in (scalars, *groups) for row in rows]
        place = dict(zip(order, range(len(order)), strict=True))
        written = []
        for (_, name, width), rows in groups:
            columns = zip(*[self._rows[row] for row in rows], strict=True)
            written.append([name, width, len(rows), [place[part] for column in columns for part in column]])
        return {"scalars": [self._rows[row] for row in scalars[1]], "groups": written}

    def add(self, value: Any) -> int:
        """The row of a value; its parts have rows before it."""
        kind = type(value)
        if kind is str:
            row = self._texts.get(value)
            if row is None:
                row = self._texts[value] = self._new(value, _SCALARS)
            return row
        # Everything added is held by the whole as long as this lasts: no other can have its id.
        row = self._seen.get(id(value))
        if row is None:
            row = self._seen[id(value)] = self._added(value, kind)
        return row

    def _added(self, value: Any, kind: type[Any]) -> int:
        if value is None or isinstance(value, bool | str | int | float):
            row = self._known.get((kind, repr(value)))
            if row is None:
                row = self._known[kind, repr(value)] = self._new(value, _SCALARS)
            return row
        if isinstance(value, tuple | list):
            return self._made(TUPLE, [self.add(item) for item in value])
        if isinstance(value, frozenset):
            return self._made(SET, [self.add(item) for item in sorted(value)])
        if isinstance(value, Mapping):
            return self._made(MAP, [self.add(each) for pair in value.items() for each in pair])
        name_of(value)
        name, parts = written_as(kind)
        return self._made(name, [self.add(getattr(value, part)) for part in parts])

    def _made(self, name: str, parts: list[int]) -> int:
        key = (name, *parts)
        row = self._known.get(key)
        if row is None:
            depth = 1 + max([self._depths[part] for part in parts], default=0)
            row = self._known[key] = self._new(parts, (depth, name, len(parts)))
        return row

    def _new(self, row: Any, group: tuple[int, str, int]) -> int:
        number = len(self._rows)
        self._rows.append(row)
        self._depths.append(group[0])
        self._groups.setdefault(group, []).append(number)
        return number


def unpack(data: Any) -> Any:
    """The value that `pack` was given; equal parts are one object.

    Raises:
        ValueError, KeyError, TypeError, IndexError, AttributeError: for data that `pack` cannot have written.
    """
    made: list[Any] = list(data["scalars"])
    for name, width, many, parts in data["groups"]:
        if len(parts) != width * many:
            raise ValueError("not a table of rows")
        found = list(map(made.__getitem__, parts))
        columns = [found[start : start + many] for start in range(0, len(found), many)]
        # Of what has no parts there is one.
        rows = zip(*columns, strict=True) if columns else [()] * many
        if name == TUPLE:
            made.extend(rows)
        elif name == SET:
            made.extend(map(frozenset, rows))
        elif name == MAP:
            made.extend([dict(zip(row[::2], row[1::2], strict=True)) for row in rows])
        else:
            made.extend(map(class_named(name), *columns) if columns else [class_named(name)()] * many)
    return made[-1]
