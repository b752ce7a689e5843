"""What is wrong with the legs out from the fix of a cut: where they begin, how long they are, and where they lead."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from analyzer.legs.assemble import Window
from analyzer.legs.bounds import leg_bound_m, outbound_bounds, reversal_reach_m
from analyzer.legs.decode import Cut
from analyzer.legs.grammar import Shape
from analyzer.legs.misfit import Misfit, off_outbound, step_span
from analyzer.legs.turn_back import LEAST_OUT_S
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, NM, unwrapped, wrap
from analyzer.vocabulary import PartName

__all__ = ["FROM_FIX_M", "ON_COURSE_RAD", "beyond_bounds", "not_from_fix"]

# Off the charted outbound course where a base turn begins: on it is within full scale of a VOR, and off it altogether beyond.
ON_COURSE_RAD = 10.0 * DEG
_BESIDE_RAD = 15.0 * DEG
_NEAR_COURSE_RAD = 30.0 * DEG  # farther off, a leg straight from over the fix is not that of the base turn flown badly
# Off the outbound course, and of the track from it: what is flown farther off is another way.
_STRAYS_RAD, _STRAYING_RAD = 30.0 * DEG, 60.0 * DEG
_LATE_S = 180.0  # past the fix, at most, an outbound leg begins, or the turn onto it: an error is corrected first
# A leg that leads away from the fix began over it, or with a turn that led it.
_OVER_FIX_M, _LEAST_OUT_M, _AWAY_RAD = 0.5 * NM, 0.75 * NM, 40.0 * DEG
_LEAST_PARALLEL_S = (
    15  # of a racetrack's outbound leg, parallel to the inbound one: what a minute inbound leaves in a strong wind
)
_ENTRY_SHARE = 0.5  # of the bound of a hold's outbound leg, of one that is timed from over the fix
_TEARDROP_RAD = 35.0 * DEG  # off the outbound course; a teardrop is flown some 30° off it, and the offset leg of a 45/180 45°
FROM_FIX_M = 1.0 * NM  # from the fix, at most, the line passes that a leg which is not charted is flown along


def beyond_bounds(motion: Motion, states: States, shape: Shape, cut: Cut) -> Iterator[Misfit]:
    """The legs, and the way back to the inbound course, that are longer than the chart's limits allow."""
    bound_m, reach_m = leg_bound_m(motion.charted), reversal_reach_m(motion.charted)
    most_s, most_m = outbound_bounds(motion.charted)
    if "offset_turn" in (step.part for step in shape.steps):
        most_s, most_m = math.inf, math.inf  # a procedure turn is where the pilot has it, within the limit
    elif shape.name in ("hold-teardrop", "hold-parallel"):
        most_s *= _ENTRY_SHARE
    bounds: tuple[tuple[PartName, float, float], ...] = (
        ("outbound", most_s, min(most_m, reach_m)),
        ("offset_leg", math.inf, bound_m),
        ("intercept", math.inf, reach_m),
    )
    for name, longest_s, longest_m in bounds:
        span = step_span(shape, cut, name)
        # a state a second
        if span and (span[1] - span[0] > longest_s or float(np.sum(states.ground_speed_mps[slice(*span)])) > longest_m):
            words = name.replace("_", " ")
            yield Misfit(f"the {words}{' leg' if name == 'outbound' else ''} is longer than the chart's limits allow", name)


def not_from_fix(motion: Motion, window: Window, shape: Shape, cut: Cut) -> Iterator[Misfit]:
    """What is wrong with the outbound leg: when it begins and how long it is, and of some shapes where it leads."""
    states, outbound = window.states, step_span(shape, cut, "outbound")
    if outbound is None or window.outbound is None:
        yield Misfit("there is no outbound leg", "outbound")
        return
    first, last = outbound[0], outbound[1] - 1
    turned = step_span(shape, cut, "outbound_turn") or step_span(shape, cut, "entry_turn") or outbound
    late = float(states.time_s[turned[0]]) - window.outbound.time_s > _LATE_S
    if late and not _strays_out(motion, states, window.outbound.time_s, turned[0]):
        yield Misfit(f"the outbound leg begins more than {_LATE_S / 60.0:.0f} min after the fix", "outbound")
    short = Misfit("the outbound leg is too short to be one", "outbound")
    if shape.name == "hold-direct":
        if last - first < _LEAST_PARALLEL_S:
            yield short
        if motion.charted.kind == "base-turn" and _along_outbound(motion, states, outbound):
            yield Misfit("the outbound leg is that of the base turn, and not beside it", "outbound")
        return
    if step_span(shape, cut, "offset_turn") is not None:
        if _is_teardrop(motion, states, shape, cut):
            yield Misfit("the offset leg leads straight from the fix, as a teardrop's way out does", "offset_leg")
        return
    if float(states.time_s[last]) - window.outbound.time_s < LEAST_OUT_S:
        yield short
    over = window.outbound.distance_m < _OVER_FIX_M
    if not over:
        yield Misfit(f"the fix is passed {window.outbound.distance_m / NM:.1f} NM off", "outbound")
    if shape.name != "hold-parallel":
        yield from _not_away(motion, states, shape, cut)


