"""OpenSSH signatures of a file, by the ssh-keygen that is installed."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem

NAMESPACE = "clauseway-record"


def _ssh_keygen() -> str:
    found = shutil.which("ssh-keygen")
    if found is None:
        raise ClausewayError(Problem(NOWHERE, "there is no ssh-keygen here", "OpenSSH 8.1 or later, or no --sign"))
    return found


def _run(arguments: list[str], stdin: bytes | None = None) -> subprocess.CompletedProcess[bytes]:
    try:
        return subprocess.run(arguments, input=stdin, capture_output=True, check=False, timeout=60)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise ClausewayError(Problem(NOWHERE, f"ssh-keygen did not answer: {error}")) from None


def signature_of(path: Path) -> Path:
    """Where the signature of a file stands."""
    return path.with_name(f"{path.name}.sig")


def sign(path: Path, key: Path) -> Path:
    """Sign a file with an OpenSSH key; the signature is written beside it.

    Raises:
        ClausewayError: without ssh-keygen, or for a key that cannot sign.
    """
    done = _run([_ssh_keygen(), "-Y", "sign", "-q", "-n", NAMESPACE, "-f", str(key), str(path)], b"")
    if done.returncode:
        said = done.stderr.decode(errors="replace").strip().splitlines()
        raise ClausewayError(Problem(Place(str(key)), f"not signed: {said[-1] if said else 'ssh-keygen failed'}"))
    return signature_of(path)


def signed_by(text: bytes, signature: Path, allowed: Path, identity: str) -> str:
    """What is wrong with the signature of a text by a person whom a file of allowed signers names; empty if nothing.

    Raises:
        ClausewayError: without ssh-keygen.
    """
    command = [_ssh_keygen(), "-Y", "verify", "-n", NAMESPACE, "-f", str(allowed), "-I", identity, "-s", str(signature)]
    done = _run(command, text)
    said = done.stderr.decode(errors="replace").strip() or done.stdout.decode(errors="replace").strip()
    return "" if done.returncode == 0 else (said.splitlines() or ["ssh-keygen refused it"])[-1]
