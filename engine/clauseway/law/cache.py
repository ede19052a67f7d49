"""A folder of the user's in which resolved rulebooks are kept, so that the next check need not read the rules again.

Nothing in it is needed and nothing in it is believed without proof: an entry is used only where its name is the digest
of the sources at hand, its own checksum is right, and nobody but this user could have written it. It is data, never
code. Whatever is wrong with it, or with writing it, the rules are read instead.
"""

from __future__ import annotations

import hashlib
import os
import stat
import sys
import time
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from clauseway.law.packed import both_from_text, to_text
from clauseway.law.rulebook import Rulebook

FORMAT = "clauseway-cache/3"
VARIABLE = "CLAUSEWAY_CACHE"
OFF = "off"
KEPT = 48
"""How many rulebooks are kept; those written first go first."""

LARGEST = 64 * 1024 * 1024
_ABANDONED = 3600.0
_SUFFIX = ".rulebook"


def cache_folder(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> Path | None:
    """Where rulebooks are kept: CLAUSEWAY_CACHE, or the user's folder for such; None where `off` or not known."""
    chosen = environment.get(VARIABLE, "")
    if chosen:
        return None if chosen == OFF else Path(chosen)
    home = Path(os.path.expanduser("~"))
    if platform == "win32":
        local = environment.get("LOCALAPPDATA", "")
        return Path(local) / "clauseway" / "cache" if local else None
    if platform == "darwin":
        return home / "Library" / "Caches" / "clauseway" if home.is_absolute() else None
    shared = Path(environment.get("XDG_CACHE_HOME", ""))
    if shared.is_absolute():
        return shared / "clauseway"
    return home / ".cache" / "clauseway" if home.is_absolute() else None


def fetch(folder: Path, key: str) -> Rulebook | None:
    """The rulebook kept under a key; None where there is none, or none that can be believed."""
    found = fetch_both(folder, key)
    return found[0] if found is not None else None


def fetch_both(folder: Path, key: str) -> tuple[Rulebook, Any] | None:
    """The same with what is kept beside it."""
    try:
        if not _is_ours(os.lstat(folder), stat.S_ISDIR):
            return None
        content = _content(folder / f"{key}{_SUFFIX}")
        head, _, body = content.partition(b"\n")
        if head != _head(key, body):
            return None
        return both_from_text(body)
    except (OSError, ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError):
        return None


def keep(folder: Path, key: str, rulebook: Rulebook, beside: object = None) -> bool:
    """Keep a rulebook under a key; whether that was possible. Readers find the whole entry or none."""
    import tempfile

    body = to_text(rulebook, beside).encode()
    temporary = ""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not _is_ours(os.lstat(folder), stat.S_ISDIR):
            return False
        handle, temporary = tempfile.mkstemp(dir=folder, prefix=".", suffix=".new")
        with os.fdopen(handle, "wb") as stream:
            stream.write(_head(key, body) + b"\n" + body)
        os.replace(temporary, folder / f"{key}{_SUFFIX}")
    except OSError:
        return False
    finally:
        if temporary:
            with suppress(OSError):
                os.unlink(temporary)
    _tidy(folder)
    return True


def _head(key: str, body: bytes) -> bytes:
    return f"{FORMAT} {key} {hashlib.sha256(body).hexdigest()}".encode()


def _content(path: Path) -> bytes:
    # O_NOFOLLOW: an entry is a file of ours, never a way to some other file.
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0))
    with os.fdopen(handle, "rb") as stream:
        found = os.fstat(stream.fileno())
        if not _is_ours(found, stat.S_ISREG) or found.st_size > LARGEST:
            raise OSError("not an entry of this user's")
        return stream.read(LARGEST)


def _is_ours(found: os.stat_result, is_kind: object) -> bool:
    """Whether only this user (or nobody) can write it; on Windows the profile folder sees to that."""
    right_kind = stat.S_ISDIR(found.st_mode) if is_kind is stat.S_ISDIR else stat.S_ISREG(found.st_mode)
    if not right_kind or sys.platform == "win32":
        return right_kind
    return found.st_uid == os.geteuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _tidy(folder: Path) -> None:
    """Remove what was written first beyond the number that is kept, and what a killed writer left behind."""
    with suppress(OSError):
        entries = sorted(folder.glob(f"*{_SUFFIX}"), key=lambda path: path.stat().st_mtime, reverse=True)
        for path in entries[KEPT:]:
            path.unlink(missing_ok=True)
        for path in folder.glob(".*.new"):
            if path.stat().st_mtime < time.time() - _ABANDONED:
                path.unlink(missing_ok=True)
