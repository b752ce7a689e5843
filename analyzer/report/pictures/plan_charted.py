"""The chart in a plan view: limit, courses, arc, offset, fix and runway, dashed and in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from analyzer.physics.units import DEG, NM, FloatArray, bearing_text, wrap
from analyzer.report.pictures.drawing import Line, Marker, straight
from analyzer.report.pictures.labels import Label, choose
from analyzer.report.pictures.plan_sheet import Sheet, from_fix, point, polar, reach_nm
from analyzer.report.pictures.racetrack import charted_holds, racetrack_m
from analyzer.report.pictures.style import QUIET, WARN
from analyzer.report.words.layout import shown_name

if TYPE_CHECKING:
    from analyzer.procedure.approach import PublishedHold
    from analyzer.procedure.charted import Charted

__all__ = [
    "draw_barb", "draw_fix", "draw_fixes", "draw_holds", "draw_lines", "label_arc", "label_courses", "label_limit",
    "racetrack_nm",
]  # fmt: skip

_HOLD_LEG_NM = 3.0  # a hold's course is named along about so much of it
_RUNWAY_NM = 0.8  # its length as it is drawn
_DASHED = (8.0, 4.0)
_EVERY_PT = 3.0  # between points of a course that labels keep clear of
_LEAST_SEEN = 10  # such points of the limit in the frame: a shorter piece of it, in a corner, is a speck
_ASIDE_RAD = (1.57, -1.57, 1.0, -1.0, 2.1, -2.1)  # distances from a course at which the name of a fix on it may be placed
_ONE_LINE_RAD = 3.0 * DEG  # between the ways out and back: less is drawn as one line
_SHORT_PT = 16.0  # half the width of a name that may stand above or below its fix
_IN_SIGHT = 500.0  # a label that hides more lies outside the frame
_BARB_SHARES = (0.62, 0.5, 0.38, 0.75, 0.85, 0.28)  # shares of the limit at which the charted offset may be drawn


def draw_lines(sheet: Sheet, charted: Charted) -> None:
    """Limit circle, and the courses out and in as lines from the fix."""
    reach = reach_nm(charted)
    if charted.limit_m is not None:
        cx, cy = from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
        circle_x, circle_y = polar(reach, np.linspace(0.0, math.tau, 361))
        seen = _dense(np.column_stack([cx + circle_x, cy + circle_y]), sheet)
        if len(seen) >= _LEAST_SEEN:
            sheet.add(Line(cx + circle_x, cy + circle_y, WARN, 1.1, (6.6, 3.3), 2.0))
            sheet.avoid(seen, 1.0)
    sheet.avoid(_runway_nm(charted), 3.0)
    arc = _charted_arc(charted)
    if len(arc):
        sheet.add(Line(arc[:, 0], arc[:, 1], QUIET, 1.0, _DASHED, 2.0))
        sheet.avoid(_dense(arc, sheet), 1.0)
    for bearing, _ in _ways(charted) if charted.held is None else ():
        end = point(reach, bearing)
        sheet.add(straight((0.0, 0.0), end, QUIET, 1.0, _DASHED))
        sheet.avoid(_dense(np.array([(0.0, 0.0), end]), sheet), 1.0)


def _dense(line: FloatArray, sheet: Sheet) -> FloatArray:
    """Points along a line inside the frame, shape (points, 2), for labels to keep clear of."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = np.arange(0.0, along[-1], _EVERY_PT * sheet.nm_per_point)
    points = np.column_stack([np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1])])
    (left, right), (bottom, top) = sheet.frame.x, sheet.frame.y
    seen = (points[:, 0] >= left) & (points[:, 0] <= right) & (points[:, 1] >= bottom) & (points[:, 1] <= top)
    inside: FloatArray = points[seen]
    return inside


def _ways(charted: Charted) -> tuple[tuple[float, str], ...]:
    """The lines from the fix that are flown out or in: the true bearing of each, and the magnetic courses as words.

    A base turn comes back along another line than it goes out by; an arc, and an approach without a reversal, only come in.
    """
    variation = charted.variation.east_rad
    out, back = charted.outbound_true_rad, charted.inbound_true_rad + math.pi
    out_words, in_words = f"{bearing_text(out - variation)} out", f"{bearing_text(charted.inbound_true_rad - variation)} in"
    if charted.kind in ("arc", "none"):
        return ((back, in_words),)
    if abs(wrap(back - out)) < _ONE_LINE_RAD:
        return ((out, f"{out_words}, {in_words}"),)
    return ((out, out_words), (back, in_words))


