"""Wind and true airspeed from ground velocity alone, by what turns reveal.

In still air the tip of the velocity vector runs round a circle about zero as the aircraft turns; in wind, about the wind [1]_
[2]_. So

    |ground velocity - wind| = true airspeed

at every instant. The unknowns are estimated together, at nodes some seconds apart, as a state seen through this equation (a
Gauss-Newton solution of one banded system): the two components of the wind, the airspeed that the pilot means to fly and its
acceleration, and what the airspeed departs from that (`wind_prior`). An aircraft that slows down while it turns looks like one
in a wind. So two flights are fitted: one whose airspeed is held, and one whose accelerations are found along with the rest,
starting from a great deal, so that they stay where the other turns and legs do not contradict them. The second is believed
where what is seen is much more probable by it, and then its errors are greater where it changed speed. The error grows where
nobody turned, too.

References
----------
.. [1] D. Gray, "Using GPS to accurately establish true airspeed", 1998.
.. [2] D. Delahaye, S. Puechmorel, "TAS and wind estimation from radar data", ICARCV 2008, 1033-1038: turns are needed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.linalg.lapack import dpbtrf, dpbtrs, dtbtrs

from analyzer.motion.wind_limits import too_strong
from analyzer.motion.wind_prior import (
    ACCELERATION,
    DEPARTURE,
    EAST,
    MEANT,
    NORTH,
    UNKNOWNS,
    Prior,
    departure_sd,
    expected_acceleration,
)
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, KT, BoolArray, FloatArray, wrap_positive

__all__ = [
    "LEAST_HEADING_CHANGE_RAD",
    "NODE_STEP_S",
    "NOTHING_RECORDED",
    "TURNED_TOO_LITTLE",
    "Recorded",
    "Wind",
    "WindEstimate",
    "estimate_wind",
]

LEAST_HEADING_CHANGE_RAD = 120.0 * DEG  # below this a wind is not told: speed changes and wind look alike
NODE_STEP_S = 5.0
TURNED_TOO_LITTLE = "that takes turns through 120° or more"
_VELOCITY_SD = 0.25  # m/s: error of a smoothed ground velocity, as independent between nodes
_BRIDGED_SD = 10.0  # m/s: of what the curve bridges a hole with, in which a turn may have begun or ended
_HEADING_SD_RAD = 2.0 * DEG  # of a logged heading against the motion through the air: compass, sideslip
_LOGGED_AIRSPEED_SD = 1.0  # m/s: of a logged true airspeed
_GUSTS = 0.4  # of the departures of the airspeed are gusts, which change the ground speed and not the airspeed
_STEADY_MPS2 = 0.003  # accelerations of one who holds the airspeed
_FIRST_MPS2 = 0.15  # accelerations expected everywhere to begin with, of one who may not
_WORTH_IT = 6.0  # by how much the logarithm of the probability has to rise for accelerations to be believed
_SPARSE_NODES = 12  # a minute: errors of wind and airspeed change slowly
_ITERATIONS = 8
_SETTLED_MPS = 0.05  # the wind has settled when a step changes it by no more
_MOST_SD_MPS = 10.0 * KT  # of a component: a wind that is no better known says nothing


@dataclass(frozen=True)
class Wind:
    """A wind with its error: where it comes from (true), its speed, and the standard deviation of each of its components."""

    to_north_mps: float
    to_east_mps: float
    sd_mps: float
    source: str

    @property
    def speed_mps(self) -> float:
        """Speed of the wind. [m/s]"""
        return math.hypot(self.to_north_mps, self.to_east_mps)

    @property
    def from_true_rad(self) -> float:
        """Direction that the wind blows from, true, in [0, 2π)."""
        return float(wrap_positive(np.float64(math.atan2(-self.to_east_mps, -self.to_north_mps))))


@dataclass(frozen=True, eq=False)
class Recorded:
    """Heading [rad, true] and true airspeed [m/s] as logged at the nodes, NaN or None where there is none.

    `checked` says whether the turns bear them out, or nothing tells.
    """

    heading_rad: FloatArray | None = None
    true_airspeed_mps: FloatArray | None = None
    checked: bool = True

    @property
    def told(self) -> bool:
        """Whether both are there, which tells the wind without a turn."""
        return self.heading_rad is not None and self.true_airspeed_mps is not None

    def equations(
        self, velocity: FloatArray, speed: FloatArray, typical: float
    ) -> list[tuple[FloatArray, FloatArray, FloatArray]]:
        """What they say of the unknowns: coefficients (5, n), value and standard deviation (infinite where not logged).

        The airspeed meant counts from a typical one.
        """
        found: list[tuple[FloatArray, FloatArray, FloatArray]] = []
        if self.heading_rad is not None:
            # no motion through the air across the heading, but for compass and sideslip
            known = np.isfinite(self.heading_rad)
            heading = np.where(known, self.heading_rad, 0.0)
            across = np.zeros((UNKNOWNS, len(speed)))
            across[NORTH], across[EAST] = -np.sin(heading), np.cos(heading)
            sd = np.where(known, _HEADING_SD_RAD * speed, np.inf)
            found.append((across, across[NORTH] * velocity[0] + across[EAST] * velocity[1], sd))
        if self.true_airspeed_mps is not None:
            known = np.isfinite(self.true_airspeed_mps)
            logged = np.where(known, self.true_airspeed_mps - typical, 0.0)
            along = np.zeros((UNKNOWNS, len(speed)))
            along[DEPARTURE] = along[MEANT] = 1.0
            found.append((along, logged, np.where(known, _LOGGED_AIRSPEED_SD, np.inf)))
        return found


NOTHING_RECORDED = Recorded()


@dataclass(frozen=True, eq=False)
class WindEstimate:
    """Wind and true airspeed at the nodes, and the factor that holds their errors. Made by `estimate_wind`."""

    time_s: FloatArray
    to_north_mps: FloatArray
    to_east_mps: FloatArray
    true_airspeed_mps: FloatArray
    heading_rad: FloatArray  # of the velocity through the air, unwrapped
    height_m: FloatArray  # NaN where unknown
    factor: FloatArray
    gust_mps: float  # standard deviation of what gusts hide of the airspeed
    from_recorded: bool  # whether headings and airspeeds were logged, so that no turn is needed
    checked: bool  # whether the turns bear out what was logged

    @property
    def source(self) -> str:
        """What the wind comes from, in words."""
        if not self.from_recorded:
            return "estimated from the turns"
        return f"from recorded heading and airspeed{'' if self.checked else ', which could not be checked'}"

    def between(self, start_s: float, end_s: float) -> Wind | None:
        """Mean wind over a stretch of time, or None where it cannot be told."""
        return self._told(start_s, end_s)[0]

    def why_not(self, start_s: float, end_s: float) -> str:
        """Why the wind over a stretch of time cannot be told; empty where it can."""
        return self._told(start_s, end_s)[1]

    def _told(self, start_s: float, end_s: float) -> tuple[Wind | None, str]:
        """Mean wind over a stretch of time, and why there is none."""
        inside = (self.time_s >= start_s - NODE_STEP_S) & (self.time_s <= end_s + NODE_STEP_S)
        turned = inside.sum() >= 2 and np.ptp(self.heading_rad[inside]) >= LEAST_HEADING_CHANGE_RAD
        if not inside.any() or not (turned or self.from_recorded):
            return None, TURNED_TOO_LITTLE
        share = inside / inside.sum()
        wind = Wind(
            to_north_mps=float(share @ self.to_north_mps),
            to_east_mps=float(share @ self.to_east_mps),
            sd_mps=self._component_sd(int(np.argmax(inside)), share[inside]),
            source=self.source,
        )
        if wind.sd_mps > _MOST_SD_MPS:
            return None, "the airspeed may have changed while it turned, and the turns do not tell the one from the other"
        impossible = too_strong(wind.speed_mps, self.height_m[inside])
        return (None, impossible) if impossible else (wind, "")

    def airspeed_sd(self, time_s: float) -> float:
        """Standard deviation of the true airspeed at the node next to an instant. [m/s]"""
        return self._airspeed_sd(int(np.argmin(np.abs(self.time_s - time_s))))

    def airspeed_sds(self, time_s: FloatArray) -> FloatArray:
        """Standard deviation of the true airspeed at many instants, straight between one node a minute. [m/s]"""
        nodes = self._sparse_nodes(time_s)
        return np.interp(time_s, self.time_s[nodes], [self._airspeed_sd(node) for node in nodes])

    def component_sds(self, time_s: FloatArray) -> FloatArray:
        """Standard deviation of each component of the wind at many instants, straight between one node a minute. [m/s]"""
        nodes = self._sparse_nodes(time_s)
        return np.interp(time_s, self.time_s[nodes], [self._component_sd(node, np.ones(1)) for node in nodes])

    def _sparse_nodes(self, time_s: FloatArray) -> list[int]:
        """One node a minute, and the last; of those, the ones that the instants lie between: each costs the rest of the log."""
        last = len(self.time_s) - 1
        nodes = [*range(0, last, _SPARSE_NODES), last]
        if not len(time_s):
            return nodes[:1]
        first = np.searchsorted(self.time_s[nodes], time_s.min(), side="right") - 1
        end = np.searchsorted(self.time_s[nodes], time_s.max())
        return nodes[max(0, int(first)) : int(end) + 1] or nodes[-1:]

    def _airspeed_sd(self, node: int) -> float:
        airspeed = np.zeros((1, UNKNOWNS, 1))
        airspeed[0, [DEPARTURE, MEANT], 0] = 1.0
        return math.hypot(math.sqrt(self._variance(node, airspeed)), self.gust_mps)

    def _component_sd(self, first: int, share: FloatArray) -> float:
        """Standard deviation of each component of the wind, as a mean over nodes from the first on with these shares."""
        means = np.zeros((len(share), UNKNOWNS, 2))
        means[:, NORTH, 0] = means[:, EAST, 1] = share
        return math.sqrt(self._variance(first, means) / 2.0)

    def _variance(self, first: int, sums: FloatArray) -> float:
        """The sum of the variances of weighted sums of the unknowns, shape (nodes, 5, sums), from one node on."""
        part = self.factor[:, UNKNOWNS * first :]
        right = np.zeros((part.shape[1], sums.shape[2]), order="F")
        right[: len(sums) * UNKNOWNS] = sums.reshape(-1, sums.shape[2])
        # s A⁻¹ s is the square of L⁻¹s, which is nothing before the first node
        return float(np.sum(dtbtrs(part, right, uplo="L", overwrite_b=1)[0] ** 2))

    def at(self, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Wind to north and to east at the instants, straight between nodes. [m/s]"""
        return np.interp(time_s, self.time_s, self.to_north_mps), np.interp(time_s, self.time_s, self.to_east_mps)


