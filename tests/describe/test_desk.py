"""What the page asks of the engine, asked here without a browser."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from clauseway.answers.check import check
from clauseway.answers.report import report_json
from clauseway.case.open import DEMO, open_project, openings_path, read_openings
from clauseway.law.library import Library, load
from clauseway.law.packed import to_text
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import from_json
from clauseway.text.problems import ClausewayError
from clauseway_cli.text import report_text
from clauseway_describe import desk, fetch
from clauseway_describe.build import build, engine_zip
from clauseway_describe.periods import periods

BOOK = "ibc"


@cache
def library() -> Library:
    return load()


@pytest.fixture(scope="module", autouse=True)
def kept() -> None:
    desk.keep_rulebook(BOOK, to_text(resolve(library(), ["ibc@2021"])))


def result(text: str) -> Any:
    return json.loads(text)["result"]


def said(data: Any, path: str, kind: str, name: str, text: str) -> Any:
    return result(desk.say(BOOK, json.dumps(data), path, kind, name, text))


def test_the_answer_is_the_one_of_the_command_line() -> None:
    rulebook = resolve(library(), ["ibc@2021"])
    text = openings_path(DEMO).read_text(encoding="utf-8")
    assert desk.report(BOOK, text, DEMO) == report_json([check(rulebook, open_project(DEMO, rulebook))])


def test_a_new_door_is_asked_about_and_an_answer_counts() -> None:
    data = json.loads(desk.starting())
    first = result(desk.view(BOOK, json.dumps(data), "door"))
    assert first["verdict"] == "undetermined"
    question = next(
        each for each in first["questions"] if (each["path"], each["name"]) == ("openings/door/locks/lock", "kind")
    )
    assert question["ask"] == "door, lock lock: What kind of lock is it?"
    assert "electromagnetic-shear" in [name for name, _ in question["input"]["values"]]
    data = said(data, "openings/door/locks/lock", "lock", "kind", "electromagnetic-shear")
    second = result(desk.view(BOOK, json.dumps(data), "door"))
    assert not any((each["path"], each["name"]) == ("openings/door/locks/lock", "kind") for each in second["questions"])
    lock = next(thing for thing in second["things"] if thing["path"] == "openings/door/locks/lock")
    assert [(fact["name"], fact["value"]) for fact in lock["said"]] == [("kind", "electromagnetic-shear")]
    taken_back = result(desk.forget(json.dumps(data), "openings/door/locks/lock", "kind"))
    assert taken_back == json.loads(desk.starting())


def test_a_thing_that_is_not_described_yet_is_described_by_an_answer() -> None:
    data = said(
        json.loads(desk.starting()), "openings/door/locks/lock/by_hand/inside", "hand_release", "always_opens", "no"
    )
    assert data["openings"]["door"]["locks"]["lock"]["by_hand"]["inside"] == {"always_opens": "false"}


def test_members_and_whole_lists() -> None:
    data = json.loads(desk.starting())
    data = result(desk.add(BOOK, json.dumps(data), "openings/door", "devices", "button"))
    assert "complete" not in data["openings"]["door"], "one more member does not make a list whole"
    data = said(data, "openings/door", "opening", "devices", "yes")
    assert data["openings"]["door"]["complete"] == ["devices"]
    data = said(data, "openings/door", "opening", "signs", "none")
    assert data["openings"]["door"]["signs"] == "none"
    again = result(desk.forget(json.dumps(data), "openings/door", "devices"))
    assert "devices" not in again["openings"]["door"]
    assert "devices" not in again["openings"]["door"].get("complete", [])


@pytest.mark.parametrize(
    ("call", "found"),
    [
        (lambda data: desk.say(BOOK, data, "openings/door/leaves/leaf", "leaf", "width", "36"), "unit"),
        (lambda data: desk.say(BOOK, data, "openings/door/locks/lock", "lock", "kind", "magnet"), "is not a value"),
        (lambda data: desk.add(BOOK, data, "openings/door", "devices", "no name!"), "as a name"),
        (lambda data: desk.opened(BOOK, "openings: {a: {kind: swingin}}", "f.yaml"), "is not a value"),
        (lambda data: desk.opened(BOOK, "a: [", "f.yaml"), ""),
        (lambda data: desk.opened(BOOK, "x: &a [*a]", "f.yaml"), ""),
    ],
)
def test_what_is_wrong_is_told_and_nothing_changes(call: Any, found: str) -> None:
    data = desk.starting()
    told = json.loads(call(data))
    assert "result" not in told
    assert any(found in problem["found"] for problem in told["problems"]), told


def test_a_file_goes_in_and_out() -> None:
    text = openings_path(DEMO).read_text(encoding="utf-8")
    opened = result(desk.opened(BOOK, text, "demo"))
    assert opened["openings"][0] == "d101"
    again = result(desk.opened(BOOK, result(desk.as_yaml(json.dumps(opened["data"]))), "demo"))
    assert again == opened
    seen = result(desk.view(BOOK, json.dumps(opened["data"]), "d102"))
    assert seen["verdict"] == "does-not-comply"
    assert seen["unmet"][0]["page"].startswith("provisions/ibc.")


def test_the_page_counts_as_the_command_line_does() -> None:
    rulebook = resolve(library(), ["ibc@2021"])
    data = json.dumps(read_openings(DEMO).plain())
    report = check(rulebook, open_project(DEMO, rulebook))
    seen = {
        answer.id: result(desk.view(BOOK, data, answer.id)) for answer in report.answers if answer.kind == "opening"
    }
    assert len(seen) > 5
    for answer in report.answers:
        if answer.kind != "opening":
            continue
        shown = seen[answer.id]
        assert (shown["verdict"], shown["works"]) == (answer.verdict, answer.works)
        said = report_text(replace(report, answers=(answer,)))
        assert (f"{shown['resting']} of {shown['findings']} findings rest" in said.replace("\n", " ")) == bool(
            shown["resting"]
        )
        assert (("Permitted by" in said), ("Relies on" in said)) == (bool(shown["permits"]), bool(shown["relies_on"]))
        fails = {f.id for f in answer.findings if f.verdict == "unmet" and not f.claimed and f.code != "engineering"}
        assert fails <= {each["id"] for each in shown["unmet"]}
        assert shown["counts"]["unmet"] == 0 or shown["verdict"] == "does-not-comply"


def test_what_departs_from_guidance_is_no_failure() -> None:
    """A code that is guidance in a rulebook: its unmet conditions stand apart."""
    rulebook = resolve(library(), ["ibc@2021"])
    codes = tuple(replace(code, force="guidance") if code.code == "ibc" else code for code in rulebook.codes)
    desk.keep_rulebook("guide", to_text(replace(rulebook, codes=codes)))
    shown = result(desk.view("guide", json.dumps(read_openings(DEMO).plain()), "d102"))
    assert shown["counts"]["unmet"] == 0
    assert "ibc.free-egress/always-free" in [each["id"] for each in shown["departs"]]
    assert shown["verdict"] != "does-not-comply"


def test_a_kept_rulebook_has_the_digest_of_what_is_in_it() -> None:
    rulebook = resolve(library(), ["ibc@2021"])
    assert desk._books[BOOK].digest == from_json(desk._books[BOOK].json).digest == rulebook.digest


def test_the_law_of_a_place_changes_on_the_days_that_its_adoptions_name() -> None:
    found = list(periods(library(), library().jurisdictions["US-MA"], "2019-01-01"))
    assert [period.since for period in found] == sorted({period.since for period in found})
    assert {code.edition for code in found[0].readings[0].rulebook.codes if code.code == "ibc"} == {"2015"}
    assert {code.edition for code in found[-1].readings[0].rulebook.codes if code.code == "ibc"} == {"2021"}


def test_the_engine_for_browsers_is_the_engine(tmp_path: Path) -> None:
    data = engine_zip()
    assert data == engine_zip()
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        names = set(archive.namelist())
        source = Path(desk.__file__).read_bytes()
        assert archive.read("clauseway_describe/desk.py") == source
    assert {"clauseway/answers/check.py", "yaml/__init__.py"} <= names
    assert not any(name.endswith(".so") or "/rules/" in name for name in names)


def test_the_folder_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    python = tmp_path / "pyodide"
    python.mkdir()
    with pytest.raises(ClausewayError, match=r"no pyodide\.mjs"):
        fetch.pyodide_in(python)
    for name in fetch.FILES:
        (python / name).write_bytes(b"x")
    first, second = tmp_path / "first", tmp_path / "second"
    written = build(library(), fetch.pyodide_in(python), first, only=("US-MA", "ibc@2021"))
    assert (written.places, (first / "law.json").exists()) == (1, True)
    with pytest.raises(ClausewayError, match="exists already"):
        build(library(), python, first, only=())
    build(library(), python, second, only=("US-MA", "ibc@2021"))
    one, two = ({p.relative_to(at): p.read_bytes() for p in at.rglob("*") if p.is_file()} for at in (first, second))
    assert one == two
    law = json.loads((first / "law.json").read_text())
    assert all((first / "books" / f"{each['book']}.json.gz").is_file() for each in law["codes"])
    (python / "python_stdlib.zip").unlink()
    with pytest.raises(ClausewayError):
        build(library(), python, tmp_path / "third", only=("ibc@2021",))
    assert not (tmp_path / "third").exists()
    assert not list(tmp_path.glob(".*"))


def test_another_package_than_the_known_one_is_refused(tmp_path: Path) -> None:
    packed = tmp_path / "pyodide-1.tgz"
    packed.write_bytes(b"something else")
    with pytest.raises(ClausewayError, match="not the one that is known"):
        fetch._check(packed)
