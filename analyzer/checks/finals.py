"""Checks of the final leg: alignment with the runway, and rate of descent near the ground."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.below_minimum import circles_from_s
from analyzer.checks.check import Check
from analyzer.checks.finding import GAP, NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.phrases import clock, degrees, miles
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FPM, FT, NM, FloatArray, bearing_text, unwrapped, wrap
from analyzer.procedure.charted import Runway
from analyzer.vocabulary import CheckName

__all__ = ["CHECKS", "before_threshold", "final_alignment", "stabilised_descent"]

_FLARE_M = 100.0 * FT  # above the threshold; lower, the aircraft is landing
_REACHED_M = 200.0 * FT  # the log must cover the descent from 1,000 ft down to at least this height
_GATE_M = 1000.0 * FT
_LEAST_STATES = 10
_SUSTAINED_S = 15  # seconds over which a rate of descent is measured, so that gusts and noise of the altitude average out
_SHORT_FINAL_S = 30.0
_AT_FIX_M, _AHEAD = 1.0 * NM, 0.5  # a fix this close is on the airfield; otherwise the runway lies within 60° of the course
_NOT_AHEAD = "the runway does not lie ahead on the inbound course"
_ALIGNED_SD_RAD = 0.2 * DEG  # of a charted runway heading, given to the degree or better
_RATE_SD_MPS = 30.0 * FPM  # of a rate of descent, due to unsteady air; an assumption, no source
_CRITERION = "for information only: the angle is a chart design criterion, not a limit on flying"
_CROSSES_RAD = 1.0 * DEG  # nearly parallel lines have no meaningful intersection
_AT_THRESHOLD_M = 0.1 * NM


def final_alignment(context: Context) -> tuple[Finding, ...]:
    """Angle between the final track and the runway, and where the track meets the extended centre line.

    Not of an approach that circles, which leaves the final track for the runway.
    """
    runway = context.motion.charted.runway
    span = _last_stretch(context, low_enough=False)
    if span is None or runway is None or circles_from_s(context) is not None:
        return ()
    limit = context.standard["final_alignment"]
    if not _ahead(context, runway):
        return (_not_assessed("final_alignment", "deg", limit.source, _NOT_AHEAD),)
    states = _above(context, span, runway, _FLARE_M)
    if len(states) < _LEAST_STATES:
        return (_not_assessed("final_alignment", "deg", limit.source, "the log holds too little of the final leg"),)
    # meridians converge: the runway heading is transferred to the position of the aircraft
    convergence = wrap(states.longitude_rad - runway.longitude_rad) * np.sin((states.latitude_rad + runway.latitude_rad) / 2.0)
    angle = median(wrap(states.track_rad - runway.heading_rad - convergence))
    track = median(unwrapped(states.track_rad))
    sd = math.hypot(_track_sd(context, states) / math.sqrt(len(states) / _LEAST_STATES), _ALIGNED_SD_RAD)
    meets = _meets(states, runway, angle)
    where = ""
    if meets is not None:
        before = f"{miles(meets, 1)} before the threshold" if meets > _AT_THRESHOLD_M else "at the threshold"
        where = f"; it meets the extended centre line {before}"
    variation = context.motion.charted.variation.east_rad
    return (
        Finding(
            check="final_alignment",
            leg="final",
            part="final",
            sentence=(
                f"Final track {bearing_text(track - variation)}, {degrees(abs(angle), 0)} off runway {runway.name} "
                f"({bearing_text(runway.heading_rad - variation)}){where}."
            ),
            verdict=NOT_ASSESSED,
            measured=abs(angle) / DEG,
            limit=limit.value,
            unit="deg",
            sd=sd / DEG,
            source=limit.source,
            reason=_CRITERION,
            details={} if meets is None else {"meets_centre_line_nm": meets / NM},
            place=context.place(float(states.time_s[len(states) // 2])),
        ),
    )


def _track_sd(context: Context, states: States) -> float:
    """Typical standard deviation of the track over some states. [rad]"""
    path, wander = context.motion.path, context.motion.curves.path_noise.rate_sd(context.motion.path)
    middle = states.time_s[len(states) // 2 : len(states) // 2 + 1]
    speed = math.hypot(float(path.sd(middle, 1)[0]), wander)
    return speed / max(1.0, median(states.ground_speed_mps))


def _not_assessed(check: CheckName, unit: str, source: str, reason: str) -> Finding:
    sentence = {"final_alignment": "Alignment with the runway.",
                "stabilised_descent": "Descent below 1,000 ft above the threshold."}[check]  # fmt: skip
    return Finding(check, "final", None, sentence, NOT_ASSESSED, unit=unit, source=source, reason=reason)


def _last_stretch(context: Context, low_enough: bool) -> tuple[float, float] | None:
    """The stretch to the runway: the final part, and the inbound part before it where the fix is on or near the airfield.

    The inbound part is included where the final part is short or, with `low_enough`, begins below 1,000 ft above the threshold.
    """
    final, inbound = context.reversal.last_part("final"), context.reversal.last_part("inbound")
    runway = context.motion.charted.runway
    if final is None or runway is None:
        return None
    height = context.motion.altitude_at(final.start_s) - runway.elevation_m
    if inbound is not None and (final.duration_s < _SHORT_FINAL_S or (low_enough and height < _GATE_M)):
        return inbound.start_s, final.end_s
    return final.start_s, final.end_s


def _ahead(context: Context, runway: Runway) -> bool:
    """Whether the threshold lies ahead on the inbound course from the fix."""
    charted = context.motion.charted
    distance, bearing = geodesy.inverse(
        charted.fix_latitude_rad, charted.fix_longitude_rad, runway.latitude_rad, runway.longitude_rad
    )
    return float(distance) < _AT_FIX_M or math.cos(float(bearing) - charted.inbound_true_rad) > _AHEAD


def _above(context: Context, span: tuple[float, float], runway: Runway, height_m: float) -> States:
    """The states of a stretch until the aircraft is first below a height above the threshold."""
    states = context.motion.states.between(*span)
    low = np.flatnonzero(states.altitude_m < runway.elevation_m + height_m)
    return states.between(span[0], float(states.time_s[low[0]])) if len(low) else states


def before_threshold(states: States, runway: Runway) -> tuple[FloatArray, FloatArray]:
    """Distance before the threshold along the extended centre line, and from that line, positive to its right inbound. [m]"""
    distance, bearing = geodesy.inverse_near(
        runway.latitude_rad, runway.longitude_rad, states.latitude_rad, states.longitude_rad
    )
    off = bearing - (runway.heading_rad + math.pi)
    return distance * np.cos(off), -distance * np.sin(off)


def _meets(states: States, runway: Runway, angle: float) -> float | None:
    """Distance before the threshold at which the track, extended if need be, crosses the extended centre line. [m]"""
    if abs(angle) < _CROSSES_RAD:
        return None
    before, aside = before_threshold(states, runway)
    crossed = np.flatnonzero((aside[:-1] * aside[1:] <= 0.0) & (before[:-1] > 0.0))
    if len(crossed):
        k = int(crossed[0])
        share = float(aside[k] / (aside[k] - aside[k + 1])) if aside[k] != aside[k + 1] else 0.0
        return float(before[k] + share * (before[k + 1] - before[k]))
    meets = float(before[-1] + aside[-1] / math.tan(angle))
    return meets if meets > 0.0 and aside[-1] * angle < 0.0 else None


def stabilised_descent(context: Context) -> tuple[Finding, ...]:
    """Greatest rate of descent, over 15 s, below 1,000 ft above the threshold."""
    runway, span = context.motion.charted.runway, _last_stretch(context, low_enough=True)
    if span is None or runway is None:
        return ()
    limit = context.standard["stabilised_descent"]
    if not _ahead(context, runway):
        return (_not_assessed("stabilised_descent", "fpm", limit.source, _NOT_AHEAD),)
    states = _above(context, span, runway, _FLARE_M)
    height = states.altitude_m - runway.elevation_m
    low = np.flatnonzero(height < _GATE_M)
    if not context.motion.has_altitude or not np.isfinite(height).all():
        return (_not_assessed("stabilised_descent", "fpm", limit.source, "the log has no altitude, or lacks it in a part"),)
    if len(low) <= 2 * _SUSTAINED_S:
        gone_around_at = _climbed_away(context, float(height.min())) if len(height) else None
        why = gone_around_at or "the log holds too little below 1,000 ft above the threshold"
        return (_not_assessed("stabilised_descent", "fpm", limit.source, why),)
    lowest = int(np.argmin(height))
    stretch = states.between(float(states.time_s[low[0]]), float(states.time_s[max(lowest, int(low[0]) + 2 * _SUSTAINED_S)]))
    logged_m = context.motion.logged_altitude_m(stretch)  # in a hole the curve says nothing
    rate = (logged_m[:-_SUSTAINED_S] - logged_m[_SUSTAINED_S:]) / (
        stretch.time_s[_SUSTAINED_S:] - stretch.time_s[:-_SUSTAINED_S]
    )
    if np.isnan(rate).all():
        return (_not_assessed("stabilised_descent", "fpm", limit.source, GAP),)
    k = int(np.nanargmax(rate))
    time = float(stretch.time_s[k + _SUSTAINED_S // 2])
    sd = _rate_sd(context)
    margin = limit.value * FPM - float(rate[k])
    incomplete = context.altitudes_incomplete(float(stretch.time_s[0]), float(stretch.time_s[-1]))
    gone_around = context.reversal.ending == "climbed away"
    if gone_around:  # a gap may hide a steeper descent
        incomplete = incomplete or context.incomplete(float(stretch.time_s[0]), span[1])
    if float(height[lowest]) > _REACHED_M and not gone_around:
        incomplete = incomplete or _log_ends(context, float(height[-1]))
    down_to = f", down to the go-around {context.height.text(float(height[lowest]))} above it" if gone_around else ""
    verdict, reason = judge(margin, sd, incomplete)
    mean = float((stretch.altitude_m[0] - stretch.altitude_m[-1]) / (stretch.time_s[-1] - stretch.time_s[0]))
    above = context.height.text(float(stretch.altitude_m[k]) - runway.elevation_m)
    return (
        Finding(
            check="stabilised_descent",
            leg="final",
            part="final",
            sentence=(
                f"Below 1,000 ft above the threshold{down_to}: descent {mean / FPM:,.0f} ft/min on average, at most "
                f"{rate[k] / FPM:,.0f} ft/min over {_SUSTAINED_S} s, about {clock(time)}, {above} above it; "
                f"limit {limit.value:,.0f} ft/min."
            ),
            verdict=verdict,
            measured=float(rate[k]) / FPM,
            limit=limit.value,
            unit="fpm",
            margin=margin / FPM,
            sd=sd / FPM,
            source=limit.source,
            basis="altitude",
            reason=reason,
            details={"mean_fpm": mean / FPM},
            place=context.place(time),
        ),
    )


def _log_ends(context: Context, height_m: float) -> str:
    return f"the log ends {context.height.text(height_m)} above the threshold"


def _climbed_away(context: Context, height_m: float) -> str | None:
    """The reason that a missed approach was begun at the lowest point of the final leg; None if it was not."""
    if context.reversal.ending != "climbed away":
        return None
    return f"a missed approach was begun {context.height.text(height_m)} above the threshold"


def _rate_sd(context: Context) -> float:
    """Standard deviation of a rate of descent: scatter of both altitudes, drift between them, and unsteady air. [m/s]"""
    height = context.motion.curves.height
    if height is None:
        return math.nan
    scatter = median(height.curve.sd(context.motion.states.time_s[-_LEAST_STATES:]))
    change = math.hypot(math.sqrt(2.0) * scatter, math.sqrt(height.noise.walk_density * _SUSTAINED_S))
    return math.hypot(change / _SUSTAINED_S, _RATE_SD_MPS)


CHECKS = (
    Check(
        "final_alignment",
        final_alignment,
        "Angle between the median final track and the runway, and where the track meets the extended centre line.",
        "Down to 100 ft above the threshold.",
        limits={"final_alignment": ("deg",)},
    ),
    Check(
        "stabilised_descent",
        stabilised_descent,
        "Greatest rate of descent on final below 1,000 ft above the threshold.",
        "Change of altitude over 15 s.",
        limits={"stabilised_descent": ("fpm",)},
        weight=5.0,
        all_lost_by={"fpm": 300.0},
    ),
)
