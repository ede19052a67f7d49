"""What of a code is encoded: the rows of the table, their order and their counts."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from clauseway.answers.coverage import Coverage, coverage
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.text.section import references, section_key
from support.clause_code import CLAUSES, clause_library


def table(root: Path, edition: str, clauses: str = CLAUSES) -> Coverage:
    library = clause_library(root, clauses)
    return coverage(resolve(library, [f"xx@{edition}"]), "xx", library.codes["xx"].clauses)


def test_each_section_has_a_row(tmp_path: Path) -> None:
    rows = table(tmp_path, "2021").rows
    assert [(row.section, row.standing, row.by, row.basis.kind) for row in rows] == [
        ("10.1.9", "encoded", ("wide",), "secondary"),
        ("10.1.9.1", "encoded", ("wide/again",), "secondary"),
        ("10.1.10", "partly", ("tall",), "secondary"),
        ("10.2", "needs-human", (), "memory"),
        ("10.3", "needs-human", (), "memory"),
    ]
    assert rows[0].items == ("1",)
    assert rows[2].note == "Look up."
    assert rows[2].title == "Height of a door"


def test_another_edition_has_other_rows(tmp_path: Path) -> None:
    rows = table(tmp_path, "2024").rows
    assert [(row.section, row.standing, row.basis.kind) for row in rows] == [
        ("10.1.10", "encoded", "memory"),
        ("10.1.10.1", "encoded", "memory"),
        ("10.1.11", "encoded", "secondary"),
        ("10.2 item 4", "needs-human", "memory"),
        ("Annex A", "out-of-scope", "secondary"),
    ]


def test_counts(tmp_path: Path) -> None:
    found = table(tmp_path, "2021")
    assert found.standings == {"encoded": 2, "partly": 1, "needs-human": 2, "out-of-scope": 0}
    assert found.kinds == {"requirement": 2, "locking-arrangement": 0, "derivation": 0, "table": 0}
    assert found.conditions["secondary"] == 3
    assert sum(found.parameters.values()) == 2
    assert table(tmp_path, "2024").conditions["memory"] == 1


def test_a_section_with_a_provision_and_something_left_is_partly_encoded(tmp_path: Path) -> None:
    rows = table(tmp_path, "2021", CLAUSES.replace('"10.2, 10.3"', '"10.1.9"')).rows
    assert [(row.section, row.standing, row.matters) for row in rows if row.section == "10.1.9"] == [
        ("10.1.9", "partly", ("wide", "colour"))
    ]


def test_what_a_person_must_look_at_is_not_hidden_by_what_is_out_of_scope(tmp_path: Path) -> None:
    text = CLAUSES.replace('{"2024": Annex A}', '{"2024": "Annex A, 10.2 item 4"}')
    rows = {row.section: row for row in table(tmp_path, "2024", text).rows}
    assert rows["10.2 item 4"].standing == "needs-human"
    assert rows["10.2 item 4"].note == "Look at it. No rule speaks of it."


@cache
def shipped() -> Library:
    return load()


EDITIONS = [(code.id, edition) for code in shipped().codes.values() for edition in code.editions if not code.always]


@pytest.mark.parametrize(("code", "edition"), EDITIONS, ids=lambda each: str(each))
def test_the_table_of_a_shipped_code_leaves_no_provision_out(code: str, edition: str) -> None:
    rulebook = resolve(shipped(), [f"{code}@{edition}"])
    clauses = shipped().codes[code].clauses
    found = coverage(rulebook, code, clauses)
    sections = [row.section for row in found.rows]
    assert sections == sorted(set(sections), key=section_key)
    shown = {name.partition("/")[0] for row in found.rows for name in row.by}
    encoded = {p.id for p in rulebook.provisions.values() if p.code == code}
    encoded |= {each.id for each in rulebook.derivations.values() if each.code == code}
    assert encoded <= shown
    noted = " ".join(row.note for row in found.rows)
    assert all(clause.note in noted for clause in clauses.in_edition(edition))
    assert sum(found.standings.values()) == len(found.rows)
    for row in found.rows:
        assert row.place is None or str(references(row.section)[0]) == str(row.place)
