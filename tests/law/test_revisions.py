"""The lock of revisions: what is a change of meaning, what is not, and what is refused."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from clauseway.law import revisions as R
from clauseway.law.library import load
from clauseway.law.meaning import meanings
from clauseway.law.resolve import resolve
from clauseway.law.revisions import Revisions, differences, lock_text, read_lock, refused, revisions_of
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from support.clause_code import PROVISIONS, clause_rules

SAYS = "asks: it is so, met: It is so., unmet: It is not so."


def today(root: Path, **provisions: str) -> Revisions:
    """The revisions of the invented code with some of its provisions written anew (or, when empty, taken away)."""
    rules = clause_rules(root, provisions={**PROVISIONS, **provisions})
    for path in (rules / "codes" / "xx").glob("*.yaml"):
        if not path.read_text(encoding="utf-8"):
            path.unlink()
    return revisions_of(load(shipped=rules), rules)


def states(before: Revisions, after: Revisions) -> list[tuple[str, str]]:
    return [(each.state, each.name) for each in differences(before, after)]


def wide(*changes: tuple[str, str]) -> str:
    text = PROVISIONS["wide"]
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


def test_a_lock_reads_back(tmp_path: Path) -> None:
    now = today(tmp_path)
    assert sorted(now.entries) == ["xx.tall@2021", "xx.tall@2024", "xx.wide@2021", "xx.wide@2024"]
    (tmp_path / R.LOCK).write_text(lock_text(now), encoding="utf-8")
    assert read_lock(tmp_path / R.LOCK) == now
    assert differences(read_lock(tmp_path / R.LOCK), now) == ()
    assert read_lock(tmp_path / "none.lock") == Revisions({}, {})


@pytest.mark.parametrize(
    "change",
    [
        ("title: Width of a door", "title: How wide a door is"),
        ("about: For tests.", "about: Something else."),
        (SAYS, "asks: it is wide, met: It is wide., unmet: It is narrow."),
        ("remedy: Make it so.", "remedy: Do better."),
        ("kind: requirement", "# a comment\nkind: requirement"),
        ("value: 32 in", "value: 2'-8\""),
        ("conditions:\n", "note: Something to know.\nconditions:\n"),
    ],
    ids=["title", "about", "sentences", "remedy", "comment", "spelling", "note"],
)
def test_what_is_no_change_of_meaning(tmp_path: Path, change: tuple[str, str]) -> None:
    before, after = today(tmp_path), today(tmp_path, wide=wide(change))
    assert states(before, after) == []


@pytest.mark.parametrize(
    ("change", "editions"),
    [
        (("value: 32 in", "value: 33 in"), ["2021", "2024"]),
        (("value: 32 in", "values: {'2021': 32 in, '2024': 34 in}"), ["2024"]),
        ((">= least", "> least"), ["2021", "2024"]),
        (("opening.clear_width >= least", "least <= opening.clear_width"), ["2021", "2024"]),
        (('"2024": memory}', '"2024": reader}'), ["2024"]),
        (("basis: reader", "basis: memory"), ["2021", "2024"]),
        (('"2024": "10.1.10"}', '"2024": "10.1.12"}'), ["2024"]),
        (('item: {"2021": "1", "2024": "2"}, require', 'item: {"2021": "1", "2024": "3"}, require'), ["2024"]),
        (("  again:", "  once-more:"), ["2021", "2024"]),
        (("conditions:\n", "proves: {if_met: satisfies}\nconditions:\n"), ["2021", "2024"]),
        (("conditions:\n", "applies: opening.required_accessible\nconditions:\n"), ["2021", "2024"]),
    ],
    ids=[
        "value",
        "edition",
        "comparison",
        "turned",
        "number-basis",
        "basis",
        "section",
        "item",
        "label",
        "proves",
        "scope",
    ],
)
def test_what_is_a_change_of_meaning(tmp_path: Path, change: tuple[str, str], editions: list[str]) -> None:
    before, after = today(tmp_path), today(tmp_path, wide=wide(change))
    found = differences(before, after)
    assert [(each.state, each.name) for each in found] == [(R.CHANGED, f"xx.wide@{edition}") for edition in editions]
    assert all("say revision: 2" in each.says for each in found)
    assert all(each.place.file == "rules/codes/xx/wide.yaml" for each in found)
    raised = today(tmp_path, wide=wide(change) + "revision: 2\n")
    assert refused(differences(before, raised)) == []
    assert states(before, raised) == [(R.RAISED, "xx.wide@2021"), (R.RAISED, "xx.wide@2024")]


def test_the_name_of_a_let_is_no_meaning_and_its_body_is(tmp_path: Path) -> None:
    def with_let(name: str, body: str) -> str:
        return wide(("conditions:\n", f"let: {{{name}: {body}}}\nconditions:\n"), (">= least,", f">= {name},"))

    before = today(tmp_path, wide=with_let("asked", "least"))
    assert states(before, today(tmp_path, wide=with_let("wanted", "least"))) == []
    assert states(before, today(tmp_path, wide=with_let("asked", "least + least")))[0][0] == R.CHANGED


def test_a_revision_never_goes_back(tmp_path: Path) -> None:
    before = today(tmp_path, wide=wide() + "revision: 3\n")
    assert states(before, today(tmp_path, wide=wide() + "revision: 2\n")) == [
        (R.LOWERED, "xx.wide@2021"),
        (R.LOWERED, "xx.wide@2024"),
    ]


def test_a_new_provision_is_new(tmp_path: Path) -> None:
    before = today(tmp_path)
    new = wide(("id: wide\n", "id: broad\n"), ('"10.1.9"', '"10.7"'))
    after = today(tmp_path, broad=new)
    assert states(before, after) == [(R.NEW, "xx.broad@2021"), (R.NEW, "xx.broad@2024")]
    assert refused(differences(before, after)) == []


def test_an_id_that_is_gone_is_refused_unless_it_is_an_alias(tmp_path: Path) -> None:
    before = today(tmp_path)
    renamed = wide(("id: wide\n", "id: wides\n"))
    gone = differences(before, today(tmp_path, wide="", wides=renamed))
    assert [(each.state, each.name) for each in refused(gone)] == [
        (R.VANISHED, "xx.wide@2021"),
        (R.VANISHED, "xx.wide@2024"),
    ]
    assert "if it is xx.wides now, say aliases: [wide] there" in gone[0].says
    kept = today(tmp_path, wide="", wides=renamed + "aliases: [wide]\n")
    assert states(before, kept) == [(R.RENAMED, "xx.wides@2021"), (R.RENAMED, "xx.wides@2024")]
    changed = today(tmp_path, wide="", wides=renamed.replace("32 in", "33 in") + "aliases: [wide]\n")
    assert [each.state for each in differences(before, changed)] == [R.CHANGED, R.CHANGED]


def test_a_former_id_stays_for_ever(tmp_path: Path) -> None:
    renamed = wide(("id: wide\n", "id: wides\n"))
    before = today(tmp_path, wide="", wides=renamed + "aliases: [wide]\n")
    (tmp_path / R.LOCK).write_text(lock_text(before), encoding="utf-8")
    found = differences(read_lock(tmp_path / R.LOCK), today(tmp_path, wide="", wides=renamed))
    assert [(each.state, each.name) for each in found] == [(R.VANISHED, "xx.wide")]


def test_an_edition_that_is_given_up_needs_a_new_revision(tmp_path: Path) -> None:
    before = today(tmp_path)
    only = wide((', "2024": "10.1.10"}', "}"))
    assert states(before, today(tmp_path, wide=only)) == [(R.CHANGED, "xx.wide@2024")]
    assert refused(differences(before, today(tmp_path, wide=only + "revision: 2\n"))) == []


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", r"revisions.lock:1:1: an empty file"),
        ("clauseway revisions 0\n", r"revisions.lock:1:1: the first line is `clauseway revisions 0`"),
        (f"{R.FORMAT}\n<<<<<<< HEAD\n", r"revisions.lock:2:1: `<<<<<<< HEAD`"),
        (f"{R.FORMAT}\nxx.wide@2021 revision 1 12\n", r"revisions.lock:2:1: `xx.wide@2021"),
        (f"{R.FORMAT}\nxx.a is now xx.b\nxx.a is now xx.c\n", r"revisions.lock:3:1: xx.a stands twice"),
    ],
)
def test_a_lock_that_is_none(tmp_path: Path, text: str, message: str) -> None:
    (tmp_path / R.LOCK).write_text(text, encoding="utf-8")
    with pytest.raises(ClausewayError, match=message):
        read_lock(tmp_path / R.LOCK)


def test_a_meaning_is_that_of_the_edition(tmp_path: Path) -> None:
    library = load(shipped=clause_rules(tmp_path))
    one, other = (meanings(resolve(library, [f"xx@{edition}"]), "xx") for edition in ("2021", "2024"))
    assert set(one) == set(other) == {"wide", "tall"}
    assert one["wide"] != other["wide"]


# --- the command --------------------------------------------------------------------------------------------


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A folder of one's own rules with the invented code."""
    folder = clause_rules(tmp_path)
    for name in ("facts", "schemas"):
        shutil.rmtree(folder / name)
    return folder


