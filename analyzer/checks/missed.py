"""Checks of the missed approach: where it began, the climb before the turn, its direction, the course, and the altitude."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from analyzer.checks.below_minimum import circles_from_s, missed_point_by, missed_point_s
from analyzer.checks.check import Check
from analyzer.checks.finding import ALTITUDE_MISSING, CLOSE, INSIDE, NO_ALTITUDE, NOT_ASSESSED, OUTSIDE, Context, Finding, judge
from analyzer.checks.levels import level_stretches
from analyzer.checks.missed_flown import (
    MissedFlown,
    altitude_until_s,
    climb_hidden_s,
    course_until_s,
    course_wanted,
    departure,
    departure_at_first,
    departure_joined,
    flown_direct,
    intercepting,
    left_after_s,
    missed_flown,
    rolled_out_s,
)
from analyzer.checks.phrases import clock, degrees, miles, side_word
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM
from analyzer.procedure.approach import MissedApproach
from analyzer.vocabulary import CheckName

__all__ = ["CHECKS", "missed_altitude", "missed_climb", "missed_course", "missed_point", "missed_turn"]

_BEGUN_SD_S = 1.0  # of when a climb or turn begins, in a log without noise; an assumption
_CLIMB_S = 20.0  # after its beginning, over which the rate of climb is measured
_REACTION_S = 3.0  # of flight beyond the point before the climb: Doc 8168 II-I-4-6, tolerance of the point; from memory
_LEAST_STATES = 20
_NEVER_S = 60.0  # straight ahead for so long after a turn was due, it is not flown; common practice, no source
_TRACK_SD_RAD = 2.0 * DEG  # of a median track as the course flown, gusts and corrections included; an assumption
_AT_HOLD_M = 2.0 * NM  # distance at which a hold is reached
_HELD_M = 100.0 * FT  # FAA-S-ACS-8C IR.VI.C.S7: altitude ±100 ft
_STEP_M = 300.0 * FT  # below the charted altitude, at least, a level may be a step of the climb; no source
_LOG_ENDS = "the log ends before the turn"
_CIRCLED = "it was begun in the circle, from where the first turn is towards the runway (AIM 5-4-21 c)"
_SUBJECTS: Mapping[CheckName, str] = MappingProxyType(
    {
        "missed_point": "Where the climb of the missed approach was begun.",
        "missed_climb": "Climb of the missed approach before its first turn.",
        "missed_turn": "First turn of the missed approach.",
        "missed_course": "Course of the missed approach.",
        "missed_altitude": "Altitude of the missed approach.",
    }
)
_SOURCE = "charted; FAA-S-ACS-8C (Nov 2023), IR.VI.C: the missed approach as published"


def missed_point(context: Context) -> tuple[Finding, ...]:
    """Whether the climb began at or before the missed approach point, and no turn before it."""
    flown, minimum = missed_flown(context), context.motion.charted.minimum
    if flown is None or (minimum is not None and minimum.kind == "da"):
        return ()
    if circles_from_s(context) is not None:
        return (_not_assessed("missed_point", _CIRCLED),)
    found_by = missed_point_by(context.motion.charted)
    if found_by is None:
        return (_not_assessed("missed_point", "no missed approach point is charted, nor a time or runway to find it by"),)
    begin = _final_begins_s(context, flown)
    states = context.motion.states.between(begin, flown.part.end_s)
    point = missed_point_s(context, states)
    if point is None:
        at_end = "the log ends" if flown.part.end_s >= context.motion.states.time_s[-1] else "the course was left"
        if flown.turn_s is None:
            return (_not_assessed("missed_point", f"{at_end} before the missed approach point, which was not passed"),)
        sentence = f"The turn was begun at {clock(flown.turn_s)}, before the missed approach point was passed."
        return (_early_turn(context, flown, sentence),)
    speed = float(np.interp(flown.part.start_s, states.time_s, states.ground_speed_mps))
    late_m = (flown.part.start_s - point) * speed
    sd = math.hypot(_climb_begun_sd_s(context, flown) * speed, context.motion.position_sd_m)
    if flown.turn_s is not None and flown.turn_s < point - 2.0 * _BEGUN_SD_S:
        sentence = (
            f"The turn was begun at {clock(flown.turn_s)}, {point - flown.turn_s:.0f} s before the missed approach point."
        )
        return (_early_turn(context, flown, sentence),)
    tolerance = _REACTION_S * speed
    margin = tolerance - late_m
    # a point by time rests on all of the final leg; one by its place does not, whatever is hidden before it
    since = begin if found_by == "time" else min(point, flown.part.start_s) - _BEGUN_SD_S
    verdict, reason = judge(margin, sd, context.incomplete(since, flown.part.start_s))
    hidden = climb_hidden_s(context, flown)
    if verdict in (OUTSIDE, CLOSE) and hidden is not None and (hidden - point) * speed < tolerance:
        verdict, reason = NOT_ASSESSED, ALTITUDE_MISSING
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


def _final_begins_s(context: Context, flown: MissedFlown) -> float:
    """When the final leg begins that the missed approach follows; the missed approach itself without one. [s]"""
    finals = context.reversal.leg_spans("final")
    return finals[0][0] if finals else flown.part.start_s


def _climb_begun_sd_s(context: Context, flown: MissedFlown) -> float:
    """Standard deviation of when the climb began, which shows once it exceeds the noise of the altitude. [s]"""
    begin = flown.part.start_s
    gained = context.motion.altitude_at(min(begin + _CLIMB_S, flown.part.end_s)) - context.motion.altitude_at(begin)
    rate = gained / min(_CLIMB_S, flown.part.duration_s)
    noise = context.motion.height_noise_sd_m
    return math.hypot(_BEGUN_SD_S, noise / rate) if rate > 0.0 and math.isfinite(noise) else _CLIMB_S


def _early_turn(context: Context, flown: MissedFlown, sentence: str) -> Finding:
    return Finding(
        "missed_point", "missed", "missed", sentence, OUTSIDE, source=_SOURCE, place=context.place(flown.turn_s or 0.0)
    )


def missed_climb(context: Context) -> tuple[Finding, ...]:
    """Altitude at which the first turn began, against the one to climb to before turning."""
    flown, height = missed_flown(context), context.height
    if flown is None or flown.charted.climb_m is None or flown.turn_s is None:
        return ()
    if circles_from_s(context) is not None:
        return (_not_assessed("missed_climb", _CIRCLED),)
    if not context.motion.has_altitude:
        return (_not_assessed("missed_climb", NO_ALTITUDE),)
    climb, at = flown.charted.climb_m, context.motion.altitude_at(flown.turn_s)
    if math.isnan(at):
        return (_not_assessed("missed_climb", "the log has no altitude where the turn was begun"),)
    if _hidden(context, flown):
        return (_not_assessed("missed_climb", "the turn was begun in a gap of the log"),)
    climbed = np.abs(np.interp(flown.turn_s, flown.states.time_s, flown.states.vertical_speed_mps))
    margin, sd = at - climb, math.hypot(context.motion.lowest_sd_m(at - climb), _BEGUN_SD_S * float(climbed))
    verdict, reason = judge(margin, sd, context.incomplete(flown.part.start_s, flown.turn_s))
    side = "below" if margin < 0.0 else "above"
    against = f"{height.text(abs(margin))} {side} the {height.text(climb)} to climb to first"
    sentence = f"First turn of the missed approach begun at {height.text(at)}, at {clock(flown.turn_s)}, {against}."
    return (
        Finding(
            "missed_climb", "missed", "missed", sentence, verdict, at / height.metres, climb / height.metres, height.name,
            margin=margin / height.metres, sd=sd / height.metres, place=context.place(flown.turn_s), source=_SOURCE,
            basis="altitude", reason=reason,
        ),
    )  # fmt: skip


def _hidden(context: Context, flown: MissedFlown) -> bool:
    """Whether a gap lies between the last of the final course and where the turn shows, so that it may have begun in it."""
    if flown.turn_s is None or flown.off_s is None:
        return False
    return bool(context.motion.holes_between(flown.turn_s, flown.off_s, LONG_HOLE_S))


def missed_turn(context: Context) -> tuple[Finding, ...]:
    """Direction of the first turn against the charted one, or straight ahead where no turn is charted."""
    flown = missed_flown(context)
    if flown is None:
        return ()
    if circles_from_s(context) is not None:
        return (_not_assessed("missed_turn", _CIRCLED),)
    wanted, turned = flown.charted.turn, flown.turn
    if turned is None:
        if wanted is None:
            return ()
        never = _never_turned(context, flown, wanted)
        if never is not None:
            return (never,)
        at_end = flown.part.end_s >= context.motion.states.time_s[-1]
        return (_not_assessed("missed_turn", _LOG_ENDS if at_end else "no turn was flown before the missed approach ended"),)
    words = side_word(wanted) if wanted is not None else "straight ahead"
    agrees = turned == wanted
    sentence = f"Missed approach turned {side_word(turned)}, {'as charted' if agrees else f'but charted {words}'}."
    return (
        Finding(
            "missed_turn", "missed", "missed", sentence, INSIDE if agrees else OUTSIDE, side_word(turned), words,
            source=_SOURCE, place=context.place(flown.turn_s or flown.part.start_s),
        ),
    )  # fmt: skip


def _never_turned(context: Context, flown: MissedFlown, wanted: int) -> Finding | None:
    """The finding on a charted turn that was not begun long after it was due; None where it was not due for long.

    It is due once the altitude to climb to first is reached, and the missed approach point passed.
    """
    due, states = [flown.part.start_s], flown.states
    since = ["the climb began"]
    point = missed_point_s(context, context.motion.states.between(_final_begins_s(context, flown), flown.part.end_s))
    minimum = context.motion.charted.minimum
    if minimum is None or minimum.kind == "mda":
        if point is None:
            return None
        due, since = [*due, point], [*since, "the missed approach point was passed"]
    if flown.charted.climb_m is not None:
        climbed = np.flatnonzero(states.altitude_m >= flown.charted.climb_m)
        if not len(climbed):
            return None
        due = [*due, float(states.time_s[climbed[0]])]
        since = [*since, f"{context.height.text(flown.charted.climb_m)} was passed"]
    due_s = max(due)
    on = states.between(due_s, flown.part.end_s)
    if len(on) < 2 or on.time_s[-1] - due_s < _NEVER_S or context.incomplete(due_s, flown.part.end_s):
        return None
    seconds = float(on.time_s[-1]) - due_s
    far = miles(float(np.trapezoid(on.ground_speed_mps, on.time_s)), 1)
    sentence = (
        f"The charted {side_word(wanted)} turn of the missed approach was not flown: straight ahead for {far}, "
        f"{seconds:.0f} s, after {since[due.index(due_s)]} at {clock(due_s)}."
    )
    return Finding(
        "missed_turn", "missed", "missed", sentence, OUTSIDE, "straight ahead", side_word(wanted), source=_SOURCE,
        place=context.place(due_s),
    )  # fmt: skip


def missed_course(context: Context) -> tuple[Finding, ...]:
    """The course flown after the turn, or straight ahead, against the charted course or the direct course to the fix."""
    flown, limit = missed_flown(context), context.standard["heading"]
    if flown is None:
        return ()
    turned = rolled_out_s(flown)
    since = turned if turned is not None else flown.part.start_s
    states = flown.states.between(since, course_until_s(context, flown, since))
    if flown.charted.turn is not None and turned is None:
        return (_not_assessed("missed_course", _no_course(context, flown)),)
    if len(states) < _LEAST_STATES:
        return (_not_assessed("missed_course", "the log holds too little of it after the turn"),)
    wanted = course_wanted(context, flown, states)
    if wanted is None:
        return ()
    course, words = wanted
    limit_rad = limit.value * DEG
    off, while_words = departure(states, course), "for most of the way"
    early = departure_at_first(states, course) if flown.charted.to is not None else None
    if early is not None and abs(early) > limit_rad >= abs(off):
        off, while_words = early, "for the first half of the way"
    elif abs(off) > limit_rad and _breaks_off(context, flown):
        joined = departure_joined(context, flown, states, limit_rad)
        if joined is None:
            return (_not_assessed("missed_course", "another approach was begun before its course was joined"),)
        off = joined
    elif abs(off) > limit_rad and intercepting(context, flown, states):
        return (_not_assessed("missed_course", "the log ends while the course is being intercepted"),)
    margin = limit_rad - abs(off)
    verdict, reason = judge(margin, _TRACK_SD_RAD, context.incomplete(flown.part.start_s, flown.part.end_s))
    direct = flown_direct(context, flown, states, limit_rad) if verdict == OUTSIDE else None
    if direct is not None:
        verdict, reason = NOT_ASSESSED, f"it was flown direct to {direct}, where the course leads"
    side = "right" if off > 0.0 else "left"
    sentence = f"Missed approach {words}: {degrees(abs(off), 0)} {side} of it {while_words}; limit {limit.value:.0f}°."
    return (
        Finding(
            "missed_course", "missed", "missed", sentence, verdict, abs(off) / DEG, limit.value, "deg",
            margin=margin / DEG, sd=_TRACK_SD_RAD / DEG, place=context.place(float(states.time_s[len(states) // 2])),
            source=f"{_SOURCE}; {limit.source}", reason=reason,
            details={
                "left_after_s": left_after_s(states, course, limit_rad),
                **({"off_final_course_deg": off / DEG} if flown.charted.turn is None else {}),
            },
        ),
    )  # fmt: skip


def _no_course(context: Context, flown: MissedFlown) -> str:
    """Why there is no course after the charted turn."""
    if flown.turn is not None:
        return "the log ends in the turn"
    at_end = flown.part.end_s >= context.motion.states.time_s[-1]
    never = flown.charted.turn is not None and _never_turned(context, flown, flown.charted.turn) is not None
    return _LOG_ENDS if at_end and not never else "the charted turn was not flown"


def _breaks_off(context: Context, flown: MissedFlown) -> bool:
    """Whether the missed approach ends with another approach, rather than a hold or the end of the log."""
    charted, end = context.motion.charted, flown.part.end_s
    if end >= float(context.motion.states.time_s[-1]) - 1.0:
        return False
    latitude, longitude = context.motion.position_at(end)
    apart = (geodesy.inverse(latitude, longitude, hold.latitude_rad, hold.longitude_rad)[0] for hold in charted.holds)
    return all(float(distance) > _AT_HOLD_M for distance in apart)


def missed_altitude(context: Context) -> tuple[Finding, ...]:
    """Altitude at which the missed approach levelled off, against the charted one, ±100 ft."""
    flown, height = missed_flown(context), context.height
    if flown is None or flown.charted.altitude_m is None:
        return ()
    if not context.motion.has_altitude:
        return (_not_assessed("missed_altitude", NO_ALTITUDE),)
    wanted, end = flown.charted.altitude_m, altitude_until_s(context, flown)
    states = context.motion.states.between(flown.part.start_s, end)
    levels = level_stretches(states)
    highest = float(np.nanmax(states.altitude_m))
    if not levels:
        if highest < wanted - _HELD_M:
            return (_not_assessed("missed_altitude", "the log, or the missed approach, ends during the climb"),)
        at, time = highest, float(states.time_s[int(np.nanargmax(states.altitude_m))])
    else:
        # a level well below it, or at the altitude to climb to first, may be a step of the climb; one nearer to it, or above,
        # was not, whatever came after
        level = next((level for level in levels if _meant_for(level.altitude_m, flown.charted, wanted)), None) or min(
            levels, key=lambda level: abs(level.altitude_m - wanted)
        )
        at, time = level.altitude_m, float(level.states.time_s[0])
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


def _meant_for(level_m: float, charted: MissedApproach, wanted_m: float) -> bool:
    """Whether a level is meant for the altitude of a missed approach, if badly, and is no step of the climb to it."""
    at_first = charted.climb_m is not None and abs(level_m - charted.climb_m) < min(_HELD_M, abs(level_m - wanted_m))
    return level_m > wanted_m - _HELD_M or (level_m > wanted_m - _STEP_M and not at_first)


def _not_assessed(check: CheckName, reason: str) -> Finding:
    return Finding(check, "missed", "missed", _SUBJECTS[check], NOT_ASSESSED, source=_SOURCE, reason=reason)


CHECKS = (
    Check(
        "missed_point",
        missed_point,
        "Where the climb of the missed approach was begun, and whether a turn came before the missed approach point.",
        "The missed approach point: its fix, or the distance flown in its charted time, else the threshold. With a decision "
        "altitude, where that is reached, which the minimum altitude check judges.",
        weight=5.0,
        all_lost_by={"NM": 0.5},
    ),
    Check(
        "missed_climb",
        missed_climb,
        "Altitude at which the first turn of the missed approach was begun, against the one to climb to on the final course.",
        "The last instant with wings level on the final course, within 5° of it, before it was left by 20°.",
        weight=5.0,
        all_lost_by={"ft": 200.0},
    ),
    Check(
        "missed_turn",
        missed_turn,
        "Direction of the first turn of the missed approach, or that it was not flown.",
        "As above; not flown where it is not begun within 60 s of the charted climb and the missed approach point.",
        weight=10.0,
        in_words=True,
    ),
    Check(
        "missed_course",
        missed_course,
        "Track of the missed approach after its turn against the charted course, or the way to its fix.",
        "Median over the second half of the way to the fix of its hold, as the course may be intercepted at first; of each "
        "half of a way that leads direct.",
        limits={"heading": ("deg",)},
        weight=5.0,
        all_lost_by={"deg": 15.0},
    ),
    Check(
        "missed_altitude",
        missed_altitude,
        "Altitude at which the missed approach was levelled off, against the charted one.",
        "Median of the first level not below it by more than 300 ft, unless that is the altitude to climb to first; else of "
        "the nearest, up to a minute beyond the missed approach; ±100 ft.",
        weight=5.0,
        all_lost_by={"ft": 200.0},
    ),
)
