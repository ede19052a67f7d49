"""The calculation sheet of a whole project as plain data. Its schema is project-sheet.schema.json."""

from __future__ import annotations

import math
from typing import Any

from clauseway.answers.project_sheet import Item, ProjectSheet, Step
from clauseway.answers.sheet_data import NOTE

SCHEMA = "clauseway-project-sheet/1"


def sheet_data(sheet: ProjectSheet) -> dict[str, Any]:
    """The sheet as JSON data; its schema is project-sheet.schema.json."""
    return {
        "schema": SCHEMA,
        "note": NOTE,
        "project": sheet.project,
        "file": sheet.file,
        "rulebook": sheet.digest,
        "pages": [
            {
                "kind": page.kind,
                "id": page.id,
                "location": page.title,
                "works": page.works,
                "items": [_item_data(item) for item in page.items],
            }
            for page in sheet.pages
        ],
    }


def _item_data(item: Item) -> dict[str, Any]:
    return {
        "id": item.id,
        "subject": {"kind": item.subject.kind, "id": item.subject.path}
        | ({"passage": item.subject.passage} if item.subject.passage else {}),
        "title": item.title,
        "verdict": item.verdict,
        "says": item.says,
        "remedy": item.remedy or None,
        "missing": list(item.missing),
        "computations": [_step_data(step) for step in item.steps],
    }


def _step_data(step: Step) -> dict[str, Any]:
    return {
        "name": step.name,
        "formula": step.formula,
        "numbers": step.numbers or None,
        "result": step.result,
        "least": step.low if math.isfinite(step.low) else None,
        "most": step.high if math.isfinite(step.high) else None,
        "unit": step.unit,
        "sources": list(step.sources),
    }
