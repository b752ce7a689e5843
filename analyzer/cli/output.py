"""Where a report is written and in which formats, from the options ``--format`` and ``-o``."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.cli.options import like_a_file
from analyzer.errors import AnalyzerError
from analyzer.frozen import dataclass
from analyzer.report.exports.formats import FORMATS, formats_on
from analyzer.report.exports.write import check_ours, write_file, write_report
from analyzer.report.paper.sizes import A4, SHEETS, Paper, paper_named

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData

__all__ = ["Destination", "destination"]

_STANDARD_OUTPUT = "-"


@dataclass(frozen=True)
class Destination:
    """A folder, one file, or standard output if both are None; the formats to write, and the paper of a PDF."""

    folder: Path | None
    file: Path | None
    formats: tuple[str, ...]
    force: bool
    paper: Paper = A4

    def write(self, debrief: DebriefData, inputs: Sequence[Path] = ()) -> tuple[Path, ...]:
        """Write a debrief, never over `inputs`, and return the files written. Raises `AnalyzerError`."""
        if self.folder is not None:
            return write_report(debrief, self.folder, self.formats, paper=self.paper, force=self.force, inputs=inputs)
        (made,) = formats_on(self.paper)[self.formats[0]].write(debrief)
        if self.file is None:
            sys.stdout.buffer.write(made.content)
            return ()
        check_ours(self.file, made.content, force=self.force, inputs=inputs)
        write_file(self.file, made.content)
        return (self.file,)


def destination(output: str | None, formats: str | None, *, force: bool, paper: str | None = None) -> Destination:
    """The destination given by ``-o``, ``--format`` and ``--paper``; by default a page in the folder ``reports``.

    ``-o`` names a file if its suffix is that of a format and there is no folder of that name.

    Raises
    ------
    AnalyzerError
        A format or paper is unknown, the formats do not fit into one file, or a paper is given without a PDF.
    """
    asked_for = _destination(output, formats, force=force)
    if paper is None:
        return asked_for
    if "pdf" not in asked_for.formats:
        raise AnalyzerError(f"--paper {paper}: is for a PDF; add --format pdf, or leave it out")
    return replace(asked_for, paper=paper_named(paper, SHEETS))


def _destination(output: str | None, formats: str | None, *, force: bool) -> Destination:
    asked = _formats(formats) if formats is not None else None
    if output is None:
        return Destination(Path("reports"), None, asked or ("html",), force)
    if output == _STANDARD_OUTPUT:
        return Destination(None, None, _one_file(output, asked or ("html",)), force)
    path = Path(output)
    named = next((name for name, form in FORMATS.items() if form.suffix == path.suffix.lower()), None)
    if named is None and like_a_file(output):
        endings = ", ".join(form.suffix for form in FORMATS.values() if form.one_file)
        raise AnalyzerError(f"-o {output}: files end in {endings}; write {output}/ if it is to be a folder of that name")
    if named is None or path.is_dir():
        return Destination(path, None, asked or ("html",), force)
    if asked not in (None, (named,)):
        raise AnalyzerError(f"-o {output}: that is a file of format {named}; name a folder, or leave out --format")
    return Destination(None, path, _one_file(output, (named,)), force)


def _formats(text: str) -> tuple[str, ...]:
    names = tuple(dict.fromkeys(name.strip().lower() for name in text.split(",") if name.strip()))
    for name in names:
        if name not in FORMATS:
            raise AnalyzerError(f"--format {name}: not a format; choose from {', '.join(FORMATS)}")
    if not names:
        raise AnalyzerError(f"--format: names no format; choose from {', '.join(FORMATS)}")
    return names


def _one_file(output: str, formats: tuple[str, ...]) -> tuple[str, ...]:
    if len(formats) > 1:
        raise AnalyzerError(f"-o {output}: takes one format, not {len(formats)}; name a folder")
    if not FORMATS[formats[0]].one_file:
        raise AnalyzerError(f"-o {output}: {formats[0]} makes several files; name a folder")
    return formats
