"""A log file to a track: opened, its format told by its content, its columns understood, its faults repaired.

    bytes -> raw table -> columns and units -> times -> samples -> repairs -> Track

A new format is one module with a function from bytes to a `RawTable`, and one row in `FORMATS`.
"""

from __future__ import annotations

import gzip
import io
import re
import zlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from analyzer.errors import LogError
from analyzer.track.aircraft import check_one_aircraft, keep_only
from analyzer.track.columns import Matched, Settled, match_columns
from analyzer.track.csv_log import read_csv
from analyzer.track.filled import is_filled_in
from analyzer.track.gpx_log import read_gpx
from analyzer.track.model import Column, Note, Track
from analyzer.track.options import ReadOptions, read_log_format
from analyzer.track.order import first_time
from analyzer.track.quantities import FIELDS
from analyzer.track.repair import find_gaps, repair
from analyzer.track.samples import Samples, build_samples
from analyzer.track.table import RawTable
from analyzer.track.timestamps import Clock, read_times

__all__ = ["FORMATS", "MAX_BYTES", "Format", "ReadOptions", "read_log_format", "read_track"]

MAX_BYTES = 128 * 1024 * 1024
_GZIP = b"\x1f\x8b"
_HEAD = 4096
_FILLED_IN = Note("filled in by straight lines between fewer true fixes: bank and rate of turn cannot be measured")


@dataclass(frozen=True)
class Format:
    """A log format: how its first bytes look (NULs taken out, so that UTF-16 counts), and what reads it."""

    name: str
    looks_like: re.Pattern[bytes]
    read: Callable[[bytes, str, ReadOptions], RawTable]


def _gpx(data: bytes, file: str, options: ReadOptions) -> RawTable:  # noqa: ARG001 (one signature for all)
    return read_gpx(data, file)


def _csv(data: bytes, file: str, options: ReadOptions) -> RawTable:
    return read_csv(data, file, tuple(options.columns.values()))


def _other_xml(data: bytes, file: str, options: ReadOptions) -> RawTable:  # noqa: ARG001
    raise LogError(f"{file}: XML, but not GPX: export the log as GPX or CSV")


# The first that looks right reads the file.
FORMATS: tuple[Format, ...] = (
    Format("GPX", re.compile(rb"<(\w+:)?gpx[\s>]"), _gpx),
    Format("XML", re.compile(rb"^[^\w]*<(\?xml|!DOCTYPE|html|kml)", re.IGNORECASE), _other_xml),
    Format("CSV", re.compile(rb""), _csv),
)


def read_track(path: str | Path, options: ReadOptions | None = None) -> Track:
    """Read a position log: CSV or GPX, plain or gzipped.

    `options` settle what the file leaves open. Raises `LogError`, whose message names the file, the place and the mend,
    where the file cannot be read, is larger than 128 MiB unpacked, or leaves something open that must not be guessed.
    """
    options = options or ReadOptions()
    file = str(path)
    data = _unpacked(Path(path), file)
    head = data[:_HEAD].replace(b"\0", b"")
    reader = next(known.read for known in FORMATS if known.looks_like.search(head))
    table = reader(data, file, options)
    if options.only is not None:
        table = keep_only(table, options.only, file)
    matched = match_columns(table, options, file)
    clock = read_times(table, matched, options, file)
    samples, settled, found = build_samples(table, matched, clock, options, file)
    check_one_aircraft(table, samples, tuple(matched.unused), file)
    mended, repaired = repair(samples, file)
    if clock.elapsed and options.start_s is not None:
        mended = replace(mended, time_s=mended.time_s + (options.start_s - first_time(samples)))
    pressure_logged = matched.altitude_is_pressure
    if pressure_logged:
        mended = replace(mended, altitude_m=mended.altitude_m - options.air.above_indicated_m)
    gaps, holes = find_gaps(mended.time_s)
    filled_in = is_filled_in(mended.time_s, mended.latitude_rad, mended.longitude_rad)
    return Track(
        file=_shown(Path(path).name),
        format=table.format,
        time_s=mended.time_s,
        latitude_rad=mended.latitude_rad,
        longitude_rad=mended.longitude_rad,
        altitude_m=mended.altitude_m,
        recorded=mended.recorded,
        columns=_columns(table, matched, mended, {"time": (clock.unit, clock.basis), **settled}),
        gaps=gaps,
        notes=(
            *(_notes(table, matched, clock, options) + found + repaired + holes + (_FILLED_IN,) * filled_in),
            *(Note(text) for text in options.air.sentences(pressure_logged)),
        ),
        filled_in=filled_in,
        air=options.air,
    )


def _shown(name: str) -> str:
    """A file's name fit to print: what is no text, or would steer a terminal, becomes a replacement sign."""
    text = name.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
    return "".join(letter if letter.isprintable() else "\ufffd" for letter in text)


def _unpacked(path: Path, file: str) -> bytes:
    """The file's bytes, unzipped where they begin as gzip, up to the limit."""
    try:
        data = path.read_bytes() if path.stat().st_size <= MAX_BYTES else None
        if data is not None and data.startswith(_GZIP):
            with gzip.GzipFile(fileobj=io.BytesIO(data)) as packed:
                data = packed.read(MAX_BYTES + 1)
    except IsADirectoryError as error:
        raise LogError(f"{file}: a folder, not a log: name one file") from error
    except (EOFError, gzip.BadGzipFile, zlib.error) as error:
        raise LogError(f"{file}: damaged gzip file: {error}. Pack it again") from error
    except OSError as error:
        raise LogError(f"{file}: cannot be read: {error.strerror}: check the name and the rights") from error
    if data is None or len(data) > MAX_BYTES:
        raise LogError(f"{file}: larger than {MAX_BYTES // 2**20} MiB unpacked: cut the log down to the flight")
    if not data.strip():
        raise LogError(f"{file}: the file is empty: export the log again")
    return data


def _columns(table: RawTable, matched: Matched, samples: Samples, settled: Settled) -> tuple[Column, ...]:
    """How the columns were understood; those whose values the repair did not believe are unused."""
    return tuple(
        replace(column, quantity="unused", basis=f"{column.quantity} never filled or stuck at one value")
        if column.quantity in FIELDS and FIELDS[column.quantity] not in samples.recorded
        else column
        for column in matched.columns(table, settled)
    )


def _notes(table: RawTable, matched: Matched, clock: Clock, options: ReadOptions) -> tuple[Note, ...]:
    """What was inferred before the samples were looked at."""
    notes = table.notes + matched.notes + clock.notes
    if options.only is not None:
        notes = (Note(f"only rows with {options.only[0]} = {options.only[1]} are read", len(table)), *notes)
    return notes
