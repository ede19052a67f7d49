"""The quick judgement of shapes is the full validator's, for every file of rules and for files with something wrong."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry
from referencing.jsonschema import DRAFT202012

from clauseway.law import fits as judged
from clauseway.law import shape
from clauseway.law.folders import shipped_rules
from clauseway.text.problems import Place
from clauseway.text.source import Node, parse_yaml, read_yaml

RULES = shipped_rules()
SCHEMAS = RULES / "schemas"
KINDS = {"facts": "facts", "jurisdictions": "layer", "codes": "provision"}
NAMED = {"lists", "adoptions", "code", "sources", "clauses", "mutants"}


def files() -> list[tuple[Path, str]]:
    """Every file that is read for its shape, with its schema."""
    return [
        (path, path.stem if path.stem in NAMED else "provision" if path.parent.name == "provisions" else kind)
        for folder, kind in KINDS.items()
        for path in sorted((RULES / folder).rglob("*.yaml"))
    ]


def nodes_in(node: Node) -> Iterator[Node]:
    yield node
    for inner in [each for _, each in node.items()] + list(node.elements()):
        yield from nodes_in(inner)


def with_mistake(node: Node, random: Random) -> Node:
    """The file with one thing in it changed: a value of another kind, a key or an entry gone, doubled, or misspelt."""
    places = list(nodes_in(node))
    target = places[random.randrange(len(places))]
    value: Any = target.value
    odd: list[Any] = ["", None, "word", "1010.2", "two words", {}, [], {"k": Node("v", target.place)}]
    if isinstance(value, dict) and value:
        key = random.choice(list(value))
        rest = {name: inner for name, inner in value.items() if name != key}
        odd += 3 * [rest, {**rest, key + "x": value[key]}, {**value, "Odd Name": value[key]}]
    if isinstance(value, list) and value:
        odd += 3 * [[*value, value[0]], value[:-1], [*value, Node(None, target.place)]]
    if isinstance(value, str):
        odd += [value.upper(), value + " ", value + "\n"]
    changed = random.choice(odd)

    def copied(at: Node) -> Node:
        if at is target:
            return replace(at, value=changed)
        if isinstance(at.value, dict):
            return replace(at, value={name: copied(inner) for name, inner in at.value.items()})
        if isinstance(at.value, list):
            return replace(at, value=[copied(inner) for inner in at.value])
        return at

    return copied(node)


def test_every_file_of_rules_is_judged_without_the_full_validator(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shape, "_validator", lambda *_: pytest.fail("the full validator was asked"))
    for path, schema in files():
        assert shape.check_shape(read_yaml(path), schema, SCHEMAS) == [], path


def test_both_judgements_are_the_same_whatever_is_wrong_with_a_file() -> None:
    random = Random(11)
    wrong = 0
    for path, schema in files():
        node = read_yaml(path)
        for _ in range(3):
            changed = with_mistake(node, random)
            right = shape._validator(schema, SCHEMAS).is_valid(changed.plain())
            assert judged.fits(changed, schema, SCHEMAS) is right, (path, schema)
            wrong += not right
    assert wrong > 300


TREE = {"type": ["object", "string"], "additionalProperties": {"$ref": "#/$defs/tree"}}
IF = {"if": {"required": ["a"]}, "then": {"required": ["b"]}, "else": {"minProperties": 2}}

RULE_BY_RULE: list[tuple[dict[str, Any], list[str]]] = [
    ({"type": "string"}, ["a", "null", "{}", "[]"]),
    ({"type": ["object", "null"]}, ["a: b", "null", "[]"]),
    ({"type": ["integer", "null"]}, ["3", "null"]),
    ({"enum": ["a", "b", None]}, ["a", "c", "null", "[]"]),
    ({"const": "a"}, ["a", "b", "{}"]),
    ({"pattern": "^a$"}, ["a", "ab", "[a]"]),
    ({"minLength": 2, "maxLength": 3}, ["a", "ab", "abcd", "[]"]),
    ({"properties": {"a": {"type": "string"}}, "additionalProperties": False}, ["a: b", "a: []", "c: d", "x"]),
    ({"additionalProperties": {"type": "array"}}, ["a: []", "a: b", "[]"]),
    ({"propertyNames": {"pattern": "^a"}}, ["a: b", "b: a", "[b]"]),
    ({"required": ["a", "b"]}, ["a: b", "{a: b, b: a}", "[a]"]),
    ({"minProperties": 1, "maxProperties": 2}, ["{}", "a: b", "{a: b, b: a, c: a}", "[]"]),
    ({"dependentRequired": {"a": ["b"]}}, ["a: b", "{a: b, b: a}", "c: a"]),
    ({"dependentSchemas": {"a": {"properties": {"b": {"not": {}}}}}}, ["a: b", "{a: b, b: a}", "b: a"]),
    ({"items": {"type": "string"}, "minItems": 1, "maxItems": 2}, ["[]", "[a]", "[[]]", "[a, b, c]", "a"]),
    ({"uniqueItems": True}, ["[a, b]", "[a, a]", "[{x: y, z: w}, {z: w, x: y}]", "[{x: y}, [x, y], x]", "[~, ~]"]),
    ({"allOf": [{"required": ["a"]}, {"required": ["b"]}, {"required": ["c"]}]}, ["a: b", "{a: b, b: a, c: a}", "x"]),
    ({"anyOf": [{"type": "string"}, {"type": "null"}]}, ["a", "null", "[]"]),
    ({"oneOf": [{"required": ["a"]}, {"required": ["b"]}]}, ["{}", "a: b", "{a: b, b: a}"]),
    ({"not": {"enum": ["a"]}}, ["a", "b", "[]"]),
    (IF, ["a: b", "{a: b, b: a}", "c: d", "{c: d, d: c}"]),
    ({"$ref": "#/$defs/tree", "$defs": {"tree": TREE}}, ["a", "a: {b: {c: d}}", "a: {b: {c: []}}"]),
    ({"properties": {"a": True, "b": False}}, ["a: b", "b: a"]),
]


@pytest.mark.parametrize(("schema", "texts"), RULE_BY_RULE, ids=[str(next(iter(each))) for each, _ in RULE_BY_RULE])
def test_each_rule_is_judged_as_the_standard_says(schema: dict[str, Any], texts: list[str], tmp_path: Path) -> None:
    (tmp_path / "made.schema.json").write_text(json.dumps(schema), encoding="utf-8")
    registry: Registry[Any] = Registry().with_resource("", DRAFT202012.create_resource(schema))
    validator = Draft202012Validator(schema, registry=registry)
    verdicts = set()
    for text in texts:
        node = Node(None, Place("a.yaml")) if text == "null" else parse_yaml(text, "a.yaml")
        right = validator.is_valid(node.plain())
        assert judged.fits(node, "made", tmp_path) is right, text
        verdicts.add(right)
    assert verdicts == {True, False}


@pytest.mark.parametrize("rule", ["minimum", "format", "patternProperties", "prefixItems", "$id", "unevaluatedItems"])
def test_a_schema_with_a_rule_that_is_not_known_fits_nothing_quickly(rule: str, tmp_path: Path) -> None:
    (tmp_path / "made.schema.json").write_text(f'{{"items": {{"properties": {{"a": {{"{rule}": {{}}}}}}}}}}')
    assert not judged.fits(parse_yaml("[a]", "a.yaml"), "made", tmp_path)


@pytest.mark.parametrize("reference", ["#word", "#/allOf/0", "#/$defs/none", "#/$defs/a~1b", "none.schema.json"])
def test_a_reference_that_is_no_plain_path_is_not_judged_here(reference: str, tmp_path: Path) -> None:
    made = {"$ref": reference, "$defs": {"word": {"$anchor": "word"}, "a/b": {}}}
    (tmp_path / "made.schema.json").write_text(json.dumps(made), encoding="utf-8")
    assert not judged.fits(parse_yaml("[a]", "a.yaml"), "made", tmp_path)


def test_rules_that_are_right_load_neither_the_validator_nor_the_library_of_graphs() -> None:
    run = (
        "import sys; from clauseway.law.library import load; from clauseway.law.resolve import resolve;"
        "resolve(load(), ['ibc@2021']); print({'jsonschema', 'referencing', 'networkx'} & sys.modules.keys())"
    )
    done = subprocess.run([sys.executable, "-c", run], capture_output=True, text=True, check=False)
    assert (done.stdout, done.stderr) == ("set()\n", "")
