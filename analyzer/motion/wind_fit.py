"""Wind and true airspeed from ground velocity alone, as turns reveal them.

In still air the tip of the velocity vector runs round a circle about zero as the aircraft turns; in wind, about the wind [1]_
[2]_. So

    |ground velocity - wind| = true airspeed

at every instant. The unknowns are estimated together, at nodes some seconds apart, as a state seen through this equation (a
Gauss-Newton solution of one banded system): the two components of the wind, the airspeed that the pilot means to fly and its
acceleration, and what the airspeed departs from that (`wind_prior`). The pilot means to hold what the instrument indicates
(`held_airspeed`): the true airspeed falls in a descent, and would else be taken for wind. An aircraft that slows down while it
turns looks like one in a wind. So two models are fitted: one whose airspeed is held but for a few sudden changes, and one whose
accelerations are estimated with the rest, starting from a wide prior, so that they stay where the other turns and legs do not
contradict them. Both are weighted by their probability given what is seen around the turns, and their difference counts as an
error too. Errors grow away from turns.

References
----------
.. [1] D. Gray, "Using GPS to accurately establish true airspeed", 1998.
.. [2] D. Delahaye, S. Puechmorel, "TAS and wind estimation from radar data", ICARCV 2008, 1033-1038: turns are needed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.airspeed import held_airspeed
from analyzer.motion.lapack import dpbtrf, dtbtrs
from analyzer.motion.wind import LEAST_AIRSPEED_MPS, LEAST_HEADING_CHANGE_RAD, Fit, WindEstimate
from analyzer.motion.wind_prior import (
    ACCELERATION,
    DEPARTURE,
    EAST,
    MEANT,
    NORTH,
    STRAIGHT_RAD_S,
    UNKNOWNS,
    Prior,
    departure_sd,
    expected_acceleration,
    further,
)
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FloatArray, unwrapped

__all__ = ["BRIDGED_SD", "NOTHING_RECORDED", "SMOOTHED_SD", "THROWN_SD", "Recorded", "estimate_wind"]

SMOOTHED_SD = 0.25  # m/s: error of a smoothed ground velocity, as independent between nodes
BRIDGED_SD = 10.0  # m/s: of what the curve bridges a hole with, in which a turn may have begun or ended
THROWN_SD = 1e4  # m/s: of the curve where positions jump, which says nothing
_HEADING_SD_RAD = 2.0 * DEG  # of a logged heading against the motion through the air: compass, sideslip
_LOGGED_AIRSPEED_SD = 1.0  # m/s: of a logged true airspeed
_STEADY_MPS2 = 0.003  # accelerations of one who holds the airspeed
_FIRST_MPS2 = 0.15  # accelerations expected everywhere to begin with, of one who may not
_TEMPER = 3.0  # the probabilities of the two fits are known no better than to this factor in their exponent
# In the logarithm: accelerations that are to be expected where some were found make any flight more probable, by about so much
# where the airspeed is held. Found on simulated flights.
_BY_CHANCE = 5.0
_NEGLIGIBLE = 0.02  # odds
# s: how far from a turn what is seen tells which of the fits is right. Straight flight far from any looks the same in both, but
# for how steadily an autopilot holds an airspeed; in hours of it that would outweigh the turns.
_AROUND_S = 900.0
_MOST_STEPS = 30  # few flights take more than a dozen; those that are cut short were up to 25 kt off
_SETTLED_MPS = 0.05  # the wind has settled when a step changes it by no more


# a linear equation at every node: coefficients of the unknowns in it, in their order, value, and standard deviation
_Equation: TypeAlias = tuple[Mapping[int, FloatArray | float], FloatArray, FloatArray]


@dataclass(frozen=True, eq=False)
class Recorded:
    """Heading [rad, true] and true airspeed [m/s] as logged at the nodes, NaN or None where there is none.

    `checked` says whether the turns confirm them.
    """

    heading_rad: FloatArray | None = None
    true_airspeed_mps: FloatArray | None = None
    checked: bool = True

    @property
    def complete(self) -> bool:
        """Whether both are there, which determines the wind without a turn."""
        return self.heading_rad is not None and self.true_airspeed_mps is not None

    def equations(self, velocity: FloatArray, speed: FloatArray, held: FloatArray) -> Iterator[_Equation]:
        """Their equations for the unknowns, with an infinite standard deviation where not logged.

        The airspeed meant counts from that of one who holds the indicated airspeed.
        """
        if self.heading_rad is not None:
            # no motion through the air across the heading, but for compass and sideslip
            known = np.isfinite(self.heading_rad)
            heading = np.where(known, self.heading_rad, 0.0)
            north, east = -np.sin(heading), np.cos(heading)
            sd = np.where(known, _HEADING_SD_RAD * speed, np.inf)
            yield {NORTH: north, EAST: east}, north * velocity[0] + east * velocity[1], sd
        if self.true_airspeed_mps is not None:
            known = np.isfinite(self.true_airspeed_mps)
            logged = np.where(known, self.true_airspeed_mps - held, 0.0)
            yield {DEPARTURE: 1.0, MEANT: 1.0}, logged, np.where(known, _LOGGED_AIRSPEED_SD, np.inf)


NOTHING_RECORDED = Recorded()


@dataclass(frozen=True, eq=False)
class _Seen:
    """What is seen at the nodes: velocity as rows, north and east, its standard deviation, and what was recorded.

    The airspeed meant counts from `held`, the true airspeed of one who holds the indicated airspeed.
    """

    velocity: FloatArray
    sd: FloatArray
    held: FloatArray
    recorded: Recorded

    def equations(self, wind: FloatArray) -> Iterator[_Equation]:
        """What is seen, linear about a wind."""
        through_air = self.velocity - wind
        speed = np.maximum(np.hypot(*through_air), 1e-3)
        north, east = through_air / speed
        value = speed + north * wind[0] + east * wind[1] - self.held
        yield {NORTH: north, EAST: east, DEPARTURE: 1.0, MEANT: 1.0}, value, self.sd
        yield from self.recorded.equations(self.velocity, speed, self.held)


@dataclass(frozen=True, eq=False)
class _Fitted:
    """The unknowns of all nodes, shape (5, n), the Cholesky factor, and the logarithm of the evidence, by nodes.

    The evidence of a node is how probable it is after those before it.
    """

    unknown: FloatArray
    factor: FloatArray
    evidence: FloatArray


def _held(seen: _Seen, prior: Prior) -> _Fitted:
    """The fit of a flight whose airspeed is held but for occasional sudden changes: its steps have Cauchy tails."""
    count = seen.velocity.shape[1]
    wind, held, steady = np.zeros_like(seen.velocity), np.ones(count - 1), np.full(count, _STEADY_MPS2)
    for _ in range(_MOST_STEPS):
        weights = held
        band, known = prior.with_changes(steady, weights)
        fit = _step(seen, band, wind)
        before, wind = wind, fit.unknown[:2]
        steps = prior.steps(fit.unknown)
        held = 2.0 / (1.0 + steps**2)
        if float(np.abs(wind - before).max()) < _SETTLED_MPS:
            break
    # of the steps as they are distributed, over that of the normal deviates they were taken for; nothing where it is held
    long_tailed = -np.log1p(steps**2)
    normal = 0.5 * np.log(weights / 2.0) - 0.5 * weights * steps**2
    tails = np.concatenate([[0.0], long_tailed - normal])
    return replace(fit, evidence=fit.evidence + known + tails)


def _changing(seen: _Seen, prior: Prior) -> _Fitted:
    """The fit of a flight whose airspeed may change anywhere: accelerations are to be expected where some were found."""
    count = seen.velocity.shape[1]
    wind, expected, held = np.zeros_like(seen.velocity), np.full(count, _FIRST_MPS2), np.ones(count - 1)
    for _ in range(_MOST_STEPS):
        band, known = prior.with_changes(expected, held)
        fit = _step(seen, band, wind)
        before, wind = wind, fit.unknown[:2]
        expected = further(expected, expected_acceleration(fit.unknown[ACCELERATION]))
        if float(np.abs(wind - before).max()) < _SETTLED_MPS:
            break
    return replace(fit, evidence=fit.evidence + known)


def _step(seen: _Seen, prior: FloatArray, wind: FloatArray) -> _Fitted:
    """One Gauss-Newton step from a wind; its evidence is relative to the information of the prior."""
    unknown, factor, misfit = _solve(seen.equations(wind), prior)
    return _Fitted(unknown, factor, -np.log(factor[0]).reshape(-1, UNKNOWNS).sum(axis=1) - misfit)


def _solve(equations: Iterable[_Equation], prior: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The unknowns that fit linear equations and a prior, the Cholesky factor, and half the residual sum of squares by nodes.

    The band of the prior, as `Prior` has it, is overwritten.
    """
    right, squares = np.zeros(prior.shape[:2]), np.zeros(len(prior))
    for coefficients, value, sd in equations:
        weight = 1.0 / sd**2
        squares += weight * value**2
        pairs = list(coefficients.items())
        for place, (unknown, coefficient) in enumerate(pairs):
            weighted = weight * coefficient
            right[:, unknown] += weighted * value
            for other, times in pairs[place:]:
                prior[:, unknown, other - unknown] += weighted * times
    factor: FloatArray = dpbtrf(prior.reshape(-1, prior.shape[2]).T, lower=1, overwrite_ab=1)[0]
    forward = dtbtrs(factor, right.ravel(), uplo="L")[0]
    solution = dtbtrs(factor, forward, uplo="L", trans="T")[0]
    explained = (forward.reshape(-1, UNKNOWNS) ** 2).sum(axis=1)
    return solution.reshape(-1, UNKNOWNS).T, factor, 0.5 * (squares - explained)


