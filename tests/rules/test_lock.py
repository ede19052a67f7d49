"""The shipped rules against their lock: no meaning changed under its revision, no id is gone."""

from __future__ import annotations

from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.law.revisions import LOCK, differences, read_lock, refused, revisions_of


def test_no_meaning_changed_under_its_revision_and_no_id_is_gone() -> None:
    """What is new or has a higher revision passes; `clauseway rules lock` writes it down."""
    locked = read_lock(shipped_rules() / LOCK)
    assert len(locked.entries) > 200
    found = refused(differences(locked, revisions_of(load(), shipped_rules())))
    assert [f"{each.state}: {each.name}: {each.says} ({each.place})" for each in found] == []
