"""The bytes of a log: from a file or standard input, unpacked from gzip or zip, never more than the limit in memory.

Compression is recognised by the first bytes, like the format. Unpacked bytes are counted as they arrive, so that a small file
that unpacks to a huge one stops early.
"""

from __future__ import annotations

import gzip
import io
import sys
import zipfile
import zlib
from pathlib import Path
from typing import IO

from analyzer.errors import LogError
from analyzer.files import check_ordinary
from analyzer.track.limits import Limits

__all__ = ["STANDARD_INPUT", "read_source"]

STANDARD_INPUT = "-"
_GZIP = b"\x1f\x8b"
_ZIP = (b"PK\x03\x04", b"PK\x05\x06")
_PIECE = 1 << 20
_HEAD = 1024
_MEMBERS_SHOWN = 6
_FOR_A_DESKTOP = "__MACOSX/"  # what one system's packer adds alongside each file
# the part of a spreadsheet's file that every one has: Office Open XML (ECMA-376), OpenDocument (ISO/IEC 26300-3)
_OF_A_WORKBOOK = ("xl/workbook.xml", "xl/workbook.bin", "META-INF/manifest.xml")
_WIDE = (b"\xff\xfe", b"\xfe\xff")  # UTF-16, whose text has NULs


def read_source(path: str | Path, file: str, limits: Limits) -> bytes:
    """The log's bytes, unpacked; ``-`` is standard input. `file` is its name in messages.

    Raises `LogError` where it cannot be read, is empty, damaged, packed twice or larger than the limit, and where a zip does
    not hold exactly one log.
    """
    data = _read(path, file, limits)
    if data.startswith(_GZIP):
        data = _from_gzip(data, file, limits)
    elif data.startswith(_ZIP):
        data = _from_zip(data, file, limits)
    if data.startswith((_GZIP, *_ZIP)):
        raise LogError(f"{file}: packed more than once: unpack it, and give the log itself")
    if not data or data.isspace():
        raise LogError(f"{file}: the file is empty: export the log again")
    return data


def _read(path: str | Path, file: str, limits: Limits) -> bytes:
    try:
        if str(path) == STANDARD_INPUT:
            if sys.stdin is None:  # closed by the caller
                raise LogError(f"{file}: it is closed: give the log's name, or pipe the log in")
            return _within(sys.stdin.buffer, file, limits)
        check_ordinary(path)
        with Path(path).open("rb") as stream:
            return _within(stream, file, limits)
    except IsADirectoryError as error:
        raise LogError(f"{file}: a folder, not a log: name one file") from error
    except OSError as error:
        raise LogError(f"{file}: cannot be read: {error.strerror}; check the name and the permissions") from error
    except ValueError as error:  # a name with a NUL
        raise LogError(f"{file}: cannot be read: {error}: check the name") from error


def _within(stream: IO[bytes] | gzip.GzipFile, file: str, limits: Limits) -> bytes:
    """All bytes of a stream, counted as they arrive."""
    pieces, size = [], 0
    while piece := stream.read(_PIECE):
        size += len(piece)
        if size > limits.max_bytes:
            raise limits.too_many_bytes(file)
        pieces.append(piece)
    return b"".join(pieces)


def _from_gzip(data: bytes, file: str, limits: Limits) -> bytes:
    try:
        with gzip.GzipFile(fileobj=io.BytesIO(data)) as packed:
            return _within(packed, file, limits)
    except (EOFError, OSError, zlib.error) as error:
        raise LogError(f"{file}: damaged gzip file: {error}. Pack it again") from error


def _from_zip(data: bytes, file: str, limits: Limits) -> bytes:
    """The one log in a zip. Members that are no text, such as pictures, do not count."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            members = [info for info in packed.infolist() if not info.is_dir() and not info.filename.startswith(_FOR_A_DESKTOP)]
            limits.check_samples(len(members), file)
            if any(info.filename in _OF_A_WORKBOOK for info in members):
                raise LogError(f"{file}: a workbook of a spreadsheet program: save its sheet as CSV there, and give that")
            texts = members if len(members) == 1 else [info for info in members if _is_text(packed, info)]
            if len(texts) != 1:
                raise LogError(f"{file}: a zip with {_listing(texts or members)}: unpack it, and give one log")
            with packed.open(texts[0]) as stream:
                return _within(stream, file, limits)
    except NotImplementedError as error:
        raise LogError(
            f"{file}: a zip packed in a way that is not known here ({error}): pack it again as an ordinary zip"
        ) from error
    except RuntimeError as error:  # how a member with a password is refused
        raise LogError(f"{file}: a zip with a password: unpack it, and give the log itself") from error
    except (zipfile.BadZipFile, EOFError, OSError, ValueError, zlib.error) as error:
        raise LogError(f"{file}: damaged zip file: {error}. Pack it again") from error


def _is_text(packed: zipfile.ZipFile, info: zipfile.ZipInfo) -> bool:
    with packed.open(info) as stream:
        head = stream.read(_HEAD)
    return head.startswith(_WIDE) or b"\0" not in head


def _listing(members: list[zipfile.ZipInfo]) -> str:
    """The members for a message: ``3 files (a.csv, b.csv, c.csv)``."""
    if not members:
        return "no file in it"
    names = ", ".join(" ".join(info.filename.split()) for info in members[:_MEMBERS_SHOWN])
    more = f" and {len(members) - _MEMBERS_SHOWN} more" if len(members) > _MEMBERS_SHOWN else ""
    return f"{len(members)} files ({names}{more})"
