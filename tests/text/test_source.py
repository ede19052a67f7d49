from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from clauseway.text.problems import ClausewayError, Place
from clauseway.text.source import Limits, Node, node_from_data, parse_yaml, read_yaml

ENGINE = Path(__file__).resolve().parents[2] / "engine"


@pytest.fixture(params=["libyaml", "python"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    if request.param == "python":
        monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    elif not hasattr(yaml, "CSafeLoader"):
        pytest.skip("PyYAML is without libyaml here")
    return str(request.param)


def refusal(read: Callable[[], object]) -> str:
    with pytest.raises(ClausewayError) as caught:
        read()
    return str(caught.value)


# Reading


def test_every_scalar_stays_the_text_typed(parser: str) -> None:
    node = parse_yaml("a: no\nb: 12:30\nc: 1010.10\nd: 0x1F\ne: 2024-01-01\nf: 1_000\ng: .5\nh: =\n", "t.yaml")
    assert list(node.plain().values()) == ["no", "12:30", "1010.10", "0x1F", "2024-01-01", "1_000", ".5", "="]  # type: ignore[union-attr]


def test_only_empty_tilde_and_null_are_nothing(parser: str) -> None:
    node = parse_yaml("a:\nb: ~\nc: null\nd: 'null'\ne: ''\nf: Null\ng: |\n", "t.yaml")
    assert node.plain() == {"a": None, "b": None, "c": None, "d": "null", "e": "", "f": "Null", "g": ""}


def test_nodes_know_where_they_and_their_keys_stand(parser: str) -> None:
    node = parse_yaml("# é\nlocks:\n  - kind: strike\n    say: 'x'\n", "door.yaml")
    kind = node.at(["locks", 0, "kind"])
    assert kind == Node("strike", Place("door.yaml", 3, 11), Place("door.yaml", 3, 5), False)
    assert node.at(["locks", 0, "say"]).quoted
    assert node.at(["locks"]).key_place == Place("door.yaml", 2, 1)
    assert node.at(["locks", 0]).key_place is None
    assert node.place == Place("door.yaml", 2, 1)


def test_columns_count_characters(parser: str) -> None:
    assert parse_yaml("{é: 😀, b: c}", "t.yaml").at(["b"]).place == Place("t.yaml", 1, 11)


def test_walking_ends_at_the_deepest_node_there_is() -> None:
    node = parse_yaml("a: [x, {b: c}]\n", "t.yaml")
    assert node.at([]) is node
    assert node.at(["a", 1, "b"]).text == "c"
    assert node.at(["a", 1, "b", "further"]).text == "c"
    assert node.at(["a", 5, "b"]) is node.get("a")
    assert node.at(["a", -1]) is node.get("a")
    assert node.at([0]) is node
    assert node.at(["missing"]) is node


def test_the_helpers_tell_kinds_apart() -> None:
    node = parse_yaml("a: [x]\nb: {c: d}\ne:\n", "t.yaml")
    kinds = {key: (value.kind, value.is_list, value.is_map, value.is_text) for key, value in node.items()}
    assert kinds == {
        "a": ("a list", True, False, False),
        "b": ("a map", False, True, False),
        "e": ("nothing", False, False, False),
    }
    first = node.at(["a", 0])
    assert first.kind == "text"
    assert first.is_text
    assert [each.text for each in node.at(["a"]).elements()] == ["x"]
    assert list(node.elements()) == list(first.items()) == list(first.elements()) == []
    assert node.text is None
    assert first.get("x") is None


def test_block_text_counts_as_quoted(parser: str) -> None:
    node = parse_yaml("a: >-\n  one\n  two\nb: one\n  two\n", "t.yaml")
    assert (node.at(["a"]).text, node.at(["a"]).quoted) == ("one two", True)
    assert (node.at(["b"]).text, node.at(["b"]).quoted) == ("one two", False)


def test_a_directive_and_document_marks_are_accepted(parser: str) -> None:
    assert parse_yaml("%YAML 1.1\n---\na: b\n...\n", "t.yaml").plain() == {"a": "b"}


# Refusing YAML


REFUSED = [
    ("a: 1\nb: 2\na: 3\n", "t.yaml:3:1: `a` is given twice; the first is on line 1"),
    ("x:\n  a: 1\n  'a': 2\n", "t.yaml:3:3: `a` is given twice; the first is on line 2"),
    ("a: &x 1\n", "t.yaml:1:4: the anchor `&x`\n    expected: no anchors and aliases"),
    ("a: &x {b: c}\n", "t.yaml:1:4: the anchor `&x`"),
    ("a: *x\n", "t.yaml:1:4: the alias `*x`\n    expected: no anchors and aliases"),
    ("*x : a\n", "t.yaml:1:1: the alias `*x`"),
    ("a: !!str x\n", "t.yaml:1:4: the tag `!!str`\n    expected: no tags"),
    ("a: !x y\n", "t.yaml:1:4: the tag `!x`"),
    ("a: ! y\n", "t.yaml:1:4: the tag `!`"),
    ("a: !!python/object/apply:os.system [ls]\n", "the tag `!!python/object/apply:os.system`"),
    ("a: !!map {}\n", "the tag `!!map`"),
    ("<<: {a: b}\n", "t.yaml:1:1: merge keys (`<<`) are not used here"),
    ("[a]: b\n", "t.yaml:1:1: a key is a list"),
    ("? {a: b}\n: c\n", "t.yaml:1:3: a key is a map"),
    ("?\n: x\n", "a key is empty"),
    ("a: 1\n---\nb: 2\n", "t.yaml:2:1: a second document begins here"),
    ("a: 1\n---\n", "t.yaml:2:1: a second document begins here"),
    ("", "t.yaml: this is empty"),
    ("\ufeff", "t.yaml: this is empty"),
    ("# only a comment\n", "t.yaml: this is empty"),
    ("---\n", "t.yaml: this is empty"),
    ("~\n", "t.yaml: this is empty"),
    ("a: 1\n\tb: 2\n", "t.yaml:2:1: a tab is used to indent\n    expected: spaces"),
    ("a:\n\t- b\n", "t.yaml:2:1: a tab is used to indent"),
    ("a: 'b\nc: d\n", "t.yaml:1:4: a quote is opened here and never closed"),
    ('a: "b\nc: d\n', "t.yaml:1:4: a quote is opened here and never closed"),
    ("a: [1, 2\nb: c\n", "t.yaml:1:4: a `[` or `{` is opened here and not closed"),
    ("a: {b: 1\n", "t.yaml:1:4: a `[` or `{` is opened here and not closed"),
    ("a: ]\n", "t.yaml:1:4: a `]` that closes nothing"),
    ("a: {b: c}}\n", "t.yaml:1:10: a `}` that closes nothing"),
    ("a: b: c\n", "t.yaml:1:5: a `:` where no key can stand"),
    ("a: 1\n  b: 2\n", "t.yaml:2:4: a `:` where no key can stand"),
    ("a:\n    b: 1\n  c: 2\n", "t.yaml:3:3: this line does not line up"),
    ("a: 1\n- b\n", "t.yaml:2:1: this line does not line up"),
    ("key: value\nanother\n", "t.yaml:2:1: a key has no `:` after it"),
    ("a: @x\n", "t.yaml:1:4: plain text cannot begin with `@`\n    expected: the text in quotes"),
    ("a: %x\n", "t.yaml:1:4: plain text cannot begin with `%`"),
    ("a: *\n", "t.yaml:1:5: plain text cannot begin with `*`"),
    ("a: 'x' y\n", "t.yaml:1:8: something follows the end of a value"),
    ("a: - b\n", "t.yaml:1:4: a list begins on the line of its key"),
    ('a: "\\q"\n', "an escape that double quotes do not know"),
    ('"a" b\n', "something follows the end of the document"),
    ("a: x\x07\n", "t.yaml:1:5: the character U+0007, which cannot be printed"),
    ('a: "\\e[31m"\n', "t.yaml:1:4: a text holds U+001B"),
    ("a: \udc80\n", "t.yaml:1:4: the character U+DC80"),
]


@pytest.mark.parametrize(("text", "message"), REFUSED, ids=[repr(text) for text, _ in REFUSED])
def test_a_refusal_names_place_and_reason(text: str, message: str, parser: str) -> None:
    assert message in refusal(lambda: parse_yaml(text, "t.yaml"))


def test_all_problems_of_a_file_come_together(parser: str) -> None:
    message = refusal(lambda: parse_yaml("a: &x 1\nb: *x\na: 2\nc: @\n", "t.yaml"))
    assert [line.split(": ")[0] for line in message.splitlines() if line.startswith("t.yaml")] == [
        "t.yaml:1:4",
        "t.yaml:2:4",
        "t.yaml:3:1",
        "t.yaml:4:4",
    ]


def test_the_number_of_problems_is_bounded(parser: str) -> None:
    text = "".join(f"k{number}: *x\n" for number in range(1000))
    with pytest.raises(ClausewayError) as caught:
        parse_yaml(text, "t.yaml")
    assert len(caught.value.problems) == 20


# Hostile input


def quickly(read: Callable[[], object]) -> str:
    start = time.perf_counter()
    message = refusal(read)
    assert time.perf_counter() - start < 2
    return message


def test_a_bomb_of_aliases_is_refused(parser: str) -> None:
    levels = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    levels += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 12)]
    assert "the anchor `&a0`" in quickly(lambda: parse_yaml("\n".join(levels), "t.yaml"))


