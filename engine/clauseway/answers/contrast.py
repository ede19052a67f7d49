"""What differs between two rulebooks: added, removed, tightened, loosened, changed, or renumbered only."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from clauseway.answers.explain import known_by, printed_parameters, value_of
from clauseway.answers.wording import value_in_words
from clauseway.language import core
from clauseway.language.possible import Choice, Interval, Value
from clauseway.language.written import written
from clauseway.law.meaning import bare
from clauseway.law.rulebook import Rulebook
from clauseway.law.strictness import EASIER, HARDER, SAME, Order, growth, opposite, order_of, plain, pulls, together
from clauseway.model.provision import ARRANGEMENT, Change, Condition, Derivation, Parameter, Provision, Table

ADDED, REMOVED, TIGHTENED, LOOSENED, CHANGED = "added", "removed", "tightened", "loosened", "changed"
RENUMBERED, KNOWN = "renumbered", "known otherwise"
KINDS = (ADDED, REMOVED, TIGHTENED, LOOSENED, CHANGED, RENUMBERED)

_OF_ORDER: Mapping[Order, str] = {EASIER: LOOSENED, HARDER: TIGHTENED}
_OF_DIRECTION = {"stricter": TIGHTENED, "looser": LOOSENED}


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that differs: `part` is what it is, `was` and `now` how it reads, `why` who changed it or where it is.

    `declared` says that only the amendment itself says so; the form of the rule does not prove it.
    """

    id: str
    part: str
    kind: str
    was: str
    now: str
    why: tuple[str, ...] = ()
    declared: bool = False


@dataclass(frozen=True)
class Contrast:
    """All that differs, by provision, derivation or table; `same` counts those in which nothing does.

    `known` is what says the same but is known otherwise (read, or from memory): no difference of the law, and yet what
    nobody has read excuses nothing.
    """

    steps: Mapping[str, tuple[Step, ...]]
    titles: Mapping[str, str]
    same: int
    known: tuple[Step, ...] = ()

    @property
    def every(self) -> tuple[Step, ...]:
        """All steps, by the id of what they belong to."""
        return tuple(step for name in sorted(self.steps) for step in self.steps[name])

    def only(self, kind: str) -> tuple[str, ...]:
        """The provisions in which nothing differs but in one way."""
        return tuple(name for name, steps in sorted(self.steps.items()) if {step.kind for step in steps} == {kind})


_Part = Provision | Derivation | Table


def contrast(a: Rulebook, b: Rulebook) -> Contrast:
    """What differs from the first rulebook to the second, the sentences and titles left aside."""
    steps: dict[str, tuple[Step, ...]] = {}
    titles: dict[str, str] = {}
    known: list[Step] = []
    before, after = _parts(a), _parts(b)
    for name in sorted({*before, *after}):
        was, now = before.get(name), after.get(name)
        every = list(_of(name, was, now, a, b))
        known += [step for step in every if step.kind == KNOWN]
        found = tuple(step for step in every if step.kind != KNOWN)
        if found:
            steps[name] = found
            titles[name] = (now or was or next(iter(before.values()))).title
    return Contrast(steps, titles, len({*before, *after}) - len(steps), tuple(known))


def _parts(book: Rulebook) -> dict[str, _Part]:
    return {**book.provisions, **book.derivations, **book.tables}


def _of(name: str, was: _Part | None, now: _Part | None, a: Rulebook, b: Rulebook) -> Iterator[Step]:
    """What differs in one provision, derivation or table."""
    if now is None:
        if was is not None:
            yield Step(name, "provision", REMOVED, was.citation.section, "", _only_in(b, a))
        return
    if was is None:
        yield Step(name, "provision", ADDED, "", now.citation.section, _why((), _changes(now)))
        return
    if isinstance(was, Provision) and isinstance(now, Provision):
        yield from _provision(was, now, a, b)
    elif isinstance(was, Table) and isinstance(now, Table):
        yield from _table(was, now, a, b)
    elif isinstance(was, Derivation) and isinstance(now, Derivation):
        first, second = bare(was.node), bare(now.node)
        if first != second or was.agrees != now.agrees:
            words = (written(first, printed_parameters(a)), written(second, printed_parameters(b)))
            yield Step(name, "computation", CHANGED, *words, _why(was.history, now.history))
    else:
        yield Step(name, "kind", CHANGED, type(was).__name__.lower(), type(now).__name__.lower())
    yield from _values(name, a, b)
    yield from _renumbered(name, was, now)


def _only_in(book: Rulebook, other: Rulebook) -> tuple[str, ...]:
    """The layers that are laid on one side alone, one of which took a provision away."""
    return tuple(layer for layer in book.layers if layer not in other.layers)


