"""Course deviation: how far off the course the needle would have shown, and how far off it was in distance."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from analyzer.legs.model import Part
from analyzer.motion.model import Motion, States, seen_from
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted

__all__ = ["CourseHeld", "deviation_series", "measure_course"]

_NEAR_FIX_M = 1.0 * NM  # closer than this an angle is no measure of flying
_SETTLED_RAD = 5.0 * DEG  # peaks count from the first time within this of the course
_CLOSING_RAD = 3.0 * DEG  # of the track towards the course: it is being closed with
_LEAST_UNSETTLED_S = 10  # states are a second apart


@dataclass(frozen=True)
class CourseHeld:
    """How one course was held, beyond 1 NM of the fix and outside the cone of ambiguity, once within 5° of it.

    An outbound course that was never come so near to is measured where it was not being closed with, `settled` False.

    `peak_rad` (at the guidance, positive right of the course flown) was reached at `time_s`, `cross_track_m` off the course
    there, `distance_m` from the fix and `guidance_distance_m` from the guidance; `fraction` is the peak as a share of full
    scale; `rms_rad` the root mean square of the deviation.
    """

    peak_rad: float
    rms_rad: float
    cross_track_m: float
    fraction: float
    time_s: float
    distance_m: float
    guidance_distance_m: float
    settled: bool


def measure_course(motion: Motion, part: Part | None, outbound: bool) -> CourseHeld | None:
    """How the outbound course (away from the fix) or the inbound one (towards it) was held; None where too little is left."""
    if part is None:
        return None
    charted = motion.charted
    states = motion.states.between(part.start_s, part.end_s)
    angle, cross_track, fraction, away = _deviation(states, charted, outbound)
    counted, settled = _counted(states, charted, angle, outbound)
    if not counted.any():
        return None
    k = int(np.argmax(np.where(counted, np.abs(fraction), -1.0)))
    return CourseHeld(
        peak_rad=float(angle[k]),
        rms_rad=math.sqrt(float(np.mean(angle[counted] ** 2))),
        cross_track_m=float(cross_track[k]),
        fraction=float(abs(fraction[k])),
        time_s=float(states.time_s[k]),
        distance_m=float(states.distance_m[k]),
        guidance_distance_m=float(away[k]),
        settled=settled,
    )


def deviation_series(states: States, charted: Charted, outbound: bool) -> tuple[FloatArray, BoolArray]:
    """Deviation from the course at every state, positive right of the course flown [rad], and whether it counts there."""
    angle = _deviation(states, charted, outbound)[0]
    return angle, _counted(states, charted, angle, outbound)[0]


def _deviation(states: States, charted: Charted, outbound: bool) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Angle [rad], cross-track [m] and fraction of full scale, positive right of the course flown; distance of guidance [m]."""
    guidance = charted.guidance
    away = charted.outbound_true_rad if outbound else charted.inbound_true_rad + math.pi
    sign = 1.0 if outbound else -1.0
    distance, bearing = seen_from(charted, guidance.latitude_rad, guidance.longitude_rad, states)
    angle = wrap(bearing - away)
    cross_track = geodesy.cross_track(distance, angle)
    if guidance.full_scale_rad is not None:
        fraction = angle / guidance.full_scale_rad
    else:
        fraction = cross_track / (guidance.full_scale_m or math.nan)
    return sign * angle, sign * cross_track, sign * fraction, distance


def _counted(states: States, charted: Charted, angle: FloatArray, outbound: bool) -> tuple[BoolArray, bool]:
    """Which states count, and whether the course was ever come near to."""
    height = np.nan_to_num(states.altitude_m - charted.fix_elevation_m)
    cone = geodesy.cone_radius(np.maximum(height, 0.0), charted.procedure.fix.kind)
    away = (states.distance_m > _NEAR_FIX_M) & (states.distance_m > cone)
    near = np.abs(angle) <= _SETTLED_RAD
    if near.any():
        return away & (np.arange(len(states)) >= int(np.argmax(near))), True
    if not outbound:
        return np.zeros(len(states), dtype=np.bool_), False
    towards = -np.sign(angle) * wrap(states.track_rad - charted.outbound_true_rad)
    held_off = away & (towards < _CLOSING_RAD)
    return (held_off if int(held_off.sum()) >= _LEAST_UNSETTLED_S else np.zeros_like(held_off)), False