@pytest.mark.parametrize("nest", ["[", "{a: ", "- ", "? ", '{"a":', "[["])
@pytest.mark.parametrize("file", ["t.yaml", "t.json"])
def test_deep_nesting_is_refused(nest: str, file: str, parser: str) -> None:
    message = quickly(lambda: parse_yaml(nest * 100_000, file))
    if file == "t.yaml" and nest != "? ":
        assert "nested deeper than 40 levels" in message


def test_depth_is_counted_exactly(parser: str) -> None:
    assert parse_yaml("[" * 40 + "]" * 40, "t.yaml").kind == "a list"
    assert parse_yaml("[" * 40 + "]" * 40, "t.json").kind == "a list"
    assert "t.yaml:1:41: nested deeper" in refusal(lambda: parse_yaml("[" * 41 + "]" * 41, "t.yaml"))
    assert "t.json:1:41: nested deeper" in refusal(lambda: parse_yaml("[" * 41 + "]" * 41, "t.json"))


@pytest.mark.parametrize("file", ["t.yaml", "t.json"])
def test_too_many_values_are_refused(file: str) -> None:
    text = '["' + '","'.join(["a"] * 100) + '"]'
    assert parse_yaml(text, file, limits=Limits(nodes=101)).kind == "a list"
    assert "more than 100 values" in refusal(lambda: parse_yaml(text, file, limits=Limits(nodes=100)))


