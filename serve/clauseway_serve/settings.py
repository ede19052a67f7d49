"""What a server may be told: its limits, who may ask, whose rules it answers by."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem

SHORTEST_TOKEN = 20
"""Characters; 20 random letters and digits are more than anybody tries out."""

TOKENS_VARIABLE = "CLAUSEWAY_TOKENS"
_LARGEST_TOKEN_FILE = 64 * 1024


@dataclass(frozen=True)
class Limits:
    """What one request may take. Sizes are in bytes, times in seconds."""

    body: int = 1024 * 1024
    record: int = 8 * 1024 * 1024
    """The same for a record, which has the rules in it."""
    depth: int = 30
    nodes: int = 50_000
    openings: int = 200
    answer: int = 64 * 1024 * 1024
    memory: int = 2 * 1024 * 1024 * 1024
    """Address space of a worker process; only where the system can bound it."""
    seconds: float = 20.0
    """From the first byte that a worker gets to the last that it gives."""
    body_seconds: float = 10.0
    """From the head of a request to the end of its body."""
    waiting: int = 32
    """Requests that wait for a worker; one more is refused at once."""
    waiting_seconds: float = 10.0
    connections: int = 256


@dataclass(frozen=True)
class Settings:
    """How a server runs. `hosts` are names by which it may be called besides those of loopback; `any_host` all."""

    rules: tuple[Path, ...] = ()
    workers: int = 0
    tokens: tuple[str, ...] = field(default=(), repr=False)
    hosts: tuple[str, ...] = ()
    any_host: bool = False
    amendments: bool = False
    """Whether a request may bring amendments of its own."""
    limits: Limits = field(default_factory=Limits)

    @property
    def processes(self) -> int:
        """How many questions are answered at once; without a number, one for each core, four at most."""
        return self.workers or max(1, min(4, os.cpu_count() or 1))


def read_tokens(file: Path | None, environment: Mapping[str, str]) -> tuple[str, ...]:
    """The bearer tokens of a file, one a line, and of the environment, parted by white space.

    Raises:
        ClausewayError: for a file that cannot be read or has none, and for a token that is short or strange. No message
            holds any of a token.
    """
    found: list[tuple[str, Place]] = []
    if file is not None:
        found += [(line.strip(), Place(str(file), number, 1)) for number, line in enumerate(_lines(file), start=1)]
        found = [(token, place) for token, place in found if token and not token.startswith("#")]
        if not found:
            raise ClausewayError(Problem(Place(str(file)), "no token is in this file", "one a line"))
    found += [(token, Place(TOKENS_VARIABLE)) for token in environment.get(TOKENS_VARIABLE, "").split()]
    problems = []
    for token, place in found:
        if len(token) < SHORTEST_TOKEN:
            expected = f"{SHORTEST_TOKEN} characters or more"
            problems.append(Problem(place, f"a token of {len(token)} characters", expected))
        elif not token.isascii() or not token.isprintable() or " " in token:
            problems.append(Problem(place, "a token with a character that no header holds", "letters and digits"))
    if problems:
        raise ClausewayError(problems)
    return tuple(dict.fromkeys(token for token, _ in found))


def _lines(file: Path) -> list[str]:
    try:
        if file.stat().st_size > _LARGEST_TOKEN_FILE:
            raise ClausewayError(Problem(Place(str(file)), "too large for a file of tokens", "one token a line"))
        return file.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is not UTF-8"
        raise ClausewayError(Problem(Place(str(file)), f"this file cannot be read: {why}")) from None


def may_bind(host: str, tokens: tuple[str, ...], *, without_token: bool) -> None:
    """Refuse to listen beyond this machine for everybody, unless that is said outright.

    Raises:
        ClausewayError: for another address than loopback without tokens.
    """
    if host in LOOPBACK or tokens or without_token:
        return
    raise ClausewayError(
        Problem(NOWHERE, f"--host {host} without a token", "--token-file, or --without-token if all may ask")
    )


LOOPBACK = ("127.0.0.1", "localhost", "::1")
