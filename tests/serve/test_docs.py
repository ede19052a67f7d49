"""The page about the HTTP API: what it shows is what the server answers, and nothing there is left untold."""

from __future__ import annotations

import re
import shlex
from pathlib import Path
from urllib.parse import urlsplit

from starlette.testclient import TestClient

from clauseway_serve.endpoints import COMPUTE, ENDPOINTS
from clauseway_serve.openapi import EXAMPLES
from clauseway_serve.problem import KINDS
from clauseway_serve.settings import Limits
from support.pages import fits

PAGE = (Path(__file__).parents[2] / "docs" / "api.md").read_text(encoding="utf-8")
CALLS = re.findall(r"^```sh\n(curl [^\n]*)\n```\n\n```json\n(.*?)^```$", PAGE, re.M | re.S)


def test_the_page_shows_what_is_answered(client: TestClient) -> None:
    shop = re.search(r"^`shop.yaml`:\n\n```yaml\n(.*?)^```$", PAGE, re.M | re.S)
    assert shop is not None
    assert shop[1] == (EXAMPLES / "shop.yaml").read_text(encoding="utf-8")
    assert len(CALLS) == 4
    for command, shown in CALLS:
        words = shlex.split(command)
        parts = urlsplit(words[-1])
        address = f"{parts.path}?{parts.query}"
        if "--data-binary" in words:
            name, _, value = words[words.index("-H") + 1].partition(": ")
            answer = client.post(address, content=shop[1], headers={name: value})
        else:
            answer = client.get(address)
        assert fits(shown, answer.text), answer.text[:2000]


def test_the_page_names_every_address_and_every_problem() -> None:
    for endpoint in ENDPOINTS:
        method = "POST" if endpoint.described else "GET"
        assert f"`{method} {endpoint.path}`" in PAGE
    assert COMPUTE.replace("{name}", "NAME") in PAGE
    for kind in KINDS.values():
        (row,) = (line for line in PAGE.splitlines() if line.startswith("| ") and f"`{kind.name}`" in line)
        assert row.startswith(f"| {kind.status} |")


def test_the_page_gives_the_limits_that_hold() -> None:
    limits = Limits()
    said = PAGE.partition("## Limits")[2]
    body, record = limits.body // 1024 // 1024, limits.record // 1024 // 1024
    assert f"{body} MiB (a record: {record} MiB), {limits.openings} openings, {limits.depth} levels" in said
    assert f"{limits.nodes:,} values, {limits.seconds:.0f} seconds, {limits.memory // 1024**3} GiB" in said
    assert f"{limits.waiting} requests wait" in said
    assert f"{limits.connections} are held" in said


def test_the_amendments_on_the_page_are_taken(client: TestClient) -> None:
    shown = re.search(r"^```yaml\n(description:.*?)^```$", PAGE, re.M | re.S)
    assert shown is not None
    answer = client.post("/v1/check-amended", content=shown[1], headers={"Content-Type": "application/yaml"})
    assert answer.json()["rulebook"]["layers"] == ["order-12"]
