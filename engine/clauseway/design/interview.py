"""The next question of an opening that is not decided, and what an answer makes of its description."""

from __future__ import annotations

import copy
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from clauseway.answers import finding as F
from clauseway.answers.check import check
from clauseway.case.project import read_project
from clauseway.case.read_value import read_value
from clauseway.case.things import UNASKABLE, Missing, Project
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import KEYED, MANY, ONE, OWNS, Fact, Relation, Vocabulary
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway.text.source import node_from_data

Data = dict[str, Any]
UNKNOWN = ("", "unknown", "?")
"""Answers that say that nobody knows: the fact is not asked again."""

NEW = "new and a name"
"""The answer that describes a thing which is not there yet."""

_KNOWS = {
    "": "the owner, the architect or whoever knows the building and its use",
    "paper": "whoever specifies the hardware",
    "setting": "whoever commissions the lock",
    "wiring": "whoever designs the wiring",
    "device": "whoever specifies the hardware, or the data sheet of the device",
    "hardware": "whoever specifies the hardware",
    "construction": "the architect",
}
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,60}")
_MOST_NAMES = 40


@dataclass(frozen=True, slots=True)
class Question:
    """What to ask next: `waiting` are the ids of the findings that wait for it, `may_be` the answers, if listed."""

    missing: Missing
    ask: str
    about: str
    waiting: tuple[str, ...]
    knows: str
    may_be: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """The state of an interview about one opening: its verdict, and the next question, if one can still matter."""

    verdict: str
    question: Question | None


def ask(rulebook: Rulebook, project: Project, opening: str, asked: Iterable[Missing] = ()) -> Asked:
    """The question that most open findings of an opening (by its id) wait for, other than those asked already."""
    answer = check(rulebook, project, only=[opening]).answers[0]
    if answer.verdict in (F.COMPLIES, F.FAILS):
        return Asked(answer.verdict, None)
    found = questions(rulebook, project, answer, asked)
    return Asked(answer.verdict, found[0] if found else None)


def questions(
    rulebook: Rulebook, project: Project, answer: F.Answer, asked: Iterable[Missing] = ()
) -> tuple[Question, ...]:
    """All that open findings of an opening wait for, the first being what most of them wait for."""
    closed = set(asked)
    waiting: dict[Missing, tuple[str, list[str]]] = {}
    for finding in answer.findings:
        if finding.claimed or finding.verdict not in (F.UNDETERMINED, F.NEEDS_APPROVAL):
            continue
        for each in finding.missing:
            if each.missing.kind not in UNASKABLE and each.missing not in closed:
                ids = waiting.setdefault(each.missing, (each.ask, []))[1]
                if finding.id not in ids:
                    ids.append(finding.id)
    order = {missing: number for number, missing in enumerate(waiting)}
    ranked = sorted(waiting, key=lambda missing: (-len(waiting[missing][1]), not missing.whole, order[missing]))
    return tuple(_question(rulebook.vocabulary, project, missing, *waiting[missing]) for missing in ranked)


def _question(vocabulary: Vocabulary, project: Project, missing: Missing, text: str, ids: list[str]) -> Question:
    kind = vocabulary.kinds[missing.kind]
    fact = kind.facts.get(missing.name)
    if fact is not None and not missing.whole:
        return Question(missing, text, fact.about, tuple(ids), _KNOWS[fact.effort], _may_be(vocabulary, fact))
    relation = kind.relations[missing.name]
    names: tuple[str, ...] = ()
    if relation.form == OWNS or missing.whole:
        names = ("yes, these are all", "none", "names of all of them, with commas between")
    elif relation.form == ONE:
        names = _names(vocabulary, project, missing.path, relation.kind)
    return Question(missing, text, relation.about, tuple(ids), _knows_of(vocabulary, relation.kind), names)


def _knows_of(vocabulary: Vocabulary, kind: str) -> str:
    """Who knows what things of a kind there are: whoever answers for most of their facts."""
    efforts = [fact.effort for _, fact in sorted(vocabulary.kinds[kind].facts.items())]
    return _KNOWS[max(efforts, key=efforts.count)] if efforts else _KNOWS[""]


def _may_be(vocabulary: Vocabulary, fact: Fact) -> tuple[str, ...]:
    if fact.sort in ("yes-no", "approval"):
        return ("yes", "no")
    if fact.sort in ("choice", "choices"):
        listed = vocabulary.lists[fact.values]
        return tuple(name for name in listed.values if name in listed.leaves)
    return (f"a value with a unit of {fact.unit}",) if fact.unit else ()


def answered(rulebook: Rulebook, data: Data, question: Question, text: str) -> Data:
    """The description with an answer in it; the one given is left as it was.

    Raises:
        ClausewayError: for an answer that the question cannot have, with what was expected.
    """
    vocabulary, missing = rulebook.vocabulary, question.missing
    project = read_project(node_from_data(data, "the description"), vocabulary)
    result = copy.deepcopy(data)
    kind = vocabulary.kinds[missing.kind]
    fact = kind.facts.get(missing.name)
    entry = entry_at(result, missing.path)
    if fact is not None and not missing.whole:
        entry[missing.name] = _typed(vocabulary, fact, f"{missing.kind}.{missing.name}", text)
    else:
        relation = kind.relations[missing.name]
        if relation.form == ONE and not missing.whole:
            entry[missing.name] = _reference(vocabulary, project, missing, relation, result, text.strip())
        else:
            _listed(vocabulary, project, missing, relation, result, entry, text)
    read_project(node_from_data(result, "the description"), vocabulary)
    return result


