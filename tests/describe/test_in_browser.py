"""The page in a browser, with the engine running there: served as static files only. By hand: npm fetches Pyodide."""

from __future__ import annotations

import functools
import http.server
import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from clauseway.answers.check import check
from clauseway.answers.report import report_json
from clauseway.case.open import DEMO, open_project, openings_path
from clauseway.law.cache import cache_folder
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway_describe.build import build
from clauseway_describe.fetch import fetched
from support.axe import axe_source, faults_of
from support.browser import browsing

pytestmark = pytest.mark.long
DOOR = "d101"


class Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_: Any) -> None:
        """Say nothing."""


@contextmanager
def served(folder: Path) -> Iterator[str]:
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=str(folder)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("site") / "desk"
    kept = cache_folder() or tmp_path_factory.mktemp("pyodide")
    build(load(), fetched(kept), out, only=("US-CA", "USSEA", "ibc@2021"))
    return out


@contextmanager
def opened(folder: Path, width: int = 1280, scheme: str = "light") -> Iterator[Any]:
    """The page, ready; nothing but its own server is asked, and it says nothing on the console."""
    with served(folder) as address, browsing(width, 1000) as (page, outside):
        said: list[str] = []
        page.emulate_media(color_scheme=scheme)
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        page.goto(f"{address}/index.html")
        page.wait_for_selector("html[data-ready]", state="attached", timeout=90_000)
        yield page
        assert said == []
        assert [one for one in outside if not one.startswith((address, "blob:"))] == []


def test_its_answer_is_byte_for_byte_that_of_the_command_line(folder: Path) -> None:
    rulebook = resolve(load(), ["ibc@2021"])
    text = openings_path(DEMO).read_text(encoding="utf-8")
    with opened(folder) as page:
        found = page.evaluate("text => clauseway.call('report', clauseway.book(), text, 'demo')", text)
        assert found == report_json([check(rulebook, open_project(DEMO, rulebook))])
        print("ready after", page.locator("html").get_attribute("data-ready"), "ms")


def test_from_an_empty_form_to_a_door_without_a_violation(folder: Path) -> None:
    """A person who knows d101 of the demo answers what is asked, until nothing is asked any more."""
    rulebook = resolve(load(), ["ibc@2021"])
    whole = open_project(DEMO, rulebook)
    names = {"lock": "magnet"}

    def answer(path: str, name: str) -> str:
        there = (
            path.replace("openings/door", f"openings/{DOOR}")
            .replace("/locks/lock", "/locks/magnet")
            .replace("/acts/lock", "/acts/magnet")
        )
        given = whole.given(there, name, "")
        if given is not None:
            return given.typed
        reference = whole.references.get((there, name))
        if reference is not None:
            found = whole.things[reference].id if reference else "none"
            return {"magnet": "lock"}.get(found, found)
        listed = whole.lists.get((there, name))
        if listed is not None and listed.members:
            own = [whole.things[member].id for member in listed.members]
            return ", ".join({"magnet": "lock"}.get(each, each) for each in own)
        return "none" if listed is not None and listed.closed else ""

    assert names["lock"] in {thing.id for thing in whole.of_kind("lock")}
    times = []
    with opened(folder) as page:
        page.get_by_role("button", name="New door").click()
        for _ in range(200):
            page.evaluate("document.querySelectorAll('#questions details').forEach(each => { each.open = true; })")
            cards = page.locator("#questions form")
            if page.locator("#answer .verdict").inner_text() == "no violation found" or not cards.count():
                break
            chosen = next(
                (
                    (number, text)
                    for number in range(cards.count())
                    if (
                        text := answer(
                            *[cards.nth(number).get_attribute(f"data-{key}") or "" for key in ("path", "name")]
                        )
                    )
                ),
                None,
            )
            if chosen is None:
                break
            put(page, cards.nth(chosen[0]), chosen[1])
            times.append(int(page.locator("html").get_attribute("data-answered") or 0))
        left = [cards.nth(number).get_attribute("data-path") for number in range(cards.count())]
        assert page.locator("#answer .verdict").inner_text() == "no violation found", left
        assert len(times) > 20
        print(f"{len(times)} answers, median {sorted(times)[len(times) // 2]} ms, slowest {max(times)} ms until drawn")


@pytest.fixture(scope="module")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    return axe_source(tmp_path_factory.mktemp("axe"))


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_axe_finds_nothing_serious_and_nothing_sticks_out(folder: Path, axe: str, width: int, scheme: str) -> None:
    """With a new door, with a door that fails, and with a problem shown."""
    with opened(folder, width, scheme) as page:
        told = faults_of(page, axe, "new door")
        page.get_by_label("Open a file").set_input_files(str(openings_path(DEMO)))
        page.locator("#opening").wait_for(state="visible")
        page.locator("#opening").select_option("d102")
        page.locator("#answer .does-not-comply").wait_for()
        told += faults_of(page, axe, "d102")
        card = page.locator("#questions form", has=page.locator("input[type=text]")).first
        card.locator("input").fill("much")
        card.get_by_role("button", name="Say it").click()
        page.get_by_role("alert").wait_for(state="visible")
        told += faults_of(page, axe, "a problem")
        assert told == []


