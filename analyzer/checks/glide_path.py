"""Check of the charted glide path: how far the aircraft departed from it, once it was met.

The path is a straight line in space, below which the Earth curves away. A departure is an angle at the point where the path
meets the runway, so that close to it the error of the altitude is a great angle: the check ends 500 ft above the threshold.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.below_minimum import circles_from_s, turned_off_s
from analyzer.checks.check import Check
from analyzer.checks.finals import before_threshold
from analyzer.checks.finding import NO_ALTITUDE, NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.phrases import clock, degrees, miles
from analyzer.frozen import dataclass
from analyzer.legs.reversal import Part
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, BoolArray, FloatArray
from analyzer.procedure.charted import Runway

__all__ = ["CHECKS", "glide_path"]

_LOWEST_M = 500.0 * FT  # above the threshold
_LEAST_STATES = 10
_PAST_HOLE_S = 3.0  # of a hole, at most, where a leg is lowest because what was lower is in it
_FOLLOWS_M = 100.0 * FT  # of descent, at least, where a path is followed
_MET_SHARE = 0.015  # share of the limit: this close, the path is met without crossing it
_FOLLOWED_S, _CLOSING_SHARE = 10, 0.05  # a larger share of the limit in these seconds is converging on the path
_NOT_MET = "the glide path was not met in the log"
_GIVEN_UP = "the approach was given up without a descent on the glide path"
_ADVISORY = (
    "for information only: to a minimum descent altitude the aircraft may descend at any rate (14 CFR 1.1), and the path is "
    "advisory"
)


@dataclass(frozen=True)
class _Path:
    """A charted glide path, and how far from it the aircraft may be."""

    runway: Runway
    angle_rad: float
    crossing_m: float  # its height above the threshold
    limit_rad: float
    full_scale_rad: float


@dataclass(frozen=True, eq=False)
class _Flown:
    """The states of the inbound and final leg against the glide path.

    `height_m` is above the threshold, `before_m` the distance to it, `from_aim_m` that to the point where the path meets the
    runway, and `off_rad` the departure, positive above the path. `counted` are the states from where the path was met.
    """

    states: States
    height_m: FloatArray
    before_m: FloatArray
    from_aim_m: FloatArray
    off_rad: FloatArray
    counted: BoolArray
    to_lowest: bool  # whether the descent went on to 500 ft above the threshold
    climb_hidden: bool  # whether a gap hides where a go-around began


def glide_path(context: Context) -> tuple[Finding, ...]:
    """Greatest departure from the charted glide path, from meeting it until 500 ft above the threshold, or the go-around.

    For information where the minimum is a minimum descent altitude: the path then is advisory.
    """
    path = _charted(context)
    last = context.reversal.last_part("inbound") or context.reversal.last_part("final")
    if path is None or last is None:
        return ()
    if not context.motion.has_altitude:
        return (_not_assessed(context, NO_ALTITUDE),)
    flown = _flown(context, path, last)
    if int(flown.counted.sum()) < _LEAST_STATES:
        return (_not_assessed(context, _NOT_MET),)
    altitude = flown.states.altitude_m[flown.counted]
    if context.reversal.ending == "turned away" and float(altitude[0]) - float(np.min(altitude)) < _FOLLOWS_M:
        return (_not_assessed(context, _GIVEN_UP),)
    return (_judged(context, path, flown),)


def _charted(context: Context) -> _Path | None:
    charted, standard = context.motion.charted, context.standard
    runway, angle, crossing = charted.runway, charted.glide_path_rad, charted.threshold_crossing_height_m
    if angle is None or crossing is None or runway is None:
        return None
    full_scale = standard["glide_path_full_scale"].value * DEG
    return _Path(runway, angle, crossing, standard["glide_path"].value * full_scale, full_scale)


def _flown(context: Context, path: _Path, last: Part) -> _Flown:
    """The inbound leg, or a final leg without one, and what follows until the path is left for a landing, circle or climb."""
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
    before, _ = before_threshold(states, path.runway)
    from_aim = before + path.crossing_m / math.tan(path.angle_rad)
    height = states.altitude_m - path.runway.elevation_m
    off = np.arctan2(height - from_aim**2 / (2.0 * geodesy.MEAN_RADIUS_M), from_aim) - path.angle_rad
    low, number = np.flatnonzero(height < _LOWEST_M), np.arange(len(off))
    ahead = (from_aim > 0.0) & np.isfinite(off) & (number < (low[0] if len(low) else len(off)))
    met = _met(off, ahead, states.time_s >= (finals[0][0] if finals else math.inf), path.limit_rad)
    counted = ahead & (number >= (met if met is not None else len(off)))
    return _Flown(states, height, before, from_aim, off, counted, bool(len(low)), bool(hidden))


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


def _judged(context: Context, path: _Path, flown: _Flown) -> Finding:
    """The finding on the greatest departure, or, beyond the limit, on the one that is most surely beyond it."""
    limit, states, off = context.standard["glide_path"], flown.states, flown.off_rad
    position_sd_m = context.motion.position_sd_m * math.tan(path.angle_rad)
    sds = math.hypot(context.motion.level_sd_m, position_sd_m) / np.maximum(flown.from_aim_m, 1.0)
    greatest = int(np.argmax(np.where(flown.counted, np.abs(off), -1.0)))
    # farther out the same angle is known better: beyond the limit, the place counts where that is the surest
    surest = int(np.argmax(np.where(flown.counted, (np.abs(off) - path.limit_rad) / sds, -math.inf)))
    k = surest if abs(float(off[surest])) > path.limit_rad else greatest
    time, sd, margin = float(states.time_s[k]), float(sds[k]), path.limit_rad - abs(float(off[k]))
    advisory = context.motion.charted.minimum is not None and context.motion.charted.minimum.kind == "mda"
    verdict, reason = (NOT_ASSESSED, _ADVISORY) if advisory else judge(margin, sd, _incomplete(context, flown))
    departure_m = float(off[k]) * float(flown.from_aim_m[k])
    met = int(np.argmax(flown.counted))
    met_m = float(states.altitude_m[met])
    text = context.height.text
    down_to = f" down to the go-around {text(float(flown.height_m[flown.counted][-1]))} above the threshold"
    limited = "" if advisory else f"; limit {degrees(path.limit_rad, 2)}, {limit.value:.0%}"
    return Finding(
        check="glide_path",
        leg="final",
        part=None,
        sentence=(
            f"Glide path met at {clock(float(states.time_s[met]))} at {text(met_m)}; from there"
            f"{down_to if _gone_around(context, flown) else ''} {'at most' if k == greatest else 'most plainly'} "
            f"{degrees(abs(float(off[k])), 2)} ({text(abs(departure_m))}) {'above' if off[k] > 0 else 'below'} it, "
            f"{abs(float(off[k])) / path.full_scale_rad:.0%} of full scale, at {clock(time)}, "
            f"{miles(float(flown.before_m[k]), 1)} before the threshold{limited}."
        ),
        verdict=verdict,
        measured=abs(float(off[k])) / DEG,
        limit=None if advisory else path.limit_rad / DEG,
        unit="deg",
        margin=None if advisory else margin / DEG,
        sd=sd / DEG,
        source=limit.source,
        basis="altitude",
        reason=reason,
        details={
            "rms_deg": float(np.sqrt(np.mean(off[flown.counted] ** 2))) / DEG,
            "departure_ft": departure_m / FT,
            "met_ft": met_m / FT,
        },
        place=context.place(time),
    )


def _incomplete(context: Context, flown: _Flown) -> str | None:
    """Why the log may lack a greater departure; None where it does not."""
    counted_s = flown.states.time_s[flown.counted]
    gap = context.altitudes_incomplete(float(counted_s[0]), float(counted_s[-1]))
    if not flown.to_lowest and not _gone_around(context, flown):
        gap = gap or "the log ends before 500 ft above the threshold"
    return gap or ("the log has a gap where the climb began" if flown.climb_hidden else None)


def _gone_around(context: Context, flown: _Flown) -> bool:
    """Whether a go-around was begun above 500 ft above the threshold."""
    return context.reversal.ending == "climbed away" and not flown.to_lowest


def _not_assessed(context: Context, reason: str) -> Finding:
    source = context.standard["glide_path"].source
    return Finding("glide_path", "final", None, "Glide path.", NOT_ASSESSED, unit="deg", source=source, reason=reason)


CHECKS = (
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
)
