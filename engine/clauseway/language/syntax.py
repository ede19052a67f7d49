"""From the text of an expression to a syntax tree that holds nothing but what the language allows."""

from __future__ import annotations

import ast
import re
import warnings
from dataclasses import dataclass
from functools import lru_cache
from keyword import iskeyword

from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem

LONGEST = 2000
DEEPEST = 40

_ALLOWED: frozenset[type[ast.AST]] = frozenset(
    (
        ast.Expression,
        ast.BoolOp,
        ast.And,
        ast.Or,
        ast.UnaryOp,
        ast.Not,
        ast.USub,
        ast.Compare,
        ast.Eq,
        ast.NotEq,
        ast.Lt,
        ast.LtE,
        ast.Gt,
        ast.GtE,
        ast.In,
        ast.NotIn,
        ast.Is,
        ast.IsNot,
        ast.BinOp,
        ast.Add,
        ast.Sub,
        ast.Mult,
        ast.Div,
        ast.Call,
        ast.keyword,
        ast.Name,
        ast.Load,
        ast.Attribute,
        ast.Subscript,
        ast.Constant,
        ast.GeneratorExp,
        ast.comprehension,
        ast.Store,
    )
)

_EMPTY = frozenset(kind for kind in _ALLOWED if not kind._fields)
"""Allowed parts with nothing in them."""

FUNCTIONS = (
    "any",
    "all",
    "count",
    "sum",
    "min",
    "max",
    "ceil",
    "floor",
    "abs",
    "sqrt",
    "exp",
    "log",
    "overlap",
    "includes",
    "holds",
    "lookup",
    "compute",
)

_NAMES = {
    ast.Lambda: "a lambda",
    ast.IfExp: "an if expression",
    ast.ListComp: "a list comprehension",
    ast.Dict: "a dict",
    ast.List: "a list",
    ast.Tuple: "a tuple",
    ast.Set: "a set",
    ast.NamedExpr: "an assignment",
    ast.Await: "await",
    ast.JoinedStr: "an f-string",
    ast.Starred: "a star",
    ast.Slice: "a slice",
    ast.Pow: "a power",
    ast.FloorDiv: "an integer division",
    ast.Mod: "a remainder",
}


_NAME = re.compile(r"[a-z][a-z0-9_]*(\.[a-z][a-z0-9_]*)*")
"""A name, or a chain of them: what most expressions are. Nothing in it needs a look."""


@dataclass(frozen=True, slots=True)
class Expression:
    """A parsed expression; `place` is where its text begins."""

    text: str
    tree: ast.expr
    place: Place

    def at(self, node: ast.AST) -> Place:
        """The place of a part. Texts that run over several lines give the place of their beginning."""
        if "\n" in self.text or not isinstance(node, ast.expr):
            return self.place
        return self.place.shifted(node.col_offset)


def parse(text: str, place: Place) -> Expression:
    """Parse one expression.

    Raises:
        ClausewayError: when the text is not an expression of the language; the place points into it.
    """
    flat = " ".join(text.split()) if "\n" in text else text
    if len(flat) > LONGEST:
        raise ClausewayError(
            Problem(place, f"an expression of {len(flat)} characters", f"at most {LONGEST}; name its parts with let")
        )
    right = _right(flat)
    if right is not None:
        return Expression(flat, right, place)
    try:
        tree = _tree(flat)
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        column = (getattr(error, "offset", None) or 1) - 1
        raise ClausewayError(
            Problem(
                place.shifted(column),
                f"not an expression: {flat.strip() or 'nothing'}",
                "comparisons, and / or / not, + - * /, and the functions " + ", ".join(FUNCTIONS),
            )
        ) from None
    expression = Expression(flat, tree, place)
    _check(expression, tree, 0)
    return expression


@lru_cache(maxsize=4096)
def _right(flat: str) -> ast.expr | None:
    """The tree of a text with which nothing is wrong; none for any other. Trees are not changed: one serves all."""
    parts = flat.split(".")
    if len(parts) <= DEEPEST and _NAME.fullmatch(flat) and not any(map(iskeyword, parts)):
        tree: ast.expr = ast.Name(parts[0], ast.Load(), lineno=1, col_offset=0)
        for part in parts[1:]:
            tree = ast.Attribute(tree, part, ast.Load(), lineno=1, col_offset=0)
        return tree
    try:
        tree = _tree(flat)
        _check(Expression(flat, tree, NOWHERE), tree, 0)
    except (SyntaxError, ValueError, RecursionError, MemoryError, ClausewayError):
        return None
    return tree


def _tree(flat: str) -> ast.expr:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return ast.parse(flat, mode="eval").body


def _check_compute(expression: Expression, node: ast.Call) -> None:
    """A computation is named first; what it takes follows by name, each name once."""
    expected = 'compute("wire.voltage-drop", length=..., current=..., area=...)'
    if len(node.args) != 1 or not isinstance(node.args[0], ast.Constant):
        raise _refuse(expression, node, "a computation without a name in quotes, or an unnamed argument", expected)
    if any(keyword.arg is None for keyword in node.keywords):
        raise _refuse(expression, node, "a double star", expected)


def _refuse(expression: Expression, node: ast.AST, found: str, expected: str) -> ClausewayError:
    return ClausewayError(Problem(expression.at(node), found, expected))


def _check(expression: Expression, node: ast.AST, depth: int) -> None:
    if depth > DEEPEST:
        raise _refuse(expression, node, "an expression nested too deeply", f"at most {DEEPEST} levels")
    if type(node) not in _ALLOWED:
        what = _NAMES.get(type(node), f"{type(node).__name__.lower()}")
        raise _refuse(expression, node, f"{what} in an expression", "the plain expressions of the rule language")
    if isinstance(node, ast.Constant) and not isinstance(node.value, str):
        if node.value is None or isinstance(node.value, bool):
            raise _refuse(expression, node, f"{node.value} in an expression", "the fact itself, or not and the fact")
        raise _refuse(
            expression,
            node,
            f"a bare number in an expression: {node.value!r}",
            "the name of a parameter, which carries the number's unit, citation and basis",
        )
    if isinstance(node, ast.Call):
        if not isinstance(node.func, ast.Name) or node.func.id not in FUNCTIONS:
            raise _refuse(expression, node, f"a call of {ast.unparse(node.func)}", "one of " + ", ".join(FUNCTIONS))
        if node.func.id == "compute":
            _check_compute(expression, node)
        elif node.keywords:
            raise _refuse(expression, node, "an argument with a name", "arguments without names")
    if isinstance(node, ast.Attribute | ast.Name):
        name = node.attr if isinstance(node, ast.Attribute) else node.id
        if name.startswith("_"):
            raise _refuse(expression, node, f"a name that begins with an underscore: {name}", "a declared name")
    if isinstance(node, ast.GeneratorExp) and len(node.generators) != 1:
        raise _refuse(expression, node, "several for clauses", "one; nest another any, all, count or sum")
    if isinstance(node, ast.comprehension) and node.is_async:
        raise _refuse(expression, node, "async for", "for")
    for child in ast.iter_child_nodes(node):
        if type(child) not in _EMPTY or depth >= DEEPEST:
            _check(expression, child, depth + 1)
