"""The addresses: what is asked there, with which parameters, and the shape of the answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from clauseway_serve import parameters as P

OPENINGS, WAIVERS, AMENDMENTS, RECORD = "openings", "waivers", "amendments", "record"
"""What is sent: a file of openings, the same with waivers or amendments beside it, or a record."""


@dataclass(frozen=True)
class Endpoint:
    """One question: its address, its operation, its parameters, and the published schema of its answer.

    `body` says what is sent with it, nothing for a question that is asked by its address alone.
    """

    path: str
    operation: str
    parameters: type[P.Asked]
    schema: str
    title: str
    about: str
    body: str = ""
    example: Mapping[str, Any] = field(default_factory=dict)

    @property
    def described(self) -> bool:
        """Whether something is sent with it."""
        return bool(self.body)


_LIST = " One opening gives an object, several a list."

ENDPOINTS = (
    Endpoint(
        "/v1/check", "check", P.Check, "report", "Check described openings",
        "The report of `clauseway check FILE --format json`: a verdict for each opening, each finding with its clause, "
        "the facts it used, what is missing and what to do. Several readings of the law give a list. The header "
        "Clauseway-Status is 0 where no violation was found, 1 where something fails, 3 where something is open.",
        OPENINGS, {"code": ["ibc@2021"], "name": "shop.yaml"},
    ),
    Endpoint(
        "/v1/needs", "needs", P.Needs, "needs", "What an opening needs",
        "The answer of `clauseway needs FILE --format json`: which locking arrangements are open to an opening, and "
        "what each has to be built to." + _LIST,
        OPENINGS, {"code": ["ibc@2021"], "opening": ["front"]},
    ),
    Endpoint(
        "/v1/repair", "repair", P.Repair, "repair", "The least change after which an opening complies",
        "The answer of `clauseway repair FILE --format json`: the least changes of what a designer chooses, or what "
        "stands in their way. Clauseway-Status is 1 where an opening has no such design." + _LIST,
        OPENINGS, {"code": ["ibc@2021"], "opening": ["front"], "most": 1},
    ),
    Endpoint(
        "/v1/trace", "trace", P.Trace, "trace", "From a finding to what it rests on",
        "The answer of `clauseway trace FILE OPENING FINDING --format json`: facts, values and clauses under a "
        "finding. A finding about several locks gives a list; name one by `subject`.",
        OPENINGS, {"code": ["ibc@2021"], "opening": "front", "finding": "ibc.free-egress/always-free"},
    ),
    Endpoint(
        "/v1/compare", "compare", P.Compare, "compare", "Which doors answer otherwise under another law",
        "The answer of `clauseway compare A B FILE --format json`. Clauseway-Status is 1 where a verdict changes.",
        OPENINGS, {"a": "ibc@2018", "b": "ibc@2021"},
    ),
    Endpoint(
        "/v1/sheet", "sheet", P.Sheet, "project-sheet", "What is computed of each door and supply",
        "The answer of `clauseway compute project FILE --format json`. Engineering, not code.",
        OPENINGS, {},
    ),
    Endpoint(
        "/v1/interview", "interview", P.Interview, "interview", "What to ask next about an opening",
        "The answer of `clauseway interview FILE OPENING --next`. With `question` and `answer`, the description with "
        "that answer in it, to be sent with the next request, and what to ask after it.",
        OPENINGS, {"code": ["ibc@2021"], "opening": "front"},
    ),
    Endpoint(
        "/v1/handover", "handover", P.Handover, "handover", "What an installer takes away",
        "The answer of `clauseway handover FILE OPENING --format json`: devices, sequence of operation, signs, "
        "acceptance test, inspections, and what is not known yet.",
        OPENINGS, {"code": ["ibc@2021"], "opening": "front"},
    ),
    Endpoint(
        "/v1/affects", "affects", P.Affects, "affects", "Which findings rest on something",
        "The answer of `clauseway affects ID FILE --format json`: the provisions and conditions that rest on a clause, "
        "value, fact or amendment, and the findings of the openings that do.",
        OPENINGS, {"code": ["ibc@2021"], "id": "IBC 2021 1010.2.12"},
    ),
    Endpoint(
        "/v1/waivers", "waivers", P.Waivers, "waivers", "Waivers beside the verdicts they are about",
        "The answer of `clauseway waivers FILE WAIVERS --format json`; no verdict hangs on a waiver. The body has the "
        "file of openings under `description` and the list under `waivers`. Clauseway-Status is 1 where one does not "
        "stand.",
        WAIVERS, {"code": ["ibc@2021"], "on": "2026-05-01"},
    ),
    Endpoint(
        "/v1/record", "record", P.Record, "record", "All that an answer was decided from, and the answer",
        "The file that `clauseway record FILE` writes, to the byte: anybody can verify it.",
        OPENINGS, {"code": ["ibc@2021"], "on": "2026-05-01", "name": "shop.yaml"},
    ),
    Endpoint(
        "/v1/verify", "verify", P.Verify, "verification", "Whether a record still stands",
        "The answer of `clauseway verify RECORD --format json`. Clauseway-Status is 0 for the same, 1 for a record "
        "that is damaged or not what its own rules give, 3 for another answer by today's rules.",
        RECORD, {"name": "shop-record.json"},
    ),
    Endpoint(
        "/v1/check-amended", "check-amended", P.Check, "report", "Check under amendments that are sent along",
        "A check under further layers for this one request, only where the server was started with `--amendments`. The "
        "body has the file of openings under `description` and a list of layers, each as a file of amendments, under "
        "`amendments`; they are laid in their order after those that `layer` names, and kept nowhere.",
        AMENDMENTS, {"code": ["ibc@2021"]},
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
        "/v1/affects", "rules-affected", P.RulesAffected, "affects", "What rests on something",
        "The answer of `clauseway affects ID --format json`: the provisions and conditions that rest on a clause, "
        "value, fact or amendment.",
        example={"id": "IBC 2021 1010.2.12"},
    ),
    Endpoint(
        "/v1/cite", "cite", P.Cite, "citations", "What a cited section is",
        "The answer of `clauseway cite TEXT --format json`: what it is, where the same stands in other editions, and "
        "whether its number is one of another edition.",
        example={"text": "IBC 2021 1010.2.11"},
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