def lock(own: Path, *arguments: str) -> Any:
    return CliRunner().invoke(app, ["rules", "lock", "--rules", str(own), *arguments])


def test_the_command_writes_compares_and_refuses(own: Path) -> None:
    written, provision = own / R.LOCK, own / "codes" / "xx" / "wide.yaml"
    done = lock(own, "--check")
    assert done.exit_code == 0
    assert "4 provisions in their editions; 4 new" in done.output
    assert not written.exists()
    assert lock(own).exit_code == 0
    first = written.read_bytes()
    assert lock(own, "--check").output.endswith("nothing changed\n")
    provision.write_text(wide(("32 in", "33 in")), encoding="utf-8")
    for arguments in (["--check"], []):
        done = lock(own, *arguments)
        assert done.exit_code == 1
        assert "changed: xx.wide@2021: its meaning changed and it is still revision 1; say revision: 2" in done.output
        assert "wide.yaml:1:1" in done.output
    assert written.read_bytes() == first
    provision.write_text(wide(("32 in", "33 in")) + "revision: 2\n", encoding="utf-8")
    assert lock(own).exit_code == 0
    assert "xx.wide@2021 revision 2 " in written.read_text(encoding="utf-8")
    assert not [path for path in own.iterdir() if path.name.startswith(".")]
