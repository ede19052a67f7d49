"""What the page asks of the engine: texts in, JSON out. Runs in the browser on the standard library and PyYAML."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from clauseway.answers import finding as F
from clauseway.answers.address import page_of
from clauseway.answers.check import check
from clauseway.answers.report import CAUTION, citation_data, report_json
from clauseway.case.project import read_project
from clauseway.case.things import Missing, Project, Thing
from clauseway.design.interview import Question, answered, entry_at, questions
from clauseway.law.packed import from_text
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import MANY, ONE, OWNS, Fact, Vocabulary
from clauseway.text.problems import ClausewayError
from clauseway.text.source import node_from_data, parse_yaml

Data = dict[str, Any]
_books: dict[str, Rulebook] = {}
_MOST_QUESTIONS = 40
_NAME = "the description"


def keep_rulebook(name: str, text: str) -> None:
    """Keep a compiled rulebook, as the page was built with it, under a name."""
    if name not in _books:
        _books[name] = from_text(text)


def guarded(call: Callable[[], Any]) -> str:
    """The result of a call as JSON, or what is wrong with what was given."""
    try:
        return json.dumps({"result": call()}, ensure_ascii=False)
    except ClausewayError as error:
        problems = [
            {"at": str(each.place), "found": each.found, "expected": each.expected, "nearest": each.nearest}
            for each in error.problems[:12]
        ]
        return json.dumps({"problems": problems}, ensure_ascii=False)


def view(book: str, data: str, opening: str) -> str:
    """All that the page shows of one opening of a description."""
    return guarded(lambda: _view(_books[book], json.loads(data), opening))


def opened(book: str, text: str, name: str) -> str:
    """The description in the text of a file (YAML or JSON), as data, and the openings in it."""

    def read() -> Any:
        node = parse_yaml(text, name)
        project = read_project(node, _books[book].vocabulary)
        return {"data": node.plain(), "openings": [thing.id for thing in project.of_kind("opening")]}

    return guarded(read)


def as_yaml(data: str) -> str:
    """A description as the text of a file."""

    def write() -> Any:
        import yaml

        return yaml.safe_dump(json.loads(data), sort_keys=False, allow_unicode=True, width=110)

    return guarded(write)


def report(book: str, text: str, name: str, on: str = "") -> str:
    """The report on the text of a file, byte for byte as `clauseway check --format json` writes it."""
    rulebook = _books[book]
    return report_json([check(rulebook, read_project(parse_yaml(text, name), rulebook.vocabulary), on=on)])


def say(book: str, data: str, path: str, kind: str, name: str, text: str) -> str:
    """The description with an answer in it: a fact, a reference or, for a list, the names of its members.

    The thing need not be described yet; `kind` says what it is.
    """

    def change() -> Any:
        rulebook, old = _books[book], json.loads(data)
        relation = rulebook.vocabulary.kinds[kind].relations.get(name)
        whole = relation is not None and relation.form != ONE
        question = Question(Missing(path, kind, name, whole), "", "", (), "", ())
        return answered(rulebook, old, question, text)

    return guarded(change)


def add(book: str, data: str, path: str, relation: str, name: str) -> str:
    """The description with one more member of a list, which is not said to be complete by that."""

    def change() -> Any:
        rulebook, new = _books[book], json.loads(data)
        entry = entry_at(new, path)
        members = entry.setdefault(relation, {})
        if not isinstance(members, dict):
            members = entry[relation] = {}
        members.setdefault(name.strip(), {})
        read_project(node_from_data(new, _NAME), rulebook.vocabulary)
        return new

    return guarded(change)


def forget(data: str, path: str, name: str) -> str:
    """The description without a fact, a reference, a member or what was said of a list."""

    def change() -> Any:
        new = json.loads(data)
        entry = entry_at(new, path)
        entry.pop(name, None)
        complete = entry.get("complete")
        if isinstance(complete, list) and name in complete:
            entry["complete"] = [each for each in complete if each != name]
        return new

    return guarded(change)


def _view(rulebook: Rulebook, data: Data, opening: str) -> Data:
    project = read_project(node_from_data(data, _NAME), rulebook.vocabulary)
    report = check(rulebook, project, only=[opening])
    answer = report.answers[0]
    asked = questions(rulebook, project, answer)
    vocabulary = rulebook.vocabulary
    coded = [f for f in answer.findings if f.code not in report.practice and f.verdict != F.NOT_APPLICABLE]
    own = [f for f in coded if not f.claimed]
    unmet = [f for f in own if f.verdict == F.UNMET]
    fails = [f for f in unmet if f.code not in report.guidance]
    claims = [f for f in coded if f.claimed and f.verdict == F.UNMET] if fails else []
    return {
        "opening": opening,
        "verdict": answer.verdict,
        "works": answer.works,
        "counts": {"unmet": len(fails), **{name: sum(f.verdict == each for f in own) for name, each in _COUNTED}},
        "unmet": [_finding(f) for f in fails + claims],
        "departs": [_finding(f) for f in unmet if f.code in report.guidance],
        "approvals": [_finding(f) for f in own if f.verdict == F.NEEDS_APPROVAL],
        "practice": [_finding(f) for f in answer.findings if f.code in report.practice and f.verdict == F.UNMET],
        "permits": _permits(answer),
        "conflicts": [{"ids": list(each.ids), "why": each.why} for each in answer.conflicts],
        "relies_on": list(answer.relies_on) if answer.verdict != F.FAILS else [],
        "findings": len(coded),
        "resting": sum(bool(f.memory) for f in coded),
        "questions": [_question(vocabulary, each) for each in asked[:_MOST_QUESTIONS]],
        "more_questions": max(0, len(asked) - _MOST_QUESTIONS),
        "arrangements": [_arrangement(each) for each in answer.arrangements],
        "things": [_described(vocabulary, project, thing) for thing in _things_of(project, f"openings/{opening}")],
        "caution": CAUTION,
    }


_COUNTED = (("approvals", F.NEEDS_APPROVAL), ("open", F.UNDETERMINED), ("met", F.MET))


def _permits(answer: F.Answer) -> list[Data]:
    """The arrangements that excuse something, each once for a lock and a direction."""
    by = {(name, finding.subject) for finding in answer.findings for name in finding.excused_by}
    return [_arrangement(each) for each in answer.arrangements if (each.id, each.subject) in by]


def _finding(finding: F.Finding) -> Data:
    return {
        "id": finding.id,
        "page": page_of(finding.id),
        "title": finding.title,
        "says": finding.says,
        "remedy": finding.remedy,
        "subject": finding.subject.path,
        "citations": [citation_data(citation) for citation in finding.citations],
        "memory": bool(finding.memory),
    }


def _arrangement(answer: F.ArrangementAnswer) -> Data:
    return {
        "id": answer.id,
        "page": page_of(answer.id),
        "title": answer.title,
        "subject": answer.subject.path,
        "claimed": answer.claimed == F.MET,
        "permitted": answer.permitted,
        "verdict": answer.verdict,
        "citation": citation_data(answer.citation),
        "lacks": [{"id": lack.label, "verdict": lack.verdict, "says": lack.says} for lack in answer.lacks],
    }


def _question(vocabulary: Vocabulary, question: Question) -> Data:
    missing = question.missing
    kind = vocabulary.kinds[missing.kind]
    fact = None if missing.whole else kind.facts.get(missing.name)
    return {
        "path": missing.path,
        "kind": missing.kind,
        "name": missing.name,
        "ask": question.ask,
        "about": question.about,
        "knows": question.knows,
        "waiting": len(question.waiting),
        "for": list(question.waiting[:3]),
        "input": _input(vocabulary, fact) if fact is not None else {"sort": "names", "may_be": list(question.may_be)},
    }


def _input(vocabulary: Vocabulary, fact: Fact) -> Data:
    """How a fact is asked for: its sort, its words, and an example of a quantity."""
    shown: Data = {"sort": fact.sort}
    if fact.sort in ("choice", "choices"):
        listed = vocabulary.lists[fact.values]
        shown["values"] = [[name, listed.values[name].about] for name in listed.values if name in listed.leaves]
    if fact.sort == "quantity":
        shown["example"] = _EXAMPLES.get(fact.unit or "", "with its unit")
    return shown


_EXAMPLES = {
    "length": "such as 42 in or 1067 mm",
    "time": "such as 15 s or 90 min",
    "force": "such as 15 lbf or 67 N",
    "area": "such as 500 ft2 or 46 m2",
    "voltage": "such as 24 V",
    "current": "such as 0.5 A",
    "pressure": "such as 25 Pa",
    "mass": "such as 40 kg",
}


def _things_of(project: Project, path: str) -> list[Thing]:
    """The building, the opening with what belongs to it, and the rooms beside it."""
    things = project.things
    own = [things[at] for at in sorted(things) if at == path or at.startswith(f"{path}/")]
    rooms = {
        room
        for (owner, relation), room in project.references.items()
        if relation == "space" and room and owner.startswith(f"{path}/")
    }
    return [*own, *(things[room] for room in sorted(rooms)), things[""]]


def _described(vocabulary: Vocabulary, project: Project, thing: Thing) -> Data:
    kind = vocabulary.kinds[thing.kind]
    said = [
        {"name": name, "value": given.typed, "ask": kind.facts[name].ask, "known_by": given.known_by}
        for name in kind.facts
        if (given := project.facts.get((thing.path, name))) is not None
    ]
    references = [
        {"name": name, "value": project.things[at].id if at else "none", "ask": relation.ask or relation.about}
        for name, relation in kind.relations.items()
        if relation.form == ONE and (at := project.references.get((thing.path, name))) is not None
    ]
    lists = [_list(project, thing, name) for name, each in kind.relations.items() if each.form == OWNS]
    known = {entry["name"] for entry in [*said, *references]}
    return {
        "path": thing.path,
        "kind": thing.kind,
        "title": kind.title,
        "id": thing.id,
        "said": [*said, *references],
        "lists": lists if thing.path else [],
        "may_say": [
            {"name": name, "ask": fact.ask, "about": fact.about, "input": _input(vocabulary, fact)}
            for name, fact in kind.facts.items()
            if name not in known
        ]
        + [
            {"name": name, "ask": each.ask or each.about, "about": each.about, "input": {"sort": "names", "may_be": []}}
            for name, each in kind.relations.items()
            if each.form in (ONE, MANY) and name not in known
        ],
    }


def _list(project: Project, thing: Thing, name: str) -> Data:
    listed = project.lists.get((thing.path, name))
    members = [project.things[path].id for path in listed.members] if listed is not None else []
    return {"name": name, "members": members, "whole": listed is not None and listed.closed}


def starting() -> str:
    """A description with one swinging door of one leaf between two sides, of which nothing else is known."""
    data: Data = {
        "project": "A door",
        "openings": {
            "door": {
                "kind": "swinging",
                "sides": {"inside": {}, "outside": {}},
                "leaves": {"leaf": {}},
                "passages": {"out": {"from_side": "inside", "to_side": "outside"}},
                "locks": {"lock": {}},
            }
        },
    }
    return json.dumps(data)
