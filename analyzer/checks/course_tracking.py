"""Checks of the outbound, inbound and final courses: how well they were tracked."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from analyzer.checks.below_minimum import turned_off_s, visual_from_s
from analyzer.checks.check import Check
from analyzer.checks.course_deviation import CourseDeviation, closes_in, counting, course_deviation, not_closing, tracking
from analyzer.checks.finding import CLOSE, GAP, NOT_ASSESSED, OUTSIDE, Context, Finding, judge
from analyzer.checks.limits import Limit
from analyzer.checks.phrases import clock, degrees, miles
from analyzer.frozen import dataclass
from analyzer.legs.course_left import orbiting
from analyzer.legs.course_lines import CourseLine, course_lines, flown_lines
from analyzer.legs.guidance import needle
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM, BoolArray, wrap
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import CheckName, Leg

__all__ = ["CHECKS", "final_course", "inbound_course", "outbound_course"]

_RECIPROCAL_RAD = 1.0 * DEG
_AROUND_S = 2.0  # of where the final leg begins: a gap there hides it
_LEAST_S, _LEFT_AT_ONCE = 5.0, "the aircraft turned off it as the final leg began"
_ORBIT = "an orbit was flown off it; what is measured is the rest"
_NO_PART = "it was not tracked more than a mile from the station and outside its cone of ambiguity"
_NOT_TRACKED = "it was not tracked"  # of a course that no station on the ground gives


@dataclass(frozen=True, eq=False)
class _Flown:
    """A course as flown: its check and leg, its line, the states, those that may count, and full scale where it is a distance.

    `bent` says that the leg has more lines than this one.
    """

    check: CheckName
    leg: Leg
    line: CourseLine
    states: States
    may_count: BoolArray
    full_scale_m: float | None
    limit: Limit
    bent: bool = False


def outbound_course(context: Context) -> tuple[Finding, ...]:
    """Peak and RMS deviation from the outbound course once it is tracked.

    Not in a hold, racetrack or teardrop, whose outbound leg is off the course on purpose (AIM 5-3-8, 5-4-9 a.1).
    """
    reversal, charted, limit = context.reversal, context.motion.charted, context.standard["course_deviation"]
    part = reversal.last_part("outbound")
    by_choice = reversal.flown == "base-turn" and charted.kind != "base-turn"
    if part is None or reversal.flown.startswith("hold") or by_choice:
        return ()
    if not _guided_outbound(context):
        why = "the outbound course does not pass through the station that gives guidance"
        return (_not_assessed("outbound_course", "outbound", limit, why),)
    states = context.motion.states.between(part.start_s, part.end_s)
    course_rad, scale = charted.outbound_true_rad, charted.guidance.full_scale_m
    shown = needle(states, charted, course_rad, scale)
    if not tracking(states, shown, course_rad).any() and closes_in(states, shown, course_rad):
        return (_not_assessed("outbound_course", "outbound", limit, _no_part(context)),)
    everywhere = np.ones(len(states), dtype=np.bool_)
    flown = _Flown("outbound_course", "outbound", CourseLine(course_rad), states, everywhere, scale, limit)
    finding = _judged(context, flown, context.incomplete(part.start_s, part.end_s, "outbound"))
    if reversal.flown == "base-turn" and charted.side not in (None, reversal.side) and finding.verdict in (OUTSIDE, CLOSE):
        # out on the other side is off the course: one event
        reason = "it follows from reversal side (reversal turn) and is counted there"
        finding = replace(finding, verdict=NOT_ASSESSED, reason=reason)
    return (finding,)


def inbound_course(context: Context) -> tuple[Finding, ...]:
    """Peak and RMS deviation from the inbound course, from being established to the final leg."""
    charted, part, limit = context.motion.charted, context.reversal.last_part("inbound"), context.standard["course_deviation"]
    if part is None or part.leg != "inbound":
        return ()
    settled = context.reversal.established_s
    since = settled if settled is not None else math.inf
    states = context.motion.states.between(part.start_s, part.end_s)
    stretches = [(line, states.where(along)) for line, along in flown_lines(states, charted, "inbound") if along.any()]
    incomplete = context.not_established or context.incomplete(part.start_s, part.end_s, "inbound")
    scale, bent = charted.guidance.full_scale_m, len(stretches) > 1
    return tuple(
        _judged(context, _Flown("inbound_course", "inbound", line, on, on.time_s >= since, scale, limit, bent), incomplete)
        for line, on in stretches
    )


def final_course(context: Context) -> tuple[Finding, ...]:
    """Peak and RMS deviation from the final course, until the flying is visual.

    A course tracked inbound counts as tracked on final from its start, unless full scale narrows or the course bends there.
    """
    charted, limit, reversal = context.motion.charted, context.standard["final_course"], context.reversal
    spans = reversal.leg_spans("final")
    if not spans:
        return ()
    scale = charted.guidance.full_scale_final_m
    narrows = scale is not None and scale != charted.guidance.full_scale_m
    begin, turned_off = spans[0][0], turned_off_s(context)
    if turned_off < begin + _LEAST_S:
        return (_not_assessed("final_course", "final", limit, _LEFT_AT_ONCE),)
    until = min(visual_from_s(context), turned_off)
    inbound = reversal.last_part("inbound")
    end = min(until, spans[-1][1])
    incomplete = context.incomplete(begin, end) if end > begin else None
    leg = context.motion.states.between(begin, spans[-1][1])
    stretches = [(line, leg.where(along)) for line, along in flown_lines(leg, charted, "final")]
    findings = []
    for number, (line, on) in enumerate(stretches):
        if number > 0 and not (on.time_s <= until).any():
            continue
        bends = number > 0 or not _goes_on(line, course_lines(charted, "inbound")[-1])
        hidden = context.motion.holes_between(begin - _AROUND_S, begin + _AROUND_S, LONG_HOLE_S) if number == 0 else ()
        if hidden:
            # what was flown in it may have been anything, so that the course is tracked only where that shows again
            on = on.where(on.time_s >= hidden[-1][1])
            if not tracking(on, needle(on, charted, line.course_rad, scale, line.through), line.course_rad).any():
                findings.append(_not_assessed("final_course", "final", limit, GAP))
                continue
        elif not bends and not narrows and inbound is not None and len(on):
            on = context.motion.states.between(min(inbound.start_s, begin), float(on.time_s[-1]))
        may_count = (on.time_s >= begin) & (on.time_s <= until)
        flown = _Flown("final_course", "final", line, on, may_count, scale, limit, len(stretches) > 1)
        findings.append(_judged(context, flown, incomplete))
    return tuple(findings)


def _goes_on(line: CourseLine, before: CourseLine) -> bool:
    """Whether a line is the one before it, continued."""
    return (line.course_rad, line.through) == (before.course_rad, before.through)


def _no_part(context: Context) -> str:
    """Why no part of a course counts."""
    return _NO_PART if context.motion.charted.guidance.full_scale_rad is not None else _NOT_TRACKED


def _judged(context: Context, flown: _Flown, incomplete: str | None) -> Finding:
    charted, states = context.motion.charted, flown.states
    course_rad = flown.line.course_rad
    shown = needle(states, charted, course_rad, flown.full_scale_m, flown.line.through)
    may_count = flown.may_count & counting(states, charted, shown)
    if incomplete is None and orbiting(states, course_rad)[may_count].any():
        incomplete = _ORBIT
    tracked = may_count & tracking(states, shown, course_rad)
    never = not tracked.any()
    deviation = course_deviation(states, shown, not_closing(states, shown, may_count, course_rad) if never else tracked)
    if deviation is None:
        return _not_assessed(flown.check, flown.leg, flown.limit, _no_part(context))
    if charted.guidance.full_scale_rad is None:
        return _in_miles(context, flown, deviation, incomplete, never)
    limit = flown.limit.value * charted.guidance.full_scale_rad
    sd = context.motion.position_sd_m / deviation.guidance_distance_m
    sentence = (
        f"{_begin(flown, never)}: at most {degrees(abs(deviation.peak_rad))} {_side(deviation)} "
        f"({context.height.text(abs(deviation.cross_track_m))}{_of_scale(charted, deviation)}) "
        f"{_where(context, flown, deviation)}; {degrees(deviation.rms_rad)} RMS; limit {degrees(limit)}."
    )
    return _finding(context, flown, deviation, sentence, (abs(deviation.peak_rad), limit, sd, DEG, "deg"), incomplete)


def _in_miles(context: Context, flown: _Flown, deviation: CourseDeviation, incomplete: str | None, never: bool) -> Finding:
    """The finding where the guidance shows the distance from the course."""
    scale = flown.full_scale_m or math.nan
    limit = flown.limit.value * scale
    sentence = (
        f"{_begin(flown, never)}: at most {miles(abs(deviation.cross_track_m))} {_side(deviation)} "
        f"({deviation.fraction:.0%} of full scale) {_where(context, flown, deviation)}; limit {miles(limit)}."
    )
    measure = abs(deviation.cross_track_m), limit, context.motion.position_sd_m, NM, "NM"
    return _finding(context, flown, deviation, sentence, measure, incomplete)


def _finding(
    context: Context,
    flown: _Flown,
    deviation: CourseDeviation,
    sentence: str,
    measure: tuple[float, float, float, float, str],
    incomplete: str | None,
) -> Finding:
    """The finding on a peak; `measure` is the peak, its limit and error in SI, and the size and name of the unit to report."""
    peak, limit, sd, unit, named = measure
    verdict, reason = judge(limit - peak, sd, incomplete)
    part = context.reversal.part_at(deviation.time_s)
    return Finding(
        check=flown.check,
        leg=flown.leg,
        part=part.name if part is not None else None,
        sentence=sentence,
        verdict=verdict,
        measured=peak / unit,
        limit=limit / unit,
        unit=named,
        margin=(limit - peak) / unit,
        sd=sd / unit,
        source=flown.limit.source,
        reason=reason,
        details={
            "rms_deg": deviation.rms_rad / DEG,
            "cross_track_nm": deviation.cross_track_m / NM,
            "cross_track_ft": deviation.cross_track_m / FT,
            "fraction_of_full_scale": deviation.fraction,
        },
        place=context.place(deviation.time_s),
    )


def _begin(flown: _Flown, never: bool) -> str:
    name = {"outbound_course": "Outbound course", "inbound_course": "Inbound course"}.get(flown.check, "Final course")
    to = f" to {flown.line.to}" if flown.bent and flown.line.to else ""
    return f"{name}{to}, {'never tracked' if never else 'once tracked'}"


def _side(deviation: CourseDeviation) -> str:
    return "right" if deviation.peak_rad > 0 else "left"


def _of_scale(charted: Charted, deviation: CourseDeviation) -> str:
    """The peak as a share of full scale, to continue a sentence; empty for an ADF, which has no scale."""
    return "" if charted.guidance.kind == "ndb" else f", {deviation.fraction:.0%} of full scale"


def _where(context: Context, flown: _Flown, deviation: CourseDeviation) -> str:
    """When and where the peak was: by the distance to the threshold on the final leg, else to the fix."""
    runway = context.motion.charted.runway
    if flown.leg != "final" or runway is None:
        return f"at {clock(deviation.time_s)}, {miles(deviation.distance_m, 1)} from the fix"
    here = context.motion.position_at(deviation.time_s)
    to_go, _ = geodesy.inverse(runway.latitude_rad, runway.longitude_rad, *here)
    return f"at {clock(deviation.time_s)}, {miles(float(to_go), 1)} from the threshold"


def _not_assessed(check: CheckName, leg: Leg, limit: Limit, why: str) -> Finding:
    return Finding(check, leg, None, f"Course on the {leg} leg.", NOT_ASSESSED, unit="deg", source=limit.source, reason=why)


def _guided_outbound(context: Context) -> bool:
    """Whether the outbound course is a course of the guidance: a station at the fix, or the inbound course outbound."""
    charted = context.motion.charted
    at_fix = (charted.guidance.latitude_rad, charted.guidance.longitude_rad) == (
        charted.fix_latitude_rad,
        charted.fix_longitude_rad,
    )
    return at_fix or abs(float(wrap(charted.outbound_true_rad + math.pi - charted.inbound_true_rad))) < _RECIPROCAL_RAD


_TRACKED = (
    "Tracked: from the first time within half of full scale and not closing with the course, or on it. Angle at the "
    "guidance as a share of full scale, outside the cone and the mile about a station; for GPS the distance off the course."
)
CHECKS = (
    Check(
        "outbound_course",
        outbound_course,
        "Greatest deviation from the outbound course once tracked; if it never was, wherever the track was not closing with "
        "it, unless an intercept takes most of the distance away to the end of the leg. Not in a hold, racetrack or teardrop.",
        _TRACKED,
        limits={"course_deviation": ("of full scale",)},
        weight=5.0,
        all_lost_by={"of_limit": 0.5},
    ),
    Check(
        "inbound_course",
        inbound_course,
        "Greatest deviation from the inbound course once tracked, from being established to the final leg.",
        _TRACKED,
        limits={"course_deviation": ("of full scale",)},
        weight=10.0,
        all_lost_by={"of_limit": 0.5},
    ),
    Check(
        "final_course",
        final_course,
        "Greatest deviation from the final course once tracked, until the descent to the runway, the missed approach "
        "point, or the turn that lines up with an offset runway.",
        f"{_TRACKED} Visual: below the minimum in a descent to the runway, with the runway 2° or more below.",
        limits={"final_course": ("of full scale",)},
        weight=10.0,
        all_lost_by={"of_limit": 0.5},
    ),
)
