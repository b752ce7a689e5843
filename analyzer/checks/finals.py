"""Checks of the final leg: alignment with the runway, glide path, and rate of descent near the ground."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.altitudes import altitude_missing
from analyzer.checks.below_minimum import circles_from_s, turned_off_s
from analyzer.checks.check import Check
from analyzer.checks.finding import NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.phrases import clock, degrees, miles
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FPM, FT, NM, BoolArray, FloatArray, bearing_text, unwrapped, wrap
from analyzer.procedure.charted import Runway
from analyzer.vocabulary import CheckName

__all__ = ["CHECKS", "final_alignment", "glide_path", "stabilised_descent"]

_FLARE_M = 100.0 * FT  # above the threshold; lower, the aircraft is landing
_REACHED_M = 200.0 * FT  # the log must cover the descent from 1,000 ft down to at least this height
_GATE_M = 1000.0 * FT
_LEAST_STATES = 10
_SUSTAINED_S = 15  # seconds over which a rate of descent is measured, so that gusts and noise of the altitude average out
_GLIDE_TO_M = 500.0 * FT  # lowest height above the threshold at which the glide path is measured
_PAST_HOLE_S = 3.0  # of a hole, at most, where a leg is lowest because what was lower is in it
_FOLLOWS_M = 100.0 * FT  # of descent, at least, where a path is followed
_MET_SHARE = 0.015  # share of the limit: this close, the path is met without crossing it
_FOLLOWED_S, _CLOSING_SHARE = 10, 0.05  # a larger share of the limit in these seconds is converging on the path
_SHORT_FINAL_S = 30.0
_AT_FIX_M, _AHEAD = 1.0 * NM, 0.5  # a fix this close is on the airfield; otherwise the runway lies within 60° of the course
_NOT_AHEAD = "the runway does not lie ahead on the inbound course"
_ALIGNED_SD_RAD = 0.2 * DEG  # of a charted runway heading, given to the degree or better
_RATE_SD_MPS = 30.0 * FPM  # of a rate of descent, due to unsteady air; an assumption, no source
_CRITERION = "for information only: the angle is a chart design criterion, not a limit on flying"
_ADVISORY = (
    "for information only: to a minimum descent altitude the aircraft may descend at any rate (14 CFR 1.1), and the path is "
    "advisory"
)
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
    sentence = {"final_alignment": "Alignment with the runway.", "glide_path": "Glide path.",
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


def _before_threshold(states: States, runway: Runway) -> tuple[FloatArray, FloatArray]:
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
    before, aside = _before_threshold(states, runway)
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
    down = stretch.altitude_m[:-_SUSTAINED_S] - stretch.altitude_m[_SUSTAINED_S:]
    rate = down / (stretch.time_s[_SUSTAINED_S:] - stretch.time_s[:-_SUSTAINED_S])
    k = int(np.argmax(rate))
    time = float(stretch.time_s[k + _SUSTAINED_S // 2])
    sd = _rate_sd(context)
    margin = limit.value * FPM - float(rate[k])
    incomplete = _incomplete_between(context, float(stretch.time_s[0]), float(stretch.time_s[-1]))
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


def _incomplete_between(context: Context, start_s: float, end_s: float) -> str | None:
    """Why the log of a stretch is incomplete: a gap, or altitudes missing for too long to interpolate."""
    missing = "altitude is missing in a part of it" if altitude_missing(context, [(start_s, end_s)]) else None
    return context.incomplete(start_s, end_s) or missing


def _rate_sd(context: Context) -> float:
    """Standard deviation of a rate of descent: scatter of both altitudes, drift between them, and unsteady air. [m/s]"""
    height = context.motion.curves.height
    if height is None:
        return math.nan
    scatter = median(height.curve.sd(context.motion.states.time_s[-_LEAST_STATES:]))
    change = math.hypot(math.sqrt(2.0) * scatter, math.sqrt(height.noise.walk_density * _SUSTAINED_S))
    return math.hypot(change / _SUSTAINED_S, _RATE_SD_MPS)


def glide_path(context: Context) -> tuple[Finding, ...]:
    """Greatest departure from the charted glide path, from meeting it until 500 ft above the threshold, or the go-around.

    The path is a straight line in space, below which the Earth curves away. The departure is an angle at the point where the
    path meets the runway. Closer to it, the error of the altitude is too great an angle. For information where the minimum is a
    minimum descent altitude: the path then is advisory.
    """
    charted = context.motion.charted
    runway, angle, crossing = charted.runway, charted.glide_path_rad, charted.threshold_crossing_height_m
    last = context.reversal.last_part("inbound") or context.reversal.last_part("final")
    if angle is None or crossing is None or runway is None or last is None:
        return ()
    limit = context.standard["glide_path"]
    if not context.motion.has_altitude:
        return (_not_assessed("glide_path", "deg", limit.source, "the log has no altitude"),)
    finals, circled = context.reversal.leg_spans("final"), circles_from_s(context)
    end = max(last.end_s, finals[-1][1]) if finals else last.end_s
    end = min(end, turned_off_s(context))
    states = context.motion.states.between(last.start_s, circled if circled is not None else end)
    hidden: list[float] = []
    if context.reversal.ending == "climbed away" and np.isfinite(states.altitude_m).any():
        # a gap may hide the beginning of the climb, so that the leg goes on into it, or is lowest where it is past the gap
        lowest_s = float(states.time_s[int(np.nanargmin(states.altitude_m))])
        hidden = [begin for begin, hole_end in context.motion.position_holes if begin < lowest_s <= hole_end + _PAST_HOLE_S]
        states = states.between(last.start_s, min([lowest_s, *hidden]))
    before, _ = _before_threshold(states, runway)
    from_aim = before + crossing / math.tan(angle)
    height = states.altitude_m - runway.elevation_m
    off = np.arctan2(height - from_aim**2 / (2.0 * geodesy.MEAN_RADIUS_M), from_aim) - angle
    low = np.flatnonzero(height < _GLIDE_TO_M)
    ahead = (from_aim > 0.0) & np.isfinite(off) & (np.arange(len(off)) < (low[0] if len(low) else len(off)))
    full_scale = context.standard["glide_path_full_scale"].value * DEG
    limit_rad = limit.value * full_scale
    on_final = states.time_s >= (finals[0][0] if finals else math.inf)
    first = _met(off, ahead, on_final, limit_rad)
    counted = ahead & (np.arange(len(off)) >= (first if first is not None else len(off)))
    advisory = charted.minimum is not None and charted.minimum.kind == "mda"
    if first is None or int(counted.sum()) < _LEAST_STATES:
        return (_not_assessed("glide_path", "deg", limit.source, "the glide path was not met in the log"),)
    sank = float(states.altitude_m[first]) - float(np.min(states.altitude_m[counted]))
    if context.reversal.ending == "turned away" and sank < _FOLLOWS_M:
        why = "the approach was given up without a descent on the glide path"
        return (_not_assessed("glide_path", "deg", limit.source, why),)
    sds = math.hypot(context.motion.level_sd_m, context.motion.position_sd_m * math.tan(angle)) / np.maximum(from_aim, 1.0)
    greatest = int(np.argmax(np.where(counted, np.abs(off), -1.0)))
    # farther out the same angle is known better: beyond the limit, the place counts where that is the surest
    surest = int(np.argmax(np.where(counted, (np.abs(off) - limit_rad) / sds, -math.inf)))
    k = surest if abs(float(off[surest])) > limit_rad else greatest
    time, sd, margin = float(states.time_s[k]), float(sds[k]), limit_rad - abs(float(off[k]))
    gap = _incomplete_between(context, float(states.time_s[first]), float(states.time_s[counted][-1]))
    gone_around = context.reversal.ending == "climbed away" and not len(low)
    if not len(low) and not gone_around:
        gap = gap or "the log ends before 500 ft above the threshold"
    if hidden:
        gap = gap or "the log has a gap where the climb began"
    verdict, reason = (NOT_ASSESSED, _ADVISORY) if advisory else judge(margin, sd, gap)
    rms = float(np.sqrt(np.mean(off[counted] ** 2)))
    away, share = float(off[k]) * float(from_aim[k]), abs(float(off[k])) / full_scale
    least = context.height.text(float(height[counted][-1]))
    down_to = f" down to the go-around {least} above the threshold" if gone_around else ""
    limited = "" if advisory else f"; limit {degrees(limit_rad, 2)}, {limit.value:.0%}"
    met_at = f"{clock(float(states.time_s[first]))} at {context.height.text(float(states.altitude_m[first]))}"
    return (
        Finding(
            check="glide_path",
            leg="final",
            part=None,
            sentence=(
                f"Glide path met at {met_at}; from there{down_to} {'at most' if k == greatest else 'most plainly'} "
                f"{degrees(abs(float(off[k])), 2)} ({context.height.text(abs(away))}) "
                f"{'above' if off[k] > 0 else 'below'} it, {share:.0%} of full scale, at {clock(time)}, "
                f"{miles(float(before[k]), 1)} before the threshold{limited}."
            ),
            verdict=verdict,
            measured=abs(float(off[k])) / DEG,
            limit=None if advisory else limit_rad / DEG,
            unit="deg",
            margin=None if advisory else margin / DEG,
            sd=sd / DEG,
            source=limit.source,
            basis="altitude",
            reason=reason,
            details={"rms_deg": rms / DEG, "departure_ft": away / FT, "met_ft": float(states.altitude_m[first]) / FT},
            place=context.place(time),
        ),
    )


def _met(off_rad: FloatArray, ahead: BoolArray, on_final: BoolArray, limit_rad: float) -> int | None:
    """Index of the state that meets the glide path; None if none does.

    The path is met when it is first crossed, reached or followed, after the last departure beyond the limit before final.
    Following it means staying within the limit on the final leg without converging on it. Where it is not met so, but was
    crossed from below before the final leg, it was met there and left above.
    """
    wide = np.flatnonzero(ahead & ~on_final & (np.abs(off_rad) > limit_rad))
    begin = int(wide[-1]) + 1 if len(wide) else 0
    met = np.abs(off_rad) < limit_rad * _MET_SHARE
    met[1:] |= off_rad[1:] * off_rad[:-1] <= 0.0
    stays = np.abs(off_rad[:-_FOLLOWED_S]) - np.abs(off_rad[_FOLLOWED_S:]) <= _CLOSING_SHARE * limit_rad
    within = np.abs(off_rad) <= limit_rad
    met[: len(stays)] |= on_final[: len(stays)] & within[: len(stays)] & within[_FOLLOWED_S:] & stays
    indices = np.flatnonzero(met & ahead & (np.arange(len(off_rad)) >= begin))
    if not len(indices):
        indices = np.flatnonzero((off_rad[:-1] < 0.0) & (off_rad[1:] >= 0.0) & ahead[1:] & ~on_final[1:])[-1:] + 1
    return int(indices[0]) if len(indices) else None


CHECKS = (
    Check(
        "final_alignment",
        final_alignment,
        "Angle between the median final track and the runway, and where the track meets the extended centre line.",
        "Down to 100 ft above the threshold.",
        limits={"final_alignment": ("deg",)},
    ),
    Check(
        "glide_path",
        glide_path,
        "Greatest departure from the charted glide path, from meeting it until 500 ft above the threshold; for information "
        "where the minimum is a minimum descent altitude.",
        "Angle of elevation at the point where the path meets the runway, less the path's, as a share of full scale.",
        limits={"glide_path": ("of full scale",), "glide_path_full_scale": ("deg",)},
        weight=10.0,
        all_lost_by={"of_limit": 0.5},
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
