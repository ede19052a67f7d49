"""What no request passes: a foreign host, a wrong token, a slow body; and what the settings refuse."""

from __future__ import annotations

import asyncio
import logging
import subprocess
import sys
import time
from pathlib import Path

import pytest
from starlette.responses import PlainTextResponse
from starlette.testclient import TestClient
from starlette.types import Message, Receive, Scope, Send

from clauseway.text.problems import ClausewayError
from clauseway_serve.guard import Guard
from clauseway_serve.log import Lines
from clauseway_serve.pool import Pool
from clauseway_serve.settings import Limits, Settings, may_bind, read_tokens

TOKEN = "k3" * 12
OTHER = "z9" * 12


async def inner(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["path"] == "/fails":
        raise ValueError("openings: {secret-door: {}}")
    await PlainTextResponse("inside")(scope, receive, send)


def guarded(host: str = "localhost", **settings: object) -> TestClient:
    made = Guard(inner, Settings(**settings))  # type: ignore[arg-type]
    return TestClient(made, base_url=f"http://{host}", raise_server_exceptions=False)


@pytest.mark.parametrize(
    ("header", "status"),
    [
        (None, 401),
        ("", 401),
        (TOKEN, 401),
        (f"Basic {TOKEN}", 401),
        (f"Bearer {TOKEN[:-1]}", 401),
        (f"Bearer {TOKEN}x", 401),
        (f"Bearer {TOKEN.upper()}", 401),
        (f"Bearer {TOKEN}", 200),
        (f"bearer {OTHER}", 200),
    ],
)
def test_a_token_is_needed_where_there_are_tokens(header: str | None, status: int) -> None:
    client = guarded(tokens=(TOKEN, OTHER))
    answer = client.get("/v1/codes", headers={} if header is None else {"Authorization": header})
    assert answer.status_code == status
    if status == 401:
        assert answer.headers["www-authenticate"] == "Bearer"
        assert answer.json()["type"] == "/v1/problems/no-token"


def test_two_tokens_in_one_request_are_none() -> None:
    headers = [("Authorization", f"Bearer {TOKEN}"), ("Authorization", f"Bearer {TOKEN}")]
    assert guarded(tokens=(TOKEN,)).get("/v1/codes", headers=headers).status_code == 401


def test_health_takes_no_token() -> None:
    assert guarded(tokens=(TOKEN,)).get("/health/live").status_code == 200
    assert guarded(tokens=(TOKEN,)).get("/health/live/").status_code == 401


@pytest.mark.parametrize(
    ("host", "allowed", "status"),
    [
        ("localhost", (), 200),
        ("127.0.0.1:8423", (), 200),
        ("[::1]:8423", (), 200),
        ("evil.example", (), 421),
        ("localhost.evil.example", (), 421),
        ("rules.example", ("Rules.Example",), 200),
    ],
)
def test_a_server_answers_to_its_own_names(host: str, allowed: tuple[str, ...], status: int) -> None:
    assert guarded(hosts=allowed).get("/", headers={"Host": host}).status_code == status
    assert guarded(any_host=True).get("/", headers={"Host": host}).status_code == 200


def test_a_slow_body_is_refused() -> None:
    sent: list[Message] = []

    async def receive() -> Message:
        await asyncio.sleep(0.01)
        return {"type": "http.request", "body": b"x", "more_body": True}

    async def send(message: Message) -> None:
        sent.append(message)

    scope = {"type": "http", "method": "POST", "path": "/v1/check", "headers": [(b"host", b"localhost")]}
    began = time.monotonic()
    asyncio.run(Guard(inner, Settings(limits=Limits(body_seconds=0.1)))(scope, receive, send))
    assert sent[0]["status"] == 408
    assert time.monotonic() - began < 5


def test_what_fails_inside_is_told_without_what_it_was_about(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.INFO, logger="clauseway.serve"):
        answer = guarded().get("/fails")
    assert answer.status_code == 500
    assert answer.json()["type"] == "/v1/problems/failed"
    lines = [Lines().format(record) for record in caplog.records]
    assert any("ValueError" in line and answer.headers["x-request-id"] in line for line in lines)
    assert "secret-door" not in "".join([*lines, answer.text])


def test_tokens_are_read_and_bad_ones_refused_without_being_shown(tmp_path: Path) -> None:
    file = tmp_path / "tokens"
    file.write_text(f"# ours\n{TOKEN}\n\n{OTHER}\n", encoding="utf-8")
    assert read_tokens(file, {"CLAUSEWAY_TOKENS": f"{TOKEN} {'y7' * 11}"}) == (TOKEN, OTHER, "y7" * 11)
    assert read_tokens(None, {}) == ()
    for content, place in (("short-secret\n", ":1:1"), ("", ""), (f"{TOKEN}\n{'ü' * 30}\n", ":2:1")):
        file.write_text(content, encoding="utf-8")
        with pytest.raises(ClausewayError) as refused:
            read_tokens(file, {})
        assert place in str(refused.value)
        assert "secret" not in str(refused.value)
        assert TOKEN not in str(refused.value)
    with pytest.raises(ClausewayError):
        read_tokens(tmp_path / "none", {})
    assert TOKEN not in repr(Settings(tokens=(TOKEN,)))


def test_everybody_may_ask_only_where_that_is_said() -> None:
    may_bind("127.0.0.1", (), without_token=False)
    may_bind("0.0.0.0", (TOKEN,), without_token=False)
    may_bind("0.0.0.0", (), without_token=True)
    with pytest.raises(ClausewayError, match="token"):
        may_bind("0.0.0.0", (), without_token=False)


def test_one_more_than_may_wait_is_refused_at_once() -> None:
    async def ask() -> list[str]:
        pool = Pool(Settings(limits=Limits(waiting=2, waiting_seconds=0.05)))
        found = await asyncio.gather(*(pool.ask("codes", {}) for _ in range(3)))
        return [each.refused for each in found]

    assert asyncio.run(ask()) == ["not-ready", "not-ready", "busy"]


def test_without_the_extra_the_command_says_what_to_install() -> None:
    script = (
        "import sys; sys.modules['fastapi'] = None\n"
        "from clauseway_cli.app import main; sys.argv = ['clauseway', 'serve']; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, env=environment(), check=False
    )
    assert done.returncode == 2, done.stderr
    assert "clauseway[serve]" in done.stderr
    assert "Traceback" not in done.stderr


def environment() -> dict[str, str]:
    import os

    import clauseway
    import clauseway_cli
    import clauseway_serve

    homes = [str(Path(str(each.__file__)).parents[1]) for each in (clauseway, clauseway_cli, clauseway_serve)]
    return {**os.environ, "PYTHONPATH": os.pathsep.join(homes)}
