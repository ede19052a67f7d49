"""Writes the page with all that it needs into one folder: Python for browsers, the engine, compiled rulebooks."""

from __future__ import annotations

import gzip
import importlib.util
import io
import json
import shutil
import zipfile
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from clauseway.law.library import Library
from clauseway.law.packed import to_text
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway_describe.fetch import FILES
from clauseway_describe.periods import editions, periods

STATIC = ("index.html", "desk.css", "desk.js", "worker.js")
FIRST_DAY = "2019-01-01"
FIRST = "ibc@2021"
_EARLIEST = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Written:
    """What was written: how many rulebooks for how many places, and bytes in all."""

    places: int
    books: int
    size: int


def build(
    library: Library,
    pyodide: Path,
    out: Path,
    told: Callable[[str], None] = lambda _: None,
    only: Collection[str] | None = None,
) -> Written:
    """Write the page into a folder that is not there yet; the same rules give the same bytes.

    `only` names the places and the codes with their editions that are offered; all of them when it is left out.

    Raises:
        ClausewayError: when the folder is there already or cannot be written.
    """
    if out.exists():
        raise ClausewayError(
            Problem(Place(str(out)), "this folder exists already", "a new name; nothing is overwritten")
        )
    work = out.with_name(f".{out.name}.part")
    try:
        shutil.rmtree(work, ignore_errors=True)
        (work / "books").mkdir(parents=True)
        (work / "python").mkdir()
        for name in STATIC:
            (work / name).write_bytes(files("clauseway_describe").joinpath("static", name).read_bytes())
        for name in FILES:
            shutil.copyfile(pyodide / name, work / "python" / name)
        (work / "engine.zip").write_bytes(engine_zip())
        law, books = _law(library, told, only)
        for name, text in books.items():
            (work / "books" / f"{name}.json.gz").write_bytes(gzip.compress(text.encode(), 9, mtime=0))
        (work / "law.json").write_text(json.dumps(law, ensure_ascii=False, sort_keys=True) + "\n", encoding="utf-8")
        work.rename(out)
    except OSError as error:
        shutil.rmtree(work, ignore_errors=True)
        raise ClausewayError(Problem(Place(str(out)), f"this folder cannot be written: {error.strerror}")) from None
    size = sum(path.stat().st_size for path in out.rglob("*") if path.is_file())
    return Written(len(law["places"]), len(books), size)


def _law(
    library: Library, told: Callable[[str], None], only: Collection[str] | None
) -> tuple[dict[str, Any], dict[str, str]]:
    """What the page offers to choose from, and the rulebooks behind it by name."""
    books: dict[str, str] = {}

    def keep(rulebook: Rulebook) -> str:
        name = rulebook.digest.rpartition(":")[2][:16]
        books[name] = to_text(rulebook)
        return name

    codes = [{"id": name, "title": title, "book": keep(book)} for name, title, book in editions(library, told, only)]
    places = []
    for jurisdiction in library.jurisdictions.values():
        if only is not None and jurisdiction.id not in only:
            continue
        told(jurisdiction.name)
        found = [
            {
                "since": period.since,
                "why": period.why_none,
                "readings": [
                    {
                        "label": each.label,
                        "book": keep(each.rulebook),
                        "codes": [code.title + " " + code.edition for code in each.rulebook.adopted],
                        "layers": list(each.rulebook.layers),
                    }
                    for each in period.readings
                ],
            }
            for period in periods(library, jurisdiction, FIRST_DAY)
        ]
        if any(period["readings"] for period in found):
            places.append({"id": jurisdiction.id, "name": jurisdiction.name, "periods": found})
    places.sort(key=lambda place: str(place["name"]))
    return {"places": places, "codes": codes, "first": FIRST, "first_day": FIRST_DAY}, books


def engine_zip() -> bytes:
    """The engine, the desk and PyYAML as pure Python, in one archive."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in sorted(_sources()):
            archive.writestr(zipfile.ZipInfo(name, _EARLIEST), data, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def _sources() -> Iterator[tuple[str, bytes]]:
    for package in ("clauseway", "yaml"):
        spec = importlib.util.find_spec(package)
        assert spec is not None
        assert spec.origin is not None
        root = Path(spec.origin).parent
        for path in root.rglob("*.py"):
            if "rules" not in path.relative_to(root).parts:
                yield f"{package}/{path.relative_to(root).as_posix()}", path.read_bytes()
    own = Path(__file__).parent
    for name in ("__init__.py", "desk.py"):
        yield f"clauseway_describe/{name}", (own / name).read_bytes()
