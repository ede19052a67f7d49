"""Building the site: pages from the rules, guides from `docs/`, one folder of static files."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

from clauseway.answers.address import provision_page
from clauseway.law.library import Library
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway_pages.atlas import Atlas, atlas_of
from clauseway_pages.code import clause_entries, code_pages
from clauseway_pages.computation import computation_pages
from clauseway_pages.described import described_pages
from clauseway_pages.fact import fact_pages
from clauseway_pages.guides import docs_folder
from clauseway_pages.jurisdiction import jurisdiction_pages
from clauseway_pages.links import faults
from clauseway_pages.local import local_pages
from clauseway_pages.markup import tag
from clauseway_pages.mkdocs_run import need_mkdocs, run_mkdocs
from clauseway_pages.page import Entry, Page
from clauseway_pages.provision import provision_pages
from clauseway_pages.reference import reference_pages
from clauseway_pages.search import INDEX, index_text

MOVED = {"designer.html": "guides/designer.html", "auditor.html": "guides/auditor.html"}
"""Guides at a former address, and where they are."""

DESK = "desk"
"""The folder of the page on which a door is described."""

_DESK_FOUND = Entry(
    f"{DESK}/index.html",
    "Describe a door",
    "page",
    "Say what you know of a locked door, and see what fails, what is open, and why.",
    ("form", "check", "online", "browser"),
)

MARKER = ".clauseway-site"
"""A file that says that a folder was built here and may be built again."""


@dataclass(frozen=True, slots=True)
class Built:
    """What was built: how many pages, files and bytes."""

    pages: int
    files: int
    size: int


def build_site(
    library: Library, folder: Path, docs: Path | None = None, desk: Callable[[Path], object] | None = None
) -> Built:
    """Build the site of some rules into a new folder, or into one that was built before; `docs` has the guides.

    `desk` writes the page on which a door is described into a folder that is not there yet; every page links to it.

    Raises:
        ClausewayError: for a folder that holds something else, for examples that are answered otherwise than they
            say, for links that lead nowhere, and where mkdocs is not installed.
    """
    _free(folder)
    need_mkdocs()
    atlas = atlas_of(library)
    pages = pages_of(atlas)
    folder.parent.mkdir(parents=True, exist_ok=True)
    made = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
    try:
        _write(atlas, pages, docs or docs_folder(), made, desk)
        problems = list(faults(made))
        if problems:
            raise ClausewayError(problems)
        made.chmod(0o755)
        if folder.exists():
            shutil.rmtree(folder)
        made.rename(folder)
    finally:
        shutil.rmtree(made, ignore_errors=True)
    files = [path for path in folder.rglob("*") if path.is_file()]
    return Built(sum(path.suffix == ".html" for path in files), len(files), sum(path.stat().st_size for path in files))


def pages_of(atlas: Atlas) -> tuple[Page, ...]:
    """Every page that is made from the rules."""
    made: Iterable[Page] = chain(
        provision_pages(atlas),
        code_pages(atlas),
        fact_pages(atlas),
        computation_pages(atlas),
        jurisdiction_pages(atlas),
        local_pages(atlas.library),
        described_pages(atlas),
        reference_pages(),
    )
    return tuple(made)


def _free(folder: Path) -> None:
    if folder.exists() and not (folder / MARKER).is_file() and (not folder.is_dir() or any(folder.iterdir())):
        found = "this is there already and is no site that was built here"
        raise ClausewayError(Problem(Place(str(folder)), found, "a new folder; nothing is overwritten"))


def _write(
    atlas: Atlas, pages: tuple[Page, ...], docs: Path, folder: Path, desk: Callable[[Path], object] | None
) -> None:
    guides = run_mkdocs(pages, docs, folder, desk=desk is not None)
    if desk is not None:
        desk(folder / DESK)
    for old, new in atlas.library.aliases.items():
        _moved(folder / provision_page(old), provision_page(new).rpartition("/")[2], f"This provision is now {new}.")
    for old, new in MOVED.items():
        if (folder / new).is_file():
            _moved(folder / old, new, f"This guide is now {new}.")
    (folder / "sitemap.xml").unlink(missing_ok=True)
    entries = [*clause_entries(atlas), *([_DESK_FOUND] if desk is not None else [])]
    (folder / INDEX).write_text(index_text([*pages, *guides], entries), encoding="utf-8")
    (folder / MARKER).write_text("A site that clauseway site build made; it may be built again.\n", encoding="utf-8")


def _moved(path: Path, target: str, said: str) -> None:
    """A page at a former address that leads to the one of today."""
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("title", said),
        tag("meta", http_equiv="refresh", content=f"0; url={target}"),
        tag("link", rel="canonical", href=target),
    )
    body = tag("body", tag("p", tag("a", said, href=target)))
    path.write_text(f"<!doctype html>\n{tag('html', head, body, lang='en')}\n", encoding="utf-8")
