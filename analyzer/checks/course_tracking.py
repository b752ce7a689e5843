"""Checks of the courses: how well outbound, inbound and final were tracked."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from analyzer.checks.below_minimum import final_course_rad, visual_from_s
from analyzer.checks.check import Check
from analyzer.checks.course_deviation import CourseHeld, counting, course_held, held_off, tracking
from analyzer.checks.finding import NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.limits import Limit
from analyzer.checks.phrases import clock, degrees, feet, miles
from analyzer.legs.guidance import needle
from analyzer.motion.motion import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM, BoolArray, wrap
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import CheckName, Leg

__all__ = ["CHECKS", "final_course", "inbound_course", "outbound_course"]

_RECIPROCAL_RAD = 1.0 * DEG
_NO_PART = "none of it lies on the course, or off it without closing with it, outside the mile and the cone about the station"


@dataclass(frozen=True, eq=False)
class _Flown:
    """A course as flown: which check and leg, the states, those that may count, the full scale of guidance in distance."""

    check: CheckName
    leg: Leg
    course_rad: float
    states: States
    may_count: BoolArray
    full_scale_m: float | None
    limit: Limit


def outbound_course(context: Context) -> tuple[Finding, ...]:
    """Peak and rms deviation from the outbound course, once it is tracked, against the standard's share of full scale.

    Not of a hold, a racetrack or a teardrop, which go out off the course on purpose (AIM 5-3-8, 5-4-9 a.1).
    """
    reversal, charted, given = context.reversal, context.motion.charted, context.standard["course_deviation"]
    part = reversal.last_part("outbound")
    by_choice = reversal.flown == "base-turn" and charted.kind != "base-turn"
    if part is None or reversal.flown.startswith("hold") or by_choice:
        return ()
    if not _guided_outbound(context):
        why = "the outbound course does not pass through the station that gives guidance"
        return (_not_assessed("outbound_course", "outbound", given, why),)
    states = context.motion.states.between(part.start_s, part.end_s)
    everywhere = np.ones(len(states), dtype=np.bool_)
    scale = charted.guidance.full_scale_m
    flown = _Flown("outbound_course", "outbound", charted.outbound_true_rad, states, everywhere, scale, given)
    return (_judged(context, flown, context.incomplete(part.start_s, part.end_s, "outbound")),)


def inbound_course(context: Context) -> tuple[Finding, ...]:
    """The same from the inbound course, from established to the final leg."""
    charted, part, given = context.motion.charted, context.reversal.last_part("inbound"), context.standard["course_deviation"]
    if part is None or part.leg != "inbound":
        return ()
    states = context.motion.states.between(part.start_s, part.end_s)
    settled = context.reversal.established_s
    may_count = states.time_s >= (settled if settled is not None else math.inf)
    scale = charted.guidance.full_scale_m
    flown = _Flown("inbound_course", "inbound", charted.inbound_true_rad, states, may_count, scale, given)
    incomplete = context.not_established or context.incomplete(part.start_s, part.end_s, "inbound")
    return (_judged(context, flown, incomplete),)


def final_course(context: Context) -> tuple[Finding, ...]:
    """The same from the final course, until the flying is by eye; the standard may allow less there.

    Who tracked the course inbound tracks it on final, but where the scale narrows that is seen anew.
    """
    charted, given, reversal = context.motion.charted, context.standard["final_course"], context.reversal
    spans = reversal.leg_spans("final")
    if not spans:
        return ()
    scale = charted.guidance.full_scale_final_m
    narrows = scale is not None and scale != charted.guidance.full_scale_m
    begin, until = spans[0][0], visual_from_s(context)
    inbound = reversal.last_part("inbound")
    carried_from = begin if narrows or inbound is None else min(inbound.start_s, begin)
    states = context.motion.states.between(carried_from, spans[-1][1])
    may_count = (states.time_s >= begin) & (states.time_s <= until)
    flown = _Flown("final_course", "final", final_course_rad(charted), states, may_count, scale, given)
    end = min(until, spans[-1][1])
    return (_judged(context, flown, context.incomplete(begin, end) if end > begin else None),)


def _judged(context: Context, flown: _Flown, incomplete: str | None) -> Finding:
    charted, states = context.motion.charted, flown.states
    shown = needle(states, charted, flown.course_rad, flown.full_scale_m)
    may_count = flown.may_count & counting(states, charted, shown)
    tracked = may_count & tracking(states, shown, flown.course_rad)
    never = not tracked.any()
    held = course_held(states, shown, held_off(states, shown, may_count, flown.course_rad) if never else tracked)
    if held is None:
        return _not_assessed(flown.check, flown.leg, flown.limit, _NO_PART)
    if charted.guidance.full_scale_rad is None:
        return _in_miles(context, flown, held, incomplete, never)
    limit, sd = flown.limit.value * charted.guidance.full_scale_rad, context.motion.position_sd_m / held.guidance_distance_m
    sentence = (
        f"{_begin(flown, never)}: at most {degrees(abs(held.peak_rad))} {_side(held)} ({feet(abs(held.cross_track_m))}"
        f"{_of_scale(charted, held)}) {_where(context, flown, held)}; {degrees(held.rms_rad)} RMS; "
        f"limit {degrees(limit)}."
    )
    return _finding(context, flown, held, sentence, (abs(held.peak_rad), limit, sd, DEG, "deg"), incomplete)


def _in_miles(context: Context, flown: _Flown, held: CourseHeld, incomplete: str | None, never: bool) -> Finding:
    """The finding where the guidance shows distance from the course."""
    scale = flown.full_scale_m or math.nan
    limit = flown.limit.value * scale
    sentence = (
        f"{_begin(flown, never)}: at most {miles(abs(held.cross_track_m))} {_side(held)} ({held.fraction:.0%} of full scale) "
        f"{_where(context, flown, held)}; limit {miles(limit)}."
    )
    return _finding(
        context, flown, held, sentence, (abs(held.cross_track_m), limit, context.motion.position_sd_m, NM, "NM"), incomplete
    )


def _finding(
    context: Context,
    flown: _Flown,
    held: CourseHeld,
    sentence: str,
    measure: tuple[float, float, float, float, str],
    incomplete: str | None,
) -> Finding:
    """The finding of a peak, its limit and standard deviation, all SI, in a unit of so much with its name."""
    peak, limit, sd, unit, named = measure
    verdict, reason = judge(limit - peak, sd, incomplete)
    part = context.reversal.part_at(held.time_s)
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
            "rms_deg": held.rms_rad / DEG,
            "cross_track_nm": held.cross_track_m / NM,
            "cross_track_ft": held.cross_track_m / FT,
            "fraction_of_full_scale": held.fraction,
        },
        place=context.place(held.time_s),
    )


def _begin(flown: _Flown, never: bool) -> str:
    name = {"outbound_course": "Outbound course", "inbound_course": "Inbound course"}.get(flown.check, "Final course")
    return f"{name}, {'never tracked' if never else 'once tracked'}"


def _side(held: CourseHeld) -> str:
    return "right" if held.peak_rad > 0 else "left"


def _of_scale(charted: Charted, held: CourseHeld) -> str:
    """The peak as a share of full scale, after a comma; an ADF has no scale."""
    return "" if charted.guidance.kind == "ndb" else f", {held.fraction:.0%} of full scale"


def _where(context: Context, flown: _Flown, held: CourseHeld) -> str:
    """When and where the peak was: on the final leg by the distance to the threshold, which is what lies ahead."""
    runway = context.motion.charted.runway
    if flown.leg != "final" or runway is None:
        return f"at {clock(held.time_s)}, {miles(held.distance_m, 1)} from the fix"
    here = context.motion.position_at(held.time_s)
    to_go, _ = geodesy.inverse(runway.latitude_rad, runway.longitude_rad, *here)
    return f"at {clock(held.time_s)}, {miles(float(to_go), 1)} from the threshold"


def _not_assessed(check: CheckName, leg: Leg, given: Limit, why: str) -> Finding:
    return Finding(check, leg, None, f"Course on the {leg} leg.", NOT_ASSESSED, unit="deg", source=given.source, reason=why)


def _guided_outbound(context: Context) -> bool:
    """Whether the outbound course is a radial of the guidance: it is from the fix, and elsewhere only on the inbound course."""
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
        "it. Not in a hold, racetrack or teardrop.",
        _TRACKED,
        limits={"course_deviation": ("of full scale",)},
        weight=5.0,
    ),
    Check(
        "inbound_course",
        inbound_course,
        "Greatest deviation from the inbound course once tracked, from being established to the final leg.",
        _TRACKED,
        limits={"course_deviation": ("of full scale",)},
        weight=10.0,
    ),
    Check(
        "final_course",
        final_course,
        "Greatest deviation from the final course once tracked, until the descent to the runway, the missed approach "
        "point, or the turn that lines up with an offset runway.",
        f"{_TRACKED} Visual: below the minimum in a descent to the runway, with the runway 2° or more below.",
        limits={"final_course": ("of full scale",)},
        weight=10.0,
    ),
)
