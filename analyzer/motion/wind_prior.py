"""What is known beforehand of the wind and the airspeed along a flight, as information at the nodes of its estimate.

The wind changes slowly with time and with height. The airspeed is one that the pilot means to fly, which changes by an
acceleration that comes and goes, and what it departs from that by gusts and inattention. How strong the accelerations were is
not known beforehand: where the flight shows one, more are to be expected around it (`expected_acceleration`).

The strengths are stated here, not fitted to each flight: how probable a flight is tells the strength of its gusts, not how far
the wind has drifted, which looks like a change of airspeed. They were chosen so that errors of wind and airspeed are what they
are stated to be on simulated flights that speed up, slow down, climb and descend while they turn, and on a flight whose wind
was recorded; the benchmark of accuracy measures it.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.frozen import dataclass
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, BoolArray, FloatArray, unwrapped

__all__ = [
    "ACCELERATION",
    "BAND",
    "DEPARTURE",
    "EAST",
    "MEANT",
    "NORTH",
    "STRAIGHT_RAD_S",
    "UNKNOWNS",
    "Prior",
    "departure_sd",
    "expected_acceleration",
    "further",
]

# The unknowns of a node, in the order that keeps the band narrow.
NORTH = 0
EAST = 1
DEPARTURE = 2
ACCELERATION = 3
MEANT = 4
UNKNOWNS = 5
BAND = 7  # entries of a column of the lower band: an acceleration reaches the airspeed meant at the next node

_WIND_SD, _WIND_SD_PER_M = 10.0, 0.7e-3  # of a component in the long run at sea level [m/s], and by height: 18 m/s at 12 km
# Variance of a component by time [m²/s³] and by height [m/s²]: 2 m/s in ten minutes, or 500 m.
_WIND_PER_S, _WIND_PER_M = 6e-3, 8e-3
# m²/s³: of the airspeed meant, apart from its acceleration: 1.1 m/s in ten minutes. What is held stays: in recorded cruise the
# airspeed differs no more after ten minutes than after two.
_MEANT_PER_S = 2e-3
_MEANT_SD = 60.0  # m/s: of the airspeed meant about the typical ground speed
_DEPARTURE_S = 20.0  # s: how long the airspeed departs from the one meant
_LEAST_DEPARTURE = 0.2  # m/s
_USUAL_DEPARTURE = 1.0  # m/s: where too little straight flight shows it
STRAIGHT_RAD_S = 0.5 * DEG
_FEWEST_STEPS = 8
_ACCELERATION_S = 60.0  # s: how long one lasts
_LEAST_ACCELERATION = 2e-3  # m/s²
_FURTHER = 1.3  # of the step, in logarithms: fewer steps to the same end
_MORE_THAN_SEEN = 1.3  # the acceleration to be expected around one of 1
_AROUND_NODES = 4  # within which: 20 s


@dataclass(frozen=True, eq=False)
class Prior:
    """The information that does not depend on the estimate: on wind and departure, and on the first airspeed.

    `band` is the lower band of the matrix, shape (n, `UNKNOWNS`, `BAND`): node, unknown and distance from the diagonal, so that
    the entries of a column stand together, as LAPACK wants them.
    `meant_variance` is how far the airspeed meant may change over each step apart from its acceleration [m²/s²]; `continues` is
    1 where one flight goes on over it, 0 where another begins.
    `log_information` has the logarithms of the information that it was made of, summed for each node.
    """

    step_s: FloatArray
    meant_variance: FloatArray
    continues: FloatArray
    band: FloatArray
    log_information: FloatArray

    @classmethod
    def over(cls, step_s: FloatArray, height_m: FloatArray, departure_sd_mps: float, anew: BoolArray) -> Prior:
        """The prior of nodes with these steps between them and at these heights, NaN where unknown.

        Over the steps that are `anew` another flight begins: in the same wind, at an airspeed of its own.
        """
        band, logarithms = np.zeros((len(step_s) + 1, UNKNOWNS, BAND)), np.zeros(len(step_s) + 1)
        height = np.where(np.isfinite(height_m), height_m, 0.0)
        sd = _WIND_SD + _WIND_SD_PER_M * np.clip(height, 0.0, 12_000.0)
        variance = _WIND_PER_S * step_s + _WIND_PER_M * np.abs(np.diff(height))
        kept = np.exp(-variance / (2.0 * sd[1:] ** 2))
        for component in (NORTH, EAST):
            logarithms += _chain(band, component, 1.0 / sd[0] ** 2, 1.0 / variance, kept)
        continues = np.where(anew, 0.0, 1.0)
        kept = continues * np.exp(-step_s / _DEPARTURE_S)
        of_departure = 1.0 / (departure_sd_mps**2 * (1.0 - kept**2))
        logarithms += _chain(band, DEPARTURE, 1.0 / departure_sd_mps**2, of_departure, kept)
        band[0, MEANT, 0] += 1.0 / _MEANT_SD**2  # of the first node
        logarithms[0] -= 2.0 * math.log(_MEANT_SD)
        return cls(step_s, np.where(anew, _MEANT_SD**2, _MEANT_PER_S * step_s), continues, band, logarithms)

    def with_changes(self, acceleration_sd_mps2: FloatArray, held: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The whole band, with accelerations of these standard deviations at the nodes, and half its logarithmic determinant.

        The determinant is given in parts, one a node, of which it is the sum.

        `held` is how well the airspeed meant is held over each step, apart from its acceleration: 1 as a rule, less where it
        changed. Each unknown follows from those of the node before, so that the determinant is that of what is known of each
        by them.
        """
        band, sd = self.band.copy(), acceleration_sd_mps2
        kept = self.continues * np.exp(-self.step_s / _ACCELERATION_S)
        between = np.maximum(sd[:-1], sd[1:])
        logarithms = _chain(band, ACCELERATION, 1.0 / sd[0] ** 2, 1.0 / (between**2 * (1.0 - kept**2)), kept)
        # the airspeed meant is that a node before and what the mean acceleration makes of it
        across, half = held / self.meant_variance, 0.5 * self.step_s
        logarithms[1:] += np.log(across)
        by_half = across * half
        by_square = by_half * half
        band[:-1, MEANT, 0] += across
        band[1:, MEANT, 0] += across
        band[:-1, MEANT, UNKNOWNS] -= across
        band[:-1, ACCELERATION, 0] += by_square
        band[1:, ACCELERATION, 0] += by_square
        band[:-1, ACCELERATION, UNKNOWNS] += by_square
        band[:-1, ACCELERATION, MEANT - ACCELERATION] += by_half
        band[1:, ACCELERATION, MEANT - ACCELERATION] -= by_half
        band[:-1, ACCELERATION, UNKNOWNS + MEANT - ACCELERATION] -= by_half
        band[:-1, MEANT, UNKNOWNS + ACCELERATION - MEANT] += by_half
        return band, 0.5 * (self.log_information + logarithms)

    def steps(self, unknown: FloatArray) -> FloatArray:
        """Change of the airspeed meant over each step apart from its acceleration, in standard deviations."""
        meant, acceleration = unknown[MEANT], unknown[ACCELERATION]
        changed = np.diff(meant) - 0.5 * self.step_s * (acceleration[:-1] + acceleration[1:])
        deviations: FloatArray = changed / np.sqrt(self.meant_variance)
        return deviations


