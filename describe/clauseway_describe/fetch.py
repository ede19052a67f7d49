"""The Python for browsers that the page runs on: the npm package pyodide, in the version whose digest stands here."""

from __future__ import annotations

import base64
import hashlib
import os
import shutil
import subprocess
import tarfile
import tempfile
from pathlib import Path

from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem

VERSION = "314.0.7"
INTEGRITY = "sha512-0YvXxEhfEdpLfb/XkM2BFAeMROq0iMUX2bzzH9pOttyMcWkwq+HbE5uyuGD82LN7y2q+SNvi/6V5JEsOlD2R1A=="
FILES = ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm", "python_stdlib.zip", "pyodide-lock.json")
_LONGEST_SECONDS = 300


def pyodide_in(folder: Path) -> Path:
    """A folder with the files of the package, as somebody unpacked it.

    Raises:
        ClausewayError: when a file is not there.
    """
    for name in FILES:
        if not (folder / name).is_file():
            raise ClausewayError(
                Problem(Place(str(folder)), f"no {name} in it", f"the npm package pyodide {VERSION}, unpacked")
            )
    return folder


def fetched(cache: Path) -> Path:
    """The folder of the package in a cache, fetched by npm where it is not there yet, and checked against its digest.

    Raises:
        ClausewayError: without npm, without the package, or for another package than the one whose digest is known.
    """
    folder = cache / f"pyodide-{VERSION}"
    if all((folder / name).is_file() for name in FILES):
        return folder
    npm = shutil.which("npm")
    if npm is None:
        raise ClausewayError(
            Problem(NOWHERE, "npm is not there to fetch the Python for browsers",
                    f"npm, or --pyodide FOLDER with the package pyodide {VERSION} unpacked")
        )  # fmt: skip
    cache.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=cache) as work:
        done = subprocess.run(
            [npm, "pack", "--silent", f"pyodide@{VERSION}"],
            cwd=work, capture_output=True, text=True, timeout=_LONGEST_SECONDS, check=False,
        )  # fmt: skip
        packed = next(Path(work).glob("pyodide-*.tgz"), None)
        if done.returncode or packed is None:
            said = (done.stderr or done.stdout).strip().splitlines()
            raise ClausewayError(
                Problem(NOWHERE, f"npm did not fetch pyodide {VERSION}: {said[-1][:120] if said else ''}",
                        "a way to the package index, or --pyodide FOLDER")
            )  # fmt: skip
        _check(packed)
        made = Path(work) / "made"
        made.mkdir()
        with tarfile.open(packed) as archive:
            for name in FILES:
                member = archive.extractfile(f"package/{name}")
                if member is None:
                    raise ClausewayError(Problem(NOWHERE, f"no {name} in pyodide {VERSION}"))
                (made / name).write_bytes(member.read())
        try:
            os.rename(made, folder)
        except OSError:
            pyodide_in(folder)
    return folder


def _check(packed: Path) -> None:
    digest = base64.b64encode(hashlib.sha512(packed.read_bytes()).digest()).decode()
    if f"sha512-{digest}" != INTEGRITY:
        raise ClausewayError(
            Problem(
                NOWHERE, f"the package pyodide {VERSION} is not the one that is known", INTEGRITY, f"sha512-{digest}"
            )
        )
