"""Findings as text name their pages on a site that somebody built, and only there."""

from __future__ import annotations

from typer.testing import CliRunner

from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app

CHECK = ["check", "demo", "--opening", "d102"]


def test_each_finding_that_is_told_names_its_page_in_one_piece() -> None:
    told = CliRunner().invoke(app, [*CHECK, "--site", "https://rules.example.org/"]).output
    pages = [line.strip() for line in told.splitlines() if "https://" in line]
    assert "https://rules.example.org/provisions/ibc.sensor-release.html#manual-release" in pages
    assert len(pages) >= 3
    plain = CliRunner().invoke(app, CHECK).output
    assert plain == "".join(line for line in told.splitlines(True) if "https://" not in line)


def test_an_address_that_a_browser_would_run_is_refused() -> None:
    run = CliRunner().invoke(app, [*CHECK, "--site", "javascript:alert(1)"])
    assert isinstance(run.exception, ClausewayError)
