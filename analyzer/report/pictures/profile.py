"""The profile: altitude along the track flown, over the charted minimum of each leg."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analyzer.checks.phrases import clock
from analyzer.motion.motion import States
from analyzer.physics.units import FT, NM, FloatArray
from analyzer.report.pictures.bare_axes import add_bare_axes
from analyzer.report.pictures.frame import inches, number_ticks, put_frame, put_words
from analyzer.report.pictures.minimum_lines import minimum_lines
from analyzer.report.pictures.style import INK, LEG_COLOUR, PAPER, QUIET, WARN, shade_legs, shown_span, with_breaks

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = ["Marks", "draw_profile", "profile"]

Marks: TypeAlias = Sequence[tuple[float, str]]


_ROOM_SHARE = 0.08  # of the width: nearer to the right edge a name is written on the left
_MARK_ROWS, _MARK_ROW_PT, _LETTER_PT = 3, 10.0, 5.0  # words of events: rows, and about what a letter takes
_STEP_SHOWN_FT = 60.0  # below a fix's minimum: where it ends
_LEAST_SPAN_FT = 500.0  # shown at least, so that level flight looks level


def profile(debrief: DebriefData, approach: Approach, marks: Marks = ()) -> Figure | None:
    """The profile of one approach as a figure of its own, or None where the log has no altitude.

    `marks` are instants with words to be written there, besides the events of the approach.
    """
    if not debrief.motion.has_altitude:
        return None
    figure = Figure(figsize=(8.4, 3.6))
    draw_profile(add_bare_axes(figure, (0.105, 0.145, 0.88, 0.77), "profile"), debrief, approach, marks)
    return figure


def draw_profile(axes: Axes, debrief: DebriefData, approach: Approach, marks: Marks = ()) -> None:
    """Draw the profile of one approach into axes, for a flight whose log has altitudes."""
    reversal = approach.reversal
    states = debrief.motion.states.between(*shown_span(reversal))
    along = _along(states)
    axes.set_xlim(float(along[0]), float(along[-1]))
    shade_legs(axes, reversal, (states.time_s, along), names=True)
    altitude = states.altitude_m / FT
    for leg, colour in LEG_COLOUR.items():
        for span in reversal.leg_spans(leg):
            inside = (states.time_s >= span[0]) & (states.time_s <= span[1])
            if not inside.any():
                continue
            axes.plot(*with_breaks(states.time_s[inside], along[inside], altitude[inside]), color=colour, lw=2.2, zorder=4)
    _minimums(axes, debrief, approach, states, along)
    _briefed(axes, approach, states, along)
    _events(axes, debrief, approach, states, along, marks)
    top, bottom = float(np.nanmax(altitude)), float(np.nanmin(altitude))
    floors = [floor / FT for floor in debrief.motion.charted.levels_m.values()]
    low, high = min([bottom, *floors]), max([top, *floors])
    shown = max(high - low, _LEAST_SPAN_FT)
    axes.set_ylim(low - 0.16 * shown, high + 0.2 * shown)
    put_frame(axes, number_ticks(*axes.get_xlim(), 12), number_ticks(*axes.get_ylim(), 7))
    put_words(axes, left="altitude, ft MSL", below="distance flown in this picture, NM")


def _along(states: States) -> FloatArray:
    """Distance flown since the first state. [NM]"""
    step = np.diff(states.time_s) * (states.ground_speed_mps[1:] + states.ground_speed_mps[:-1]) / 2.0
    return np.concatenate([[0.0], np.cumsum(step)]) / NM


def _minimums(axes: Axes, debrief: DebriefData, approach: Approach, states: States, along: FloatArray) -> None:
    """The minimum of each leg while it holds, and of each charted fix up to it, with its name."""
    letter, said = _letter_nm(axes, along), False
    lines = minimum_lines(debrief, approach)
    for line, then in zip(lines, (*lines, None)[1:], strict=True):
        left, right = (float(np.interp(t, states.time_s, along)) for t in (line.start_s, line.end_s))
        if right <= left:
            continue
        feet = line.altitude_m / FT
        step = [(right, feet - _STEP_SHOWN_FT)] if line.fix is not None else []
        axes.plot(*zip((left, feet), (right, feet), *step, strict=True), color=WARN, lw=1.1, zorder=3)
        words = f"{feet:,.0f}" if line.fix is None else f"{line.fix} {feet:,.0f}"
        if line.fix is None and letter * (len(words) + 1) > right - left:
            continue
        clear = then is None or then.altitude_m != line.altitude_m  # nothing is written next to it
        if line.fix is None and not said and (clear or letter * (len(words) + len("minimum  ")) <= right - left):
            words, said = f"minimum {words}", True
        # the name of a fix stands at the fix, but where the aircraft flew below the line there, at its beginning
        inside = (along >= right - letter * len(words)) & (along <= right)
        at_fix = line.fix is not None and not (states.altitude_m[inside] < line.altitude_m).any()
        axes.annotate(
            words, (right if at_fix else left, feet), (-3 if at_fix else 3, -3), textcoords="offset points", color=WARN,
            fontsize=8, va="top", ha="right" if at_fix else "left", zorder=5, parse_math=False,
        )  # fmt: skip


def _letter_nm(axes: Axes, along: FloatArray) -> float:
    """About what a letter of small type takes along the picture. [NM]"""
    return _LETTER_PT / (inches(axes)[0] * 72.0) * float(along[-1])


def _briefed(axes: Axes, approach: Approach, states: States, along: FloatArray) -> None:
    """The briefed altitudes over the parts as flown, where there is a brief."""
    if approach.comparison is None:
        return
    label = "as briefed"
    for pair in approach.comparison.parts:
        card, flown = pair.briefed, pair.flown
        if card is None or flown is None or card.altitude_start_ft is None or card.altitude_end_ft is None:
            continue
        ends = [float(np.interp(t, states.time_s, along)) for t in (flown.part.start_s, flown.part.end_s)]
        heights = [card.altitude_start_ft, card.altitude_end_ft]
        axes.plot(ends, heights, color=INK, lw=1.3, ls=(0, (1, 1.8)), zorder=5, label=label)
        label = "_same"  # named once
    if label == "_same":
        axes.legend(loc="lower left", fontsize=8, frameon=False, borderaxespad=0.3, handlelength=2.4)


def _events(axes: Axes, debrief: DebriefData, approach: Approach, states: States, along: FloatArray, more: Marks) -> None:
    """Passages of the fix, being established, the step-down and what more is to be marked, where they happened."""
    fix = debrief.motion.charted.procedure.fix.name
    marks = [(passage.time_s, fix) for passage in approach.reversal.passages]
    marks += [mark for mark in more if mark[0] <= states.time_s[-1]]
    # a hold is established in lap by lap, at the end of each turn inbound
    if approach.reversal.first_established_s is not None and debrief.motion.charted.held is None:
        marks.append((approach.reversal.first_established_s, "established"))
    letter = _letter_nm(axes, along)
    rows = [-math.inf] * _MARK_ROWS  # where the last word of each row ends
    for time, name in sorted(marks):
        x = float(np.interp(time, states.time_s, along))
        axes.axvline(x, color=QUIET, lw=0.8, ls=(0, (2, 2)), zorder=2)
        left = x < axes.get_xlim()[1] - _ROOM_SHARE * float(along[-1])
        begins = x if left else x - letter * len(name)
        row = next((k for k, end in enumerate(rows) if end <= begins), _MARK_ROWS - 1)
        rows[row] = begins + letter * (len(name) + 1)
        axes.annotate(
            f" {name} ", (x, 0.985), (0.0, -_MARK_ROW_PT * row), xycoords=axes.get_xaxis_transform(),
            textcoords="offset points", fontsize=8, color=QUIET, va="top",
            ha="left" if left else "right", zorder=5, parse_math=False,
        )  # fmt: skip
    descent = approach.figures.descent
    if descent is not None:
        x = float(np.interp(descent.start_s, states.time_s, along))
        y = float(np.interp(descent.start_s, states.time_s, states.altitude_m)) / FT
        axes.plot([x], [y], marker="v", ms=7, color=INK, zorder=6)
        axes.annotate(
            f"level left {clock(descent.start_s)}",
            (x, y),
            (8, 9),
            textcoords="offset points",
            fontsize=8,
            zorder=6,
            bbox={"boxstyle": "round,pad=0.1", "fc": PAPER, "ec": "none", "alpha": 0.8},
        )
