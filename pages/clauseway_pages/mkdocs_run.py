"""The run of mkdocs: our pages and the guides through our theme, without asking the network for anything."""

from __future__ import annotations

import logging
import re
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway_pages.guides import with_answers, with_stories
from clauseway_pages.markup import plain
from clauseway_pages.page import Page

if TYPE_CHECKING:
    from mkdocs.config.defaults import MkDocsConfig

_ANSWERS = re.compile(r"<pre\b.*?</pre>", re.S)
"""Answers of commands: the search finds what a guide says, not what they print."""

_EXTENSIONS = ["fenced_code", "tables", "toc"]


def need_mkdocs() -> None:
    """Nothing where mkdocs is installed.

    Raises:
        ClausewayError: where it is not.
    """
    try:
        import mkdocs.commands.build  # noqa: F401
    except ImportError:
        raise ClausewayError(
            Problem(NOWHERE, "the site needs mkdocs, which is not installed", "pip install 'clauseway[site]'")
        ) from None


def run_mkdocs(pages: Sequence[Page], docs: Path, folder: Path, *, desk: bool = False) -> list[Page]:
    """Build everything into a folder. What comes back are the guides, as pages that the search finds.

    `desk` says that there will be a page on which a door is described.

    Raises:
        ClausewayError: where mkdocs warns of something.
    """
    from mkdocs.commands.build import build

    from clauseway_pages.plugin import SitePages

    guides: list[Page] = []
    with tempfile.TemporaryDirectory(prefix="clauseway-guides-") as scratch, _warnings() as told:

        def guide(markdown: str, source: str) -> str:
            return with_answers(with_stories(markdown, docs), f"docs/{source}", Path(scratch))

        def finished(source: str, title: str, content: str) -> None:
            words = plain(_ANSWERS.sub(" ", content))
            address = f"{source.removesuffix('.md')}.html"
            guides.append(Page(address, title, "guide", words[:200], content, (words,)))  # type: ignore[arg-type]

        config = _config(docs, folder)
        places = any(page.address == "jurisdictions/index.html" for page in pages)
        config["extra"] = {"jurisdictions": places, "desk": desk}
        plugin = SitePages(pages, guide, finished)
        plugin.load_config({})
        config.plugins["clauseway"] = plugin
        build(config)
    if told:
        raise ClausewayError([Problem(Place("mkdocs"), message) for message in told])
    return guides


def _config(docs: Path, folder: Path) -> MkDocsConfig:
    from mkdocs.config.defaults import MkDocsConfig

    config = MkDocsConfig()
    written: dict[str, Any] = {
        "site_name": "Clauseway",
        "docs_dir": str(docs),
        "site_dir": str(folder),
        "theme": {"name": None, "custom_dir": str(Path(__file__).parent / "theme")},
        "plugins": [],
        "markdown_extensions": _EXTENSIONS,
        "use_directory_urls": False,
    }
    config.load_dict(written)
    errors, warnings = config.validate()
    problems = [Problem(Place("mkdocs"), f"{key}: {found}") for key, found in [*errors, *warnings]]
    if problems:
        raise ClausewayError(problems)
    config.theme.static_templates = {"search.html"}
    return config


class _Collected(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.messages: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.messages.append(record.getMessage())


@contextmanager
def _warnings() -> Iterator[list[str]]:
    """What mkdocs warns of meanwhile."""
    logger, handler = logging.getLogger("mkdocs"), _Collected()
    logger.addHandler(handler)
    before, logger.propagate = logger.propagate, False
    try:
        yield handler.messages
    finally:
        logger.removeHandler(handler)
        logger.propagate = before
