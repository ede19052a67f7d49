"""Terms of the core form written as Python: one function for a term, which gives what the checker's reader gives.

A truth becomes one expression that stops at the first part that decides. Only where it stays undetermined does the
function go on to collect what is missing, from the parts that it has already found open. What has a loop, cases or a
name of its own (a collection, an arrangement, a provision's scope) is a function by itself whose result is remembered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from clauseway.case.things import Missing
from clauseway.language import core
from clauseway.language.possible import (
    ZERO,
    Choice,
    arithmetic,
    at_most,
    equal,
    hull,
    includes,
    is_decided,
    largest,
    monotone,
    negate,
    overlaps,
    point,
    same_text,
    smallest,
)
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import Fact
from clauseway.readers.collection import added, perhaps
from clauseway.readers.compiled import Ref

DEEPEST = 12
"""How many terms stand one inside the other in one expression; what lies deeper becomes a function by itself."""


@dataclass(frozen=True, slots=True)
class Part:
    """A term as an expression for its value, and the lines that collect what is missing where it is undetermined."""

    text: str
    gaps: tuple[str, ...] = ()


Outlined = Callable[[core.Node], tuple[object, int, tuple[str, ...]]]
"""For a term that is a function by itself: what runs it, its number, and the names of the things that it takes."""


def ref(node: core.Get) -> Ref:
    """The fact that a term reads."""
    name = node.fact.partition(".")[2]
    return Ref(f"{name}|{node.derived}" if node.derived else name, node.fact, name, node.derived)


def _indented(lines: Iterable[str], by: str = "    ") -> tuple[str, ...]:
    return tuple(f"{by}{line}" for line in lines)


class Writer:
    """Writes the functions of one term; `outlined` says how another is called, `apart` which terms are others."""

    def __init__(self, rulebook: Rulebook, names: tuple[str, ...], outlined: Outlined, apart: frozenset[int]) -> None:
        self.rulebook = rulebook
        self.outlined = outlined
        self.apart = apart
        self.scope = {name: f"t{at}" for at, name in enumerate(names)}
        self.known: dict[str, object] = {
            "NO": frozenset(),
            "ONE": point(1.0),
            "ZERO": ZERO,
            "arithmetic": arithmetic,
            "at_most": at_most,
            "decided": is_decided,
            "equal": equal,
            "hull": hull,
            "includes": includes,
            "largest": largest,
            "monotone": monotone,
            "added": added,
            "negate": negate,
            "overlaps": overlaps,
            "perhaps": perhaps,
            "same_text": same_text,
            "smallest": smallest,
        }
        self._names: dict[tuple[object, ...], str] = {}
        self._made = 0
        self._depth = 0

    # --- functions --------------------------------------------------------------------------------------

    def source(self, node: core.Node) -> str:
        """The function `run` for a term: its value with what is missing."""
        if isinstance(node, core.Labelled | core.Named):
            return self.source(node.body)
        if isinstance(node, core.Quantified):
            lines = self._loop(node) if node.quantifier in _JUDGING else self._counting(node)
        elif isinstance(node, core.Cases):
            lines = self._cases(node)
        elif isinstance(node, core.Lookup):
            lines = self._lookup(node)
        else:
            part = self._written(node)
            lines = (f"r = {part.text}",)
            if isinstance(node, _TRUTHS):
                lines += ("if r is not None:", "    return r, NO")
            lines += ("g = set()", *part.gaps, "return r, frozenset(g)")
        return "\n".join((self._head("run", "d, V, Q"), *_indented(lines), ""))

    def reads(self, node: core.Node) -> str:
        """The function `tell` for a term: it adds all facts that the term may read to `out`."""
        if isinstance(node, core.Labelled | core.Named):
            return self.reads(node.body)
        lines = self._inner(node) or ("pass",)
        return "\n".join((self._head("tell", "d, V, Q, R, out"), *_indented(lines), ""))

    def _head(self, name: str, first: str) -> str:
        return f"def {name}({', '.join((first, *(self.scope[each] for each in self.scope)))}):"

    def _loop(self, node: core.Quantified) -> tuple[str, ...]:
        """`any`, `all`, `each`: the members one by one, as far as one that decides."""
        decides = node.quantifier == "any"
        members = self._members(node.members)
        outer = dict(self.scope)
        member = self.scope[node.variable] = self._new("t")
        where, body = self.part(node.where), self.part(node.body)
        self.scope = outer
        passing = ("b = m.belongs", f"w = {where.text}", "if b is False or w is False:", "    continue")
        skipped = ("if r:", "    continue") if not decides else ("if r is False:", "    continue")
        stopping = ("if r and b and w:",) if decides else ("if r is False and b and w:",)
        lines = (
            f"{member} = m.thing",
            *passing,
            f"r = {body.text}",
            *(("sure = sure or (b and w)",) if node.quantifier == "all" else ()),
            *stopping,
            f"    return {decides}, NO",
            *skipped,
            "found = None",
            "if b is None:",
            "    g |= m.gaps",
            *self._if_open("w", where),
            *self._if_open("r", body),
        )
        lines = (f"found = {not decides}", "g = set()", f"for m in {members}.all:", *_indented(lines))
        if node.quantifier == "all":
            # Where it is not sure that there is any, what is missing is told by the reader itself.
            env = ", ".join(f"{name!r}: {thing}" for name, thing in self.scope.items())
            lines = ("sure = False", *lines, "if found and not sure:")
            lines += (f"    return d.evaluated({self._constant(node)}, {{{env}}})",)
        return (*lines, "return found, (NO if found is not None else frozenset(g))")

    def _counting(self, node: core.Quantified) -> tuple[str, ...]:
        """`count`, `sum`: what each member adds, one of which it is not sure that it counts included."""
        members = self._members(node.members)
        outer = dict(self.scope)
        member = self.scope[node.variable] = self._new("t")
        where = self.part(node.where)
        value = self.part(node.body) if node.quantifier == "sum" else Part("ONE")
        self.scope = outer
        lines = (
            f"{member} = m.thing",
            "b = m.belongs",
            f"w = {where.text}",
            "if b is False or w is False:",
            "    continue",
            f"each = {value.text}",
            "if not (b and w):",
            "    each = perhaps(each)",
            "    g |= m.gaps",
            *_indented(self._if_open("w", where)),
            *value.gaps,
            f"total = added(total, each, c if {member} is c.unseen else None)",
        )
        lines = ("total = ZERO", "g = set()", f"c = {members}", "for m in c.all:", *_indented(lines))
        return (*lines, "return total, (NO if total.low == total.high else frozenset(g))")

    def _cases(self, node: core.Cases) -> tuple[str, ...]:
        lines: tuple[str, ...] = ("g = set()", "found = []", "while True:")
        for when, body in node.cases:
            asked, value = self.part(when), self.part(body)
            taken = (f"found.append({value.text})", *value.gaps)
            lines += _indented(
                (
                    f"w = {asked.text}",
                    "if w is not False:",
                    *_indented((*self._if_open("w", asked), *taken, "if w:", "    break")),
                )
            )
        value = self.part(node.otherwise)
        lines += _indented((f"found.append({value.text})", *value.gaps, "break"))
        return (*lines, "r = hull(found)", "return r, (NO if decided(r) else frozenset(g))")

    def _lookup(self, node: core.Lookup) -> tuple[str, ...]:
        keys = [self.part(key) for key in node.keys]
        found = f"keys = [{', '.join(key.text for key in keys)}]"
        gaps = [line for key in keys for line in key.gaps]
        return (found, "g = set()", *gaps, f"return d.looked_up({self._constant(node)}, keys, frozenset(g))")

    # --- expressions ------------------------------------------------------------------------------------

    def part(self, node: core.Node) -> Part:
        """A term inside another."""
        if isinstance(node, core.Labelled | core.Named):
            return self.part(node.body)
        if isinstance(node, core.Holds | core.Cases | core.Lookup | core.Quantified) or id(node) in self.apart:
            return self._by_itself(node)
        if self._depth >= DEEPEST and isinstance(node, _DEEP):
            return self._by_itself(node)
        return self._written(node)

    def _written(self, node: core.Node) -> Part:
        self._depth += 1
        try:
            write = _WRITE.get(type(node))
            return write(self, node) if write is not None else self._walked(node)
        finally:
            self._depth -= 1

    def _by_itself(self, node: core.Node) -> Part:
        key, call = self._called(node)
        return self._pair(f"Q.get({key}) or d.again({call})")

    def _called(self, node: core.Node) -> tuple[str, str]:
        """Under what the result of another function is kept, and what it is called with."""
        code, number, names = self.outlined(node)
        things = [self.scope[name] for name in names]
        key = "".join(f"{thing}.key, " for thing in things)
        return f"({number}, {key})", f"{self._shared(code, number)}, ({''.join(f'{thing}, ' for thing in things)})"

    def _walked(self, node: core.Node) -> Part:
        """What is rare enough to be read term by term."""
        names = [name for name in self.scope if name in core.free_names(node) or core.ANY_NAME in core.free_names(node)]
        env = ", ".join(f"{name!r}: {self.scope[name]}" for name in names)
        return self._pair(f"d.evaluated({self._constant(node)}, {{{env}}})")

    def _pair(self, text: str) -> Part:
        name = self._new("x")
        return Part(f"({name}:={text})[0]", (f"g |= {name}[1]",))

    def _new(self, prefix: str) -> str:
        self._made += 1
        return f"{prefix}_{self._made}"

    def _constant(self, value: object) -> str:
        name = self._new("K")
        self.known[name] = value
        return name

    def _if_open(self, name: str, part: Part) -> tuple[str, ...]:
        return (f"if {name} is None:", *_indented(part.gaps)) if part.gaps else ()

    def _held(self, node: core.Node) -> tuple[str, Part]:
        """A new name, and a part that keeps its value under it."""
        part, name = self.part(node), self._new("a")
        return name, Part(f"({name}:={part.text})", self._if_open(name, part))

    def _constant_truth(self, node: core.Constant) -> Part:
        return Part(str(node.truth))

    def _not(self, node: core.Not) -> Part:
        name, body = self._held(node.body)
        return Part(f"(None if {body.text} is None else not {name})", body.gaps)

    def _and(self, node: core.And) -> Part:
        parts = [self._held(part) for part in node.parts]
        stops = " or ".join(f"{part.text} is False" for _, part in parts)
        sure = " and ".join(name for name, _ in parts)
        gaps = tuple(line for _, part in parts for line in part.gaps)
        return Part(f"(False if {stops} else True if {sure} else None)", gaps)

    def _or(self, node: core.Or) -> Part:
        parts = [self._held(part) for part in node.parts]
        stops = " or ".join(part.text for _, part in parts)
        still = " or ".join(f"{name} is None" for name, _ in parts)
        gaps = tuple(line for _, part in parts for line in part.gaps)
        return Part(f"(True if {stops} else None if {still} else False)", gaps)

    def _when(self, node: core.When) -> Part:
        if node.where == core.TRUE:
            return self.part(node.body)
        (asked, where), (name, body) = self._held(node.where), self._held(node.body)
        text = f"(True if {where.text} is False or {body.text} else {name} if {asked} else None)"
        return Part(text, where.gaps + body.gaps)

    def _assuming(self, node: core.Assuming) -> Part:
        (_, assumption), (name, body) = self._held(node.assumption), self._held(node.body)
        text = f"({name} if ({body.text}, {assumption.text})[1] is True else None)"
        return Part(text, assumption.gaps + body.gaps)

    def _unverified(self, node: core.Unverified) -> Part:
        name, body = self._held(node.body)
        missing = self._constant(Missing("", "clause", node.label))
        text = f"(False if ({body.text}, d.refuse_memory)[1] else None if {name} and not d.accept_memory else {name})"
        return Part(text, (f"if {name}:", f"    g.add({missing})", *body.gaps))

    def _compare(self, node: core.Compare) -> Part:
        left, right = self.part(node.left), self.part(node.right)
        operator = node.operator
        a, b = (left.text, right.text) if operator in ("<=", ">", "==", "!=") else (right.text, left.text)
        text = f"{'equal' if operator in ('==', '!=') else 'at_most'}({a}, {b})"
        if operator in ("<", ">", "!="):
            text = f"negate({text})"
        return Part(text, left.gaps + right.gaps)

    def _options(self, node: core.Node) -> frozenset[str] | None:
        """The options that a term names, where they are the same for every project."""
        if isinstance(node, core.Options):
            return node.options
        if isinstance(node, core.Parameter):
            value = self.rulebook.parameters[node.key].value
            return value.options if isinstance(value, Choice) else None
        return None

    def _belongs(self, node: core.Belongs) -> Part:
        value, name = self.part(node.value), self._new("o")
        options = self._options(node.options)
        if options is not None:
            wanted = self._constant(options)
            more: tuple[str, ...] = ()
        else:
            other, wanted = self.part(node.options), self._new("o")
            more = other.gaps
            value = Part(f"(({wanted}:={other.text}.options), {value.text})[1]", value.gaps)
        text = (
            f"(True if ({name}:={value.text}.options) <= {wanted} else False if {name}.isdisjoint({wanted}) else None)"
        )
        return Part(text, value.gaps + more)

    def _sets(self, node: core.Overlaps | core.Includes) -> Part:
        value, options = self.part(node.value), self.part(node.options)
        call = "overlaps" if isinstance(node, core.Overlaps) else "includes"
        return Part(f"{call}({value.text}, {options.text}.options)", value.gaps + options.gaps)

    def _same_text(self, node: core.SameText) -> Part:
        left, right = self.part(node.left), self.part(node.right)
        return Part(f"same_text({left.text}, {right.text})", left.gaps + right.gaps)

    def _value(self, node: core.Parameter | core.Options | core.Anything) -> Part:
        if isinstance(node, core.Parameter):
            return Part(self._constant(self.rulebook.parameters[node.key].value))
        if isinstance(node, core.Options):
            return Part(self._constant(Choice(node.options)))
        fact = self.rulebook.vocabulary.fact(node.fact)
        assert isinstance(fact, Fact)
        return Part(self._constant(self.rulebook.vocabulary.unknown(fact)))

    def _get(self, node: core.Get) -> Part:
        thing, read = self._thing(node.source), ref(node)
        at, again = f"{thing}.key", thing
        if not thing.isidentifier():
            again = self._new("t")
            at = f"({again}:={thing}).key"
        return self._pair(f"V.get(({at}, {read.key!r})) or d.found({again}, {self._constant(read)})")

    def _arithmetic(self, node: core.Arithmetic) -> Part:
        left, right = self.part(node.left), self.part(node.right)
        return Part(f"arithmetic({node.operator!r}, {left.text}, {right.text})", left.gaps + right.gaps)

    def _function(self, node: core.Function) -> Part:
        parts = [self.part(argument) for argument in node.arguments]
        gaps = tuple(line for part in parts for line in part.gaps)
        values = ", ".join(part.text for part in parts)
        if node.name in ("min", "max"):
            return Part(f"{'smallest' if node.name == 'min' else 'largest'}([{values}])", gaps)
        return Part(f"monotone({node.name!r}, {parts[0].text})", gaps)

    # --- things -----------------------------------------------------------------------------------------

    def _thing(self, node: core.Node) -> str:
        if isinstance(node, core.Named):
            return self._thing(node.body)
        if isinstance(node, core.Name):
            return self.scope[node.name]
        assert isinstance(node, core.Follow | core.Slot)
        source = self._thing(node.source)
        if isinstance(node, core.Follow) or isinstance(node.key, str):
            return f"d.led_to({self._constant(node)}, {source})"
        return f"d.led_to({self._constant(node)}, {source}, {self._thing(node.key)})"

    def _members(self, node: core.Node) -> str:
        if isinstance(node, core.Named):
            return self._members(node.body)
        assert isinstance(node, core.Members)
        return f"d.members({self._constant(node)}, {self._thing(node.source)})"

    # --- what is read -----------------------------------------------------------------------------------

    def _telling(self, node: core.Node) -> tuple[str, ...]:
        """The lines that tell what a reader that skips nothing reads for a term."""
        if isinstance(node, core.Labelled | core.Named):
            return self._telling(node.body)
        if isinstance(node, core.Holds | core.Quantified | core.Cases) or id(node) in self.apart:
            key, call = self._called(node)
            return (f"out.update(R.get({key}) or d.told_again({call}))",)
        return self._inner(node)

    def _inner(self, node: core.Node) -> tuple[str, ...]:
        if isinstance(node, core.Get):
            thing, read = self._thing(node.source), ref(node)
            known = "" if not thing.isidentifier() else f"R.get(({thing}.key, {read.key!r})) or "
            return (f"out.update({known}d.reads_of({thing}, {self._shared(read, read.key, read.dotted)}))",)
        if isinstance(node, core.Quantified):
            return self._loop_told(node)
        if isinstance(node, core.Cases):
            return self._cases_told(node)
        if isinstance(node, core.Compute | core.Listing):
            env = ", ".join(f"{name!r}: {thing}" for name, thing in self.scope.items() if name in core.free_names(node))
            return (f"d.told({self._constant(node)}, {{{env}}}, out)",)
        children = [child for child in core.children(node) if not isinstance(child, _THINGS)]
        return tuple(dict.fromkeys(line for child in children for line in self._telling(child)))

    def _loop_told(self, node: core.Quantified) -> tuple[str, ...]:
        members, outer = self._members(node.members), dict(self.scope)
        member = self.scope[node.variable] = self._new("t")
        lines = self._telling(node.where)
        if node.quantifier == "sum":
            asked = self.part(node.where)
            stops = (f"if m.belongs is False or ({asked.text}) is False:", "    continue")
            lines += (*stops, *self._telling(node.body))
        elif node.quantifier != "count":
            lines = tuple(dict.fromkeys(lines + self._telling(node.body)))
        self.scope = outer
        return (f"for m in {members}.all:", *_indented((f"{member} = m.thing", *lines))) if lines else ()

    def _cases_told(self, node: core.Cases) -> tuple[str, ...]:
        lines: tuple[str, ...] = ("while True:",)
        for when, body in node.cases:
            asked = self.part(when)
            taken = (*self._telling(body), "if w:", "    break")
            lines += _indented((*self._telling(when), f"w = {asked.text}", "if w is not False:", *_indented(taken)))
        return (*lines, *_indented((*self._telling(node.otherwise), "break")))

    def _shared(self, value: object, *what: object) -> str:
        """The same name for what is the same, so that equal lines are seen to be equal."""
        if what not in self._names:
            self._names[what] = self._constant(value)
        return self._names[what]


_THINGS = (core.Name, core.Follow, core.Slot, core.Members)
_JUDGING = ("any", "all", "each")
_TRUTHS = (
    core.Constant,
    core.And,
    core.Or,
    core.Not,
    core.When,
    core.Assuming,
    core.Unverified,
    core.Compare,
    core.Belongs,
    core.Overlaps,
    core.Includes,
    core.SameChoice,
    core.SameText,
    core.SameThing,
    core.Holds,
)
_DEEP = (core.And, core.Or, core.Not, core.When, core.Assuming, core.Unverified)
_WRITE: dict[type[core.Node], Callable[[Writer, core.Node], Part]] = {
    core.Constant: Writer._constant_truth,  # type: ignore[dict-item]
    core.And: Writer._and,  # type: ignore[dict-item]
    core.Or: Writer._or,  # type: ignore[dict-item]
    core.Not: Writer._not,  # type: ignore[dict-item]
    core.When: Writer._when,  # type: ignore[dict-item]
    core.Assuming: Writer._assuming,  # type: ignore[dict-item]
    core.Unverified: Writer._unverified,  # type: ignore[dict-item]
    core.Compare: Writer._compare,  # type: ignore[dict-item]
    core.Belongs: Writer._belongs,  # type: ignore[dict-item]
    core.Overlaps: Writer._sets,  # type: ignore[dict-item]
    core.Includes: Writer._sets,  # type: ignore[dict-item]
    core.SameText: Writer._same_text,  # type: ignore[dict-item]
    core.Parameter: Writer._value,  # type: ignore[dict-item]
    core.Options: Writer._value,  # type: ignore[dict-item]
    core.Anything: Writer._value,  # type: ignore[dict-item]
    core.Get: Writer._get,  # type: ignore[dict-item]
    core.Arithmetic: Writer._arithmetic,  # type: ignore[dict-item]
    core.Function: Writer._function,  # type: ignore[dict-item]
}
