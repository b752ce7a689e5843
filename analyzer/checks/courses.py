"""Checks of the courses: how well outbound and inbound were held, and how the inbound course was intercepted."""

from __future__ import annotations

import math
from typing import Literal

from analyzer.checks.check import Check
from analyzer.checks.course import CourseHeld
from analyzer.checks.model import NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.words import clock, degrees, feet, miles
from analyzer.motion.uncertainty import POSITION_SD_M
from analyzer.physics.units import DEG, FT, NM, wrap
from analyzer.vocabulary import CheckName, Leg

__all__ = ["CHECKS", "inbound_course", "intercept", "outbound_course"]

_RECIPROCAL_RAD = 1.0 * DEG


def outbound_course(context: Context) -> tuple[Finding, ...]:
    """Peak and rms deviation from the outbound course, against the standard's share of full scale; not in a hold."""
    if context.reversal.flown.startswith("hold"):
        return ()  # every entry and every circuit goes out beside the course on purpose (AIM 5-3-8)
    return _course(context, "outbound", context.figures.outbound)


def inbound_course(context: Context) -> tuple[Finding, ...]:
    """The same from the inbound course, from established to the fix."""
    return _course(context, "inbound", context.figures.inbound)


def _course(context: Context, leg: Literal["outbound", "inbound"], held: CourseHeld | None) -> tuple[Finding, ...]:
    part = context.reversal.last_part(leg)
    if part is None:
        return ()
    given = context.standard["course_deviation"]
    check: CheckName = "outbound_course" if leg == "outbound" else "inbound_course"
    guidance = context.motion.charted.guidance
    if held is None:
        near = "within 5° of the course" + (", or beside it without closing with it" if leg == "outbound" else "")
        why = f"no part of it lies {near}, beyond 1 NM of the fix and outside the cone of ambiguity"
        sentence = f"Course {leg}."
        return (Finding(check, leg, leg, sentence, NOT_ASSESSED, unit="deg", source=given.source, reason=why),)
    if leg == "outbound" and not _guided_outbound(context):
        why = "the outbound course does not lead through the position that guidance comes from"
        return (Finding(check, leg, leg, "Course outbound.", NOT_ASSESSED, unit="deg", source=given.source, reason=why),)
    sd = POSITION_SD_M / held.guidance_distance_m
    if guidance.full_scale_rad is not None:
        limit = given.value * guidance.full_scale_rad
    else:
        # guidance in distance: the same share of full scale, as the angle that it is at that place
        limit = math.asin(min(1.0, given.value * (guidance.full_scale_m or math.nan) / held.guidance_distance_m))
    margin = limit - abs(held.peak_rad)
    verdict, reason = judge(margin, sd, context.incomplete(part.start_s, part.end_s, leg) or _unended(context, leg))
    side = "right" if held.peak_rad > 0 else "left"
    since = "once within 5° of it" if held.settled else "never within 5° of it"
    return (
        Finding(
            check=check,
            leg=leg,
            part=leg,
            sentence=(
                f"Course {leg}, {since}: at most {degrees(abs(held.peak_rad))} {side} "
                f"({feet(abs(held.cross_track_m))}, {held.fraction:.0%} of full scale) at {clock(held.time_s)}, "
                f"{miles(held.distance_m, 1)} from the fix; {degrees(held.rms_rad)} root mean square; limit {degrees(limit)}."
            ),
            verdict=verdict,
            measured=abs(held.peak_rad) / DEG,
            limit=limit / DEG,
            unit="deg",
            margin=margin / DEG,
            sd=sd / DEG,
            source=given.source,
            reason=reason,
            details={
                "rms_deg": held.rms_rad / DEG,
                "cross_track_nm": held.cross_track_m / NM,
                "cross_track_ft": held.cross_track_m / FT,
                "fraction_of_full_scale": held.fraction,
            },
            place=context.place(held.time_s),
        ),
    )


def _guided_outbound(context: Context) -> bool:
    """Whether the outbound course is a radial of the guidance: it is from the fix, and elsewhere only on the inbound course."""
    charted = context.motion.charted
    at_fix = (charted.guidance.latitude_rad, charted.guidance.longitude_rad) == (
        charted.fix_latitude_rad,
        charted.fix_longitude_rad,
    )
    return at_fix or abs(float(wrap(charted.outbound_true_rad + math.pi - charted.inbound_true_rad))) < _RECIPROCAL_RAD


def _unended(context: Context, leg: Leg) -> str | None:
    """Why the inbound course last flown is not the one to the end: another circuit began, which did not come back to it."""
    return context.not_established if leg == "inbound" else None


def intercept(context: Context) -> tuple[Finding, ...]:
    """How far the track went beyond the inbound course, and how far from the fix the aircraft was established."""
    figures, given = context.figures, context.standard["overshoot"]
    if context.reversal.part("reversal_turn") is None:
        return ()
    if figures.overshoot_m is None or figures.overshoot_time_s is None or figures.established_distance_m is None:
        reason = context.not_established or "too little of it is there"
        sentence = "Intercept of the inbound course."
        return (
            Finding(
                "intercept", "reversal", "intercept", sentence, NOT_ASSESSED, unit="NM", source=given.source, reason=reason
            ),
        )
    margin, sd = given.value * NM - figures.overshoot_m, POSITION_SD_M
    untold = (context.not_established, *(context.incomplete(*span) for span in context.reversal.home_spans))
    verdict, reason_text = judge(margin, sd, next((why for why in untold if why is not None), None))
    part = context.reversal.part_at(figures.overshoot_time_s)
    past = f"overshot by {miles(figures.overshoot_m)}" if figures.overshoot_m > 0.02 * NM else "not overshot"
    return (
        Finding(
            check="intercept",
            leg="reversal",
            part=part.name if part is not None else None,
            sentence=f"Inbound course {past}; established {miles(figures.established_distance_m, 1)} from the fix.",
            verdict=verdict,
            measured=figures.overshoot_m / NM,
            limit=given.value,
            unit="NM",
            margin=margin / NM,
            sd=sd / NM,
            source=given.source,
            reason=reason_text,
            details={"established_distance_nm": figures.established_distance_m / NM},
            place=context.place(figures.overshoot_time_s),
        ),
    )


CHECKS = (
    Check(
        "outbound_course",
        outbound_course,
        "Greatest deviation from the outbound course, beyond 1 NM of the fix and outside the cone of ambiguity, from the "
        "first time within 5° of it; where it was never so near, wherever the track did not cut back to it by 3° or more.",
        "Angle at the guidance between the course and the aircraft, as a share of full scale; for GPS the distance off the"
        " course.",
        limits={"course_deviation": ("of full scale",)},
        weight=5.0,
    ),
    Check(
        "inbound_course",
        inbound_course,
        "The same from the inbound course, from established to the fix.",
        "As outbound. Established: within 5° of the course as seen from the fix and tracking within 15° of it.",
        limits={"course_deviation": ("of full scale",)},
        weight=10.0,
    ),
    Check(
        "intercept",
        intercept,
        "How far the track went beyond the inbound course, and how far from the fix it was established.",
        "Greatest cross-track beyond the course, on the far side from where the turn began; in a hold, of all circuits.",
        limits={"overshoot": ("NM",)},
        weight=5.0,
    ),
)
