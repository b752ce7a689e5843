"""Check of charted maximum altitudes: of a leg, and at a fix."""

from __future__ import annotations

import numpy as np

from analyzer.checks.altitudes import altitude_incomplete
from analyzer.checks.check import Check
from analyzer.checks.finding import ALTITUDE_MISSING, NO_ALTITUDE, NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.phrases import clock
from analyzer.legs.final_leg import passed_at
from analyzer.motion.reach import highest_sd_m
from analyzer.physics.units import FT
from analyzer.procedure.approach import ChartedFix
from analyzer.vocabulary import FLOWN_LEGS, Leg

__all__ = ["CHECKS", "maximum_altitude"]

_NEXT_TO_S = 1.0  # of the highest: the states of the interval between fixes that it lies in


def maximum_altitude(context: Context) -> tuple[Finding, ...]:
    """Highest altitude on each leg that has a maximum, and the altitude at each fix that has one.

    A maximum that equals the minimum is called a mandatory altitude.
    """
    charted, reversal = context.motion.charted, context.reversal
    ceilings = [(leg, charted.ceilings_m[leg]) for leg in FLOWN_LEGS if leg in charted.ceilings_m and reversal.leg_spans(leg)]
    of_legs = [_of_leg(context, leg, ceiling) for leg, ceiling in ceilings]
    return (*of_legs, *(_at_fix(context, fix, fix.maximum_m) for fix in charted.fixes if fix.maximum_m is not None))


def _passed_s(context: Context, fix: ChartedFix) -> float | None:
    """When a fix on the final course was passed while established; None if it was not. [s]"""
    established = context.reversal.established_s
    if established is None:
        return None
    states = context.motion.states.between(established, context.reversal.parts[-1].end_s)
    passed = passed_at(states, fix.latitude_rad, fix.longitude_rad, fix.course_true_rad)
    return passed if passed is not None and passed > established else None


def _limit_name(minimum_m: float | None, ceiling_m: float) -> str:
    return "mandatory altitude" if minimum_m == ceiling_m else "maximum"


def _of_leg(context: Context, leg: Leg, ceiling: float) -> Finding:
    """The finding on a leg. If it begins above the maximum, as in a descent to it, it counts once the maximum is reached."""
    tolerance, limit_name = context.standard["maximum_altitude"], _limit_name(context.motion.charted.levels_m.get(leg), ceiling)
    states = context.motion.states.within(context.reversal.leg_spans(leg))
    altitude, what = states.altitude_m, context.leg_words(leg)
    if not context.motion.has_altitude or not np.isfinite(altitude).any():
        return _not_assessed(context, leg, ceiling, limit_name, f"on {what}", None, NO_ALTITUDE)
    reached = np.flatnonzero(altitude <= ceiling)
    first = int(reached[0]) if len(reached) else int(np.nanargmin(altitude))
    counted = np.arange(len(altitude)) >= (first if altitude[0] > ceiling + tolerance.value * FT else 0)
    k = int(np.argmax(np.where(counted & np.isfinite(altitude), altitude, -np.inf)))
    return _finding(context, leg, float(altitude[k]), ceiling, float(states.time_s[k]), f"Highest on {what}", limit_name,
                    None, altitude_incomplete(context, leg))  # fmt: skip


def _at_fix(context: Context, fix: ChartedFix, ceiling: float) -> Finding:
    time, where, limit_name = _passed_s(context, fix), f"at {fix.name}", _limit_name(fix.minimum_m, ceiling)
    if time is None:
        reason = context.not_established or "it was not passed while established inbound"
        return _not_assessed(context, "final", ceiling, limit_name, where, fix.name, reason)
    part, altitude = context.reversal.part_at(time), context.motion.altitude_at(time)
    leg: Leg = part.leg if part is not None else "final"
    missing = ALTITUDE_MISSING if context.altitude_missing([(time - 1.0, time + 1.0)]) else None
    incomplete = missing or context.incomplete(time - 1.0, time + 1.0)
    if not np.isfinite(altitude):
        return _not_assessed(context, leg, ceiling, limit_name, where, fix.name, NO_ALTITUDE)
    return _finding(context, leg, altitude, ceiling, time, f"Passed {fix.name}", limit_name, fix.name, incomplete)


def _not_assessed(
    context: Context, leg: Leg, ceiling: float, limit_name: str, where: str, fix: str | None, reason: str
) -> Finding:
    height = context.height
    source = f"charted; {context.standard['maximum_altitude'].source}"
    sentence = f"{limit_name.capitalize()} of {height.text(ceiling)} {where}."
    return Finding("maximum_altitude", leg, None, sentence, NOT_ASSESSED, limit=ceiling / height.metres, unit=height.name,
                   source=source, reason=reason, fix=fix)  # fmt: skip


def _finding(
    context: Context, leg: Leg, altitude: float, ceiling: float, time: float, what: str, limit_name: str, fix: str | None,
    incomplete: str | None,
) -> Finding:  # fmt: skip
    height = context.height
    tolerance = context.standard["maximum_altitude"]
    margin, above = ceiling + tolerance.value * FT - altitude, altitude - ceiling
    sd = highest_sd_m(context.motion, context.motion.states.between(time - _NEXT_TO_S, time + _NEXT_TO_S), margin)
    verdict, reason = judge(margin, sd, incomplete)
    part = context.reversal.part_at(time)
    against = f"{height.text(abs(above))} {'above' if above > 0.5 * FT else 'below'} the {limit_name} of {height.text(ceiling)}"
    allowed = f" ({tolerance.value:.0f} ft above it allowed)" if above > 0.5 * FT else ""
    return Finding(
        check="maximum_altitude",
        leg=leg,
        part=part.name if part is not None and part.leg == leg else None,
        sentence=f"{what}: {height.text(altitude)} at {clock(time)}, {against}{allowed}.",
        verdict=verdict,
        measured=altitude / height.metres,
        limit=ceiling / height.metres,
        unit=height.name,
        tolerance=tolerance.value * FT / height.metres,
        margin=margin / height.metres,
        sd=sd / height.metres,
        source=f"charted; {tolerance.source}",
        basis="altitude",
        reason=reason,
        place=context.place(time),
        fix=fix,
    )


CHECKS = (
    Check(
        "maximum_altitude",
        maximum_altitude,
        "Greatest altitude of each leg that has a charted maximum, and the altitude at which a fix that has one was passed.",
        "A leg that begins higher than allowed counts from when its maximum was reached. A fix is passed abeam, along the "
        "inbound course, once established.",
        limits={"maximum_altitude": ("ft",)},
        weight=10.0,
        all_lost_by={"ft": 200.0},
        of=("approach", "hold"),
    ),
)
