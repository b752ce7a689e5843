"""Checks of airspeed: the maximum in the reversal or hold, and the target of each leg."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.below_minimum import left_minimum_s
from analyzer.checks.check import Check
from analyzer.checks.figures import Airspeed, greatest_indicated
from analyzer.checks.finding import ALTITUDE_MISSING, GAP, NO_ALTITUDE, NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.limits import Standard
from analyzer.checks.phrases import clock, feet, knots
from analyzer.frozen import dataclass
from analyzer.legs.held import laps_of
from analyzer.legs.reversal import Part
from analyzer.motion.airspeed import indicated_airspeed, indicated_share_sd
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.reach import reached_mps
from analyzer.motion.states import States
from analyzer.physics.quantiles import median
from analyzer.physics.units import FT, KT, FloatArray
from analyzer.vocabulary import FLOWN_LEGS, Leg

__all__ = ["CHECKS", "Maximum", "holding_maximum", "indicated_of", "speed_limit", "target_speed"]

_HUNDRED_M = 100.0 * FT  # holding altitudes are whole hundreds: one flown a few feet high is still that altitude
_RECORDED_MEDIAN_SD_MPS = 0.5 * KT  # of the median of a recorded airspeed; an assumption
_FLARE_M = 100.0 * FT  # above the threshold; lower, the aircraft is landing
_LEAST_STATES = 10


@dataclass(frozen=True)
class Maximum:
    """A maximum airspeed and its source."""

    speed_mps: float
    source: str


def holding_maximum(standard: Standard, altitude_m: float, light: bool = False) -> Maximum:
    """The maximum indicated airspeed of a hold without a charted one, by its altitude.

    The altitude is rounded to the nearest hundred feet; the lowest band applies where it is NaN. `light` means that the hold is
    limited to categories A and B, for which some standards have their own speeds.
    """
    limit = (standard.get("holding_speed_ab") if light else None) or standard["holding_speed"]
    altitude_ft = 100.0 * round(altitude_m / _HUNDRED_M) if math.isfinite(altitude_m) else 0.0
    return Maximum(limit.at_altitude(altitude_ft) * KT, limit.source)


def _maximum(context: Context, span: tuple[float, float] | None) -> Maximum:
    """The charted maximum; else that for a hold at its median altitude, or that for a reversal."""
    charted = context.motion.charted
    if charted.maximum_speed_mps is not None:
        return Maximum(charted.maximum_speed_mps, "charted")
    if charted.kind == "hold":
        altitude = context.motion.states.between(*span).altitude_m if span is not None else np.array([])
        known = altitude[np.isfinite(altitude)]
        return holding_maximum(context.standard, median(known) if len(known) else math.nan, _for_light(context))
    limit = context.standard["reversal_speed"]
    return Maximum(limit.value * KT, limit.source)


def _for_light(context: Context) -> bool:
    """Whether the hold is limited to categories A and B."""
    category = context.hold.category if context.hold is not None else None
    return category is not None and set(category) <= set("AB-")


def speed_limit(context: Context) -> tuple[Finding, ...]:
    """Greatest indicated airspeed from outbound passage until established, or in each lap of a hold.

    The limit is the charted maximum, else that of the standard. The limit itself may be flown.
    """
    if context.hold is not None:
        laps = enumerate(laps_of(context.reversal), 1)
        return tuple(_of_lap(context, number, lap) for number, lap in laps)
    span = context.reversal.reversal_span_s
    if span is None:
        return ()
    ends = None if context.reversal.came_home else context.not_established
    return (_speed_finding(context, span, context.figures.indicated, ends, None),)


def _of_lap(context: Context, number: int, lap: tuple[Part, ...]) -> Finding:
    """The finding on a lap, by its greatest airspeed and the limit at its altitude."""
    span, motion = (lap[0].start_s, lap[-1].end_s), context.motion
    broken_off = lap[-1].name != "inbound" and span[1] >= float(motion.states.time_s[-1]) - 1.0
    indicated = greatest_indicated(motion, span, context.figures.wind)
    return _speed_finding(context, span, indicated, "the log ends in it" if broken_off else None, number)


def _speed_finding(
    context: Context, span: tuple[float, float], indicated: Airspeed | None, ends: str | None, lap: int | None
) -> Finding:
    limit, leg = _maximum(context, span), _leg_of(lap)
    what = "Greatest indicated airspeed" if lap is None else f"Lap {lap}: greatest indicated airspeed"
    if indicated is None:
        return Finding(
            "speed_limit", leg, None, f"{what}.", NOT_ASSESSED, limit=limit.speed_mps / KT, unit="kt", source=limit.source,
            reason=_why_no_airspeed(context), basis="estimate", lap=lap,
        )  # fmt: skip
    margin = limit.speed_mps - indicated.speed_mps
    reached = _reached_mps(context, span)
    incomplete = ends or (GAP if reached > limit.speed_mps else None)
    verdict, reason = judge(margin, indicated.sd_mps, incomplete)
    hidden = reached > indicated.speed_mps and bool(context.motion.holes_between(*span, LONG_HOLE_S))
    least = "at least " if hidden else ""
    altitude = context.motion.altitude_at(indicated.time_s)
    height = f", {feet(altitude)}" if math.isfinite(altitude) else ""
    part = context.reversal.part_at(indicated.time_s)
    return Finding(
        check="speed_limit",
        leg=part.leg if part is not None else leg,
        part=part.name if part is not None else None,
        lap=lap,
        sentence=(
            f"{what} {least}{knots(indicated.speed_mps)} "
            f"({recorded_words(context) if indicated.recorded else f'estimated, ± {knots(indicated.sd_mps)}'}) "
            f"at {clock(indicated.time_s)}{height}; limit {knots(limit.speed_mps)}."
        ),
        verdict=verdict,
        measured=indicated.speed_mps / KT,
        limit=limit.speed_mps / KT,
        unit="kt",
        margin=margin / KT,
        sd=indicated.sd_mps / KT,
        source=limit.source,
        basis="recorded" if indicated.recorded else "estimate",
        reason=reason,
        place=context.place(indicated.time_s),
    )


def _leg_of(lap: int | None) -> Leg:
    return "reversal" if lap is None else "hold"


def _why_no_airspeed(context: Context) -> str:
    """Why the airspeed is not known."""
    if context.figures.wind is None:
        return "no wind could be estimated"
    return ALTITUDE_MISSING if context.motion.has_altitude else NO_ALTITUDE


def _reached_mps(context: Context, span: tuple[float, float]) -> float:
    """The greatest airspeed that was possible in holes of the log; -inf if there are none. [m/s]"""
    states = context.motion.seen(context.motion.states.between(*span))
    indicated = indicated_of(context, states)
    if indicated is None:
        return math.inf if context.motion.holes_between(*span) else -math.inf
    return reached_mps(context.motion, span, states.time_s, indicated[0])


def recorded_words(context: Context) -> str:
    """How a recorded airspeed is described in a sentence."""
    unchecked = "indicated_airspeed_mps" in context.motion.curves.believed.unchecked
    return "recorded, could not be checked" if unchecked else "recorded"


def indicated_of(context: Context, states: States) -> tuple[FloatArray, float, bool] | None:
    """Indicated airspeed at some states [m/s], the standard deviation of its median, and whether it was recorded.

    As recorded where the record is plausible, else from true airspeed; None where neither covers all states.
    """
    motion = context.motion
    logged = motion.recorded("indicated_airspeed_mps", states)
    if logged is not None and len(logged) and np.isfinite(logged).all():
        return logged, _RECORDED_MEDIAN_SD_MPS, True
    speed = indicated_airspeed(states.true_airspeed_mps, states.altitude_m, motion.track.air, motion.charted)
    if motion.wind is None or not len(states) or not np.isfinite(speed).all():
        return None
    from_wind = median(motion.wind.airspeed_sds(states.time_s))
    return speed, math.hypot(from_wind, median(speed) * indicated_share_sd(motion.track.air)), False


def target_speed(context: Context) -> tuple[Finding, ...]:
    """Median indicated airspeed of each leg with a target speed, on final up to the visual part."""
    targets = context.motion.charted.target_speeds_mps
    return tuple(
        _target(context, leg, targets[leg]) for leg in FLOWN_LEGS if leg in targets and context.reversal.leg_spans(leg)
    )


def _target(context: Context, leg: Leg, target: float) -> Finding:
    tolerance = context.standard["final_airspeed" if leg == "final" else "airspeed"]
    spans = context.reversal.leg_spans(leg)
    states = context.motion.states.within(spans)
    if leg == "final":
        states = _before_visual(context, states)
    measured = indicated_of(context, states) if len(states) >= _LEAST_STATES else None
    if measured is None:
        known = len(states) < _LEAST_STATES
        reason = "the log holds too little of it" if known else "no airspeed was recorded, and none could be estimated"
        sentence = f"Airspeed on {context.leg_words(leg)}."
        return Finding("target_speed", leg, None, sentence, NOT_ASSESSED, limit=target / KT, unit="kt",
                       source=tolerance.source, reason=reason)  # fmt: skip
    speed, sd, recorded = median(measured[0]), measured[1], measured[2]
    off, tolerance_mps = speed - target, tolerance.value * KT
    incomplete = next(filter(None, (context.incomplete(*span, leg) for span in spans)), None)
    verdict, reason_text = judge(tolerance_mps - abs(off), sd, incomplete)
    against = f"{knots(abs(off))} {'above' if off > 0.0 else 'below'} the target of {knots(target)}"
    basis = recorded_words(context) if recorded else f"estimated, ± {knots(sd)}"
    return Finding(
        check="target_speed",
        leg=leg,
        part=None,
        sentence=(
            f"Median indicated airspeed on {context.leg_words(leg)} {knots(speed)} "
            f"({basis}), {against}; ±{tolerance.value:.0f} kt allowed."
        ),
        verdict=verdict,
        measured=speed / KT,
        limit=target / KT,
        unit="kt",
        tolerance=tolerance.value,
        margin=(tolerance_mps - abs(off)) / KT,
        sd=sd / KT,
        source=tolerance.source,
        basis="recorded" if recorded else "estimate",
        reason=reason_text,
        place=context.place(float(states.time_s[len(states) // 2])),
    )


def _before_visual(context: Context, states: States) -> States:
    """The states of the final leg until the aircraft descends below the minimum, or 100 ft above the threshold, for good."""
    charted = context.motion.charted
    levels = [charted.minimum.altitude_m] if charted.minimum is not None else []
    levels += [charted.runway.elevation_m + _FLARE_M] if charted.runway is not None else []
    left = left_minimum_s(states, max(levels)) if levels else None
    return states if left is None else states.between(float(states.time_s[0]), left)


CHECKS = (
    Check(
        "speed_limit",
        speed_limit,
        "Greatest indicated airspeed from passing the fix outbound until established, and of each lap of a published hold:"
        " against the chart's limit, else that of a procedure turn, or of a hold at the median altitude.",
        "Recorded; or true airspeed, ground velocity less wind, through the standard atmosphere or the QNH and temperature"
        " given.",
        limits={"reversal_speed": ("kt",), "holding_speed": ("kt",), "holding_speed_ab": ("kt",)},
        optional=frozenset({"holding_speed_ab"}),
        weight=5.0,
        all_lost_by={"kt": 20.0},
        of=("approach", "hold"),
    ),
    Check(
        "target_speed",
        target_speed,
        "Median indicated airspeed of each leg with a target speed, against that; on final up to where the minimum is finally"
        " left.",
        "As for the speed limit; the median over the seconds of the leg.",
        limits={"airspeed": ("kt",), "final_airspeed": ("kt",)},
        weight=3.0,
        all_lost_by={"kt": 20.0},
        of=("approach", "hold"),
    ),
)
