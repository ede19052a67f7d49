"""Citations as people write them: read, told apart, and printed in a form that reads back."""

from __future__ import annotations

import re

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from clauseway.text.citation import LONGEST, Citation, read_citations
from clauseway.text.section import Reference

NAMES = {
    "ibc": ["International Building Code"],
    "nfpa101": ["NFPA 101", "Life Safety Code"],
    "nfpa72": ["NFPA 72"],
    "ada": ["2010 ADA Standards for Accessible Design", "ADA Standards"],
    "osha": ["29 CFR"],
    "en1125": ["EN 1125"],
    "nbcc": ["National Building Code of Canada"],
    "a117-1": ["ICC A117.1"],
}


def read(text: str) -> list[str]:
    return [str(citation) for citation in read_citations(text, NAMES).citations]


@pytest.mark.parametrize(
    ("text", "citations"),
    [
        ("IBC 2021 §1010.2.11", ["IBC 2021 1010.2.11"]),
        ("ibc@2021 1010.2.11", ["IBC 2021 1010.2.11"]),
        ("IBC-2021 1010.2.12", ["IBC 2021 1010.2.12"]),
        ("ibc2021 1010.2.12", ["IBC 2021 1010.2.12"]),
        ("2021 IBC Section 1010.2.11 item 4", ["IBC 2021 1010.2.11 item 4"]),
        ("2018 edition of the IBC, 1010.1.9.9", ["IBC 2018 1010.1.9.9"]),
        ("See the International Building Code (2021), Table 1004.5.", ["IBC 2021 Table 1004.5"]),
        ("NFPA 101-2018, 7.2.1.6.2(3)", ["NFPA101 2018 7.2.1.6.2(3)"]),
        ("NFPA 101, 2018 edition, 7.2.1.6.1.1(3)", ["NFPA101 2018 7.2.1.6.1.1(3)"]),
        ("Life Safety Code (2018) A.7.2.1.6", ["NFPA101 2018 A.7.2.1.6"]),
        ("ADA 404.2.9", ["ADA 404.2.9"]),
        ("ADA 309", ["ADA 309"]),
        ("404.2.9 of the ADA", ["ADA 404.2.9"]),
        ("1010.1.9.9 (IBC 2018)", ["IBC 2018 1010.1.9.9"]),
        ("29 CFR 1910.36(d)(1)", ["OSHA 1910.36(d)(1)"]),
        ("EN 1125:2008, 4.1", ["EN1125 2008 4.1"]),
        ("NBCC 2015 3.4.6.16.(4)", ["NBCC 2015 3.4.6.16.(4)"]),
        ("ICC A117.1-2017, 404.2.5", ["A117-1 2017 404.2.5"]),
        ("1010.2.12", ["1010.2.12"]),
        ("ibc 2021 1010.2.12 Exception 1", ["IBC 2021 1010.2.12 exception 1"]),
        ("item 4 of Section 1010.2.12, IBC 2021", ["IBC 2021 1010.2.12 item 4"]),
        ("IBC (2021) sec. 1010.2.11 #4", ["IBC 2021 1010.2.11 item 4"]),
        ("IBC 2012 1008.1.9", ["IBC 2012 1008.1.9"]),
        ("IBC 2021 1010.2.11.", ["IBC 2021 1010.2.11"]),
    ],
)
def test_one_citation(text: str, citations: list[str]) -> None:
    assert read(text) == citations
    assert read_citations(text, NAMES).unread == ()


@pytest.mark.parametrize(
    ("text", "citations"),
    [
        (
            "IBC 2021 1010.2.11, 1010.2.12 and IBC 2018 1010.1.9.9",
            ["IBC 2021 1010.2.11", "IBC 2021 1010.2.12", "IBC 2018 1010.1.9.9"],
        ),
        ("1010.2.11 and 1010.2.12 of the 2021 IBC", ["IBC 2021 1010.2.11", "IBC 2021 1010.2.12"]),
        ("Sections 1010.2.11, 1010.2.12 (IBC 2021)", ["IBC 2021 1010.2.11", "IBC 2021 1010.2.12"]),
        ("IBC Section 1010.2.11 (2021) or 1010.1.9.9 (2018)", ["IBC 2021 1010.2.11", "IBC 2018 1010.1.9.9"]),
        (
            "1010.1.9.9 in the 2018 IBC is 1010.2.12 in the 2021 IBC",
            ["IBC 2018 1010.1.9.9", "IBC 2021 1010.2.12"],
        ),
        ("IBC 2021 1010.1.9.9; ADA 404.2.9", ["IBC 2021 1010.1.9.9", "ADA 404.2.9"]),
        ("34.5 in wide, 0.25 in thick, per ADA 404.2.3", ["ADA 404.2.3"]),
        ("", []),
        ("nothing here", []),
    ],
)
def test_several_in_one_text(text: str, citations: list[str]) -> None:
    assert read(text) == citations


