"""Lines of attempts that lie over each other: dashes, numbers in circles along them, and a legend, to follow each by.

The last attempt is a broad line beneath the others. Where lines coincide, their circles alternate.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from analyzer.physics.units import BoolArray, FloatArray
from analyzer.report.pictures.drawing import Frame, Line, Mark, Marker, Panel, Words
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.style import INK, PAPER
from analyzer.report.words.layout import clipped

if TYPE_CHECKING:
    from analyzer.comparison.attempt import Attempt

__all__ = ["attempt_line", "attempt_name", "draw_numbers", "legend", "legend_height"]

_DASHES: tuple[tuple[float, ...], ...] = (
    (), (5.5, 2.2), (1.4, 1.6), (6.6, 2.2, 1.4, 2.2), (3.3, 1.4), (8.8, 2.2, 1.2, 1.6, 1.2, 2.2),
)  # fmt: skip
_THIN_PT, _BROAD_PT, _BROAD_OPACITY = 1.2, 4.6, 0.5  # the broad line lies beneath, and thin ones are seen on it
_CIRCLE = 1.5  # of the size of type: a circle about a number
_APART = 1.1  # of a circle: how near another may stand
_STEP_PT = 3.0
_ROW, _SAMPLE_PT = 1.9, 44.0  # height of a row of the legend in sizes of type, and width of a sample of the line
_LETTER = 0.58  # of the size of type, about what a letter takes


def attempt_name(number: int) -> str:
    """Names of an attempt's lines and rows on the page."""
    return f"attempt-{number}"


def attempt_line(attempt: Attempt, attempts: Sequence[Attempt], x: FloatArray, y: FloatArray) -> Line:
    """A line of an attempt."""
    name = attempt_name(attempt.number)
    if attempt is attempts[-1]:
        return Line(x, y, INK, _BROAD_PT, level=4.5, opacity=_BROAD_OPACITY, name=name)
    return Line(x, y, INK, _THIN_PT, _DASHES[(attempt.number - 1) % len(_DASHES)], 5.0, name=name)


def draw_numbers(
    frame: Frame, layout: Layout, curves: Sequence[Line], every_pt: float, clear: FloatArray
) -> tuple[list[Mark], FloatArray]:
    """Numbers in circles along some lines of attempts, so far apart, and where they stand, shape (n, 2).

    They keep off each other and off the places `clear`, shape (n, 2). The number of a line is that in its name.
    """
    apart = _APART * _CIRCLE * layout.small
    taken = _on_paper(frame, clear[:, 0], clear[:, 1])
    free = len(taken)
    marks: list[Mark] = []
    for order, curve in enumerate(curves):
        places = _evenly(frame, curve)
        due, number = every_pt * (order + 0.5) / len(curves), curve.name.rpartition("-")[2]
        able = _inside(frame, places, 0.5 * apart) & (_distances(places, taken) >= apart).all(axis=1)
        while True:
            able[: math.ceil(due / _STEP_PT)] = False
            if not able.any():
                break
            k = int(np.argmax(able))
            place = places[k]
            taken = np.vstack([taken, place])
            able &= _distances(places, place[None])[:, 0] >= apart
            due = k * _STEP_PT + every_pt
            marks += _circled(
                frame.x[0] + place[0] * frame.x_per_point, frame.y[0] + place[1] * frame.y_per_point, number, layout,
                solid=bool(curve.opacity < 1.0),
            )  # fmt: skip
    standing = taken[free:]
    return marks, np.array([frame.x[0], frame.y[0]]) + standing * np.array([frame.x_per_point, frame.y_per_point])


def _circled(x: float, y: float, number: str, layout: Layout, *, solid: bool) -> tuple[Mark, Mark]:
    size = _CIRCLE * layout.small * (1.0 if len(number) < 3 else 1.3)
    fill, ink = (INK, PAPER) if solid else (PAPER, INK)
    return (
        Marker(x, y, "circle", size, INK, fill, 0.9, 7.0),
        Words(x, y, number, layout.small, ink, bold=True, level=7.1),
    )


def _on_paper(frame: Frame, x: FloatArray, y: FloatArray) -> FloatArray:
    """Places as points of type from the lower left corner, shape (n, 2)."""
    return np.column_stack([(x - frame.x[0]) / frame.x_per_point, (y - frame.y[0]) / frame.y_per_point])


def _evenly(frame: Frame, curve: Line) -> FloatArray:
    """Places on a line in even steps over the paper, NaN in its gaps. [points]"""
    known = np.flatnonzero(np.isfinite(curve.x) & np.isfinite(curve.y))
    places = _on_paper(frame, curve.x[known], curve.y[known])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(places, axis=0).T))])
    at = np.arange(0.0, along[-1], _STEP_PT)
    even = np.column_stack([np.interp(at, along, places[:, 0]), np.interp(at, along, places[:, 1])])
    after = np.minimum(np.searchsorted(along, at, side="right"), len(known) - 1)
    even[known[after] - known[after - 1] > 1] = np.nan
    return even


def _inside(frame: Frame, places: FloatArray, margin: float) -> BoolArray:
    x, y = places.T
    inside: BoolArray = (margin <= x) & (x <= frame.box[2] - margin) & (margin <= y) & (y <= frame.box[3] - margin)
    return inside


def _distances(some: FloatArray, others: FloatArray) -> FloatArray:
    """How far each of some places is from each of others. [points]"""
    distances: FloatArray = np.hypot(some[:, 0, None] - others[:, 0], some[:, 1, None] - others[:, 1])
    return distances


def legend_height(attempts: Sequence[Attempt], layout: Layout) -> float:
    """Height of the legend. [points]"""
    return (math.ceil(len(attempts) / _columns(layout)) + 0.6) * _ROW * layout.normal


def legend(attempts: Sequence[Attempt], layout: Layout, top: float) -> Panel:
    """Whose line is whose: a sample of each with its number, the pilot or else the log, and when it began."""
    height, columns = legend_height(attempts, layout), _columns(layout)
    frame = Frame("legend", (0.0, top, layout.width, height), (0.0, layout.width), (0.0, height))
    return Panel(frame, tuple(_entries(attempts, layout, frame, columns)))


def _entries(attempts: Sequence[Attempt], layout: Layout, frame: Frame, columns: int) -> Iterator[Mark]:
    wide, deep = layout.width / columns, math.ceil(len(attempts) / columns)
    for place, attempt in enumerate(attempts):
        x = (place // deep) * wide + 4.0
        y = frame.y[1] - (place % deep + 0.8) * _ROW * layout.normal
        yield attempt_line(attempt, attempts, np.array([x, x + _SAMPLE_PT]), np.array([y, y]))
        yield from _circled(x + 0.5 * _SAMPLE_PT, y, str(attempt.number), layout, solid=attempt is attempts[-1])
        when = f"{datetime.fromtimestamp(attempt.start_s, tz=UTC):%d %b %Y %H:%M}"
        letters = int((wide - _SAMPLE_PT - 16.0) / (_LETTER * layout.normal)) - len(when) - 2
        who = clipped(attempt.pilot or attempt.debrief.motion.track.file, max(6, letters))
        yield Words(x + _SAMPLE_PT + 7.0, y, f"{who}, {when}", layout.normal, across="left")


def _columns(layout: Layout) -> int:
    return 1 if layout.compass is None else 2