def _changes(part: _Part) -> tuple[Change, ...]:
    """What amendments did to a part as a whole."""
    return () if isinstance(part, Table) else part.history


def _why(was: Iterable[Change], now: Iterable[Change]) -> tuple[str, ...]:
    """The amendments that only one side has: those that made the difference."""
    before, after = list(was), list(now)
    new = [change for change in after if change not in before]
    gone = [change for change in before if change not in after]
    made = [f"{change.layer}, {change.cite}" for change in new]
    return tuple(dict.fromkeys(made + [f"without {change.layer}, {change.cite}" for change in gone]))


def _declared(was: Iterable[Change], now: Iterable[Change]) -> str:
    """What the new amendments say of themselves, where they agree."""
    before = list(was)
    said = {_OF_DIRECTION.get(change.direction, "") for change in now if change not in before}
    return said.pop() if len(said) == 1 else ""


def _step(
    name: str, part: str, order: Order, words: tuple[str, str], was: tuple[Change, ...], now: tuple[Change, ...]
) -> Step:
    kind = _OF_ORDER.get(order, "")
    declared = "" if kind else _declared(was, now)
    return Step(name, part, kind or declared or CHANGED, *words, _why(was, now), bool(declared))


# --- provisions -----------------------------------------------------------------------------------------------


def _provision(was: Provision, now: Provision, a: Rulebook, b: Rulebook) -> Iterator[Step]:
    arrangement = now.kind == ARRANGEMENT
    for part, first, second in (
        ("where it applies", was.applies, now.applies),
        ("what it recognises", was.recognised, now.recognised),
    ):
        first, second = bare(first), bare(second)
        if first != second:
            order = order_of(first, second)
            order = order if arrangement else opposite(order)
            words = (written(first, printed_parameters(a)), written(second, printed_parameters(b)))
            yield _step(now.name, part, order, words, was.history, now.history)
    if was.kind != now.kind:
        yield Step(now.name, "kind", CHANGED, was.kind, now.kind, _why(was.history, now.history))
    if sorted(was.excuses) != sorted(now.excuses):
        words = (", ".join(sorted(was.excuses)) or "nothing", ", ".join(sorted(now.excuses)) or "nothing")
        order = growth(Choice(frozenset(was.excuses)), Choice(frozenset(now.excuses)))
        yield _step(now.name, "what it excuses", order, words, was.history, now.history)
    first_assumes = {each.label: bare(each.node) for each in was.assumptions}
    second_assumes = {each.label: bare(each.node) for each in now.assumptions}
    if first_assumes != second_assumes:
        words = (", ".join(sorted(first_assumes)), ", ".join(sorted(second_assumes)))
        yield Step(now.name, "what it assumes", CHANGED, *words, _why(was.history, now.history))
    for part, before, after in (
        ("condition", was.conditions, now.conditions),
        ("permission", was.permitted, now.permitted),
    ):
        yield from _conditions(part, was, now, {c.label: c for c in before}, {c.label: c for c in after}, (a, b))


def _conditions(
    part: str,
    was: Provision,
    now: Provision,
    before: Mapping[str, Condition],
    after: Mapping[str, Condition],
    books: tuple[Rulebook, Rulebook],
) -> Iterator[Step]:
    for label in dict.fromkeys((*before, *after)):
        old, new = before.get(label), after.get(label)
        name = f"{now.name}/{label}"
        if new is not None and old is None:
            why = _why(was.history, (*now.history, *_history(new)))
            yield Step(name, part, ADDED, "", written(new.own, printed_parameters(books[1])), why)
        elif old is not None and new is None:
            why = _why(was.history, now.history)
            yield Step(name, part, REMOVED, written(old.own, printed_parameters(books[0])), "", why)
        elif old is not None and new is not None:
            yield from _condition(name, part, old, new, books)


def _condition(
    name: str, part: str, old: Condition, new: Condition, books: tuple[Rulebook, Rulebook]
) -> Iterator[Step]:
    first, second = bare(old.own), bare(new.own)
    histories = (_history(old), _history(new))
    if plain(first) != plain(second) or old.form != new.form:
        words = (written(first, printed_parameters(books[0])), written(second, printed_parameters(books[1])))
        yield _step(name, part, order_of(first, second), words, *histories)
    elif first != second or old.line.citation.basis != new.line.citation.basis:
        words = (known_by(old.line.citation), known_by(new.line.citation))
        if _unread(old.own) != _unread(new.own) and words[0] == words[1]:
            words = (", ".join(_unread(old.own)) or "read", ", ".join(_unread(new.own)) or "read")
        if words[0] != words[1]:
            yield Step(name, part, KNOWN, *words, _why(*histories))
    if old.excused_by != new.excused_by:
        gone, more = (
            tuple(sorted(set(each.excused_by) - set(other.excused_by))) for each, other in ((old, new), (new, old))
        )
        order = None if gone and more else EASIER if more else HARDER
        words = (", ".join(gone) or "fewer", ", ".join(more) or "no longer")
        yield _step(name, "what excuses the " + part, order, words, *histories)


