"""Forms and uploads from a browser, read piece by piece and bounded in size, number and time.

An upload is the file itself and nothing else, so it is written directly to its place in the folder as it arrives.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Mapping
from pathlib import Path
from urllib.parse import parse_qsl

from analyzer.errors import DeskError

__all__ = ["FORM_BYTES", "UPLOAD_BYTES", "read_form", "save_upload"]

UPLOAD_BYTES = 64 * 2**20  # of a log as sent; unpacked it may be larger, see the limits of reading
FORM_BYTES = 256 * 2**10
_UPLOAD_S, _FORM_S = 120.0, 15.0
_MOST_FIELDS = 1000
_AT_ONCE, _WAITING = 4, 200
_slots = asyncio.Semaphore(_AT_ONCE)
_waiting: set[object] = set()


async def read_form(stream: AsyncIterator[bytes]) -> Mapping[str, str]:
    """The fields of a form with their last values. Raises `DeskError`."""
    pieces, size = [], 0
    try:
        async with asyncio.timeout(_FORM_S):
            async for piece in stream:
                size += len(piece)
                if size > FORM_BYTES:
                    raise DeskError("this form is longer than a form may be; shorten what was typed")
                pieces.append(piece)
    except TimeoutError as error:
        raise DeskError("the form did not come in time; send it again") from error
    try:
        return dict(parse_qsl(b"".join(pieces).decode(), keep_blank_values=True, max_num_fields=_MOST_FIELDS))
    except ValueError as error:  # not UTF-8, or too many fields
        raise DeskError("this form cannot be read; go back and send it again") from error


async def save_upload(stream: AsyncIterator[bytes], target: Path) -> None:
    """Write an upload to a new file. If it is refused, the caller removes the remains. Raises `DeskError`."""
    ticket = object()
    if len(_waiting) >= _WAITING:
        raise DeskError(f"more than {_WAITING} files at once; wait until some are done")
    _waiting.add(ticket)
    try:
        async with _slots, asyncio.timeout(_UPLOAD_S):
            await _written(stream, target)
    except TimeoutError as error:
        raise DeskError(f"the file did not come within {_UPLOAD_S:.0f} s; send it again") from error
    except OSError as error:
        raise DeskError(f"the file cannot be kept: {error.strerror}; check the free space of the disk") from error
    finally:
        _waiting.discard(ticket)


async def _written(stream: AsyncIterator[bytes], target: Path) -> None:
    """Write the pieces as they arrive, and count the bytes."""
    size = 0
    with target.open("xb") as file:
        async for piece in stream:
            size += len(piece)
            if size > UPLOAD_BYTES:
                most = UPLOAD_BYTES // 2**20
                raise DeskError(f"larger than {most} MiB: cut the log down to the flight, or pack it (.gz)")
            file.write(piece)
    if not size:
        raise DeskError("the file is empty: export the log again")
