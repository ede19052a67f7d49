"""Kept rulebooks: equal to resolved ones, never believed without proof, never in the way."""

from __future__ import annotations

import json
import multiprocessing
import os
import shutil
import sys
from dataclasses import fields, replace
from pathlib import Path

import pytest

from clauseway.answers import governing as governings
from clauseway.answers.governing import Governing, governing
from clauseway.answers.under import Under, under
from clauseway.language.possible import Interval
from clauseway.law import cache, codec
from clauseway.law import shelf as shelves
from clauseway.law.adoption import Asked
from clauseway.law.packed import pack, unpack
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.law.shelf import Shelf, sources_digest
from clauseway.text.problems import ClausewayError
from support.rulebooks import PROBES, rulebook, small_rules

CODES = ("ibc@2021", "probe@2023")
posix = pytest.mark.skipif(sys.platform == "win32", reason="owners and permissions of files")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A cache that holds one rulebook."""
    made = tmp_path / "cache"
    assert cache.keep(made, "k", rulebook())
    return made


def entry(folder: Path) -> Path:
    (found,) = folder.glob("*.rulebook")
    return found


def shelf(kept: Path | None, shipped: Path | None = None) -> Shelf:
    return Shelf([PROBES], kept, shipped or small_rules())


def unread(*_: object) -> Rulebook:
    raise AssertionError("the rules were read, or resolved, again")


# --- what is kept -------------------------------------------------------------------------------------------


def test_a_kept_rulebook_is_the_resolved_one(folder: Path) -> None:
    found = cache.fetch(folder, "k")
    assert found == rulebook()
    assert found.json == rulebook().json
    assert found.digest == rulebook().digest


@pytest.mark.parametrize(
    "value",
    [
        (), None, 5, "x", frozenset(), {}, (1, 1.0, True, "1", None, float("inf"), -0.0), ((), ((),)), frozenset("ab"),
        {"a": {}, "b": {"c": (1,)}, "d": {"c": (2,)}}, (Interval(1.0, 2.0), Interval(1.0, 3.0), (Interval(1, 2),)),
    ],
    ids=lambda value: type(value).__name__,
)  # fmt: skip
def test_any_value_comes_back_as_it_was(value: object) -> None:
    found = unpack(json.loads(json.dumps(pack(value))))
    assert found == value
    assert repr(found) == repr(value)


def test_equal_parts_come_back_as_one() -> None:
    found = unpack(json.loads(json.dumps(pack((rulebook().vocabulary, rulebook().vocabulary)))))
    assert found[0] is found[1]


@pytest.mark.parametrize("value", [(), (1, 1.0, True, "1", None), {"~": ("~",)}, frozenset("ab"), (float("inf"), -0.0)])
def test_plain_values_come_back_with_their_types(value: object) -> None:
    found = unpack(json.loads(json.dumps(pack(value))))
    assert repr(found) == repr(value) or found == value
    assert type(found) is type(value)


def test_what_is_no_data_is_not_packed() -> None:
    with pytest.raises(TypeError, match="Path"):
        pack(Path("x"))


def test_the_second_time_no_rule_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = shelf(tmp_path / "cache").rulebook(CODES)
    monkeypatch.setattr("clauseway.law.library.load", unread)
    monkeypatch.setattr("clauseway.law.resolve.resolve", unread)
    again = shelf(tmp_path / "cache").rulebook(CODES)
    assert again == first
    assert again.digest == first.digest


def test_other_codes_have_their_own_entry(tmp_path: Path) -> None:
    kept = shelf(tmp_path / "cache")
    assert kept.rulebook(["ibc@2018"]) != kept.rulebook(["ibc@2021"])
    assert shelf(tmp_path / "cache").rulebook(["ibc@2018"]) == kept.rulebook(["ibc@2018"])


def test_only_so_many_are_kept(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "KEPT", 2)
    os.utime(entry(folder), (1, 1))
    (folder / ".old.new").write_bytes(b"left by a killed writer")
    os.utime(folder / ".old.new", (1, 1))
    for key in ("a", "b"):
        cache.keep(folder, key, rulebook())
    assert sorted(path.name for path in folder.iterdir()) == ["a.rulebook", "b.rulebook"]


# --- stale --------------------------------------------------------------------------------------------------


def test_a_changed_rule_is_seen_though_its_date_and_size_are_the_same(tmp_path: Path) -> None:
    rules = tmp_path / "rules"
    shutil.copytree(small_rules(), rules)
    changed = rules / "codes" / "ibc" / "sensor-release.yaml"
    before = shelf(tmp_path / "cache", rules).rulebook(CODES)
    text, date = changed.read_text(encoding="utf-8"), changed.stat()
    assert text.count("40 in") >= 1
    changed.write_text(text.replace("40 in", "41 in"), encoding="utf-8")
    os.utime(changed, ns=(date.st_atime_ns, date.st_mtime_ns))
    assert changed.stat().st_size == date.st_size
    after = shelf(tmp_path / "cache", rules).rulebook(CODES)
    assert after != before
    changed.write_text("id: [", encoding="utf-8")
    with pytest.raises(ClausewayError):
        shelf(tmp_path / "cache", rules).rulebook(CODES)


def test_a_rule_that_comes_or_goes_is_seen(tmp_path: Path) -> None:
    rules = tmp_path / "rules"
    shutil.copytree(small_rules(), rules)
    first = sources_digest([(rules, "rules")])
    (rules / "codes" / "ibc" / "hardware-height.yaml").unlink()
    second = sources_digest([(rules, "rules")])
    assert len({first, second, sources_digest([(rules, "other")])}) == 3


def test_a_folder_of_ones_own_that_went_is_missed(tmp_path: Path) -> None:
    own = tmp_path / "own"
    (own / "codes").mkdir(parents=True)
    empty = Shelf([own], tmp_path / "cache", small_rules())
    assert empty.rulebook(CODES[:1]) == Shelf([own], tmp_path / "cache", small_rules()).found(CODES[:1])
    shutil.rmtree(own)
    with pytest.raises(ClausewayError, match="no such folder"):
        Shelf([own], tmp_path / "cache", small_rules()).rulebook(CODES[:1])


def test_the_law_of_a_place_is_kept_for_what_was_asked_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[object] = []

    def resolved(_shelf: object, name: str, asked: Asked, extra: object, **_more: object) -> tuple[Governing, ...]:
        made.append((name, asked, extra))
        law = Under(name, name, asked.dates, (), 1, asked.choose, "", ())
        return (Governing(rulebook(), law),)

    monkeypatch.setattr(governings, "governing", resolved)
    plain = Asked({"today": "2026-01-01", "permit": "2020-01-01"})
    others = [
        replace(plain, dates={"today": "2026-01-01"}),
        *(replace(plain, **{field: "a"}) for field in ("known", "choose", "site")),
        replace(plain, authorities=("a",)),
    ]
    names = {field.name for field in fields(Asked)}
    assert {name for other in others for name in names if vars(other)[name] != vars(plain)[name]} == names
    for asked, name, extra in [*((each, "X", ()) for each in (plain, *others)), (plain, "Y", ()), (plain, "X", ("z",))]:
        before = len(made)
        first = governings.kept_governing(shelf(tmp_path / "cache"), name, asked, extra)
        turned = replace(asked, dates=dict(reversed(asked.dates.items())))
        assert governings.kept_governing(shelf(tmp_path / "cache"), name, turned, extra) == first
        assert len(made) == before + 1


def test_what_makes_a_kept_law_is_part_of_its_name(monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []
    add = shelves._add_file
    monkeypatch.setattr(shelves, "_add_file", lambda whole, path, name: (read.append(name), add(whole, path, name)))
    assert sources_digest([(small_rules(), "rules")]) is not None
    makers = [resolve, governing, under, *codec._CLASSES.values()]
    assert {f"{each.__module__.removeprefix('clauseway.').replace('.', '/')}.py" for each in makers} <= set(read)


@posix
def test_what_is_no_file_is_not_waited_for(tmp_path: Path) -> None:
    own = tmp_path / "own"
    (own / "codes" / "mine").mkdir(parents=True)
    assert sources_digest([(own, "own")]) is not None
    (own / "codes" / "mine" / "latch.yaml").symlink_to("nowhere")
    assert sources_digest([(own, "own")]) is None
    (own / "codes" / "mine" / "latch.yaml").unlink()
    os.mkfifo(own / "codes" / "mine" / "latch.yaml")
    assert sources_digest([(own, "own")]) is None
    with pytest.raises(ClausewayError, match="this is a pipe"):
        Shelf([own], tmp_path / "cache", small_rules()).rulebook(CODES[:1])


def test_rules_that_change_while_they_are_read_are_not_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    digests = iter(["before", "after"])
    monkeypatch.setattr("clauseway.law.shelf.sources_digest", lambda _: next(digests))
    assert shelf(tmp_path / "cache").rulebook(CODES) == rulebook(*CODES)
    assert not (tmp_path / "cache").exists()


def test_what_was_read_over_midnight_is_not_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    days = iter(["2026-11-26", *["2026-11-27"] * 5, "2026-11-28"])
    monkeypatch.setattr(shelves, "_today", lambda: next(days))
    book, folder = rulebook(), tmp_path / "cache"
    late, early, next_day = (Shelf([], folder, small_rules()) for _ in range(3))
    for each, kept in ((late, False), (early, True)):
        assert each.found(["ibc@2021"], ["layer"]) is None
        each.keep(["ibc@2021"], ["layer"], "", book)
        each.keep_governed(("X",), [(book, "beside")])
        assert (each.found(["ibc@2021"], ["layer"]) == book) is kept
        assert (list(each.governed(("X",))) == [(book, "beside")]) is kept
    assert next_day.found(["ibc@2021"], ["layer"]) is None
    assert list(next_day.governed(("X",))) == []


# --- damaged, foreign, read-only ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: b"",
        lambda text: text[: len(text) // 2],
        lambda text: text.replace(b"40 in", b"41 in", 1),
        lambda text: text.replace(b" k ", b" other ", 1),
        lambda text: text.replace(cache.FORMAT.encode(), b"clauseway-cache/0", 1),
        lambda text: b"\x80\x04cos\nsystem\n",
        lambda text: os.urandom(4000),
    ],
)
def test_a_damaged_entry_is_nothing(folder: Path, damage: object) -> None:
    path = entry(folder)
    changed = damage(path.read_bytes())  # type: ignore[operator]
    assert changed != path.read_bytes()
    path.write_bytes(changed)
    assert cache.fetch(folder, "k") is None


@pytest.mark.parametrize(
    "body",
    [
        b"[",
        b"[]",
        b"{}",
        b'{"digest":1,"rulebook":{"scalars":[1],"groups":[]},"beside":{"scalars":[1],"groups":[]}}',
        b'{"digest":"x","rulebook":{"scalars":[1],"groups":[]},"beside":{"scalars":[1],"groups":[]}}',
        b'{"digest":"x","rulebook":{"scalars":[1],"groups":[["Interval",1,1,[7]]]}}',
        b'{"digest":"x","rulebook":{"scalars":[1],"groups":[["Popen",0,1,[]]]}}',
        b'{"digest":"x","rulebook":{"scalars":[1],"groups":[["Interval",3,1,[0,0,0]]]}}',
        b'{"digest":"x","rulebook":{"scalars":[1],"groups":[["Interval",2,2,[0,0,0]]]}}',
        b'{"digest":"x","rulebook":{"scalars":[1],"groups":[["{:}",1,1,[0]]]}}',
        b"[" * 100_000,
    ],
)
def test_an_entry_with_a_right_checksum_and_wrong_data_is_nothing(folder: Path, body: bytes) -> None:
    entry(folder).write_bytes(cache._head("k", body) + b"\n" + body)
    assert cache.fetch(folder, "k") is None


def test_a_damaged_entry_is_made_anew(tmp_path: Path) -> None:
    whole = shelf(tmp_path / "cache").rulebook(CODES)
    path = entry(tmp_path / "cache")
    content = path.read_bytes()
    path.write_bytes(content[:-1])
    assert shelf(tmp_path / "cache").rulebook(CODES) == whole
    assert path.read_bytes() == content


@posix
@pytest.mark.parametrize("what", ["entry", "folder"])
def test_what_others_can_write_is_not_believed(folder: Path, what: str) -> None:
    os.chmod(entry(folder) if what == "entry" else folder, 0o777)
    assert cache.fetch(folder, "k") is None
    if what == "folder":
        assert not cache.keep(folder, "k", rulebook())


@posix
def test_what_another_owns_is_not_believed(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: os.getuid() + 1)
    assert cache.fetch(folder, "k") is None
    assert not cache.keep(folder, "k", rulebook())


@posix
def test_a_link_is_not_followed(folder: Path) -> None:
    path = entry(folder)
    path.rename(folder / "elsewhere")
    path.symlink_to(folder / "elsewhere")
    assert cache.fetch(folder, "k") is None


@pytest.mark.parametrize("obstacle", ["a file", "a file above", "a full disk"])
def test_a_cache_that_cannot_be_written_is_no_matter(
    tmp_path: Path, obstacle: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = tmp_path / "cache"
    if obstacle == "a full disk":

        def full(*_: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "replace", full)
    else:
        kept.write_text("not a folder", encoding="utf-8")
    where = kept / "below" if obstacle == "a file above" else kept
    assert shelf(where).rulebook(CODES) == rulebook(*CODES)
    assert not kept.is_dir() or not list(kept.iterdir())


def _fill(folder: str) -> bool:
    return all(cache.keep(Path(folder), "k", rulebook()) for _ in range(4))


def test_two_processes_may_fill_it_at_once(tmp_path: Path) -> None:
    folder = tmp_path / "cache"
    whole = rulebook()
    with multiprocessing.get_context("fork" if sys.platform != "win32" else "spawn").Pool(2) as pool:
        filling = pool.map_async(_fill, [str(folder)] * 2)
        seen = 0
        while not filling.ready():
            found = cache.fetch(folder, "k")
            assert found is None or found == whole
            seen += found is not None
        assert filling.get() == [True, True]
    assert cache.fetch(folder, "k") == whole
    assert [path.name for path in folder.iterdir()] == ["k.rulebook"]


# --- where --------------------------------------------------------------------------------------------------


def test_where_it_is() -> None:
    assert cache.cache_folder({cache.VARIABLE: "/c"}) == Path("/c")
    assert cache.cache_folder({cache.VARIABLE: "off"}) is None
    assert cache.cache_folder({"XDG_CACHE_HOME": "/x"}, "linux") == Path("/x/clauseway")
    home = Path.home()
    assert cache.cache_folder({"XDG_CACHE_HOME": "relative"}, "linux") == home / ".cache" / "clauseway"
    assert cache.cache_folder({}, "darwin") == home / "Library" / "Caches" / "clauseway"
    assert cache.cache_folder({}, "win32") is None
    assert cache.cache_folder({"LOCALAPPDATA": "/l"}, "win32") == Path("/l/clauseway/cache")
