"""Where a flight is in doubt or its times were corrected, marked in its pictures: crossed on the plan, hatched in the strips.

Each mark has a word.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes

from analyzer.motion.motion import States
from analyzer.report.pictures.plan_axes import Sheet, point, xy
from analyzer.report.pictures.style import INK

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData

__all__ = ["hatch_doubts", "mark_doubts", "marked_stretches"]

_HATCH = "#8a8a8a"
_CROSS_PT, _WORD_PT = 9.0, 9.0
_LEAST_SHARE = 0.004  # of a strip's width: an instant is hatched as wide as this


def marked_stretches(debrief: DebriefData, begin_s: float, end_s: float) -> Iterator[tuple[str, float, float]]:
    """What is marked from one instant to another: a word, and where its stretch begins and ends [s]."""
    stretches = [(doubt.mark, *span) for doubt in debrief.doubted for span in doubt.spans if doubt.mark]
    stretches += [(one.word, one.start_s, one.end_s) for one in debrief.motion.track.put_right]
    for word, begin, end in stretches:
        if end >= begin_s and begin <= end_s:
            yield word, begin, end


def mark_doubts(sheet: Sheet, debrief: DebriefData, states: States) -> None:
    """A cross on the track where each marked stretch begins, with its word next to it."""
    x, y = xy(states)
    first, last = float(states.time_s[0]), float(states.time_s[-1])
    for word, begin, _ in marked_stretches(debrief, first, last):
        if begin < first:
            continue
        k = min(int(np.searchsorted(states.time_s, begin)), len(states) - 1)
        sheet.axes.plot([x[k]], [y[k]], marker="x", color=INK, ms=_CROSS_PT, mew=2.0, zorder=7)
        places = []
        for bearing in (0.25, 0.75, 1.25, 1.75, 0.5, 1.5):
            ox, oy = point(2.2 * _CROSS_PT * sheet.nm_per_point, bearing * math.pi)
            places.append((float(x[k]) + ox, float(y[k]) + oy, math.pi / 2.0))
        sheet.label(places, word, _WORD_PT, color=INK, fontweight="bold")


def hatch_doubts(axes: Axes, debrief: DebriefData, *, names: bool) -> None:
    """A hatched band over each marked stretch, with its word in the uppermost strip."""
    low, high = axes.get_xlim()
    for word, begin, end in marked_stretches(debrief, low, high):
        left, right = max(begin, low), min(max(end, begin + _LEAST_SHARE * (high - low)), high)
        axes.axvspan(left, right, facecolor="none", edgecolor=_HATCH, hatch="//", lw=0.6, zorder=3)
        if names:
            far = right > low + 0.8 * (high - low)
            axes.text(
                left if far else right, 0.05, f" {word} ", transform=axes.get_xaxis_transform(),
                ha="right" if far else "left", va="bottom", fontsize=8.0, fontweight="bold", color=INK, zorder=8,
            )  # fmt: skip