@dataclass(frozen=True, eq=False)
class _Seen:
    """What is seen at the nodes: velocity as rows, north and east, its standard deviation, and what was recorded.

    The airspeed meant counts from a typical one.
    """

    velocity: FloatArray
    sd: FloatArray
    typical: float
    recorded: Recorded

    def equations(self, wind: FloatArray) -> list[tuple[FloatArray, FloatArray, FloatArray]]:
        """What is seen, linear about a wind: coefficients of the unknowns (5, n), value and standard deviation."""
        through_air = self.velocity - wind
        speed = np.maximum(np.hypot(*through_air), 1e-3)
        slope = np.zeros((UNKNOWNS, len(speed)))
        slope[NORTH], slope[EAST] = through_air / speed
        slope[DEPARTURE] = slope[MEANT] = 1.0
        value = speed + slope[NORTH] * wind[0] + slope[EAST] * wind[1] - self.typical
        return [(slope, value, self.sd), *self.recorded.equations(self.velocity, speed, self.typical)]


@dataclass(frozen=True, eq=False)
class _Fit:
    """The unknowns of all nodes, shape (5, n), the Cholesky factor, and the logarithm of how probable what is seen was."""

    unknown: FloatArray
    factor: FloatArray
    evidence: float


def _fit(seen: _Seen, prior: Prior, expect: Callable[[FloatArray], FloatArray], first_mps2: float) -> _Fit:
    """The unknowns by Gauss-Newton steps, with the accelerations that are to be expected after each."""
    wind, expected = np.zeros_like(seen.velocity), np.full(seen.velocity.shape[1], first_mps2)
    for _ in range(_ITERATIONS):
        band = prior.with_acceleration(expected)
        before, known = wind, float(np.log(_cholesky(band)[0]).sum())
        unknown, factor, misfit = _solve(seen.equations(wind), band)
        wind, expected = unknown[:2], expect(unknown[ACCELERATION])
        if float(np.abs(wind - before).max()) < _SETTLED_MPS:
            break
    return _Fit(unknown, factor, known - float(np.log(factor[0]).sum()) - misfit)


