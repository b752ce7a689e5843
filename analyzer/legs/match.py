"""Which shape a stretch of a flight fits best: every shape on either side, cut and weighed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.assemble import Window, assemble
from analyzer.legs.decode import STEP_COST, Cut, decode
from analyzer.legs.densities import StepGains
from analyzer.legs.features import Features
from analyzer.legs.fits import may_be_explained, misfits, unexplained
from analyzer.legs.grammar import SHAPES, Shape
from analyzer.legs.misfit import as_charted
from analyzer.legs.reversal import Reversal
from analyzer.legs.turn_back import BEGUN_RAD, OFFSET_BEGUN_RAD
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics import holding
from analyzer.physics.units import DEG, NM, unwrapped, wrap
from analyzer.vocabulary import PartName

__all__ = ["Match", "best_approach", "called_for", "comes_home", "explains", "matches_of", "recognised_matches", "taken"]

_LEAST_GAIN = 100.0  # log-likelihood over "anything at all"; a reversal gains several hundred
_LEAST_GAIN_PER_S = 1.0  # and as much for each second since the passage; a reversal gains 1.5 to 3
_CUT_OFF_SHARE = 0.4  # of either, of what is charted and the log ends in: the turn back is the clearest evidence
# Coming back to the fix without being established, at most: over it and across the course, or a little beside it and still
# closing with the course; and to the side, nearer but at any angle after an entry to a hold: it may return straight to the fix
# (AIM 5-3-8 j.3(a)), in a wind from abeam.
_OVER_M, _CLOSING_M, _ACROSS_RAD = 0.25 * NM, 0.5 * NM, 60.0 * DEG
_ASIDE_M, _ASIDE_ENTRY_M, _ASIDE_RAD = 1.0 * NM, 0.5 * NM, 25.0 * DEG
_BACK_S = 75.0  # from the turn back of an entry of a minute to the fix, and a quarter of it
# What a side or kind that is not charted must gain more: pilots mean to fly the chart. More in a hold, where a parallel entry
# and a direct one into the mirrored hold look alike.
_OFF_CHART_COST, _OFF_CHART_HOLD_COST = 20.0, 90.0
# Pilots mean to fly the entry that the heading on arrival calls for: in a strong crosswind two may look alike.
_GAIN_PER_DEG, _MOST_SECTOR_DEG, _ARRIVED_S = 1.5, 30.0, 15.0
_ROUNDING = 1e-6  # of a sum of gains

_Tried: TypeAlias = tuple[Shape, int, StepGains]  # a shape, the side it is tried on, and what its steps gain there


@dataclass(frozen=True)
class Match:
    """A shape on a side as it is cut best, and its gain over an unspecified flight; `unlike`: parts that gain nothing."""

    shape: Shape
    side: int
    cut: Cut
    gain: float
    unlike: tuple[PartName, ...] = ()


def best_approach(motion: Motion, window: Window) -> Reversal | None:
    """The approach flown in a stretch, if some shape explains it well enough."""
    hopeful = list(_hopeful(motion, window))
    if not any(_may_explain(motion, window, *one) for one in hopeful):
        return None
    matches = sorted(_recognised(motion, window, hopeful), key=lambda match: -match.gain)
    if not matches:
        return None
    best = matches[0]
    if not explains(motion, window, best):
        return None
    others = [match.gain for match in matches if (match.shape.name, match.side) != (best.shape.name, best.side)]
    gap = best.gain - max([0.0, *others])
    approach = assemble(motion, replace(window, states=taken(window, best)), best.shape, best.side, best.cut, gap)
    return approach if comes_home(motion, window, approach, as_charted(motion, best.shape, best.side)) else None


def explains(motion: Motion, window: Window, match: Match) -> bool:
    """Whether a shape explains the flight so much better than an unspecified one that it counts as flown."""
    return match.gain >= _least_gain(motion, window, match.shape, match.side, match.cut.stop)


def _least_gain(motion: Motion, window: Window, shape: Shape, side: int, stop: int) -> float:
    """The gain from which on a shape that takes up a window to before a second counts as flown."""
    since_s = float(window.states.time_s[stop - 1]) - window.outbound.time_s if window.outbound is not None else 0.0
    cut_off = window.end == "any step" and as_charted(motion, shape, side)
    return (_CUT_OFF_SHARE if cut_off else 1.0) * max(_LEAST_GAIN, _LEAST_GAIN_PER_S * since_s)


def _may_explain(motion: Motion, window: Window, shape: Shape, side: int, gains: StepGains) -> bool:
    """Whether a shape may explain the flight, were its best cut as good as the best stretches of its steps, in any order."""
    each = (gains.greatest(step, last=False) - STEP_COST for step in shape.steps)
    at_most = sum(max(0.0, gain) for gain in each) + _apart_from_cut(motion, window, shape, side)
    stop = 1 if window.end == "last step, any second" else len(window.states)
    return at_most > _least_gain(motion, window, shape, side, stop) - _ROUNDING


def taken(window: Window, match: Match) -> States:
    """The states of a window up to where a cut stops."""
    time_s = window.states.time_s
    return window.states.between(float(time_s[0]), float(time_s[match.cut.stop - 1]))


def comes_home(motion: Motion, window: Window, approach: Reversal, charted: bool) -> bool:
    """Whether an approach comes to the inbound course, or the log ends before it could.

    A charted reversal that is never established still comes back to the fix, and not across the course; anything else that
    comes back parallel to the course, or goes elsewhere without having been on it, is no reversal.
    """
    if approach.established_s is not None or window.end == "any step":
        return True
    if not charted or window.inbound is None:
        return False
    misses_m = window.inbound.distance_m
    course, track, bearing = motion.charted.inbound_true_rad, window.states.track_rad[-1], window.states.bearing_rad[-1]
    off, closing = abs(float(wrap(track - course))), math.sin(track - course) * math.sin(bearing - course) < 0.0
    if approach.part("offset_turn") is not None:
        return True
    entry, back = approach.flown in ("hold-teardrop", "hold-parallel"), approach.part("intercept")
    if entry and off < _ASIDE_RAD and back is not None and back.duration_s > _BACK_S:
        return False  # back along the way out, as survey lines are flown
    if entry:
        return misses_m < _ASIDE_ENTRY_M
    over_m = _CLOSING_M if closing else _OVER_M
    return off < (_ACROSS_RAD if misses_m < over_m else _ASIDE_RAD) and misses_m < _ASIDE_M


def recognised_matches(motion: Motion, window: Window) -> Iterator[Match]:
    """The shapes looked for under the chart that a stretch really is: those that gain something over an unspecified flight."""
    return _recognised(motion, window, _hopeful(motion, window))


def _hopeful(motion: Motion, window: Window) -> Iterator[_Tried]:
    """The shapes looked for under the chart that a stretch may be, before they are cut."""
    from_passage, kind = window.outbound is not None, motion.charted.kind
    shapes = [s for s in SHAPES if s.from_passage == from_passage and (not s.charts or kind in s.charts)]
    for shape, side, gains in _tried(motion, window, shapes):
        if may_be_explained(gains, shape, as_charted(motion, shape, side), window.end):
            yield shape, side, gains


def _recognised(motion: Motion, window: Window, hopeful: Iterable[_Tried]) -> Iterator[Match]:
    """Those of some shapes that a stretch really is."""
    for shape, side, gains in hopeful:
        match = _cut(motion, window, shape, side, gains)
        if match is None or match.gain <= 0.0 or match.unlike:
            continue
        if next(misfits(motion, window, match.shape, match.side, match.cut), None) is None:
            yield match


def matches_of(motion: Motion, window: Window, shapes: Sequence[Shape]) -> Iterator[Match]:
    """The shapes that the stretch turns enough for, on either side and as they are cut best, whether it is one or not."""
    for shape, side, gains in _tried(motion, window, shapes):
        match = _cut(motion, window, shape, side, gains)
        if match is not None:
            yield match


def _tried(motion: Motion, window: Window, shapes: Sequence[Shape]) -> Iterator[_Tried]:
    """The shapes that the stretch turns enough for, with the side and what their steps gain on it."""
    turned, complete = _most_turned(window.states), window.end != "any step"
    features = Features(window.states, motion.charted, window.outbound.time_s if window.outbound else None)
    right = StepGains(features, 1)
    for side, gains in ((1, right), (-1, StepGains(features, -1, right))):
        for shape in shapes:
            if _can_turn_back(turned, shape, side, complete) or (
                not complete and _can_turn_off(turned, shape, side, as_charted(motion, shape, side))
            ):
                yield shape, side, gains


def _cut(motion: Motion, window: Window, shape: Shape, side: int, gains: StepGains) -> Match | None:
    """A shape as it is cut best; None where it cannot be cut."""
    density = np.array([gains.gain(step) for step in shape.steps]).T
    cut = decode(density, [step.optional for step in shape.steps], window.end)
    if not math.isfinite(cut.score):
        return None
    unlike = unexplained(density[: cut.stop], shape, cut, as_charted(motion, shape, side))
    return Match(shape, side, cut, cut.score + _apart_from_cut(motion, window, shape, side), tuple(unlike))


def _apart_from_cut(motion: Motion, window: Window, shape: Shape, side: int) -> float:
    """What the gain of a shape holds besides the score of its cut."""
    return called_for(motion, window, shape, side) - _off_chart(motion, shape, side, window.end == "any step")


def _off_chart(motion: Motion, shape: Shape, side: int, cut_off: bool) -> float:
    """The additional gain required of a shape that is not the charted one; `cut_off` says that the log ends in it."""
    kind, charted_side = motion.charted.kind, motion.charted.side
    other_side = charted_side is not None and shape.from_passage and side != charted_side
    if kind != "hold":
        if kind == "base-turn" and cut_off and shape.name == "hold-direct":
            return math.inf  # as far as it is flown, it is the path of a base turn that is joined from across
        return _OFF_CHART_COST if other_side else 0.0
    if other_side and shape.name == "hold-parallel":
        return math.inf  # into the mirrored hold it is the path of a direct entry into the charted one
    other_kind = shape.from_passage and not shape.name.startswith("hold")
    return (_OFF_CHART_HOLD_COST if other_side else 0.0) + (_OFF_CHART_COST if other_kind else 0.0)


def called_for(motion: Motion, window: Window, shape: Shape, side: int) -> float:
    """Gain of an entry into the charted hold for an arrival heading inside its sector, or loss for one outside."""
    charted, entry = motion.charted, shape.name.removeprefix("hold-")
    if window.outbound is None or entry not in holding.ENTRIES or charted.side not in (None, side):
        return 0.0
    before = int(np.searchsorted(window.states.time_s, window.outbound.time_s - _ARRIVED_S))
    heading = float(window.states.heading_rad[min(before, len(window.states) - 1)])
    margin = holding.sector_margin(entry, heading, charted.inbound_true_rad, -side) / DEG
    return _GAIN_PER_DEG * min(max(margin, -_MOST_SECTOR_DEG), _MOST_SECTOR_DEG)


def _most_turned(states: States) -> dict[int, float]:
    """Largest change of heading to each side between two instants of a stretch, +1 right. [rad]"""
    heading = unwrapped(states.heading_rad)
    right = float(np.max(heading - np.minimum.accumulate(heading)))
    left = float(np.max(np.maximum.accumulate(heading) - heading))
    return {1: right, -1: left}


def _can_turn_back(turned: dict[int, float], shape: Shape, side: int, complete: bool) -> bool:
    """Whether the stretch turns enough the right way for the shape's reversing turn, which spares hopeless cuts."""
    turning = next((step.turning for step in shape.steps if step.part == "reversal_turn"), None)
    if turning not in ("towards", "away"):
        return True
    least = shape.least_turn_deg * DEG if complete else BEGUN_RAD
    return turned[side if turning == "towards" else -side] >= least


def _can_turn_off(turned: dict[int, float], shape: Shape, side: int, charted: bool) -> bool:
    """Whether the stretch turns enough for the offset turn of the charted shape, where the log ends before the turn back."""
    return charted and any(step.part == "offset_turn" for step in shape.steps) and turned[side] >= OFFSET_BEGUN_RAD
