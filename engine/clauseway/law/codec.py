"""Frozen dataclasses to canonical JSON and back: the same object gives the same bytes on any machine."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from json.encoder import encode_basestring
from typing import Any

from clauseway.language import core, possible
from clauseway.model import provision, vocabulary
from clauseway.text import problems

_CLASSES: dict[str, type[Any]] = {
    name: found
    for module in (core, possible, provision, vocabulary, problems)
    for name, found in vars(module).items()
    if isinstance(found, type)
    and is_dataclass(found)
    and found.__module__ == module.__name__
    and not (module is provision and name == "Parameter")
}
_CLASSES["ProvisionParameter"] = provision.Parameter
_NAMES = {found: name for name, found in _CLASSES.items()}

_PLAIN = "~"


def register(cls: type[Any]) -> type[Any]:
    """Let instances of one more dataclass be encoded; its name must be free."""
    if cls.__name__ in _CLASSES:
        raise ValueError(f"the name {cls.__name__} is taken")
    _CLASSES[cls.__name__] = cls
    _NAMES[cls] = cls.__name__
    return cls


def name_of(value: object) -> str:
    """The name under which the class of a value is registered.

    Raises:
        TypeError: for a class that is not.
    """
    found = _NAMES.get(type(value))
    if found is None:
        raise TypeError(f"{type(value).__name__} cannot be written")
    return found


def class_named(name: str) -> type[Any]:
    """The registered dataclass of a name.

    Raises:
        KeyError: when there is none.
    """
    return _CLASSES[name]


def encode(value: object) -> object:
    """Plain JSON data for a value made of registered dataclasses, tuples, frozen sets, maps and scalars.

    Raises:
        TypeError: for anything else.
    """
    if value is None or isinstance(value, bool | str | int):
        return value
    if isinstance(value, float):
        return {"~": "number", "is": repr(value)} if not math.isfinite(value) else value
    if isinstance(value, tuple | list):
        items = [encode(item) for item in value]
        # A first text that begins like a class name is marked, so that it is read back as text.
        if items and isinstance(items[0], str) and items[0].startswith("~"):
            return [_PLAIN, *items]
        return items
    if isinstance(value, frozenset):
        return {"~": "set", "of": sorted(value)}
    if isinstance(value, Mapping):
        return {"~": "map", "of": [[key, encode(inner)] for key, inner in value.items()]}
    return [f"~{name_of(value)}", *(encode(getattr(value, field.name)) for field in fields(value))]  # type: ignore[arg-type]


def decode(data: Any) -> Any:
    """The value that `encode` wrote.

    Raises:
        ValueError: for data that `encode` cannot have written.
    """
    if isinstance(data, list):
        if data and data[0] == _PLAIN:
            return tuple(decode(item) for item in data[1:])
        if data and isinstance(data[0], str) and data[0].startswith("~"):
            found = _CLASSES.get(data[0][1:])
            if found is None:
                raise ValueError(f"unknown class {data[0]}")
            return found(*(decode(item) for item in data[1:]))
        return tuple(decode(item) for item in data)
    if isinstance(data, dict):
        what = data.get("~")
        if what == "number":
            return float(data["is"])
        if what == "set":
            return frozenset(data["of"])
        if what == "map":
            return {key: decode(inner) for key, inner in data["of"]}
        raise ValueError(f"unknown data {what}")
    return data


def to_json(value: object) -> str:
    """Canonical JSON text of `encode(value)`: no blanks, keys sorted."""
    return _Text().of(value)


class _Text:
    """Writes the same text as `json` would of what `encode` gives; what stands in several places is written once."""

    def __init__(self) -> None:
        self._known: dict[int, str] = {}

    def of(self, value: Any) -> str:
        kind = type(value)
        if kind is str:
            return encode_basestring(value)
        # Everything written is held by the whole as long as this lasts: no other can have its id.
        found = self._known.get(id(value))
        if found is None:
            found = self._known[id(value)] = self._made(value, kind)
        return found

    def _made(self, value: Any, kind: type[Any]) -> str:
        if kind is tuple or kind is list:
            marked = [f'"{_PLAIN}"'] if value and isinstance(value[0], str) and value[0].startswith("~") else []
            return "[" + ",".join(marked + [self.of(item) for item in value]) + "]"
        if kind is frozenset:
            return '{"of":[' + ",".join([self.of(item) for item in sorted(value)]) + '],"~":"set"}'
        if kind is dict:
            pairs = [f"[{self.of(key)},{self.of(inner)}]" for key, inner in value.items()]
            return '{"of":[' + ",".join(pairs) + '],"~":"map"}'
        if kind in _NAMES:
            name, parts = written_as(kind)
            return "[" + ",".join([f'"~{name}"', *[self.of(getattr(value, part)) for part in parts]]) + "]"
        return json.dumps(encode(value), ensure_ascii=False, separators=(",", ":"), sort_keys=True)


_WRITTEN: dict[type[Any], tuple[str, tuple[str, ...]]] = {}


def written_as(kind: type[Any]) -> tuple[str, tuple[str, ...]]:
    """The name under which a dataclass is registered, and the names of its fields.

    Raises:
        KeyError: for one that is not registered.
    """
    found = _WRITTEN.get(kind)
    if found is None:
        found = _WRITTEN[kind] = _NAMES[kind], tuple(field.name for field in fields(kind))
    return found


def digest(text: str) -> str:
    """The SHA-256 of a text, as `sha256:...`."""
    return "sha256:" + hashlib.sha256(text.encode()).hexdigest()