def _chain(band: FloatArray, unknown: int, first: np.float64 | float, information: FloatArray, share: FloatArray) -> FloatArray:
    """Add to a band that an unknown is a share of what it was a node before, known with so much information.

    The first one is known with information of its own.

    Gives the logarithms of that information.
    """
    band[0, unknown, 0] += first
    shared = information * share
    band[:-1, unknown, 0] += shared * share
    band[1:, unknown, 0] += information
    band[:-1, unknown, UNKNOWNS] -= shared
    logarithms: FloatArray = np.log(np.append(first, information))
    return logarithms


def departure_sd(step_s: FloatArray, velocity_mps: FloatArray) -> float:
    """How far the airspeed departs from the one meant, from how the ground speed changes in straight flight. [m/s]

    `velocity_mps` are the rows north and east at the nodes.
    """
    if len(step_s) < 2:
        return _USUAL_DEPARTURE
    track = unwrapped(np.arctan2(velocity_mps[1], velocity_mps[0]))
    straight = np.abs(np.diff(track)) < STRAIGHT_RAD_S * step_s
    lag = step_s[1:] + step_s[:-1]
    used = straight[1:] & straight[:-1] & (lag < _DEPARTURE_S)
    if used.sum() < _FEWEST_STEPS:
        return _USUAL_DEPARTURE
    speed = np.hypot(*velocity_mps)
    change, lag = np.abs(speed[2:] - speed[:-2])[used], lag[used]
    # the median of a normal deviate without its sign is 0.6745 standard deviations
    return max(_LEAST_DEPARTURE, median(change / np.sqrt(2.0 * (1.0 - np.exp(-lag / _DEPARTURE_S)))) / 0.6745)


def expected_acceleration(acceleration_mps2: FloatArray) -> FloatArray:
    """The standard deviation of accelerations to be expected at the nodes, after what was found there. [m/s²]"""
    size = np.abs(acceleration_mps2)
    if len(size) < 3:
        return np.full(len(size), max(_LEAST_ACCELERATION, _MORE_THAN_SEEN * float(size.max(initial=0.0))))
    smooth = np.convolve(np.concatenate((size[:1], size, size[-1:])), np.full(3, 1.0 / 3.0), mode="valid")
    around = smooth.copy()
    for off in range(1, min(_AROUND_NODES + 1, len(smooth))):
        np.maximum(around[off:], smooth[:-off], out=around[off:])
        np.maximum(around[:-off], smooth[off:], out=around[:-off])
    expected: FloatArray = np.maximum(_LEAST_ACCELERATION, _MORE_THAN_SEEN * around)
    return expected


def further(before_mps2: FloatArray, found_mps2: FloatArray) -> FloatArray:
    """Expected accelerations somewhat beyond those found, which become less from step to step at much the same ratio."""
    beyond: FloatArray = np.maximum(_LEAST_ACCELERATION, before_mps2 * (found_mps2 / before_mps2) ** _FURTHER)
    return beyond
