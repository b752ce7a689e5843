"""The plan view: the track around the fix, coloured by leg, over the chart.

The projection is azimuthal equidistant from the fix, true north up, so distances from the fix are true. Coordinates are NM
east and north of the fix.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime

import numpy as np

from analyzer.motion.states import States
from analyzer.motion.wind import Wind
from analyzer.physics.quantiles import median
from analyzer.physics.units import NM, FloatArray
from analyzer.report.pictures.compass import compass_row, draw_compass, draw_scale
from analyzer.report.pictures.doubt_marks import mark_doubts
from analyzer.report.pictures.drawing import Box, Drawing, Frame, Line, Marker, Panel, straight
from analyzer.report.pictures.labels import Obstacles
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.plan_briefed import briefed_path, draw_briefed, label_briefed
from analyzer.report.pictures.plan_charted import (
    draw_barb,
    draw_fix,
    draw_fixes,
    draw_holds,
    draw_lines,
    label_arc,
    label_courses,
    label_limit,
    racetrack_nm,
)
from analyzer.report.pictures.plan_faults import draw_faults
from analyzer.report.pictures.plan_laps import draw_laps, name_laps
from analyzer.report.pictures.plan_sheet import Sheet, from_fix, point, reach_nm, xy
from analyzer.report.pictures.style import FAINT, INK, LEG_COLOUR, QUIET, with_breaks
from analyzer.report.pictures.subject import Subject
from analyzer.vocabulary import Leg

__all__ = ["box_about", "plan_frame", "plan_panel", "plan_size", "plan_view"]

_MARGIN_NM = 1.0
# share of the limit that counts as near it; and the extent of the course otherwise, relative to what was flown
_NEAR_SHARE, _BEYOND = 0.4, 1.5
_ABOUT_SHARE = 1.6  # multiple of the limit that is shown of a flight in which nothing was recognised, if it came within it
# the way out is broader than the way back over it, so that both are visible
_LINE_PT: Mapping[Leg, float] = {
    "arrival": 2.2,
    "outbound": 4.4,
    "reversal": 2.4,
    "inbound": 1.8,
    "final": 2.2,
    "missed": 2.2,
}
_LEAST_NAMED = 20  # the fewest states of a leg that is named
_ARROW_EVERY_PT, _ARROW_PT = 120.0, 8.5


def plan_view(subject: Subject, layout: Layout, beneath_m: FloatArray | None = None) -> Drawing:
    """The plan view as a drawing.

    `beneath_m` has paths to be drawn pale below it, in metres north and east of the fix, shape (paths, points, 2).
    """
    seen = _seen(subject, beneath_m)
    width, height = plan_size(seen, layout)
    panels = [plan_panel(subject, layout, (width, height), beneath_m)]
    if layout.compass is None:
        panels.append(compass_row(layout, height, subject.debrief.motion.charted.variation.east_rad, _wind(subject)))
        height += panels[-1].frame.box[3]
    return Drawing(width, height, tuple(panels))


def plan_size(seen: Box, layout: Layout) -> tuple[float, float]:
    """Width and height of a plan view of a box (left, right, bottom, top) [NM]. [points]"""
    left, right, bottom, top = seen
    least, most = layout.plan_heights
    return layout.width, min(max(layout.width * (top - bottom) / (right - left), least), most)


def plan_panel(subject: Subject, layout: Layout, size: tuple[float, float], beneath_m: FloatArray | None = None) -> Panel:
    """The plan view as a panel that fills a size [points]."""
    charted, states, approach = subject.debrief.motion.charted, subject.states, subject.approach
    briefed = briefed_path(charted, approach)
    frame = plan_frame(_seen(subject, beneath_m), size)
    points = np.column_stack(xy(states))[:: max(1, len(states) // 400)]
    about = (*frame.x, *frame.y)
    sheet = Sheet(frame, layout, Obstacles(points, np.full(len(points), 2.0 * frame.x_per_point), about))
    for path in _beneath_nm(beneath_m):
        sheet.add(Line(path[:, 0], path[:, 1], FAINT, 0.5, level=1.0, opacity=0.6))
    draw_lines(sheet, charted)
    draw_holds(sheet, charted, median(states.true_airspeed_mps))
    draw_briefed(sheet, briefed)
    if approach is not None:
        draw_laps(sheet, approach.reversal, states)
    else:
        _draw_track(sheet, states, "arrival")
    for leg in LEG_COLOUR:
        for span in subject.leg_spans(leg) if leg != "hold" else ():
            _draw_track(sheet, states.between(*span), leg)
    if layout.compass is not None:
        draw_compass(sheet, layout.compass, charted.variation.east_rad, _wind(subject))
    draw_scale(sheet)
    draw_fix(sheet, charted)
    draw_fixes(sheet, charted)
    label_limit(sheet, charted)
    if charted.offset_true_rad is not None:
        draw_barb(sheet, charted, charted.offset_true_rad)
    _draw_farthest(sheet, subject)
    draw_faults(sheet, subject)
    for leg, colour in LEG_COLOUR.items():
        spans = subject.leg_spans(leg)
        if leg == "hold" and approach is not None:
            name_laps(sheet, approach.reversal, states)
        elif spans:
            _name_leg(sheet, subject.leg_name(leg), states.between(*spans[-1]), colour)
    label_courses(sheet, charted)
    label_arc(sheet, charted)
    label_briefed(sheet, briefed)
    mark_doubts(sheet, subject.debrief, states)
    _draw_arrows(sheet, subject)
    _minute_ticks(sheet, states)
    return Panel(frame, tuple(sheet.marks))


def _seen(subject: Subject, beneath_m: FloatArray | None) -> Box:
    """The box around the track, the briefed path, the fix, and the outbound course up to the limit. [NM]

    Where nothing came near the limit, as in most holds, the course is cut a little beyond the track, to keep the track large.
    Of a flight in which nothing was recognised, the track far beyond the limit is left out.
    """
    charted, states = subject.debrief.motion.charted, subject.states
    beneath, briefed = _beneath_nm(beneath_m), briefed_path(charted, subject.approach)
    cx, cy = from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
    farthest, reach = subject.farthest_from_limit, reach_nm(charted)
    if farthest is not None and farthest.distance_m / NM < _NEAR_SHARE * reach:
        reach = max(_BEYOND * farthest.distance_m / NM, _NEAR_SHARE * reach)
    ex, ey = point(reach, charted.outbound_true_rad)
    charted_nm = np.array([[0.0, 0.0], [cx + ex, cy + ey]])
    if charted.held is not None:
        charted_nm = racetrack_nm(charted, charted.held, median(states.true_airspeed_mps))
    flown = np.column_stack(xy(states))
    if subject.approach is None:
        near = flown[np.hypot(flown[:, 0], flown[:, 1]) < _ABOUT_SHARE * reach]
        if not len(near):  # it never came near: the flight alone
            return box_about(flown)
        flown = near
    places = [flown, beneath.reshape(-1, 2), briefed, charted_nm]
    if charted.runway is not None:
        places.append(np.array([from_fix(charted, charted.runway.latitude_rad, charted.runway.longitude_rad)]))
    return box_about(np.vstack(places))


def box_about(places: FloatArray) -> Box:
    """The box around points, shape (n, 2), with a margin: left, right, bottom, top. [NM]"""
    (left, bottom), (right, top) = places.min(axis=0) - _MARGIN_NM, places.max(axis=0) + _MARGIN_NM
    return float(left), float(right), float(bottom), float(top)


def plan_frame(seen: Box, size: tuple[float, float]) -> Frame:
    """The frame of a size [points] around a box [NM], widened so that both scales are equal."""
    (left, right, bottom, top), aspect = seen, size[0] / size[1]
    width, height = max(right - left, aspect * (top - bottom)), max(top - bottom, (right - left) / aspect)
    cx, cy = (left + right) / 2.0, (bottom + top) / 2.0
    across, up = (cx - width / 2.0, cx + width / 2.0), (cy - height / 2.0, cy + height / 2.0)
    return Frame("plan", (0.0, 0.0, *size), across, up)


def _wind(subject: Subject) -> Wind | None:
    return subject.approach.figures.wind if subject.approach is not None else None


def _beneath_nm(beneath_m: FloatArray | None) -> FloatArray:
    """The pale paths in miles east and north, shape (paths, points, 2)."""
    return np.empty((0, 0, 2)) if beneath_m is None else beneath_m[:, :, ::-1] / NM


def _draw_track(sheet: Sheet, part: States, leg: Leg) -> None:
    if len(part):
        x, y = xy(part)
        _, x, y = with_breaks(part.time_s, part.time_s, x, y)
        sheet.add(Line(x, y, LEG_COLOUR[leg], _LINE_PT[leg]))


def _draw_arrows(sheet: Sheet, subject: Subject) -> None:
    """Arrowheads along the track at intervals, in the colour of the leg."""
    states = subject.states
    x, y = xy(states)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))]) / sheet.nm_per_point
    for away in np.arange(0.5 * _ARROW_EVERY_PT, along[-1], _ARROW_EVERY_PT).tolist():
        k = int(np.searchsorted(along, away))
        time = float(states.time_s[k])
        legs = [leg for leg in LEG_COLOUR for start, end in subject.leg_spans(leg) if start <= time <= end]
        colour = LEG_COLOUR[legs[0] if legs else "arrival"]
        sheet.add(Marker(float(x[k]), float(y[k]), "arrow", _ARROW_PT, colour, colour, 0.0, 5.5, float(states.track_rad[k])))


def _name_leg(sheet: Sheet, name: str, part: States, colour: str) -> None:
    """The name of a leg next to its track, where it hides least."""
    if len(part) < _LEAST_NAMED:
        return
    sheet.label(_along(sheet, part), name, sheet.layout.strong - 0.5, colour=colour, bold=True)


def _along(sheet: Sheet, part: States) -> Iterator[tuple[float, float, float]]:
    """Places for a name along a track: next to it anywhere before farther away."""
    x, y = xy(part)
    for near in (1.0, 1.7, 2.5, 3.5):
        for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9, 0.0, 1.0):
            k = int(share * (len(part) - 1))
            track = float(part.track_rad[k])
            for away in (near, -near):
                ox, oy = point(away * sheet.layout.strong * sheet.nm_per_point, track + math.pi / 2.0)
                yield float(x[k]) + ox, float(y[k]) + oy, track


def _minute_ticks(sheet: Sheet, states: States) -> None:
    """A tick across the track at every whole minute, with the minute of the hour if there is room."""
    minutes = np.arange(math.ceil(states.time_s[0] / 60.0), math.floor(states.time_s[-1] / 60.0) + 1) * 60.0
    x, y = xy(states)
    for minute, k in zip(minutes, np.searchsorted(states.time_s, minutes), strict=True):
        if states.time_s[k] - minute > 1.0:
            continue  # in a gap
        across = float(states.track_rad[k]) + math.pi / 2.0
        ox, oy = point(4.0 * sheet.nm_per_point, across)
        sheet.add(straight((float(x[k]) - ox, float(y[k]) - oy), (float(x[k]) + ox, float(y[k]) + oy), INK, 0.9, level=5.0))
        places = []
        for away in (-11.0, 11.0):
            lx, ly = point(away * sheet.nm_per_point, across)
            places.append((float(x[k]) + lx, float(y[k]) + ly, math.pi / 2.0))
        label = datetime.fromtimestamp(float(minute), tz=UTC).strftime(":%M")
        sheet.label(places, label, sheet.layout.small, most_hidden=0.02, colour=QUIET)


def _draw_farthest(sheet: Sheet, subject: Subject) -> None:
    """The farthest point, with the line to it and its distance."""
    farthest, motion = subject.farthest, subject.debrief.motion
    if farthest is None:
        return
    x, y = from_fix(motion.charted, *motion.position_at(farthest.time_s))
    outward = math.atan2(x, y)
    sheet.add(straight((0.0, 0.0), (x, y), FAINT, 1.0, level=1.0), Marker(x, y, "circle", 6.5, edge=1.5, level=7.0))
    text, size = f"farthest {farthest.distance_m / NM:.2f} NM", sheet.layout.strong
    sheet.avoid(np.array([[x, y]]), 4.0)
    places = []
    for away in (26.0, 40.0, 60.0):
        for turn in (0.0, 0.6, -0.6, 1.2, -1.2, 2.0, -2.0):
            dx, dy = point(away * sheet.nm_per_point, outward + turn)
            shift = math.copysign(0.3 * len(text) * size * sheet.nm_per_point, dx) if abs(dx) > 0.3 * abs(dy) else 0.0
            places.append((x + dx + shift, y + dy, math.pi / 2.0))
    sheet.label(places, text, size, bold=True, boxed=True)
