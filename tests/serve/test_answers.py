"""What the server answers: to the byte what the commands print, with tags, limits and refusals."""

from __future__ import annotations

import io
import json
import logging
import os
import signal
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from starlette.testclient import TestClient
from typer.testing import CliRunner

import clauseway
from clauseway.law.folders import shipped_rules
from clauseway.law.library import Library
from clauseway_cli.app import app as commands
from clauseway_serve.app import create_app
from clauseway_serve.endpoints import ENDPOINTS
from clauseway_serve.log import to_stream
from clauseway_serve.openapi import EXAMPLES
from clauseway_serve.settings import Limits, Settings

SHOP = (EXAMPLES / "shop.yaml").read_text(encoding="utf-8")
YAML = {"Content-Type": "application/yaml"}
JSON = {"Content-Type": "application/json"}


@cache
def library() -> Library:
    return clauseway.load()


def problem(response: Any, status: int, kind: str) -> dict[str, Any]:
    assert response.status_code == status, response.text
    assert response.headers["content-type"] == "application/problem+json"
    data: dict[str, Any] = response.json()
    assert data["type"] == f"/v1/problems/{kind}"
    assert data["status"] == status
    return data


# --- the same answers -------------------------------------------------------------------------------------------

SAME = [
    ("check", {}, ["check", "shop.yaml"]),
    ("check", {"code": "ibc@2018", "strict": "true", "on": "2026-05-01"},
     ["check", "shop.yaml", "--code", "ibc@2018", "--strict", "--on", "2026-05-01"]),
    ("check", {"in": "US-CA", "on": "2026-05-01"}, ["check", "bare.yaml", "--in", "US-CA", "--on", "2026-05-01"]),
    ("needs", {"opening": "front"}, ["needs", "shop.yaml", "front"]),
    ("repair", {"opening": "front", "most": "1"}, ["repair", "shop.yaml", "front", "--most", "1"]),
    ("trace", {"opening": "front", "finding": "ibc.free-egress/always-free"},
     ["trace", "shop.yaml", "front", "ibc.free-egress/always-free"]),
    ("compare", {"a": "ibc@2018", "b": "ibc@2021"}, ["compare", "ibc@2018", "ibc@2021", "shop.yaml"]),
    ("sheet", {}, ["compute", "project", "shop.yaml"]),
    ("interview", {"opening": "front"}, ["interview", "shop.yaml", "front", "--next"]),
    ("handover", {"opening": "front"}, ["handover", "shop.yaml", "front"]),
    ("handover", {"opening": "front", "in": "US-CA", "on": "2026-05-01"},
     ["handover", "bare.yaml", "front", "--in", "US-CA", "--on", "2026-05-01"]),
    ("affects", {"id": "lock.kind"}, ["affects", "lock.kind", "shop.yaml"]),
    ("affects?", {"id": "IBC 2021 1010.2.12"}, ["affects", "IBC 2021 1010.2.12"]),
    ("affects?", {"id": "lock.kind", "in": "US-CA", "on": "2026-05-01"},
     ["affects", "lock.kind", "--in", "US-CA", "--on", "2026-05-01"]),
    ("cite", {"text": "IBC 2021 1010.2.11, IBC 2018 1010.2.12 and NFPA 101 7.2.1.6.2"},
     ["cite", "IBC 2021 1010.2.11, IBC 2018 1010.2.12 and NFPA 101 7.2.1.6.2"]),
    ("compare?", {"a": "ibc@2018", "b": "ibc@2021", "only": "sensor-release"},
     ["compare", "ibc@2018", "ibc@2021", "--only", "sensor-release"]),
    ("explain", {"id": "ibc.sensor-release"}, ["explain", "ibc.sensor-release"]),
    ("codes", {}, ["codes"]),
    ("clauses", {"code": "cms", "standing": "needs-human"}, ["clauses", "cms", "--standing", "needs-human"]),
    ("facts", {"search": "height"}, ["facts", "height"]),
    ("computations", {"search": "voltage"}, ["compute", "voltage"]),
    ("compute/wire.voltage-drop", {"length": "50..150 ft", "current": "0.5 A", "gauge": "18"},
     ["compute", "wire.voltage-drop", "length=50..150 ft", "current=0.5 A", "gauge=18"]),
]  # fmt: skip


