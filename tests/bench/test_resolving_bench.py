"""How long it takes to lay amendments over a code, once the rules are loaded."""

from __future__ import annotations

import time

import pytest

from clauseway.answers.footing import footings
from clauseway.law.jurisdictions import text
from clauseway.law.library import load
from clauseway.law.resolve import resolve


@pytest.mark.bench
def test_resolving_every_stack() -> None:
    library = load()
    rows = []
    for name in sorted({text(layer, "layer") for layer in library.layers}):
        footing = footings(library, name)[-1]
        resolve(library, footing.codes)
        spent = []
        for _ in range(5):
            started = time.process_time()
            footing.after(library, name)
            spent.append(time.process_time() - started)
        rows.append((min(spent), max(spent), footing.label, name))
    for least, most, label, name in sorted(rows, reverse=True)[:8]:
        print(f"{label:24} {name:12} {least * 1000:6.1f} ms, the first time {most * 1000:6.1f} ms")
    assert rows
