"""Whatever is decided about a half-described opening stays so, however the rest of it turns out."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clauseway.answers.check import check
from clauseway.case.project import read_project
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.source import node_from_data, read_yaml
from support.openings import (
    BASES,
    contradictions,
    decisions,
    disagreements,
    hidden,
    know,
    made_case,
)
from support.plain_reader import PlainReader
from support.rulebooks import rulebook, small_rules

SEEDS = st.integers(0, 2**32 - 1)
SHIPPED_ONLY = ("ibc@2021",)


@settings(max_examples=70, deadline=None, derandomize=True)
@given(SEEDS)
def test_what_is_decided_holds_on_every_completion(seed: int) -> None:
    assert not contradictions(rulebook(), seed)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(SEEDS, st.sampled_from(["2015", "2018", "2024"]))
def test_what_is_decided_holds_in_other_editions(seed: int, edition: str) -> None:
    assert not contradictions(rulebook(f"ibc@{edition}"), seed)


@pytest.mark.long
@settings(max_examples=20_000, deadline=None)
@given(SEEDS)
def test_what_is_decided_holds_on_many_completions(seed: int) -> None:
    assert not contradictions(rulebook(), seed, completions=4)


@pytest.mark.long
@settings(max_examples=5_000, deadline=None)
@given(SEEDS, st.sampled_from(["2015", "2018", "2021", "2024"]))
def test_what_all_shipped_rules_decide_holds_on_every_completion(seed: int, edition: str) -> None:
    assert not contradictions(resolve(load(), [f"ibc@{edition}"]), seed)


def test_the_cases_decide_much_and_leave_much_open() -> None:
    seen: Counter[object] = Counter()
    for seed in range(30):
        case = made_case(know(rulebook()), Random(seed))
        seen.update(settled for settled, _ in decisions(rulebook(), case.partial, True).values())
    total = sum(seen.values())
    assert all(seen[truth] > total / 20 for truth in (True, False, None)), seen


@settings(max_examples=60, deadline=None, derandomize=True)
@given(SEEDS, st.booleans())
def test_saying_less_never_makes_an_opening_comply(seed: int, accept_memory: bool) -> None:
    rng = Random(seed)
    book = rulebook(*SHIPPED_ONLY) if rng.random() < 0.7 else rulebook()
    known = know(book)
    said = made_case(known, rng, completions=0).partial
    less = hidden(said, known, rng, rng.randint(1, 3))
    before = {a.id: a.verdict for a in check(book, said, accept_memory=accept_memory).answers if a.kind == "opening"}
    after = {a.id: a.verdict for a in check(book, less, accept_memory=accept_memory).answers if a.kind == "opening"}
    for name, verdict in after.items():
        if verdict in ("complies", "does-not-comply"):
            assert before[name] == verdict, name


@settings(max_examples=40, deadline=None, derandomize=True)
@given(SEEDS, st.booleans())
def test_findings_hold_on_every_completion(seed: int, accept_memory: bool) -> None:
    rng = Random(seed)
    book = rulebook()
    case = made_case(know(book), rng)
    partial = _findings(check(book, case.partial, accept_memory=accept_memory))
    for whole in case.completions:
        for key, verdict in _findings(check(book, whole, accept_memory=accept_memory)).items():
            if partial.get(key, "undetermined") != "undetermined":
                assert verdict == partial[key], key


def _findings(report: object) -> dict[tuple[object, ...], str]:
    """Met or unmet by condition, subject and mode; what asks nothing is met, what an authority decides is open."""
    words = {"met": "met", "not-applicable": "met", "unmet": "unmet"}
    found: dict[tuple[object, ...], str] = {}
    for answer in report.answers:  # type: ignore[attr-defined]
        for finding in answer.findings:
            modes = [finding.mode] if finding.mode else ["", "open", "unoccupied"]
            for mode in modes:
                found[answer.id, finding.id, finding.subject, mode] = words.get(finding.verdict, "undetermined")
    return found


@pytest.mark.parametrize("name", BASES)
def test_taking_devices_away_never_makes_an_opening_comply(name: str) -> None:
    book = rulebook(*SHIPPED_ONLY)
    whole = read_yaml(small_rules() / "examples" / f"{name}.yaml").plain()
    assert isinstance(whole, dict)
    opening = whole["openings"]["d"]  # type: ignore[index, call-overload]
    devices = opening["devices"] if isinstance(opening["devices"], dict) else {}
    for bad in (None, *devices):
        said = {key: {**value, "height": "90 in"} if key == bad else value for key, value in devices.items()}
        before = _verdict(book, whole, said)
        for taken in devices:
            less = {key: value for key, value in said.items() if key != taken}
            assert _verdict(book, whole, less) != "complies" or before == "complies"


def _verdict(book: Rulebook, whole: dict[str, object], devices: dict[str, object]) -> str:
    opening = {**whole["openings"]["d"], "devices": devices or "none"}  # type: ignore[index, call-overload]
    node = node_from_data({**whole, "openings": {"d": opening}}, "doors")
    return check(book, read_project(node, book.vocabulary)).answers[0].verdict


# --- the same from files --------------------------------------------------------------------------------


def _leaves(data: dict[str, object], at: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    found = []
    for key, value in data.items():
        if isinstance(value, dict):
            found += [(*at, key), *_leaves(value, (*at, key))]
        else:
            found.append((*at, key))
    return found


def _without(data: dict[str, object], path: tuple[str, ...]) -> dict[str, object]:
    """The file without one entry; nothing above that entry is said to be whole any more."""
    copy = {key: value for key, value in data.items() if key != "complete" or path[-1] in ("height", "group")}
    head, *rest = path
    if not rest:
        copy.pop(head, None)
    elif isinstance(copy.get(head), dict):
        copy[head] = _without(copy[head], tuple(rest))  # type: ignore[arg-type]
    return copy


@pytest.mark.parametrize("name", BASES)
@settings(max_examples=20, deadline=None, derandomize=True)
@given(st.data())
def test_a_file_that_says_less_decides_nothing_else(name: str, data: st.DataObject) -> None:
    book = rulebook()
    whole = read_yaml(small_rules() / "examples" / f"{name}.yaml").plain()
    assert isinstance(whole, dict)
    part: dict[str, object] = dict(whole)
    for _ in range(data.draw(st.integers(1, 4))):
        removable = [
            path
            for path in _leaves(part)
            if (len(path) > 1 and path[:2] != ("openings", "d")) or len(path) > 3
            if path[0] not in ("project", "codes") and (len(path) > 2 or path[0] != "rooms")
            if not (len(path) == 4 and path[2] in ("sides", "passages", "leaves", "locks"))
        ]
        if removable:
            part = _without(part, data.draw(st.sampled_from(removable)))
    full = read_project(node_from_data(whole, "whole"), book.vocabulary)
    less = read_project(node_from_data(part, "part"), book.vocabulary)
    assert not disagreements(book, less, [full], accept_memory=False)


@pytest.mark.parametrize("seed", range(3))
def test_the_plain_reader_decides_whole_openings(seed: int) -> None:
    case = made_case(know(rulebook()), Random(seed), completions=0)
    found = Counter(PlainReader(rulebook(), case.whole).decisions().values())
    assert found[True] + found[False] > 4 * found[None]
