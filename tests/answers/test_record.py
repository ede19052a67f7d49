"""Records: the same bytes each time, decided again from inside alone, and every change found and located."""

from __future__ import annotations

import json
import random
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from clauseway.answers.record import (
    LARGEST,
    Input,
    Record,
    Settings,
    canonical,
    damage,
    make_record,
    parts_of,
    read_record,
)
from clauseway.answers.verify import compare, verify
from clauseway.answers.waivers import EXPIRED, MISMATCHED, STANDS, UNDATED, read_waivers, waived
from clauseway.law import codec
from clauseway.law.rulebook import Rulebook, from_json
from clauseway.text.problems import ClausewayError
from clauseway.text.source import parse_yaml
from support.rulebooks import rulebook


def given() -> Input:
    from clauseway.law.folders import shipped_rules

    text = (shipped_rules() / "demo" / "harbour-hall.yaml").read_text(encoding="utf-8")
    return Input("demo", text)


@cache
def written() -> str:
    return make_record(given(), rulebook("ibc@2021"), Settings(codes=("ibc@2021",)), "1.0")


def record(data: dict[str, Any] | None = None) -> Record:
    return read_record(written() if data is None else canonical(data) + "\n", "r.json")


def data() -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(written())
    return loaded


def sealed(changed: dict[str, Any]) -> Record:
    """As somebody writes it who knows how digests are made."""
    changed["parts"] = parts_of(changed)
    changed["digest"] = codec.digest(canonical(changed["parts"]))
    return record(changed)


def revised(old: str, new: str) -> Rulebook:
    text = rulebook("ibc@2021").json
    assert old in text
    return from_json(text.replace(old, new))


def test_the_same_input_gives_the_same_bytes() -> None:
    again = make_record(given(), from_json(rulebook("ibc@2021").json), Settings(codes=("ibc@2021",)), "1.0")
    assert again == written()
    assert damage(record()) == []


def test_a_record_needs_no_rules_but_its_own() -> None:
    def nothing(codes: object, layers: object) -> Rulebook:
        raise ClausewayError(())

    found = verify(record(), "1.0")
    assert found.status == 0
    assert found.findings > 200
    assert found.inside == ()


def test_today_with_the_same_rules_nothing_changed() -> None:
    found = verify(record(), "1.0", lambda codes, layers: rulebook(*codes))
    assert (found.status, found.today) == (0, ())
    assert found.same == found.findings


def test_a_revised_provision_is_named_as_the_cause() -> None:
    book = revised('"34 in"', '"35 in"')
    found = verify(record(), "1.0", lambda codes, layers: book)
    assert found.status == 3
    assert found.today
    assert {cause for d in found.today for cause in d.causes} == {"provision ibc.hardware-height revised"}
    assert found.same + len(found.today) == found.findings


def test_another_input_is_named_as_the_cause() -> None:
    text = given().text
    assert "role: required" in text
    text = text.replace("role: required", "role: provided", 1).replace("always_opens: true", "always_opens: false", 1)
    other = Input("demo", text)
    new = read_record(make_record(other, rulebook("ibc@2021"), Settings(codes=("ibc@2021",)), "1.0"), "new")
    found = compare(record(), new)
    assert found
    assert all("input demo" in d.causes for d in found)


def test_another_engine_is_named_as_the_cause() -> None:
    changed = data()
    changed["report"]["openings"][0]["findings"][0]["verdict"] = "met"
    changed["report"]["openings"][0]["findings"][0]["says"] = "Another engine said so."
    found = verify(sealed(changed), "2.0")
    assert found.damage == ()
    assert {cause for d in found.inside for cause in d.causes} == {"engine 1.0 -> 2.0"}


# --- attacks ------------------------------------------------------------------------------------------------


def test_a_flipped_bit_anywhere_is_found() -> None:
    raw = written().encode()
    dice = random.Random(7)
    spots = [0, len(raw) - 1, len(raw) - 2, *(dice.randrange(len(raw)) for _ in range(60))]
    for at in spots:
        flipped = bytearray(raw)
        flipped[at] ^= 1 << dice.randrange(7)
        try:
            found = damage(read_record(flipped.decode(), "r.json"))
        except (ClausewayError, UnicodeDecodeError):
            continue
        assert found, at


@pytest.mark.parametrize("part", ["engine", "on"])
def test_a_changed_part_is_located(part: str) -> None:
    changed = data()
    changed[part] = "9999-01-01"
    assert damage(record(changed)) == [f"{part}: changed"]


def test_a_changed_finding_is_located_at_its_opening() -> None:
    changed = data()
    changed["report"]["openings"][2]["findings"][0]["verdict"] = "met"
    name = changed["report"]["openings"][2]["id"]
    assert f"report/opening/{name}: changed" in damage(record(changed))


def test_a_changed_provision_is_located() -> None:
    changed = json.loads(written().replace('"34 in"', '"30 in"'))
    assert "rules/provision/ibc.hardware-height: changed" in damage(record(changed))


def test_a_wrong_digest_is_found() -> None:
    changed = data()
    changed["digest"] = "sha256:" + "0" * 64
    assert damage(record(changed)) == ["parts: the digest over all does not match the list of digests"]


def test_a_removed_finding_is_found_even_under_new_digests() -> None:
    changed = data()
    gone = changed["report"]["openings"][1]["findings"].pop(0)
    found = verify(sealed(changed), "1.0")
    assert found.damage == ()
    assert found.status == 1
    assert [(d.finding, d.was, d.now) for d in found.inside] == [(gone["id"], "", gone["verdict"])]


