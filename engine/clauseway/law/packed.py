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

    Raises:
        TypeError: for anything else.
    """
    packer = _Packer()
    packer.add(value)
    return {"names": packer.names, "rows": packer.rows}


class _Packer:
    def __init__(self) -> None:
        self.names: list[str] = []
        self.rows: list[Any] = []
        self._numbers: dict[str, int] = {}
        self._texts: dict[str, int] = {}
        self._known: dict[object, int] = {}
        self._seen: dict[int, int] = {}

    def add(self, value: Any) -> int:
        """The row of a value; its parts have rows before it."""
        kind = type(value)
        if kind is str:
            row = self._texts.get(value)
            if row is None:
                row = self._texts[value] = len(self.rows)
                self.rows.append(value)
            return row
        # Everything added is held by the whole as long as this lasts: no other can have its id.
        row = self._seen.get(id(value))
        if row is None:
            row = self._seen[id(value)] = self._added(value, kind)
        return row

    def _added(self, value: Any, kind: type[Any]) -> int:
        if value is None or isinstance(value, bool | str | int | float):
            return self._row((kind, repr(value)), value)
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
        number = self._numbers.get(name)
        if number is None:
            number = self._numbers[name] = len(self.names)
            self.names.append(name)
        row = [number, *parts]
        return self._row(tuple(row), row)

    def _row(self, key: object, row: object) -> int:
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = len(self.rows)
            self.rows.append(row)
        return found


def unpack(data: Any) -> Any:
    """The value that `pack` was given; equal parts are one object.

    Raises:
        ValueError, KeyError, TypeError, IndexError, AttributeError: for data that `pack` cannot have written.
    """
    makers = [_BUILT_IN.get(name) or class_named(name) for name in data["names"]]
    made: list[Any] = []
    add, get = made.append, made.__getitem__
    for row in data["rows"]:
        if type(row) is not list:
            add(row)
            continue
        maker = makers[row[0]]
        if type(maker) is type:
            add(maker(*map(get, row[1:])))
        else:
            add(maker(tuple(map(get, row[1:]))))
    return made[-1]


def _pairs(parts: tuple[Any, ...]) -> dict[Any, Any]:
    return dict(zip(parts[::2], parts[1::2], strict=True))


def _same(parts: tuple[Any, ...]) -> tuple[Any, ...]:
    return parts


def _set(parts: tuple[Any, ...]) -> frozenset[Any]:
    return frozenset(parts)


_BUILT_IN: dict[str, Any] = {TUPLE: _same, SET: _set, MAP: _pairs}
