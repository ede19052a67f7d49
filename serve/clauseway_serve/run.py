"""Running the application: uvicorn, with its bounds set and its own log in our shape."""

from __future__ import annotations

import uvicorn

from clauseway_serve.app import create_app
from clauseway_serve.log import event, to_stream
from clauseway_serve.settings import Settings

_HEAD = 16 * 1024
"""The most bytes of a request line and headers."""


def run(settings: Settings, host: str, port: int) -> None:
    """Serve until the process is told to stop. Questions that are being answered then have ten seconds."""
    to_stream()
    config = uvicorn.Config(
        create_app(settings),
        host=host,
        port=port,
        http="h11",
        ws="none",
        lifespan="on",
        log_config=None,
        access_log=False,
        server_header=False,
        limit_concurrency=settings.limits.connections,
        timeout_keep_alive=5,
        timeout_graceful_shutdown=10,
        h11_max_incomplete_event_size=_HEAD,
    )
    event("start", host=host, port=port, workers=settings.processes, tokens=len(settings.tokens))
    uvicorn.Server(config).run()
    event("stop")
