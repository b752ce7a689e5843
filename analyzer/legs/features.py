"""How well each second of a flight fits a step of a shape: log-densities of bank, heading and place."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.grammar import Step, Turning
from analyzer.legs.guidance import established
from analyzer.motion.motion import States
from analyzer.physics import geodesy, turning
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted

__all__ = ["Features", "from_arc_centre", "log_density"]

# Bank in degrees: near level when flying straight, some 10° to 32° in a turn. Shares of time in a stretch that may be anything.
_LEVEL_SD_DEG = 4.0
_TURN_LOW_DEG, _TURN_HIGH_DEG, _TURN_BELOW_SD_DEG, _TURN_ABOVE_SD_DEG = 10.0, 32.0, 5.0, 10.0
_SHALLOW_SHARE = 0.7  # of standard rate: a shallow turn
_TURN_LOG_WIDTH = math.log(
    _TURN_HIGH_DEG - _TURN_LOW_DEG + math.sqrt(math.pi / 2.0) * (_TURN_BELOW_SD_DEG + _TURN_ABOVE_SD_DEG)
)
_LEVEL_LOG_WIDTH = math.log(_LEVEL_SD_DEG * math.sqrt(2.0 * math.pi))
_FREE_LEVEL, _FREE_TURN = math.log(0.6), math.log(0.2)
_OUT_OF_PLACE = -1.5  # log-density per second of being off the inbound course where it should be held, or on it
# A turn at the fix lies within so many radii of it, a margin, and what the wind does in half a circle. Radii are of a turn at
# 20° of bank; one at 15° has 1.4 of them.
_LEAD_RADII, _SHALLOW_RADII, _LEAD_MARGIN_M = 3.0, 1.4, 0.5 * NM

_LATE_S = 10.0  # after passing the fix a pilot may go straight on before the entry turn

# An outbound course is closed with at up to so many degrees from farther off than so many radii, and less from nearer.
_CLOSING_DEG, _CLOSING_RADII = 30.0, 0.5
# Where a leg lies off the outbound course, in radii of a turn: along it, a turn's width to the side, or anywhere in a
# range; a leg on the side flown on is no farther across the course than a fraction of one.
_ACROSS, _ACROSS_SD = -0.5, 0.4
_ALONG_SD, _BESIDE, _BESIDE_SD, _ASIDE_RANGE = 1.2, 2.0, 0.8, 8.0
_ARC_SD_M, _ARC_SD_SHARE = 0.5 * NM, 0.05  # off a charted arc, at least and of its radius
_JOINING_RADII = 5.0  # off it, a turn that joins it begins, at right angles to it with the wind behind
_OPPOSITE, _OPPOSITE_SD = -0.6, 1.4  # outbound in a parallel entry: where a turn of up to 110° leads, and the wind


@dataclass(frozen=True, eq=False)
class Features:
    """Input of the densities, one value per second. Angles in degrees from the outbound course, positive to the side."""

    heading_deg: FloatArray
    inbound_heading_deg: FloatArray  # 180 on the inbound course
    wind: tuple[float, float]  # where it blows, towards the side and along the outbound course, as shares of the airspeed
    track_deg: FloatArray
    bank: Mapping[Turning, FloatArray]  # log-density of the bank
    aside_radii: FloatArray  # off the outbound course, in radii of a turn at 20° of bank
    from_centre_deg: FloatArray  # of the track, off the way straight away from the arc's centre
    off_arc_radii: FloatArray | None  # outside the charted arc, in the same radii; None where none is charted
    arc_sd_radii: float  # how far from it pilots stray
    established: BoolArray
    at_fix: BoolArray
    arriving: BoolArray
    out: BoolArray

    @classmethod
    def of(cls, states: States, charted: Charted, passage_s: float | None) -> Features:
        """Features of a stretch for the right side, with the instant of the outbound passage where there is one."""
        outbound, inbound = charted.outbound_true_rad, charted.inbound_true_rad
        airspeed = median(states.true_airspeed_mps)
        radius = float(turning.turn_radius(airspeed, 20.0 * DEG))
        centre_m, away_rad = from_arc_centre(states, charted)
        arc_m = charted.arc_radius_m
        wind = _wind(states, outbound, airspeed)
        before = states.time_s < (passage_s if passage_s is not None else -math.inf)
        return cls(
            heading_deg=wrap(states.heading_rad - outbound) / DEG,
            wind=wind,
            inbound_heading_deg=180.0 + wrap(states.heading_rad - inbound) / DEG,
            track_deg=wrap(states.track_rad - outbound) / DEG,
            bank=_bank(states.bank_rad / DEG * _slow_scale(airspeed)),
            aside_radii=states.cross_track_m(outbound) / radius,
            from_centre_deg=wrap(states.track_rad - away_rad) / DEG,
            off_arc_radii=(centre_m - arc_m) / radius if arc_m is not None else None,
            arc_sd_radii=max(_ARC_SD_M, _ARC_SD_SHARE * (arc_m or 0.0)) / radius,
            established=established(states, charted),
            at_fix=states.distance_m < (_LEAD_RADII + _SHALLOW_RADII * math.pi * math.hypot(*wind)) * radius + _LEAD_MARGIN_M,
            arriving=states.time_s < (passage_s if passage_s is not None else math.inf) + _LATE_S,
            out=~before,
        )

    def mirrored(self) -> Features:
        """The features of the same stretch for the other side."""
        return replace(
            self,
            heading_deg=-self.heading_deg,
            inbound_heading_deg=360.0 - self.inbound_heading_deg,
            wind=(-self.wind[0], self.wind[1]),
            track_deg=-self.track_deg,
            bank={**self.bank, "towards": self.bank["away"], "away": self.bank["towards"]},
            aside_radii=-self.aside_radii,
            from_centre_deg=-self.from_centre_deg,
        )


def _wind(states: States, course_rad: float, airspeed_mps: float) -> tuple[float, float]:
    """The mean wind of some states, right of a course and along it, as shares of the airspeed.

    It is their motion over ground less that through the air.
    """
    over, through = states.ground_speed_mps, states.true_airspeed_mps
    track, heading = states.track_rad - course_rad, states.heading_rad - course_rad
    right = float(np.mean(over * np.sin(track) - through * np.sin(heading)))
    along = float(np.mean(over * np.cos(track) - through * np.cos(heading)))
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


def log_density(features: Features, step: Step) -> FloatArray:
    """Log-density of each second under a step, per degree of bank and degree of heading."""
    bank = features.bank[step.turning]
    if step.place == "on arc":
        # the way round the centre is clockwise for the right side
        off_degrees = np.mod(features.from_centre_deg + 90.0, 360.0) - 180.0
        return bank + _near(off_degrees, 0.0, step.spread_deg) + _place(features, step)
    if step.place == "out along":
        return bank + _closing(features, step.spread_deg) + _place(features, step)
    heading = features.heading_deg
    if step.place in ("on course", "off course"):
        heading = features.inbound_heading_deg
    return bank + _heading(heading, _headings(features, step), step.spread_deg) + _place(features, step)


def _headings(features: Features, step: Step) -> tuple[float, float] | None:
    """The arc of headings of a step, with what corrects for the wind where it is nearest to the outbound course. [degrees]"""
    if step.heading_deg is None or step.drifts == 0.0:
        return step.heading_deg
    low, high = step.heading_deg
    course = min(max(low, 0.0), high) * DEG
    across = features.wind[0] * math.cos(course) - features.wind[1] * math.sin(course)
    corrected = -step.drifts * math.asin(min(1.0, max(-1.0, across))) / DEG
    return low + min(0.0, corrected), high + max(0.0, corrected)


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


def _heading(heading_deg: FloatArray, arc_deg: tuple[float, float] | None, spread_deg: float) -> FloatArray:
    if arc_deg is None:
        return np.full(len(heading_deg), -math.log(360.0))
    low, high = arc_deg
    half = (high - low) / 2.0
    off_middle = np.abs(np.mod(heading_deg - (low + high) / 2.0 + 180.0, 360.0) - 180.0)
    outside = np.maximum(off_middle - half, 0.0)
    return -0.5 * (outside / spread_deg) ** 2 - math.log(2.0 * half + spread_deg * math.sqrt(2.0 * math.pi))


def _closing(features: Features, spread_deg: float) -> FloatArray:
    """Log-density of the track of an aircraft that flies along the outbound course, or closes with it at up to 30°."""
    cut = -_CLOSING_DEG * np.clip(features.aside_radii / _CLOSING_RADII, -1.0, 1.0)
    outside = np.maximum(np.minimum(cut, 0.0) - features.track_deg, 0.0) + np.maximum(
        features.track_deg - np.maximum(cut, 0.0), 0.0
    )
    return -0.5 * (outside / spread_deg) ** 2 - np.log(np.abs(cut) + spread_deg * math.sqrt(2.0 * math.pi))


def _place(features: Features, step: Step) -> FloatArray:
    anywhere = -math.log(_ASIDE_RANGE)
    off_arc = features.off_arc_radii
    if step.place == "on arc" and off_arc is not None:
        return _near(off_arc, 0.0, features.arc_sd_radii)
    if step.place == "to arc" and off_arc is not None:
        return np.where(np.abs(off_arc) < _JOINING_RADII + 2.0 * features.arc_sd_radii, anywhere, -np.inf)
    if step.place == "at fix":
        return np.where(features.at_fix, anywhere, -np.inf)
    if step.place == "in":
        return np.where(features.arriving, anywhere, -np.inf)
    if step.place == "out along":
        return np.where(features.out, _near(features.aside_radii, 0.0, _ALONG_SD), -np.inf)
    if step.place == "out aside":
        across = np.maximum(_ACROSS - features.aside_radii, 0.0) / _ACROSS_SD
        return np.where(features.out, anywhere - 0.5 * across**2, -np.inf)
    if step.place == "out across":
        return np.where(features.out, _near(features.aside_radii, _OPPOSITE, _OPPOSITE_SD), -np.inf)
    if step.place == "out beside":
        return np.where(features.out, _near(features.aside_radii, _BESIDE, _BESIDE_SD), -np.inf)
    if step.place == "out":
        return np.where(features.out, anywhere, -np.inf)
    if step.place == "on course":
        return np.where(features.established, anywhere, anywhere + _OUT_OF_PLACE)
    if step.place == "off course":
        return np.where(features.established, anywhere + _OUT_OF_PLACE, anywhere)
    return np.full(len(features.out), anywhere)


def _near(value: FloatArray, mean: float, sd: float) -> FloatArray:
    """Normal log-density."""
    return -0.5 * ((value - mean) / sd) ** 2 - math.log(sd * math.sqrt(2.0 * math.pi))
