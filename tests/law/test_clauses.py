"""clauses.yaml: what is read, and what is wrong with it, at its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from clauseway.law.library import load
from clauseway.model.provision import Basis
from clauseway.text.problems import ClausewayError
from support.clause_code import CLAUSES, clause_library, clause_rules


def test_clauses_are_read(tmp_path: Path) -> None:
    clauses = clause_library(tmp_path).codes["xx"].clauses
    assert clauses.covers["2024"] == "chapter 10 and annex A"
    colour = clauses.entries["colour"]
    assert dict(colour.sections) == {"2021": "10.2, 10.3", "2024": "10.2 item 4"}
    assert colour.section_basis["2024"] == Basis("memory")
    assert clauses.entries["tall"].section_basis["2021"] == Basis("secondary", "reader")
    assert [clause.id for clause in clauses.in_edition("2024")] == ["colour", "taste"]


def test_a_folder_of_ones_own_adds_clauses(tmp_path: Path) -> None:
    shipped = clause_rules(tmp_path / "shipped")
    own = tmp_path / "own" / "codes" / "xx"
    own.mkdir(parents=True)
    text = CLAUSES.replace("  tall:", "  bars:").replace("  colour:", "  hue:").replace("  taste:", "  smell:")
    (own / "clauses.yaml").write_text(
        text.replace("10.2", "10.7").replace("10.3", "10.8").replace("Annex A", "Annex B")
    )
    code = load([tmp_path / "own"], shipped=shipped).codes["xx"]
    assert len(code.clauses.entries) == 6
    assert code.clauses.covers["2021"] == "chapter 10; chapter 10"
    (own / "clauses.yaml").write_text(CLAUSES, encoding="utf-8")
    with pytest.raises(ClausewayError, match=r"clauses.yaml:4:3: the clause tall is there already: rules/codes/xx"):
        load([tmp_path / "own"], shipped=shipped)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("code: xx", "code: yy", "code yy"),
        ("standing: needs-human", "standing: needs-humans", "did you mean: needs-human?"),
        ("    note: Look up.\n", "", "missing key: note"),
        ('sections: {"2021": "10.2, 10.3", "2024"', 'sections: {"2020": "10.2, 10.3", "2024"', "no edition 2020"),
        ('covers: {"2021"', 'covers: {"2022"', "no edition 2022"),
        (
            'section_basis: {"2021": reader}',
            'section_basis: {"2024": reader}',
            "a basis for 2024, which has no section",
        ),
        ('section_basis: {"2021": reader}', 'section_basis: {"2024": reader}', "no basis for 2021"),
        ('section_basis: {"2021": reader}', 'section_basis: {"2021": raeder}', "did you mean: reader?"),
        ("standing: partly", "standing: out-of-scope", "there is a provision of that name in 2021"),
        ('sections: {"2021": "10.1.10"}', 'sections: {"2021": "10.9"}', None),
        ("standing: partly", "standing: encoded", None),
        (
            'sections: {"2021": "10.1.10"}\n    section_basis: {"2021": reader}\n    standing: partly',
            'sections: {"2021": "10.9"}\n    section_basis: {"2021": reader}\n    standing: encoded',
            "tall is encoded as 10.1.10 in 2021, not as 10.9",
        ),
        ('{"2024": Annex A}', '{"2024": "10.2, item 4"}', "10.2, item 4 is listed twice in 2024: colour"),
        ('{"2024": Annex A}', '{"2024": "10.2 item 5"}', None),
    ],
)
def test_what_is_wrong_is_said(tmp_path: Path, old: str, new: str, message: str | None) -> None:
    assert old in CLAUSES
    text = CLAUSES.replace(old, new, 1)
    if message is None:
        assert clause_library(tmp_path, text).codes["xx"].clauses.entries
        return
    with pytest.raises(ClausewayError) as raised:
        clause_library(tmp_path, text)
    problems = [str(problem) for problem in raised.value.problems]
    found = [problem for problem in problems if message in problem]
    assert found, problems
    assert all(problem.startswith("rules/codes/xx/clauses.yaml:") for problem in found)


def test_several_mistakes_are_told_together(tmp_path: Path) -> None:
    text = CLAUSES.replace('"2021": "10.2', '"2020": "10.2').replace("raeder", "reader").replace("code: xx", "code: zz")
    with pytest.raises(ClausewayError) as raised:
        clause_library(tmp_path, text)
    assert [problem.place.line for problem in raised.value.problems] == [1, 12]
