"""The plan view: the track about the fix, coloured by leg, over what is charted.

Azimuthal equidistant about the fix, true north up: distances from the fix are true everywhere. Coordinates are nautical miles
east and north of the fix.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure

from analyzer.motion.motion import States
from analyzer.physics import geodesy
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, NM, FloatArray
from analyzer.report.pictures.bare_axes import add_bare_axes
from analyzer.report.pictures.compass import draw_compass, draw_scale
from analyzer.report.pictures.doubt_marks import mark_doubts
from analyzer.report.pictures.frame import inches
from analyzer.report.pictures.labels import Obstacles
from analyzer.report.pictures.plan_axes import Sheet, from_fix, point, polar, reach_nm, xy
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
from analyzer.report.pictures.plan_laps import draw_laps, name_laps
from analyzer.report.pictures.style import FAINT, INK, LEG_COLOUR, PAPER, QUIET, shown_span, with_breaks
from analyzer.vocabulary import Leg

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData
    from analyzer.procedure.charted import Charted

__all__ = ["draw_plan_view", "frame_about", "plan_view"]

_WIDTH_IN, _LEAST_HEIGHT_IN, _MOST_HEIGHT_IN = 8.4, 5.0, 8.4
_MARGIN_NM = 1.0
_NEAR_SHARE, _BEYOND = (
    0.4,
    1.5,
)  # of the limit: what does not come near it; and how far the course is seen then, of what was flown
# the way out is drawn broader than the way back over it, so that both are seen
_LINE_PT: Mapping[Leg, float] = {
    "arrival": 2.2,
    "outbound": 4.4,
    "reversal": 2.4,
    "inbound": 1.8,
    "final": 2.2,
    "missed": 2.2,
}
_LEAST_PLACES = 10  # of a briefed path that is worth a name
_Box = tuple[float, float, float, float]  # left, right, bottom, top


def plan_view(debrief: DebriefData, approach: Approach, beneath_m: FloatArray | None = None) -> Figure:
    """The plan view of one approach, as a figure of its own. `beneath_m` as for `draw_plan_view`."""
    left, right, bottom, top = _seen(debrief, approach, beneath_m)
    height_in = min(max(_WIDTH_IN * (top - bottom) / (right - left), _LEAST_HEIGHT_IN), _MOST_HEIGHT_IN)
    figure = Figure(figsize=(_WIDTH_IN, height_in))
    draw_plan_view(add_bare_axes(figure, (0.0, 0.0, 1.0, 1.0), "plan"), debrief, approach, beneath_m)
    return figure


def draw_plan_view(axes: Axes, debrief: DebriefData, approach: Approach, beneath_m: FloatArray | None = None) -> None:
    """Draw the plan view of one approach into axes, which it fills.

    `beneath_m` holds further paths to be drawn pale beneath it, metres north and east of the fix, shape (paths, places, 2).
    """
    charted, reversal = debrief.motion.charted, approach.reversal
    states = debrief.motion.states.between(*shown_span(reversal))
    briefed = _briefed_path(charted, approach)
    width_in, height_in = inches(axes)
    frame = _frame(_seen(debrief, approach, beneath_m), width_in / height_in)
    axes.set_axis_off()
    axes.set_xlim(frame[0], frame[1])
    axes.set_ylim(frame[2], frame[3])
    nm_per_point = (frame[1] - frame[0]) / (width_in * 72.0)
    points = np.column_stack(xy(states))[:: max(1, len(states) // 400)]
    sheet = Sheet(axes, nm_per_point, Obstacles(points, np.full(len(points), 2.0 * nm_per_point), frame))
    axes.add_collection(
        LineCollection(list(_beneath_nm(beneath_m)), colors=FAINT, linewidths=0.5, alpha=0.6, zorder=1), autolim=False
    )
    draw_lines(sheet, charted)
    draw_holds(sheet, charted, median(states.true_airspeed_mps))
    _draw_briefed(sheet, briefed)
    draw_laps(sheet, reversal, states)
    for leg, colour in LEG_COLOUR.items():
        for span in reversal.leg_spans(leg) if leg != "hold" else ():
            part = states.between(*span)
            axes.plot(*with_breaks(part.time_s, *xy(part)), color=colour, lw=_LINE_PT[leg], zorder=4)
    draw_fix(sheet, charted)
    draw_fixes(sheet, charted)
    if charted.offset_true_rad is not None:
        draw_barb(sheet, charted, charted.offset_true_rad)
    _draw_farthest(sheet, debrief, approach)
    clear = draw_compass(axes, sheet.obstacles, charted.variation.east_rad, approach.figures.wind)
    sheet.obstacles = draw_scale(axes, clear, nm_per_point)
    for leg, colour in LEG_COLOUR.items():
        spans = reversal.leg_spans(leg)
        if leg == "hold":
            name_laps(sheet, reversal, states)
        elif spans:
            _name_leg(sheet, leg, states.between(*spans[-1]), colour)
    label_courses(sheet, charted)
    label_limit(sheet, charted)
    label_arc(sheet, charted)
    _label_briefed(sheet, briefed)
    mark_doubts(sheet, debrief, states)
    _minute_ticks(sheet, states)


def _seen(debrief: DebriefData, approach: Approach, beneath_m: FloatArray | None) -> _Box:
    """The box about all that must be seen: what was flown and briefed, the fix, and the outbound course up to the limit.

    Where nothing came near the limit, as in most holds, the course is seen not much farther out than was flown: what was flown
    is not to be small.
    """
    charted = debrief.motion.charted
    states = debrief.motion.states.between(*shown_span(approach.reversal))
    beneath, briefed = _beneath_nm(beneath_m), _briefed_path(charted, approach)
    cx, cy = from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
    farthest, reach = approach.figures.farthest_from_limit, reach_nm(charted)
    if farthest is not None and farthest.distance_m / NM < _NEAR_SHARE * reach:
        reach = max(_BEYOND * farthest.distance_m / NM, _NEAR_SHARE * reach)
    ex, ey = point(reach, charted.outbound_true_rad)
    charted_nm = np.array([[0.0, 0.0], [cx + ex, cy + ey]])
    if charted.held is not None:
        charted_nm = racetrack_nm(charted, charted.held, median(states.true_airspeed_mps))
    places = [np.column_stack(xy(states)), beneath.reshape(-1, 2), briefed, charted_nm]
    if charted.runway is not None:
        places.append(np.array([from_fix(charted, charted.runway.latitude_rad, charted.runway.longitude_rad)]))
    together = np.vstack(places)
    (left, bottom), (right, top) = together.min(axis=0) - _MARGIN_NM, together.max(axis=0) + _MARGIN_NM
    return float(left), float(right), float(bottom), float(top)


def frame_about(places: FloatArray, width_in: float) -> tuple[float, float, float, float, float]:
    """The frame about some places, shape (n, 2): left, right, bottom, top [NM], and the picture's height [inches]."""
    (left, bottom), (right, top) = places.min(axis=0) - _MARGIN_NM, places.max(axis=0) + _MARGIN_NM
    height_in = min(max(width_in * (top - bottom) / (right - left), _LEAST_HEIGHT_IN), _MOST_HEIGHT_IN)
    return *_frame((float(left), float(right), float(bottom), float(top)), width_in / height_in), height_in