@pytest.mark.parametrize(("path", "asked", "command"), SAME, ids=lambda each: each if isinstance(each, str) else "")
def test_an_answer_is_what_the_command_prints(
    path: str,
    asked: dict[str, str],
    command: list[str],
    client: TestClient,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    read = library()
    monkeypatch.setattr("clauseway.law.library.load", lambda *_: read)
    bare = SHOP.replace("codes: [ibc@2021]\n", "")
    assert bare != SHOP
    for name, text in (("shop.yaml", SHOP), ("bare.yaml", bare)):
        Path(name).write_text(text, encoding="utf-8")
    own = [] if "--next" in command else ["--format", "json"]
    run = CliRunner().invoke(commands, [*command, *own])
    assert run.exception is None or isinstance(run.exception, SystemExit), run.exception
    described = path in {each.operation for each in ENDPOINTS if each.described}
    if described:
        name = next(word for word in command if word.endswith(".yaml"))
        text = Path(name).read_text(encoding="utf-8")
        answer = client.post(f"/v1/{path}", params={"name": name, **asked}, content=text, headers=YAML)
        told = answer.headers["clauseway-status"]
        assert told == str(run.exit_code)
    else:
        answer = client.get(f"/v1/{path}", params=asked)
    assert answer.status_code == 200, answer.text
    assert answer.content == run.stdout.encode()


def test_what_is_not_known_does_not_pass(client: TestClient) -> None:
    """The shop says nothing of its sensor, and of its button only where it is."""
    answer = client.post("/v1/check", content=SHOP, headers=YAML)
    assert answer.headers["clauseway-status"] == "3"
    assert answer.json()["openings"][0]["verdict"] == "undetermined"


def test_json_is_read_as_well(client: TestClient) -> None:
    data = (EXAMPLES / "shop.json").read_bytes()
    answer = client.post("/v1/check", content=data, headers={"Content-Type": "application/json; charset=utf-8"})
    assert answer.json()["openings"][0]["verdict"] == "undetermined"


def test_the_demo_is_given_to_try(client: TestClient) -> None:
    demo = client.get("/v1/demo")
    assert demo.headers["content-type"] == "application/yaml"
    assert "openings:" in demo.text


# --- tags -------------------------------------------------------------------------------------------------------


def test_an_answer_that_is_known_is_not_sent_again(client: TestClient) -> None:
    first = client.get("/v1/explain", params={"id": "lock.kind"})
    tag = first.headers["etag"]
    for given in (tag, f'"other", W/{tag}', "*"):
        again = client.get("/v1/explain", params={"id": "lock.kind"}, headers={"If-None-Match": given})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
    for asked in ({"id": "lock.listings"}, {"id": "lock.kind", "code": "ibc@2018"}):
        other = client.get("/v1/explain", params=asked, headers={"If-None-Match": tag})
        assert other.status_code == 200
        assert other.headers["etag"] != tag
    assert first.headers["clauseway-rulebook"] == first.json()["digest"]


# --- refusals ---------------------------------------------------------------------------------------------------


def test_a_misspelt_fact_is_refused_with_its_place_and_the_nearest(client: TestClient) -> None:
    text = SHOP.replace("panic_hardware", "panik_hardware")
    data = problem(client.post("/v1/check?name=s.yaml", content=text, headers=YAML), 422, "not-understood")
    (found,) = data["problems"]
    assert found["place"]["file"] == "s.yaml"
    assert text.splitlines()[found["place"]["line"] - 1][found["place"]["column"] - 1 :].startswith("panik_hardware")
    assert found["nearest"] == "panic_hardware"


@pytest.mark.parametrize(
    ("content", "kind", "status", "found"),
    [
        (b"x" * 20_001, "too-large", 413, ""),
        (b"openings: " + b"[" * 40 + b"]" * 40, "not-understood", 422, "nested deeper"),
        (b"openings: {a: {}, b: {}, c: {}, d: {}, e: {}, f: {}}", "not-understood", 422, "6 openings"),
        (b"openings: [", "not-understood", 422, ""),
        (b"codes: [ibc@2021]\nopenings: {a: {}, a: {}}", "not-understood", 422, "twice"),
        (b"", "not-understood", 422, ""),
        (b"\xff\xfe", "not-a-description", 415, ""),
        (b"a: &x [1]\nb: *x", "not-understood", 422, ""),
    ],
    ids=["large", "nested", "many", "broken", "double", "nothing", "no text", "alias"],
)
def test_a_bad_body_is_refused(content: bytes, kind: str, status: int, found: str, client: TestClient) -> None:
    data = problem(client.post("/v1/check?code=ibc@2021", content=content, headers=YAML), status, kind)
    assert found in json.dumps(data)


def test_a_body_that_does_not_say_its_size_is_refused_as_soon_as_it_is_too_large(client: TestClient) -> None:
    def endless() -> Iterator[bytes]:
        for _ in range(1000):
            yield b"x" * 1000

    problem(client.post("/v1/check", content=endless(), headers=YAML), 413, "too-large")


@pytest.mark.parametrize("headers", [{}, {"Content-Type": "text/plain"}, YAML | {"Content-Encoding": "gzip"}])
def test_another_kind_of_body_is_refused(headers: dict[str, str], client: TestClient) -> None:
    problem(client.post("/v1/check", content=b"openings: {}", headers=headers), 415, "not-a-description")


@pytest.mark.parametrize(
    ("path", "status", "kind", "near"),
    [
        ("/v1/facts?serch=x", 422, "bad-parameter", "search"),
        ("/v1/facts?search=x&search=y", 422, "bad-parameter", ""),
        ("/v1/facts?chosen_by=desinger", 422, "bad-parameter", ""),
        ("/v1/explain", 422, "bad-parameter", ""),
        ("/v1/codes?code=ibc", 422, "bad-parameter", ""),
        ("/v1/facts?code=icb@2021", 422, "not-understood", "ibc"),
        ("/v1/facts?code=ibc", 422, "bad-parameter", ""),
        ("/v1/explain?id=sensor-relaese", 404, "no-such-name", "sensor-release"),
        ("/v1/compute/voltage-dorp", 404, "no-such-name", "voltage-drop"),
        ("/v1/compute/voltage-drop?length=5", 422, "not-understood", ""),
        ("/v1/compute/voltage-drop?lenght=5ft", 422, "not-understood", "length"),
        ("/v1/schemas/raport", 404, "no-such-name", "report"),
        ("/v2/check", 404, "no-such-page", ""),
        ("/v1/check", 405, "no-such-method", ""),
    ],
)
def test_a_bad_address_is_refused(path: str, status: int, kind: str, near: str, client: TestClient) -> None:
    data = problem(client.get(path), status, kind)
    named = [each["nearest"] for each in data.get("problems", [])]
    assert any(name and name.endswith(near) for name in named) if near else True


@pytest.mark.parametrize("asked", [{"on": "2026-13-01"}, {"known": "2026-02-30"}, {"in": "US-CA", "code": "ibc@2021"}])
def test_law_that_cannot_be_meant_is_refused(asked: dict[str, str], client: TestClient) -> None:
    problem(client.post("/v1/check", params=asked, content=SHOP, headers=YAML), 422, "not-understood")


# --- limits -----------------------------------------------------------------------------------------------------


def test_a_question_that_takes_too_long_is_ended_and_the_next_one_is_answered() -> None:
    """The worker is ended; another one comes up, and the server goes on."""
    log = io.StringIO()
    to_stream(log)
    demo = shipped_rules() / "demo" / "harbour-hall.yaml"
    others = set(_workers())
    try:
        limits = Limits(seconds=0.25, waiting_seconds=120)
        app = create_app(Settings(workers=1, limits=limits))
        with TestClient(app, base_url="http://localhost") as slow:
            response = slow.post("/v1/repair?name=secret-name", content=demo.read_bytes(), headers=YAML)
            problem(response, 422, "takes-too-much")
            assert slow.get("/v1/computations").status_code == 200
            pids = [int(pid) for pid in set(_workers()) - others]
            assert len(pids) == 1
            os.kill(pids[0], signal.SIGKILL)
            assert slow.get("/v1/computations").status_code == 200
        assert set(_workers()) == others
    finally:
        logging.getLogger("clauseway.serve").handlers = []
    lines = [json.loads(line) for line in log.getvalue().splitlines()]
    assert [line["why"] for line in lines if line["event"] == "worker-ended"] == ["time"]
    assert [line["route"] for line in lines if line["event"] == "request"] == ["/v1/repair", *["/v1/computations"] * 2]
    # The id of a request is any hexadecimal number.
    written = json.dumps([{**line, "id": ""} for line in lines])
    for secret in ("secret-name", "d101", "Harbour"):
        assert secret not in written


def _workers() -> list[str]:
    """The processes that this one has started and that answer questions."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            words = (folder / "cmdline").read_bytes().split(b"\0")
            parent = (folder / "stat").read_text().rpartition(")")[2].split()[1]
        except OSError:
            continue
        if b"clauseway_serve.worker" in words and int(parent) == os.getpid():
            found.append(folder.name)
    return found


# --- the document -----------------------------------------------------------------------------------------------


def test_every_question_is_documented_with_examples_that_are_answered(client: TestClient) -> None:
    document = client.get("/v1/openapi.json").json()
    assert document["openapi"].startswith("3.1")
    for path, operations in document["paths"].items():
        for operation in operations.values():
            assert operation["summary"], path
            good = operation["responses"]["200"]
            assert "application/problem+json" in operation["responses"]["500"]["content"], path
            if "x-example" not in operation:
                continue
            (content,) = good["content"].values()
            schema = {**content["schema"], "components": document["components"]}
            wrong = [error.message for error in Draft202012Validator(schema).iter_errors(content["example"])]
            assert wrong == [], path
            if path == "/v1/verify":
                record = client.post("/v1/record", content=SHOP, headers=YAML).content
                answer = client.post(operation["x-example"], content=record, headers=JSON)
            elif "requestBody" in operation:
                text = operation["requestBody"]["content"]["application/yaml"]["example"]
                answer = client.post(operation["x-example"], content=text, headers=YAML)
            else:
                answer = client.get(operation["x-example"])
            assert answer.status_code == 200, answer.text
            wrong = [error.message for error in Draft202012Validator(schema).iter_errors(answer.json())]
            assert wrong == [], path


def test_every_problem_has_a_page(client: TestClient) -> None:
    document = client.get("/v1/openapi.json").json()
    kinds = document["components"]["schemas"]["problem"]["properties"]["type"]["enum"]
    assert len(kinds) > 10
    for kind in kinds:
        assert client.get(kind).json()["type"] == kind


def test_health(client: TestClient) -> None:
    assert client.get("/health/live").json() == {"status": "alive"}
    assert client.get("/health/ready").json() == {"status": "ready"}
