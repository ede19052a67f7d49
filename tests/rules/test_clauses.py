"""The lists of what a code holds beyond its provisions. Whether they fit their code is asked where they are loaded."""

from __future__ import annotations

import pytest

from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.text.section import references

LISTED = sorted(path.parent.name for path in shipped_rules().glob("codes/*/clauses.yaml"))


@pytest.mark.parametrize("name", LISTED)
def test_a_list_speaks_of_each_edition_of_its_code(name: str) -> None:
    code = load().codes[name]
    assert code.clauses.entries
    assert list(code.clauses.covers) == list(code.editions)


@pytest.mark.parametrize("name", LISTED)
def test_a_clause_names_a_section_or_says_that_there_is_none(name: str) -> None:
    code = load().codes[name]
    wordless = {
        section
        for clause in code.clauses.entries.values()
        for section in clause.sections.values()
        if not references(section) and any(character.isdigit() for character in section)
    }
    assert wordless <= {"volume 1"}, "a number that is not read as a section"
