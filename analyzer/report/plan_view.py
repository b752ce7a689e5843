"""The plan view: the track about the fix, coloured by leg, over what is charted.

Azimuthal equidistant about the fix, true north up: distances from the fix are true everywhere. Coordinates are nautical miles
east and north of the fix.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure

from analyzer.motion.model import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, FloatArray, bearing_text
from analyzer.report.compass import draw_compass, draw_scale
from analyzer.report.labels import Label, Obstacles, choose
from analyzer.report.style import FAINT, INK, LEG_COLOUR, QUIET, WARN, shown_span, with_breaks

if TYPE_CHECKING:
    from analyzer.debriefing import Approach, Debrief
    from analyzer.procedure.charted import Charted

__all__ = ["plan_view"]

_WIDTH_IN, _LEAST_HEIGHT_IN, _MOST_HEIGHT_IN = 8.4, 5.0, 8.4
_MARGIN_NM = 1.0
_BOX_ROOM = 1.4  # a box about a text takes so much more
# the way out is drawn broader than the way back over it, so that both are seen
_LINE_PT = {"arrival": 2.2, "outbound": 4.4, "reversal": 2.4, "inbound": 1.8, "final": 2.2}
_LEAST_PLACES = 10  # of a briefed path that is worth a name
_BARB_SHARES = (0.62, 0.5, 0.38, 0.75, 0.85, 0.28)  # of the limit: where the charted offset may be drawn


@dataclass
class _Sheet:
    """The drawing under way: axes, how many miles a point of type is, and what labels must keep clear of."""

    axes: Axes
    nm_per_point: float
    obstacles: Obstacles

    def label(
        self, places: list[tuple[float, float, float]], text: str, size: float, most_hidden: float = math.inf, **style: Any
    ) -> None:
        """Write a text at the best of some places (x, y, bearing it runs along), or not at all where each hides too much."""
        room = size * (_BOX_ROOM if "bbox" in style else 1.0) * self.nm_per_point
        candidates = [Label(x, y, math.radians(_upright(along)), text, room) for x, y, along in places]
        best, hidden = choose(candidates, self.obstacles)
        if hidden > most_hidden:
            return
        self.obstacles = self.obstacles.with_label(best)
        self.axes.text(
            best.x, best.y, text, fontsize=size, rotation=math.degrees(best.angle), rotation_mode="anchor",
            ha="center", va="center", parse_math=False, zorder=8, **style,
        )  # fmt: skip


def plan_view(debrief: Debrief, approach: Approach, beneath_m: FloatArray | None = None) -> Figure:
    """The plan view of one approach, as a figure of its own.

    `beneath_m` holds further paths to be drawn pale beneath it, metres north and east of the fix, shape (paths, places, 2).
    """
    charted, reversal = debrief.motion.charted, approach.reversal
    states = debrief.motion.states.between(*shown_span(reversal))
    x, y = _xy(states)
    if beneath_m is None:
        beneath_m = np.empty((0, 0, 2))
    paths = beneath_m[:, :, ::-1] / NM
    briefed = _briefed_path(charted, approach)
    box = _extent(charted, np.concatenate([x, paths[..., 0].ravel(), briefed[:, 0]]),
                  np.concatenate([y, paths[..., 1].ravel(), briefed[:, 1]]))  # fmt: skip
    inches = min(max(_WIDTH_IN * (box[3] - box[2]) / (box[1] - box[0]), _LEAST_HEIGHT_IN), _MOST_HEIGHT_IN)
    figure = Figure(figsize=(_WIDTH_IN, inches))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    frame = _frame(box, _WIDTH_IN / inches)
    axes.set_xlim(frame[0], frame[1])
    axes.set_ylim(frame[2], frame[3])
    nm_per_point = (frame[1] - frame[0]) / (_WIDTH_IN * 72.0)
    points = np.column_stack([x, y])[:: max(1, len(x) // 400)]
    sheet = _Sheet(axes, nm_per_point, Obstacles(points, np.full(len(points), 2.0 * nm_per_point), frame))
    axes.add_collection(LineCollection(list(paths), colors=FAINT, linewidths=0.5, alpha=0.6, zorder=1), autolim=False)
    _draw_lines(sheet, charted)
    _draw_briefed(sheet, briefed)
    for leg, colour in LEG_COLOUR.items():
        for span in reversal.leg_spans(leg):
            part = states.between(*span)
            axes.plot(*with_breaks(part.time_s, *_xy(part)), color=colour, lw=_LINE_PT[leg], zorder=4)
    _draw_fix(sheet, charted)
    if charted.offset_true_rad is not None:
        _draw_barb(sheet, charted, charted.offset_true_rad)
    _draw_farthest(sheet, debrief, approach)
    clear = draw_compass(axes, sheet.obstacles, inches, charted.variation.east_rad, approach.figures.wind)
    sheet.obstacles = draw_scale(axes, clear, nm_per_point)
    for leg, colour in LEG_COLOUR.items():
        spans = reversal.leg_spans(leg)
        if spans:
            _name_leg(sheet, leg, states.between(*spans[-1]), colour)
    _label_charted(sheet, charted)
    _label_arc(sheet, charted)
    _label_briefed(sheet, briefed)
    _minute_ticks(sheet, states)
    return figure


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
    return np.column_stack(_polar(distance / NM, bearing))


def _draw_briefed(sheet: _Sheet, briefed: FloatArray) -> None:
    sheet.axes.plot(briefed[:, 0], briefed[:, 1], color=INK, lw=1.3, ls=(0, (1, 1.8)), zorder=6)
    if len(briefed):
        sheet.obstacles = sheet.obstacles.with_points(briefed[:: max(1, len(briefed) // 200)], 2.0 * sheet.nm_per_point)


def _label_briefed(sheet: _Sheet, briefed: FloatArray) -> None:
    """Name the briefed path where it lies clear of what was flown."""
    if len(briefed) < _LEAST_PLACES:
        return
    far, places = int(np.argmax(np.hypot(briefed[:, 0], briefed[:, 1]))), []
    for share in (0.0, -0.04, 0.04, -0.08, 0.08, -0.12, 0.12, 0.3, -0.3):
        k = min(max(far + int(share * len(briefed)), 0), len(briefed) - 2)
        along = math.atan2(*(briefed[k + 1] - briefed[k]))
        for away in (9.0, -9.0, 14.0, -14.0):
            ox, oy = _point(away * sheet.nm_per_point, along + math.pi / 2.0)
            places.append((float(briefed[k, 0]) + ox, float(briefed[k, 1]) + oy, along))
    sheet.label(places, "as briefed", 8.5, color=INK)


def _xy(states: States) -> tuple[FloatArray, FloatArray]:
    return _polar(states.distance_m / NM, states.bearing_rad)


def _polar(distance: FloatArray | float, bearing: FloatArray | float) -> tuple[FloatArray, FloatArray]:
    return np.asarray(distance * np.sin(bearing)), np.asarray(distance * np.cos(bearing))


def _point(distance: float, bearing: float) -> tuple[float, float]:
    return distance * math.sin(bearing), distance * math.cos(bearing)


def _from_fix(charted: Charted, latitude: float, longitude: float) -> tuple[float, float]:
    distance, bearing = geodesy.inverse(charted.fix_latitude_rad, charted.fix_longitude_rad, latitude, longitude)
    return _point(float(distance) / NM, float(bearing))


def _upright(bearing: float) -> float:
    """Rotation of text along a bearing so that it is never upside down. [degrees]"""
    return (180.0 - math.degrees(bearing)) % 180.0 - 90.0


def _reach(charted: Charted) -> float:
    return charted.limit_m / NM if charted.limit_m is not None else 10.0


def _extent(charted: Charted, x: FloatArray, y: FloatArray) -> tuple[float, float, float, float]:
    """Left, right, bottom and top of what must be seen: the track, the fix and where the outbound course meets the limit."""
    cx, cy = _from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
    ex, ey = _point(_reach(charted), charted.outbound_true_rad)
    xs, ys = [x.min(), x.max(), 0.0, cx + ex], [y.min(), y.max(), 0.0, cy + ey]
    if charted.runway is not None:
        rx, ry = _from_fix(charted, charted.runway.latitude_rad, charted.runway.longitude_rad)
        xs.append(rx)
        ys.append(ry)
    return min(xs) - _MARGIN_NM, max(xs) + _MARGIN_NM, min(ys) - _MARGIN_NM, max(ys) + _MARGIN_NM


def _frame(box: tuple[float, float, float, float], aspect: float) -> tuple[float, float, float, float]:
    """The box widened so that a mile is a mile both ways and it fills the picture."""
    left, right, bottom, top = box
    width, height = max(right - left, aspect * (top - bottom)), max(top - bottom, (right - left) / aspect)
    cx, cy = (left + right) / 2.0, (bottom + top) / 2.0
    return cx - width / 2.0, cx + width / 2.0, cy - height / 2.0, cy + height / 2.0


def _draw_lines(sheet: _Sheet, charted: Charted) -> None:
    """Limit circle and outbound course."""
    reach, axes = _reach(charted), sheet.axes
    if charted.limit_m is not None:
        cx, cy = _from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
        circle_x, circle_y = _polar(reach, np.linspace(0.0, math.tau, 361))
        axes.plot(cx + circle_x, cy + circle_y, color=WARN, lw=1.1, ls=(0, (6, 3)), zorder=2)
        circle = np.column_stack([cx + circle_x, cy + circle_y])
        sheet.obstacles = sheet.obstacles.with_points(circle, sheet.nm_per_point)
    arc = _charted_arc(charted)
    if len(arc):
        axes.plot(arc[:, 0], arc[:, 1], color=QUIET, lw=1.0, ls=(0, (8, 4)), zorder=2, scalex=False, scaley=False)
    ex, ey = _point(reach, charted.outbound_true_rad)
    axes.plot([0.0, ex], [0.0, ey], color=QUIET, lw=1.0, ls=(0, (8, 4)), zorder=2)


def _charted_arc(charted: Charted) -> FloatArray:
    """The circle of the charted arc, shape (places, 2); none where no arc is charted."""
    if charted.arc_radius_m is None or charted.arc_latitude_rad is None or charted.arc_longitude_rad is None:
        return np.empty((0, 2))
    cx, cy = _from_fix(charted, charted.arc_latitude_rad, charted.arc_longitude_rad)
    x, y = _polar(charted.arc_radius_m / NM, np.linspace(0.0, math.tau, 361))
    return np.column_stack([cx + x, cy + y])


def _label_arc(sheet: _Sheet, charted: Charted) -> None:
    """Name the charted arc where it can be seen."""
    arc = _charted_arc(charted)
    left, right, bottom, top = sheet.obstacles.frame
    seen = [k for k in range(0, len(arc) - 1, 5) if left < arc[k, 0] < right and bottom < arc[k, 1] < top]
    if not seen or charted.arc_radius_m is None:
        return
    places = []
    for k in seen:
        along = math.atan2(*(arc[k + 1] - arc[k]))
        for away in (9.0, -9.0):
            ox, oy = _point(away * sheet.nm_per_point, along + math.pi / 2.0)
            places.append((float(arc[k, 0]) + ox, float(arc[k, 1]) + oy, along))
    sheet.label(places, f"arc {charted.arc_radius_m / NM:g} NM", 9.0, color=QUIET)


def _label_charted(sheet: _Sheet, charted: Charted) -> None:
    """Courses, offset and limit in words, magnetic."""
    reach, variation, course = _reach(charted), charted.variation.east_rad, charted.outbound_true_rad
    side = charted.side or 1
    places = []
    for share in (0.8, 0.88, 0.5, 0.4, 0.3, 0.7, 0.95):
        for away in (-side, side):
            x, y = _point(share * reach, course)
            ox, oy = _point(11.0 * sheet.nm_per_point * away, course + math.pi / 2.0)
            places.append((x + ox, y + oy, course))
    text = f"{bearing_text(course - variation)} out, {bearing_text(charted.inbound_true_rad - variation)} in"
    sheet.label(places, text, 9.0, color=QUIET)
    if charted.limit_m is not None:
        cx, cy = _from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
        around = []
        for degrees in (12, -12, 16, -16, 22, -22, 30, -30, 8, -8, 0):
            bearing = course + math.radians(degrees)
            lx, ly = _point(reach + 13.0 * sheet.nm_per_point, bearing)
            around.append((cx + lx, cy + ly, bearing + math.pi / 2.0))
        sheet.label(around, f"limit {reach:g} NM", 9.0, color=WARN)


def _draw_barb(sheet: _Sheet, charted: Charted, offset: float) -> None:
    """The charted offset and its courses, where along the outbound course they hide least."""
    reach, variation = _reach(charted), charted.variation.east_rad
    text = f"{bearing_text(offset - variation)}\n{bearing_text(offset - variation + math.pi)}"
    dx, dy = _point(0.11 * reach, offset)
    starts = [_point(share * reach, charted.outbound_true_rad) for share in _BARB_SHARES]
    whole = [
        Label(x + 0.85 * dx, y + 0.85 * dy, math.pi / 2.0 - offset, "-" * max(4, int(0.2 * reach / sheet.nm_per_point / 6.0)),
              10.0 * sheet.nm_per_point)
        for x, y in starts
    ]  # fmt: skip
    best, _ = choose(whole, sheet.obstacles)
    x, y = starts[whole.index(best)]
    sheet.axes.plot([x, x + dx], [y, y + dy], color=QUIET, lw=1.0, ls=(0, (8, 4)), zorder=2)
    line = np.array([[x + s * dx, y + s * dy] for s in (0.2, 0.4, 0.6, 0.8, 1.0)])
    sheet.obstacles = sheet.obstacles.with_points(line, 2.0 * sheet.nm_per_point)
    places = [
        (x + s * dx + c * sheet.nm_per_point, y + s * dy, math.pi / 2.0) for s in (1.4, 0.9, 1.7) for c in (0, 16, -16, 30, -30)
    ]
    sheet.label(places, text, 8.0, color=QUIET)


def _name_leg(sheet: _Sheet, leg: str, part: States, colour: str) -> None:
    """The leg's name beside its track, where it hides least."""
    if len(part) < 20:
        return
    x, y = _xy(part)
    places = []
    for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):
        k = int(share * (len(part) - 1))
        for away in (1.0, -1.0):
            ox, oy = _point(away * 10.0 * sheet.nm_per_point, float(part.track_rad[k]) + math.pi / 2.0)
            places.append((float(x[k]) + ox, float(y[k]) + oy, float(part.track_rad[k])))
    sheet.label(places, leg, 10.0, color=colour, fontweight="bold")