def _beneath_nm(beneath_m: FloatArray | None) -> FloatArray:
    """Further paths as miles east and north, shape (paths, places, 2)."""
    return np.empty((0, 0, 2)) if beneath_m is None else beneath_m[:, :, ::-1] / NM


def _briefed_path(charted: Charted, approach: Approach) -> FloatArray:
    """The path of the flight's brief, shape (places, 2); none without a brief."""
    if approach.comparison is None:
        return np.empty((0, 2))
    path = approach.comparison.card.path
    distance, bearing = geodesy.inverse(
        charted.fix_latitude_rad,
        charted.fix_longitude_rad,
        np.array(path.latitude_deg) * DEG,
        np.array(path.longitude_deg) * DEG,
    )
    return np.column_stack(polar(distance / NM, bearing))


def _draw_briefed(sheet: Sheet, briefed: FloatArray) -> None:
    sheet.axes.plot(briefed[:, 0], briefed[:, 1], color=INK, lw=1.3, ls=(0, (1, 1.8)), zorder=6)
    if len(briefed):
        sheet.avoid(briefed[:: max(1, len(briefed) // 200)], 2.0)


def _label_briefed(sheet: Sheet, briefed: FloatArray) -> None:
    """Name the briefed path where it lies clear of what was flown."""
    if len(briefed) < _LEAST_PLACES:
        return
    far, places = int(np.argmax(np.hypot(briefed[:, 0], briefed[:, 1]))), []
    for share in (0.0, -0.04, 0.04, -0.08, 0.08, -0.12, 0.12, 0.3, -0.3):
        k = min(max(far + int(share * len(briefed)), 0), len(briefed) - 2)
        along = math.atan2(*(briefed[k + 1] - briefed[k]))
        for away in (9.0, -9.0, 14.0, -14.0):
            ox, oy = point(away * sheet.nm_per_point, along + math.pi / 2.0)
            places.append((float(briefed[k, 0]) + ox, float(briefed[k, 1]) + oy, along))
    sheet.label(places, "as briefed", 8.5, color=INK)


def _frame(box: _Box, aspect: float) -> _Box:
    """The box widened so that a mile is a mile both ways and it fills the picture."""
    left, right, bottom, top = box
    width, height = max(right - left, aspect * (top - bottom)), max(top - bottom, (right - left) / aspect)
    cx, cy = (left + right) / 2.0, (bottom + top) / 2.0
    return cx - width / 2.0, cx + width / 2.0, cy - height / 2.0, cy + height / 2.0


def _name_leg(sheet: Sheet, name: str, part: States, colour: str) -> None:
    """The leg's name next to its track, where it hides least."""
    if len(part) < 20:
        return
    x, y = xy(part)
    places = []
    for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):
        k = int(share * (len(part) - 1))
        for away in (1.0, -1.0):
            ox, oy = point(away * 10.0 * sheet.nm_per_point, float(part.track_rad[k]) + math.pi / 2.0)
            places.append((float(x[k]) + ox, float(y[k]) + oy, float(part.track_rad[k])))
    sheet.label(places, name, 10.0, color=colour, fontweight="bold")


def _minute_ticks(sheet: Sheet, states: States) -> None:
    """A tick across the track at every whole minute, with the minute of the hour where there is room."""
    minutes = np.arange(math.ceil(states.time_s[0] / 60.0), math.floor(states.time_s[-1] / 60.0) + 1) * 60.0
    x, y = xy(states)
    ticks = []
    for minute, k in zip(minutes, np.searchsorted(states.time_s, minutes), strict=True):
        if states.time_s[k] - minute > 1.0:
            continue  # it lies in a gap
        across = float(states.track_rad[k]) + math.pi / 2.0
        ox, oy = point(4.0 * sheet.nm_per_point, across)
        ticks.append([(x[k] - ox, y[k] - oy), (x[k] + ox, y[k] + oy)])
        places = []
        for away in (-11.0, 11.0):
            lx, ly = point(away * sheet.nm_per_point, across)
            places.append((float(x[k]) + lx, float(y[k]) + ly, math.pi / 2.0))
        label = datetime.fromtimestamp(float(minute), tz=UTC).strftime(":%M")
        sheet.label(places, label, 7.0, most_hidden=0.6, color=QUIET)
    sheet.axes.add_collection(LineCollection(ticks, colors=INK, linewidths=0.9, zorder=5), autolim=False)


def _draw_farthest(sheet: Sheet, debrief: DebriefData, approach: Approach) -> None:
    """The farthest point, the line to it and its distance."""
    farthest = approach.figures.farthest
    if farthest is None:
        return
    x, y = from_fix(debrief.motion.charted, *debrief.motion.position_at(farthest.time_s))
    outward = math.atan2(x, y)
    sheet.axes.plot([0.0, x], [0.0, y], color=FAINT, lw=1.0, zorder=1)
    sheet.axes.plot([x], [y], marker="o", ms=6.5, mfc=PAPER, mec=INK, mew=1.5, zorder=7)
    text = f"farthest {farthest.distance_m / NM:.2f} NM"
    places = []
    for away in (26.0, 40.0, 60.0):
        for turn in (0.0, 0.6, -0.6, 1.2, -1.2, 2.0, -2.0):
            dx, dy = point(away * sheet.nm_per_point, outward + turn)
            shift = math.copysign(0.3 * len(text) * 10.0 * sheet.nm_per_point, dx) if abs(dx) > 0.3 * abs(dy) else 0.0
            places.append((x + dx + shift, y + dy, math.pi / 2.0))
    sheet.label(places, text, 10.5, color=INK, fontweight="bold",
                bbox={"boxstyle": "round,pad=0.25", "fc": PAPER, "ec": INK, "lw": 0.8})  # fmt: skip
