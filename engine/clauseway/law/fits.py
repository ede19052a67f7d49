"""Whether a file fits its schema: yes or no, and quickly. What is wrong with one that does not, `law/shape` says."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clauseway.text.source import Node

if TYPE_CHECKING:
    from jsonschema_rs import Draft202012Validator

SUFFIX = ".schema.json"


def fits(node: Node, schema: str, schemas: Path) -> bool:
    """Whether a file surely fits the schema of a name; False where it does not, or cannot be judged here.

    Raises:
        FileNotFoundError: if there is no such schema.
    """
    try:
        return _validator(schema, schemas).is_valid(node.plain())
    except ValueError:
        # Deeper than this validator goes, or text that is none: the other one says what it thinks of that.
        return False


@cache
def contents(schemas: Path) -> dict[str, Any]:
    """What the schemas of a folder say, by the names of their files."""
    return {path.name: json.loads(path.read_text(encoding="utf-8")) for path in sorted(schemas.glob("*" + SUFFIX))}


def schema_of(schema: str, schemas: Path) -> Any:
    """What the schema of a name says.

    Raises:
        FileNotFoundError: if there is none.
    """
    known = contents(schemas)
    if schema + SUFFIX not in known:
        raise FileNotFoundError(f"there is no {schema}{SUFFIX} in {schemas}")
    return known[schema + SUFFIX]


@cache
def _validator(schema: str, schemas: Path) -> Draft202012Validator:
    from jsonschema_rs import Draft202012Validator

    return Draft202012Validator(schema_of(schema, schemas), registry=_registry(schemas))


@cache
def _registry(schemas: Path) -> Any:
    from jsonschema_rs import Registry

    return Registry(list(contents(schemas).items()))
