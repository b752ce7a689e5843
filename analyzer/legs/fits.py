"""Whether a cut really has its shape: turned back far enough, out from the fix, within the chart's bounds, each step in place.

The densities weigh each second; conditions on whole steps are checked here, and a cut that fails them is no match.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analyzer.legs.assemble import Window
from analyzer.legs.bounds import FLYING_MPS
from analyzer.legs.decode import STEP_COST, Cut, CutEnd
from analyzer.legs.densities import StepGains
from analyzer.legs.grammar import Shape
from analyzer.legs.led_round import is_circuit, is_circuit_beside, is_vectored
from analyzer.legs.misfit import Misfit, as_charted, off_outbound, step_span
from analyzer.legs.turn_back import goes_on_turning, goes_round, is_wide_enough, turns_back, turns_off
from analyzer.legs.way_out import ON_COURSE_RAD, beyond_bounds, not_from_fix
from analyzer.motion.motion import Motion
from analyzer.physics.quantiles import median
from analyzer.physics.units import FloatArray
from analyzer.vocabulary import PartName

__all__ = ["may_be_explained", "misfits", "unexplained"]

_ROUNDING = 1e-6  # of a sum of gains
_MOMENTS_S = 10  # states are a second apart


def misfits(motion: Motion, window: Window, shape: Shape, side: int, cut: Cut) -> Iterator[Misfit]:
    """What speaks against a cut by its steps as a whole, the essential first; nothing where it really is its shape."""
    states = window.states
    begun = int(np.searchsorted(states.time_s, window.outbound.time_s)) if window.outbound is not None else 0
    if window.outbound is None:
        inbound = step_span(shape, cut, "inbound")
        begun = inbound[0] if inbound is not None else 0
    yield from _turns(motion, window, shape, side, cut)
    if not shape.from_passage and not goes_round(motion, states, shape, cut):
        yield Misfit("it does not keep one distance from the middle of the arc", "arc", essential=True)
    if median(states.ground_speed_mps[begun : cut.stop]) < FLYING_MPS:
        yield Misfit("it is slower than aeroplanes fly")
    if not shape.from_passage:
        return
    yield from beyond_bounds(motion, states, shape, cut)
    if not is_wide_enough(states, shape, cut):
        yield Misfit("the turn back is tighter than aircraft turn", "reversal_turn")
    yield from not_from_fix(motion, window, shape, cut)
    if is_circuit(window, shape, cut, begun):
        yield Misfit("it is climbed into and flown as low and as near as a circuit of an aerodrome")
    if is_vectored(motion, window, shape, cut) or is_circuit_beside(motion, states, shape, side, cut):
        words = "it goes round in two turns with a leg between them, as radar or a circuit of an aerodrome leads an aircraft"
        yield Misfit(words, "reversal_turn")


def _turns(motion: Motion, window: Window, shape: Shape, side: int, cut: Cut) -> Iterator[Misfit]:
    """What speaks against the turns off the outbound course and back."""
    states = window.states
    turn = step_span(shape, cut, "reversal_turn")
    charted = shape.name == "base-turn" and as_charted(motion, shape, side)
    known = charted and turn is not None and off_outbound(motion, states, turn[0]) < ON_COURSE_RAD
    if step_span(shape, cut, "offset_turn") is not None and turn is None:
        # the log ends before the turn back
        if window.end != "any step" or not turns_off(states, shape, cut, side):
            yield Misfit(_no_turn(shape), "reversal_turn", essential=True)
        elif not as_charted(motion, shape, side):
            yield Misfit("the log ends before the turn back", "reversal_turn")
    elif not turns_back(states, shape, cut, side, known):
        yield Misfit(_no_turn(shape), "reversal_turn", essential=True)
    elif goes_on_turning(motion, states, shape, cut, side):
        yield Misfit("the turn back follows the offset turn at once, as in an 80/260", "offset_leg")


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
