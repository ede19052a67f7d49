"""Pages of the docs whose commands are run: what a page shows is what the commands print.

A fenced block of `console` holds lines that begin with `$ ` and what they print. Three dots alone on a line stand
for any lines. A file to write is a fenced block under a line that ends with `name`: the name in backticks and a colon.
Digests are compared as digests only.

`python tests/support/pages.py docs/PAGE.md ...` writes what is printed now into the blocks that leave nothing out.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

_FENCE = re.compile(r"^```([a-z]*)\n(.*?)^```$", re.M | re.S)
_FILE = re.compile(r"`([A-Za-z0-9_./-]+)`:\n\n?$")
_DIGEST = re.compile(r"sha256:[0-9a-f]{4,64}")
ANY = "..."


@dataclass(frozen=True, slots=True)
class Step:
    """One block of a page: a file to write, or commands with what they print, and where its text stands."""

    start: int
    end: int
    file: str
    text: str


def steps(page: str) -> Iterator[Step]:
    """The blocks of a page that do something, in order."""
    for found in _FENCE.finditer(page):
        language, text = found[1], found[2]
        named = _FILE.search(page[: found.start()])
        if language == "console":
            yield Step(found.start(2), found.end(2), "", text)
        elif named is not None:
            yield Step(found.start(2), found.end(2), named[1], text)


def played(page: Path) -> Iterator[tuple[Step, str]]:
    """Each block of commands with what is printed now, in a folder of its own that holds the files of the page."""
    text = page.read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        for step in steps(text):
            if step.file:
                path = Path(step.file)
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_text(step.text, encoding="utf-8")
                continue
            lines = []
            for command in (line[2:] for line in step.text.splitlines() if line.startswith("$ ")):
                lines += [f"$ {command}\n", run(command)]
            yield step, "".join(lines)


def run(command: str) -> str:
    """What a command prints; one of `clauseway` in this process, others (`cat`, `echo`, `printf` ...) in a shell."""
    if command.split()[0] != "clauseway" or any(sign in command for sign in "|><&"):
        return _in_shell(command)
    import shlex

    from clauseway_cli.app import main

    out = io.StringIO()
    before, sys.argv = sys.argv, shlex.split(command)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out), contextlib.suppress(SystemExit):
            main()
    finally:
        sys.argv = before
    return out.getvalue()


def _in_shell(command: str) -> str:
    import subprocess

    roots = [path for path in sys.path if path]
    own = f'clauseway() {{ "{sys.executable}" -m clauseway "$@"; }}\n'
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(roots), "COLUMNS": "80"}
    done = subprocess.run(["sh", "-c", own + command], capture_output=True, text=True, env=environment, check=False)
    return done.stdout + done.stderr


def fits(shown: str, printed: str) -> bool:
    """Whether a page shows what is printed, but for digests and for what it leaves out."""
    pattern = ""
    for line in _DIGEST.sub("sha256:0", shown).splitlines():
        pattern += r"(?:.*\n)*" if line.strip() == ANY else re.escape(line.rstrip()) + r"[ ]*\n"
    return re.fullmatch(pattern, _DIGEST.sub("sha256:0", printed)) is not None


def rewritten(page: Path) -> str:
    """The page with what is printed now in every block that leaves nothing out."""
    text = page.read_text(encoding="utf-8")
    for step, printed in reversed(list(played(page))):
        if not any(line.strip() == ANY for line in step.text.splitlines()):
            text = (
                text[: step.start] + "".join(f"{line.rstrip()}\n" for line in printed.splitlines()) + text[step.end :]
            )
    return text


if __name__ == "__main__":
    os.environ["COLUMNS"] = "80"
    for name in sys.argv[1:]:
        path = Path(name).resolve()
        path.write_text(rewritten(path), encoding="utf-8")
