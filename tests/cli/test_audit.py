"""trace, record, verify, affects, waivers and history at the command line."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import time
from pathlib import Path
from xml.etree import ElementTree

import pytest

from clauseway.answers.record import read_record
from clauseway.law.folders import shipped_rules
from clauseway_cli import audit
from clauseway_cli.app import main
from clauseway_cli.files import write_over


@pytest.fixture(autouse=True)
def still_rules(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the shipped rules that a test may change."""
    folder = tmp_path_factory.mktemp("rules") / "rules"
    shutil.copytree(shipped_rules(), folder)
    for module in ("clauseway.law.folders", "clauseway.law.library", "clauseway.law.shelf", "clauseway.case.open"):
        monkeypatch.setattr(f"{module}.shipped_rules", lambda: folder)
    return folder


def run(monkeypatch: pytest.MonkeyPatch, *arguments: object) -> int:
    monkeypatch.setattr("sys.argv", ["clauseway", *map(str, arguments)])
    with pytest.raises(SystemExit) as left:
        main()
    return int(left.value.code or 0)


def test_trace_as_text_json_and_picture(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    asked = ("trace", "demo", "d102", "free-egress/always-free", "magnet/out")
    assert run(monkeypatch, *asked) == 0
    text = capsys.readouterr().out
    assert "ibc.free-egress/always-free -> unmet" in text
    assert len(text.splitlines()) < 900
    assert run(monkeypatch, *asked, "--format", "json", "--depth", "3") == 0
    assert json.loads(capsys.readouterr().out)["tree"]["what"] == "ibc.free-egress/always-free"
    assert run(monkeypatch, *asked, "-o", tmp_path / "t.svg") == 0
    assert ElementTree.parse(tmp_path / "t.svg").getroot().tag.endswith("svg")


@pytest.mark.parametrize(
    ("arguments", "near"),
    [
        (("trace", "demo", "d1O2", "free-egress/always-free"), "d102"),
        (("trace", "demo", "d102", "ibc.free-egres/always-free"), "ibc.free-egress/always-free"),
        (("affects", "lock.knd"), "lock.kind"),
    ],
)
def test_an_unknown_name_is_status_2_with_the_nearest(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], near: str
) -> None:
    assert run(monkeypatch, *arguments) == 2
    assert f"did you mean: {near}?" in capsys.readouterr().err


def test_a_record_is_verified_after_the_rules_changed_or_went(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path, still_rules: Path
) -> None:
    first, second = tmp_path / "1.json", tmp_path / "2.json"
    assert run(monkeypatch, "record", "demo", "-o", first) == 0
    assert run(monkeypatch, "record", "demo", "-o", second) == 0
    assert first.read_bytes() == second.read_bytes()
    assert run(monkeypatch, "record", "demo", "-o", first) == 2
    assert run(monkeypatch, "verify", first) == 0
    height = still_rules / "codes" / "ibc" / "hardware-height.yaml"
    height.write_text(height.read_text(encoding="utf-8").replace("34 in", "36 in"), encoding="utf-8")
    capsys.readouterr()
    assert run(monkeypatch, "verify", first) == 3
    out = capsys.readouterr().out
    assert "provision ibc.hardware-height revised" in out
    assert "By the rules inside: the same" in out
    assert run(monkeypatch, "record", "demo", "-o", second, "--replace") == 0
    capsys.readouterr()
    assert run(monkeypatch, "history", first, second) == 0
    assert "provision ibc.hardware-height revised" in capsys.readouterr().out
    shutil.rmtree(still_rules)
    assert run(monkeypatch, "verify", first, "--inside") == 0
    first.write_text(first.read_text(encoding="utf-8").replace('"34 in"', '"33 in"'), encoding="utf-8")
    capsys.readouterr()
    assert run(monkeypatch, "verify", first, "--inside") == 1
    assert "rules/provision/ibc.hardware-height: changed" in capsys.readouterr().out


def test_hostile_files_are_refused_without_a_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    large = tmp_path / "large.json"
    with large.open("wb") as stream:
        stream.truncate(200 * 1024 * 1024)
    (tmp_path / "bytes.json").write_bytes(b"\xff\xfe{}")
    for path in (large, tmp_path / "bytes.json", tmp_path, tmp_path / "none.json"):
        assert run(monkeypatch, "verify", path) == 2
        assert str(path) in capsys.readouterr().err


@pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="no OpenSSH here")
def test_a_signature_by_openssh(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    key, record, signers = tmp_path / "key", tmp_path / "r.json", tmp_path / "signers"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(key)], check=True)
    public = key.with_name("key.pub").read_text(encoding="utf-8")
    signers.write_text(f"auditor@example.org {public}", encoding="utf-8")
    assert run(monkeypatch, "record", "demo", "-o", record, "--sign", key) == 0
    asked = ("verify", record, "--inside", "--signers", signers, "--signer")
    assert run(monkeypatch, *asked, "auditor@example.org") == 0
    assert "Signature: good" in capsys.readouterr().out
    assert run(monkeypatch, *asked, "other@example.org") == 1
    assert "Signature: NOT GOOD" in capsys.readouterr().out
    monkeypatch.setattr("shutil.which", lambda name: None)
    assert run(monkeypatch, *asked, "auditor@example.org") == 2
    assert "there is no ssh-keygen here" in capsys.readouterr().err


def test_affects_names_provisions_and_findings(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, "affects", "IBC 2021 1010.2.12", "demo", "--format", "json") == 0
    found = json.loads(capsys.readouterr().out)
    assert found["kind"] == "clause"
    assert "ibc.sensor-release" in found["provisions"]
    assert "ibc.free-egress/always-free" in found["conditions"]
    assert {f["opening"] for f in found["findings"]} >= {"d101", "d102"}
    assert run(monkeypatch, "affects", "lock.kind") == 0
    assert "Conditions that rest on it" in capsys.readouterr().out


def test_waivers_are_on_top_and_never_instead(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    waivers = tmp_path / "w.yaml"
    waivers.write_text(
        "waivers:\n- {finding: ibc.free-egress/always-free, opening: d102, granted_by: Official, evidence: letter 12,"
        " until: 2027-06-30}\n",
        encoding="utf-8",
    )
    assert run(monkeypatch, "waivers", "demo", waivers, "--on", "2027-01-01") == 0
    out = capsys.readouterr().out
    assert "until 2027-06-30: stands" in out
    assert "d102: does-not-comply" in out
    assert run(monkeypatch, "waivers", "demo", waivers, "--on", "2028-01-01") == 1
    assert "EXPIRED" in capsys.readouterr().out


# --- atomic -------------------------------------------------------------------------------------------------

WRITER = """
import sys
from pathlib import Path
from clauseway_cli.files import write_over
print("ready", flush=True)
for number in range(100000):
    write_over(Path(sys.argv[1]), f"{number % 10}" * 300_000)
"""


def test_a_killed_writer_leaves_the_old_file_or_the_new(tmp_path: Path) -> None:
    path = tmp_path / "record.json"
    write_over(path, "x" * 300_000)
    for attempt in range(12):
        writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True)
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
        time.sleep(0.003 * attempt)
        writer.kill()
        writer.wait()
        writer.stdout.close()
        text = path.read_text(encoding="utf-8")
        assert len(text) == 300_000
        assert len(set(text)) == 1


def test_the_commands_say_what_they_do() -> None:
    for command in (audit.trace, audit.record, audit.verify, audit.affects, audit.waivers, audit.history):
        assert command.__doc__
    assert read_record.__doc__
