"""The final approach at its own scale: altitude by distance to the threshold, over the charted fixes, minimums and glide path.

The profile along the track squeezes the final next to the reversal; this view begins before the final approach fix and ends a
little beyond the threshold. The flight goes to the right.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.course_lines import final_course_rad
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted, Runway
from analyzer.report.pictures.drawing import Box, Drawing, Frame, Line, Mark, Marker, Panel, Words, straight
from analyzer.report.pictures.faults import badge, badge_size, faults_of, leader
from analyzer.report.pictures.frame import edges, number_ticks, titles
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.style import FAINT, INK, LEG_COLOUR, QUIET, WARN, with_breaks
from analyzer.report.pictures.subject import Subject

__all__ = ["final_panel", "final_view", "runway_of_final", "to_go_nm"]

_BEFORE_NM, _LEAST_NM, _MOST_NM, _BEYOND_NM = 1.0, 3.0, 14.0, 1.5
_RUNWAY_NM = 0.8  # the length drawn of a runway whose length is not charted
_TURNED_RAD = 60.0 * DEG  # farther off the final course, the flight no longer follows it
_ROOM = 0.14
_ABOVE_PT, _BELOW_PT, _RIGHT_PT = 22.0, 44.0, 12.0
_LETTER = 0.6  # approximate width of a letter, as a share of the type size


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
    """Whether each state is along the final course, up to where the flight leaves it for good."""
    off = np.abs(wrap(states.track_rad - final_course_rad(charted))) > _TURNED_RAD
    return ~off


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
    to_go, altitude = to_go_nm(motion, reversal, states), states.altitude_m / FT
    steps = _steps(charted, runway)
    left = _reach_nm(motion, reversal, runway, [step.to_go_nm for step in steps])
    seen = np.isfinite(to_go) & (to_go <= left) & (to_go >= -_BEYOND_NM)
    final = altitude[seen & (states.time_s <= reversal.leg_spans("final")[-1][1])]
    frame = Frame("final", box, (-left, _BEYOND_NM), _heights(charted, runway, final))
    marks: list[Mark] = []
    for part in reversal.parts:
        inside = seen & (states.time_s >= part.start_s) & (states.time_s <= part.end_s)
        if inside.any():
            x, y = with_breaks(states.time_s[inside], -to_go[inside], altitude[inside])
            marks.append(Line(x, y, LEG_COLOUR[part.leg], 2.2))
    marks += _runway(runway, layout)
    marks += _glide_path(charted, runway, left, layout)
    marks += _minimums(frame, charted, steps, np.column_stack([-to_go[seen], altitude[seen]]), layout)
    marks += _faults(frame, subject, layout, states, to_go)
    ticks = [(x, word.lstrip("−")) for x, word in number_ticks(*frame.x, 2 * layout.most_numbers + 4)]
    marks += edges(frame, ticks, number_ticks(*frame.y, 7), layout)
    marks += titles(frame, "altitude, ft MSL", "distance to the threshold, NM", layout)
    return Panel(frame, tuple(marks))


def _faults(frame: Frame, subject: Subject, layout: Layout, states: States, to_go: FloatArray) -> Iterator[Mark]:
    """The numbers of the faults within the picture, above the curve."""
    if subject.approach is None or not len(states):
        return
    size, last = badge_size(layout), -math.inf
    for fault in sorted(faults_of(subject.approach), key=lambda fault: fault.at_s or 0.0):
        if fault.at_s is None or not states.time_s[0] <= fault.at_s <= states.time_s[-1]:
            continue
        k = int(np.argmin(np.abs(states.time_s - fault.at_s)))
        x, y = -float(to_go[k]), float(states.altitude_m[k]) / FT
        if not (math.isfinite(x) and math.isfinite(y) and frame.x[0] <= x <= frame.x[1]):
            continue
        high = 2.2 * size if x - last < 1.2 * size * frame.x_per_point else size
        last = x
        up = y + high * frame.y_per_point
        yield leader(fault, (x, y), (x, up))
        yield from badge(fault, x, up, layout)


def _place_nm(charted: Charted, runway: Runway, latitude_rad: float, longitude_rad: float) -> float:
    """Distance of a position beyond the threshold, along the final course. [NM]"""
    distance, bearing = geodesy.inverse(runway.latitude_rad, runway.longitude_rad, latitude_rad, longitude_rad)
    return float(distance) * math.cos(float(bearing) - final_course_rad(charted)) / NM


def _reach_nm(motion: Motion, reversal: Reversal, runway: Runway, fixes_nm: list[float]) -> float:
    """Where the picture begins, before the threshold: a mile before the final leg or its first fix. [NM]"""
    latitude, longitude = motion.position_at(reversal.leg_spans("final")[0][0])
    begins = -_place_nm(motion.charted, runway, latitude, longitude)
    return min(max([begins, *fixes_nm, _LEAST_NM]) + _BEFORE_NM, _MOST_NM)


def _heights(charted: Charted, runway: Runway, final_ft: FloatArray) -> tuple[float, float]:
    """Lowest and highest altitude of the scale. [ft]"""
    floors = [fix.minimum_m / FT for fix in charted.fixes if fix.minimum_m is not None]
    low = min(runway.elevation_m / FT, float(np.nanmin(final_ft)) if len(final_ft) else math.inf)
    high = max([*floors, float(np.nanmax(final_ft)) if len(final_ft) else low + 1000.0])
    return low - _ROOM * (high - low), high + 2.0 * _ROOM * (high - low)


def _runway(runway: Runway, layout: Layout) -> Iterator[Mark]:
    length = runway.length_m / NM if runway.length_m is not None else _RUNWAY_NM
    feet = runway.elevation_m / FT
    yield straight((0.0, feet), (length, feet), INK, 4.0, level=3.0)
    text = f"runway {runway.name}"
    yield Words(0.0, feet, text, layout.small, across="left", up="top", away=(0.0, -5.0), level=5.0)


def _glide_path(charted: Charted, runway: Runway, left: float, layout: Layout) -> Iterator[Mark]:
    """The charted glide path, from its height over the threshold up."""
    if charted.glide_path_rad is None or charted.threshold_crossing_height_m is None:
        return
    away = np.linspace(0.0, left, 60)
    height = runway.elevation_m + charted.threshold_crossing_height_m + away * NM * math.tan(charted.glide_path_rad)
    yield Line(-away, height / FT, QUIET, 1.0, (8.0, 4.0), 2.0)
    at, text = float(np.interp(0.55 * left, away, height)) / FT, f"glide path {charted.glide_path_rad / DEG:.1f}°"
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


def _minimums(frame: Frame, charted: Charted, steps: tuple[_Step, ...], flown: FloatArray, layout: Layout) -> Iterator[Mark]:
    """The minimum up to each fix as a step, then that of the approach up to the missed approach point, with the fixes' names.

    `flown` has the distance beyond the threshold [NM] and the altitude [ft] at every second, shape (seconds, 2).
    """
    begins = left = -frame.x[0]
    for step, then in zip(steps, (*steps, None)[1:], strict=True):
        if not -_BEYOND_NM < step.to_go_nm < left:
            continue
        x = -step.to_go_nm
        yield straight((x, frame.y[0]), (x, frame.y[1]), FAINT, 0.9, (1.8, 1.8), 1.0)
        yield Words(x, frame.y[1], step.name, layout.small, across="left", up="top", away=(3.0, -2.0), level=5.0)
        if step.minimum_m is not None:
            feet = step.minimum_m / FT
            yield straight((-begins, feet), (x, feet), WARN, 1.1, level=3.0)
            if then is None or then.minimum_m != step.minimum_m:
                yield _name_step(frame, (-begins, x), feet, f"{feet:,.0f}", flown, layout)
        if not step.ends:
            begins = step.to_go_nm
    minimum = charted.minimum
    if minimum is None:
        return
    ends = next((step.to_go_nm for step in steps if step.ends), 0.0)
    feet = minimum.altitude_m / FT
    yield straight((-begins, feet), (-ends, feet), WARN, 1.4, level=3.0)
    yield _name_step(frame, (-begins, -ends), feet, f"{minimum.kind.upper()} {feet:,.0f}", flown, layout)
    if minimum.visual_descent_point_m is not None:
        away = minimum.visual_descent_point_m / NM
        yield Marker(-away, feet, "down", 6.5, WARN, WARN, 0.0, 5.0)
        yield Words(-away, feet, "visual descent point", layout.small, WARN, up="bottom", away=(0.0, 6.0), level=5.0)


def _name_step(frame: Frame, span: tuple[float, float], feet: float, text: str, flown: FloatArray, layout: Layout) -> Words:
    """The altitude of a step below the end of its line, or below its start if the aircraft flew below the end."""
    letters = _LETTER * layout.small * (len(text) + 1) * frame.x_per_point
    there = (flown[:, 0] >= span[1] - letters) & (flown[:, 0] <= span[1])
    at_start = bool((flown[there, 1] < feet).any())
    return Words(
        span[0] if at_start else span[1], feet, text, layout.small, WARN, across="left" if at_start else "right", up="top",
        away=(3.0 if at_start else -3.0, -2.0), level=5.0,
    )  # fmt: skip
