"""Requests a second and the 99th percentile, beside the same request to an endpoint that asks nothing. Needs wrk.

python -m pytest -m bench -s tests/bench/test_serve_bench.py
"""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from clauseway_serve.openapi import EXAMPLES
from support.serving import running

EMPTY = """\
import sys
from typing import Annotated
import uvicorn
from fastapi import FastAPI, Query, Request
from clauseway_serve.guard import Guard
from clauseway_serve.log import to_stream
from clauseway_serve.parameters import Check, Explain
from clauseway_serve.settings import Settings
from starlette.responses import Response
app = FastAPI()
@app.post("/v1/check")
async def check(request: Request, asked: Annotated[Check, Query()]) -> Response:
    await request.body()
    return Response(b"{}", media_type="application/json")
@app.get("/v1/explain")
async def explain(asked: Annotated[Explain, Query()]) -> Response:
    return Response(b"{}", media_type="application/json")
@app.get("/health/ready")
async def ready() -> Response:
    return Response(b"{}")
to_stream()
config = uvicorn.Config(Guard(app, Settings()), port=int(sys.argv[1]), http="h11", log_config=None, access_log=False)
uvicorn.Server(config).run()
"""
QUESTIONS = (("POST", "/v1/check?opening=front"), ("GET", "/v1/explain?id=lock.kind"))


@pytest.mark.bench
def test_questions_beside_nothing(tmp_path: Path) -> None:
    wrk = shutil.which("wrk")
    if wrk is None:
        pytest.skip("wrk is not here")
    post = tmp_path / "post.lua"
    shop = (EXAMPLES / "shop.yaml").read_text(encoding="utf-8")
    post.write_text(
        f'wrk.method = "POST"\nwrk.body = [==[{shop}]==]\nwrk.headers["Content-Type"] = "application/yaml"\n',
        encoding="utf-8",
    )
    for name, command in (
        ("serve", ["-m", "clauseway", "serve", "--port", "PORT"]),
        ("empty", ["-c", EMPTY, "PORT"]),
    ):
        with running(command) as (address, _):
            for method, path in QUESTIONS:
                script = ["-s", str(post)] if method == "POST" else []
                for connections in ("1", "8"):
                    load = [wrk, "-t1", f"-c{connections}", "-d8s", "--latency", *script, address + path]
                    text = subprocess.run(load, capture_output=True, text=True, check=True).stdout
                    rate = re.search(r"Requests/sec:\s+(\S+)", text)
                    high = re.search(r"99%\s+(\S+)", text)
                    bad = re.search(r"Non-2xx[^\n]*", text)
                    assert rate is not None
                    assert high is not None
                    print(f"{name:6} {method:4} {path:28} {connections} connections: {rate[1]}/s, 99 % {high[1]}", bad)
