"""Check of the minimum of the final leg: a minimum descent altitude, or a decision altitude."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.below_minimum import (
    LEAST_ANGLE_RAD,
    angle_to_runway,
    begins_below,
    circles_from_s,
    left_minimum_s,
    level_below,
    logged_finally,
    missed_point_by,
    missed_point_s,
)
from analyzer.checks.check import Check
from analyzer.checks.finding import (
    BREAKS_OFF,
    CLOSE,
    INSIDE,
    NO_ALTITUDE,
    NOT_ASSESSED,
    OUTSIDE,
    Context,
    Finding,
    judge,
)
from analyzer.checks.go_around import loss_m
from analyzer.checks.levels import level_stretches
from analyzer.checks.limits import Limit
from analyzer.checks.phrases import clock, degrees, miles
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.reach import could_be_lower, lowest_sd_m
from analyzer.motion.states import States
from analyzer.physics.units import DEG, FT, NM
from analyzer.procedure.approach import Minimum, Runway

__all__ = ["CHECKS", "minimum_altitude"]

_LEVEL_AT_M = 300.0 * FT  # a level farther above a minimum was not flown because of it
_AT_POINT_S = 3.0  # a climb from so soon after the missed approach point was begun at it: Doc 8168 II-I-4-6, from memory
_PULLED_UP_S = 15.0  # after the lowest point, by when a climb has begun
_CLIMB_M = 200.0 * FT
_STEEP_RAD = 6.0 * DEG  # angle of the runway below where the minimum was left; for information
_SIGHT = "with the runway in sight the aircraft may descend below it, and a log does not show what was in sight"
_LEFT = (
    "14 CFR 91.175(c)(1): from where a descent to landing can be made at a normal rate; less than 2° is none by common practice"
)
_VDP = "AIM 5-4-5 h: no descent below the minimum before the visual descent point"


def minimum_altitude(context: Context) -> tuple[Finding, ...]:
    """What was flown below the minimum of the final leg, and how that was left."""
    minimum, states = context.motion.charted.minimum, logged_finally(context)
    if minimum is None or not len(states):
        return ()
    if not context.motion.has_altitude or not np.isfinite(states.altitude_m).any():
        return (_not_assessed(context, minimum, NO_ALTITUDE),)
    if begins_below(context, minimum, states):
        return (_not_assessed(context, minimum, "the log begins below the minimum, and does not show where it was left"),)
    if minimum.kind == "da":
        return (_decision(context, minimum, states),)
    return (_descent(context, minimum, states),)


def _descent(context: Context, minimum: Minimum, states: States) -> Finding:
    """The finding on a minimum descent altitude: level flight below it, leaving it too early, or a climb from below it.

    None of these counts beyond the missed approach point: an aircraft below the minimum there has the runway in sight, or has
    not gone around. In a circle, which lies beyond the point, they count until the descent to the runway.
    """
    point_s = missed_point_s(context, states) if circles_from_s(context) is None else None
    before = states if point_s is None else states.between(float(states.time_s[0]), point_s)
    return _worse(_level(context, minimum, before, 0.0), _ended(context, minimum, states, point_s))


def _worse(below: Finding | None, ending: Finding) -> Finding:
    """The worse of the findings on flight below a minimum, level or on the way down and back, and on how the leg ended."""
    if below is None or below.verdict not in (OUTSIDE, CLOSE):
        return ending
    return below if below.verdict == OUTSIDE or ending.verdict in (INSIDE, NOT_ASSESSED) else ending


def _ended(context: Context, minimum: Minimum, states: States, point_s: float | None) -> Finding:
    """The finding on a minimum descent altitude by how the final leg ended."""
    left = left_minimum_s(states, minimum.altitude_m)
    if context.reversal.ending == "climbed away":
        lowest_s = float(states.time_s[int(np.nanargmin(states.altitude_m))])
        # over the threshold the aircraft was about to land
        reaction_s = 0.0 if missed_point_by(context.motion.charted) == "threshold" else _AT_POINT_S
        if left is None or point_s is None or lowest_s < point_s + reaction_s:
            return _climbed(context, minimum, states, 0.0)
    elif left is not None and _ends_at(context, minimum, states):
        return _at_the_end(context, minimum, states)
    if left is not None:
        before = states.between(float(states.time_s[0]), left)
        return _worse(_dipped(context, minimum, before, 0.0), _left(context, minimum, states, left))
    return _kept(context, minimum, states)


def _level(context: Context, minimum: Minimum, states: States, allowed_m: float) -> Finding | None:
    """The finding on level flight below a minimum by more than the noise of the log; None if there was none."""
    level = level_below(states, minimum, context.motion.charted.runway)
    if not level.any():
        return None
    k = int(np.argmin(np.where(level, states.altitude_m, np.inf)))
    if minimum.altitude_m - float(states.altitude_m[k]) < context.motion.level_sd_m:
        return None
    others = np.flatnonzero(~level)
    seconds = int(np.diff(np.concatenate([[-1], others, [len(level)]])).max())  # longest stretch
    sentence = f"Level below the minimum for {seconds} s, lowest {_low(context, states, k, minimum)}."
    return _against(context, minimum, states, k, sentence, allowed_m)


def _decision(context: Context, minimum: Minimum, states: States) -> Finding:
    """The finding on a decision altitude; the height lost in a go-around begun there is allowed below it."""
    allowed, left = loss_m(states, minimum.altitude_m), left_minimum_s(states, minimum.altitude_m)
    if context.reversal.ending == "climbed away":
        ending = _climbed(context, minimum, states, allowed)
    elif left is not None and _ends_at(context, minimum, states):
        ending = _at_the_end(context, minimum, states)
    elif left is not None:
        before = states.between(float(states.time_s[0]), left)
        ending = _worse(_dipped(context, minimum, before, allowed), _followed(context, minimum, states))
    else:
        ending = _kept(context, minimum, states)
    return _worse(_level(context, minimum, states, allowed), ending)


def _dipped(context: Context, minimum: Minimum, before: States, allowed_m: float) -> Finding | None:
    """The finding on a descent below a minimum that ended in a climb back to it; None if it went lower by a few feet only.

    By so little a minimum may be crossed more than once on the way down to the runway.
    """
    if not len(before) or not (before.altitude_m < minimum.altitude_m).any():
        return None
    k = int(np.nanargmin(before.altitude_m))
    if not (before.altitude_m[k:] >= minimum.altitude_m).any():
        return None
    sentence = f"Lowest before it was left {_low(context, before, k, minimum)}, then the aircraft climbed back to it."
    dip = _against(context, minimum, before, k, sentence, allowed_m)
    return dip if minimum.altitude_m - allowed_m - float(before.altitude_m[k]) > context.motion.altitude_sd_m else None


def _ends_at(context: Context, minimum: Minimum, states: States) -> bool:
    """Whether the log ends short of the runway, below the minimum by no more than the error of the altitude."""
    below = minimum.altitude_m - float(np.nanmin(states.altitude_m))
    return context.reversal.ending != "reached the runway" and below < 2.0 * context.motion.lowest_sd_m(-below)


def _at_the_end(context: Context, minimum: Minimum, states: States) -> Finding:
    """The finding where the log ends at the minimum, so that it does not show whether the minimum was left."""
    k = int(np.flatnonzero(np.isfinite(states.altitude_m))[-1])
    sentence = f"The log ends at {_low(context, states, k, minimum)}, which is within the altitude's error."
    height, reason = context.height, "the log ends at the minimum"
    return Finding("minimum_altitude", "final", "final", sentence, NOT_ASSESSED, limit=minimum.altitude_m / height.metres,
                   unit=height.name, source=_source(context, minimum), basis="altitude", reason=reason,
                   place=context.place(float(states.time_s[k])))  # fmt: skip


def _climbed(context: Context, minimum: Minimum, states: States, allowed_m: float) -> Finding:
    """The finding on the lowest altitude of a final leg that ended in a climb, with `allowed_m` below the minimum."""
    height = context.height
    k = int(np.nanargmin(states.altitude_m))
    loss = f", and a go-around begun at it loses {height.text(allowed_m)}" if allowed_m > 0.0 else ""
    level = _levelled(context, minimum, states.between(float(states.time_s[0]), float(states.time_s[k]) + _PULLED_UP_S))
    sentence = f"Lowest on final {_low(context, states, k, minimum)}, then the aircraft climbed away{loss}.{level}"
    return _against(context, minimum, states, k, sentence, allowed_m)


def _kept(context: Context, minimum: Minimum, states: States) -> Finding:
    """The finding on the lowest altitude of a final leg that neither left its minimum nor climbed away."""
    k = int(np.nanargmin(states.altitude_m))
    sentence = f"Lowest on final {_low(context, states, k, minimum)}.{_levelled(context, minimum, states)}"
    ended = {"log ends": "the log ends before the minimum was left", "log breaks off": BREAKS_OFF}
    why = ended.get(context.reversal.ending or "", "the approach was left before a landing or a climb")
    return _against(context, minimum, states, k, sentence, incomplete=why)


def _left(context: Context, minimum: Minimum, states: States, left_s: float) -> Finding:
    """The finding on a minimum that was left for the runway, too early or not.

    It is too early before the visual descent point, or where the runway is less than 2° below. It must also be too early where
    the aircraft is below the minimum by twice the error of the altitude: flying a few feet low is not leaving the minimum.
    """
    runway = context.motion.charted.runway
    altitude_sd_m = context.motion.altitude_sd_m
    if context.motion.holes_between(left_s, left_s + 1.0, LONG_HOLE_S):
        return _followed(context, minimum, states)  # left in a gap, no one knows where
    surely = left_minimum_s(states, minimum.altitude_m - 2.0 * altitude_sd_m)
    if runway is None or surely is None or _too_early(context, minimum, runway, states, surely, 0.0) is None:
        return _followed(context, minimum, states)
    return _too_early(context, minimum, runway, states, left_s, altitude_sd_m) or _followed(context, minimum, states)


def _too_early(
    context: Context, minimum: Minimum, runway: Runway, states: States, left_s: float, altitude_sd_m: float
) -> Finding | None:
    """The finding on a minimum left too early at an instant; None where that is not too early."""
    limit = _limit(context, minimum)
    at = states.between(left_s, left_s + 1.0)
    angle, before = angle_to_runway(at, runway)
    steep, to_go = float(angle[0]), float(before[0])
    where = f"The {_named(context, minimum)} was left at {clock(left_s)}, {miles(to_go, 1)} before the threshold"
    if minimum.visual_descent_point_m is not None:
        margin = minimum.visual_descent_point_m - to_go
        sd = altitude_sd_m / max(LEAST_ANGLE_RAD, steep)
        verdict, _ = judge(margin, sd)
        if verdict == OUTSIDE:
            point = minimum.visual_descent_point_m
            sentence = f"{where}, {miles(-margin, 1)} short of the visual descent point {miles(point, 1)} before it."
            measures = (to_go / NM, point / NM, "NM", margin / NM, sd / NM)
            return _of(context, minimum, sentence, measures, _VDP, left_s)
    if minimum.line == "straight-in":
        margin, sd = steep - LEAST_ANGLE_RAD, altitude_sd_m / max(to_go, 1.0)
        verdict, _ = judge(margin, sd)
        if verdict == OUTSIDE:
            sentence = f"{where}, with the threshold only {degrees(steep)} below: too early for a normal descent to the runway."
            measures = (steep / DEG, LEAST_ANGLE_RAD / DEG, "deg", margin / DEG, sd / DEG)
            return _of(context, minimum, sentence, measures, f"{_LEFT}; {limit.source}", left_s)
    return None


def _followed(context: Context, minimum: Minimum, states: States) -> Finding:
    """The finding on a descent from the minimum, explained by the runway if it continues there, else unexplained."""
    height = context.height
    left_s = left_minimum_s(states, minimum.altitude_m) or float(states.time_s[-1])
    runway = context.motion.charted.runway
    sentence = f"The {_named(context, minimum)} was left at {clock(left_s)}"
    details: dict[str, float] = {}
    circled = circles_from_s(context)
    if circled is not None and circled < left_s:
        sentence += f", in the circle begun at {clock(circled)}"
    elif runway is not None:
        angle, before = (float(of[0]) for of in angle_to_runway(states.between(left_s, left_s + 1.0), runway))
        details = {"before_threshold_nm": before / NM}
        sentence += f", {miles(abs(before), 1)} {'before' if before >= 0.0 else 'past'} the threshold"
        if math.isfinite(angle) and before >= 0.0:
            details["runway_below_deg"] = angle / DEG
            steep = ", steeper than a normal descent" if angle > _STEEP_RAD else ""
            sentence += f", on a {degrees(angle)} path to it{steep}"
    reached = context.reversal.ending == "reached the runway"
    down = float(states.time_s[0]), left_s + 1.0
    hidden = context.incomplete(*down) if could_be_lower(context.motion, [down], minimum.altitude_m) else None
    if not reached and runway is not None:
        known = states.altitude_m[np.isfinite(states.altitude_m)]
        above = height.text(float(known[-1]) - runway.elevation_m)
        sentence += f"; {_how_ended(context)} {above} above the threshold"
    return Finding(
        check="minimum_altitude",
        leg="final",
        part="final",
        sentence=f"{sentence}.{_levelled(context, minimum, states.between(float(states.time_s[0]), left_s))}",
        verdict=NOT_ASSESSED,
        limit=minimum.altitude_m / height.metres,
        unit=height.name,
        source=_source(context, minimum),
        basis="altitude",
        reason=hidden or _SIGHT if reached else f"{_how_ended(context)} below the minimum, so what followed is unknown",
        details=details,
        place=context.place(left_s),
        unexplained=not reached,
    )


def _levelled(context: Context, minimum: Minimum, states: States) -> str:
    """How far above a minimum descent altitude the aircraft last levelled off, as a sentence; empty if it did not."""
    limit, text = context.standard["minimum_above"], context.height.text
    levels = level_stretches(states) if minimum.kind == "mda" else ()
    above = levels[-1].altitude_m - minimum.altitude_m if levels else math.inf
    if not 0.0 <= above < _LEVEL_AT_M:
        return ""
    return f" Levelled {text(above)} above it; {text(limit.value * FT)} for comparison."


def _how_ended(context: Context) -> str:
    ended = {
        "log ends": "the log ends",
        "log breaks off": "the log breaks off",
        "climbed away": "the aircraft climbed away beyond the missed approach point",
    }
    return ended.get(context.reversal.ending or "", "the course was left")


def _against(
    context: Context,
    minimum: Minimum,
    states: States,
    k: int,
    sentence: str,
    allowed_m: float = 0.0,
    incomplete: str | None = None,
) -> Finding:
    """The finding on a lowest altitude, with `allowed_m` below the minimum."""
    limit, lowest_m = _limit(context, minimum), float(states.altitude_m[k])
    tolerance_m = limit.value * FT + allowed_m
    margin_m = lowest_m - minimum.altitude_m + tolerance_m
    span = float(states.time_s[0]), _climbed_by(context, float(states.time_s[-1]), lowest_m)
    # the loss allowed at a decision altitude includes the altimeter's error, which leaves the noise of the log
    quiet = allowed_m > 0.0 and margin_m < 0.0
    sd_m = context.motion.level_sd_m if quiet else lowest_sd_m(context.motion, states, margin_m)
    verdict, reason = judge(margin_m, sd_m, context.altitudes_incomplete(*span) or incomplete)
    return Finding(
        check="minimum_altitude",
        leg="final",
        part="final",
        sentence=sentence,
        verdict=verdict,
        measured=lowest_m / context.height.metres,
        limit=minimum.altitude_m / context.height.metres,
        unit=context.height.name,
        tolerance=tolerance_m / context.height.metres,
        margin=margin_m / context.height.metres,
        sd=sd_m / context.height.metres,
        source=_source(context, minimum),
        basis="altitude",
        reason=reason,
        place=context.place(float(states.time_s[k])),
    )


def _climbed_by(context: Context, end_s: float, lowest_m: float) -> float:
    """When a climb after the final leg has gained 200 ft, up to where something lower could hide in a gap; else its end. [s]"""
    if context.reversal.ending != "climbed away":
        return end_s
    after = context.motion.states.between(end_s, float(context.motion.states.time_s[-1]))
    gained = np.flatnonzero(after.altitude_m > lowest_m + _CLIMB_M)
    return float(after.time_s[gained[0]]) if len(gained) else end_s


def _of(
    context: Context,
    minimum: Minimum,
    sentence: str,
    measures: tuple[float, float, str, float, float],
    source: str,
    time_s: float,
) -> Finding:
    """A finding outside on a minimum left too early; `measures` are measured value, limit, unit, margin and its error."""
    measured, limit, unit, margin, sd = measures
    return Finding(
        "minimum_altitude", "final", "final", sentence, OUTSIDE, measured, limit, unit, margin=margin, sd=sd,
        place=context.place(time_s), source=source, basis="altitude", details={"minimum_ft": minimum.altitude_m / FT},
    )  # fmt: skip


def _not_assessed(context: Context, minimum: Minimum, reason: str) -> Finding:
    height = context.height
    sentence = f"The {_named(context, minimum)} on the final leg."
    limit, source = minimum.altitude_m / height.metres, _source(context, minimum)
    return Finding("minimum_altitude", "final", None, sentence, NOT_ASSESSED, limit=limit, unit=height.name, source=source,
                   basis="altitude", reason=reason)  # fmt: skip


def _limit(context: Context, minimum: Minimum) -> Limit:
    return context.standard["decision_altitude" if minimum.kind == "da" else "minimum_descent_altitude"]


def _source(context: Context, minimum: Minimum) -> str:
    return f"{context.minimum_source('final')}; {_limit(context, minimum).source}"


def _named(context: Context, minimum: Minimum) -> str:
    """A minimum in words, with its line where the chart has several: ``minimum of 700 ft (category C, straight-in)``."""
    line = ""
    if len(context.motion.charted.minimums) > 1:
        category = f"category {minimum.category}, " if minimum.category is not None else ""
        line = f" ({category}{minimum.line})"
    return f"{context.minimum_words('final', minimum.altitude_m).removeprefix('the ')}{line}"


def _low(context: Context, states: States, k: int, minimum: Minimum) -> str:
    """An altitude, its time and its distance to the minimum: ``560 ft at 15:04:12, 140 ft below the minimum of 700 ft``."""
    text, lowest = context.height.text, float(states.altitude_m[k])
    side = "below" if lowest < minimum.altitude_m else "above"
    off = f"{text(abs(lowest - minimum.altitude_m))} {side} the {_named(context, minimum)}"
    return f"{text(lowest)} at {clock(float(states.time_s[k]))}, {off}"


CHECKS = (
    Check(
        "minimum_altitude",
        minimum_altitude,
        "The minimum descent altitude or decision altitude of the final leg: level flight below it, a climb from below "
        "it, or back to it, before the missed approach point, and where it was left for the runway. A descent to the runway "
        "is not assessed.",
        "Level: less than 40 ft in 15 s, 100 ft above the threshold or more. Left too early: before a charted visual descent "
        "point, or with the runway less than 2° below. A go-around at a decision altitude may lose two seconds at the rate of "
        "descent and a pull-up of a quarter g.",
        limits={"minimum_descent_altitude": ("ft",), "decision_altitude": ("ft",), "minimum_above": ("ft",)},
        weight=20.0,
        fails_outright=True,
    ),
)
