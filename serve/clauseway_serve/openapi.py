"""The OpenAPI document: published schemas, an example for each question, and every refusal."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from clauseway.law.folders import shipped_rules
from clauseway_serve.endpoints import (
    AMENDMENTS,
    COMPUTE,
    ENDPOINTS,
    EXAMPLE_COMPUTATION,
    OPENINGS,
    RECORD,
    WAIVERS,
    Endpoint,
)
from clauseway_serve.problem import KINDS, MEDIA_TYPE, SCHEMA

DESCRIPTION = """\
The answers of the command line for programs, to the byte. A file of openings is the body of the request, YAML or JSON,
exactly as it would lie in a folder; parameters are the options of the command. A reading of the codes, not an approval:
the authority having jurisdiction decides, local amendments govern, and licensed professionals design and sign.
"""

EXAMPLES = Path(__file__).parent / "examples"
SHOP = "shop.yaml"

_EVERYWHERE = ("no-token", "another-host", "failed")
_ASKED = ("not-understood", "bad-parameter", "takes-too-much", "busy", "not-ready")
_SENT = ("too-large", "too-slow", "not-a-description")
_NAMED = ("explain", "rules-affected")
"""Questions about one name, which may be nobody's."""

_BY_ALL = ("codes", "clauses", "cite", "compute")
"""Questions to all rules, which no one rulebook answers."""


def responses_of(endpoint: Endpoint | None) -> dict[int | str, dict[str, Any]]:
    """What may come back from a question; nothing stands for a computation."""
    schema = "computation" if endpoint is None else endpoint.schema
    name = "compute" if endpoint is None else endpoint.operation
    shape: dict[str, Any] = {"$ref": f"#/components/schemas/{schema}"} if schema else _COMPUTATIONS
    kinds = [*_EVERYWHERE, *_ASKED]
    headers = {"Clauseway-Rulebook": _header("The digests of the rulebooks that answered, parted by a space.")}
    described = endpoint is not None and endpoint.described
    if described:
        kinds += _SENT
        headers["Clauseway-Status"] = _header("0 all is well, 1 something fails, 3 something is open.")
    else:
        headers["ETag"] = _header("What identifies this answer; send it as If-None-Match.")
    if endpoint is not None and endpoint.body == AMENDMENTS:
        kinds.append("no-amendments")
    if endpoint is None or endpoint.operation in _NAMED:
        kinds.append("no-such-name")
    if not schema or name in _BY_ALL:
        del headers["Clauseway-Rulebook"]
    found: dict[int | str, dict[str, Any]] = {
        200: {
            "description": "The answer.",
            "headers": headers,
            "content": {"application/json": {"schema": shape, "example": example(name)}},
        }
    }
    if not described:
        found[304] = {"description": "The answer is the one that If-None-Match names."}
    return found | refusals(kinds)


def refusals(kinds: list[str]) -> dict[int | str, dict[str, Any]]:
    """The responses of some kinds of problems, by status."""
    found: dict[int | str, dict[str, Any]] = {}
    for name in kinds:
        kind = KINDS[name]
        entry = found.setdefault(kind.status, {"description": "", "content": {MEDIA_TYPE: {"examples": {}}}})
        entry["description"] = "; ".join(filter(None, [entry["description"], kind.title]))
        content = entry["content"][MEDIA_TYPE]
        content["schema"] = {"$ref": "#/components/schemas/problem"}
        content["examples"][name] = {"summary": kind.title, "value": _example_of(name)}
    return found


def _example_of(name: str) -> dict[str, Any]:
    kind = KINDS[name]
    data = {"type": kind.type, "title": kind.title, "status": kind.status, "detail": kind.about}
    problems: dict[str, dict[str, Any]] = {
        "not-understood": {
            "place": {"file": SHOP, "line": 12, "column": 7},
            "found": "no fact locks.magnet.knid",
            "expected": "kind, leaf, secures, on or another fact of a lock",
            "nearest": "kind",
        },
        "bad-parameter": {"place": None, "found": "no parameter cod", "expected": "code or layer", "nearest": "code"},
        "no-such-name": {
            "place": None,
            "found": "nothing is called sensor-relaese",
            "expected": "a provision, condition, parameter, fact or section of ibc@2021",
            "nearest": "sensor-release",
        },
    }
    if name in problems:
        data |= {"detail": problems[name]["found"], "problems": [problems[name]]}
    return data


