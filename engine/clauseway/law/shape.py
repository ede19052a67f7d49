"""Whether a file has the shape its schema asks for, in the words of the person who wrote it.

The schemas (`rules/schemas/*.schema.json`) are JSON Schema over text: every scalar is text or nothing. A
`title` in a schema says what is expected where the bare rule would not read well, and messages print it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clauseway.law.fits import SUFFIX, contents, fits, schema_of
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import Place, Problem
from clauseway.text.source import Node

if TYPE_CHECKING:
    from jsonschema import Draft202012Validator
    from jsonschema.exceptions import ValidationError

_KINDS: Mapping[str, str] = {"string": "text", "object": "a map", "array": "a list", "null": "nothing"}
_LONGEST = 60


def check_shape(node: Node, schema: str, schemas: Path) -> list[Problem]:
    """Every way in which a file departs from a schema, in the order of their places.

    Args:
        node: The file as read.
        schema: The name of the schema, such as `provision`.
        schemas: The folder that holds the schemas.
    """
    name = schema.removesuffix(SUFFIX)
    if fits(node, name, schemas):
        return []
    validator = _validator(name, schemas)
    departures = [_departure(error) for error in validator.iter_errors(node.plain())]
    # That a key is missing need not be said where it stands under a misspelt name.
    intended = {
        (departure.path, meant)
        for departure in departures
        if departure.rule == "additionalProperties"
        for meant in departure.unknown_keys().values()
    }
    found = (problem for departure in departures for problem in _problems(departure, node, intended))
    return sorted(dict.fromkeys(found))


@cache
def _validator(schema: str, schemas: Path) -> Draft202012Validator:
    from jsonschema import Draft202012Validator
    from referencing import Registry
    from referencing.jsonschema import DRAFT202012

    resources = [(name, DRAFT202012.create_resource(content)) for name, content in contents(schemas).items()]
    registry: Registry[Any] = Registry().with_resources(resources)
    return Draft202012Validator(schema_of(schema, schemas), registry=registry)


@dataclass(frozen=True)
class _Departure:
    """A rule of a schema that a part of the file breaks; `is_name` tells an entry's name from its value."""

    path: tuple[str | int, ...]
    rule: str
    value: Any
    schema: Mapping[str, Any]
    part: Any
    is_name: bool

    @property
    def title(self) -> str:
        """What the schema says is expected."""
        return str(self.schema.get("title", ""))

    def absent_keys(self) -> list[str]:
        """The keys that the map may have and has not."""
        return [key for key in self.schema.get("properties", ()) if key not in self.part]

    def unknown_keys(self) -> dict[str, str]:
        """The keys that the map should not have, each with the key that was probably meant (or nothing)."""
        known, absent = self.schema.get("properties", ()), self.absent_keys()
        return {key: nearest(key, absent) or "" for key in self.part if key not in known}

    def missing_keys(self) -> list[str]:
        """The keys that the map lacks."""
        wanted: Iterable[str] = self.value
        if self.rule == "dependentRequired":
            wanted = chain.from_iterable(self.value[key] for key in self.value if key in self.part)
        return [key for key in wanted if key not in self.part]

    def needing(self, missing: Sequence[str]) -> list[str]:
        """The keys of the map on account of which `missing` must stand."""
        return [key for key, needs in self.value.items() if key in self.part and set(needs) & set(missing)]

    def choice(self) -> list[str]:
        """The keys of which one must stand, where that is all that the alternatives are about."""
        return _keys_to_choose(self.value) if self.rule in ("oneOf", "anyOf") else []


def _keys_to_choose(branches: Sequence[Mapping[str, Any]]) -> list[str]:
    if not all(set(branch) <= {"required", "not"} for branch in branches):
        return []
    return list(dict.fromkeys(key for branch in branches for key in branch.get("required", ())))


