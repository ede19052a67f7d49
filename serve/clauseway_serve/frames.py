"""How the server and its workers talk: a head in JSON and a body of bytes, each with its length before it."""

from __future__ import annotations

import json
import struct
from asyncio import StreamReader
from collections.abc import Mapping
from typing import Any, BinaryIO

_LENGTHS = struct.Struct(">II")


class TooLong(Exception):
    """A frame announces more bytes than are taken."""


def packed(head: Mapping[str, Any], body: bytes = b"") -> bytes:
    """One frame."""
    written = json.dumps(head, ensure_ascii=False, separators=(",", ":")).encode()
    return _LENGTHS.pack(len(written), len(body)) + written + body


def read_frame(stream: BinaryIO) -> tuple[dict[str, Any], bytes] | None:
    """The next frame, or nothing at the end of the stream."""
    start = stream.read(_LENGTHS.size)
    if len(start) < _LENGTHS.size:
        return None
    head, body = _LENGTHS.unpack(start)
    return json.loads(stream.read(head)), stream.read(body)


async def receive(reader: StreamReader, most: int) -> tuple[dict[str, Any], bytes]:
    """The next frame of a worker.

    Raises:
        IncompleteReadError: when the worker ended before.
        TooLong: when its body is longer than `most`.
    """
    head, body = _LENGTHS.unpack(await reader.readexactly(_LENGTHS.size))
    if body > most:
        raise TooLong
    return json.loads(await reader.readexactly(head)), await reader.readexactly(body)
