"""Each lint finds what it is for, in a small code of its own."""

from __future__ import annotations

import shutil
from pathlib import Path

from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.law.lint import lint, unreached, unused
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook

CODE = """
code: xx
title: An invented code
publisher: nobody
editions: ["2021"]
force: law-when-adopted
about: For tests.
"""
PROVISION = """
id: matter
code: xx
kind: requirement
title: A matter
about: For tests.
subject: opening
sections: {"2021": "1"}
basis: {"2021": practice}
parameters:
  few: {of: opening.kind, value: [swinging]}
  many: {of: opening.kind, value: [swinging, sliding]}
  other: {of: opening.kind, value: [revolving]}
  idle: {of: text, value: nothing}
conditions:
  one:
    any_of:
      narrow: {require: opening.kind in few}
      wide: {require: opening.kind in many}
    exceptions:
      never: {where: opening.kind in few and opening.kind in other}
    says: {asks: it is so, met: It is so., unmet: It is not so.}
    remedy: Make it so.
"""


def book(tmp_path: Path) -> Rulebook:
    root = tmp_path / "rules"
    shutil.copytree(shipped_rules() / "facts", root / "facts")
    shutil.copytree(shipped_rules() / "schemas", root / "schemas")
    (root / "codes" / "xx").mkdir(parents=True)
    (root / "codes" / "xx" / "code.yaml").write_text(CODE)
    (root / "codes" / "xx" / "matter.yaml").write_text(PROVISION)
    return resolve(load(shipped=root), ["xx@2021"])


def test_a_dead_exception_and_an_implied_alternative(tmp_path: Path) -> None:
    found = [problem.found for problem in lint(book(tmp_path))]
    assert "xx.matter/one/never can never apply" in found
    assert "xx.matter/one/narrow is implied by one/wide" in found
    assert len(found) == 2


def test_an_unused_parameter(tmp_path: Path) -> None:
    assert [problem.found for problem in unused([book(tmp_path)])] == ["no edition reads the parameter xx.matter/idle"]


def test_a_condition_that_nothing_reaches(tmp_path: Path) -> None:
    rulebook = book(tmp_path)
    assert len(unreached(rulebook, [])) == 1
    assert not unreached(rulebook, [("xx.matter", "one")])
