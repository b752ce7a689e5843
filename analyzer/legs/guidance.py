"""The needle's indication: deviation from a course by the guidance in use, and when that counts as "established".

Established is one definition for every check, lesson and figure: within half of full scale of the guidance in use, the track
within 15° of the course. Doc 8168 has half of full scale for VOR and localizer and 5° for an NDB, whose full scale is taken as
10° here. In a hold the angle counts at the hold's own fix, since its station may stand far away.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.states import States, seen_from
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted

__all__ = ["ESTABLISHED_SHARE", "ESTABLISHED_TRACK_RAD", "Needle", "established", "needle", "off_inbound"]

ESTABLISHED_SHARE = 0.5  # of full scale
ESTABLISHED_TRACK_RAD = 15.0 * DEG
_HOLD_FULL_SCALE_M = 1.0 * NM  # of a hold without a station at its fix to give an angle
_NEAR_M = 0.3 * NM  # closer than this an angle at the station says nothing; distance from the course does
_NEAR_CROSS_TRACK_M = 0.15 * NM


@dataclass(frozen=True, eq=False)
class Needle:
    """Deviation from a course at some states, positive right of the course flown.

    `angle_rad` is measured at the guidance, `cross_track_m` across the course there, `fraction` is the share of full scale,
    and `distance_m` how far away the guidance is.
    """

    angle_rad: FloatArray
    cross_track_m: FloatArray
    fraction: FloatArray
    distance_m: FloatArray


def needle(
    states: States,
    charted: Charted,
    course_rad: float,
    full_scale_m: float | None = None,
    through: tuple[float, float] | None = None,
) -> Needle:
    """The deviation from a course, true, that leads to or from the guidance, or through another point.

    `full_scale_m` replaces the scale of guidance that is measured in distance, which is narrower on final. `through` is the
    latitude and longitude of a point on the course [rad], None where it leads through the guidance. An angle off a course that
    does not is that of the distance from the course, seen from the guidance.
    """
    guidance = charted.guidance
    distance, bearing = seen_from(charted, guidance.latitude_rad, guidance.longitude_rad, states)
    away = wrap(bearing - course_rad)  # with the guidance behind the aircraft
    ahead = np.cos(away) < 0.0
    angle = np.where(ahead, -wrap(away + math.pi), away)
    across = geodesy.cross_track(distance, away)
    if through is not None:
        from_point, point_bearing = seen_from(charted, *through, states)
        across = geodesy.cross_track(from_point, wrap(point_bearing - course_rad))
        angle = np.arcsin(np.clip(across / np.maximum(distance, 1.0), -1.0, 1.0))
    if guidance.full_scale_rad is not None:
        return Needle(angle, across, angle / guidance.full_scale_rad, distance)
    return Needle(angle, across, across / (full_scale_m or guidance.full_scale_m or math.nan), distance)


def off_inbound(states: States, charted: Charted) -> tuple[FloatArray, FloatArray]:
    """How far off the inbound course, and off its direction, each as a signed share of what is established.

    Within 0.3 NM of the station and beyond it, 0.15 NM of distance from the course stand for the angle.
    """
    guidance, course = charted.guidance, charted.inbound_true_rad
    track = wrap(states.track_rad - course) / ESTABLISHED_TRACK_RAD
    angular = guidance.full_scale_rad if guidance.kind in ("vor", "ndb") or charted.kind != "hold" else None
    if angular is None:
        scale = guidance.full_scale_m or _HOLD_FULL_SCALE_M
        return states.cross_track_m(course) / (ESTABLISHED_SHARE * scale), track
    place = guidance.latitude_rad, guidance.longitude_rad
    if charted.kind == "hold":
        place = charted.fix_latitude_rad, charted.fix_longitude_rad
    distance, bearing = seen_from(charted, *place, states)
    deviation = wrap(bearing - course - math.pi)
    off = np.where(
        distance * np.cos(deviation) > _NEAR_M,
        deviation / (ESTABLISHED_SHARE * angular),
        geodesy.cross_track(distance, deviation) / _NEAR_CROSS_TRACK_M,
    )
    return off, track


def established(states: States, charted: Charted) -> BoolArray:
    """Whether the aircraft is established inbound, instant by instant."""
    off, track = off_inbound(states, charted)
    return (np.abs(off) <= 1.0) & (np.abs(track) <= 1.0)
