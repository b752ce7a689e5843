"""Whether the turns of a cut are those of its shape: far enough round, wide enough, and an arc that keeps its distance."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from analyzer.legs.arcs import comes_back_round, keeps_round
from analyzer.legs.decode import Cut
from analyzer.legs.features import from_arc_centre
from analyzer.legs.grammar import Shape
from analyzer.legs.misfit import step_span
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.quantiles import median, quantile
from analyzer.physics.units import DEG, KT, wrap

__all__ = [
    "BACK_RAD",
    "BEGUN_RAD",
    "LEAST_OUT_S",
    "OFFSET_BEGUN_RAD",
    "goes_on_turning",
    "goes_round",
    "is_wide_enough",
    "turns_back",
    "turns_off",
]

BEGUN_RAD: Final = 30.0 * DEG  # of the charted reversing turn, or one after an offset leg, that the log ends in
_BEGUN_OTHER_RAD = 60.0 * DEG  # of another
OFFSET_BEGUN_RAD = 25.0 * DEG  # of the charted offset turn that the log ends in, or on the leg after it
# The leg after it that the log ends on, at most: it usually takes a minute, and no turn back shows that it was one.
_OFFSET_LEG_BEGUN_S = 150
# An offset leg, at least, of a turn that was wider than one of 45°; flown for 40 s or more
_OFFSET_LEG_S, _WIDE_OFFSET_RAD = 12, 55.0 * DEG
BACK_RAD = 45.0 * DEG  # of a turn the other way, not counted as nearly a whole turn
_JOINING_TURN_RAD = 270.0 * DEG  # onto an arc at most; a state a second
_ROUND_MPS = 50.0 * KT  # what is slower follows a winding road rather than an arc badly; common practice, no source
LEAST_OUT_S = 30.0  # an outbound leg from the fix, at least: half of the minute that is the shortest timed
_LEAST_RADIUS_M = 150.0  # of a turn: at 30° of bank, that of 57 kt


def turns_back(states: States, shape: Shape, cut: Cut, side: int, known: bool) -> bool:
    """Whether the reversing turn was flown and changed the heading by what the shape asks; a log may end in it.

    `known` says that the preceding steps identify the turn, so that less of it is enough.
    """
    numbers = [k for k, step in enumerate(shape.steps) if step.part == "reversal_turn"]
    if not numbers:
        return True
    start = cut.starts[numbers[0]]
    if start is None:
        return False
    later = [other for other in cut.starts[numbers[0] + 1 :] if other is not None]
    turning = shape.steps[numbers[0]].turning
    # off an arc, what closes with the course goes on in the same direction: all of it counts
    over = (later[-1] if turning == "either" else later[0]) if later else cut.stop - 1
    first, last = (float(states.heading_rad[k]) for k in (start, over))
    if turning == "either":
        swept = abs(float(wrap(last - first)))
    else:
        # by headings, which a gap in the turn does not lose; the turn itself goes at most a little the other way
        direction = side if turning == "towards" else -side
        swept = (direction * (last - first) + BACK_RAD) % math.tau - BACK_RAD
    if later:
        return swept >= shape.least_turn_deg * DEG
    offset = any(step.part == "offset_turn" for step in shape.steps)
    return swept >= (BEGUN_RAD if offset or known else _BEGUN_OTHER_RAD)


def turns_off(states: States, shape: Shape, cut: Cut, side: int) -> bool:
    """Whether the offset turn was flown far enough to be one, after an outbound leg, and the log ends soon after it."""
    turn, outbound, leg = (step_span(shape, cut, name) for name in ("offset_turn", "outbound", "offset_leg"))
    if turn is None or outbound is None or (leg is not None and leg[1] - leg[0] > _OFFSET_LEG_BEGUN_S):
        return False
    turned = side * float(wrap(states.heading_rad[turn[1] - 1] - states.heading_rad[turn[0]]))
    return turned >= OFFSET_BEGUN_RAD and outbound[1] - outbound[0] >= LEAST_OUT_S  # states are a second apart


def goes_on_turning(motion: Motion, states: States, shape: Shape, cut: Cut, side: int) -> bool:
    """Whether the turn back follows at once on an offset turn of clearly more than 45°, as in an 80/260.

    By heading and by track off the outbound course: in a crosswind, one of the two is as far off on a leg of 45°.
    """
    leg, back = (step_span(shape, cut, name) for name in ("offset_leg", "reversal_turn"))
    if leg is None or back is None or leg[1] - leg[0] >= _OFFSET_LEG_S:
        return False
    course = motion.charted.outbound_true_rad
    off = (side * wrap(way[slice(*leg)] - course) for way in (states.heading_rad, states.track_rad))
    return all(float(angle.max()) > _WIDE_OFFSET_RAD for angle in off)


def goes_round(motion: Motion, states: States, shape: Shape, cut: Cut) -> bool:
    """Whether what is cut as an arc is one: it keeps its distance, and the track goes round as the bearing does."""
    arc, joined = step_span(shape, cut, "arc"), step_span(shape, cut, "arc_turn")
    if arc is None:
        return all(step.part != "arc" for step in shape.steps)
    if joined is not None and abs(float(np.sum(states.turn_rate_rad_s[slice(*joined)]))) > _JOINING_TURN_RAD:
        return False
    flown = states.between(float(states.time_s[arc[0]]), float(states.time_s[arc[1] - 1]))
    (distance, away), radius = from_arc_centre(flown, motion.charted), motion.charted.arc_radius_m
    if keeps_round(distance, away, flown.track_rad, radius):
        return True
    fast = median(flown.ground_speed_mps) >= _ROUND_MPS
    return fast and radius is not None and comes_back_round(distance, away, flown.track_rad, radius)


def is_wide_enough(states: States, shape: Shape, cut: Cut) -> bool:
    """Whether the turn back is no tighter than aircraft turn, as cars do."""
    span = step_span(shape, cut, "reversal_turn")
    if span is None:
        return True
    turn = slice(*span)
    rate = quantile(np.abs(states.turn_rate_rad_s[turn]), 0.8)  # the smoothing takes from a sharp turn
    return median(states.ground_speed_mps[turn]) > _LEAST_RADIUS_M * rate
