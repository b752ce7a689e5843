"""Frames for curves: axes lines, ticks and their words, drawn as few objects.

Matplotlib's own axis builds a dozen objects for each tick, which is most of the time a picture takes; here one collection of
lines and a text a tick do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection

from analyzer.report.pictures.style import INK, QUIET

__all__ = ["Tick", "inches", "minute_ticks", "number_ticks", "put_frame", "put_right_ticks", "put_words"]

Tick = tuple[float, str]

_TICK_PT = 3.0
_LEFT_WORDS_PT, _RIGHT_WORDS_PT, _BELOW_WORDS_PT = 56.0, 27.0, 20.0
_STEPS = (1.0, 2.0, 5.0)


def number_ticks(low: float, high: float, most: int) -> list[Tick]:
    """Round numbers from low to high, at most so many, with thousands set apart."""
    raw = (high - low) / most
    scale = 10.0 ** math.floor(math.log10(raw))
    step = next(s * scale for s in (*_STEPS, 10.0) if s * scale >= raw)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return [(k * step, f"{k * step:,.{decimals}f}".replace("-", "−")) for k in range(first, last + 1)]


def minute_ticks(start_s: float, end_s: float, most: int) -> list[Tick]:
    """Whole minutes from one instant to another, at most so many, as hours and minutes UTC."""
    minutes = (end_s - start_s) / 60.0
    step = next((s for s in (1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720) if minutes / s <= most), 1440) * 60.0
    first, last = math.ceil(start_s / step), math.floor(end_s / step)
    return [(k * step, datetime.fromtimestamp(k * step, tz=UTC).strftime("%H:%M")) for k in range(first, last + 1)]


def inches(axes: Axes) -> tuple[float, float]:
    """Width and height of axes."""
    return axes.bbox.width / axes.figure.dpi, axes.bbox.height / axes.figure.dpi


def put_frame(axes: Axes, x_ticks: Sequence[Tick], y_ticks: Sequence[Tick], x_words: bool = True) -> None:
    """Draw left and bottom edge with ticks, for axes whose limits are set. `x_words`: whether the bottom ticks have words."""
    axes.set_axis_off()
    (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    width_in, height_in = inches(axes)
    across = _TICK_PT / 72.0 * (right - left) / width_in
    down = _TICK_PT / 72.0 * (top - bottom) / height_in
    lines = [[(left, bottom), (left, top)], [(left, bottom), (right, bottom)]]
    lines += [[(x, bottom), (x, bottom - down)] for x, _ in x_ticks]
    lines += [[(left, y), (left - across, y)] for y, _ in y_ticks]
    axes.add_collection(LineCollection(lines, colors=QUIET, linewidths=0.7, clip_on=False, zorder=3), autolim=False)
    for y, word in y_ticks:
        axes.text(left - 1.8 * across, y, word, ha="right", va="center_baseline", color=INK)
    if x_words:
        for x, word in x_ticks:
            axes.text(x, bottom - 1.8 * down, word, ha="center", va="top", color=INK)


def put_right_ticks(axes: Axes, ticks: Sequence[Tick], words: str) -> None:
    """Ticks of a second scale at the right edge, and their label, for axes whose limits are set."""
    (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    across = _TICK_PT / 72.0 * (right - left) / inches(axes)[0]
    shown = [(y, word) for y, word in ticks if bottom <= y <= top]
    lines = [[(right, bottom), (right, top)], *([(right, y), (right + across, y)] for y, _ in shown)]
    axes.add_collection(LineCollection(lines, colors=QUIET, linewidths=0.7, clip_on=False, zorder=3), autolim=False)
    for y, word in shown:
        axes.text(right + 1.8 * across, y, word, ha="left", va="center_baseline", color=INK, fontsize=8.0)
    _beside(axes, words, (1.0, 0.5), (_RIGHT_WORDS_PT, 0.0), rotation=90.0, ha="left", va="center", fontsize=8.0)


def put_words(axes: Axes, left: str, below: str) -> None:
    """Labels of the scales: at the left, written upwards, and below the bottom's words where it is not empty."""
    _beside(axes, left, (0.0, 0.5), (-_LEFT_WORDS_PT, 0.0), rotation=90.0, ha="left", va="center", multialignment="center")
    if below:
        _beside(axes, below, (0.5, 0.0), (0.0, -_BELOW_WORDS_PT), ha="center", va="top")


def _beside(axes: Axes, words: str, share: tuple[float, float], away_pt: tuple[float, float], **style: Any) -> None:
    """Words at a place given as shares of the axes, moved by points of type."""
    axes.annotate(words, share, away_pt, xycoords="axes fraction", textcoords="offset points", annotation_clip=False, **style)