def _typed(vocabulary: Vocabulary, fact: Fact, dotted: str, text: str) -> Any:
    words = {"yes": "true", "y": "true", "no": "false", "n": "false"}
    value: Any = text.strip()
    if fact.sort in ("yes-no", "approval"):
        value = words.get(value.casefold(), value)
    elif fact.sort == "choices":
        value = [] if value == "none" else [part.strip() for part in value.split(",")]
    elif fact.sort == "choice":
        leaves = _may_be(vocabulary, fact)
        if value.isdecimal() and value not in leaves and 1 <= int(value) <= len(leaves):
            value = leaves[int(value) - 1]
    read_value(node_from_data(value, "answer"), fact, dotted, vocabulary)
    return value


def _home(vocabulary: Vocabulary, project: Project, path: str, kind: str) -> tuple[str, Relation] | None:
    """The nearest thing upwards from a path that has a list of things of a kind, and that list."""
    owner: str | None = path
    while owner is not None:
        thing = project.things.get(owner)
        owned = vocabulary.kinds[thing.kind].owned(kind) if thing is not None else None
        if owned is not None:
            return owner, owned
        owner = project.owners.get(owner) if owner else None
    return None


def _names(vocabulary: Vocabulary, project: Project, path: str, kind: str) -> tuple[str, ...]:
    """The answers to which thing of a kind is meant: those described where a name from this path is looked up."""
    home = _home(vocabulary, project, path, kind)
    if home is None:
        return ("none",)
    described = project.lists.get((home[0], home[1].name))
    known = [project.things[member].id for member in described.members] if described is not None else []
    return ("none", *known[:_MOST_NAMES], NEW)


def _reference(
    vocabulary: Vocabulary, project: Project, missing: Missing, relation: Relation, data: Data, text: str
) -> str:
    """A described thing by its name, none, or with `new NAME` one that is described from now on."""
    known = _names(vocabulary, project, missing.path, relation.kind)
    if text in known and text != NEW:
        return text
    word, _, name = text.partition(" ")
    home = _home(vocabulary, project, missing.path, relation.kind)
    if word == "new" and home is not None and _NAME.fullmatch(name) and name != "none":
        _members(data, *home).setdefault(name, {})
        return name
    raise ClausewayError(
        Problem(NOWHERE, f"no {relation.kind} is called {text[:60]}", one_of(known, 12), nearest(text, known) or "")
    )


def _listed(
    vocabulary: Vocabulary, project: Project, missing: Missing, relation: Relation, data: Data, entry: Data, text: str
) -> None:
    """A list said to be whole as it is, empty, or made of named members."""
    word = text.strip().casefold()
    if word == "none":
        entry[missing.name] = "none"
        return
    if word not in ("yes", "y"):
        said = [name.strip() for name in text.split(",") if name.strip()]
        new = {name[4:].strip() for name in said if name.startswith("new ")}
        names = [name[4:].strip() if name.startswith("new ") else name for name in said]
        wrong = [name for name in names if not _NAME.fullmatch(name)]
        if wrong or not names or len(names) > _MOST_NAMES or word in ("no", "n"):
            found = wrong[0][:60] if wrong else text[:60]
            raise ClausewayError(Problem(NOWHERE, f"the answer {found}", "yes, none, or names with commas between"))
        home = _home(vocabulary, project, missing.path, relation.kind) if relation.form == MANY else None
        if home is None:
            new = set()
        else:
            for name in sorted(new):
                _members(data, *home).setdefault(name, {})
        _named(project, relation, entry, missing, names, new)
    if entry.get("complete") in ("true", "all-below"):
        return
    given = entry.get("complete")
    closed = list(given) if isinstance(given, list) else []
    for (path, name), listed in sorted(project.lists.items()):
        if path == missing.path and listed.closed and name not in closed and name in _relations(project, missing.path):
            closed.append(name)
    entry["complete"] = [*closed, *([missing.name] if missing.name not in closed else [])]


def _relations(project: Project, path: str) -> set[str]:
    return {name for (owner, name), listed in project.lists.items() if owner == path and listed.members}


def _named(
    project: Project, relation: Relation, entry: Data, missing: Missing, names: list[str], new: set[str]
) -> None:
    if relation.form in (OWNS, KEYED):
        inner = entry.get(missing.name)
        old: Data = inner if isinstance(inner, dict) else {}
        entry[missing.name] = {**old, **{name: old.get(name, {}) for name in names}}
        return
    if relation.form == MANY:
        known = {thing.id for thing in project.of_kind(relation.kind)}
        for name in names:
            if name not in known | new:
                raise ClausewayError(
                    Problem(
                        NOWHERE,
                        f"no {relation.kind} is called {name}",
                        one_of([f"new {name}", *sorted(known)], 12),
                        nearest(name, sorted(known)) or "",
                    )
                )
        entry[missing.name] = names
        return
    raise ClausewayError(
        Problem(NOWHERE, "members of this list say themselves where they belong", "yes, when all are described")
    )


def _members(data: Data, path: str, relation: Relation) -> Data:
    """The members of a list as they are described; those of the building stand at the top of a file."""
    owner = entry_at(data, path) if path else data
    members = owner.get(relation.name)
    if not isinstance(members, dict):
        members = owner[relation.name] = {}
    return members


def entry_at(data: Data, path: str) -> Data:
    """The part of the data that describes the thing at a path, made where there is none."""
    steps = path.split("/") if path else ["building"]
    entry = data
    for step in steps:
        inner = entry.get(step)
        if not isinstance(inner, dict):
            inner = {}
            entry[step] = inner
        entry = inner
    return entry
