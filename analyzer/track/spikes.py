"""Positions and altitudes that no aircraft can have had: stale ones, jumps, and samples away from the path."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.physics.quantiles import median
from analyzer.physics.units import BoolArray, FloatArray
from analyzer.track.samples import Samples
from analyzer.track.steps import FLYING_MPS, plane_m, separation_m, step_m
from analyzer.track.track import Note, counted

__all__ = ["drop_altitude_spikes", "drop_frozen", "drop_jumps", "drop_spikes"]

_Places = npt.NDArray[np.intp]

_FASTEST_MPS = 350.0  # 680 kt
_POSITION_SLACK_M = 500.0  # position noise, and two seconds of clock noise at jet speed
_FASTEST_CLIMB_MPS = 100.0  # 20,000 ft/min
_ALTITUDE_SLACK_M = 60.0
_JUMP_COST = 15  # samples
_LOOK_BACK = 200  # stretches
_AT_ONCE = 500  # stretches whose reach is worked out in one go: a log may be all jumps
_MOST_DROPPED = 0.25
_TURN_MPS2 = 25.0  # 2.5 g: no departure from a chord that it can explain is taken for a spike
_PULL_MPS2 = 5.0  # half a g, up or down
_LEAST_SPIKE_M = 30.0
_TYPICAL = 10.0  # a spike stands out this many times from the log's usual departure
_STANDS_OUT = 4.0  # times the departure of the samples around it
_SPIKE_LENGTHS = (3, 2, 1)  # samples, the longest first: a single one is judged by neighbours that are then sound


def drop_frozen(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without stale positions: exact repeats of a place while the flight goes on at 30 kt or more.

    The speed is that from the first record of the place to the next place, and to the one after that (before, at the log's
    end); both must be flying speed, and so must the speed at which it came there: an aircraft at rest stays, even where a
    simulator then sets it elsewhere. Raises `LogError` where all records have one place.
    """
    step = step_m(samples)
    starts = np.flatnonzero(np.concatenate(([True], step > 0.0)))
    if len(starts) == 1:
        raise LogError("the position never changes: this log holds no flight (or name other columns, --column latitude=NAME)")
    if len(starts) == len(samples):
        return samples, ()
    last = len(starts) - 1
    onward = np.minimum(np.arange(last + 1) + 1, last)
    beyond = np.minimum(np.arange(last + 1) + 2, last)
    onward[last], beyond[last] = last - 1, max(last - 2, 0)
    moving = (_speed(samples, starts, starts[onward]) >= FLYING_MPS) & (_speed(samples, starts, starts[beyond]) >= FLYING_MPS)
    moving[1:] &= step[starts[1:] - 1] >= FLYING_MPS * np.diff(samples.time_s)[starts[1:] - 1]
    run = np.cumsum(np.concatenate(([True], step > 0.0))) - 1
    stale = moving[run]
    stale[starts] = False
    count = int(stale.sum())
    if not count:
        return samples, ()
    note = Note(f"{counted(count, 'record')} with the position before, repeated in flight: dropped", count)
    return samples.take(~stale), (note,)


def _speed(samples: Samples, first: _Places, second: _Places) -> FloatArray:
    speed: FloatArray = separation_m(samples, first, second) / np.abs(samples.time_s[second] - samples.time_s[first])
    return speed


