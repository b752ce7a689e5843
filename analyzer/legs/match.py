"""Which shape a stretch of a flight fits best: every shape on either side, cut and weighed."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from analyzer.legs.arcs import keeps_round
from analyzer.legs.assemble import Window, assemble
from analyzer.legs.decode import STEP_COST, Cut, decode
from analyzer.legs.features import Features, from_arc_centre, log_density
from analyzer.legs.grammar import SHAPES, SHAPES_AS_CHARTED, Shape, Step
from analyzer.legs.model import Reversal
from analyzer.motion.model import Motion, States
from analyzer.physics import holding
from analyzer.physics.units import DEG, FloatArray, wrap

__all__ = ["best_approach"]

_LEAST_GAIN = 100.0  # log-likelihood over "anything at all"; a reversal gains several hundred
_LEAST_GAIN_PER_S = 1.0  # and as much for each second since the passage; a reversal gains 1.5 to 3
# What a side or kind that is not charted must gain more: pilots mean to fly the chart. More in a hold, where a parallel entry
# and a direct one into the mirrored hold look alike.
_OFF_CHART_COST, _OFF_CHART_HOLD_COST = 20.0, 90.0
# Pilots mean to fly the entry that the heading on arrival calls for: in a strong crosswind two may look alike.
_GAIN_PER_DEG, _MOST_SECTOR_DEG, _ARRIVED_S = 1.5, 30.0, 15.0
_BACK_RAD = 45.0 * DEG  # of a turn the other way, not counted as nearly a whole turn
_BEGUN_AFTER_OFFSET_RAD, _BEGUN_RAD = 30.0 * DEG, 60.0 * DEG  # of a reversing turn that the log ends in
_JOINING_TURN_RAD = 270.0 * DEG  # onto an arc at most; a state a second
_MOMENTS_S = 10  # states are a second apart
_ANYTHING = Step("arrival", "free")  # whatever the aircraft does


@dataclass(frozen=True)
class _Match:
    shape: Shape
    side: int
    cut: Cut
    gain: float


def best_approach(motion: Motion, window: Window) -> Reversal | None:
    """The approach that the shapes make of a stretch, where one explains it well enough."""
    matches = sorted(_matches(motion, window), key=lambda match: -match.gain)
    if not matches:
        return None
    best = matches[0]
    time_s = window.states.time_s
    taken = window.states.between(float(time_s[0]), float(time_s[best.cut.stop - 1]))
    least = _LEAST_GAIN
    if window.outbound is not None:
        least = max(least, _LEAST_GAIN_PER_S * (float(taken.time_s[-1]) - window.outbound.time_s))
    if best.gain < least:
        return None
    others = [match.gain for match in matches if (match.shape.name, match.side) != (best.shape.name, best.side)]
    return assemble(motion, replace(window, states=taken), best.shape, best.side, best.cut, best.gain - max([0.0, *others]))


def _matches(motion: Motion, window: Window) -> list[_Match]:
    """Every shape on either side, with what it gains over a flight of which nothing is said."""
    from_passage, kind = window.outbound is not None, motion.charted.kind
    shapes = [s for s in SHAPES if s.from_passage == from_passage and (not s.charts or kind in s.charts)]
    found = []
    turned = _most_turned(window.states)
    right = Features.of(window.states, motion.charted, window.outbound.time_s if window.outbound else None)
    nothing = log_density(right, _ANYTHING)  # the same on either side
    for side, features in ((1, right), (-1, right.mirrored())):
        possible = [shape for shape in shapes if _can_turn_back(turned, shape, side, window.end != "any step")]
        of_step = {step: log_density(features, step) for shape in possible for step in shape.steps}
        for shape in possible:
            density = np.stack([of_step[step] - nothing for step in shape.steps]).T
            cut = decode(density, [step.optional for step in shape.steps], window.end)
            if (
                math.isfinite(cut.score)
                and _turns_back(window.states, shape, side, cut)
                and _goes_round(motion, window.states, shape, cut)
                and _all_fit(density[: cut.stop], shape, cut, _as_charted(motion, shape, side))
            ):
                gain = cut.score - _off_chart(motion, shape, side) + _called_for(motion, window, shape, side)
                found.append(_Match(shape, side, cut, gain))
    return found


def _off_chart(motion: Motion, shape: Shape, side: int) -> float:
    """What a shape must gain more because it is not what is charted."""
    kind, charted_side = motion.charted.kind, motion.charted.side
    other_side = charted_side is not None and shape.from_passage and side != charted_side
    if kind != "hold":
        return _OFF_CHART_COST if other_side else 0.0
    if other_side and shape.name == "hold-parallel":
        return math.inf  # into the mirrored hold it is the path of a direct entry into the charted one
    other_kind = shape.from_passage and not shape.name.startswith("hold")
    return (_OFF_CHART_HOLD_COST if other_side else 0.0) + (_OFF_CHART_COST if other_kind else 0.0)


def _called_for(motion: Motion, window: Window, shape: Shape, side: int) -> float:
    """What an entry into the charted hold gains by how far inside its sector the heading on arrival lies, or loses outside."""
    charted, entry = motion.charted, shape.name.removeprefix("hold-")
    if window.outbound is None or entry not in holding.ENTRIES or charted.side not in (None, side):
        return 0.0
    before = int(np.searchsorted(window.states.time_s, window.outbound.time_s - _ARRIVED_S))
    heading = float(window.states.heading_rad[min(before, len(window.states) - 1)])
    margin = holding.sector_margin(entry, heading, charted.inbound_true_rad, -side) / DEG
    return _GAIN_PER_DEG * min(max(margin, -_MOST_SECTOR_DEG), _MOST_SECTOR_DEG)


def _most_turned(states: States) -> dict[int, float]:
    """By how much at most the heading changed to each side between two instants of a stretch, +1 right. [rad]"""
    heading = np.unwrap(states.heading_rad)
    right = float(np.max(heading - np.minimum.accumulate(heading)))
    left = float(np.max(np.maximum.accumulate(heading) - heading))
    return {1: right, -1: left}


def _can_turn_back(turned: dict[int, float], shape: Shape, side: int, complete: bool) -> bool:
    """Whether the stretch turns enough the right way for the shape's reversing turn, which spares hopeless cuts."""
    turning = next((step.turning for step in shape.steps if step.part == "reversal_turn"), None)
    if turning not in ("towards", "away"):
        return True
    least = shape.least_turn_deg * DEG if complete else _BEGUN_AFTER_OFFSET_RAD
    return turned[side if turning == "towards" else -side] >= least


