"""What a reader remembers, skips or takes over from another changes no value, no gap and no fact that it tells."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

import pytest

from clauseway.answers.check import bindings, check
from clauseway.answers.decide_condition import guarded
from clauseway.case.open import open_project
from clauseway.case.things import Project, Thing
from clauseway.language import core
from clauseway.language.possible import Value
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import SUBJECTS
from clauseway.readers import decide
from clauseway.readers.collection import Gaps
from clauseway.readers.compiled import code_of
from clauseway.readers.decide import Decider, Env
from clauseway.readers.facts_read import names_read
from support.openings import know, made_case
from support.rulebooks import rulebook

Found = tuple[Value, Gaps]
Told = dict[tuple[str, str], Value]


class Forgetful(Decider):
    """A reader that remembers no term and skips nothing, since it tells what it reads."""

    def _remembered(self, node: core.Node, env: Env, find: Callable[[], Found]) -> Found:
        return find()

    def _telling_of(self, find: Callable[[], Found]) -> tuple[Found, tuple[()]]:
        return find(), ()


def terms(book: Rulebook, project: Project) -> list[tuple[core.Node, Env]]:
    """The term of every condition for every subject."""
    reader = Decider(book, project)
    return [
        (guarded(provision, node), bound.env)
        for provision in book.provisions.values()
        for thing in project.of_kind("opening" if "opening" in SUBJECTS[provision.subject] else provision.subject)
        for bound in bindings(reader, provision.subject, thing)
        for condition in provision.permitted + provision.conditions
        for node in (condition.own, condition.truth)
    ]


def afresh(book: Rulebook, project: Project, node: core.Node, env: Env, assumed: dict[tuple[str, str], Value]) -> Found:
    """A term as a reader finds it that skips nothing and has never read anything before."""
    return Forgetful(book, project, assumed=assumed, read=lambda *_: None).value(node, env)


def told(
    reader: Decider | None, book: Rulebook, project: Project, node: core.Node, env: Env, unseen: bool = True
) -> Told:
    """The facts that are told for a term, by what a reader knows or by one that knows nothing yet."""
    found: Told = {}

    def tell(thing: Thing, dotted: str, value: Value) -> None:
        if unseen or thing.unseen is None:
            found[thing.path, dotted] = value

    telling = reader.telling(tell) if reader is not None else Forgetful(book, project, read=tell)
    telling.value(node, env)
    return found


def projects() -> list[Project]:
    known = know(rulebook())
    cases = [made_case(known, Random(seed), 0) for seed in range(3)]
    return [open_project("demo", rulebook()), *(each for case in cases for each in (case.partial, case.whole))]


@pytest.fixture(params=["part by part", "as functions"])
def way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Terms are read part by part as long as they are rarely asked, and as compiled functions after that."""
    monkeypatch.setattr(decide, "OFTEN", 0 if request.param == "as functions" else 10**9)
    for name in ("run", "tell"):
        for node, _ in terms(rulebook(), open_project("demo", rulebook())):
            setattr(code_of(rulebook(), node), name, None)
    return str(request.param)


@pytest.mark.parametrize("number", range(7))
def test_one_reader_for_all_finds_what_a_new_one_finds_for_each(number: int, way: str) -> None:
    book, project = rulebook(), projects()[number]
    reader, asked = Decider(book, project), terms(book, project)
    Random(number).shuffle(asked)
    for node, env in asked[:1500]:
        assert reader.value(node, env) == afresh(book, project, node, env, {})
        # Told from what is remembered, or as it is read: the same facts with the same values.
        assert told(reader, book, project, node, env) == told(None, book, project, node, env)
        assert (code_of(book, node).run is not None) is (way == "as functions" and type(node) is not core.Constant)


@pytest.mark.parametrize("number", range(7))
def test_what_a_term_reads_is_what_a_reader_tells_that_skips_nothing(number: int, way: str) -> None:
    book, project = rulebook(), projects()[number]
    reader, asked = Decider(book, project), terms(book, project)
    Random(number).shuffle(asked)
    for node, env in asked[:1000]:
        found = {key: value for key, (_, _, value) in reader.reads(node, env).items()}
        assert list(found.items()) == list(told(None, book, project, node, env, unseen=False).items())
        assert (code_of(book, node).tell is not None) is (way == "as functions")


def test_a_trial_takes_over_only_what_cannot_have_changed(way: str) -> None:
    book, project = rulebook(), open_project("demo", rulebook())
    reader, asked, rng = Decider(book, project), terms(book, project), Random(1)
    gaps = sorted({gap for node, env in asked for gap in reader.value(node, env)[1] if not gap.whole and gap.path})
    kinds = book.vocabulary.kinds
    yes_no = [
        gap
        for gap in gaps
        if gap.kind in kinds and gap.name in kinds[gap.kind].facts and kinds[gap.kind].facts[gap.name].sort == "yes-no"
    ]
    assert yes_no
    changed = 0
    for gap in rng.sample(yes_no, min(12, len(yes_no))):
        assumed: dict[tuple[str, str], Value] = {(gap.path, gap.name): rng.random() < 0.5}
        trial = reader.trying(assumed, False)
        touched = [(node, env) for node, env in asked if gap.name in names_read(book, node)]
        for node, env in rng.sample(touched, min(60, len(touched))) + rng.sample(asked, 60):
            found = trial.value(node, env)
            assert found == afresh(book, project, node, env, assumed)
            changed += found != reader.value(node, env)
    assert changed
    assert any(code_of(book, node).run is not None for node, _ in asked) is (way == "as functions")


def test_a_second_check_is_the_first() -> None:
    project = open_project("demo", rulebook())
    assert check(rulebook(), project) == check(rulebook(), project)
