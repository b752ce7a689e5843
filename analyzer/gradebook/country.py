"""The procedures of a whole country to pick from: a log is compared with those in a file of coded records that it passes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.gradebook.candidate import Candidate
from analyzer.physics.units import DEG
from analyzer.procedure.clearance import read_clearance
from analyzer.procedure.coded.file import CodedFile, read_coded
from analyzer.procedure.coded.select import chosen_of
from analyzer.procedure.resolve_minimums import resolve_minimum
from analyzer.procedure.values import Line
from analyzer.track.track import Track

__all__ = ["Country", "read_country"]

_NEAR_NM = 3.0  # farther from the fix, a log fits too badly to be picked
_CELL_DEG = 1.0 / 60.0  # squares in which positions are looked up once


@dataclass(frozen=True)
class Country:
    """A file of coded records, with the line of minimums and the clearance to judge by.

    `state` is the size and modification time of the file, to notice that it changed.
    """

    path: Path
    state: tuple[int, int]
    line: Line
    cleared: tuple[str, ...]

    @property
    def name(self) -> str:
        """The name of the file."""
        return self.path.name

    @property
    def identity(self) -> list[object]:
        """The parts of the country that a row depends on."""
        return [self.name, *self.state, self.line, *self.cleared]

    def near(self, track: Track) -> tuple[Candidate, ...]:
        """The procedures whose reversal begins within 3 NM of the flight. Raises `AnalyzerError`."""
        return _made(self, _passed(_file(self), track))

    def at(self, latitude_deg: float, longitude_deg: float) -> tuple[Candidate, ...]:
        """The procedures whose reversal begins within 3 NM of a place. Raises `AnalyzerError`."""
        return _made(self, tuple(sorted(_file(self).near(latitude_deg, longitude_deg, _NEAR_NM))))


def read_country(path: Path, line: Line, cleared: Sequence[str]) -> Country:
    """Read the file of a country and index it. Raises `ProcedureError`."""
    state = path.stat()
    country = Country(path.absolute(), (state.st_size, state.st_mtime_ns), line, tuple(cleared))
    if not _file(country).with_reversals():
        raise ProcedureError(f"{path}: no approach with a course reversal is coded there")
    return country


@lru_cache(maxsize=4)
def _file(country: Country) -> CodedFile:
    """The file, opened once per process."""
    return read_coded(country.path)


def _passed(file: CodedFile, track: Track) -> tuple[tuple[str, str], ...]:
    """The approaches that a flight passes near, by airport and ident."""
    latitude, longitude = (np.round(angle / DEG / _CELL_DEG) for angle in (track.latitude_rad, track.longitude_rad))
    known = np.isfinite(latitude) & np.isfinite(longitude)
    cells = {(int(north), int(east)) for north, east in zip(latitude[known], longitude[known], strict=True)}
    within = _NEAR_NM + 60.0 * _CELL_DEG / math.sqrt(2.0)
    approaches = {near for north, east in cells for near in file.near(north * _CELL_DEG, east * _CELL_DEG, within)}
    return tuple(sorted(approaches))


@lru_cache(maxsize=256)
def _made(country: Country, approaches: tuple[tuple[str, str], ...]) -> tuple[Candidate, ...]:
    """The procedures of approaches, without those that cannot be converted or lack the line of minimums."""
    candidates: list[Candidate] = []
    for airport, ident in approaches:
        for chosen in chosen_of(_file(country), airport, ident):
            procedure = chosen.made.procedure
            try:
                resolve_minimum(procedure, country.line)
            except ProcedureError:
                continue
            candidates.append(Candidate(chosen.stem, procedure, country.line, read_clearance(country.cleared, procedure)))
    return tuple(candidates)
