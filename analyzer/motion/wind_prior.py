"""What is known beforehand of the wind and the airspeed along a flight, as information at the nodes of its estimate.

The wind changes slowly with time and with height. The airspeed is one that the pilot means to fly, which changes by an
acceleration that comes and goes, and what it departs from that by gusts and inattention. How strong the accelerations were is
not known beforehand: where the flight shows one, more are to be expected around it (`expected_acceleration`).

The strengths are stated here, not fitted to each flight. They were chosen so that errors of wind and airspeed are what they are
stated to be on simulated flights that speed up, slow down, climb and descend while they turn, and on a flight whose wind was
recorded; the benchmark of accuracy measures it.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from analyzer.frozen import dataclass
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FloatArray

__all__ = [
    "ACCELERATION",
    "BAND",
    "DEPARTURE",
    "EAST",
    "MEANT",
    "NORTH",
    "UNKNOWNS",
    "Prior",
    "departure_sd",
    "expected_acceleration",
]

# The unknowns of a node, in the order that keeps the band narrow.
NORTH = 0
EAST = 1
DEPARTURE = 2
ACCELERATION = 3
MEANT = 4
UNKNOWNS = 5
BAND = 7  # entries of a column of the lower band: an acceleration reaches the airspeed meant at the next node

_WIND_PER_S, _WIND_PER_M = (
    6e-3,
    8e-3,
)  # variance of a component by time [m²/s³] and by height [m/s²]: 2 m/s in ten minutes, or 500 m
_WIND_SD, _WIND_SD_PER_M = 10.0, 0.7e-3  # of a component in the long run at sea level [m/s], and by height: 18 m/s at 12 km
_MEANT_PER_S = 4e-3  # m²/s³: of the airspeed meant, apart from its acceleration: 0.5 m/s in a minute
_MEANT_SD = 60.0  # m/s: of the airspeed meant about the typical ground speed
_DEPARTURE_S = 20.0  # s: how long the airspeed departs from the one meant
_LEAST_DEPARTURE = 0.2  # m/s
_USUAL_DEPARTURE = 1.0  # m/s: where too little straight flight shows it
_STRAIGHT_RAD_S = 0.5 * DEG
_FEWEST_STEPS = 8
_ACCELERATION_S = 60.0  # s: how long one lasts
_LEAST_ACCELERATION = 2e-3  # m/s²
_MORE_THAN_SEEN = 1.3  # the acceleration to be expected around one of 1
_AROUND_NODES = 4  # within which: 20 s


@dataclass(frozen=True, eq=False)
class Prior:
    """The information that does not depend on the estimate: on wind and departure, and on the first airspeed.

    `band` is the lower band of the matrix, shape (`BAND`, `UNKNOWNS`, n): distance from the diagonal, unknown and node.
    """

    step_s: FloatArray
    band: FloatArray

    @classmethod
    def over(cls, step_s: FloatArray, height_m: FloatArray, departure_sd_mps: float) -> Prior:
        """The prior of nodes with these steps between them and at these heights, NaN where unknown."""
        band = np.zeros((BAND, UNKNOWNS, len(step_s) + 1))
        height = np.where(np.isfinite(height_m), height_m, 0.0)
        sd = _WIND_SD + _WIND_SD_PER_M * np.clip(height, 0.0, 12_000.0)
        variance = _WIND_PER_S * step_s + _WIND_PER_M * np.abs(np.diff(height))
        kept = np.exp(-variance / (2.0 * sd[1:] ** 2))
        for component in (NORTH, EAST):
            _tie(band, component, 1.0 / variance, kept)
            band[0, component, 0] += 1.0 / sd[0] ** 2
        kept = np.exp(-step_s / _DEPARTURE_S)
        _tie(band, DEPARTURE, 1.0 / (departure_sd_mps**2 * (1.0 - kept**2)), kept)
        band[0, DEPARTURE, 0] += 1.0 / departure_sd_mps**2
        band[0, MEANT, 0] += 1.0 / _MEANT_SD**2
        return cls(step_s, band)

    def with_changes(self, acceleration_sd_mps2: FloatArray, held: FloatArray) -> FloatArray:
        """The whole band, with accelerations of these standard deviations at the nodes.

        `held` is how well the airspeed meant is held over each step, apart from its acceleration: 1 as a rule, less where it
        changed.
        """
        band, sd = self.band.copy(), acceleration_sd_mps2
        kept = np.exp(-self.step_s / _ACCELERATION_S)
        between = np.maximum(sd[:-1], sd[1:])
        _tie(band, ACCELERATION, 1.0 / (between**2 * (1.0 - kept**2)), kept)
        band[0, ACCELERATION, 0] += 1.0 / sd[0] ** 2
        # the airspeed meant is that a node before and what the mean acceleration makes of it
        across, half = held / (_MEANT_PER_S * self.step_s), 0.5 * self.step_s
        band[0, MEANT, :-1] += across
        band[0, MEANT, 1:] += across
        band[UNKNOWNS, MEANT, :-1] -= across
        band[0, ACCELERATION, :-1] += across * half**2
        band[0, ACCELERATION, 1:] += across * half**2
        band[UNKNOWNS, ACCELERATION, :-1] += across * half**2
        band[MEANT - ACCELERATION, ACCELERATION, :-1] += across * half
        band[MEANT - ACCELERATION, ACCELERATION, 1:] -= across * half
        band[UNKNOWNS + MEANT - ACCELERATION, ACCELERATION, :-1] -= across * half
        band[UNKNOWNS + ACCELERATION - MEANT, MEANT, :-1] += across * half
        return band

    def steps(self, unknown: FloatArray) -> FloatArray:
        """Change of the airspeed meant over each step apart from its acceleration, in standard deviations."""
        meant, acceleration = unknown[MEANT], unknown[ACCELERATION]
        changed = np.diff(meant) - 0.5 * self.step_s * (acceleration[:-1] + acceleration[1:])
        deviations: FloatArray = changed / np.sqrt(_MEANT_PER_S * self.step_s)
        return deviations


def _tie(band: FloatArray, unknown: int, information: FloatArray, share: FloatArray) -> None:
    """Add to a band that an unknown is a share of what it was a node before, known with so much information."""
    band[0, unknown, :-1] += information * share**2
    band[0, unknown, 1:] += information
    band[UNKNOWNS, unknown, :-1] -= information * share


def departure_sd(step_s: FloatArray, velocity_mps: FloatArray) -> float:
    """How far the airspeed departs from the one meant, from how the ground speed changes in straight flight. [m/s]

    `velocity_mps` are the rows north and east at the nodes.
    """
    if len(step_s) < 2:
        return _USUAL_DEPARTURE
    track = np.unwrap(np.arctan2(velocity_mps[1], velocity_mps[0]))
    straight = np.abs(np.diff(track)) < _STRAIGHT_RAD_S * step_s
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
    smooth = np.convolve(np.pad(size, 1, mode="edge"), np.full(3, 1.0 / 3.0), mode="valid")
    around = sliding_window_view(np.pad(smooth, _AROUND_NODES, mode="edge"), 2 * _AROUND_NODES + 1).max(axis=1)
    expected: FloatArray = np.maximum(_LEAST_ACCELERATION, _MORE_THAN_SEEN * around)
    return expected
