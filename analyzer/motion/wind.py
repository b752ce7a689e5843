"""Wind and true airspeed from ground velocity alone, by what turns reveal.

In still air the tip of the velocity vector runs round a circle about zero as the aircraft turns; in wind, about the wind [1]_
[2]_. So

    |ground velocity - wind| = true airspeed

at every instant. The unknowns are estimated together, at nodes some seconds apart, as a state seen through this equation (a
Gauss-Newton solution of one banded system): the two components of the wind, which walk slowly; the airspeed that the pilot
means to fly, which hardly walks but may jump (its steps have long tails: a pilot who slows down does it at once, and that must
not be taken for wind); and what the airspeed wanders about it, which comes back within a minute or so.

The strengths of these are stated below, not fitted. What follows from them is an error that grows where nobody turned.

References
----------
.. [1] D. Gray, "Using GPS to accurately establish true airspeed", 1998.
.. [2] D. Delahaye, S. Puechmorel, "TAS and wind estimation from radar data", ICARCV 2008, 1033-1038: turns are needed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.linalg.lapack import dpbtrf, dpbtrs, dtbtrs

from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, BoolArray, FloatArray, wrap_positive

__all__ = ["LEAST_HEADING_CHANGE_RAD", "NODE_STEP_S", "NOTHING_RECORDED", "Recorded", "Wind", "WindEstimate", "estimate_wind"]

LEAST_HEADING_CHANGE_RAD = 120.0 * DEG  # below this a wind is not told: speed changes and wind look alike
NODE_STEP_S = 5.0
_WIND_WALK = 5e-4  # m²/s³: about 0.3 m/s in three minutes, 0.6 kt
_AIRSPEED_WALK = 5e-3  # m²/s³: about 0.5 m/s in a minute, 1 kt, where no deliberate change is made
_AIRSPEED_TAIL = 1.0  # degrees of freedom of its steps (Student's; with one, Cauchy's)
_WANDER_SD, _WANDER_S = 1.0, 40.0  # m/s and s: how well, and for how long, pilots depart from the airspeed they mean to fly
_VELOCITY_SD = 0.3  # m/s: error of a smoothed ground velocity, as independent between nodes
_BRIDGED_SD = 10.0  # m/s: of what the curve bridges a hole with, in which a turn may have begun or ended
_HEADING_SD_RAD = 2.0 * DEG  # of a logged heading against the motion through the air: compass, sideslip
_LOGGED_AIRSPEED_SD = 1.0  # m/s: of a logged true airspeed
_CALM_SD = 25.0  # m/s: what is known of a wind component beforehand
_UNKNOWNS = 4  # at a node: wind to north and to east, airspeed meant, departure from it
_SPARSE_NODES = 12  # a minute: errors of wind and airspeed change slowly
_MOST_ITERATIONS = 10
_SETTLED_MPS = 0.05  # the wind has settled when a step changes it by no more


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

    def equations(self, velocity: FloatArray, speed: FloatArray) -> list[tuple[FloatArray, FloatArray, FloatArray]]:
        """What they say of the unknowns: coefficients (4, n), value and standard deviation (infinite where not logged)."""
        nil, one, found = np.zeros_like(speed), np.ones_like(speed), []
        if self.heading_rad is not None:
            # no motion through the air across the heading, but for compass and sideslip
            known = np.isfinite(self.heading_rad)
            heading = np.where(known, self.heading_rad, 0.0)
            across = np.stack([-np.sin(heading), np.cos(heading)])
            sd = np.where(known, _HEADING_SD_RAD * speed, np.inf)
            found.append((np.stack([*across, nil, nil]), np.sum(across * velocity, axis=0), sd))
        if self.true_airspeed_mps is not None:
            known = np.isfinite(self.true_airspeed_mps)
            logged = np.where(known, self.true_airspeed_mps, 0.0)
            found.append((np.stack([nil, nil, one, one]), logged, np.where(known, _LOGGED_AIRSPEED_SD, np.inf)))
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
    factor: FloatArray
    from_recorded: bool  # whether headings and airspeeds were logged, so that no turn is needed
    checked: bool  # whether the turns bear out what was logged

    @property
    def source(self) -> str:
        """What the wind comes from, in words."""
        if not self.from_recorded:
            return "estimated from the turns"
        return f"from recorded heading and airspeed{'' if self.checked else ', which could not be checked'}"

    def between(self, start_s: float, end_s: float) -> Wind | None:
        """Mean wind over a stretch of time, or None where the heading changed too little in it to tell."""
        inside = (self.time_s >= start_s - NODE_STEP_S) & (self.time_s <= end_s + NODE_STEP_S)
        turned = inside.sum() >= 2 and np.ptp(self.heading_rad[inside]) >= LEAST_HEADING_CHANGE_RAD
        if not inside.any() or not (turned or self.from_recorded):
            return None
        share = inside / inside.sum()
        return Wind(
            to_north_mps=float(share @ self.to_north_mps),
            to_east_mps=float(share @ self.to_east_mps),
            sd_mps=self._component_sd(int(np.argmax(inside)), share[inside]),
            source=self.source,
        )

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
        return math.sqrt(self._variance(node, np.array([[0.0, 0.0, 1.0, 1.0]])[..., None]))

    def _component_sd(self, first: int, share: FloatArray) -> float:
        """Standard deviation of each component of the wind, as a mean over nodes from the first on with these shares."""
        means = np.zeros((len(share), _UNKNOWNS, 2))
        means[:, 0, 0] = means[:, 1, 1] = share
        return math.sqrt(self._variance(first, means) / 2.0)

    def _variance(self, first: int, sums: FloatArray) -> float:
        """The sum of the variances of weighted sums of the unknowns, shape (nodes, 4, sums), from one node on."""
        part = self.factor[:, _UNKNOWNS * first :]
        right = np.zeros((part.shape[1], sums.shape[2]), order="F")
        right[: len(sums) * _UNKNOWNS] = sums.reshape(-1, sums.shape[2])
        # s A⁻¹ s is the square of L⁻¹s, which is nothing before the first node
        return float(np.sum(dtbtrs(part, right, uplo="L", overwrite_b=1)[0] ** 2))

    def at(self, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Wind to north and to east at the instants, straight between nodes. [m/s]"""
        return np.interp(time_s, self.time_s, self.to_north_mps), np.interp(time_s, self.time_s, self.to_east_mps)


