"""The report for people: complete, harmless, the same each time, and usable in a browser without a network."""

from __future__ import annotations

import copy
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from clauseway.answers.report import CAUTION
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from clauseway_reports.door import other, shown
from clauseway_reports.page import Part, page, page_of
from clauseway_reports.summary import Line, changed_since, line_of, storeys_of, summary
from clauseway_reports.words import NOWHERE, VERDICTS
from support.axe import axe_source, faults_of
from support.browser import address_of, browsing
from support.demo_report import demo


def lines(report: dict[str, Any]) -> list[Line]:
    return [line_of(door) for door in report["openings"]]


class Reader(HTMLParser):
    """Collects text, and whatever would fetch something."""

    def __init__(self) -> None:
        super().__init__()
        self.text: list[str] = []
        self.fetching: list[str] = []
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.fetching += [f"{tag} {name}" for name, _ in attrs if name in ("src", "href", "action", "srcset", "poster")]

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def read(text: str) -> Reader:
    reader = Reader()
    reader.feed(text)
    return reader


def test_the_page_tells_each_door_with_what_it_violates_and_the_caution() -> None:
    shown = read(page([(demo(), {})]))
    text = " ".join(" ".join(shown.text).split())
    assert shown.fetching == []
    assert text.count(CAUTION) == 2
    for door in demo()["openings"]:
        assert door["id"] in text
        for finding in door["findings"]:
            if finding["verdict"] == "unmet" and finding["of"] == "requirement":
                assert " ".join(finding["says"].split()) in text
                assert finding["citations"][0]["section"] in text
                assert " ".join(finding["remedy"].split()) in text
            if finding["verdict"] == "undetermined" and finding["of"] == "requirement":
                assert all(" ".join(asked["ask"].split()) in text for asked in finding["missing"])


def test_the_same_report_gives_the_same_bytes() -> None:
    assert page([(demo(), {})]) == page([(demo(), {})])


@pytest.mark.parametrize(
    "nasty", ["<script>alert(1)</script>", '"><img src=x onerror=y>', "{{ 7*7 }}", "' onload='x", "&lt;"]
)
def test_what_people_typed_stays_text(nasty: str) -> None:
    report = demo()
    report["project"] = nasty
    report["file"] = nasty
    door = report["openings"][1]
    door["id"] = door["location"] = nasty
    finding = next(f for f in door["findings"] if f["verdict"] == "unmet")
    finding["says"] = finding["remedy"] = nasty
    plain, shown = read(page([(demo(), {})])), read(page([(report, {nasty: nasty})]))
    assert shown.tags.count("script") == plain.tags.count("script")
    assert shown.tags.count("img") == 0
    assert shown.fetching == []
    assert nasty in "".join(shown.text)


def test_findings_link_to_a_site_where_one_is_named() -> None:
    data = demo()
    assert "<a " not in page([(data, {})])
    linked = page([(data, {})], site='https://codes.example/"site"/')
    for opening in data["openings"]:
        for finding in opening["findings"]:
            if finding["verdict"] == "unmet" and finding["of"] == "requirement":
                address = f"https://codes.example/&#34;site&#34;/{finding['page']}"
                assert f'<a href="{address}"><code>{finding["id"]}</code></a>' in linked


def test_an_address_that_a_browser_would_run_is_refused(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, ["report", "demo", "-o", str(tmp_path / "r.html"), "--site", "javascript:alert(1)"])
    assert isinstance(done.exception, ClausewayError)
    assert "https://" in str(done.exception)
    assert not (tmp_path / "r.html").exists()


def test_the_summary_counts_every_door_once() -> None:
    report = demo()
    counted = summary(lines(report), {})
    assert counted.doors == len(report["openings"]) == sum(row.doors for row in counted.storeys)
    assert dict(counted.verdicts) == {
        verdict: sum(1 for door in report["openings"] if door["verdict"] == verdict)
        for verdict in VERDICTS
        if any(door["verdict"] == verdict for door in report["openings"])
    }
    most = counted.clauses[0]
    at = {
        door["id"]
        for door in report["openings"]
        for f in door["findings"]
        if f["id"] == most.finding and f["verdict"] == "unmet" and f["of"] == "requirement"
    }
    assert most.doors == len(at)
    assert [clause.doors for clause in counted.clauses] == sorted((c.doors for c in counted.clauses), reverse=True)


