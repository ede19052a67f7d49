"""The application: addresses, the answers of the pool behind them, and every refusal in one shape."""

# Annotations are not put off here: the web framework reads those of functions that are made in a loop.

import hashlib
import json
from collections import Counter
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping, Sequence
from contextlib import asynccontextmanager
from typing import Annotated, Any

from fastapi import FastAPI, Query, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.types import ASGIApp

from clauseway import __version__
from clauseway.case.open import DEMO, openings_path
from clauseway.law.folders import shipped_rules
from clauseway.text.nearest import nearest, one_of
from clauseway_serve import parameters as P
from clauseway_serve.endpoints import AMENDMENTS, COMPUTE, ENDPOINTS, RECORD, Endpoint
from clauseway_serve.guard import Guard
from clauseway_serve.openapi import DESCRIPTION, whole_document
from clauseway_serve.pool import Outcome, Pool
from clauseway_serve.problem import KINDS, refused
from clauseway_serve.settings import Settings

READ = ("application/yaml", "application/json", "application/x-yaml", "text/yaml")
"""The kinds of body that are read; a record is JSON."""

_MOST_VALUES = 40
_LONGEST_VALUE = 200
_AGAIN = {"Retry-After": "5"}


def create_app(settings: Settings | None = None) -> ASGIApp:
    """The application with its own workers, which live as long as its lifespan."""
    settings = settings or Settings()
    pool = Pool(settings)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        await pool.start()
        try:
            yield
        finally:
            await pool.stop()

    app = FastAPI(
        title="Clauseway",
        version=__version__,
        summary="Which codes govern an electrically locked door, what they ask of it, and from which clause.",
        description=DESCRIPTION,
        openapi_url="/v1/openapi.json",
        docs_url=None,
        redoc_url=None,
        lifespan=lifespan,
    )
    for endpoint in ENDPOINTS:
        app.add_api_route(
            endpoint.path,
            _handler(endpoint, pool, settings),
            methods=["POST" if endpoint.described else "GET"],
            operation_id=endpoint.operation,
            summary=endpoint.title,
            description=endpoint.about,
            response_class=Response,
        )
    _add_computation(app, pool)
    _add_plain(app, pool)
    _add_refusals(app)
    made = app.openapi
    app.openapi = lambda: whole_document(made(), guarded=bool(settings.tokens))  # type: ignore[method-assign]
    return Guard(app, settings)


# --- questions --------------------------------------------------------------------------------------------------


def _handler(endpoint: Endpoint, pool: Pool, settings: Settings) -> Callable[..., Awaitable[Response]]:
    model = endpoint.parameters

    async def handler(request: Request, asked: Annotated[model, Query()]) -> Response:  # type: ignore[valid-type]
        wrong = _wrong_names(request, model)
        if wrong is not None:
            return wrong
        if endpoint.body == AMENDMENTS and not settings.amendments:
            return refused("no-amendments")
        text = b""
        if endpoint.described:
            read = await _text(request, READ[1:2] if endpoint.body == RECORD else READ)
            if isinstance(read, Response):
                return read
            text = read
        values = asked.model_dump(by_alias=True)  # type: ignore[attr-defined]
        return _response(request, values, await pool.ask(endpoint.operation, values, text))

    return handler


def _wrong_names(request: Request, model: type[P.Asked]) -> Response | None:
    """The refusal of parameters that nothing reads, and of one value that is given twice."""
    known = {field.alias or name: field for name, field in model.model_fields.items()}
    problems = []
    given = Counter(name for name, _ in request.query_params.multi_items())
    for name, count in given.items():
        if name not in known:
            expected = one_of(sorted(known), 20) or "no parameter"
            problems.append(_parameter(f"no parameter {name[:60]}", expected, nearest(name, known) or ""))
        elif count > 1 and not isinstance(known[name].default, list):
            problems.append(_parameter(f"{name} is given {count} times", "once"))
    return refused("bad-parameter", problems=problems) if problems else None


def _parameter(found: str, expected: str = "", near: str = "") -> dict[str, Any]:
    return {"place": None, "found": found, "expected": expected or None, "nearest": near or None}


async def _text(request: Request, kinds: Sequence[str]) -> bytes | Response:
    """What was sent, where it is text of one of these kinds."""
    kind, _, rest = request.headers.get("content-type", "").partition(";")
    charset = rest.partition("charset=")[2].strip(' "').casefold()
    if kind.strip().casefold() not in kinds or charset not in ("", "utf-8", "utf8"):
        found = f"A body of the kind {kind.strip()[:60] or 'that is not said'}; {one_of(kinds)} in UTF-8."
        return refused("not-a-description", found)
    body = await request.body()
    try:
        body.decode()
    except UnicodeDecodeError as error:
        return refused("not-a-description", f"Byte {error.start + 1} of the body is not UTF-8.")
    return body


def _response(request: Request, values: Mapping[str, Any], outcome: Outcome) -> Response:
    if outcome.refused:
        headers = _AGAIN if KINDS[outcome.refused].status == 503 else {}
        return refused(outcome.refused, problems=outcome.problems, headers=headers)
    headers = {"Clauseway-Rulebook": outcome.rests_on} if outcome.rests_on else {}
    if request.method == "GET":
        tag = entity_tag(outcome, request.url.path, values)
        headers |= {"ETag": tag, "Cache-Control": "private, no-cache"}
        if matches(request.headers.get("if-none-match", ""), tag):
            return Response(status_code=304, headers=headers)
    else:
        headers["Clauseway-Status"] = str(outcome.status)
    return Response(outcome.text, media_type="application/json", headers=headers)


