"""Reading YAML and JSON as text with positions.

Nothing is interpreted: `no`, `12:30` and `1010.10` stay the text that was typed. Only an empty plain scalar,
`~` and `null` mean "nothing". Anchors, aliases, tags, merge keys and duplicate keys are refused, and so is
anything larger than `Limits`. Every refusal is a `ClausewayError` whose problems name file, line and column.
"""

from __future__ import annotations

import errno
import json
import os
import re
import stat
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem

if TYPE_CHECKING:
    from yaml.error import Mark

Plain = str | None | dict[str, "Plain"] | list["Plain"]
"""Nodes without their positions."""


@dataclass(frozen=True, slots=True)
class Limits:
    """The largest input that is read: its bytes, levels of nesting, values, and characters in one value."""

    bytes: int = 16 * 1024 * 1024
    depth: int = 40
    nodes: int = 500_000
    scalar: int = 20_000


DEFAULT_LIMITS = Limits()


@dataclass(frozen=True, slots=True)
class Node:
    """A value as typed: text, None, a map or a list; where it stands, and where its key stands if it has one.

    `quoted` tells text in quotes or in a block (`|`, `>`) from plain text. `history` is kept for those who change
    nodes: whatever they record of what was here before.
    """

    value: str | dict[str, Node] | list[Node] | None
    place: Place
    key_place: Place | None = None
    quoted: bool = False
    history: tuple[object, ...] = ()

    @property
    def is_map(self) -> bool:
        """Whether this is a map."""
        return isinstance(self.value, dict)

    @property
    def is_list(self) -> bool:
        """Whether this is a list."""
        return isinstance(self.value, list)

    @property
    def is_text(self) -> bool:
        """Whether this is text."""
        return isinstance(self.value, str)

    @property
    def text(self) -> str | None:
        """The text; None when this is a map, a list or nothing."""
        return self.value if isinstance(self.value, str) else None

    @property
    def kind(self) -> str:
        """What this is, for messages: `a map`, `a list`, `text` or `nothing`."""
        if self.value is None:
            return "nothing"
        return "text" if self.is_text else "a map" if self.is_map else "a list"

    def get(self, key: str) -> Node | None:
        """The value of `key`; None when this is no map or has no such key."""
        return self.value.get(key) if isinstance(self.value, dict) else None

    def items(self) -> Iterable[tuple[str, Node]]:
        """The keys and values of a map in the order typed; none for anything else."""
        return self.value.items() if isinstance(self.value, dict) else ()

    def elements(self) -> Iterable[Node]:
        """The elements of a list in the order typed; none for anything else."""
        return self.value if isinstance(self.value, list) else ()

    def plain(self) -> Plain:
        """The same as nested dicts, lists, strings and None."""
        if isinstance(self.value, dict):
            return {key: node.plain() for key, node in self.value.items()}
        if isinstance(self.value, list):
            return [node.plain() for node in self.value]
        return self.value

    def at(self, path: Iterable[str | int]) -> Node:
        """The node at `path` (keys and list positions), or the deepest one on the way there that exists."""
        node = self
        for step in path:
            inner = node.value
            found: Node | None = None
            if isinstance(inner, dict) and isinstance(step, str):
                found = inner.get(step)
            elif isinstance(inner, list) and isinstance(step, int) and 0 <= step < len(inner):
                found = inner[step]
            if found is None:
                break
            node = found
        return node


def read_yaml(path: Path, *, name: str = "", limits: Limits = DEFAULT_LIMITS) -> Node:
    """The contents of a YAML or (by its suffix) JSON file; problems and places call it `name`, or its path.

    Raises ClausewayError naming every problem.
    """
    named = name or str(path)
    return parse_yaml(read_text(path, name=named, limits=limits), named, limits=limits)


def read_text(path: Path, *, name: str = "", limits: Limits = DEFAULT_LIMITS) -> str:
    """The text of a file; problems call it `name`, or its path.

    Raises ClausewayError for a file that is too large, cannot be read or is no text.
    """
    return _decoded(_read_bytes(path, limits), name or str(path))


def parse_yaml(text: str, file: str, *, limits: Limits = DEFAULT_LIMITS) -> Node:
    """The contents of YAML text, or of JSON text when `file` ends in .json; `file` is only named in problems.

    Raises ClausewayError naming every problem.
    """
    text = text.removeprefix("\ufeff")
    if len(text) > limits.bytes:
        raise _too_large(file, limits)
    if file.lower().endswith(".json"):
        return _parse_json(text, file, limits)
    if text.lstrip().startswith(("{", "[", '"')):
        # JSON that YAML does not accept, such as surrogate pairs, may come under any name.
        with suppress(ClausewayError):
            return _parse_json(text, file, limits)
    return _parse_events(text, file, limits)


