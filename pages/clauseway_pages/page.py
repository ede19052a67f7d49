"""A page of the site before it is written."""

from __future__ import annotations

from dataclasses import dataclass

from clauseway_pages.markup import Html


@dataclass(frozen=True, slots=True)
class Page:
    """One page, in a folder of the site.

    `address` is relative to the top and stays for ever; `kind` says what the page is about, in one word; `words` are
    further words by which people look for it.
    """

    address: str
    title: str
    kind: str
    summary: str
    body: Html
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """Something that the search finds: a page, or a place on one."""

    address: str
    title: str
    kind: str
    summary: str
    words: tuple[str, ...] = ()
