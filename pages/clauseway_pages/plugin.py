"""Our pages as mkdocs sees them: files that no folder holds, with their HTML ready."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from mkdocs.config.base import Config
from mkdocs.plugins import BasePlugin
from mkdocs.structure.files import File, Files

from clauseway_pages.page import Page


class _NoOptions(Config):  # type: ignore[no-untyped-call]
    """It takes none."""


class SitePages(BasePlugin[_NoOptions]):  # type: ignore[no-untyped-call]
    """Puts the pages of the rules beside the guides."""

    def __init__(
        self,
        pages: Sequence[Page],
        guide: Callable[[str, str], str],
        finished: Callable[[str, str, str], None],
    ) -> None:
        super().__init__()
        self.pages = {_source(page.address): page for page in pages}
        self.guide = guide
        self.finished = finished

    def on_files(self, files: Files, /, *, config: Any) -> Files:
        """Add a file for each page."""
        for source in self.pages:
            files.append(File.generated(config, source, content=""))
        return files

    def on_page_markdown(self, markdown: str, /, *, page: Any, config: Any, files: Files) -> str:  # noqa: ARG002
        """Name our pages; answer the commands of a guide."""
        made = self.pages.get(page.file.src_uri)
        if made is None:
            return self.guide(markdown, page.file.src_uri)
        page.title = made.title
        page.meta = {"description": made.summary, "kind": made.kind}
        return ""

    def on_page_content(self, html: str, /, *, page: Any, config: Any, files: Files) -> str:  # noqa: ARG002
        """The HTML of our pages; what a guide says is told to the search."""
        made = self.pages.get(page.file.src_uri)
        if made is not None:
            return str(made.body)
        self.finished(page.file.src_uri, str(page.title), html)
        wide = '<div class="wide" role="region" tabindex="0" aria-label="Table"><table>'
        html = html.replace("<table>", wide).replace("</table>", "</table></div>")
        return html.replace("<pre>", '<pre tabindex="0">')


def _source(address: str) -> str:
    return address.removesuffix(".html") + ".md"
