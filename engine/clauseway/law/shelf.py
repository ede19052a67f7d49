"""Folders of rules, and the rulebooks resolved from them: taken from the user's cache where their sources are the same.

The rules are read only when no kept rulebook will do. A rulebook from the cache equals the one that the rules would
give; what is wrong with the rules is told as ever, since only rules that resolve are kept.
"""

from __future__ import annotations

import gc
import hashlib
import os
from collections.abc import Iterator, Sequence
from datetime import date
from functools import cached_property
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clauseway.law import cache
from clauseway.law.folders import shipped_rules
from clauseway.text.problems import ClausewayError

if TYPE_CHECKING:
    from clauseway.law.library import Library
    from clauseway.law.rulebook import Rulebook

_READ = ("codes", "facts", "jurisdictions", "schemas")
_READERS = ("text", "language", "model", "law", "compute")
_BESIDE = ("answers/governing.py", "answers/under.py")
"""What finds that which is kept beside the rulebooks of a place."""

_DEPTH = 4
_AT_ONCE = 1 << 17


class Shelf:
    """The shipped rules with a person's own folders on top; `kept` is the cache, None for no cache."""

    def __init__(self, extra: Sequence[Path] = (), kept: Path | None = None, shipped: Path | None = None) -> None:
        self.extra = tuple(extra)
        self.kept = kept
        self.shipped = shipped

    @cached_property
    def library(self) -> Library:
        """All rules, read from their files.

        Raises:
            ClausewayError: with all the problems of all files whose shape is wrong.
        """
        from clauseway.law.library import load

        # The digest comes first: it must not be that of files which changed after they were read.
        _ = self.kept is not None and self._began
        found = load(self.extra, self.shipped)
        # All of it stays: a look through it for what can be thrown away finds nothing.
        gc.freeze()
        return found

    def rulebook(self, codes: Sequence[str], layers: Sequence[str] = (), on: str = "") -> Rulebook:
        """The rulebook of some codes in one edition each, with layers by name, kept or resolved.

        `on` is the day for which the layers are read; without one, as they are now.

        Raises:
            ClausewayError: as `resolve` does.
        """
        found = self.found(codes, layers, on)
        if found is not None:
            return found
        from clauseway.law.laying import Terms
        from clauseway.law.resolve import resolve
        from clauseway.model.jurisdiction import TODAY

        rulebook = resolve(self.library, codes, layers, Terms({TODAY: on} if on else {}))
        self.keep(codes, layers, on, rulebook)
        return rulebook

    def found(self, codes: Sequence[str], layers: Sequence[str] = (), on: str = "") -> Rulebook | None:
        """The rulebook that is kept for codes and layers as they are written here, and as the rules are now."""
        if self.kept is None or self._sources is None:
            return None
        return cache.fetch(self.kept, self._key(codes, layers, on))

    def keep(self, codes: Sequence[str], layers: Sequence[str], on: str, rulebook: Rulebook) -> None:
        """Keep what codes and layers were resolved to, for `found`."""
        if self.kept is not None and self._is_still():
            cache.keep(self.kept, self._key(codes, layers, on), rulebook)

    def governed(self, asked: tuple[object, ...]) -> Iterator[tuple[Rulebook, Any]]:
        """The rulebooks that are kept for what was asked of the law of a place, with what was kept beside each."""
        for number in count():
            found = None
            if self.kept is not None and self._sources is not None:
                found = cache.fetch_both(self.kept, self._governed_key(asked, number))
            if found is None:
                return
            yield found

    def keep_governed(self, asked: tuple[object, ...], made: Sequence[tuple[Rulebook, object]]) -> None:
        """Keep what was asked of the law of a place, for `governed`."""
        if self.kept is not None and self._is_still():
            for number, (rulebook, beside) in enumerate(made):
                cache.keep(self.kept, self._governed_key(asked, number), rulebook, beside)

    def _is_still(self) -> bool:
        """Whether the sources and the day are those before the rules were read: else what was made belongs to none."""
        return self._sources is not None and self._began == (sources_digest(self._roots), _today())

    def _key(self, codes: Sequence[str], layers: Sequence[str], on: str) -> str:
        # Without a date, layers are read as they are now: what is kept today is not what holds tomorrow.
        now = self._began[1] if layers and not on else ""
        return hashlib.sha256(repr((self._sources, tuple(codes), tuple(layers), on, now)).encode()).hexdigest()

    def _governed_key(self, asked: tuple[object, ...], number: int) -> str:
        # A law may look at the day of the check, which is today where no other is given.
        written = repr((self._sources, "governed", asked, number, self._began[1]))
        return hashlib.sha256(written.encode()).hexdigest()

    @cached_property
    def _roots(self) -> list[tuple[Path, str]]:
        return [(self.shipped or shipped_rules(), "rules"), *((folder, str(folder)) for folder in self.extra)]

    @property
    def _sources(self) -> str | None:
        return self._began[0]

    @cached_property
    def _began(self) -> tuple[str | None, str]:
        """The digest of the sources, none where there is none, and the day: as they were when first asked for."""
        try:
            return sources_digest(self._roots), _today()
        except ClausewayError:
            return None, _today()


def _today() -> str:
    return date.today().isoformat()


def sources_digest(roots: Sequence[tuple[Path, str]]) -> str | None:
    """A digest of every file that a rulebook could come from, this program's own among them; None if one is unreadable.

    Contents are read, not dates: a file put back with its old date is seen.
    """
    whole = hashlib.sha256(cache.FORMAT.encode())
    package = Path(__file__).parents[1]
    try:
        for name in _READERS:
            _add(whole, package / name, name, ".py")
        for name in _BESIDE:
            _add_file(whole, str(package / name), name)
        for folder, label in roots:
            if not os.path.isdir(folder):
                return None
            whole.update(f"\0root {label}\0".encode("utf-8", "surrogateescape"))
            for name in _READ:
                _add(whole, folder / name, name, "")
    except OSError:
        return None
    return whole.hexdigest()


def _add(whole: hashlib._Hash, folder: Path, name: str, suffix: str) -> None:
    for path, below in sorted(_files(str(folder), name, _DEPTH)):
        if path.endswith(suffix):
            _add_file(whole, path, below)


def _add_file(whole: hashlib._Hash, path: str, name: str) -> None:
    content = _content(path)
    whole.update(f"\0{len(content)} {name}\0".encode("utf-8", "surrogateescape"))
    whole.update(content)


def _content(path: str) -> bytes:
    """All of a file, with no more calls than reading some hundred of them needs."""
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0))
    try:
        parts = []
        while part := os.read(handle, _AT_ONCE):
            parts.append(part)
    finally:
        os.close(handle)
    return b"".join(parts)


def _files(folder: str, below: str, depth: int) -> Iterator[tuple[str, str]]:
    if not os.path.isdir(folder):
        return
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith(".") or entry.name == "__pycache__":
                continue
            path, name = entry.path, f"{below}/{entry.name}"
            if entry.is_file():
                yield path, name
            elif not entry.is_dir():
                # A pipe would be waited for.
                raise OSError(f"{path} is no file")
            elif depth:
                yield from _files(path, name, depth - 1)
