"""A check against a compiled rulebook needs nothing but the standard library."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import clauseway
from clauseway.text.source import read_yaml
from support.rulebooks import rulebook, small_rules

PROGRAM = """\
import json, sys
sys.path.insert(0, sys.argv[1])
from clauseway.law.rulebook import from_json
from clauseway.answers.check import check
from clauseway.case.project import read_project
from clauseway.text.source import node_from_data
with open(sys.argv[2], encoding="utf-8") as file:
    rulebook = from_json(file.read())
with open(sys.argv[3], encoding="utf-8") as file:
    data = json.load(file)
report = check(rulebook, read_project(node_from_data(data, "doors.json"), rulebook.vocabulary))
names = {name.partition(".")[0] for name in sys.modules} - set(sys.stdlib_module_names)
print(json.dumps({"status": report.status, "foreign": sorted(names), "digest": report.digest}))
"""


def test_only_the_standard_library_is_imported(tmp_path: Path) -> None:
    rules, doors = tmp_path / "rulebook.json", tmp_path / "doors.json"
    rules.write_text(rulebook("ibc@2021").json, encoding="utf-8")
    doors.write_text(json.dumps(read_yaml(small_rules() / "examples" / "sensor-magnet.yaml").plain()), encoding="utf-8")
    engine = Path(clauseway.__file__).parents[1]
    run = subprocess.run(
        [sys.executable, "-S", "-I", "-c", PROGRAM, str(engine), str(rules), str(doors)],
        capture_output=True, text=True, check=True, timeout=60,
    )  # fmt: skip
    found = json.loads(run.stdout)
    assert set(found["foreign"]) <= {"clauseway", "__main__"}
    assert found["status"] == 0
    assert found["digest"] == rulebook("ibc@2021").digest
