"""What every request passes before it is read: its host, its token, the size and the time of its body; and the log."""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import logging
import re
import secrets
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from clauseway_serve.log import LOGGER, event
from clauseway_serve.problem import refused
from clauseway_serve.settings import LOOPBACK, Settings

OPEN = ("/health/live", "/health/ready")
"""Addresses that take no token; they tell nothing but whether the server answers."""

RECORDS = "/v1/verify"
"""The address that takes a record."""

_HOST = re.compile(r"\[([0-9A-Fa-f:.]+)\](?::\d+)?|([^:\[\]]+)(?::\d+)?")


@dataclass
class _Told:
    """What the log says of one request."""

    id: str
    started: float
    status: int = 0
    received: int = 0
    sent: int = 0
    failed: bool = field(default=False)


class Guard:
    """The outermost layer: an ASGI application around another."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self.app = app
        self.limits = settings.limits
        self.tokens = [_hashed(token.encode()) for token in settings.tokens]
        self.hosts = None if settings.any_host else {*LOOPBACK, *(host.casefold() for host in settings.hosts)}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse what may not pass; let the application answer the rest."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        told = _Told(secrets.token_hex(8), time.monotonic())
        telling = self._telling(told, send)
        try:
            refusal = self._refused(scope)
            if refusal is None:
                body = await self._body(scope, receive, told)
                if isinstance(body, bytes):
                    await self.app(scope, _replayed(body, receive), telling)
                else:
                    refusal = body
            if refusal is not None:
                await refusal(scope, receive, telling)
        except Exception:
            told.failed = True
            LOGGER.exception("failed", extra={"values": {"id": told.id}})
            if not told.status:
                await refused("failed")(scope, receive, telling)
        finally:
            route = scope.get("route")
            event(
                "request",
                level=_level(told),
                id=told.id,
                method=scope["method"],
                route=getattr(route, "path", None),
                status=told.status,
                ms=round((time.monotonic() - told.started) * 1000, 1),
                received=told.received,
                sent=told.sent,
            )

    def _telling(self, told: _Told, send: Send) -> Send:
        async def telling(message: Message) -> None:
            if message["type"] == "http.response.start":
                told.status = message["status"]
                headers = MutableHeaders(scope=message)
                headers["X-Request-Id"] = told.id
                headers["X-Content-Type-Options"] = "nosniff"
                headers.setdefault("Cache-Control", "no-store")
            elif message["type"] == "http.response.body":
                told.sent += len(message.get("body", b""))
            await send(message)

        return telling

    def _refused(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        if self.hosts is not None and _name_of(headers.get("host", "")) not in self.hosts:
            return refused("another-host")
        if self.tokens and scope["path"] not in OPEN and not self._known(headers.getlist("authorization")):
            return refused("no-token", headers={"WWW-Authenticate": "Bearer"})
        if headers.get("content-encoding", "identity").strip().casefold() != "identity":
            return refused("not-a-description", "A compressed body is not read.")
        length = headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit() or int(length[:20]) > self._most(scope):
            return self._too_large(scope)
        return None

    def _most(self, scope: Scope) -> int:
        """The bytes that are read of a body."""
        return self.limits.record if scope["path"] == RECORDS else self.limits.body

    def _known(self, given: list[str]) -> bool:
        """Whether the one token given is one of ours; how long it takes tells nothing about which, or how nearly."""
        scheme, _, token = given[0].partition(" ") if len(given) == 1 else ("", "", "")
        mine = _hashed(token.strip().encode("utf-8", "surrogateescape"))
        same = [hmac.compare_digest(mine, each) for each in self.tokens]
        return any(same) and scheme.casefold() == "bearer"

    def _too_large(self, scope: Scope) -> Response:
        detail = f"At most {self._most(scope)} bytes are read."
        return refused("too-large", detail, headers={"Connection": "close"})

    async def _body(self, scope: Scope, receive: Receive, told: _Told) -> bytes | Response:
        """The whole body, or the refusal of one that is too large or comes too slowly."""
        parts: list[bytes] = []
        try:
            async with asyncio.timeout(self.limits.body_seconds):
                while True:
                    message = await receive()
                    if message["type"] != "http.request":
                        break
                    part = message.get("body", b"")
                    told.received += len(part)
                    if told.received > self._most(scope):
                        return self._too_large(scope)
                    parts.append(part)
                    if not message.get("more_body", False):
                        break
        except TimeoutError:
            return refused("too-slow", headers={"Connection": "close"})
        return b"".join(parts)


def _level(told: _Told) -> int:
    """A server that is busy or starting is no error."""
    if told.failed or told.status == 500:
        return logging.ERROR
    return logging.WARNING if told.status >= 500 else logging.INFO


def _hashed(token: bytes) -> bytes:
    """A token at one length, so that its own length takes no time either."""
    return hashlib.sha256(token).digest()


def _name_of(host: str) -> str:
    match = _HOST.fullmatch(host.strip())
    return (match[1] or match[2]).casefold() if match else ""


def _replayed(body: bytes, receive: Receive) -> Callable[[], Awaitable[Message]]:
    """The body once more for the application; afterwards what comes, such as the end of the connection."""
    given = False

    async def again() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again
