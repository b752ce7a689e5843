"""The profile: altitude along the track flown, over the charted minimum of each leg."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal, TypeAlias

import numpy as np

from analyzer.checks.phrases import clock
from analyzer.physics.units import FT, FloatArray
from analyzer.report.pictures.curve_words import CurveWords, names_above
from analyzer.report.pictures.drawing import Drawing, Frame, Line, Mark, Marker, Panel, Words, straight
from analyzer.report.pictures.faults import badge, badge_size, faults_of, leader, stretch
from analyzer.report.pictures.frame import edges, leg_shades, number_ticks, titles
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.minimum_lines import MinimumLine, minimum_lines
from analyzer.report.pictures.style import INK, LEG_COLOUR, WARN, with_breaks
from analyzer.report.pictures.subject import Subject
from analyzer.report.words.layout import shown_name

__all__ = ["Marks", "profile", "profile_panel"]

Marks: TypeAlias = Sequence[tuple[float, str]]

_ABOVE_PT, _BELOW_PT, _RIGHT_PT = 34.0, 44.0, 12.0
_MINIMUM = "minimum"
_LETTER = 0.6  # approximate width of a letter, as a share of the type size
_STEP_SHOWN_M = 60.0 * FT  # below the minimum of a fix, where it ends
_LEAST_SPAN_M = 500.0 * FT  # the smallest range shown, so that level flight looks level
_DOTTED = (1.3, 2.4)
# Of the words at the level that is left: how much higher they may stand, and to either side of their sign. [points]
_HIGHER_PT = (0.0, 12.0, 24.0, 36.0, 48.0)
_ASIDE: tuple[tuple[Literal["left", "right"], float], ...] = (("left", 6.0), ("right", -6.0))


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
    unit = subject.series.height
    along, altitude = subject.series.along_nm, states.altitude_m / unit.metres
    floors = [floor / unit.metres for floor in subject.debrief.motion.charted.levels_m.values()]
    low, high = min([float(np.nanmin(altitude)), *floors]), max([float(np.nanmax(altitude)), *floors])
    shown = max(high - low, _LEAST_SPAN_M / unit.metres)
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
    flown = [mark for mark in drawn if isinstance(mark, Line)]
    drawn += _briefed(frame, subject, layout, along)
    events = list(_events(frame, subject, layout, along, marks, flown))
    over = [*events, *_faults(frame, subject, layout, along, events)]
    drawn += _minimums(frame, subject, layout, along, [*flown, *(mark for mark in over if not isinstance(mark, Line))])
    drawn += over
    drawn += edges(frame, number_ticks(*frame.x, 2 * layout.most_numbers + 2), number_ticks(*frame.y, 7), layout)
    drawn += titles(frame, f"altitude, {unit.name} MSL", "distance flown in this picture, NM", layout, over_names=True)
    return Panel(frame, tuple(drawn))


def _minimums(frame: Frame, subject: Subject, layout: Layout, along: FloatArray, drawn: Sequence[Mark]) -> Iterator[Mark]:
    """The minimum of each leg while it applies, and of each charted fix up to it, each with its altitude where there is room.

    `drawn` is what the words keep clear of.
    """
    if subject.approach is None:
        yield from _charted_levels(frame, subject, layout)
        return
    states, metres, named = subject.states, subject.series.height.metres, False
    shown: list[tuple[MinimumLine, Line]] = []
    for line in minimum_lines(subject.debrief, subject.approach):
        left, right = (float(np.interp(t, states.time_s, along)) for t in (line.start_s, line.end_s))
        if right > left:
            level = line.altitude_m / metres
            step = [(right, level - _STEP_SHOWN_M / metres)] if line.fix is not None else []
            x, y = np.array([(left, level), (right, level), *step]).T
            shown.append((line, Line(x, y, WARN, 1.1, level=3.0)))
    yield from (mark for _, mark in shown)
    clear = CurveWords(frame, (*drawn, *(mark for _, mark in shown)))
    for line, mark in shown:
        number = f"{line.altitude_m / metres:,.0f}"
        offered = list(_minimum_words(frame, layout, mark, number, None if line.fix is None else shown_name(line.fix)))
        words = clear.place(offered if not named else [words for words in offered if not words.text.startswith(_MINIMUM)])
        if words is not None:
            named = named or words.text.startswith(_MINIMUM)
            yield words


def _minimum_words(frame: Frame, layout: Layout, line: Line, number: str, fix: str | None) -> Iterator[Words]:
    """The words offered for a minimum: below its line before above it, of a fix at the fix before at the start of the line."""
    ends: tuple[tuple[float, Literal["left", "right"]], ...] = ((float(line.x[0]), "left"), (float(line.x[1]), "right"))
    heights: tuple[Literal["top", "bottom"], ...] = ("top", "bottom")
    texts = (f"{_MINIMUM} {number}", number) if fix is None else (f"{fix} {number}",)
    for text in texts:
        if text == number and _LETTER * layout.small * (len(text) + 1) * frame.x_per_point > ends[1][0] - ends[0][0]:
            continue
        for up in heights:
            for x, across in ends if fix is None else reversed(ends):
                away = 3.0 if across == "left" else -3.0, -2.0 if up == "top" else 2.0
                yield Words(x, float(line.y[0]), text, layout.small, WARN, across=across, up=up, away=away, level=5.0)


def _charted_levels(frame: Frame, subject: Subject, layout: Layout) -> Iterator[Mark]:
    """The charted minimum of each leg across the frame, if no leg was recognised."""
    by_level: dict[float, list[str]] = {}
    for leg, level in subject.debrief.motion.charted.levels_m.items():
        by_level.setdefault(level / subject.series.height.metres, []).append(leg)
    for height, legs in by_level.items():
        yield straight((frame.x[0], height), (frame.x[1], height), WARN, 1.1, level=3.0)
        text = f"{', '.join(legs)} {height:,.0f}"
        yield Words(frame.x[0], height, text, layout.small, WARN, across="left", up="top", away=(3.0, -2.0), level=5.0)


def _briefed(frame: Frame, subject: Subject, layout: Layout, along: FloatArray) -> Iterator[Mark]:
    """The briefed altitudes over the parts as flown, if there is a brief."""
    comparison = subject.approach.comparison if subject.approach is not None else None
    drawn = False
    for pair in comparison.parts if comparison is not None else ():
        card, flown = pair.briefed, pair.flown
        if card is None or flown is None or card.altitude_start_ft is None or card.altitude_end_ft is None:
            continue
        ends = [float(np.interp(t, subject.states.time_s, along)) for t in (flown.part.start_s, flown.part.end_s)]
        heights = np.array([card.altitude_start_ft, card.altitude_end_ft]) * FT / subject.series.height.metres
        yield Line(np.array(ends), heights, INK, 1.3, _DOTTED, 5.0)
        drawn = True
    if drawn:
        x, y = frame.x[0], frame.y_at(0.05)
        begin, end = x + 6.0 * frame.x_per_point, x + 28.0 * frame.x_per_point
        yield straight((begin, y), (end, y), INK, 1.3, _DOTTED, 5.0)
        yield Words(end, y, "as briefed", layout.small, across="left", away=(4.0, 0.0))


def _events(
    frame: Frame, subject: Subject, layout: Layout, along: FloatArray, more: Marks, flown: Sequence[Mark]
) -> Iterator[Mark]:
    """Passages of the fix, established, the descent from level flight, and `more` marks, where they happened.

    `flown` is the curve, which words keep clear of.
    """
    motion, states, approach = subject.debrief.motion, subject.states, subject.approach
    marks = [mark for mark in more if mark[0] <= states.time_s[-1]]
    marks += [(time_s, shown_name(motion.charted.procedure.fix.name)) for time_s in subject.passages]
    established_s = approach.reversal.first_established_s if approach is not None else None
    # in a hold each lap is established at the end of its turn inbound
    if established_s is not None and motion.charted.held is None:
        marks.append((established_s, "established"))
    named = list(names_above(frame, layout, [
        (float(np.interp(time, states.time_s, along)), name) for time, name in sorted(marks)
    ]))  # fmt: skip
    yield from named
    descent = approach.figures.descent if approach is not None else None
    if descent is not None:
        x = float(np.interp(descent.start_s, states.time_s, along))
        y = float(np.interp(descent.start_s, states.time_s, states.altitude_m)) / subject.series.height.metres
        yield Marker(x, y, "down", 7.0, INK, INK, 0.0)
        text = f"level left {clock(descent.start_s)}"
        offered = [
            Words(x, y, text, layout.small, across=across, up="bottom", away=(away, 5.0 + high), backed=True, level=6.0)
            for high in _HIGHER_PT
            for across, away in _ASIDE
        ]
        clear = CurveWords(frame, [*flown, *(mark for mark in named if isinstance(mark, Words))])
        yield clear.place(offered) or offered[-1]  # inside the frame, if over the curve


def _faults(frame: Frame, subject: Subject, layout: Layout, along: FloatArray, events: Sequence[Mark]) -> Iterator[Mark]:
    """The stretches outside along the bottom, and the number of each fault at its point: above the curve, else below it.

    `events` are the marks whose words the numbers keep clear of.
    """
    if subject.approach is None:
        return
    states, size, metres = subject.states, badge_size(layout), subject.series.height.metres
    clear = CurveWords(frame, events)
    for fault in sorted(faults_of(subject.approach), key=lambda fault: fault.at_s or 0.0):
        if fault.at_s is None or not states.time_s[0] <= fault.at_s <= states.time_s[-1] + 1.0:
            continue
        if fault.outside and fault.span is not None and fault.span[1] > fault.span[0]:
            left, right = (float(np.interp(t, states.time_s, along)) for t in fault.span)
            y = frame.y[0] + 3.0 * frame.y_per_point
            yield stretch(fault, left, right, y)
        x = float(np.interp(fault.at_s, states.time_s, along))
        y = float(np.interp(fault.at_s, states.time_s, states.altitude_m)) / metres
        if not math.isfinite(y):
            continue
        across, up = clear.sign(x, y, size, 0.5 * size + 9.0)
        yield leader(fault, (x, y), (across, up))
        yield from badge(fault, across, up, layout)
