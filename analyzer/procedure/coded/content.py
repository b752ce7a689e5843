"""The lines of a file of coded records: plain text, gzipped, or in the published zip."""

from __future__ import annotations

import gzip
import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import IO

from analyzer.errors import ProcedureError
from analyzer.files import check_ordinary

__all__ = ["RECORD", "coded_lines", "looks_coded"]

_MOST_BYTES = 1 << 29  # a whole country has about 60 MB, the world about 300
_LONGEST_LINE, _HEAD = 1 << 16, 4096
RECORD = 132  # columns
# A header, or a standard or tailored record with its area and section.
_BEGINS = re.compile(rb"\s*(HDR\d\d|[ST][A-Z0-9]{3}[A-Z][A-Z0-9 ])")
_PACKED = (b"PK\x03\x04", b"\x1f\x8b")
_HELP = "give a file of coded procedures (ARINC 424, records of 132 columns), as text or as the zip that it comes in"


def looks_coded(head: bytes) -> bool:
    """Whether bytes begin a file of coded records, by the first line; or a packed file, which may contain one."""
    return head.startswith(_PACKED) or _has_record(head)


def _has_record(head: bytes) -> bool:
    first = head.lstrip(b"\r\n\x00").split(b"\n", 1)[0].rstrip(b"\r\x00 ")
    return _BEGINS.match(first) is not None and len(first) >= 60


@contextmanager
def coded_lines(path: Path) -> Iterator[Iterator[bytes]]:
    """The lines of the file at `path`, unpacked, one by one.

    Raises
    ------
    ProcedureError
        The file cannot be read or unpacked, is too long, or contains no coded records.
    """
    try:
        check_ordinary(path)
        with ExitStack() as stack:
            stream: IO[bytes] = stack.enter_context(path.open("rb"))
            head = _peeked(stream)
            if head.startswith(_PACKED[0]):
                stream = stack.enter_context(_member(stack.enter_context(zipfile.ZipFile(stream)), path))
            elif head.startswith(_PACKED[1]):
                stream = stack.enter_context(io.BufferedReader(gzip.GzipFile(fileobj=stream)))
            head = _peeked(stream)
            if not _has_record(head):
                raise ProcedureError(f"{path}: its first line is no coded record; {_HELP}")
            yield _bounded(stream, path)
    except OSError as error:
        if isinstance(error, gzip.BadGzipFile):
            raise _damaged(path, error) from None
        raise ProcedureError(f"{path}: {error.strerror or error}; {_HELP}") from None
    except (EOFError, zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, ValueError) as error:
        raise _damaged(path, error) from None


def _damaged(path: Path, error: Exception) -> ProcedureError:
    return ProcedureError(f"{path}: cannot be unpacked: {error}; fetch it again, or unpack it yourself")


def _peeked(stream: IO[bytes]) -> bytes:
    """The first bytes of a stream, which is rewound."""
    head = stream.read(_HEAD)
    stream.seek(0)
    return head


def _member(packed: zipfile.ZipFile, path: Path) -> IO[bytes]:
    """The longest member that begins with a coded record; tables and notices are published in the same zip."""
    members = sorted(packed.infolist(), key=lambda member: (-member.file_size, member.filename))
    for member in members:
        if member.is_dir():
            continue
        with packed.open(member) as stream:
            head = stream.read(_HEAD)
        if _has_record(head):
            return packed.open(member)
    names = ", ".join(member.filename for member in members[:5]) or "nothing"
    raise ProcedureError(f"{path}: no member is a file of coded records; it holds {names}; {_HELP}")


def _bounded(stream: IO[bytes], path: Path) -> Iterator[bytes]:
    """The lines of a stream, up to the greatest size."""
    lines = io.BufferedReader(stream) if isinstance(stream, io.RawIOBase) else stream
    read = 0
    while line := lines.readline(_LONGEST_LINE):
        read += len(line)
        if read > _MOST_BYTES:
            raise ProcedureError(f"{path}: over {_MOST_BYTES >> 20} MiB, too long for coded procedures; is it another file?")
        yield line
