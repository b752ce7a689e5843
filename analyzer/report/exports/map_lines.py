"""Lines of positions for maps, whatever the file format: the track in pieces, limit, charted courses and holds.

A line is an array with a row per position: longitude and latitude in degrees, and for the track also the time [s] and the
altitude [m, NaN where unknown]. Lines are cut at 180°, because maps would join the two sides the long way around. The track
is interrupted at gaps in the log, and where the aircraft was set elsewhere.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from analyzer.frozen import dataclass
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, FloatArray
from analyzer.report.pictures.flight_segments import FlownPart, pieces
from analyzer.report.pictures.racetrack import charted_holds, flown_airspeed_mps, racetrack_m

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData
    from analyzer.motion.motion import Motion
    from analyzer.procedure.approach import PublishedHold
    from analyzer.procedure.charted import Charted

__all__ = [
    "ALTITUDE", "LATITUDE", "LONGITUDE", "TIME", "ChartedLine", "FlownLine", "HoldLine", "charted_lines", "flown_lines",
    "hold_lines",
]  # fmt: skip

# The columns of a line.
LONGITUDE = 0
LATITUDE = 1
TIME = 2
ALTITUDE = 3

_DECIMALS = 7  # of a degree: a centimetre
_SECOND_S = 1.5  # positions of the track are a second apart; a longer step is a gap
_STEP_M = 1.0 * NM  # along a course; a straight step on a map is within centimetres of the geodesic
_STEP_DEG = 1.0  # around a circle; at 10 NM a step is within 0.7 m of it
_COURSE_M = 10.0 * NM  # the length of a course drawn where no limit is charted


@dataclass(frozen=True, eq=False)
class FlownLine:
    """A piece of the track: several lines if it is cut at 180° or by a gap. `flown` is None outside all parts."""

    start_s: float
    end_s: float
    flown: FlownPart | None
    lines: tuple[FloatArray, ...]


@dataclass(frozen=True, eq=False)
class ChartedLine:
    """A charted line: ``limit`` and ``arc`` are circles, anticlockwise; ``outbound`` and ``inbound`` run as flown.

    `size_m` is the radius of a circle; `course_true_rad` the direction of a course, at the fix.
    """

    name: str
    lines: tuple[FloatArray, ...]
    size_m: float | None = None
    course_true_rad: float | None = None


@dataclass(frozen=True, eq=False)
class HoldLine:
    """A charted hold as a racetrack from its fix and back to it, in the direction flown."""

    hold: PublishedHold
    lines: tuple[FloatArray, ...]


def flown_lines(debrief: DebriefData) -> tuple[FlownLine, ...]:
    """The smoothed track at one position per second, each piece up to the next; pieces inside a gap are left out."""
    flown = []
    for piece in pieces(debrief):
        lines = tuple(part for run in _runs(debrief.motion, piece.start_s, piece.end_s) for part in _cut(run))
        if lines:
            flown.append(FlownLine(piece.start_s, piece.end_s, piece.flown, lines))
    return tuple(flown)


def charted_lines(charted: Charted) -> tuple[ChartedLine, ...]:
    """The limit, the arc and the courses, as far as they are charted."""
    lines = []
    if charted.limit_m is not None:
        circle = _circle(charted.limit_latitude_rad, charted.limit_longitude_rad, charted.limit_m)
        lines.append(ChartedLine("limit", _cut(circle), size_m=charted.limit_m))
    if charted.arc_radius_m is not None and charted.arc_latitude_rad is not None and charted.arc_longitude_rad is not None:
        circle = _circle(charted.arc_latitude_rad, charted.arc_longitude_rad, charted.arc_radius_m)
        lines.append(ChartedLine("arc", _cut(circle), size_m=charted.arc_radius_m))
    if charted.kind not in ("arc", "none") or charted.procedure.reversal.outbound_course_deg is not None:
        out = _ray(charted, charted.outbound_true_rad)
        lines.append(ChartedLine("outbound", _cut(out), course_true_rad=charted.outbound_true_rad))
    home = _ray(charted, charted.inbound_true_rad + math.pi)[::-1]
    lines.append(ChartedLine("inbound", _cut(home), course_true_rad=charted.inbound_true_rad))
    return tuple(lines)


def hold_lines(debrief: DebriefData) -> tuple[HoldLine, ...]:
    """The charted holds at the airspeed flown, in still air."""
    airspeed = flown_airspeed_mps(debrief)
    return tuple(HoldLine(hold, _cut(_racetrack(hold, airspeed))) for hold in charted_holds(debrief.motion.charted))


def _racetrack(hold: PublishedHold, airspeed_mps: float) -> FloatArray:
    along, right = racetrack_m(hold, airspeed_mps).T
    bearing = hold.inbound_true_rad + np.arctan2(right, along)
    latitude, longitude = geodesy.direct(hold.latitude_rad, hold.longitude_rad, bearing, np.hypot(along, right))
    return np.column_stack([longitude, latitude]) / DEG


def _runs(motion: Motion, start_s: float, end_s: float) -> list[FloatArray]:
    """The track between two instants, inclusive, as one line for each stretch without a gap, or being set elsewhere."""
    time = np.unique(np.concatenate([[start_s], motion.states.between(start_s, end_s).time_s, [end_s]]))
    states = motion.curves.at(time)
    line = np.column_stack([states.longitude_rad / DEG, states.latitude_rad / DEG, time, states.altitude_m])
    return np.split(line, np.flatnonzero((np.diff(time) > _SECOND_S) | motion.set_elsewhere(time)) + 1)


def _circle(latitude_rad: float, longitude_rad: float, radius_m: float) -> FloatArray:
    bearing = np.radians(np.arange(360.0, -_STEP_DEG, -_STEP_DEG) % 360.0)  # ends exactly where it begins
    latitude, longitude = geodesy.direct(latitude_rad, longitude_rad, bearing, radius_m)
    return np.column_stack([longitude, latitude]) / DEG


def _ray(charted: Charted, bearing_rad: float) -> FloatArray:
    """A line from the fix along a bearing."""
    reach = charted.limit_m if charted.limit_m is not None else _COURSE_M
    distance = np.linspace(0.0, reach, math.ceil(reach / _STEP_M) + 1)
    latitude, longitude = geodesy.direct(charted.fix_latitude_rad, charted.fix_longitude_rad, bearing_rad, distance)
    return np.column_stack([longitude, latitude]) / DEG


def _cut(line: FloatArray) -> tuple[FloatArray, ...]:
    """A line cut where it crosses 180° (RFC 7946, 3.1.9); each part reaches 180° on its own side."""
    lines, begun, first = [], line[:0], 0
    for k in np.flatnonzero(np.abs(np.diff(line[:, LONGITUDE])) > 180.0).tolist():
        edge, beyond = math.copysign(180.0, line[k, LONGITUDE]), line[k + 1].copy()
        beyond[LONGITUDE] += 2.0 * edge
        share = (edge - line[k, LONGITUDE]) / (beyond[LONGITUDE] - line[k, LONGITUDE])
        crossing = (line[k] + share * (beyond - line[k]))[None]
        crossing[0, LONGITUDE] = edge
        lines.append(np.concatenate([begun, line[first : k + 1], crossing]))
        crossing[0, LONGITUDE] = -edge
        begun, first = crossing[: int(share < 1.0)], k + 1
    lines.append(np.concatenate([begun, line[first:]]))
    for part in lines:
        part[:, :TIME] = np.round(part[:, :TIME], _DECIMALS) + 0.0  # no negative zero
    return tuple(part for part in lines if len(part) > 1 and np.ptp(part[:, :TIME], axis=0).any())
