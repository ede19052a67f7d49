"""The addresses: what is asked there, with which parameters, and the shape of the answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from clauseway_serve import parameters as P


@dataclass(frozen=True)
class Endpoint:
    """One question: its address, its operation, its parameters, and the published schema of its answer.

    `described` says that a file of openings is sent. `one_or_more` that several openings or readings give a list.
    """

    path: str
    operation: str
    parameters: type[P.Asked]
    schema: str
    title: str
    about: str
    described: bool = False
    example: Mapping[str, Any] = field(default_factory=dict)


_LIST = " One opening gives an object, several a list."

ENDPOINTS = (
    Endpoint(
        "/v1/check", "check", P.Check, "report", "Check described openings",
        "The report of `clauseway check FILE --format json`: a verdict for each opening, each finding with its clause, "
        "the facts it used, what is missing and what to do. Several readings of the law give a list. The header "
        "Clauseway-Status is 0 where no violation was found, 1 where something fails, 3 where something is open.",
        True, {"code": ["ibc@2021"], "name": "shop.yaml"},
    ),
    Endpoint(
        "/v1/needs", "needs", P.Needs, "needs", "What an opening needs",
        "The answer of `clauseway needs FILE --format json`: which locking arrangements are open to an opening, and "
        "what each has to be built to." + _LIST,
        True, {"code": ["ibc@2021"], "opening": ["front"]},
    ),
    Endpoint(
        "/v1/repair", "repair", P.Repair, "repair", "The least change after which an opening complies",
        "The answer of `clauseway repair FILE --format json`: the least changes of what a designer chooses, or what "
        "stands in their way. Clauseway-Status is 1 where an opening has no such design." + _LIST,
        True, {"code": ["ibc@2021"], "opening": ["front"], "most": 1},
    ),
    Endpoint(
        "/v1/trace", "trace", P.Trace, "trace", "From a finding to what it rests on",
        "The answer of `clauseway trace FILE OPENING FINDING --format json`: facts, values and clauses under a "
        "finding. A finding about several locks gives a list; name one by `subject`.",
        True, {"code": ["ibc@2021"], "opening": "front", "finding": "ibc.free-egress/always-free"},
    ),
    Endpoint(
        "/v1/compare", "compare", P.Compare, "compare", "Which doors answer otherwise under another law",
        "The answer of `clauseway compare A B FILE --format json`. Clauseway-Status is 1 where a verdict changes.",
        True, {"a": "ibc@2018", "b": "ibc@2021"},
    ),
    Endpoint(
        "/v1/sheet", "sheet", P.Sheet, "project-sheet", "What is computed of each door and supply",
        "The answer of `clauseway compute project FILE --format json`. Engineering, not code.",
        True, {},
    ),
    Endpoint(
        "/v1/compare", "laws", P.Laws, "compare", "What differs between two laws",
        "The answer of `clauseway compare A B --format json`: editions, jurisdictions, dates, drafts.",
        example={"a": "ibc@2018", "b": "ibc@2021", "only": "sensor-release"},
    ),
    Endpoint(
        "/v1/explain", "explain", P.Explain, "explanation", "What an id means",
        "The answer of `clauseway explain ID --format json`.",
        example={"id": "ibc.sensor-release"},
    ),
    Endpoint(
        "/v1/codes", "codes", P.Nothing, "code-list", "The codes, their editions, and the jurisdictions",
        "The answer of `clauseway codes --format json`.",
    ),
    Endpoint(
        "/v1/rulebook", "rulebook", P.Rules, "rulebook-summary", "What identifies a rulebook",
        "The digest of the rules that answer under some codes, and what they hold.",
        example={"code": ["ibc@2021"]},
    ),
    Endpoint(
        "/v1/clauses", "clauses", P.Clauses, "coverage", "How far each clause is encoded",
        "The answer of `clauseway clauses CODE --format json`; without a code, of `clauseway clauses --all`.",
        example={"code": ["ibc@2021"], "standing": ["partly"]},
    ),
    Endpoint(
        "/v1/facts", "facts", P.Facts, "fact-list", "The facts of the vocabulary",
        "The answer of `clauseway facts --format json`: what can be described, and what it may be.",
        example={"search": "height"},
    ),
    Endpoint(
        "/v1/computations", "computations", P.Computations, "", "The computations",
        "The answer of `clauseway compute SEARCH --format json` for a part of a name.",
        example={"search": "voltage"},
    ),
)  # fmt: skip

COMPUTE = "/v1/compute/{name}"
EXAMPLE_COMPUTATION = ("wire.voltage-drop", {"length": "150 ft", "current": "0.5 A", "gauge": "18"})
