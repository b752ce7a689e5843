"""NMEA 0183 sentences to a raw table: RMC and GGA of any talker, checked, merged by time.

$GPRMC,hhmmss.ss,A,ddmm.mmmm,N,dddmm.mmmm,E,speed kt,track true,ddmmyy,...*hh
$GPGGA,hhmmss.ss,ddmm.mmmm,N,dddmm.mmmm,E,quality,satellites,HDOP,altitude MSL,M,...*hh
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta

import numpy as np

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.track.gps_time import ROLLOVER_WEEKS
from analyzer.track.limits import DEFAULT_LIMITS, Limits
from analyzer.track.raw_table import Meaning, RawTable
from analyzer.track.track import Note, counted

__all__ = ["read_nmea"]

_SENTENCE = re.compile(rb"\$([A-Z][A-Z0-9](RMC|GGA),[^*$\r\n]*)(?:\*([0-9A-Fa-f]{2}))?")
_TIME = re.compile(r"(\d\d)(\d\d)(\d\d(?:\.\d{1,9})?)", re.ASCII)
_DATE = re.compile(r"(\d\d)(\d\d)(\d\d)", re.ASCII)
_ANGLE = re.compile(r"(\d{1,3})(\d\d(?:\.\d{1,12})?)", re.ASCII)
_HAS_CHECKSUM = re.compile(rb"\$[A-Z][A-Z0-9](?:RMC|GGA),[^*$\r\n]*\*[0-9A-Fa-f]{2}")
_CENTURY = 80  # two digits of the year from here on are of the 1900s; GNSS is no older
_EARLY = date(2010, 1, 1)  # after which nothing is said
_RMC_FIELDS, _GGA_FIELDS = 10, 11  # the least with what is read here
_SENTENCES_A_SAMPLE = 4  # at most: both kinds, of two receivers

_DEFINED: Mapping[str, Meaning] = {
    "time UTC": Meaning("time", ""),
    "date": Meaning("date", ""),
    "latitude": Meaning("latitude", "deg"),
    "longitude": Meaning("longitude", "deg"),
    "altitude": Meaning("altitude", "m"),
    "speed over ground": Meaning("ground_speed", "kt"),
    "course over ground": Meaning("track", "deg"),
}


@dataclass(frozen=True)
class _Sentence:
    """One sentence: the line it stands on, and what of a row it gives, by column."""

    line: int
    cells: Mapping[str, str]


@dataclasses.dataclass
class _Dropped:
    """Counts of what was not taken, and of sentences without a checksum."""

    checksum: int = 0
    broken: int = 0
    invalid: int = 0
    unchecked: int = 0

    def notes(self) -> Iterator[Note]:
        """What is said of it."""
        for count, what in (
            (self.checksum, "whose checksum is wrong or missing: dropped"),
            (self.broken, "that cannot be read: dropped"),
            (self.invalid, "marked as without a valid position: dropped"),
            (self.unchecked, "without a checksum, like all in this log: taken as they stand"),
        ):
            if count:
                yield Note(f"{counted(count, 'sentence')} {what}", count)


def read_nmea(data: bytes, file: str, limits: Limits = DEFAULT_LIMITS) -> RawTable:
    """One row an instant, from the RMC and GGA sentences of it. Others are not needed, and left aside.

    Sentences with a wrong checksum are dropped and counted, and so are those without one where others have one. A GGA, which
    has no date, takes that of the RMC before it, or else of the first after it. Raises `LogError` where no sentence gives a
    position.
    """
    dropped = _Dropped()
    read: list[_Sentence] = []
    for line, fields in _checked(data, dropped):
        sentence = _read(line, fields, dropped)
        if sentence is not None:
            read.append(sentence)
            limits.check_samples(len(read) // _SENTENCES_A_SAMPLE, file)
    if not read:
        reasons = "; ".join(note.text for note in dropped.notes()) or "none is there"
        raise LogError(f"{file}: no RMC or GGA sentence with a position ({reasons}): log these sentences, with a fix")
    rows, lines = _merged(read)
    limits.check_samples(len(rows), file)
    names = [name for name in _DEFINED if any(name in row for row in rows)]
    return RawTable(
        format="NMEA 0183",
        names=tuple(names),
        cells=tuple([row.get(name, "") for row in rows] for name in names),
        lines=lines,
        defined=_DEFINED,
        altitude_references={"altitude": "mean sea level"},
        notes=(*dropped.notes(), *_early_notes(rows)),
    )


def _checked(data: bytes, dropped: _Dropped) -> Iterator[tuple[int, list[str]]]:
    """The sentences whose checksum is right, cut into fields, each with its line."""
    has_checksums = _HAS_CHECKSUM.search(data) is not None
    line, counted_to = 1, 0
    for sentence in _SENTENCE.finditer(data):
        line += data.count(b"\n", counted_to, sentence.start())
        counted_to = sentence.start()
        if sentence[3] is None:
            if has_checksums:
                dropped.checksum += 1
                continue
            dropped.unchecked += 1
        elif np.bitwise_xor.reduce(np.frombuffer(sentence[1], np.uint8)) != int(sentence[3], 16):
            dropped.checksum += 1
            continue
        yield line, sentence[1].decode("latin-1").split(",")


def _read(line: int, fields: list[str], dropped: _Dropped) -> _Sentence | None:
    """What a sentence says; None, counted, where it is broken or says that the position is not valid."""
    kind = fields[0][2:]
    is_rmc = kind == "RMC"
    if len(fields) < (_RMC_FIELDS if is_rmc else _GGA_FIELDS):
        dropped.broken += 1
        return None
    if (fields[2] != "A") if is_rmc else (fields[6] in ("", "0")):
        dropped.invalid += 1
        return None
    time = _TIME.fullmatch(fields[1])
    latitude, longitude = (_degrees(*fields[place : place + 2]) for place in ((3, 5) if is_rmc else (2, 4)))
    if time is None or not latitude or not longitude:
        dropped.broken += 1
        return None
    cells = {"time UTC": f"{time[1]}:{time[2]}:{time[3]}", "latitude": latitude, "longitude": longitude}
    if is_rmc:
        cells |= {"speed over ground": fields[7], "course over ground": fields[8], "date": _date(fields[9])}
    else:
        cells["altitude"] = fields[9]
    return _Sentence(line, {name: cell for name, cell in cells.items() if cell})


def _degrees(text: str, side: str) -> str:
    """Decimal degrees of ``ddmm.mmmm`` and N, S, E or W; empty where it is none."""
    parts = _ANGLE.fullmatch(text)
    if parts is None or side not in ("N", "S", "E", "W"):
        return ""
    return f"{'-' if side in 'SW' else ''}{int(parts[1]) + float(parts[2]) / 60.0:.10f}"


def _date(text: str) -> str:
    parts = _DATE.fullmatch(text)
    if parts is None:
        return ""
    return f"{'19' if int(parts[3]) >= _CENTURY else '20'}{parts[3]}-{parts[2]}-{parts[1]}"


def _merged(sentences: Iterable[_Sentence]) -> tuple[list[dict[str, str]], list[int]]:
    """Rows by instant, each with the line of its first sentence; the first sentence that gives a cell fills it.

    Sentences next to each other with one time of day are of one instant; those apart are where the date is the same too.
    """
    groups: list[tuple[dict[str, str], int]] = []
    for sentence in sentences:
        if groups and groups[-1][0]["time UTC"] == sentence.cells["time UTC"]:
            _fill(groups[-1][0], sentence.cells)
        else:
            groups.append((dict(sentence.cells), sentence.line))
    day = _first_date([row for row, _ in groups])
    rows: dict[tuple[str, str], tuple[dict[str, str], int]] = {}
    for row, line in groups:
        day = row.get("date", day)
        if day:
            row["date"] = day
        known = rows.get((day, row["time UTC"]))
        if known is None:
            rows[day, row["time UTC"]] = row, line
        else:
            _fill(known[0], row)
    return [row for row, _ in rows.values()], [line for _, line in rows.values()]


def _first_date(rows: list[dict[str, str]]) -> str:
    """The date that the log begins on: that of the first row which has one, or the day before where midnight lies between."""
    dated = next((row for row in rows if "date" in row), None)
    if dated is None:
        return ""
    try:
        day = date.fromisoformat(dated["date"])
        return str(day - timedelta(days=1)) if rows[0]["time UTC"] > dated["time UTC"] else str(day)
    except (ValueError, OverflowError):  # no date of the calendar: the clock will say so
        return dated["date"]


def _early_notes(rows: list[dict[str, str]]) -> Iterator[Note]:
    """A note on a date that old receivers give today: weeks have ten bits (IS-GPS-200, 20.3.3.3.1.1)."""
    try:
        day = date.fromisoformat(rows[0].get("date", ""))
    except ValueError:
        return
    if day < _EARLY:
        later = day + timedelta(weeks=ROLLOVER_WEEKS)
        yield Note(f"the log is dated {day}: true, or {later} by a receiver that counts weeks wrongly, 1,024 of them too few")


def _fill(row: dict[str, str], more: Mapping[str, str]) -> None:
    for name, cell in more.items():
        row.setdefault(name, cell)