def test_storeys_come_from_the_rooms_beside_a_door() -> None:
    rulebook = resolve(load(), ["ibc@2021"])
    data: Any = {
        "storeys": {"ground": {}},
        "rooms": {"hall": {"storey": "ground"}, "street": {}},
        "openings": {"d1": {"sides": {"in": {"space": "hall"}, "out": {"space": "street"}}}, "d2": {}},
    }
    from clauseway.case.open import project_from_data

    assert storeys_of(project_from_data(data, rulebook)) == {"d1": "ground"}
    assert summary(lines(demo()), {"d101": "ground"}).storeys[0].title == "ground"
    assert summary(lines(demo()), {}).storeys[0].title == NOWHERE


def test_what_changed_since_an_older_report() -> None:
    old, new = demo(), demo()
    old["openings"][0]["verdict"] = "does-not-comply"
    del old["openings"][1]
    assert changed_since(old, lines(new)) == [
        {"id": "d101", "was": "does-not-comply", "now": "complies"},
        {"id": "d102", "was": "", "now": "does-not-comply"},
    ]
    assert "Changed since the record" in page([(new, {})], before=old)
    assert "No door changed its verdict" in page([(new, {})], before=copy.deepcopy(new))


def test_the_command(tmp_path: Path) -> None:
    out = tmp_path / "r.html"
    done = CliRunner().invoke(app, ["report", "demo", "-o", str(out), "--on", "2026-11-25"])
    assert done.exit_code == 1, done.exception
    assert "on 2026-11-25" in out.read_text()
    again = CliRunner().invoke(app, ["report", "demo", "-o", str(out)])
    assert "exists already" in str(again.exception)
    wrong = CliRunner().invoke(app, ["report", "demo", "-o", str(tmp_path / "r.doc")])
    assert "ends in .doc" in str(wrong.exception)


DOOR = """\
codes: [ibc@2021]
openings:
  d1:
    leaves: {leaf: {width: 36 in, panic_hardware: none}}
    fire_rating: 0 min
"""


def test_what_changed_since_a_record(tmp_path: Path) -> None:
    """A door that was not described yet is new; the same file again changes nothing."""
    run = CliRunner()
    old, now, kept = tmp_path / "old.yaml", tmp_path / "now.yaml", tmp_path / "r.json"
    old.write_text(DOOR)
    now.write_text(DOOR + "  d2: {}\n")
    assert run.invoke(app, ["record", str(old), "-o", str(kept)]).exit_code == 0
    for file, wanted in ((old, "No door changed its verdict."), (now, '<th scope="row">d2</th><td>not described</td>')):
        out = tmp_path / f"{file.stem}.html"
        done = run.invoke(app, ["report", str(file), "-o", str(out), "--changed-since", str(kept)])
        assert out.exists(), done.exception
        assert wanted in out.read_text()
        assert '<th scope="row">d1</th><td>' not in out.read_text().partition("Changed since")[2]
    refused = run.invoke(app, ["report", str(now), "-o", str(tmp_path / "r.csv"), "--changed-since", str(kept)])
    assert "with .html or .pdf" in str(refused.exception)


