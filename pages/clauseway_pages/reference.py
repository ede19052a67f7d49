"""The reference of the Python package: every public name with its signature and what it says of itself."""

from __future__ import annotations

import ast
import inspect
import re
import sys
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any

import clauseway
from clauseway_pages.markup import Html, bullets, join, table, tag
from clauseway_pages.page import Page

ADDRESS = "reference/python.html"
_INSIDE = ("clauseway.language", "clauseway.model")
"""Terms and the shape of rules: what they hold may change, and no answer is made of them alone."""

_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*(?:\.[A-Za-z_][A-Za-z0-9_]*)*")


def reference_pages() -> Iterator[Page]:
    """One page with every public name, and every kind of answer that they give."""
    public = {name: getattr(clauseway, name) for name in clauseway.__all__ if name != "__version__"}
    types = types_of(list(public.values()))
    body = join(
        [
            tag("p", "Every public name of the package ", tag("code", "clauseway"), ", made from the program itself."),
            tag("h2", "Functions", id_="functions"),
            *(_callable(name, thing) for name, thing in public.items() if inspect.isfunction(thing)),
            tag("h2", "Classes", id_="classes"),
            *(_class(name, thing, types) for name, thing in public.items() if inspect.isclass(thing)),
            tag("h2", "What comes back", id_="types"),
            tag("p", "Frozen dataclasses. You do not make them yourself."),
            *(_class(shown(each), each, types) for each in types if each not in public.values()),
        ]
    )  # fmt: skip
    summary = "Every public name with its signature, what it gives and what it raises."
    yield Page(ADDRESS, "Reference of the Python package", "reference", summary, body, tuple(public))


def shown(cls: type) -> str:
    """How a class is called on the page: by its module, since several are called alike."""
    return f"{cls.__module__.removeprefix('clauseway.')}.{cls.__name__}"


def types_of(public: list[Any]) -> list[type]:
    """The dataclasses that functions give back and classes are made of, and those in their fields, by name."""
    found: dict[str, type] = {}
    waiting = [cls for thing in public for cls in _named_in(thing, _given_back(thing))]
    while waiting:
        cls = waiting.pop()
        if shown(cls) in found or cls.__module__.startswith(_INSIDE):
            continue
        found[shown(cls)] = cls
        waiting += [inner for field in fields(cls) for inner in _named_in(cls, str(field.type))]
    return [found[name] for name in sorted(found)]


def _given_back(thing: Any) -> str:
    """What a function gives back, or what a class is made of, as it is written."""
    found = inspect.signature(thing)
    return str(found.return_annotation) if inspect.isfunction(thing) else str(found)


def _named_in(thing: Any, annotation: str) -> Iterator[type]:
    """The dataclasses of this package that an annotation names, looked up where it is written."""
    module = sys.modules[thing.__module__]
    for name in _NAME.findall(annotation):
        value: Any = module
        for step in name.split("."):
            value = getattr(value, step, None)
        if inspect.isclass(value) and is_dataclass(value) and value.__module__.startswith("clauseway."):
            yield value


def _callable(name: str, function: Any) -> Html:
    return tag(
        "section",
        tag("h3", tag("code", name)),
        tag("pre", tag("code", signature(name, function)), tabindex="0"),
        said(name, function),
        id_=name,
    )


def signature(name: str, function: Any) -> str:
    """A signature as it is written in the program, one argument a line where it is long."""
    found = inspect.signature(function)
    parts, keyword = [], False
    for each in found.parameters.values():
        if each.kind is each.KEYWORD_ONLY and not keyword:
            parts.append("*")
            keyword = True
        default = "" if each.default is each.empty else f" = {_default(each.default)}"
        parts.append(f"{each.name}: {each.annotation}{default}")
    line = f"{name}({', '.join(parts)}) -> {found.return_annotation}"
    if len(line) <= 88:
        return line
    return f"{name}(\n" + "".join(f"    {part},\n" for part in parts) + f") -> {found.return_annotation}"


def _default(value: object) -> str:
    return f"{type(value).__name__}()" if is_dataclass(value) else repr(value)


def said(name: str, thing: Any) -> Html:
    """What a docstring says, its paragraphs apart.

    Raises:
        ValueError: for a name without one.
    """
    written = inspect.getdoc(thing)
    if not written or (inspect.isclass(thing) and written.startswith(f"{thing.__name__}(")):
        raise ValueError(f"{name} does not say what it is")
    return join(_paragraph(each) for each in written.split("\n\n"))


def _paragraph(text: str) -> Html:
    head, _, rest = text.partition("\n")
    if head in ("Raises:", "Returns:"):
        points = re.split(r"\n(?=\S)", inspect.cleandoc(rest))
        return join([tag("p", head), bullets(_inline(point) for point in points)])
    if any(line.startswith("    ") for line in text.splitlines()):
        return tag("pre", tag("code", text), tabindex="0")
    return tag("p", _inline(text))


def _inline(text: str) -> Html:
    """Words on one line, with what stands between back quotes as code."""
    parts = " ".join(text.split()).split("`")
    return join(tag("code", part) if number % 2 and part else part for number, part in enumerate(parts))


def _class(name: str, cls: Any, types: list[type]) -> Html:
    rows: list[list[object]] = [
        [tag("code", field.name), _linked(cls, str(field.type), types), _about_fields(cls).get(field.name, "")]
        for field in (fields(cls) if is_dataclass(cls) else ())
    ]
    rows += [
        [tag("code", key), _linked(cls, _given_back(value.fget), types), said(f"{name}.{key}", value.fget)]
        for key, value in vars(cls).items()
        if isinstance(value, property) and not key.startswith("_")
    ]
    return tag(
        "section",
        tag("h3", tag("code", name)),
        said(name, cls),
        table(f"Fields of {name}", ("Field", "Type", ""), rows) if rows else None,
        id_=name,
    )


def _linked(cls: type, annotation: str, types: list[type]) -> Html:
    """A type as it is written, followed by links to those that the page describes."""
    named = [each for each in dict.fromkeys(_named_in(cls, annotation)) if each in types]
    links = [join([" ", tag("a", each.__name__, href=f"#{shown(each)}")]) for each in named]
    return join([tag("code", annotation), *links])


@cache
def _about_fields(cls: type) -> dict[str, Html]:
    """What stands below the fields of a class."""
    (found,) = ast.parse(inspect.cleandoc(inspect.getsource(cls))).body
    assert isinstance(found, ast.ClassDef)
    about: dict[str, Html] = {}
    for field, below in zip(found.body, found.body[1:], strict=False):
        if not isinstance(field, ast.AnnAssign) or not isinstance(field.target, ast.Name):
            continue
        if isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant) and isinstance(below.value.value, str):
            about[field.target.id] = _inline(below.value.value)
    return about
