"""Every example of every shipped provision, in every edition that it speaks of."""

from __future__ import annotations

from functools import cache

import pytest

from clauseway.answers.examples import Example, examples_of, expected_in, run_example, summary
from clauseway.answers.local_examples import Trials
from clauseway.law.jurisdictions import text
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway_cli.law_text import failure


@cache
def library() -> Library:
    return load()


@cache
def rulebook(code: str, edition: str) -> Rulebook:
    return resolve(library(), [f"{code}@{edition}"])


@cache
def trials() -> Trials:
    return Trials(library())


def cases() -> list[tuple[str, Example]]:
    return [
        (code.id, example)
        for code in library().codes.values()
        for provision in code.provisions
        for example in examples_of(library(), code, provision)
    ]


@pytest.mark.parametrize(("code", "example"), cases(), ids=lambda value: getattr(value, "name", value))
def test_example(code: str, example: Example) -> None:
    ran = 0
    for edition in library().codes[code].editions:
        book = rulebook(code, edition)
        if not expected_in(example, library().codes[code], book):
            continue
        found = run_example(example, book, code)
        assert summary(found) == example.verdict, f"{example.name} in {edition}: {found}"
        ran += 1
    assert ran, f"{example.name} speaks of no edition"


@pytest.mark.parametrize("code", sorted(library().codes))
def test_every_condition_has_examples_of_met_unmet_and_undetermined(code: str) -> None:
    lacking = []
    for edition in library().codes[code].editions:
        for provision in rulebook(code, edition).provisions.values():
            if provision.code != code:
                continue
            seen = {
                (example.condition, example.verdict)
                for example in examples_of(library(), library().codes[code], provision.id)
            }
            for condition in provision.permitted + provision.conditions:
                lacking += [
                    f"{provision.id}/{condition.label}: {verdict}"
                    for verdict in ("met", "unmet", "undetermined")
                    if (condition.label, verdict) not in seen
                ]
    assert not lacking, sorted(set(lacking))


@pytest.mark.parametrize("layer", sorted({text(layer, "layer") for layer in library().layers}))
def test_the_examples_of_a_layer(layer: str) -> None:
    failed = [failure(tried) for tried in trials().of_layer(layer) if not tried.passed]
    assert failed == []
