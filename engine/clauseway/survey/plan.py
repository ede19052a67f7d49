"""What a survey asks of every row: each condition for each subject of the opening that the rows are like."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from clauseway.answers import finding as F
from clauseway.answers.check import bindings, modes_of
from clauseway.answers.decide_condition import Bound, guarded_in, judge
from clauseway.answers.described import may_agree
from clauseway.case.project import member_path
from clauseway.case.things import Listed, Project, Thing
from clauseway.law.rulebook import DESCRIPTION, Rulebook
from clauseway.model.provision import Condition, Derivation, Provision
from clauseway.model.vocabulary import SUBJECTS
from clauseway.readers.decide import Decider
from clauseway.survey.columns import Columns
from clauseway.survey.combinations import Assumed, Combinations
from clauseway.survey.dependence import Key
from clauseway.survey.numbers import Leaf, Unsayable
from clauseway.survey.planes import NEVER, ZERO, Pair, Program
from clauseway.survey.terms import Terms


@dataclass(frozen=True)
class Cell:
    """A condition for one subject in one mode. `unseen`: the subject stands for those that may exist besides.

    `met`, `unmet` and `not_asked` are planes of the program; the rest of the rows are undetermined.
    """

    finding: str
    code: str
    subject: F.Subject
    mode: str
    met: int
    unmet: int
    not_asked: int
    unseen: bool = False
    settled: Combinations[str] | None = None
    """The checker's own verdict, for rows that are undetermined; none where nothing could settle them."""


@dataclass(frozen=True)
class Plan:
    """The program for all rows that are like one opening."""

    rulebook: Rulebook
    project: Project
    opening: str
    columns: Columns
    program: Program
    leaves: Sequence[Leaf]
    cells: Sequence[Cell]
    accept_memory: bool = False


def alone(project: Project, opening: str, columns: Mapping[Key, object], rulebook: Rulebook) -> Project:
    """The project with one of its openings only, without what columns say, and open to further openings.

    What other openings the building of a row has is not known, even where the file lists all of its own.
    """
    own = member_path("", "openings", opening)

    def kept(path: str) -> bool:
        return not path.startswith("openings/") or path == own or path.startswith(f"{own}/")

    others = any(not kept(path) for path in project.things)
    things = {path: thing for path, thing in project.things.items() if kept(path)}
    lists: dict[Key, Listed] = {}
    for (path, name), listed in project.lists.items():
        if not kept(path):
            continue
        members = tuple(member for member in listed.members if kept(member))
        is_short = len(members) < len(listed.members) or (others and _of_openings(rulebook, project, path, name))
        lists[path, name] = replace(listed, members=members, least=0, most=None) if is_short else listed
    references = {
        key: target for key, target in project.references.items() if kept(key[0]) and (not target or kept(target))
    }
    facts = {key: given for key, given in project.facts.items() if kept(key[0]) and key not in columns}
    by_mode = {key: given for key, given in project.by_mode.items() if kept(key[0]) and key not in columns}
    owners = {path: owner for path, owner in project.owners.items() if kept(path)}
    return replace(
        project, things=things, lists=lists, references=references, facts=facts, by_mode=by_mode, owners=owners
    )


def _of_openings(rulebook: Rulebook, project: Project, path: str, name: str) -> bool:
    relation = rulebook.vocabulary.kinds[project.things[path].kind].relations[name]
    return "opening" in (relation.kind, *SUBJECTS.get(relation.kind, ())) and not path.startswith("openings/")


def made_plan(rulebook: Rulebook, project: Project, opening: str, names: Sequence[str], accept_memory: bool) -> Plan:
    """The plan for rows that are like one opening of a project, with columns of these names.

    Raises:
        ClausewayError: for a unit that a column cannot have.
    """
    columns = Columns(project, opening, rulebook.vocabulary, names)
    single = alone(project, opening, columns.all, rulebook)
    program, leaves, cells = Program(), list[Leaf](), list[Cell]()
    thing = single.things[member_path("", "openings", opening)]
    for mode in modes_of(rulebook, single):
        terms = Terms(Decider(rulebook, single, mode, accept_memory=accept_memory), columns, program, leaves)
        asks = conditions_on(terms.decider, thing)
        cells += [_cell(terms, provision, condition, bound) for provision, condition, bound in asks]
        cells += _disagreements(terms, thing)
    return Plan(rulebook, single, opening, columns, program, leaves, cells, accept_memory)


