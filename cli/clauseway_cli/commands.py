"""Which module has which commands, so that a command loads its own alone."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import typer

MODULES = {
    "check": ("check",),
    "look": ("describe", "explain", "facts", "graph"),
    "rules": ("rules",),
    "schedule": ("schedule",),
    "model": ("model",),
    "report": ("report",),
    "desk": ("desk",),
    "amend": ("amend",),
    "audit": ("trace", "affects", "record", "verify", "waivers", "history"),
    "clauses": ("clauses", "cite"),
    "codes": ("codes",),
    "compare": ("compare",),
    "compute": ("compute",),
    "design": ("needs", "repair", "interview"),
    "serve": ("serve",),
    "handover": ("handover", "measured"),
    "site": ("site",),
    "survey": ("survey",),
}
"""The modules in the order in which help lists their commands."""


def module_of(command: str) -> str | None:
    """The module that has a command; None where none has."""
    return next((module for module, commands in MODULES.items() if command in commands), None)


def register(app: typer.Typer, module: str) -> None:
    """Add the commands of a module to the command line."""
    import_module(f"clauseway_cli.{module}").register(app)