def node_from_data(data: object, file: str, *, limits: Limits = DEFAULT_LIMITS) -> Node:
    """Plain Python data as nodes without positions; `file` is what problems call the data.

    Numbers become their repr, booleans `true` and `false`. Raises ClausewayError for other types, for data
    beyond `limits` (which data that contains itself always is) and for keys that become the same text.
    """
    builder = _Builder(file, limits)
    place = Place(file)
    pending: list[Iterator[object]] = [iter((data,))]
    while pending:
        try:
            item = next(pending[-1])
        except StopIteration:
            pending.pop()
            if pending:
                builder.close()
            continue
        if isinstance(item, Mapping):
            builder.open({}, place)
            pending.append(chain.from_iterable(item.items()))
        elif isinstance(item, list | tuple):
            builder.open([], place)
            pending.append(iter(item))
        elif item is None:
            builder.scalar("", place, null=True)
        elif isinstance(item, str):
            builder.scalar(str(item), place, quoted=True)
        elif isinstance(item, bool):
            builder.scalar("true" if item else "false", place)
        elif isinstance(item, int | float) and (isinstance(item, float) or item.bit_length() < _MOST_BITS):
            builder.scalar(_number_text(item), place)
        else:
            found = "a number of thousands of digits" if isinstance(item, int) else f"a {type(item).__name__}"
            builder.refuse(place, found, "text, a number, True, False, None, a list or a dict")
            builder.scalar("?", place)
    return builder.finish()


# Python itself refuses to write out much longer integers.
_MOST_BITS = 10_000


def _number_text(number: int | float) -> str:
    return float.__repr__(number) if isinstance(number, float) else int.__repr__(number)


# Building nodes


UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")
_MOST_PROBLEMS = 20


class _Builder:
    """Nodes from a stream of opened and closed containers and of scalars, without recursion."""

    def __init__(self, file: str, limits: Limits) -> None:
        self.file = file
        self.limits = limits
        self.problems: list[Problem] = []
        self.root: Node | None = None
        self.containers: list[dict[str, Node] | list[Node]] = []
        self.keys: list[tuple[str, Place] | None] = []
        self.steps: list[str] = []
        self.nodes = 0
        self.characters = 0

    def open(self, container: dict[str, Node] | list[Node], place: Place) -> None:
        """Start a map or list as the next value."""
        if self.awaits_key():
            self.stop(place, f"a key is {'a map' if container == {} else 'a list'}", "a key that is text")
        if len(self.containers) >= self.limits.depth:
            self.stop(place, *_too_deep(self.limits))
        self.steps.append(self._step())
        self._attach(container, place, False)
        self.containers.append(container)
        self.keys.append(None)

    def close(self) -> None:
        """End the innermost open container."""
        self.containers.pop()
        self.keys.pop()
        self.steps.pop()

    def scalar(self, text: str, place: Place, *, quoted: bool = False, null: bool = False) -> None:
        """The next key or value; `null` says that as a value this text means nothing."""
        self.characters += len(text)
        if self.characters > self.limits.bytes:
            raise _too_large(self.file, self.limits)
        if len(text) > self.limits.scalar:
            self.refuse(
                place,
                f"one value has {len(text):,} characters",
                f"at most {self.limits.scalar:,} characters in one value",
            )
        if unprintable := UNPRINTABLE.search(text):
            self.refuse(place, f"a text holds {_code_point(unprintable[0])}, which cannot be printed")
        if not self.awaits_key():
            self._attach(None if null else text, place, quoted)
        elif not text and not quoted:
            self.refuse(place, "a key is empty", "a name before the `:`")
            self.keys[-1] = ("", place)
        else:
            if text == "<<" and not quoted:
                self.refuse(place, "merge keys (`<<`) are not used here", "the keys written out")
            self.keys[-1] = (text, place)

    def awaits_key(self) -> bool:
        """Whether the next thing is the key of a map."""
        return bool(self.containers) and self.keys[-1] is None and isinstance(self.containers[-1], dict)

    def refuse(self, place: Place, found: str, expected: str = "") -> None:
        """Note a problem and go on, unless there are many already."""
        if not place.line and (path := "".join((*self.steps, self._step())).removeprefix(".")):
            found = f"{path}: {found}"
        self.problems.append(Problem(place, found, expected))
        if len(self.problems) >= _MOST_PROBLEMS:
            raise ClausewayError(self.problems)

    def stop(self, place: Place, found: str, expected: str = "") -> NoReturn:
        """Raise this problem together with those noted so far."""
        self.refuse(place, found, expected)
        raise ClausewayError(self.problems)

    def finish(self) -> Node:
        """The root. Raises what was noted."""
        if self.problems:
            raise ClausewayError(self.problems)
        if self.root is None or self.root.value is None:
            raise _nothing(self.file)
        return self.root

    def _attach(self, value: str | dict[str, Node] | list[Node] | None, place: Place, quoted: bool) -> None:
        self.nodes += 1
        if self.nodes > self.limits.nodes:
            self.stop(place, f"more than {self.limits.nodes:,} values", "a smaller file")
        if not self.containers:
            self.root = Node(value, place, None, quoted)
            return
        parent = self.containers[-1]
        if isinstance(parent, list):
            parent.append(Node(value, place, None, quoted))
            return
        pending = self.keys[-1]
        assert pending is not None
        key, key_place = pending
        self.keys[-1] = None
        first = parent.get(key)
        if first is None:
            parent[key] = Node(value, place, key_place, quoted)
        elif key:
            earlier = first.key_place
            where = f"on line {earlier.line}" if earlier and earlier.line else "above"
            self.refuse(key_place, f"`{_short(key)}` is given twice; the first is {where}", "each key once")

    def _step(self) -> str:
        if not self.containers:
            return ""
        container, key = self.containers[-1], self.keys[-1]
        if isinstance(container, list):
            return f"[{len(container)}]"
        return f".{_short(key[0])}" if key else ""


