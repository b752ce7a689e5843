"""A clock that does not keep time with the flight: pauses, and stretches of accelerated time, as simulators have them.

The positions of such a log are true and its times are not. Where the flight itself shows by how much, the times are corrected:
a pause is closed, an accelerated stretch is slowed down, and the times after it move by as much.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from analyzer.frozen import dataclass
from analyzer.physics.quantiles import median
from analyzer.physics.units import FloatArray, wrap
from analyzer.track.offsets import offset_m
from analyzer.track.samples import Samples
from analyzer.track.speed_jumps import WINDOW_STEPS, a_second_apart, speed_jumps
from analyzer.track.steps import FLYING_MPS, separation_m, step_m
from analyzer.track.track import Note, counted

__all__ = ["close_pauses", "slow_down"]

_Places = npt.NDArray[np.intp]

_LEAST_PAUSE_S, _LEAST_STEPS = 1.9, 2.4
_MOST_PAUSES = 30  # more are stamps of a network that passes positions on in bursts
_STILL_M = 1.0  # between records of one place, of which the last decimals may differ
_AROUND_S, _AROUND_STEPS = 4.0, 4  # either side of a pause, that speed and direction are taken over at least
_ALIKE = 1.4  # speeds before and after a pause differ by no more than this factor
_AT_ONCE_STEPS = 2.5  # within which the flight goes on from where it stood
_SLOWED = 0.35  # of the way that the speed would have made: less was flown
_OFF_M = 30.0  # from where the flight would have gone on
_TURN_RAD_S = 0.12  # 7°/s: no turn of the direction of flight that is faster
_TURN_SLACK_RAD = 0.26  # 15°, of noise in two short directions
_CLIMBED_M = 45.0
_FASTEST_MPS, _ELSEWHERE_M = 350.0, 500.0  # a step that is longer was not flown: 680 kt

_LEVEL = 15  # steps, whose median speed gives the factor where it is noisy
_FASTER = 1.6  # the least change of speed that is taken for one of the clock
_EXACT = 0.12  # how near a power of two the factor has to be, as a share


@dataclass(frozen=True)
class _Pause:
    """The flight stands still between two distinct places, and the clock runs on by `lost_s` more than the flight took."""

    last: int
    onward: int
    lost_s: float


def close_pauses(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without pauses, in which the position stands still, or the log is silent, and the flight resumes from there unchanged.

    That is, within two and a half steps from where it stood, at the same speed, in the same direction and at the same height.
    So it is, too, where a simulator has set the aircraft there from elsewhere, which then stands until it is let go.
    An aircraft that stops has slowed down before, and a receiver that loses its fix goes on elsewhere: both stay. The times
    after a pause move up by it.
    """
    pauses = tuple(_pauses(samples))
    if not 0 < len(pauses) <= _MOST_PAUSES:
        return samples, ()
    time, kept = samples.time_s.copy(), np.ones(len(samples), dtype=np.bool_)
    for pause in pauses:
        time[pause.onward :] -= pause.lost_s
        kept[pause.last + 1 : pause.onward] = False
    lost = sum(pause.lost_s for pause in pauses)
    note = Note(
        f"{counted(len(pauses), 'pause')}, {lost:.0f} s in all, in which the flight stood still in the air and then went on "
        f"from there ({_places_text(samples, [pause.last for pause in pauses])}): closed, and the times after it moved up",
        len(samples) - int(kept.sum()),
    )
    words = tuple(
        (f"pause, {pause.lost_s:.0f} s", int(samples.row[pause.last]), int(samples.row[pause.onward])) for pause in pauses
    )
    return replace(samples, time_s=time, put_right=samples.put_right + words).take(kept), (note,)


def _pauses(samples: Samples) -> Iterator[_Pause]:
    """Every pause, in order."""
    time, step = samples.time_s, step_m(samples)
    starts = np.flatnonzero(np.concatenate(([True], step > _STILL_M)))  # the first record of each place
    took = np.diff(time[starts])
    # of places, since a pause may have more records than the flight
    usual = median(took) if len(took) else 0.0
    around = max(_AROUND_STEPS, round(_AROUND_S / usual)) if usual > 0.0 else _AROUND_STEPS
    for k in np.flatnonzero(took > max(_LEAST_PAUSE_S, _LEAST_STEPS * usual)).tolist():
        before, after = starts[max(k - around, 0) : k + 1], starts[k + 1 : k + 2 + around]
        if len(after) < 3:
            continue
        if _is_loaded(samples, int(starts[k]), after, usual):
            yield _Pause(int(starts[k]), int(after[0]), float(took[k]) - usual)
            continue
        if len(before) < 3:
            continue
        lost = _lost_s(samples, before, after, usual)
        if lost is not None:
            yield _Pause(int(before[-1]), int(after[0]), lost)


def _is_loaded(samples: Samples, place: int, after: _Places, usual_s: float) -> bool:
    """Whether a flight stands still from its first record on, set there from elsewhere, and is then at once at its speed."""
    time, onward = samples.time_s, int(after[0])
    if place == 0 or onward - place < 2:
        return False
    speed = float(separation_m(samples, onward, int(after[-1]))) / float(time[after[-1]] - time[onward])
    came_m = float(separation_m(samples, place - 1, place))
    reach_m = _FASTEST_MPS * float(time[place] - time[place - 1]) + _ELSEWHERE_M
    first_m, first_s = float(separation_m(samples, place, onward)), float(time[onward] - time[onward - 1])
    goes_on = abs(first_m - speed * first_s) <= _ALIKE * speed * usual_s
    return speed >= FLYING_MPS and came_m > reach_m and goes_on and first_m > _SLOWED * speed * first_s


