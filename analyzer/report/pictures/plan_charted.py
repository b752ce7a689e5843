"""The chart in a plan view: limit, courses, arc, offset, fix and runway, dashed and in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from analyzer.physics.units import NM, FloatArray, bearing_text
from analyzer.report.pictures.labels import Label, choose
from analyzer.report.pictures.plan_axes import Sheet, from_fix, point, polar, reach_nm
from analyzer.report.pictures.racetrack import charted_holds, racetrack_m
from analyzer.report.pictures.style import INK, PAPER, QUIET, WARN

if TYPE_CHECKING:
    from analyzer.procedure.approach import PublishedHold
    from analyzer.procedure.charted import Charted

__all__ = [
    "draw_barb", "draw_fix", "draw_fixes", "draw_holds", "draw_lines", "label_arc", "label_courses", "label_limit",
    "racetrack_nm",
]  # fmt: skip

_HOLD_LEG_NM = 3.0  # a hold's course is named along about so much of it
_DASHED = (0, (8, 4))
_ASIDE_RAD = (1.57, -1.57, 1.0, -1.0, 2.1, -2.1)  # from a course: where the name of a fix on it may stand
_IN_SIGHT = 500.0  # a label hiding more lies outside the frame
_BARB_SHARES = (0.62, 0.5, 0.38, 0.75, 0.85, 0.28)  # of the limit: where the charted offset may be drawn


def draw_lines(sheet: Sheet, charted: Charted) -> None:
    """Limit circle and outbound course."""
    reach, axes = reach_nm(charted), sheet.axes
    if charted.limit_m is not None:
        cx, cy = from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
        circle_x, circle_y = polar(reach, np.linspace(0.0, math.tau, 361))
        axes.plot(cx + circle_x, cy + circle_y, color=WARN, lw=1.1, ls=(0, (6, 3)), zorder=2)
        circle = np.column_stack([cx + circle_x, cy + circle_y])
        sheet.avoid(circle, 1.0)
    arc = _charted_arc(charted)
    if len(arc):
        axes.plot(arc[:, 0], arc[:, 1], color=QUIET, lw=1.0, ls=_DASHED, zorder=2, scalex=False, scaley=False)
    if charted.held is None:
        ex, ey = point(reach, charted.outbound_true_rad)
        axes.plot([0.0, ex], [0.0, ey], color=QUIET, lw=1.0, ls=_DASHED, zorder=2)


def draw_holds(sheet: Sheet, charted: Charted, airspeed_mps: float) -> None:
    """The charted holds whose fix is in sight, as racetracks at an airspeed in still air, with their names."""
    left, right, bottom, top = sheet.obstacles.frame
    for hold in charted_holds(charted):
        x, y = from_fix(charted, hold.latitude_rad, hold.longitude_rad)
        if not (left < x < right and bottom < y < top):
            continue
        track = racetrack_nm(charted, hold, airspeed_mps)
        sheet.axes.plot(*track.T, color=QUIET, lw=1.0, ls=_DASHED, zorder=2, scalex=False, scaley=False)
        sheet.avoid(track[::2], 1.0)
        if charted.held is None and hold.name != charted.procedure.fix.name:  # which is drawn and named already
            sheet.axes.plot([x], [y], marker="o", ms=5.0, mfc=PAPER, mec=INK, mew=1.0, zorder=6)
            around = [(x + dx, y + dy, math.pi / 2.0) for angle in _ASIDE_RAD
                      for dx, dy in [point(18.0 * sheet.nm_per_point, hold.inbound_true_rad + angle)]]  # fmt: skip
            sheet.label(around, hold.name, 8.5, color=INK)


def racetrack_nm(charted: Charted, hold: PublishedHold, airspeed_mps: float) -> FloatArray:
    """A hold as it is flown in still air at an airspeed: miles east and north of the fix, shape (places, 2)."""
    fix = np.array(from_fix(charted, hold.latitude_rad, hold.longitude_rad))
    along = np.array(point(1.0, hold.inbound_true_rad))
    across = np.array(point(1.0, hold.inbound_true_rad + math.pi / 2.0))
    line = racetrack_m(hold, airspeed_mps) / NM
    places: FloatArray = fix + line[:, :1] * along + line[:, 1:] * across
    return places


def _charted_arc(charted: Charted) -> FloatArray:
    """The circle of the charted arc, shape (places, 2); none where no arc is charted."""
    if charted.arc_radius_m is None or charted.arc_latitude_rad is None or charted.arc_longitude_rad is None:
        return np.empty((0, 2))
    cx, cy = from_fix(charted, charted.arc_latitude_rad, charted.arc_longitude_rad)
    x, y = polar(charted.arc_radius_m / NM, np.linspace(0.0, math.tau, 361))
    return np.column_stack([cx + x, cy + y])


def draw_fix(sheet: Sheet, charted: Charted) -> None:
    """The fix, and the runway where one is charted."""
    axes = sheet.axes
    axes.plot([0.0], [0.0], marker="o", ms=9, mfc=PAPER, mec=INK, mew=1.6, zorder=7)
    axes.plot([0.0], [0.0], marker="+", ms=6, color=INK, mew=1.4, zorder=8)
    around = [
        (*point(reach * sheet.nm_per_point, charted.outbound_true_rad + a), math.pi / 2.0)
        for reach in (20.0, 30.0)
        for a in (1.2, -1.2, 1.8, -1.8, 2.4, -2.4, 0.6, -0.6, 3.1)
    ]
    sheet.label(around, charted.procedure.fix.name, 11.0, color=INK, fontweight="bold")
    runway = charted.runway
    if runway is None:
        return
    x, y = from_fix(charted, runway.latitude_rad, runway.longitude_rad)
    ex, ey = point(0.8, runway.heading_rad)
    axes.plot([x, x + ex], [y, y + ey], color=INK, lw=4.0, solid_capstyle="butt", zorder=3)
    places = [(x + s * ex + 30.0 * sheet.nm_per_point * c, y + s * ey + 9.0 * sheet.nm_per_point * d, math.pi / 2.0)
              for s in (0.5, 1.3) for c, d in ((1, -1), (-1, 1), (1, 1), (-1, -1))]  # fmt: skip
    sheet.obstacles = sheet.obstacles.with_points(np.array([[x, y], [x + ex / 2, y + ey / 2], [x + ex, y + ey]]), 0.1)
    sheet.label(places, f"runway {runway.name}", 8.5, color=INK)


def draw_fixes(sheet: Sheet, charted: Charted) -> None:
    """The charted fixes of the final course, with their names."""
    left, right, bottom, top = sheet.obstacles.frame
    for fix in charted.fixes:
        x, y = from_fix(charted, fix.latitude_rad, fix.longitude_rad)
        if not (left < x < right and bottom < y < top):
            continue
        sheet.axes.plot([x], [y], marker="^", ms=6.0, mfc=PAPER, mec=INK, mew=1.0, zorder=6)
        offsets = (
            point(reach * sheet.nm_per_point, charted.inbound_true_rad + angle)
            for reach in (18.0, 14.0)
            for angle in _ASIDE_RAD
        )
        around = [(x + dx, y + dy, math.pi / 2.0) for dx, dy in offsets]
        sheet.label(around, fix.name, 8.5, color=INK)


def draw_barb(sheet: Sheet, charted: Charted, offset: float) -> None:
    """The charted offset and its courses, where along the outbound course they hide least."""
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
    sheet.axes.plot([x, x + dx], [y, y + dy], color=QUIET, lw=1.0, ls=_DASHED, zorder=2)
    line = np.array([[x + s * dx, y + s * dy] for s in (0.2, 0.4, 0.6, 0.8, 1.0)])
    sheet.avoid(line, 2.0)
    places = [
        (x + s * dx + c * sheet.nm_per_point, y + s * dy, math.pi / 2.0) for s in (1.4, 0.9, 1.7) for c in (0, 16, -16, 30, -30)
    ]
    sheet.label(places, text, 8.0, color=QUIET)


def label_courses(sheet: Sheet, charted: Charted) -> None:
    """The courses in words, magnetic."""
    variation, course = charted.variation.east_rad, charted.outbound_true_rad
    reach = reach_nm(charted) if charted.held is None else _HOLD_LEG_NM
    side = charted.side or 1
    places = []
    for share in (0.8, 0.88, 0.5, 0.4, 0.3, 0.7, 0.95, 0.35, 0.25, 0.2):
        for away in (-side, side):
            x, y = point(share * reach, course)
            ox, oy = point(11.0 * sheet.nm_per_point * away, course + math.pi / 2.0)
            places.append((x + ox, y + oy, course))
    text = f"{bearing_text(course - variation)} out, {bearing_text(charted.inbound_true_rad - variation)} in"
    sheet.label(places, text, 9.0, color=QUIET)


def label_limit(sheet: Sheet, charted: Charted) -> None:
    """The limit in words, next to its circle."""
    reach, course = reach_nm(charted), charted.outbound_true_rad
    if charted.limit_m is not None:
        cx, cy = from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
        around = []
        for degrees in (12, -12, 16, -16, 22, -22, 30, -30, 8, -8, 0, 45, -45, 70, -70, 100, -100, 130, -130, 180):
            bearing = course + math.radians(degrees)
            lx, ly = point(reach + 13.0 * sheet.nm_per_point, bearing)
            around.append((cx + lx, cy + ly, bearing + math.pi / 2.0))
        sheet.label(around, f"limit {reach:g} NM", 9.0, most_hidden=_IN_SIGHT, color=WARN)


def label_arc(sheet: Sheet, charted: Charted) -> None:
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
            ox, oy = point(away * sheet.nm_per_point, along + math.pi / 2.0)
            places.append((float(arc[k, 0]) + ox, float(arc[k, 1]) + oy, along))
    sheet.label(places, f"arc {charted.arc_radius_m / NM:g} NM", 9.0, color=QUIET)
