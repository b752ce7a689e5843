"""The data with which a page follows the flight second by second in all its pictures: positions, values and their scales."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from analyzer.checks.phrases import part_words
from analyzer.frozen import dataclass
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, FloatArray
from analyzer.report.pages.instruments import instruments_of
from analyzer.report.pictures.drawing import Frame
from analyzer.report.pictures.final_view import to_go_nm
from analyzer.report.pictures.page_pictures import Picture
from analyzer.report.pictures.plan_sheet import xy
from analyzer.report.pictures.series import Series
from analyzer.report.pictures.subject import Subject

__all__ = ["Reading", "cursor_json", "readings_of"]


# How a deviation is shown, by its unit: the unit in words, and the decimals.
_OFF_COURSE = {"°": ("°", 1), "NM": (" NM", 2)}


@dataclass(frozen=True, eq=False)
class Reading:
    """A quantity shown at the cursor. With `sides`, positive is right and negative is left."""

    quantity: str
    words: str
    unit: str
    decimals: int
    values: FloatArray
    sides: bool = False


def readings_of(series: Series) -> tuple[Reading, ...]:
    """The quantities that are known for an approach, in the order shown."""
    every = (
        Reading("altitude", "altitude", f" {series.height.name}", 0, series.altitude),
        Reading("distance", "distance", " NM", 2, series.distance_nm),
        Reading("ground_speed", "ground speed", " kt", 0, series.ground_speed_kt),
        Reading("indicated", "indicated airspeed", " kt", 0, series.indicated_kt),
        Reading("track", "track", "°", 0, series.track_deg),
        Reading("deviation", "off course", *_OFF_COURSE[series.deviation_unit], series.deviation, sides=True),
        Reading("bank", "bank", "°", 0, series.bank_deg, sides=True),
        Reading("turn_rate", "turn rate", "°/s", 1, series.turn_rate_deg_s, sides=True),
        Reading("vertical_speed", "vertical speed", " ft/min", 0, series.vertical_speed_fpm),
    )
    return tuple(reading for reading in every if any(map(math.isfinite, reading.values)))


def cursor_json(subject: Subject, pictures: Sequence[Picture]) -> str:
    """The data of one approach as JSON, safe inside a script element."""
    series = subject.series
    east, north = xy(series.states)
    document: dict[str, Any] = {
        "first": _first(subject, series),
        "start": round(float(series.time_s[0]), 3),
        "runs": _runs(_rounded(series.time_s - series.time_s[0], 1)),
        "places": {"plan": [_each(east, 3), _each(north, 3)], "profile": [_each(series.along_nm, 3)],
                   "final": [_each(_beyond_nm(subject, series), 3)]},
        "part": _steps(np.array(series.part, dtype=float)),
        "parts": [part_words(part.name, part.lap) for part in subject.parts] or [""],
        "readings": [
            {"quantity": r.quantity, "words": r.words, "unit": r.unit, "decimals": r.decimals, "sides": r.sides,
             "values": _each(r.values, r.decimals)}
            for r in readings_of(series)
        ],
        "panels": {
            picture.name: {view.layout: [_panel(frame) for frame in view.frames] for view in picture.views}
            for picture in pictures
        },
        "instruments": _instruments(subject),
    }  # fmt: skip
    text = json.dumps(document, separators=(",", ":"), allow_nan=False)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _instruments(subject: Subject) -> dict[str, Any]:
    """What the replay shows besides the readings; what stays the same for long as the seconds from which it holds."""
    shown = instruments_of(subject)
    return {
        "course": _steps(shown.course_deg),
        "share": _each(shown.share, 2),
        "toward": _steps(shown.toward),
        "relative": _each(shown.relative_deg, 0),
        "minimum": _steps(shown.minimum),
        "passed": _rounded(shown.passed_s, 2),
        "level": _rounded(shown.level_s, 2),
        "needle": shown.needle,
        "full": shown.full_scale,
        "station": asdict(shown.station),
        "height": {"name": subject.series.height.name, "metres": subject.series.height.metres},
        "variation": round(subject.debrief.motion.charted.variation.east_rad / DEG, 3),
        "fix": shown.fix,
        "notes": shown.notes,
    }


def _steps(values: FloatArray) -> list[list[float | int | None]]:
    """Whole numbers and the second from which each holds: ``[[0, 61], [120, 241]]``."""
    whole = _rounded(values, 0)
    return [[k, value] for k, value in enumerate(whole) if k == 0 or value != whole[k - 1]]


def _runs(seconds: Sequence[float | int | None]) -> list[list[float | int]]:
    """Seconds, mostly one apart, as the first of each run and how many follow: ``[[0, 480], [540, 61]]``."""
    runs: list[list[float | int]] = []
    for second in seconds:
        if second is None:
            continue
        if runs and second == runs[-1][0] + runs[-1][1]:
            runs[-1][1] += 1
        else:
            runs.append([second, 1])
    return runs


def _beyond_nm(subject: Subject, series: Series) -> FloatArray:
    """Distance beyond the threshold at every second, NaN where no final is flown. [NM]"""
    if subject.approach is None:
        return np.full(len(series.time_s), np.nan)
    return -to_go_nm(subject.debrief.motion, subject.approach.reversal, series.states)


def _first(subject: Subject, series: Series) -> int:
    """The index of the second shown first: that of the farthest point, or else 0."""
    farthest = subject.farthest
    return int(np.argmin(np.abs(series.time_s - farthest.time_s))) if farthest is not None else 0


def _panel(panel: Frame) -> dict[str, Any]:
    span = {"x": _rounded(panel.x, 4), "y": _rounded(panel.y, 4)}
    return {"quantity": panel.quantity, "box": _rounded(panel.box, 2), **span}


def _each(values: Iterable[float], decimals: int) -> list[float | int | str | None]:
    """The values of all seconds; where one is repeated twice or more, how often stands after it: ``[120, "41"]``."""
    known = np.fromiter(values, dtype=np.float64).round(decimals)
    same = (known[1:] == known[:-1]) | (np.isnan(known[1:]) & np.isnan(known[:-1]))
    listed: list[float | int | str | None] = []
    done, each = 0, _plain(known)
    for first, last in true_runs(same):
        if last - first > 1:
            listed += [*each[done : first + 1], str(last - first)]
            done = last + 1
    return listed + each[done:]


def _rounded(values: Iterable[float], decimals: int) -> list[float | int | None]:
    """Numbers for JSON: rounded, integers without a decimal point, null if not known."""
    return _plain(np.fromiter(values, dtype=np.float64).round(decimals))


def _plain(values: FloatArray) -> list[float | int | None]:
    """Numbers for JSON: integers without a decimal point, null if not known."""
    known = np.isfinite(values)
    if known.all() and bool((values == np.rint(values)).all()):
        whole: list[float | int | None] = values.astype(np.int64).tolist()
        return whole
    plain: list[float | int | None] = values.tolist()
    for k in np.flatnonzero((values == np.rint(values)) | ~known).tolist():
        plain[k] = int(values[k]) if known[k] else None
    return plain
