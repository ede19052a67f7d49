"""Schedules that are broken or meant to harm: a clear refusal, and bounded work."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clauseway.text.problems import ClausewayError
from clauseway_schedules.read_book import read_book
from clauseway_schedules.sheet import Workbook, address, letters


def plain_book(path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["NO", "WIDTH"])
    sheet.append(["d1", 36])
    book.save(path)


def with_part(path: Path, name: str, data: bytes) -> None:
    """The plain workbook with one part of its archive exchanged."""
    plain_book(path)
    with zipfile.ZipFile(path) as old:
        parts = {entry: old.read(entry) for entry in old.namelist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for entry, content in {**parts, name: data}.items():
            new.writestr(entry, content)


SHEET = "xl/worksheets/sheet1.xml"
ENTITY = b"""<?xml version="1.0"?><!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/hostname">]>
<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">
<c r="A1" t="inlineStr"><is><t>&x;</t></is></c></row></sheetData></worksheet>"""
LAUGHS = b"""<?xml version="1.0"?><!DOCTYPE a [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>
<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">
<c r="A1" t="inlineStr"><is><t>&b;</t></is></c></row></sheetData></worksheet>"""
FAR = b"""<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1048576">
<c r="XFD1048576"><v>1</v></c></row></sheetData></worksheet>"""


def not_a_zip(path: Path) -> None:
    path.write_bytes(b"PK\x03\x04 nothing of the kind")


def an_empty_file(path: Path) -> None:
    path.write_bytes(b"")


def another_archive(path: Path) -> None:
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("hello.txt", "hello")


def a_bomb(path: Path) -> None:
    with_part(path, "xl/media/big.bin", b"\0" * (80 * 1024 * 1024))


def many_parts(path: Path) -> None:
    with zipfile.ZipFile(path, "w") as archive:
        for number in range(3000):
            archive.writestr(f"p{number}", "")


HOSTILE: dict[str, tuple[Callable[[Path], None], str]] = {
    "not-a-zip": (not_a_zip, "no .xlsx workbook"),
    "empty": (an_empty_file, "no .xlsx workbook"),
    "another-archive": (another_archive, "cannot be read"),
    "bomb": (a_bomb, "unfolds to"),
    "many-parts": (many_parts, "3000 parts"),
    "external-entity": (lambda path: with_part(path, SHEET, ENTITY), "cannot be read"),
    "entities": (lambda path: with_part(path, SHEET, LAUGHS), "cannot be read"),
    "far-cell": (lambda path: with_part(path, SHEET, FAR), "reaches to XFD1048576"),
    "broken-xml": (lambda path: with_part(path, SHEET, b"<worksheet><row>"), "cannot be read"),
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_hostile_workbook_is_refused(tmp_path: Path, kind: str) -> None:
    make, message = HOSTILE[kind]
    path = tmp_path / "doors.xlsx"
    make(path)
    with pytest.raises(ClausewayError, match=message):
        read_book(path)


def test_what_a_cell_may_hold(tmp_path: Path) -> None:
    import datetime

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["t", True, 36, 36.5, datetime.date(2026, 11, 25), "=1+1", "  a \n b ", None])
    sheet["A2"] = "#REF!"
    sheet["A2"].data_type = "e"
    sheet["B2"] = "x" * 5000
    sheet["A3"] = "set"
    sheet.merge_cells("A3:A5")
    path = tmp_path / "doors.xlsx"
    book.save(path)
    found = read_book(path).sheets[0]
    shown = [found.at(1, column).text for column in range(1, 9)]
    assert shown == ["t", "true", "36", "36.5", "2026-11-25", "", "a b", ""]
    assert "formula without its value" in found.at(1, 6).trouble
    assert "error of the spreadsheet" in found.at(2, 1).trouble
    assert "5000 characters" in found.at(2, 2).trouble
    assert [found.at(row, 1).text for row in (3, 4, 5)] == ["set"] * 3
    assert [found.at(row, 1).merged for row in (3, 4, 5)] == [False, True, True]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "nothing in it"),
        (b"NO,A\nd1,\x00", "neither UTF-8 nor UTF-16"),
        (b"NO,A\nd1,\xe4\xf6", "neither UTF-8 nor UTF-16"),
        (b'NO,A\nd1,"open', "not CSV"),
        (b"," * 1000, "columns"),
        (b"a" * 200_000, "not CSV|characters"),
        (b"a\n" * 60_001, "more than 60000 rows"),
    ],
)
def test_a_hostile_text_is_refused(tmp_path: Path, data: bytes, message: str) -> None:
    path = tmp_path / "doors.csv"
    path.write_bytes(data)
    with pytest.raises(ClausewayError, match=message):
        read_book(path)


@pytest.mark.parametrize("name", ["doors.xls", "doors", "doors.pdf"])
def test_another_kind_of_file_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(ClausewayError, match=r"expected: \.csv or \.xlsx"):
        read_book(tmp_path / name)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    for name in ("no.csv", "no.xlsx"):
        with pytest.raises(ClausewayError, match="cannot be read"):
            read_book(tmp_path / name)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_the_usual_ways_of_writing_csv(tmp_path: Path, encoding: str, delimiter: str) -> None:
    path = tmp_path / "doors.csv"
    path.write_text(f"NO{delimiter}WIDTH\nd1{delimiter}é\n", encoding=encoding)
    sheet = read_book(path).sheets[0]
    assert [sheet.at(row, column).text for row in (1, 2) for column in (1, 2)] == ["NO", "WIDTH", "d1", "é"]


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    folder = tmp_path_factory.mktemp("any")
    for name in ("doors.csv", "doors.xlsx"):
        path = folder / name
        path.write_bytes(data)
        with suppress(ClausewayError):
            assert isinstance(read_book(path), Workbook)


@given(st.integers(1, 20_000))
def test_columns_are_named_as_spreadsheets_do(column: int) -> None:
    from openpyxl.utils import get_column_letter

    if column <= 16_384:
        assert letters(column) == get_column_letter(column)
    assert address(7, column) == f"{letters(column)}7"
