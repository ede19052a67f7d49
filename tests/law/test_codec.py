"""A rulebook survives being written down: the same rules give the same text, and the text the same rules."""

from __future__ import annotations

import json
import math
import shutil
from pathlib import Path

import pytest

from clauseway.answers.check import check
from clauseway.law import codec
from clauseway.law.library import load
from clauseway.law.packed import pack, unpack
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook, from_json
from clauseway.text.problems import ClausewayError
from support.openings import BASES, base
from support.rulebooks import PROBES, rulebook, small_rules

EDITIONS = ["2015", "2018", "2021", "2024"]


@pytest.mark.parametrize("edition", EDITIONS)
def test_json_and_back_is_the_same_rulebook(edition: str) -> None:
    book = rulebook(f"ibc@{edition}", "probe@2023")
    again = from_json(book.json)
    assert again == book
    assert again.json == book.json
    assert again.digest == book.digest


@pytest.mark.parametrize("name", BASES)
def test_a_rulebook_read_back_answers_alike(name: str) -> None:
    again = from_json(rulebook().json)
    assert check(again, base(name)) == check(rulebook(), base(name))


def test_the_text_is_one_line_of_plain_json() -> None:
    text = rulebook().json
    assert "\n" not in text
    assert "Infinity" not in text
    assert "NaN" not in text
    assert json.dumps(json.loads(text), ensure_ascii=False, separators=(",", ":"), sort_keys=True) == text


def test_editions_differ_in_their_digest() -> None:
    digests = {rulebook(f"ibc@{edition}").digest for edition in EDITIONS}
    assert len(digests) == len(EDITIONS)
    assert all(digest.startswith("sha256:") and len(digest) == 71 for digest in digests)


def test_the_order_of_codes_does_not_matter() -> None:
    assert rulebook("probe@2023", "ibc@2021").json == rulebook("ibc@2021", "probe@2023").json


def _loaded(folder: Path) -> Rulebook:
    return resolve(load([PROBES], shipped=folder), ["ibc@2021", "probe@2023"])


def test_the_order_of_files_on_disk_does_not_matter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rewritten = tmp_path / "rules"
    for path in sorted(small_rules().rglob("*"), reverse=True):
        if path.is_file():
            target = rewritten / path.relative_to(small_rules())
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(path, target)
    listed = Path.iterdir
    monkeypatch.setattr(Path, "iterdir", lambda self: iter(sorted(listed(self), reverse=True)))
    assert _loaded(rewritten).json == rulebook().json


def test_a_changed_value_changes_the_digest(tmp_path: Path) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(small_rules(), folder)
    path = folder / "codes" / "ibc" / "sensor-release.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("value: 30 s", "value: 31 s"), encoding="utf-8")
    assert _loaded(folder).digest != rulebook().digest


@pytest.mark.parametrize(
    "value",
    [
        None, True, "text", "~tilde", 7, 1.5, math.inf, -math.inf, (), ("a", ("b",)), ("~5 ft", "x"), ("~Interval",),
        frozenset({"b", "a"}), {"a": (1, None)},
        {"~": "map"}, 0.1 + 0.2, 1e-300,
    ],
)  # fmt: skip
def test_plain_values_come_back(value: object) -> None:
    assert codec.decode(json.loads(codec.to_json(value))) == value
    assert codec.to_json((value, value)) == _in_full((value, value))


def _in_full(value: object) -> str:
    return json.dumps(codec.encode(value), ensure_ascii=False, separators=(",", ":"), sort_keys=True)


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_is_written_once_is_written_as_in_full(edition: str) -> None:
    book = rulebook(f"ibc@{edition}", "probe@2023")
    assert codec.to_json(book) == _in_full(book)


def test_equal_values_of_other_types_stay_apart() -> None:
    value = (1, True, 1.0, "1", "True", 0.0, -0.0, (1,), (True,), ("1",), {"1": 1}, {"1": True}, None, "None", 1, "1")
    for again in (unpack(pack(value)), codec.decode(json.loads(codec.to_json(value)))):
        assert repr(again) == repr(value)


def test_numbers_come_back_to_the_last_bit() -> None:
    for value in (0.1, 1.2191999999999998, 2**53 + 1.0, 5e-324):
        assert codec.decode(json.loads(codec.to_json(value))) == value


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "null", "3", '["~Nothing", 1]', '["~Rulebook"]', '{"~": "other"}', '{"a": 1}', "[" * 5000]
)
def test_what_is_no_rulebook_is_refused(text: str) -> None:
    with pytest.raises(ClausewayError, match="not a compiled rulebook"):
        from_json(text)


def test_what_cannot_be_written_is_refused() -> None:
    with pytest.raises(TypeError, match="object cannot be written"):
        codec.encode(object())


def test_a_name_is_registered_once() -> None:
    class Interval:
        pass

    with pytest.raises(ValueError, match="the name Interval is taken"):
        codec.register(Interval)
