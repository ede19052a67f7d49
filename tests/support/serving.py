"""A server in a process of its own, for tests that ask it over the network."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import clauseway
import clauseway_cli
import clauseway_serve

HOMES = [str(Path(str(each.__file__)).parents[1]) for each in (clauseway, clauseway_cli, clauseway_serve)]


@contextmanager
def running(command: Sequence[str]) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """The address of a Python command that serves at the port put in for the word PORT, once it is ready."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = str(free.getsockname()[1])
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(HOMES)}
    words = [sys.executable, *(port if word == "PORT" else word for word in command)]
    server = subprocess.Popen(words, env=environment, stderr=subprocess.DEVNULL)
    try:
        for _ in range(120):
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/health/ready")
                break
            except OSError:
                time.sleep(0.5)
        yield f"http://127.0.0.1:{port}", server
    finally:
        server.terminate()
        server.wait(30)
