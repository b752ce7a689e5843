"""The bytes of a file of coded records: as text, gzipped, or in the zip that it is published in."""

from __future__ import annotations

import gzip
import io
import re
import zipfile
import zlib
from pathlib import Path
from typing import IO

from analyzer.errors import ProcedureError
from analyzer.files import read_bounded

__all__ = ["RECORD", "coded_bytes", "looks_coded"]

_MOST_BYTES = 1 << 29  # a whole country has some 60 MB, the world some 300
RECORD = 132  # columns
# a header, or a standard or tailored record: its area, its section
_BEGINS = re.compile(rb"\s*(HDR\d\d|[ST][A-Z0-9]{3}[A-Z][A-Z0-9 ])")
_HELP = "give a file of coded procedures (ARINC 424, records of 132 columns), as text or as the zip that it comes in"


def looks_coded(head: bytes) -> bool:
    """Whether bytes are the beginning of a file of coded records, by its first line; or packed ones, which may hold such."""
    if head.startswith((b"PK\x03\x04", b"\x1f\x8b")):
        return True
    first = head.lstrip(b"\r\n\x00").split(b"\n", 1)[0].rstrip(b"\r\x00 ")
    return _BEGINS.match(first) is not None and len(first) >= 60


def coded_bytes(path: Path) -> bytes:
    """The records in the file at `path`, unpacked.

    Raises
    ------
    ProcedureError
        If the file cannot be read, is too long, or holds no coded records.
    """
    try:
        content = read_bounded(path, _MOST_BYTES)
    except (OSError, ValueError) as error:
        raise ProcedureError(f"{path}: {getattr(error, 'strerror', None) or error}; {_HELP}") from None
    _check_length(content, path)
    try:
        if content.startswith(b"PK\x03\x04"):
            content = _from_zip(content, path)
        elif content.startswith(b"\x1f\x8b"):
            content = _unpacked(gzip.GzipFile(fileobj=io.BytesIO(content)), path)
    except (OSError, EOFError, zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, ValueError) as error:
        raise ProcedureError(f"{path}: cannot be unpacked: {error}; fetch it again, or unpack it yourself") from None
    if not looks_coded(content[:4096]) or content.startswith((b"PK\x03\x04", b"\x1f\x8b")):
        raise ProcedureError(f"{path}: its first line is no coded record; {_HELP}")
    return content


def _from_zip(content: bytes, path: Path) -> bytes:
    """The longest member that begins like coded records: tables and notices are published in the same zip."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        members = sorted(packed.infolist(), key=lambda member: (-member.file_size, member.filename))
        for member in members:
            if member.is_dir():
                continue
            with packed.open(member) as stream:
                head = stream.read(4096)
            if looks_coded(head) and not head.startswith((b"PK\x03\x04", b"\x1f\x8b")):
                with packed.open(member) as stream:
                    return _unpacked(stream, path)
    names = ", ".join(member.filename for member in members[:5]) or "nothing"
    raise ProcedureError(f"{path}: no member is a file of coded records; it holds {names}; {_HELP}")


def _unpacked(stream: IO[bytes] | gzip.GzipFile, path: Path) -> bytes:
    content = stream.read(_MOST_BYTES + 1)
    _check_length(content, path)
    return content


def _check_length(content: bytes, path: Path) -> None:
    if len(content) > _MOST_BYTES:
        raise ProcedureError(f"{path}: over {_MOST_BYTES >> 20} MiB, too long for coded procedures; is it another file?")
