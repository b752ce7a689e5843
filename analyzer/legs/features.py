"""What the shapes of a flight are recognised by, one value per second: bank, headings, and places about the fix."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cached_property

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.grammar import Turning
from analyzer.legs.guidance import established
from analyzer.motion.states import States
from analyzer.physics import geodesy, turning
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted

__all__ = ["Features", "from_arc_centre"]

# Bank in degrees: near level when flying straight, some 10° to 32° in a turn. Shares of time in a stretch that may be anything.
_LEVEL_SD_DEG = 4.0
_TURN_LOW_DEG, _TURN_HIGH_DEG, _TURN_BELOW_SD_DEG, _TURN_ABOVE_SD_DEG = 10.0, 32.0, 5.0, 10.0
_SHALLOW_SHARE = 0.7  # of standard rate: a shallow turn
_TURN_LOG_WIDTH = math.log(
    _TURN_HIGH_DEG - _TURN_LOW_DEG + math.sqrt(math.pi / 2.0) * (_TURN_BELOW_SD_DEG + _TURN_ABOVE_SD_DEG)
)
_LEVEL_LOG_WIDTH = math.log(_LEVEL_SD_DEG * math.sqrt(2.0 * math.pi))
_FREE_LEVEL, _FREE_TURN = math.log(0.6), math.log(0.2)
# A turn at the fix lies within so many radii of it, a margin, and what the wind does in half a circle. Radii are of a turn at
# 20° of bank; one at 15° has 1.4 of them.
_LEAD_RADII, _SHALLOW_RADII, _LEAD_MARGIN_M = 3.0, 1.4, 0.5 * NM
_LATE_S = 10.0  # after passing the fix a pilot may go straight on before the entry turn
_STRAYED_S = 15  # ago, that a drift shows from: states are a second apart
_ARC_SD_M, _ARC_SD_SHARE = 1.0 * NM, 0.1  # off a charted arc, at least and of its radius


@dataclass(frozen=True, eq=False)
class Features:
    """Input of the densities, one value per second of a stretch: each is worked out when it is first asked for.

    `passage_s` is the instant of the outbound passage, None where there is none. Angles are in degrees from the outbound
    course, positive to the right.
    """

    states: States
    charted: Charted
    passage_s: float | None

    @cached_property
    def airspeed_mps(self) -> float:
        """The usual airspeed."""
        return median(self.states.true_airspeed_mps)

    @cached_property
    def radius_m(self) -> float:
        """Radius of a turn at 20° of bank."""
        return float(turning.turn_radius(self.airspeed_mps, 20.0 * DEG))

    @cached_property
    def wind(self) -> tuple[float, float]:
        """Where the wind blows, to the right of the outbound course and along it, as shares of the airspeed."""
        return _wind(self.states, self.charted.outbound_true_rad, self.airspeed_mps)

    @cached_property
    def heading_deg(self) -> FloatArray:
        """The heading."""
        return wrap(self.states.heading_rad - self.charted.outbound_true_rad) / DEG

    @cached_property
    def off_inbound_deg(self) -> FloatArray:
        """The heading off the inbound course."""
        return wrap(self.states.heading_rad - self.charted.inbound_true_rad) / DEG

    @cached_property
    def track_deg(self) -> FloatArray:
        """The track."""
        return wrap(self.states.track_rad - self.charted.outbound_true_rad) / DEG

    @cached_property
    def bank(self) -> Mapping[Turning, FloatArray]:
        """Log-density of the bank by how a step turns, for the right side."""
        return _bank(self.states.bank_rad / DEG * _slow_scale(self.airspeed_mps))

    @cached_property
    def aside_radii(self) -> FloatArray:
        """Distance off the outbound course, in radii of a turn."""
        return self.states.cross_track_m(self.charted.outbound_true_rad) / self.radius_m

    @cached_property
    def passed_radii(self) -> float:
        """Distance off the outbound course when the fix was passed, in radii of a turn."""
        if self.passage_s is None:
            return 0.0
        at = int(np.searchsorted(self.states.time_s, self.passage_s))
        return float(self.aside_radii[min(at, len(self.aside_radii) - 1)])

    def beside_radii(self, side: int) -> tuple[float, float]:
        """Least and greatest distance to a side of the course after a turn of 180° from it, in radii of a turn at 20° of bank.

        Two radii of such a turn, or of one at standard rate, which are larger for a slow aircraft, and as far as the wind
        carries the aircraft in either. In a charted hold two radii, from the course or from beside the fix, where it was passed
        there: the sectors of the entries tell them apart.
        """
        if self.charted.kind == "hold":
            return 2.0, 2.0 + max(0.0, side * self.passed_radii)
        slowest = max(1.0, self.airspeed_mps / turning.STANDARD_RATE_RADPS / self.radius_m)
        carried = 2.0 + side * math.pi * self.wind[0]
        across = carried, carried * slowest
        return min(across), max(across)

    def strayed_radii(self, side: int) -> FloatArray:
        """How far across the outbound course, off to the other side, the way out had strayed by then; 0 or less, in radii."""
        across = np.where(self.out, np.minimum(side * self.aside_radii, 0.0), 0.0)
        strayed = np.zeros(len(across))
        strayed[_STRAYED_S:] = np.minimum.accumulate(across)[:-_STRAYED_S]
        return strayed

    @cached_property
    def from_centre(self) -> tuple[FloatArray, FloatArray]:
        """Distance from the arc's centre in radii of a turn, and the track off the way straight away from there."""
        distance_m, away_rad = from_arc_centre(self.states, self.charted)
        return distance_m / self.radius_m, wrap(self.states.track_rad - away_rad) / DEG

    @cached_property
    def off_arc_radii(self) -> FloatArray | None:
        """Distance outside the charted arc, in radii of a turn; None where no arc is charted."""
        arc_m = self.charted.arc_radius_m
        return None if arc_m is None else self.from_centre[0] - arc_m / self.radius_m

    @cached_property
    def arc_sd_radii(self) -> float:
        """How far from the arc pilots stray, in radii of a turn."""
        return max(_ARC_SD_M, _ARC_SD_SHARE * (self.charted.arc_radius_m or 0.0)) / self.radius_m

    @cached_property
    def established(self) -> BoolArray:
        """Whether the aircraft is established inbound."""
        return established(self.states, self.charted)

    @cached_property
    def at_fix(self) -> BoolArray:
        """Whether it is near enough to the fix for a turn there."""
        reach_radii = _LEAD_RADII + _SHALLOW_RADII * math.pi * math.hypot(*self.wind)
        near: BoolArray = self.states.distance_m < reach_radii * self.radius_m + _LEAD_MARGIN_M
        return near

    @cached_property
    def arriving(self) -> BoolArray:
        """Whether it is on the way to the fix, or has just passed it."""
        until: BoolArray = self.states.time_s < (self.passage_s if self.passage_s is not None else math.inf) + _LATE_S
        return until

    @cached_property
    def out(self) -> BoolArray:
        """Whether it has passed the fix."""
        since: BoolArray = self.states.time_s >= (self.passage_s if self.passage_s is not None else -math.inf)
        return since


