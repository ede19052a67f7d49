"""Reading clauses.yaml: what a code holds beyond its provisions, and whether it fits the code and them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from clauseway.law.parameters import Sources
from clauseway.model.clause import ENCODED, PARTLY, Clause, Clauses
from clauseway.model.provision import Basis
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.section import Reference, references
from clauseway.text.source import Node


@dataclass(frozen=True)
class ClauseFile:
    """A file whose shape is right, and the code in whose folder it lies."""

    node: Node
    code: str


def read_clauses(
    files: Sequence[ClauseFile], editions: Sequence[str], sources: Sources, provisions: Mapping[str, Node]
) -> tuple[Clauses, list[Problem]]:
    """The clauses of one code from its files, and everything that is wrong with them."""
    reading = _Reading(tuple(editions), sources, provisions)
    for file in files:
        reading.read(file)
    return Clauses(reading.covers, reading.entries), reading.problems


@dataclass
class _Reading:
    editions: tuple[str, ...]
    sources: Sources
    provisions: Mapping[str, Node]
    covers: dict[str, str] = field(default_factory=dict)
    entries: dict[str, Clause] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    listed: dict[tuple[str, tuple[Reference, ...]], Clause] = field(default_factory=dict)

    def read(self, file: ClauseFile) -> None:
        named = file.node.get("code")
        if named is not None and named.text != file.code:
            self.problems.append(Problem(named.place, f"code {named.text}", file.code))
        for edition, text in self.by_edition(file.node.get("covers")):
            said = self.covers.get(edition)
            self.covers[edition] = f"{said}; {text.text}" if said else text.text or ""
        clauses = file.node.get("clauses")
        for name, node in clauses.items() if clauses is not None else ():
            if name in self.entries:
                first = self.entries[name].place
                place = node.key_place or node.place
                self.problems.append(Problem(place, f"the clause {name} is there already: {first}", "a new name"))
                continue
            self.entries[name] = self.clause(name, node)

    def by_edition(self, node: Node | None) -> Iterator[tuple[str, Node]]:
        """The entries of a map by edition, those of unknown editions refused; a plain text speaks of all editions."""
        if node is None:
            return
        if not node.is_map:
            yield from ((edition, node) for edition in self.editions)
            return
        for edition, inner in node.items():
            if edition in self.editions:
                yield edition, inner
                continue
            near = nearest(edition, self.editions) or ""
            place = inner.key_place or inner.place
            self.problems.append(Problem(place, f"no edition {edition}", one_of(self.editions, 20), near))

    def clause(self, name: str, node: Node) -> Clause:
        text = {key: inner.text or "" for key, inner in node.items()}
        nodes = dict(self.by_edition(node.get("sections")))
        sections = {edition: nodes[edition].text or "" for edition in self.editions if edition in nodes}
        place = node.key_place or node.place
        clause = Clause(
            name, text["title"], text["standing"], text["note"], sections, self.bases(node, sections), place
        )
        self.agrees(clause, node)
        for edition, section in sections.items():
            self.once(clause, edition, section, nodes[edition])
        return clause

    def bases(self, node: Node, sections: Mapping[str, str]) -> dict[str, Basis]:
        """How each section's number is known: said of each edition that has one, and of no other."""
        given = node.get("section_basis")
        found: dict[str, Basis] = {}
        for edition, inner in self.by_edition(given):
            if edition in sections:
                try:
                    found[edition] = self.sources.basis(inner, node)
                except ClausewayError as error:
                    self.problems += error.problems
            elif given is not None and given.is_map:
                place = inner.key_place or inner.place
                self.problems.append(Problem(place, f"a basis for {edition}, which has no section", one_of(sections)))
        named = {edition for edition, _ in given.items()} if given is not None and given.is_map else set(sections)
        silent = [edition for edition in sections if edition not in named]
        if given is not None and silent:
            self.problems.append(Problem(given.place, f"no basis for {one_of(silent)}", "a basis for each section"))
        return found

    def agrees(self, clause: Clause, node: Node) -> None:
        """Whether a clause with the id of a provision says that the provision covers it in part."""
        provision = self.provisions.get(clause.id)
        own = provision.get("sections") if provision is not None else None
        if own is None:
            return
        standing = node.get("standing") or node
        shared = {edition: where.text or "" for edition, where in own.items() if edition in clause.sections}
        if clause.standing == ENCODED:
            for edition, section in shared.items():
                if references(section) != references(clause.sections[edition]):
                    said = f"{clause.id} is encoded as {section} in {edition}, not as {clause.sections[edition]}"
                    expected = "the section of the provision, partly, or another name"
                    self.problems.append(Problem(standing.place, said, expected))
        elif shared and clause.standing != PARTLY:
            said = f"{clause.id} is {clause.standing}, and there is a provision of that name in {one_of(shared)}"
            self.problems.append(Problem(standing.place, said, "partly, or another name"))

    def once(self, clause: Clause, edition: str, section: str, node: Node) -> None:
        """A section stands in one clause of an edition; what a provision leaves of its own may stand beside it."""
        places = references(section)
        if clause.id in self.provisions or not places:
            return
        first = self.listed.setdefault((edition, places), clause)
        if first is not clause:
            said = f"{section} is listed twice in {edition}: {first.id}, {first.place}"
            self.problems.append(Problem(node.place, said, "one clause for a section"))