def conditions_on(decider: Decider, opening: Thing) -> Iterator[tuple[Provision, Condition, Bound]]:
    """Each condition for each subject that an opening has."""
    for provision in decider.rulebook.requirements:
        if "opening" not in SUBJECTS[provision.subject] or provision.code in decider.rulebook.practice:
            continue
        for bound in bindings(decider, provision.subject, opening):
            for condition in provision.conditions:
                yield provision, condition, bound


def is_unseen(bound: Bound) -> bool:
    """Whether a subject stands for those that may exist besides."""
    passage = bound.env.get("passage")
    return bound.thing.unseen is not None or (passage is not None and passage.unseen is not None)


def _cell(terms: Terms, provision: Provision, condition: Condition, bound: Bound) -> Cell:
    program, decider, env = terms.program, terms.decider, bound.env
    node = guarded_in(decider.rulebook, provision, condition.truth)
    truth = terms.truth(node, env)
    not_asked = terms.not_asked(provision, condition, env)
    asked = not_asked.false
    unseen = is_unseen(bound)
    met, unmet = program.both(truth.true, asked), program.both(truth.false, asked)
    # The checker tells no finding on a description that agrees or may.
    description = provision.code in {code.code for code in decider.rulebook.codes if code.force == DESCRIPTION}
    name = f"{provision.name}/{condition.label}"
    if description:
        return Cell(name, provision.code, bound.subject, decider.mode, program.other(unmet), unmet, ZERO, unseen)
    read = terms.dependence.of(node, env) | terms.dependence.of(provision.applies, env)

    def settle(assumed: Assumed) -> str:
        return judge(decider.trying(assumed, decider.accept_memory), provision, condition, env).verdict

    settled = Combinations(terms.columns, read, settle)
    return Cell(name, provision.code, bound.subject, decider.mode, met, unmet, not_asked.true, unseen, settled)


def _disagreements(terms: Terms, opening: Thing) -> list[Cell]:
    cells = list[Cell]()
    for derivation, part in derivations_on(terms.decider, opening):
        pair = _disagreeing(terms, derivation, part)
        if pair != NEVER:
            finding, subject = f"described.{derivation.id}/agrees", F.Subject(part.kind, part.path)
            cells.append(Cell(finding, "described", subject, terms.decider.mode, pair.false, pair.true, ZERO))
    return cells


def derivations_on(decider: Decider, opening: Thing) -> Iterator[tuple[Derivation, Thing]]:
    """Each derivation that may disagree with what is stated, and each thing of an opening that it is about."""
    for derivation in decider.rulebook.derivations.values():
        kind = derivation.fact.partition(".")[0]
        if derivation.agrees != "any":
            yield from ((derivation, part) for part in decider.project.part(opening.path).things if part.kind == kind)


def disagrees(decider: Decider, derivation: Derivation, part: Thing) -> bool:
    """Whether what is stated of a thing cannot be what is computed for it."""
    name = derivation.fact.partition(".")[2]
    given = decider.project.given(part.path, name, decider.mode)
    stated = decider.assumed.get((part.path, name), given.value if given is not None else None)
    if given is None and (part.path, name) not in decider.assumed:
        return False
    computed, _ = decider.derived(part, derivation.name)
    return may_agree(stated, computed, derivation.agrees) is False


def _disagreeing(terms: Terms, derivation: Derivation, part: Thing) -> Pair:
    decider, name = terms.decider, derivation.fact.partition(".")[2]
    key = (part.path, name)
    if decider.project.given(*key, decider.mode) is None and key not in terms.columns.all:
        return NEVER
    same = (derivation.name, key)
    try:
        return terms.add(same, terms.numbers.disagreement(part, name, derivation))
    except Unsayable:
        pass
    read = terms.dependence.derived(part, derivation.name)
    return terms.asked(
        read | ({key} & terms.columns.all.keys()), lambda trying: disagrees(trying, derivation, part), same
    )
