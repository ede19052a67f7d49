"""What many doors come to: counts by verdict, storey, arrangement and clause."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from clauseway.case.things import Project
from clauseway_reports.words import FINDINGS, NOWHERE, VERDICTS, clause_of

MOST_CLAUSES = 10
Report = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table: what it is about, and how many doors come to each verdict."""

    title: str
    verdicts: tuple[tuple[str, int], ...]

    @property
    def doors(self) -> int:
        """How many doors there are."""
        return sum(number for _, number in self.verdicts)


@dataclass(frozen=True, slots=True)
class Clause:
    """A clause that is not met, and at how many doors."""

    clause: str
    finding: str
    title: str
    doors: int


@dataclass(frozen=True, slots=True)
class Summary:
    """The tables of one report; `clauses` are those not met at most doors, most first."""

    verdicts: tuple[tuple[str, int], ...]
    storeys: tuple[Row, ...]
    arrangements: tuple[Row, ...]
    clauses: tuple[Clause, ...]
    memory: int

    @property
    def doors(self) -> int:
        """How many doors there are."""
        return sum(number for _, number in self.verdicts)


@dataclass(frozen=True, slots=True)
class Line:
    """What a list of doors and its tables need of one door.

    `unmet` are the findings on requirements that are not met, each with its id, its clause and its title; `cells` say
    of each arrangement (id, title) what it would be here.
    """

    id: str
    location: str
    verdict: str
    claimed: tuple[str, ...]
    unmet: tuple[tuple[str, str, str], ...]
    memory: bool
    words: str
    cells: tuple[tuple[str, str, str], ...]


def line_of(door: Mapping[str, Any]) -> Line:
    """The line of one opening of a report."""
    unmet: dict[str, tuple[str, str, str]] = {}
    clauses: set[str] = set()
    for finding in door["findings"]:
        if finding["verdict"] == "unmet" and finding["of"] == "requirement":
            clause = clause_of(finding["citations"][0]) if finding["citations"] else ""
            unmet.setdefault(finding["id"], (finding["id"], clause, finding["title"]))
            clauses.update(clause_of(citation) for citation in finding["citations"])
    words = " ".join([door["id"], door["location"] or "", *sorted(clauses), *sorted(unmet)]).casefold()
    claimed = dict.fromkeys(each["title"] for each in door["arrangements"] if each["claimed"] == "met")
    return Line(
        door["id"],
        door["location"] or "",
        door["verdict"],
        tuple(claimed),
        tuple(unmet.values()),
        bool(door["rests_on_memory"]),
        words,
        tuple(_cells(door)),
    )


def _cells(door: Mapping[str, Any]) -> Iterable[tuple[str, str, str]]:
    """What each arrangement would be at a door, with the conditions that it surely does not meet."""
    titles: dict[str, str] = {}
    cells: dict[str, list[str]] = {}
    for each in door["arrangements"]:
        said = ("meant: " if each["claimed"] == "met" else "") + FINDINGS[each["verdict"]]
        lacks = list(dict.fromkeys(lack["id"] for lack in each["lacks"] if lack["verdict"] == "unmet"))
        said += f" ({', '.join(lacks)})" if lacks else ""
        titles[each["id"]] = each["title"]
        if said not in cells.setdefault(each["id"], []):
            cells[each["id"]].append(said)
    return [(name, titles[name], "; ".join(said)) for name, said in cells.items()]


def summary(doors: Sequence[Line], storeys: Mapping[str, str]) -> Summary:
    """The tables of many doors; `storeys` names the storey of each opening by its id."""
    return Summary(
        _counts(door.verdict for door in doors),
        _rows((storeys.get(door.id, NOWHERE), door.verdict) for door in doors),
        _rows((name, door.verdict) for door in doors for name in door.claimed),
        tuple(_clauses(doors)),
        sum(1 for door in doors if door.memory),
    )


def storeys_of(project: Project) -> dict[str, str]:
    """The storeys that the spaces beside each opening are on, by the opening's id."""
    found: dict[str, str] = {}
    for opening in project.of_kind("opening"):
        names = []
        for side in project.owned_by(opening.path, "side"):
            room = project.references.get((side.path, "space"))
            storey = project.references.get((room, "storey")) if room else None
            if storey:
                names.append(project.things[storey].id)
        if names:
            found[opening.id] = " / ".join(dict.fromkeys(names))
    return found


def changed_since(old: Report, doors: Sequence[Line]) -> list[dict[str, str]]:
    """The doors whose verdict is not what it was in an older report, or that are new or gone."""
    was = {door["id"]: door["verdict"] for door in old["openings"]}
    now = {door.id: door.verdict for door in doors}
    return [
        {"id": name, "was": was.get(name, ""), "now": now.get(name, "")}
        for name in sorted(set(was) | set(now))
        if was.get(name) != now.get(name)
    ]


def _counts(verdicts: Iterable[str]) -> tuple[tuple[str, int], ...]:
    counted = Counter(verdicts)
    return tuple((verdict, counted[verdict]) for verdict in VERDICTS if counted[verdict])


def _rows(pairs: Iterable[tuple[str, str]]) -> tuple[Row, ...]:
    found: dict[str, list[str]] = {}
    for title, verdict in pairs:
        found.setdefault(title, []).append(verdict)
    return tuple(Row(title, _counts(found[title])) for title in sorted(found))


def _clauses(doors: Sequence[Line]) -> list[Clause]:
    seen: dict[str, tuple[str, str, set[str]]] = {}
    for door in doors:
        for name, clause, title in door.unmet:
            seen.setdefault(name, (clause, title, set()))[2].add(door.id)
    ranked = sorted(seen.items(), key=lambda item: (-len(item[1][2]), item[0]))
    return [Clause(clause, name, title, len(at)) for name, (clause, title, at) in ranked[:MOST_CLAUSES]]