def _minute_ticks(sheet: _Sheet, states: States) -> None:
    """A tick across the track at every whole minute, with the minute of the hour where there is room."""
    minutes = np.arange(math.ceil(states.time_s[0] / 60.0), math.floor(states.time_s[-1] / 60.0) + 1) * 60.0
    x, y = _xy(states)
    ticks = []
    for minute, k in zip(minutes, np.searchsorted(states.time_s, minutes), strict=True):
        if states.time_s[k] - minute > 1.0:
            continue  # it lies in a gap
        across = float(states.track_rad[k]) + math.pi / 2.0
        ox, oy = _point(4.0 * sheet.nm_per_point, across)
        ticks.append([(x[k] - ox, y[k] - oy), (x[k] + ox, y[k] + oy)])
        places = []
        for away in (-11.0, 11.0):
            lx, ly = _point(away * sheet.nm_per_point, across)
            places.append((float(x[k]) + lx, float(y[k]) + ly, math.pi / 2.0))
        label = datetime.fromtimestamp(float(minute), tz=UTC).strftime(":%M")
        sheet.label(places, label, 7.0, most_hidden=0.6, color=QUIET)
    sheet.axes.add_collection(LineCollection(ticks, colors=INK, linewidths=0.9, zorder=5), autolim=False)


