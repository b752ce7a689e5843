"""Lessons on the last thousand feet: whether a steady descent from there was slow enough, or where it had to begin."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.below_minimum import angle_to_runway, final_states
from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import knots, miles
from analyzer.lessons.descents import rate_words
from analyzer.physics.units import DEG, FPM, FT, NM

__all__ = ["learn_stabilised"]

_GATE_M, _CROSSING_M = 1000.0 * FT, 50.0 * FT
_PATH_RAD, _FLATTER_RAD = 3.0 * DEG, 0.5 * DEG  # a path, and by how much a flatter one is as good; common practice, no source
_SPARE_MPS = 100.0 * FPM  # below the limit
_LEAST_M = 1.0 * NM
_NEAR_GATE_M = 25.0 * FT  # a second of descent


def learn_stabilised(context: Context, finding: Finding) -> Lesson | None:
    """The steady rate from 1,000 ft above the threshold to it; or where to pass that height for the path to the runway.

    None where a step-down fix is charted on the final leg, whose minimum such a path may not keep.
    """
    charted, states = context.motion.charted, final_states(context)
    if charted.runway is None or not len(states) or not isinstance(finding.limit, float):
        return None
    low = np.flatnonzero(states.altitude_m - charted.runway.elevation_m < _GATE_M)
    _, before = angle_to_runway(states, charted.runway)
    if not len(low) or before[low[0]] < _LEAST_M or charted.fix_of("step-down") is not None:
        return None
    k = int(low[0])
    height, distance = float(states.altitude_m[k] - charted.runway.elevation_m), float(before[k])
    speed, path = float(np.median(states.ground_speed_mps[k:])), charted.glide_path_rad or _PATH_RAD
    steady, rate = speed * (height - _CROSSING_M) / distance, speed * math.tan(path)
    above = context.height.text(_GATE_M if abs(height - _GATE_M) < _NEAR_GATE_M else height)
    cause = f"It was {above} above the threshold {miles(distance, 1)} before it, at {knots(speed)} over the ground."
    most = finding.limit * FPM - _SPARE_MPS
    if speed * math.tan(path - _FLATTER_RAD) <= steady <= most:
        return Lesson(cause, f"Descend steadily: from there {rate_words(steady)} leads to the threshold.")
    if rate > most:
        return Lesson(cause, None)
    point = (height - _CROSSING_M) / math.tan(path)
    return Lesson(
        cause,
        f"Pass {above} above the threshold {miles(point, 1)} before it, not {miles(distance, 1)}: from there a path of "
        f"{path / DEG:.1f}° takes {rate_words(rate)}.",
    )
