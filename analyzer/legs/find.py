"""Finding the approaches in a flight: which passages of the fix begin a reversal, of which shape and on which side."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from analyzer.legs.assemble import assemble_reversal, assemble_straight_in
from analyzer.legs.decode import STEP_COST, Cut, decode
from analyzer.legs.features import Features, log_density
from analyzer.legs.grammar import SHAPES, Shape, Step
from analyzer.legs.model import STRAIGHT_IN, Reversal
from analyzer.legs.passages import Abeam, find_passages
from analyzer.motion.model import Motion, States
from analyzer.physics.units import DEG, NM, FloatArray

__all__ = ["find_reversals"]

_LOOK_BACK_S = 180.0  # before the outbound passage: holds the lead of the turn onto the outbound course
_LEAST_GAIN = 100.0  # log-likelihood over "anything at all"; a reversal gains several hundred
_STRAIGHT_IN_LEAST_M = 1.0 * NM  # inbound on course before the fix
_TURNED_BACK_RAD = 150.0 * DEG  # since passing the fix: a reversal of some shape, not a straight-in
_BACK_RAD = 45.0 * DEG
_ANYTHING = Step("anything", "free")
_REVERSALS = tuple(shape for shape in SHAPES if shape.name != STRAIGHT_IN)
_STRAIGHT_IN_SHAPE = next(shape for shape in SHAPES if shape.name == STRAIGHT_IN)


@dataclass(frozen=True)
class _Match:
    shape: Shape
    side: int
    cut: Cut
    gain: float


def find_reversals(motion: Motion) -> tuple[Reversal, ...]:
    """The approaches of a flight in order: every course reversal about the fix, or the straight-in where there is none."""
    passages = find_passages(motion.states)
    found: list[Reversal] = []
    free_from = float(motion.states.time_s[0])
    for number, passage in enumerate(passages):
        after = passages[number + 1] if number + 1 < len(passages) else None
        reversal = _reversal_from(motion, free_from, passage, after)
        if reversal is not None:
            found.append(reversal)
            free_from = reversal.parts[-1].end_s
    if not found:
        found.extend(_straight_ins(motion, passages))
    return tuple(found)


def _window(motion: Motion, start_s: float, end_s: float) -> States:
    return motion.states.between(start_s, end_s)


def _reversal_from(motion: Motion, free_from: float, passage: Abeam, after: Abeam | None) -> Reversal | None:
    """The reversal that begins with a passage, where one does."""
    end = after.time_s if after is not None else float(motion.states.time_s[-1])
    states = _window(motion, max(free_from, passage.time_s - _LOOK_BACK_S), end)
    if len(states) < 2:
        return None
    matches = sorted(_matches(motion, states, passage, after is not None), key=lambda match: -match.gain)
    if not matches or matches[0].gain < _LEAST_GAIN:
        return None
    best = matches[0]
    others = [match.gain for match in matches if (match.shape, match.side) != (best.shape, best.side)]
    gap = best.gain - max([0.0, *others])
    return assemble_reversal(motion, states, best.shape, best.side, best.cut, gap, (passage, after), free_from)


def _matches(motion: Motion, states: States, passage: Abeam, complete: bool) -> list[_Match]:
    """Every shape on either side, with what it gains over a flight of which nothing is said."""
    charted = motion.charted
    found = []
    for side in (1, -1):
        features = Features.of(states, charted.outbound_true_rad, charted.inbound_true_rad, side, passage.time_s)
        nothing = log_density(features, _ANYTHING)
        of_step = {step: log_density(features, step) for shape in _REVERSALS for step in shape.steps}
        for shape in _REVERSALS:
            density = np.column_stack([of_step[step] for step in shape.steps])
            cut = decode(density, [step.optional for step in shape.steps], must_finish=complete)
            if (
                math.isfinite(cut.score)
                and _turns_back(states, shape, side, cut)
                and _all_fit(density - nothing[:, None], shape, cut)
            ):
                found.append(_Match(shape, side, cut, cut.score - float(nothing.sum())))
    return found


def _turns_back(states: States, shape: Shape, side: int, cut: Cut) -> bool:
    """Whether the reversing turn was flown and changed the heading by what the shape asks; a log may end in it."""
    number = next(k for k, step in enumerate(shape.steps) if step.part == "reversal_turn")
    start = cut.starts[number]
    if start is None:
        return False
    later = [other for other in cut.starts[number + 1 :] if other is not None]
    first, last = (float(states.heading_rad[k]) for k in (start, later[0] if later else -1))
    # by headings, which a gap in the turn does not lose; the turn itself goes at most a little the other way
    swept = (-side * (last - first) + _BACK_RAD) % math.tau - _BACK_RAD
    return swept >= (shape.least_turn_deg * DEG if later else 30.0 * DEG)


def _all_fit(gain: FloatArray, shape: Shape, cut: Cut) -> bool:
    """Whether each step that the shape cannot do without explains its own seconds better than nothing in particular does."""
    flown = [(step, start) for step, start in zip(shape.steps, cut.starts, strict=True) if start is not None]
    ends = [*(start for _, start in flown[1:]), len(gain)]
    for (step, start), end in zip(flown, ends, strict=True):
        if not step.optional and step.turning != "free" and float(gain[start:end, shape.steps.index(step)].sum()) < STEP_COST:
            return False
    return True


def _turned_rad(states: States) -> float:
    """By how much the heading ranged over a stretch."""
    return float(np.ptp(np.unwrap(states.heading_rad)))


def _straight_ins(motion: Motion, passages: tuple[Abeam, ...]) -> list[Reversal]:
    """Approaches that came straight in on the inbound course; the last one that did, since others were only on the way."""
    inbound = motion.charted.inbound_true_rad
    begin = float(motion.states.time_s[0])
    found = []
    for number, passage in enumerate(passages):
        before = passages[number - 1] if number else None
        states = _window(motion, before.time_s if before is not None else begin, passage.time_s)
        if len(states) < 2 or (before is not None and _turned_rad(states) > _TURNED_BACK_RAD):
            continue
        features = Features.of(states, motion.charted.outbound_true_rad, inbound, 1, None)
        density = np.column_stack([log_density(features, step) for step in _STRAIGHT_IN_SHAPE.steps])
        cut = decode(density, [step.optional for step in _STRAIGHT_IN_SHAPE.steps], must_finish=True)
        start = cut.starts[-1]
        if start is not None and features.established[-5:].all() and states.distance_m[start] > _STRAIGHT_IN_LEAST_M:
            found.append(assemble_straight_in(motion, states, start, passage))
    return found[-1:]
