"""A record of a check: everything that it was decided from, in one canonical text that anybody can decide again."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from clauseway.answers.check import report_of
from clauseway.answers.finding import Answer
from clauseway.answers.folded import fold, unfold
from clauseway.answers.many import Tell, Work, made_of_each
from clauseway.answers.report import answer_data, report_data
from clauseway.answers.trace_store import stored, traces_of
from clauseway.case.project import read_project
from clauseway.law import codec
from clauseway.law.rulebook import Rulebook, from_json
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import parse_yaml

_T = TypeVar("_T")
SCHEMA = "clauseway-record/3"
FAMILY = "clauseway-record/"
LARGEST = 180 * 1024 * 1024
_SHAPE: dict[str, type] = {
    "schema": str,
    "engine": str,
    "on": str,
    "settings": dict,
    "inputs": list,
    "rulebook": list,
    "report": dict,
    "traces": dict,
    "waivers": list,
    "parts": dict,
    "digest": str,
}
_UNUSABLE = (AssertionError, AttributeError, ArithmeticError, LookupError, TypeError, ValueError, RecursionError)


@dataclass(frozen=True, slots=True)
class Input:
    """A file of openings as it was read; `name` is what places in it are called by."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Settings:
    """What a check was asked for: date, what counts that nobody verified, which codes and layers."""

    on: str = ""
    accept_memory: bool = False
    strict: bool = False
    codes: tuple[str, ...] = ()
    layers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Record:
    """A record as it was read: its data, and the text that it was read from."""

    data: Mapping[str, Any]
    text: str
    name: str

    @property
    def given(self) -> Input:
        """The file of openings inside."""
        entry = self.data["inputs"][0]
        return Input(entry["name"], entry["text"])

    def report(self) -> dict[str, Any]:
        """The report inside, as a check gives it.

        Raises:
            ClausewayError: when what its findings share is not there.
        """
        return usable(lambda: unfold(self.data["report"]), self.name, "the report inside")

    @property
    def settings(self) -> Settings:
        """What the check was asked for."""
        data = self.data["settings"]
        return Settings(
            self.data["on"], data["accept_memory"], data["strict"], tuple(data["codes"]), tuple(data["layers"])
        )


def canonical(data: object) -> str:
    """The one text of JSON data: sorted keys, no spaces, nothing escaped that need not be."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"), sort_keys=True, allow_nan=False)


def make_record(
    given: Input,
    rulebook: Rulebook,
    settings: Settings,
    engine: str,
    waivers: tuple[Mapping[str, str], ...] = (),
    *,
    with_traces: bool = True,
    processes: int = 1,
    tell: Tell | None = None,
) -> str:
    """The record of a check, as text; the same arguments give the same bytes, whatever the number of processes.

    Raises:
        ClausewayError: with everything that is wrong with the file of openings.
    """
    decided = decide(given, rulebook, settings, with_traces=with_traces, processes=processes, tell=tell)
    data: dict[str, Any] = {
        "schema": SCHEMA,
        "engine": engine,
        "on": settings.on,
        "settings": {
            "accept_memory": settings.accept_memory,
            "strict": settings.strict,
            "codes": list(settings.codes),
            "layers": list(settings.layers),
        },
        "inputs": [{"name": given.name, "text": given.text}],
        "rulebook": json.loads(rulebook.json),
        "report": fold(decided.report),
        "traces": decided.traces,
        "waivers": [dict(waiver) for waiver in waivers],
    }
    data["parts"] = parts_of(data)
    data["digest"] = codec.digest(canonical(data["parts"]))
    return canonical(data) + "\n"


NO_TRACES: dict[str, Any] = {"nodes": {}, "roots": []}


@dataclass(frozen=True, slots=True)
class Decided:
    """What a check comes to, as JSON data: the report, and the traces of the findings that decide."""

    report: dict[str, Any]
    traces: dict[str, Any]


def decide(
    given: Input,
    rulebook: Rulebook,
    settings: Settings,
    *,
    with_traces: bool = True,
    processes: int = 1,
    tell: Tell | None = None,
) -> Decided:
    """A check of some text; over several processes where that is asked for, as `made_of_each` does it."""
    project = read_project(parse_yaml(given.text, given.name), rulebook.vocabulary)
    accept_memory, strict = settings.accept_memory, settings.strict

    def made(answer: Answer) -> tuple[dict[str, Any], dict[str, Any]]:
        data = answer_data(answer, rulebook.practice)
        return data, traces_of(rulebook, project, answer, accept_memory=accept_memory) if with_traces else NO_TRACES

    work = Work(rulebook, project, made, accept_memory=accept_memory, strict=strict)
    answers = list(made_of_each(work, processes=processes, tell=tell))
    report = report_data(report_of(rulebook, project, [], on=settings.on, strict=strict))
    report["openings"] = [each.of[0] for each in answers if each.kind == "opening"]
    report["others"] = [each.of[0] for each in answers if each.kind != "opening"]
    return Decided(report, stored(each.of[1] for each in answers) if with_traces else NO_TRACES)


# --- digests ------------------------------------------------------------------------------------------------


def parts_of(data: Mapping[str, Any]) -> dict[str, str]:
    """The digest of each part of a record, by the part's name; together they cover all of it."""
    parts = {name: codec.digest(canonical(data[name])) for name in _SHAPE if name not in ("parts", "digest")}
    parts |= {f"inputs/{entry['name']}": codec.digest(entry["text"]) for entry in data["inputs"]}
    for section in ("openings", "others"):
        for answer in data["report"].get(section, []):
            parts[f"report/{answer['kind']}/{answer['id']}"] = codec.digest(canonical(answer))
    return parts | rule_digests(data["rulebook"])


