"""Writing files whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from clauseway.text.problems import ClausewayError, Place, Problem


def write_new(path: Path, text: str) -> None:
    """Write a new file of text: to a temporary one beside it, then in its place; an existing file is left alone.

    Raises:
        ClausewayError: when the file exists already or cannot be written.
    """
    write_new_bytes(path, text.encode("utf-8"))


def write_new_bytes(path: Path, data: bytes) -> None:
    """Write a new file as `write_new` does.

    Raises:
        ClausewayError: when the file exists already or cannot be written.
    """
    write_new_parts(path, (data,))


def refuse_existing(path: Path) -> None:
    """Say before long work that its result could not be written.

    Raises:
        ClausewayError: when the file exists already.
    """
    if path.exists():
        raise ClausewayError(
            Problem(Place(str(path)), "this file exists already", "a new name; nothing is overwritten")
        )


def write_new_parts(path: Path, parts: Iterable[bytes]) -> None:
    """Write a new file as `write_new` does, part by part as they come; what stops them leaves no file.

    Raises:
        ClausewayError: when the file exists already or cannot be written.
    """
    refuse_existing(path)
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as stream:
            for part in parts:
                stream.write(part)
        os.chmod(temporary, 0o644)
        os.link(temporary, path)
    except OSError as error:
        raise ClausewayError(Problem(Place(str(path)), f"this file cannot be written: {error.strerror}")) from None
    finally:
        if temporary and os.path.exists(temporary):
            os.unlink(temporary)


@contextmanager
def made_beside(path: Path) -> Iterator[Path]:
    """A temporary name beside a file that is not there yet, for others to write; it takes the file's place at the end.

    Raises:
        ClausewayError: when the folder cannot be written to, or the file has come to be meanwhile.
    """
    temporary = path.parent / f".{path.name}.{os.getpid()}"
    try:
        yield temporary
        os.link(temporary, path)
    except OSError as error:
        raise ClausewayError(Problem(Place(str(path)), f"this file cannot be written: {error.strerror}")) from None
    finally:
        if temporary.exists():
            temporary.unlink()


def write_over(path: Path, text: str) -> None:
    """Write a file in place of an older one: whoever reads it, at any moment, finds the old text or the new.

    Raises:
        ClausewayError: when it cannot be written.
    """
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
        temporary = ""
    except OSError as error:
        raise ClausewayError(Problem(Place(str(path)), f"this file cannot be written: {error.strerror}")) from None
    finally:
        if temporary and os.path.exists(temporary):
            os.unlink(temporary)
