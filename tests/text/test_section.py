"""Section numbers: read out of what codes and lists print, and ordered as they are numbered."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clauseway.text.section import Reference, canonical_item, nearest_sections, number_key, references, section_key


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("1010.2.12", ["1010.2.12"]),
        ("206.4, 206.5", ["206.4", "206.5"]),
        ("230, 708", ["230", "708"]),
        ("7", ["7"]),
        ("404.2.3 exception 1", ["404.2.3 exception 1"]),
        ("2.21 and Table 2.3", ["2.21", "Table 2.3"]),
        ("Tables 404.2.4.1 and 404.2.4.2", ["Table 404.2.4.1", "Table 404.2.4.2"]),
        ("5.12 to 5.14", ["5.12 to 5.14"]),
        ("Annex A and scope", ["Annex A"]),
        ("scope and 4.2", ["4.2"]),
        ("3.4.6.16.(4)", ["3.4.6.16.(4)"]),
        ("1910.36(f), (g)", ["1910.36(f)", "1910.36(g)"]),
        ("1910.37(b)(4), (6), (7)", ["1910.37(b)(4)", "1910.37(b)(6)", "1910.37(b)(7)"]),
        ("42 CFR 482.41(b)(2) and parallel paragraphs", ["482.41(b)(2)"]),
        ("Chapter 9, Table 11", ["Table 11"]),
        ("7.2.1.6.2(3)", ["7.2.1.6.2(3)"]),
        ("A.7.2.1.6", ["A.7.2.1.6"]),
        ("1010.2.13 items 1 and 2", ["1010.2.13 item 1"]),
        ("D2.21", ["D2.21"]),
        ("D3D26(6)", ["D3D26(6)"]),
        ("D3D24 and D3D26", ["D3D24", "D3D26"]),
        ("ICC A117.1", []),
        ("volume 1", []),
        ("not in the guidance", []),
        ("", []),
    ],
)
def test_a_text_names_places(written: str, read: list[str]) -> None:
    assert [str(each) for each in references(written)] == read


def test_an_item_in_brackets_is_the_same_item() -> None:
    assert references("7.2.1.6.2(3)") == references("7.2.1.6.2 item 3") == (Reference("7.2.1.6.2", "", "3"),)
    assert references("110.26(C)(3)")[0].item == "c.3"


def test_numbers_are_ordered_by_their_groups() -> None:
    ordered = [
        "404.2",
        "404.2.9",
        "404.2.10",
        "Table 404.2.10",
        "1010.1.9",
        "1010.1.9.9",
        "1010.1.9.10",
        "A.7.2",
        "scope",
    ]
    shuffled = list(ordered)
    random.Random(4).shuffle(shuffled)
    assert sorted(shuffled, key=section_key) == ordered


@pytest.mark.parametrize(
    ("written", "item"),
    [
        ("item 4", "4"),
        ("(3)", "3"),
        ("(b)(iv)", "b.iv"),
        (".(4)", "4"),
        ("Exc. 1", "exception 1"),
        ("e", "e"),
        ("Exception 3", "exception 3"),
        ("Item 4.1", "4.1"),
        ("b.iv", "b.iv"),
    ],
)
def test_an_item_has_one_spelling(written: str, item: str) -> None:
    assert canonical_item(written) == item


@pytest.mark.parametrize(
    ("number", "inside"), [("5.12", True), ("5.13.4", True), ("5.14", True), ("5.14.9", True), ("5.15", False)]
)
def test_a_range_holds_what_lies_in_it(number: str, inside: bool) -> None:
    assert references("5.12 to 5.14")[0].holds(Reference(number)) is inside


def test_a_table_is_no_section() -> None:
    assert not Reference("5.1", "table").holds(Reference("5.1"))


KNOWN = [Reference(number) for number in ("10.1", "10.1.9", "10.1.9.1", "10.2", "10.21", "11.1", "11.12.1")]


@pytest.mark.parametrize(
    ("number", "near"),
    [
        ("10.1.9.1.3", ["10.1", "10.1.9.1"]),
        ("10.1.8", ["10.1", "10.1.9"]),
        ("1.0.2", ["10.2"]),
        ("11.21.1", ["11.12.1"]),
        ("99", []),
    ],
)
def test_the_nearest_sections(number: str, near: list[str]) -> None:
    found = [each.number for each in nearest_sections(Reference(number), KNOWN)]
    assert set(near) <= set(found)
    assert bool(near) == bool(found)
    assert found == sorted(found, key=number_key)


@given(st.text(alphabet="0123456789.()§ ,;-–/ABitemexcpontabl", max_size=60))
def test_any_text_is_read(written: str) -> None:
    for each in references(written):
        assert number_key(each.number)
        assert section_key(each.section)


NUMBERS = st.lists(st.integers(1, 999).map(str), min_size=2, max_size=5).map(".".join)


@given(NUMBERS, st.sampled_from(["", "table"]), st.sampled_from(["", "4", "4.1", "exception 1", "b", "b.iv"]))
def test_what_is_printed_is_read_back(number: str, kind: str, item: str) -> None:
    place = Reference(number, kind, item)
    assert references(str(place)) == (place,)
