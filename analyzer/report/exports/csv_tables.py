"""The debrief as tables for spreadsheets and data tools: the track, the parts and the findings, comma-separated (RFC 4180).

Text that a spreadsheet would take for a formula gets an apostrophe before it. Numbers are written as they are, times
as RFC 3339 in UTC, and unknown values are left empty.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from analyzer.checks.phrases import height_unit
from analyzer.physics.units import FloatArray
from analyzer.report.documents.debrief_document import debrief_document, entries, rfc3339
from analyzer.report.pictures.flight_segments import pieces
from analyzer.report.words.clearance_text import clearance_words
from analyzer.safe_text import no_formula, plain_line

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData
    from analyzer.procedure.charted import Charted

__all__ = ["findings_csv", "parts_csv", "track_csv"]

_PART_COLUMNS = (
    "part", "leg", "lap", "start", "end", "duration_s", "length_nm", "course_deg", "ground_speed_kt", "altitude_start_ft",
    "altitude_end_ft", "altitude_min_ft", "bank_mean_deg", "bank_peak_deg", "turn_rate_mean_deg_s", "turn",
)  # fmt: skip
_FINDING_COLUMNS = (
    "check", "leg", "part", "fix", "lap", "measured", "limit", "unit", "tolerance", "margin", "sd", "verdict", "reason",
    "excused_verdict", "time", "latitude_deg", "longitude_deg", "source", "basis", "sentence", "cause", "advice", "details",
)  # fmt: skip
# Decimals by the unit at the end of a column's name; those of a position resolve a centimetre.
_DECIMALS = {"itude_deg": 7, "_deg_s": 3, "_nm": 4, "_kt": 2, "_fpm": 1, "_ft": 1, "_deg": 2, "_deg_true": 2}


def track_csv(debrief: DebriefData) -> str:
    """The smoothed track, one row per sample of the log, with its approach or hold, part, leg and lap."""
    motion = debrief.motion
    frame = motion.to_frame().drop(columns="time")
    columns = [_numbers(str(name), frame[name].to_numpy()) for name in frame.columns]
    heading = ("time", *map(str, frame.columns), "reversal", "hold", "part", "leg", "lap")
    times = (rfc3339(float(time)) for time in motion.track.time_s)
    return _table(heading, zip(times, *columns, *_places(debrief), strict=True))


def parts_csv(debrief: DebriefData) -> str:
    """One row per part of every approach and hold, as in the JSON."""
    rows = ((*number, *(_cell(part[name]) for name in _PART_COLUMNS)) for number, part in _each(debrief, "parts"))
    return _table(("reversal", "hold", *_PART_COLUMNS), rows)


def findings_csv(debrief: DebriefData) -> str:
    """One row per finding of every approach and hold, as in the JSON; the lesson is `cause` and `advice`, details are JSON.

    Each row repeats the clearance, in words, and the line of minimums, if several are charted.
    """
    settled = tuple(map(_cell, _settled(debrief.motion.charted)))
    rows = ((*number, *_finding(finding), *settled) for number, finding in _each(debrief, "findings"))
    return _table(("reversal", "hold", *_FINDING_COLUMNS, "cleared", "minimum_line"), rows)


def _settled(charted: Charted) -> tuple[str | None, str | None]:
    minimum = charted.minimum if charted.procedure.minimums else None
    cleared = clearance_words(charted.cleared, height_unit(charted.altitude_unit))
    return cleared or None, minimum.line if minimum is not None else None


def _each(debrief: DebriefData, kind: str) -> Iterator[tuple[tuple[int | None, ...], Mapping[str, Any]]]:
    for number, entry in entries(debrief_document(debrief)):
        for row in entry[kind]:
            yield tuple(number.values()), row


def _finding(finding: Mapping[str, Any]) -> Iterator[Any]:
    flat = {**finding, **(finding["lesson"] or {"cause": None, "advice": None})}
    flat["excused_verdict"] = finding["excused"]["verdict"] if finding["excused"] is not None else None
    flat["details"] = json.dumps(finding["details"], ensure_ascii=False) if finding["details"] else None
    return (_cell(flat[name]) for name in _FINDING_COLUMNS)


def _numbers(name: str, values: FloatArray) -> list[str]:
    decimals = next(d for unit, d in _DECIMALS.items() if name.endswith(unit))
    rounded = np.round(values, decimals) + 0.0  # no negative zero
    return [f"{value:.{decimals}f}" if known else "" for value, known in zip(rounded, np.isfinite(rounded), strict=True)]


def _places(debrief: DebriefData) -> tuple[list[int | str | None], ...]:
    """The number of the approach, that of the hold, the part, leg and lap of every sample of the log."""
    time = debrief.motion.track.time_s
    stretches = pieces(debrief)
    of_sample = np.searchsorted([piece.start_s for piece in stretches], time, side="right") - 1
    flown = [stretches[k].flown for k in np.maximum(of_sample, 0)]
    return (
        [f.entry if f and f.of == "reversal" else None for f in flown],
        [f.entry if f and f.of == "hold" else None for f in flown],
        [f.part.name if f else None for f in flown],
        [f.part.leg if f else None for f in flown],
        [f.part.lap if f else None for f in flown],
    )


def _table(heading: Sequence[str], rows: Iterable[Iterable[Any]]) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text)  # the default dialect is RFC 4180: CRLF, quotes only where needed, and doubled
    writer.writerow(heading)
    writer.writerows(rows)
    return text.getvalue()


def _cell(value: Any) -> Any:
    """A JSON value as a cell: text on one line, never a formula."""
    return no_formula(plain_line(value)) if isinstance(value, str) else value
