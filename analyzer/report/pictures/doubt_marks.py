"""Marks where a flight is in doubt or its times were corrected: crosses on the plan, hatching in the strips, with a word."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from analyzer.motion.states import States
from analyzer.report.pictures.curve_words import CurveWords
from analyzer.report.pictures.drawing import Area, Frame, Mark, Marker, Words
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.plan_sheet import Sheet, xy
from analyzer.report.pictures.style import HATCH

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData

__all__ = ["hatch_doubts", "mark_doubts", "marked_stretches"]

_CROSS_PT = 9.0
_LEAST_SHARE = 0.004  # share of a strip's width: hatching of an instant is as wide as this


def marked_stretches(debrief: DebriefData, begin_s: float, end_s: float) -> Iterator[tuple[str, float, float]]:
    """The marked stretches between two instants: a word, and the start and end [s]."""
    stretches = [(doubt.mark, *span) for doubt in debrief.doubted for span in doubt.spans if doubt.mark]
    stretches += [(corrected.word, corrected.start_s, corrected.end_s) for corrected in debrief.motion.track.put_right]
    for word, begin, end in stretches:
        # where the aircraft was set down as the pictures begin, nothing is in doubt
        if (end > begin_s or begin >= begin_s) and begin <= end_s:
            yield word, begin, end


def mark_doubts(sheet: Sheet, debrief: DebriefData, states: States) -> None:
    """A cross on the track at the start of each marked stretch, with its word next to it."""
    x, y = xy(states)
    first, last = float(states.time_s[0]), float(states.time_s[-1])
    for word, begin, _ in marked_stretches(debrief, first, last):
        if begin < first:
            continue
        k = min(int(np.searchsorted(states.time_s, begin)), len(states) - 1)
        sheet.add(Marker(float(x[k]), float(y[k]), "cross", _CROSS_PT, edge=2.0, level=7.0))
        sheet.label(sheet.around(float(x[k]), float(y[k]), word, sheet.layout.normal), word, sheet.layout.normal, bold=True)


def hatch_doubts(frame: Frame, debrief: DebriefData, layout: Layout, drawn: Sequence[Mark], *, names: bool) -> Iterator[Mark]:
    """A hatched band over each marked stretch, with its word in the top strip, clear of what is drawn where there is room."""
    clear = CurveWords(frame, drawn)
    low, high = frame.x
    bottom, top = frame.y
    for word, begin, end in marked_stretches(debrief, low, high):
        left, right = max(begin, low), min(max(end, begin + _LEAST_SHARE * (high - low)), high)
        yield Area(np.array([left, left, right, right]), np.array([bottom, top, top, bottom]), HATCH, 3.0, hatched=True)
        if names:
            before = Words(left, bottom, word, layout.small, bold=True, across="right", up="bottom", away=(-3.0, 4.0))
            after = replace(before, x=right, across="left", away=(3.0, 4.0))
            near = (before, after) if right > low + 0.8 * (high - low) else (after, before)
            offered = [*near, *(replace(words, y=top, up="top", away=(words.away[0], -4.0)) for words in near)]
            yield clear.place(offered) or offered[0]
