"""The quick reader gives the very nodes of the careful one, or none; and none wherever the careful one refuses."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import pytest

from clauseway.law.folders import shipped_rules
from clauseway.text import quick
from clauseway.text.problems import ClausewayError, Place
from clauseway.text.quick import read_quickly
from clauseway.text.source import DEFAULT_LIMITS, Limits, Node, parse_yaml

FILES = sorted(shipped_rules().rglob("*.yaml"))
ODD = (
    *(" ", "\n", ":", "- ", "#", "'", '"', "[", "]", "{", "}", ","),
    *("&a ", "*a", "!t ", "|\n", "---\n", "\t", "<<: x\n", "\\x00", "é", "~"),
)


@pytest.fixture
def carefully(monkeypatch: pytest.MonkeyPatch) -> None:
    """`parse_yaml` without the quick reader."""
    monkeypatch.setattr(quick, "read_quickly", lambda *_: None)


def careful(text: str, limits: Limits = DEFAULT_LIMITS) -> Node | None:
    try:
        return parse_yaml(text, "a.yaml", limits=limits)
    except ClausewayError:
        return None


def nodes(node: Node) -> Iterator[Node]:
    yield node
    for inner in [each for _, each in node.items()] + list(node.elements()):
        yield from nodes(inner)


@pytest.mark.usefixtures("carefully")
def test_every_file_of_rules_is_read_quickly_and_as_with_care() -> None:
    assert len(FILES) > 300
    for path in FILES:
        text = path.read_text(encoding="utf-8")
        found = read_quickly(text, "a.yaml", DEFAULT_LIMITS)
        assert found is not None, path
        assert found == parse_yaml(text, "a.yaml"), path
        for node in nodes(found):
            assert type(node) is Node
            assert type(node.place) is Place
            assert node.key_place is None or type(node.key_place) is Place


@pytest.mark.usefixtures("carefully")
def test_spoilt_files_are_read_as_with_care_or_left_to_it() -> None:
    random = Random(7)
    refused = same = 0
    for path in FILES[::3]:
        lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        for _ in range(12):
            at = random.randrange(len(lines))
            text = "".join(lines[at : at + 40])
            spot = random.randrange(len(text))
            text = text[:spot] + random.choice(ODD) + text[spot + random.randrange(2) :]
            found, right = read_quickly(text, "a.yaml", DEFAULT_LIMITS), careful(text)
            assert found is None or found == right, text
            refused += right is None and found is None
            same += found is not None
    assert refused > 100
    assert same > 100


UNUSUAL = {
    "an anchor": "a: &b c\n",
    "an anchor of a map": "a: &b {c: d}\n",
    "an alias": "a: *b\n",
    "a tag": "a: !b c\n",
    "a tag of a list": "a: !b [c]\n",
    "a merge key": "<<: {a: b}\n",
    "an empty key": ": a\n",
    "a key that is a list": "? [a]\n: b\n",
    "a key twice": "a: b\na: c\n",
    "two documents": "a: b\n---\nc: d\n",
    "text alone": "a\n",
    "nothing": "",
    "an unprintable character": 'a: "\\0"\n',
    "no YAML": "a: [b\n",
}


@pytest.mark.usefixtures("carefully")
@pytest.mark.parametrize("text", UNUSUAL.values(), ids=UNUSUAL.keys())
def test_what_is_unusual_is_left_to_care(text: str) -> None:
    assert read_quickly(text, "a.yaml", DEFAULT_LIMITS) is None


@pytest.mark.usefixtures("carefully")
@pytest.mark.parametrize(
    ("text", "limits"),
    [("a: {b: {c: d}}", Limits(depth=2)), ("a: [b, c, d]", Limits(nodes=4)), ("a: bcd", Limits(scalar=2))],
)
def test_limits_are_kept(text: str, limits: Limits) -> None:
    assert careful(text, limits) is None
    assert read_quickly(text, "a.yaml", limits) is None
    assert read_quickly(text, "a.yaml", DEFAULT_LIMITS) == careful(text)
    one_more = Limits(depth=limits.depth + 1, nodes=limits.nodes + 1, scalar=limits.scalar + 1)
    assert read_quickly(text, "a.yaml", one_more) == careful(text, one_more) is not None


def test_places_stay_as_frozen_as_they_are_elsewhere() -> None:
    found = read_quickly("a: b\n", "a.yaml", DEFAULT_LIMITS)
    assert found is not None
    inner = found.get("a")
    assert inner == Node("b", Place("a.yaml", 1, 4), Place("a.yaml", 1, 1))
    for made, field in ((inner, "value"), (inner.place, "line")):
        with pytest.raises(AttributeError):
            setattr(made, field, 3)
