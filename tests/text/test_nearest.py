from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clauseway.text.nearest import nearest, one_of

KINDS = ("electromagnetic-direct-pull", "electromagnetic-shear", "electric-strike", "electrified-mortise")


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("electric_strike", "electric-strike"),
        ("Electric Strike", "electric-strike"),
        ("electricstrike", "electric-strike"),
        ("electrc-strike", "electric-strike"),
        ("electromagnetic-sheer", "electromagnetic-shear"),
        ("keypad", None),
        ("", None),
        ("---", None),
        ("x" * 5000, None),
    ],
)
def test_the_closest_name_is_found(word: str, expected: str | None) -> None:
    assert nearest(word, KINDS) == expected


def test_no_candidates_give_none() -> None:
    assert nearest("word", ()) is None


def test_the_order_of_candidates_does_not_matter() -> None:
    assert nearest("abcd", ["abcf", "abce"]) == nearest("abcd", ["abce", "abcf"]) == "abce"


@given(st.lists(st.text(alphabet="abcde-_ ", max_size=6), max_size=6), st.text(alphabet="abcde-_ ", max_size=6))
def test_the_nearest_is_a_candidate(candidates: list[str], word: str) -> None:
    found = nearest(word, candidates)
    assert found is None or found in candidates
    assert found == nearest(word, reversed(candidates))


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        ((), ""),
        (("a",), "a"),
        (("a", "b"), "a or b"),
        (("a", "b", "c", "a"), "a, b or c"),
        (tuple("abcdefgh"), "a, b, c, d, e, f, g or h"),
        (tuple("abcdefghij"), "a, b, c, d, e, f, g, h or 2 more"),
    ],
)
def test_names_are_listed_for_a_message(names: tuple[str, ...], expected: str) -> None:
    assert one_of(names) == expected
