"""Time on the ground at either end of a log, recognised by ground speed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analyzer.physics.units import KT, FloatArray
from analyzer.track.samples import Samples
from analyzer.track.steps import plane_m
from analyzer.track.track import Note, counted

__all__ = ["drop_ground"]

_TAXI_MPS = 30.0 * KT
_FLIGHT_MPS = 50.0 * KT
_HALF_WINDOW_S = 5.0


def drop_ground(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without the samples slower than 30 kt before the first faster one and after the last.

    Speeds are means over 10 s. They stay where the log never reaches 50 kt: then there is no flight to cut out, and the note
    says so. Slow samples within the flight always stay.
    """
    speed = _mean_speed_mps(samples)
    if speed.max() < _FLIGHT_MPS:
        text = (
            f"never faster than {speed.max() / KT:.0f} kt: this log holds no flight, or its times or positions are in another"
            " unit (such as --unit time=0.01s, or --unit latitude=rad --unit longitude=rad)"
        )
        return samples, (Note(text),)
    flying = np.flatnonzero(speed >= _TAXI_MPS)
    first, last = int(flying[0]), int(flying[-1])
    if (first, last) == (0, len(samples) - 1):
        return samples, ()
    notes = []
    if first:
        notes.append(Note(f"{counted(first, 'sample')} slower than 30 kt before take-off left out", first))
    after = len(samples) - 1 - last
    if after:
        notes.append(Note(f"{counted(after, 'sample')} slower than 30 kt after landing left out", after))
    return replace(samples.take(np.arange(first, last + 1)), takes_off=first > 0), tuple(notes)


def _mean_speed_mps(samples: Samples) -> FloatArray:
    """Ground speed at each sample from the places 5 s before and after it, or at the log's ends. [m/s]"""
    time, plane = samples.time_s, plane_m(samples)
    begin, end = np.maximum(time - _HALF_WINDOW_S, time[0]), np.minimum(time + _HALF_WINDOW_S, time[-1])
    north, east = (np.interp(end, time, values) - np.interp(begin, time, values) for values in plane)
    speed: FloatArray = np.hypot(north, east) / (end - begin)
    return speed
