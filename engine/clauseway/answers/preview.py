"""What a draft of an amendment does where it is laid: its changes, what they make of the rules, and what they reach."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from clauseway.answers.affects import affected
from clauseway.answers.contrast import RENUMBERED, Contrast, contrast
from clauseway.answers.explain import Explanation, explain, facts_read
from clauseway.answers.footing import Footing, files_of, footings
from clauseway.law.jurisdictions import text, texts
from clauseway.law.laying import Laid, authorities_of, in_effect
from clauseway.law.library import Library
from clauseway.law.rulebook import Rulebook
from clauseway.text.nearest import one_of
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import Node, read_yaml

_FOLDER = "jurisdictions"


@dataclass(frozen=True)
class Reached:
    """What the graph leads to from all that an amendment changes."""

    provisions: tuple[str, ...]
    conditions: tuple[str, ...]
    computed: tuple[str, ...]
    asked: tuple[str, ...]
    """Facts that are read after it and were not before."""


@dataclass(frozen=True)
class Preview:
    """A layer where it is laid: what is in effect there, and the rulebooks without and with it."""

    footing: Footing
    changes: tuple[Laid, ...]
    before: Rulebook
    after: Rulebook
    found: Contrast


def root_of(file: Path) -> Path:
    """The folder of rules that a file of an amendment belongs to.

    Raises:
        ClausewayError: for a file that stands elsewhere than in `jurisdictions/ID`.
    """
    if not file.is_file():
        raise ClausewayError(Problem(Place(str(file)), "there is no such file", "the file of an amendment"))
    folder = file.resolve().parent
    folder = folder.parent if folder.name == "provisions" else folder
    if folder.parent.name != _FOLDER:
        expected = f"a file such as my-rules/{_FOLDER}/US-CA/{file.name}"
        raise ClausewayError(Problem(Place(str(file)), "no jurisdiction's folder holds this file", expected))
    # A relative path stays as it was typed, so that messages name files as people do.
    typed = file.parent.parent if file.parent.name == "provisions" else file.parent
    return typed.parent.parent if typed.parent.name == _FOLDER else folder.parent.parent


def layer_in(file: Path) -> str:
    """The name of the layer that a file belongs to.

    Raises:
        ClausewayError: when it names none.
    """
    node = read_yaml(file)
    name = text(node, "layer")
    if not name:
        raise ClausewayError(Problem(node.place, "this file names no layer", "layer: a name of your own"))
    return name


def laid_on(library: Library, name: str, on: str = "", place: str = "") -> list[Footing]:
    """Where a layer is laid, once for each authority whose changes it holds.

    Raises:
        ClausewayError: where it cannot be laid, and for a change of editions alone over which it is not laid.
    """
    files = [file for file in files_of(library, name) if file.get("changes") is not None]
    found = footings(library, name, on, place)
    named = authorities_of(files)
    problems = []
    editions = sorted({each.edition for each in found})
    for file in files:
        for change in _changes(file):
            own = [each.text or "" for each in texts(change, "editions")]
            if own and not set(own) & set(editions):
                at = (change.get("editions") or change).place
                problems.append(Problem(at, f"{name} is not laid over {one_of(own)}", one_of(editions)))
    if problems:
        raise ClausewayError(problems)
    return [each.by(authority) for each in found for authority in (named or [each.terms.authority])]


def _changes(file: Node) -> Iterator[Node]:
    changes = file.get("changes")
    if changes is not None:
        yield from changes.elements()


def preview(library: Library, name: str, footing: Footing) -> Preview:
    """A layer on one footing.

    Raises:
        ClausewayError: for a target that is gone, another `was`, a clash: whatever makes it no law.
    """
    before, after = footing.before(library), footing.after(library, name)
    laid = in_effect(files_of(library, name), footing.code, footing.edition, footing.terms)
    return Preview(footing, tuple(laid), before, after, contrast(before, after))


def reached(seen: Preview) -> Reached:
    """What the graph leads to from all that differs."""
    provisions: set[str] = set()
    conditions: set[str] = set()
    computed: set[str] = set()
    for step in seen.found.every:
        if step.kind == RENUMBERED:
            continue
        name = step.id.partition("/")[0] if step.part in ("cell", "row", "columns") else step.id
        for book in (seen.before, seen.after):
            if name in _named(book):
                found = affected(book, name)
                provisions |= set(found.provisions)
                conditions |= set(found.conditions)
                computed |= set(found.derived)
    facts = [{fact for p in book.provisions.values() for fact in facts_read(p)} for book in (seen.before, seen.after)]
    ordered = (tuple(sorted(each)) for each in (provisions, conditions, computed, facts[1] - facts[0]))
    return Reached(*ordered)


def _named(book: Rulebook) -> set[str]:
    """All that the graph of a rulebook may be asked about."""
    conditions = {f"{p.name}/{c.label}" for p in book.provisions.values() for c in p.permitted + p.conditions}
    return {*book.provisions, *book.parameters, *book.derivations, *book.tables, *conditions}


def in_words(seen: Preview, told: Callable[[Explanation], str], around: int = 2) -> Iterator[tuple[str, Sequence[str]]]:
    """Each provision, condition and value that differs, as a diff of its explanation; `told` lays one out as text."""
    names: dict[str, None] = {}
    for name, steps in sorted(seen.found.steps.items()):
        names[name] = None
        names.update(dict.fromkeys(step.id for step in steps if step.part in ("condition", "permission")))
    for name in names:
        was, now = (_told(book, name, told) for book in (seen.before, seen.after))
        lines = list(difflib.unified_diff(was, now, "before", "after", lineterm="", n=around))[2:]
        if lines:
            yield name, ["..." if line.startswith("@@") else line for line in lines]


def _told(book: Rulebook, name: str, told: Callable[[Explanation], str]) -> list[str]:
    owner, _, label = name.partition("/")
    provision = book.provisions.get(owner)
    if provision is None or (label and label not in {c.label for c in provision.permitted + provision.conditions}):
        return []
    return told(explain(book, name)).splitlines()
