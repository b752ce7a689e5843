"""Whether a cut really has its shape: turned back far enough, out from the fix, within the chart's bounds, each step in place.

The densities weigh each second; conditions on whole steps are checked here, and a cut that fails them is no match.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.arcs import comes_back_round, keeps_round
from analyzer.legs.assemble import Window
from analyzer.legs.bounds import FLYING_MPS, leg_bound_m, outbound_bounds, reversal_reach_m
from analyzer.legs.decode import STEP_COST, Cut, CutEnd
from analyzer.legs.densities import StepGains
from analyzer.legs.features import from_arc_centre
from analyzer.legs.grammar import SHAPES_AS_CHARTED, Shape
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.quantiles import median, quantile
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, FT, KT, NM, FloatArray, unwrapped, wrap
from analyzer.vocabulary import PartName

__all__ = ["BEGUN_RAD", "OFFSET_BEGUN_RAD", "Misfit", "as_charted", "may_be_explained", "misfits", "unexplained"]

BEGUN_RAD: Final = 30.0 * DEG  # of the charted reversing turn, or one after an offset leg, that the log ends in
_BEGUN_OTHER_RAD = 60.0 * DEG  # of another
OFFSET_BEGUN_RAD = 25.0 * DEG  # of the charted offset turn that the log ends in, or on the leg after it
# The leg after it that the log ends on, at most: it usually takes a minute, and no turn back shows that it was one.
_OFFSET_LEG_BEGUN_S = 150
# Off the charted outbound course where a base turn begins: on it is within full scale of a VOR, and off it altogether beyond.
_ON_COURSE_RAD, _BESIDE_RAD = 10.0 * DEG, 15.0 * DEG
_NEAR_COURSE_RAD = 30.0 * DEG  # farther off, a leg straight from over the fix is not that of the base turn flown badly
_BACK_RAD = 45.0 * DEG  # of a turn the other way, not counted as nearly a whole turn
_JOINING_TURN_RAD = 270.0 * DEG  # onto an arc at most; a state a second
_ROUND_MPS = 50.0 * KT  # what is slower follows a winding road rather than an arc badly; common practice, no source
_ROUNDING = 1e-6  # of a sum of gains
_MOMENTS_S = 10  # states are a second apart
# Off the outbound course, and of the track from it: what is flown farther off is another way.
_STRAYS_RAD, _STRAYING_RAD = 30.0 * DEG, 60.0 * DEG
_LATE_S = 180.0  # past the fix, at most, an outbound leg begins, or the turn onto it: an error is corrected first
# An outbound leg from the fix, at least: half of the minute that is the shortest timed; of a racetrack, parallel to the
# inbound leg, what a minute inbound leaves in a strong wind.
_LEAST_OUT_S, _LEAST_PARALLEL_S = 30.0, 15
# A leg that leads away from the fix began over it, or with a turn that led it.
_OVER_FIX_M, _LEAST_OUT_M, _AWAY_RAD = 0.5 * NM, 0.75 * NM, 40.0 * DEG
_ENTRY_SHARE = 0.5  # of the bound of a hold's outbound leg, of one that is timed from over the fix
_TEARDROP_RAD = 35.0 * DEG  # off the outbound course; a teardrop is flown some 30° off it, and the offset leg of a 45/180 45°
_FROM_FIX_M = 1.0 * NM  # from the fix, at most, the line passes that a leg which is not charted is flown along
# A base leg: no turn for so long, in the middle of what leads from the outbound course to the inbound one.
_BASE_S, _NO_TURN_RAD_S = 8, 0.5 * DEG
# Of a hold that is not the charted one: who turns back in one lingers for a moment at most.
_LINGERS_RAD, _LINGERS_S = 20.0 * DEG, 20
_LEAST_RADIUS_M = 150.0  # of a turn: at 30° of bank, that of 57 kt
# A circuit of an aerodrome: climbed in it from the lowest in the minute before the fix and since, over that, and from the fix.
_LOW_BEFORE_S, _CIRCUIT_CLIMB_M, _CIRCUIT_HIGH_M, _CIRCUIT_FAR_M = 60, 300.0 * FT, 2000.0 * FT, 3.5 * NM
_LOW_AGAIN_M = 600.0 * FT  # over the lowest, at most, where the fix is passed again on the way down


@dataclass(frozen=True)
class Misfit:
    """What keeps a cut from being the approach of its shape, in a clause.

    `part` is the part that it is about, None where it is about the whole. Where what is missing is `essential`, such as a turn
    back, there is nothing that could be taken for the shape, whoever says so.
    """

    words: str
    part: PartName | None = None
    essential: bool = False


def misfits(motion: Motion, window: Window, shape: Shape, side: int, cut: Cut) -> Iterator[Misfit]:
    """What speaks against a cut by its steps as a whole, the essential first; nothing where it really is its shape."""
    states = window.states
    begun = int(np.searchsorted(states.time_s, window.outbound.time_s)) if window.outbound is not None else 0
    if window.outbound is None:
        inbound = _span(shape, cut, "inbound")
        begun = inbound[0] if inbound is not None else 0
    turn = _span(shape, cut, "reversal_turn")
    charted = shape.name == "base-turn" and as_charted(motion, shape, side)
    known = charted and turn is not None and _off_outbound(motion, states, turn[0]) < _ON_COURSE_RAD
    if _span(shape, cut, "offset_turn") is not None and turn is None:
        # the log ends before the turn back
        if window.end != "any step" or not _turns_off(states, shape, cut, side):
            yield Misfit(_no_turn(shape), "reversal_turn", essential=True)
        elif not as_charted(motion, shape, side):
            yield Misfit("the log ends before the turn back", "reversal_turn")
    elif not _turns_back(states, shape, cut, side, known):
        yield Misfit(_no_turn(shape), "reversal_turn", essential=True)
    if not shape.from_passage and not _goes_round(motion, states, shape, cut):
        yield Misfit("it does not keep one distance from the middle of the arc", "arc", essential=True)
    if median(states.ground_speed_mps[begun : cut.stop]) < FLYING_MPS:
        yield Misfit("it is slower than aeroplanes fly")
    if not shape.from_passage:
        return
    yield from _beyond_bounds(motion, states, shape, cut)
    if not _is_wide_enough(states, shape, cut):
        yield Misfit("the turn back is tighter than aircraft turn", "reversal_turn")
    yield from _not_from_fix(motion, window, shape, cut)
    if _is_circuit(window, shape, cut, begun):
        yield Misfit("it is climbed into and flown as low and as near as a circuit of an aerodrome")
    if _is_vectored(motion, window, shape, cut) or _is_circuit_beside(motion, states, shape, side, cut):
        words = "it goes round in two turns with a leg between them, as radar or a circuit of an aerodrome leads an aircraft"
        yield Misfit(words, "reversal_turn")


def _no_turn(shape: Shape) -> str:
    if not shape.from_passage:
        return "no turn onto the inbound course comes"
    return f"no turn back of {shape.least_turn_deg:.0f}° or more follows"


def unexplained(gain: FloatArray, shape: Shape, cut: Cut, charted: bool) -> Iterator[PartName]:
    """The required steps of the shape that explain their own seconds no better than an unspecified flight does.

    An aircraft that flies the charted reversal and still closes with the inbound course near the fix is on it only for moments,
    which need not be explained; anything else that ends so is no reversal but a way back to the fix.
    """
    flown = [(step, start) for step, start in zip(shape.steps, cut.starts, strict=True) if start is not None]
    ends = [*(start for _, start in flown[1:]), len(gain)]
    before = ""
    for (step, start), end in zip(flown, ends, strict=True):
        moments = charted and before == "intercept" and end - start < _MOMENTS_S
        asked = not step.optional and step.turning != "free" and not moments
        if asked and float(gain[start:end, shape.steps.index(step)].sum()) < STEP_COST:
            yield step.part
        before = step.part


def may_be_explained(gains: StepGains, shape: Shape, charted: bool, end: CutEnd) -> bool:
    """Whether `unexplained` may find nothing, however the shape is cut: quick to see, and for most shapes in vain.

    Each step that is asked for then gains enough over some stretch, and the last over one that goes on to the end. Where the
    log ends in a shape it is not known which steps are.
    """
    if end == "any step":
        return True
    last, before = shape.steps[-1], shape.steps[-2]
    for step in reversed(shape.steps):  # the inbound course decides most often
        moments = step is last and charted and before.part == "intercept"
        if step.optional or step.turning == "free" or moments:
            continue
        if gains.greatest(step, last=step is last and end == "last step") < STEP_COST - _ROUNDING:
            return False
    return True


def as_charted(motion: Motion, shape: Shape, side: int) -> bool:
    """Whether a shape is the charted one, on its charted side."""
    return shape.name in SHAPES_AS_CHARTED[motion.charted.kind] and motion.charted.side in (None, side)


def _span(shape: Shape, cut: Cut, name: PartName) -> tuple[int, int] | None:
    """The first second of a step and the one after its last; None where it is not flown."""
    flown = [(step.part, start) for step, start in zip(shape.steps, cut.starts, strict=True) if start is not None]
    ends = [*(start for _, start in flown[1:]), cut.stop]
    return next(((start, end) for (part, start), end in zip(flown, ends, strict=True) if part == name), None)


def _off_outbound(motion: Motion, states: States, second: int) -> float:
    """How far off the charted outbound course the aircraft is, as an angle at the fix. [rad]"""
    return abs(float(wrap(states.bearing_rad[second] - motion.charted.outbound_true_rad)))


def _turns_back(states: States, shape: Shape, cut: Cut, side: int, known: bool) -> bool:
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
        swept = (direction * (last - first) + _BACK_RAD) % math.tau - _BACK_RAD
    if later:
        return swept >= shape.least_turn_deg * DEG
    offset = any(step.part == "offset_turn" for step in shape.steps)
    return swept >= (BEGUN_RAD if offset or known else _BEGUN_OTHER_RAD)


def _turns_off(states: States, shape: Shape, cut: Cut, side: int) -> bool:
    """Whether the offset turn was flown far enough to be one, after an outbound leg, and the log ends soon after it."""
    turn, outbound, leg = (_span(shape, cut, name) for name in ("offset_turn", "outbound", "offset_leg"))
    if turn is None or outbound is None or (leg is not None and leg[1] - leg[0] > _OFFSET_LEG_BEGUN_S):
        return False
    turned = side * float(wrap(states.heading_rad[turn[1] - 1] - states.heading_rad[turn[0]]))
    return turned >= OFFSET_BEGUN_RAD and outbound[1] - outbound[0] >= _LEAST_OUT_S  # states are a second apart


def _goes_round(motion: Motion, states: States, shape: Shape, cut: Cut) -> bool:
    """Whether what is cut as an arc is one: it keeps its distance, and the track goes round as the bearing does."""
    arc, joined = _span(shape, cut, "arc"), _span(shape, cut, "arc_turn")
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


def _beyond_bounds(motion: Motion, states: States, shape: Shape, cut: Cut) -> Iterator[Misfit]:
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
        span = _span(shape, cut, name)
        # a state a second
        if span and (span[1] - span[0] > longest_s or float(np.sum(states.ground_speed_mps[slice(*span)])) > longest_m):
            words = name.replace("_", " ")
            yield Misfit(f"the {words}{' leg' if name == 'outbound' else ''} is longer than the chart's limits allow", name)


def _is_wide_enough(states: States, shape: Shape, cut: Cut) -> bool:
    """Whether the turn back is no tighter than aircraft turn, as cars do."""
    span = _span(shape, cut, "reversal_turn")
    if span is None:
        return True
    turn = slice(*span)
    rate = quantile(np.abs(states.turn_rate_rad_s[turn]), 0.8)  # the smoothing takes from a sharp turn
    return median(states.ground_speed_mps[turn]) > _LEAST_RADIUS_M * rate


def _not_from_fix(motion: Motion, window: Window, shape: Shape, cut: Cut) -> Iterator[Misfit]:
    """What is wrong with the outbound leg: when it begins and how long it is, and of some shapes where it leads."""
    states, outbound = window.states, _span(shape, cut, "outbound")
    if outbound is None or window.outbound is None:
        yield Misfit("there is no outbound leg", "outbound")
        return
    first, last = outbound[0], outbound[1] - 1
    turned = _span(shape, cut, "outbound_turn") or _span(shape, cut, "entry_turn") or outbound
    late = float(states.time_s[turned[0]]) - window.outbound.time_s > _LATE_S
    if late and not _strays_out(motion, states, window.outbound.time_s, turned[0]):
        yield Misfit(f"the outbound leg begins more than {_LATE_S / 60.0:.0f} min after the fix", "outbound")
    short = Misfit("the outbound leg is too short to be one", "outbound")
    if shape.name == "hold-direct":
        if last - first < _LEAST_PARALLEL_S:
            yield short
        return
    if _span(shape, cut, "offset_turn") is not None:
        if _is_teardrop(motion, states, shape, cut):
            yield Misfit("the offset leg leads straight from the fix, as a teardrop's way out does", "offset_leg")
        return
    if float(states.time_s[last]) - window.outbound.time_s < _LEAST_OUT_S:
        yield short
    over = window.outbound.distance_m < _OVER_FIX_M
    if not over:
        yield Misfit(f"the fix is passed {window.outbound.distance_m / NM:.1f} NM off", "outbound")
    if shape.name != "hold-parallel":
        yield from _not_away(motion, states, shape, cut)


def _strays_out(motion: Motion, states: States, passed_s: float, second: int) -> bool:
    """Whether the aircraft went out near the outbound course, if too far off it or too unsteadily to be on it.

    It was near the course soon after the fix, though a turn over it may have led elsewhere first, and stayed so.
    """
    way = slice(int(np.searchsorted(states.time_s, passed_s)), second)
    off = np.abs(wrap(states.bearing_rad[way] - motion.charted.outbound_true_rad)) > _STRAYS_RAD
    far = np.flatnonzero(off & (states.distance_m[way] > _FROM_FIX_M))
    begun = int(far[-1]) + 1 if len(far) else 0
    away = np.abs(wrap(states.track_rad[way] - motion.charted.outbound_true_rad))[begun:]
    soon = float(states.time_s[way.start + begun]) - passed_s < _LATE_S
    return soon and bool(len(away)) and float(away.max()) < _STRAYING_RAD


def _not_away(motion: Motion, states: States, shape: Shape, cut: Cut) -> Iterator[Misfit]:
    """What is wrong with an outbound leg that is to lead away from the fix."""
    outbound = _span(shape, cut, "outbound")
    if outbound is None:
        return
    first, last = outbound[0], outbound[1] - 1
    base_turn = shape.name == "base-turn" and motion.charted.kind == "base-turn"
    off_course = base_turn and any(step.part == "outbound" and step.place == "out" for step in shape.steps)
    strays = base_turn and not off_course and _off_outbound(motion, states, last) > _BESIDE_RAD
    if strays or (off_course and not _keeps_radial(motion, states, shape, cut)):
        yield Misfit("the outbound leg lies off the outbound course", "outbound")
    middle = (first + last) // 2
    if motion.charted.kind not in ("base-turn", "hold") or off_course:
        # an aircraft that turns round abeam the fix and flies on outbound, as under radar vectors, does not fly from it
        misses = abs(math.sin(float(states.bearing_rad[middle] - states.track_rad[middle]))) * float(states.distance_m[middle])
        if misses >= _FROM_FIX_M:
            yield Misfit(f"the outbound leg lies on a line that misses the fix by {misses / NM:.1f} NM", "outbound")
    away = abs(float(wrap(states.bearing_rad[last] - states.track_rad[middle])))
    if float(states.distance_m[last]) <= _LEAST_OUT_M or away >= _AWAY_RAD:
        yield Misfit("the outbound leg does not lead away from the fix", "outbound")


def _keeps_radial(motion: Motion, states: States, shape: Shape, cut: Cut) -> bool:
    """Whether a base turn off its outbound course goes out on one radial, near that course or its mirror image, and back."""
    outbound, charted = _span(shape, cut, "outbound"), motion.charted
    if outbound is None or _span(shape, cut, "inbound") is None:
        return False
    leg = slice(*outbound)
    bearing = unwrapped(states.bearing_rad[leg][states.distance_m[leg] > _FROM_FIX_M])
    if not bearing.size or float(np.ptp(bearing)) > _ON_COURSE_RAD:
        return False
    mirrored = 2.0 * charted.inbound_true_rad - charted.outbound_true_rad
    across = abs(float(wrap(bearing[-1] - mirrored)))
    return _off_outbound(motion, states, outbound[1] - 1) < _NEAR_COURSE_RAD or across < _ON_COURSE_RAD


def _is_vectored(motion: Motion, window: Window, shape: Shape, cut: Cut) -> bool:
    """Whether it is a downwind and a base, as radar leads them: not out along the course, and round in two turns."""
    states, outbound, turn = window.states, _span(shape, cut, "outbound"), _span(shape, cut, "reversal_turn")
    if shape.name != "base-turn" or outbound is None or turn is None or _base_s(states, *turn) < _BASE_S:
        return False
    if motion.charted.kind != "base-turn":
        return True
    # who flies a base turn is on its course soon after the fix; a downwind is on it where they cross, if anywhere
    passed = int(np.searchsorted(states.time_s, window.outbound.time_s)) if window.outbound is not None else outbound[0]
    away = [k for k in range(passed, outbound[1]) if states.distance_m[k] > _FROM_FIX_M]
    off = [_off_outbound(motion, states, k) for k in away[: max(1, len(away) // 3)]]
    return bool(off) and median(np.array(off)) > _ON_COURSE_RAD


def _is_circuit_beside(motion: Motion, states: States, shape: Shape, side: int, cut: Cut) -> bool:
    """Whether what looks like another hold than the charted one is a downwind, a base and a final."""
    turn, intercept = _span(shape, cut, "reversal_turn"), _span(shape, cut, "intercept")
    if shape.name != "hold-direct" or as_charted(motion, shape, side) or turn is None:
        return False
    home = slice(turn[0], (intercept or turn)[1])
    turned = np.maximum.accumulate(np.abs(np.cumsum(states.turn_rate_rad_s[home])))
    middle = turned[(turned > _BACK_RAD) & (turned < turned[-1] - _BACK_RAD)]
    lingers = np.searchsorted(middle, middle + _LINGERS_RAD) - np.arange(len(middle))
    return int(lingers.max(initial=0)) >= _LINGERS_S  # states are a second apart


def _base_s(states: States, first: int, end: int) -> int:
    """How long the longest stretch without a turn in the middle of a turn is, with some turn before and after it. [s]"""
    rate = states.turn_rate_rad_s[first:end]
    turned = np.abs(np.cumsum(rate))
    middle = (turned > _BACK_RAD) & (turned < turned[-1] - BEGUN_RAD)
    level = (np.abs(rate) < _NO_TURN_RAD_S) & middle
    return max((end - begin for begin, end in true_runs(level)), default=0)


def _is_teardrop(motion: Motion, states: States, shape: Shape, cut: Cut) -> bool:
    """Whether the offset leg is the way out of a teardrop: over the ground, in any wind, from the fix and near the course."""
    leg = _span(shape, cut, "offset_leg")
    if leg is None:
        return False
    track = median(unwrapped(states.track_rad[slice(*leg)]))
    middle = (leg[0] + leg[1]) // 2
    misses_m = abs(math.sin(float(states.bearing_rad[middle]) - track)) * float(states.distance_m[middle])
    off = abs(float(wrap(track - motion.charted.outbound_true_rad)))
    return off <= _TEARDROP_RAD and misses_m < _OVER_FIX_M


def _is_circuit(window: Window, shape: Shape, cut: Cut, begun: int) -> bool:
    """Whether it is a circuit of an aerodrome: up from near the ground, round close by, and no higher than circuits are."""
    states, turn = window.states, _span(shape, cut, "reversal_turn")
    if turn is None or not np.isfinite(states.altitude_m).any():
        return False
    before = states.altitude_m[max(0, begun - _LOW_BEFORE_S) : turn[0] + 1]
    low = float(np.nanmin(before)) if np.isfinite(before).any() else math.nan
    flown = slice(begun, cut.stop)
    top, end = float(np.nanmax(states.altitude_m[flown])), float(states.altitude_m[cut.stop - 1])
    if window.inbound is not None and not (end - low < _LOW_AGAIN_M and top - end > _CIRCUIT_CLIMB_M):
        return False  # a lap in which a hold is climbed to, or a missed approach
    return bool(
        states.altitude_m[turn[0]] - low > _CIRCUIT_CLIMB_M
        and top - low < _CIRCUIT_HIGH_M
        and float(states.distance_m[flown].max()) < _CIRCUIT_FAR_M
    )
