"""Text logs with blocks of NULs: what a memory card keeps of a file whose recorder lost its power."""

from __future__ import annotations

import re

from analyzer.track.track import Note, counted

__all__ = ["without_nuls"]

_NO_TEXT = re.compile(rb"[\x01-\x08\x0e-\x1f]")  # bytes that stand in no log, and in any program or picture
_MOST_LINES = 0.1  # of all, with NULs in them


def without_nuls(data: bytes) -> tuple[bytes, list[Note]] | None:
    """The text with the lines emptied that hold NULs, and the note that says so; None where it is no text.

    A line that a block begins or ends in is cut, so its numbers may have lost digits: nothing of it is kept. The others keep
    their line numbers.
    """
    if _NO_TEXT.search(data):
        return None
    lines = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    held = [place for place, line in enumerate(lines) if b"\0" in line]
    if len(lines) < 3 or len(held) > max(_MOST_LINES * len(lines), 1):
        return None
    for place in held:
        lines[place] = b""
    nuls = data.count(b"\0")
    where = ", ".join(str(place + 1) for place in held[:3]) + (", ..." if len(held) > 3 else "")
    text = (
        f"{counted(nuls, 'NUL byte')}, as a recorder leaves that loses its power, in line {where}:"
        " left out with what is left of the line"
    )
    return b"\n".join(lines), [Note(text, len(held))]
