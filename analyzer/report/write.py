"""Writing a report: each file under a temporary name beside its place, then renamed, so that none is ever half written."""

from __future__ import annotations

import json
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.errors import AnalyzerError

if TYPE_CHECKING:
    from analyzer.briefing import Brief
    from analyzer.debriefing import Debrief

__all__ = ["brief_json_text", "check_new", "json_text", "write_brief", "write_file", "write_new", "write_report"]


def json_text(debrief: Debrief) -> str:
    """The debrief as JSON text, the same bytes for the same debrief."""
    return json.dumps(debrief.to_dict(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def write_report(debrief: Debrief, folder: Path) -> tuple[Path, ...]:
    """Write the page and its pictures into a folder, made where it is missing. Returns the files, the page first.

    Names come from the log's: ``LOG.html``, ``LOG-plan.png``; from a second approach on ``LOG-2-plan.png``.

    Raises
    ------
    AnalyzerError
        The folder or a file cannot be written.
    """
    from analyzer.report.page import debrief_page
    from analyzer.report.pictures import draw_pictures

    stem = debrief.motion.track.file.removesuffix(".gz").rsplit(".", 1)[0] or "log"
    drawn = [draw_pictures(debrief, approach, f"a{number}") for number, approach in enumerate(debrief.approaches, 1)]
    page = folder / f"{stem}.html"
    write_file(page, debrief_page(debrief, drawn).encode())
    written = [page]
    for number, pictures in enumerate(drawn, 1):
        for picture in pictures:
            path = folder / f"{stem}{f'-{number}' if number > 1 else ''}-{picture.name}.png"
            write_file(path, picture.png)
            written.append(path)
    return tuple(written)


def brief_json_text(brief: Brief) -> str:
    """The brief as JSON text, the same bytes for the same brief."""
    return json.dumps(brief.to_dict(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def write_brief(brief: Brief, folder: Path, stem: str) -> tuple[Path, ...]:
    """Write page and PDF of a brief into a folder, ``STEM-brief.html`` and ``.pdf``. Returns the files, the page first.

    Raises
    ------
    AnalyzerError
        The folder or a file cannot be written.
    """
    from analyzer.report.brief_page import brief_page, brief_pdf

    page, pdf = folder / f"{stem}-brief.html", folder / f"{stem}-brief.pdf"
    write_file(page, brief_page(brief).encode())
    write_file(pdf, brief_pdf(brief))
    return page, pdf


def check_new(path: Path, *, force: bool) -> None:
    """Raise `AnalyzerError` where a file is there already, unless it may be written over."""
    if path.exists() and not force:
        raise AnalyzerError(f"{path}: is there already; choose another name, or write over it with --force")


def write_new(path: Path, content: bytes, *, force: bool) -> None:
    """Write a file that is not there yet, whole or not at all. Raises `AnalyzerError`."""
    check_new(path, force=force)
    write_file(path, content)


def write_file(path: Path, content: bytes, option: str = "-o") -> None:
    """Write one file whole or not at all. `option` is the option of the command line that names another place.

    Raises
    ------
    AnalyzerError
        It cannot be written.
    """
    temporary: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".writing-", delete=False) as file:
            temporary = Path(file.name)
            file.write(content)
        temporary.chmod(0o666 & ~_umask())
        temporary.replace(path)
    except OSError as error:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        raise AnalyzerError(f"{path}: cannot be written: {error.strerror}; choose another place with {option}") from error


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
