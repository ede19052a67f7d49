"""What is judged of one thing goes for every other that is described alike in all that the judgement can read.

A schedule holds thousands of doors that differ in little. Two subjects whose surroundings are the same in what a term
can read (`reach`), the names of openings, rooms and supplies aside, come to the same. Sentences are not shared: they
name things, and each is made for its own subject.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Generic, TypeVar

from clauseway.case.project import member_path
from clauseway.case.things import Missing, Project, Thing
from clauseway.language import core
from clauseway.language.possible import Value
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import INVERSE, KEYED, ONE, Relation, Vocabulary
from clauseway.readers.collection import Gaps
from clauseway.readers.decide import Decider, Env
from clauseway.readers.reach import Reach, Role, reach_of

T = TypeVar("T")
Onward = tuple[tuple[Relation | None, str, Role], ...]
_NOT_STATED = "not stated"
_NOTHING: dict[str, Value] = {}
MOST = 100_000
"""Judgements that are kept at most; then all are forgotten."""
_MOST_REFERRING = 64


@lru_cache(8192)
def rooted(path: str) -> tuple[str, str]:
    """A path as the opening, room, supply ... that it lies in, which are its first two steps, and the rest."""
    first = path.find("/")
    second = path.find("/", first + 1) if first >= 0 else -1
    return (path, "") if second < 0 else (path[:second], path[second:])


class _TooMany(Exception):
    """More things refer to one than it is worth looking at."""


class Around:
    """Finds what is around subjects of one project in one mode."""

    def __init__(self, project: Project, vocabulary: Vocabulary, mode: str) -> None:
        self.project, self.vocabulary, self.mode = project, vocabulary, mode
        self.values: dict[str, dict[str, Value]] = {}
        """What is stated of each thing in this mode, by the names of its facts."""
        for (path, name), given in project.facts.items():
            self.values.setdefault(path, {})[name] = given.value
        for (path, name), by_mode in project.by_mode.items():
            self.values.setdefault(path, {}).pop(name, None)
            if mode in by_mode:
                self.values[path][name] = by_mode[mode].value
        self._referring: dict[tuple[str, str], tuple[dict[str, list[str]], list[str]]] = {}
        self._onward: dict[tuple[int, str], tuple[Role, Onward]] = {}

    def onward(self, role: Role, kind: str) -> Onward:
        """Where a role goes on from a thing of a kind: relation, slot, and the role of what is there."""
        known = self._onward.get((id(role), kind))
        if known is None:
            relations = self.vocabulary.kinds[kind].relations
            steps = ((step.partition("/"), inner) for step, inner in role.onward.items())
            made = tuple((relations.get(name), slot, inner) for (name, _, slot), inner in steps)
            known = self._onward[id(role), kind] = (role, made)
        return known[1]

    def referring(self, kind: str, relation: Relation) -> tuple[dict[str, list[str]], list[str]]:
        """The things of a kind by what they refer to, and those of which it is not known."""
        key = (kind, relation.name)
        if key not in self._referring:
            known: dict[str, list[str]] = {}
            unknown: list[str] = []
            for thing in self.project.of_kind(kind):
                if relation.form == ONE:
                    found = self.project.references.get((thing.path, relation.name))
                    (unknown if found is None else known.setdefault(found, [])).append(thing.path)
                    continue
                listed = self.project.lists.get((thing.path, relation.name))
                for member in listed.members if listed is not None else ():
                    known.setdefault(member, []).append(thing.path)
                if listed is None or not listed.closed:
                    unknown.append(thing.path)
            self._referring[key] = known, unknown
        return self._referring[key]


class Surroundings:
    """All that terms of some reach can read around the things of an environment.

    `key` is equal for surroundings that are alike; `roots` are the openings, rooms ... in them, in the order in which
    they are come to.
    """

    def __init__(self, around: Around, env: Env, reach: Reach) -> None:
        self._around, self._project = around, around.project
        self.roots: dict[str, int] = {}
        self._numbers: dict[str, int] = {}
        self._found: list[object] = []
        for name, role in reach.roles.items():
            if name in env:
                self._visit(env[name], role)
        key: tuple[object, ...] = tuple(self._found)
        if len(self.roots) > 1:
            # What is missing is tried in the order of paths, so that how names stand to each other counts as well.
            ends = [(path, at) for root, at in self.roots.items() for path in (root, f"{root}/")]
            key = (*key, tuple(at for _, at in sorted(ends)))
        self.key = key

    def relative(self, path: str) -> tuple[int, str]:
        """A path as the number of its root and the rest; -1 for what lies in nothing around."""
        root, rest = rooted(path)
        at = self.roots.get(root, -1)
        return (at, rest) if at >= 0 else (-1, path)

    def _place(self, path: str) -> tuple[int, str]:
        root, rest = rooted(path)
        return self.roots.setdefault(root, len(self.roots)), rest

    def _visit(self, thing: Thing, role: Role) -> None:
        """Note a thing and what a role reads of it."""
        path, add = thing.path, self._found.append
        number = self._numbers.get(path)
        if number is None:
            number = self._numbers[path] = len(self._numbers)
            add((thing.kind, thing.absent, self._place(path) if path else ""))
            gap = thing.unseen
            if gap is not None:
                add((self._place(gap.path) if gap.path else "", gap.kind, gap.name, gap.whole))
        add(number)
        if thing.unseen is not None or thing.absent:
            return
        project = self._project
        if role.facts:
            stated = self._around.values.get(path, _NOTHING)
            self._found.extend([stated.get(name, _NOT_STATED) for name in role.facts])
        if role.owner is not None:
            self._visit(project.things[project.owners.get(path, "")], role.owner)
        for relation, slot, inner in self._around.onward(role, thing.kind):
            if relation is None:
                self._visit(project.things[project.owners.get(path, "")], inner)
            elif relation.form == ONE:
                found = project.references.get((path, relation.name))
                if found:
                    self._visit(project.things[found], inner)
                else:
                    add(found)
            elif relation.form == KEYED:
                self._keyed(thing, relation, slot, inner)
            else:
                self._members(thing, relation, inner)

    def _keyed(self, thing: Thing, relation: Relation, slot: str, inner: Role) -> None:
        project = self._project
        self._found.append((thing.path, relation.name) in project.lists)
        if slot:
            found = project.things.get(member_path(thing.path, relation.name, slot))
            if found is None:
                self._found.append(None)
            else:
                self._visit(found, inner)
            return
        inside = f"{thing.path}/{relation.name}/"
        below = [each for each in project.owned_by(thing.path, relation.kind) if each.path.startswith(inside)]
        self._found.append(len(below))
        for each in below:
            self._visit(each, inner)

    def _members(self, thing: Thing, relation: Relation, inner: Role) -> None:
        project, path = self._project, thing.path
        listed = project.lists.get((path, relation.name))
        members = listed.members if listed is not None else ()
        self._found.append(None if listed is None else (listed.least, listed.most))
        if relation.form == INVERSE:
            members = self._referring(thing, relation)
        self._found.append(len(members))
        for member in members:
            self._visit(project.things[member], inner)

    def _referring(self, thing: Thing, relation: Relation) -> tuple[str, ...]:
        """The things that refer to one, or may."""
        project, kinds = self._project, self._around.vocabulary.kinds
        back = kinds[relation.kind].relations[relation.by]
        known, unknown = self._around.referring(relation.kind, back)
        surely, maybe = known.get(thing.path, []), unknown
        owner = project.owners.get(thing.path, "")
        if kinds[relation.kind].within == kinds[thing.kind].within and owner:
            inside = f"{owner}/"
            siblings = [each.path for each in project.owned_by(owner, relation.kind)]
            surely = [each for each in siblings if each in surely]
            maybe = [each for each in siblings if each in set(unknown)] if unknown else []
            owned = kinds[project.things[owner].kind].owned(relation.kind)
            whole = project.lists.get((owner, owned.name)) if owned is not None else None
            self._found.append(None if whole is None else whole.most)
            assert all(each.startswith(inside) for each in surely)
        if len(surely) + len(maybe) > _MOST_REFERRING:
            raise _TooMany
        self._found.append(len(surely))
        return (*surely, *maybe)


@dataclass(frozen=True, slots=True)
class Judgement(Generic[T]):
    """What was judged, and what is missing for it: root by its number, rest of the path, kind, name, whole."""

    found: T
    gaps: tuple[tuple[int, str, str, str, bool], ...]


class Alike:
    """Judgements of one project in one mode, each made once for all subjects that are alike to it."""

    def __init__(self, rulebook: Rulebook, project: Project, mode: str, accept_memory: bool) -> None:
        self.rulebook, self.project, self.mode, self.accept_memory = rulebook, project, mode, accept_memory
        self.around = Around(project, rulebook.vocabulary, mode)
        self.known: dict[object, Judgement[Any]] = {}

    def judged(
        self, term: object, nodes: Callable[[], Iterable[core.Node]], env: Env, judge: Callable[[], tuple[T, Gaps]]
    ) -> tuple[T, Gaps]:
        """What `judge` gives for a term of the rulebook about the things of `env`; `nodes` are all that it reads."""
        reach = self.rulebook.noted(("reach", id(term)), lambda: (term, reach_of(self.rulebook, nodes())))[1]
        if reach.whole:
            return judge()
        try:
            around = Surroundings(self.around, env, reach)
        except _TooMany:
            return judge()
        key = id(term), around.key
        known = self.known.get(key)
        if known is not None:
            roots = tuple(around.roots)
            return known.found, frozenset(
                Missing(roots[at] + rest if at >= 0 else "", kind, name, whole)
                for at, rest, kind, name, whole in known.gaps
            )
        found, gaps = judge()
        missing = tuple((*around.relative(each.path), each.kind, each.name, each.whole) for each in gaps)
        # What lies in nothing around could not be told of others.
        if not any(at < 0 and rest for at, rest, *_ in missing):
            if len(self.known) >= MOST:
                self.known.clear()
            self.known[key] = Judgement(found, missing)
        return found, gaps


class Recalling(Decider):
    """A reader that knows what was judged of others that are alike."""

    def __init__(self, alike: Alike) -> None:
        super().__init__(alike.rulebook, alike.project, alike.mode, accept_memory=alike.accept_memory)
        self.alike = alike
