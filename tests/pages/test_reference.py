"""The reference of the Python package is made from the program, and nothing public is without a word."""

from __future__ import annotations

import inspect
import re
from dataclasses import dataclass

import pytest

import clauseway
from clauseway_pages import reference
from clauseway_pages.reference import reference_pages, said, shown, signature, types_of


def test_every_public_name_has_its_signature_and_what_it_says() -> None:
    (page,) = reference_pages()
    for name in clauseway.__all__:
        if name == "__version__":
            continue
        thing = getattr(clauseway, name)
        assert f'<section id="{name}">' in page.body, name
        if inspect.isfunction(thing):
            assert f"{name}(" in page.body
            raised = "Raises:" in (inspect.getdoc(thing) or "")
            section = page.body.partition(f'<section id="{name}">')[2].partition("</section>")[0]
            assert ("Raises:" in section) is raised
    assert '<section id="text.problems.Problem">' in page.body, "what an error has in it is described"
    ids = re.findall(r'id="([^"]+)"', page.body)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'href="#([^"]+)"', page.body)) <= set(ids)


def test_what_an_answer_is_made_of_is_described() -> None:
    names = {shown(each) for each in types_of([clauseway.check])}
    assert {"answers.finding.Report", "answers.finding.Answer", "answers.finding.Finding"} <= names
    (page,) = reference_pages()
    assert "Whether what is described works by engineering practice" in page.body


def test_a_name_without_a_word_stops_the_page(monkeypatch: pytest.MonkeyPatch) -> None:
    def silent(a: int, *, b: str = "x") -> None:
        pass

    assert signature("silent", silent) == "silent(a: int, *, b: str = 'x') -> None"
    with pytest.raises(ValueError, match="silent does not say"):
        said("silent", silent)

    @dataclass
    class Bare:
        a: int

    with pytest.raises(ValueError, match="Bare does not say"):
        said("Bare", Bare)
    assert reference.ADDRESS == "reference/python.html"
