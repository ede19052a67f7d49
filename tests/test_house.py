"""The house in order: imports point one way, modules stay small, the wheel holds every rule, the linters agree."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
import sysconfig
import venv
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ENGINE = ROOT / "engine" / "clauseway"
CLI = ROOT / "cli" / "clauseway_cli"
PAGES = ROOT / "pages" / "clauseway_pages"
READS_COMPUTE = frozenset(("law", "case", "readers", "answers", "design"))
ORDER = ("text", "language", "model", "law", "case", "readers", "answers", "design", "handover", "survey")
LAYERS = {name: frozenset(ORDER[: number + 1]) for number, name in enumerate(ORDER)}
LAYERS = {name: below | ({"compute"} if name in READS_COMPUTE else set()) for name, below in LAYERS.items()}
LAYERS["compute"] = frozenset(["compute"])

LONGEST = 400
LONGER = {
    "text/quantity.py": "one grammar of what people type, and its units",
    "text/source.py": "one reader with all that it refuses",
    "law/elaborate.py": "one walk over the syntax tree",
    "law/lower.py": "one walk over the shape of a provision",
    "case/project.py": "one walk over a file of openings",
    "readers/decide.py": "one reader: what each term is worth",
    "readers/source.py": "one writer: each term as Python",
    "compute/door.py": "formulas with their descriptions",
    "compute/egress.py": "formulas with their descriptions",
    "compute/supply.py": "formulas with their descriptions",
    "compute/wire.py": "formulas with their descriptions",
    "answers/compute_input.py": "one grammar of what people type after a computation",
}


def modules(folder: Path) -> list[Path]:
    found = sorted(folder.rglob("*.py"))
    assert found
    return found


def imported(path: Path) -> Iterator[str]:
    """The dotted names that a module imports, those inside functions and for type checks included."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, f"{path}: a relative import"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


# --- imports ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("package", LAYERS)
def test_imports_point_downwards(package: str) -> None:
    wrong = []
    for path in modules(ENGINE / package):
        for name in imported(path):
            top, _, rest = name.partition(".")
            if top == "clauseway" and rest.partition(".")[0] not in LAYERS[package]:
                wrong.append(f"{path.relative_to(ROOT)} imports {name}")
    assert wrong == []


def test_every_package_of_the_engine_has_its_place() -> None:
    assert {path.parent.name for path in ENGINE.glob("*/__init__.py")} == set(LAYERS)
    assert {path.name for path in ENGINE.glob("*.py")} == {"__init__.py", "__main__.py"}


def test_the_engine_does_not_know_the_command_line() -> None:
    knowing = {
        path.relative_to(ENGINE).as_posix()
        for path in modules(ENGINE)
        if any(name.partition(".")[0] == "clauseway_cli" for name in imported(path))
    }
    assert knowing == {"__main__.py"}


def test_the_site_is_known_to_its_command_alone() -> None:
    knowing = [
        path.relative_to(ROOT).as_posix()
        for path in [*modules(ENGINE), *modules(CLI)]
        if any(name.partition(".")[0] == "clauseway_pages" for name in imported(path))
    ]
    assert knowing == ["cli/clauseway_cli/site.py"]


def test_computations_need_the_standard_library_alone() -> None:
    wrong = [
        f"{path.name}: {name}"
        for path in modules(ENGINE / "compute")
        for name in imported(path)
        if name.partition(".")[0] not in sys.stdlib_module_names | {"clauseway"}
    ]
    assert wrong == []


def test_a_check_on_a_compiled_rulebook_needs_the_standard_library_alone() -> None:
    script = (
        "import sys, clauseway; clauseway.from_json; clauseway.check; clauseway.project_from_data; "
        "clauseway.report_json; print(sorted({'yaml', 'jsonschema', 'networkx', 'typer'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, env=environment(), cwd=ROOT
    )
    assert done.stdout.strip() == "[]"


# --- files --------------------------------------------------------------------------------------------------


def test_no_module_is_long_without_a_reason() -> None:
    long = {
        path.relative_to(ENGINE).as_posix() if path.is_relative_to(ENGINE) else path.name
        for path in [*modules(ENGINE), *modules(CLI), *modules(PAGES)]
        if len(path.read_text(encoding="utf-8").splitlines()) > LONGEST
    }
    assert long <= set(LONGER), f"over {LONGEST} lines: {sorted(long - set(LONGER))}"