def _unread(node: core.Node) -> list[str]:
    """The permissions inside a condition that nobody has read."""
    return sorted({inner.label for inner in core.walk(node) if isinstance(inner, core.Unverified)})


def _history(condition: Condition) -> tuple[Change, ...]:
    return tuple(change for line in (condition.line, *condition.lines.values()) for change in line.history)


# --- values ---------------------------------------------------------------------------------------------------


def _values(name: str, a: Rulebook, b: Rulebook) -> Iterator[Step]:
    own = [key for key in {**a.parameters, **b.parameters} if key.startswith(f"{name}/")]
    for key in sorted(own):
        was, now = a.parameters.get(key), b.parameters.get(key)
        if was is None and now is not None:
            yield Step(key, "value", ADDED, "", value_of(now), _why((), now.history))
        elif was is not None and now is None:
            yield Step(key, "value", REMOVED, value_of(was), "", _why(was.history, ()))
        elif was is not None and now is not None and _worth(was) != _worth(now):
            grew = growth(_worth(was), _worth(now))
            easier = together(*(pull for book in (a, b) for pull in _pulls(key, book)))
            order = None if grew is None or easier in (None, SAME) else grew * easier
            yield _step(key, "value", order, (value_of(was), value_of(now)), was.history, now.history)


def _worth(parameter: Parameter) -> Value:
    """What counts of a value: not the unit system, nor a second print of the same."""
    value = parameter.value
    return Interval(value.low, value.high) if isinstance(value, Interval) else value


def _pulls(key: str, book: Rulebook) -> Iterator[Order]:
    """What a larger value does to whoever reads it: what applies in more places asks more."""
    for provision in book.provisions.values():
        allows = provision.kind == ARRANGEMENT
        for scope in (provision.applies, provision.recognised):
            yield from (pull if allows else opposite(pull) for pull in pulls(scope, key))
        for condition in provision.permitted + provision.conditions:
            yield from pulls(condition.own, key)
    for derivation in book.derivations.values():
        yield from (None for node in core.walk(derivation.node) if node == core.Parameter(key))


def _table(was: Table, now: Table, a: Rulebook, b: Rulebook) -> Iterator[Step]:
    columns = [column.name for column in now.columns]
    if columns != [column.name for column in was.columns]:
        yield Step(now.id, "columns", CHANGED, ", ".join(c.name for c in was.columns), ", ".join(columns))
        return
    for row in dict.fromkeys((*was.rows, *now.rows)):
        old, new = was.rows.get(row), now.rows.get(row)
        name = f"{now.id}/{row}"
        why = _why(_cells(was, row), _cells(now, row))
        if old is None or new is None:
            yield Step(name, "row", ADDED if old is None else REMOVED, "", "", why)
            continue
        for column, first, second in zip(now.columns, old, new, strict=True):
            if growth(first, second) != SAME:
                words = (
                    value_in_words(first, column.form, a.vocabulary),
                    value_in_words(second, column.form, b.vocabulary),
                )
                address = f"{name}/{column.name}"
                yield _step(address, "cell", None, words, _cells(was, row), _cells(now, row))


def _cells(table: Table, row: str) -> tuple[Change, ...]:
    own = [changes for address, changes in table.history.items() if f"{address}/".startswith(f"{row}/")]
    return tuple(change for changes in own for change in changes)


# --- numbers --------------------------------------------------------------------------------------------------


def _renumbered(name: str, was: _Part, now: _Part) -> Iterator[Step]:
    """Sections and items that are others."""
    first, second = was.citation, now.citation
    moved = first.section != second.section
    if moved:
        why = _why(_changes(was), _changes(now))
        yield Step(name, "number", RENUMBERED, first.section, second.section, why)
    if not (isinstance(was, Provision) and isinstance(now, Provision)):
        return
    old = {condition.label: condition for condition in was.permitted + was.conditions}
    for condition in now.permitted + now.conditions:
        before = old.get(condition.label)
        if before is None:
            continue
        x, y = before.line.citation, condition.line.citation
        own = x.section != y.section and not (moved and (x.section, y.section) == (first.section, second.section))
        if own or x.item != y.item:
            words = tuple(" item ".join(filter(None, (each.section, each.item))) for each in (x, y))
            why = _why(_history(before), _history(condition))
            yield Step(f"{name}/{condition.label}", "number of", RENUMBERED, words[0], words[1], why)