@pytest.mark.parametrize("file", ["t.yaml", "t.json"])
def test_a_very_long_value_is_refused(file: str) -> None:
    assert parse_yaml('{"a": "' + "x" * 20_000 + '"}', file).at(["a"]).is_text
    message = refusal(lambda: parse_yaml('{"a": "' + "x" * 20_001 + '"}', file))
    assert f"{file}:1:7: one value has 20,001 characters" in message
    assert len(message) < 300


def test_too_much_text_is_refused() -> None:
    assert "at most 16 MB" in quickly(lambda: parse_yaml("a" * 17_000_000, "t.yaml"))


@given(st.text(alphabet="ab:-?[]{},&*!|>'\"%@`# \n\t~", max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    for file in ("t.yaml", "t.json"):
        try:
            node = parse_yaml(text, file)
        except ClausewayError as error:
            files = {problem.place.file for problem in error.problems}
        else:
            files = {node.place.file}
        assert files == {file}


PLAIN = st.recursive(
    st.none() | st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["C", "Zl", "Zp"]), max_size=20),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text("abc: #-é~", min_size=1, max_size=5), inner, max_size=4)
    ),
    max_leaves=15,
).filter(lambda value: value is not None)


@given(PLAIN)
def test_what_json_and_yaml_write_is_read_again(value: object) -> None:
    for ascii_only in (True, False):
        for indent in (None, "\t"):
            text = json.dumps(value, ensure_ascii=ascii_only, indent=indent)
            assert parse_yaml(text, "t.json").plain() == value
            assert parse_yaml(text, "-").plain() == value
    assert parse_yaml(yaml.safe_dump(value, allow_unicode=True), "t.yaml").plain() == value
    assert node_from_data(value, "data").plain() == value


