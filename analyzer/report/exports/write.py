"""Writing a report: each file under a temporary name in the same folder, then renamed, so that none is ever half written."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.errors import AnalyzerError
from analyzer.files import check_ordinary, read_bounded
from analyzer.report.exports.own_files import is_report
from analyzer.temporary import whole_file

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief
    from analyzer.comparison.comparing import ComparisonData
    from analyzer.debriefs.data import DebriefData

__all__ = [
    "check_new",
    "check_no_input",
    "check_ours",
    "write_brief",
    "write_comparison",
    "write_file",
    "write_json",
    "write_new",
    "write_report",
]

_PLAIN = ".csv"  # the suffix that names of reports do without
_LARGEST_BYTES = 2**28  # of a report that may be overwritten


def write_report(
    debrief: DebriefData,
    folder: Path,
    formats: Sequence[str] = ("html",),
    *,
    force: bool = False,
    inputs: Sequence[Path] = (),
) -> tuple[Path, ...]:
    """Write a debrief into a folder, made where it is missing, in some of the formats of `FORMATS`. Returns the files in order.

    Names come from the log's: ``LOG.html``, ``LOG-plan.png``; pictures of a second approach are ``LOG-plan-2.png``. A log that
    is no plain CSV keeps its suffixes in them (``LOG.gpx.html``, ``LOG.csv.gz.html``), so that two logs of one name have two
    reports. `inputs` are the files that were read, over which nothing is written.

    Raises
    ------
    AnalyzerError
        The folder or a file cannot be written, or a file is there that no report wrote, and `force` does not allow to write
        over it. Then nothing is written.
    """
    from analyzer.report.exports.formats import FORMATS

    stem = _stem(debrief.motion.track.file)
    files = [(folder / f"{stem}{made.ending}", made.content) for form in formats for made in FORMATS[form].write(debrief)]
    for path, content in files:
        check_ours(path, content, force=force, inputs=inputs)
    for path, content in files:
        write_file(path, content)
    return tuple(path for path, _ in files)


def _stem(name: str) -> str:
    """What names of reports begin with, for a log of this name."""
    return (name[: -len(_PLAIN)] if name.lower().endswith(_PLAIN) else name) or "log"


def check_ours(path: Path, content: bytes, *, force: bool, option: str = "-o", inputs: Sequence[Path] = ()) -> None:
    """Raise `AnalyzerError` where a file is there that no report wrote, unless it may be written over; of `inputs` none may."""
    check_no_input(path, inputs, option)
    if force or not path.exists():
        return
    try:
        old = read_bounded(path, _LARGEST_BYTES)
    except OSError as error:
        raise AnalyzerError(f"{path}: cannot be read: {error.strerror}; choose another place with {option}") from error
    if old and not is_report(path, old, content):
        raise AnalyzerError(
            f"{path}: exists and is not a report; choose another place with {option}, or overwrite it with --force"
        )


def check_no_input(path: Path, inputs: Sequence[Path], option: str = "-o") -> None:
    """Raise `AnalyzerError` where a file to be written is one of those that were read, by whatever name."""
    if any(path.exists() and given.exists() and path.samefile(given) for given in inputs):
        raise AnalyzerError(f"{path}: is the input, and is not overwritten; choose another place with {option}")


def write_brief(brief: Brief, folder: Path, stem: str, *, force: bool = False, inputs: Sequence[Path] = ()) -> tuple[Path, ...]:
    """Write page and PDF of a brief into a folder, ``STEM-brief.html`` and ``.pdf``. Returns the files, the page first.

    Raises
    ------
    AnalyzerError
        The folder or a file cannot be written, or a file is there that no report wrote, and `force` does not allow to write
        over it. Then nothing is written.
    """
    from analyzer.report.pages.brief_page import brief_page, brief_pdf

    page, pdf = folder / f"{stem}-brief.html", folder / f"{stem}-brief.pdf"
    files = ((page, brief_page(brief).encode()), (pdf, brief_pdf(brief)))
    for path, content in files:
        check_ours(path, content, force=force, inputs=inputs)
    for path, content in files:
        write_file(path, content)
    return page, pdf


def write_comparison(
    comparison: ComparisonData, folder: Path, stem: str, *, force: bool = False, inputs: Sequence[Path] = ()
) -> Path:
    """Write the page of a comparison into a folder, ``STEM-attempts.html``. Returns the file. Raises as `write_report`."""
    from analyzer.report.pages.compare_page import compare_page

    path, content = folder / f"{stem}-attempts.html", compare_page(comparison).encode()
    check_ours(path, content, force=force, inputs=inputs)
    write_file(path, content)
    return path


def write_json(path: Path, text: str, *, force: bool, inputs: Sequence[Path] = ()) -> None:
    """Write the JSON that ``--json`` asks for, over nothing but JSON of ours. Raises `AnalyzerError`."""
    check_ours(path, text.encode(), force=force, option="--json", inputs=inputs)
    write_file(path, text.encode(), "--json")


def check_new(path: Path, *, force: bool, inputs: Sequence[Path] = ()) -> None:
    """Raise `AnalyzerError` where a file is there already, unless it may be written over; of `inputs` none may."""
    check_no_input(path, inputs)
    if path.exists() and not force:
        raise AnalyzerError(f"{path}: exists already; choose another name, or overwrite it with --force")


def write_new(path: Path, content: bytes, *, force: bool, inputs: Sequence[Path] = ()) -> None:
    """Write a file that is not there yet, whole or not at all. Raises `AnalyzerError`."""
    check_new(path, force=force, inputs=inputs)
    write_file(path, content)


def write_file(path: Path, content: bytes, option: str = "-o") -> None:
    """Write one file whole or not at all. `option` is the option of the command line that names another place.

    Raises
    ------
    AnalyzerError
        It cannot be written.
    """
    try:
        if path.exists():
            check_ordinary(path)
        with whole_file(path) as file:
            file.write(content)
    except OSError as error:
        raise AnalyzerError(f"{path}: cannot be written: {error.strerror}; choose another place with {option}") from error
