"""From a picked and amended provision file to a linked provision in the core form.

This is the one place where the shapes of a provision file get their meaning.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from clauseway.language import core
from clauseway.language.syntax import parse
from clauseway.language.types import (
    TRUTH,
    ChoicesType,
    ChoiceType,
    ManyType,
    NumberType,
    OptionsType,
    TextType,
    ThingType,
    Type,
    dimension_name,
)
from clauseway.law.elaborate import Scope, elaborate, elaborate_truth, fact_type
from clauseway.law.parameters import Sources, history_of, lower_parameters, readings_of
from clauseway.model.provision import (
    Assumption,
    Citation,
    Condition,
    Derivation,
    Line,
    Placeholder,
    Provision,
    Template,
)
from clauseway.model.provision import Parameter as ProvisionParameter
from clauseway.model.vocabulary import SUBJECTS, Vocabulary
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway.text.source import Node

_PLACEHOLDER = re.compile(r"\{([^{}]+)\}")


@dataclass(frozen=True)
class Context:
    """What all provisions of one code in one edition are lowered against."""

    vocabulary: Vocabulary
    code: str
    edition: str
    sources: Sources
    scope: Scope


@dataclass(frozen=True)
class Lowered:
    """A lowered provision with the parameters it declares."""

    provision: Provision
    parameters: Mapping[str, ProvisionParameter]


def text_of(node: Node, key: str, default: str = "") -> str:
    """The text under a key, or the default."""
    inner = node.get(key)
    return inner.text or default if inner is not None else default


def entries(node: Node, key: str) -> Iterable[tuple[str, Node]]:
    """The entries of the map under a key, or none."""
    inner = node.get(key)
    return inner.items() if inner is not None else ()


def citation_of(node: Node, context: Context) -> Citation:
    """The citation that a provision carries as a whole."""
    return Citation(
        context.code,
        context.edition,
        text_of(node, "section"),
        text_of(node, "item"),
        context.sources.basis(node.get("basis"), node),
        context.sources.basis(node.get("section_basis"), node),
    )


def subject_scope(node: Node, subject: str, context: Context) -> Scope:
    """The names that a provision about `subject` may use.

    Raises:
        ClausewayError: for a subject that does not exist.
    """
    if subject not in SUBJECTS:
        place = (node.get("subject") or node).place
        raise ClausewayError(
            Problem(place, f"subject {subject or 'missing'}", one_of(SUBJECTS, 20), nearest(subject, SUBJECTS) or "")
        )
    scope = replace(context.scope, subject=subject).bind("building", core.Name("building"), ThingType("building"))
    for name in SUBJECTS[subject]:
        scope = scope.bind(name, core.Name(name), ThingType(name))
    if "passage" in SUBJECTS[subject]:
        for name, relation in (("egress", "from_side"), ("opposite", "to_side")):
            scope = scope.bind(name, core.Follow(core.Name("passage"), relation, "side"), ThingType("side"))
    return scope


def lower_provision(node: Node, context: Context) -> Lowered:
    """Lower one requirement or locking arrangement.

    Raises:
        ClausewayError: with every problem of the file.
    """
    return _Lowering(node, context).provision()


def lower_derivation(node: Node, context: Context) -> tuple[Derivation, Mapping[str, ProvisionParameter]]:
    """Lower one derivation.

    Raises:
        ClausewayError: with every problem of the file.
    """
    return _Lowering(node, context).derivation()


class _Lowering:
    def __init__(self, node: Node, context: Context) -> None:
        self.node = node
        self.context = context
        self.id = text_of(node, "id")
        self.name = f"{context.code}.{self.id}"
        self.kind = text_of(node, "kind")
        self.citation = citation_of(node, context)
        self.problems: list[Problem] = []
        self.parameters: dict[str, ProvisionParameter] = {}
        self.placeholders: dict[tuple[int, str], tuple[Scope, Placeholder]] = {}

    # --- whole provisions -------------------------------------------------------------------------------

    def provision(self) -> Lowered:
        node = self.node
        subject = text_of(node, "subject")
        scope = self.with_names(subject_scope(node, subject, self.context))
        assumptions = tuple(self.assumption(name, inner, scope) for name, inner in entries(node, "assumes"))
        permitted = tuple(self.condition(name, inner, scope) for name, inner in entries(node, "permitted"))
        conditions = tuple(self.condition(name, inner, scope) for name, inner in entries(node, "conditions"))
        labels = [condition.label for condition in permitted + conditions]
        for label in labels:
            if labels.count(label) > 1:
                self.problems.append(Problem(node.place, f"{label} is both permitted and a condition", "one of them"))
        excuses = node.get("excuses")
        provision = Provision(
            self.id,
            self.context.code,
            self.context.edition,
            self.kind,
            text_of(node, "title"),
            text_of(node, "about"),
            subject,
            self.citation,
            self.truth(node, "applies", scope),
            self.truth(node, "recognised_by", scope),
            text_of(node, "not_recognised"),
            assumptions,
            permitted,
            conditions,
            tuple(element.text or "" for element in excuses.elements()) if excuses is not None else (),
            node.place,
            text_of(node, "revision", "1"),
            history_of(node),
        )
        if self.problems:
            raise ClausewayError(self.problems)
        return Lowered(provision, self.parameters)

    def derivation(self) -> tuple[Derivation, Mapping[str, ProvisionParameter]]:
        node, vocabulary = self.node, self.context.vocabulary
        dotted = text_of(node, "gives")
        fact = vocabulary.fact(dotted)
        if fact is None:
            place = (node.get("gives") or node).place
            raise ClausewayError(
                Problem(place, f"no fact {dotted}", "a declared fact", nearest(dotted, vocabulary.fact_names) or "")
            )
        scope = self.context.scope.bind("building", core.Name("building"), ThingType("building"))
        kind = dotted.partition(".")[0]
        while kind and kind != "building":
            scope = scope.bind(kind, core.Name(kind), ThingType(kind))
            kind = vocabulary.kinds[kind].within
        scope = self.with_names(scope)
        expected = fact_type(fact)
        body: core.Node = core.TRUE
        value = node.get("value")
        if value is not None:
            body = self.value(value, scope, expected)
        else:
            cases = tuple(
                (self.truth(case, "when", scope), self.value(case.get("value") or case, scope, expected))
                for _, case in entries(node, "cases")
            )
            otherwise = node.get("otherwise")
            body = core.Cases(
                cases, self.value(otherwise, scope, expected) if otherwise is not None else core.Anything(dotted)
            )
        if self.problems:
            raise ClausewayError(self.problems)
        derivation = Derivation(
            self.id,
            self.context.code,
            self.context.edition,
            dotted,
            text_of(node, "title"),
            body,
            self.citation,
            node.place,
            text_of(node, "agrees") or "equal",
            history_of(node),
        )
        return derivation, self.parameters

    def with_names(self, scope: Scope) -> Scope:
        """The scope with the provision's parameters and its lets."""
        for name, inner in entries(self.node, "parameters"):
            if name in scope.names:
                self.problems.append(
                    Problem(inner.key_place or inner.place, f"the name {name} is taken", "another name")
                )
                continue
            try:
                parameter, kind = lower_parameters(
                    f"{self.name}/{name}", inner, self.citation, self.context.sources, self.context.vocabulary
                )
                parameter = replace(parameter, readings=readings_of(inner, self.context.sources))
            except ClausewayError as error:
                self.problems.extend(error.problems)
                continue
            self.parameters[parameter.key] = parameter
            scope = scope.bind(name, core.Parameter(parameter.key), kind)
        return self.with_lets(self.node, scope)

    def with_lets(self, node: Node, scope: Scope) -> Scope:
        for name, inner in entries(node, "let"):
            if name in scope.names:
                self.problems.append(
                    Problem(inner.key_place or inner.place, f"the name {name} is taken", "another name")
                )
                continue
            try:
                body, kind = elaborate(parse(inner.text or "", inner.place), scope)
            except ClausewayError as error:
                self.problems.extend(error.problems)
                continue
            scope = scope.bind(name, core.Named(name, body), kind)
        return scope

    # --- expressions ------------------------------------------------------------------------------------

    def truth(self, node: Node, key: str, scope: Scope) -> core.Node:
        """The truth under a key; true where there is none."""
        inner = node.get(key)
        if inner is None:
            return core.TRUE
        try:
            return elaborate_truth(parse(inner.text or "", inner.place), scope)
        except ClausewayError as error:
            self.problems.extend(error.problems)
            return core.TRUE

    def value(self, node: Node, scope: Scope, expected: Type) -> core.Node:
        """An expression of the type of a fact; a bare word is one of the fact's values."""
        text = node.text or ""
        if isinstance(expected, ChoiceType):
            listed = self.context.vocabulary.lists[expected.values]
            if text in listed.values:
                return core.Options(text, listed.expand(text))
        if expected == TRUTH and text in ("true", "false"):
            return core.Constant(text == "true")
        try:
            body, kind = elaborate(parse(text, node.place), scope)
        except ClausewayError as error:
            self.problems.extend(error.problems)
            return core.TRUE
        same = kind == expected or (
            isinstance(kind, NumberType) and isinstance(expected, NumberType) and kind.dimension == expected.dimension
        )
        if not same and not (isinstance(kind, OptionsType) and isinstance(expected, ChoiceType)):
            self.problems.append(Problem(node.place, f"{text} is {kind}", str(expected)))
        return body

    def template(self, node: Node | None, scope: Scope) -> Template:
        """A sentence with its placeholders, each an expression of the scope."""
        if node is None or node.text is None:
            return ()
        parts: list[str | Placeholder] = []
        at = 0
        for match in _PLACEHOLDER.finditer(node.text):
            if match.start() > at:
                parts.append(node.text[at : match.start()])
            at = match.end()
            place = node.place if node.quoted else node.place.shifted(match.start(1))
            try:
                parts.append(self.placeholder(match.group(1), place, scope))
            except ClausewayError as error:
                self.problems.extend(error.problems)
        if at < len(node.text):
            parts.append(node.text[at:])
        return tuple(parts)

    def placeholder(self, written: str, place: Place, scope: Scope) -> Placeholder:
        """What stands between braces; the sentences of one line mostly name the same things."""
        key = (id(scope), written)
        known = self.placeholders.get(key)
        if known is None:
            body, kind = elaborate(parse(written, place), scope)
            # The scope is kept with it: as long as it is, no other can have its id.
            known = self.placeholders[key] = (scope, Placeholder(body, form_of(kind), written))
        return known[1]

    def assumption(self, name: str, node: Node, scope: Scope) -> Assumption:
        return Assumption(name, self.truth(node, "require", scope), self.template(node.get("says"), scope))

    # --- conditions -------------------------------------------------------------------------------------

    def condition(self, name: str, node: Node, scope: Scope) -> Condition:
        lines: dict[str, Line] = {}
        form = next((form for form in ("some", "each") if node.get(form) is not None), "plain")
        body = self.clause(node, scope, name, lines, self.citation, alternative=False)
        line = lines.pop(name)
        if not (line.asks and line.met and line.unmet):
            self.problems.append(
                Problem(
                    node.key_place or node.place,
                    f"the condition {name} has not all of its sentences",
                    "says: asks, met and unmet",
                )
            )
        whole, own = (owner.get("proves") or owner for owner in (self.node, node))
        if_met = text_of(own, "if_met") or text_of(whole, "if_met", "contributes")
        if_unmet = text_of(own, "if_unmet") or text_of(whole, "if_unmet", "violates")
        line = replace(line, citation=replace(line.citation, if_met=if_met, if_unmet=if_unmet))
        return Condition(
            name,
            body,
            body,
            form,
            line,
            lines,
            (),
            tuple((other, why.text or "") for other, why in entries(node, "opposes")),
        )

    def clause(
        self, node: Node, scope: Scope, label: str, lines: dict[str, Line], parent: Citation, *, alternative: bool
    ) -> core.Node:
        """The truth of one node of a condition; its lines are collected by label.

        A line whose `where` fails asks nothing; an alternative whose `where` fails is not available. Where `fits` fails
        the description does not carry the question, and nothing passes: not met still counts, met does not.
        """
        citation = self.narrowed(node, parent)
        each = node.get("each")
        if each is None:
            inner = self.with_lets(node, scope)
            where = self.truth(node, "where", inner)
        else:
            where = self.truth(node, "where", scope)
            variable, members, bound, passing = self.loop(each, scope)
            inner = self.with_lets(node, bound)
        parts = [self.body(node, inner, label, lines, citation)]
        for name, exception in entries(node, "exceptions"):
            path = f"{label}/{name}"
            body = self.clause(exception, inner, path, lines, citation, alternative=True)
            parts.append(core.Labelled(path, "exception", body))
        lines[label] = self.line(node, inner, label, citation)
        truth = core.disjunction(parts)
        fits = self.truth(node, "fits", inner)
        if fits != core.TRUE:
            truth = core.And((truth, core.Assuming(fits, core.TRUE)))
        if each is not None:
            truth = core.Quantified("each", variable, members, passing, truth)
        if where == core.TRUE:
            return truth
        return core.conjunction([where, truth]) if alternative else core.When(where, truth)

    def body(self, node: Node, scope: Scope, label: str, lines: dict[str, Line], citation: Citation) -> core.Node:
        """The truth of a node without its where and exceptions."""
        for form, role in (("any_of", "alternative"), ("all_of", "line")):
            if node.get(form) is None:
                continue
            parts: list[core.Node] = []
            for name, part in entries(node, form):
                path = f"{label}/{name}"
                truth = self.clause(part, scope, path, lines, citation, alternative=form == "any_of")
                parts.append(core.Labelled(path, role, truth))
            if not parts:
                self.problems.append(Problem(node.place, f"{form} of nothing", "at least one entry"))
                return core.FALSE
            return core.disjunction(parts) if form == "any_of" else core.And(tuple(parts))
        some = node.get("some")
        if some is not None:
            variable, members, inner, where = self.loop(some, scope)
            rows: list[core.Node] = []
            for name, line in entries(node, "lines"):
                path = f"{label}/{name}"
                truth = self.clause(line, inner, path, lines, citation, alternative=False)
                rows.append(core.Labelled(path, "line", truth))
            return core.Quantified("any", variable, members, where, core.And(tuple(rows)))
        return self.truth(node, "require", scope)

    def loop(self, node: Node, scope: Scope) -> tuple[str, core.Node, Scope, core.Node]:
        """The variable, collection, inner scope and filter of `some` or `each`."""
        pairs = [(name, inner) for name, inner in node.items() if name != "where"]
        if len(pairs) != 1:
            raise ClausewayError(
                Problem(node.place, "a loop needs one name and one list", "some: {release: egress.devices}")
            )
        name, inner = pairs[0]
        if name in scope.names:
            self.problems.append(Problem(inner.key_place or inner.place, f"the name {name} is taken", "another name"))
        try:
            members, kind = elaborate(parse(inner.text or "", inner.place), scope)
            if not isinstance(kind, ManyType):
                raise ClausewayError(Problem(inner.place, f"{inner.text} is {kind}", "a list of things"))
        except ClausewayError as error:
            self.problems.extend(error.problems)
            return name, core.TRUE, scope.bind(name, core.Name(name), TextType()), core.TRUE
        bound = scope.bind(name, core.Name(name), ThingType(kind.kind))
        return name, members, bound, self.truth(node, "where", bound)

    def narrowed(self, node: Node, parent: Citation) -> Citation:
        basis = node.get("basis")
        return replace(
            parent,
            section=text_of(node, "section", parent.section),
            item=text_of(node, "item", parent.item),
            basis=self.context.sources.basis(basis, node) if basis is not None else parent.basis,
        )

    def line(self, node: Node, scope: Scope, label: str, citation: Citation) -> Line:
        says = node.get("says")
        sentence = says.get if says is not None else (lambda _key: None)
        return Line(
            label,
            citation,
            self.template(sentence("asks"), scope),
            self.template(sentence("met"), scope),
            self.template(sentence("unmet"), scope),
            self.template(node.get("remedy"), scope),
            node.key_place or node.place or NOWHERE,
            history_of(node),
        )


def form_of(kind: Type) -> str:
    """How a value of a type is printed."""
    if isinstance(kind, NumberType):
        if kind.noun or not kind.dimension:
            return f"count:{kind.noun}"
        return f"quantity:{dimension_name(kind.dimension).partition(' ')[2]}"
    if isinstance(kind, ChoiceType):
        return f"choice:{kind.values}"
    if isinstance(kind, ChoicesType):
        return f"choices:{kind.values}"
    if isinstance(kind, OptionsType):
        return f"options:{kind.values}"
    if isinstance(kind, TextType):
        return "text"
    if isinstance(kind, ThingType):
        return f"thing:{kind.kind}"
    if isinstance(kind, ManyType):
        return f"things:{kind.kind}"
    return "yes-no"
