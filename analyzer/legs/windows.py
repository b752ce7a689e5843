"""The stretches of a flight that shapes are fitted to: from a passage of the fix on, and up to one."""

from __future__ import annotations

from analyzer.legs.assemble import Window
from analyzer.legs.bounds import approach_reach_m, came_in_reach_s, left_reach_s, reversal_reach_m
from analyzer.legs.passages import Abeam
from analyzer.motion.motion import Motion

__all__ = ["window_from", "window_to"]

_LOOK_BACK_S = 180.0  # before the outbound passage: holds the lead of the turn onto the outbound course


def window_from(motion: Motion, came_back_s: float, free_from_s: float, passage: Abeam, after: Abeam | None) -> Window | None:
    """The stretch from a passage up to another, or to the end of the log, or to where the aircraft is gone; None without one.

    `came_back_s` is when the approach before last passed the fix, and `free_from_s` when it ended.
    """
    end = after.time_s if after is not None else float(motion.states.time_s[-1])
    states = motion.states.between(max(came_back_s, passage.time_s - _LOOK_BACK_S), end)
    gone = left_reach_s(states, passage.time_s, reversal_reach_m(motion.charted))
    if gone is not None:
        states = states.between(float(states.time_s[0]), gone)
    if len(states) < 2:
        return None
    if gone is not None:
        return Window(states, passage, None, free_from_s, "last step, any second")
    return Window(states, passage, after, free_from_s, "last step" if after is not None else "any step")


def window_to(motion: Motion, before: Abeam | None, passage: Abeam, free_from_s: float) -> Window | None:
    """The stretch that leads to a passage from the one before, as far as it is an approach's; None without one."""
    since = max(free_from_s, before.time_s) if before is not None else free_from_s
    states = motion.states.between(since, passage.time_s)
    came_in = came_in_reach_s(states, approach_reach_m(motion.charted))
    if came_in is not None:
        states = states.between(came_in, passage.time_s)
    return Window(states, None, passage, free_from_s) if len(states) > 1 else None
