"""The final leg: where it begins by the chart, where it ends, and how.

It begins at the final approach fix; without one at the reversal fix, or, where the facility stands on the field, when
established inbound. It ends where the aircraft climbs away or turns off the course, or where the log does. With a circling
minimum, who turns off the course circles: the leg goes on round the aerodrome, to the landing or the climb.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analyzer.legs.course_left import before_runway, left_for_good_s
from analyzer.legs.reversal import Part, Passage, Reversal
from analyzer.motion.motion import ON_GROUND_MPS, Motion
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import FPM, FT, NM, FloatArray
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import Ending

__all__ = ["passed_at", "with_final_leg"]

_BESIDE_M, _ABEAM_BEFORE_S = 0.3 * NM, 60.0  # passed so far from a fix; and abeam of it no sooner than this before its nearest
_LOST_S = 30.0  # without samples, the final leg is over
_CLIMB_M = 200.0 * FT  # gained without a landing, a missed approach has begun
_LEVEL_M = 30.0 * FT  # above the lowest, to where level flight before the climb goes on
# A climb shows where it is this steep, or half as steep as it becomes: a creep off a level is none. It begins where the
# aircraft stopped being level, some seconds before.
_CLIMBING_MPS, _LEVEL_MPS, _PULL_UP_S = 300.0 * FPM, 100.0 * FPM, 5
_STEADY_S = 15  # of level flight, or of a descent, before a climb; shorter stops are part of it
_AFTER_TURNING_S = 180.0  # in which a climb shows that an aircraft that turned off the course went around
_REACHED_M, _REACHED_FROM_M = 100.0 * FT, 2.0 * NM  # above the threshold, and from it
# The circle: within 6.94 NM of the threshold, the widest area of Doc 8168 II-I-4-7 (category E); no circuit takes longer, nor
# climbs so far above where the course was left without going around (no source).
_CIRCLE_M, _CIRCLE_S, _CIRCLE_UP_M = 7.0 * NM, 900.0, 1000.0 * FT
_SHORT_OF_IT_M = 0.5 * NM  # a path of 2° is 100 ft above the threshold so far before it; lower farther out is no landing


def with_final_leg(motion: Motion, reversal: Reversal) -> Reversal:
    """The approach with its last parts cut where the final leg begins by the chart, and its ending."""
    home = [part for part in reversal.parts if part.name not in ("inbound", "final")]
    last = home[-1].end_s if home else reversal.parts[0].start_s
    inbound = reversal.last_part("inbound")
    settled = inbound.start_s if inbound is not None and inbound.start_s >= last - 1e-6 else None
    begin = _begins(motion, reversal, settled if settled is not None else last)
    if begin is None:
        return _up_to_leaving(motion, reversal)
    end, ending = _ends(motion, begin)
    on_field = motion.charted.on_field and begin == settled
    return replace(reversal, parts=_cut(reversal, begin, end, on_field), ending=ending)


def _up_to_leaving(motion: Motion, reversal: Reversal) -> Reversal:
    """The approach that never reached its final leg: inbound continues past the reversal fix until the course is left."""
    last, log_ends = reversal.parts[-1], float(motion.states.time_s[-1])
    if last.name != "inbound" or _came_in(reversal) is None:
        return reversal
    leaves = left_for_good_s(motion.states.between(last.end_s, log_ends), motion.charted, motion.charted.inbound_true_rad)
    return replace(reversal, parts=(*reversal.parts[:-1], replace(last, end_s=max(last.end_s, leaves))))


def _cut(reversal: Reversal, begin_s: float, end_s: float, on_field: bool) -> tuple[Part, ...]:
    """The parts up to an instant, and the final one from it; on the field the inbound part already is of the final leg."""
    passage = _came_in(reversal)
    split = begin_s
    if on_field:
        split = min(passage.time_s, end_s) if passage is not None else end_s
    kept = [part for part in reversal.parts if part.name != "final" and part.start_s < split]
    if not kept:  # it ends the instant that it begins: the course was left as soon as it was reached
        return reversal.parts
    tail = kept[-1]
    if tail.name == "inbound":
        kept[-1] = replace(tail, end_s=split, of_leg="final" if on_field else None)
    elif split > tail.end_s:
        kept.append(Part("inbound", tail.end_s, split))  # past the fix, and not established before it
    else:
        kept[-1] = replace(tail, end_s=split)
    if end_s > split:
        kept.append(Part("final", split, end_s))
    return tuple(kept)


def _came_in(reversal: Reversal) -> Passage | None:
    """The last passage of the fix, inbound; None where another circuit was begun after it and not finished."""
    last = reversal.passages[-1] if reversal.passages else None
    if last is None or last.direction != "inbound":
        return None
    before = [part for part in reversal.parts if part.name not in ("inbound", "final")]
    return last if not before or before[-1].start_s <= last.time_s else None


def _begins(motion: Motion, reversal: Reversal, settled_s: float) -> float | None:
    """When the final leg begins; None where the flight does not reach it."""
    charted = motion.charted
    log_ends = float(motion.states.time_s[-1])
    faf = charted.fix_of("final-approach-fix")
    passage = _came_in(reversal)
    if faf is None:
        if charted.on_field and reversal.established_s is not None:
            return settled_s
        return _abeam_s(motion, passage) if passage is not None else None
    since = passage.time_s if passage is not None else settled_s
    until = max(since, left_for_good_s(motion.states.between(since, log_ends), charted, charted.inbound_true_rad))
    return passed_at(motion.states.between(settled_s, until), faf.latitude_rad, faf.longitude_rad, faf.course_true_rad)


def _abeam_s(motion: Motion, passage: Passage) -> float:
    """When the fix is passed inbound: abeam along the course, which on another track beside it comes before the nearest. [s]"""
    before = motion.states.between(passage.time_s - _ABEAM_BEFORE_S, passage.time_s)
    if passage.distance_m <= _BESIDE_M or not len(before):
        return passage.time_s
    charted = motion.charted
    abeam = passed_at(before, charted.fix_latitude_rad, charted.fix_longitude_rad, charted.inbound_true_rad)
    return abeam if abeam is not None and abeam > float(before.time_s[0]) else passage.time_s


def passed_at(states: States, latitude_rad: float, longitude_rad: float, course_rad: float) -> float | None:
    """When a fix is passed, abeam on a course: the first of the states where it lies behind already; None where none does."""
    if len(states) < 2:
        return None
    distance, bearing = geodesy.inverse_near(latitude_rad, longitude_rad, states.latitude_rad, states.longitude_rad)
    along: FloatArray = distance * np.cos(bearing - course_rad)
    behind = np.flatnonzero(along >= 0.0)
    if not len(behind):
        return None
    k = int(behind[0])
    if k == 0:
        return float(states.time_s[0])
    share = float(along[k - 1] / (along[k - 1] - along[k]))
    return float(states.time_s[k - 1] + share * (states.time_s[k] - states.time_s[k - 1]))


def _climb_begun_s(states: States, charted: Charted) -> float | None:
    """When the first climb begins that gains 200 ft over the lowest before it and is not lost again before the runway. [s]

    Who corrects a level that was too low climbs, too, and goes on down.
    """
    altitude, since = states.altitude_m, 0
    before = before_runway(states, charted)
    while True:
        gained = np.flatnonzero(altitude[since:] > np.fmin.accumulate(altitude[since:]) + _CLIMB_M) + since
        if not len(gained):
            return None
        first = int(gained[0])
        start = _climb_begins(states, since, first)
        again = np.flatnonzero(before[first:] & (altitude[first:] <= altitude[start] + _LEVEL_M)) + first
        if not len(again):
            return float(states.time_s[start])
        since = int(again[0])


def _climb_begins(states: States, since: int, gained: int) -> int:
    """The first state of a climb that has gained its height at a state: after the last level flight before it, or descent."""
    up = states.vertical_speed_mps[since : gained + 1]
    flat = ~(up >= min(_CLIMBING_MPS, 0.5 * float(np.nanmax(up))))
    for last in np.flatnonzero(flat)[::-1]:
        if last + 1 < _STEADY_S or flat[last + 1 - _STEADY_S : last + 1].all():
            level = np.flatnonzero(up[: last + 1] < _LEVEL_MPS)
            left = int(level[-1]) if len(level) else -1
            return min(since + max(left, int(last) - _PULL_UP_S) + 1, gained)
    return since


def _ends(motion: Motion, begin_s: float) -> tuple[float, Ending]:
    """Where the final leg ends, and how."""
    charted = motion.charted
    rest = motion.states.between(begin_s, float(motion.states.time_s[-1]))
    leaves = left_for_good_s(rest, charted, charted.inbound_true_rad)
    if charted.minimum is not None and charted.minimum.line == "circling":
        leaves = _circled_until_s(rest, leaves, charted)
    climb_s = _climb_begun_s(rest.between(begin_s, leaves), charted)
    end = climb_s if climb_s is not None else leaves
    if _reached(rest.between(begin_s, end), charted):
        return end, "reached the runway"
    if climb_s is not None:
        return end, "climbed away"
    if leaves >= float(rest.time_s[-1]):
        return end, "log ends"
    after = motion.states.between(leaves, leaves + _AFTER_TURNING_S)
    if len(after) > 1 and float(after.time_s[1] - after.time_s[0]) > _LOST_S:
        return end, "log breaks off"
    later_s = _climb_begun_s(rest.between(begin_s, leaves + _AFTER_TURNING_S), charted)
    if later_s is not None:
        return min(later_s, leaves), "climbed away"
    return end, "turned away"


def _circled_until_s(rest: States, leaves_s: float, charted: Charted) -> float:
    """When the circle ends that begins where the course is left: on the ground, where the log breaks off, or in a climb.

    Where the aircraft goes on somewhere else, it did not circle, and what it left is the course. [s]
    """
    circle = rest.between(leaves_s, leaves_s + _CIRCLE_S)
    if len(circle) < 2:
        return leaves_s
    latitude, longitude = float(circle.latitude_rad[0]), float(circle.longitude_rad[0])
    if charted.runway is not None:
        latitude, longitude = charted.runway.latitude_rad, charted.runway.longitude_rad
    distance, _ = geodesy.inverse_near(latitude, longitude, circle.latitude_rad, circle.longitude_rad)
    landed = circle.ground_speed_mps < ON_GROUND_MPS
    broken = np.diff(circle.time_s, append=circle.time_s[-1]) > _LOST_S
    up = circle.altitude_m > circle.altitude_m[0] + _CIRCLE_UP_M
    ends = np.flatnonzero(landed | broken | up | (distance > _CIRCLE_M))
    last = int(ends[0]) if len(ends) else len(circle) - 1
    until_s = float(circle.time_s[last])
    if landed[last] or broken[last] or until_s >= float(rest.time_s[-1]):
        return until_s
    return until_s if _climb_begun_s(circle.between(leaves_s, until_s), charted) is not None else leaves_s


def _reached(states: States, charted: Charted) -> bool:
    """Whether the aircraft came down to the runway, or where none is charted, to the speed of one on the ground."""
    runway = charted.runway
    if runway is None:
        return bool((states.ground_speed_mps < ON_GROUND_MPS).any())
    distance, bearing = geodesy.inverse_near(
        runway.latitude_rad, runway.longitude_rad, states.latitude_rad, states.longitude_rad
    )
    there = (distance < _REACHED_FROM_M) & (distance * np.cos(bearing - runway.heading_rad) > -_SHORT_OF_IT_M)
    return bool((there & (states.altitude_m < runway.elevation_m + _REACHED_M)).any())