def _short(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:57]}..."


def _code_point(character: str) -> str:
    return f"U+{ord(character):04X}"


def _nothing(file: str) -> ClausewayError:
    return ClausewayError(Problem(Place(file), "this is empty", "a map of keys and values"))


def _too_deep(limits: Limits) -> tuple[str, str]:
    return f"nested deeper than {limits.depth} levels", "maps and lists nested less deep"


def _too_large(file: str, limits: Limits) -> ClausewayError:
    return ClausewayError(Problem(Place(file), "the file is too large", f"at most {limits.bytes / 1024 / 1024:g} MB"))


# YAML


NULLS = frozenset({"", "~", "null"})


def _parse_events(text: str, file: str, limits: Limits) -> Node:
    import yaml

    if unprintable := UNPRINTABLE.search(text):
        place = _place_of(text, unprintable.start(), file)
        found = f"the character {_code_point(unprintable[0])}, which cannot be printed"
        raise ClausewayError(Problem(place, found, "plain text in UTF-8"))
    from clauseway.text.quick import read_quickly

    node = read_quickly(text, file, limits)
    if node is not None:
        return node
    loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    builder = _Builder(file, limits)
    events: Iterable[Any] = yaml.parse(text, Loader=loader)
    try:
        for event in events:
            mark: Mark = event.start_mark
            place = Place(file, mark.line + 1, mark.column + 1)
            if isinstance(event, yaml.ScalarEvent):
                _refuse_properties(builder, event, place)
                plain = not event.style
                builder.scalar(event.value, place, quoted=not plain, null=plain and event.value in NULLS)
            elif isinstance(event, yaml.CollectionStartEvent):
                _refuse_properties(builder, event, place)
                builder.open({} if isinstance(event, yaml.MappingStartEvent) else [], place)
            elif isinstance(event, yaml.CollectionEndEvent):
                builder.close()
            elif isinstance(event, yaml.AliasEvent):
                alias = f"*{event.anchor}"
                builder.refuse(place, f"the alias `{_short(alias)}`", _NO_ANCHORS)
                builder.scalar(alias, place)
            elif isinstance(event, yaml.DocumentStartEvent) and builder.root is not None:
                builder.stop(place, "a second document begins here", "one document to a file, one `---`")
    except yaml.YAMLError as error:
        raise ClausewayError([*builder.problems, _syntax_problem(error, text, file, limits)]) from None
    return builder.finish()


_NO_ANCHORS = "no anchors and aliases: the value written out, or, if it is text, quotes around it"
_NO_TAGS = "no tags: the value alone, or, if it is text, quotes around it"


