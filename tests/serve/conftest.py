"""One running server for all tests of the package."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from clauseway_serve.app import create_app
from clauseway_serve.settings import Limits, Settings


@pytest.fixture(scope="session")
def client() -> Iterator[TestClient]:
    limits = Limits(body=20_000, openings=5, waiting_seconds=120, seconds=120)
    app = create_app(Settings(workers=1, amendments=True, limits=limits))
    with TestClient(app, base_url="http://localhost", raise_server_exceptions=False) as running:
        yield running
