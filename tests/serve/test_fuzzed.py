"""A running server under requests made from its own document: no server error, and only what the document says.

pip install schemathesis
python -m pytest -m long tests/serve/test_fuzzed.py
"""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

import clauseway
import clauseway_cli
import clauseway_serve

HOMES = [str(Path(str(each.__file__)).parents[1]) for each in (clauseway, clauseway_cli, clauseway_serve)]
CHECKS = (
    "not_a_server_error,status_code_conformance,content_type_conformance,response_headers_conformance,"
    "response_schema_conformance"
)


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(HOMES)}
    command = [sys.executable, "-m", "clauseway", "serve", "--port", str(port), "--seconds", "30"]
    server = subprocess.Popen(command, env=environment, stderr=subprocess.DEVNULL)
    try:
        for _ in range(120):
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/health/ready")
                break
            except OSError:
                time.sleep(0.5)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        assert server.wait(30) in (0, -signal.SIGTERM)


@pytest.mark.long
def test_no_request_brings_a_server_error(address: str, tmp_path: Path) -> None:
    pytest.importorskip("schemathesis")
    command = [
        sys.executable, "-m", "schemathesis.cli", "run", f"{address}/v1/openapi.json", "--checks", CHECKS,
        "--max-examples", "40", "--phases", "examples,coverage,fuzzing", "--seed", "1", "--request-timeout", "60",
        "--suppress-health-check", "all",
    ]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=tmp_path)
    assert done.returncode == 0, done.stdout[-8000:] + done.stderr[-2000:]
    with urllib.request.urlopen(f"{address}/health/ready") as ready:
        assert ready.status == 200