# JSON


def test_json_is_read_with_positions_and_as_typed() -> None:
    text = '\ufeff{\n\t"a":\t1.50,\r\n\t"b\\/\\u00e9": [true, null, -0, 1E5, "\\ud83d\\ude00"]}'
    node = parse_yaml(text, "t.JSON")
    assert node.plain() == {"a": "1.50", "b/é": ["true", None, "-0", "1E5", "😀"]}
    assert node.at(["a"]).place == Place("t.JSON", 2, 7)
    assert node.at(["b/é", 4]) == Node("😀", Place("t.JSON", 3, 37), None, True)
    assert not node.at(["b/é", 0]).quoted


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "t.json: this is empty"),
        ("null", "t.json: this is empty"),
        ('{"a":1,\n "a":2}', "t.json:2:2: `a` is given twice; the first is on line 1"),
        ('{"a":1,}', 't.json:1:8: `}` where it cannot stand in JSON\n    expected: a key in "double quotes"'),
        ('{"a":1 "b":2}', "expected: `,` or `}`"),
        ("{a:1}", 'expected: a key in "double quotes" or `}`'),
        ("[1,]", "t.json:1:4: `]` where it cannot stand"),
        ("[1]]", "expected: nothing more"),
        ("[1}", "t.json:1:3: `}` where it cannot stand"),
        ("[01]", "where it cannot stand"),
        ("[NaN]", "where it cannot stand"),
        ("['a']", "where it cannot stand"),
        ('["a\nb"]', 't.json:1:2: `"` where it cannot stand'),
        ('["\\x"]', "where it cannot stand"),
        ("[1,2", "t.json:1:5: the JSON ends too early"),
        ('{"a"', "expected: `:`"),
        ('["\\ud800"]', "t.json:1:2: a text holds U+D800"),
        ('["\\u0000"]', "t.json:1:2: a text holds U+0000"),
    ],
)
def test_json_is_refused_with_its_place(text: str, message: str) -> None:
    assert message in refusal(lambda: parse_yaml(text, "t.json"))


# Files


def test_a_file_is_read_whatever_its_line_ends_and_mark(tmp_path: Path) -> None:
    path = tmp_path / "door.yaml"
    path.write_bytes(b"\xef\xbb\xbfa: caf\xc3\xa9\r\nb: 2\r\n")
    node = read_yaml(path)
    assert node.plain() == {"a": "café", "b": "2"}
    assert node.at(["b"]).place == Place(str(path), 2, 4)


def test_what_is_not_utf8_names_its_line(tmp_path: Path) -> None:
    path = tmp_path / "door.yaml"
    path.write_bytes(b"a: 1\nb: \xc3\xa9\xe9\n")
    assert f"{path}:2:5: the byte 0xE9 is not UTF-8" in refusal(lambda: read_yaml(path))
    path.write_bytes(b"\xef\xbb\xbfa: \xe9\n")
    assert f"{path}:1:4: the byte 0xE9 is not UTF-8" in refusal(lambda: read_yaml(path))
    path.write_bytes("a: 1\n".encode("utf-16"))
    assert "the file is in UTF-16" in refusal(lambda: read_yaml(path))