def test_a_person_finds_doors_in_a_browser(tmp_path: Path) -> None:
    path = tmp_path / "r.html"
    path.write_text(page([(demo(), {"d101": "Ground <floor>"})]), encoding="utf-8")
    from playwright.sync_api import expect

    with browsing(390, 844) as (tab, outside):
        said: list[str] = []
        tab.on("console", lambda message: said.append(message.text))
        tab.on("pageerror", lambda error: said.append(str(error)))
        tab.goto(address_of(path))
        shown = "details.door:not([hidden])"
        assert tab.locator(shown).count() == 16
        tab.get_by_role("combobox", name="Verdict").select_option("complies")
        assert tab.locator(shown).count() == 3
        assert tab.locator("output").inner_text() == "3 of 16 doors"
        tab.get_by_role("combobox", name="Verdict").select_option("")
        tab.get_by_label("Door, place or clause").fill("716.2.6")
        assert 0 < tab.locator(shown).count() < 16
        tab.get_by_label("Door, place or clause").fill("")
        tab.get_by_role("combobox", name="Storey").select_option("Ground <floor>")
        assert tab.locator(f"{shown} .name").all_inner_texts() == ["d101"]
        tab.get_by_role("button", name="Show all").press("Enter")
        expect(tab.locator(shown)).to_have_count(16)  # waiting by a script is what the page's policy forbids
        first = tab.locator("details.door summary").first
        first.focus()
        tab.keyboard.press("Enter")
        assert tab.locator("details.door[open]").count() == 1
        assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth"), "wider than a phone"
        assert outside == []
        assert said == []
        tab.emulate_media(media="print")
        tab.evaluate("dispatchEvent(new Event('beforeprint'))")
        assert tab.locator("details.door:not([open])").count() == 0
        assert not tab.locator("form.pick").first.is_visible()


def test_with_many_doors_a_page_holds_what_is_told_of_several_once(tmp_path: Path) -> None:
    """What a script puts together is, piece by piece, what the page of few doors holds."""
    report = demo()
    report["openings"] = copy.deepcopy(report["openings"]) + copy.deepcopy(report["openings"])
    for number, door in enumerate(report["openings"]):
        door["id"] = "1" if number == 0 else f'<{number}> & "x"'
    part = Part(report, [shown(door) for door in report["openings"]], [], {})
    plain, folded = page_of([part], many=0), page_of([part], many=5)
    assert len(folded) < len(plain)
    assert read(folded).fetching == []
    inside = "each => each.map(door => door.querySelector('div').innerHTML.replace(/\\s+/g, ' ').trim())"
    told = []
    for name, text in (("plain", plain), ("folded", folded)):
        path = tmp_path / f"{name}.html"
        path.write_text(text, encoding="utf-8")
        with browsing() as (tab, outside):
            tab.goto(address_of(path))
            if name == "folded":
                assert set(tab.locator("details.door").evaluate_all(inside)) == {""}
                tab.locator("details.door summary").nth(1).press("Enter")
                tab.locator("details.door h4").first.wait_for()
                assert tab.locator("details.door").evaluate_all(inside).count("") == len(report["openings"]) - 1
                tab.evaluate("dispatchEvent(new Event('beforeprint'))")
            told.append(tab.locator("details.door").evaluate_all(inside))
            assert outside == []
    assert told[0] == told[1]
    assert all(told[0])


def test_axe_finds_nothing_serious(tmp_path: Path) -> None:
    source = axe_source(tmp_path)
    report = demo()
    part = Part(report, [shown(door) for door in report["openings"]], [other(each) for each in report["others"]], {})
    told: list[str] = []
    for name, many in (("plain", 0), ("folded", 5)):
        path = tmp_path / f"{name}.html"
        path.write_text(page_of([part], before=demo(), many=many), encoding="utf-8")
        for width, scheme in ((1280, "light"), (390, "dark")):
            with browsing(width) as (tab, _):
                tab.emulate_media(color_scheme=scheme)
                tab.goto(address_of(path))
                told += faults_of(tab, source, f"{name} {width} {scheme}")
    assert told == []


def test_the_same_on_paper() -> None:
    """Read by another library: every door and the caution are there, and two runs give the same bytes."""
    import io

    from pypdf import PdfReader

    from clauseway_reports.paper import pdf

    report = demo()
    report["openings"] = report["openings"][:3]
    shown = page([(report, {})])
    made = pdf(shown)
    assert made == pdf(shown)
    text = " ".join(" ".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(made)).pages).split())
    assert all(door["id"] in text for door in report["openings"])
    assert "the authority having jurisdiction decides" in text
    assert "No ordinary hardware on the leaf always opens this lock" in text
