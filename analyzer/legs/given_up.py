"""An approach that is given up on the inbound course: it ends there, whatever the flight does after it."""

from __future__ import annotations

from dataclasses import replace

from analyzer.legs.assemble import Window
from analyzer.legs.boundaries import established_at
from analyzer.legs.bounds import FLYING_MPS
from analyzer.legs.course_left import course_left_s, left_for_good_s, taken_up_again_s
from analyzer.legs.match import best_approach
from analyzer.legs.reversal import STRAIGHT_IN, Passage, Reversal
from analyzer.motion.motion import Motion

__all__ = ["as_far_as_flown", "given_up"]


def as_far_as_flown(motion: Motion, approach: Reversal) -> Reversal:
    """The approach up to where it leaves the inbound course, if it does not come to the fix or takes longer than any aeroplane.

    What passes the fix after that, or is still about it when the log ends, is another approach, or a stay in the area.
    """
    inbound = approach.last_part("inbound")
    if approach.flown == STRAIGHT_IN or inbound is None or inbound is not approach.parts[-1]:
        return approach
    if approach.came_home and inbound.duration_s <= motion.distance_at(inbound.start_s) / FLYING_MPS:
        return approach
    flown = motion.states.between(inbound.start_s, inbound.end_s)
    left_s = left_for_good_s(flown, motion.charted, motion.charted.inbound_true_rad)
    if left_s <= inbound.start_s:
        return approach
    passages = tuple(one for one in approach.passages if one.time_s <= left_s)
    return replace(approach, parts=(*approach.parts[:-1], replace(inbound, end_s=left_s)), passages=passages)


def given_up(motion: Motion, window: Window) -> Reversal | None:
    """The reversal that a passage begins if it comes to the inbound course, and leaves it again for something else.

    Where that is an orbit or the like, and the course is taken up again, it goes on to the fix.
    """
    states, charted = window.states, motion.charted
    begun_s, ends_s = float(states.time_s[0]), float(states.time_s[-1])
    since_s = window.outbound.time_s if window.outbound is not None else begun_s
    established_s = established_at(states, charted, since_s, ends_s)
    if established_s is None:
        return None
    left_s = course_left_s(states.between(established_s, ends_s), charted.inbound_true_rad)
    if left_s >= ends_s or left_s <= window.free_from_s:  # not left, or all of it belongs to the approach before
        return None
    until_left = replace(window, states=states.between(begun_s, left_s), inbound=None, end="last step, any second")
    approach = best_approach(motion, until_left)
    return _taken_up_again(motion, window, approach, left_s) if approach is not None else None


def _taken_up_again(motion: Motion, window: Window, approach: Reversal, left_s: float) -> Reversal:
    """The approach with what is flown after the inbound course was left, if that is taken up again."""
    charted, course_rad = motion.charted, motion.charted.inbound_true_rad
    inbound, rest = approach.parts[-1], window.states.between(left_s, float(window.states.time_s[-1]))
    if inbound.name != "inbound" or taken_up_again_s(rest, charted, course_rad) is None:
        return approach
    since = window.states.between(inbound.start_s, float(window.states.time_s[-1]))
    end_s = left_for_good_s(since, charted, course_rad)
    passages = approach.passages
    if window.inbound is not None and window.inbound.time_s <= end_s + 1.0:
        end_s = window.inbound.time_s
        passages = (*passages, Passage(end_s, window.inbound.distance_m, "inbound"))
    return replace(approach, parts=(*approach.parts[:-1], replace(inbound, end_s=end_s)), passages=passages)
