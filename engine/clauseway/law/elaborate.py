"""From a syntax tree to the core form: every name is looked up, every type and unit must agree."""

from __future__ import annotations

import ast
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar, NoReturn

from clauseway.language import core
from clauseway.language.syntax import Expression
from clauseway.language.types import (
    DATE,
    TEXT,
    TRUTH,
    ChoicesType,
    ChoiceType,
    KeyedType,
    ManyType,
    NumberType,
    OptionsType,
    TextType,
    ThingType,
    TruthType,
    Type,
    comparable,
    dimension,
    dimension_name,
    times,
)
from clauseway.model.vocabulary import KEYED, ONE, Fact, Vocabulary
from clauseway.text.nearest import nearest
from clauseway.text.problems import ClausewayError, Problem

Typed = tuple[core.Node, Type]

_COMPARISONS: Mapping[type[ast.cmpop], str] = {
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.Eq: "==",
    ast.NotEq: "!=",
}
_ARITHMETIC: Mapping[type[ast.operator], str] = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}


@dataclass(frozen=True)
class TableShape:
    """What an expression may ask of a table: its key columns and its value columns with their types."""

    keys: Mapping[str, Type]
    columns: Mapping[str, Type]


@dataclass(frozen=True)
class Scope:
    """What names mean at one place of a rule file."""

    vocabulary: Vocabulary
    names: Mapping[str, Typed]
    arrangements: Mapping[str, str]
    tables: Mapping[str, TableShape]
    code: str = ""
    subject: str = ""
    derived: Mapping[str, str] = field(default_factory=dict)
    """The derivation by which this code reads each derived fact."""
    aliases: Mapping[str, str] = field(default_factory=dict)
    """Former ids of this code's provisions, each with the id of today."""

    def bind(self, name: str, node: core.Node, kind: Type) -> Scope:
        """The same scope with one more name."""
        return replace(self, names={**self.names, name: (node, kind)})


def fact_type(fact: Fact) -> Type:
    """The type of a declared fact."""
    if fact.sort in ("yes-no", "approval"):
        return TRUTH
    if fact.sort == "choice":
        return ChoiceType(fact.values)
    if fact.sort == "choices":
        return ChoicesType(fact.values)
    if fact.sort == "count":
        return NumberType((), fact.noun)
    if fact.sort == "quantity":
        return NumberType(dimension(fact.unit))
    if fact.sort == "date":
        return DATE
    return TEXT


def elaborate(expression: Expression, scope: Scope) -> Typed:
    """The core form and the type of an expression.

    Raises:
        ClausewayError: for an unknown name, a wrong type or unit, or a value outside its list.
    """
    return _Elaborator(expression).visit(expression.tree, scope)


def elaborate_truth(expression: Expression, scope: Scope) -> core.Node:
    """The core form of an expression that must be a yes or no."""
    node, kind = elaborate(expression, scope)
    if not isinstance(kind, TruthType):
        raise ClausewayError(Problem(expression.place, f"{expression.text} is {kind}", "a yes or no"))
    return node


