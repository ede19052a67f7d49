"""Text on its way into a spreadsheet, where what begins like a formula is taken for one."""

from __future__ import annotations

import re

FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""How text begins that a spreadsheet takes for a formula."""
_PLAIN = re.compile(r"[-+]*|[-+][0-9]+([.,][0-9]+)?")


def harmless(text: str) -> str:
    """Text that no spreadsheet takes for a formula; dashes alone and plain numbers stay as they are."""
    return f"'{text}" if text.startswith(FORMULA) and not _PLAIN.fullmatch(text) else text
