"""The inbound course of a hold, lap by lap: whether it was joined before the fix, and how well it was tracked then.

A leg of a minute leaves little room to intercept a course and track it, so only steady flight along it counts: wings level, the
track within 15° of the course. A leg that cuts towards the course at a greater angle up to the fix is an intercept and is not
judged; neither is the inbound leg of the entry where it does not reach the course.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.course_deviation import CourseDeviation, counting, course_deviation, tracking
from analyzer.checks.finding import CLOSE, NOT_ASSESSED, OUTSIDE, Context, Finding, judge
from analyzer.checks.phrases import clock, degrees, miles
from analyzer.frozen import dataclass
from analyzer.legs.course_left import orbiting
from analyzer.legs.guidance import ESTABLISHED_TRACK_RAD, needle
from analyzer.legs.held import laps_of
from analyzer.legs.reversal import Part
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted

__all__ = ["CHECKS", "hold_course"]

_AT_FIX_M = 0.2 * NM  # a station this near to the fix is at the fix
_NEAR_FIX_M = 0.3 * NM  # closer, the angle at the fix says nothing
_LEVEL_RAD = 5.0 * DEG
_MOST_CUT_RAD = 90.0 * DEG
_LEAST_S = 15  # states are a second apart
_SMOOTHED_S = 5  # the track is averaged over this long, so that no single second decides
_TOO_SHORT = "too little of the inbound leg was flown along its course with level wings"
_INTERCEPT = "the course was still being intercepted at the fix"
_ENTRY = "the entry's inbound leg leads to the course"


@dataclass(frozen=True, eq=False)
class _Leg:
    """The inbound leg of a lap with the turn before it: its states, and which of them are flown steadily along the course.

    `joined_s` is when the aircraft was established on the course, infinite where it never was.
    """

    lap: int
    entry: bool
    joined_s: float
    states: States
    along: BoolArray
    incomplete: str | None


@dataclass(frozen=True)
class _Nearest:
    """How near a leg came to the course: an angle with its limit and error [rad], the instant [s], and the limit's source."""

    off_rad: float
    limit_rad: float
    sd_rad: float
    time_s: float
    source: str
    words: str


def hold_course(context: Context) -> tuple[Finding, ...]:
    """Deviation from the inbound course of a hold in each lap, once joined; outside where it never was before the fix."""
    if context.hold is None:
        return ()
    findings = []
    for number, lap in enumerate(laps_of(context.reversal), 1):
        leg = _leg(context, number, lap)
        findings += [_judged(context, leg)] if leg is not None else []
    return tuple(findings)


def _leg(context: Context, number: int, lap: tuple[Part, ...]) -> _Leg | None:
    """The inbound leg of a lap; None where the lap has none.

    Where the course was not joined, the turn inbound goes on to the fix.
    """
    motion, course = context.motion, context.motion.charted.inbound_true_rad
    parts = {part.name: part for part in lap}
    inbound, turn = parts.get("inbound"), parts.get("turn_inbound")
    first, last = turn or inbound, inbound or turn
    if first is None or last is None:
        return None
    states = motion.states.between(first.start_s, last.end_s)
    along = (np.abs(states.bank_rad) < _LEVEL_RAD) & (np.abs(wrap(states.track_rad - course)) <= ESTABLISHED_TRACK_RAD)
    along &= ~orbiting(states, course) & (states.distance_m > max(_NEAR_FIX_M, _cone_m(motion.charted, states)))
    entry = number == 1 and context.reversal.begins_on != "lap"
    incomplete = context.incomplete(first.start_s, last.end_s, last.name)
    return _Leg(number, entry, inbound.start_s if inbound is not None else math.inf, states, along, incomplete)


def _cone_m(charted: Charted, states: States) -> float:
    """The radius of the cone of ambiguity about the fix; zero where no station stands there. [m]"""
    if not _station_at_fix(charted) or not len(states):
        return 0.0
    height = np.nan_to_num(states.altitude_m - charted.fix_elevation_m)
    return float(np.max(geodesy.cone_radius(np.maximum(height, 0.0), charted.guidance.kind)))


