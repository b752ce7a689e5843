"""Whether a file is a report of this program, by the header of each format rather than a word that anybody might write."""

from __future__ import annotations

from pathlib import PurePath

from analyzer.report.words.caution import CAUTION

__all__ = ["is_report"]

_HEAD = 4096  # bytes of the header
_PROGRAM = b"approach-analyzer"
_CAUTION = CAUTION.encode()
_PDF_MADE_BY = (b"/Author(", b"/Creator (")  # as typeset now, and as drawn by matplotlib formerly

# suffix -> the beginning of such a file, and a string in its head
_MARKERS: dict[str, tuple[bytes, bytes]] = {
    ".html": (b"<!doctype html>", b'<meta name="generator" content="' + _PROGRAM),
    ".png": (b"\x89PNG\r\n", b"tEXtSoftware\0" + _PROGRAM),
    ".svg": (b"<?xml", b"<dc:title>" + _PROGRAM + b"</dc:title>"),
    ".json": (b"{", b'"cautions": "' + _CAUTION),
    ".md": (b"# ", b"\n\n> " + _CAUTION + b"\n"),
    ".geojson": (b"{", b'"caution": "' + _CAUTION),
    ".kml": (b"<?xml", b"<description>" + _CAUTION),
}


def is_report(path: PurePath, old: bytes, new: bytes) -> bool:
    """Whether the old content of a file is a report by this program of the same kind as the new one.

    A table (CSV) cannot name its program; it is taken as ours if its header is that of the new one.
    """
    suffix = path.suffix.lower()
    if suffix == ".csv":
        return old.split(b"\r\n", 1)[0] == new.split(b"\r\n", 1)[0]
    if suffix == ".pdf":
        return old.startswith(b"%PDF") and any(key + _PROGRAM in old for key in _PDF_MADE_BY)
    if suffix not in _MARKERS:  # a name that the user chose: go by the content
        return any(_says(old, *markers) and _says(new, *markers) for markers in _MARKERS.values())
    return _says(old, *_MARKERS[suffix])


def _says(content: bytes, begins: bytes, holds: bytes) -> bool:
    return content.startswith(begins) and holds in content[:_HEAD]
