"""Finding the approaches in a flight: which passages of the fix begin a reversal, of which shape and on which side."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from analyzer.legs.assemble import Window, assemble
from analyzer.legs.circuits import is_further_circuit, join_circuit
from analyzer.legs.decode import STEP_COST, Cut, decode
from analyzer.legs.features import Features, log_density
from analyzer.legs.final_leg import with_final_leg
from analyzer.legs.grammar import SHAPES, SHAPES_AS_CHARTED, Shape, Step
from analyzer.legs.model import Reversal
from analyzer.legs.passages import Abeam, find_passages
from analyzer.motion.model import Motion, States
from analyzer.physics import holding
from analyzer.physics.units import DEG, NM, FloatArray, wrap

__all__ = ["find_reversals"]

_LOOK_BACK_S = 180.0  # before the outbound passage: holds the lead of the turn onto the outbound course
_LEAST_GAIN = 100.0  # log-likelihood over "anything at all"; a reversal gains several hundred
_LEAST_GAIN_PER_S = 1.0  # and as much for each second since the passage; a reversal gains 1.5 to 3
# What a side or kind that is not charted must gain more: pilots mean to fly the chart. More in a hold, where a parallel entry
# and a direct one into the mirrored hold look alike.
_OFF_CHART_COST, _OFF_CHART_HOLD_COST = 20.0, 90.0
# Pilots mean to fly the entry that the heading on arrival calls for: in a strong crosswind two may look alike.
_GAIN_PER_DEG, _MOST_SECTOR_DEG, _ARRIVED_S = 1.5, 30.0, 15.0
_INBOUND_LEAST_M = 1.0 * NM  # on the inbound course before the fix, of an approach without a reversal at it
_TURNED_BACK_RAD = 150.0 * DEG  # since passing the fix: a reversal of some shape, not a straight-in
_BACK_RAD = 45.0 * DEG  # of a turn the other way, not counted as nearly a whole turn
_BEGUN_AFTER_OFFSET_RAD, _BEGUN_RAD = 30.0 * DEG, 60.0 * DEG  # of a reversing turn that the log ends in
_MOMENTS_S = 10  # states are a second apart
_ANYTHING = Step("arrival", "free")  # whatever the aircraft does


@dataclass(frozen=True)
class _Match:
    shape: Shape
    side: int
    cut: Cut
    gain: float


def find_reversals(motion: Motion) -> tuple[Reversal, ...]:
    """The approaches of a flight in order: every course reversal about the fix, or the arc or straight-in where there is none.

    A further circuit of a hold belongs to the reversal before it.
    """
    passages = find_passages(motion.states)
    found: list[Reversal] = []
    free_from = came_back = float(motion.states.time_s[0])
    for number, passage in enumerate(passages):
        after = passages[number + 1] if number + 1 < len(passages) else None
        before = found[-1] if found and found[-1].passages[-1].time_s == passage.time_s else None
        reversal = _reversal_from(motion, came_back, free_from, passage, after)
        if reversal is None:
            continue
        if before is not None and is_further_circuit(before, reversal):
            # its first turn may begin before the last circuit's final leg would have ended
            inbound = before.last_part("inbound")
            since = inbound.start_s if inbound is not None else passage.time_s
            found[-1] = join_circuit(before, _reversal_from(motion, came_back, since, passage, after) or reversal)
        else:
            found.append(reversal)
        found[-1] = with_final_leg(motion, found[-1])
        free_from, came_back = found[-1].parts[-1].end_s, reversal.passages[-1].time_s
    if not found:
        found.extend(_without_reversal(motion, passages))
    return tuple(found)


def _reversal_from(motion: Motion, came_back: float, free_from: float, passage: Abeam, after: Abeam | None) -> Reversal | None:
    """The reversal that begins with a passage, where one does; `came_back` is when the one before last passed the fix."""
    end = after.time_s if after is not None else float(motion.states.time_s[-1])
    states = motion.states.between(max(came_back, passage.time_s - _LOOK_BACK_S), end)
    if len(states) < 2:
        return None
    return _best(motion, Window(states, passage, after, free_from))


def _best(motion: Motion, window: Window) -> Reversal | None:
    """The approach that the shapes make of a stretch, where one explains it well enough."""
    matches = sorted(_matches(motion, window), key=lambda match: -match.gain)
    least = _LEAST_GAIN
    if window.outbound is not None:
        least = max(least, _LEAST_GAIN_PER_S * (float(window.states.time_s[-1]) - window.outbound.time_s))
    if not matches or matches[0].gain < least:
        return None
    best = matches[0]
    others = [match.gain for match in matches if (match.shape.name, match.side) != (best.shape.name, best.side)]
    return assemble(motion, window, best.shape, best.side, best.cut, best.gain - max([0.0, *others]))


def _matches(motion: Motion, window: Window) -> list[_Match]:
    """Every shape on either side, with what it gains over a flight of which nothing is said."""
    from_passage, kind = window.outbound is not None, motion.charted.kind
    shapes = [s for s in SHAPES if s.from_passage == from_passage and (not s.charts or kind in s.charts)]
    found = []
    turned = _most_turned(window.states)
    right = Features.of(window.states, motion.charted, window.outbound.time_s if window.outbound else None)
    nothing = log_density(right, _ANYTHING)  # the same on either side
    for side, features in ((1, right), (-1, right.mirrored())):
        possible = [shape for shape in shapes if _can_turn_back(turned, shape, side, window.inbound is not None)]
        of_step = {step: log_density(features, step) for shape in possible for step in shape.steps}
        for shape in possible:
            density = np.stack([of_step[step] for step in shape.steps]).T
            cut = decode(density, [step.optional for step in shape.steps], must_finish=window.inbound is not None)
            if (
                math.isfinite(cut.score)
                and _turns_back(window.states, shape, side, cut)
                and _all_fit(density - nothing[:, None], shape, cut, _as_charted(motion, shape, side))
            ):
                gain = cut.score - float(nothing.sum()) - _off_chart(motion, shape, side)
                gain += _called_for(motion, window, shape, side)
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
    over = (later[-1] if turning == "either" else later[0]) if later else -1
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


def _without_reversal(motion: Motion, passages: tuple[Abeam, ...]) -> list[Reversal]:
    """The arc or straight-in that a flight without a reversal ended with; earlier ones were only on the way."""
    begin = float(motion.states.time_s[0])
    found = []
    for number, passage in enumerate(passages):
        before = passages[number - 1] if number else None
        states = motion.states.between(before.time_s if before is not None else begin, passage.time_s)
        if len(states) < 2:
            continue
        approach = _best(motion, Window(states, None, passage, begin))
        inbound = approach.part("inbound") if approach is not None else None
        if approach is None or inbound is None or motion.distance_at(inbound.start_s) <= _INBOUND_LEAST_M:
            continue
        # an arc may be joined from its centre, and then turns back
        if approach.flown == "arc" or before is None or _turned_rad(states) <= _TURNED_BACK_RAD:
            found.append(with_final_leg(motion, approach))
    return found[-1:]


def _turned_rad(states: States) -> float:
    """By how much the heading ranged over a stretch."""
    return float(np.ptp(np.unwrap(states.heading_rad)))