def rule_digests(rulebook: list[Any]) -> dict[str, str]:
    """A digest for each provision with its values, derivation, table and amending layer.

    Lines and columns do not count: a rule that only moved is the same rule.
    """
    fields = dict(zip(_RULEBOOK_FIELDS, rulebook[1:], strict=True))
    digests = {"rules/vocabulary": codec.digest(canonical(_placeless(fields["vocabulary"])))}
    values: dict[str, list[Any]] = {}
    for key, parameter in fields["parameters"]["of"]:
        values.setdefault(key.rpartition("/")[0], []).append(_placeless(parameter))
    for name, provision in fields["provisions"]["of"]:
        own = [_placeless(provision), values.get(name, [])]
        digests[f"rules/provision/{name}"] = codec.digest(canonical(own))
    for name, derivation in fields["derivations"]["of"]:
        own = [_placeless(derivation), values.get(name, [])]
        digests[f"rules/derivation/{name}"] = codec.digest(canonical(own))
    for name, table in fields["tables"]["of"]:
        digests[f"rules/table/{name}"] = codec.digest(canonical(_placeless(table)))
    layers: dict[str, set[str]] = {layer: set() for layer in fields["layers"]}
    for change in _changes(rulebook):
        layers.setdefault(change[1], set()).add(canonical(_placeless(change)))
    return digests | {f"rules/amendment/{name}": codec.digest("\n".join(sorted(own))) for name, own in layers.items()}


_RULEBOOK_FIELDS = tuple(Rulebook.__dataclass_fields__)


def _placeless(data: Any) -> Any:
    if isinstance(data, list):
        return ["~Place"] if data[:1] == ["~Place"] else [_placeless(item) for item in data]
    if isinstance(data, dict):
        return {key: _placeless(item) for key, item in data.items()}
    return data


def _changes(data: Any) -> list[Any]:
    found, waiting = [], [data]
    while waiting:
        item = waiting.pop()
        if isinstance(item, list):
            if item[:1] == ["~Change"]:
                found.append(item)
            waiting.extend(item)
        elif isinstance(item, dict):
            waiting.extend(item.values())
    return found


# --- reading ------------------------------------------------------------------------------------------------


