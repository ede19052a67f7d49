"""A description of openings as the text of a file."""

from __future__ import annotations

from pathlib import Path
from typing import Any


def description_text(data: dict[str, Any], path: Path, *, indent: int = 2) -> str:
    """YAML, or JSON where the file is called so; `indent` is that of JSON."""
    if path.suffix.casefold() == ".json":
        import json

        return json.dumps(data, ensure_ascii=False, indent=indent) + "\n"
    import yaml

    dumper = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
    return str(yaml.dump(data, Dumper=dumper, sort_keys=False, allow_unicode=True, width=110))
