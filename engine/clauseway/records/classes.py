"""`dataclass`, `field` and `replace` as in the standard library, whose place they take; see `making` for why.

Type checkers are told that they are the standard library's, since they mean the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from clauseway.records.making import field_types, is_record

if TYPE_CHECKING:
    from dataclasses import dataclass, field, replace
else:
    from clauseway.records.making import dataclass, field, replace

__all__ = ["dataclass", "field", "field_types", "is_record", "replace"]
