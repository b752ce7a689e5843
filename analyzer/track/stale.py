"""Stale records: a position that was logged some seconds ago comes again with a later time, between others that went on.

Networks of ground receivers pass on what arrives late under the time of its arrival. The position is the same to its last
digit, which no flight at flying speed comes back to within seconds.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from analyzer.physics.geodesy import MEAN_RADIUS_M
from analyzer.physics.units import BoolArray
from analyzer.track.samples import Samples
from analyzer.track.steps import FLYING_MPS, plane_m, separation_m
from analyzer.track.track import Note, counted

__all__ = ["drop_stale"]

_WITHIN_S = 20.0
_UNITS = 3.0  # of the last digit: on a coarse lattice a flight may step back and forth
_USUAL = 5.0  # times what the log's positions usually are off the middle of their neighbours


def drop_stale(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without records whose position equals, digit for digit, one of the last 20 s from which the flight has gone on since.

    It has gone on where the sound record before is so far from that position that neither noise nor rounding explains it, at
    flying speed, and the one after is further off. An aircraft at rest stays, as do positions that are repeated without
    another between them.
    """
    moved = (np.diff(samples.latitude_rad) != 0.0) | (np.diff(samples.longitude_rad) != 0.0)
    starts = np.concatenate(([0], np.flatnonzero(moved) + 1))
    earlier, again = _returns(samples, starts)
    if not len(again):
        return samples, ()
    returned = np.zeros(len(starts), dtype=np.bool_)
    returned[again] = True
    stale = np.zeros(len(starts), dtype=np.bool_)
    stale[again] = _gone_on(samples, starts, returned, earlier, again)
    out = stale[np.searchsorted(starts, np.arange(len(samples)), side="right") - 1]
    count = int(np.count_nonzero(out))
    if not count:
        return samples, ()
    text = f"{counted(count, 'record')} with a position of up to {_WITHIN_S:.0f} s before, passed on late: dropped"
    return samples.take(~out), (Note(text, count),)


def _returns(samples: Samples, starts: npt.NDArray[np.intp]) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Pairs of runs of records with one position, by their number: the later one has it again within seconds."""
    latitude, longitude, time = (values[starts] for values in (samples.latitude_rad, samples.longitude_rad, samples.time_s))
    order = np.lexsort((longitude, latitude))  # stable, so equal positions stay in the order of time
    same = (np.diff(latitude[order]) == 0.0) & (np.diff(longitude[order]) == 0.0)
    earlier, again = order[:-1][same], order[1:][same]
    recent = time[again] - time[earlier] <= _WITHIN_S
    by_time = np.argsort(again[recent])
    return earlier[recent][by_time], again[recent][by_time]


def _gone_on(
    samples: Samples,
    starts: npt.NDArray[np.intp],
    returned: BoolArray,
    earlier: npt.NDArray[np.intp],
    again: npt.NDArray[np.intp],
) -> BoolArray:
    """Whether the flight had left the positions at flying speed before they came again, and went on from there."""
    sound = np.flatnonzero(~returned)
    place = np.searchsorted(sound, again)
    before = starts[sound[place - 1]]  # the first run is always sound
    after = starts[sound[np.minimum(place, len(sound) - 1)]]
    origin = starts[earlier]
    left_m, onward_m = separation_m(samples, origin, before), separation_m(samples, origin, after)
    digit_m = MEAN_RADIUS_M * max(samples.digits_rad)
    elapsed_s = samples.time_s[before] - samples.time_s[origin]
    usual_m = 0.5 * float(np.median(np.hypot(*(np.diff(values, n=2) for values in plane_m(samples)))))
    gone: BoolArray = (
        (left_m > max(_UNITS * digit_m, _USUAL * usual_m)) & (left_m >= FLYING_MPS * elapsed_s) & (elapsed_s > 0.0)
    )
    goes_on: BoolArray = (onward_m > left_m) | (place == len(sound))  # nothing follows the last records
    return gone & goes_on