def draw_holds(sheet: Sheet, charted: Charted, airspeed_mps: float) -> None:
    """The charted holds whose fix is in the frame, as racetracks flown at an airspeed in still air, with their names."""
    left, right, bottom, top = sheet.obstacles.frame
    for hold in charted_holds(charted):
        x, y = from_fix(charted, hold.latitude_rad, hold.longitude_rad)
        if not (left < x < right and bottom < y < top):
            continue
        track = racetrack_nm(charted, hold, airspeed_mps)
        sheet.add(Line(track[:, 0], track[:, 1], QUIET, 1.0, _DASHED, 2.0))
        sheet.avoid(track[::2], 1.0)
        if charted.held is None and hold.name != charted.procedure.fix.name:  # which is drawn and named already
            sheet.add(Marker(x, y, "circle", 5.0, edge=1.0))
            size = sheet.layout.small + 0.5
            name = shown_name(hold.name)
            sheet.name(sheet.around(x, y, name, size), x, y, name, size)


def racetrack_nm(charted: Charted, hold: PublishedHold, airspeed_mps: float) -> FloatArray:
    """A hold as flown in still air at an airspeed: miles east and north of the fix, shape (points, 2)."""
    fix = np.array(from_fix(charted, hold.latitude_rad, hold.longitude_rad))
    along = np.array(point(1.0, hold.inbound_true_rad))
    across = np.array(point(1.0, hold.inbound_true_rad + math.pi / 2.0))
    line = racetrack_m(hold, airspeed_mps) / NM
    places: FloatArray = fix + line[:, :1] * along + line[:, 1:] * across
    return places


def _runway_nm(charted: Charted) -> FloatArray:
    """Places along the runway as it is drawn, shape (places, 2); none where no runway is charted."""
    if charted.runway is None:
        return np.empty((0, 2))
    start = np.array(from_fix(charted, charted.runway.latitude_rad, charted.runway.longitude_rad))
    along: FloatArray = start + np.linspace(0.0, 1.0, 9)[:, None] * np.array(point(_RUNWAY_NM, charted.runway.heading_rad))
    return along


def _charted_arc(charted: Charted) -> FloatArray:
    """The circle of the charted arc, shape (points, 2); empty if no arc is charted."""
    if charted.arc_radius_m is None or charted.arc_latitude_rad is None or charted.arc_longitude_rad is None:
        return np.empty((0, 2))
    cx, cy = from_fix(charted, charted.arc_latitude_rad, charted.arc_longitude_rad)
    x, y = polar(charted.arc_radius_m / NM, np.linspace(0.0, math.tau, 361))
    return np.column_stack([cx + x, cy + y])


def draw_fix(sheet: Sheet, charted: Charted) -> None:
    """The fix, and the runway if one is charted."""
    sheet.add(Marker(0.0, 0.0, "circle", 9.0, edge=1.6, level=7.0), Marker(0.0, 0.0, "plus", 6.0, edge=1.4, level=8.0))
    name, size = shown_name(charted.procedure.fix.name), sheet.layout.strong + 0.5
    sheet.avoid(np.zeros((1, 2)), 6.0)
    around = [
        (*point(reach * sheet.nm_per_point, charted.outbound_true_rad + a), math.pi / 2.0)
        for reach in (20.0, 30.0)
        for a in (1.2, -1.2, 1.8, -1.8, 2.4, -2.4, 0.6, -0.6, 3.1)
    ]
    sheet.label([*around, *sheet.around(0.0, 0.0, name, size)], name, size, bold=True)
    runway = charted.runway
    if runway is None:
        return
    x, y = from_fix(charted, runway.latitude_rad, runway.longitude_rad)
    ex, ey = point(_RUNWAY_NM, runway.heading_rad)
    sheet.add(straight((x, y), (x + ex, y + ey), width=4.0, level=3.0))
    text, size = f"runway {shown_name(runway.name)}", sheet.layout.small + 0.5
    places = [place for share in (0.5, 1.1, -0.1) for place in sheet.around(x + share * ex, y + share * ey, text, size)]
    sheet.label(places, text, size)


def draw_fixes(sheet: Sheet, charted: Charted) -> None:
    """The charted fixes of the final course, with their names."""
    left, right, bottom, top = sheet.obstacles.frame
    for fix in charted.fixes:
        x, y = from_fix(charted, fix.latitude_rad, fix.longitude_rad)
        if not (left < x < right and bottom < y < top):
            continue
        if fix.name == charted.procedure.fix.name:  # the reversal's own, which is drawn and named already
            continue
        sheet.add(Marker(x, y, "triangle", 6.5, edge=1.0))
        offsets = (
            point(reach * sheet.nm_per_point, charted.inbound_true_rad + angle)
            for reach in (18.0, 14.0)
            for angle in _ASIDE_RAD
        )
        name, size = shown_name(fix.name), sheet.layout.small + 0.5
        aside = max(0.0, 0.3 * size * len(name) - _SHORT_PT) * sheet.nm_per_point  # so that a long name does not cover its fix
        around = [(x + dx + math.copysign(aside, dx), y + dy, math.pi / 2.0) for dx, dy in offsets]
        sheet.avoid(np.array([[x, y]]), 4.0)
        sheet.name([*around, *sheet.around(x, y, name, size)], x, y, name, size)


