"""Positions that step aside once, while the flight goes on alongside: a receiver changes its satellites or its corrections.

In a turn the wing hides satellites, and others are taken afterwards. Both sides of the step were measured, and which one is off
is not to be told. But no aircraft flew the step: as a speed it is a hundred knots for a second, and as a turn a bank.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from analyzer.physics.geodesy import MEAN_RADIUS_M
from analyzer.physics.quantiles import median, quantile
from analyzer.physics.units import FloatArray, wrap
from analyzer.track.samples import Samples
from analyzer.track.track import Note, counted

__all__ = ["spread_shifts"]

# Of a step beyond the flight, and times the usual; a longer one is a jump of the aircraft, not of its receiver
_LEAST_M, _TYPICAL, _MOST_M = 6.0, 8.0, 170.0
_UNITS = 5.0  # of the last digit, by which coarse positions step by themselves
# Of an aircraft that rolls at 30° a second: it steps itself by half of that times the cube of the interval
_JERK_MPS3 = 5.0
_EVEN, _KEPT, _LONGEST = 0.2, 0.02, 2.5  # of the usual interval: where times are uneven, they may be what is wrong
_SELDOM = 60  # samples for each step, at least: more are the scatter of this receiver
_SPREAD_S = 60.0  # before a step and after it: one of 80 m is then 2 kt at most, and 0.2° of bank


def spread_shifts(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """With steps aside spread over the minute before and the minute after, half of each, smoothly and vanishing at the ends."""
    if len(samples) < _SELDOM:
        return samples, ()
    time = samples.time_s
    step, plain = samples.beyond_flight_m
    size, interval = np.abs(step), np.diff(time)[1:-1]
    if not (plain & (size > _LEAST_M)).any():
        return samples, ()  # most logs
    digit_m = MEAN_RADIUS_M * max(samples.digits_rad)
    least_m = max(_LEAST_M, _TYPICAL * median(size), _UNITS * digit_m) + 0.5 * _JERK_MPS3 * interval**3
    usual_s = median(interval)
    uneven = np.abs(interval - usual_s) / usual_s
    # a clock that is set right by part of a second shows where it keeps time before and after
    trusted = interval < _LONGEST * usual_s if quantile(uneven, 0.9) < _KEPT else uneven < _EVEN
    found = plain & (size > least_m) & (size < _MOST_M) & trusted
    places = np.flatnonzero(found)
    if not len(places) or len(places) * _SELDOM > len(samples):
        return samples, ()
    off_m = np.zeros(len(samples), dtype=np.complex128)
    for place in places.tolist():
        off_m += step[place] * _share(time, 0.5 * float(time[place + 1] + time[place + 2]))
    much = f"of {float(size[places].max()):.0f} m{'' if len(places) == 1 else ' at most'}"
    text = (
        f"{counted(len(places), 'step')} aside from one position to the next, {much}, as no aircraft flies: spread over the "
        "minute before and after; on one side of it positions are off by as much"
    )
    north_rad, east_rad = off_m.real / MEAN_RADIUS_M, off_m.imag / MEAN_RADIUS_M
    latitude = samples.latitude_rad + north_rad
    longitude = wrap(samples.longitude_rad + east_rad / np.cos(samples.latitude_rad))
    return replace(samples, latitude_rad=latitude, longitude_rad=longitude), (Note(text, len(places)),)


def _share(time_s: FloatArray, at_s: float) -> npt.NDArray[np.float64]:
    """The share of a step at an instant that is added to positions: up to half before it, as much less after it."""
    since = (time_s - at_s) / _SPREAD_S
    near = np.abs(since) < 1.0
    share = np.zeros(len(time_s))
    share[near] = -0.5 * np.sign(since[near]) * (1.0 - np.sin(0.5 * math.pi * np.abs(since[near])))
    return share