def drop_jumps(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without short stretches out of reach of the rest: more than 350 m/s (and 500 m) away.

    Of all chains of stretches the one that keeps the most samples is taken, an impossible jump within it counting like 15
    samples lost: a stretch of up to 30 samples goes (15 at an end of the log), and a longer one stays, with a note. Raises
    `LogError` where more than a quarter of the samples would go: then the log is not of one flight.
    """
    time = samples.time_s

    def out_of_reach(last: _Places, first: _Places) -> BoolArray:
        far: BoolArray = separation_m(samples, last, first) > _FASTEST_MPS * (time[first] - time[last]) + _POSITION_SLACK_M
        return far

    broken = step_m(samples) > _FASTEST_MPS * np.diff(time) + _POSITION_SLACK_M
    kept, jumps = _best_chain(broken, out_of_reach)
    count = len(samples) - len(kept)
    if count > _MOST_DROPPED * len(samples):
        raise LogError(
            f"{count} of {len(samples)} positions are out of reach of the others at 350 m/s: several aircraft, or broken"
            " positions. Keep one aircraft: --only COLUMN=VALUE"
        )
    notes = []
    if count:
        notes.append(Note(f"{counted(count, 'position')} out of reach of the others at 350 m/s: dropped", count))
    if jumps:
        notes.append(Note(f"{counted(jumps, 'jump')} faster than 350 m/s between long stretches: kept", jumps))
    return samples.take(kept) if count else samples, tuple(notes)


def _best_chain(broken: BoolArray, out_of_reach: Callable[[_Places, _Places], BoolArray]) -> tuple[_Places, int]:
    """Places of the chain of unbroken stretches that keeps the most, and the jumps left in it.

    `broken` says for each place but the last whether the next cannot follow it, and `out_of_reach` for pairs of places whether
    the second cannot follow the first. Each stretch looks back over the 200 before it.
    """
    length, breaks = len(broken) + 1, np.flatnonzero(broken)
    if not len(breaks):
        return np.arange(length), 0
    begins, ends = np.append(0, breaks + 1), np.append(breaks, length - 1)
    worth = ends - begins + 1
    before, jumped = np.full(len(begins), -1), np.zeros(len(begins), dtype=np.bool_)
    back = min(_LOOK_BACK, len(begins) - 1)
    for first in range(1, len(begins), _AT_ONCE):
        stretches = np.arange(first, min(first + _AT_ONCE, len(begins)))
        earlier = np.maximum(0, stretches[:, None] - np.arange(back, 0, -1))
        far = out_of_reach(ends[earlier].ravel(), np.repeat(begins[stretches], back)).reshape(earlier.shape)
        cost = np.where(far, _JUMP_COST, 0)
        for row, stretch in enumerate(stretches.tolist()):
            begin = max(0, stretch - back)
            gain = worth[begin:stretch] - cost[row, begin - stretch :]
            best = int(gain.argmax())
            if gain[best] > 0:
                worth[stretch] += gain[best]
                before[stretch], jumped[stretch] = begin + best, far[row, begin - stretch + best]
    kept = np.zeros(length, dtype=np.bool_)
    stretch, jumps = int(np.argmax(worth)), 0
    while stretch >= 0:
        kept[begins[stretch] : ends[stretch] + 1] = True
        jumps += int(jumped[stretch])
        stretch = int(before[stretch])
    return np.flatnonzero(kept), jumps


def drop_spikes(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without one to three positions on end that lie away from the path.

    They go if each lies further from the line between the samples around them than a manoeuvre of 2.5 g explains, and beyond
    that by 30 m or ten times the log's usual departure, and if the samples around lie on the path without them: closer to the
    line between their own neighbours by a factor of four. The first and last two samples stay.
    """
    kept = _without_departures(samples.time_s, plane_m(samples), _TURN_MPS2, _LEAST_SPIKE_M)
    count = len(samples) - len(kept)
    if not count:
        return samples, ()
    return samples.take(kept), (Note(f"{counted(count, 'position')} away from the path and back at once: dropped", count),)


def drop_altitude_spikes(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Altitudes that the others rule out become NaN; their positions stay. The rules are those of positions.

    The limits are 100 m/s (and 60 m) for stretches, and half a g and 30 m, twice the altitude's resolution, or ten times the
    usual departure for one to three altitudes on end.
    """
    known = np.flatnonzero(np.isfinite(samples.altitude_m))
    if len(known) < 2:
        return samples, ()
    time, altitude = samples.time_s[known], samples.altitude_m[known]

    def out_of_reach(last: _Places, first: _Places) -> BoolArray:
        limit = _FASTEST_CLIMB_MPS * (time[first] - time[last]) + _ALTITUDE_SLACK_M
        far: BoolArray = np.abs(altitude[first] - altitude[last]) > limit
        return far

    broken = np.abs(np.diff(altitude)) > _FASTEST_CLIMB_MPS * np.diff(time) + _ALTITUDE_SLACK_M
    chain = _best_chain(broken, out_of_reach)[0]
    changes = np.abs(np.diff(altitude[chain]))
    resolution = float(changes[changes > 0.0].min()) if changes.any() else 0.0
    least_m = max(_LEAST_SPIKE_M, 2.0 * resolution)
    kept = known[chain[_without_departures(time[chain], (altitude[chain],), _PULL_MPS2, least_m)]]
    count = len(known) - len(kept)
    if not count:
        return samples, ()
    repaired = np.full(len(samples), np.nan)
    repaired[kept] = samples.altitude_m[kept]
    note = Note(f"{counted(count, 'altitude')} out of line with those around: left empty", count)
    return replace(samples, altitude_m=repaired), (note,)


@dataclass(frozen=True)
class _Chords:
    """How far samples lie from chords between others, for all samples of a log at once.

    A place is given by its distance in samples from the first of `count` successive windows. `margin_m` is what a departure may
    have beyond that which the `manoeuvre_mps2` explains.
    """

    time_s: FloatArray
    coordinates_m: Sequence[FloatArray]
    count: int
    manoeuvre_mps2: float
    margin_m: float = 0.0

    def departure_m(self, before: int, here: int, after: int) -> FloatArray:
        """Distance of the samples `here` from the chords between those `before` and `after`, at their share of the time."""
        times = self._of(self.time_s, before)
        share = (self._of(self.time_s, here) - times) / (self._of(self.time_s, after) - times)
        squares = np.zeros(self.count)
        for coordinate in self.coordinates_m:
            begin = self._of(coordinate, before)
            squares += (self._of(coordinate, here) - begin - share * (self._of(coordinate, after) - begin)) ** 2
        return np.sqrt(squares)

    def out(self, before: int, here: int, after: int) -> BoolArray:
        """Whether the samples `here` are further away than a manoeuvre and the margin explain."""
        time = self._of(self.time_s, here)
        lever = (time - self._of(self.time_s, before)) * (self._of(self.time_s, after) - time)
        far: BoolArray = self.departure_m(before, here, after) > 0.5 * self.manoeuvre_mps2 * lever + self.margin_m
        return far

    def _of(self, values: FloatArray, place: int) -> FloatArray:
        return values[place : place + self.count]


def _without_departures(
    time_s: FloatArray, coordinates_m: Sequence[FloatArray], manoeuvre_mps2: float, least_m: float
) -> _Places:
    """The places left when short runs that depart from the samples around are taken out, where these agree without them."""
    kept = np.arange(len(time_s))
    if len(kept) < 5:
        return kept
    usual = median(_Chords(time_s, coordinates_m, len(kept) - 2, manoeuvre_mps2).departure_m(0, 1, 2))
    margin_m = max(least_m, _TYPICAL * usual)
    for length in _SPIKE_LENGTHS:
        count = len(kept) - length - 3
        if count < 1:
            continue
        chords = _Chords(time_s[kept], [values[kept] for values in coordinates_m], count, manoeuvre_mps2, margin_m)
        before, after = 1, length + 2
        if not chords.out(before, 2, after).any():
            continue
        away = np.logical_and.reduce([chords.out(before, place, after) for place in range(2, after)])
        nearest = np.minimum.reduce([chords.departure_m(before, place, after) for place in range(2, after)])
        around = np.maximum(chords.departure_m(0, before, after), chords.departure_m(before, after, after + 1))
        first = np.flatnonzero(away & (nearest > _STANDS_OUT * around)) + 2
        first = first[np.diff(first, prepend=-length) >= length]
        kept = np.delete(kept, (first[:, None] + np.arange(length)).ravel())
    return kept