def _solve(
    equations: list[tuple[FloatArray, FloatArray, FloatArray]], prior: FloatArray
) -> tuple[FloatArray, FloatArray, float]:
    """The unknowns that fit linear equations and a prior, the Cholesky factor, and half the sum of squares that is left.

    The band of the prior is indexed by distance from the diagonal, unknown and node; it is overwritten.
    """
    right, squares = np.zeros(prior.shape[1:]), 0.0
    for coefficient, value, sd in equations:
        weighted = coefficient / sd**2
        right += weighted * value
        squares += float(np.sum((value / sd) ** 2))
        for off in range(UNKNOWNS):
            prior[off, : UNKNOWNS - off] += weighted[: UNKNOWNS - off] * coefficient[off:]
    factor = _cholesky(prior)
    flat = right.T.ravel()
    solution = dpbtrs(factor, flat, lower=1)[0]
    return solution.reshape(-1, UNKNOWNS).T, factor, 0.5 * (squares - float(flat @ solution))


def _cholesky(band: FloatArray) -> FloatArray:
    """The factor of a band: the unknowns of a node stand together, and so do the entries of a column, as LAPACK wants them."""
    columns = np.ascontiguousarray(band.transpose(2, 1, 0)).reshape(-1, len(band))
    factor: FloatArray = dpbtrf(columns.T, lower=1, overwrite_ab=1)[0]
    return factor


