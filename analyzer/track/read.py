"""A log file to a track: opened, its format recognised by its content, its columns understood, its faults repaired.

bytes -> raw table -> columns and units -> times -> samples -> repairs -> Track
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from analyzer.errors import printable
from analyzer.physics.units import FT
from analyzer.track.aircraft import check_not_alternating, check_one_aircraft, keep_only
from analyzer.track.clock import Clock
from analyzer.track.clock_changes import follow_clock_changes
from analyzer.track.column_names import read_name
from analyzer.track.columns import Matched, Settled, match_columns
from analyzer.track.even_fixes import EvenFixes, find_even_fixes
from analyzer.track.filled import is_filled_in
from analyzer.track.filled_lines import drop_filled_lines
from analyzer.track.filled_stretches import drop_filled_stretches
from analyzer.track.formats import read_table
from analyzer.track.joined_positions import with_positions_apart
from analyzer.track.log_format import read_log_format
from analyzer.track.open_questions import OpenError
from analyzer.track.options import ReadOptions
from analyzer.track.order import first_time
from analyzer.track.quantities import FIELDS
from analyzer.track.raw_table import RawTable
from analyzer.track.references import ALTITUDE_FROM, REFERENCES
from analyzer.track.repair import find_gaps, repair
from analyzer.track.restarts import follow_restarts
from analyzer.track.samples import Samples, build_samples
from analyzer.track.source import STANDARD_INPUT, read_source
from analyzer.track.timestamps import read_times
from analyzer.track.track import Column, Note, PutRight, Track
from analyzer.track.true_fixes import keep_even_fixes, keep_true_fixes
from analyzer.track.written_units import with_units_apart
from analyzer.vocabulary import AltitudeReference

__all__ = ["ReadOptions", "read_log_format", "read_track"]


def read_track(path: str | Path, options: ReadOptions | None = None) -> Track:
    """Read a position log in any of the `formats`, plain, gzipped or alone in a zip; ``-`` is standard input.

    `options` settle what the file leaves open. Raises `LogError`, whose message names the file, the place and the remedy,
    where the file cannot be read, is larger than the options' limits, or leaves something open that must not be guessed.

    >>> track = read_track("sample_tracks/strong_wind.csv")
    >>> len(track), track.format, track.interval_s
    (919, 'CSV (semicolon)', 1.0)
    >>> print(track.notes[0].text)
    the times carry no zone: read as UTC

    What a log leaves open is given in the options:

    >>> options = ReadOptions(altitude_from="sea-level")
    >>> read_track("sample_tracks/strong_wind.csv", options).altitude_reference
    'mean sea level'
    """
    options = options or ReadOptions()
    is_input = str(path) == STANDARD_INPUT
    file = "standard input" if is_input else printable(str(path))
    table = read_table(read_source(path, file, options.limits), file, options)
    options.limits.check_samples(len(table), file)
    if options.only is not None:
        table = keep_only(table, options.only, file)
    table = with_units_apart(with_positions_apart(table))
    matched = match_columns(table, options, file)
    clock = _clock(table, matched, options, file)
    samples, settled, sample_notes = build_samples(table, matched, clock, options, file)
    check_one_aircraft(table, samples, tuple(matched.unused), file)
    samples, changed = follow_clock_changes(samples)
    samples, restarted = follow_restarts(samples)
    check_not_alternating(samples, file)
    cleaned, repaired = repair(samples, file)
    if clock.elapsed and options.start_s is not None:
        cleaned = replace(cleaned, time_s=cleaned.time_s + (options.start_s - first_time(samples)))
    reference = _reference(table, matched, options)
    pressure_logged = reference == "pressure altitude"
    if reference == "pressure altitude" and options.air.qnh_pa is not None:
        cleaned = replace(cleaned, altitude_m=cleaned.altitude_m - options.air.above_indicated_m)
        reference = "pressure altitude, QNH applied"
    even = find_even_fixes(cleaned)
    filled_in = even is not None or is_filled_in(cleaned)
    cleaned, thinned = _received(cleaned, even, filled_in)
    gaps, holes = find_gaps(cleaned.time_s)
    silent_s = sum(gap.end_s - gap.start_s for gap in gaps)
    options.limits.check_seconds(float(cleaned.time_s[-1] - cleaned.time_s[0]) - silent_s, file)
    notes = (
        *(_notes(table, matched, clock, options) + sample_notes + changed + restarted + repaired + thinned + holes),
        *(Note(text) for text in _reference_notes(table, matched, options, reference)),
        *(Note(text) for text in options.air.sentences(pressure_logged)),
    )
    columns = _columns(table, matched, cleaned, {"time": (clock.unit, clock.basis), **settled})
    return Track(
        file=file if is_input else printable(Path(path).name),
        format=table.format,
        time_s=cleaned.time_s,
        latitude_rad=cleaned.latitude_rad,
        longitude_rad=cleaned.longitude_rad,
        altitude_m=cleaned.altitude_m,
        recorded=cleaned.recorded,
        columns=columns,
        gaps=gaps,
        notes=tuple(replace(note, text=printable(note.text)) for note in notes),
        filled_in=filled_in,
        fixes_every_s=even.interval_s if even is not None else None,
        air=options.air,
        put_right=tuple(_put_right(cleaned)),
        takes_off=cleaned.takes_off,
        begins_s=tuple(_begins_s(cleaned)),
        altitude_reference=reference,
        pilot=table.pilot,
    )


def _received(samples: Samples, even: EvenFixes | None, filled_in: bool) -> tuple[Samples, tuple[Note, ...]]:
    """The samples that were received, without those filled in between them, and notes on these."""
    if even is not None:
        return keep_even_fixes(samples, even)
    if filled_in:
        return keep_true_fixes(samples)
    samples, stretches = drop_filled_stretches(samples)
    samples, lines = drop_filled_lines(samples)
    return samples, stretches + lines


def _put_right(samples: Samples) -> Iterator[PutRight]:
    """The stretches whose times were corrected, as far as their samples remain."""
    for word, first, last in samples.put_right:
        kept = samples.time_s[(samples.row >= first) & (samples.row <= last)]
        if len(kept):
            yield PutRight(word, float(kept.min()), float(kept.max()))


def _begins_s(samples: Samples) -> Iterator[float]:
    """When the further flights of the log begin, as far as their samples remain. [s]"""
    for row in samples.begins:
        since = samples.time_s[samples.row >= row]
        if len(since) and since[0] > samples.time_s[0]:
            yield float(since[0])


def _clock(table: RawTable, matched: Matched, options: ReadOptions, file: str) -> Clock:
    """The times of the rows. What the columns and the times leave open is asked in one error."""
    questions = list(matched.questions)
    clock = None
    if "time" in matched.by_quantity:
        try:
            clock = read_times(table, matched, options, file)
        except OpenError as error:
            questions += error.questions
    if questions or clock is None:
        raise OpenError(file, questions)
    return clock


def _reference(table: RawTable, matched: Matched, options: ReadOptions) -> AltitudeReference:
    """What the altitude counts from, by the user's choice, its quantity, the format, or the column's name."""
    altitude = matched.by_quantity.get("altitude")
    if altitude is None:
        return "unknown"
    if options.altitude_from is not None:
        return ALTITUDE_FROM[options.altitude_from]
    if matched.altitude_is_pressure:
        return "pressure altitude"
    return table.altitude_references.get(altitude.name) or read_name(altitude.name).reference


def _reference_notes(table: RawTable, matched: Matched, options: ReadOptions, reference: AltitudeReference) -> Iterator[str]:
    """Notes on an altitude that does not count from sea level, or whose reference the user stated."""
    altitude = matched.by_quantity.get("altitude")
    if altitude is None:
        return
    if options.altitude_from is not None:
        yield f"--altitude-from {options.altitude_from}: the altitudes are taken as {REFERENCES[reference].words}"
    elif matched.altitude_is_pressure:
        yield f"the altitude is pressure altitude ({altitude.name!r})"
    off = REFERENCES[reference].offset_sd_m
    if reference == "pressure altitude":
        yield (
            f"no altimeter setting is applied, which may put pressure altitude off by {round(2.0 * off / FT, -1):.0f} ft, and "
            "its stated error allows for that: give one with --qnh"
        )
    elif reference == "ellipsoid" and table.altitude_references.get(altitude.name) != reference:
        yield "altitudes above the ellipsoid are up to 100 m from sea level, which their stated error allows for"


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
