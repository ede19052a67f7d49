"""Which mistakes in the rules would no example notice: every mutant is run against the examples that it may reach."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from clauseway.answers.examples import Example, described, examples_of, expected_in, verdict_in
from clauseway.case.things import Project
from clauseway.language import core
from clauseway.law.equivalents import Equivalent, Equivalents
from clauseway.law.library import Code, Library
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Provision
from clauseway.readers.mutants import Mutant, mutants_of, names_in
from clauseway.text.problems import ClausewayError, Problem

KILLED, EQUIVALENT, OPEN = "killed", "equivalent", "open"


@dataclass(frozen=True, slots=True)
class Fate:
    """What became of a mutant in one edition.

    `by` is the example that noticed it, or the reason for which no example can.
    """

    mutant: str
    owner: str
    edition: str
    status: str
    by: str


@dataclass(frozen=True)
class Bench:
    """The examples of a code in one edition, read once, with what each condition depends on."""

    code: Code
    rulebook: Rulebook
    examples: tuple[tuple[Example, Project], ...]
    needs: Mapping[str, frozenset[str]]

    @property
    def edition(self) -> str:
        """The edition of the code."""
        return next(code.edition for code in self.rulebook.codes if code.code == self.code.id)


def bench(library: Library, code: Code, rulebook: Rulebook) -> Bench:
    """The examples of `code` in a rulebook of it, every one of which gives its verdict.

    Raises:
        ClausewayError: for an example whose verdict is not the expected one; mutants could not be told by it.
    """
    examples = []
    for name in code.provisions:
        for example in examples_of(library, code, name):
            if not expected_in(example, code, rulebook):
                continue
            project = described(example, rulebook)
            found = verdict_in(example, project, rulebook, code.id)
            if found != example.verdict:
                raise ClausewayError(
                    Problem(
                        example.changes.place,
                        f"the example {example.name} gives {found} already",
                        f"{example.verdict}; clauseway rules test tells more",
                    )
                )
            examples.append((example, project))
    return Bench(code, rulebook, tuple(examples), _needs(rulebook, code.id))


def mutated(
    library: Library, code: Code, editions: Sequence[str], wanted: frozenset[str], explained: Equivalents
) -> list[Fate]:
    """What becomes of each mutant of the wanted provisions, derivations and tables of a code, in some editions.

    A code that speaks in every rulebook has readers in the other codes: their examples, in the newest edition of each,
    are asked as well.

    Raises:
        ClausewayError: for an example that does not give its verdict, or rules that do not fit together.
    """
    found: list[Fate] = []
    asked = wanted & {f"{code.id}.{name}" for name in code.provisions}
    if not asked:
        return found
    readers = [
        bench(library, other, resolve(library, [f"{other.id}@{other.editions[-1]}"]))
        for other in library.codes.values()
        if code.always and not other.always
    ]
    for edition in editions:
        rulebook = resolve(library, [f"{code.id}@{edition}"])
        own = bench(library, code, rulebook)
        for name in names_in(rulebook, code.id):
            if name in asked:
                found.extend(fates(own, name, explained, readers))
    return found


def fates(bench: Bench, name: str, equivalents: Equivalents, readers: Sequence[Bench] = ()) -> Iterator[Fate]:
    """What becomes of each mutant of a provision, derivation or table; `readers` are asked where `bench` is silent."""
    elsewhere = [(reader, {mutant.id: mutant for mutant in mutants_of(reader.rulebook, name)}) for reader in readers]
    for mutant in mutants_of(bench.rulebook, name):
        benches = [(bench, mutant), *((reader, same[mutant.id]) for reader, same in elsewhere if mutant.id in same)]
        status, by = _fate(benches, equivalents)
        yield Fate(mutant.id, mutant.owner, bench.edition, status, by)


def _fate(benches: Sequence[tuple[Bench, Mutant]], equivalents: Equivalents) -> tuple[str, str]:
    own, mutant = benches[0]
    if mutant.equivalent:
        return EQUIVALENT, mutant.equivalent
    for asked, same in benches:
        noticed = killer(asked, same)
        if noticed is not None:
            return KILLED, noticed.name if asked is own else f"{asked.code.id}: {noticed.name}"
    explained = equivalents.of(mutant.id, own.edition)
    return (EQUIVALENT, explained.reason) if explained is not None else (OPEN, "")


def killer(bench: Bench, mutant: Mutant) -> Example | None:
    """The first example that gives another verdict under a mutant: those of the same condition are asked first."""
    rulebook, code = mutant.rulebook(), bench.code.id

    def distance(entry: tuple[Example, Project]) -> int:
        example = entry[0]
        if f"{code}.{example.provision}/{example.condition}" == mutant.part:
            return 0
        return 1 if f"{code}.{example.provision}" == mutant.owner else 2

    reached = [entry for entry in bench.examples if mutant.part in bench.needs[_condition(code, entry[0])]]
    for example, project in sorted(reached, key=distance):
        if verdict_in(example, project, rulebook, code) != example.verdict:
            return example
    return None


def _condition(code: str, example: Example) -> str:
    return f"{code}.{example.provision}/{example.condition}"


def stale(equivalents: Equivalents, found: Sequence[Fate], whole: frozenset[str]) -> list[tuple[Equivalent, str]]:
    """Explanations that explain nothing: of a mutant that is not there, or that an example notices.

    Only mutants of the provisions in `whole` are asked, all of whose mutants are among `found`.
    """
    by_id: dict[str, dict[str, str]] = {}
    for fate in found:
        by_id.setdefault(fate.mutant, {})[fate.edition] = fate.status
    problems = []
    for equivalent in equivalents.entries:
        if equivalent.owner not in whole:
            continue
        fate_by_edition = by_id.get(equivalent.mutant, {})
        editions = equivalent.editions or tuple(fate_by_edition)
        if not fate_by_edition:
            problems.append((equivalent, "there is no such mutant"))
        elif not any(fate_by_edition.get(edition) == EQUIVALENT for edition in editions):
            problems.append((equivalent, "an example notices it"))
    return problems


# --- what may change with what --------------------------------------------------------------------------


def _needs(rulebook: Rulebook, code: str) -> dict[str, frozenset[str]]:
    """For each condition of a code, everything whose change may change its verdict."""
    direct: dict[str, set[str]] = {}
    for name, derivation in rulebook.derivations.items():
        direct[name] = _read_in([derivation.node])
    for provision in rulebook.provisions.values():
        conditions = provision.permitted + provision.conditions
        direct[provision.name] = _read_in(_around(provision))
        direct[_whole(provision.name)] = {provision.name, *(f"{provision.name}/{c.label}" for c in conditions)}
        for condition in conditions:
            own = _read_in([condition.own, condition.truth])
            direct[f"{provision.name}/{condition.label}"] = {provision.name, *own}
    closed: dict[str, frozenset[str]] = {}
    for provision in rulebook.provisions.values():
        if provision.code == code:
            for condition in provision.permitted + provision.conditions:
                name = f"{provision.name}/{condition.label}"
                closed[name] = _closure(name, direct)
    return closed


def _whole(arrangement: str) -> str:
    """The name under which an arrangement with all its conditions is needed."""
    return f"{arrangement}!"


def _around(provision: Provision) -> list[core.Node]:
    return [provision.applies, provision.recognised, *(assumption.node for assumption in provision.assumptions)]


def _read_in(nodes: Sequence[core.Node]) -> set[str]:
    found: set[str] = set()
    for node in nodes:
        for part in core.walk(node):
            if isinstance(part, core.Holds):
                found.add(_whole(part.arrangement))
            elif isinstance(part, core.Get) and part.derived:
                found.add(part.derived)
            elif isinstance(part, core.Parameter):
                found.add(part.key)
            elif isinstance(part, core.Lookup):
                found.add(part.table)
    return found


def _closure(name: str, direct: Mapping[str, set[str]]) -> frozenset[str]:
    found: set[str] = set()
    waiting = [name]
    while waiting:
        at = waiting.pop()
        if at not in found:
            found.add(at)
            waiting.extend(direct.get(at, ()))
    return frozenset(found)
