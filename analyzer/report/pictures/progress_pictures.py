"""The small pictures of a pilot's progress: each figure from attempt to attempt, with its limit and what was outside it.

The verdict is shown without colour too: a square is outside, a ring too close to call or excused, a dot anything else. A trend
has a line only where it can be claimed.
"""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from analyzer.checks.finding import CLOSE, OUTSIDE
from analyzer.comparison.figure_limits import EXCUSED, Limited
from analyzer.frozen import dataclass
from analyzer.physics.units import FloatArray
from analyzer.report.pictures.drawing import Dots, Drawing, Frame, Line, Mark, Panel, Words, straight
from analyzer.report.pictures.frame import number_ticks
from analyzer.report.pictures.style import CLOSE_COLOUR, INK, LEG_COLOUR, PAPER, QUIET, WARN
from analyzer.report.pictures.svg import inline_svg
from analyzer.report.words.compare_text import sentence_name, slope_words

if TYPE_CHECKING:
    from analyzer.comparison.comparing import Row
    from analyzer.comparison.progress import KeptAttempt

__all__ = ["PROGRESS_NOTE", "ProgressPicture", "progress_pictures"]

PROGRESS_NOTE = (
    "In the order flown, from left to right. A square is outside its limit, a ring too close to call or excused; the dashed "
    "line is the limit. Thin lines join the attempts; a heavy straight one is a trend that can be claimed."
)
_WIDTH, _HEIGHT = 252.0, 112.0
_LEFT, _RIGHT, _TOP, _BELOW = 40.0, 10.0, 8.0, 20.0
_SMALL, _FEW = 9.0, 60
_COLOUR = LEG_COLOUR["outbound"]
_NO_PICTURE = ("hold_laps",)


@dataclass(frozen=True)
class ProgressPicture:
    """A small picture for a page: the figure's key, the SVG, a caption, alternative text, and whether it has a limit."""

    key: str
    svg: str
    caption: str
    alt: str
    limited: bool


def progress_pictures(rows: Sequence[Row], attempts: Sequence[KeptAttempt], prefix: str) -> tuple[ProgressPicture, ...]:
    """A picture of each figure that at least two attempts have, those outside most often first.

    `prefix` keeps ids distinct from those of other pictures on a page.
    """
    pictures = []
    for place, row in enumerate(rows):
        if row.figure.key not in _NO_PICTURE and sum(value is not None for value in row.values) > 1:
            limits = [attempt.limits.get(row.figure.key) for attempt in attempts]
            outside = sum(limit is not None and limit.verdict == OUTSIDE for limit in limits)
            pictures.append((-outside, place, _picture(row, limits, attempts, prefix)))
    return tuple(picture for _, _, picture in sorted(pictures, key=lambda one: one[:2]))


def _picture(row: Row, limits: Sequence[Limited | None], attempts: Sequence[KeptAttempt], prefix: str) -> ProgressPicture:
    values = np.array([np.nan if value is None else value.value for value in row.values])
    limit = np.array([np.nan if one is None else one.limit for one in limits])
    frame = _frame(row, values, limit)
    marks = [*_values(values, limits), *_limit(limit), *_trend(row, values), *_scales(row, frame, attempts)]
    drawing = Drawing(_WIDTH, _HEIGHT, (Panel(frame, tuple(marks)),))
    svg = inline_svg(drawing, f"{prefix}{row.figure.key}-")
    return ProgressPicture(row.figure.key, svg, *_words(row, limits), bool(np.isfinite(limit).any()))


def _frame(row: Row, values: FloatArray, limit: FloatArray) -> Frame:
    """The frame; its height is at least a change that a pilot would notice, so that scatter below that looks like none."""
    known = np.concatenate([values[np.isfinite(values)], limit[np.isfinite(limit)]])
    low, high = float(known.min()), float(known.max())
    room = 0.08 * (high - low) + max(0.0, row.figure.worth - (high - low)) / 2.0
    box = (_LEFT, _TOP, _WIDTH - _LEFT - _RIGHT, _HEIGHT - _TOP - _BELOW)
    return Frame("progress", box, (0.5, len(values) + 0.5), (low - room, high + room))


