"""`clauseway serve`: the answers of the other commands over HTTP."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.asked import library_of
from clauseway_cli.options import Rules

_EXTRA = ("fastapi", "starlette", "uvicorn", "pydantic", "annotated_types", "h11", "clauseway_serve")


def register(app: typer.Typer) -> None:
    """Add the command to the command line."""
    app.command("serve")(serve)


def serve(
    host: Annotated[str, typer.Option("--host", help="The address to listen at; loopback alone by default.")] = (
        "127.0.0.1"
    ),
    port: Annotated[int, typer.Option("--port", min=1, max=65535, help="The port.")] = 8423,
    rules: Rules = None,
    token_file: Annotated[
        Path | None,
        typer.Option("--token-file", help="A file of bearer tokens, one a line; also CLAUSEWAY_TOKENS."),
    ] = None,
    without_token: Annotated[
        bool, typer.Option("--without-token", help="Listen beyond this machine without any token.")
    ] = False,
    allow_host: Annotated[
        list[str] | None,
        typer.Option("--allow-host", help="A name by which the server may be called; may be repeated; * for any."),
    ] = None,
    workers: Annotated[
        int, typer.Option("--workers", min=0, max=64, help="Questions answered at once; 0: one a core, four at most.")
    ] = 0,
    seconds: Annotated[float, typer.Option("--seconds", min=0.1, max=600, help="The most time for one question.")] = 20,
    body: Annotated[int, typer.Option("--body", min=1, max=16384, help="The largest body, in KiB.")] = 1024,
    openings: Annotated[int, typer.Option("--openings", min=1, max=100_000, help="The most openings in a body.")] = 200,
    amendments: Annotated[
        bool, typer.Option("--amendments", help="Let a request bring amendments of its own, for itself alone.")
    ] = False,
) -> None:
    """Answer over HTTP: check, needs, repair, trace, explain and more, as JSON. See docs/api.md. Ctrl-C stops it."""
    try:
        from clauseway_serve.run import run
        from clauseway_serve.settings import LOOPBACK, Limits, Settings, may_bind, read_tokens
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in _EXTRA:
            raise
        found = f"the package {error.name} is not installed"
        raise ClausewayError(Problem(NOWHERE, found, "pip install 'clauseway[serve]'")) from None
    tokens = read_tokens(token_file, os.environ)
    may_bind(host, tokens, without_token=without_token)
    library_of(rules)
    names = tuple(allow_host or ())
    if host not in LOOPBACK and host not in ("0.0.0.0", "::"):
        names = (*names, host)
    limits = Limits(seconds=seconds, body=body * 1024, record=max(body, 8192) * 1024, openings=openings)
    run(Settings(tuple(rules or ()), workers, tokens, names, "*" in names, amendments, limits), host, port)
