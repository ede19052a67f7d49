"""Each verb of a layer on a real provision, and each way a layer is refused."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from clauseway.answers.check import check
from clauseway.case.open import project_from_data
from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError
from clauseway.text.source import read_yaml

HEIGHT = "sensor-release/parameters/height_max"


def book(tmp_path: Path, *changes: str, edition: str = "2021", head: str = "", name: str = "XX-A") -> Rulebook:
    write(tmp_path, name, "a", *changes, head=head)
    return resolve(load([tmp_path]), [f"ibc@{edition}"], [name])


def write(tmp_path: Path, layer: str, file: str, *changes: str, head: str = "") -> None:
    folder = tmp_path / "jurisdictions" / layer
    folder.mkdir(parents=True, exist_ok=True)
    lines = [
        f"layer: {layer}",
        "title: An invented city",
        "code: ibc",
        "basis: published",
        head,
        "changes:",
        *(f"  - {c}" for c in changes),
    ]
    (folder / f"{file}.yaml").write_text("\n".join(lines) + "\n")


def refused(tmp_path: Path, *changes: str, **options: str) -> str:
    with pytest.raises(ClausewayError) as caught:
        book(tmp_path, *changes, **options)
    return str(caught.value)


def shipped() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


def verdict(rulebook: Rulebook, **changes: str) -> str:
    data = read_yaml(shipped_rules() / "examples" / "sensor-magnet.yaml").plain()
    assert isinstance(data, dict)
    data["openings"]["d"]["devices"]["button"].update(changes)  # type: ignore[index, call-overload, union-attr]
    return check(rulebook, project_from_data(data, rulebook)).answers[0].verdict


def test_set_changes_a_number_and_says_who_set_it(tmp_path: Path) -> None:
    amended = book(tmp_path, f'{{at: {HEIGHT}, set: 46 in, was: 48 in, cite: "XX 12-3", direction: stricter}}')
    parameter = amended.parameters["ibc.sensor-release/height_max"]
    assert parameter.printed == ("46 in",)
    (change,) = parameter.history
    assert (change.layer, change.was, change.now, change.cite) == ("XX-A", "48 in", "46 in", "XX 12-3")
    assert change.place.file.endswith("XX-A/a.yaml")
    assert change.place.line == 7
    assert verdict(shipped(), height="47 in") == "complies"
    assert verdict(amended, height="47 in") == "does-not-comply"
    assert verdict(amended, height="46 in") == "complies"


def test_add_brings_a_condition(tmp_path: Path) -> None:
    condition = (
        "{battery: {require: not lock.standby_battery, says: {asks: no battery keeps it locked, met: No battery does.,"
        " unmet: A battery keeps it locked.}, remedy: Take the battery off the lock circuit.}}"
    )
    amended = book(tmp_path, f'{{at: sensor-release/conditions, add: {condition}, cite: "XX 1"}}')
    labels = [c.label for c in amended.provisions["ibc.sensor-release"].conditions]
    assert "battery" in labels
    assert verdict(amended) == "undetermined"


def test_remove_takes_a_condition_away(tmp_path: Path) -> None:
    was = '{item: "4"}'
    amended = book(
        tmp_path, f'{{at: sensor-release/conditions/manual-release, remove: true, was: {was}, cite: "XX 2"}}'
    )
    labels = [c.label for c in amended.provisions["ibc.sensor-release"].conditions]
    assert "manual-release" not in labels
    assert verdict(amended, height="60 in") == "complies"


def test_replace_swaps_the_test_itself(tmp_path: Path) -> None:
    target = "sensor-release/permitted/not-barred-group/require"
    amended = book(
        tmp_path,
        f"{{at: {target}, replace: lock.approved_arrangement,"
        ' was: "all(s.group not in barred_groups for s in passage.serves)", cite: "XX 3"}',
    )
    assert verdict(amended) == "needs-approval"


def test_put_in_and_take_out_edit_a_set(tmp_path: Path) -> None:
    barred = "sensor-release/parameters/barred_groups"
    more = book(tmp_path, f'{{at: {barred}, put_in: [B], was: [H], cite: "XX 4"}}')
    assert more.parameters["ibc.sensor-release/barred_groups"].printed == ("H", "B")
    assert verdict(more) == "does-not-comply"
    listings = "sensor-release/parameters/listings"
    fewer = book(tmp_path, f'{{at: {listings}, take_out: [UL 294], was: [UL 294], cite: "XX 5"}}')
    assert fewer.parameters["ibc.sensor-release/listings"].printed == ()
    assert verdict(fewer) == "does-not-comply"


def test_renumber_changes_the_number_alone(tmp_path: Path) -> None:
    amended = book(tmp_path, '{at: sensor-release, renumber: "28-1010.9", was: "1010.2.12", cite: "XX 6"}')
    assert amended.provisions["ibc.sensor-release"].citation.section == "28-1010.9"
    assert verdict(amended) == verdict(shipped()) == "complies"


def test_restate_changes_nothing_but_must_find_its_target(tmp_path: Path) -> None:
    amended = book(tmp_path, '{at: sensor-release/conditions/listing, restate: no change, cite: "XX 7"}')
    assert amended.provisions == shipped().provisions
    assert "has no lstings" in refused(tmp_path, '{at: sensor-release/conditions/lstings, restate: x, cite: "XX 7"}')


def test_a_change_and_its_inverse_restore_every_value(tmp_path: Path) -> None:
    write(tmp_path, "XX-B", "b", f'{{at: {HEIGHT}/value, set: 48 in, was: 46 in, cite: "XX 1"}}')
    write(tmp_path, "XX-A", "a", f'{{at: {HEIGHT}/value, set: 46 in, was: 48 in, cite: "XX 1"}}')
    both = resolve(load([tmp_path]), ["ibc@2021"], ["XX-A", "XX-B"])
    key = "ibc.sensor-release/height_max"
    assert both.parameters[key].value == shipped().parameters[key].value


def test_a_missing_target_offers_the_nearest(tmp_path: Path) -> None:
    text = refused(tmp_path, '{at: sensor-release/parameters/hieght_max, set: 46 in, was: 48 in, cite: "XX 1"}')
    assert "a.yaml:7:" in text
    assert "sensor-release.yaml:" in text
    assert "did you mean: height_max?" in text
    text = refused(tmp_path, '{at: sensor-relase/parameters/height_max, set: 46 in, was: 48 in, cite: "XX 1"}')
    assert "did you mean: sensor-release?" in text


def test_a_stale_was_names_both_places(tmp_path: Path) -> None:
    text = refused(tmp_path, f'{{at: {HEIGHT}, set: 46 in, was: 44 in, cite: "XX 1"}}')
    assert "a.yaml:7:" in text
    assert "sensor-release.yaml:" in text
    assert "was says 44 in" in text
    assert "48 in" in text


def test_a_change_without_was_is_told_what_stands_there(tmp_path: Path) -> None:
    assert "was: 48 in" in refused(tmp_path, f'{{at: {HEIGHT}, set: 46 in, cite: "XX 1"}}')


def test_a_target_removed_by_a_lower_layer_names_both(tmp_path: Path) -> None:
    write(
        tmp_path, "XX", "state", '{at: sensor-release/conditions/listing, remove: true, was: {item: "7"}, cite: "XX 1"}'
    )
    write(tmp_path, "XX-A", "city", '{at: sensor-release/conditions/listing, restate: same, cite: "XX 1"}')
    with pytest.raises(ClausewayError) as caught:
        resolve(load([tmp_path]), ["ibc@2021"], ["XX", "XX-A"])
    text = str(caught.value)
    assert "was removed by XX" in text
    assert "city.yaml:7:" in text
    assert "state.yaml:7:" in text


def test_two_changes_of_one_layer_to_one_item(tmp_path: Path) -> None:
    write(tmp_path, "XX-A", "a", f'{{at: {HEIGHT}, set: 46 in, was: 48 in, cite: "XX 1"}}')
    write(tmp_path, "XX-A", "b", f'{{at: {HEIGHT}, set: 45 in, was: 46 in, cite: "XX 1"}}')
    with pytest.raises(ClausewayError) as caught:
        resolve(load([tmp_path]), ["ibc@2021"], ["XX-A"])
    assert "is changed twice in XX-A" in str(caught.value)
    assert "a.yaml:7:" in str(caught.value)
    assert "b.yaml:7:" in str(caught.value)


def test_an_edition_the_layer_does_not_speak_of(tmp_path: Path) -> None:
    change = f'{{at: {HEIGHT}, set: 46 in, was: 48 in, cite: "XX 1"}}'
    assert "does not speak of ibc@2021" in refused(tmp_path, change, head='editions: ["2018"]')


def test_an_unknown_layer_offers_the_nearest(tmp_path: Path) -> None:
    write(tmp_path, "XX-A", "a", f'{{at: {HEIGHT}, set: 46 in, was: 48 in, cite: "XX 1"}}')
    with pytest.raises(ClausewayError, match="did you mean: XX-A"):
        resolve(load([tmp_path]), ["ibc@2021"], ["XX-AA"])


def test_a_broken_layer_stops_the_check_even_when_it_is_not_named(tmp_path: Path) -> None:
    write(tmp_path, "XX-A", "a", '{at: sensor-release, cite: "XX 1"}')
    with pytest.raises(ClausewayError):
        load([tmp_path])


def test_a_removed_arrangement_that_others_need_is_an_error(tmp_path: Path) -> None:
    text = refused(tmp_path, '{at: sensor-release, remove: true, was: {id: sensor-release}, cite: "XX 1"}')
    assert 'no locking arrangement "sensor-release"' in text


def test_a_layer_leaves_the_shipped_rules_alone(tmp_path: Path) -> None:
    before = {p: p.read_bytes() for p in shipped_rules().rglob("*.yaml")}
    book(tmp_path, f'{{at: {HEIGHT}, set: 46 in, was: 48 in, cite: "XX 1"}}')
    assert before == {p: p.read_bytes() for p in shipped_rules().rglob("*.yaml")}
    assert shipped().digest == shipped().digest
    shutil.rmtree(tmp_path / "jurisdictions")


def test_adding_to_a_provision_that_is_not_there_offers_the_nearest(tmp_path: Path) -> None:
    text = refused(tmp_path, '{at: sensor-relase, add: {note: more}, cite: "XX 1"}')
    assert "no provision sensor-relase in this edition of ibc" in text
    assert "did you mean: sensor-release?" in text