def estimate_wind(
    time_s: FloatArray,
    velocity_mps: FloatArray,
    height_m: FloatArray,
    recorded: Recorded = NOTHING_RECORDED,
    bridged: BoolArray | bool = False,
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
    bridged : array of bool, shape (n,), or bool
        Which velocities are those of a curve that bridges a hole of the log.

    Returns
    -------
    WindEstimate or None
        None where the flight as a whole turned by less than `LEAST_HEADING_CHANGE_RAD`, and heading and true airspeed
        were not both recorded.
    """
    if len(time_s) < 3:
        return None
    step, velocity = np.diff(time_s), np.ascontiguousarray(velocity_mps.T)
    departs = departure_sd(step, velocity)
    prior = Prior.over(step, height_m, departs)
    sd = np.where(np.broadcast_to(bridged, len(time_s)), _BRIDGED_SD, _VELOCITY_SD)
    seen = _Seen(velocity, sd, median(np.hypot(*velocity)), recorded)
    steady = _fit(seen, prior, lambda found: np.full(len(found), _STEADY_MPS2), _STEADY_MPS2)
    changing = _fit(seen, prior, expected_acceleration, _FIRST_MPS2)
    fit = changing if changing.evidence > steady.evidence + _WORTH_IT else steady
    wind = fit.unknown[:2]
    through_air = velocity - wind
    heading = np.unwrap(np.arctan2(through_air[1], through_air[0]))
    if np.ptp(heading) < LEAST_HEADING_CHANGE_RAD and not recorded.told:
        return None
    airspeed = fit.unknown[DEPARTURE] + fit.unknown[MEANT] + seen.typical
    gusts = 0.0 if recorded.told else _GUSTS * departs
    return WindEstimate(
        time_s, wind[0].copy(), wind[1].copy(), airspeed, heading, height_m, fit.factor, gusts, recorded.told, recorded.checked
    )
