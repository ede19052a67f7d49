"""Several codes on one opening: each computes and answers for itself, guidance fails nothing, conflicts are shown."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from clauseway.answers import finding as F
from clauseway.answers.check import check
from clauseway.case.open import project_from_data
from clauseway.law.folders import shipped_rules
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError

SAYS = "{asks: it is so, met: It is so., unmet: It is not so.}"


def code(name: str, force: str) -> str:
    return (
        f'code: {name}\ntitle: Code {name}\npublisher: nobody\neditions: ["2021"]\nforce: {force}\nabout: For tests.\n'
    )


def head(name: str, basis: str = "practice") -> str:
    return f'code: {name}\ntitle: A matter\nabout: For tests.\nsections: {{"2021": "1"}}\nbasis: {{"2021": {basis}}}\n'


def load_rule(name: str, factor: str, basis: str = "practice") -> str:
    return f"""
id: load
kind: derivation
{head(name, basis)}
subject: room
gives: room.occupant_load
agrees: at-least
parameters: {{factor: {{value: {factor}}}}}
value: ceil(room.area / factor)
"""


def crowd(name: str, most: str, basis: str = "practice", more: str = "") -> str:
    return f"""
id: crowd
kind: requirement
{head(name, basis)}
subject: opening
parameters: {{most: {{value: {most}}}}}
conditions:
  few:
    require: all(all(s.occupant_load <= most for s in p.serves) for p in opening.passages)
    says: {SAYS}
    remedy: Fewer people.
{more}
"""


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Library:
    root = tmp_path_factory.mktemp("several") / "rules"
    for name in ("facts", "schemas"):
        shutil.copytree(shipped_rules() / name, root / name)
    opposes = '    opposes: {aa.crowd/few: "One asks for few, the other for many."}'
    write(root, "aa", {"code": code("aa", "law"), "load": load_rule("aa", "10 m2"), "crowd": crowd("aa", "10 people")})
    write(root, "bb", {"code": code("bb", "law"), "load": load_rule("bb", "5 m2"), "crowd": crowd("bb", "10 people")})
    write(root, "cc", {"code": code("cc", "law"), "crowd": crowd("cc", "10 people", more=opposes)})
    write(root, "gg", {"code": code("gg", "guidance"), "crowd": crowd("gg", "10 people")})
    write(root, "mm", {"code": code("mm", "law"), "crowd": crowd("mm", "99 people", "memory")})
    write(root, "dd", {"code": code("dd", "law"), "load": load_rule("dd", "10 m2", "memory")})
    return load(shipped=root)


def write(root: Path, name: str, files: dict[str, str]) -> None:
    folder = root / "codes" / name
    folder.mkdir(parents=True)
    for file, text in files.items():
        (folder / f"{file}.yaml").write_text(text)


def book(library: Library, *names: str) -> Rulebook:
    return resolve(library, [f"{name}@2021" for name in names])


def door(rulebook: Rulebook, **room: str) -> object:
    return project_from_data(
        {
            "rooms": {"hall": room},
            "openings": {
                "a": {
                    "complete": "all-below",
                    "sides": {"in": {"space": "hall"}, "out": {}},
                    "passages": {"out": {"from_side": "in", "to_side": "out", "role": "required", "serves": ["hall"]}},
                    **dict.fromkeys(("leaves", "locks", "devices", "signs"), "none"),
                }
            },
        },
        rulebook,
    )


def verdicts(library: Library, *names: str, strict: bool = False, **room: str) -> tuple[str, dict[str, str], F.Report]:
    rulebook = book(library, *names)
    report = check(rulebook, door(rulebook, **room), strict=strict)  # type: ignore[arg-type]
    answer = next(answer for answer in report.answers if answer.kind == "opening")
    return answer.verdict, {f.id: f.verdict for f in answer.findings}, report


def test_each_code_reads_the_load_that_it_computes_itself(library: Library) -> None:
    # 100 m2: 10 people at 10 m2 each, 20 people at 5 m2 each.
    _, found, _ = verdicts(library, "aa", "bb", area="100 m2")
    assert found == {"aa.crowd/few": "met", "bb.crowd/few": "unmet"}


def test_a_code_without_a_way_to_compute_takes_the_only_one_there_is(library: Library) -> None:
    assert verdicts(library, "aa", "cc", area="100 m2")[1]["cc.crowd/few"] == "met"
    assert verdicts(library, "aa", "bb", "cc", area="100 m2")[1]["cc.crowd/few"] == "undetermined"
    assert verdicts(library, "cc", area="100 m2")[1]["cc.crowd/few"] == "undetermined"


def test_a_stated_load_may_exceed_the_computed_one_but_not_fall_below(library: Library) -> None:
    def disagreements(load: str) -> list[str]:
        report = verdicts(library, "aa", "bb", area="100 m2", occupant_load=load)[2]
        return [f.id for a in report.answers for f in a.findings if f.id.endswith("/agrees")]

    assert disagreements("20") == []
    assert disagreements("19") == ["described.load/agrees"]
    assert disagreements("9") == ["described.load/agrees", "described.load/agrees"]


def test_every_code_must_be_satisfied(library: Library) -> None:
    assert verdicts(library, "aa", "bb", area="50 m2")[0] == F.COMPLIES
    assert verdicts(library, "aa", "bb", area="100 m2")[0] == F.FAILS
    assert verdicts(library, "aa", "bb")[0] == F.UNDETERMINED


def test_guidance_never_makes_a_door_fail_nor_pass(library: Library) -> None:
    overall, found, _ = verdicts(library, "aa", "gg", area="100 m2", occupant_load="11")
    assert (overall, found["aa.crowd/few"]) == (F.FAILS, "unmet")
    overall, found, report = verdicts(library, "gg", occupant_load="11")
    assert (overall, found["gg.crowd/few"], report.status) == (F.NEEDS_APPROVAL, "unmet", 3)
    assert verdicts(library, "gg")[0] == F.UNDETERMINED
    assert verdicts(library, "gg", occupant_load="10")[0] == F.COMPLIES


def test_opposite_demands_are_shown_and_not_settled(library: Library) -> None:
    overall, _, report = verdicts(library, "aa", "cc", area="100 m2")
    answer = next(answer for answer in report.answers if answer.kind == "opening")
    assert [c.ids for c in answer.conflicts] == [("cc.crowd/few", "aa.crowd/few")]
    assert overall == F.COMPLIES
    assert verdicts(library, "cc", area="100 m2")[2].answers[0].conflicts == ()


def test_strict_decides_nothing_from_memory(library: Library) -> None:
    assert verdicts(library, "mm", occupant_load="10")[0] == F.COMPLIES
    assert verdicts(library, "mm", occupant_load="100")[0] == F.FAILS
    for people in ("10", "100"):
        overall, _, report = verdicts(library, "mm", strict=True, occupant_load=people)
        assert overall == F.UNDETERMINED
        assert "mm.crowd/few" in report.answers[0].memory
    assert verdicts(library, "aa", strict=True, area="100 m2")[0] == F.COMPLIES


def test_a_load_computed_from_memory_counts_only_where_it_was_used(library: Library) -> None:
    computed = verdicts(library, "cc", "dd", strict=True, area="100 m2")[1]
    assert computed["cc.crowd/few"] == "undetermined"
    stated = verdicts(library, "cc", "dd", strict=True, area="100 m2", occupant_load="10")[1]
    assert stated["cc.crowd/few"] == "met"


def test_what_opposes_nothing_is_refused(library: Library, tmp_path: Path) -> None:
    root = tmp_path / "mine"
    opposes = '    opposes: {aa.crowd/fwe: "For tests."}'
    write(root, "ee", {"code": code("ee", "law"), "crowd": crowd("ee", "10 people", more=opposes)})
    shipped = library.folders[0]
    with pytest.raises(ClausewayError) as caught:
        resolve(load([root], shipped=shipped), ["aa@2021", "ee@2021"])
    assert caught.value.problems[0].nearest == "aa.crowd/few"
