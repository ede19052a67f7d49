"""Looks through a built site: every inner link leads somewhere, and no page asks for anything from outside."""

from __future__ import annotations

import posixpath
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

from clauseway.text.problems import Place, Problem

_LOADED = {"src", "srcset", "poster", "data", "action"}


@dataclass
class _Seen(HTMLParser):
    """What a page refers to and the places that it has."""

    links: list[str] = field(default_factory=list)
    loads: list[str] = field(default_factory=list)
    names: set[str] = field(default_factory=set)
    twice: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for key, value in attrs:
            if value is None:
                continue
            if key == "id":
                if value in self.names:
                    self.twice.append(value)
                self.names.add(value)
            elif key == "href" and tag in ("a", "area"):
                self.links.append(value)
            elif key in _LOADED or key in ("href", "xlink:href"):
                self.loads.append(value)
            elif key == "content" and "url=" in value:
                self.links.append(value.partition("url=")[2])


def faults(site: Path) -> Iterator[Problem]:
    """Links that lead nowhere, places named twice, and things that a page would load from elsewhere."""
    pages: dict[str, _Seen] = {}
    for path in sorted(site.rglob("*.html")):
        seen = _Seen()
        seen.feed(path.read_text(encoding="utf-8"))
        seen.close()
        pages[path.relative_to(site).as_posix()] = seen
    for name, seen in pages.items():
        for twice in seen.twice:
            yield Problem(Place(name), f"the place #{twice} is there twice", "one place of a name")
        for address in seen.loads:
            if address.startswith("data:"):
                continue
            if _outside(address):
                yield Problem(Place(name), f"it loads {address}", "files of the site alone")
            elif not _exists(site, name, address):
                yield Problem(Place(name), f"it loads {address}, which is not there", "a file of the site")
        for address in seen.links:
            if not _outside(address):
                yield from _link(site, pages, name, address)


def _outside(address: str) -> bool:
    return bool(urlsplit(address).scheme) or address.startswith("//")


def _target(name: str, address: str) -> str:
    path = unquote(urlsplit(address).path)
    return posixpath.normpath(posixpath.join(posixpath.dirname(name), path)) if path else name


def _exists(site: Path, name: str, address: str) -> bool:
    return (site / _target(name, address)).is_file()


def _link(site: Path, pages: dict[str, _Seen], name: str, address: str) -> Iterator[Problem]:
    target = _target(name, address)
    if target not in pages:
        if not _exists(site, name, address):
            yield Problem(Place(name), f"a link to {address}, which is not there", "a page of the site")
        return
    place = unquote(urlsplit(address).fragment)
    if place and place not in pages[target].names:
        yield Problem(Place(name), f"a link to {address}; {target} has no such place", "a place on that page")
