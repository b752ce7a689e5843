"""Positions and altitudes that no aircraft can have had: stale ones, jumps, and single samples away from the path."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from analyzer.errors import LogError
from analyzer.physics.units import KT, BoolArray, FloatArray, wrap
from analyzer.track.model import Note, counted
from analyzer.track.samples import Samples
from analyzer.track.steps import offset_m, separation_m, step_m

__all__ = ["drop_altitude_spikes", "drop_frozen", "drop_jumps", "drop_spikes"]

Places = npt.NDArray[np.intp]

FLYING_MPS = 30.0 * KT
_FASTEST_MPS = 350.0  # 680 kt
_POSITION_SLACK_M = 150.0  # position noise, and half a second of clock noise at jet speed
_FASTEST_CLIMB_MPS = 100.0  # 20,000 ft/min
_ALTITUDE_SLACK_M = 60.0
_MANOEUVRE_MPS2 = 25.0  # 2.5 g: no departure from a chord that it can explain is taken for a spike
_LEAST_SPIKE_M = 30.0
_TYPICAL = 10.0  # a spike stands out this many times from the log's usual departure
_LOOK_BACK = 200  # stretches
_MOST_JUMPS = 0.25


def drop_frozen(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without stale positions: exact repeats of a place while the flight goes on at 30 kt or more.

    The speed is that from the first record of the place to the next place, and to the one after that; both must be flying
    speed, so an aircraft at rest stays. Raises `LogError` where all records have one place.
    """
    step = step_m(samples)
    starts = np.flatnonzero(np.concatenate(([True], step > 0.0)))
    if len(starts) == 1:
        raise LogError("the position never changes: this log holds no flight (or name other columns, --column latitude=NAME)")
    if len(starts) == len(samples):
        return samples, ()
    if len(starts) == 2:
        onward = np.array([1, 0])
        beyond = onward
    else:
        last = len(starts) - 1
        onward = np.minimum(np.arange(len(starts)) + 1, last)
        onward[last] = last - 1
        beyond = np.minimum(np.arange(len(starts)) + 2, last)
        beyond[last] = last - 1
    moving = (_speed(samples, starts, starts[onward]) >= FLYING_MPS) & (_speed(samples, starts, starts[beyond]) >= FLYING_MPS)
    run = np.cumsum(np.concatenate(([True], step > 0.0))) - 1
    stale = moving[run]
    stale[starts] = False
    count = int(stale.sum())
    if not count:
        return samples, ()
    return samples.take(~stale), (
        Note(f"{counted(count, 'record')} with the position before unchanged in flight: dropped", count),
    )


def _speed(samples: Samples, first: Places, second: Places) -> FloatArray:
    speed: FloatArray = separation_m(samples, first, second) / np.abs(samples.time_s[second] - samples.time_s[first])
    return speed


