"""What was described: things, their facts, and how they belong together. Nothing is concluded here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from clauseway.language.possible import Value
from clauseway.text.problems import NOWHERE, Place

UNASKABLE = frozenset(("clause", "computation"))
"""The kinds of what is missing that are no things: nobody can state them in a file of openings."""


@dataclass(frozen=True, slots=True, order=True)
class Missing:
    """Something that nobody said: a fact of a thing, or with `whole` whether a list of it is complete.

    A kind of `clause` names a permission that rests on memory, one of `computation` a result that cannot be computed.
    """

    path: str
    kind: str
    name: str
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing. `unseen` says why nothing is known of it: it stands for any that may exist; `absent` says that it
    does not exist. `key` tells it from every other thing, a described one by its path."""

    path: str
    kind: str
    id: str
    unseen: Missing | None = None
    absent: bool = False
    key: str = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        key, why = self.path, self.unseen
        if why is not None:
            key = f"{key}\n{self.kind}\n{why.path}\n{why.name}\n{'whole' if why.whole else ''}"
        elif self.absent:
            key = f"{key}\n{self.kind}"
        object.__setattr__(self, "key", key)

    def __hash__(self) -> int:
        return hash(self.path)


@dataclass(frozen=True, slots=True)
class Given:
    """A value that somebody stated: what was typed, where, and how it is known (measured, stated, assumed)."""

    value: Value
    typed: str
    place: Place = NOWHERE
    known_by: str = "stated"
    note: str = ""


@dataclass(frozen=True, slots=True)
class Listed:
    """Members of a list by path, and how many more there may be (`most` None: any number)."""

    members: tuple[str, ...] = ()
    least: int = 0
    most: int | None = None
    place: Place = NOWHERE

    @property
    def closed(self) -> bool:
        """Whether nothing else can be in it."""
        return self.most == 0


@dataclass(frozen=True, slots=True)
class Part:
    """All that is described of one thing of the building and of what belongs to it, in the order of paths."""

    things: list[Thing]
    lists: list[tuple[str, str, Listed]]
    facts: list[tuple[str, str, Given]]


def _root(path: str) -> str:
    """The thing of the building that a path lies in: its first two steps."""
    return "/".join(path.split("/", 2)[:2])


@dataclass(frozen=True)
class Project:
    """A described building with its openings.

    Facts are kept by (path of the thing, name of the fact); those that hold in one mode only are kept by mode as well,
    and are then unknown in every other mode. References lead from (path, relation) to a path, empty for none.
    """

    name: str
    file: str
    codes: tuple[str, ...]
    modes: tuple[str, ...]
    things: Mapping[str, Thing]
    owners: Mapping[str, str]
    facts: Mapping[tuple[str, str], Given]
    by_mode: Mapping[tuple[str, str], Mapping[str, Given]]
    lists: Mapping[tuple[str, str], Listed]
    references: Mapping[tuple[str, str], str]
    places: Mapping[str, Place] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    @cached_property
    def _by_kind(self) -> dict[str, list[Thing]]:
        found: dict[str, list[Thing]] = {}
        for _, thing in sorted(self.things.items()):
            found.setdefault(thing.kind, []).append(thing)
        return found

    @cached_property
    def _by_owner(self) -> dict[tuple[str, str], list[Thing]]:
        found: dict[tuple[str, str], list[Thing]] = {}
        for path, thing in sorted(self.things.items()):
            found.setdefault((self.owners.get(path, ""), thing.kind), []).append(thing)
        return found

    @cached_property
    def _by_root(self) -> dict[str, Part]:
        found: dict[str, Part] = {}
        within = {path: found.setdefault(_root(path), Part([], [], [])) for path in self.things}

        def of(path: str) -> Part:
            return within.get(path) or found.setdefault(_root(path), Part([], [], []))

        for path, thing in self.things.items():
            within[path].things.append(thing)
        for (path, relation), listed in self.lists.items():
            of(path).lists.append((path, relation, listed))
        for (path, fact), given in self.facts.items():
            of(path).facts.append((path, fact, given))
        return found

    @cached_property
    def _parts(self) -> dict[str, Part]:
        return {}

    def part(self, path: str) -> Part:
        """What is described of an opening, room, ... or, with an empty path, of the building itself."""
        if path not in self._parts:
            found = self._by_root.get(path, Part([], [], []))
            # One part is asked for more often than all of them: each is put in order by itself.
            self._parts[path] = Part(
                sorted(found.things, key=lambda thing: thing.path),
                sorted(found.lists, key=lambda each: each[:2]),
                sorted(found.facts, key=lambda each: each[:2]),
            )
        return self._parts[path]

    def of_kind(self, kind: str) -> list[Thing]:
        """All described things of a kind, in the order of their paths."""
        return self._by_kind.get(kind, [])

    def owned_by(self, owner: str, kind: str) -> list[Thing]:
        """The described things of a kind that belong to an owner, in the order of their paths."""
        return self._by_owner.get((owner, kind), [])

    def given(self, path: str, fact: str, mode: str) -> Given | None:
        """What was stated of a fact in a mode."""
        by_mode = self.by_mode.get((path, fact))
        if by_mode is not None:
            return by_mode.get(mode)
        return self.facts.get((path, fact))
