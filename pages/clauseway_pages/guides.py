"""The guides: Markdown in `docs/`, whose commands are run when the site is built, so that no answer goes stale."""

from __future__ import annotations

import os
import re
import shlex
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from clauseway.text.problems import ClausewayError, Place, Problem

_RUN = re.compile(r"^```run\n(.*?)^```$", re.M | re.S)
_FILE = re.compile(r"^```yaml file=(\S+)\n(.*?)^```$", re.M | re.S)
_STORIES = "<!-- every other page -->"
_DIGEST = re.compile(r"sha256:[0-9a-f]+")


def docs_folder() -> Path:
    """The folder of guides: inside the package in a wheel, at the top of a checkout.

    Raises:
        ClausewayError: when the installation holds none.
    """
    package = Path(__file__).resolve().parent
    for candidate in (package / "docs", package.parents[1] / "docs"):
        if (candidate / "index.md").is_file():
            return candidate
    raise ClausewayError(Problem(Place(str(package)), "this installation has no guides", "a complete installation"))


def with_stories(markdown: str, docs: Path) -> str:
    """The first page with a list of every other page at the top of the folder, in place of its mark."""
    listed = []
    for path in sorted(docs.glob("*.md")):
        title = next((line[2:] for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("# ")), "")
        if path.name != "index.md":
            listed.append(f"- [{title or path.stem}]({path.name})")
    return markdown.replace(_STORIES, "\n".join(listed))


def with_answers(markdown: str, name: str, folder: Path) -> str:
    """The guide with each command's answer below it; its files are written into `folder`, where the commands run.

    Raises:
        ClausewayError: for a command that cannot be run.
    """
    for file, written in _FILE.findall(markdown):
        (folder / Path(file).name).write_text(written, encoding="utf-8")
    shown = _FILE.sub(lambda found: f"```yaml\n# {found[1]}\n{found[2]}```", markdown)
    return _RUN.sub(lambda found: _answered(found[1], name, folder), shown)


def _answered(commands: str, name: str, folder: Path) -> str:
    parts = [f"$ {line}\n{_run(line, name, folder)}" for line in commands.splitlines() if line.strip()]
    return "```text\n" + "\n".join(parts).rstrip() + "\n```"


def _run(line: str, name: str, folder: Path) -> str:
    """What a command prints; its digests are left out, so that a guide changes only where its answers do."""
    from typer.testing import CliRunner

    from clauseway_cli.app import app

    program, *arguments = shlex.split(line)
    if program != "clauseway":
        raise ClausewayError(Problem(Place(name), f"`{line}` in a guide", "a command of clauseway"))
    with _inside(folder):
        done = CliRunner().invoke(app, arguments)
    if done.exit_code not in (0, 1, 3) or (done.exception and not isinstance(done.exception, SystemExit)):
        raise ClausewayError(Problem(Place(name), f"`{line}` fails: {done.exception or done.output}"))
    return _DIGEST.sub("sha256:...", done.output)


@contextmanager
def _inside(folder: Path) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)
