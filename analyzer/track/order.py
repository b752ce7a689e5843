"""Samples in order of time, one per instant: disorder, a clock that jumps, repeated records."""

from __future__ import annotations

from bisect import bisect_right

import numpy as np
import numpy.typing as npt

from analyzer.errors import LogError
from analyzer.physics.units import wrap
from analyzer.track.offsets import offset_m
from analyzer.track.samples import Samples
from analyzer.track.steps import path_m
from analyzer.track.track import Note, counted

__all__ = ["drop_repeated_instants", "drop_repeated_records", "first_time", "put_in_order"]

_SINGLE_S = 64.0  # what numbers of 24 bits resolve of times since 1970 before 2004; 128 s since then
_MANY = 10  # records at one instant, in the mean
_MINUTE_S, _SEVERAL = 60.0, 2  # records dropped for each that is kept, where the seconds are missing


def put_in_order(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Samples whose times do not fall.

    A log in reverse order is turned round. Any other disorder is sorted where the log is recordings joined in the wrong order,
    or where sorting does not lengthen the path through the samples. Otherwise the clock is at fault, not the order: the
    fewest samples are dropped that leave the times rising. Raises `LogError` where that would be more than half.
    """
    steps = np.diff(samples.time_s)
    if (steps >= 0.0).all():
        return samples, ()
    if (steps <= 0.0).all():
        note = Note("the log runs backwards in time: turned round", len(samples))
        return samples.take(np.arange(len(samples))[::-1]), (note,)
    order = np.argsort(samples.time_s, kind="stable")
    in_order = samples.take(order)
    late = int((samples.time_s < np.maximum.accumulate(samples.time_s)).sum())
    blocks = np.concatenate(([0], np.cumsum(steps < 0.0)))
    apart = int((np.diff(blocks[order]) != 0).sum()) == blocks[-1]
    if apart or path_m(in_order) <= path_m(samples):
        return in_order, (Note(f"{counted(late, 'record')} out of order in time: sorted", late),)
    rising = _longest_rising(samples.time_s.tolist())
    dropped = len(samples) - len(rising)
    if dropped > len(samples) / 2:
        raise LogError(
            f"the times jump back {int((steps < 0.0).sum())} times while the positions go on, and no half of the log has one"
            " clock: repair the times, or name another column (--column time=NAME)"
        )
    note = Note(f"{counted(dropped, 'record')} dropped where the clock jumps and the flight goes on", dropped)
    return samples.take(rising), (note,)


def first_time(samples: Samples) -> float:
    """The earliest time once the samples are in order. [s]"""
    return float(put_in_order(samples)[0].time_s[0])


def _longest_rising(values: list[float]) -> npt.NDArray[np.intp]:
    """Places of the longest subsequence that does not fall (patience sorting)."""
    tails: list[float] = []
    ends: list[int] = []
    before = [-1] * len(values)
    for place, value in enumerate(values):
        pile = bisect_right(tails, value)
        before[place] = ends[pile - 1] if pile else -1
        tails[pile : pile + 1] = [value]
        ends[pile : pile + 1] = [place]
    chain = []
    place = ends[-1]
    while place >= 0:
        chain.append(place)
        place = before[place]
    return np.array(chain[::-1], dtype=np.intp)


def drop_repeated_records(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without records that repeat the one before: same time, place and altitude."""
    same = np.diff(samples.time_s) == 0.0
    for values in (samples.latitude_rad, samples.longitude_rad):
        same &= np.diff(values) == 0.0
    altitude = samples.altitude_m
    same &= (np.diff(altitude) == 0.0) | (np.isnan(altitude[1:]) & np.isnan(altitude[:-1]))
    count = int(same.sum())
    if not count:
        return samples, ()
    note = Note(f"{counted(count, 'record')} repeated unchanged: dropped", count)
    return samples.take(np.concatenate(([True], ~same))), (note,)


def drop_repeated_instants(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """One sample per instant: of several, the one nearest to the straight line between the instants before and after.

    At either end of the log it is the line through the next two instants. Raises `LogError` where the instants are those of
    single precision or whole minutes, and most of the log would go.
    """
    starts = np.flatnonzero(np.concatenate(([True], np.diff(samples.time_s) > 0.0)))
    count = len(samples) - len(starts)
    if not count:
        return samples, ()
    if len(starts) > 1 and count > _MANY * len(starts) and bool((samples.time_s % _SINGLE_S == 0.0).all()):
        raise LogError(
            f"{len(samples):,} records share {len(starts):,} instants {_SINGLE_S:.0f} s apart or more: the times were kept as"
            " numbers of single precision, which tell no seconds since 1970. Export them anew, as text or in double precision"
        )
    if len(starts) > 1 and count > _SEVERAL * len(starts) and bool((samples.time_s % _MINUTE_S == 0.0).all()):
        raise LogError(
            f"{len(samples):,} records share {len(starts):,} whole minutes: the seconds are missing, as where a spreadsheet"
            " shows hours and minutes alone. Export the log anew, or save it with the seconds, like 2026-05-01 14:00:00"
        )
    group = np.repeat(np.arange(len(starts)), np.diff(np.append(starts, len(samples))))
    last = len(starts) - 1
    before = starts[np.where(group == 0, min(1, last), np.where(group == last, max(last - 2, 0), group - 1))]
    after = starts[np.where(group == 0, min(2, last), np.where(group == last, max(last - 1, 0), group + 1))]
    time, latitude, longitude = samples.time_s, samples.latitude_rad, samples.longitude_rad
    span = time[after] - time[before]
    share = np.divide(time - time[before], span, out=np.zeros(len(samples)), where=span != 0.0)
    line_latitude = latitude[before] + share * (latitude[after] - latitude[before])
    line_longitude = longitude[before] + share * wrap(longitude[after] - longitude[before])
    distance = np.hypot(*offset_m(line_latitude, line_longitude, latitude, longitude))
    kept = np.lexsort((distance, group))[starts]
    note = Note(
        f"{counted(count, 'record')} at an instant that has another: dropped. The position nearest to the line between the"
        " neighbours is kept",
        count,
    )
    return samples.take(kept), (note,)