def read_record(text: str, name: str) -> Record:
    """A record from its text; that it was not changed since is for `damage` to say.

    Raises:
        ClausewayError: for text that is no record, a record of another schema, or one that lacks a part.
    """

    def refuse(
        found: str, expected: str = "a record as it was written", line: int = 0, column: int = 0
    ) -> ClausewayError:
        return ClausewayError(Problem(Place(name, line, column), found, expected))

    if len(text) > LARGEST:
        raise refuse(f"larger than {LARGEST // 1024 // 1024} MiB")
    try:
        data = json.loads(text, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        raise refuse(
            f"not JSON from character {error.pos + 1} on: {error.msg}", line=error.lineno, column=error.colno
        ) from None
    except RecursionError:
        raise refuse("nested too deeply") from None
    except ValueError as error:
        raise refuse(f"not a record: {str(error)[:120]}") from None
    if not isinstance(data, dict) or not isinstance(data.get("schema"), str):
        raise refuse("not a record", "the JSON that clauseway record writes")
    schema = data["schema"]
    if schema != SCHEMA:
        if schema.startswith(FAMILY):
            raise refuse(f"a record of the schema {schema[:60]}, which this version does not read", SCHEMA)
        raise refuse(f"not a record: its schema is {schema[:60]}", SCHEMA)
    for part, kind in _SHAPE.items():
        if part not in data:
            raise refuse(f"the part {part} is missing")
        if not isinstance(data[part], kind):
            raise refuse(f"the part {part} is of the wrong type", kind.__name__)
    for part in sorted(set(data) - set(_SHAPE)):
        raise refuse(f"unknown part: {part[:60]}")
    _check_inner(data, refuse)
    return Record(data, text, name)


def _check_inner(data: Mapping[str, Any], refuse: Callable[[str], ClausewayError]) -> None:
    settings, report = data["settings"], data["report"]
    if set(settings) != {"accept_memory", "strict", "codes", "layers"}:
        raise refuse("the part settings is not as it is written")
    if not all(isinstance(settings[key], bool) for key in ("accept_memory", "strict")):
        raise refuse("the part settings is not as it is written")
    if not all(isinstance(settings[key], list) and _texts(settings[key]) for key in ("codes", "layers")):
        raise refuse("the part settings is not as it is written")
    entries = data["inputs"]
    if len(entries) != 1 or not isinstance(entries[0], dict) or set(entries[0]) != {"name", "text"}:
        raise refuse("the part inputs is not as it is written")
    if not _texts([*entries[0].values()]):
        raise refuse("the part inputs is not as it is written")
    for section in ("openings", "others"):
        answers = report.get(section)
        if not isinstance(answers, list) or not all(_is_answer(answer) for answer in answers):
            raise refuse(f"the part report/{section} is not as it is written")
    if not all(isinstance(w, dict) and _texts([*w.values()]) for w in data["waivers"]):
        raise refuse("the part waivers is not as it is written")
    if not _texts([*data["parts"].values()]):
        raise refuse("the part parts is not as it is written")


def _texts(values: list[Any]) -> bool:
    return all(isinstance(value, str) for value in values)


def _is_answer(answer: Any) -> bool:
    if not isinstance(answer, dict) or not _texts([answer.get("kind"), answer.get("id"), answer.get("verdict")]):
        return False
    findings = answer.get("findings")
    return isinstance(findings, list) and all(
        isinstance(f, dict) and _texts([f.get("id"), f.get("verdict")]) and isinstance(f.get("subject"), int)
        for f in findings
    )


def _no_constant(word: str) -> float:
    raise ValueError(f"{word} is no JSON number")


def rulebook_in(record: Record) -> Rulebook:
    """The compiled rulebook inside a record.

    Raises:
        ClausewayError: for one that this version cannot use.
    """
    return usable(lambda: from_json(canonical(record.data["rulebook"])), record.name, "the rules inside")


def usable(make: Callable[[], _T], name: str, what: str) -> _T:
    """What `make` gives; whatever a hostile record makes it stumble over becomes a plain refusal."""
    try:
        return make()
    except _UNUSABLE as error:
        said = f"{type(error).__name__}: {error}"[:160].splitlines()[0]
        raise ClausewayError(
            Problem(Place(name), f"{what} cannot be used: {said}", "a record as it was written")
        ) from None


def damage(record: Record) -> list[str]:
    """What does not match its digest, each with the part it is in; empty for a record as it was written."""

    def look() -> list[str]:
        found = []
        plain = canonical(record.data) + "\n"
        if plain != record.text:
            at = next((i for i, (a, b) in enumerate(zip(plain, record.text, strict=False)) if a != b), None)
            where = min(len(plain), len(record.text)) if at is None else at
            found.append(f"not the canonical form from character {where + 1} on")
        now, then = parts_of(record.data), record.data["parts"]
        found += [f"{part}: changed" for part in sorted(now) if part in then and then[part] != now[part]]
        found += [f"{part}: not among the digests, so added later" for part in sorted(set(now) - set(then))]
        found += [f"{part}: its digest is here, the part is not" for part in sorted(set(then) - set(now))]
        if codec.digest(canonical(then)) != record.data["digest"]:
            found.append("parts: the digest over all does not match the list of digests")
        return found

    return usable(look, record.name, "the record")
