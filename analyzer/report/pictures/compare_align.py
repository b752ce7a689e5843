"""Attempts aligned part by part: each part is stretched to the same width in every attempt.

If all attempts flew the same shape, its parts are aligned, even if some lack one; so are the laps of a hold, whatever its
entry. Otherwise the legs are.
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence

import numpy as np

from analyzer.comparison.attempt import Attempt
from analyzer.frozen import dataclass
from analyzer.legs.reversal import Part, Reversal
from analyzer.physics.units import FloatArray
from analyzer.report.pictures.series import Series
from analyzer.report.pictures.subject import Subject
from analyzer.vocabulary import FLOWN_LEGS, Leg

__all__ = ["Aligned", "Segment", "align"]

_LEAST_SHARE = 0.015  # the smallest share of the whole that a segment is drawn with


@dataclass(frozen=True)
class Segment:
    """A part or leg, the leg it belongs to, and its stretch of the common scale."""

    name: str
    leg: Leg
    start: float
    end: float


@dataclass(frozen=True, eq=False)
class Aligned:
    """The common segments, and each attempt's series with the positions of its seconds on the common scale."""

    segments: tuple[Segment, ...]
    series: tuple[Series, ...]
    positions: tuple[FloatArray, ...]


def align(attempts: Sequence[Attempt]) -> Aligned:
    """The series of all attempts on one scale, from 0 to 1. A segment is as wide as its median duration."""
    series = tuple(Subject(attempt.debrief, attempt.approach).series for attempt in attempts)
    reversals = [attempt.approach.reversal for attempt in attempts]
    alike = len({reversal.flown for reversal in reversals}) == 1 or all(attempt.hold is not None for attempt in attempts)
    parts = _common_parts([tuple(map(_name, reversal.parts)) for reversal in reversals]) if alike else ()
    leg_of: dict[str, Leg] = {leg: leg for leg in FLOWN_LEGS}
    if parts:
        leg_of = {_name(part): part.leg for reversal in reversals for part in reversal.parts}
    stretches = [
        (_parts if parts else _legs)(attempt.approach.reversal, float(one.time_s[0]))
        for attempt, one in zip(attempts, series, strict=True)
    ]
    order = tuple(name for name in parts or FLOWN_LEGS if any(name in stretch for stretch in stretches))
    median = [statistics.median(end - start for start, end in (s[name] for s in stretches if name in s)) for name in order]
    widths = np.maximum(median, _LEAST_SHARE * sum(median))
    edges = np.concatenate([[0.0], np.cumsum(widths)]) / widths.sum()
    segments = tuple(
        Segment(name.replace("_", " "), leg_of[name], float(edges[k]), float(edges[k + 1])) for k, name in enumerate(order)
    )
    positions = tuple(
        _positions(one, [stretch.get(name) for name in order], segments) for one, stretch in zip(series, stretches, strict=True)
    )
    return Aligned(segments, series, positions)


def _name(part: Part) -> str:
    """The name of a part with its lap."""
    return part.name if part.lap is None else f"{part.name} {part.lap}"


def _common_parts(flown: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    """The longest sequence of parts, if it contains those of all attempts and each part once; else empty."""
    longest = max(flown, key=len)
    common = len(set(longest)) == len(longest) and all(
        tuple(name for name in longest if name in set(names)) == names for names in flown
    )
    return longest if common else ()


def _parts(reversal: Reversal, shown_from_s: float) -> dict[str, tuple[float, float]]:
    return {_name(part): (max(part.start_s, shown_from_s), part.end_s) for part in reversal.parts}


def _legs(reversal: Reversal, shown_from_s: float) -> dict[str, tuple[float, float]]:
    """Each leg once; a leg flown several times, as in circuits of a hold, spans all from the first to the last."""
    found: dict[str, tuple[float, float]] = {}
    until = shown_from_s
    for leg in FLOWN_LEGS:
        spans = reversal.leg_spans(leg)
        if spans and spans[-1][1] > until:
            found[leg] = (max(spans[0][0], until), spans[-1][1])
            until = spans[-1][1]
    return found


def _positions(series: Series, stretches: Sequence[tuple[float, float] | None], segments: Sequence[Segment]) -> FloatArray:
    """The position of every second on the common scale; NaN outside all segments, and one NaN for a segment not flown."""
    time, position = series.time_s, np.full(len(series.time_s), np.nan)
    missing = False
    for stretch, segment in zip(stretches, segments, strict=True):
        if stretch is None:
            missing = True
            continue
        start, end = stretch
        inside = np.flatnonzero((time >= start) & (time <= end))
        position[inside] = segment.start + (time[inside] - start) / max(end - start, 1e-9) * (segment.end - segment.start)
        if missing and len(inside):
            position[inside[0]] = np.nan  # breaks the line over a segment that was not flown
        missing = False
    return position
