"""Checks of the missed approach: begun at its point, climbed before its turn, turned the right way, course and altitude."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from analyzer.checks.below import final_course_rad, missed_point_s
from analyzer.checks.check import Check
from analyzer.checks.levels import level_stretches
from analyzer.checks.model import INSIDE, NOT_ASSESSED, OUTSIDE, Context, Finding, judge
from analyzer.checks.words import clock, degrees, miles, side_word
from analyzer.legs.model import Part
from analyzer.motion.model import States
from analyzer.motion.uncertainty import POSITION_SD_M
from analyzer.physics import geodesy
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FT, NM, FloatArray, bearing_text, wrap
from analyzer.procedure.approach import MissedApproach
from analyzer.vocabulary import CheckName

__all__ = ["CHECKS", "missed_altitude", "missed_climb", "missed_course", "missed_point", "missed_turn"]

_BEGUN_SD_S = 1.0  # of when a climb or turn is begun on a log without noise; an assumption
_CLIMB_S = 20.0  # after its beginning, over which a climb is steady
_REACTION_S = 3.0  # of flight beyond the point before a climb shows: Doc 8168 II-I-4-6, tolerance of the point; from memory
_TURN_RAD, _STRAIGHT_RAD = 20.0 * DEG, 5.0 * DEG  # off the final course: turned; and still on it
_LEVEL_RAD = 5.0 * DEG
_ROLLED_OUT_S = 20.0  # before the end of the leg, or after the turn, in which the course is being come to
_LEAST_STATES = 20
_TRACK_SD_RAD = 2.0 * DEG  # of a median track that stands for a course flown, gusts and corrections included; an assumption
_AT_HOLD_M, _JOINED_S = 2.0 * NM, 120.0  # from a hold: it was gone to; and time to join a course after the climb
_HELD_M = 100.0 * FT  # FAA-S-ACS-8C IR.VI.C.S7: altitude ±100 ft
_SOURCE = "charted; FAA-S-ACS-8C (Nov 2023), IR.VI.C: the missed approach as published"


@dataclass(frozen=True, eq=False)
class _Flown:
    """A missed approach as charted and flown: its part, the states from its beginning on, and where its first turn begins."""

    charted: MissedApproach
    part: Part
    states: States
    turn_s: float | None
    turn: int | None


def _flown(context: Context) -> _Flown | None:
    """The missed approach, where one is charted and was flown."""
    charted, part = context.motion.charted.missed, context.reversal.last_part("missed")
    if charted is None or part is None:
        return None
    states = context.motion.states.between(part.start_s, part.end_s)
    if len(states) < 2:
        return None
    off = wrap(states.track_rad - final_course_rad(context.motion.charted))
    turned = np.flatnonzero(np.abs(off) > _TURN_RAD)
    if not len(turned):
        return _Flown(charted, part, states, None, None)
    straight = np.flatnonzero(np.abs(off[: turned[0]]) < _STRAIGHT_RAD)
    # some seconds before the track shows it, the turn was rolled into
    on_course = int(straight[-1]) if len(straight) else 0
    level = np.flatnonzero(np.abs(states.bank_rad[: on_course + 1]) < _LEVEL_RAD)
    begun = int(level[-1]) if len(level) else on_course
    return _Flown(charted, part, states, float(states.time_s[begun]), 1 if off[turned[0]] > 0.0 else -1)


def missed_point(context: Context) -> tuple[Finding, ...]:
    """Whether the climb was begun at or before the missed approach point, and no turn before it."""
    flown, minimum = _flown(context), context.motion.charted.minimum
    if flown is None or (minimum is not None and minimum.kind == "da"):
        return ()
    if not _point_charted(context):
        return (_untold("missed_point", "no missed approach point is charted, and no time or runway to find it by"),)
    begin = context.reversal.leg_spans("final")[0][0] if context.reversal.leg_spans("final") else flown.part.start_s
    states = context.motion.states.between(begin, flown.part.end_s)
    point = missed_point_s(context, states)
    if point is None:
        at_end = "the log ends" if flown.part.end_s >= context.motion.states.time_s[-1] else "the course was left"
        if flown.turn_s is None:
            return (_untold("missed_point", f"{at_end} before the missed approach point, which was not passed"),)
        sentence = f"The turn was begun at {clock(flown.turn_s)}, before the missed approach point was passed."
        return (_early_turn(context, flown, sentence),)
    speed = float(np.interp(flown.part.start_s, states.time_s, states.ground_speed_mps))
    late_m = (flown.part.start_s - point) * speed
    sd = math.hypot(_climb_begun_sd_s(context, flown) * speed, POSITION_SD_M)
    if flown.turn_s is not None and flown.turn_s < point - 2.0 * _BEGUN_SD_S:
        sentence = (
            f"The turn was begun at {clock(flown.turn_s)}, {point - flown.turn_s:.0f} s before the missed approach point."
        )
        return (_early_turn(context, flown, sentence),)
    tolerance = _REACTION_S * speed
    margin = tolerance - late_m
    verdict, reason = judge(margin, sd, context.incomplete(begin, flown.part.start_s))
    side = "beyond" if late_m > 0.0 else "before"
    return (
        Finding(
            check="missed_point",
            leg="missed",
            part="missed",
            sentence=f"Climb begun at {clock(flown.part.start_s)}, {miles(abs(late_m))} {side} the missed approach point.",
            verdict=verdict,
            measured=late_m / NM,
            limit=0.0,
            unit="NM",
            tolerance=tolerance / NM,
            margin=margin / NM,
            sd=sd / NM,
            source=f"{_SOURCE}; {_REACTION_S:.0f} s of flight allowed to begin it",
            reason=reason,
            place=context.place(flown.part.start_s),
        ),
    )


def _point_charted(context: Context) -> bool:
    """Whether the chart says where the missed approach point is: by a fix, a time, or the threshold."""
    charted = context.motion.charted
    timed = charted.missed is not None and charted.missed.time_s is not None
    return timed or charted.runway is not None or any(fix.role == "missed-approach-point" for fix in charted.fixes)


def _climb_begun_sd_s(context: Context, flown: _Flown) -> float:
    """Standard deviation of when the climb was begun: it shows once it has come out of the noise of the heights. [s]"""
    begin = flown.part.start_s
    gained = context.motion.altitude_at(min(begin + _CLIMB_S, flown.part.end_s)) - context.motion.altitude_at(begin)
    rate = gained / min(_CLIMB_S, flown.part.duration_s)
    noise = context.motion.height_noise_sd_m
    return math.hypot(_BEGUN_SD_S, noise / rate) if rate > 0.0 and math.isfinite(noise) else _CLIMB_S


def _early_turn(context: Context, flown: _Flown, sentence: str) -> Finding:
    return Finding(
        "missed_point", "missed", "missed", sentence, OUTSIDE, source=_SOURCE, place=context.place(flown.turn_s or 0.0)
    )


def missed_climb(context: Context) -> tuple[Finding, ...]:
    """Altitude at which the first turn was begun, against the one to climb to on the final course before it."""
    flown, height = _flown(context), context.height
    if flown is None or flown.charted.climb_m is None or flown.turn_s is None:
        return ()
    if not context.motion.has_altitude:
        return (_untold("missed_climb", "the log has no altitude"),)
    climb, at = flown.charted.climb_m, context.motion.altitude_at(flown.turn_s)
    climbed = np.abs(np.interp(flown.turn_s, flown.states.time_s, flown.states.vertical_speed_mps))
    margin, sd = at - climb, math.hypot(context.motion.lowest_sd_m(at - climb), _BEGUN_SD_S * float(climbed))
    verdict, reason = judge(margin, sd, context.incomplete(flown.part.start_s, flown.turn_s))
    side = "below" if margin < 0.0 else "above"
    against = f"{height.text(abs(margin))} {side} the {height.text(climb)} to climb to before it"
    sentence = f"First turn of the missed approach begun at {height.text(at)}, at {clock(flown.turn_s)}, {against}."
    return (
        Finding(
            "missed_climb", "missed", "missed", sentence, verdict, at / height.metres, climb / height.metres, height.name,
            margin=margin / height.metres, sd=sd / height.metres, place=context.place(flown.turn_s), source=_SOURCE,
            basis="altitude", reason=reason,
        ),
    )  # fmt: skip


def missed_turn(context: Context) -> tuple[Finding, ...]:
    """Direction of the first turn against the charted one; straight ahead where none is charted."""
    flown = _flown(context)
    if flown is None:
        return ()
    wanted, turned = flown.charted.turn, flown.turn
    if turned is None:
        if wanted is None:
            return ()
        if flown.part.end_s >= context.motion.states.time_s[-1]:
            return (_untold("missed_turn", "the log ends before it was turned"),)
        return (_untold("missed_turn", "no turn was flown before the missed approach was over"),)
    words = side_word(wanted) if wanted is not None else "straight ahead"
    agrees = turned == wanted
    sentence = f"Missed approach turned {side_word(turned)}, {'as charted' if agrees else f'but charted {words}'}."
    return (
        Finding(
            "missed_turn", "missed", "missed", sentence, INSIDE if agrees else OUTSIDE, side_word(turned), words,
            source=_SOURCE, place=context.place(flown.turn_s or flown.part.start_s),
        ),
    )  # fmt: skip


def missed_course(context: Context) -> tuple[Finding, ...]:
    """The course flown after the turn, or straight ahead, against the charted course or the way to its fix."""
    flown, given = _flown(context), context.standard["heading"]
    if flown is None:
        return ()
    turned = _rolled_out_s(flown)
    states = flown.states.between(turned if turned is not None else flown.part.start_s, flown.part.end_s)
    if flown.charted.turn is not None and turned is None:
        return (_untold("missed_course", "the turn was not flown, or the log ends in it"),)
    if len(states) < _LEAST_STATES:
        return (_untold("missed_course", "too little of it is there after the turn"),)
    wanted = _wanted(context, flown, states)
    if wanted is None:
        return ()
    course, words = wanted
    limit = given.value * DEG
    departure = _departure(states, course)
    if abs(departure) > limit and _breaks_off(context, flown):
        joined = _joined_later(context, flown, limit)
        if joined is None:
            return (_untold("missed_course", "another approach was begun before its course was joined"),)
        departure = joined
    margin = limit - abs(departure)
    verdict, reason = judge(margin, _TRACK_SD_RAD, context.incomplete(flown.part.start_s, flown.part.end_s))
    side = "right" if departure > 0.0 else "left"
    sentence = (
        f"Missed approach {words}: {degrees(abs(departure), 0)} {side} of it over most of the way; limit {given.value:.0f}°."
    )
    return (
        Finding(
            "missed_course", "missed", "missed", sentence, verdict, abs(departure) / DEG, given.value, "deg",
            margin=margin / DEG, sd=_TRACK_SD_RAD / DEG, place=context.place(float(states.time_s[len(states) // 2])),
            source=f"{_SOURCE}; {given.source}", reason=reason,
        ),
    )  # fmt: skip


def _breaks_off(context: Context, flown: _Flown) -> bool:
    """Whether the missed approach ends on the way: at no hold and not with the log, for another approach was begun."""
    charted, end = context.motion.charted, flown.part.end_s
    if end >= float(context.motion.states.time_s[-1]) - 1.0:
        return False
    latitude, longitude = context.motion.position_at(end)
    apart = (geodesy.inverse(latitude, longitude, hold.latitude_rad, hold.longitude_rad)[0] for hold in charted.holds)
    return all(float(distance) > _AT_HOLD_M for distance in apart)


def _departure(states: States, course: FloatArray | float) -> float:
    """Median departure from a course over the second half of a way: what is cut towards it at first is none. [rad]"""
    off = wrap(states.track_rad - course)
    return median(off[len(off) // 2 :])


def _joined_later(context: Context, flown: _Flown, limit: float) -> float | None:
    """Departure from a course that was still being cut towards where the climb was over; None where it was not joined."""
    states = context.motion.states.between(flown.part.end_s, flown.part.end_s + _JOINED_S)
    wanted = _wanted(context, flown, states) if len(states) else None
    if wanted is None:
        return None
    off = wrap(states.track_rad - wanted[0])[-_LEAST_STATES:]
    return median(off) if bool((np.abs(off) < limit).all()) else None


def _rolled_out_s(flown: _Flown) -> float | None:
    """When the first turn of the missed approach is over: the track goes straight again. [s]"""
    if flown.turn_s is None:
        return None
    after = flown.states.between(flown.turn_s, flown.part.end_s)
    turning = np.abs(after.turn_rate_rad_s) > 1.0 * DEG
    if not turning.any():
        return float(after.time_s[0])
    first = int(np.argmax(turning))
    straight = np.flatnonzero(~turning[first:])
    return float(after.time_s[first + int(straight[0])]) if len(straight) else None


def _wanted(context: Context, flown: _Flown, states: States) -> tuple[FloatArray | float, str] | None:
    """The course to fly at each state, true, and what it is in words."""
    charted, missed = context.motion.charted, flown.charted
    if missed.to is not None:
        place = next(((h.latitude_rad, h.longitude_rad) for h in charted.holds if h.name == missed.to), None)
        place = place or next(((f.latitude_rad, f.longitude_rad) for f in charted.fixes if f.name == missed.to), None)
        if place is None and missed.to == charted.procedure.fix.name:
            place = charted.fix_latitude_rad, charted.fix_longitude_rad
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


def missed_altitude(context: Context) -> tuple[Finding, ...]:
    """Altitude at which the missed approach was levelled off, against the charted one, ±100 ft."""
    flown, height = _flown(context), context.height
    if flown is None or flown.charted.altitude_m is None:
        return ()
    if not context.motion.has_altitude:
        return (_untold("missed_altitude", "the log has no altitude"),)
    wanted, end = flown.charted.altitude_m, _until(context, flown)
    states = context.motion.states.between(flown.part.start_s, end)
    levels = level_stretches(states)
    highest = float(np.nanmax(states.altitude_m))
    if not levels:
        if highest < wanted - _HELD_M:
            return (_untold("missed_altitude", "the climb was not over where the log, or the missed approach, ends"),)
        at, time = highest, float(states.time_s[int(np.nanargmax(states.altitude_m))])
    else:
        held = min(levels, key=lambda level: abs(median(level.altitude_m) - wanted))
        at, time = median(held.altitude_m), float(held.time_s[0])
    margin, sd = _HELD_M - abs(at - wanted), context.motion.level_sd_m
    verdict, reason = judge(margin, sd, context.incomplete(flown.part.start_s, end))
    side = "below" if at < wanted else "above"
    against = f"{height.text(abs(at - wanted))} {side} the {height.text(wanted)} charted"
    sentence = f"Missed approach levelled off at {height.text(at)}, {against}."
    return (
        Finding(
            "missed_altitude", "missed", "missed", sentence, verdict, at / height.metres, wanted / height.metres, height.name,
            tolerance=_HELD_M / height.metres, margin=margin / height.metres, sd=sd / height.metres, place=context.place(time),
            source=f"{_SOURCE}; IR.VI.C.S7: altitude ±100 ft", basis="altitude", reason=reason,
        ),
    )  # fmt: skip


def _until(context: Context, flown: _Flown) -> float:
    """Until when the altitude of the missed approach counts: a minute beyond its end, or the log's. [s]"""
    return min(flown.part.end_s + 60.0, float(context.motion.states.time_s[-1]))


