"""Writing a report: each file under a temporary name beside its place, then renamed, so that none is ever half written."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.errors import AnalyzerError
from analyzer.report.document import CAUTION

if TYPE_CHECKING:
    from analyzer.briefing import Brief
    from analyzer.comparing import Comparison
    from analyzer.debriefing import Debrief

__all__ = [
    "brief_json_text",
    "check_new",
    "check_ours",
    "compare_json_text",
    "json_text",
    "write_brief",
    "write_comparison",
    "write_file",
    "write_json",
    "write_new",
    "write_report",
]


def json_text(debrief: Debrief) -> str:
    """The debrief as JSON text, the same bytes for the same debrief."""
    return json.dumps(debrief.to_dict(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def write_report(
    debrief: Debrief, folder: Path, formats: Sequence[str] = ("html",), *, force: bool = False
) -> tuple[Path, ...]:
    """Write a debrief into a folder, made where it is missing, in some of the formats of `FORMATS`. Returns the files in order.

    Names come from the log's: ``LOG.html``, ``LOG-plan.png``; pictures of a second approach are ``LOG-2-plan.png``.

    Raises
    ------
    AnalyzerError
        The folder or a file cannot be written, or a file is there that no report wrote, and `force` does not allow to write
        over it. Then nothing is written.
    """
    from analyzer.report.formats import FORMATS

    name = debrief.motion.track.file.removesuffix(".gz")
    stem = name.rsplit(".", 1)[0] or "log"
    files = [(folder / f"{stem}{made.ending}", made.content) for form in formats for made in FORMATS[form].write(debrief)]
    for path, content in files:
        check_ours(path, content, force=force)
    for path, content in files:
        write_file(path, content)
    return tuple(path for path, _ in files)


def check_ours(path: Path, content: bytes, *, force: bool, option: str = "-o") -> None:
    """Raise `AnalyzerError` where a file is there that no report wrote, unless it may be written over.

    A file counts as ours where it says so, as all formats do but CSV, which has no place for it: there the header tells.
    """
    if force or not path.exists():
        return
    try:
        old = path.read_bytes()
    except OSError as error:
        raise AnalyzerError(f"{path}: cannot be read: {error.strerror}; choose another place with {option}") from error
    same_table = path.suffix == ".csv" and old.split(b"\r\n", 1)[0] == content.split(b"\r\n", 1)[0]
    if old and not same_table and b"approach-analyzer" not in old and CAUTION.encode() not in old:
        raise AnalyzerError(
            f"{path}: is there already and is no report; choose another place with {option}, or write over it with --force"
        )


def brief_json_text(brief: Brief) -> str:
    """The brief as JSON text, the same bytes for the same brief."""
    return json.dumps(brief.to_dict(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def write_brief(brief: Brief, folder: Path, stem: str, *, force: bool = False) -> tuple[Path, ...]:
    """Write page and PDF of a brief into a folder, ``STEM-brief.html`` and ``.pdf``. Returns the files, the page first.

    Raises
    ------
    AnalyzerError
        The folder or a file cannot be written, or a file is there that no report wrote, and `force` does not allow to write
        over it. Then nothing is written.
    """
    from analyzer.report.brief_page import brief_page, brief_pdf

    page, pdf = folder / f"{stem}-brief.html", folder / f"{stem}-brief.pdf"
    files = ((page, brief_page(brief).encode()), (pdf, brief_pdf(brief)))
    for path, content in files:
        check_ours(path, content, force=force)
    for path, content in files:
        write_file(path, content)
    return page, pdf


def compare_json_text(comparison: Comparison) -> str:
    """The comparison as JSON text, the same bytes for the same comparison."""
    return json.dumps(comparison.to_dict(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def write_comparison(comparison: Comparison, folder: Path, stem: str, *, force: bool = False) -> Path:
    """Write the page of a comparison into a folder, ``STEM-attempts.html``. Returns the file. Raises as `write_report`."""
    from analyzer.report.compare_page import compare_page

    path, content = folder / f"{stem}-attempts.html", compare_page(comparison).encode()
    check_ours(path, content, force=force)
    write_file(path, content)
    return path


def write_json(path: Path, text: str, *, force: bool) -> None:
    """Write the JSON that ``--json`` asks for, over nothing but JSON of ours. Raises `AnalyzerError`."""
    check_ours(path, text.encode(), force=force, option="--json")
    write_file(path, text.encode(), "--json")


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
        temporary = None
    except OSError as error:
        raise AnalyzerError(f"{path}: cannot be written: {error.strerror}; choose another place with {option}") from error
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
