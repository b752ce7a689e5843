"""The settings of a grading run, and their fingerprint, by which saved rows are recognised as current."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from typing import Any

from analyzer.checks.limits import Standard
from analyzer.checks.standard import DEFAULT_STANDARD, read_standard
from analyzer.errors import AnalyzerError, GradeError
from analyzer.frozen import dataclass
from analyzer.gradebook.candidate import Candidate
from analyzer.gradebook.country import Country, read_country
from analyzer.gradebook.rubric import DEFAULT_RUBRIC, Rubric, read_rubric
from analyzer.procedure.clearance import read_clearance
from analyzer.procedure.read import read_procedure
from analyzer.procedure.resolve_minimums import resolve_minimum
from analyzer.procedure.values import Line
from analyzer.program import program_digest
from analyzer.track.limits import Limits
from analyzer.track.options import ReadOptions

__all__ = ["LARGEST_BYTES", "LIMITS", "Candidate", "Settings", "read_settings"]

LARGEST_BYTES = 32 * 1024 * 1024  # of the file: over a hundred hours at one position per second
# Unpacked, 111 hours at one position per second, which takes a worker up to 1.6 GB and a minute.
LIMITS = Limits(max_bytes=64 * 1024 * 1024, max_samples=400_000)


@dataclass(frozen=True, eq=False)
class Settings:
    """The settings that logs are graded by.

    With `pick`, each log is graded by the best-fitting of `candidates`, or of the procedures of `country` that it passes near.
    `sheets` is the paper of the students' sheets, or None for no sheets.
    """

    candidates: tuple[Candidate, ...]
    pick: bool
    standard: Standard
    rubric: Rubric
    options: ReadOptions
    largest_bytes: int = LARGEST_BYTES
    pages: bool = False
    sheets: str | None = None
    country: Country | None = None

    @cached_property
    def fingerprint(self) -> str:
        """A digest of all that a row depends on besides the log: the settings and the program itself."""
        content: dict[str, Any] = {
            "program": program_digest(),
            "procedures": [[c.name, c.procedure.model_dump(mode="json"), c.line, asdict(c.cleared)] for c in self.candidates],
            "pick": self.pick,
            "country": None if self.country is None else self.country.identity,
            "standard": asdict(self.standard),
            "rubric": asdict(self.rubric),
            "options": asdict(self.options),
            "largest_bytes": self.largest_bytes,
        }
        return sha256(json.dumps(content, sort_keys=True, default=str).encode()).hexdigest()[:20]


def read_settings(
    procedure: Path | None = None,
    procedures: Path | None = None,
    standard: str = DEFAULT_STANDARD,
    rubric: str = DEFAULT_RUBRIC,
    options: ReadOptions | None = None,
    *,
    largest_bytes: int = LARGEST_BYTES,
    pages: bool = False,
    sheets: str | None = None,
    cleared: Sequence[str] = (),
    line: Line = "straight-in",
) -> Settings:
    """Read the settings of a grading run.

    Parameters
    ----------
    procedure, procedures : Path, optional
        Either one procedure file; or a folder of them, or a file of coded procedures, to pick from.
    standard, rubric : str
        A built-in name, or a path.
    options : ReadOptions, optional
        How logs are read.
    largest_bytes : int
        Larger log files are not read. [bytes]
    pages : bool
        Whether each log gets a page.
    sheets : str, optional
        The paper of the students' sheets; None for no sheets.
    cleared, line
        The clearance and the line of minimums, the same for all logs.

    Raises
    ------
    AnalyzerError
        A file is wrong, neither or both of the first two are given, or the clearance or line does not fit a procedure.
    """
    country: Country | None = None
    if procedure is not None and procedures is None:
        candidates: tuple[Candidate, ...] = (_candidate(procedure, cleared, line),)
    elif procedures is not None and procedure is None and procedures.is_file():
        candidates, country = (), read_country(procedures, line, cleared)
    elif procedures is not None and procedure is None:
        files = sorted(procedures.glob("*.toml"))
        if not files:
            raise GradeError(f"{procedures}: no procedure files (*.toml) there; give a folder that contains some")
        candidates = tuple(_candidate(file, cleared, line) for file in files)
        _in_one_unit(candidates)
    else:
        raise GradeError("give either --procedure FILE or --procedures DIR, to say what was flown")
    return Settings(
        candidates,
        procedures is not None,
        read_standard(standard),
        read_rubric(rubric),
        options or ReadOptions(limits=LIMITS),
        largest_bytes,
        pages,
        sheets,
        country,
    )


def _candidate(file: Path, cleared: Sequence[str], line: Line) -> Candidate:
    """A procedure file with a clearance and line of minimums that fit it; errors name the file."""
    procedure = read_procedure(file)
    try:
        resolve_minimum(procedure, line)
        clearance = read_clearance(cleared, procedure)
    except AnalyzerError as error:
        raise type(error)(f"{file}: {error}") from error
    return Candidate(file.stem, procedure, line, clearance)


def _in_one_unit(candidates: Sequence[Candidate]) -> None:
    """Raise `GradeError` if an assigned altitude would be in feet for one procedure and in metres for another."""
    units = {candidate.procedure.altitude_unit for candidate in candidates}
    if len(units) > 1 and candidates[0].cleared.assigned_m:
        raise GradeError("--cleared LEG=FT: some procedure files are in feet and some in metres; grade them apart")
