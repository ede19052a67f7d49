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


def cells(text: str) -> bytes:
    """A sheet of one row."""
    return (
        '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">'
        f"{text}</row></sheetData></worksheet>"
    ).encode()


def many_cells(path: Path) -> None:
    """Cells that differ, so that they fold badly, and that would take gigabytes in memory."""
    row = "".join(f"<c><v>{number * 7919 % 100_003}</v></c>" for number in range(200_000))
    with_part(path, SHEET, cells(row * 20))


HOSTILE: dict[str, tuple[Callable[[Path], None], str]] = {
    "not-a-zip": (not_a_zip, "no .xlsx workbook"),
    "empty": (an_empty_file, "no .xlsx workbook"),
    "another-archive": (another_archive, "cannot be read"),
    "bomb": (a_bomb, "unfolds to"),
    "many-parts": (many_parts, "3000 parts"),
    "external-entity": (lambda path: with_part(path, SHEET, ENTITY), "cannot be read"),
    "entities": (lambda path: with_part(path, SHEET, LAUGHS), "cannot be read"),
    "far-cell": (lambda path: with_part(path, SHEET, FAR), "reaches to XFD1048576"),
    "many-cells": (many_cells, "sheets unfold to"),
    "no-such-text": (lambda path: with_part(path, SHEET, cells('<c r="A1" t="s"><v>99</v></c>')), "cannot be read"),
    "no-number": (lambda path: with_part(path, SHEET, cells('<c r="A1" t="n"><v>abc</v></c>')), "cannot be read"),
    "no-date": (lambda path: with_part(path, SHEET, cells('<c r="A1" t="d"><v>2026-99-99</v></c>')), "cannot be read"),
    "no-such-cell": (lambda path: with_part(path, SHEET, cells('<c r="1A"><v>1</v></c>')), "cannot be read"),
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


def test_macros_are_neither_run_nor_kept(tmp_path: Path) -> None:
    from clauseway_schedules.answer_sheet import answered_xlsx
    from clauseway_schedules.openings import Imported

    path = tmp_path / "doors.xlsm"
    with_part(path, "xl/vbaProject.bin", b"\xd0\xcf\x11\xe0 Shell calc.exe")
    assert read_book(path).sheets[0].at(2, 1).text == "d1"
    with pytest.raises(ClausewayError, match="macros, which are not kept"):
        answered_xlsx(path, Imported({}, (), (), ()), {})


def test_links_to_other_files_are_not_followed_and_do_not_travel(tmp_path: Path) -> None:
    from clauseway_schedules.answer_sheet import answered_xlsx
    from clauseway_schedules.openings import Imported

    path = tmp_path / "doors.xlsx"
    plain_book(path)
    with zipfile.ZipFile(path) as old:
        parts = {entry: old.read(entry) for entry in old.namelist()}
    start = b'<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    kinds = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    types = b'<Override PartName="/xl/externalLinks/externalLink1.xml" ContentType="application/vnd.openxmlformats-'
    types += b'officedocument.spreadsheetml.externalLink+xml"/></Types>'
    parts["[Content_Types].xml"] = parts["[Content_Types].xml"].replace(b"</Types>", types)
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace(
        b"</workbook>",
        b'<externalReferences><externalReference xmlns:r="'
        + kinds
        + b'" r:id="rId99"/></externalReferences></workbook>',
    )
    link = b'<Relationship Id="rId99" Type="' + kinds + b'/externalLink" Target="externalLinks/externalLink1.xml"/>'
    rels = "xl/_rels/workbook.xml.rels"
    parts[rels] = parts[rels].replace(b"</Relationships>", link + b"</Relationships>")
    parts["xl/externalLinks/externalLink1.xml"] = (
        b'<externalLink xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><externalBook xmlns:r="'
        + kinds + b'" r:id="rId1"/></externalLink>'
    )  # fmt: skip
    parts["xl/externalLinks/_rels/externalLink1.xml.rels"] = (
        start + b'<Relationship Id="rId1" Type="' + kinds + b'/externalLinkPath" TargetMode="External"'
        b' Target="file:///nowhere/secret.xlsx"/></Relationships>'
    )
    with zipfile.ZipFile(path, "w") as new:
        for entry, content in parts.items():
            new.writestr(entry, content)
    assert read_book(path).sheets[0].at(2, 1).text == "d1"
    answered = answered_xlsx(path, Imported({}, (), (), ()), {})
    out = tmp_path / "out.xlsx"
    out.write_bytes(answered)
    with zipfile.ZipFile(out) as made:
        assert not [entry for entry in made.namelist() if "externalLink" in entry]
        assert not any(b"secret" in made.read(entry) for entry in made.namelist())


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