def _refuse_properties(builder: _Builder, event: Any, place: Place) -> None:
    if event.anchor is not None:
        builder.refuse(place, f"the anchor `&{_short(event.anchor)}`", _NO_ANCHORS)
    if event.tag is not None:
        tag = event.tag.replace("tag:yaml.org,2002:", "!!")
        builder.refuse(place, f"the tag `{_short(tag)}`", _NO_TAGS)


# What a YAML parser says, and what that means to the person who wrote the file.
_SYNTAX: tuple[tuple[tuple[str, ...], str, str], ...] = (
    (("tab character",), "a tab is used to indent", "spaces"),
    (
        ("cannot start any token", "node content", "alphabetic or numeric"),
        "plain text cannot begin with `{begin}`",
        "the text in quotes",
    ),
    (
        ("mapping values are not allowed",),
        "a `:` where no key can stand",
        "one key to a line, indented alike; or the text in quotes",
    ),
    (
        ("sequence entries are not allowed",),
        "a list begins on the line of its key",
        "its `- ` on the next line; or the text in quotes",
    ),
    (
        ("block end", "expected key", "'-' indicator"),
        "this line does not line up with the lines above it",
        "entries of one map or list indented alike",
    ),
    (
        ("escape",),
        "an escape that double quotes do not know",
        "the text in single quotes, or `\\\\` for a `\\`",
    ),
    (("document start",), "something follows the end of the document", "one map or list in a file"),
)


def _syntax_problem(error: Exception, text: str, file: str, limits: Limits) -> Problem:
    marked: Any = error
    said = str(getattr(marked, "problem", None) or getattr(marked, "reason", None) or "this is not YAML")
    context = str(getattr(marked, "context", None) or "")
    mark: Mark | None = getattr(marked, "problem_mark", None) or getattr(marked, "context_mark", None)
    if mark is None:
        return Problem(Place(file), said)
    start: Mark = getattr(marked, "context_mark", None) or mark
    here = Place(file, mark.line + 1, mark.column + 1)
    there = Place(file, start.line + 1, start.column + 1)
    line = next(islice(text.splitlines(), mark.line, None), "")
    before, character = line[: mark.column], line[mark.column : mark.column + 1]
    if "quoted scalar" in context and ("end of stream" in said or "document indicator" in said):
        return Problem(there, "a quote is opened here and never closed", "a closing quote")
    if "flow level" in context or "depth" in said:
        return Problem(here, *_too_deep(limits))
    if "flow" in context:
        expected = f"commas between entries and a closing bracket by line {here.line} column {here.column}"
        return Problem(there, "a `[` or `{` is opened here and not closed", expected)
    if character == "\t" and not before.strip():
        return Problem(here, "a tab is used to indent", "spaces")
    if character in ("]", "}") and "block" in context:
        return Problem(here, f"a `{character}` that closes nothing", "the text in quotes, or no bracket")
    if before.strip() and "block" in context:
        return Problem(here, "something follows the end of a value", "one value; or the whole text in quotes")
    if "expected ':'" in said:
        return Problem(there, "a key has no `:` after it", "`key: value`")
    begin = before[-1:] if "numeric" in said else character
    for signs, found, expected in _SYNTAX:
        if any(sign in said for sign in signs):
            return Problem(here, found.replace("{begin}", begin), expected)
    return Problem(here, said)


def _place_of(text: str, offset: int, file: str) -> Place:
    return Place(file, text.count("\n", 0, offset) + 1, offset - text.rfind("\n", 0, offset))


# JSON


_TOKEN = re.compile(
    r"""(?P<punctuation>[][{},:])
    |(?P<string>"[^"\\\x00-\x1f]*(?:\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4})[^"\\\x00-\x1f]*)*")
    |(?P<bare>-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?(?![\w.+-])|(?:true|false|null)(?!\w))""",
    re.VERBOSE,
)
_BLANK = re.compile(r"[ \t\r\n]*")


