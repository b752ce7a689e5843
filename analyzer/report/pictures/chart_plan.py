"""The plan view of a chart without a flight, as shown while a procedure is being typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.physics.units import DEG, KT, FloatArray
from analyzer.report.pictures.compass import draw_scale
from analyzer.report.pictures.drawing import Drawing, Marker, Panel, Words, straight
from analyzer.report.pictures.labels import Obstacles
from analyzer.report.pictures.layout import Layout
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
from analyzer.report.pictures.plan_sheet import Sheet, from_fix, point, reach_nm
from analyzer.report.pictures.plan_view import box_about, plan_frame, plan_size
from analyzer.report.pictures.racetrack import charted_holds
from analyzer.report.pictures.style import INK, LEG_COLOUR

if TYPE_CHECKING:
    from analyzer.procedure.charted import Charted

__all__ = ["HOLD_AIRSPEED_MPS", "chart_plan"]

HOLD_AIRSPEED_MPS = 90.0 * KT  # a hold is drawn as flown at this speed in still air
_NORTH_PT = 18.0


def chart_plan(charted: Charted, layout: Layout) -> Drawing:
    """Draw the plan view: limit, courses, holds, fixes and runway, true north up."""
    seen = _seen(charted)
    size = plan_size(box_about(seen), layout)
    frame = plan_frame(box_about(seen), size)
    sheet = Sheet(frame, layout, Obstacles(np.empty((0, 2)), np.empty(0), (*frame.x, *frame.y)))
    draw_lines(sheet, charted)
    draw_holds(sheet, charted, HOLD_AIRSPEED_MPS)
    inbound = _inbound_end(charted)
    sheet.add(straight((0.0, 0.0), inbound, LEG_COLOUR["final"], 1.6))
    sheet.avoid(np.array([[inbound[0] * share, inbound[1] * share] for share in np.linspace(0.1, 1.0, 10)]), 1.5)
    draw_scale(sheet)
    _draw_north(sheet)
    draw_fix(sheet, charted)
    draw_fixes(sheet, charted)
    label_limit(sheet, charted)
    if charted.offset_true_rad is not None:
        draw_barb(sheet, charted, charted.offset_true_rad)
    label_courses(sheet, charted)
    label_arc(sheet, charted)
    return Drawing(*size, (Panel(frame, tuple(sheet.marks)),))


def _seen(charted: Charted) -> FloatArray:
    """The places the frame must include: the fix, the limit or end of the outbound course, holds, fixes and runway. [NM]"""
    places = [(0.0, 0.0), point(reach_nm(charted), charted.outbound_true_rad), _inbound_end(charted)]
    if charted.limit_m is not None:
        cx, cy = from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
        places += [(cx + dx, cy + dy) for bearing in (0.0, 90.0, 180.0, 270.0) for dx, dy in
                   [point(reach_nm(charted), bearing * DEG)]]  # fmt: skip
    if charted.runway is not None:
        places.append(from_fix(charted, charted.runway.latitude_rad, charted.runway.longitude_rad))
    places += [from_fix(charted, fix.latitude_rad, fix.longitude_rad) for fix in charted.fixes]
    tracks = [racetrack_nm(charted, hold, HOLD_AIRSPEED_MPS) for hold in charted_holds(charted)]
    return np.vstack([np.array(places), *tracks])


def _inbound_end(charted: Charted) -> tuple[float, float]:
    """The end of the drawn final course: the runway, else the last fix, else three miles beyond the fix. [NM]"""
    if charted.runway is not None:
        return from_fix(charted, charted.runway.latitude_rad, charted.runway.longitude_rad)
    if charted.fixes:
        return from_fix(charted, charted.fixes[-1].latitude_rad, charted.fixes[-1].longitude_rad)
    return point(3.0, charted.inbound_true_rad)


def _draw_north(sheet: Sheet) -> None:
    frame = sheet.frame
    x, y = frame.x[0] + 18.0 * frame.x_per_point, frame.y[1] - 14.0 * frame.y_per_point
    foot = y - _NORTH_PT * frame.y_per_point
    sheet.add(straight((x, foot), (x, y), INK, 1.4), Marker(x, y, "arrow", 8.0, INK, INK))
    sheet.add(Words(x, foot, "true N", sheet.layout.small, up="top", across="left", away=(-12.0, -3.0)))
