"""The provisions of each code in its edition, under the layers that are laid over it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from clauseway.law.amendment import Amended, amend
from clauseway.law.edition import exists_in, pick
from clauseway.law.jurisdictions import sources_of, text, texts
from clauseway.law.kept import picked_once
from clauseway.law.laying import Terms, in_effect, rank_of
from clauseway.law.library import Code, Library
from clauseway.law.parameters import Sources
from clauseway.law.shape import check_shape
from clauseway.model.provision import Change
from clauseway.model.vocabulary import Listed, ValueList, Vocabulary
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node

READ = "published"
"""What an amendment rests on that was read in the text which it cites."""

_READ = {"title": "the text that the amendment cites", "kind": "published", "where": "as cited"}


@dataclass(frozen=True)
class Layered:
    """The provisions of a code as they are to be lowered, and the sources that they may name."""

    provisions: Mapping[str, Node]
    sources: Sources


def picked(code: Code, edition: str) -> Mapping[str, Node]:
    """The provisions of a code in one edition, before any layer; the same objects each time."""
    return {
        name: picked_once(node, edition, code.editions)
        for name, node in sorted(code.provisions.items())
        if exists_in(node, edition)
    }


def layered(
    library: Library, wanted: Mapping[str, tuple[Code, str]], layers: Sequence[Node], terms: Terms
) -> tuple[dict[str, Layered], list[Problem]]:
    """Each code with its layers laid over it, and what is wrong with them."""
    found: dict[str, Layered] = {}
    problems: list[Problem] = []
    for name, (code, edition) in sorted(wanted.items()):
        own = [layer for layer in layers if text(layer, "code") == name]
        brought = _brought(library, layers, name, edition)
        try:
            _refuse_other_editions(own, name, edition)
            changes = in_effect([*own, *brought], name, edition, terms)
            amended = amend(picked(code, edition), changes, name, code.force)
            sources = _sources(library, code, [*own, *brought])
        except ClausewayError as error:
            problems.extend(error.problems)
            continue
        problems += _misshapen(library, amended, edition)
        found[name] = Layered(amended.provisions, sources)
    return found, problems


def _brought(library: Library, layers: Sequence[Node], code: str, edition: str) -> list[Node]:
    """The whole provisions that the layers bring to a code, as they stand in one edition."""
    names = {text(layer, "layer") for layer in layers}
    order = library.codes[code].editions
    return [
        pick(node, edition, order)
        for node in library.inserted
        if text(node, "layer") in names and text(node, "code") == code and exists_in(node, edition)
    ]


def _refuse_other_editions(layers: Iterable[Node], code: str, edition: str) -> None:
    problems = []
    for layer in layers:
        editions = layer.get("editions")
        speaks_of = [each.text or "" for each in texts(layer, "editions")]
        if editions is not None and edition not in speaks_of:
            found = f"the layer {text(layer, 'layer')} does not speak of {code}@{edition}"
            problems.append(Problem(editions.place, found, one_of(speaks_of), ""))
    if problems:
        raise ClausewayError(problems)


def _sources(library: Library, code: Code, layers: Sequence[Node]) -> Sources:
    """The sources of a code with those of the jurisdictions and layers that speak.

    Raises:
        ClausewayError: for one name that means two sources.
    """
    if not layers:
        return code.sources
    entries: dict[str, Mapping[str, str]] = {READ: _READ, **code.sources.entries}
    for layer in layers:
        jurisdiction = library.jurisdictions.get(rank_of(layer))
        own = {**(jurisdiction.sources if jurisdiction is not None else {}), **sources_of(layer.get("sources"))}
        for name, source in own.items():
            if entries.get(name, source) != source:
                place = (layer.get("sources") or layer).place
                found = f"{rank_of(layer)} and {code.id} mean different sources by {name}"
                raise ClausewayError(Problem(place, found, "another name for one of them"))
            entries[name] = source
    return Sources(entries)


def _misshapen(library: Library, amended: Amended, edition: str) -> list[Problem]:
    """Where amended provisions no longer have the shape of a provision: a misspelt name in what was added."""
    problems: list[Problem] = []
    schemas = library.folders[0] / "schemas"
    for name in sorted(amended.touched):
        node = amended.provisions[name]
        entries = {("sections" if key == "section" else key): inner for key, inner in node.items()}
        if "sections" in entries:
            entries["sections"] = replace(entries["sections"], value={edition: entries["sections"]})
        problems += check_shape(_filled(replace(node, value=entries)), "provision", schemas)
    return problems


def _filled(node: Node) -> Node:
    """A node without the maps in it that an edition has left empty, such as exceptions of later editions only."""
    if not node.is_map:
        return node
    entries = {name: _filled(inner) for name, inner in node.items() if not (inner.is_map and not inner.value)}
    return replace(node, value=entries)


def amended_problems(node: Node, problems: Iterable[Problem]) -> Iterator[Problem]:
    """What is wrong with a provision, with the amendments that may have made it so: both places are named."""
    changes = list(dict.fromkeys(_changes_in(node)))
    made = "; ".join(f"amended by {change.layer}, {change.place}" for change in changes)
    for problem in problems:
        yield replace(problem, found=f"{problem.found} ({made})") if made else problem


def _changes_in(node: Node) -> Iterator[Change]:
    yield from (change for change in node.history if isinstance(change, Change))
    for inner in [each for _, each in node.items()] + list(node.elements()):
        yield from _changes_in(inner)


def vocabulary_with(vocabulary: Vocabulary, layers: Iterable[Node]) -> Vocabulary:
    """The vocabulary with the values of their own that layers add to its lists.

    Raises:
        ClausewayError: for a list that is not there, a value that is there already, or one within nothing.
    """
    lists = dict(vocabulary.lists)
    problems: list[Problem] = []
    for layer in layers:
        added = layer.get("vocabulary")
        for written, values in added.items() if added is not None else ():
            listed = vocabulary.value_list(written)
            if listed is None:
                known = [*vocabulary.lists, *vocabulary.fact_names]
                place = values.key_place or values.place
                near = nearest(written, known) or ""
                problems.append(Problem(place, f"no value list {written}", "a list, or a choice fact", near))
                continue
            lists[listed.name], wrong = _extended(lists[listed.name], values)
            problems += wrong
    if problems:
        raise ClausewayError(problems)
    return vocabulary if lists == vocabulary.lists else replace(vocabulary, lists=lists)


def _extended(listed: ValueList, values: Node) -> tuple[ValueList, list[Problem]]:
    found = dict(listed.values)
    problems = []
    for name, declared in values.items():
        place = declared.key_place or declared.place
        within = text(declared, "within")
        if name in found:
            problems.append(Problem(place, f"{listed.name} has {name} already", "a new value"))
        elif within and within not in found:
            near = nearest(within, found) or ""
            problems.append(Problem(declared.place, f"{name} is within {within}, which is not there", "a value", near))
        else:
            about = text(declared, "about") if declared.is_map else declared.text or ""
            found[name] = Listed(about, within)
    return replace(listed, values=found), problems