def test_every_module_says_what_it_is() -> None:
    silent = [
        path.relative_to(ROOT).as_posix()
        for path in [*modules(ENGINE), *modules(CLI), *modules(PAGES)]
        if path.name != "__init__.py" and not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert silent == []


def test_the_packages_are_typed() -> None:
    assert (ENGINE / "py.typed").is_file()
    assert (CLI / "py.typed").is_file()
    assert (PAGES / "py.typed").is_file()


def test_the_readme_and_the_automatic_run_agree() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    run = ROOT / ".ci" / "run"
    assert ".venv/bin/python -m pytest -n auto\n" in readme
    assert re.search(r"^exec \.venv/bin/python -m pytest -n auto$", run.read_text(encoding="utf-8"), re.M)
    assert os.access(run, os.X_OK)


def test_the_answer_in_the_readme_is_a_real_one() -> None:
    """Rules change; then the picture is to be taken again."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    found = re.search(r"^`clauseway (check demo [^`]*)`\n\n```text\n(.*?)```", readme, re.M | re.S)
    assert found is not None
    command = [sys.executable, "-m", "clauseway", *found[1].split()]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)
    assert found[2] == re.sub(r"^Rulebook: sha256:.*", "Rulebook: sha256:...", done.stdout, flags=re.M)


def test_the_description_in_the_readme_can_be_checked(tmp_path: Path) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    found = re.search(r"```yaml\n(.*?)```", readme, re.S)
    assert found is not None
    assert len(found[1].splitlines()) <= 15
    (tmp_path / "shop.yaml").write_text(found[1], encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "clauseway", "check", str(tmp_path / "shop.yaml")], capture_output=True, check=False
    )
    assert done.returncode == 3, done.stderr


def test_the_provision_for_contributors_passes_its_examples(tmp_path: Path) -> None:
    found = re.search(r"```yaml\n(id: (\S+)\n.*?)```", (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"), re.S)
    assert found is not None
    folder = tmp_path / "codes" / "ibc"
    folder.mkdir(parents=True)
    (folder / f"{found[2]}.yaml").write_text(found[1], encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "clauseway", "rules", "test", "--rules", str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


# --- linters ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "arguments", [["ruff", "check"], ["ruff", "format", "--check"], ["mypy"]], ids=lambda each: " ".join(each)
)
def test_the_linters_agree(arguments: list[str]) -> None:
    done = subprocess.run([sys.executable, "-m", *arguments], capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 0, done.stdout + done.stderr


# --- the wheel ----------------------------------------------------------------------------------------------


def environment() -> dict[str, str]:
    return {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "COV_", "VIRTUAL_ENV"))}


def contents(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.suffix in (".yaml", ".json")
    }


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The Python of a clean environment that holds the wheel, made from the sdist, and sees our dependencies."""
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(folder / "dist"), str(ROOT)],
        check=True,
        capture_output=True,
        env=environment(),
    )
    (wheel,) = (folder / "dist").glob("*.whl")
    assert list((folder / "dist").glob("*.tar.gz"))
    venv.create(folder / "venv", with_pip=False, symlinks=os.name != "nt")
    python = folder / "venv" / ("Scripts" if os.name == "nt" else "bin") / "python"
    subprocess.run(
        [sys.executable, "-m", "pip", "--python", str(python), "install", "-q", "--no-deps", "--no-index", str(wheel)],
        check=True,
        capture_output=True,
        env=environment(),
    )
    asked = "import sysconfig; print(sysconfig.get_path('purelib'))"
    packages = subprocess.run([str(python), "-c", asked], check=True, capture_output=True, text=True, env=environment())
    beside = Path(packages.stdout.strip()) / "beside.pth"
    beside.write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return python


def ask(python: Path, folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(python), *arguments], cwd=folder, capture_output=True, text=True, check=False, env=environment()
    )


def test_the_wheel_holds_every_rule_file(installed: Path, tmp_path: Path) -> None:
    script = "from clauseway.law.folders import shipped_rules; print(shipped_rules())"
    shipped = Path(ask(installed, tmp_path, "-c", script).stdout.strip())
    assert shipped.is_relative_to(installed.parents[1]), "the rules of the wheel, not those of this folder"
    ours = contents(ROOT / "rules")
    assert len(ours) > 40
    assert contents(shipped) == ours


def test_the_wheel_holds_the_guides_and_the_theme(installed: Path, tmp_path: Path) -> None:
    script = "import clauseway_pages; print(*clauseway_pages.__path__)"
    package = Path(ask(installed, tmp_path, "-c", script).stdout.strip())
    assert package.is_relative_to(installed.parents[1])
    for ours, theirs in ((ROOT / "docs", package / "docs"), (PAGES / "theme", package / "theme")):
        files = [path.relative_to(ours) for path in ours.rglob("*") if path.is_file()]
        assert files
        assert all((theirs / each).read_bytes() == (ours / each).read_bytes() for each in files)


@pytest.mark.long
def test_the_wheel_builds_the_same_site_as_this_folder(installed: Path, tmp_path: Path) -> None:
    made = ask(installed, tmp_path, "-m", "clauseway", "site", "build", "-o", "of-the-wheel")
    assert made.returncode == 0, made.stderr
    ours = [sys.executable, "-m", "clauseway", "site", "build", "-o", str(tmp_path / "ours")]
    subprocess.run(ours, cwd=ROOT, check=True, capture_output=True)
    one, two = (
        {path.relative_to(tmp_path / name).as_posix(): path.read_bytes() for path in (tmp_path / name).rglob("*.*")}
        for name in ("of-the-wheel", "ours")
    )
    assert set(one) == set(two)
    assert [name for name in one if one[name] != two[name]] == []
    assert len(one) > 500


@pytest.mark.parametrize("form", ["text", "json"])
def test_the_wheel_answers_like_this_folder(installed: Path, tmp_path: Path, form: str) -> None:
    wheel = ask(installed, tmp_path, "-m", "clauseway", "check", "demo", "--format", form)
    assert wheel.returncode == 1, wheel.stderr
    ours = subprocess.run(
        [sys.executable, "-m", "clauseway", "check", "demo", "--format", form],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert wheel.stdout == ours.stdout


def test_the_wheel_brings_the_command(installed: Path, tmp_path: Path) -> None:
    command = installed.parent / ("clauseway.exe" if os.name == "nt" else "clauseway")
    done = subprocess.run([str(command), "--help"], cwd=tmp_path, capture_output=True, text=True, env=environment())
    assert done.returncode == 0
    assert "check" in done.stdout
