"""The sheets as Markdown, HTML and CSV: whole, escaped, marked, without outside requests, the same bytes each time."""

from __future__ import annotations

import csv
import io
import re
from functools import cache
from html.parser import HTMLParser
from typing import Any

from typer.testing import CliRunner

from clauseway.case.open import read_openings
from clauseway.case.project import read_project
from clauseway.handover.build import handover_of
from clauseway.handover.data import CAUTIONS
from clauseway.handover.sheet import Handover
from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.source import node_from_data
from clauseway_cli.app import app
from clauseway_cli.handover_page import page_of
from clauseway_cli.handover_write import form, html, markdown

EVIL = "<script>alert(1)</script> | `x` *b* [l](http://e.example) & more"


@cache
def book() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


@cache
def found() -> Handover:
    data: Any = read_openings(shipped_rules() / "examples" / "sensor-magnet.yaml").plain()
    data["project"] = EVIL
    data["openings"]["d"]["location"] = EVIL
    data["openings"]["d"]["devices"]["button"]["sign_text"] = EVIL
    del data["openings"]["d"]["devices"]["button"]["height"]
    return handover_of(book(), read_project(node_from_data(data, "d.yaml"), book().vocabulary), "openings/d")


class Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_html_holds_what_was_typed_as_text_and_asks_nothing_of_the_network() -> None:
    text = html(page_of(found(), book(), EVIL))
    page = Tags()
    page.feed(text)
    tags = {tag for tag, _ in page.seen}
    assert not tags & {"script", "img", "link", "iframe", "a", "object"}
    assert not any(name in ("src", "href", "style") or name.startswith("on") for _, a in page.seen for name in a)
    assert "url(" not in text
    assert "@import" not in text
    assert page.text.count(EVIL) >= 4
    for caution in CAUTIONS:
        assert caution in page.text
    assert "@media print" in text


def test_the_markdown_holds_what_was_typed_as_text() -> None:
    text = markdown(page_of(found(), book(), EVIL))
    assert "<script" not in text
    assert r"\[l\](http" in text
    assert not re.search(r"(?<!\\)\]\(", text)
    widths = [len(re.findall(r"(?<!\\)\|", line)) for line in text.splitlines() if line.startswith("|")]
    heads = [len(re.findall(r"(?<!\\)\|", line)) for line in text.splitlines() if line.startswith("| ---")]
    assert set(widths) == set(heads)


def test_an_unknown_value_is_to_be_measured() -> None:
    text = markdown(page_of(found(), book(), "P"))
    assert "Not known yet" in CliRunner().invoke(app, ["handover", "demo", "d106"]).output
    row = next(line for line in text.splitlines() if line.startswith("| `devices.button.height`"))
    assert "| not known: measure |  |  |" in row
    assert "40 in (1016 mm) to 48 in (1219 mm)" in row


def test_what_rests_on_memory_is_marked() -> None:
    text = markdown(page_of(found(), book(), "P"))
    assert r"\[memory\]" in text
    assert "to be verified in the adopted code" in text


def test_the_form_has_every_step_and_no_formula() -> None:
    rows = list(csv.DictReader(io.StringIO(form(found()))))
    assert [row["step"] for row in rows] == [step.id for step in found().acceptance]
    assert all(row["value"] == row["by"] == row["note"] == "" for row in rows)
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row.values())


def test_the_command_gives_the_same_bytes_each_time() -> None:
    again = found.__wrapped__()
    assert html(page_of(again, book(), "P")) == html(page_of(found(), book(), "P"))
    assert form(again) == form(found())


def test_an_opening_that_does_not_exist_is_named_with_the_nearest() -> None:
    run = CliRunner().invoke(app, ["handover", "demo", "d1011"])
    assert run.exit_code != 0
    assert "no opening d1011" in str(run.exception)
    assert "d101" in str(run.exception)
