"""The whole command line. Heavy imports stay inside the commands, so that help and errors come at once."""

from __future__ import annotations

from clauseway_cli.commands import MODULES, register
from clauseway_cli.entry import group, main

__all__ = ["app", "main"]

app = group()

for _module in MODULES:
    register(app, _module)
