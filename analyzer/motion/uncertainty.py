"""Standard deviations of the states: the smoothing's own, and what no smoothing can see.

Three errors add up. The samples' scatter: the smoothing carries it through. Their slow wander, which the curve follows: its
rate is measured on the log (`analyzer.motion.noise`), its size is an assumption. And where a quantity is not seen but inferred,
what that leaves out: sideslip and gusts for the bank, the error of the wind for what is measured through the air.

A change of altitude within minutes, as from a level held, has less error than an altitude against a charted one: the constant
offset of the log cancels. What is left is measured on the log: the scatter after smoothing, the wander, and the
rounding. A wander of density q that lasts for a time T has the variance q T/2; T is taken as 90 s. A simulator's log has next
to none of it. Where the log does not show it, q is the assumed one, and so is the size, 20 ft. What coarse digits account for
is not taken for wander: altitudes to 100 ft looked as if they wandered by 130.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.noise import digit_of
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FT, GRAVITY, FloatArray

if TYPE_CHECKING:
    from analyzer.motion.motion import Motion
    from analyzer.motion.spline import SmoothingSpline
    from analyzer.motion.states import States

__all__ = [
    "ALTITUDE_SD_M",
    "ALTITUDE_WALK",
    "EXTREME",
    "FILLED_POSITION_SD_M",
    "POSITION_SD_M",
    "POSITION_WALK",
    "StateErrors",
    "bank_sd",
    "distance_sd",
    "height_noise_sd",
    "mean_bank_sd",
    "rolling_sd",
    "smoothed_over",
    "state_errors",
    "track_sd",
]

# How far a satellite receiver wanders, each component of its position, and its height, which a barometric altitude does not
# do less; and for how long. Assumptions, no source. The densities are those of a first-order Gauss-Markov process of this size.
POSITION_SD_M = 3.0
ALTITUDE_SD_M = 20.0 * FT
FILLED_POSITION_SD_M = 18.0  # of fixes recovered from lines, where a corner is not found: from flights filled in for trial
EXTREME = 1.5  # standard deviations: the mean extreme of ten independent normal values, as a leg of some minutes has them
_POSITION_LASTS_S, _ALTITUDE_LASTS_S = 60.0, 90.0
POSITION_WALK = 2.0 * POSITION_SD_M**2 / _POSITION_LASTS_S
ALTITUDE_WALK = 2.0 * ALTITUDE_SD_M**2 / _ALTITUDE_LASTS_S
# Sideslip and gusts, absent in a coordinated turn: from flights in a flight-dynamics model. The error of a recorded
# bank is an assumption.
_COORDINATED_SD_RAD = 0.35 * DEG
_RECORDED_BANK_SD_RAD = 0.5 * DEG
# How late or early a bank is known while it changes: a constant, from flights of a research aircraft with recorded roll and
# flights in a flight-dynamics model, and what the smoothing draws a roll out by, which grows with the square of its width.
# That was found with rolls at 4 to 8 degrees a second, logged every half to eight seconds with scatters up to 5 m. A curve
# between samples is no narrower than a share of the step from one to the next; of a longer one the error of the curve tells.
_ROLL_LATE_S, _DRAWN_OUT_PER_S, _STEP_SHARE, _LONGEST_STEP_S = 0.25, 0.2, 1.0 / 3.0, 8.0
_ROLL_NEXT_TO_S = 2
# Of its bank a turn loses this times what the bandwidth's share of its duration exceeds; found with turns of 15 to 60 s of
# known bank, whose positions were shaken by up to 50 m. The loss counts as one standard deviation.
_FLATTENED, _NOT_FLATTENED = 4.0, 0.14


@dataclass(frozen=True, eq=False)
class StateErrors:
    """Standard deviations of `States`, field by field. SI and radians; NaN where the quantity is not known.

    `distance_m` holds for the position in any direction, `track_rad` is at most π. Those of airspeed and heading are NaN where
    no wind could be estimated.
    """

    distance_m: FloatArray
    altitude_m: FloatArray
    vertical_speed_mps: FloatArray
    ground_speed_mps: FloatArray
    track_rad: FloatArray
    true_airspeed_mps: FloatArray
    heading_rad: FloatArray
    turn_rate_rad_s: FloatArray
    bank_rad: FloatArray


def state_errors(motion: Motion, states: States) -> StateErrors:
    """The standard deviations of some states of a flight."""
    curves, time_s = motion.curves, states.time_s
    path, height, wind = curves.path, curves.height, curves.wind
    unknown = np.full(len(states), np.nan)
    velocity = _velocity_sd(motion, time_s)
    airspeed = np.maximum(states.true_airspeed_mps, 1.0)
    acceleration = path.sd(time_s, 2)
    level = np.isfinite(states.altitude_m)
    return StateErrors(
        distance_m=distance_sd(motion, states),
        altitude_m=np.where(level, np.hypot(height.curve.sd(time_s), motion.altitude_sd_m), np.nan) if height else unknown,
        vertical_speed_mps=(
            np.where(level, np.hypot(height.curve.sd(time_s, 1), height.noise.rate_sd(height.curve)), np.nan)
            if height
            else unknown
        ),
        ground_speed_mps=velocity,
        track_rad=_track_sd(states, velocity),
        true_airspeed_mps=wind.airspeed_sds(time_s) if wind else unknown,
        heading_rad=np.hypot(wind.component_sds(time_s) / airspeed, _COORDINATED_SD_RAD) if wind else unknown,
        turn_rate_rad_s=np.hypot(acceleration, GRAVITY * _COORDINATED_SD_RAD) / airspeed,
        bank_rad=bank_sd(motion, states, acceleration),
    )


def distance_sd(motion: Motion, states: States) -> FloatArray:
    """Standard deviation of the positions of some states, in any direction. [m]"""
    return np.hypot(motion.path.sd(states.time_s), motion.position_sd_m)


def track_sd(motion: Motion, states: States) -> FloatArray:
    """Standard deviation of the track over the ground in some states, π at most. [rad]"""
    return _track_sd(states, _velocity_sd(motion, states.time_s))


def _velocity_sd(motion: Motion, time_s: FloatArray) -> FloatArray:
    return np.hypot(motion.path.sd(time_s, 1), motion.curves.path_noise.rate_sd(motion.path))


def _track_sd(states: States, velocity_sd_mps: FloatArray) -> FloatArray:
    return np.minimum(velocity_sd_mps / np.maximum(states.ground_speed_mps, 1.0), math.pi)


def bank_sd(motion: Motion, states: States, acceleration_sd: FloatArray) -> FloatArray:
    """Standard deviation of the bank, given that of the horizontal acceleration. [rad]"""
    cosine, height = np.cos(states.bank_rad), motion.curves.height
    noise = acceleration_sd / GRAVITY * cosine**2
    if height is not None:
        noise = np.hypot(noise, height.lift_sd(states.time_s) / GRAVITY * cosine * np.sin(states.bank_rad))
    noise = np.hypot(noise, np.interp(states.time_s, motion.states.time_s, motion.rolling_sd_rad))
    return np.where(motion.bank_recorded(states), _RECORDED_BANK_SD_RAD, np.hypot(noise, _COORDINATED_SD_RAD))


def rolling_sd(states: States, width_s: FloatArray) -> FloatArray:
    """Error of the bank in a roll due to a smoothing of this width at each state, from the roll rate within 2 s. [rad]"""
    if len(states) < 2:
        return np.zeros(len(states))
    rate = np.abs(np.gradient(states.bank_rad, states.time_s))
    around = rate.copy()
    for off in range(1, min(_ROLL_NEXT_TO_S + 1, len(rate))):
        np.maximum(around[off:], rate[:-off], out=around[off:])
        np.maximum(around[:-off], rate[off:], out=around[:-off])
    sd_rad: FloatArray = np.hypot(_ROLL_LATE_S, _DRAWN_OUT_PER_S * width_s**2) * around
    return sd_rad


def smoothed_over(path: SmoothingSpline, sampled_s: FloatArray, time_s: FloatArray) -> FloatArray:
    """The width that a path is smoothed over at some instants: that of its filter, or of the step between its samples. [s]"""
    after = np.clip(np.searchsorted(sampled_s, time_s), 1, len(sampled_s) - 1)
    step = sampled_s.take(after) - sampled_s.take(after - 1)
    width_s: FloatArray = np.maximum(path.smoothing_s(time_s), _STEP_SHARE * np.minimum(step, _LONGEST_STEP_S))
    return width_s


def mean_bank_sd(motion: Motion, states: States) -> float:
    """Standard deviation of the mean bank over a stretch of a turn. [rad]

    The mean acceleration is the change of velocity over the time it takes, so that the errors between do not count; sideslip is
    there all along.
    """
    if motion.bank_recorded(states).all():
        return _RECORDED_BANK_SD_RAD
    path, ends = motion.curves.path, states.time_s[[0, -1]]
    velocity = np.hypot(path.sd(ends, 1), motion.curves.path_noise.rate_sd(path))
    seconds = max(float(ends[1] - ends[0]), 1.0)
    mean = float(np.hypot(*velocity)) / seconds / GRAVITY * float(np.mean(np.cos(states.bank_rad))) ** 2
    # noise that calls for wide smoothing flattens a turn that is not much longer, and draws it out
    flattened = _FLATTENED * max(0.0, path.bandwidth_s / seconds - _NOT_FLATTENED) * float(np.mean(np.abs(states.bank_rad)))
    return math.hypot(mean, _COORDINATED_SD_RAD, flattened)


def height_noise_sd(motion: Motion) -> float:
    """Standard deviation of an altitude of a log against others of it some minutes away; NaN without any. [m]"""
    height = motion.curves.height
    if height is None:
        return math.nan
    rounding = digit_of(motion.track.altitude_m[np.isfinite(motion.track.altitude_m)]) / math.sqrt(12.0)
    scatter = median(height.curve.sd(motion.states.time_s))
    return math.hypot(scatter, height.noise.wander_sd(_ALTITUDE_LASTS_S), rounding)
