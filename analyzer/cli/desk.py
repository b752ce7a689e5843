"""The command ``desk``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["desk"]

_FOLDER = "approach-desk"


def desk(
    folder: Annotated[
        Path | None,
        typer.Argument(metavar="[FOLDER]", help=f"Folder that everything is kept in. Default: {_FOLDER} in your home folder"),
    ] = None,
    *,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page in a browser, or print its address only.")
    ] = True,
    seconds: Annotated[
        float, typer.Option("--while", metavar="S", min=1.0, help="Seconds that it waits after its last page is closed.")
    ] = 60.0,
    shortcut: Annotated[
        bool, typer.Option("--shortcut", help="Put a shortcut that starts it on the desktop, and stop.")
    ] = False,
    port: Annotated[
        int, typer.Option("--port", metavar="N", min=0, max=65535, show_default=False, help="Port. Default: any that is free")
    ] = 0,
) -> None:
    """Open the desk in the browser: drop logs, draw charts, debrief. It is served from this computer to this one alone."""
    place = folder if folder is not None else Path.home() / _FOLDER
    if shortcut:
        from analyzer.desk.shortcut import make_shortcut

        command = (sys.executable, "-m", "analyzer", "desk", str(place.absolute()))
        made = make_shortcut(sys.platform, Path.home(), command)
        sys.stdout.write("".join(f"Shortcut: {path}\n" for path in made))
        return
    from analyzer.desk.server import serve_desk

    def announce(address: str) -> None:
        opened = browser and _opened(address)
        sys.stdout.write(f"Desk: {place}\n")
        if not opened:
            sys.stdout.write(f"Open this address in a browser on this computer; it works once:\n{address}\n")
        sys.stdout.write(f"It ends {seconds:g} s after its last page is closed, or with Ctrl-C here.\n")
        sys.stdout.flush()

    serve_desk(place, port, seconds, announce)


def _opened(address: str) -> bool:
    """Whether a browser took the address."""
    import webbrowser

    try:
        return webbrowser.open(address)
    except webbrowser.Error:
        return False
