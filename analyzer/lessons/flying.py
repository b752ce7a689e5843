"""Lessons of the flying: the heading that holds a course in the wind, the descent there was time for, the speed at the fix."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.model import Context, Finding, Lesson
from analyzer.checks.words import degrees, feet, knots, miles
from analyzer.legs.model import Part
from analyzer.motion.airspeed import indicated_airspeed
from analyzer.nominal.fly import Air, Straight, fly
from analyzer.physics import wind_triangle
from analyzer.physics.units import DEG, FPM, KT, NM, bearing_text, wrap

__all__ = ["learn_course", "learn_glide", "learn_speed", "learn_step_down"]

_HEADING_TOLD_RAD = 2.0 * DEG
_HELD_M = 0.05 * NM  # what a heading that holds a course may leave it by when flown again
_ROUND_FPM = 10.0


def learn_course(context: Context, finding: Finding) -> Lesson | None:
    """The heading that holds the course in the estimated wind, against that flown, where the difference explains the drift."""
    wind, place = context.figures.wind, finding.place
    part = context.reversal.last_part("outbound" if finding.leg == "outbound" else "inbound")
    if wind is None or part is None or place is None:
        return None
    charted = context.motion.charted
    outbound = finding.leg == "outbound"
    course = charted.outbound_true_rad if outbound else charted.inbound_true_rad
    held = context.figures.outbound if outbound else context.figures.inbound
    states = context.motion.states.between(part.start_s, place.time_s)
    if held is None or len(states) < 10:
        return None
    speed = float(states.true_airspeed_mps.mean())
    needed = wind_triangle.heading_needed(course, speed, wind.from_true_rad, wind.speed_mps)
    heading, correction = float(needed.heading_rad), float(needed.correction_rad)
    flown = math.atan2(float(np.sin(states.heading_rad).mean()), float(np.cos(states.heading_rad).mean()))
    off = float(wrap(flown - heading))
    if not math.isfinite(heading) or abs(off) < max(_HEADING_TOLD_RAD, 2.0 * wind.sd_mps / speed) or off * held.peak_rad < 0.0:
        return None
    again = fly([Straight(part.duration_s)], Air(speed, wind.to_north_mps, wind.to_east_mps), heading)
    if abs(float(again.across_m(course)[-1])) > _HELD_M:
        return None
    variation = charted.variation.east_rad
    side = "right" if held.peak_rad > 0.0 else "left"
    return Lesson(
        f"In this wind the course takes heading {bearing_text(heading - variation)}, {degrees(abs(correction), 0)} into the "
        f"wind; {bearing_text(flown - variation)} was flown on average until then, so it drifted {side}.",
        f"Hold {bearing_text(heading - variation)} once on the course; flown again so, it does not leave it.",
    )


def learn_step_down(context: Context, finding: Finding) -> Lesson | None:
    """How much of the way there was for the descent after being established: seldom is it needed before."""
    established, inbound = context.reversal.first_established_s, context.reversal.part("inbound")
    floors, measured = context.motion.charted.floors_m, finding.measured
    high, low = floors.get("reversal"), floors.get("inbound")
    if finding.place is None or established is None or inbound is None or not isinstance(measured, float):
        return None
    if high is None or low is None or high <= low or inbound.duration_s <= 0.0:
        return None
    before = context.reversal.part_at(finding.place.time_s)
    if before is None or measured >= 0.0 or before.leg not in ("outbound", "reversal"):
        return None
    rate = _rounded_up((high - low) / inbound.duration_s)
    if (high - low) / rate > inbound.duration_s:
        return None
    return Lesson(
        f"The altitude was left in the {before.name.replace('_', ' ')}, {-measured:.0f} s before being established.",
        f"Wait until established: from there it was {miles(context.motion.distance_at(established), 1)} and "
        f"{inbound.duration_s:.0f} s to the fix, in which {feet(high - low)} takes {rate / FPM:.0f} ft/min.",
    )


def _rounded_up(rate_mps: float) -> float:
    return math.ceil(rate_mps / FPM / _ROUND_FPM) * _ROUND_FPM * FPM


def learn_speed(context: Context, finding: Finding) -> Lesson | None:
    """Whether the fix was passed too fast already, or where the speed was gained."""
    passage, limit, place = context.reversal.passage("outbound"), finding.limit, finding.place
    if passage is None or not isinstance(limit, float) or place is None or finding.basis != "estimate":
        return None
    states = context.motion.states.between(passage.time_s - 2.0, passage.time_s + 2.0)
    if not len(states):
        return None
    at_fix = indicated_airspeed(states.true_airspeed_mps, states.altitude_m, context.motion.track.air, context.motion.charted)
    speed = float(np.mean(at_fix))
    if not math.isfinite(speed):
        return None
    if speed / KT > limit:
        advice = f"Slow down before the fix: {speed / KT - limit:.0f} kt less than there."
        return Lesson(f"The fix was passed at {knots(speed)} indicated already.", advice)
    part = context.reversal.part_at(place.time_s)
    where = part.name.replace("_", " ") if part is not None else "reversal"
    climb = float(context.motion.states.between(place.time_s - 10.0, place.time_s).vertical_speed_mps.mean())
    falling = f", descending at {-climb / FPM:.0f} ft/min" if climb < -300.0 * FPM else ""
    return Lesson(f"The fix was passed at {knots(speed)}; it was gained by the time of the {where}{falling}.", None)


def learn_glide(context: Context, finding: Finding) -> Lesson | None:
    """The rate of descent that the glide path takes at the ground speed flown, against that flown."""
    charted, place = context.motion.charted, finding.place
    last: Part | None = context.reversal.last_part("final") or context.reversal.last_part("inbound")
    if charted.glide_path_rad is None or place is None or last is None:
        return None
    states = context.motion.states.between(place.time_s - 30.0, place.time_s)
    if len(states) < 10:
        return None
    takes = float(states.ground_speed_mps.mean()) * math.tan(charted.glide_path_rad)
    flown = -float(states.vertical_speed_mps.mean())
    too_high = finding.details.get("departure_ft", 0.0) > 0.0
    if (takes - flown) * (1.0 if too_high else -1.0) < 50.0 * FPM:
        return None
    return Lesson(
        f"At {knots(float(states.ground_speed_mps.mean()))} over the ground the path takes {takes / FPM:.0f} ft/min; in the "
        f"half minute before, {flown / FPM:.0f} ft/min were flown.",
        None,
    )