def _circle(velocity: FloatArray) -> FloatArray:
    """Centre of the circle through the velocities, by linear least squares; zero where they do not make one."""
    design = np.column_stack([2.0 * velocity, np.ones(len(velocity))])
    centre = np.linalg.lstsq(design, np.sum(velocity**2, axis=1), rcond=None)[0][:2]
    typical = median(np.hypot(velocity[:, 0], velocity[:, 1]))
    return centre if math.hypot(*centre) < 0.5 * typical else np.zeros(2)


def _prior(step_s: FloatArray) -> FloatArray:
    """What is known beforehand, of the wind's walk and the departure from the airspeed meant; as a band for `_solve`."""
    band = np.zeros((_UNKNOWNS + 1, _UNKNOWNS, len(step_s) + 1))
    kept = np.exp(-step_s / _WANDER_S)
    walk = 1.0 / (_WIND_WALK * step_s)
    for unknown, information, share in ((0, walk, 1.0), (1, walk, 1.0), (3, 1.0 / (_WANDER_SD**2 * (1.0 - kept**2)), kept)):
        _tie(band, unknown, information, share)
    band[0, :2, 0] += 1.0 / _CALM_SD**2
    band[0, 3, 0] += 1.0 / _WANDER_SD**2
    return band


def _tie(band: FloatArray, unknown: int, information: FloatArray, share: FloatArray | float = 1.0) -> None:
    """Add to a band that an unknown is a share of what it was a node before, known with so much information."""
    band[0, unknown, :-1] += information * share**2
    band[0, unknown, 1:] += information
    band[_UNKNOWNS, unknown, :-1] -= information * share


def _solve(
    velocity: FloatArray, sd: FloatArray, wind: FloatArray, prior: FloatArray, steps: FloatArray, recorded: Recorded
) -> tuple[FloatArray, FloatArray]:
    """One Gauss-Newton step: the unknowns of all nodes, shape (4, n), and the Cholesky factor.

    Velocity and wind are rows, north and east. A band is indexed by distance from the diagonal, unknown and node. `steps` is
    the information of each step of the airspeed meant, shape (n - 1,).
    """
    through_air = velocity - wind
    speed = np.hypot(*through_air)
    direction = through_air / speed
    slope = np.stack([*direction, np.ones_like(speed), np.ones_like(speed)])
    seen = speed + np.sum(direction * wind, axis=0)
    band, right = prior.copy(), np.zeros_like(slope)
    for coefficient, value, of_value in [(slope, seen, sd), *recorded.equations(velocity, speed)]:
        weighted = coefficient / of_value**2
        right += weighted * value
        for off in range(_UNKNOWNS):
            band[off, : _UNKNOWNS - off] += weighted[: _UNKNOWNS - off] * coefficient[off:]
    _tie(band, 2, steps)
    # the unknowns of a node stand together, and so do the entries of a column, as LAPACK wants them
    columns = np.ascontiguousarray(band.transpose(2, 1, 0)).reshape(-1, _UNKNOWNS + 1)
    factor, _ = dpbtrf(columns.T, lower=1, overwrite_ab=1)
    solution = dpbtrs(factor, right.T.ravel(), lower=1, overwrite_b=1)[0]
    return solution.reshape(-1, _UNKNOWNS).T, factor


def estimate_wind(
    time_s: FloatArray,
    velocity_mps: FloatArray,
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
    step = np.diff(time_s)
    velocity, prior = np.ascontiguousarray(velocity_mps.T), _prior(step)
    wind = np.tile(_circle(velocity_mps)[:, None], len(time_s))
    tail, sd = np.ones(len(step)), np.where(np.broadcast_to(bridged, len(time_s)), _BRIDGED_SD, _VELOCITY_SD)
    for _ in range(_MOST_ITERATIONS):
        unknown, factor = _solve(velocity, sd, wind, prior, tail / (_AIRSPEED_WALK * step), recorded)
        before, wind = wind, unknown[:2]
        tail = (_AIRSPEED_TAIL + 1.0) / (_AIRSPEED_TAIL + np.diff(unknown[2]) ** 2 / (step * _AIRSPEED_WALK))
        if float(np.abs(wind - before).max()) < _SETTLED_MPS:
            break
    through_air = velocity - wind
    heading = np.unwrap(np.arctan2(through_air[1], through_air[0]))
    if np.ptp(heading) < LEAST_HEADING_CHANGE_RAD and not recorded.told:
        return None
    north, east, meant, departure = np.ascontiguousarray(unknown)
    return WindEstimate(time_s, north, east, meant + departure, heading, factor, recorded.told, recorded.checked)
