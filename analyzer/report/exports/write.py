"""Writing reports. Each file is written under a temporary name in its folder and renamed, so that none is left half written."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote
from zlib import crc32

from analyzer.errors import AnalyzerError
from analyzer.files import check_ordinary, read_bounded
from analyzer.report.exports.own_files import is_report
from analyzer.report.paper.sizes import A4, A5, Paper
from analyzer.temporary import whole_file

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief
    from analyzer.comparison.comparing import ComparisonData
    from analyzer.debriefs.data import DebriefData
    from analyzer.track.track import Track

__all__ = [
    "check_new",
    "check_no_input",
    "check_ours",
    "dated_stem",
    "debriefs_of",
    "report_stem",
    "write_brief",
    "write_comparison",
    "write_file",
    "write_json",
    "write_new",
    "write_report",
]

_PLAIN = ".csv"  # the suffix that names of reports leave out
_LONGEST_NAME, _KEPT_OF_NAME = 200, 45  # in bytes, and the letters kept of a longer one: a letter takes four bytes at most
_LARGEST_BYTES = 2**28  # the largest report that may be overwritten


def write_report(
    debrief: DebriefData,
    folder: Path,
    formats: Sequence[str] = ("html",),
    *,
    paper: Paper = A4,
    force: bool = False,
    inputs: Sequence[Path] = (),
) -> tuple[Path, ...]:
    """Write a debrief in `formats`, which are keys of `FORMATS`, and return the files in order. A missing folder is created.

    Names begin with the start of the log (UTC), so that two logs of one name have two reports:
    ``2026-06-14-0912-LOG.html``, ``2026-06-14-0912-LOG-plan.png``; pictures of a second approach end in ``-plan-2.png``. A log
    that is not a plain CSV file keeps its suffixes in them (``LOG.gpx.html``). A PDF is laid out for `paper`. `inputs` are the
    files that were read, which are never overwritten.

    Raises
    ------
    AnalyzerError
        The folder or a file cannot be written, or a file exists that is not a report, without `force`. Then nothing is written.
    """
    from analyzer.report.exports.formats import formats_on

    stem, writers = report_stem(debrief.motion.track), formats_on(paper)
    files = [(folder / f"{stem}{output.ending}", output.content) for name in formats for output in writers[name].write(debrief)]
    for path, content in files:
        check_ours(path, content, force=force, inputs=inputs)
    for path, content in files:
        write_file(path, content)
    return tuple(path for path, _ in files)


def report_stem(track: Track) -> str:
    """What names of reports of a log begin with: day and time of its first position, and its name."""
    return dated_stem(datetime.fromtimestamp(float(track.time_s[0]), tz=UTC), track.file)


def dated_stem(begins: datetime, name: str) -> str:
    """The same of a log by its name and the instant of its first position."""
    name = (name[: -len(_PLAIN)] if name.lower().endswith(_PLAIN) else name) or "log"
    if len(name.encode(errors="surrogateescape")) > _LONGEST_NAME:  # with date and ending it must still be a valid file name
        name = f"{name[:_KEPT_OF_NAME]}-{crc32(name.encode(errors='surrogateescape')):08x}"
    return f"{begins:%Y-%m-%d-%H%M}-{name}"


def check_ours(path: Path, content: bytes, *, force: bool, option: str = "-o", inputs: Sequence[Path] = ()) -> None:
    """Raise `AnalyzerError` if `path` is one of `inputs`, or exists and is not a report, without `force`."""
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
    """Raise `AnalyzerError` if `path` is one of `inputs`, under whatever name."""
    if any(path.exists() and source.exists() and path.samefile(source) for source in inputs):
        raise AnalyzerError(f"{path}: is an input file and is not overwritten; choose another place with {option}")


def write_brief(
    brief: Brief, folder: Path, stem: str, paper: Paper = A5, *, force: bool = False, inputs: Sequence[Path] = ()
) -> tuple[Path, Path]:
    """Write the page and the knee card of a brief, ``STEM-brief.html`` and ``.pdf``, and return the files in that order.

    Raises
    ------
    AnalyzerError
        The folder or a file cannot be written, or a file exists that is not a report, without `force`. Then nothing is written.
    """
    from analyzer.report.pages.brief_page import brief_page
    from analyzer.report.paper.knee_card import knee_card

    page, pdf = folder / f"{stem}-brief.html", folder / f"{stem}-brief.pdf"
    files = ((page, brief_page(brief).encode()), (pdf, knee_card(brief, paper)))
    for path, content in files:
        check_ours(path, content, force=force, inputs=inputs)
    for path, content in files:
        write_file(path, content)
    return page, pdf


def write_comparison(
    comparison: ComparisonData,
    folder: Path,
    stem: str,
    debriefs: Path | None = None,
    *,
    force: bool = False,
    inputs: Sequence[Path] = (),
) -> Path:
    """Write the page of a comparison, ``STEM-attempts-2026-06-14.html`` by the day of the last attempt, and return the file.

    Attempts link to their debriefs in `debriefs`, by default the same folder, as far as these are there. Raises as
    `write_report`.
    """
    from analyzer.report.pages.compare_page import compare_page

    found = debriefs_of(comparison, debriefs or folder)
    links = {number: _link(path, folder) for number, path in found.items()}
    pages = {number: link for number, link in links.items() if link is not None}
    day = datetime.fromtimestamp(comparison.attempts[-1].start_s, tz=UTC)
    path, content = folder / f"{stem}-attempts-{day:%Y-%m-%d}.html", compare_page(comparison, pages).encode()
    check_ours(path, content, force=force, inputs=inputs)
    write_file(path, content)
    return path


def debriefs_of(comparison: ComparisonData, folder: Path) -> dict[int, Path]:
    """The debriefs of attempts in a folder, as `write_report` names them, by the number of the attempt."""
    paths = {attempt.number: folder / f"{report_stem(attempt.debrief.motion.track)}.html" for attempt in comparison.attempts}
    return {number: path for number, path in paths.items() if path.is_file()}


def _link(path: Path, folder: Path) -> str | None:
    """The address of a file for a page in a folder, relative, so that both can be moved together; None on another drive."""
    try:
        relative = os.path.relpath(path.resolve(), folder.resolve())
    except ValueError:  # only Windows has drives
        return None
    return quote(relative.replace(os.sep, "/"), errors="surrogateescape")


def write_json(path: Path, text: str, *, force: bool, inputs: Sequence[Path] = ()) -> None:
    """Write the JSON of ``--json``, over nothing but earlier JSON of this program. Raises `AnalyzerError`."""
    check_ours(path, text.encode(), force=force, option="--json", inputs=inputs)
    write_file(path, text.encode(), "--json")


def check_new(path: Path, *, force: bool, inputs: Sequence[Path] = ()) -> None:
    """Raise `AnalyzerError` if `path` is one of `inputs`, or exists, without `force`."""
    check_no_input(path, inputs)
    if path.exists() and not force:
        raise AnalyzerError(f"{path}: exists already; choose another name, or overwrite it with --force")


def write_new(path: Path, content: bytes, *, force: bool, inputs: Sequence[Path] = ()) -> None:
    """Write a new file, whole or not at all. Raises `AnalyzerError`."""
    check_new(path, force=force, inputs=inputs)
    write_file(path, content)


def write_file(path: Path, content: bytes, option: str = "-o") -> None:
    """Write a file, whole or not at all. `option` is the command-line option that names another place.

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