def _values(values: FloatArray, limits: Sequence[Limited | None]) -> Iterator[Mark]:
    """The values: a thin line where there are few, and a sign each."""
    x, size = np.arange(1.0, len(values) + 1.0), 6.0 if len(values) <= _FEW else 3.6
    known = np.isfinite(values)
    if len(values) <= _FEW:
        yield Line(x[known], values[known], _COLOUR, 0.8, level=4.0, opacity=0.5)
    verdicts = np.array(["" if limit is None else limit.verdict for limit in limits])
    outside, close, excused = (known & (verdicts == word) for word in (OUTSIDE, CLOSE, EXCUSED))
    plain = known & ~outside & ~close & ~excused
    yield Dots(x[plain], values[plain], _COLOUR, size, level=6.0)
    for ring, colour in ((close, CLOSE_COLOUR), (excused, QUIET)):
        yield Dots(x[ring], values[ring], colour, size + 1.6, level=6.1)
        yield Dots(x[ring], values[ring], PAPER, size - 1.4, level=6.2)
    yield Dots(x[outside], values[outside], WARN, size, square=True, level=6.3)


def _limit(limit: FloatArray) -> Iterator[Mark]:
    """The limit, in steps where it changes; where an attempt has none, it goes on as before."""
    known = np.flatnonzero(np.isfinite(limit))
    if not len(known):
        return
    at = np.clip(np.searchsorted(known, np.arange(len(limit)), side="right") - 1, 0, None)
    each = limit[known[at]]
    x = np.repeat(np.arange(len(limit) + 1) + 0.5, 2)[1:-1]
    yield Line(x, np.repeat(each, 2), WARN, 1.1, (4.0, 2.6), level=3.0)


def _trend(row: Row, values: FloatArray) -> Iterator[Mark]:
    """The claimed trend: its slope through the medians of places and values (Theil and Sen)."""
    if not row.claimed or row.trend is None:
        return
    places = np.flatnonzero(np.isfinite(values))
    middle, slope = statistics.median(values[places].tolist()), row.trend.slope
    from_middle = slope * (np.arange(float(len(places))) - (len(places) - 1.0) / 2.0)
    yield Line(places.astype(float) + 1.0, middle + from_middle, INK, 1.6, level=5.0)


def _scales(row: Row, frame: Frame, attempts: Sequence[KeptAttempt]) -> Iterator[Mark]:
    left, bottom = frame.x[0], frame.y[0]
    yield straight((left, bottom), (frame.x[1], bottom), QUIET, 0.7, clipped=False)
    ticks = number_ticks(*frame.y, 4)
    for y, word in ticks if row.figure.decimals else (tick for tick in ticks if tick[0] == round(tick[0])):
        yield straight((left, y), (left - 3.0 * frame.x_per_point, y), QUIET, 0.7, clipped=False)
        yield Words(left, y, word, _SMALL, across="right", away=(-5.0, 0.0))
    first, last = (_day(attempt.start_s) for attempt in (attempts[0], attempts[-1]))
    yield Words(left, bottom, first, _SMALL, QUIET, across="left", up="top", away=(0.0, -5.0))
    yield Words(frame.x[1], bottom, last, _SMALL, QUIET, across="right", up="top", away=(0.0, -5.0))


def _words(row: Row, limits: Sequence[Limited | None]) -> tuple[str, str]:
    """The caption of a picture, and its alternative text."""
    known = [value.value for value in row.values if value is not None]
    name, unit = sentence_name(row), row.figure.unit
    name = f"{name[:1].upper()}{name[1:]}{f' [{unit}]' if unit else ''}"
    first, last, low, high = (_number(row, value) for value in (known[0], known[-1], min(known), max(known)))
    judged = [limit for limit in limits if limit is not None]
    counts = _counts(judged)
    bounds = list(dict.fromkeys(_number(row, limit) for limit in sorted(one.limit for one in judged)))
    limit_words = f"limit {bounds[0]}" if len(bounds) == 1 else f"limits {bounds[0]} to {bounds[-1]}" if bounds else ""
    trend = ""
    if row.claimed and row.trend is not None:
        trend = f"trend {'up' if row.trend.slope > 0.0 else 'down'} {slope_words(row)} an attempt"
    details = "; ".join(filter(None, (f"first {first}, last {last}", limit_words, counts, trend)))
    return f"{name}: {details}.", f"{name} of {len(known)} attempts: {details}; from {low} to {high}."


def _counts(judged: Sequence[Limited]) -> str:
    said = []
    for verdict, word in ((OUTSIDE, "outside"), (CLOSE, "too close"), (EXCUSED, "excused")):
        many = sum(limit.verdict == verdict for limit in judged)
        if many:
            said.append(f"{many} of {len(judged)} {word}")
    return ", ".join(said)


def _number(row: Row, value: float) -> str:
    shown = round(value, row.figure.decimals) + 0.0  # no negative zero
    return f"{shown:,.{row.figure.decimals}f}".replace("-", "−")


def _day(time_s: float) -> str:
    day = datetime.fromtimestamp(time_s, tz=UTC)
    return f"{day.day} {day:%b %Y}"
