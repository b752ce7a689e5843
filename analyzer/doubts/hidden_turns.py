"""A gap in the log over a turn of the reversal: what shape was flown, and to which side, is then a guess."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyzer.checks.phrases import clock
from analyzer.doubts.doubt import Doubt
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.physics.units import DEG, wrap

__all__ = ["hidden_turns"]

_HOLE_S = 30.0  # half a turn of the standard rate takes a minute
_HOLE_STEPS = 5.0
_HIDDEN_S = 2.0  # of a turn: what went before it, and in which direction it began, is hidden as well
_NOT_OF_SHAPE = ("arrival", "outbound_turn", "outbound", "inbound", "final", "missed")
_TURNED_RAD = 20.0 * DEG  # from one end of a gap to the other: more than a wind correction
_ENTERED_S = 240.0  # before what is taken for the entry to a hold, another lap may have been flown


def hidden_turns(motion: Motion, flown: Sequence[Reversal]) -> Iterator[Doubt]:
    """A doubt about the shape and side of each approach or hold with a turn that a gap hides."""
    least_s = max(_HOLE_S, _HOLE_STEPS * motion.track.interval_s)
    holes = [(begin, end) for begin, end in motion.position_holes if end - begin > least_s]
    for reversal in flown:
        spans = tuple(_shaping(reversal))
        for begin, end in holes:
            if any(min(end, last_s) - max(begin, first_s) > _HIDDEN_S for first_s, last_s in spans) or (
                _hides_offset_turn(motion, reversal, begin, end)
            ):
                yield Doubt(
                    f"The log has a gap from {clock(begin)} to {clock(end)}, over a turn: what shape was flown there, and to "
                    "which side, does not show.",
                    "shape",
                    "the log has a gap over a turn of it",
                    ((begin, end),),
                    "gap",
                )
                break


def _hides_offset_turn(motion: Motion, reversal: Reversal, begin_s: float, end_s: float) -> bool:
    """Whether a gap on the way out of what looks like a base turn has a turn in it, as that of a 45/180 would be."""
    outbound = reversal.part("outbound")
    if reversal.flown != "base-turn" or outbound is None or not outbound.start_s <= begin_s < end_s <= outbound.end_s:
        return False
    states = motion.states
    before, after = states.track_rad[states.time_s <= begin_s], states.track_rad[states.time_s >= end_s]
    return bool(len(before) and len(after) and abs(float(wrap(after[0] - before[-1]))) > _TURNED_RAD)


def _shaping(reversal: Reversal) -> Iterator[tuple[float, float]]:
    """The stretches that show the shape: from the first turn off the outbound course to the inbound one; the way to a hold.

    Of a hold it is the first lap that shows how it was entered, and to which side.
    """
    for part in reversal.parts:
        if part.name == "inbound" and reversal.flown.startswith("hold"):
            return
        if part.name not in _NOT_OF_SHAPE:
            yield part.start_s, part.end_s
        elif part.name == "arrival" and reversal.flown.startswith("hold"):
            yield part.end_s - _ENTERED_S, part.end_s