def test_a_missing_file_offers_its_neighbours(tmp_path: Path) -> None:
    (tmp_path / "north-door.yaml").write_text("a: b\n")
    (tmp_path / "south.yaml").write_text("a: b\n")
    message = refusal(lambda: read_yaml(tmp_path / "north_dor.yaml"))
    assert "there is no such file\n    expected: north-door.yaml or south.yaml" in message
    assert f"did you mean: {tmp_path / 'north-door.yaml'}?" in message
    assert f"there is no folder {tmp_path / 'x'}" in refusal(lambda: read_yaml(tmp_path / "x" / "y.yaml"))
    assert "there is no such file" in refusal(lambda: read_yaml(tmp_path / "south.yaml" / "y"))


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    assert f"{tmp_path}: this is a folder" in refusal(lambda: read_yaml(tmp_path))
    assert "cannot be read" in refusal(lambda: read_yaml(tmp_path / "a\0b"))
    assert "cannot be read" in refusal(lambda: read_yaml(tmp_path / ("x" * 300)))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_pipes_devices_and_loops_are_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "this is a pipe" in quickly(lambda: read_yaml(tmp_path / "pipe"))
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    assert "cannot be read" in refusal(lambda: read_yaml(tmp_path / "loop"))
    if Path("/dev/zero").exists():
        assert "not a regular file" in quickly(lambda: read_yaml(Path("/dev/zero")))


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="everything may be read here")
def test_a_file_without_permission_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "door.yaml"
    path.write_text("a: b\n")
    path.chmod(0)
    assert "there is no permission" in refusal(lambda: read_yaml(path))


def test_a_refused_permission_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def denied(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "stat", denied)
    assert "there is no permission to read this file" in refusal(lambda: read_yaml(tmp_path / "door.yaml"))


def test_a_huge_file_is_refused_without_reading_it(tmp_path: Path) -> None:
    path = tmp_path / "big.yaml"
    with path.open("wb") as stream:
        stream.truncate(100 * 1024 * 1024)
    assert "the file is too large\n    expected: at most 16 MB" in quickly(lambda: read_yaml(path))


def test_a_file_that_hides_its_size_is_read_up_to_the_limit(tmp_path: Path) -> None:
    path = Path("/proc/self/maps")
    if not path.exists():
        pytest.skip("no files without size here")
    assert "the file is too large" in refusal(lambda: read_yaml(path, limits=Limits(bytes=10)))


# Plain data


def test_plain_data_becomes_nodes_without_positions() -> None:
    node = node_from_data({"a": [1, 2.5, True, None, "null"], 2018: {"b": ("x",)}}, "answers")
    assert node.plain() == {"a": ["1", "2.5", "true", None, "null"], "2018": {"b": ["x"]}}
    assert node.at(["a", 0]) == Node("1", Place("answers"))
    assert node.at(["a", 4]).quoted


def cycle() -> list[object]:
    inside: list[object] = []
    inside.append(inside)
    return inside


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ({"a": {"b": [1, date(2024, 1, 1)]}}, "answers: a.b[1]: a date\n    expected: text, a number"),
        ({"a": b"x"}, "answers: a: a bytes"),
        ({1: "x", "1": "y"}, "answers: `1` is given twice"),
        ({None: 1}, "a key is empty"),
        ({(1, 2): 1}, "a key is a list"),
        ({"a": "\ud800"}, "answers: a: a text holds U+D800"),
        ({"a": 10**60_000}, "answers: a: a number of thousands of digits"),
        ({"a": "x" * 20_001}, "answers: a: one value has 20,001 characters"),
        (cycle(), "nested deeper than 40 levels"),
        ([[0] * 1000] * 1000, "more than 50,000 values"),
        (["x" * 20_000] * 1000, "too large"),
        (None, "answers: this is empty"),
    ],
    ids=lambda value: value[:30] if isinstance(value, str) else "data",
)
def test_other_data_is_refused(data: object, message: str) -> None:
    assert message in quickly(lambda: node_from_data(data, "answers", limits=Limits(nodes=50_000)))


def test_data_is_read_without_importing_yaml() -> None:
    program = (
        "import clauseway.text.quantity; from clauseway.text.source import node_from_data, parse_yaml;"
        "node_from_data({'a': [1]}, 'x'); parse_yaml('[1]', 'x.json'); assert 'yaml' not in sys.modules"
    )
    subprocess.run(
        [sys.executable, "-I", "-c", f"import sys; sys.path.insert(0, {str(ENGINE)!r}); {program}"],
        check=True,
    )
