"""Lessons on an arc: when its radius was half the limit off, and the heading that leads back to it in the wind."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import clock, degrees, miles, side_word
from analyzer.lessons.headings import steered
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, bearing_text, unwrapped, wrap

__all__ = ["learn_arc"]

_LOOK_BACK_S = 900.0
_BACK_RAD = 20.0 * DEG  # towards the radius; common practice, no source
_LEAST_RAD = 2.0 * DEG  # a smaller error of heading is not reported
_LEAST_STATES = 10


def learn_arc(context: Context, finding: Finding) -> Lesson | None:
    """The headings flown from half the limit off to the greatest departure, against those that hold the radius in the wind."""
    charted, place = context.motion.charted, finding.place
    radius, latitude, longitude = charted.arc_radius_m, charted.arc_latitude_rad, charted.arc_longitude_rad
    if radius is None or latitude is None or longitude is None or place is None or not isinstance(finding.limit, float):
        return None
    states = context.motion.states.between(place.time_s - _LOOK_BACK_S, place.time_s)
    if len(states) < _LEAST_STATES:
        return None
    distance, bearing = geodesy.inverse_near(latitude, longitude, states.latitude_rad, states.longitude_rad)
    off = distance - radius
    side = math.copysign(1.0, float(off[-1]))
    half = finding.limit * NM / 2.0
    within = np.flatnonzero(side * off < half)
    if not len(within) or len(states) - within[-1] - 1 < _LEAST_STATES:
        return None
    first = int(within[-1]) + 1
    swept = unwrapped(bearing[first:])
    direction = 1 if swept[-1] > swept[0] else -1  # +1 clockwise round the centre
    tangent = bearing[first:] + direction * math.pi / 2.0
    speed = float(states.true_airspeed_mps[first:].mean())
    holds = [steered(float(course), speed, context.figures.wind) for course in tangent]
    there = holds[0]
    if there is None:
        return None
    east = charted.variation.east_rad
    wide = [
        float(wrap(heading - one.heading_rad)) for heading, one in zip(states.heading_rad[first:], holds, strict=True) if one
    ]
    mean = float(np.mean(wide))
    inward = direction * side  # to the right where the centre lies to the right and the aircraft is outside
    cause = None
    if mean * inward < -_LEAST_RAD:
        cause = (
            f"From {clock(float(states.time_s[first]))}, {miles(half)} {'outside' if side > 0.0 else 'inside'}, to "
            f"{clock(place.time_s)} the headings flown were {degrees(abs(mean), 0)} too far "
            f"{side_word(1 if mean > 0.0 else -1)} on average for the radius in this wind."
        )
    back = there.heading_rad + inward * _BACK_RAD
    return Lesson(
        cause,
        f"When {miles(half)} {'outside' if side > 0.0 else 'inside'}, turn {degrees(_BACK_RAD, 0)} more to the "
        f"{side_word(1 if inward > 0.0 else -1)} than the heading that holds the radius: there {bearing_text(back - east)} "
        f"instead of {bearing_text(there.heading_rad - east)}.",
    )
