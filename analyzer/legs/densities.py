"""How well each second of a flight fits a step of a shape: log-densities of bank, heading and place."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import field
from types import MappingProxyType

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.features import Features
from analyzer.legs.grammar import Place, Step, Turning
from analyzer.physics.units import DEG, FloatArray

__all__ = ["StepGains"]

_OUT_OF_PLACE = -1.5  # log-density per second of being off the inbound course where it should be held, or on it
# An outbound course is closed with at up to so many degrees from farther off than so many radii, and less from nearer.
_CLOSING_DEG, _CLOSING_RADII = 30.0, 0.5
# Where a leg lies off the outbound course, in radii of a turn: along it, a turn's width to the side, or anywhere in a
# range; a leg on the side flown on is no farther across the course than a fraction of one, beyond where the way out led.
_ACROSS, _ACROSS_SD = -0.5, 0.4
_ALONG_SD, _BESIDE_SD, _ASIDE_RANGE = 1.2, 0.8, 8.0
_JOINING_RADII = 5.0  # off an arc, a turn that joins it begins, at right angles to it with the wind behind
_OPPOSITE, _OPPOSITE_SD = -0.6, 1.4  # outbound in a parallel entry: where a turn of up to 110° leads, and the wind
_MIRRORED: Mapping[Turning, Turning] = MappingProxyType({"towards": "away", "away": "towards"})  # for the left side
_BY_INBOUND = ("on course", "off course")  # places whose headings count from the inbound course
_ON_EITHER_SIDE = ("any", "in", "at fix", "out", *_BY_INBOUND)
_BARRED = -1e3  # in place of -inf in sums: no stretch with such a second gains anything


@dataclass(frozen=True, eq=False)
class StepGains:
    """How much better each second fits a step than an unspecified flight, for a side, +1 right.

    What a step gains is worked out when it is first asked for: that many shapes are not flown shows in a step or two.
    """

    features: Features
    side: int
    right: StepGains | None = None  # for the left side, the gains on the right one: those of many steps are the same
    _gains: dict[Step, FloatArray] = field(default_factory=dict)
    _greatest: dict[tuple[Step, bool], float] = field(default_factory=dict)
    _turning: dict[Turning, FloatArray] = field(default_factory=dict)
    _placed: dict[Place, FloatArray | float] = field(default_factory=dict)

    def gain(self, step: Step) -> FloatArray:
        """Log-density of each second under a step, relative to that of an unspecified flight; -inf where it cannot be."""
        if self.right is not None and _is_alike(step):
            return self.right.gain(step)
        if step not in self._gains:
            gain = self._of_turning(step.turning) + _direction(self.features, self.side, step)
            gain += self._of_place(step.place)
            self._gains[step] = gain
        return self._gains[step]

    def greatest(self, step: Step, *, last: bool) -> float:
        """The greatest gain of a step over any stretch of seconds, or over any that goes on to the `last` one."""
        if self.right is not None and _is_alike(step):
            return self.right.greatest(step, last=last)
        if (step, last) not in self._greatest:
            total = np.zeros(len(self.features.states) + 1)
            np.maximum(self.gain(step), _BARRED).cumsum(out=total[1:])
            greatest = total[-1] - total.min() if last else (total - np.minimum.accumulate(total)).max()
            self._greatest[step, last] = float(greatest)
        return self._greatest[step, last]

    def _of_turning(self, turning: Turning) -> FloatArray:
        """Log-density of the bank of a step that turns so, relative to an unspecified flight."""
        if turning not in self._turning:
            bank = self.features.bank
            nothing = bank["free"] - (math.log(360.0) + math.log(_ASIDE_RANGE))
            self._turning[turning] = bank[_MIRRORED.get(turning, turning) if self.side < 0 else turning] - nothing
        return self._turning[turning]

    def _of_place(self, place: Place) -> FloatArray | float:
        """Log-density of a place."""
        if place not in self._placed:
            self._placed[place] = _place(self.features, self.side, place)
        return self._placed[place]


def _is_alike(step: Step) -> bool:
    """Whether a step is the same on either side: it turns to neither, and headings and place lie evenly about a course."""
    if step.turning in _MIRRORED or step.place not in _ON_EITHER_SIDE:
        return False
    return step.heading_deg is None or sum(step.heading_deg) == (360.0 if step.place in _BY_INBOUND else 0.0)


def _direction(features: Features, side: int, step: Step) -> FloatArray | float:
    """Log-density of each second's heading or track under a step flown on a side, per degree; one number if all are alike."""
    if step.place == "on arc":
        # the way round the centre is clockwise for the right side
        off_degrees = np.mod(side * features.from_centre[1] + 90.0, 360.0) - 180.0
        return _near(off_degrees, 0.0, step.spread_deg)
    if step.place == "out along":
        return _closing(features, side, step.spread_deg)
    if step.heading_deg is None:
        return -math.log(360.0)
    heading = 180.0 + side * features.off_inbound_deg if step.place in _BY_INBOUND else side * features.heading_deg
    return _heading(heading, _headings(features, side, step.heading_deg, step.drifts), step.spread_deg)


