"""The examples that ride with a provision: a base, one-line changes, and the verdict each must give."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from clauseway.answers import finding as F
from clauseway.answers.check import bindings
from clauseway.answers.decide_condition import Bound, decide_condition, judge
from clauseway.case.project import read_project
from clauseway.case.things import Project
from clauseway.law.library import Code, Library
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import ARRANGEMENT, Condition, Provision
from clauseway.readers.decide import Decider
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node, read_yaml

VERDICTS = ("met", "unmet", "undetermined", "not-applicable", "needs-approval")
_OPENING = "d"
_BUT, _FROM = "editions", "base"
"""Keys of an example that are no change: the editions it speaks of, and a base of its own."""


@dataclass(frozen=True)
class Example:
    """One example of one condition."""

    provision: str
    condition: str
    verdict: str
    number: int
    changes: Node
    base: Node
    editions: tuple[str, ...]
    own_base: str = ""
    """The base that this example names for itself, where it is not that of all."""

    @property
    def name(self) -> str:
        """What tests call it."""
        return f"{self.provision}/{self.condition}::{self.verdict}-{self.number}"


def examples_of(library: Library, code: Code, provision_id: str) -> Iterator[Example]:
    """The examples of a provision.

    Raises:
        ClausewayError: for a base that is not there.
    """
    yield from examples_in(library, provision_id, code.provisions[provision_id])


def examples_in(library: Library, provision_id: str, node: Node) -> Iterator[Example]:
    """The examples that stand in the file of a provision.

    Raises:
        ClausewayError: for a base that is not there.
    """
    declared = node.get("examples")
    conditions = declared.get("conditions") if declared is not None else None
    if declared is None or conditions is None:
        return
    base = base_of(library, declared)
    change = declared.get("change")
    if change is not None:
        base = changed(base, change)
    for condition, verdicts in conditions.items():
        for verdict, cases in verdicts.items():
            for number, case in enumerate(cases.elements(), 1):
                only = case.get(_BUT)
                editions = tuple(e.text or "" for e in only.elements()) if only is not None else ()
                own = base if case.get(_FROM) is None else base_of(library, case)
                rest = {key: value for key, value in case.items() if key not in (_BUT, _FROM)}
                changes = replace(case, value=rest)
                named = case.get(_FROM)
                own_base = named.text or "" if named is not None else ""
                yield Example(provision_id, condition, verdict, number, changes, own, editions, own_base)


def base_of(library: Library, declared: Node) -> Node:
    """The openings that examples start from: what stands under `base`, or the file of that name.

    Raises:
        ClausewayError: when there is none.
    """
    base = declared.get("base")
    if base is None:
        raise ClausewayError(Problem(declared.place, "examples without a base", "base: the name of a file in examples"))
    if base.is_map:
        return base
    for folder in reversed(library.folders):
        path = folder / "examples" / f"{base.text}.yaml"
        if path.is_file():
            return read_yaml(path, name=f"rules/examples/{base.text}.yaml")
    raise ClausewayError(Problem(base.place, f"no example base {base.text}", "a file in rules/examples"))


def changed(node: Node, changes: Node) -> Node:
    """Openings with the values at some paths changed; `unknown` takes one away."""
    for path, value in changes.items():
        node = _put(node, path.split("."), value, path)
    return node


def _put(node: Node, steps: Sequence[str], value: Node, path: str) -> Node:
    """The tree with the value at a path replaced, or taken away when it is `unknown`."""
    entries = dict(node.items())
    first = next((".".join(steps[:n]) for n in range(len(steps), 0, -1) if ".".join(steps[:n]) in entries), steps[0])
    rest = steps[first.count(".") + 1 :]
    if not rest:
        if value.text == "unknown":
            entries.pop(first, None)
        else:
            entries[first] = value
        return replace(node, value=entries)
    inner = entries.get(first, replace(value, value={}))
    entries[first] = _put(inner if inner.is_map else replace(inner, value={}), rest, value, path)
    return replace(node, value=entries)


def described(example: Example, rulebook: Rulebook) -> Project:
    """The openings that an example describes: its base with its changes.

    Raises:
        ClausewayError: when it describes something the vocabulary does not know.
    """
    return read_project(changed(example.base, example.changes), rulebook.vocabulary)


def run_example(example: Example, rulebook: Rulebook, code: str) -> list[str]:
    """The verdicts that the example's condition gets in a rulebook, one for each subject it applies to.

    Raises:
        ClausewayError: when the example describes something the vocabulary does not know.
    """
    return [own_verdict(found) for found in answers_to(example, rulebook, code)]


def answers_to(example: Example, rulebook: Rulebook, code: str) -> list[F.Finding]:
    """The findings on the example's condition in a rulebook, one for each subject it applies to.

    Raises:
        ClausewayError: when the example describes something the vocabulary does not know.
    """
    project = described(example, rulebook)
    provision = rulebook.provisions[f"{code}.{example.provision}"]
    condition = find_condition(provision, example.condition)
    if condition is None:
        return []
    decider = Decider(rulebook, project, accept_memory=True)
    claimed = provision.kind == ARRANGEMENT
    return [
        decide_condition(decider, provision, condition, bound, claimed=claimed)
        for bound in _subjects(decider, provision)
    ]


def own_verdict(finding: F.Finding) -> str:
    """What an example speaks of: the verdict of the condition by itself, before anything excuses it."""
    return finding.raw if finding.verdict != F.NEEDS_APPROVAL else finding.verdict


def verdict_in(example: Example, project: Project, rulebook: Rulebook, code: str) -> str:
    """What the example's condition comes to in a rulebook, as `run_example` says it, without its sentences."""
    provision = rulebook.provisions[f"{code}.{example.provision}"]
    condition = find_condition(provision, example.condition)
    if condition is None:
        return summary(())
    decider = Decider(rulebook, project, accept_memory=True)
    verdicts = [judge(decider, provision, condition, bound.env) for bound in _subjects(decider, provision)]
    return summary([judged.raw if judged.verdict != F.NEEDS_APPROVAL else judged.verdict for judged in verdicts])


def _subjects(decider: Decider, provision: Provision) -> Iterator[Bound]:
    """What an example of a provision is judged for: its opening, or every thing of a kind that is no opening's."""
    project = decider.project
    if provision.subject in ("room", "stair", "path", "storey", "supply"):
        things = project.of_kind(provision.subject)
    else:
        things = [project.things[f"openings/{_OPENING}"]] if provision.subject != "building" else [project.things[""]]
    for thing in things:
        for bound in bindings(decider, provision.subject, thing):
            if decider.truth(provision.recognised, bound.env)[0] is not False:
                yield bound


def find_condition(provision: Provision, label: str) -> Condition | None:
    """The condition of a provision with a label, if this edition has it."""
    return next((c for c in provision.permitted + provision.conditions if c.label == label), None)


def summary(verdicts: Sequence[str]) -> str:
    """What several subjects come to: unmet before undetermined before met; not applicable only if all are."""
    for verdict in ("unmet", "undetermined", "needs-approval", "met"):
        if verdict in verdicts:
            return verdict
    return "not-applicable"


def expected_in(example: Example, code: Code, rulebook: Rulebook) -> bool:
    """Whether an example speaks of the rulebook's edition of its code."""
    edition = next(c.edition for c in rulebook.codes if c.code == code.id)
    if example.editions:
        return edition in example.editions
    provision = rulebook.provisions.get(f"{code.id}.{example.provision}")
    return provision is not None and find_condition(provision, example.condition) is not None
