"""Records, waivers, the next question and amendments that are sent along, over HTTP."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient
from typer.testing import CliRunner

from clauseway_cli.app import app as commands
from clauseway_serve.app import create_app
from clauseway_serve.openapi import EXAMPLES
from clauseway_serve.settings import Settings
from support.laws import shipped

SHOP = (EXAMPLES / "shop.yaml").read_text(encoding="utf-8")
AMENDED = (EXAMPLES / "amended.yaml").read_text(encoding="utf-8")
WAIVED = (EXAMPLES / "waived.yaml").read_text(encoding="utf-8")
YAML = {"Content-Type": "application/yaml"}
JSON = {"Content-Type": "application/json"}
LAYER = "ca-2022"
BUTTON = "ibc.sensor-release/manual-release"


def refused(response: Any, status: int, kind: str) -> dict[str, Any]:
    assert response.status_code == status, response.text
    data: dict[str, Any] = response.json()
    assert data["type"] == f"/v1/problems/{kind}"
    return data


def found(report: dict[str, Any], finding: str) -> dict[str, Any]:
    (one,) = [each for each in report["openings"][0]["findings"] if each["id"] == finding]
    return dict(one)


# --- records ----------------------------------------------------------------------------------------------------


def test_a_record_is_the_file_that_the_command_writes_and_is_verified(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    read = shipped()
    monkeypatch.setattr("clauseway.law.library.load", lambda *_: read)
    Path("shop.yaml").write_text(SHOP, encoding="utf-8")
    command = ["record", "shop.yaml", "-o", "r.json", "--on", "2026-05-01"]
    assert CliRunner().invoke(commands, command).exit_code == 0
    made = client.post("/v1/record?name=shop.yaml&on=2026-05-01", content=SHOP, headers=YAML)
    assert made.content == Path("r.json").read_bytes()
    same = client.post("/v1/verify?name=r.json", content=made.content, headers=JSON)
    assert same.headers["clauseway-status"] == "0"
    printed = CliRunner().invoke(commands, ["verify", "r.json", "--format", "json"])
    assert printed.stdout.encode() == same.content
    harmed = made.content.replace(b'"height":"50 in"', b'"height":"44 in"').replace(b"height: 50 in", b"height: 44 in")
    assert harmed != made.content
    told = client.post("/v1/verify?inside=true", content=harmed, headers=JSON)
    assert told.headers["clauseway-status"] == "1"
    assert "inputs: changed" in " ".join(told.json()["damage"])


@pytest.mark.parametrize(
    "content",
    [b"", b"{}", b"[" * 100_000, b'{"schema":"clauseway-record/9"}', b'{"schema":1}', b"nan", b"openings: {a: {}}"],
    ids=["nothing", "empty", "nested", "later", "number", "no JSON", "no record"],
)
def test_what_is_no_record_is_refused(content: bytes, client: TestClient) -> None:
    refused(client.post("/v1/verify", content=content, headers=JSON), 422, "not-understood")


def test_only_a_record_may_be_as_large_as_one(client: TestClient) -> None:
    large = b"x" * 30_000
    refused(client.post("/v1/verify", content=large, headers=JSON), 422, "not-understood")
    refused(client.post("/v1/record", content=large, headers=YAML), 413, "too-large")
    refused(client.post("/v1/verify", content=b"x" * (8 * 1024 * 1024 + 1), headers=JSON), 413, "too-large")
    refused(client.post("/v1/verify", content=b"{}", headers=YAML), 415, "not-a-description")


# --- waivers ----------------------------------------------------------------------------------------------------


def test_waivers_stand_beside_verdicts_and_change_none(client: TestClient) -> None:
    plain = client.post("/v1/check", content=SHOP, headers=YAML).json()
    answer = client.post("/v1/waivers?on=2026-05-01", content=WAIVED, headers=YAML)
    data = answer.json()
    assert answer.headers["clauseway-status"] == "0"
    assert [each["state"] for each in data["waivers"]] == ["stands"]
    assert data["waivers"][0]["verdicts"] == [found(plain, BUTTON)["verdict"]]
    assert data["openings"] == [{"id": "front", "verdict": plain["openings"][0]["verdict"]}]
    line = int(data["waivers"][0]["at"].split(":")[1])
    assert "finding: " in WAIVED.splitlines()[line - 1]
    late = client.post("/v1/waivers?on=2028-01-01", content=WAIVED, headers=YAML)
    assert (late.headers["clauseway-status"], late.json()["waivers"][0]["state"]) == ("1", "expired")
    undated = client.post("/v1/waivers", content=WAIVED, headers=YAML)
    assert (undated.headers["clauseway-status"], undated.json()["waivers"][0]["state"]) == ("1", "not-dated")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (SHOP, "unknown name"),
        (WAIVED.replace("waivers:", "waiver:"), "waivers"),
        (WAIVED.replace("until: 2027-06-30", "until: some day"), "some day"),
        (WAIVED.replace("granted_by", "granted_bye"), "granted_by"),
        ("description: {}", "no waivers"),
    ],
)
def test_waivers_that_are_not_as_they_must_be_are_refused(text: str, said: str, client: TestClient) -> None:
    data = refused(client.post("/v1/waivers", content=text, headers=YAML), 422, "not-understood")
    assert said in json.dumps(data)


# --- the next question ------------------------------------------------------------------------------------------


def test_an_interview_goes_on_from_request_to_request(client: TestClient) -> None:
    first = client.post("/v1/interview?opening=front", content=SHOP, headers=YAML).json()
    assert (first["verdict"], first["description"]) == ("undetermined", None)
    question = first["question"]
    asked = {"opening": "front", "question": question["id"], "answer": _answer(question)}
    second = client.post("/v1/interview", params=asked, content=SHOP, headers=YAML).json()
    assert second["question"]["id"] != question["id"]
    body = json.dumps(second["description"])
    again = client.post("/v1/interview?opening=front", content=body, headers=JSON).json()
    assert again["question"] == second["question"]
    left = client.post(
        "/v1/interview", params={"opening": "front", "left": second["question"]["id"]}, content=body, headers=JSON
    ).json()
    assert left["question"]["id"] not in (question["id"], second["question"]["id"])
    assert left["open"] == again["open"] - 1
    assert left["verdict"] == "undetermined", "what nobody can answer is not decided by that"


def _answer(question: dict[str, Any]) -> str:
    return "none" if question["whole"] else str(question["may_be"][0] if question["may_be"] else "1 in")


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"opening": "frnt"}, "front"),
        ({"opening": "front", "question": "openings/front:knid", "answer": "yes"}, "no question openings/front:knid"),
        ({"opening": "front", "answer": "yes"}, "without its question"),
    ],
)
def test_an_answer_that_fits_nothing_is_refused(asked: dict[str, str], said: str, client: TestClient) -> None:
    data = refused(client.post("/v1/interview", params=asked, content=SHOP, headers=YAML), 422, "not-understood")
    assert said in json.dumps(data)


# --- amendments -------------------------------------------------------------------------------------------------


def test_no_server_takes_rules_unless_it_is_told_to() -> None:
    """The refusal comes from the process that listens; no worker is asked, and none comes up here."""
    server = TestClient(create_app(Settings(workers=1)), base_url="http://localhost")
    refused(server.post("/v1/check-amended", content=AMENDED, headers=YAML), 403, "no-amendments")


def test_amendments_hold_for_their_request_alone(client: TestClient) -> None:
    before = client.post("/v1/check", content=SHOP, headers=YAML)
    amended = client.post("/v1/check-amended", content=AMENDED, headers=YAML)
    after = client.post("/v1/check", content=SHOP, headers=YAML)
    assert after.content == before.content
    data = amended.json()
    assert data["rulebook"]["layers"] == ["shop-1"]
    assert data["rulebook"]["digest"] != before.json()["rulebook"]["digest"] == before.headers["clauseway-rulebook"]
    was, now = (found(report, BUTTON)["members"][0]["lines"]["height"] for report in (before.json(), data))
    assert (was, now) == ("unmet", "met")
    assert amended.headers["clauseway-status"] == "3", (
        "what is not known is not decided by an amendment of something else"
    )


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("was: 48 in", "was: 49 in"), "48 in"),
        (("height_max", "hight_max"), "height_max"),
        (("code: ibc", "code: icb"), "ibc"),
        (("layer: shop-1", f"layer: {LAYER}"), f"the layer {LAYER} is there already"),
        (("set: 54 in", "set: 54"), ""),
        (("changes:", "chnges:"), "changes"),
        (("amendments:", "amendment:"), "amendments"),
        (("title: What", "status: draft\n    title: What"), "draft"),
    ],
    ids=lambda change: change[1][:16] if isinstance(change, tuple) else "",
)
def test_amendments_that_do_not_fit_are_refused(change: tuple[str, str], said: str, client: TestClient) -> None:
    text = AMENDED.replace(*change)
    assert text != AMENDED
    data = refused(client.post("/v1/check-amended", content=text, headers=YAML), 422, "not-understood")
    assert said in json.dumps(data)


def test_what_is_sent_along_is_bounded_like_everything(client: TestClient) -> None:
    many = "description: {openings: {" + ", ".join(f"a{n}: {{}}" for n in range(6)) + "}}\namendments: []\n"
    data = refused(client.post("/v1/check-amended", content=many, headers=YAML), 422, "not-understood")
    assert "6 openings" in json.dumps(data)
