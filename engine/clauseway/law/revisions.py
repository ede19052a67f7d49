"""The lock of revisions: which meaning each provision had under which revision, and what has changed since.

Findings, records and waivers name provisions; so an id never vanishes, and a meaning never changes under the revision
that it had. The lock (`revisions.lock` beside the rules) has one line for each provision and edition, and one for each
former id.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from clauseway.law.library import Library
from clauseway.law.meaning import meanings
from clauseway.law.resolve import resolve
from clauseway.text.nearest import nearest
from clauseway.text.problems import ClausewayError, Place, Problem

LOCK = "revisions.lock"
FORMAT = "clauseway revisions 1"
"""The first line. Its number changes with the digest of meanings, when all digests are made anew."""

_HEAD = (FORMAT, "# Written by `clauseway rules lock`: id@edition, revision, digest of the meaning. Not for editing.")
_LINE = re.compile(r"(?P<name>[a-z0-9.-]+)@(?P<edition>\S+) revision (?P<revision>\d{1,6}) (?P<digest>[0-9a-f]{16})")
_ALIAS = re.compile(r"(?P<old>[a-z0-9.-]+) is now (?P<new>[a-z0-9.-]+)")
_LARGEST = 8 * 1024 * 1024

NEW, SAME, RAISED, RENAMED = "new", "same", "raised", "renamed"
CHANGED, LOWERED, VANISHED = "changed", "lowered", "vanished"
REFUSED = (CHANGED, LOWERED, VANISHED)
"""What may not be: a meaning changed under its revision, a lower revision, an id that is gone."""


@dataclass(frozen=True, slots=True)
class Locked:
    """A provision in an edition: its revision and the digest of its meaning."""

    revision: int
    digest: str
    place: Place = field(default=Place(), compare=False)


@dataclass(frozen=True)
class Revisions:
    """Provisions by name and edition (`ibc.sensor-release@2021`), and former names with those of today."""

    entries: Mapping[str, Locked]
    aliases: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Difference:
    """What became of a line of the lock, or of a provision that has none."""

    state: str
    name: str
    says: str
    place: Place


def revisions_of(library: Library, folder: Path) -> Revisions:
    """The provisions that are written in one folder of rules, in all their editions.

    Raises:
        ClausewayError: for rules that cannot be resolved.
    """
    label = "rules" if folder == library.folders[0] else str(folder)
    entries: dict[str, Locked] = {}
    aliases: dict[str, str] = {}
    for code in library.codes.values():
        own = {name: node for name, node in code.provisions.items() if node.place.file.startswith(f"{label}/")}
        aliases |= {f"{code.id}.{old}": f"{code.id}.{new}" for old, new in code.aliases.items() if new in own}
        for edition in code.editions if own else ():
            for name, digest in meanings(resolve(library, [f"{code.id}@{edition}"]), code.id).items():
                if name in own:
                    revision = own[name].get("revision")
                    number = int(revision.text or "1") if revision is not None else 1
                    place = (revision or own[name]).place
                    entries[f"{code.id}.{name}@{edition}"] = Locked(number, digest, place)
    return Revisions(entries, aliases)


def read_lock(path: Path) -> Revisions:
    """The lock in a file; an empty one where there is no file.

    Raises:
        ClausewayError: for a file that cannot be read, or a line that is no line of a lock.
    """
    name = path.name
    try:
        if not path.exists():
            return Revisions({}, {})
        if path.stat().st_size > _LARGEST:
            raise ClausewayError(Problem(Place(name), "larger than 8 MiB", "a lock of revisions"))
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        said = error.strerror if isinstance(error, OSError) else "it is not UTF-8"
        raise ClausewayError(Problem(Place(name), f"this file cannot be read: {said}")) from None
    lines = text.splitlines()
    if not lines or lines[0] != FORMAT:
        found = f"the first line is `{lines[0][:60]}`" if lines else "an empty file"
        raise ClausewayError(Problem(Place(name, 1, 1), found, f"{FORMAT}; or make the lock anew"))
    entries: dict[str, Locked] = {}
    aliases: dict[str, str] = {}
    problems: list[Problem] = []
    for number, line in enumerate(lines[1:], 2):
        place = Place(name, number, 1)
        if not line.strip() or line.startswith("#"):
            continue
        locked, alias = _LINE.fullmatch(line), _ALIAS.fullmatch(line)
        key = f"{locked['name']}@{locked['edition']}" if locked else alias["old"] if alias else ""
        if not key:
            expected = "ibc.sensor-release@2021 revision 1 and 16 digits, or ibc.old is now ibc.new"
            problems.append(Problem(place, f"`{line[:60]}`", expected))
        elif key in entries or key in aliases:
            problems.append(Problem(place, f"{key} stands twice", "one line"))
        elif locked:
            entries[key] = Locked(int(locked["revision"]), locked["digest"], place)
        elif alias:
            aliases[key] = alias["new"]
    if problems:
        raise ClausewayError(problems)
    return Revisions(entries, aliases)


def differences(locked: Revisions, today: Revisions) -> tuple[Difference, ...]:
    """What has changed since the lock was written, by name; what is the same is left out."""
    found: list[Difference] = []
    taken: set[str] = set()
    for key, old in locked.entries.items():
        name, _, edition = key.partition("@")
        now_name = name if _known(name, today) else today.aliases.get(name, name)
        now_key = f"{now_name}@{edition}"
        taken.add(now_key)
        found += _changed(key, old, now_key, today)
    for old_name, new_name in locked.aliases.items():
        if old_name not in today.aliases and not _known(old_name, today):
            near = f"aliases: [{old_name.partition('.')[2]}] in {new_name}"
            found.append(
                Difference(VANISHED, old_name, f"the former id {old_name} is no alias any more; {near}", Place())
            )
    for key, now in today.entries.items():
        if key not in taken:
            found.append(Difference(NEW, key, f"revision {now.revision}, not locked yet", now.place))
    return tuple(sorted(found, key=lambda each: (each.state not in REFUSED, each.name, each.state)))


def _known(name: str, revisions: Revisions) -> bool:
    return any(key.partition("@")[0] == name for key in revisions.entries)


def _changed(key: str, old: Locked, now_key: str, today: Revisions) -> list[Difference]:
    """What became of one line."""
    now = today.entries.get(now_key)
    if now is None:
        name, _, edition = now_key.partition("@")
        editions = {each: entry for each, entry in today.entries.items() if each.partition("@")[0] == name}
        if not editions:
            like = nearest(name, {each.partition("@")[0] for each in today.entries}) or ""
            hint = f"; if it is {like} now, say aliases: [{name.partition('.')[2]}] there" if like else ""
            return [Difference(VANISHED, key, f"the id {name} is gone{hint}", Place())]
        revision = max(entry.revision for entry in editions.values())
        place = next(iter(editions.values())).place
        if revision > old.revision:
            return [Difference(RAISED, key, f"no longer in {edition}, revision {revision}", place)]
        said = f"it no longer stands in {edition} and is still revision {revision}; raise it to {old.revision + 1}"
        return [Difference(CHANGED, key, said, place)]
    if now.revision < old.revision:
        said = f"revision {now.revision}, and {old.revision} is locked; a revision never goes back"
        return [Difference(LOWERED, now_key, said, now.place)]
    if now.digest != old.digest and now.revision == old.revision:
        said = f"its meaning changed and it is still revision {now.revision}; say revision: {now.revision + 1}"
        return [Difference(CHANGED, now_key, said, now.place)]
    if now.revision > old.revision:
        return [Difference(RAISED, now_key, f"revision {old.revision} -> {now.revision}", now.place)]
    return [Difference(RENAMED, now_key, f"was {key}", now.place)] if key != now_key else []


def lock_text(today: Revisions) -> str:
    """The lock of what stands today."""
    lines = [f"{key} revision {each.revision} {each.digest}" for key, each in sorted(today.entries.items())]
    lines += [f"{old} is now {new}" for old, new in sorted(today.aliases.items())]
    return "\n".join([*_HEAD, *lines]) + "\n"


def refused(found: Iterable[Difference]) -> Sequence[Difference]:
    """Those differences that may not be."""
    return [each for each in found if each.state in REFUSED]