def _draw_farthest(sheet: _Sheet, debrief: Debrief, approach: Approach) -> None:
    """The farthest point, the line to it and its distance."""
    farthest = approach.figures.farthest
    if farthest is None:
        return
    x, y = _from_fix(debrief.motion.charted, *debrief.motion.position_at(farthest.time_s))
    outward = math.atan2(x, y)
    sheet.axes.plot([0.0, x], [0.0, y], color=FAINT, lw=1.0, zorder=1)
    sheet.axes.plot([x], [y], marker="o", ms=6.5, mfc="white", mec=INK, mew=1.5, zorder=7)
    text = f"farthest {farthest.distance_m / NM:.2f} NM"
    places = []
    for away in (26.0, 40.0, 60.0):
        for turn in (0.0, 0.6, -0.6, 1.2, -1.2, 2.0, -2.0):
            dx, dy = _point(away * sheet.nm_per_point, outward + turn)
            shift = math.copysign(0.3 * len(text) * 10.0 * sheet.nm_per_point, dx) if abs(dx) > 0.3 * abs(dy) else 0.0
            places.append((x + dx + shift, y + dy, math.pi / 2.0))
    sheet.label(places, text, 10.5, color=INK, fontweight="bold",
                bbox={"boxstyle": "round,pad=0.25", "fc": "white", "ec": INK, "lw": 0.8})  # fmt: skip


