"""What is wrong, as problem details (RFC 9457): what kind, and for what a person wrote each place and remedy."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from starlette.responses import Response

from clauseway.text.problems import Problem

MEDIA_TYPE = "application/problem+json"
MOST = 50
"""Problems in one answer; the rest are counted."""


@dataclass(frozen=True)
class Kind:
    """A kind of problem: its status, its title, and what to do about it."""

    name: str
    status: int
    title: str
    about: str

    @property
    def type(self) -> str:
        """Where this kind is described."""
        return f"/v1/problems/{self.name}"


KINDS: Mapping[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("not-understood", 422, "What was sent cannot be used",
             "The description or a value has errors; nothing was decided. Each is listed with its place."),
        Kind("bad-parameter", 422, "A parameter cannot be used",
             "A name that is not known, a value that is not allowed, or one value given twice."),
        Kind("no-such-name", 404, "Nothing has this name", "See `nearest` for what was perhaps meant."),
        Kind("no-such-page", 404, "There is nothing at this address", "See /v1/openapi.json for all there is."),
        Kind("no-such-method", 405, "This address takes another method", "See the header Allow."),
        Kind("no-token", 401, "A token is needed", "Send `Authorization: Bearer ...` with a token of this server."),
        Kind("no-amendments", 403, "This server takes no rules",
             "A request may bring amendments only where the server was started with `--amendments`."),
        Kind("another-host", 421, "This server is not called so",
             "It answers to the names of loopback and those named by --allow-host."),
        Kind("too-large", 413, "The body is too large", "Send fewer openings in one request."),
        Kind("too-slow", 408, "The body came too slowly", "Send it again, faster."),
        Kind("not-a-description", 415, "The body is of a kind that is not read",
             "Send application/yaml or application/json in UTF-8, not compressed."),
        Kind("takes-too-much", 422, "The answer takes more than this server gives to one request",
             "It stopped at its limit of time, memory or length. Ask about fewer openings."),
        Kind("busy", 503, "All workers are busy", "Ask again after the seconds in Retry-After."),
        Kind("not-ready", 503, "The server is not ready", "It is starting, or the rules beneath it have changed."),
        Kind("failed", 500, "The server failed", "This is a defect. The request id finds it in the log."),
    )
}  # fmt: skip


def problem_data(problem: Problem) -> dict[str, Any]:
    """A problem of the engine as JSON data."""
    place = problem.place
    return {
        "place": {"file": place.file, "line": place.line, "column": place.column} if place.file else None,
        "found": problem.found,
        "expected": problem.expected or None,
        "nearest": problem.nearest or None,
    }


def details(name: str, detail: str = "", problems: Sequence[Mapping[str, Any]] = ()) -> dict[str, Any]:
    """Problem details of one kind."""
    kind = KINDS[name]
    data: dict[str, Any] = {"type": kind.type, "title": kind.title, "status": kind.status}
    shown = [dict(each) for each in problems[:MOST]]
    detail = detail or (str(shown[0]["found"]) if shown else kind.about)
    if len(problems) > len(shown):
        detail += f" ({len(problems) - len(shown)} more are not shown)"
    data["detail"] = detail
    if shown:
        data["problems"] = shown
    return data


def refused(
    name: str,
    detail: str = "",
    problems: Iterable[Mapping[str, Any]] = (),
    headers: Mapping[str, str] | None = None,
) -> Response:
    """The response to a request that has a problem."""
    body = json.dumps(details(name, detail, tuple(problems)), ensure_ascii=False, indent=2) + "\n"
    return Response(body, KINDS[name].status, dict(headers or {}), MEDIA_TYPE)


SCHEMA: Mapping[str, Any] = {
    "type": "object",
    "description": "Problem details (RFC 9457). `problems` has one entry for each thing that is wrong with the input.",
    "properties": {
        "type": {"enum": [kind.type for kind in KINDS.values()]},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "problems": {
            "type": "array",
            "minItems": 1,
            "maxItems": MOST,
            "items": {
                "type": "object",
                "properties": {
                    "place": {
                        "description": "Where it stands: lines and columns count from 1, and 0 is the file as a whole.",
                        "anyOf": [
                            {"type": "null"},
                            {
                                "type": "object",
                                "properties": {
                                    "file": {"type": "string"},
                                    "line": {"type": "integer", "minimum": 0},
                                    "column": {"type": "integer", "minimum": 0},
                                },
                                "required": ["file", "line", "column"],
                                "additionalProperties": False,
                            },
                        ],
                    },
                    "found": {"type": "string"},
                    "expected": {"type": ["string", "null"]},
                    "nearest": {"type": ["string", "null"], "description": "the valid name that was perhaps meant"},
                },
                "required": ["place", "found", "expected", "nearest"],
                "additionalProperties": False,
            },
        },
    },
    "required": ["type", "title", "status", "detail"],
    "additionalProperties": False,
}