def entity_tag(outcome: Outcome, path: str, values: Mapping[str, Any]) -> str:
    """What identifies an answer: the rulebook, the rules and the program behind it, and the question."""
    asked = json.dumps([path, values], ensure_ascii=False, sort_keys=True)
    made = hashlib.sha256("\n".join((outcome.rests_on, outcome.build, asked)).encode("utf-8", "surrogatepass"))
    return f'"{made.hexdigest()[:40]}"'


def matches(header: str, tag: str) -> bool:
    """Whether an If-None-Match names this tag; weak ones count."""
    named = [each.strip().removeprefix("W/") for each in header.split(",")]
    return tag in named or named == ["*"]


def _add_computation(app: FastAPI, pool: Pool) -> None:
    async def compute(request: Request, name: str) -> Response:
        given = request.query_params.multi_items()
        if len(given) > _MOST_VALUES:
            found = _parameter(f"{len(given)} values", f"{_MOST_VALUES} at most")
            return refused("bad-parameter", problems=[found])
        for key, value in [("name", name), *given]:
            if len(key) > _LONGEST_VALUE or len(value) > _LONGEST_VALUE:
                found = _parameter(f"a value of {max(len(key), len(value))} characters", f"{_LONGEST_VALUE} at most")
                return refused("bad-parameter", problems=[found])
        values = {"name": name, "words": [f"{key}={value}" for key, value in given]}
        return _response(request, values, await pool.ask("compute", values))

    app.add_api_route(
        COMPUTE,
        compute,
        methods=["GET"],
        operation_id="compute",
        summary="One computation, as a calculation sheet",
        description="The answer of `clauseway compute NAME name=value ... --format json`. Engineering, not code.",
        response_class=Response,
    )


# --- the rest ---------------------------------------------------------------------------------------------------


def _json(data: object, headers: Mapping[str, str] | None = None) -> Response:
    text = json.dumps(data, ensure_ascii=False, indent=2) + "\n"
    return Response(text, media_type="application/json", headers=dict(headers or {}))


def _add_plain(app: FastAPI, pool: Pool) -> None:
    schemas = {path.name.removesuffix(".schema.json"): path for path in (shipped_rules() / "schemas").glob("*.json")}

    @app.get("/health/live", response_class=Response, operation_id="live", summary="Whether the server runs")
    async def live() -> Response:
        return _json({"status": "alive"})

    @app.get("/health/ready", response_class=Response, operation_id="ready", summary="Whether a question is answered")
    async def ready() -> Response:
        return _json({"status": "ready"}) if pool.ready else refused("not-ready", headers=_AGAIN)

    @app.get("/v1/demo", response_class=Response, operation_id="demo", summary="The openings that ship as an example")
    async def demo() -> Response:
        return Response(openings_path(DEMO).read_bytes(), media_type="application/yaml")

    @app.get("/v1/schemas/{name}", response_class=Response, operation_id="schema", summary="A published JSON Schema")
    async def schema(name: str) -> Response:
        if name not in schemas:
            found = _parameter(f"no schema {name[:60]}", one_of(sorted(schemas), 40), nearest(name, schemas) or "")
            return refused("no-such-name", problems=[found])
        return Response(schemas[name].read_bytes(), media_type="application/schema+json")

    @app.get("/v1/problems/{name}", response_class=Response, operation_id="problem", summary="What a problem means")
    async def problem(name: str) -> Response:
        if name not in KINDS:
            found = _parameter(f"no problem {name[:60]}", one_of(KINDS, 20), nearest(name, KINDS) or "")
            return refused("no-such-name", problems=[found])
        kind = KINDS[name]
        return _json({"type": kind.type, "title": kind.title, "status": kind.status, "about": kind.about})


def _add_refusals(app: FastAPI) -> None:
    @app.exception_handler(RequestValidationError)
    async def bad_parameter(request: Request, error: RequestValidationError) -> Response:
        described = request.method == "POST"
        here = [each for each in ENDPOINTS if each.path == request.url.path and each.described is described]
        models = [each.parameters for each in here]
        known = sorted(name for model in models for name in _fields(model))
        return refused("bad-parameter", problems=[_invalid(each, known) for each in error.errors()])

    @app.exception_handler(HTTPException)
    async def no_such_page(_: Request, error: HTTPException) -> Response:
        kinds = {404: "no-such-page", 405: "no-such-method"}
        return refused(kinds.get(error.status_code, "failed"), headers=error.headers)

    @app.exception_handler(Exception)
    async def failed(_: Request, __: Exception) -> Response:
        return refused("failed")


def _invalid(error: Mapping[str, Any], known: list[str]) -> dict[str, Any]:
    """What the framework says of a parameter, in our words."""
    where = [str(part) for part in error["loc"][1:]]
    name = ".".join(where)
    if error["type"] == "extra_forbidden":
        return _parameter(f"no parameter {name}", one_of(known, 20) or "no parameter", nearest(name, known) or "")
    if error["type"] == "missing":
        return _parameter(f"{name} is missing", "a value for it")
    return _parameter(f"{name}: {str(error.get('input', ''))[:60]!r}", str(error["msg"]))


def _fields(model: type[P.Asked]) -> list[str]:
    return [field.alias or name for name, field in model.model_fields.items()]
