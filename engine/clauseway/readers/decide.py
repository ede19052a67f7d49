"""The checker's reader: what a term of the core form is for one subject of a described project.

Every evaluation gives the value together with the missing facts that keep it from being decided. A reader that tells
what it reads skips nothing, so that the same term always reads the same facts; one that does not stops at the first
part that decides. Either remembers what it found for a term about the same things.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from clauseway.case.project import member_path
from clauseway.case.things import Listed, Missing, Project, Thing
from clauseway.language import core
from clauseway.language.possible import (
    ZERO,
    Choice,
    Choices,
    Interval,
    Text,
    Truth,
    Value,
    arithmetic,
    belongs,
    compare,
    every,
    hull,
    includes,
    is_decided,
    largest,
    monotone,
    negate,
    overlaps,
    same_text,
    smallest,
    some,
)
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import INVERSE, MANY, OWNS, Fact
from clauseway.readers.collection import NO_GAPS, Collection, Gaps, Member, added, perhaps
from clauseway.readers.compiled import OFTEN, Code, Ref, code_of, running, telling
from clauseway.readers.facts_read import names_read, touched_by
from clauseway.readers.table_rows import matched

Env = Mapping[str, Thing]
Result = tuple[Value, Gaps]
T = TypeVar("T")
Read = Callable[[Thing, str, Value], None]
Reads = tuple[tuple[Thing, str, Value], ...]
ReadFact = tuple[Thing, str, Value]
"""A fact that was read: of what, the dotted name, the value."""
ReadFacts = dict[tuple[str, str], ReadFact]
"""Facts that were read, by path and dotted name."""


@dataclass(slots=True)
class Memory:
    """What was found before: values of terms by the things they are about, of facts, and collections.

    With each value stand the facts read for it, for a reader that tells; others leave that empty.
    """

    terms: dict[tuple[object, ...], tuple[core.Node, Result, Reads]] = field(default_factory=dict)
    answers: dict[tuple[object, ...], tuple[core.Node, Any]] = field(default_factory=dict)
    derived: dict[tuple[str, str], tuple[Result, Reads]] = field(default_factory=dict)
    facts: dict[tuple[str, str], Result] = field(default_factory=dict)
    collections: dict[tuple[str, str], Collection] = field(default_factory=dict)
    things: dict[tuple[object, ...], Thing] = field(default_factory=dict)


class Decider:
    """Evaluates terms against one project in one mode.

    `assumed` replaces what is known of some facts: it is how the effect of an answer not yet given is tried out.
    With `accept_memory`, permissions that were never verified count like others; with `refuse_memory` they are taken
    not to be there, which shows what can never be permitted without them.
    """

    def __init__(
        self,
        rulebook: Rulebook,
        project: Project,
        mode: str = "",
        assumed: Mapping[tuple[str, str], Value] | None = None,
        accept_memory: bool = False,
        read: Read | None = None,
        refuse_memory: bool = False,
    ) -> None:
        self.rulebook = rulebook
        self.vocabulary = rulebook.vocabulary
        self.project = project
        self.mode = mode
        self.assumed = assumed or {}
        self.accept_memory = accept_memory
        self.read = read
        self.refuse_memory = refuse_memory
        self._memory = Memory()
        self._told = Memory()
        self._base: Decider | None = None
        self._tried: frozenset[str] = frozenset()
        self._touched: frozenset[str] = frozenset()
        self._values: dict[tuple[str, str], Result] = {}
        self._results: dict[tuple[object, ...], Result] = {}
        self._shown: dict[int, tuple[ReadFact, Any]] = {}
        self._known_reads: dict[tuple[object, ...], ReadFacts] = {}

    def telling(self, read: Read) -> Decider:
        """The same reader, which tells what it reads and shares what is remembered."""
        twin = Decider(
            self.rulebook, self.project, self.mode, self.assumed, self.accept_memory, read, self.refuse_memory
        )
        twin._memory, twin._told = self._memory, self._told
        twin._base, twin._tried, twin._touched = self._base, self._tried, self._touched
        return twin

    def trying(self, assumed: Mapping[tuple[str, str], Value], accept_memory: bool) -> Decider:
        """A reader of the same project with other facts assumed.

        Of a term that reads none of those that differ, it knows what this reader knows.
        """
        other = Decider(self.rulebook, self.project, self.mode, assumed, accept_memory)
        other._memory.facts, other._memory.collections = self._memory.facts, self._memory.collections
        other._memory.things = self._memory.things
        if accept_memory is self.accept_memory and not self.refuse_memory and self.read is None:
            different = self.assumed.items() ^ assumed.items()
            other._base, other._tried = self, frozenset(name for (_, name), _ in different)
            other._touched = touched_by(self.rulebook, other._tried)
        return other

    def _as_before(self, node: core.Node) -> Decider | None:
        """The reader that this one was made from, where none of what differs is read for a term."""
        if self._base is None or self.read is not None:
            return None
        return self._base if self._tried.isdisjoint(names_read(self.rulebook, node)) else None

    # --- truths and values --------------------------------------------------------------------------------

    def truth(self, node: core.Node, env: Env) -> tuple[Truth, Gaps]:
        """The truth of a term that is a yes or no."""
        value, gaps = self.value(node, env)
        assert value is None or isinstance(value, bool)
        return value, gaps

    def value(self, node: core.Node, env: Env) -> Result:
        """The value of a term, by its function where it is asked often."""
        if self.read is not None or type(node) is core.Constant:
            return self.evaluated(node, env)
        code = code_of(self.rulebook, node)
        run = code.run
        if run is None:
            code.asked += 1
            if code.asked <= OFTEN:
                return self.evaluated(node, env)
            run = running(self.rulebook, code)
        try:
            things = [env[name] for name in code.names]
        except KeyError:
            return self.evaluated(node, env)
        found: Result = run(self, self._values, self._results, *things)
        return found

    def evaluated(self, node: core.Node, env: Env) -> Result:
        """The value of a term, read part by part."""
        return _EVALUATE[type(node)](self, node, env)

    def _part(self, node: core.Node, env: Env) -> tuple[Truth, Gaps]:
        value, gaps = _EVALUATE[type(node)](self, node, env)
        assert value is None or isinstance(value, bool)
        return value, gaps

    # --- for terms that are functions -------------------------------------------------------------------

    def again(self, code: Code, things: tuple[Thing, ...]) -> Result:
        """The result of a term that is a function by itself, for some things, kept under its number."""
        key = (code.number, *[thing.key for thing in things])
        base = self._base
        if base is not None and self._tried.isdisjoint(code.facts or self._facts_of(code)):
            result = base._results.get(key) or base.again(code, things)
        else:
            run = code.run or running(self.rulebook, code)
            result = run(self, self._values, self._results, *things)
        self._results[key] = result
        return result

    def _facts_of(self, code: Code) -> frozenset[str]:
        code.facts = names_read(self.rulebook, code.node)
        return code.facts

    def found(self, thing: Thing, read: Ref) -> Result:
        """The value of a fact with what is missing for it, kept."""
        key = (thing.key, read.key)
        base = self._base
        if base is not None and read.key not in self._touched:
            result = base._values.get(key) or base.found(thing, read)
        else:
            result = self._fact(thing, self.vocabulary.kinds[thing.kind].facts[read.name], read.derivation)
        self._values[key] = result
        return result

    def reads(self, node: core.Node, env: Env) -> ReadFacts:
        """All facts that a term reads of things that are described, by a reader that skips nothing."""
        out: ReadFacts = {}
        code = code_of(self.rulebook, node)
        if code.tell is None:
            code.told += 1
        if code.told <= OFTEN or any(name not in env for name in code.names):
            self.told(node, env, out)
        else:
            tell = code.tell or telling(self.rulebook, code)
            tell(self, self._values, self._results, self._known_reads, out, *[env[name] for name in code.names])
        return out

    def told_again(self, code: Code, things: tuple[Thing, ...]) -> ReadFacts:
        """What a term reads that is a function by itself, for some things, kept under its number."""
        out: ReadFacts = {}
        tell = code.tell or telling(self.rulebook, code)
        tell(self, self._values, self._results, self._known_reads, out, *things)
        self._known_reads[(code.number, *[thing.key for thing in things])] = out
        return out

    def shown(self, read: ReadFact, show: Callable[[Decider, ReadFact], T]) -> T:
        """What `show` makes of a fact that was read, made once; there is one way of showing for a reader."""
        known = self._shown.get(id(read))
        if known is None:
            # The fact is kept with it: as long as it is, no other can have its id.
            known = self._shown[id(read)] = (read, show(self, read))
        found: T = known[1]
        return found

    def reads_of(self, thing: Thing, read: Ref) -> ReadFacts:
        """What reading a fact of a thing reads: the fact, and what it is derived from."""
        if thing.unseen is not None:
            return {}
        key = (thing.key, read.key)
        known = self._known_reads.get(key)
        if known is None:
            known = {}
            plain = (thing.path, read.name)
            stated = plain in self.assumed or self.project.given(thing.path, read.name, self.mode) is not None
            if read.derivation and not stated and not thing.absent:
                known.update(self.reads(self.rulebook.derivations[read.derivation].node, self.around(thing)))
            value, _ = self._values.get(key) or self.found(thing, read)
            known[thing.path, read.dotted] = (thing, read.dotted, value)
            self._known_reads[key] = known
        return known

    def told(self, node: core.Node, env: Env, out: ReadFacts) -> None:
        """The same for a term that is read part by part, added to `out`."""

        def add(thing: Thing, dotted: str, value: Value) -> None:
            if thing.unseen is None:
                out[thing.path, dotted] = (thing, dotted, value)

        self.telling(add).value(node, env)

    def members(self, node: core.Members, source: Thing) -> Collection:
        """The collection that a relation of a thing leads to."""
        key = (source.key, node.relation)
        found = self._memory.collections.get(key)
        if found is None:
            found = self._memory.collections[key] = self._collection(node, source)
        return found

    def led_to(self, node: core.Follow | core.Slot, source: Thing, key: Thing | None = None) -> Thing:
        """The thing that a relation of a thing leads to; `key` is the thing under which a slot keeps it."""
        place = (source.key, node.relation, node.kind, key.key if key is not None else getattr(node, "key", ""))
        known = self._memory.things.get(place)
        if known is None:
            if source.unseen is not None:
                known = Thing(f"{source.path}/{node.relation}", node.kind, "", source.unseen)
            else:
                known = self._followed(node, source) if isinstance(node, core.Follow) else self._slot(node, source, key)
            self._memory.things[place] = known
        return known

    def _joined(self, truth: Truth, parts: list[tuple[Truth, Gaps]]) -> Result:
        if truth is not None:
            return truth, NO_GAPS
        return None, frozenset().union(*(gaps for part, gaps in parts if part is None))

    def _remembered(self, node: core.Node, env: Env, find: Callable[[], Result]) -> Result:
        """What `find` gives for a term about the things of `env`, found once."""
        names = core.free_names(node)
        if core.ANY_NAME in names:
            return find()
        before = self._as_before(node)
        if before is not None:
            return before._remembered(node, env, lambda: before.value(node, env))
        key = (id(node), *(env.get(name) for name in names))
        memory = self._memory if self.read is None else self._told
        known = memory.terms.get(key)
        if known is None:
            result, reads = self._telling_of(find)
            # The term is kept with its value: as long as it is, no other term can have its id.
            memory.terms[key] = (node, result, reads)
            return result
        self._tell(known[2])
        return known[1]

    def once(self, node: core.Node, env: Env, find: Callable[[], T]) -> T:
        """What `find` gives, which follows from a term and the things of `env` alone, found once."""
        key = (id(node), *env.items())
        known = self._memory.answers.get(key)
        if known is None:
            known = self._memory.answers[key] = (node, find())
        found: T = known[1]
        return found

    def _telling_of(self, find: Callable[[], Result]) -> tuple[Result, Reads]:
        """What `find` gives, with the facts it read, which are told as they are read."""
        read = self.read
        if read is None:
            return find(), ()
        found: list[tuple[Thing, str, Value]] = []
        self.read = lambda thing, dotted, value: found.append((thing, dotted, value))
        try:
            result = find()
        finally:
            self.read = read
        reads = tuple({(thing.path, dotted): (thing, dotted, value) for thing, dotted, value in found}.values())
        self._tell(reads)
        return result, reads

    def _tell(self, reads: Reads) -> None:
        if self.read is not None:
            for thing, dotted, value in reads:
                self.read(thing, dotted, value)

    def _and(self, node: core.And, env: Env) -> Result:
        if self.read is None:
            gaps: Gaps | None = None
            for part in node.parts:
                truth, own = self.evaluated(part, env)
                if truth is False:
                    return False, NO_GAPS
                if truth is None:
                    gaps = own if gaps is None else gaps | own
            return (True, NO_GAPS) if gaps is None else (None, gaps)
        parts = [self._part(part, env) for part in node.parts]
        return self._joined(every(part for part, _ in parts), parts)

    def _or(self, node: core.Or, env: Env) -> Result:
        if self.read is None:
            gaps: Gaps | None = None
            for part in node.parts:
                truth, own = self.evaluated(part, env)
                if truth is True:
                    return True, NO_GAPS
                if truth is None:
                    gaps = own if gaps is None else gaps | own
            return (False, NO_GAPS) if gaps is None else (None, gaps)
        parts = [self._part(part, env) for part in node.parts]
        return self._joined(some(part for part, _ in parts), parts)

    def _not(self, node: core.Not, env: Env) -> Result:
        truth, gaps = self._part(node.body, env)
        return negate(truth), gaps

    def _when(self, node: core.When, env: Env) -> Result:
        where = self._part(node.where, env)
        if self.read is None and where[0] is False:
            return True, NO_GAPS
        body = self._part(node.body, env)
        return self._joined(some((negate(where[0]), body[0])), [where, body])

    def _assuming(self, node: core.Assuming, env: Env) -> Result:
        assumption, gaps = self._part(node.assumption, env)
        body = self._part(node.body, env)
        if assumption is True:
            return body
        return None, gaps | body[1]

    def _unverified(self, node: core.Unverified, env: Env) -> Result:
        truth, gaps = self._part(node.body, env)
        if self.refuse_memory:
            return False, NO_GAPS
        if truth is True and not self.accept_memory:
            return None, frozenset((Missing("", "clause", node.label),))
        return truth, gaps

    def _constant(self, node: core.Constant, _env: Env) -> Result:
        return node.truth, NO_GAPS

    def _labelled(self, node: core.Labelled | core.Named, env: Env) -> Result:
        return self.evaluated(node.body, env)

    def _holds(self, node: core.Holds, env: Env) -> Result:
        term = self.rulebook.holds[node.arrangement]
        return self._remembered(term, env, lambda: self.value(term, env))

    def _two(self, left: core.Node, right: core.Node, env: Env) -> tuple[Value, Value, Gaps]:
        a, a_gaps = self.evaluated(left, env)
        b, b_gaps = self.evaluated(right, env)
        return a, b, a_gaps | b_gaps

    def _compare(self, node: core.Compare, env: Env) -> Result:
        a, b, gaps = self._two(node.left, node.right, env)
        assert isinstance(a, Interval)
        assert isinstance(b, Interval)
        truth = compare(node.operator, a, b)
        return truth, NO_GAPS if truth is not None else gaps

    def _belongs(self, node: core.Belongs, env: Env) -> Result:
        value, options, gaps = self._two(node.value, node.options, env)
        assert isinstance(value, Choice)
        assert isinstance(options, Choice)
        truth = belongs(value, options.options)
        return truth, NO_GAPS if truth is not None else gaps

    def _overlaps(self, node: core.Overlaps, env: Env) -> Result:
        value, options, gaps = self._two(node.value, node.options, env)
        assert isinstance(value, Choices)
        assert isinstance(options, Choice)
        truth = overlaps(value, options.options)
        return truth, NO_GAPS if truth is not None else gaps

    def _includes(self, node: core.Includes, env: Env) -> Result:
        value, options, gaps = self._two(node.value, node.options, env)
        assert isinstance(value, Choices)
        assert isinstance(options, Choice)
        truth = includes(value, options.options)
        return truth, NO_GAPS if truth is not None else gaps

    def _same_choice(self, node: core.SameChoice, env: Env) -> Result:
        a, b, gaps = self._two(node.left, node.right, env)
        assert isinstance(a, Choice)
        assert isinstance(b, Choice)
        if len(a.options) == 1 and a == b:
            return True, NO_GAPS
        return (False, NO_GAPS) if not a.options & b.options else (None, gaps)

    def _same_text(self, node: core.SameText, env: Env) -> Result:
        a, b, gaps = self._two(node.left, node.right, env)
        assert isinstance(a, Text)
        assert isinstance(b, Text)
        truth = same_text(a, b)
        return truth, NO_GAPS if truth is not None else gaps

    def _same_thing(self, node: core.SameThing, env: Env) -> Result:
        a, b = self.thing(node.left, env), self.thing(node.right, env)
        if a.absent or b.absent:
            return False, NO_GAPS
        gaps = frozenset(thing.unseen for thing in (a, b) if thing.unseen is not None)
        return (None, gaps) if gaps else (a.path == b.path, NO_GAPS)

    # --- values -----------------------------------------------------------------------------------------

    def _parameter(self, node: core.Parameter, _env: Env) -> Result:
        return self.rulebook.parameters[node.key].value, NO_GAPS

    def _options(self, node: core.Options, _env: Env) -> Result:
        return Choice(node.options), NO_GAPS

    def _get(self, node: core.Get, env: Env) -> Result:
        return self.fact(self.thing(node.source, env), node.fact, node.derived)

    def fact(self, thing: Thing, dotted: str, derivation: str = "") -> Result:
        """The value of a fact: assumed, stated, settled by absence, derived, or all that it can be."""
        name = dotted.partition(".")[2]
        fact = self.vocabulary.kinds[thing.kind].facts[name]
        value, gaps = self._fact(thing, fact, derivation)
        if self.read is not None:
            self.read(thing, dotted, value)
        return value, gaps

    def _fact(self, thing: Thing, fact: Fact, derivation: str) -> Result:
        key = (thing.path, fact.name)
        if thing.unseen is not None:
            return self.vocabulary.unknown(fact), frozenset((thing.unseen,))
        if key in self.assumed:
            value = self.assumed[key]
            return value, NO_GAPS if is_decided(value) else frozenset((Missing(thing.path, thing.kind, fact.name),))
        if thing.absent:
            return self._when_absent(thing, fact)
        known = self._memory.facts.get(key)
        if known is None:
            given = self.project.given(thing.path, fact.name, self.mode)
            if given is None and derivation:
                return self._derive(thing, derivation, Missing(thing.path, thing.kind, fact.name))
            value = given.value if given is not None else self.vocabulary.unknown(fact)
            missing = given is None or not is_decided(value)
            known = value, frozenset((Missing(thing.path, thing.kind, fact.name),)) if missing else NO_GAPS
            if given is not None or not derivation:
                self._memory.facts[key] = known
        return known

    def _when_absent(self, thing: Thing, fact: Fact) -> Result:
        settled = fact.when_absent
        if not settled:
            return self.vocabulary.unknown(fact), frozenset((Missing(thing.path, thing.kind, fact.name),))
        if fact.sort in ("yes-no", "approval"):
            return settled == "true", NO_GAPS
        return Choice(self.vocabulary.lists[fact.values].expand(settled)), NO_GAPS

    def derived(self, thing: Thing, derivation: str) -> Result:
        """What a derivation says of a thing, whatever was stated."""
        return self.value(self.rulebook.derivations[derivation].node, self.around(thing))

    def around(self, thing: Thing) -> Env:
        """A thing by the name of its kind, with the things that it belongs to."""
        env: dict[str, Thing] = {"building": self.project.things[""], thing.kind: thing}
        at = self.project.owners.get(thing.path)
        while at:
            owner = self.project.things[at]
            env[owner.kind] = owner
            at = self.project.owners.get(at)
        return env

    def _derive(self, thing: Thing, derivation: str, own: Missing) -> Result:
        before = self._as_before(self.rulebook.derivations[derivation].node)
        if before is not None:
            return before._derive(thing, derivation, own)
        key = (thing.path, derivation)
        memory = self._memory if self.read is None else self._told
        if key not in memory.derived:
            (value, gaps), reads = self._telling_of(lambda: self.derived(thing, derivation))
            memory.derived[key] = (value, NO_GAPS if is_decided(value) else gaps | {own}), reads
            return memory.derived[key][0]
        result, reads = memory.derived[key]
        self._tell(reads)
        return result

    def _arithmetic(self, node: core.Arithmetic, env: Env) -> Result:
        a, b, gaps = self._two(node.left, node.right, env)
        assert isinstance(a, Interval)
        assert isinstance(b, Interval)
        return arithmetic(node.operator, a, b), gaps

    def _function(self, node: core.Function, env: Env) -> Result:
        values: list[Interval] = []
        gaps: Gaps = NO_GAPS
        for argument in node.arguments:
            value, own = self.evaluated(argument, env)
            assert isinstance(value, Interval)
            values.append(value)
            gaps |= own
        if node.name == "min":
            return smallest(values), gaps
        if node.name == "max":
            return largest(values), gaps
        return monotone(node.name, values[0]), gaps

    def _anything(self, node: core.Anything, _env: Env) -> Result:
        fact = self.vocabulary.fact(node.fact)
        assert fact is not None
        return self.vocabulary.unknown(fact), NO_GAPS

    def _cases(self, node: core.Cases, env: Env) -> Result:
        open_values: list[Value] = []
        gaps: Gaps = NO_GAPS
        for when, body in node.cases:
            truth, own = self._part(when, env)
            if truth is False:
                continue
            value, value_gaps = self.evaluated(body, env)
            gaps |= own | value_gaps
            open_values.append(value)
            if truth is True:
                break
        else:
            value, value_gaps = self.evaluated(node.otherwise, env)
            gaps |= value_gaps
            open_values.append(value)
        result = hull(open_values)
        return result, NO_GAPS if is_decided(result) else gaps

    def _lookup(self, node: core.Lookup, env: Env) -> Result:
        keys = []
        gaps: Gaps = NO_GAPS
        for key in node.keys:
            value, own = self.evaluated(key, env)
            keys.append(value)
            gaps |= own
        return self.looked_up(node, keys, gaps)

    def looked_up(self, node: core.Lookup, keys: list[Value], gaps: Gaps) -> Result:
        """The cell of a table by what its keys can be, `gaps` being what is missing for them."""
        table = self.rulebook.tables[node.table]
        rows = matched(self.rulebook, table, tuple(keys))
        at = next(i for i, column in enumerate(table.columns) if column.name == node.column)
        if not rows:
            form, _, detail = table.columns[at].form.partition(":")
            listed = self.vocabulary.lists.get(detail)
            open_choice = form == "choice" and listed is not None
            return Choice(listed.leaves) if open_choice and listed else Interval(-math.inf, math.inf), gaps
        result = hull([row[at] for row in rows])
        return result, gaps if len(rows) > 1 else NO_GAPS

    def _compute(self, node: core.Compute, env: Env) -> Result:
        from clauseway.readers.computed import computed

        spans, gaps = self.spans(node, env)
        result, why = computed(node.name, spans)
        # Where a fact is missing, that says it; the reason is for what is wholly described and has no result.
        if why and not gaps:
            gaps = frozenset((Missing("", "computation", f"{node.name}: {'; '.join(why)}"),))
        return result, NO_GAPS if result.is_point else gaps

    def spans(self, node: core.Compute, env: Env) -> tuple[dict[str, Interval | list[Interval] | None], Gaps]:
        """What each argument of a computation can be, and what is missing for it."""
        spans: dict[str, Interval | list[Interval] | None] = {}
        gaps: Gaps = NO_GAPS
        for name, argument in node.arguments:
            if isinstance(argument, core.Listing):
                spans[name], own = self.listing(argument, env)
            else:
                value, own = self.evaluated(argument, env)
                assert isinstance(value, Interval)
                spans[name] = value
            gaps |= own
        return spans, gaps

    def listing(self, node: core.Listing, env: Env) -> tuple[list[Interval] | None, Gaps]:
        """The numbers of a list, in the order of its members; None where it is not known which members it has."""
        collection = self.collection(node.members, env)
        found: list[Interval] = []
        gaps: Gaps = NO_GAPS
        for member in collection.all:
            inner = {**env, node.variable: member.thing}
            where, where_gaps = self._part(node.where, inner)
            passes = every((member.belongs, where))
            if passes is False:
                continue
            value, own = self.evaluated(node.body, inner)
            assert isinstance(value, Interval)
            if passes is None or member.thing is collection.unseen:
                return None, gaps | own | where_gaps | member.gaps | frozenset((collection.gap,))
            found.append(value)
            gaps |= own
        return found, gaps

    # --- things and collections -------------------------------------------------------------------------

    def thing(self, node: core.Node, env: Env) -> Thing:
        """The thing that a term leads to."""
        if isinstance(node, core.Named):
            return self.thing(node.body, env)
        if isinstance(node, core.Name):
            return env[node.name]
        assert isinstance(node, core.Follow | core.Slot)
        source = self.thing(node.source, env)
        key = self.thing(node.key, env) if isinstance(node, core.Slot) and not isinstance(node.key, str) else None
        return self.led_to(node, source, key)

    def _followed(self, node: core.Follow, source: Thing) -> Thing:
        if node.relation == self.vocabulary.kinds[source.kind].within:
            return self.project.things[self.project.owners.get(source.path, "")]
        found = self.project.references.get((source.path, node.relation))
        if found:
            return self.project.things[found]
        if found == "" or source.absent:
            return Thing(f"{source.path}/{node.relation}", node.kind, "", absent=True)
        return Thing("", node.kind, "", Missing(source.path, source.kind, node.relation))

    def _slot(self, node: core.Slot, source: Thing, by: Thing | None) -> Thing:
        if by is not None and by.unseen is not None:
            return Thing(f"{source.path}/{node.relation}/?", node.kind, "", by.unseen)
        key = node.key if isinstance(node.key, str) else by.id if by is not None else ""
        path = member_path(source.path, node.relation, key)
        if path in self.project.things:
            return self.project.things[path]
        closed = (source.path, node.relation) in self.project.lists
        return Thing(path, node.kind, key, absent=closed or source.absent)

    def collection(self, node: core.Node, env: Env) -> Collection:
        """The collection that a term leads to."""
        if isinstance(node, core.Named):
            return self.collection(node.body, env)
        assert isinstance(node, core.Members)
        return self.members(node, self.thing(node.source, env))

    def _collection(self, node: core.Members, source: Thing) -> Collection:
        gap = Missing(source.path, source.kind, node.relation, whole=True)
        if source.unseen is not None:
            return Collection((), 0, None, source.unseen, Thing(f"{source.path}/?", node.kind, "", source.unseen))
        unseen = Thing(f"{member_path(source.path, node.relation, '?')}", node.kind, "", gap)
        relation = self.vocabulary.kinds[source.kind].relations[node.relation]
        if source.absent:
            return Collection((), 0, 0, gap, unseen)
        if relation.form in (OWNS, MANY):
            listed = self.project.lists.get((source.path, node.relation), Listed())
            members = tuple(Member(self.project.things[path], True, NO_GAPS) for path in listed.members)
            return Collection(members, listed.least, listed.most, gap, unseen)
        assert relation.form == INVERSE
        return self._inverse(source, node, relation.by, gap, unseen)

    def _inverse(self, source: Thing, node: core.Members, by: str, gap: Missing, unseen: Thing) -> Collection:
        """The things of a kind that refer to `source`; those of which it is not known may."""
        relation = self.vocabulary.kinds[node.kind].relations[by]
        siblings = self.vocabulary.kinds[node.kind].within == self.vocabulary.kinds[source.kind].within
        owner = self.project.owners.get(source.path, "")
        members: list[Member] = []
        candidates = self.project.owned_by(owner, node.kind) if siblings else self.project.of_kind(node.kind)
        for thing in candidates:
            if relation.form == MANY:
                listed = self.project.lists.get((thing.path, by), Listed())
                if source.path in listed.members:
                    members.append(Member(thing, True, NO_GAPS))
                elif not listed.closed:
                    members.append(Member(thing, None, frozenset((Missing(thing.path, thing.kind, by, True),))))
            else:
                found = self.project.references.get((thing.path, by))
                if found == source.path:
                    members.append(Member(thing, True, NO_GAPS))
                elif found is None:
                    members.append(Member(thing, None, frozenset((Missing(thing.path, thing.kind, by),))))
        owned = self.vocabulary.kinds[self.project.things[owner].kind].owned(node.kind) if siblings else None
        if owned is not None:
            listed = self.project.lists.get((owner, owned.name), Listed())
            whole = Missing(owner, self.project.things[owner].kind, owned.name, whole=True)
            if not listed.closed:
                return Collection(tuple(members), 0, listed.most, whole, Thing(unseen.path, node.kind, "", whole))
            return Collection(tuple(members), 0, 0, whole, unseen)
        claimed = self.project.lists.get((source.path, node.relation))
        most = claimed.most if claimed is not None else None
        return Collection(tuple(members), 0, most, gap, unseen)

    def _quantified(self, node: core.Quantified, env: Env) -> Result:
        return self._remembered(node, env, lambda: self._over_members(node, env))

    def _over_members(self, node: core.Quantified, env: Env) -> Result:
        collection = self.collection(node.members, env)
        if node.quantifier in ("count", "sum"):
            return self._counted(node, collection, env)
        rows: list[tuple[Truth, Truth, Gaps]] = []
        for member in collection.all:
            inner = {**env, node.variable: member.thing}
            where = self._part(node.where, inner)
            body = self._part(node.body, inner)
            passes = every((member.belongs, where[0]))
            gaps = (member.gaps if member.belongs is None else NO_GAPS) | where[1] | body[1]
            truth = every((passes, body[0])) if node.quantifier == "any" else some((negate(passes), body[0]))
            rows.append((truth, passes, gaps))
        if node.quantifier == "any":
            truth = some(row for row, _, _ in rows)
        else:
            truth = every(row for row, _, _ in rows)
            if truth is True and node.quantifier == "all" and not any(passes is True for _, passes, _ in rows):
                return None, frozenset((collection.gap,)).union(*(gaps for _, passes, gaps in rows if passes is None))
        if truth is not None:
            return truth, NO_GAPS
        return None, frozenset().union(*(gaps for row, _, gaps in rows if row is None))

    def _counted(self, node: core.Quantified, collection: Collection, env: Env) -> Result:
        total = ZERO
        gaps: Gaps = NO_GAPS
        for member in collection.all:
            inner = {**env, node.variable: member.thing}
            where, where_gaps = self._part(node.where, inner)
            passes = every((member.belongs, where))
            if passes is False:
                continue
            if node.quantifier == "count":
                each, value_gaps = Interval(1.0, 1.0), NO_GAPS
            else:
                value, value_gaps = self.evaluated(node.body, inner)
                assert isinstance(value, Interval)
                each = value
            if passes is None:
                each = perhaps(each)
                gaps |= member.gaps | where_gaps
            gaps |= value_gaps
            total = added(total, each, collection if member.thing is collection.unseen else None)
        return total, gaps if not total.is_point else NO_GAPS


_EVALUATE: dict[type[core.Node], Callable[..., Result]] = {
    core.And: Decider._and,
    core.Or: Decider._or,
    core.Not: Decider._not,
    core.When: Decider._when,
    core.Assuming: Decider._assuming,
    core.Unverified: Decider._unverified,
    core.Constant: Decider._constant,
    core.Labelled: Decider._labelled,
    core.Named: Decider._labelled,
    core.Holds: Decider._holds,
    core.Compare: Decider._compare,
    core.Belongs: Decider._belongs,
    core.Overlaps: Decider._overlaps,
    core.Includes: Decider._includes,
    core.SameChoice: Decider._same_choice,
    core.SameText: Decider._same_text,
    core.SameThing: Decider._same_thing,
    core.Parameter: Decider._parameter,
    core.Options: Decider._options,
    core.Get: Decider._get,
    core.Arithmetic: Decider._arithmetic,
    core.Function: Decider._function,
    core.Anything: Decider._anything,
    core.Cases: Decider._cases,
    core.Lookup: Decider._lookup,
    core.Compute: Decider._compute,
    core.Quantified: Decider._quantified,
}
