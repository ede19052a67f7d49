"""The page of a report on paper: PDF by WeasyPrint, which needs the Pango libraries of the system."""

from __future__ import annotations

from typing import Any

from clauseway.text.problems import NOWHERE, ClausewayError, Problem


def pdf(html: str) -> bytes:
    """The page as PDF; nothing outside it is fetched.

    Raises:
        ClausewayError: when WeasyPrint or what it needs of the system is not there.
    """
    try:
        from weasyprint import HTML
    except ImportError:
        raise ClausewayError(Problem(NOWHERE, "PDF needs WeasyPrint", "pip install 'clauseway[pdf]'")) from None
    except OSError as error:
        raise ClausewayError(
            Problem(
                NOWHERE, f"PDF needs libraries of the system: {str(error)[:120]}", "Pango, such as apt's libpango-1.0-0"
            )
        ) from None
    made: bytes = HTML(string=html, url_fetcher=_nothing).write_pdf()
    return made


def _nothing(address: str, **_: Any) -> Any:
    raise ValueError(f"a report fetches nothing: {address[:80]}")
