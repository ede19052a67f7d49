"""A running server under requests made from its own document: no server error, and only what the document says.

pip install schemathesis
python -m pytest -m long tests/serve/test_fuzzed.py
"""

from __future__ import annotations

import signal
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from support.serving import running

CHECKS = (
    "not_a_server_error,status_code_conformance,content_type_conformance,response_headers_conformance,"
    "response_schema_conformance"
)


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    command = ["-m", "clauseway", "serve", "--port", "PORT", "--seconds", "30", "--amendments"]
    with running(command) as (address, server):
        yield address
    assert server.returncode in (0, -signal.SIGTERM)


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
