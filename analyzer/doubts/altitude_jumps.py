"""Altitudes that jump by more than any aircraft climbs or sinks, and stay: another source, unit or setting from there on."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analyzer.checks.phrases import FEET, METRES, clock
from analyzer.doubts.doubt import Doubt
from analyzer.motion.motion import Motion
from analyzer.physics.quantiles import median
from analyzer.physics.units import BoolArray, FloatArray

__all__ = ["altitude_jumps"]

_LEAST_M, _FASTEST_MPS = 40.0, 20.0  # of a step, beyond the climb around it; 4,000 ft/min
_STEPS = 5  # either side, whose median change is the climb around
_STAYS = 0.6  # of the step, by which the levels before and after differ
_USUAL = 8.0  # times the usual change from one altitude to the next
_LONGEST_S = 30.0  # between two altitudes, in which more may have been flown


def altitude_jumps(motion: Motion) -> Iterator[Doubt]:
    """A doubt about the altitudes, if any of them jumps: which side of it is right does not show."""
    known = np.isfinite(motion.track.altitude_m)
    time, altitude = motion.track.time_s[known], motion.track.altitude_m[known]
    places = np.flatnonzero(_jumps(time, altitude))
    if not len(places):
        return
    height = METRES if motion.charted.altitude_unit == "m" else FEET
    first = int(places[0])
    step = float(altitude[first + 1] - altitude[first])
    again = {1: "", 2: ", and once more"}.get(len(places), f", and {len(places) - 1} times more")
    way, took_s = "up" if step > 0.0 else "down", float(time[first + 1] - time[first])
    yield Doubt(
        f"At {clock(float(time[first]))} the altitude jumps {way} by {height.text(abs(step))} within {took_s:.0f} s{again}: "
        "from there it is of another source, unit or altimeter setting. The altitudes are not judged.",
        "altitudes",
        "the altitude jumps in this log",
        (),
        "altitude jumps",
    )


def _jumps(time_s: FloatArray, altitude_m: FloatArray) -> BoolArray:
    """Whether the altitude jumps from each sample to the next."""
    change, took = np.diff(altitude_m), np.diff(time_s)
    jumps = np.zeros(len(change), dtype=np.bool_)
    if len(change) < 2 * _STEPS + 1:
        return jumps
    usual = median(np.abs(change))
    candidates = np.flatnonzero((np.abs(change) > np.maximum(_LEAST_M, _FASTEST_MPS * took)) & (took < _LONGEST_S))
    for place in candidates[(candidates >= _STEPS) & (candidates < len(change) - _STEPS)].tolist():
        around = np.r_[place - _STEPS : place, place + 1 : place + 1 + _STEPS]
        climb = median(change[around] / took[around])
        beyond = abs(float(change[place]) - climb * float(took[place]))
        stays = abs(median(altitude_m[place + 1 : place + 1 + _STEPS]) - median(altitude_m[place + 1 - _STEPS : place + 1]))
        limit = max(_LEAST_M, _FASTEST_MPS * float(took[place]), _USUAL * usual)
        jumps[place] = beyond > limit and stays > _STAYS * abs(float(change[place]))
    return jumps