def _changed(time_s: FloatArray, velocity: FloatArray, held: _Fitted, changing: _Fitted) -> float:
    """The probability that the airspeed was not held, by what is seen around the turns; without any, by the whole flight."""
    turning = np.abs(np.diff(unwrapped(np.arctan2(velocity[1], velocity[0])))) > STRAIGHT_RAD_S * np.diff(time_s)
    turned_s = time_s[:-1][turning] if turning.any() else time_s
    before = np.maximum(np.searchsorted(turned_s, time_s, side="right") - 1, 0)
    after = np.minimum(before + 1, len(turned_s) - 1)
    around = np.minimum(np.abs(time_s - turned_s[before]), np.abs(time_s - turned_s[after])) < _AROUND_S
    gained = float((held.evidence - changing.evidence)[around].sum())
    return 1.0 / (1.0 + math.exp(min(max((gained + _BY_CHANCE) / _TEMPER, -50.0), 50.0)))


def estimate_wind(
    time_s: FloatArray,
    velocity_mps: FloatArray,
    height_m: FloatArray,
    recorded: Recorded = NOTHING_RECORDED,
    velocity_sd_mps: FloatArray | float = SMOOTHED_SD,
    begins_s: Sequence[float] = (),
) -> WindEstimate | None:
    """Wind and airspeed over a flight.

    Parameters
    ----------
    time_s : array, shape (n,)
        Rising instants, uneven steps allowed. [s]
    velocity_mps : array, shape (n, 2)
        Ground velocity to north and to east. [m/s]
    height_m : array, shape (n,)
        Heights at the instants, NaN where unknown. [m]
    recorded : Recorded
        Heading and true airspeed as logged at the instants, where they are to be believed.
    velocity_sd_mps : array, shape (n,), or float
        Standard deviation of the velocities.
    begins_s : sequence of float
        When another flight begins, which has an airspeed of its own. [s]

    Returns
    -------
    WindEstimate or None
        None where the flight as a whole turned by less than `LEAST_HEADING_CHANGE_RAD` while it flew, and heading and true
        airspeed were not both recorded.
    """
    if len(time_s) < 3:
        return None
    step, velocity = np.diff(time_s), np.ascontiguousarray(velocity_mps.T)
    speed = np.hypot(*velocity)
    anew = np.zeros(len(step), dtype=bool)
    anew[np.clip(np.searchsorted(time_s, begins_s) - 1, 0, len(step) - 1)] = True
    prior = Prior.over(step, height_m, departure_sd(step, velocity), anew)
    sd = np.broadcast_to(np.asarray(velocity_sd_mps, dtype=np.float64), len(time_s))
    seen = _Seen(velocity, sd, held_airspeed(median(speed), height_m), recorded)
    held, changing = _held(seen, prior), _changing(seen, prior)
    changed = _changed(time_s, velocity, held, changing)
    fits = tuple(
        Fit(fit.unknown, fit.factor, odds) for fit, odds in ((held, 1.0 - changed), (changing, changed)) if odds > _NEGLIGIBLE
    )
    unknown: FloatArray = np.average([fit.unknown for fit in fits], axis=0, weights=[fit.odds for fit in fits])
    wind = unknown[:2]
    north, east = velocity - wind
    flown = np.hypot(north, east) >= LEAST_AIRSPEED_MPS
    heading = np.full(len(time_s), np.nan)
    heading[flown] = unwrapped(np.arctan2(east[flown], north[flown]))
    turned = bool(flown.any()) and np.ptp(heading[flown]) >= LEAST_HEADING_CHANGE_RAD
    if not turned and not recorded.complete:
        return None
    return WindEstimate(
        time_s=time_s,
        to_north_mps=wind[NORTH].copy(),
        to_east_mps=wind[EAST].copy(),
        true_airspeed_mps=unknown[DEPARTURE] + unknown[MEANT] + seen.held,
        heading_rad=heading,
        height_m=height_m,
        fits=fits,
        from_recorded=recorded.complete,
        checked=recorded.checked,
    )
