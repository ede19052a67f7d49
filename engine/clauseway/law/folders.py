"""Where the shipped rules are: beside the package in a wheel, at the top of a checkout."""

from __future__ import annotations

from pathlib import Path

from clauseway.text.problems import ClausewayError, Place, Problem

MARKER = "index.yaml"


def shipped_rules() -> Path:
    """The folder of rules that came with this package.

    Raises:
        ClausewayError: when the installation holds none.
    """
    package = Path(__file__).resolve().parents[1]
    for candidate in (package / "rules", package.parents[1] / "rules"):
        if (candidate / MARKER).is_file():
            return candidate
    raise ClausewayError(
        Problem(Place(str(package)), "this installation has no rules folder", "a complete installation")
    )


def entries_of(folder: Path) -> list[Path]:
    """What stands directly inside a folder, hidden files left out, by name; nothing when there is no such folder.

    Raises:
        ClausewayError: when the folder cannot be read.
    """
    try:
        return sorted(path for path in folder.iterdir() if not path.name.startswith("."))
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as error:
        raise ClausewayError(
            Problem(Place(str(folder)), f"this folder cannot be read: {error.strerror}", "the permission to read it")
        ) from None


def yaml_files(folder: Path) -> list[Path]:
    """The YAML files directly inside a folder, by name; none when there is no such folder.

    Raises:
        ClausewayError: when the folder cannot be read.
    """
    return [path for path in entries_of(folder) if path.suffix == ".yaml"]
