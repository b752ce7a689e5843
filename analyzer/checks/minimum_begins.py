"""From when on a minimum holds: from the first sample of an arrival in the air, else once the climb to it has ended."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.checks.finding import Context
from analyzer.motion.motion import ON_GROUND_MPS
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, FPM, FT, NM

__all__ = ["climbed_s", "counting_states", "hardly_begun"]

# Where a log begins in a take-off or the climb after it: so near the runway, and no higher than circuits are flown (AIM 4-3-3).
_DEPARTS_M, _DEPARTS_HIGH_M = 3.0 * NM, 1000.0 * FT
_CLIMBING_MPS = 300.0 * FPM
_NEAR_M = 25.0 * NM
_LEAST_ARRIVAL_S = 30.0  # of an arrival in which the log begins: the fix may have been passed before it, a mile ago
_IN_TURN_S, _TURNING_RADPS, _CLOSE_M = 5, 1.5 * DEG, 2.0 * NM  # states are a second apart; half of standard rate
_LEVEL_BELOW_M, _LEVEL_MPS, _LEVEL_S = 100.0 * FT, 150.0 * FPM, 30


def hardly_begun(context: Context, spans: Sequence[tuple[float, float]]) -> bool:
    """Whether a log begins in an arrival and holds hardly any of it, or in a turn close to the fix, perhaps passed."""
    first = context.motion.states
    if spans[0][0] > float(first.time_s[0]):
        return False
    turning = abs(float(np.mean(first.turn_rate_rad_s[:_IN_TURN_S]))) > _TURNING_RADPS
    return sum(end - begin for begin, end in spans) < _LEAST_ARRIVAL_S or (turning and float(first.distance_m[0]) < _CLOSE_M)


def counting_states(context: Context, floor: float, states: States) -> tuple[States, str | None]:
    """The states of an arrival to which its minimum applies, and why the verdict is open if it first flew level below."""
    near, flight = _since_near(states), context.motion.states
    begins_s = context.reversal.parts[0].start_s
    # on a long flight the arrival begins once the aircraft is near, like a log that starts there
    far_away = context.motion.distance_at(begins_s) > _NEAR_M
    if (begins_s <= flight.time_s[0] or far_away) and not _departs(context):
        return near, None
    # before the minimum is first reached the aircraft climbs after take-off or after another approach; if it never is reached,
    # the end of the leg counts
    reached = np.flatnonzero(states.altitude_m >= floor)
    first = int(reached[0]) if len(reached) else len(states) - 1
    # nor does a climb through the minimum count, which is at it for a moment only
    level = np.flatnonzero(states.vertical_speed_mps[first:] < _LEVEL_MPS)
    first_level = first + int(level[0]) if len(level) else len(states) - 1
    begin = max(float(near.time_s[0]), float(states.time_s[first_level]))
    return states.between(begin, float(states.time_s[-1])), _level_below(context, states, first, floor)


def _departs(context: Context) -> bool:
    """Whether the log begins on the ground, or at the charted runway in the climb after a take-off or a missed approach."""
    first, runway = context.motion.states, context.motion.charted.runway
    if context.motion.begins_on_ground:
        return True
    if runway is None or first.vertical_speed_mps[0] < -_LEVEL_MPS:
        return False
    away_m, _ = geodesy.inverse(
        runway.latitude_rad, runway.longitude_rad, float(first.latitude_rad[0]), float(first.longitude_rad[0])
    )
    missed, high_m = context.motion.charted.missed, runway.elevation_m + _DEPARTS_HIGH_M
    if missed is not None and missed.altitude_m is not None and first.vertical_speed_mps[0] > _CLIMBING_MPS:
        high_m = max(high_m, missed.altitude_m)  # or in the climb of a missed approach
    return float(away_m) < _DEPARTS_M and float(first.altitude_m[0]) < high_m


def _since_near(states: States) -> States:
    """The states since the aircraft last came within 25 NM of the fix, the radius of a minimum safe altitude (AIM 5-4-5 e)."""
    far = np.flatnonzero(states.distance_m > _NEAR_M)
    begin = int(far[-1]) + 1 if len(far) and far[-1] + 1 < len(states) else 0
    return states.between(float(states.time_s[begin]), float(states.time_s[-1]))


def _level_below(context: Context, states: States, first: int, floor: float) -> str | None:
    """Why the verdict is open if level flight below the minimum came before it was first reached, unlike a climb-out."""
    low = states.altitude_m[:first] < floor - _LEVEL_BELOW_M
    level = low & (np.abs(states.vertical_speed_mps[:first]) < _LEVEL_MPS) & (states.ground_speed_mps[:first] > ON_GROUND_MPS)
    if max((end - begin for begin, end in true_runs(level)), default=0) < _LEVEL_S:
        return None
    unknown = "when it was assigned" if context.motion.charted.assigned("arrival") else "what was cleared"
    return f"level flight below the minimum came before it was first reached, and a log does not show {unknown}"


def climbed_s(states: States, floor: float) -> float | None:
    """When the climb in a hold ended, at its minimum or level below it; None if it did not end. [s]"""
    reached = np.flatnonzero(states.altitude_m >= floor)
    level = np.abs(states.vertical_speed_mps) < _LEVEL_MPS
    levelled = np.lib.stride_tricks.sliding_window_view(level, _LEVEL_S).all(axis=1) if len(states) >= _LEVEL_S else level[:0]
    ends = [int(indices[0]) for indices in (reached, np.flatnonzero(levelled)) if indices.size]
    return float(states.time_s[min(ends)]) if ends else None
