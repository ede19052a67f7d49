"""What became of a record: decided again, and compared finding by finding, with the cause of each difference."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from clauseway.answers.many import Tell
from clauseway.answers.record import Record, damage, decide, make_record, read_record, rulebook_in, usable
from clauseway.language import core
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Provision
from clauseway.text.problems import ClausewayError
from clauseway.text.source import parse_yaml

if TYPE_CHECKING:
    from clauseway.law.library import Library

SCHEMA = "clauseway-verification/1"
_MEANING = ("verdict", "raw", "excused_by", "says", "remedy")
_Key = tuple[str, str, str, str, str, str]


@dataclass(frozen=True, slots=True)
class Difference:
    """A finding that is not what it was: `was` or `now` is empty where it is only in the other."""

    opening: str
    finding: str
    subject: str
    mode: str
    was: str
    now: str
    causes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Verification:
    """The state of a record.

    `damage` lists parts that were changed. `inside` compares with a decision by the rules inside, `today` with one by
    other rules; `same` counts findings that are alike under those. `unable` says why one of the two was not made.
    """

    name: str
    damage: tuple[str, ...]
    findings: int
    inside: tuple[Difference, ...]
    today: tuple[Difference, ...]
    same: int
    rules_today: str
    unable: tuple[str, ...]

    @property
    def status(self) -> int:
        """0 as it was, 1 damaged or not what the rules inside give, 3 today's rules give another answer."""
        if self.damage or self.inside:
            return 1
        return 3 if self.today or self.unable else 0


def verify(
    record: Record,
    engine: str,
    today: Callable[[Sequence[str], Sequence[str]], Rulebook] | None = None,
    *,
    processes: int = 1,
    tell: Tell | None = None,
) -> Verification:
    """The state of a record; `today` resolves codes and layers by the rules that are here now.

    Raises:
        ClausewayError: when the rules or the inputs inside cannot be used at all.
    """
    harm = tuple(damage(record))
    try:
        was = {"report": record.report(), "traces": record.data["traces"]}
    except ClausewayError as error:
        if not harm:
            raise
        return Verification(record.name, harm, 0, (), (), 0, "", (f"not decided again: {error.problems[0].found}",))
    count = sum(1 for _ in keyed_findings(was["report"]))
    unable: list[str] = []
    inside: list[Difference] = []
    try:
        rulebook = rulebook_in(record)
        again = usable(
            lambda: decide(record.given, rulebook, record.settings, processes=processes, tell=tell),
            record.name,
            "what is inside",
        )
        now = {"report": again.report, "traces": again.traces}
        inside = differences(was, now, lambda _: _why_inside(record, engine), exactly=True)
    except ClausewayError as error:
        if not harm:
            raise
        unable.append(f"not decided by the rules inside: {error.problems[0].found}")
    if today is None:
        return Verification(record.name, harm, count, tuple(inside), (), 0, "", tuple(unable))
    changed: list[Difference] = []
    digest = ""
    try:
        book = today(record.settings.codes, record.settings.layers)
        digest = book.digest
        text = make_record(
            record.given, book, record.settings, engine, with_traces=False, processes=processes, tell=tell
        )
        fresh = read_record(text, "today")
        changed = compare(record, fresh)
    except ClausewayError as error:
        unable.append(f"not decided by today's rules: {error.problems[0].found}")
    same = count - len([d for d in changed if d.was]) if digest else 0
    return Verification(record.name, harm, count, tuple(inside), tuple(changed), same, digest, tuple(unable))


def by_rules_of(library: Library, record: Record) -> Callable[[Sequence[str], Sequence[str]], Rulebook]:
    """What resolves the codes and layers of a record by the rules of a library, as `verify` takes it.

    A file that names its place is judged by the law of that place as it is known now, on the day of the record.
    """

    def today(codes: Sequence[str], layers: Sequence[str]) -> Rulebook:
        # Reading rules takes more than deciding by those inside.
        from clauseway.answers.asked_law import Where, rulebook_for
        from clauseway.case.open import law_named_in

        node = parse_yaml(record.given.text, record.given.name)
        named = [] if law_named_in(node).jurisdiction else list(codes)
        return rulebook_for(node, named, library, list(layers), Where(on=record.data["on"] or ""))

    return today


def verification_data(found: Verification) -> dict[str, Any]:
    """The state of a record as JSON data."""
    return {
        "schema": SCHEMA,
        "record": found.name,
        "status": found.status,
        "damage": list(found.damage),
        "findings": found.findings,
        "inside": [_difference_data(each) for each in found.inside],
        "today": {
            "digest": found.rules_today or None,
            "same": found.same,
            "changed": [_difference_data(each) for each in found.today],
        },
        "unable": list(found.unable),
    }


def _difference_data(difference: Difference) -> dict[str, Any]:
    return {
        "opening": difference.opening or None,
        "finding": difference.finding,
        "subject": difference.subject,
        "mode": difference.mode or None,
        "was": difference.was or None,
        "now": difference.now or None,
        "causes": list(difference.causes),
    }


def _why_inside(record: Record, engine: str) -> tuple[str, ...]:
    wrote = record.data["engine"]
    if wrote != engine:
        return (f"engine {wrote} -> {engine}",)
    return ("the report was changed after it was written, or the engine without its version",)


