"""The pages of the shipped rules lead to each other, whoever added a rule; examples and plots are left to the build."""

from __future__ import annotations

from pathlib import Path

import pytest

from clauseway.law.library import load
from clauseway_pages import atlas, computation
from clauseway_pages.atlas import atlas_of
from clauseway_pages.build import pages_of
from clauseway_pages.links import faults
from clauseway_pages.markup import Html
from clauseway_pages.search import synonyms


def test_every_link_of_the_shipped_pages_and_every_synonym_leads_somewhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(atlas, "cases_of", lambda *_: {})
    monkeypatch.setattr(computation, "_worked", lambda _: Html())
    pages = pages_of(atlas_of(load()))
    addresses = [page.address for page in pages]
    assert len(set(addresses)) == len(addresses)
    for page in pages:
        path = tmp_path / page.address
        path.parent.mkdir(exist_ok=True)
        path.write_text(f"<!doctype html>{page.body}", encoding="utf-8")
    assert [str(problem) for problem in faults(tmp_path)] == []
    wanted = {address for several in synonyms().values() for address in several}
    assert wanted <= set(addresses)
