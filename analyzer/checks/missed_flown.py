"""The missed approach as charted and flown: its first turn, and the course after it."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.finding import Context
from analyzer.frozen import dataclass
from analyzer.legs.course_lines import CourseLine, course_lines, final_course_rad
from analyzer.legs.guidance import needle
from analyzer.legs.reversal import Part
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.quantiles import median
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, NM, BoolArray, FloatArray, bearing_text, wrap
from analyzer.procedure.approach import MissedApproach
from analyzer.procedure.charted import Charted

__all__ = [
    "MissedFlown",
    "altitude_until_s",
    "climb_hidden_s",
    "course_until_s",
    "course_wanted",
    "departure",
    "departure_at_first",
    "departure_joined",
    "first_passage",
    "flown_direct",
    "intercepting",
    "left_after_s",
    "missed_flown",
    "place_wanted",
    "rolled_out_s",
]

_TURN_RAD, _STRAIGHT_RAD = 20.0 * DEG, 5.0 * DEG  # from the final course: turning, and still on it
_LEVEL_RAD = 5.0 * DEG
_JOINED_M = 0.3 * NM  # from the final course: an intercept of it ends
_LOOK_BACK_S = 30.0
_NEAR_S = 5.0  # of the end of a hole in the altitudes: a climb that shows so soon after it began in it, or may have
_PASSED_M, _AWAY_M = 1.0 * NM, 0.1 * NM  # abeam a fix farther off it is not passed; from farther away than this, and on again
_LEAST_STATES = 20
_FIRST_S = 90  # states are a second apart: in less, what the turn left is corrected; no source
_FLOWN_S = 90  # states are a second apart: along a course for so long, longer than a leg of a circuit, it was joined; no source
_JOINED_S = 120.0  # time to join a course after the climb
# The charted course is that of the hold it leads to where they are so near; an intercept is flown at so much, nearly all along.
_SAME_COURSE_RAD, _INTERCEPT_RAD, _MOSTLY = 5.0 * DEG, 60.0 * DEG, 0.9

_LEADS_RAD = 30.0 * DEG  # a course within this of the bearing of the hold's fix leads to it; no source


@dataclass(frozen=True, eq=False)
class MissedFlown:
    """A missed approach as charted and flown: its part and states, and when and which way its first turn began.

    `off_s` is when the turn shows: the track is 20° off the final course.
    """

    charted: MissedApproach
    part: Part
    states: States
    turn_s: float | None
    turn: int | None
    off_s: float | None = None


def missed_flown(context: Context) -> MissedFlown | None:
    """The missed approach; None unless it is charted and was flown."""
    charted, part = context.motion.charted.missed, context.reversal.last_part("missed")
    if charted is None or part is None:
        return None
    states = context.motion.states.between(part.start_s, part.end_s)
    if len(states) < 2:
        return None
    line = course_lines(context.motion.charted, "final")[-1]
    course = line.course_rad
    off = wrap(states.track_rad - course)
    across_m = needle(states, context.motion.charted, course, None, line.through).cross_track_m
    back = _coming_back(off, across_m)
    turned = np.flatnonzero((np.abs(off) > _TURN_RAD) & ~back)
    if not len(turned):
        return MissedFlown(charted, part, states, None, None)
    off_s = float(states.time_s[turned[0]])
    corrected = np.flatnonzero(back[: turned[0]])
    corrected_s = float(states.time_s[corrected[-1]]) if len(corrected) else None
    begun_s = _turn_begun_s(context, part.start_s, off_s, line, corrected_s)
    return MissedFlown(charted, part, states, begun_s, 1 if off[turned[0]] > 0.0 else -1, off_s)


def _coming_back(off_rad: FloatArray, across_m: FloatArray) -> BoolArray:
    """Whether the aircraft closes with the final course, by a correction begun before the climb or in it, until it joins it.

    `off_rad` and `across_m` are the track off the course and the place, right positive. Who turns away crosses the course, or
    goes on from it, before the track is along it again.
    """
    back = np.zeros(len(off_rad), dtype=np.bool_)
    for begin, joined in true_runs(np.abs(off_rad) > _TURN_RAD):
        closing = bool((off_rad[begin:joined] * across_m[begin:joined] < 0.0).all())
        back[begin:joined] = closing and joined < len(off_rad) and abs(across_m[joined]) < _JOINED_M
    return back


def climb_hidden_s(context: Context, flown: MissedFlown) -> float | None:
    """Since when the altitude is missing up to where the climb shows, so that it may have begun there; else None. [s]"""
    shows = flown.part.start_s
    holes = context.motion.altitude_holes
    return next((begin for begin, end in holes if begin < shows + _NEAR_S and end > shows - _NEAR_S), None)


def _turn_begun_s(context: Context, start_s: float, turned_s: float, line: CourseLine, corrected_s: float | None) -> float:
    """When the aircraft rolled into a turn off a course, some seconds before the track changes. [s]

    It may be before the part begins, where the turn ended the final leg; not before a correction back to the course ended, at
    `corrected_s`. Who closes with the course, by less than a turn, is not turning off it.
    """
    since_s = start_s - _LOOK_BACK_S if corrected_s is None else max(start_s - _LOOK_BACK_S, corrected_s)
    before = context.motion.states.between(since_s, turned_s)
    off = wrap(before.track_rad - line.course_rad)
    across_m = needle(before, context.motion.charted, line.course_rad, None, line.through).cross_track_m
    on_course, level = np.abs(off) < _STRAIGHT_RAD, np.abs(before.bank_rad) < _LEVEL_RAD
    on_course = on_course & level if (on_course & level).any() else on_course
    if on_course.any() or corrected_s is not None:
        on_course |= level & (np.abs(off) < _TURN_RAD) & (off * across_m < 0.0)
    last = np.flatnonzero(on_course)
    return float(before.time_s[last[-1]]) if len(last) else start_s


def rolled_out_s(flown: MissedFlown) -> float | None:
    """When the first turn of the missed approach ends; None without one, or if the log ends in it. [s]"""
    if flown.turn_s is None:
        return None
    after = flown.states.between(flown.turn_s, flown.part.end_s)
    turning = np.abs(after.turn_rate_rad_s) > 1.0 * DEG
    if not turning.any():
        return float(after.time_s[0])
    first = int(np.argmax(turning))
    straight = np.flatnonzero(~turning[first:])
    return float(after.time_s[first + int(straight[0])]) if len(straight) else None


def place_wanted(charted: Charted, missed: MissedApproach) -> tuple[float, float] | None:
    """Position of the hold or fix that a missed approach goes direct to; None if it does not, or that is not charted. [rad]"""
    places = {charted.procedure.fix.name: (charted.fix_latitude_rad, charted.fix_longitude_rad)}
    places |= {one.name: (one.latitude_rad, one.longitude_rad) for one in reversed(charted.fixes)}
    places |= {one.name: (one.latitude_rad, one.longitude_rad) for one in reversed(charted.holds)}
    return places.get(missed.to) if missed.to is not None else None


def course_wanted(context: Context, flown: MissedFlown, states: States) -> tuple[FloatArray | float, str] | None:
    """The true course to fly at each state, and its description; None where none is charted. [rad]"""
    charted, missed = context.motion.charted, flown.charted
    if missed.to is not None:
        place = place_wanted(charted, missed)
        if place is None:
            return None
        _, bearing = geodesy.inverse_near(*place, states.latitude_rad, states.longitude_rad)
        return wrap(bearing + math.pi), f"direct to {missed.to}"
    if missed.turn is not None and missed.course_true_rad is None:
        return None
    course = (
        missed.course_true_rad if missed.turn is not None and missed.course_true_rad is not None else final_course_rad(charted)
    )
    return course, f"on course {bearing_text(course - charted.variation.east_rad)}"


def departure_joined(context: Context, flown: MissedFlown, states: States, limit_rad: float) -> float | None:
    """Median departure from the course where it was joined before or after another approach cut it short, else None. [rad]

    Flown for long it was joined; who then leaves it for another approach was cleared for that.
    """
    wanted = course_wanted(context, flown, states)
    if wanted is not None:
        off = wrap(states.track_rad - wanted[0])
        runs = [off[slice(*run)] for run in true_runs(np.abs(off) < limit_rad)]
        longest = max(runs, key=len, default=off[:0])
        if len(longest) >= _FLOWN_S:
            return median(longest)
    after = context.motion.states.between(flown.part.end_s, flown.part.end_s + _JOINED_S)
    wanted = course_wanted(context, flown, after) if len(after) else None
    if wanted is None:
        return None
    off = wrap(after.track_rad - wanted[0])[-_LEAST_STATES:]
    return median(off) if bool((np.abs(off) < limit_rad).all()) else None


def course_until_s(context: Context, flown: MissedFlown, since_s: float) -> float:
    """Until when the course of a missed approach counts: where the charted hold's fix is passed, else the end of it. [s]

    What is flown from there is the hold, whether enough of it is in the log to be recognised or not.
    """
    states = flown.states.between(since_s, flown.part.end_s)
    passed = [flown.part.end_s]
    for hold in context.motion.charted.holds:
        if hold.role != "missed-approach" or len(states) < _LEAST_STATES:
            continue
        apart, _ = geodesy.inverse_near(hold.latitude_rad, hold.longitude_rad, states.latitude_rad, states.longitude_rad)
        nearest = first_passage(apart)
        if nearest is not None:
            passed.append(float(states.time_s[nearest]))
    return min(passed)


def first_passage(apart_m: FloatArray) -> int | None:
    """The index at which a place is first passed, by the distances from it: come to and left again; None where it is not.

    A lap may be flown before the hold that is recognised, and its fix be passed nearer at the end of that.
    """
    for begin, end in true_runs(apart_m < _PASSED_M):
        nearest = begin + int(np.argmin(apart_m[begin:end]))
        before_m, after_m = apart_m[:nearest].max(initial=0.0), apart_m[nearest:].max(initial=0.0)
        if min(before_m, after_m) > apart_m[nearest] + _AWAY_M:
            return nearest
    return None


def intercepting(context: Context, flown: MissedFlown, states: States) -> bool:
    """Whether the log ends on the way to the line of the charted course through the fix, or through the hold it leads into.

    Closing with it all along the second half of the way, at no more than a large intercept.
    """
    charted, course = context.motion.charted, flown.charted.course_true_rad
    if course is None or flown.part.end_s < float(context.motion.states.time_s[-1]) - 1.0:
        return False
    off = wrap(states.track_rad - course)[len(states) // 2 :]
    places = [
        (hold.latitude_rad, hold.longitude_rad)
        for hold in charted.holds
        if hold.role == "missed-approach" and abs(wrap(hold.inbound_true_rad - course)) <= _SAME_COURSE_RAD
    ]
    fix = charted.fix_latitude_rad, charted.fix_longitude_rad
    _, from_fix = geodesy.inverse_near(*fix, states.latitude_rad[-1:], states.longitude_rad[-1:])
    if abs(float(wrap(from_fix[0] + math.pi - course))) < _INTERCEPT_RAD:  # the course leads to it
        places.append(fix)
    for place in places:
        distance, bearing = geodesy.inverse_near(*place, states.latitude_rad, states.longitude_rad)
        right_m = (distance * np.sin(bearing - course))[len(states) // 2 :]
        closing = (np.sign(right_m) * off < 0.0) & (np.abs(off) < _INTERCEPT_RAD)
        if closing.mean() > _MOSTLY:
            return True
    return False


def flown_direct(context: Context, flown: MissedFlown, states: States, limit_rad: float) -> str | None:
    """The hold of the missed approach that the way led straight to, after a turn to the charted side; None without one.

    A turn that begins at an altitude begins farther on the slower the climb, and the course from its end misses the fix of the
    hold: who goes direct to it arrives where the course leads.
    """
    charted_rad = flown.charted.course_true_rad
    if flown.charted.to is not None or charted_rad is None or flown.turn is None or flown.turn != flown.charted.turn:
        return None
    for hold in context.motion.charted.holds:
        _, bearing = geodesy.inverse_near(hold.latitude_rad, hold.longitude_rad, states.latitude_rad, states.longitude_rad)
        course = wrap(bearing + math.pi)
        first = departure_at_first(states, course)
        off = max(abs(departure(states, course)), abs(first) if first is not None else 0.0)
        leads = abs(float(wrap(course[0] - charted_rad))) <= _LEADS_RAD
        if hold.role == "missed-approach" and leads and off <= limit_rad:
            return hold.name
    return None


def altitude_until_s(context: Context, flown: MissedFlown) -> float:
    """Until when the altitude of the missed approach counts: a minute after it ends, or the end of the log. [s]"""
    return min(flown.part.end_s + 60.0, float(context.motion.states.time_s[-1]))


def left_after_s(states: States, course: FloatArray | float, limit_rad: float) -> float:
    """How long a course was flown before it was left; 0 if it was never joined, or flown to the end. [s]"""
    off = np.flatnonzero(np.abs(wrap(states.track_rad - course)) >= limit_rad)
    if not len(off) or off[-1] < len(states) - _LEAST_STATES:
        return 0.0
    ends = np.concatenate([[0], off, [len(states) - 1]])
    return float(np.diff(states.time_s[ends]).max())


def departure(states: States, course: FloatArray | float) -> float:
    """Median departure from a course over the second half of a stretch, after the course may be intercepted. [rad]"""
    off = wrap(states.track_rad - course)
    return median(off[len(off) // 2 :])


def departure_at_first(states: States, course: FloatArray | float) -> float | None:
    """Median departure over the first half of a way that leads direct, with no intercept; None where it is short. [rad]"""
    off = wrap(states.track_rad - course)[: len(states) // 2]
    return median(off) if len(off) >= _FIRST_S else None
