"""How a log was read, as plain text 80 columns wide: for ``analyzer inspect``."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from functools import partial

import numpy as np

from analyzer.physics.units import DEG, FT, wrap
from analyzer.report.words.layout import clipped, labelled, wrapped
from analyzer.track.references import REFERENCES
from analyzer.track.track import Column, Gap, Track, counted

__all__ = ["inspect_text"]

_labelled = partial(labelled, columns=10)
_GAPS_SHOWN = 10
_NAME_WIDTH = 22
_QUANTITY_WIDTH = 19
_UNIT_WIDTH = 14
_SAME_STEP = 0.05  # a step within 5 % of the median counts as equal to it


def inspect_text(track: Track) -> str:
    """A log in short: span, samples, altitudes, extent, gaps, how each column was read and why, and repairs.

    Ends with a line break; no line is longer than 80 characters.
    """
    lines = [
        *_labelled("Log", track.file),
        *_labelled("Format", track.format),
        *_labelled("Time", _span(track)),
        *_labelled("Samples", _samples(track)),
        *_labelled("Altitude", _altitudes(track)),
        *_labelled("Position", _extent(track)),
        *_labelled("Gaps", _gaps(track.gaps)),
        "",
        "Columns",
        *_columns(track.columns),
        "",
        "Inferred, repaired and left out",
        *_bullets(note.text for note in track.notes),
    ]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _bullets(texts: Iterable[str]) -> list[str]:
    bullets = [wrapped(text, "  - ", "    ") for text in texts]
    return [line for lines in bullets for line in lines] or ["  nothing"]


def _instant(time_s: float) -> datetime:
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=round(time_s))


def _duration(seconds: float) -> str:
    minutes, second = divmod(round(seconds), 60)
    hours, minute = divmod(minutes, 60)
    if hours:
        return f"{hours} h {minute:02d} min {second:02d} s"
    return f"{minute} min {second:02d} s" if minute else f"{second} s"


def _span(track: Track) -> str:
    first, last = _instant(float(track.time_s[0])), _instant(float(track.time_s[-1]))
    end = f"{last:%H:%M:%S}" if first.date() == last.date() else f"{last:%Y-%m-%d %H:%M:%S}"
    return f"{first:%Y-%m-%d %H:%M:%S} to {end} UTC, {_duration(float(track.time_s[-1] - track.time_s[0]))}"


def _samples(track: Track) -> str:
    steps = np.diff(track.time_s)
    share = float(np.mean(np.abs(steps - track.interval_s) <= _SAME_STEP * track.interval_s))
    return f"{len(track):,}, every {track.interval_s:.3g} s in {share:.0%} of the intervals"


def _altitudes(track: Track) -> str:
    known = track.altitude_m[np.isfinite(track.altitude_m)] / FT
    if not len(known):
        return "none"
    missing = len(track) - len(known)
    lacking = f"; {counted(missing, 'sample')} without altitude" if missing else ""
    reference = REFERENCES[track.altitude_reference].words
    return f"{known.min():,.0f} to {known.max():,.0f} ft; {reference}{lacking}"


def _extent(track: Track) -> str:
    latitude = (track.latitude_rad.min(), track.latitude_rad.max())
    eastward = np.unwrap(track.longitude_rad)
    west, east = wrap(np.array([eastward.min(), eastward.max()]))
    south, north = (_degrees(value, "NS") for value in latitude)
    return f"{south} to {north}, {_degrees(west, 'EW')} to {_degrees(east, 'EW')}"


def _degrees(angle_rad: float, letters: str) -> str:
    return f"{abs(angle_rad) / DEG:.4f}° {letters[int(angle_rad < 0.0)]}"


def _gaps(gaps: Sequence[Gap]) -> str:
    if not gaps:
        return "none"
    listed = [f"{_instant(gap.start_s):%H:%M:%S} to {_instant(gap.end_s):%H:%M:%S}" for gap in gaps[:_GAPS_SHOWN]]
    more = f" and {len(gaps) - _GAPS_SHOWN} more" if len(gaps) > _GAPS_SHOWN else ""
    return f"{len(gaps)}: {', '.join(listed)}{more}"


def _columns(columns: Sequence[Column]) -> Iterator[str]:
    """One row for each column that is used or could be; the others in one list."""
    for column in columns:
        if column.quantity != "unused" or column.basis:
            yield from _column_row(column)
    idle = [column.name for column in columns if column.quantity == "unused" and not column.basis]
    if idle:
        yield from wrapped(f"not used: {', '.join(idle)}", "  ", "    ")


def _column_row(column: Column) -> list[str]:
    cells = (
        (column.name, _NAME_WIDTH),
        (column.quantity.replace("_", " "), _QUANTITY_WIDTH),
        (column.unit, _UNIT_WIDTH),
    )
    head = "  " + "".join(f"{clipped(text, width - 1):<{width}}" for text, width in cells)
    return labelled(head, column.basis or "-", len(head))