def _lost_s(samples: Samples, before: _Places, after: _Places, usual_s: float) -> float | None:
    """By how much the clock ran on between the last of some places and the first of others; None where it was no pause."""
    time = samples.time_s
    last, onward = int(before[-1]), int(after[0])
    ends = tuple((int(places[0]), int(places[-1])) for places in (before, after))
    speeds = tuple(float(separation_m(samples, *end)) / float(time[end[1]] - time[end[0]]) for end in ends)
    if min(speeds) < FLYING_MPS or max(speeds) > _ALIKE * min(speeds):
        return None
    speed = 0.5 * sum(speeds)
    moved, took = float(separation_m(samples, last, onward)), float(time[onward] - time[last])
    flown_s = moved / speed
    if moved > _SLOWED * speed * took or flown_s > _AT_ONCE_STEPS * usual_s + 1.0:
        return None
    directions = tuple(_direction(samples, *end) for end in ends)
    between_s = flown_s + 0.5 * float(time[last] - time[before[0]] + time[after[-1]] - time[onward])
    if abs(float(wrap(directions[1] - directions[0]))) > _TURN_RAD_S * between_s + _TURN_SLACK_RAD:
        return None
    ahead = _direction(samples, last, onward)
    middle = directions[0] + 0.5 * float(wrap(directions[1] - directions[0]))
    aside = _OFF_M + 0.5 * _TURN_RAD_S * flown_s * moved  # a turn may begin or end there
    if moved * abs(np.sin(ahead - middle)) > aside or (moved > _OFF_M and np.cos(ahead - middle) < 0.0):
        return None
    climbed = abs(float(samples.altitude_m[onward] - samples.altitude_m[last]))
    if climbed > _CLIMBED_M:
        return None
    # the records go on in their steps, which noise blurs less than the distance
    return took - max(1, round(flown_s / usual_s)) * usual_s


def _direction(samples: Samples, first: int, second: int) -> float:
    """The direction from one sample to another. [rad]"""
    latitude, longitude = samples.latitude_rad, samples.longitude_rad
    north, east = offset_m(latitude[first], longitude[first], latitude[second], longitude[second])
    return float(np.arctan2(east, north))


def _places_text(samples: Samples, places: list[int]) -> str:
    """When some samples were recorded, counted from the first: ``at 4:05 and 9:10 after the first record``."""
    since = [round(float(samples.time_s[place] - samples.time_s[0])) for place in places[:3]]
    clocks = [f"{whole // 60}:{whole % 60:02d}" for whole in since]
    return f"at {', '.join(clocks)}{', ...' if len(places) > 3 else ''} after the first record"


@dataclass(frozen=True)
class _Stretch:
    """Steps of the log, from one to before another, that run by a clock `factor` times as fast as the flight."""

    first: int
    end: int
    factor: float


def slow_down(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """With accelerated stretches at the speed that was flown: their steps take 2, 4, 8 ... times as long.

    The ground speed jumps by that factor from one step to the next, by more than half a g along the path, which no aircraft can
    do. The slowest stretches, which must include the last, are taken as real time. A factor that is not a power of two is left
    as it is.
    """
    stretches = tuple(_stretches(samples))
    if not stretches:
        return samples, ()
    step = np.diff(samples.time_s)
    factor = np.ones(len(step))
    for stretch in stretches:
        factor[stretch.first : stretch.end] = stretch.factor
    time = samples.time_s[0] + np.concatenate(([0.0], np.cumsum(step * factor)))
    faster = sorted({stretch.factor for stretch in stretches})
    note = Note(
        f"time accelerated {' and '.join(f'{one:.0f}' for one in faster)} times in {len(stretches)} "
        f"stretch{'es' if len(stretches) > 1 else ''} ({_places_text(samples, [one.first for one in stretches])}): the ground "
        "speed jumps by that from one record to the next. Read at the speed that was flown",
        int((factor > 1.0).sum()),
    )
    words = tuple((f"time × {one.factor:.0f}", int(samples.row[one.first]), int(samples.row[one.end])) for one in stretches)
    return replace(samples, time_s=time, put_right=samples.put_right + words), (note,)


def _stretches(samples: Samples) -> Iterator[_Stretch]:
    """Every stretch of accelerated time; none where a jump of speed fits no power of two."""
    places = a_second_apart(samples.time_s)
    took = np.diff(samples.time_s[places])
    speed = separation_m(samples, places[:-1], places[1:]) / took
    changes = speed_jumps(speed, took, _FASTER)
    if not changes:
        return
    bounds = [0, *changes, len(speed)]
    spans = list(pairwise(bounds))
    level = [0.0]
    for (start, here), (_, end) in pairwise(spans):
        level.append(level[-1] + _step_up(speed[start:here], speed[here:end]))
    relative = np.array(level) - min(level)
    power = np.round(relative)
    if (np.abs(relative - power) > np.log2(1.0 + _EXACT)).any() or power[-1] > 0.0:
        return
    for (first, end), exponent in zip(spans, power.tolist(), strict=True):
        if exponent > 0.0:
            yield _Stretch(int(places[first]), int(places[end]), 2.0**exponent)


def _step_up(before_mps: FloatArray, after_mps: FloatArray) -> float:
    """By how much the speed of a stretch goes up where it meets the next: the binary logarithm of the factor.

    Measured over a few steps either side, which suits a speed that itself changes, and over more, which suits noise; the result
    nearer to a power of two is returned.
    """
    doublings = []
    for steps in (WINDOW_STEPS, _LEVEL):
        before, after = float(np.median(before_mps[-steps:])), float(np.median(after_mps[:steps]))
        doublings.append(float(np.log2(max(after, 0.1) / max(before, 0.1))))
    return min(doublings, key=lambda one: abs(one - round(one)))
