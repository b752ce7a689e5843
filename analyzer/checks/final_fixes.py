"""Check of the step-down fixes on the final course: the minimum of each until it is passed."""

from __future__ import annotations

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.finding import ALTITUDE_MISSING, GAP, NO_ALTITUDE, NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.phrases import clock, miles
from analyzer.frozen import dataclass
from analyzer.legs.final_leg import passed_at
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.reach import could_be_lower, lowest_sd_m
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import NM
from analyzer.procedure.approach import ChartedFix

__all__ = ["CHECKS", "Stretch", "fix_stretches", "step_down"]

_CHARTED = "charted: at or above until the fix is passed (AIM 5-4-5)"
_ASSIGNED = "assigned, 14 CFR 91.123(a)"
_BEHIND_S = 1.5  # states are a second apart: a fix passed at the first of them was behind the aircraft already


@dataclass(frozen=True)
class Stretch:
    """The stretch to a charted fix: from the previous fix, or from being established, until it was passed (None if never)."""

    fix: ChartedFix
    start_s: float
    passed_s: float | None


def fix_stretches(motion: Motion, reversal: Reversal) -> tuple[Stretch, ...]:
    """The stretch to each charted fix of the final course, in order, as far as the approach was flown."""
    begin = reversal.established_s
    if begin is None:
        inbound = reversal.passage("inbound")
        begin = inbound.time_s if inbound is not None else None
    if begin is None:
        return ()
    end, stretches, times = reversal.parts[-1].end_s, [], motion.states.time_s
    for fix in motion.charted.fixes:
        # from the state before it, from where it is told when a fix was passed in the gap that hides the one before as well
        since = float(times[max(int(times.searchsorted(begin, side="right")) - 1, 0)])
        passed = passed_at(motion.states.between(since, end), fix.latitude_rad, fix.longitude_rad, fix.course_true_rad)
        stretches.append(Stretch(fix, begin, passed))
        if passed is None:
            break
        begin = max(begin, passed)
    return tuple(stretches)


def step_down(context: Context) -> tuple[Finding, ...]:
    """Lowest altitude before each charted fix with a minimum, since the previous fix or since being established."""
    findings, end = [], context.reversal.parts[-1].end_s
    for stretch in fix_stretches(context.motion, context.reversal):
        fix, passed = stretch.fix, stretch.passed_s
        before = context.motion.states.between(stretch.start_s, passed if passed is not None else end)
        if fix.minimum_m is None or fix.role == "missed-approach-point":
            continue
        if passed is not None and passed - stretch.start_s < _BEHIND_S:
            findings.append(_not_assessed(context, fix, fix.minimum_m, "it lay behind when the aircraft was established"))
        elif not len(before):
            findings.append(_not_assessed(context, fix, fix.minimum_m, GAP))
        else:
            findings.append(_finding(context, fix, fix.minimum_m, before, passed))
    return tuple(findings)


def _finding(context: Context, fix: ChartedFix, minimum_m: float, before: States, passed: float | None) -> Finding:
    height = context.height
    if not np.isfinite(before.altitude_m).any():
        return _not_assessed(context, fix, minimum_m, NO_ALTITUDE)
    logged = context.motion.logged_altitude_m(before)
    k = int(np.argmin(np.where(np.isnan(logged), np.inf, logged)))
    lowest, time = float(before.altitude_m[k]), float(before.time_s[k])
    margin = lowest - minimum_m
    span = float(before.time_s[0]), passed if passed is not None else float(before.time_s[-1])
    incomplete = context.incomplete(*span)
    if np.isnan(logged).any():
        incomplete = incomplete or ALTITUDE_MISSING
    if not could_be_lower(context.motion, [span], minimum_m):
        incomplete = None
    if passed is None:
        incomplete = incomplete or "the fix was not passed"
    sd = lowest_sd_m(context.motion, before, margin)
    verdict, reason = judge(margin, sd, incomplete)
    to_go, _ = geodesy.inverse_near(fix.latitude_rad, fix.longitude_rad, before.latitude_rad, before.longitude_rad)
    part = context.reversal.part_at(time)
    minimum_name = "the assigned altitude" if fix.assigned else "its minimum"
    against = f"{height.text(abs(margin))} {'below' if margin < 0.0 else 'above'} {minimum_name} of {height.text(minimum_m)}"
    sentence = (
        f"Before {fix.name}: lowest {height.text(lowest)} at {clock(time)}, {miles(float(to_go[k]), 1)} from it, {against}."
    )
    below = np.flatnonzero(before.altitude_m < minimum_m)
    if len(below):
        too_early = miles(float(to_go[below[0]]), 1)
        sentence = f"Before {fix.name}: lowest {height.text(lowest)} at {clock(time)}, {against}, left {too_early} too early."
    return Finding(
        check="step_down",
        leg=part.leg if part is not None else "final",
        part=part.name if part is not None else None,
        fix=fix.name,
        sentence=sentence,
        verdict=verdict,
        measured=lowest / height.metres,
        limit=minimum_m / height.metres,
        unit=height.name,
        margin=margin / height.metres,
        sd=sd / height.metres,
        source=_ASSIGNED if fix.assigned else _CHARTED,
        basis="altitude",
        reason=reason,
        details={"left_before_nm": float(to_go[below[0]]) / NM} if len(below) else {},
        place=context.place(time),
    )


def _not_assessed(context: Context, fix: ChartedFix, minimum_m: float, reason: str) -> Finding:
    height = context.height
    sentence = f"{'Assigned altitude' if fix.assigned else 'Minimum'} of {height.text(minimum_m)} before {fix.name}."
    return Finding("step_down", "final", None, sentence, NOT_ASSESSED, limit=minimum_m / height.metres, unit=height.name,
                   source=_ASSIGNED if fix.assigned else _CHARTED, basis="altitude", reason=reason, fix=fix.name)  # fmt: skip


CHECKS = (
    Check(
        "step_down",
        step_down,
        "Lowest altitude before each fix on the final course with a charted minimum, until it is passed.",
        "From the fix before it, or from being established inbound. A higher altitude that was assigned (--cleared LEG=FT) "
        "replaces the minimum of each fix that the leg leads to. The ±100 ft of a test standard does not lower a minimum.",
        weight=20.0,
        fails_outright=True,
    ),
)
