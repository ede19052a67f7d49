"""`clauseway amend` on the command line: written, checked and previewed in a folder of one's own."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from clauseway.law.folders import shipped_rules
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from support.places import CITY, CITY_LAYER, STATE, utopia

HEIGHT = "sensor-release/parameters/height_max"
BASE = (shipped_rules() / "examples" / "sensor-magnet.yaml").read_text(encoding="utf-8")


def amend(*arguments: object, said: str = "") -> Result:
    found = CliRunner().invoke(app, ["amend", *(str(each) for each in arguments)], input=said)
    if isinstance(found.exception, ClausewayError):
        raise found.exception
    return found


def new(folder: Path, *more: object, at: str = HEIGHT, said: str = "") -> Path:
    """A new city over IBC 2021 with one amendment; the file of its layer."""
    done = amend(
        "new", at, "--folder", folder, "--in", "XXABC", "--name", "Harbour City", "--code", "ibc@2021", "--cite",
        "Ord. 12-3", "--from", "2025-01-01", "--basis", "published", *more, said=said,
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    path = folder / "jurisdictions" / "XXABC" / "harbour-city-2025.yaml"
    assert f"clauseway amend check {path}" in done.output
    return path


def test_an_amendment_is_written_with_examples_that_pass(tmp_path: Path) -> None:
    shipped = {path: path.stat().st_mtime_ns for path in shipped_rules().rglob("*")}
    path = new(tmp_path / "mine", "--set", "46 in", "--reason", "Reach from a seat: it is lower.")
    text = path.read_text(encoding="utf-8")
    assert "    was: 48 in " in text
    assert "    direction: stricter\n" in text
    assert (
        "    before: {sensor-release/manual-release: met}\n    expect: {sensor-release/manual-release: unmet}" in text
    )
    assert "height: unknown}" in text
    done = amend("check", path)
    assert done.exit_code == 0, done.output
    assert "stands over XXABC/harbour-city-2025: ibc@2021, 2025-01-01: 1 change in effect" in done.output
    assert "8 verdicts tried, 0 failed" in done.output
    assert shipped == {path: path.stat().st_mtime_ns for path in shipped_rules().rglob("*")}


@pytest.mark.parametrize(
    ("at", "options", "line"),
    [
        ("sensor-release/parameters/barred_groups", ["--put-in", "B"], "    was: [H] "),
        ("sensor-release/parameters/listings", ["--take-out", "UL 294"], "    was: [UL 294] "),
        ("sensor-release", ["--renumber", "28-1010.9"], "    was: 1010.2.12 "),
        ("sensor-release/conditions/listing", ["--remove"], '    was: {item: "7"} '),
        ("occupant-load-factors/rows/business/area", ["--set", "100 sq ft"], "    was: 150 sq ft "),
    ],
)
def test_each_verb_finds_what_stands_there(tmp_path: Path, at: str, options: list[str], line: str) -> None:
    path = new(tmp_path / "mine", *options, at=at)
    assert line in path.read_text(encoding="utf-8")
    done = amend("check", path)
    assert done.exit_code in (0, 3), done.output
    assert ("no examples" in done.output) == (done.exit_code == 3)


def test_what_no_option_says_is_asked(tmp_path: Path) -> None:
    answers = f"{HEIGHT}\nXXABC\nHarbour City\n\nibc@2021\n46 in\nOrd. 12-3\n2025-01-01\nno\n"
    done = amend("new", "--folder", tmp_path / "mine", said=answers)
    assert done.exit_code == 0, done.output
    text = (tmp_path / "mine/jurisdictions/XXABC/harbour-city-2025.yaml").read_text(encoding="utf-8")
    assert "basis: memory" in text
    with pytest.raises(ClausewayError, match="--cite is not said"):
        amend("new", "--folder", tmp_path / "yours", said="\n".join(answers.splitlines()[:6]) + "\n")
    assert not (tmp_path / "yours").exists()


def test_a_city_below_a_state_of_ones_own(tmp_path: Path) -> None:
    root = utopia(tmp_path, city=CITY.replace("layers: [harbour]", "layers: []"))
    (root / "jurisdictions/XXABC/harbour.yaml").unlink()
    done = amend(
        "new", HEIGHT, "--folder", root, "--in", "XXABC", "--set", "45 in", "--cite", "Ord. 1", "--from", "2024-05-01",
        "--basis", "published",
    )  # fmt: skip
    path = root / "jurisdictions/XXABC/xxabc-2024.yaml"
    text = path.read_text(encoding="utf-8")
    assert "was: 46 in" in text, "what the state set, not the base"
    assert "status: draft" in text
    assert done.exit_code == 0
    assert "over XXABC: ibc@2021 with north-2021, 2024-05-01" in amend("check", path, "--on", "2024-05-01").output


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    path = new(tmp_path / "mine", "--set", "46 in")
    before = path.read_bytes()
    with pytest.raises(ClausewayError, match="is there already"):
        amend(
            "new", HEIGHT, "--folder", tmp_path / "mine", "--in", "XXABC", "--set", "45 in", "--cite", "Ord. 1",
            "--from", "2025-01-01", "--basis", "published", "--layer", "harbour-city-2025",
        )  # fmt: skip
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"at": "sensor-relase/parameters/height_max"}, "did you mean: sensor-release"),
        ({"at": "sensor-release/parameters/hieght_max"}, "did you mean: height_max"),
        ({"--code": "ibc@2020"}, "no edition 2020"),
        ({"--cite": "by-law"}, "a law and the number in it"),
        ({"--from": "2025-02-30"}, "--from 2025-02-30"),
        ({"--set": "46 lbf"}, "amended by harbour-city-2025, .*harbour-city-2025.yaml:9"),
        ({"--direction": "strict"}, "did you mean: stricter"),
        ({"--parent": "XX-B", "--code": ""}, "no jurisdiction XX-B"),
        ({"--remove": None}, "set and remove together"),
        ({"--in": "harbour"}, "harbour"),
    ],
)
def test_what_cannot_stand_is_never_written(tmp_path: Path, options: dict[str, str | None], message: str) -> None:
    said = {
        "--in": "XXABC", "--name": "Harbour City", "--code": "ibc@2021", "--set": "46 in", "--cite": "Ord. 12-3",
        "--from": "2025-01-01", "--basis": "published", **{k: v for k, v in options.items() if k != "at"},
    }  # fmt: skip
    flat = [part for option in said.items() if option[1] != "" for part in option if part is not None]
    with pytest.raises(ClausewayError, match=message):
        amend("new", options.get("at", HEIGHT), "--folder", tmp_path / "mine", *flat)
    assert not (tmp_path / "mine").exists()


def test_check_says_where_and_what(tmp_path: Path) -> None:
    path = new(tmp_path / "mine", "--set", "46 in")
    text = path.read_text(encoding="utf-8")
    for old, wrong, message in (
        ("was: 48 in", "was: 44 in", "was says 44 in, but sensor-release/parameters/height_max is 48 in"),
        ("parameters/height_max", "parameters/hieght_max", "did you mean: height_max"),
        ("    cite: Ord. 12-3", "    cite: nothing", "a law and the number in it"),
        ("    cite:", "    cites:", "did you mean: cite"),
        ("editions: [2021]", "editions: [2018]", "amends ibc 2018"),
        ("expect: {sensor-release/manual-release: unmet}", "expect: {sensor-release/x: unmet}", "no condition"),
    ):
        assert old in text
        path.write_text(text.replace(old, wrong, 1), encoding="utf-8")
        with pytest.raises(ClausewayError) as caught:
            amend("check", path)
        assert message in str(caught.value)
        assert "harbour-city-2025.yaml:" in str(caught.value) or "adoptions.yaml:" in str(caught.value)
    path.write_text(text.replace("set: 46 in", "set: 49 in"), encoding="utf-8")
    done = amend("check", path)
    assert done.exit_code == 1
    assert "2 failed" in done.output
    path.write_text(text[: text.index("examples:")], encoding="utf-8")
    assert amend("check", path).exit_code == 3


def test_a_change_of_an_edition_that_is_not_adopted(tmp_path: Path) -> None:
    path = new(tmp_path / "mine", "--set", "46 in")
    text = path.read_text(encoding="utf-8").replace("editions: [2021] ", "")
    path.write_text(text.replace("    cite:", "    editions: [2018]\n    cite:"), encoding="utf-8")
    with pytest.raises(ClausewayError, match="is not laid over 2018"):
        amend("check", path)


def test_a_file_elsewhere_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lost = tmp_path / "lost.yaml"
    lost.write_text("layer: x\n", encoding="utf-8")
    with pytest.raises(ClausewayError, match="no jurisdiction's folder holds this file"):
        amend("check", lost)
    with pytest.raises(ClausewayError, match="there is no such file"):
        amend("preview", tmp_path / "none.yaml")
    path = new(tmp_path / "mine", "--set", "46 in")
    real = Path.iterdir

    def iterdir(self: Path) -> object:
        if self.name == "XXABC":
            raise PermissionError(errno.EACCES, "Permission denied")
        return real(self)

    monkeypatch.setattr(Path, "iterdir", iterdir)
    with pytest.raises(ClausewayError, match="this folder cannot be read: Permission denied"):
        amend("check", path)


def test_preview_shows_the_rule_what_it_reaches_and_the_doors(tmp_path: Path) -> None:
    path = new(tmp_path / "mine", "--set", "46 in")
    for name, height in (("high", "47 in"), ("low", "45 in"), ("unknown", "")):
        (tmp_path / f"{name}.yaml").write_text(BASE.replace("height: 42 in", f"height: {height}"), encoding="utf-8")
    files = [tmp_path / f"{name}.yaml" for name in ("high", "low", "unknown")]
    done = amend("preview", path, *files)
    assert done.exit_code == 1
    assert "- set sensor-release/parameters/height_max: 48 in -> 46 in (Ord. 12-3," in done.output
    assert "  -  - height_max: 48 in (1219 mm)" in done.output
    assert "  +  - height_max: 46 in" in done.output
    assert "ibc.sensor-release/manual-release" in done.output
    assert f"{files[0]}: 1 verdict changes in 1 opening" in done.output
    assert "  no violation found -> does not comply" in done.output
    assert f"{files[1]}: 0 verdicts change in 1 opening" in done.output
    assert f"{files[2]}: 0 verdicts change in 1 opening" in done.output
    assert amend("preview", path, files[1]).exit_code == 0


def test_each_authority_is_previewed_by_itself(tmp_path: Path) -> None:
    harbour = (
        CITY_LAYER + "  - {at: sensor-release/parameters/hold_min, set: 20 s, was: 30 s, cite: O. 3, authority: fire}\n"
    )
    harbour += "  - {at: sensor-release/parameters/hold_min, set: 25 s, was: 30 s, cite: O. 4, authority: works}\n"
    city = CITY.replace("adoptions:", "authorities: {fire: Fire brigade, works: Board of works}\nadoptions:")
    root = utopia(tmp_path, city=city, harbour=harbour, state=STATE)
    done = amend("preview", root / "jurisdictions/XXABC/harbour.yaml", "--on", "2025-06-01")
    assert done.output.count("Over XXABC/city") == 2
    assert "30 s -> 20 s" in done.output
    assert "30 s -> 25 s" in done.output
