"""IGC flight recorder files to a raw table: the fixes (B records), dated by the header and widened by its I record.

The format is that of the FAI's *Technical Specification for GNSS Flight Recorders*, appendix A. A fix is

    B HHMMSS DDMMmmmN DDDMMmmmE V PPPPP GGGGG [extensions]

with V the validity (A three-dimensional, V two-dimensional or none), P the pressure altitude on 1013.25 hPa and G the GNSS
altitude, both in metres. The I record says which columns of the line hold what else.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from analyzer.errors import LogError, printable
from analyzer.track.limits import DEFAULT_LIMITS, Limits
from analyzer.track.raw_table import Meaning, RawTable
from analyzer.track.track import Note, counted

__all__ = ["read_igc"]

_FIX = re.compile(r"B(\d\d)(\d\d)(\d\d)(\d\d)(\d{5})([NS])(\d{3})(\d{5})([EW])([AV])(-\d{4}|\d{5})(-\d{4}|\d{5})", re.ASCII)
_DATE = re.compile(r"H[FOP]DTE(?:DATE)?\s*:?\s*(\d\d)(\d\d)(\d\d)", re.ASCII)
_PILOT = re.compile(r"H[FOP]PLT(?:PILOT(?:INCHARGE)?)?\s*:?(.*)", re.ASCII)
_NO_NAME = frozenset(("", "nil", "nkn"))  # what the specification writes where a name is missing or not known
_GNSS_DATUM = re.compile(r"H[FOP]ALG(?:ALTGPS)?\s*:?\s*(\w+)", re.ASCII)
_EXTENSION = re.compile(r"(\d\d)(\d\d)([A-Z0-9]{3})", re.ASCII)
_CENTURY = 80  # two digits of the year from here on are of the 1900s; GNSS is no older

_PRESSURE, _GNSS = "pressure altitude", "GNSS altitude"
_DEFINED: Mapping[str, Meaning] = {
    "time UTC": Meaning("time", ""),
    "date": Meaning("date", ""),
    "latitude": Meaning("latitude", "deg"),
    "longitude": Meaning("longitude", "deg"),
    _GNSS: Meaning("altitude", "m"),
    _PRESSURE: Meaning("pressure_altitude", "m"),
}
# Three-letter codes of extensions that a track can use, where they have the three digits that the specification gives them:
# whole degrees, and speeds in its unit of speed, km/h. Those of another width are left to the user (``--unit``).
_EXTENSIONS: Mapping[str, Meaning] = {
    "GSP": Meaning("ground_speed", "km/h"),
    "TRT": Meaning("track", "deg"),
    "HDT": Meaning("heading", "deg"),
    "IAS": Meaning("indicated_airspeed", "km/h"),
    "TAS": Meaning("true_airspeed", "km/h"),
}
_DEFINED_WIDTH = 3
_LONGEST_LINE = 1000  # letters of a record that are read; 99 extensions need 696
_MOST_COLUMNS = 200
_LONGEST_NAME = 60  # letters of a pilot's name that are kept
_SECONDS, _LATITUDE, _LONGITUDE = "TDS", "LAD", "LOD"  # further decimals of what the fix itself holds


@dataclass
class _Recording:
    """The fixes so far, a list of texts a column, and what the header said."""

    date: str = ""
    above_sea_level: bool = False
    extensions: Mapping[str, slice] = field(default_factory=dict)
    columns: dict[str, list[str]] = field(default_factory=lambda: {name: [] for name in _DEFINED})
    lines: list[int] = field(default_factory=list)
    broken: int = 0
    flat: int = 0
    has_date: bool = False
    pilot: str = ""

    def add(self, fix: re.Match[str], line: str, number: int) -> None:
        """One fix. A column that this is the first to have is empty before."""
        more = {code: line[place].strip() for code, place in self.extensions.items()}
        decimals = {code: more.pop(code, "") for code in (_SECONDS, _LATITUDE, _LONGITUDE)}
        decimals = {code: text if text.isdecimal() else "" for code, text in decimals.items()}
        is_flat = fix[10] == "V"
        cells = {
            "time UTC": f"{fix[1]}:{fix[2]}:{fix[3]}" + (f".{decimals[_SECONDS]}" if decimals[_SECONDS] else ""),
            "date": self.date,
            "latitude": _degrees(fix[4], fix[5] + decimals[_LATITUDE], fix[6] == "S"),
            "longitude": _degrees(fix[7], fix[8] + decimals[_LONGITUDE], fix[9] == "W"),
            _GNSS: "" if is_flat else fix[12],
            _PRESSURE: fix[11],
            **more,
        }
        done = len(self.lines)
        for name, cell in cells.items():
            column = self.columns.setdefault(name, [])
            column.extend([""] * (done - len(column)))
            column.append(cell)
        self.lines.append(number)
        self.flat += is_flat


def read_igc(data: bytes, file: str, limits: Limits = DEFAULT_LIMITS) -> RawTable:
    """The fixes of an IGC file, in file order.

    Each is dated by the last date record (HFDTE) before it. Lines that begin like a fix and are none are left out and counted.
    The GNSS altitude of fixes that are not three-dimensional is empty, and so is an altitude that is zero throughout, which
    recorders write for want of one. Raises `LogError` where there is no fix.
    """
    recording = _Recording()
    for number, record in enumerate(data.splitlines(), start=1):
        line = record.decode("latin-1")
        if line.startswith("B"):
            fix = _FIX.match(line)
            if fix is None:
                recording.broken += 1
                continue
            recording.add(fix, line, number)
            limits.check_samples(len(recording.lines), file)
            if len(recording.columns) > _MOST_COLUMNS:
                raise LogError(
                    f"{file}, line {number}: more than {_MOST_COLUMNS} different extensions (I record): no"
                    " recorder writes so many. Export the flight again"
                )
        elif line.startswith("H"):
            _read_header(line, recording)
        elif line.startswith("I"):
            recording.extensions = _extensions(line)
    count = len(recording.lines)
    if not count:
        raise LogError(f"{file}: this IGC file has no fix (B record): export the flight again")
    columns = {name: [*cells, *[""] * (count - len(cells))] for name, cells in recording.columns.items()}
    if not recording.has_date:
        del columns["date"]
    notes = [*_dropped(recording), *_altitude_notes(columns, above_sea_level=recording.above_sea_level)]
    return RawTable(
        format="IGC",
        names=tuple(columns),
        cells=tuple(columns.values()),
        lines=recording.lines,
        defined={
            **_DEFINED,
            **{code: _EXTENSIONS[code] for code in _EXTENSIONS if _is_of_defined_width(columns.get(code, ()))},
        },
        notes=tuple(notes),
        altitude_references={_GNSS: "mean sea level" if recording.above_sea_level else "ellipsoid"},
        pilot=recording.pilot,
    )


def _read_header(line: str, recording: _Recording) -> None:
    date = _DATE.match(line)
    if date is not None:
        century = "19" if int(date[3]) >= _CENTURY else "20"
        recording.date = f"{century}{date[3]}-{date[2]}-{date[1]}"
        recording.has_date = True
    datum = _GNSS_DATUM.match(line)
    if datum is not None:
        recording.above_sea_level = datum[1].upper() in ("GEO", "MSL")
    pilot = _PILOT.match(line)
    if pilot is not None:
        name = printable(pilot[1].strip())[:_LONGEST_NAME]
        recording.pilot = "" if name.casefold() in _NO_NAME else name


def _extensions(line: str) -> dict[str, slice]:
    """Where in a fix each extension stands, by its code: ``I023638FXA3941ENL`` has FXA in columns 36 to 38."""
    return {code: slice(int(first) - 1, int(last)) for first, last, code in _EXTENSION.findall(line[3:_LONGEST_LINE])}


def _is_of_defined_width(cells: Sequence[str]) -> bool:
    return any(cells) and all(len(cell) == _DEFINED_WIDTH for cell in cells if cell)


def _degrees(whole: str, thousandths: str, negative: bool) -> str:
    """Decimal degrees of whole degrees and minutes: ``51`` and ``52265`` are 51° 52.265'."""
    minutes = int(thousandths) / 10 ** (len(thousandths) - 2)
    return f"{'-' if negative else ''}{int(whole) + minutes / 60.0:.10f}"


def _dropped(recording: _Recording) -> list[Note]:
    notes = []
    if recording.broken:
        notes.append(Note(f"{counted(recording.broken, 'broken B record')} left out", recording.broken))
    if recording.flat:
        fixes = counted(recording.flat, "fix") if recording.flat == 1 else f"{recording.flat:,} fixes"
        text = f"{fixes} marked V (two-dimensional or none)"
        notes.append(Note(f"{text}: kept without GNSS altitude", recording.flat))
    return notes


def _altitude_notes(columns: dict[str, list[str]], *, above_sea_level: bool) -> list[Note]:
    """Empty the altitudes that are zero throughout; say what the GNSS altitude is above, where it is one."""
    notes = []
    for name in (_GNSS, _PRESSURE):
        if not any(cell.strip("-0") for cell in columns[name]):
            del columns[name]
            notes.append(Note(f"the {name} is empty or zero throughout: not used"))
    if _GNSS in columns and not above_sea_level:
        other = f"; --column altitude='{_PRESSURE}' with --qnh takes the other" if _PRESSURE in columns else ""
        counted_from = "GNSS altitude is above the ellipsoid by the format's rule, up to 100 m from sea level"
        notes.append(Note(f"{counted_from}, which its stated error allows for{other}"))
    return notes