def _station_at_fix(charted: Charted) -> bool:
    """Whether the needle shows the angle at the fix of the hold."""
    guidance = charted.guidance
    if guidance.full_scale_rad is None:
        return False
    fix = charted.fix_latitude_rad, charted.fix_longitude_rad
    return float(geodesy.inverse(guidance.latitude_rad, guidance.longitude_rad, *fix)[0]) < _AT_FIX_M


def _judged(context: Context, leg: _Leg) -> Finding:
    if int(leg.along.sum()) < _LEAST_S:
        return _not_assessed(context, leg, _INTERCEPT if _cut(context, leg) >= _LEAST_S else _TOO_SHORT)
    nearest = _nearest(context, leg)
    verdict, reason = judge(nearest.limit_rad - nearest.off_rad, nearest.sd_rad, leg.incomplete)
    if verdict not in (OUTSIDE, CLOSE):
        return _tracked(context, leg)
    if leg.entry:
        verdict, reason = NOT_ASSESSED, _ENTRY
    part = context.reversal.part_at(nearest.time_s)
    return Finding(
        check="hold_course",
        leg="hold",
        part=part.name if part is not None else None,
        lap=leg.lap,
        sentence=(
            f"Lap {leg.lap}: the inbound course was not joined before the fix. Nearest to it at {clock(nearest.time_s)}: "
            f"{nearest.words}; limit {degrees(nearest.limit_rad)}."
        ),
        verdict=verdict,
        measured=nearest.off_rad / DEG,
        limit=nearest.limit_rad / DEG,
        unit="deg",
        margin=(nearest.limit_rad - nearest.off_rad) / DEG,
        sd=nearest.sd_rad / DEG,
        source=nearest.source,
        reason=reason,
        place=context.place(nearest.time_s),
    )


def _cut(context: Context, leg: _Leg) -> int:
    """How long the leg cut towards the course at more than 15° with level wings. [s]"""
    off = np.abs(wrap(leg.states.track_rad - context.motion.charted.inbound_true_rad))
    level = np.abs(leg.states.bank_rad) < _LEVEL_RAD
    return int((level & (off > ESTABLISHED_TRACK_RAD) & (off < _MOST_CUT_RAD)).sum())


def _nearest(context: Context, leg: _Leg) -> _Nearest:
    """How near the leg came to the course in steady flight.

    With a station at the fix it is the needle's angle. Elsewhere the needle of a distant station, or a distance, hardly moves
    over a leg of two miles; the leg is then off the course only where it is so both in direction and as seen from the fix.
    """
    motion, charted = context.motion, context.motion.charted
    course, states = charted.inbound_true_rad, leg.states
    at_fix = np.abs(wrap(states.bearing_rad - course - math.pi))
    scale = charted.guidance.full_scale_rad
    if scale is not None and _station_at_fix(charted):
        limit = context.standard["hold_course"]
        k = _least(at_fix, leg.along)
        sd = motion.position_sd_m / float(states.distance_m[k])
        words = f"the needle {degrees(float(at_fix[k]))} off"
        return _Nearest(float(at_fix[k]), limit.value * scale, sd, float(states.time_s[k]), limit.source, words)
    limit = context.standard["heading"]
    direction = np.abs(_smoothed(np.asarray(wrap(states.track_rad - course))))
    off = np.minimum(at_fix, direction)
    k = _least(off, leg.along)
    sd = float(motion.errors(states).track_rad[k])
    words = f"the track {degrees(float(off[k]))} off its direction, and farther off it as seen from the fix"
    if at_fix[k] < direction[k]:
        words = f"{degrees(float(off[k]))} off it as seen from the fix, and the track farther off its direction"
    return _Nearest(float(off[k]), limit.value * DEG, sd, float(states.time_s[k]), limit.source, words)


