"""Whether a file fits its schema: yes or no, and quickly. What is wrong with one that does not, `law/shape` says.

A schema becomes functions, one for each kind of value. They know the rules that our schemas use, over values that are
text, maps, lists or nothing. A schema with any other rule is not judged here, and nor is a value of another kind: who
asks is told so and goes by the full validator.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from clauseway.text.source import Node

Value = Any
"""What a node holds: text, a map of nodes, a list of nodes, or None."""

Test = Callable[[Value], bool]
Shape = dict[type, Test]
"""What a value must pass, by its type."""

_KINDS: Mapping[str, type] = {"string": str, "object": dict, "array": list, "null": type(None)}
_OTHER_KINDS = frozenset(("integer", "number", "boolean"))
_SAYS_NOTHING = frozenset(("title", "description", "$comment", "$schema", "$defs", "then", "else"))
SUFFIX = ".schema.json"


class NotJudgedError(Exception):
    """A schema has a rule that is not known here."""


def fits(node: Node, schema: str, schemas: Path) -> bool:
    """Whether a file surely fits the schema of a name; False where it does not, or where this cannot tell."""
    shape = _shape(schema, schemas)
    if shape is None:
        return False
    try:
        return shape[type(node.value)](node.value)
    except KeyError:
        return False


@cache
def _shape(schema: str, schemas: Path) -> Shape | None:
    try:
        return _Compiler(schemas).named(schema + SUFFIX, "")
    except (NotJudgedError, OSError, LookupError, TypeError, ValueError):
        return None


def _always(_value: Value) -> bool:
    return True


def _never(_value: Value) -> bool:
    return False


class _Compiler:
    """From schemas to shapes; a schema that is named twice is made once, so that one may hold itself."""

    def __init__(self, schemas: Path) -> None:
        self.schemas = schemas
        self.files: dict[str, Any] = {}
        self.made: dict[tuple[str, str], Shape] = {}

    def named(self, file: str, pointer: str) -> Shape:
        """The shape of a schema by its file and its place there."""
        found = self.made.get((file, pointer))
        if found is None:
            if file not in self.files:
                self.files[file] = json.loads((self.schemas / file).read_text(encoding="utf-8"))
            schema = self.files[file]
            for step in pointer.split("/")[1:]:
                schema = schema[step]
            # Known before it is filled: it may be named inside itself.
            found = self.made[file, pointer] = {}
            found.update(self.shape(schema, file))
        return found

    def shape(self, schema: Any, file: str) -> Shape:
        """The shape of a schema that stands in a file."""
        if isinstance(schema, bool):
            return dict.fromkeys(_KINDS.values(), _always if schema else _never)
        tests: dict[type, list[Test]] = {kind: [] for kind in _KINDS.values()}
        for rule, said in schema.items():
            if rule in _SAYS_NOTHING:
                continue
            make = _RULES.get(rule)
            if make is None:
                raise NotJudgedError(rule)
            for kind, test in make(self, said, schema, file).items():
                tests[kind].append(test)
        return {kind: _all_of(each) for kind, each in tests.items()}


def _all_of(tests: Sequence[Test]) -> Test:
    asking = [test for test in tests if test is not _always]
    if len(asking) < 2:
        return asking[0] if asking else _always
    if _never in asking:
        return _never
    half = len(asking) // 2
    first, second = _all_of(asking[:half]), _all_of(asking[half:])
    return lambda value: first(value) and second(value)


def _type(_compiler: _Compiler, said: Any, _schema: Any, _file: str) -> Shape:
    names = [said] if isinstance(said, str) else said
    if any(name not in _KINDS and name not in _OTHER_KINDS for name in names):
        raise NotJudgedError("type")
    allowed = {_KINDS[name] for name in names if name in _KINDS}
    return {kind: _never for kind in _KINDS.values() if kind not in allowed}


def _reference(compiler: _Compiler, said: str, _schema: Any, file: str) -> Shape:
    name, _, pointer = said.partition("#")
    if "~" in pointer or "%" in pointer or (pointer and not pointer.startswith("/")):
        raise NotJudgedError("$ref")
    shape = compiler.named(name or file, pointer)
    if len(shape) == len(_KINDS):
        return dict(shape)
    return {kind: lambda value: shape[type(value)](value) for kind in _KINDS.values()}


def _among(_compiler: _Compiler, said: Sequence[Any], _schema: Any, _file: str) -> Shape:
    if any(each is not None and not isinstance(each, str) for each in said):
        raise NotJudgedError("enum")
    words = frozenset(said)
    return {
        str: words.__contains__,
        type(None): _always if None in words else _never,
        dict: _never,
        list: _never,
    }


def _pattern(_compiler: _Compiler, said: str, _schema: Any, _file: str) -> Shape:
    search = re.compile(said).search
    return {str: lambda value: search(value) is not None}


def _properties(compiler: _Compiler, said: Any, schema: Any, file: str) -> Shape:
    """`properties`, with `additionalProperties` beside them where there are any."""
    if "patternProperties" in schema:
        raise NotJudgedError("patternProperties")
    others = schema.get("additionalProperties", True)
    known = {name: compiler.shape(inner, file) for name, inner in (said or {}).items()}
    other = None if others is False else compiler.shape(others, file)

    def test(value: dict[str, Node]) -> bool:
        for name, node in value.items():
            shape = known.get(name, other)
            if shape is None:
                return False
            inner = node.value
            if not shape[type(inner)](inner):
                return False
        return True

    return {dict: test}


def _other_properties(compiler: _Compiler, _said: Any, schema: Any, file: str) -> Shape:
    return {} if "properties" in schema else _properties(compiler, {}, schema, file)


def _names(compiler: _Compiler, said: Any, _schema: Any, file: str) -> Shape:
    shape = compiler.shape(said, file)[str]
    return {dict: lambda value: all(map(shape, value))}


def _required(_compiler: _Compiler, said: Sequence[str], _schema: Any, _file: str) -> Shape:
    names = frozenset(said)
    return {dict: lambda value: names <= value.keys()}


def _needing(_compiler: _Compiler, said: Mapping[str, Sequence[str]], _schema: Any, _file: str) -> Shape:
    needs = [(name, frozenset(others)) for name, others in said.items()]
    return {dict: lambda value: all(others <= value.keys() for name, others in needs if name in value)}


def _dependent(compiler: _Compiler, said: Mapping[str, Any], _schema: Any, file: str) -> Shape:
    needs = [(name, compiler.shape(inner, file)[dict]) for name, inner in said.items()]
    return {dict: lambda value: all(shape(value) for name, shape in needs if name in value)}


def _items(compiler: _Compiler, said: Any, schema: Any, file: str) -> Shape:
    if "prefixItems" in schema:
        raise NotJudgedError("prefixItems")
    shape = compiler.shape(said, file)

    def test(value: list[Node]) -> bool:
        for node in value:
            inner = node.value
            if not shape[type(inner)](inner):
                return False
        return True

    return {list: test}


def _different(_compiler: _Compiler, said: bool, _schema: Any, _file: str) -> Shape:
    def test(value: list[Node]) -> bool:
        found = [node.plain() for node in value]
        if all(isinstance(each, str) for each in found):
            return len(set(map(str, found))) == len(found)
        return all(each not in found[:at] for at, each in enumerate(found))

    return {list: test} if said else {}


def _size(kind: type, least: bool) -> Callable[[_Compiler, int, Any, str], Shape]:
    def make(_compiler: _Compiler, said: int, _schema: Any, _file: str) -> Shape:
        return {kind: (lambda value: len(value) >= said) if least else (lambda value: len(value) <= said)}

    return make


def _branches(compiler: _Compiler, said: Sequence[Any], file: str) -> list[Shape]:
    return [compiler.shape(each, file) for each in said]


def _all(compiler: _Compiler, said: Sequence[Any], _schema: Any, file: str) -> Shape:
    shapes = _branches(compiler, said, file)
    return {kind: _all_of([shape[kind] for shape in shapes]) for kind in _KINDS.values()}


def _any(compiler: _Compiler, said: Sequence[Any], _schema: Any, file: str) -> Shape:
    def test(tests: list[Test]) -> Test:
        return lambda value: any(each(value) for each in tests)

    shapes = _branches(compiler, said, file)
    return {kind: test([shape[kind] for shape in shapes]) for kind in _KINDS.values()}


def _one(compiler: _Compiler, said: Sequence[Any], _schema: Any, file: str) -> Shape:
    def test(tests: list[Test]) -> Test:
        return lambda value: sum(each(value) for each in tests) == 1

    shapes = _branches(compiler, said, file)
    return {kind: test([shape[kind] for shape in shapes]) for kind in _KINDS.values()}


def _not(compiler: _Compiler, said: Any, _schema: Any, file: str) -> Shape:
    def test(inner: Test) -> Test:
        return lambda value: not inner(value)

    return {kind: test(inner) for kind, inner in compiler.shape(said, file).items()}


def _if(compiler: _Compiler, said: Any, schema: Any, file: str) -> Shape:
    def test(asked: Test, then: Test, other: Test) -> Test:
        return lambda value: then(value) if asked(value) else other(value)

    asked = compiler.shape(said, file)
    then, other = (compiler.shape(schema.get(branch, True), file) for branch in ("then", "else"))
    return {kind: test(asked[kind], then[kind], other[kind]) for kind in _KINDS.values()}


_RULES: Mapping[str, Callable[[_Compiler, Any, Any, str], Shape]] = {
    "type": _type,
    "$ref": _reference,
    "enum": _among,
    "const": lambda compiler, said, schema, file: _among(compiler, [said], schema, file),
    "pattern": _pattern,
    "minLength": _size(str, True),
    "maxLength": _size(str, False),
    "properties": _properties,
    "additionalProperties": _other_properties,
    "propertyNames": _names,
    "required": _required,
    "minProperties": _size(dict, True),
    "maxProperties": _size(dict, False),
    "dependentRequired": _needing,
    "dependentSchemas": _dependent,
    "items": _items,
    "minItems": _size(list, True),
    "maxItems": _size(list, False),
    "uniqueItems": _different,
    "allOf": _all,
    "anyOf": _any,
    "oneOf": _one,
    "not": _not,
    "if": _if,
}