def _draw_fix(sheet: _Sheet, charted: Charted) -> None:
    """The fix, and the runway where one is charted."""
    axes = sheet.axes
    axes.plot([0.0], [0.0], marker="o", ms=9, mfc="white", mec=INK, mew=1.6, zorder=7)
    axes.plot([0.0], [0.0], marker="+", ms=6, color=INK, mew=1.4, zorder=8)
    around = [
        (*_point(20.0 * sheet.nm_per_point, charted.outbound_true_rad + a), math.pi / 2.0)
        for a in (1.2, -1.2, 1.8, -1.8, 2.4, -2.4)
    ]
    sheet.label(around, charted.procedure.fix.name, 11.0, color=INK, fontweight="bold")
    runway = charted.runway
    if runway is None:
        return
    x, y = _from_fix(charted, runway.latitude_rad, runway.longitude_rad)
    ex, ey = _point(0.8, runway.heading_rad)
    axes.plot([x, x + ex], [y, y + ey], color=INK, lw=4.0, solid_capstyle="butt", zorder=3)
    beside = [(x + s * ex + 30.0 * sheet.nm_per_point * c, y + s * ey + 9.0 * sheet.nm_per_point * d, math.pi / 2.0)
              for s in (0.5, 1.3) for c, d in ((1, -1), (-1, 1), (1, 1), (-1, -1))]  # fmt: skip
    sheet.obstacles = sheet.obstacles.with_points(np.array([[x, y], [x + ex / 2, y + ey / 2], [x + ex, y + ey]]), 0.1)
    sheet.label(beside, f"runway {runway.name}", 8.5, color=INK)