def draw_barb(sheet: Sheet, charted: Charted, offset: float) -> None:
    """The charted offset and its courses, at the place along the outbound course where they hide least."""
    reach, variation = reach_nm(charted), charted.variation.east_rad
    text = f"{bearing_text(offset - variation)}\n{bearing_text(offset - variation + math.pi)}"
    dx, dy = point(0.11 * reach, offset)
    starts = [point(share * reach, charted.outbound_true_rad) for share in _BARB_SHARES]
    whole = [
        Label(x + 0.85 * dx, y + 0.85 * dy, math.pi / 2.0 - offset, "-" * max(4, int(0.2 * reach / sheet.nm_per_point / 6.0)),
              10.0 * sheet.nm_per_point)
        for x, y in starts
    ]  # fmt: skip
    best, _ = choose(whole, sheet.obstacles)
    x, y = starts[whole.index(best)]
    sheet.add(straight((x, y), (x + dx, y + dy), QUIET, 1.0, _DASHED))
    line = np.array([[x + s * dx, y + s * dy] for s in np.linspace(0.1, 1.0, 10)])
    sheet.avoid(line, 3.0)
    places = [
        (x + s * dx + c * sheet.nm_per_point, y + s * dy, math.pi / 2.0)
        for s in (1.4, 0.9, 1.7, 2.1, 0.5)
        for c in (0, 16, -16, 24, -24, 34, -34, 46, -46)
    ]
    sheet.name(places, x + dx, y + dy, text, sheet.layout.small, QUIET)


def label_courses(sheet: Sheet, charted: Charted) -> None:
    """The magnetic courses as labels."""
    for number, (bearing, words) in enumerate(_ways(charted)):
        # away from the reversal, which lies between the ways out and back where they are two
        _label_course(sheet, charted, bearing, words, (charted.side or 1) * (-1 if number else 1))


def _label_course(sheet: Sheet, charted: Charted, course: float, text: str, side: int) -> None:
    """The label of a line from the fix; `side` is that of the reversal, looking outbound."""
    reach = reach_nm(charted) if charted.held is None else _HOLD_LEG_NM
    places = []
    for share in (0.8, 0.88, 0.5, 0.4, 0.3, 0.7, 0.6, 0.95, 0.35, 0.25, 0.2, 0.12):
        for away in (-side, side, -1.5 * side, 1.5 * side, -2 * side, 2 * side, -3 * side, 3 * side):
            x, y = point(share * reach, course)
            ox, oy = point(11.0 * sheet.nm_per_point * away, course + math.pi / 2.0)
            places.append((x + ox, y + oy, course))
    for share in (0.8, 0.65, 0.5, 0.9, 0.35):  # where none along the course is free, level and next to it
        places += sheet.around(*point(share * reach, course), text, sheet.layout.normal)
    sheet.label(places, text, sheet.layout.normal, colour=QUIET)


def label_limit(sheet: Sheet, charted: Charted) -> None:
    """The limit as a label next to its circle."""
    reach, course = reach_nm(charted), charted.outbound_true_rad
    if charted.limit_m is not None:
        centre = from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
        places = _around_limit(centre, reach, course, sheet.nm_per_point)
        sheet.label(places, f"limit {reach:g} NM", sheet.layout.normal, most_hidden=_IN_SIGHT, colour=WARN)


def _around_limit(
    centre: tuple[float, float], reach: float, course: float, nm_per_point: float
) -> Iterator[tuple[float, float, float]]:
    """Places along the circle of the limit, those near the outbound course first."""
    for degrees in sorted(range(-176, 181, 4), key=lambda angle: (abs(abs(angle) - 12), angle)):
        bearing = course + math.radians(degrees)
        for away in (13.0, -13.0, 24.0, -24.0):
            x, y = point(reach + away * nm_per_point, bearing)
            yield centre[0] + x, centre[1] + y, bearing + math.pi / 2.0


def label_arc(sheet: Sheet, charted: Charted) -> None:
    """The name of the charted arc, at a point of it inside the frame."""
    arc = _charted_arc(charted)
    left, right, bottom, top = sheet.obstacles.frame
    seen = [k for k in range(0, len(arc) - 1, 5) if left < arc[k, 0] < right and bottom < arc[k, 1] < top]
    if not seen or charted.arc_radius_m is None:
        return
    places = []
    for k in seen:
        along = math.atan2(*(arc[k + 1] - arc[k]))
        for away in (9.0, -9.0):
            ox, oy = point(away * sheet.nm_per_point, along + math.pi / 2.0)
            places.append((float(arc[k, 0]) + ox, float(arc[k, 1]) + oy, along))
    sheet.label(places, f"arc {charted.arc_radius_m / NM:g} NM", sheet.layout.normal, colour=QUIET)
