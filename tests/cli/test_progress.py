"""Long work says on a terminal how far it has come, and writes nothing where nobody looks."""

from __future__ import annotations

import io
import re
import sys

import pytest

from clauseway_cli.progress import FEW, progress


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def shown(stream: io.StringIO, monkeypatch: pytest.MonkeyPatch, total: int) -> str:
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "100")
    with progress("Checking") as tell:
        for done in (total // 2, total):
            tell(done, total)
    return re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", stream.getvalue())


def test_a_terminal_shows_how_far_it_has_come(monkeypatch: pytest.MonkeyPatch) -> None:
    text = shown(Terminal(), monkeypatch, 4 * FEW)
    assert "Checking" in text
    assert f"{2 * FEW}/{4 * FEW} openings" in text
    assert f"{4 * FEW}/{4 * FEW} openings" in text


@pytest.mark.parametrize(("stream", "total"), [(io.StringIO(), 4 * FEW), (Terminal(), FEW)])
def test_nothing_is_written_where_nobody_looks_or_waits(
    stream: io.StringIO, total: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert shown(stream, monkeypatch, total) == ""
