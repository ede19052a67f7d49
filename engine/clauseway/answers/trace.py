"""The tree under a finding: from its verdict to the facts, parameters and clauses that it rests on.

Nothing is interpreted here: each node asks the checker's own reader for the value of a term and of its parts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from clauseway.answers import finding as F
from clauseway.answers.decide_condition import VERDICTS, guarded
from clauseway.answers.explain import printed_parameters
from clauseway.answers.trace_node import OPS, TraceNode, bound_of, computed_form, described_nodes, keyed, source_of
from clauseway.answers.wording import UNKNOWN, form_of, place_in_words, printed, value_in_words
from clauseway.case.things import Missing, Project, Thing
from clauseway.language import core
from clauseway.language.possible import Value
from clauseway.language.written import bare, written
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Condition, Derivation, Line
from clauseway.readers.collection import Gaps
from clauseway.readers.decide import Decider, Env
from clauseway.text.problems import NOWHERE, Place


def trace(
    rulebook: Rulebook,
    project: Project,
    finding: F.Finding,
    *,
    accept_memory: bool = False,
    made: Made | None = None,
) -> TraceNode:
    """The trace of a finding that a check of this project against this rulebook gave.

    `made` keeps what several findings rest on between calls for one project and rulebook.
    """
    name, _, label = finding.id.rpartition("/")
    mode = finding.mode or (sorted(project.modes)[0] if project.modes else "")
    if not mode and project.by_mode:
        mode = sorted(rulebook.vocabulary.lists["mode"].leaves)[0]
    decider = Decider(rulebook, project, mode, accept_memory=accept_memory)
    provision = rulebook.provisions.get(name)
    condition = None
    if provision is not None:
        condition = next((c for c in provision.permitted + provision.conditions if c.label == label), None)
    root = TraceNode(
        "finding",
        finding.id,
        finding.verdict,
        None,
        finding.says,
        finding.place,
        of=finding.subject.path,
        citation=finding.citations[0] if finding.citations else None,
        source=source_of(rulebook, finding.citations[0]) if finding.citations else "",
        history=finding.history,
    )
    builder = (made if made is not None else Made()).builder(decider)
    bound = next(bound_of(decider, provision, finding.subject), None) if provision is not None else None
    if provision is None or condition is None or bound is None:
        computed = builder.computed(finding.place, finding.subject.path)
        return keyed(replace(root, op="described", children=described_nodes(finding) + computed))
    term = guarded(provision, condition.truth)
    builder.kept.append(term)
    child = builder.node(term, bound.env, condition.lines)
    open_facts = ", ".join(f"{m.fact} of {place_in_words(m.missing.path)}" for m in finding.missing)
    note = finding.says
    if child.result is None and finding.verdict in (F.MET, F.UNMET):
        note += " It comes out the same for every possible value of what is not known."
    elif open_facts:
        note += f" Missing: {open_facts}."
    return keyed(replace(root, note=note, children=(child,)))


_Lines = Mapping[str, Line]


class Made:
    """The nodes made so far, by mode."""

    def __init__(self) -> None:
        self._builders: dict[str, _Builder] = {}

    def builder(self, decider: Decider) -> _Builder:
        """The builder of a decider's mode."""
        return self._builders.setdefault(decider.mode, _Builder(decider))


