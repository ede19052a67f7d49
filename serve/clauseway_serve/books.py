"""The rules that a worker answers by: read once, and each rulebook kept once it is made."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import clauseway
from clauseway.answers.asked_law import Where, governing_for, rulebook_for
from clauseway.answers.finding import Report
from clauseway.answers.governing import the_only
from clauseway.answers.under import Under
from clauseway.case.open import codes_named_in, law_named_in
from clauseway.law.folders import shipped_rules
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.source import Node

NEWEST = "ibc@2021"
"""What is explained and listed where no code is named, as on the command line."""

KEPT = 24


@dataclass(frozen=True)
class Law:
    """A rulebook to check against, what its report says of the law, and what a named place has adopted."""

    rulebook: Rulebook
    told: Callable[[Report], Report]
    under: Under | None = None


Governed = tuple[Law, ...]


class Books:
    """A library with the rulebooks that were asked of it."""

    def __init__(self, folders: Sequence[Path] = ()) -> None:
        self.library: Library = load(tuple(folders))
        self.build = build_digest(self.library.folders)
        self._made: OrderedDict[object, Governed] = OrderedDict()

    def named(self, codes: Sequence[str], layers: Sequence[str]) -> Rulebook:
        """The rulebook of some codes, or of the newest one."""
        wanted = list(codes) or [NEWEST]
        key = ("named", tuple(wanted), tuple(layers), date.today())
        return self._kept(key, lambda: (Law(resolve(self.library, wanted, layers), _as_it_is),))[0].rulebook

    def governing(self, node: Node, codes: Sequence[str], layers: Sequence[str], where: Where) -> Governed:
        """Each reading of the law that governs a file of openings; one where codes are named."""
        key = (*self._key(node, codes, layers, where), "all")
        return self._kept(key, lambda: laws_of(self.library, node, codes, layers, where))

    def only(self, node: Node, codes: Sequence[str], layers: Sequence[str], where: Where) -> Rulebook:
        """The one rulebook that governs a file of openings."""
        return self.law(node, codes, layers, where).rulebook

    def law(self, node: Node, codes: Sequence[str], layers: Sequence[str], where: Where) -> Law:
        """The one law that governs a file of openings."""
        key = (*self._key(node, codes, layers, where), "only")

        def make() -> Governed:
            found = governing_for(node, codes, self.library, where, layers)
            if found:
                only = the_only(found, where.choose)
                return (Law(only.rulebook, only.told, only.under),)
            return (Law(rulebook_for(node, codes, self.library, layers, where), _as_it_is),)

        return self._kept(key, make)[0]

    def _key(self, node: Node, codes: Sequence[str], layers: Sequence[str], where: Where) -> tuple[object, ...]:
        """All that a rulebook follows from; the law may be another tomorrow."""
        law = law_named_in(node)
        own = tuple(element.text or "" for element in codes_named_in(node))
        dates = tuple(sorted(law.dates.items()))
        named = (own, law.jurisdiction, dates, law.site, law.authorities)
        return (tuple(codes), tuple(layers), replace(where, mark=""), named, date.today())

    def _kept(self, key: object, make: Callable[[], Governed]) -> Governed:
        if key in self._made:
            self._made.move_to_end(key)
            return self._made[key]
        made = make()
        self._made[key] = made
        if len(self._made) > KEPT:
            self._made.popitem(last=False)
        return made


def laws_of(library: Library, node: Node, codes: Sequence[str], layers: Sequence[str], where: Where) -> Governed:
    """Each reading of the law that governs a file of openings under the rules of a library."""
    found = governing_for(node, codes, library, where, layers)
    if found:
        return tuple(Law(each.rulebook, each.told, each.under) for each in found)
    return (Law(rulebook_for(node, codes, library, layers, where), _as_it_is),)


def _as_it_is(report: Report) -> Report:
    return report


def build_digest(folders: Sequence[Path]) -> str:
    """What identifies the rules and the program that answer: the same bytes in, the same bytes out."""
    made = hashlib.sha256(clauseway.__version__.encode())
    for name, path in _files(folders):
        content = path.read_bytes()
        made.update(f"\n{name} {len(content)}\n".encode())
        made.update(content)
    return made.hexdigest()


def _files(folders: Sequence[Path]) -> Iterator[tuple[str, Path]]:
    program = [Path(clauseway.__file__).parent, Path(__file__).parent]
    for number, folder in enumerate([*program, *dict.fromkeys((shipped_rules(), *folders))]):
        for path in sorted(folder.rglob("*")):
            if path.suffix in (".py", ".yaml", ".json") and path.is_file():
                yield f"{number}/{path.relative_to(folder).as_posix()}", path