def _smoothed(angle_rad: FloatArray) -> FloatArray:
    """The mean of an angle over five seconds, as far as there are that many. [rad]"""
    padded = np.pad(angle_rad, _SMOOTHED_S // 2, mode="edge")
    return np.convolve(padded, np.full(_SMOOTHED_S, 1.0 / _SMOOTHED_S), mode="valid")


def _least(off_rad: FloatArray, where: BoolArray) -> int:
    return int(np.argmin(np.where(where, off_rad, math.inf)))


def _tracked(context: Context, leg: _Leg) -> Finding:
    """The greatest deviation once the course is tracked."""
    motion, charted, limit = context.motion, context.motion.charted, context.standard["hold_course"]
    course, states, scale = charted.inbound_true_rad, leg.states, charted.guidance.full_scale_rad
    through = None if _station_at_fix(charted) else (charted.fix_latitude_rad, charted.fix_longitude_rad)
    shown = needle(states, charted, course, through=through)
    since = (states.time_s >= leg.joined_s) & counting(states, charted, shown)
    deviation = course_deviation(states, shown, since & tracking(states, shown, course))
    if deviation is None:  # still closing with the course, which is within the limit if all of it was
        deviation = course_deviation(states, shown, leg.along)
        if deviation is None or deviation.fraction > limit.value:
            return _not_assessed(context, leg, _INTERCEPT)
    if scale is not None:
        peak, most, unit, named = abs(deviation.peak_rad), limit.value * scale, DEG, "deg"
        sd = motion.position_sd_m / deviation.guidance_distance_m
        words = f"{degrees(peak)} {_side(deviation)} ({context.height.text(abs(deviation.cross_track_m))})", degrees(most)
    else:
        peak, most, unit, named = (
            abs(deviation.cross_track_m),
            limit.value * (charted.guidance.full_scale_m or math.nan),
            NM,
            "NM",
        )
        sd = motion.position_sd_m
        words = f"{miles(peak)} {_side(deviation)}", miles(most)
    verdict, reason = judge(most - peak, sd, leg.incomplete)
    part = context.reversal.part_at(deviation.time_s)
    return Finding(
        check="hold_course",
        leg="hold",
        part=part.name if part is not None else None,
        lap=leg.lap,
        sentence=(
            f"Lap {leg.lap}: inbound course, once tracked: at most {words[0]} at {clock(deviation.time_s)}, "
            f"{miles(deviation.distance_m, 1)} from the fix; limit {words[1]}."
        ),
        verdict=verdict,
        measured=peak / unit,
        limit=most / unit,
        unit=named,
        margin=(most - peak) / unit,
        sd=sd / unit,
        source=limit.source,
        reason=reason,
        details={"cross_track_ft": deviation.cross_track_m / FT, "fraction_of_full_scale": deviation.fraction},
        place=context.place(deviation.time_s),
    )


def _side(deviation: CourseDeviation) -> str:
    return "right" if deviation.peak_rad > 0.0 else "left"


def _not_assessed(context: Context, leg: _Leg, why: str) -> Finding:
    source = context.standard["hold_course"].source
    return Finding("hold_course", "hold", None, f"Lap {leg.lap}: inbound course.", NOT_ASSESSED, lap=leg.lap, unit="deg",
                   source=source, reason=leg.incomplete or why)  # fmt: skip


CHECKS = (
    Check(
        "hold_course",
        hold_course,
        "Deviation from the inbound course of a hold in each lap once tracked; where it was not joined before the fix, how "
        "near the leg came to it. Not while it is being intercepted.",
        "Along the course: wings level, the track within 15° of it, for 15 s at least, beyond 0.3 NM of the fix and outside "
        "the cone of a station there. Joined: within the limit of the needle with a station at the fix, else within the limit "
        "of a heading, in direction or as seen from the fix.",
        limits={"hold_course": ("of full scale",), "heading": ("deg",)},
        weight=5.0,
        all_lost_by={"of_limit": 0.5},
        of=("hold",),
    ),
)