@pytest.mark.parametrize(
    ("text", "citations", "unknown"),
    [
        ("IFC 2021 1010.2.12", ["IFC 2021 1010.2.12"], "IFC"),
        ("ifc 2021 1010.2.12", ["IFC 2021 1010.2.12"], "ifc"),
        ("2021 IFC 1010.2.12", ["IFC 2021 1010.2.12"], "IFC"),
        ("NFPA 1 14.5.3", ["NFPA 1 14.5.3"], "NFPA 1"),
        ("NFPA 101B 2015 7.2.1", ["NFPA 101B 2015 7.2.1"], "NFPA 101B"),
        ("NFPA 720 2015 7.2.1", ["NFPA 720 2015 7.2.1"], "NFPA 720"),
    ],
)
def test_an_unknown_code_is_not_taken_for_a_known_one(text: str, citations: list[str], unknown: str) -> None:
    found = read_citations(text, NAMES).citations
    assert [str(each) for each in found] == citations
    assert [(each.code, each.unknown) for each in found] == [("", unknown)]


@pytest.mark.parametrize(
    ("text", "unread"),
    [
        ("IBC 2021", ("IBC 2021",)),
        ("2021 IBC 2018 1010.2", ("2021",)),
        ("item 4", ("item 4",)),
        ("ADA 404.2.9, IBC 2018", ("IBC 2018",)),
    ],
)
def test_what_belongs_to_no_section_is_told(text: str, unread: tuple[str, ...]) -> None:
    assert read_citations(text, NAMES).unread == unread


def test_a_text_has_a_longest_length() -> None:
    read_citations("1" * LONGEST, NAMES)
    with pytest.raises(ValueError, match="4001 characters; at most 4000"):
        read_citations("1" * (LONGEST + 1), NAMES)


def test_a_citation_says_where_it_stands() -> None:
    text = "Look at IBC 2021 1010.2.12 item 4 first."
    (found,) = read_citations(text, NAMES).citations
    assert text[found.start : found.end] == found.written == "1010.2.12 item 4"


WORDS = st.sampled_from(
    re.findall(
        r"\S+",
        "IBC ibc NFPA 101 72 ADA 29 CFR Life Safety Code 2021 2018 1999 § section Section table Table item exception "
        "Exc. annex A of the in edition ( ) , ; . : @ - # (3) (b)(iv) .(4) 1010.2.11 7.2.1.6 A.7.2 404 5 10. .5 0.5 "
        "IFC ² é ٣",
    )
)


@settings(max_examples=400)
@given(st.one_of(st.text(max_size=200), st.lists(WORDS, max_size=25).map(" ".join), st.lists(WORDS).map("".join)))
@example("((((((((((")
@example("Section " * 300)
def test_any_text_is_read(text: str) -> None:
    text = text[:LONGEST]
    found = read_citations(text, NAMES)
    for citation in found.citations:
        assert text[citation.start : citation.end] == citation.written
        assert citation.code in ("", *NAMES)
        assert not (citation.code and citation.unknown)
    assert found == read_citations(text, NAMES)


NUMBERS = st.tuples(
    st.sampled_from(["", "", "A."]), st.integers(1, 9999), st.lists(st.integers(0, 99).map(str), min_size=1, max_size=5)
).map(lambda made: f"{made[0]}{made[1]}.{'.'.join(made[2])}")
ITEMS = st.sampled_from(["", "4", "4.1", "12", "exception 1", "b"])
PLACES = st.builds(Reference, NUMBERS, st.sampled_from(["", "table"]), ITEMS)
CITATIONS = st.builds(
    Citation, st.sampled_from(sorted(NAMES)), st.sampled_from(["", "1999", "2021", "2024"]), PLACES
)  # fmt: skip


@settings(max_examples=400)
@given(st.lists(CITATIONS, min_size=1, max_size=4), st.sampled_from(["; ", ", ", " and ", "\n"]))
def test_the_printed_form_reads_back(citations: list[Citation], between: str) -> None:
    text = between.join(str(citation) for citation in citations)
    found = read_citations(text, NAMES)
    read_back = [(each.code, each.edition, each.place) for each in found.citations]
    assert read_back == [(each.code, each.edition, each.place) for each in citations]
    assert found.unread == ()