def described(endpoint: Endpoint) -> dict[str, Any]:
    """The body of a question about a file of openings, and an example call."""
    extra: dict[str, Any] = {}
    if endpoint.example:
        query = urlencode(endpoint.example, doseq=True)
        extra["x-example"] = f"{endpoint.path}?{query}"
    if not endpoint.described:
        return extra
    extra["requestBody"] = {"required": True, **_BODIES[endpoint.body]()}
    return extra


def _openings() -> dict[str, Any]:
    return _texts("A file of openings, as `clauseway check` reads it.", _FILE, SHOP)


def _with_waivers() -> dict[str, Any]:
    waiver = {"type": "object", "description": "`finding`, `opening`, `granted_by`, `evidence`, `until`, as text."}
    listed = {"type": "array", "items": waiver}
    schema = {"type": "object", "properties": {"description": _FILE, "waivers": listed}, "additionalProperties": False}
    about = "A file of openings with waivers beside it."
    return _texts(about, {**schema, "required": ["description", "waivers"]}, "waived.yaml")


def _with_amendments() -> dict[str, Any]:
    layer = {"type": "object", "description": "A layer, as a file of amendments; its shape is published as `layer`."}
    listed = {"type": "array", "items": layer, "minItems": 1}
    schema = {
        "type": "object",
        "properties": {"description": _FILE, "amendments": listed},
        "additionalProperties": False,
    }
    about = "A file of openings with amendments beside it."
    return _texts(about, {**schema, "required": ["description", "amendments"]}, "amended.yaml")


def _record() -> dict[str, Any]:
    about = "A record to the byte as `clauseway record` or /v1/record wrote it; the example is shortened."
    shape = {"$ref": "#/components/schemas/record"}
    return {"description": about, "content": {"application/json": {"schema": shape, "example": example("record")}}}


def _texts(about: str, schema: Mapping[str, Any], name: str) -> dict[str, Any]:
    """A body that is YAML or JSON, with an example of each."""
    text = (EXAMPLES / name).read_text(encoding="utf-8")
    data = json.loads((EXAMPLES / name.replace(".yaml", ".json")).read_text(encoding="utf-8"))
    return {
        "description": about,
        "content": {
            "application/yaml": {"schema": dict(schema), "example": text},
            "application/json": {"schema": dict(schema), "example": data},
        },
    }


_FILE: Mapping[str, Any] = {
    "type": "object",
    "description": "A file of openings as data. Its shape is published as the schema openings, in which every "
    "scalar is text; the facts of things are those that /v1/facts lists.",
}
_BODIES: Mapping[str, Callable[[], dict[str, Any]]] = {
    OPENINGS: _openings,
    WAIVERS: _with_waivers,
    AMENDMENTS: _with_amendments,
    RECORD: _record,
}


def computing() -> dict[str, Any]:
    """The values of a computation: whatever names its arguments have."""
    name, values = EXAMPLE_COMPUTATION
    return {
        "x-example": f"/v1/compute/{name}?{urlencode(values)}",
        "parameters": [
            {
                "name": "values",
                "in": "query",
                "style": "form",
                "explode": True,
                "required": False,
                "description": "Each argument by its name, as people type it: `150 ft`, `50..150 ft` for a range, `?` "
                "where it is not known. An answer without them says which are missing.",
                "schema": {
                    "type": "object",
                    "maxProperties": 40,
                    "additionalProperties": {"type": "string", "maxLength": 200},
                },
                "example": dict(values),
            }
        ],
    }


@cache
def example(operation: str) -> Any:
    """A real answer, shortened to a part of its findings."""
    return json.loads((EXAMPLES / f"{operation}.json").read_text(encoding="utf-8"))