def _parse_json(text: str, file: str, limits: Limits) -> Node:
    builder = _Builder(file, limits)
    line, line_start, position = 1, 0, 0
    closers: list[str] = []
    # What may come next: a value, a key, `:`, a separator (`,` or the closer), or nothing more.
    state, may_close = "value", False
    while True:
        blank = _BLANK.match(text, position)
        assert blank is not None
        position = blank.end()
        if newlines := text.count("\n", blank.start(), position):
            line += newlines
            line_start = text.rfind("\n", 0, position) + 1
        place = Place(file, line, position - line_start + 1)
        if position == len(text):
            break
        token = _TOKEN.match(text, position)
        word = token[0] if token else ""
        kind = token.lastgroup if token else ""
        if word and closers and word == closers[-1] and (may_close or state == "separator"):
            closers.pop()
            builder.close()
            state = "separator" if closers else "end"
        elif state == "separator" and word == ",":
            state = "key" if closers[-1] == "}" else "value"
        elif state == "colon" and word == ":":
            state = "value"
        elif state == "key" and kind == "string":
            builder.scalar(json.loads(word), place, quoted=True)
            state, may_close, position = "colon", False, position + len(word)
            continue
        elif state == "value" and word in ("{", "["):
            builder.open({} if word == "{" else [], place)
            closers.append("}" if word == "{" else "]")
            state, may_close, position = ("key" if word == "{" else "value"), True, position + 1
            continue
        elif state == "value" and kind == "string":
            builder.scalar(json.loads(word), place, quoted=True)
            state = "separator" if closers else "end"
        elif state == "value" and kind == "bare":
            builder.scalar(word, place, null=word == "null")
            state = "separator" if closers else "end"
        else:
            found = f"`{_short(word or text[position])}` where it cannot stand in JSON"
            builder.stop(place, found, _json_expected(state, may_close, closers))
        may_close = False
        position += len(word)
    if state == "value" and builder.nodes == 0:
        raise _nothing(file)
    if state != "end":
        builder.stop(place, "the JSON ends too early", _json_expected(state, may_close, closers))
    return builder.finish()


def _json_expected(state: str, may_close: bool, closers: list[str]) -> str:
    closer = f" or `{closers[-1]}`" if closers and (may_close or state == "separator") else ""
    return {
        "value": 'a value (text in "double quotes")',
        "key": 'a key in "double quotes"',
        "colon": "`:`",
        "separator": "`,`",
        "end": "nothing more",
    }[state] + closer


# Files


def _read_bytes(path: Path, limits: Limits) -> bytes:
    file = str(path)
    try:
        _refuse_other_than_file(os.stat(path).st_mode, file)
        with open(path, "rb", opener=_open_without_waiting) as stream:
            status = os.fstat(stream.fileno())
            _refuse_other_than_file(status.st_mode, file)
            if status.st_size > limits.bytes:
                raise _too_large(file, limits)
            data = stream.read(limits.bytes + 1) or b""
    except FileNotFoundError:
        raise ClausewayError(_missing(path)) from None
    except PermissionError:
        raise ClausewayError(Problem(Place(file), "there is no permission to read this file")) from None
    except (OSError, ValueError) as error:
        if isinstance(error, OSError) and error.errno == errno.ENOTDIR:
            raise ClausewayError(_missing(path)) from None
        reason = getattr(error, "strerror", None) or str(error)
        raise ClausewayError(Problem(Place(file), f"this file cannot be read: {reason}")) from None
    if len(data) > limits.bytes:
        raise _too_large(file, limits)
    return data


def _open_without_waiting(path: str, flags: int) -> int:
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _refuse_other_than_file(mode: int, file: str) -> None:
    if stat.S_ISREG(mode):
        return
    kind = "a folder" if stat.S_ISDIR(mode) else "a pipe" if stat.S_ISFIFO(mode) else "not a regular file"
    raise ClausewayError(Problem(Place(file), f"this is {kind}", "a YAML or JSON file"))


def _missing(path: Path) -> Problem:
    file = str(path)
    folder = path.parent
    try:
        with os.scandir(folder) as entries:
            names = sorted(entry.name for entry in islice(entries, 2_000) if not entry.name.startswith("."))
    except FileNotFoundError:
        return Problem(Place(file), f"there is no folder {folder}", "a file that exists")
    except OSError:
        return Problem(Place(file), "there is no such file", "a file that exists")
    near = nearest(path.name, names)
    readable = [name for name in names if name.lower().endswith((".yaml", ".yml", ".json"))]
    expected = one_of(readable) if readable else "a file that exists"
    return Problem(Place(file), "there is no such file", expected, str(folder / near) if near else "")


def _decoded(data: bytes, file: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            found = "the file is in UTF-16"
            raise ClausewayError(Problem(Place(file, 1, 1), found, "a file saved as UTF-8")) from None
        before = error.object[: error.start]
        line_start = before.rfind(b"\n") + 1
        column = len(before[line_start:].decode("utf-8", "replace")) + 1
        place = Place(file, before.count(b"\n") + 1, column)
        found = f"the byte 0x{error.object[error.start]:02X} is not UTF-8"
        raise ClausewayError(Problem(place, found, "a file saved as UTF-8")) from None