def test_a_door_is_described_with_the_keyboard_alone(folder: Path) -> None:
    """Tab, arrows, Enter and space; what has the focus is marked, and the focus stays where the work is."""
    with opened(folder) as page:

        def at() -> str:
            return str(
                page.evaluate("document.activeElement.id || document.activeElement.closest('form')?.dataset.name")
            )

        def to(wanted: str) -> None:
            for _ in range(60):
                page.keyboard.press("Tab")
                if at() == wanted:
                    shown = "document.activeElement.closest('label.button') ?? document.activeElement"
                    marked = page.evaluate(f"getComputedStyle({shown}).outlineStyle")
                    assert marked != "none", wanted
                    return
            raise AssertionError(f"{wanted} is not reached; {at()} is")

        for control in ("place", "new", "open", "save", "save-json", "save-answer"):
            to(control)
        to("role")
        before = page.locator("#questions").inner_text()
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Tab")
        page.keyboard.press("Space")
        assert changed(page, before)
        assert at() == "h-ask"
        assert page.locator("#questions form[data-name=role]").count() == 0
        taken = page.locator("button[aria-label*='direction part']")
        taken.evaluate("each => each.closest('details').querySelector('summary').focus()")
        page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        while page.evaluate("document.activeElement.textContent") != "take back" or "direction part" not in str(
            page.evaluate("document.activeElement.getAttribute('aria-label')")
        ):
            page.keyboard.press("Tab")
        before = page.locator("#questions").inner_text()
        page.keyboard.press("Enter")
        assert changed(page, before)
        assert at() == "h-said"
        assert page.locator("#questions form[data-name=role]").count() == 1
        assert page.locator("#things details[open] >> text=passage out").count() == 1, "what was unfolded stays so"


def put(page: Any, card: Any, text: str) -> None:
    """Answer one card as a person would, and wait until the page shows what follows."""
    before = page.locator("#questions").inner_text()
    if text in ("true", "false"):
        card.get_by_role("button").nth(("true", "false").index(text)).click()
    elif card.locator("select[multiple]").count():
        if text == "none":
            card.get_by_role("button", name="none of them").click()
        else:
            card.locator("select").select_option(text.split(", "))
            card.get_by_role("button", name="Say it").click()
    elif card.locator("select").count():
        card.locator("select").select_option(text)
        card.get_by_role("button", name="Say it").click()
    else:
        field = card.locator("input")
        field.fill(text)
        card.get_by_role("button", name="Say it").click()
        if changed(page, before):
            return
        field.fill(", ".join(f"new {name}" for name in text.split(", ")))
        card.get_by_role("button", name="Say it").click()
    assert changed(page, before), f"nothing changed after {text}: {page.locator('#problem').inner_text()}"


def changed(page: Any, before: str) -> bool:
    """Whether an answer was taken, once the page has said so or that something is wrong."""
    wrong = page.locator("#problem").inner_text() if page.locator("#problem").is_visible() else ""
    for _ in range(200):
        if page.locator("#questions").inner_text() != before:
            return True
        now = page.locator("#problem").inner_text() if page.locator("#problem").is_visible() else ""
        if now and now != wrong:
            return False
        page.wait_for_timeout(50)
    return False


def test_a_place_and_a_day_choose_the_law(folder: Path) -> None:
    with opened(folder, 390) as page:
        page.get_by_label("Place or code").select_option("US-CA")
        page.get_by_label("Date of the permit").fill("2024-05-01")
        page.wait_for_timeout(1500)
        early = page.locator("#law").inner_text()
        assert "2021" in early
        page.get_by_label("Place or code").select_option("ibc@2021")
        assert page.get_by_label("Date of the permit").is_disabled()
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "wider than a phone"


def test_a_wrong_file_is_told_and_loses_nothing(folder: Path, tmp_path: Path) -> None:
    wrong, right = tmp_path / "wrong.yaml", tmp_path / "right.yaml"
    wrong.write_text("openings: {a: {kind: swingin}}\n")
    right.write_text("openings: {a: {kind: swinging}, b: {kind: gate}}\n")
    with opened(folder) as page:
        before = page.locator("#things").inner_text()
        page.get_by_label("Open a file").set_input_files(str(wrong))
        page.get_by_role("alert").wait_for(state="visible")
        assert "did you mean: swinging" in page.get_by_role("alert").inner_text()
        assert page.locator("#things").inner_text() == before
        page.get_by_label("Open a file").set_input_files(str(right))
        page.locator("#opening").wait_for(state="visible")
        page.locator("#opening").select_option("b")
        with page.expect_download() as download:
            page.get_by_role("button", name="Save as JSON").click()
        kept = json.loads(Path(download.value.path()).read_text())
        assert kept == {"openings": {"a": {"kind": "swinging"}, "b": {"kind": "gate"}}}
