"""The profile: altitude along the track flown, over the charted minimum of each leg."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TypeAlias

import numpy as np

from analyzer.checks.phrases import clock
from analyzer.physics.units import FT, FloatArray
from analyzer.report.pictures.drawing import Drawing, Frame, Line, Mark, Marker, Panel, Words, straight
from analyzer.report.pictures.faults import badge, badge_size, faults_of, leader, stretch
from analyzer.report.pictures.frame import edges, leg_shades, number_ticks, titles
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.minimum_lines import minimum_lines
from analyzer.report.pictures.style import INK, LEG_COLOUR, QUIET, WARN, with_breaks
from analyzer.report.pictures.subject import Subject

__all__ = ["Marks", "profile", "profile_panel"]

Marks: TypeAlias = Sequence[tuple[float, str]]

_ABOVE_PT, _BELOW_PT, _RIGHT_PT = 34.0, 44.0, 12.0
_ROOM_SHARE = 0.08  # share of the width; nearer to the right edge, a name is written to the left
_MARK_ROWS, _ROW = 3, 1.25  # of the words of events: rows, and their height as a share of the type size
_LETTER = 0.6  # approximate width of a letter, as a share of the type size
_STEP_SHOWN_FT = 60.0  # below the minimum of a fix, where it ends
_LEAST_SPAN_FT = 500.0  # the smallest range shown, so that level flight looks level
_DOTTED = (1.3, 2.4)


def profile(subject: Subject, layout: Layout, marks: Marks = ()) -> Drawing | None:
    """The profile as a drawing, or None if the log has no altitude.

    `marks` are instants with words to be written there, in addition to the events of the approach.
    """
    if not subject.debrief.motion.has_altitude or len(subject.states) < 2:
        return None
    left, right = layout.left, _RIGHT_PT
    box = (left, _ABOVE_PT, layout.width - left - right, layout.profile_height - _ABOVE_PT - _BELOW_PT)
    return Drawing(layout.width, layout.profile_height, (profile_panel(subject, layout, box, marks),))


def profile_panel(subject: Subject, layout: Layout, box: tuple[float, float, float, float], marks: Marks = ()) -> Panel:
    """The profile as a panel in a box, of a flight whose log has altitudes."""
    states = subject.states
    along, altitude = subject.series.along_nm, states.altitude_m / FT
    floors = [floor / FT for floor in subject.debrief.motion.charted.levels_m.values()]
    low, high = min([float(np.nanmin(altitude)), *floors]), max([float(np.nanmax(altitude)), *floors])
    shown = max(high - low, _LEAST_SPAN_FT)
    span = (low - 0.16 * shown, high + 0.24 * shown)
    frame = Frame("profile", box, (float(along[0]), max(float(along[-1]), float(along[0]) + 0.1)), span)
    drawn: list[Mark] = [*leg_shades(frame, subject, (states.time_s, along), layout, names=True)]
    if subject.approach is None:
        x, y = with_breaks(states.time_s, along, altitude)
        drawn.append(Line(x, y, LEG_COLOUR["arrival"], 2.2))
    for leg, colour in LEG_COLOUR.items():
        for begin, end in subject.leg_spans(leg):
            inside = (states.time_s >= begin) & (states.time_s <= end)
            if inside.any():
                x, y = with_breaks(states.time_s[inside], along[inside], altitude[inside])
                drawn.append(Line(x, y, colour, 2.2))
    drawn += _minimums(frame, subject, layout, along)
    drawn += _briefed(frame, subject, layout, along)
    drawn += _events(frame, subject, layout, along, marks)
    drawn += _faults(frame, subject, layout, along)
    drawn += edges(frame, number_ticks(*frame.x, 2 * layout.most_numbers + 2), number_ticks(*frame.y, 7), layout)
    drawn += titles(frame, "altitude, ft MSL", "distance flown in this picture, NM", layout, over_names=True)
    return Panel(frame, tuple(drawn))


def _minimums(frame: Frame, subject: Subject, layout: Layout, along: FloatArray) -> Iterator[Mark]:
    """The minimum of each leg while it applies, and of each charted fix up to it, with its name."""
    if subject.approach is None:
        yield from _charted_levels(frame, subject, layout)
        return
    states, letter, named = subject.states, _LETTER * layout.small * frame.x_per_point, False
    lines = minimum_lines(subject.debrief, subject.approach)
    for line, then in zip(lines, (*lines, None)[1:], strict=True):
        left, right = (float(np.interp(t, states.time_s, along)) for t in (line.start_s, line.end_s))
        if right <= left:
            continue
        feet = line.altitude_m / FT
        step = [(right, feet - _STEP_SHOWN_FT)] if line.fix is not None else []
        x, y = np.array([(left, feet), (right, feet), *step]).T
        yield Line(x, y, WARN, 1.1, level=3.0)
        words = f"{feet:,.0f}" if line.fix is None else f"{line.fix} {feet:,.0f}"
        if line.fix is None and letter * (len(words) + 1) > right - left:
            continue
        clear = then is None or then.altitude_m != line.altitude_m  # it gets no words
        if line.fix is None and not named and (clear or letter * (len(words) + len("minimum  ")) <= right - left):
            words, named = f"minimum {words}", True
        # the name is at the fix, or at the start of the line if the aircraft flew below it at the fix
        inside = (along >= right - letter * len(words)) & (along <= right)
        at_fix = line.fix is not None and not (states.altitude_m[inside] < line.altitude_m).any()
        yield Words(
            right if at_fix else left, feet, words, layout.small, WARN, across="right" if at_fix else "left", up="top",
            away=(-3.0 if at_fix else 3.0, -2.0), level=5.0,
        )  # fmt: skip


def _charted_levels(frame: Frame, subject: Subject, layout: Layout) -> Iterator[Mark]:
    """The charted minimum of each leg across the frame, if no leg was recognised."""
    by_level: dict[float, list[str]] = {}
    for leg, level in subject.debrief.motion.charted.levels_m.items():
        by_level.setdefault(level / FT, []).append(leg)
    for feet, legs in by_level.items():
        yield straight((frame.x[0], feet), (frame.x[1], feet), WARN, 1.1, level=3.0)
        text = f"{', '.join(legs)} {feet:,.0f}"
        yield Words(frame.x[0], feet, text, layout.small, WARN, across="left", up="top", away=(3.0, -2.0), level=5.0)


def _briefed(frame: Frame, subject: Subject, layout: Layout, along: FloatArray) -> Iterator[Mark]:
    """The briefed altitudes over the parts as flown, if there is a brief."""
    comparison = subject.approach.comparison if subject.approach is not None else None
    drawn = False
    for pair in comparison.parts if comparison is not None else ():
        card, flown = pair.briefed, pair.flown
        if card is None or flown is None or card.altitude_start_ft is None or card.altitude_end_ft is None:
            continue
        ends = [float(np.interp(t, subject.states.time_s, along)) for t in (flown.part.start_s, flown.part.end_s)]
        yield Line(np.array(ends), np.array([card.altitude_start_ft, card.altitude_end_ft]), INK, 1.3, _DOTTED, 5.0)
        drawn = True
    if drawn:
        x, y = frame.x[0], frame.y_at(0.05)
        begin, end = x + 6.0 * frame.x_per_point, x + 28.0 * frame.x_per_point
        yield straight((begin, y), (end, y), INK, 1.3, _DOTTED, 5.0)
        yield Words(end, y, "as briefed", layout.small, across="left", away=(4.0, 0.0))


def _events(frame: Frame, subject: Subject, layout: Layout, along: FloatArray, more: Marks) -> Iterator[Mark]:
    """Passages of the fix, established, the descent from level flight, and `more` marks, where they happened."""
    motion, states, approach = subject.debrief.motion, subject.states, subject.approach
    marks = [mark for mark in more if mark[0] <= states.time_s[-1]]
    marks += [(time_s, motion.charted.procedure.fix.name) for time_s in subject.passages]
    established_s = approach.reversal.first_established_s if approach is not None else None
    # in a hold each lap is established at the end of its turn inbound
    if established_s is not None and motion.charted.held is None:
        marks.append((established_s, "established"))
    letter = _LETTER * layout.small * frame.x_per_point
    rows = [-math.inf] * _MARK_ROWS  # the end of the last word in each row
    for time, name in sorted(marks):
        x = float(np.interp(time, states.time_s, along))
        yield straight((x, frame.y[0]), (x, frame.y[1]), QUIET, 0.8, (1.6, 1.6))
        left = x < frame.x_at(1.0 - _ROOM_SHARE) and x + letter * (len(name) + 1) < frame.x[1]
        begins = x if left else x - letter * len(name)
        row = next((k for k, end in enumerate(rows) if end <= begins), _MARK_ROWS - 1)
        rows[row] = begins + letter * (len(name) + 1)
        yield Words(
            x, frame.y[1], name, layout.small, QUIET, across="left" if left else "right", up="top",
            away=(3.0 if left else -3.0, -2.0 - _ROW * layout.small * row), level=5.0,
        )  # fmt: skip
    descent = approach.figures.descent if approach is not None else None
    if descent is not None:
        x = float(np.interp(descent.start_s, states.time_s, along))
        y = float(np.interp(descent.start_s, states.time_s, states.altitude_m)) / FT
        yield Marker(x, y, "down", 7.0, INK, INK, 0.0)
        text = f"level left {clock(descent.start_s)}"
        yield Words(x, y, text, layout.small, across="left", up="bottom", away=(6.0, 5.0), backed=True, level=6.0)


def _faults(frame: Frame, subject: Subject, layout: Layout, along: FloatArray) -> Iterator[Mark]:
    """The stretches outside along the bottom, and the number of each fault at its point, above the curve."""
    if subject.approach is None:
        return
    states, size = subject.states, badge_size(layout)
    descent = subject.approach.figures.descent
    left_at = float(np.interp(descent.start_s, states.time_s, along)) if descent is not None else math.inf
    level = float(np.interp(descent.start_s, states.time_s, states.altitude_m)) / FT if descent is not None else math.nan
    over_words = level + (8.0 + 1.2 * layout.small + 0.6 * size) * frame.y_per_point
    named_to = left_at + (_LETTER * len("level left 00:00:00") + 1.0) * layout.small * frame.x_per_point
    ends = [-math.inf] * 4  # the end of the last badge at each height
    for fault in sorted(faults_of(subject.approach), key=lambda fault: fault.at_s or 0.0):
        if fault.at_s is None or not states.time_s[0] <= fault.at_s <= states.time_s[-1] + 1.0:
            continue
        if fault.outside and fault.span is not None and fault.span[1] > fault.span[0]:
            left, right = (float(np.interp(t, states.time_s, along)) for t in fault.span)
            y = frame.y[0] + 3.0 * frame.y_per_point
            yield stretch(fault, left, right, y)
        x = float(np.interp(fault.at_s, states.time_s, along))
        y = float(np.interp(fault.at_s, states.time_s, states.altitude_m)) / FT
        if not math.isfinite(y):
            continue
        begins = x - 0.5 * size * frame.x_per_point
        row = next((k for k, end in enumerate(ends) if end <= begins), len(ends) - 1)
        ends[row] = x + 0.6 * size * frame.x_per_point
        away = 0.5 * size + 9.0 + 1.15 * size * row
        # below the curve where the words of events are above it
        below = y + (away + 3.0 * size) * frame.y_per_point > frame.y[1]
        up = y + (-away if below else away) * frame.y_per_point
        if abs(x - 0.5 * (left_at + named_to)) < 0.5 * (named_to - left_at) + 0.7 * size * frame.x_per_point and not below:
            up = max(up, over_words)
        yield leader(fault, (x, y), (x, up))
        yield from badge(fault, x, up, layout)
