"""The index of the search: a script that the search page loads from its own folder, so that it works from a file."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from importlib import resources
from itertools import chain

from clauseway_pages.page import Entry, Page

INDEX = "search-index.js"
_LONGEST = 220


@cache
def synonyms() -> Mapping[str, Sequence[str]]:
    """What people call a thing, with the addresses that speak of it."""
    text = resources.files("clauseway_pages").joinpath("synonyms.json").read_text(encoding="utf-8")
    found: dict[str, list[str]] = json.loads(text)
    return found


def index_text(pages: Iterable[Page], entries: Iterable[Entry]) -> str:
    """The index as a script; the same pages give the same bytes.

    An entry is: address, title, kind, summary, words, synonyms.
    """
    also: dict[str, list[str]] = {}
    for word, addresses in synonyms().items():
        for address in addresses:
            also.setdefault(address, []).append(word)
    rows = [
        _row(each.address, each.title, each.kind, each.summary, each.words, also.get(each.address, ()))
        for each in chain[Page | Entry](pages, entries)
    ]
    return "window.clausewaySearch([\n" + ",\n".join(sorted(rows)) + "\n]);\n"


def _row(address: str, title: str, kind: str, summary: str, words: Sequence[str], also: Sequence[str]) -> str:
    short = summary if len(summary) <= _LONGEST else f"{summary[: _LONGEST - 2].rsplit(' ', 1)[0]} …"
    known = set(f"{title} {short}".casefold().split())
    fresh = dict.fromkeys(word for text in words for word in text.split() if word.casefold() not in known)
    row = json.dumps([address, title, kind, short, " ".join(fresh), ", ".join(also)], ensure_ascii=False)
    return row.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
