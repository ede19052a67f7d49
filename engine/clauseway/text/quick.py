"""Reading YAML in which nothing is wrong: one pass over the parser's events, nodes made without detours.

Whatever is unusual, `text/source` reads the text again with care, and says what it is and where.
"""

from __future__ import annotations

from typing import Any

from clauseway.text.problems import Place
from clauseway.text.source import NULLS, UNPRINTABLE, Limits, Node


def read_quickly(text: str, file: str, limits: Limits) -> Node | None:
    """The contents of YAML text; None where anything is unusual: an error, a limit, an anchor, a second document."""
    import yaml

    loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)(text)
    try:
        return _read(loader.get_event, text, file, limits)
    except yaml.YAMLError:
        return None
    finally:
        loader.dispose()


def _read(next_event: Any, text: str, file: str, limits: Limits) -> Node | None:
    from yaml import events

    scalar, mapping, sequence = events.ScalarEvent, events.MappingStartEvent, events.SequenceStartEvent
    map_end, list_end = events.MappingEndEvent, events.SequenceEndEvent
    longest, deepest, most = limits.scalar, limits.depth, limits.nodes
    # No scalar is longer than what it is written as, so that the whole is as small as its text.
    escapes = "\\" in text
    root: Any = None
    # The containers around, each with the key that it has in its own; the innermost, and the key that awaits a value.
    around: list[tuple[Any, bool]] = []
    inside: Any = None
    in_map = False
    key: str | None = None
    key_place: Any = None
    count = 0
    while True:
        event = next_event()
        kind = type(event)
        if kind is scalar:
            if event.anchor is not None or event.tag is not None:
                return None
            value = event.value
            if len(value) > longest:
                return None
            quoted = bool(event.style)
            if escapes and quoted and UNPRINTABLE.search(value):
                return None
            mark = event.start_mark
            place = Place(file, mark.line + 1, mark.column + 1)
            if in_map and key is None:
                if not value or value == "<<" or value in inside:
                    return None
                key, key_place = value, place
                continue
            if inside is None:
                return None
            node = Node(None if not quoted and value in NULLS else value, place, key_place, quoted)
        elif kind is mapping or kind is sequence:
            if event.anchor is not None or event.tag is not None:
                return None
            if (in_map and key is None) or len(around) >= deepest:
                return None
            mark = event.start_mark
            place = Place(file, mark.line + 1, mark.column + 1)
            node = Node({} if kind is mapping else [], place, key_place, False)
        elif kind is map_end or kind is list_end:
            inside, in_map = around.pop()
            continue
        elif kind is events.StreamEndEvent:
            return root  # type: ignore[no-any-return]
        elif kind is events.AliasEvent or (kind is events.DocumentStartEvent and root is not None):
            return None
        else:
            continue
        count += 1
        if count > most:
            return None
        if in_map:
            inside[key] = node
            key = key_place = None
        elif inside is None:
            root = node
        else:
            inside.append(node)
        if kind is not scalar:
            around.append((inside, in_map))
            inside = node.value
            in_map = kind is mapping
