"""What a server tells of itself: JSON, a line for each event, and nothing of what people described.

Neither bodies nor queries are written, nor the messages of exceptions, for they may quote a description.
"""

from __future__ import annotations

import json
import logging
import sys
import traceback
from datetime import UTC, datetime
from types import TracebackType
from typing import Any, TextIO

LOGGER = logging.getLogger("clauseway.serve")


def event(name: str, *, level: int = logging.INFO, **more: Any) -> None:
    """Write an event with its values."""
    LOGGER.log(level, name, extra={"values": more})


def frames_of(trace: TracebackType | None, most: int = 12) -> list[str]:
    """Where an exception passed, innermost last, without its message."""
    return [f"{frame.name} ({frame.filename}:{frame.lineno})" for frame in traceback.extract_tb(trace)[-most:]]


class Lines(logging.Formatter):
    """One JSON object a line."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as a line; an exception is told by its type and where it passed."""
        data: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "event": record.getMessage(),
        }
        data |= getattr(record, "values", {})
        if record.exc_info and record.exc_info[0] is not None:
            data["exception"] = record.exc_info[0].__name__
            data["passed"] = frames_of(record.exc_info[2])
            if record.name != LOGGER.name:
                # The text of a foreign logger may be the text of the exception.
                data["event"] = record.name
        return json.dumps(data, ensure_ascii=False)


def to_stream(stream: TextIO | None = None, level: int = logging.INFO) -> None:
    """Write events, and those of the web server beneath, to a stream; standard error when none is given."""
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(Lines())
    for logger in (LOGGER, logging.getLogger("uvicorn.error")):
        logger.handlers = [handler]
        logger.setLevel(level)
        logger.propagate = False
