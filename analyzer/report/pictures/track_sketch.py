"""A small picture of a log before it is understood: the track, and the altitude over time.

It is drawn next to the questions about a log, so that a wrong answer shows, such as altitudes that no aircraft flies.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np

from analyzer.motion.jumps import Jump, find_jumps
from analyzer.motion.repositioned import repositions
from analyzer.physics import geodesy
from analyzer.physics.units import FT, NM, FloatArray
from analyzer.report.pictures.compass import draw_scale
from analyzer.report.pictures.drawing import Drawing, Frame, Line, Marker, Panel, Words, straight
from analyzer.report.pictures.labels import Obstacles
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.plan_sheet import Sheet, polar
from analyzer.report.pictures.plan_view import box_about, plan_frame, plan_size
from analyzer.report.pictures.style import FAINT, INK, LEG_COLOUR, QUIET
from analyzer.track.track import Track

__all__ = ["track_sketch"]

_MOST_PLACES = 600
_STRIP_PT, _TITLE_PT, _BELOW_PT = 96.0, 16.0, 16.0
_LEAST_SPAN_FT = 100.0
_COLOUR = LEG_COLOUR["outbound"]


def track_sketch(track: Track, layout: Layout) -> Drawing:
    """The track, true north up, and below it the altitude over time if the log has it.

    The lines break where a simulator set the aircraft elsewhere.
    """
    step = max(1, len(track) // _MOST_PLACES)
    east, north = _plane_nm(track.latitude_rad[::step], track.longitude_rad[::step])
    time_s = track.time_s[::step]
    begins = [int(time_s.searchsorted(jump.end_s)) for jump in _set_elsewhere(track)]
    width, height = plan_size(box_about(np.column_stack([east, north])), layout)
    panels = [_plan(east, north, begins, layout, (width, height))]
    if bool(np.isfinite(track.altitude_m).any()):
        panels.append(_heights(time_s, track.altitude_m[::step] / FT, begins, layout, height + _TITLE_PT))
        height += _TITLE_PT + _STRIP_PT + _BELOW_PT
    return Drawing(width, height, tuple(panels))


def _set_elsewhere(track: Track) -> tuple[Jump, ...]:
    """Where a simulator set the aircraft elsewhere."""
    north_east = np.column_stack(geodesy.north_east(track.latitude_rad, track.longitude_rad))
    return repositions(track, north_east, find_jumps(track, north_east))


def _line(x: FloatArray, y: FloatArray, begins: Sequence[int], width: float) -> Line:
    """A line that is broken before each of some points."""
    return Line(np.insert(x, begins, np.nan), np.insert(y, begins, np.nan), _COLOUR, width)


def _plane_nm(latitude_rad: FloatArray, longitude_rad: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Miles east and north of the middle of the log."""
    middle = len(latitude_rad) // 2
    distance, bearing = geodesy.inverse(float(latitude_rad[middle]), float(longitude_rad[middle]), latitude_rad, longitude_rad)
    return polar(np.asarray(distance) / NM, np.asarray(bearing))


def _plan(east: FloatArray, north: FloatArray, begins: Sequence[int], layout: Layout, size: tuple[float, float]) -> Panel:
    frame = plan_frame(box_about(np.column_stack([east, north])), size)
    points = np.column_stack([east, north])
    sheet = Sheet(frame, layout, Obstacles(points, np.full(len(points), 2.0 * frame.x_per_point), (*frame.x, *frame.y)))
    sheet.add(_line(east, north, begins, 1.8))
    draw_scale(sheet)
    for k, shape, word in ((0, "circle", "begins"), (len(east) - 1, "square", "ends")):
        x, y = float(east[k]), float(north[k])
        sheet.add(Marker(x, y, shape, 7.0, edge=1.5))  # type: ignore[arg-type]  # both are shapes
        around = [(x + math.sin(a) * 22.0 * frame.x_per_point, y + math.cos(a) * 16.0 * frame.x_per_point, math.pi / 2.0)
                  for a in np.linspace(0.0, math.tau, 9)[:-1].tolist()]  # fmt: skip
        sheet.label(around, word, layout.normal)
    return Panel(frame, tuple(sheet.marks))


def _heights(time_s: FloatArray, altitude_ft: FloatArray, begins: Sequence[int], layout: Layout, top: float) -> Panel:
    low, high = float(np.nanmin(altitude_ft)), float(np.nanmax(altitude_ft))
    room = 0.15 * max(high - low, _LEAST_SPAN_FT)
    box = (layout.left, top, layout.width - layout.left - layout.right, _STRIP_PT)
    frame = Frame("altitude", box, (float(time_s[0]), float(max(time_s[-1], time_s[0] + 1.0))), (low - room, high + room))
    marks: list[Line | Words] = []
    for value in dict.fromkeys((low, high)):
        marks.append(straight((frame.x[0], value), (frame.x[1], value), FAINT, 0.8, level=1.0))
        marks.append(Words(frame.x[0], value, f"{value:,.0f}", layout.small, QUIET, across="right", away=(-4.0, 0.0)))
    marks.append(_line(time_s, altitude_ft, begins, 1.6))
    marks.append(Words(frame.x[0], frame.y[1], "altitude, ft", layout.small, INK, across="left", up="bottom", away=(0.0, 2.0)))
    for at, side in ((frame.x[0], "left"), (frame.x[1], "right")):
        clock = f"{datetime.fromtimestamp(at, tz=UTC):%H:%M} UTC"
        marks.append(Words(at, frame.y[0], clock, layout.small, QUIET, across=side, up="top", away=(0.0, -3.0)))  # type: ignore[arg-type]  # both are sides
    return Panel(frame, tuple(marks))