def compare(old: Record, new: Record) -> list[Difference]:
    """What differs in meaning between two records, with the cause of each difference."""

    def look() -> list[Difference]:
        was, now = ({"report": record.report()} for record in (old, new))
        return differences(was, now, _Reach(old, new).causes, exactly=False)

    return usable(look, old.name, "the rules inside")


def keyed_findings(report: Mapping[str, Any]) -> Iterator[tuple[_Key, Mapping[str, Any]]]:
    """Each finding of a report by opening, id, subject and mode."""
    for section in ("openings", "others"):
        for answer in report[section]:
            for finding in answer["findings"]:
                subject = finding["subject"]
                about = (str(subject.get("id", "")), str(subject.get("passage", "")))
                mode = str(finding.get("mode") or "")
                yield (answer["kind"], answer["id"], finding["id"], *about, mode), finding


def differences(
    old: Mapping[str, Any], new: Mapping[str, Any], causes: Callable[[str], tuple[str, ...]], *, exactly: bool
) -> list[Difference]:
    """The findings that differ: wholly with `exactly`, in meaning otherwise."""
    was, now = dict(keyed_findings(old["report"])), dict(keyed_findings(new["report"]))
    found = []
    for key in sorted(set(was) | set(now)):
        a, b = was.get(key), now.get(key)
        if a is not None and b is not None and (a == b if exactly else _meaning(a) == _meaning(b)):
            continue
        _, opening, finding, subject, passage, mode = key
        about = f"{subject} ({passage})" if passage else subject
        found.append(
            Difference(
                opening, finding, about, mode, a["verdict"] if a else "", b["verdict"] if b else "", causes(finding)
            )
        )
    for part in ("report", "traces"):
        if not found and exactly and old[part] != new[part]:
            found.append(Difference("", f"the {part} as a whole", "", "", "", "", causes("")))
    return found


def _meaning(finding: Mapping[str, Any]) -> list[Any]:
    values = finding.get("parameters", {})
    return [finding.get(key) for key in _MEANING] + [
        {name: used.get("value") for name, used in values.items() if isinstance(used, dict)}
    ]


class _Reach:
    """The parts of two records that a finding rests on."""

    def __init__(self, old: Record, new: Record) -> None:
        self.old, self.new = old, new
        self.books = [rulebook_in(record) for record in (old, new)]
        self.parts = [dict(record.data["parts"]) for record in (old, new)]
        self.known: dict[str, tuple[str, ...]] = {}

    def causes(self, finding: str) -> tuple[str, ...]:
        """Why a finding may differ: input, revisions, amendments, engine, whichever it can be."""
        name = finding.rpartition("/")[0]
        if name not in self.known:
            self.known[name] = tuple(self._causes(name)) or ("cause not found",)
        return self.known[name]

    def _causes(self, name: str) -> Iterator[str]:
        before, after = self.parts
        if self.old.given.text != self.new.given.text:
            yield f"input {self.old.given.name}"
        for setting in ("on", "settings"):
            if before[setting] != after[setting]:
                yield "settings of the check" if setting == "settings" else "date of the check"
        needed = sorted({part for book in self.books for part in reached(book, name)})
        for part in needed:
            if before.get(part) != after.get(part):
                what = "added" if part not in before else "removed" if part not in after else "revised"
                kind, _, which = part.removeprefix("rules/").partition("/")
                yield f"{kind} {which} {what}".replace("  ", " ").strip()
        if self.old.data["engine"] != self.new.data["engine"]:
            yield f"engine {self.old.data['engine']} -> {self.new.data['engine']}"


def reached(rulebook: Rulebook, name: str) -> set[str]:
    """The parts of the rules that a provision's findings rest on, as a record names them."""
    parts = {"rules/vocabulary"}
    waiting: list[core.Node] = []
    provisions: list[Provision] = []

    def take(wanted: str) -> None:
        provision = rulebook.provisions.get(wanted)
        part = f"rules/provision/{wanted}"
        if provision is not None and part not in parts:
            parts.add(part)
            provisions.append(provision)
            waiting.extend([provision.applies, provision.recognised])
            waiting.extend(condition.truth for condition in provision.permitted + provision.conditions)
            waiting.extend(assumption.node for assumption in provision.assumptions)

    take(name)
    while waiting:
        for node in core.walk(waiting.pop()):
            if isinstance(node, core.Holds):
                take(node.arrangement)
            elif isinstance(node, core.Lookup):
                parts.add(f"rules/table/{node.table}")
            elif isinstance(node, core.Get) and node.derived:
                part = f"rules/derivation/{node.derived}"
                if part not in parts:
                    parts.add(part)
                    waiting.append(rulebook.derivations[node.derived].node)
    return parts | {f"rules/amendment/{layer}" for layer in _layers_in(rulebook, provisions)}


def _layers_in(rulebook: Rulebook, provisions: Sequence[Provision]) -> Iterator[str]:
    """The layers that changed any of these provisions or their values."""
    names = {provision.name for provision in provisions}
    for provision in provisions:
        changes = list(provision.history)
        for condition in provision.permitted + provision.conditions:
            changes += condition.line.history
            for line in condition.lines.values():
                changes += line.history
        yield from (change.layer for change in changes)
    for key, parameter in rulebook.parameters.items():
        if key.rpartition("/")[0] in names:
            yield from (change.layer for change in parameter.history)