def _along_outbound(motion: Motion, states: States, outbound: tuple[int, int]) -> bool:
    """Whether a leg lies on the outbound course from its middle on, as that of a racetrack beside the course does not."""
    first, last = outbound[0], outbound[1] - 1
    middle = (first + last) // 2
    return off_outbound(motion, states, middle) < _BESIDE_RAD and off_outbound(motion, states, last) < ON_COURSE_RAD


def _strays_out(motion: Motion, states: States, passed_s: float, second: int) -> bool:
    """Whether the aircraft went out near the outbound course, if too far off it or too unsteadily to be on it.

    It was near the course soon after the fix, though a turn over it may have led elsewhere first, and stayed so.
    """
    way = slice(int(np.searchsorted(states.time_s, passed_s)), second)
    off = np.abs(wrap(states.bearing_rad[way] - motion.charted.outbound_true_rad)) > _STRAYS_RAD
    far = np.flatnonzero(off & (states.distance_m[way] > FROM_FIX_M))
    begun = int(far[-1]) + 1 if len(far) else 0
    away = np.abs(wrap(states.track_rad[way] - motion.charted.outbound_true_rad))[begun:]
    soon = float(states.time_s[way.start + begun]) - passed_s < _LATE_S
    return soon and bool(len(away)) and float(away.max()) < _STRAYING_RAD


def _not_away(motion: Motion, states: States, shape: Shape, cut: Cut) -> Iterator[Misfit]:
    """What is wrong with an outbound leg that is to lead away from the fix."""
    outbound = step_span(shape, cut, "outbound")
    if outbound is None:
        return
    first, last = outbound[0], outbound[1] - 1
    base_turn = shape.name == "base-turn" and motion.charted.kind == "base-turn"
    off_course = base_turn and any(step.part == "outbound" and step.place == "out" for step in shape.steps)
    strays = base_turn and not off_course and off_outbound(motion, states, last) > _BESIDE_RAD
    if strays or (off_course and not _keeps_radial(motion, states, shape, cut)):
        yield Misfit("the outbound leg lies off the outbound course", "outbound")
    middle = (first + last) // 2
    if motion.charted.kind not in ("base-turn", "hold") or off_course:
        # an aircraft that turns round abeam the fix and flies on outbound, as under radar vectors, does not fly from it
        misses = abs(math.sin(float(states.bearing_rad[middle] - states.track_rad[middle]))) * float(states.distance_m[middle])
        if misses >= FROM_FIX_M:
            yield Misfit(f"the outbound leg lies on a line that misses the fix by {misses / NM:.1f} NM", "outbound")
    away = abs(float(wrap(states.bearing_rad[last] - states.track_rad[middle])))
    if float(states.distance_m[last]) <= _LEAST_OUT_M or away >= _AWAY_RAD:
        yield Misfit("the outbound leg does not lead away from the fix", "outbound")


def _keeps_radial(motion: Motion, states: States, shape: Shape, cut: Cut) -> bool:
    """Whether a base turn off its outbound course goes out on one radial, near that course or its mirror image, and back."""
    outbound, charted = step_span(shape, cut, "outbound"), motion.charted
    if outbound is None or step_span(shape, cut, "inbound") is None:
        return False
    leg = slice(*outbound)
    bearing = unwrapped(states.bearing_rad[leg][states.distance_m[leg] > FROM_FIX_M])
    if not bearing.size or float(np.ptp(bearing)) > ON_COURSE_RAD:
        return False
    mirrored = 2.0 * charted.inbound_true_rad - charted.outbound_true_rad
    across = abs(float(wrap(bearing[-1] - mirrored)))
    return off_outbound(motion, states, outbound[1] - 1) < _NEAR_COURSE_RAD or across < ON_COURSE_RAD


def _is_teardrop(motion: Motion, states: States, shape: Shape, cut: Cut) -> bool:
    """Whether the offset leg is the way out of a teardrop: over the ground, in any wind, from the fix and near the course."""
    leg = step_span(shape, cut, "offset_leg")
    if leg is None:
        return False
    track = median(unwrapped(states.track_rad[slice(*leg)]))
    middle = (leg[0] + leg[1]) // 2
    misses_m = abs(math.sin(float(states.bearing_rad[middle]) - track)) * float(states.distance_m[middle])
    off = abs(float(wrap(track - motion.charted.outbound_true_rad)))
    return off <= _TEARDROP_RAD and misses_m < _OVER_FIX_M
