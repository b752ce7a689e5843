"""Checks of airspeed: the maximum in the reversal or hold, and the target of each leg."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from analyzer.checks.below_minimum import left_minimum_s
from analyzer.checks.check import Check
from analyzer.checks.figures import Airspeed, greatest_indicated
from analyzer.checks.finding import (
    ALTITUDE_MISSING,
    CLOSE,
    CLOSE_SD,
    GAP,
    INSIDE,
    NO_ALTITUDE,
    NOT_ASSESSED,
    OUTSIDE,
    TOO_LITTLE,
    Context,
    Finding,
    judge,
)
from analyzer.checks.limits import Standard
from analyzer.checks.phrases import clock, knots
from analyzer.frozen import dataclass
from analyzer.legs.held import laps_of
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.airspeed import indicated_airspeed, indicated_share_sd
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.motion import Motion
from analyzer.motion.reach import reached_mps
from analyzer.motion.states import States
from analyzer.physics.quantiles import median
from analyzer.physics.units import FT, KT, FloatArray
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import FLOWN_LEGS, Leg

__all__ = ["CHECKS", "Maximum", "flown_speed", "holding_maximum", "indicated_of", "speed_limit", "target_speed"]

_HUNDRED_M = 100.0 * FT  # holding altitudes are whole hundreds: one flown a few feet high is still that altitude
_SAME_LEVEL_M = 200.0 * FT  # as near the median altitude, a hold is flown at that altitude
_RECORDED_MEDIAN_SD_MPS = 0.5 * KT  # of the median of a recorded airspeed; an assumption
_FLARE_M = 100.0 * FT  # above the threshold; lower, the aircraft is landing
_LEAST_STATES = 10


@dataclass(frozen=True)
class Maximum:
    """A maximum airspeed and its source."""

    speed_mps: float
    source: str


def holding_maximum(standard: Standard, altitude_m: float, light: bool) -> Maximum:
    """The maximum indicated airspeed of a hold without a charted one, by its altitude.

    The altitude is rounded to the nearest hundred feet; the lowest band applies where it is NaN. `light` means that the hold is
    limited to categories A and B, for which some standards have their own speeds.
    """
    limit = (standard.get("holding_speed_ab") if light else None) or standard["holding_speed"]
    altitude_ft = 100.0 * round(altitude_m / _HUNDRED_M) if math.isfinite(altitude_m) else 0.0
    return Maximum(limit.at_altitude(altitude_ft) * KT, limit.source)


def _maximum(context: Context, span: tuple[float, float], higher_m: float = 0.0) -> Maximum:
    """The charted maximum; else that for a hold at its median altitude, were it so much higher, or that for a reversal."""
    charted = context.motion.charted
    if charted.maximum_speed_mps is not None:
        return Maximum(charted.maximum_speed_mps, "charted")
    if charted.kind == "hold":
        altitude_m = _median_known(context.motion.states.between(*span).altitude_m) + higher_m
        return holding_maximum(context.standard, altitude_m, _for_light(context))
    limit = context.standard["reversal_speed"]
    return Maximum(limit.value * KT, limit.source)


def _median_known(altitude_m: FloatArray) -> float:
    known = altitude_m[np.isfinite(altitude_m)]
    return median(known) if len(known) else math.nan


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
    return (_at_its_altitudes(context, span, ends, None),)


def _of_lap(context: Context, number: int, lap: tuple[Part, ...]) -> Finding:
    """The finding on a lap, by its greatest airspeed and the limit at its altitude."""
    span, motion = (lap[0].start_s, lap[-1].end_s), context.motion
    broken_off = lap[-1].name != "inbound" and span[1] >= float(motion.states.time_s[-1]) - 1.0
    return _at_its_altitudes(context, span, "the log ends in it" if broken_off else None, number)


def _at_its_altitudes(context: Context, span: tuple[float, float], ends: str | None, lap: int | None) -> Finding:
    """The finding by the maximum at the altitudes flown; no verdict where that rests on how far all altitudes may be off."""
    finding = _by_bands(context, span, ends, lap, 0.0)
    by_altitude = context.motion.charted.kind == "hold" and finding.source != "charted"
    if by_altitude and finding.verdict != INSIDE and not np.isfinite(context.motion.states.between(*span).altitude_m).any():
        # by the lowest band: in another, more is allowed
        return replace(finding, verdict=NOT_ASSESSED, reason=finding.reason or _why_no_altitude(context))
    off_m = CLOSE_SD * context.motion.track.altitude_offset_sd_m
    if not by_altitude or off_m == 0.0 or finding.verdict == NOT_ASSESSED:
        return finding
    for higher_m in (-off_m, off_m):
        other = _by_bands(context, span, ends, lap, higher_m)
        if other.verdict != finding.verdict:
            off = context.height.text(off_m)
            reason = f"the altitudes may be {off} off, and another maximum then applies: {other.limit:.0f} kt"
            return replace(finding, verdict=NOT_ASSESSED, reason=other.reason if other.limit == finding.limit else reason)
    return finding


def _by_bands(context: Context, span: tuple[float, float], ends: str | None, lap: int | None, higher_m: float) -> Finding:
    """The finding by the maximum at the median altitude, were all so much higher.

    A hold that changes altitude from one band of maximums to another has, in each band, the airspeed that was greatest there,
    and a verdict only where that, too, says so.
    """
    limit, wind = _maximum(context, span, higher_m), context.figures.wind
    indicated = context.figures.indicated if lap is None else greatest_indicated(context.motion, span, wind)
    whole = _speed_finding(context, span, indicated, limit, ends, lap)
    bands = _bands(context, span, limit, higher_m)
    if len(bands) < 2 or whole.margin is None:
        return whole
    found = [
        _speed_finding(context, stretch, greatest_indicated(context.motion, stretch, wind), of_band, ends, lap)
        for stretch, of_band in bands
    ]
    worst = min(found, key=lambda one: (one.verdict != OUTSIDE, math.inf if one.margin is None else one.margin))
    if worst.margin is None or (worst.verdict == OUTSIDE) == (whole.verdict == OUTSIDE):
        return worst if worst.verdict == CLOSE else whole
    # of the two readings one has it outside: where it has is shown
    there = worst if worst.verdict == OUTSIDE else next((one for one in found if one.measured == whole.measured), worst)
    reason = (
        f"the maximum changes with the altitudes flown: it is {knots(limit.speed_mps)} at their median, and "
        f"{there.limit:.0f} kt where the aircraft was then"
    )
    return replace(there, verdict=NOT_ASSESSED, reason=reason)


def _bands(
    context: Context, span: tuple[float, float], of_median: Maximum, higher_m: float
) -> list[tuple[tuple[float, float], Maximum]]:
    """The stretches of a hold with the maximum at the altitudes flown in each; none where a maximum is charted.

    As near the median altitude as an altitude is held, the maximum is that of the median.
    """
    charted, states = context.motion.charted, context.motion.states.between(*span)
    if charted.maximum_speed_mps is not None or charted.kind != "hold" or not np.isfinite(states.altitude_m).all():
        return []
    light, near = _for_light(context), np.abs(states.altitude_m - _median_known(states.altitude_m)) <= _SAME_LEVEL_M
    hundreds = np.round((states.altitude_m + higher_m) / _HUNDRED_M) * _HUNDRED_M
    at = {height: holding_maximum(context.standard, height, light) for height in set(hundreds[~near].tolist())}
    limits = [of_median if close else at[height] for close, height in zip(near.tolist(), hundreds.tolist(), strict=True)]
    begins = [k for k, limit in enumerate(limits) if k == 0 or limit != limits[k - 1]]
    seconds = states.time_s.tolist()
    return [
        ((seconds[begin], seconds[after - 1]), limits[begin])
        for begin, after in zip(begins, [*begins[1:], len(limits)], strict=False)
    ]


def _speed_finding(
    context: Context,
    span: tuple[float, float],
    indicated: Airspeed | None,
    limit: Maximum,
    ends: str | None,
    lap: int | None,
) -> Finding:
    leg = _leg_of(lap)
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
    height = f", {context.height.text(altitude)}" if math.isfinite(altitude) else ""
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
        why = context.figures.no_wind
        return f"no wind could be estimated: {why}" if why else "no wind could be estimated"
    return _why_no_altitude(context)


def _why_no_altitude(context: Context) -> str:
    return ALTITUDE_MISSING if context.motion.has_altitude else NO_ALTITUDE


def _reached_mps(context: Context, span: tuple[float, float]) -> float:
    """The greatest airspeed that was possible in holes of the log; -inf if there are none. [m/s]"""
    states = context.motion.seen(context.motion.states.between(*span))
    indicated = indicated_of(context.motion, states)
    if indicated is None:
        return math.inf if context.motion.holes_between(*span) else -math.inf
    return reached_mps(context.motion, span, states.time_s, indicated[0])


def recorded_words(context: Context) -> str:
    """How a recorded airspeed is described in a sentence."""
    unchecked = "indicated_airspeed_mps" in context.motion.curves.believed.unchecked
    return "recorded, could not be checked" if unchecked else "recorded"


def indicated_of(motion: Motion, states: States) -> tuple[FloatArray, float, bool] | None:
    """Indicated airspeed at some states [m/s], the standard deviation of its median, and whether it was recorded.

    As recorded where the record is plausible, else from true airspeed; None where neither covers all states.
    """
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
    states = _flown_on(context.motion, context.reversal, leg)
    measured = indicated_of(context.motion, states) if len(states) >= _LEAST_STATES else None
    if measured is None:
        too_few = len(states) < _LEAST_STATES
        reason = TOO_LITTLE if too_few else "no airspeed was recorded, and none could be estimated"
        sentence = f"Airspeed on {context.leg_words(leg)}."
        return Finding("target_speed", leg, None, sentence, NOT_ASSESSED, limit=target / KT, unit="kt",
                       source=tolerance.source, reason=reason)  # fmt: skip
    speed, sd, recorded = median(measured[0]), measured[1], measured[2]
    off, tolerance_mps = speed - target, tolerance.value * KT
    spans = context.reversal.leg_spans(leg)
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


def flown_speed(motion: Motion, reversal: Reversal, leg: Leg) -> float | None:
    """Median indicated airspeed of a leg, on final up to the visual part; None where it is unknown. [m/s]"""
    states = _flown_on(motion, reversal, leg)
    measured = indicated_of(motion, states) if len(states) >= _LEAST_STATES else None
    return None if measured is None else median(measured[0])


def _flown_on(motion: Motion, reversal: Reversal, leg: Leg) -> States:
    """The states of a leg that count for its speed."""
    states = motion.states.within(reversal.leg_spans(leg))
    return _before_visual(motion.charted, states) if leg == "final" else states


def _before_visual(charted: Charted, states: States) -> States:
    """The states of the final leg until the aircraft descends below the minimum, or 100 ft above the threshold, for good."""
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
        "Recorded; or true airspeed, ground velocity less wind, over nine seconds, through the standard atmosphere or the QNH"
        " and temperature given.",
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