def drop_jumps(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """The longest chain of samples that never needs more than 350 m/s (and 150 m) from one to the next.

    Raises `LogError` where more than a quarter of the samples would go: then the log is not of one flight.
    """
    step, time = step_m(samples), samples.time_s

    def reachable(last: Places, first: int) -> BoolArray:
        allowed: BoolArray = separation_m(samples, last, first) <= _FASTEST_MPS * (time[first] - time[last]) + _POSITION_SLACK_M
        return allowed

    kept = _longest_chain(step > _FASTEST_MPS * np.diff(time) + _POSITION_SLACK_M, reachable)
    count = int((~kept).sum())
    if count > _MOST_JUMPS * len(samples):
        raise LogError(
            f"{count} of {len(samples)} positions are out of reach of the others at 350 m/s: several aircraft, or broken"
            " positions. Keep one aircraft: --only COLUMN=VALUE"
        )
    if not count:
        return samples, ()
    return samples.take(kept), (Note(f"{counted(count, 'position')} out of reach of the others at 350 m/s: dropped", count),)


def _longest_chain(broken: BoolArray, reachable: Callable[[Places, int], BoolArray]) -> BoolArray:
    """Which samples lie on the chain of unbroken stretches that holds the most samples.

    `broken` tells of each step whether it is impossible; `reachable` tells of the ends of stretches whether a stretch beginning
    at a place can follow. Each stretch looks back over the 200 before it.
    """
    breaks = np.flatnonzero(broken)
    if not len(breaks):
        return np.ones(len(broken) + 1, dtype=np.bool_)
    begins, ends = np.append(0, breaks + 1), np.append(breaks, len(broken))
    most = (ends - begins + 1).astype(np.int64)
    before = np.full(len(begins), -1)
    for stretch in range(1, len(begins)):
        earlier = np.arange(max(0, stretch - _LOOK_BACK), stretch)
        earlier = earlier[reachable(ends[earlier], int(begins[stretch]))]
        if len(earlier):
            best = earlier[np.argmax(most[earlier])]
            before[stretch] = best
            most[stretch] += most[best]
    kept = np.zeros(len(broken) + 1, dtype=np.bool_)
    stretch = int(np.argmax(most))
    while stretch >= 0:
        kept[begins[stretch] : ends[stretch] + 1] = True
        stretch = int(before[stretch])
    return kept


def drop_spikes(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without single positions away from the path.

    A position goes if it lies further from the line between its neighbours than a manoeuvre of 2.5 g explains, and 30 m or ten
    times the log's usual departure beyond that, and if its neighbours lie on the path without it. The first two and last two
    samples stay.
    """

    def departure(before: Places, here: Places, after: Places) -> FloatArray:
        share = _share(samples.time_s, before, here, after)
        latitude, longitude = samples.latitude_rad, samples.longitude_rad
        line_latitude = latitude[before] + share * (latitude[after] - latitude[before])
        line_longitude = longitude[before] + share * wrap(longitude[after] - longitude[before])
        away: FloatArray = np.hypot(*offset_m(line_latitude, line_longitude, latitude[here], longitude[here]))
        return away

    spikes = _single_departures(samples.time_s, departure, _LEAST_SPIKE_M)
    if not len(spikes):
        return samples, ()
    note = Note(f"{counted(len(spikes), 'position')} away from the path and back at once: dropped", len(spikes))
    return samples.take(np.delete(np.arange(len(samples)), spikes)), (note,)


def drop_altitude_spikes(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Altitudes that the others rule out become NaN; their positions stay. The rules are those of positions.

    No chain may need more than 100 m/s (and 60 m), and no single altitude may lie further from the line between its neighbours
    than 2.5 g explains and 30 m, twice the altitude's resolution or ten times the usual departure beyond.
    """
    known = np.flatnonzero(np.isfinite(samples.altitude_m))
    if len(known) < 2:
        return samples, ()
    time, altitude = samples.time_s[known], samples.altitude_m[known]

    def reachable(last: Places, first: int) -> BoolArray:
        allowed: BoolArray = (
            np.abs(altitude[first] - altitude[last]) <= _FASTEST_CLIMB_MPS * (time[first] - time[last]) + _ALTITUDE_SLACK_M
        )
        return allowed

    kept = _longest_chain(np.abs(np.diff(altitude)) > _FASTEST_CLIMB_MPS * np.diff(time) + _ALTITUDE_SLACK_M, reachable)
    chain = np.flatnonzero(kept)
    time, altitude = time[chain], altitude[chain]

    def departure(before: Places, here: Places, after: Places) -> FloatArray:
        line = altitude[before] + _share(time, before, here, after) * (altitude[after] - altitude[before])
        return np.abs(altitude[here] - line)

    changes = np.abs(np.diff(altitude))
    resolution = float(changes[changes > 0.0].min()) if (changes > 0.0).any() else 0.0
    spikes = _single_departures(time, departure, max(_LEAST_SPIKE_M, 2.0 * resolution))
    wrong = np.setdiff1d(known, known[np.delete(chain, spikes)])
    if not len(wrong):
        return samples, ()
    repaired = samples.altitude_m.copy()
    repaired[wrong] = np.nan
    note = Note(f"{counted(len(wrong), 'altitude')} out of line with those around: left empty", len(wrong))
    return replace(samples, altitude_m=repaired), (note,)


def _share(time: FloatArray, before: Places, here: Places, after: Places) -> FloatArray:
    share: FloatArray = (time[here] - time[before]) / (time[after] - time[before])
    return share


def _single_departures(time: FloatArray, departure: Callable[[Places, Places, Places], FloatArray], least_m: float) -> Places:
    """Places of single samples that depart from their neighbours, where the neighbours agree without them."""
    if len(time) < 5:
        return np.array([], dtype=np.intp)
    here = np.arange(1, len(time) - 1)
    usual = float(np.median(departure(here - 1, here, here + 1)))

    def out(before: Places, place: Places, after: Places) -> BoolArray:
        turn = 0.5 * _MANOEUVRE_MPS2 * (time[place] - time[before]) * (time[after] - time[place])
        far: BoolArray = departure(before, place, after) > turn + max(least_m, _TYPICAL * usual)
        return far

    inner = np.arange(2, len(time) - 2)
    away = inner[out(inner - 1, inner, inner + 1)]
    alone = away[~out(away - 2, away - 1, away + 1) & ~out(away - 1, away + 1, away + 2)]
    return alone[np.diff(alone, prepend=-2) > 1]