def _departure(error: ValidationError) -> _Departure:
    """What an error says; of a failed choice between shapes, the error inside it that explains it best."""
    from jsonschema.exceptions import best_match

    value: Any = error.validator_value
    if error.context and not _keys_to_choose(value):
        error = best_match([error]) or error
        value = error.validator_value
    schema = error.schema if isinstance(error.schema, Mapping) else {}
    is_name = "propertyNames" in error.absolute_schema_path
    return _Departure(tuple(error.absolute_path), str(error.validator), value, schema, error.instance, is_name)


def _problems(departure: _Departure, root: Node, intended: set[tuple[Any, str]]) -> Iterator[Problem]:
    path, rule, value, title = departure.path, departure.rule, departure.value, departure.title
    node = root.at(path)

    def problem(place: Place, found: str, expected: str, near: str | None = None) -> Problem:
        if not place.line and path:
            found = f"{'/'.join(map(str, path))}: {found}"
        return Problem(place, found, expected, near or "")

    if departure.is_name:
        name = str(departure.part)
        near = _respelt(name, value) if rule == "pattern" else None
        yield problem(_key_place(node, name), f"the name {_short(name)}", title, near)
    elif rule == "additionalProperties":
        expected = one_of(departure.absent_keys())
        for key, meant in departure.unknown_keys().items():
            yield problem(_key_place(node, key), f"unknown key: {key[:_LONGEST]}", expected, meant)
    elif rule in ("required", "dependentRequired"):
        missing = [key for key in departure.missing_keys() if (path, key) not in intended]
        if missing:
            noun = "missing key" if len(missing) == 1 else "missing keys"
            if rule == "dependentRequired":
                title = f"{one_of(missing)} wherever {one_of(departure.needing(missing))} stands"
            yield problem(node.place, f"{noun}: {', '.join(missing)}", title)
    elif keys := departure.choice():
        present = [key for key in keys if node.get(key)]
        if len(present) > 1:
            found = f"{' and '.join(present)} stand together"
            yield problem(_key_place(node, present[1]), found, f"only one of {one_of(keys)}")
        elif node.is_map and not any((path, key) in intended for key in keys):
            yield problem(node.place, f"missing key: {one_of(keys)}", title)
    elif rule == "type":
        kinds = [_KINDS[kind] for kind in ([value] if isinstance(value, str) else value)]
        found = f"{node.kind} where {one_of(kinds)} is expected"
        yield problem(node.place, found, "" if title in kinds else title)
    elif rule == "not" and not value:
        yield problem(node.key_place or node.place, f"{path[-1]} cannot stand here", title)
    elif rule in ("enum", "const"):
        allowed = [str(option) for option in ([value] if rule == "const" else value)]
        expected = title or one_of(allowed, len(allowed))
        found = f"{node.kind} where text is expected" if node.text is None else _short(node.text)
        yield problem(node.place, found, expected, nearest(node.text or "", allowed))
    elif rule == "pattern":
        text = node.text or ""
        yield problem(node.place, _short(text), title, _respelt(text, value))
    else:
        # Too few or too many entries, or one of them twice.
        size = len(departure.part)
        found = f"{node.kind} with {'one entry' if size == 1 else f'{size} entries'}"
        yield problem(node.place, found if size else f"{node.kind} with nothing in it", title)


def _key_place(node: Node, key: str) -> Place:
    """Where a key of a map stands."""
    entry = node.get(key)
    return node.place if entry is None else entry.key_place or entry.place


def _short(text: str) -> str:
    """A text as messages quote it."""
    if not text.strip():
        return "empty text"
    return f"`{text if len(text) <= _LONGEST else text[:_LONGEST] + '…'}`"


def _respelt(text: str, pattern: str) -> str | None:
    """The same name as a pattern wants it spelt, if a change of case and separators is enough."""
    words = re.findall(r"[^\s_.-]+", text.lower())
    respelt = ("-".join(words), "_".join(words))
    return next((name for name in respelt if name != text and re.search(pattern, name)), None)
