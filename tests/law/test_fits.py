"""The quick judgement of shapes is the full validator's, for every file of rules and for files with something wrong."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest
from jsonschema_rs import Draft202012Validator

from clauseway.law import fits as judged
from clauseway.law import shape
from clauseway.law.folders import shipped_rules
from clauseway.text.problems import Place
from clauseway.text.source import UNPRINTABLE, Node, read_yaml

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


def test_what_is_judged_to_fit_does_whatever_is_wrong_with_a_file() -> None:
    random = Random(11)
    wrong = 0
    for path, schema in files():
        node = read_yaml(path)
        for _ in range(3):
            changed = with_mistake(node, random)
            right = shape._validator(schema, SCHEMAS).is_valid(changed.plain())
            fits = judged.fits(changed, schema, SCHEMAS)
            assert right or not fits, (path, schema)
            wrong += not right
            if right and not fits:
                # The full validator takes a line's end behind a word as the end of the word.
                assert any(str(each.value).endswith("\n") for each in nodes_in(changed)), (path, schema)
    assert wrong > 300


def patterns_in(schema: Any) -> Iterator[str]:
    if isinstance(schema, dict) and isinstance(schema.get("pattern"), str):
        yield schema["pattern"]
    for inner in schema.values() if isinstance(schema, dict) else schema if isinstance(schema, list) else ():
        yield from patterns_in(inner)


READ = ("common", *NAMED, *KINDS.values())
PATTERNS = sorted({each for name in READ for each in patterns_in(judged.schema_of(name, SCHEMAS))})
ODD = [chr(code) for code in range(0x10000) if chr(code).isspace() or chr(code).isdigit() or code in (0x200B, 0xFEFF)]


@pytest.mark.parametrize("pattern", PATTERNS)
def test_no_pattern_means_more_to_the_quick_judgement_than_to_python(pattern: str) -> None:
    quick = Draft202012Validator({"pattern": pattern})
    for odd in ODD:
        for text in (odd, f"a{odd}", f"{odd}a", f"a{odd}b", f"2021{odd}", f"2021-01-0{odd}", f"a.b{odd}", f"a/{odd}b"):
            if not UNPRINTABLE.search(text) and quick.is_valid(text):
                assert re.search(pattern, text), ascii(text)


def test_what_the_quick_judgement_cannot_take_is_left_to_the_full_validator(tmp_path: Path) -> None:
    (tmp_path / "made.schema.json").write_text(json.dumps({"type": "string"}), encoding="utf-8")
    assert judged.fits(Node("a", Place("a.yaml")), "made", tmp_path)
    assert not judged.fits(Node("\ud800", Place("a.yaml")), "made", tmp_path)
    with pytest.raises(FileNotFoundError, match=r"no other\.schema\.json"):
        judged.fits(Node("a", Place("a.yaml")), "other", tmp_path)


def test_rules_that_are_right_load_neither_the_validator_nor_the_library_of_graphs() -> None:
    run = (
        "import sys; from clauseway.law.library import load; from clauseway.law.resolve import resolve;"
        "resolve(load(), ['ibc@2021']); print({'jsonschema', 'referencing', 'networkx'} & sys.modules.keys())"
    )
    done = subprocess.run([sys.executable, "-c", run], capture_output=True, text=True, check=False)
    assert (done.stdout, done.stderr) == ("set()\n", "")
