"""Indented JSON text is, to the byte, that of the standard library."""

from __future__ import annotations

import json
from enum import StrEnum
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clauseway.text.indented import indented

SCALARS = st.none() | st.booleans() | st.integers() | st.floats() | st.text()
DATA = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner) | st.tuples(inner, inner) | st.dictionaries(st.text(), inner),
    max_leaves=40,
)


class Word(StrEnum):
    a = "one\n"


def dumped(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, indent=2)


@given(DATA)
def test_it_is_what_the_standard_library_writes(data: Any) -> None:
    assert indented(data) == dumped(data)


@pytest.mark.parametrize("data", [{}, [], (), {"a": {}}, [[]], {Word.a: Word.a}, '\u2028\x00\x7f\\"', 10**30, -0.0])
def test_the_edges(data: Any) -> None:
    assert indented(data) == dumped(data)


@pytest.mark.parametrize("data", [{1: "a"}, {None: 1}, object(), {"a": {1, 2}}, [b"a"]])
def test_what_json_has_no_word_for_is_refused(data: Any) -> None:
    with pytest.raises(TypeError):
        indented(data)
