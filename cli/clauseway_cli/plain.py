"""A command line of `check` that is written plainly, read at once; all others are left to the command line proper.

Making the command line, with its help, its completion and its many types, takes longer than a check. Most people write
`check FILE --option VALUE`, and that can be read without it. Whatever is not plainly right comes to None here, and what
is wrong with it is told by the one that knows all options, `check.check`. A test holds both to the same.
"""

from __future__ import annotations

import os
from collections.abc import Sequence

from clauseway_cli.checking import Asked

MANY = frozenset(("--code", "--authority", "--rules", "--layer", "--opening"))
ONE = frozenset(("--in", "--on", "--known", "--choose", "--format", "--waivers", "--site"))
SWITCHES = frozenset(("--all", "--accept-memory", "--strict"))
FORMATS = ("text", "json")

_EXPANDED = frozenset("*?[]~$%")
"""What a file's name does not hold where the command line proper puts in other names for it."""


def plain(words: Sequence[str]) -> Asked | None:
    """What `check` with these words behind it asks for; None where that is not plain."""
    files: list[str] = []
    given: dict[str, list[str]] = {}
    left = iter(words)
    for word in left:
        if not word.startswith("-"):
            files.append(word)
            continue
        name, equals, value = word.partition("=")
        if name in SWITCHES and not equals:
            given[name] = []
            continue
        if name not in MANY and name not in ONE:
            return None
        value = value if equals else next(left, "")
        # What begins with a dash was hardly meant as a value, and of what is said twice one has to win.
        if not value or value.startswith("-") or (name in ONE and name in given):
            return None
        given.setdefault(name, []).append(value)
    written, *_ = given.get("--format", ["text"])
    if not files or written not in FORMATS:
        return None
    if os.name == "nt" and any(_EXPANDED & set(word) for word in words):
        return None
    return _asked(files, given, written)


def _asked(files: list[str], given: dict[str, list[str]], written: str) -> Asked:
    from pathlib import Path

    def many(name: str) -> tuple[str, ...]:
        return tuple(given.get(name, ()))

    def one(name: str) -> str:
        return "".join(given.get(name, ()))

    return Asked(
        tuple(files),
        code=many("--code"),
        place=one("--in"),
        on=one("--on"),
        known=one("--known"),
        choose=one("--choose"),
        authority=many("--authority"),
        rules=tuple(Path(each) for each in many("--rules")),
        layer=many("--layer"),
        opening=many("--opening"),
        as_json=written == "json",
        show_all="--all" in given,
        accept_memory="--accept-memory" in given,
        strict="--strict" in given,
        waivers=Path(one("--waivers")) if "--waivers" in given else None,
        site=one("--site"),
    )