def _header(text: str) -> dict[str, Any]:
    return {"description": text, "schema": {"type": "string"}}


_COMPUTATIONS: dict[str, Any] = {
    "type": "array",
    "items": {
        "type": "object",
        "properties": {"name": {"type": "string"}, "title": {"type": "string"}},
        "required": ["name", "title"],
        "additionalProperties": False,
    },
}

_PLAIN: Mapping[str, tuple[str, dict[str, Any], tuple[str, ...]]] = {
    "/health/live": ("application/json", {"const": {"status": "alive"}}, ("another-host", "failed")),
    "/health/ready": ("application/json", {"const": {"status": "ready"}}, ("another-host", "failed", "not-ready")),
    "/v1/demo": ("application/yaml", {"type": "object"}, _EVERYWHERE),
    "/v1/schemas/{name}": ("application/schema+json", {"type": "object"}, (*_EVERYWHERE, "no-such-name")),
    "/v1/problems/{name}": ("application/json", {"type": "object"}, (*_EVERYWHERE, "no-such-name")),
}


def whole_document(made: Mapping[str, Any], *, guarded: bool) -> dict[str, Any]:
    """What the framework made of the addresses, with the published schemas, the plain addresses and the tokens."""
    document: dict[str, Any] = copy.deepcopy(dict(made))
    # Set here and not through the framework, which leaves out whatever is null in an example.
    for endpoint in ENDPOINTS:
        operation = document["paths"][endpoint.path]["post" if endpoint.described else "get"]
        operation["responses"] = _by_status(responses_of(endpoint))
        operation |= described(endpoint)
    operation = document["paths"][COMPUTE]["get"]
    operation["responses"] = _by_status(responses_of(None))
    extra = computing()
    operation["parameters"] += extra.pop("parameters")
    operation |= extra
    for path, (media, schema, kinds) in _PLAIN.items():
        operation = document["paths"][path]["get"]
        content = {media: {"schema": schema}}
        operation["responses"] = {"200": {"description": "The answer.", "content": content}}
        operation["responses"] |= _by_status(refusals(list(kinds)))
    components = document.setdefault("components", {})
    components["schemas"] = {**published(), "problem": dict(SCHEMA)}
    components["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer"}}
    document["security"] = [{"token": []}] if guarded else [{}, {"token": []}]
    for path in ("/health/live", "/health/ready"):
        document["paths"][path]["get"]["security"] = []
    return document


def _by_status(responses: Mapping[int | str, dict[str, Any]]) -> dict[str, Any]:
    return {str(status): responses[status] for status in sorted(responses, key=str)}


@cache
def published() -> dict[str, Any]:
    """The published schemas of answers, their references turned to where they stand in the document."""
    names = {endpoint.schema for endpoint in ENDPOINTS if endpoint.schema} | {"computation"}
    found: dict[str, Any] = {}
    waiting = sorted(names)
    while waiting:
        name = waiting.pop()
        if name not in found:
            text = (shipped_rules() / "schemas" / f"{name}.schema.json").read_text(encoding="utf-8")
            found[name], others = _placed(json.loads(text), name)
            waiting += sorted(others)
    return dict(sorted(found.items()))


def _placed(schema: Any, name: str) -> tuple[Any, set[str]]:
    """A schema with its references placed under components, and the other schemas that it refers to."""
    others: set[str] = set()

    def place(value: Any) -> Any:
        if isinstance(value, list):
            return [place(each) for each in value]
        if not isinstance(value, dict):
            return value
        made = {key: place(each) for key, each in value.items() if key not in ("$schema", "$id")}
        reference = made.get("$ref")
        if isinstance(reference, str):
            file, _, pointer = reference.partition("#")
            target = file.removesuffix(".schema.json") or name
            if target != name:
                others.add(target)
            made["$ref"] = f"#/components/schemas/{target}{pointer.rstrip('/')}"
        return made

    return place(schema), others