class _Builder:
    """Builds the nodes of one trace, each term for each set of bound things once."""

    def __init__(self, decider: Decider) -> None:
        self.decider = decider
        self.rulebook = decider.rulebook
        self.project = decider.project
        self.printed = printed_parameters(decider.rulebook)
        self.made: dict[object, TraceNode] = {}
        self.labels: dict[int, list[str]] = {}
        self.kept: list[core.Node] = []
        """Terms made here: they are known by their identity, so none may be freed while its trace is built."""

    def node(self, term: core.Node, env: Env, lines: _Lines) -> TraceNode:
        """The trace of a term with some things bound."""
        if id(term) not in self.labels:
            self.labels[id(term)] = [part.label for part in core.walk(term) if isinstance(part, core.Labelled)]
        # Equal terms of two conditions may be one object; their lines stand in different clauses.
        places = tuple(lines[label].place for label in self.labels[id(term)] if label in lines)
        key = (id(term), tuple(sorted((name, thing.path) for name, thing in env.items())), places)
        if key not in self.made:
            self.made[key] = keyed(self._node(term, env, lines))
        return self.made[key]

    def _nodes(self, terms: tuple[core.Node, ...], env: Env, lines: _Lines) -> tuple[TraceNode, ...]:
        return tuple(self.node(term, env, lines) for term in terms)

    def _node(self, term: core.Node, env: Env, lines: _Lines) -> TraceNode:
        if isinstance(term, core.Get):
            return self._fact(term, env)
        if isinstance(term, core.Parameter):
            return self._parameter(term)
        if isinstance(term, core.Labelled):
            return self._labelled(term, env, lines)
        if isinstance(term, core.Named):
            return replace(self.node(term.body, env, lines), what=f"{term.name}: {self._written(term.body)}")
        if isinstance(term, core.Holds):
            return self._holds(term, env)
        if isinstance(term, core.Quantified):
            return self._quantified(term, env, lines)
        if isinstance(term, core.Listing):
            return self._listing(term, env, lines)
        value, _ = self.decider.value(term, env)
        op = OPS.get(type(term), type(term).__name__.lower())
        base = TraceNode(op, self._written(term), self._words(value, self._form(term)), value)
        if isinstance(term, core.Constant | core.Options):
            return base
        if isinstance(term, core.SameThing):
            return self._same_thing(base, term, env)
        if isinstance(term, core.Compare | core.Arithmetic):
            children = self._nodes((term.left, term.right), env, lines)
            sides = f" {term.operator} ".join(child.value for child in children)
            note = f"{sides} = {base.value}" if isinstance(term, core.Arithmetic) else sides
            return replace(base, op=f"{op} {term.operator}", note=note, children=children)
        if isinstance(term, core.Compute):
            from clauseway.answers.trace_compute import compute_node

            return compute_node(base, term, self._nodes(tuple(part for _, part in term.arguments), env, lines))
        if isinstance(term, core.Function):
            return replace(base, op=f"{op} {term.name}", children=self._nodes(term.arguments, env, lines))
        if isinstance(term, core.Lookup):
            table = self.rulebook.tables[term.table]
            children = self._nodes(term.keys, env, lines)
            source = source_of(self.rulebook, table.citation)
            return replace(base, place=table.place, citation=table.citation, source=source, children=children)
        if isinstance(term, core.Unverified):
            children = self._nodes((term.body,), env, lines)
            held = value is None and children[0].result is True
            note = "Its clause is known from memory only, and so it permits nothing yet." if held else ""
            return replace(base, note=note, children=children)
        if isinstance(term, core.When):
            note = "It does not arise." if self.decider.truth(term.where, env)[0] is False else ""
            return replace(base, note=note, children=self._nodes((term.where, term.body), env, lines))
        if isinstance(term, core.Assuming):
            holds = self.decider.truth(term.assumption, env)[0]
            note = "" if holds else "Our reading of the clause fits only where the first holds."
            return replace(base, note=note, children=self._nodes((term.assumption, term.body), env, lines))
        return replace(base, children=self._nodes(tuple(core.children(term)), env, lines))

    def _written(self, term: core.Node) -> str:
        return written(term, self.printed)

    def _words(self, value: Value, form: str) -> str:
        return value_in_words(value, form, self.decider.vocabulary)

    def _form(self, term: core.Node) -> str:
        """How the value of a term is printed, as far as the term itself tells."""
        term = bare(term)
        if isinstance(term, core.Get | core.Anything):
            fact = self.decider.vocabulary.fact(term.fact)
            assert fact is not None
            return form_of(fact)
        if isinstance(term, core.Parameter):
            return self.rulebook.parameters[term.key].form
        if isinstance(term, core.Options):
            return self._options_form(term.options)
        if isinstance(term, core.Lookup):
            return next(c.form for c in self.rulebook.tables[term.table].columns if c.name == term.column)
        if isinstance(term, core.Arithmetic):
            left, right = self._form(term.left), self._form(term.right)
            same = left if left == right and term.operator in "+-" else "number:"
            return right if term.operator in "*" and left.startswith(("count", "number")) else same
        if isinstance(term, core.Function):
            return self._form(term.arguments[0]) if term.name in ("min", "max", "abs") else "number:"
        if isinstance(term, core.Cases) and term.cases:
            return self._form(term.cases[0][1])
        if isinstance(term, core.Compute):
            return computed_form(term.name)
        if isinstance(term, core.Quantified) and term.quantifier == "sum":
            return self._form(term.body)
        return "number:"

    def _options_form(self, options: frozenset[str]) -> str:
        lists = self.decider.vocabulary.lists
        return next((f"options:{name}" for name, listed in lists.items() if options <= listed.leaves), "number:")

    # --- leaves -----------------------------------------------------------------------------------------

    def _fact(self, term: core.Get, env: Env) -> TraceNode:
        thing = self.decider.thing(term.source, env)
        value, gaps = self.decider.value(term, env)
        words = self._words(value, self._form(term))
        name = term.fact.partition(".")[2]
        node = TraceNode("fact", self._written(term), words, value, of=thing.path, fact=term.fact)
        about = f"{place_in_words(thing.path)}: {term.fact}"
        if thing.unseen is not None:
            return replace(node, note=f"{term.fact}: {self._gaps(gaps)}", known_by="unknown")
        if thing.absent:
            return replace(node, note=f"There is no such {thing.kind}.", known_by="absent")
        given = self.project.given(thing.path, name, self.decider.mode)
        if given is not None:
            return replace(node, value=given.typed or words, note=about, place=given.place, known_by=given.known_by)
        derivation = self.rulebook.derivations[term.derived] if term.derived else None
        place = self.project.places.get(thing.path, NOWHERE)
        if derivation is None:
            return replace(node, note=f"{about}, which nobody stated", place=place, known_by="unknown")
        return self._derived(node, derivation, f"{about}, computed: {derivation.title}")

    def _derived(self, node: TraceNode, derivation: Derivation, note: str) -> TraceNode:
        env: dict[str, Thing] = {"building": self.project.things[""]}
        at: str | None = node.of
        while at:
            env[self.project.things[at].kind] = self.project.things[at]
            at = self.project.owners.get(at)
        return replace(
            node,
            op="derived",
            note=note,
            place=derivation.place,
            known_by="derived",
            citation=derivation.citation,
            source=source_of(self.rulebook, derivation.citation),
            children=(self.node(derivation.node, env, {}),),
        )

    def computed(self, place: Place, path: str) -> tuple[TraceNode, ...]:
        """What the derivation at a place of the rules gives for a thing."""
        for name, derivation in self.rulebook.derivations.items():
            dotted = derivation.fact
            if derivation.place == place and path in self.project.things:
                value, _ = self.decider.derived(self.project.things[path], name)
                words = self._words(value, self._form(core.Get(core.Name("thing"), dotted)))
                node = TraceNode("derived", dotted, words, value, of=path, fact=dotted)
                return (keyed(self._derived(node, derivation, f"{dotted}, computed: {derivation.title}")),)
        return ()

    def _gaps(self, gaps: Gaps) -> str:
        return "; ".join(self._gap(missing) for missing in sorted(gaps))

    def _gap(self, missing: Missing) -> str:
        if missing.whole:
            return f"it is not said that all {missing.name} of {place_in_words(missing.path)} are listed"
        return f"{missing.name} of {place_in_words(missing.path)} is not known"

    def _parameter(self, term: core.Parameter) -> TraceNode:
        parameter = self.rulebook.parameters[term.key]
        return TraceNode(
            "parameter",
            term.key,
            printed(term.key, self.decider),
            parameter.value,
            place=parameter.place,
            known_by=parameter.citation.basis.kind,
            citation=parameter.citation,
            source=source_of(self.rulebook, parameter.citation),
            history=parameter.history,
        )

    def _same_thing(self, base: TraceNode, term: core.SameThing, env: Env) -> TraceNode:
        things = [self.decider.thing(side, env) for side in (term.left, term.right)]
        words = ["nothing" if t.absent else "not known" if t.unseen else place_in_words(t.path) for t in things]
        return replace(base, note=f"{words[0]}; {words[1]}", place=self.project.places.get(things[0].path, NOWHERE))

    # --- truths with an address -------------------------------------------------------------------------

    def _labelled(self, term: core.Labelled, env: Env, lines: _Lines) -> TraceNode:
        truth, _ = self.decider.truth(term, env)
        child = self.node(term.body, env, lines)
        line = lines.get(term.label)
        role = {"exception": "exception", "alternative": "alternative"}.get(term.role, "line")
        stood = {True: "It stands.", False: "It does not stand.", None: "It may stand."}
        return TraceNode(
            "labelled",
            f"{role} {term.label.rpartition('/')[2]}",
            VERDICTS[truth],
            truth,
            stood[truth] if role == "exception" else "",
            line.place if line else NOWHERE,
            citation=line.citation if line else None,
            source=source_of(self.rulebook, line.citation) if line else "",
            history=line.history if line else (),
            children=(child,),
        )

    def _holds(self, term: core.Holds, env: Env) -> TraceNode:
        """An arrangement that may excuse: whether it is meant, applies, is permitted, and each of its conditions."""
        provision = self.rulebook.provisions[term.arrangement]
        whole = self.rulebook.holds[term.arrangement]
        truth, _ = self.decider.truth(term, env)
        conditions = provision.permitted + provision.conditions
        named: list[tuple[str, Condition | None]] = []
        named += [("is meant", None)] if provision.recognised != core.TRUE else []
        named += [("applies", None)] if provision.applies != core.TRUE else []
        named += [(f"condition {c.label}", c) for c in conditions if c.own != core.TRUE]
        parts = whole.parts if isinstance(whole, core.And) and len(named) > 1 else (whole,)
        if len(parts) != len(named):
            named = [("part", None)] * len(parts)
        children = []
        for part, (name, condition) in zip(parts, named, strict=True):
            inner = self.node(part, env, condition.lines if condition else {})
            line = condition.line if condition else None
            children.append(
                keyed(
                    TraceNode(
                        "labelled",
                        f"{provision.name} {name}",
                        VERDICTS[inner.result if isinstance(inner.result, bool) else None],
                        inner.result,
                        place=line.place if line else provision.place,
                        citation=line.citation if line else provision.citation,
                        source=source_of(self.rulebook, line.citation if line else provision.citation),
                        history=line.history if line else provision.history,
                        children=(inner,),
                    )
                )
            )
        stands = {True: "The excuse stands.", False: "The excuse falls.", None: "The excuse is undecided."}
        return TraceNode(
            "and",
            f"excused by {term.arrangement}: {provision.title}",
            VERDICTS[truth],
            truth,
            stands[truth],
            provision.place,
            citation=provision.citation,
            source=source_of(self.rulebook, provision.citation),
            history=provision.history,
            children=tuple(children),
        )

    def _listing(self, term: core.Listing, env: Env, lines: _Lines) -> TraceNode:
        found, gaps = self.decider.listing(term, env)
        node = TraceNode("listing", self._written(term), UNKNOWN, None, self._gaps(gaps))
        if found is None:
            return node
        each = [{**env, term.variable: m.thing} for m in self.decider.collection(term.members, env).members]
        kept = [inner for inner in each if self.decider.truth(term.where, inner)[0] is not False]
        children = tuple(self.node(term.body, inner, lines) for inner in kept)
        return replace(node, value=f"{len(found)} listed", children=children)

    def _quantified(self, term: core.Quantified, env: Env, lines: _Lines) -> TraceNode:
        collection = self.decider.collection(term.members, env)
        value, _ = self.decider.value(term, env)
        members = []
        for member in collection.all:
            inner = {**env, term.variable: member.thing}
            where, body = self._nodes((term.where, term.body), inner, lines)
            unseen = member.thing is collection.unseen
            name = f"any other {member.thing.kind}" if unseen else place_in_words(member.thing.path)
            note = "not among those asked about" if where.result is False else ""
            if unseen:
                most = "" if collection.most is None else f", at most {collection.most}"
                note = f"{self._gap(collection.gap)}{most}"
            elif member.belongs is None:
                note = f"may belong: {self._gaps(member.gaps)}"
            place = self.project.places.get(member.thing.path, NOWHERE)
            shown = body.value if where.result is not False else "not asked"
            members.append(keyed(TraceNode("member", name, shown, member.belongs, note, place, children=(where, body))))
        closed = "the list is whole" if collection.most == 0 else "the list may be longer"
        return TraceNode(
            term.quantifier,
            self._written(term),
            self._words(value, self._form(term)),
            value,
            f"{len(collection.members)} listed; {closed}",
            fact=f"{collection.least}:{'' if collection.most is None else collection.most}",
            children=tuple(members),
        )