def _turns_back(states: States, shape: Shape, side: int, cut: Cut) -> bool:
    """Whether the reversing turn was flown and changed the heading by what the shape asks; a log may end in it."""
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
    return swept >= (_BEGUN_AFTER_OFFSET_RAD if offset else _BEGUN_RAD)


def _goes_round(motion: Motion, states: States, shape: Shape, cut: Cut) -> bool:
    """Whether what is cut as an arc is one: it keeps its distance, and the track goes round as the bearing does."""
    numbers = [k for k, step in enumerate(shape.steps) if step.part == "arc"]
    if not numbers:
        return True
    start = cut.starts[numbers[0]]
    after = next((other for other in cut.starts[numbers[0] + 1 :] if other is not None), cut.stop)
    if start is None or after - start < 2:
        return False
    flown = states.between(float(states.time_s[start]), float(states.time_s[after - 1]))
    joined = next((other for step, other in zip(shape.steps, cut.starts, strict=True) if step.part == "arc_turn"), None)
    if joined is not None and abs(float(np.sum(states.turn_rate_rad_s[joined:start]))) > _JOINING_TURN_RAD:
        return False
    distance, away = from_arc_centre(flown, motion.charted)
    return keeps_round(distance, away, flown.track_rad, motion.charted.arc_radius_m)


def _as_charted(motion: Motion, shape: Shape, side: int) -> bool:
    """Whether a shape is what the chart asks for, on its side."""
    return shape.name in SHAPES_AS_CHARTED[motion.charted.kind] and motion.charted.side in (None, side)


def _all_fit(gain: FloatArray, shape: Shape, cut: Cut, charted: bool) -> bool:
    """Whether each step that the shape cannot do without explains its own seconds better than nothing in particular does.

    Who flies what is charted and still closes with the inbound course as the fix comes is on it for moments, which need not
    explain themselves; anything else that ends so is no reversal but a way back to the fix.
    """
    flown = [(step, start) for step, start in zip(shape.steps, cut.starts, strict=True) if start is not None]
    ends = [*(start for _, start in flown[1:]), len(gain)]
    before = ""
    for (step, start), end in zip(flown, ends, strict=True):
        moments = charted and before == "intercept" and end - start < _MOMENTS_S
        asked = not step.optional and step.turning != "free" and not moments
        if asked and float(gain[start:end, shape.steps.index(step)].sum()) < STEP_COST:
            return False
        before = step.part
    return True
