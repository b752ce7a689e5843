"""The wind and the true airspeed over a flight, as estimated by `wind_fit`, with their errors and reasons for doubt."""

from __future__ import annotations

import math

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.lapack import dtbtrs
from analyzer.motion.wind_limits import too_strong
from analyzer.motion.wind_prior import DEPARTURE, EAST, MEANT, NORTH, UNKNOWNS
from analyzer.physics.units import DEG, KT, FloatArray, wrap_positive

__all__ = ["LEAST_AIRSPEED_MPS", "LEAST_HEADING_CHANGE_RAD", "NODE_STEP_S", "TURNED_TOO_LITTLE", "Fit", "Wind", "WindEstimate"]

LEAST_HEADING_CHANGE_RAD = 120.0 * DEG  # below this speed changes and wind look alike
# Through the air, below which nothing flies an approach: it taxis, or the wind is thought to be all of its ground speed.
# Common practice, no source.
LEAST_AIRSPEED_MPS = 30.0 * KT
NODE_STEP_S = 5.0
TURNED_TOO_LITTLE = "that takes turns through 120° or more"
_SPARSE_NODES = 12  # a minute: errors of wind and airspeed change slowly
_UNCHECKED_SD_MPS = 5.0 * KT  # of a wind from recorded columns that nothing confirms: an assumption
# Of a component, and as a share of the speed: a wind known less well than this is useless.
_MOST_SD_MPS, _MOST_SD_SHARE = 18.0 * KT, 0.25


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
class Fit:
    """One explanation of the flight: the unknowns of all nodes, shape (5, n), and the Cholesky factor that gives their errors.

    `odds` is the probability that this fit is right.
    """

    unknown: FloatArray
    factor: FloatArray
    odds: float

    def of(self, first: int, sums: FloatArray) -> FloatArray:
        """Weighted sums of the unknowns, shape (nodes, 5, sums), from one node on."""
        value: FloatArray = np.einsum("nus,un->s", sums, self.unknown[:, first : first + len(sums)])
        return value

    def variance(self, first: int, sums: FloatArray) -> float:
        """The sum of their variances."""
        part = self.factor[:, UNKNOWNS * first :]
        right = np.zeros((part.shape[1], sums.shape[2]), order="F")
        right[: len(sums) * UNKNOWNS] = sums.reshape(-1, sums.shape[2])
        # s A⁻¹ s is the square of L⁻¹s, which is zero before the first node
        return float(np.sum(dtbtrs(part, right, uplo="L", overwrite_b=1)[0] ** 2))


@dataclass(frozen=True, eq=False)
class WindEstimate:
    """Wind and true airspeed at the nodes, and the factor that holds their errors. Made by `wind_fit.estimate_wind`."""

    time_s: FloatArray
    to_north_mps: FloatArray
    to_east_mps: FloatArray
    true_airspeed_mps: FloatArray
    heading_rad: FloatArray  # of the velocity through the air, unwrapped; NaN where it is less than `LEAST_AIRSPEED_MPS`
    height_m: FloatArray  # NaN where unknown
    fits: tuple[Fit, ...]
    from_recorded: bool  # whether headings and airspeeds were logged, so that no turn is needed
    checked: bool  # whether the turns confirm what was logged

    @property
    def source(self) -> str:
        """What the wind comes from, in words."""
        if not self.from_recorded:
            return "estimated from the turns"
        return f"from recorded heading and airspeed{'' if self.checked else ', which could not be checked'}"

    def between(self, start_s: float, end_s: float) -> Wind | None:
        """Mean wind over a stretch of time, or None where it cannot be estimated."""
        return self._wind_or_reason(start_s, end_s)[0]

    def why_not(self, start_s: float, end_s: float) -> str:
        """Why the wind over a stretch of time cannot be estimated; empty where it can."""
        return self._wind_or_reason(start_s, end_s)[1]

    def _wind_or_reason(self, start_s: float, end_s: float) -> tuple[Wind | None, str]:
        """Mean wind over a stretch of time, and why there is none."""
        inside = (self.time_s >= start_s - NODE_STEP_S) & (self.time_s <= end_s + NODE_STEP_S)
        heading = self.heading_rad[inside & np.isfinite(self.heading_rad)]
        turned = len(heading) >= 2 and np.ptp(heading) >= LEAST_HEADING_CHANGE_RAD
        if not inside.any() or not (turned or self.from_recorded):
            return None, TURNED_TOO_LITTLE
        share = inside / inside.sum()
        wind = Wind(
            to_north_mps=float(share @ self.to_north_mps),
            to_east_mps=float(share @ self.to_east_mps),
            sd_mps=math.hypot(
                self._component_sd(int(np.argmax(inside)), share[inside]), 0.0 if self.checked else _UNCHECKED_SD_MPS
            ),
            source=self.source,
        )
        if wind.sd_mps > max(_MOST_SD_MPS, _MOST_SD_SHARE * wind.speed_mps):
            return None, "the airspeed may have changed while it turned, and the turns do not distinguish that from wind"
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
        return math.sqrt(self._variance(node, airspeed))

    def _component_sd(self, first: int, share: FloatArray) -> float:
        """Standard deviation of each component of the wind, as a mean over nodes from the first on with these shares."""
        means = np.zeros((len(share), UNKNOWNS, 2))
        means[:, NORTH, 0] = means[:, EAST, 1] = share
        return math.sqrt(self._variance(first, means) / 2.0)

    def _variance(self, first: int, sums: FloatArray) -> float:
        """The sum of the variances of weighted sums of the unknowns, shape (nodes, 5, sums), from one node on.

        That of each fit, plus the spread between the fits.
        """
        if len(self.fits) == 1:
            return self.fits[0].variance(first, sums)
        values = [fit.of(first, sums) for fit in self.fits]
        mean = sum(fit.odds * value for fit, value in zip(self.fits, values, strict=True))
        return sum(
            fit.odds * (fit.variance(first, sums) + float(np.sum((value - mean) ** 2)))
            for fit, value in zip(self.fits, values, strict=True)
        )

    def at(self, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Wind to north and to east at the instants, straight between nodes. [m/s]"""
        return np.interp(time_s, self.time_s, self.to_north_mps), np.interp(time_s, self.time_s, self.to_east_mps)
