"""Which changes of which layers are in effect, and in which order they are laid over a code."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from clauseway.law.jurisdictions import joined, real_dates, text, texts
from clauseway.model.jurisdiction import TODAY
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway.text.source import Node

LAW, GUIDANCE, RULING = "law", "guidance", "ruling"
ADOPTED = "adopted"


@dataclass(frozen=True)
class Terms:
    """On what it depends which changes are in effect.

    `dates` has the dates of the project that are known, by their names; `decided_by` says for a layer which of them
    its changes look at. Without any date, changes that have begun by now count, and those that end cannot be judged.
    `authority` is the one whose changes count beside those of no named authority; `site` the place of a ruling.
    `drafts` lets layers speak that are not law.
    """

    dates: Mapping[str, str] = field(default_factory=dict)
    decided_by: Mapping[str, str] = field(default_factory=dict)
    authority: str = ""
    site: str = ""
    drafts: bool = False


@dataclass(frozen=True)
class Laid:
    """One change in effect: what it says, the layer it stands in, its rank (the jurisdiction), its first day."""

    node: Node
    layer: Node
    rank: str
    since: str

    @property
    def name(self) -> str:
        """The name of its layer."""
        return text(self.layer, "layer")

    @property
    def authority(self) -> str:
        """Who decides, where it is said."""
        return text(self.node, "authority") or text(self.layer, "authority")

    @property
    def basis(self) -> Node | None:
        """How it is known; nothing is memory."""
        return self.node.get("basis") or self.layer.get("basis")

    @property
    def cite(self) -> str:
        """Where it stands."""
        return joined(self.node, "cite")


def rank_of(layer: Node) -> str:
    """The jurisdiction whose folder a file of a layer, or of a provision that a layer brings, stands in."""
    folder = Path(layer.place.file).parent
    return folder.parent.name if folder.name == "provisions" else folder.name


def layers_named(layers: Iterable[Node], names: Sequence[str], terms: Terms | None = None) -> list[Node]:
    """The files of the named layers, in the order of the names and, inside a layer, of their places.

    Raises:
        ClausewayError: for a layer that does not exist, with the nearest, or is not law.
    """
    every = list(layers)
    found: list[Node] = []
    known = sorted({text(layer, "layer") for layer in every})
    for name in names:
        own = [layer for layer in every if text(layer, "layer") == name]
        if not own:
            expected = one_of(known) if known else "a folder under jurisdictions, with --rules"
            raise ClausewayError(Problem(NOWHERE, f"no layer {name}", expected, nearest(name, known) or ""))
        for layer in own:
            status = text(layer, "status", ADOPTED)
            if status != ADOPTED and not (terms and terms.drafts):
                found_status = f"the layer {name} is {status}: it is not law"
                raise ClausewayError(
                    Problem(layer.place, found_status, "status: adopted; or amend preview, or compare")
                )
        found.extend(sorted(own, key=lambda layer: layer.place.file))
    return found


def in_effect(layers: Sequence[Node], code: str, edition: str, terms: Terms) -> list[Laid]:
    """The changes of some layers to a code that are in effect, in the order in which they are laid.

    The jurisdictions follow each other as their layers are named; inside one, changes go by their first day.

    Raises:
        ClausewayError: for a date that is none, a change whose standing depends on a date that is not known, and
            changes of several authorities, each of which makes a rulebook of its own.
    """
    problems: list[Problem] = []
    found: list[Laid] = []
    ranks = list(dict.fromkeys(rank_of(layer) for layer in layers))
    for layer in layers:
        if text(layer, "code") != code or not _binds(layer, terms):
            continue
        for entry in _entries(layer):
            problems += real_dates(entry, ("from", "until", "comply_by"))
            laid = Laid(entry, layer, rank_of(layer), text(entry, "comply_by") or text(entry, "from"))
            if not problems and _counts(laid, edition, terms, problems):
                found.append(laid)
    if problems:
        raise ClausewayError(problems)
    found = _of_authority(found, terms)
    return sorted(found, key=lambda each: (ranks.index(each.rank), each.since, _place(each.node)))


def _place(node: Node) -> tuple[str, int, int]:
    return (node.place.file, node.place.line, node.place.column)


def _entries(layer: Node) -> Iterator[Node]:
    """The changes of a file; a file that is a whole provision is one change."""
    changes = layer.get("changes")
    if changes is None:
        yield layer
    else:
        yield from changes.elements()


def _binds(layer: Node, terms: Terms) -> bool:
    """Whether a layer speaks to this project at all: a ruling binds its own site alone."""
    return text(layer, "binding", LAW) != RULING or text(layer, "site") == terms.site


def _counts(laid: Laid, edition: str, terms: Terms, problems: list[Problem]) -> bool:
    node = laid.node
    editions = [each.text for each in texts(node, "editions")]
    if editions and edition not in editions:
        return False
    since, until = laid.since, text(node, "until")
    if until and until <= since:
        problems.append(
            Problem((node.get("until") or node).place, f"until {until} is not after {since}", "a later day")
        )
    if not since and not until:
        return True
    comply = node.get("comply_by") is not None
    decides = TODAY if comply else text(node, "decided_by") or terms.decided_by.get(laid.name, TODAY)
    day = terms.dates.get(decides) or ("" if comply or decides == TODAY else terms.dates.get(TODAY, ""))
    if not day and (until or comply or terms.dates):
        found = f"whether this change of {laid.name} is in effect depends on the date of {decides}"
        problems.append(Problem(node.place, found, f"--on, or dates: {{{decides}: ...}}"))
        return False
    return not day or (since <= day and not (until and until <= day))


def _of_authority(found: Sequence[Laid], terms: Terms) -> list[Laid]:
    authorities = sorted({laid.authority for laid in found} - {""})
    if terms.authority:
        return [laid for laid in found if laid.authority in ("", terms.authority)]
    if len(authorities) > 1:
        first = next(laid for laid in found if laid.authority == authorities[0])
        second = next(laid for laid in found if laid.authority == authorities[1])
        raise ClausewayError(
            Problem(
                second.node.place,
                f"changes of {' and '.join(authorities)} ({first.node.place}): each authority is a rulebook of its own",
                f"--authority {one_of(authorities)}",
            )
        )
    return list(found)


def authorities_of(layers: Sequence[Node]) -> list[str]:
    """The authorities that some layers name, each once, sorted."""
    named = {text(layer, "authority") for layer in layers}
    named |= {text(entry, "authority") for layer in layers for entry in _entries(layer)}
    return sorted(named - {""})