def _wind(states: States, course_rad: float, airspeed_mps: float) -> tuple[float, float]:
    """The mean wind of some states, right of a course and along it, as shares of the airspeed.

    It is their motion over ground less that through the air.
    """
    over, through = states.ground_speed_mps, states.true_airspeed_mps
    east = float(over @ np.sin(states.track_rad) - through @ np.sin(states.heading_rad)) / len(states)
    north = float(over @ np.cos(states.track_rad) - through @ np.cos(states.heading_rad)) / len(states)
    cosine, sine = math.cos(course_rad), math.sin(course_rad)
    right, along = east * cosine - north * sine, north * cosine + east * sine
    return right / max(1.0, airspeed_mps), along / max(1.0, airspeed_mps)


def _slow_scale(airspeed_mps: float) -> float:
    """Weight of bank for a slow aircraft, whose standard-rate turn takes less bank than the shallowest turn of others."""
    standard = float(turning.bank_for_rate(airspeed_mps, turning.STANDARD_RATE_RADPS)) / DEG
    return max(1.0, _TURN_LOW_DEG / (_SHALLOW_SHARE * standard))


def from_arc_centre(states: States, charted: Charted) -> tuple[FloatArray, FloatArray]:
    """Distance from the centre of the charted arc, else from the fix [m], and the direction there away from it [rad]."""
    if charted.arc_latitude_rad is None or charted.arc_longitude_rad is None:
        return states.distance_m, states.bearing_rad
    distance, back = geodesy.inverse(
        states.latitude_rad, states.longitude_rad, charted.arc_latitude_rad, charted.arc_longitude_rad
    )
    return distance, wrap(back + math.pi)


def _level(bank_deg: FloatArray) -> FloatArray:
    return -0.5 * (bank_deg / _LEVEL_SD_DEG) ** 2 - _LEVEL_LOG_WIDTH


def _turn(bank_deg: FloatArray) -> FloatArray:
    below = np.maximum(_TURN_LOW_DEG - bank_deg, 0.0) / _TURN_BELOW_SD_DEG
    above = np.maximum(bank_deg - _TURN_HIGH_DEG, 0.0) / _TURN_ABOVE_SD_DEG
    return -0.5 * (below**2 + above**2) - _TURN_LOG_WIDTH


def _bank(bank_deg: FloatArray) -> dict[Turning, FloatArray]:
    """Log-density of the bank by how a step turns, for the right side."""
    right, left, level = _turn(bank_deg), _turn(-bank_deg), _level(bank_deg)
    either = np.logaddexp(right, left)
    return {
        "towards": right,
        "away": left,
        "straight": level,
        "either": either - math.log(2.0),
        "free": np.logaddexp(level + _FREE_LEVEL, either + _FREE_TURN),
    }