class _Elaborator:
    def __init__(self, expression: Expression) -> None:
        self.expression = expression

    def fail(self, node: ast.AST, found: str, expected: str = "", near: str | None = None) -> NoReturn:
        raise ClausewayError(Problem(self.expression.at(node), found, expected, near or ""))

    def visit(self, node: ast.expr, scope: Scope) -> Typed:
        visit = self.VISITS.get(type(node))
        if visit is None:
            self.fail(node, f"{ast.unparse(node)} by itself", "an argument of any, all, count or sum")
        return visit(self, node, scope)

    def junction(self, node: ast.BoolOp, scope: Scope) -> Typed:
        parts = tuple(self.truth(value, scope) for value in node.values)
        return (core.And(parts) if isinstance(node.op, ast.And) else core.Or(parts)), TRUTH

    def unary(self, node: ast.UnaryOp, scope: Scope) -> Typed:
        if isinstance(node.op, ast.Not):
            return core.Not(self.truth(node.operand, scope)), TRUTH
        self.fail(node, "a minus sign before a value", "a difference of two values")

    def comparison(self, node: ast.Compare, scope: Scope) -> Typed:
        return self.chain(node, scope), TRUTH

    def constant(self, node: ast.Constant, _scope: Scope) -> Typed:
        self.fail(node, f"the word {node.value!r} by itself", "a comparison of a fact with it")

    def truth(self, node: ast.expr, scope: Scope) -> core.Node:
        result, kind = self.visit(node, scope)
        if not isinstance(kind, TruthType):
            self.fail(node, f"{ast.unparse(node)} is {kind}", "a yes or no")
        return result

    def number(self, node: ast.expr, scope: Scope) -> tuple[core.Node, NumberType]:
        result, kind = self.visit(node, scope)
        if not isinstance(kind, NumberType):
            self.fail(node, f"{ast.unparse(node)} is {kind}", "a number")
        return result, kind

    # --- names ------------------------------------------------------------------------------------------

    def name(self, node: ast.Name, scope: Scope) -> Typed:
        found = scope.names.get(node.id)
        if found is None:
            self.fail(
                node,
                f"unknown name: {node.id}",
                "a thing in scope, a parameter or a let of this provision",
                nearest(node.id, sorted(scope.names)),
            )
        return found

    def attribute(self, node: ast.Attribute, scope: Scope) -> Typed:
        source, kind = self.visit(node.value, scope)
        if not isinstance(kind, ThingType):
            self.fail(node.value, f"{ast.unparse(node.value)} is {kind}, which has no {node.attr}", "a thing")
        declared = scope.vocabulary.kinds[kind.kind]
        fact = declared.facts.get(node.attr)
        if fact is not None:
            dotted = f"{kind.kind}.{fact.name}"
            return core.Get(source, dotted, scope.derived.get(dotted, "")), fact_type(fact)
        relation = declared.relations.get(node.attr)
        if relation is None and node.attr == declared.within:
            return core.Follow(source, node.attr, node.attr), ThingType(node.attr)
        if relation is None:
            self.fail(
                node,
                f"a {kind.kind} has no {node.attr}",
                "a declared fact or relation of it",
                nearest(node.attr, sorted([*declared.facts, *declared.relations])),
            )
        if relation.form == ONE:
            return core.Follow(source, relation.name, relation.kind), ThingType(relation.kind)
        if relation.form == KEYED:
            return (
                core.Slot(source, relation.name, "", relation.kind),
                KeyedType(relation.kind, relation.name, relation.by),
            )
        return core.Members(source, relation.name, relation.kind), ManyType(relation.kind)

    def subscript(self, node: ast.Subscript, scope: Scope) -> Typed:
        slot, kind = self.visit(node.value, scope)
        if not isinstance(kind, KeyedType) or not isinstance(slot, core.Slot):
            self.fail(node, f"{ast.unparse(node.value)} is {kind}", "a keyed relation before [ ]")
        key: str | core.Node
        if kind.by in scope.vocabulary.lists:
            values = scope.vocabulary.lists[kind.by]
            if not isinstance(node.slice, ast.Constant) or not isinstance(node.slice.value, str):
                self.fail(node.slice, f"{ast.unparse(node.slice)} as a key", f"a value of {kind.by} in quotes")
            key = node.slice.value
            if key not in values.leaves:
                self.fail(
                    node.slice,
                    f"unknown {kind.by}: {key}",
                    f"a value of {kind.by}",
                    nearest(key, sorted(values.leaves)),
                )
        else:
            key, key_kind = self.visit(node.slice, scope)
            if key_kind != ThingType(kind.by):
                self.fail(node.slice, f"{ast.unparse(node.slice)} is {key_kind}", f"a {kind.by}")
        return replace(slot, key=key), ThingType(kind.kind)

    # --- comparisons ------------------------------------------------------------------------------------

    def chain(self, node: ast.Compare, scope: Scope) -> core.Node:
        sides = [node.left, *node.comparators]
        parts = [self.pair(node, a, op, b, scope) for a, op, b in zip(sides, node.ops, sides[1:], strict=False)]
        return core.conjunction(parts)

    def pair(self, whole: ast.Compare, a: ast.expr, op: ast.cmpop, b: ast.expr, scope: Scope) -> core.Node:
        negative = isinstance(op, ast.NotEq | ast.NotIn | ast.IsNot)
        if isinstance(op, ast.In | ast.NotIn):
            truth = self.membership(whole, a, b, scope)
        elif isinstance(op, ast.Is | ast.IsNot):
            left, left_kind = self.visit(a, scope)
            right, right_kind = self.visit(b, scope)
            if not isinstance(left_kind, ThingType) or left_kind != right_kind:
                self.fail(whole, f"{left_kind} is {right_kind}", "two things of one kind around is")
            truth = core.SameThing(left, right)
        else:
            compared = self.compared(whole, a, _COMPARISONS[type(op)], b, scope)
            if isinstance(compared, core.Compare):
                return compared
            truth = compared
        return core.Not(truth) if negative else truth

    def membership(self, whole: ast.Compare, a: ast.expr, b: ast.expr, scope: Scope) -> core.Node:
        container, kind = self.visit(b, scope)
        if isinstance(a, ast.Constant) and isinstance(kind, ChoicesType):
            return core.Overlaps(container, self.options(a, kind.values, scope))
        value, value_kind = self.visit(a, scope)
        if not isinstance(kind, OptionsType):
            self.fail(b, f"{ast.unparse(b)} is {kind}", "a set parameter after in")
        if not isinstance(value_kind, ChoiceType) or value_kind.values != kind.values:
            self.fail(whole, f"{value_kind} in {kind}", "a choice and a set parameter of the same list")
        return core.Belongs(value, container)

    def options(self, node: ast.Constant, values: str, scope: Scope) -> core.Options:
        listed = scope.vocabulary.lists[values]
        written = str(node.value)
        if written not in listed.values:
            self.fail(
                node,
                f'"{written}" is not a value of {values}',
                "a listed value",
                nearest(written, sorted(listed.values)),
            )
        return core.Options(written, listed.expand(written))

    def compared(self, whole: ast.Compare, a: ast.expr, op: str, b: ast.expr, scope: Scope) -> core.Node:
        if isinstance(a, ast.Constant) and not isinstance(b, ast.Constant):
            a, b = b, a
        left, left_kind = self.visit(a, scope)
        if isinstance(b, ast.Constant):
            if isinstance(left_kind, ChoiceType) and op in ("==", "!="):
                return core.Belongs(left, self.options(b, left_kind.values, scope))
            self.fail(b, f"{left_kind} compared with {b.value!r}", "a choice == one of its values, in quotes")
        right, right_kind = self.visit(b, scope)
        if isinstance(left_kind, NumberType) and isinstance(right_kind, NumberType):
            if not comparable(left_kind, right_kind):
                self.fail(whole, f"{left_kind} compared with {right_kind}", "two values of one dimension")
            return core.Compare(op, left, right)
        if op not in ("==", "!="):
            self.fail(whole, f"{left_kind} {op} {right_kind}", "numbers around an order comparison")
        if isinstance(left_kind, ChoiceType) and isinstance(right_kind, OptionsType):
            left_kind = OptionsType(left_kind.values)
        if left_kind != right_kind:
            self.fail(whole, f"{left_kind} compared with {right_kind}", "two values of one type")
        if isinstance(left_kind, OptionsType):
            return core.Belongs(left, right)
        if isinstance(left_kind, ChoiceType):
            return core.SameChoice(left, right)
        if isinstance(left_kind, TextType):
            return core.SameText(left, right)
        self.fail(whole, f"{left_kind} compared with {right_kind}", "numbers, choices or texts")

    # --- arithmetic and functions -----------------------------------------------------------------------

    def arithmetic(self, node: ast.BinOp, scope: Scope) -> Typed:
        left, left_kind = self.number(node.left, scope)
        right, right_kind = self.number(node.right, scope)
        op = _ARITHMETIC[type(node.op)]
        if op in "+-":
            if not comparable(left_kind, right_kind):
                self.fail(node, f"{left_kind} {op} {right_kind}", "two values of one dimension")
            kind = NumberType(left_kind.dimension, left_kind.noun or right_kind.noun)
        else:
            kind = NumberType(times(left_kind.dimension, right_kind.dimension, 1 if op == "*" else -1))
        return core.Arithmetic(op, left, right), kind

    def call(self, node: ast.Call, scope: Scope) -> Typed:
        assert isinstance(node.func, ast.Name)
        name, arguments = node.func.id, node.args
        if name in ("any", "all", "count", "sum"):
            return self.quantified(node, name, scope)
        if name == "holds":
            return self.holds(node, scope), TRUTH
        if name == "lookup":
            return self.lookup(node, scope)
        if name == "compute":
            return self.compute(node, scope)
        if name in ("overlap", "includes"):
            return self.sets(node, name, scope), TRUTH
        if name in ("min", "max"):
            if len(arguments) < 2:
                self.fail(node, f"{name} of {len(arguments)}", "two values or more")
            numbers = [self.number(argument, scope) for argument in arguments]
            first = numbers[0][1]
            for argument, (_, kind) in zip(arguments, numbers, strict=True):
                if not comparable(first, kind):
                    self.fail(argument, f"{first} beside {kind}", "values of one dimension")
            return core.Function(name, tuple(number for number, _ in numbers)), first
        if len(arguments) != 1:
            self.fail(node, f"{name} with {len(arguments)} arguments", "one")
        value, kind = self.number(arguments[0], scope)
        if name in ("exp", "log") and kind.dimension:
            self.fail(node, f"{name} of {kind}", "a plain number")
        if name == "sqrt":
            if any(power % 2 for _, power in kind.dimension):
                self.fail(node, f"sqrt of {kind}", "a value whose dimension is a square")
            kind = NumberType(tuple((base, power // 2) for base, power in kind.dimension))
        return core.Function(name, (value,)), kind

    def sets(self, node: ast.Call, name: str, scope: Scope) -> core.Node:
        if len(node.args) != 2:
            self.fail(node, f"{name} with {len(node.args)} arguments", "a set fact and a set parameter")
        value, kind = self.visit(node.args[0], scope)
        options, options_kind = self.visit(node.args[1], scope)
        if not isinstance(kind, ChoicesType) or options_kind != OptionsType(kind.values):
            self.fail(node, f"{name} of {kind} and {options_kind}", "a set fact and a set parameter of one list")
        return core.Overlaps(value, options) if name == "overlap" else core.Includes(value, options)

    def word(self, node: ast.Call, index: int) -> str:
        argument = node.args[index] if index < len(node.args) else None
        if not isinstance(argument, ast.Constant) or not isinstance(argument.value, str):
            self.fail(argument or node, "no name in quotes", "a name in quotes")
        return argument.value

    def holds(self, node: ast.Call, scope: Scope) -> core.Node:
        written = self.word(node, 0)
        name = scope.aliases.get(written, written)
        if name not in scope.arrangements:
            self.fail(
                node.args[0],
                f'no locking arrangement "{name}" in this code and edition',
                "the id of a locking arrangement",
                nearest(name, sorted(scope.arrangements)),
            )
        if scope.arrangements[name] != scope.subject:
            self.fail(
                node,
                f'"{name}" is about a {scope.arrangements[name]}, not about a {scope.subject}',
                "an arrangement with the same subject",
            )
        return core.Holds(f"{scope.code}.{name}")

    def lookup(self, node: ast.Call, scope: Scope) -> Typed:
        written, column = self.word(node, 0), self.word(node, 1)
        table = scope.aliases.get(written, written)
        shape = scope.tables.get(table)
        if shape is None:
            self.fail(node.args[0], f"no table {table}", "the id of a table", nearest(table, sorted(scope.tables)))
        kind = shape.columns.get(column)
        if kind is None:
            self.fail(
                node.args[1],
                f"table {table} has no column {column}",
                "one of its value columns",
                nearest(column, sorted(shape.columns)),
            )
        keys = node.args[2:]
        if len(keys) != len(shape.keys):
            self.fail(node, f"{len(keys)} keys for table {table}", ", ".join(shape.keys))
        nodes: list[core.Node] = []
        for key, (key_name, expected) in zip(keys, shape.keys.items(), strict=True):
            if isinstance(key, ast.Constant) and isinstance(expected, ChoiceType):
                nodes.append(self.options(key, expected.values, scope))
                continue
            value, found = self.visit(key, scope)
            agrees = found == expected or (
                isinstance(found, NumberType) and isinstance(expected, NumberType) and comparable(found, expected)
            )
            if not agrees:
                self.fail(key, f"{found} as key {key_name}", str(expected))
            nodes.append(value)
        return core.Lookup(f"{scope.code}.{table}", column, tuple(nodes)), kind

    def compute(self, node: ast.Call, scope: Scope) -> Typed:
        # Only rules that compute pay for loading the computations.
        from clauseway.law.computations import signature_of

        signature = signature_of(self.word(node, 0), lambda *problem: self.fail(node.args[0], *problem))
        given: list[tuple[str, core.Node]] = []
        for keyword in node.keywords:
            assert keyword.arg is not None
            taken = signature.takes.get(keyword.arg)
            if taken is None:
                self.fail(
                    keyword.value,
                    f"{signature.name} takes no {keyword.arg}",
                    ", ".join(signature.takes),
                    nearest(keyword.arg, list(signature.takes)),
                )
            value, kind = self.listing(keyword.value, scope) if taken.many else self.number(keyword.value, scope)
            if kind.dimension != taken.dimension or (taken.whole and not kind.noun):
                expected = "a count with a noun" if taken.whole else dimension_name(taken.dimension)
                self.fail(keyword.value, f"{kind} as {keyword.arg} of {signature.name}", f"{expected}: {taken.meaning}")
            given.append((keyword.arg, value))
        lacking = [name for name, taken in signature.takes.items() if taken.required and name not in dict(given)]
        if lacking:
            self.fail(node, f"{signature.name} without {', '.join(lacking)}", "every argument that has no default")
        return core.Compute(signature.name, tuple(sorted(given))), NumberType(signature.gives, signature.noun)

    def listing(self, node: ast.expr, scope: Scope) -> tuple[core.Node, NumberType]:
        if not isinstance(node, ast.GeneratorExp):
            self.fail(node, f"{ast.unparse(node)} where a list is taken", "(... for x in a list)")
        variable, members, where, inner = self.clause(node, scope)
        body, kind = self.number(node.elt, inner)
        return core.Listing(variable, members, where, body), kind

    def quantified(self, node: ast.Call, name: str, scope: Scope) -> Typed:
        if len(node.args) != 1 or not isinstance(node.args[0], ast.GeneratorExp):
            self.fail(node, f"{name} without a for", f"{name}(... for x in a list)")
        generator = node.args[0]
        variable, members, where, inner = self.clause(generator, scope)
        if name == "count":
            if not (isinstance(generator.elt, ast.Name) and generator.elt.id == variable):
                self.fail(generator.elt, f"count of {ast.unparse(generator.elt)}", f"count({variable} for ...)")
            return core.Quantified("count", variable, members, where, core.TRUE), NumberType()
        if name == "sum":
            body, body_kind = self.number(generator.elt, inner)
            return core.Quantified("sum", variable, members, where, body), body_kind
        return core.Quantified(name, variable, members, where, self.truth(generator.elt, inner)), TRUTH

    def clause(self, generator: ast.GeneratorExp, scope: Scope) -> tuple[str, core.Node, core.Node, Scope]:
        """The loop name, the collection, the filter and the inner scope of a generator."""
        clause = generator.generators[0]
        if not isinstance(clause.target, ast.Name):
            self.fail(clause.target, "several loop names", "one name")
        variable = clause.target.id
        if variable in scope.names:
            self.fail(clause.target, f"the loop name {variable} is taken", "another name")
        members, kind = self.visit(clause.iter, scope)
        if not isinstance(kind, ManyType):
            self.fail(clause.iter, f"{ast.unparse(clause.iter)} is {kind}", "a list of things")
        inner = scope.bind(variable, core.Name(variable), ThingType(kind.kind))
        where = core.conjunction([self.truth(condition, inner) for condition in clause.ifs])
        return variable, members, where, inner

    VISITS: ClassVar[Mapping[type[ast.expr], Callable[[_Elaborator, Any, Scope], Typed]]] = {
        ast.Name: name,
        ast.Attribute: attribute,
        ast.Compare: comparison,
        ast.BoolOp: junction,
        ast.UnaryOp: unary,
        ast.Call: call,
        ast.BinOp: arithmetic,
        ast.Subscript: subscript,
        ast.Constant: constant,
    }