def _headings(features: Features, side: int, arc_deg: tuple[float, float], drifts: float) -> tuple[float, float]:
    """An arc of headings, with what corrects for the wind where it is nearest to the outbound course. [degrees]"""
    if drifts == 0.0:
        return arc_deg
    low, high = arc_deg
    course = min(max(low, 0.0), high) * DEG
    across = side * features.wind[0] * math.cos(course) - features.wind[1] * math.sin(course)
    corrected = -drifts * math.asin(min(1.0, max(-1.0, across))) / DEG
    return low + min(0.0, corrected), high + max(0.0, corrected)


def _heading(heading_deg: FloatArray, arc_deg: tuple[float, float], spread_deg: float) -> FloatArray:
    low, high = arc_deg
    half = (high - low) / 2.0
    apart = heading_deg - (low + high) / 2.0
    np.abs(apart, out=apart)
    outside = np.minimum(apart, np.abs(360.0 - apart))  # less than one and a half turns apart
    outside -= half
    np.maximum(outside, 0.0, out=outside)
    outside *= outside
    outside *= -0.5 / spread_deg**2
    outside -= math.log(2.0 * half + spread_deg * math.sqrt(2.0 * math.pi))
    return outside


def _closing(features: Features, side: int, spread_deg: float) -> FloatArray:
    """Log-density of the track of an aircraft that flies along the outbound course, or closes with it at up to 30°."""
    cut = -_CLOSING_DEG * np.clip(side * features.aside_radii / _CLOSING_RADII, -1.0, 1.0)
    track = side * features.track_deg
    outside = np.maximum(np.minimum(cut, 0.0) - track, 0.0) + np.maximum(track - np.maximum(cut, 0.0), 0.0)
    return -0.5 * (outside / spread_deg) ** 2 - np.log(np.abs(cut) + spread_deg * math.sqrt(2.0 * math.pi))


def _place(features: Features, side: int, place: Place) -> FloatArray | float:
    """Log-density of the place; one number where it is the same all along."""
    anywhere = -math.log(_ASIDE_RANGE)
    if place == "on arc" and features.off_arc_radii is not None:
        return _near(features.off_arc_radii, 0.0, features.arc_sd_radii)
    if place == "to arc" and features.off_arc_radii is not None:
        near = np.abs(features.off_arc_radii) < _JOINING_RADII + 2.0 * features.arc_sd_radii
        return np.where(near, anywhere, -np.inf)
    if place == "at fix":
        return np.where(features.at_fix, anywhere, -np.inf)
    if place == "in":
        return np.where(features.arriving, anywhere, -np.inf)
    if place == "out along":
        return np.where(features.out, _near(features.aside_radii, 0.0, _ALONG_SD), -np.inf)
    if place == "out aside":
        across = np.maximum(_ACROSS + features.strayed_radii(side) - side * features.aside_radii, 0.0) / _ACROSS_SD
        return np.where(features.out, anywhere - 0.5 * across**2, -np.inf)
    if place == "out across":
        return np.where(features.out, _near(side * features.aside_radii, _OPPOSITE, _OPPOSITE_SD), -np.inf)
    if place == "out beside":
        least, most = features.beside_radii(side)
        beyond = side * features.aside_radii - np.clip(side * features.aside_radii, least, most)
        return np.where(features.out, _near(beyond, 0.0, _BESIDE_SD), -np.inf)
    if place == "out":
        return np.where(features.out, anywhere, -np.inf)
    if place == "on course":
        return np.where(features.established, anywhere, anywhere + _OUT_OF_PLACE)
    if place == "off course":
        return np.where(features.established, anywhere + _OUT_OF_PLACE, anywhere)
    return anywhere


def _near(value: FloatArray, mean: float, sd: float) -> FloatArray:
    """Normal log-density."""
    return -0.5 * ((value - mean) / sd) ** 2 - math.log(sd * math.sqrt(2.0 * math.pi))
