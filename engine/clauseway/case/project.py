"""From a file of openings to a project: every name is known, every value is read, or the file is refused."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from clauseway.case.read_value import read_value
from clauseway.case.things import Given, Listed, Project, Thing
from clauseway.model.vocabulary import INVERSE, KEYED, MANY, ONE, OWNS, Kind, Relation, Vocabulary
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node

TOP = (
    *("project", "codes", "in", "dates", "site", "authorities", "modes", "building", "sets", "note", "complete"),
    "count",
)
_RESERVED = ("complete", "count", "like", "modes", "note", "other")
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,63}")
ALL_BELOW = "all-below"


def read_project(node: Node, vocabulary: Vocabulary) -> Project:
    """The project that a file describes.

    Raises:
        ClausewayError: with every unknown name, wrong value and broken reference of the file.
    """
    return _Reader(node, vocabulary).project()


class _Reader:
    def __init__(self, node: Node, vocabulary: Vocabulary) -> None:
        self.node = node
        self.vocabulary = vocabulary
        self.problems: list[Problem] = []
        self.things: dict[str, Thing] = {}
        self.owners: dict[str, str] = {}
        self.facts: dict[tuple[str, str], Given] = {}
        self.by_mode: dict[tuple[str, str], dict[str, Given]] = {}
        self.lists: dict[tuple[str, str], Listed] = {}
        self.references: dict[tuple[str, str], str] = {}
        self.places: dict[str, Node] = {}
        self.pending: list[tuple[str, Relation, Node, bool, int | None]] = []
        self.sets: Mapping[str, Node] = {}
        self.sets_used: set[str] = set()

    def fail(self, node: Node, found: str, expected: str = "", near: str | None = None, *, key: bool = False) -> None:
        place = (node.key_place or node.place) if key else node.place
        self.problems.append(Problem(place, found, expected, near or ""))

    def project(self) -> Project:
        if not self.node.is_map:
            raise ClausewayError(
                Problem(self.node.place, f"{self.node.kind} at the top of the file", "project, building and openings")
            )
        building = self.vocabulary.kinds["building"]
        collections = {relation.name for relation in building.relations.values() if relation.form == OWNS}
        for key, inner in self.node.items():
            if key not in TOP and key not in collections:
                self.fail(
                    inner,
                    f"unknown name: {key}",
                    one_of([*TOP, *sorted(collections)], 20),
                    nearest(key, [*TOP, *collections]),
                    key=True,
                )
        sets = self.node.get("sets")
        self.sets = dict(sets.items()) if sets is not None else {}
        own = self.node.get("building")
        merged = dict(own.items()) if own is not None and own.is_map else {}
        for name in (*sorted(collections), "complete", "count"):
            entry = self.node.get(name)
            if entry is not None:
                merged[name] = entry
        self.thing(replace(self.node, value=merged), building, "", "", "", False)
        for path, relation, inner, closed, count in self.pending:
            self.reference(path, relation, inner, closed, count)
        for name in sorted(set(self.sets) - self.sets_used):
            self.fail(
                self.sets[name], f"the set {name} is not used", f"like: {name} in a thing, or no such set", key=True
            )
        modes = self.modes()
        openings = self.lists.get(("", "openings"))
        if not self.problems and (openings is None or not openings.members):
            self.fail(self.node, "no openings are described", "openings: with at least one opening")
        if self.problems:
            raise ClausewayError(self.problems)
        return Project(
            self.text("project") or "a project without a name",
            self.node.place.file,
            tuple(self.words("codes")),
            modes,
            self.things,
            self.owners,
            self.facts,
            self.by_mode,
            self.lists,
            self.references,
            {path: inner.key_place or inner.place for path, inner in self.places.items()},
        )

    def text(self, key: str) -> str:
        inner = self.node.get(key)
        return inner.text or "" if inner is not None else ""

    def words(self, key: str) -> list[str]:
        inner = self.node.get(key)
        if inner is None or inner.value is None:
            return []
        return [element.text or "" for element in (inner.elements() if inner.is_list else [inner])]

    def modes(self) -> tuple[str, ...]:
        known = self.vocabulary.lists["mode"].leaves
        for word in self.words("modes"):
            if word not in known:
                self.fail(
                    self.node.get("modes") or self.node,
                    f"unknown mode: {word}",
                    one_of(sorted(known)),
                    nearest(word, known),
                )
        return tuple(self.words("modes"))

    # --- things -----------------------------------------------------------------------------------------

    def thing(self, node: Node, kind: Kind, path: str, identity: str, mode: str, deep: bool) -> None:
        """Read one thing; with a mode, only facts that hold in that mode."""
        if not mode:
            if path in self.things:
                return
            self.things[path] = Thing(path, kind.name, identity)
            self.places[path] = node
        if node.value is None:
            return
        if not node.is_map:
            self.fail(node, f"{node.kind} where a {kind.title} is described", "its facts")
            return
        entries = self.with_set(node, kind)
        whole, deep = self.completeness(entries, kind, deep)
        counts = self.counts(entries, kind)
        for key, inner in entries.items():
            if key in kind.facts:
                self.fact(inner, kind, key, path, mode)
            elif key in kind.relations:
                relation = kind.relations[key]
                closed = relation.name in whole
                if mode and relation.form != KEYED:
                    self.fail(
                        inner, f"{key} in one mode only", "facts; what there is does not change with the mode", key=True
                    )
                    continue
                self.relation(inner, relation, path, mode, closed, deep, counts.get(key))
            elif key == "modes":
                if mode or path == "":
                    self.fail(inner, "modes inside modes", "the facts of one mode", key=True)
                    continue
                for name, facts in inner.items():
                    if name not in self.vocabulary.lists["mode"].leaves:
                        known = sorted(self.vocabulary.lists["mode"].leaves)
                        self.fail(facts, f"unknown mode: {name}", one_of(known), nearest(name, known), key=True)
                        continue
                    self.thing(facts, kind, path, identity, name, False)
            elif key not in _RESERVED:
                names = [*kind.facts, *kind.relations, *_RESERVED]
                self.fail(
                    inner, f"a {kind.title} has no {key}", f"a fact of a {kind.title}", nearest(key, names), key=True
                )
        if mode:
            return
        for relation in kind.relations.values():
            if (
                relation.form in (OWNS, MANY)
                and (path, relation.name) not in self.lists
                and relation.name not in entries
            ):
                self.close(path, relation, (), relation.name in whole, counts.get(relation.name), node)
            elif relation.form in (KEYED, INVERSE) and relation.name in whole:
                self.lists.setdefault((path, relation.name), Listed((), 0, 0, node.place))

    def with_set(self, node: Node, kind: Kind) -> dict[str, Node]:
        """The entries of a thing, over those of the set it uses."""
        entries = dict(node.items())
        use = entries.get("like")
        if use is None:
            return entries
        chosen = self.sets.get(use.text or "")
        if chosen is None:
            self.fail(use, f"no set {use.text or use.kind}", one_of(self.sets, 12), nearest(use.text or "", self.sets))
            return entries
        self.sets_used.add(use.text or "")
        made_for = chosen.get("thing")
        if made_for is None or made_for.text != kind.name:
            self.fail(
                use,
                f"the set {use.text} is for {made_for.text if made_for else 'nothing'}",
                f"a set with thing: {kind.name}",
            )
            return entries
        base = {key: inner for key, inner in chosen.items() if key != "thing"}
        if "like" in base:
            self.fail(base.pop("like"), "a set that uses a set", "the facts written out")
        return _over(base, entries)

    def completeness(self, entries: Mapping[str, Node], kind: Kind, deep: bool) -> tuple[set[str], bool]:
        """The relations whose lists are whole, and whether that goes for everything below as well."""
        lists = {name for name, relation in kind.relations.items() if relation.form != ONE}
        node = entries.get("complete")
        if node is None or node.value is None:
            return (lists, True) if deep else (set(), False)
        if node.text == "true":
            return lists, deep
        if node.text == ALL_BELOW:
            return lists, True
        if node.text == "false":
            return set(), False
        if not node.is_list:
            self.fail(node, f"complete: {node.text or node.kind}", f"true, false, {ALL_BELOW} or names of lists")
            return set(), False
        named = set()
        for element in node.elements():
            if element.text not in lists:
                self.fail(
                    element,
                    f"a {kind.title} has no list {element.text or element.kind}",
                    one_of(sorted(lists), 12),
                    nearest(element.text or "", lists),
                )
            else:
                named.add(element.text or "")
        return named, False

    def counts(self, entries: Mapping[str, Node], kind: Kind) -> dict[str, int]:
        node = entries.get("count")
        found: dict[str, int] = {}
        for name, inner in node.items() if node is not None else ():
            relation = kind.relations.get(name)
            if relation is None or relation.form not in (OWNS, MANY):
                self.fail(
                    inner, f"a {kind.title} has no list {name}", "a list of it", nearest(name, kind.relations), key=True
                )
            elif not (inner.text or "").isdigit() or len(inner.text or "") > 4:
                self.fail(inner, f"count: {inner.text or inner.kind}", "a whole number")
            else:
                found[name] = int(inner.text or "0")
        return found

    # --- facts ------------------------------------------------------------------------------------------

    def fact(self, node: Node, kind: Kind, name: str, path: str, mode: str) -> None:
        try:
            given = read_value(node, kind.facts[name], f"{kind.name}.{name}", self.vocabulary)
        except ClausewayError as error:
            self.problems.extend(error.problems)
            return
        if given is None:
            return
        key = (path, name)
        if mode:
            if key in self.facts:
                self.fail(node, f"{kind.name}.{name} is given for every mode and for {mode}", "one of them", key=True)
            self.by_mode.setdefault(key, {})[mode] = given
        else:
            if key in self.by_mode:
                self.fail(node, f"{kind.name}.{name} is given for every mode and for one", "one of them", key=True)
            self.facts[key] = given

    # --- relations --------------------------------------------------------------------------------------

    def relation(
        self, node: Node, relation: Relation, path: str, mode: str, closed: bool, deep: bool, count: int | None
    ) -> None:
        if relation.form == INVERSE:
            self.fail(node, f"{relation.name} is not written down", f"{relation.by} of each {relation.kind}", key=True)
            return
        if relation.form in (ONE, MANY):
            self.pending.append((path, relation, node, closed, count))
            return
        kind = self.vocabulary.kinds[relation.kind]
        if node.text == "none":
            if relation.form == OWNS:
                self.close(path, relation, (), True, count, node)
            else:
                self.lists[(path, relation.name)] = Listed((), 0, 0, node.place)
            return
        if node.value is not None and not node.is_map:
            self.fail(node, f"{node.kind} for {relation.name}", f"a name and facts for each {kind.title}, or none")
            return
        members = []
        for identity, inner in node.items():
            if not _ID.fullmatch(identity) or identity in _RESERVED:
                self.fail(
                    inner,
                    f"{identity} as a name",
                    "letters, digits, - _ and ., and no reserved word",
                    key=True,
                )
                continue
            if relation.form == KEYED and not self.known_key(inner, identity, relation, path):
                continue
            below = member_path(path, relation.name, identity)
            members.append(below)
            if relation.form == OWNS:
                self.owners[below] = path
            else:
                self.owners.setdefault(below, path)
            self.thing(inner, kind, below, identity, mode, deep)
        if relation.form == OWNS:
            self.close(path, relation, tuple(members), closed, count, node)
        elif not mode and closed:
            self.lists[(path, relation.name)] = Listed(tuple(members), 0, 0, node.place)

    def known_key(self, node: Node, identity: str, relation: Relation, path: str) -> bool:
        """Whether a key of a keyed relation is a listed word; keys that are things are looked up at the end."""
        listed = self.vocabulary.lists.get(relation.by)
        if listed is None:
            self.pending.append((path, relation, replace(node, value=identity), False, None))
            return True
        if identity in listed.leaves:
            return True
        self.fail(
            node,
            f"unknown {relation.by}: {identity}",
            one_of(sorted(listed.leaves), 20),
            nearest(identity, listed.leaves),
            key=True,
        )
        return False

    def close(
        self, path: str, relation: Relation, members: tuple[str, ...], closed: bool, count: int | None, node: Node
    ) -> None:
        """Record a list with what may be missing from it."""
        least, most = 0, 0 if closed else None
        if relation.most and most is None:
            most = max(0, relation.most - len(members))
        if count is not None:
            if len(members) > count:
                self.fail(
                    node, f"{len(members)} {relation.name} where {count} are claimed", f"at most {count}", key=True
                )
            elif closed and len(members) < count:
                self.fail(
                    node,
                    f"{len(members)} {relation.name}, said to be all, where {count} are claimed",
                    f"{count}, or a list that is not complete",
                    key=True,
                )
            else:
                least = most = count - len(members)
        if relation.most and len(members) > relation.most:
            self.fail(node, f"{len(members)} {relation.name}", f"at most {relation.most}", key=True)
        self.lists[(path, relation.name)] = Listed(members, least, most, node.place)

    def reference(self, path: str, relation: Relation, node: Node, closed: bool, count: int | None) -> None:
        if node.value is None or node.text == "unknown":
            if relation.form == MANY:
                self.close(path, relation, (), False, count, node)
            return
        if relation.form == KEYED:
            self.look_up(node, relation.by, path)
            return
        if node.text == "none":
            if relation.form == ONE:
                self.references[(path, relation.name)] = ""
            else:
                self.close(path, relation, (), True, count, node)
            return
        if relation.form == ONE:
            found = self.look_up(node, relation.kind, path)
            if found is not None:
                self.references[(path, relation.name)] = found
            return
        if not node.is_list:
            self.fail(node, f"{node.kind} for {relation.name}", f"a list of names, such as [{relation.kind}-1]")
            return
        members: list[str] = []
        for element in node.elements():
            found = self.look_up(element, relation.kind, path)
            if found in members:
                self.fail(element, f"{element.text} is named twice", "each once")
            elif found is not None:
                members.append(found)
        self.close(path, relation, tuple(members), closed, count, node)

    def look_up(self, node: Node, kind: str, path: str) -> str | None:
        """The path of the thing of a kind that a name means, the nearest one upwards from `path`."""
        if node.text is None:
            self.fail(node, f"{node.kind} where a {kind} is named", "a name")
            return None
        owner: str | None = path
        seen: list[str] = []
        while owner is not None:
            thing = self.things.get(owner)
            owned = self.vocabulary.kinds[thing.kind].owned(kind) if thing is not None else None
            if owned is not None:
                candidate = member_path(owner, owned.name, node.text)
                if candidate in self.things:
                    return candidate
                listed = self.lists.get((owner, owned.name))
                seen.extend(self.things[member].id for member in (listed.members if listed else ()))
            owner = self.owners.get(owner) if owner else None
        self.fail(
            node,
            f"no {kind} called {node.text}",
            one_of(seen, 12) if seen else f"a {kind} described in this file",
            nearest(node.text, seen),
        )
        return None


def member_path(owner: str, relation: str, identity: str) -> str:
    """The path of a member: `openings/d101/locks/magnet`; the building's own path is empty."""
    return f"{owner}/{relation}/{identity}" if owner else f"{relation}/{identity}"


def _over(base: Mapping[str, Node], own: Mapping[str, Node]) -> dict[str, Node]:
    """The entries of `own` laid over those of `base`, maps inside maps."""
    result = dict(base)
    for key, inner in own.items():
        below = result.get(key)
        if below is not None and below.is_map and inner.is_map:
            result[key] = replace(inner, value=_over(dict(below.items()), dict(inner.items())))
        else:
            result[key] = inner
    return result
