"""What a citation means: here, in other editions, and where its number belongs to something else."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from clauseway.answers import citing
from clauseway.answers.citing import Meaning, meanings
from clauseway.answers.coverage import Coverage, coverage
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.text.citation import read_citations
from support.clause_code import clause_library


def tables(library: Library, *codes: str) -> list[Coverage]:
    return [
        coverage(resolve(library, [f"{name}@{edition}"]), name, library.codes[name].clauses)
        for name in codes
        for edition in library.codes[name].editions
    ]


def meaning(library: Library, text: str, *codes: str) -> Meaning:
    names = {name: library.codes[name].names for name in codes}
    (found,) = meanings(read_citations(text, names), tables(library, *codes), names)
    return found


@pytest.fixture
def invented(tmp_path: Path) -> Library:
    return clause_library(tmp_path)


def test_a_section_its_standing_and_the_same_elsewhere(invented: Library) -> None:
    found = meaning(invented, "XX 2021 10.1.9", "xx")
    assert found.state == citing.FOUND
    assert [(each.row.title, each.row.standing) for each in found.here] == [("Width of a door", "encoded")]
    assert [(each.edition, each.section) for each in found.elsewhere] == [("2024", "10.1.10")]
    assert found.number_of == ()


def test_the_code_by_another_of_its_names(invented: Library) -> None:
    assert meaning(invented, "Door Book (2021), 10.1.9", "xx").state == citing.FOUND


def test_a_number_that_two_editions_use_for_two_matters(invented: Library) -> None:
    found = meaning(invented, "XX 2024 10.1.10", "xx")
    assert found.state == citing.FOUND
    (other,) = found.number_of
    assert (other.of.edition, other.of.row.title) == ("2021", "Height of a door")
    assert [each.section for each in other.stands_in] == ["10.1.11"]


def test_a_number_of_another_edition(invented: Library) -> None:
    found = meaning(invented, "XX 2024 10.1.9", "xx")
    assert found.state == citing.MOVED
    assert not found.sound
    (other,) = found.number_of
    assert (other.of.edition, other.of.row.title) == ("2021", "Width of a door")
    assert [each.section for each in other.stands_in] == ["10.1.10"]


def test_an_item_is_followed_into_another_edition(invented: Library) -> None:
    found = meaning(invented, "XX 2021 10.1.9 item 1", "xx")
    assert found.here[0].encoded_as == ("wide/width",)
    assert [(each.edition, each.section) for each in found.elsewhere] == [("2024", "10.1.10 item 2")]


def test_an_item_of_which_nothing_is_encoded(invented: Library) -> None:
    found = meaning(invented, "XX 2021 10.1.9 item 7", "xx")
    assert found.unknown_item == "7"
    assert not found.sound


def test_a_condition_with_a_section_of_its_own(invented: Library) -> None:
    found = meaning(invented, "XX 2021 10.1.9.1", "xx")
    assert found.here[0].row.by == ("wide/again",)
    assert [each.section for each in found.elsewhere] == ["10.1.10.1"]


def test_a_clause_that_no_rule_carries(invented: Library) -> None:
    found = meaning(invented, "XX 2021 10.3", "xx")
    assert (found.here[0].row.standing, found.here[0].row.note) == ("needs-human", "Look at it.")
    assert [each.section for each in found.elsewhere] == ["10.2 item 4"]


def test_an_unknown_section_with_what_would_hold_it(invented: Library) -> None:
    found = meaning(invented, "XX 2021 10.1.9.7", "xx")
    assert found.state == citing.WITHIN
    assert found.within is not None
    assert found.within.section == "10.1.9"
    assert "10.1.9.1" in [each.section for each in found.nearest]


def test_an_unknown_section_with_its_neighbours(invented: Library) -> None:
    found = meaning(invented, "XX 2021 10.1.11", "xx")
    # In 2024 that is the height.
    assert found.state == citing.MOVED
    found = meaning(invented, "XX 2021 10.1.12", "xx")
    assert found.state == citing.UNKNOWN
    assert "10.1.10" in [each.section for each in found.nearest]
    assert meaning(invented, "XX 2021 88.1", "xx").nearest == ()


def test_without_an_edition_all_are_shown(invented: Library) -> None:
    found = meaning(invented, "XX 10.1.10", "xx")
    assert found.state == citing.OPEN
    assert [(each.edition, each.row.title) for each in found.here] == [
        ("2021", "Height of a door"),
        ("2024", "Width of a door"),
    ]


def test_without_a_code_all_are_shown(invented: Library) -> None:
    assert [each.edition for each in meaning(invented, "10.1.10", "xx").here] == ["2021", "2024"]


def test_an_edition_that_is_not_there(invented: Library) -> None:
    found = meaning(invented, "XX 2019 10.1.10", "xx")
    assert found.state == citing.NO_EDITION
    assert found.known == ("xx@2021", "xx@2024")


def test_a_code_that_is_not_there(invented: Library) -> None:
    found = meaning(invented, "XY 2021 10.1.10", "xx")
    assert (found.state, found.near, found.here) == (citing.NO_CODE, "", ())
    assert meaning(invented, "DORBOOK 2021 10.1.10", "xx").near == "xx"


# --- the shipped codes --------------------------------------------------------------------------------------


@cache
def shipped() -> tuple[Library, tuple[Coverage, ...]]:
    library = load()
    return library, tuple(tables(library, "ibc", "ada"))


def shipped_meaning(text: str) -> Meaning:
    library, found = shipped()
    names = {name: library.codes[name].names for name in ("ibc", "ada")}
    (each,) = meanings(read_citations(text, names), found, names)
    return each


def test_a_mistake_that_is_common_in_print() -> None:
    found = shipped_meaning("IBC 2021 1010.1.9.9")
    assert found.state == citing.MOVED
    stands = {(o.of.edition, o.of.row.matters[0]): [each.section for each in o.stands_in] for o in found.number_of}
    assert stands[("2018", "sensor-release")] == ["1010.2.12"]
    assert stands[("2015", "door-hardware-release")] == ["1010.2.11"]


def test_a_number_with_a_neighbour_in_another_edition() -> None:
    found = shipped_meaning("IBC 2021 1010.2.11")
    assert found.here[0].row.matters == ("door-hardware-release",)
    assert {each.edition: each.section for each in found.elsewhere}["2018"] == "1010.1.9.10"
    assert ("2024", ("sensor-release",)) in [(o.of.edition, o.of.row.matters) for o in found.number_of]


def test_the_only_edition_needs_no_name() -> None:
    assert shipped_meaning("ADA 404.2.9").sound


def test_every_encoded_section_is_found_by_its_own_citation() -> None:
    _, found = shipped()
    for table in found:
        for row in table.rows:
            if row.place is None or row.place.last:
                continue
            each = shipped_meaning(f"{table.code.upper()} {table.edition} {row.section}")
            assert each.state == citing.FOUND, row.section
            assert row in [standing.row for standing in each.here], row.section