def _untold(check: CheckName, reason: str) -> Finding:
    return Finding(check, "missed", "missed", "Missed approach.", NOT_ASSESSED, source=_SOURCE, reason=reason)


CHECKS = (
    Check(
        "missed_point",
        missed_point,
        "Where the climb of the missed approach was begun, and whether a turn came before the missed approach point.",
        "Its fix, or the distance that its time takes at its speed, else the threshold. Of a decision altitude the point is "
        "where it is reached, which the minimum's check judges.",
        weight=5.0,
    ),
    Check(
        "missed_climb",
        missed_climb,
        "Altitude at which the first turn of the missed approach was begun, against the one to climb to on the final course.",
        "The last instant with wings level on the final course, within 5° of it, before it was left by 20°.",
        weight=5.0,
    ),
    Check(
        "missed_turn",
        missed_turn,
        "Direction of the first turn of the missed approach.",
        "As above.",
        weight=10.0,
        in_words=True,
    ),
    Check(
        "missed_course",
        missed_course,
        "Track of the missed approach after its turn against the charted course, or the way to its fix.",
        "Median over the second half of the way, for a course may be cut towards at first.",
        limits={"heading": ("deg",)},
        weight=5.0,
    ),
    Check(
        "missed_altitude",
        missed_altitude,
        "Altitude at which the missed approach was levelled off, against the charted one.",
        "Median of the level nearest to it, up to a minute beyond the missed approach; ±100 ft.",
        weight=5.0,
    ),
)
