"""Lessons on the missed approach: where it begins, the climb, the direction of turn, the heading, and the level-off.

References
----------
.. [1] FAA Aeronautical Information Manual 5-4-21 b: a missed approach begun early is flown to the missed approach point before
   any turn.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.below_minimum import missed_point_s
from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.missed_flown import MissedFlown, course_wanted, missed_flown, place_wanted, rolled_out_s
from analyzer.checks.phrases import clock, degrees, knots, miles, side_word
from analyzer.legs.course_lines import final_course_rad
from analyzer.lessons.descents import A_TENTH, level_off_lead_m, rate_words
from analyzer.lessons.headings import Steered, course_words, steered
from analyzer.lessons.possible import fact_or_possible
from analyzer.motion.states import States
from analyzer.motion.wind import Wind
from analyzer.nominal.fly import Air, Turn, fly
from analyzer.physics import geodesy, turning
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FPM, FT, NM, bearing_text, circular_mean, unwrapped, wrap

__all__ = ["learn_missed_altitude", "learn_missed_climb", "learn_missed_course", "learn_missed_point", "learn_missed_turn"]

_CLIMB_S = 20.0  # after its beginning, by when a climb is steady
_CLIMBING_MPS = 150.0 * FPM
_LEAST_S = 1.0  # of climbing on, to be worth saying
_BEFORE_LEVEL_S = 60.0
_AT_THRESHOLD_M = 0.1 * NM
_OFF_HEADING_RAD = 2.0 * DEG
_WAYS, _SOONER_RAD = 6, 10.0 * DEG  # iterations of the direct course; and by how much the other turn must be shorter


def learn_missed_point(context: Context, finding: Finding) -> Lesson | None:
    """Where the missed approach point was, by distance and time; or how much too early the turn began."""
    flown = missed_flown(context)
    if flown is None:
        return None
    spans = context.reversal.leg_spans("final")
    begin = spans[0][0] if spans else flown.part.start_s
    states = context.motion.states.between(begin, flown.part.end_s)
    if len(states) < 2:
        return None
    point = missed_point_s(context, states)
    if isinstance(finding.measured, float):
        return _late_climb(context, finding, states, point) if finding.measured > 0.0 else None
    return _early_turn(context, finding, flown, states)


def _late_climb(context: Context, finding: Finding, states: States, point: float | None) -> Lesson | None:
    flown = missed_flown(context)
    if point is None or flown is None:
        return None
    late = flown.part.start_s - point
    passed = fact_or_possible(finding, "was", "may have been")
    cause = f"The missed approach point {passed} passed at {clock(point)}, {late:.0f} s before the climb was begun."
    return Lesson(cause, f"Begin the climb {_point_words(context, flown, states, point)}.")


def _point_words(context: Context, flown: MissedFlown, states: States, point: float) -> str:
    """Where the missed approach point is, in words: before the threshold, and in seconds after the final approach fix."""
    charted, missed = context.motion.charted, flown.charted
    named = charted.fix_of("missed-approach-point")
    where = [f"at {named.name}"] if named is not None else []
    if charted.runway is not None:
        place = charted.runway.latitude_rad, charted.runway.longitude_rad
        before = float(geodesy.inverse(*context.motion.position_at(point), *place)[0])
        where.append(f"{miles(before, 1)} before the threshold" if before > _AT_THRESHOLD_M else "over the threshold")
    begun = _final_begun(context)
    if begun is None:
        return ", ".join([*where, f"at {clock(point)}"])
    name, begun_s = begun
    speed = float(states.between(begun_s, point).ground_speed_mps.mean())
    timed = f"{point - begun_s:.0f} s after {name} at the {knots(speed)} flown"
    if named is None and missed.time_s is not None and missed.time_at_mps is not None:
        timed += f" ({missed.time_s:.0f} s at {knots(missed.time_at_mps)})"
    return ", ".join([*where, timed])


def _final_begun(context: Context) -> tuple[str, float] | None:
    """The fix at which the final leg begins, and when it was passed; None if it does not begin at a fix."""
    charted, spans = context.motion.charted, context.reversal.leg_spans("final")
    fix = charted.fix_of("final-approach-fix")
    if not spans or (fix is None and charted.on_field):
        return None
    return fix.name if fix is not None else charted.procedure.fix.name, spans[0][0]


def _early_turn(context: Context, finding: Finding, flown: MissedFlown, states: States) -> Lesson | None:
    """How far ahead the missed approach point was when the turn began."""
    if flown.turn_s is None:
        return None
    speed = float(np.interp(flown.turn_s, states.time_s, states.ground_speed_mps))
    to_go = _to_go_m(context, flown, states)
    if to_go is None or to_go <= 0.0 or speed <= 0.0:
        return None
    course = final_course_rad(context.motion.charted)
    return Lesson(
        f"At {clock(flown.turn_s)} the missed approach point {fact_or_possible(finding, 'was', 'may have been')} "
        f"{miles(to_go)} ahead.",
        f"Climb early if need be, but turn no earlier than the point: hold {_ahead_words(context, flown, course)} for "
        f"{to_go / speed:.0f} s more at the {knots(speed)} flown{_and_climb(context, flown, to_go / speed)}.",
    )


def _and_climb(context: Context, flown: MissedFlown, seconds: float) -> str:
    """Words on the altitude to climb to before the turn, where a turn so much later would still be below it."""
    climb, begun = flown.charted.climb_m, flown.part.start_s
    if climb is None or flown.turn_s is None:
        return ""
    at = context.motion.altitude_at(flown.turn_s)
    rate = max(0.0, _climb_rate(context, flown))
    short = climb - at - rate * min(seconds, flown.turn_s + seconds - begun)
    return f", and on until {context.height.text(climb)}" if short > 0.0 else ""


def _climb_rate(context: Context, flown: MissedFlown) -> float:
    """The mean rate of climb to the first turn, or over the first seconds if it was begun at once; NaN unless known. [m/s]"""
    begun, turn_s = flown.part.start_s, flown.turn_s if flown.turn_s is not None else flown.part.end_s
    until = min(max(turn_s, begun + _CLIMB_S), flown.part.end_s)
    return (context.motion.altitude_at(until) - context.motion.altitude_at(begun)) / (until - begun)


def _to_go_m(context: Context, flown: MissedFlown, states: States) -> float | None:
    """Distance along the final course from the beginning of the first turn to the missed approach point. [m]"""
    charted, missed = context.motion.charted, flown.charted
    point = charted.fix_of("missed-approach-point")
    place = (point.latitude_rad, point.longitude_rad) if point is not None else None
    if place is None and missed.time_s is not None and missed.time_at_mps is not None:
        begun = states.between(float(states.time_s[0]), flown.turn_s or 0.0)
        return missed.time_s * missed.time_at_mps - float(np.trapezoid(begun.ground_speed_mps, begun.time_s))
    if place is None and charted.runway is not None:
        place = charted.runway.latitude_rad, charted.runway.longitude_rad
    if place is None or flown.turn_s is None:
        return None
    distance, bearing = geodesy.inverse(*context.motion.position_at(flown.turn_s), *place)
    return float(distance) * math.cos(float(bearing) - final_course_rad(charted))


def _wind(context: Context, flown: MissedFlown) -> Wind | None:
    """The wind of the missed approach, or of the approach before it if the turns were too few to estimate it."""
    return context.motion.wind_between(flown.part.start_s, flown.part.end_s) or context.figures.wind


def _needed(context: Context, flown: MissedFlown, course_rad: float, states: States) -> Steered | None:
    return steered(course_rad, float(states.true_airspeed_mps.mean()), _wind(context, flown)) if len(states) else None


def _ahead_words(context: Context, flown: MissedFlown, course_rad: float) -> str:
    """The final course, and the heading that holds it in the climb, in words."""
    until = flown.turn_s if flown.turn_s is not None else flown.part.end_s
    return course_words(context, course_rad, _needed(context, flown, course_rad, flown.states.between(0.0, until)))


def learn_missed_climb(context: Context, finding: Finding) -> Lesson | None:
    """How much longer to climb straight ahead, at the rate of climb flown."""
    flown, text = missed_flown(context), context.height.text
    if flown is None or flown.turn_s is None or flown.charted.climb_m is None or not _short(finding):
        return None
    begun, climb = flown.part.start_s, flown.charted.climb_m
    at, rate = context.motion.altitude_at(flown.turn_s), _climb_rate(context, flown)
    ahead = _ahead_words(context, flown, final_course_rad(context.motion.charted))
    hold = f"Hold {ahead} until {text(climb)}"
    if rate < _CLIMBING_MPS:
        return Lesson(f"The climb to the turn was at {rate_words(max(rate, 0.0))}.", f"{hold}.")
    later = f", and the turn {flown.turn_s - begun:.0f} s later" if flown.turn_s > begun else ""
    seconds = (climb - at) / rate
    more = f": at that rate {seconds:.0f} s more" if seconds >= _LEAST_S else ""
    return Lesson(f"The climb was begun at {clock(begun)}, at {rate_words(rate)}{later}.", f"{hold}{more}.")


def _short(finding: Finding) -> bool:
    return finding.margin is not None and finding.margin < 0.0


def learn_missed_turn(context: Context, finding: Finding) -> Lesson | None:  # noqa: ARG001 (one signature for all)
    """The charted turn, where to begin it and to which heading, and whether the other turn is shorter."""
    flown, charted = missed_flown(context), context.motion.charted
    if flown is None:
        return None
    if flown.charted.turn is None:
        return Lesson(None, f"Climb straight ahead on {_ahead_words(context, flown, final_course_rad(charted))}.")
    way, to = _way_to(context, flown, flown.charted.turn), flown.charted.to
    climbed = f"At {context.height.text(flown.charted.climb_m)} turn" if flown.charted.climb_m is not None else "Turn"
    turn = f"{climbed} {side_word(flown.charted.turn)}"
    direct = f" direct to {to}" if to is not None else ""
    if way is None or flown.turn_s is None:
        return Lesson(None, f"{turn}{direct}.")
    track = float(np.interp(flown.turn_s, flown.states.time_s, unwrapped(flown.states.track_rad)))
    right = float(wrap(way - track)) % math.tau
    charted_rad, other_rad = (right, math.tau - right) if flown.charted.turn > 0 else (math.tau - right, right)
    cause = None
    if other_rad < charted_rad - _SOONER_RAD:
        other, right_way = side_word(-flown.charted.turn), side_word(flown.charted.turn)
        shorter = f"{degrees(other_rad, 0)} against {degrees(charted_rad, 0)}"
        cause = f"The {other} turn is the shorter one, {shorter}, but the {right_way} one is charted."
    words = course_words(context, way, _needed(context, flown, way, flown.states))
    return Lesson(cause, f"{turn}{direct}, to {words}." if to is None else f"{turn}{direct}: {words}.")


def _way_to(context: Context, flown: MissedFlown, turn: int) -> float | None:
    """The true course after a turn to a side: as charted, or direct to the fix from where the turn ends. [rad]"""
    place = place_wanted(context.motion.charted, flown.charted)
    if flown.charted.to is None or place is None:
        return flown.charted.course_true_rad
    wind, turn_s = _wind(context, flown), flown.turn_s if flown.turn_s is not None else flown.part.start_s
    after = flown.states.between(turn_s, turn_s + 60.0)
    latitude, longitude = context.motion.position_at(turn_s)
    distance, bearing = (float(one) for one in geodesy.inverse(latitude, longitude, *place))
    if wind is None or len(after) < 2:
        return bearing
    air = Air(float(after.true_airspeed_mps.mean()), wind.to_north_mps, wind.to_east_mps)
    bank = float(turning.bank_for_rate(air.true_airspeed_mps, turning.STANDARD_RATE_RADPS))
    at = distance * math.cos(bearing), distance * math.sin(bearing)
    heading, course = float(after.heading_rad[0]), bearing
    for _ in range(_WAYS):
        needed = steered(course, air.true_airspeed_mps, wind)
        if needed is None:
            return bearing
        path = fly([Turn(needed.heading_rad, turn, bank)], air, heading)
        course = math.atan2(at[1] - float(path.east_m[-1]), at[0] - float(path.north_m[-1]))
    return course


def learn_missed_course(context: Context, finding: Finding) -> Lesson | None:
    """The heading held after the turn, and the one that holds the course in the wind."""
    flown, east = missed_flown(context), context.motion.charted.variation.east_rad
    if flown is None or not isinstance(finding.limit, float):
        return None
    begin = rolled_out_s(flown)
    states = flown.states.between(begin if begin is not None else flown.part.start_s, flown.part.end_s)
    wanted = course_wanted(context, flown, states) if len(states) else None
    if wanted is None:
        return None
    courses, tracks = np.broadcast_to(wanted[0], (len(states),)), states.track_rad
    if flown.charted.to is not None and abs(float(wrap(tracks[0] - courses[0]))) > finding.limit * DEG:
        course, at = float(courses[0]), float(states.time_s[0])  # the direct course is that from the end of the turn
        bore = f"{flown.charted.to} bore {bearing_text(course - east)}"
        needed = _needed(context, flown, course, states)
        return Lesson(f"When the turn ended, at {clock(at)}, {bore}.", f"Turn to {course_words(context, course, needed)}.")
    half = states.between(float(states.time_s[len(states) // 2]), flown.part.end_s)
    course = float(courses[-1 - len(half) // 2])
    off, heading = median(wrap(tracks - courses)[-len(half) :]), circular_mean(half.heading_rad)
    needed = _needed(context, flown, course, half)
    if needed is None or abs(float(wrap(heading - needed.heading_rad))) < _OFF_HEADING_RAD:
        return Lesson(None, f"Correct {degrees(abs(off), 0)} {side_word(-1 if off > 0.0 else 1)}, and hold the course.")
    return Lesson(f"Heading {bearing_text(heading - east)} was held.", f"Hold {course_words(context, course, needed)}.")


def learn_missed_altitude(context: Context, finding: Finding) -> Lesson | None:
    """The rate of climb before the level-off, and where to begin levelling off at that rate, or how much more to climb."""
    flown, text, place = missed_flown(context), context.height.text, finding.place
    if flown is None or place is None or flown.charted.altitude_m is None or not isinstance(finding.measured, float):
        return None
    wanted, at = flown.charted.altitude_m, finding.measured * context.height.metres
    before = context.motion.states.between(flown.part.start_s, place.time_s)
    above = np.flatnonzero(before.altitude_m >= min(wanted, at - 50.0 * FT))
    ends = float(before.time_s[above[0]]) if len(above) else place.time_s
    climb = before.between(ends - _BEFORE_LEVEL_S, ends).vertical_speed_mps
    climb = climb[climb > _CLIMBING_MPS]
    if not len(climb):
        return Lesson(None, f"Continue the climb to {text(wanted)}." if at < wanted else f"Level off at {text(wanted)}.")
    rate = median(climb)
    lead = level_off_lead_m(rate)
    begin = f"begin to level off {text(lead)} below it, at {text(wanted - lead)} ({A_TENTH})."
    if at > wanted:
        return Lesson(
            f"The climb {fact_or_possible(finding, 'continued', 'may have continued')} through {text(wanted)} at "
            f"{clock(ends)}, at {rate_words(rate)}.",
            f"At that rate {begin}",
        )
    return Lesson(
        f"The climb, at {rate_words(rate)}, was stopped at {clock(ends)}.",
        f"Continue the climb to {text(wanted)}, {(wanted - at) / rate:.0f} s more at that rate; {begin}",
    )