def test_swapped_openings_are_found_even_under_new_digests() -> None:
    changed = data()
    first, second = changed["report"]["openings"][:2]
    first["findings"], second["findings"] = second["findings"], first["findings"]
    assert verify(sealed(changed), "1.0").inside


def test_an_opening_moved_within_the_report_is_found() -> None:
    changed = data()
    changed["report"]["openings"].reverse()
    found = verify(sealed(changed), "1.0")
    assert [d.finding for d in found.inside] == ["the report as a whole"]


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9, 0.9999])
def test_a_truncated_record_is_refused_with_its_place(share: float) -> None:
    with pytest.raises(ClausewayError, match="not JSON from character"):
        read_record(written()[: int(len(written()) * share)], "r.json")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[" * 200_000, "nested too deeply"),
        ('{"a":' * 200_000, "nested too deeply"),
        ("3", "not a record"),
        ('{"schema": NaN}', "NaN is no JSON number"),
        ('{"schema": "clauseway-record/0"}', "which this version does not read"),
        ('{"schema": "other"}', "its schema is other"),
        ('{"schema": "clauseway-record/1"}', "which this version does not read"),
        ('{"schema": "clauseway-record/3"}', "the part engine is missing"),
        ("9" * 5000, "not a record"),
    ],
)
def test_hostile_text_is_refused(text: str, message: str) -> None:
    with pytest.raises(ClausewayError, match=message):
        read_record(text, "r.json")


def test_a_record_of_200_megabytes_is_refused() -> None:
    class Large(str):
        def __len__(self) -> int:
            return LARGEST + 1

    with pytest.raises(ClausewayError, match="larger than 180 MiB"):
        read_record(Large("{}"), "r.json")


JUNK: list[Any] = [None, 3, "x", [], {}, [[]], {"~": "map", "of": 3}, ["~Rulebook"], [["~Place", 1]], 1e999, "\ud800"]


@pytest.mark.parametrize("junk", JUNK, ids=repr)
def test_wrong_types_are_refused_or_found(junk: Any) -> None:
    for part in data():
        changed = data()
        changed[part] = junk
        text = json.dumps(changed, sort_keys=True)
        try:
            found = verify(read_record(text, "r.json"), "1.0")
        except ClausewayError:
            continue
        assert found.status == 1, part


def test_rules_inside_that_were_ruined_are_refused() -> None:
    rng = random.Random(3)
    for _ in range(25):
        changed = data()
        where: Any = changed["rulebook"]
        while isinstance(where, list | dict) and where:
            key = rng.choice(sorted(where)) if isinstance(where, dict) else rng.randrange(len(where))
            if not isinstance(where[key], list | dict) or not where[key] or rng.random() < 0.1:
                where[key] = rng.choice(JUNK[:8])
                break
            where = where[key]
        try:
            tampered = sealed(changed)
        except (AttributeError, ClausewayError, IndexError, KeyError, TypeError, ValueError):
            continue
        with suppress(ClausewayError):
            verify(tampered, "1.0", lambda codes, layers: rulebook("ibc@2021"))


def test_what_findings_share_is_guarded_like_the_rest() -> None:
    changed = data()
    changed["report"]["shared"] = changed["report"]["shared"][:5]
    found = verify(record(changed), "1.0")
    assert "report: changed" in found.damage
    assert found.status == 1
    with pytest.raises(ClausewayError, match="nothing is shared"):
        verify(sealed(changed), "1.0")


# --- waivers ------------------------------------------------------------------------------------------------

WAIVERS = """\
waivers:
  - finding: ibc.free-egress/always-free
    opening: d102
    granted_by: Building official
    evidence: letter 12
    until: 2027-06-30
    conditions: [a guard at the door]
  - {finding: ibc.free-egress/always-free, opening: d1, granted_by: B, evidence: e, until: 2027-06-30}
"""


def test_a_waiver_stands_beside_a_verdict_and_is_loud_when_it_is_over() -> None:
    kept = read_waivers(parse_yaml(WAIVERS, "w.yaml"))
    report = read_record(written(), "r").report()
    assert [each.state for each in waived(report, kept, "2027-06-30")] == [STANDS, MISMATCHED]
    assert [each.state for each in waived(report, kept, "2027-07-01")] == [EXPIRED, MISMATCHED]
    assert [each.state for each in waived(report, kept, "")] == [UNDATED, MISMATCHED]
    assert waived(report, kept, "2027-01-01")[0].verdicts[0] == "unmet"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("granted_by", "grantd_by", "did you mean: granted_by"),
        ("until: 2027-06-30\n", "until: soon\n", "a date such as"),
        ("    evidence: letter 12\n", "", "a waiver without evidence"),
    ],
)
def test_a_wrong_waiver_is_refused_with_its_place(old: str, new: str, message: str) -> None:
    with pytest.raises(ClausewayError, match=message) as caught:
        read_waivers(parse_yaml(WAIVERS.replace(old, new, 1), "w.yaml"))
    assert caught.value.problems[0].place.line


def test_waivers_are_part_of_the_record(tmp_path: Path) -> None:
    kept = read_waivers(parse_yaml(WAIVERS, "w.yaml"))
    text = make_record(given(), rulebook("ibc@2021"), Settings("2027-01-01", codes=("ibc@2021",)), "1.0", kept)
    changed = text.replace("letter 12", "letter 13")
    assert damage(read_record(text, "r")) == []
    assert damage(read_record(changed, "r")) == ["waivers: changed"]
