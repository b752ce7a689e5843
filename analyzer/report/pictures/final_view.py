"""The final approach at its own scale: altitude by distance to the threshold, over the charted fixes, minimums and glide path.

The profile along the track squeezes the final next to the reversal; this view begins before the final approach fix and ends a
little beyond the threshold. The flight goes to the right.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal, TypeAlias

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.course_lines import final_course_rad
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted, Runway
from analyzer.report.pictures.curve_words import CurveWords, names_above
from analyzer.report.pictures.drawing import Box, Drawing, Frame, Line, Mark, Marker, Panel, Words, straight
from analyzer.report.pictures.faults import badge, badge_size, faults_of, leader
from analyzer.report.pictures.frame import edges, number_ticks, titles
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.style import FAINT, INK, LEG_COLOUR, QUIET, WARN, with_breaks
from analyzer.report.pictures.subject import Subject
from analyzer.report.words.layout import shown_name

__all__ = ["final_panel", "final_view", "runway_of_final", "to_go_nm"]

_BEFORE_NM, _LEAST_NM, _MOST_NM, _BEYOND_NM = 1.0, 3.0, 14.0, 1.5
_RUNWAY_NM = 0.8  # the length drawn of a runway whose length is not charted
_Places: TypeAlias = tuple[tuple[float, Literal["left", "middle", "right"]], ...]  # shares of a line
_TURNED_RAD = 60.0 * DEG  # farther off the final course, the flight no longer follows it
_ROOM, _LEAST_SPAN_M = 0.14, 1000.0 * FT
_ABOVE_PT, _BELOW_PT, _RIGHT_PT = 22.0, 44.0, 12.0


def to_go_nm(motion: Motion, reversal: Reversal, states: States) -> FloatArray:
    """Distance to the threshold along the final course at each state, negative beyond it, NaN where no final is flown."""
    charted, to_go = motion.charted, np.full(len(states), np.nan)
    runway, span = charted.runway, _span(reversal)
    if runway is None or span is None:
        return to_go
    along = _along(charted, runway, states)
    flown = (states.time_s >= span[0]) & (states.time_s <= span[1]) & _on_course(charted, states)
    to_go[flown] = -along[flown]
    return to_go


def _span(reversal: Reversal) -> tuple[float, float] | None:
    """From established to the end of the final leg, or of the missed approach; None without a final leg. [s]"""
    final = reversal.leg_spans("final")
    if not final:
        return None
    inbound = reversal.last_part("inbound")
    begin = min(final[0][0], inbound.start_s) if inbound is not None else final[0][0]
    return begin, reversal.parts[-1].end_s


def _on_course(charted: Charted, states: States) -> BoolArray:
    """Whether the track of each state follows the final course."""
    on: BoolArray = np.abs(wrap(states.track_rad - final_course_rad(charted))) <= _TURNED_RAD
    return on


def _along(charted: Charted, runway: Runway, states: States) -> FloatArray:
    """Distance of each state beyond the threshold, along the final course. [NM]"""
    distance, bearing = geodesy.inverse_near(
        runway.latitude_rad, runway.longitude_rad, states.latitude_rad, states.longitude_rad
    )
    along: FloatArray = distance * np.cos(bearing - final_course_rad(charted)) / NM
    return along


def final_view(subject: Subject, layout: Layout) -> Drawing | None:
    """The final approach as a drawing; None if there is none to draw."""
    if runway_of_final(subject) is None:
        return None
    left = layout.left
    box = (left, _ABOVE_PT, layout.width - left - _RIGHT_PT, layout.profile_height - _ABOVE_PT - _BELOW_PT)
    return Drawing(layout.width, layout.profile_height, (final_panel(subject, layout, box),))


def runway_of_final(subject: Subject) -> Runway | None:
    """The runway of the final approach; None without a runway, a final leg, or altitudes."""
    known = subject.debrief.motion.has_altitude and bool(subject.leg_spans("final"))
    return subject.debrief.motion.charted.runway if known else None


def final_panel(subject: Subject, layout: Layout, box: Box) -> Panel:
    """The final approach as a panel in a box. Requires a runway from `runway_of_final`."""
    motion, approach, charted = subject.debrief.motion, subject.approach, subject.debrief.motion.charted
    runway = charted.runway
    if approach is None or runway is None:
        raise ValueError("there is no final approach to draw")
    reversal = approach.reversal
    begin, end = _span(reversal) or (0.0, 0.0)
    states = motion.states.between(begin, end)
    to_go, altitude = to_go_nm(motion, reversal, states), states.altitude_m / subject.series.height.metres
    steps, metres = _steps(charted, runway), subject.series.height.metres
    left = _reach_nm(motion, reversal, runway, [step.to_go_nm for step in steps])
    seen = np.isfinite(to_go) & (to_go <= left) & (to_go >= -_BEYOND_NM)
    final = altitude[seen & (states.time_s <= reversal.leg_spans("final")[-1][1])]
    frame = Frame("final", box, (-left, _BEYOND_NM), _heights(charted, runway, final, metres))
    marks: list[Mark] = []
    for part in reversal.parts:
        inside = seen & (states.time_s >= part.start_s) & (states.time_s <= part.end_s)
        if inside.any():
            x, y = with_breaks(states.time_s[inside], -to_go[inside], altitude[inside])
            marks.append(Line(x, y, LEG_COLOUR[part.leg], 2.2))
    marks += _runway(runway, layout, metres)
    marks += _glide_path(charted, runway, left, layout, metres)
    named = [step for step in steps if -_BEYOND_NM < step.to_go_nm < left]
    marks += names_above(frame, layout, [(-step.to_go_nm, shown_name(step.name)) for step in named], (FAINT, INK))
    faults = list(_faults(frame, subject, layout, (states, to_go), marks))
    marks += _minimums(frame, charted, named, layout, (marks, faults, metres))
    marks += faults
    ticks = [(x, word.lstrip("−")) for x, word in number_ticks(*frame.x, 2 * layout.most_numbers + 4)]
    marks += edges(frame, ticks, number_ticks(*frame.y, 7), layout)
    marks += titles(frame, f"altitude, {subject.series.height.name} MSL", "distance to the threshold, NM", layout)
    return Panel(frame, tuple(marks))


def _faults(
    frame: Frame, subject: Subject, layout: Layout, flown: tuple[States, FloatArray], drawn: Sequence[Mark]
) -> Iterator[Mark]:
    """The numbers of the faults within the picture, above the curve, or below it, clear of the words drawn."""
    states, to_go = flown
    if subject.approach is None or not len(states):
        return
    size, clear = badge_size(layout), CurveWords(frame, drawn)
    for fault in sorted(faults_of(subject.approach), key=lambda fault: fault.at_s or 0.0):
        if fault.at_s is None or not states.time_s[0] <= fault.at_s <= states.time_s[-1]:
            continue
        k = int(np.argmin(np.abs(states.time_s - fault.at_s)))
        x, y = -float(to_go[k]), float(states.altitude_m[k]) / subject.series.height.metres
        if not (math.isfinite(x) and math.isfinite(y) and frame.x[0] <= x <= frame.x[1]):
            continue
        across, up = clear.sign(x, y, size, size)
        yield leader(fault, (x, y), (across, up))
        yield from badge(fault, across, up, layout)


def _place_nm(charted: Charted, runway: Runway, latitude_rad: float, longitude_rad: float) -> float:
    """Distance of a position beyond the threshold, along the final course. [NM]"""
    distance, bearing = geodesy.inverse(runway.latitude_rad, runway.longitude_rad, latitude_rad, longitude_rad)
    return float(distance) * math.cos(float(bearing) - final_course_rad(charted)) / NM


def _reach_nm(motion: Motion, reversal: Reversal, runway: Runway, fixes_nm: list[float]) -> float:
    """Where the picture begins, before the threshold: a mile before the final leg or its first fix. [NM]"""
    latitude, longitude = motion.position_at(reversal.leg_spans("final")[0][0])
    begins = -_place_nm(motion.charted, runway, latitude, longitude)
    return min(max([begins, *fixes_nm, _LEAST_NM]) + _BEFORE_NM, _MOST_NM)


def _heights(charted: Charted, runway: Runway, final: FloatArray, metres: float) -> tuple[float, float]:
    """Lowest and highest altitude of the scale, like `final` in the unit of the chart, which has so many metres."""
    floors = [fix.minimum_m / metres for fix in charted.fixes if fix.minimum_m is not None]
    low = min(runway.elevation_m / metres, float(np.nanmin(final)) if len(final) else math.inf)
    high = max([*floors, float(np.nanmax(final)) if len(final) else low + _LEAST_SPAN_M / metres])
    return low - _ROOM * (high - low), high + 2.0 * _ROOM * (high - low)


def _runway(runway: Runway, layout: Layout, metres: float) -> Iterator[Mark]:
    length = runway.length_m / NM if runway.length_m is not None else _RUNWAY_NM
    height = runway.elevation_m / metres
    yield straight((0.0, height), (length, height), INK, 4.0, level=3.0)
    text = f"runway {shown_name(runway.name)}"
    yield Words(0.0, height, text, layout.small, across="left", up="top", away=(0.0, -5.0), level=5.0)


def _glide_path(charted: Charted, runway: Runway, left: float, layout: Layout, metres: float) -> Iterator[Mark]:
    """The charted glide path, from its height over the threshold up."""
    if charted.glide_path_rad is None or charted.threshold_crossing_height_m is None:
        return
    away = np.linspace(0.0, left, 60)
    height = runway.elevation_m + charted.threshold_crossing_height_m + away * NM * math.tan(charted.glide_path_rad)
    yield Line(-away, height / metres, QUIET, 1.0, (8.0, 4.0), 2.0)
    at, text = float(np.interp(0.55 * left, away, height)) / metres, f"glide path {charted.glide_path_rad / DEG:.1f}°"
    yield Words(-0.55 * left, at, text, layout.small, QUIET, across="left", up="top", away=(4.0, 12.0), level=5.0)


@dataclass(frozen=True)
class _Step:
    """A fix of the final course, its distance before the threshold, and the minimum up to it."""

    name: str
    to_go_nm: float
    minimum_m: float | None
    ends: bool  # the minimum of the approach, at the missed approach point

    def at_least(self, floor_m: float | None) -> _Step:
        """The step with at least the minimum of the leg."""
        known = [minimum for minimum in (self.minimum_m, floor_m) if minimum is not None]
        return replace(self, minimum_m=max(known, default=None))


def _steps(charted: Charted, runway: Runway) -> tuple[_Step, ...]:
    """The reversal fix, if it is before the final leg, and the charted fixes, in the order passed.

    Before the final leg, the minimum of the inbound leg applies too. The minimum of the first charted fix applies from
    established on, so also before the reversal fix.
    """
    found = [
        _Step(
            fix.name,
            -_place_nm(charted, runway, fix.latitude_rad, fix.longitude_rad),
            None if fix.role == "missed-approach-point" else fix.minimum_m,
            fix.role == "missed-approach-point",
        )
        for fix in charted.fixes
    ]
    if not charted.on_field:
        away = -_place_nm(charted, runway, charted.fix_latitude_rad, charted.fix_longitude_rad)
        first = found[0].minimum_m if found else None
        found.append(_Step(charted.procedure.fix.name, away, first, False))
    found.sort(key=lambda step: -step.to_go_nm)
    begins = [fix.name for fix in charted.fixes if fix.role == "final-approach-fix"]
    if not begins and not charted.on_field:
        begins = [charted.procedure.fix.name]
    last = next((number for number, step in enumerate(found) if step.name in begins), -1)
    floor = charted.floors_m.get("inbound")
    return tuple(step.at_least(floor) if number <= last else step for number, step in enumerate(found))


def _minimums(
    frame: Frame, charted: Charted, steps: Sequence[_Step], layout: Layout, drawn: tuple[Sequence[Mark], Sequence[Mark], float]
) -> Iterator[Mark]:
    """The minimum up to each fix as a step, then that of the approach up to the missed approach point.

    `drawn` has the marks below and above the minimums, which their words keep clear of, and the metres of a unit of altitude.
    """
    below, above, metres = drawn
    begins, lines = -frame.x[0], list[tuple[Line, str]]()
    for step, then in zip(steps, (*steps, None)[1:], strict=True):
        if step.minimum_m is not None:
            height = step.minimum_m / metres
            said = f"{height:,.0f}" if then is None or then.minimum_m != step.minimum_m else ""
            lines.append((straight((-begins, height), (-step.to_go_nm, height), WARN, 1.1, level=3.0), said))
        if not step.ends:
            begins = step.to_go_nm
    minimum = charted.minimum
    if minimum is not None:
        ends, height = next((step.to_go_nm for step in steps if step.ends), 0.0), minimum.altitude_m / metres
        line = straight((-begins, height), (-ends, height), WARN, 1.4, level=3.0)
        lines.append((line, f"{minimum.kind.upper()} {height:,.0f}"))
        if minimum.visual_descent_point_m is not None:
            away = minimum.visual_descent_point_m / NM
            yield Marker(-away, height, "down", 6.5, WARN, WARN, 0.0, 5.0)
            yield Words(-away, height, "visual descent point", layout.small, WARN, up="bottom", away=(0.0, 6.0), level=5.0)
    clear = CurveWords(frame, (*below, *(mark for mark in above if not isinstance(mark, Line)), *(line for line, _ in lines)))
    for line, said in lines:
        yield line
        words = clear.place(list(_step_words(line, said, layout)), needed=True) if said else None
        if words is not None:
            yield words


def _step_words(line: Line, text: str, layout: Layout) -> Iterator[Words]:
    """The altitude of a step below the end of its line, or else below its start, above it, after it, or somewhere along it."""
    heights: tuple[Literal["top", "bottom"], ...] = ("top", "bottom")

    def beside(places: _Places) -> Iterator[Words]:
        for up in heights:
            for share, across in places:
                away = {"left": 3.0, "middle": 0.0, "right": -3.0}[across], -2.0 if up == "top" else 2.0
                x, y = float(line.x[0] + share * (line.x[1] - line.x[0])), float(line.y[0])
                yield Words(x, y, text, layout.small, WARN, across=across, up=up, away=away, level=5.0)

    yield from beside(((1.0, "right"), (0.0, "left")))
    yield Words(float(line.x[1]), float(line.y[1]), text, layout.small, WARN, across="left", away=(4.0, 0.0), level=5.0)
    yield from beside(((0.75, "middle"), (0.25, "middle"), (0.5, "middle")))
