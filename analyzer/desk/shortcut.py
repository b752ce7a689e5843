"""A shortcut on the desktop that starts the desk of a folder. Tested on Linux; the quotes of the file for Windows under Wine.

On Linux it is also an entry of the menu, by the Desktop Entry Specification (freedesktop.org, version 1.5); on macOS it is a
command file, which opens in a terminal window; on Windows a batch file.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from pathlib import Path

from analyzer.errors import DeskError
from analyzer.temporary import whole_file

__all__ = ["make_shortcut", "shortcut_text"]

_NAME = "Approach desk"
_FILES = {"linux": "approach-desk.desktop", "darwin": f"{_NAME}.command", "win32": f"{_NAME}.cmd"}
_MENU = Path(".local", "share", "applications")
_RESERVED = '"`$\\'  # reserved within the quotes of a desktop entry's command
_EXECUTABLE = 0o755


def make_shortcut(system: str, home: Path, command: Sequence[str]) -> tuple[Path, ...]:
    """Write a shortcut that runs a command to the desktop, on Linux also to the menu. Returns the files.

    `system` is as in `sys.platform`, `home` the user's home folder. Raises `DeskError`.
    """
    text, name = shortcut_text(system, command), _FILES[system]
    desktop = _desktop(home)
    places = ([home / _MENU] if system == "linux" else []) + ([desktop] if desktop.is_dir() or system != "linux" else [])
    try:
        for place in places:
            with whole_file(place / name) as file:
                file.write(text.encode())
            (place / name).chmod(_EXECUTABLE)
    except OSError as error:
        raise DeskError(f"--shortcut: {error.filename}: cannot be written: {error.strerror}") from error
    return tuple(place / name for place in places)


def shortcut_text(system: str, command: Sequence[str]) -> str:
    """The text of the file for a system. Raises `DeskError` for an unknown system, or a name with a line break."""
    if system not in _FILES:
        raise DeskError(f"--shortcut: not known for {system}; start the desk with `analyzer desk`")
    if any(letter in word for word in command for letter in "\r\n"):
        raise DeskError("--shortcut: a name with a line break cannot stand in it; give the folder another name")
    if system == "darwin":
        return f"#!/bin/sh\nexec {shlex.join(command)}\n"
    if system == "win32":
        words = " ".join('"' + word.replace("%", "%%") + '"' for word in command)
        # a batch file is read in the console's code page, which the file sets: this one's names are UTF-8
        return f'@echo off\r\nchcp 65001 >nul\r\nstart "" /min {words}\r\n'
    words = " ".join(_quoted(word) for word in command)
    comment = "Debrief instrument approaches. Never for navigation."
    lines = ("[Desktop Entry]", "Type=Application", f"Name={_NAME}", f"Comment={comment}",
             f"Exec={words}", "Terminal=false", "Categories=Education;")  # fmt: skip
    return "\n".join(lines) + "\n"


def _desktop(home: Path) -> Path:
    """The folder of the desktop, which on Windows may be kept in a folder that is copied to a server."""
    places = [home / "Desktop", *sorted(home.glob("OneDrive*/Desktop"))]
    return next((place for place in places if place.is_dir()), places[0])


def _quoted(word: str) -> str:
    """An argument of ``Exec``: quoted, with reserved letters escaped, and the backslashes doubled as in any value."""
    inside = "".join(f"\\{letter}" if letter in _RESERVED else letter for letter in word)
    return '"' + inside.replace("\\", "\\\\").replace("%", "%%") + '"'
