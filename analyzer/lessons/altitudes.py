"""Lessons on altitude: descents begun too early, where to level off, and where the path to the runway begins."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.below_minimum import LEVEL_MPS, angle_to_runway, final_states
from analyzer.checks.finding import OUTSIDE, Context, Finding, Lesson
from analyzer.checks.go_around import loss_m
from analyzer.checks.phrases import clock, knots, miles, part_where
from analyzer.lessons.descents import (
    A_TENTH,
    NORMAL_MPS,
    Undershoot,
    bottom_s,
    level_off_lead_m,
    rate_words,
    undershoot,
    wait_until_established,
)
from analyzer.lessons.possible import fact_or_possible
from analyzer.motion.states import States
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FPM, FT, NM
from analyzer.procedure.approach import ChartedFix, Minimum

__all__ = ["learn_ceiling", "learn_floor", "learn_minimum", "learn_step_down_fix"]

_PATH_RAD = 3.0 * DEG
_CROSSING_M = 50.0 * FT
_WENT_ON_M = 100.0 * FT  # farther below a minimum, the descent continued through it
_LEVEL_AT_M = 250.0 * FT  # above a minimum, at most, where it is held
_NEARLY_SHARE = 0.5
_PASSING_S = 15.0  # over which the rate of descent at a decision altitude is measured


def learn_floor(context: Context, finding: Finding) -> Lesson | None:
    """When the descent below the minimum of a leg began, and how much too early, or where to level off."""
    place = finding.place
    if place is None or not isinstance(finding.limit, float) or not _surely_low(finding):
        return None
    floor = finding.limit * context.height.metres
    low = undershoot(context, place.time_s, floor)
    if low is None:
        without_descent = {"hold": _climb_on, "arrival": _join_higher}.get(finding.leg)
        return without_descent(context, finding, floor) if without_descent is not None else None
    goes_on = _sinks_on(context, finding)
    if goes_on:  # the leg ended in the descent, of which its lowest point shows the beginning only
        low = undershoot(context, bottom_s(context, place.time_s), floor) or low
    early = finding.leg in ("outbound", "reversal") and (goes_on or _below_m(context, finding) > _WENT_ON_M)
    early = early and low.begun_s is not None and _to_the_next(context, finding, low.begun_s, floor)
    established = context.reversal.established_after(low.begun_s) if low.begun_s is not None else None
    if early and low.begun_s is not None and established is not None and low.begun_s < established and not low.sagged:
        cause = (
            f"The descent {fact_or_possible(finding, 'was', 'may have been')} begun at {clock(low.begun_s)}"
            f"{_where(context, low.begun_s)}, "
            f"{established - low.begun_s:.0f} s before being established inbound."
        )
        return Lesson(cause, wait_until_established(context, established))
    before_fix = _before_the_fix(context, finding, low, floor)
    if before_fix is not None:
        return before_fix
    if low.sagged:
        minimum = context.height.text(floor)
        return Lesson(_sagged(finding), f"Hold {minimum} or higher; add power and climb as soon as it is below.")
    return Lesson(_descent_words(context, low, finding, "the minimum"), _level_off(context, low, floor))


def _before_the_fix(context: Context, finding: Finding, low: Undershoot, floor: float) -> Lesson | None:
    """The lesson of a descent to the outbound altitude that was begun on the arrival; None where it was none."""
    outbound, passage = context.motion.charted.floors_m.get("outbound"), context.reversal.passage("outbound")
    if finding.leg != "arrival" or low.begun_s is None or low.sagged or outbound is None or passage is None:
        return None
    down_to_it = floor - _below_m(context, finding) < outbound + _NEARLY_SHARE * (floor - outbound)
    if outbound >= floor or not down_to_it or low.begun_s >= passage.time_s:
        return None
    fix = context.motion.charted.procedure.fix.name
    cause = (
        f"The descent to the outbound altitude {fact_or_possible(finding, 'was', 'may have been')} begun at "
        f"{clock(low.begun_s)}, {passage.time_s - low.begun_s:.0f} s before {fix} was passed."
    )
    return Lesson(cause, f"Hold {context.height.text(floor)} or higher until past {fix} and outbound.")


def _to_the_next(context: Context, finding: Finding, begun_s: float, floor: float) -> bool:
    """Whether a descent led to the altitude of the next leg: from the level of this one, or nearly down to that of the next.

    One from higher up that was levelled off in between is the descent of this leg, and went too far.
    """
    after = context.motion.charted.floors_m.get("inbound")
    lowest = floor - _below_m(context, finding)
    down_to_it = after is not None and lowest < after + _NEARLY_SHARE * (floor - after)
    return context.motion.altitude_at(begun_s) - floor <= _LEVEL_AT_M or down_to_it


def _climb_on(context: Context, finding: Finding, floor: float) -> Lesson:
    """How much more to climb, for a hold entered below its minimum without a descent."""
    text = context.height.text
    return Lesson(
        "There was no descent: the climb into the hold "
        f"{fact_or_possible(finding, 'was', 'may have been')} stopped below its minimum.",
        f"Continue the climb to {text(floor)}, {text(_below_m(context, finding))} more.",
    )


def _join_higher(context: Context, finding: Finding, floor: float) -> Lesson:
    """Where to begin an arrival that was below its minimum from the first of the log on."""
    was = fact_or_possible(finding, "was", "may have been")
    return Lesson(
        f"There was no descent: the flight {was} below the minimum of the arrival from its beginning.",
        f"Join the arrival at {context.height.text(floor)} or higher.",
    )


def _sagged(finding: Finding) -> str:
    """That level flight drifted down."""
    sank = fact_or_possible(finding, "sank", "may have sunk")
    return f"The aircraft {sank} below the minimum in level flight; no descent was begun."


def _surely_low(finding: Finding) -> bool:
    """Whether a lowest altitude is below its limit by more than one standard deviation."""
    return finding.margin is not None and finding.margin < -(finding.sd or 0.0)


def _below_m(context: Context, finding: Finding) -> float:
    return -(finding.margin or 0.0) * context.height.metres


def _where(context: Context, time_s: float) -> str:
    part = context.reversal.part_at(time_s)
    return f" {part_where(part.name)}" if part is not None else ""


def _descent_words(context: Context, low: Undershoot, finding: Finding, what: str) -> str | None:
    """Which descent went below an altitude, and whether it was levelled off too low or not at all."""
    if low.begun_s is None:
        return None
    begun = f"The descent begun at {clock(low.begun_s)}{_where(context, low.begun_s)} ({rate_words(low.rate_mps)})"
    went_on = _below_m(context, finding) > _WENT_ON_M or _sinks_on(context, finding)
    if went_on:
        return f"{begun} {fact_or_possible(finding, 'continued', 'may have continued')} through {what}."
    return f"{begun} {fact_or_possible(finding, 'was', 'may have been')} levelled off too low."


def _sinks_on(context: Context, finding: Finding) -> bool:
    """Whether the lowest of a leg, or before a fix, is where it ended and the descent did not."""
    states, place = context.motion.states, finding.place
    return place is not None and float(np.interp(place.time_s, states.time_s, states.vertical_speed_mps)) <= -LEVEL_MPS


def _level_off(context: Context, low: Undershoot, level_m: float) -> str:
    text, lead = context.height.text, level_off_lead_m(min(low.rate_mps, NORMAL_MPS))
    if low.rate_mps > NORMAL_MPS:
        rate = rate_words(NORMAL_MPS)
        return (
            f"Descend at {rate} at most, and begin to level off {text(lead)} above it, at {text(level_m + lead)} ({A_TENTH})."
        )
    return f"At that rate begin to level off {text(lead)} above it, at {text(level_m + lead)} ({A_TENTH})."


def learn_ceiling(context: Context, finding: Finding) -> Lesson | None:
    """The rates of descent flown and needed to a fix with a maximum, and advice if the needed one is normal."""
    text, metres = context.height.text, context.height.metres
    place, established, limit = finding.place, context.reversal.established_s, finding.limit
    fix = next((one for one in context.motion.charted.fixes if one.name == finding.fix), None)
    if fix is None or place is None or established is None or not isinstance(limit, float):
        return None
    if not isinstance(finding.measured, float) or finding.measured <= limit or place.time_s - established < 10.0:
        return None
    height, seconds = context.motion.altitude_at(established), place.time_s - established
    if math.isnan(height):
        return None
    needed, flown = (height - limit * metres) / seconds, (height - finding.measured * metres) / seconds
    limit_name = "mandatory altitude" if fix.minimum_m == fix.maximum_m else "maximum"
    cause = f"From {text(height)} when established, {rate_words(flown)} was flown in the {seconds:.0f} s to {fix.name}"
    down = f"escend at a normal rate to {text(limit * metres)} and level off before {fix.name}."
    fix_before = _last_higher_fix(context, fix, limit * metres)
    if fix_before is not None:
        return Lesson(f"{cause}.", f"Once {fix_before} is passed, d{down}")
    cause = f"{cause}; its {limit_name} requires {rate_words(needed)}."
    return Lesson(cause, None if needed > NORMAL_MPS else f"D{down}")


def _last_higher_fix(context: Context, fix: ChartedFix, level_m: float) -> str | None:
    """The last fix before another one whose minimum is above a level; None without one."""
    charted = context.motion.charted
    inbound = charted.floors_m.get("inbound", 0.0)
    minimums = [(one.along_m, one.minimum_m or 0.0, one.name) for one in charted.fixes]
    minimums.append((0.0, inbound, charted.procedure.fix.name))
    higher = [(along, name) for along, minimum, name in minimums if along < fix.along_m and minimum > level_m]
    return max(higher)[1] if higher else None


def learn_step_down_fix(context: Context, finding: Finding) -> Lesson | None:
    """The descent that went below the minimum of a fix, and how much later it was allowed."""
    text, place = context.height.text, finding.place
    fix = next((one for one in context.motion.charted.fixes if one.name == finding.fix), None)
    if place is None or fix is None or not isinstance(finding.limit, float) or not _surely_low(finding):
        return None
    level = finding.limit * context.height.metres
    low = undershoot(context, place.time_s, level)
    cause = None
    if low is not None:
        cause = _sagged(finding) if low.sagged else _descent_words(context, low, finding, text(level))
    early = finding.details.get("left_before_nm")
    later = f", {early:.1f} NM later" if early is not None else ""
    return Lesson(cause, f"Level off at {text(level)} and descend only after {fix.name}{later}.")


def learn_minimum(context: Context, finding: Finding) -> Lesson | None:
    """Where to begin to level off or go around, or where the path to the runway begins."""
    minimum, states, place = context.motion.charted.minimum, final_states(context), finding.place
    # there is no lesson unless the aircraft surely went below the minimum
    if minimum is None or place is None or not len(states) or finding.verdict != OUTSIDE:
        return None
    if finding.unit == "deg" or finding.unit == "NM":
        return _path_to_runway(context, states)
    if minimum.kind == "da":
        return _go_around(context, minimum, states)
    low = undershoot(context, place.time_s, minimum.altitude_m)
    if low is None:
        return None
    if low.sagged:
        level = context.height.text(minimum.altitude_m)
        return Lesson(_sagged(finding), f"Hold {level} and correct at the first sign of sink: nothing is allowed below it.")
    return Lesson(_descent_words(context, low, finding, "the minimum"), _level_off(context, low, minimum.altitude_m))


def _go_around(context: Context, minimum: Minimum, states: States) -> Lesson:
    """When and how fast the aircraft descended through a decision altitude, and the height lost in a go-around there."""
    text, runway = context.height.text, context.motion.charted.runway
    advice = f"Begin the go-around at {text(minimum.altitude_m)}"
    below = np.flatnonzero(states.altitude_m < minimum.altitude_m)
    if not len(below):
        return Lesson(None, f"{advice}.")
    passed_s = float(states.time_s[below[0]])
    sink = -median(states.between(passed_s - _PASSING_S, passed_s).vertical_speed_mps)
    if not sink > 0.0:  # nor where the altitude is missing there
        return Lesson(None, f"{advice}.")
    before_m = float(angle_to_runway(states, runway)[1][below[0]]) if runway is not None else 0.0
    where = f", {miles(before_m, 1)} before the threshold" if before_m > 0.0 else ""
    ended = np.flatnonzero((states.time_s > passed_s) & (states.vertical_speed_mps > -LEVEL_MPS))
    went_on = f", and the descent continued for {states.time_s[ended[0]] - passed_s:.0f} s" if len(ended) else ""
    loss = loss_m(states, minimum.altitude_m)
    return Lesson(
        f"The decision altitude was passed at {clock(passed_s)} at {rate_words(sink)}{where}{went_on}.",
        f"{advice}: at that rate it loses about {text(loss)}, to {text(minimum.altitude_m - loss)}.",
    )


def _path_to_runway(context: Context, states: States) -> Lesson | None:
    """How far before the threshold a 3° path leaves the minimum, and its rate of descent."""
    text = context.height.text
    minimum, runway = context.motion.charted.minimum, context.motion.charted.runway
    if minimum is None or runway is None:
        return None
    height = minimum.altitude_m - runway.elevation_m - _CROSSING_M
    if height <= 0.0:
        return None
    point = minimum.visual_descent_point_m or height / math.tan(_PATH_RAD)
    _, before = angle_to_runway(states, runway)
    speed = float(np.median(states.ground_speed_mps))
    if point > float(np.max(before)):
        return None
    angle = math.atan2(height, point)
    return Lesson(
        None,
        f"Hold {text(minimum.altitude_m)} until {point / NM:.1f} NM before the threshold: from there a path of "
        f"{angle / DEG:.1f}° leads to it, {speed * math.tan(angle) / FPM:,.0f} ft/min at {knots(speed)} over the ground.",
    )
