"""Jumps in the position: where a log goes on farther off than the aircraft can have flown."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from analyzer.frozen import dataclass
from analyzer.physics.quantiles import median, quantile
from analyzer.physics.units import DEG, GRAVITY, KT, BoolArray, FloatArray, wrap
from analyzer.track.track import Track

__all__ = ["Jump", "find_jumps"]

_Places = npt.NDArray[np.intp]

_LEAST_M = 100.0  # a shorter jump may be an error of the receiver
_CLOCK_S, _EVEN_CLOCK_S = 1.5, 0.3  # along the path: times to the second, and a receiver's delay; less where the steps are even
_EVEN = 0.02  # of the usual step
_MANOEUVRE_MPS2 = 6.0  # acceleration of a turn or change of speed between the windows before and after
_USUAL = 10.0  # times the usual deviation of a position
_WINDOW_S, _WINDOW_STEPS = 3.0, 2  # minimum before and after, over which the velocity is measured
_LONGEST_S = 20.0  # between records, after which a flight may have turned anywhere
_MOST_STEPS, _MOVED_S, _NEXT_TO = 4, 8.0, 10  # of a jump that takes several steps; longer ones are another pace of the clock
_GOES_ON = 0.5  # of such a jump: what the velocities before and after may differ by
_LONGEST_HOLE_S, _FASTER, _AWAY_M = 180.0, 1.5, 300.0  # in a hole no flight is half as fast again and this much farther
_FLYING_MPS = 40.0 * KT
_HOLE_S, _HOLE_STEPS, _TIGHTEST_RAD = 8.0, 3.0, 45.0 * DEG  # long enough for a turn, and the bank of the tightest; no source
_BEFORE_S = 20.0  # a place visited this long before is one that the aircraft was put back to
_RETURN_FASTER, _RETURN_RAD = 1.1, 30.0 * DEG  # times the speed before or after, and bank, of a flight back to where it was


@dataclass(frozen=True)
class _Alike:
    """How near to an earlier place, course, height and speed, the last as a share, counts as back there."""

    off_m: float
    course_rad: float
    height_m: float
    speed: float


_BACK = _Alike(80.0, 20.0 * DEG, 40.0, math.inf)
_SAVED = _Alike(10.0, 3.0 * DEG, 4.0, 0.03)  # nearer than laps of a hold come to each other, even by an autopilot; no source


@dataclass(frozen=True)
class Jump:
    """A step from one sample to another, or over a few, that is longer or shorter than can have been flown.

    Times in seconds since 1970-01-01 UTC. `moved_m` is how far it leads, and `seen_at_s` when the aircraft had been at its end
    before, on the same course and at the same height; None where it had not.
    """

    start_s: float
    end_s: float
    moved_m: float
    seen_at_s: float | None


def find_jumps(track: Track, north_east_m: FloatArray) -> tuple[Jump, ...]:
    """Every jump of a track, given its samples in metres north and east, in order."""
    north, east = north_east_m.T
    found = _all_jumps(track.time_s, north, east)
    found += [
        (place, place + 1)
        for place in _returns(track, north, east)
        if all(place + 1 <= first or place >= last for first, last in found)
    ]
    return tuple(
        Jump(
            float(track.time_s[place]),
            float(track.time_s[onward]),
            float(np.hypot(north[onward] - north[place], east[onward] - east[place])),
            _seen_at_s(track, north, east, onward, _BACK),
        )
        for place, onward in sorted(found)
    )


def _returns(track: Track, north_m: FloatArray, east_m: FloatArray) -> Iterator[int]:
    """The samples before holes after which the aircraft is back where it was, and did not fly there.

    It did not where its own speed and turns of 30° of bank are too slow for it, and where all of its state is as it was, to
    the metre, which is a state that was saved.
    """
    time_s = track.time_s
    took = np.diff(time_s)
    usual = median(took)
    width = max(_WINDOW_STEPS, math.ceil(_WINDOW_S / usual)) if usual > 0.0 else _WINDOW_STEPS
    for place in np.flatnonzero(took > max(_HOLE_S, _HOLE_STEPS * usual)).tolist():
        ends = (max(place - width, 0), place), (place + 1, min(place + 1 + width, len(time_s) - 1))
        if any(last - first < _WINDOW_STEPS for first, last in ends):
            continue
        before, after = (
            np.array([[north_m[last] - north_m[first]], [east_m[last] - east_m[first]]]) / (time_s[last] - time_s[first])
            for first, last in ends
        )
        fastest = np.maximum(np.hypot(*before), np.hypot(*after))
        if fastest[0] < _FLYING_MPS or _seen_at_s(track, north_m, east_m, place + 1, _BACK) is None:
            continue
        step = np.array([[north_m[place + 1] - north_m[place]], [east_m[place + 1] - east_m[place]]])
        way_m = _shortest_way_m(step, before, after, fastest, np.array([True]), _RETURN_RAD)[0]
        too_far = way_m > _RETURN_FASTER * fastest[0] * took[place] + _LEAST_M
        saved = _seen_at_s(track, north_m, east_m, place + 1, _SAVED) is not None
        # laps of a hold may be alike to the metre, but then the way into the hole is, too
        if too_far or (saved and _seen_at_s(track, north_m, east_m, place - 1, _BACK) is None):
            yield place


def _all_jumps(time_s: FloatArray, north_m: FloatArray, east_m: FloatArray) -> list[tuple[int, int]]:
    """The samples before and after each jump, from one to the next or over a few, as where an aircraft is slewed."""
    found: list[tuple[int, int]] = []
    for steps in range(1, _MOST_STEPS + 1):
        for place in _jumps(time_s, north_m, east_m, steps).tolist():
            if all(place + steps < first - _NEXT_TO or place > last + _NEXT_TO for first, last in found):
                found.append((place, place + steps))
    return sorted(found)


def _jumps(time_s: FloatArray, north_m: FloatArray, east_m: FloatArray, steps: int) -> _Places:
    """Positions of the samples before a jump that takes so many steps."""
    usual = median(np.diff(time_s))
    width = max(_WINDOW_STEPS, math.ceil(_WINDOW_S / usual)) if usual > 0.0 else _WINDOW_STEPS
    if len(time_s) < 2 * width + 1 + steps or (steps > 1 and steps * usual > _MOVED_S):
        return np.array([], dtype=np.intp)
    position = np.stack([north_m, east_m])

    def of(values: FloatArray, off: int) -> FloatArray:
        """The values so many samples off, for every sample with a window before and behind it."""
        return values[..., width + off : values.shape[-1] - width - steps + off]

    took = of(time_s, steps) - of(time_s, 0)
    step = of(position, steps) - of(position, 0)
    before_s, after_s = of(time_s, 0) - of(time_s, -width), of(time_s, steps + width) - of(time_s, steps)
    before = (of(position, 0) - of(position, -width)) / before_s
    after = (of(position, steps + width) - of(position, steps)) / after_s
    mean = 0.5 * (before + after)
    off = step - mean * took
    off_m, step_m = np.hypot(*off), np.hypot(*step)
    if off_m.max() <= _LEAST_M and step_m.max() <= _AWAY_M:
        return np.array([], dtype=np.intp)  # no flight without a jump needs more
    speed = np.maximum(np.hypot(*mean), 1.0)
    fastest = np.maximum(np.hypot(*before), np.hypot(*after))
    along, across = (off[0] * mean[0] + off[1] * mean[1]) / speed, (off[1] * mean[0] - off[0] * mean[1]) / speed
    usual_m = _USUAL * median(off_m)
    # a window is as long as its records took, which next to a hole is long enough for a turn
    allowed = _LEAST_M + 0.25 * _MANOEUVRE_MPS2 * took * (took + np.maximum(before_s, after_s)) + usual_m
    even = quantile(np.abs(took - steps * usual), 0.9) < _EVEN * usual
    slack_s = _EVEN_CLOCK_S if even else _CLOCK_S
    allowed = np.where(took < (_LONGEST_S if steps == 1 else _MOVED_S), allowed, np.inf)
    if steps > 1:  # a flight that is not as before has another speed or clock
        allowed = np.where(np.hypot(*(after - before)) * took < _GOES_ON * off_m, allowed, np.inf)
    far = (np.abs(across) > allowed) | (np.abs(along) > allowed + slack_s * fastest)
    way_m = (
        step_m
        if steps > 1
        else _shortest_way_m(
            step, before, after, fastest, (took > max(_HOLE_S, _HOLE_STEPS * usual)) & (took < _LONGEST_HOLE_S)
        )
    )
    away = way_m - _FASTER * fastest * took
    beyond = (away > _AWAY_M + usual_m) & (fastest > _FLYING_MPS) & (took < _LONGEST_HOLE_S)
    jumped = np.flatnonzero(far | beyond if steps == 1 else far)
    samples = width + jumped
    # the windows of neighbours contain the jump, too: its place is where it is greatest
    size = off_m[jumped]
    kept = [int(i) for i in range(len(samples)) if size[i] >= size[np.abs(samples - samples[i]) <= width].max()]
    places: _Places = samples[kept]
    return places


def _shortest_way_m(
    step: FloatArray,
    before: FloatArray,
    after: FloatArray,
    fastest: FloatArray,
    hole: BoolArray,
    bank_rad: float = _TIGHTEST_RAD,
) -> FloatArray:
    """Shortest ways over steps, given the velocities on either side: straight; where in a hole, turn, straight, and turn. [m]

    The turns are those of the greater speed and a bank, as tight as an aircraft flies them where none is given. Of the ways
    that turn, lead straight on and turn again one is the shortest where the places are four radii and more apart [1]_; nearer
    by, the straight line is taken.

    References
    ----------
    .. [1] L. E. Dubins, "On curves of minimal length with a constraint on average curvature", American Journal of Mathematics
       79, 1957, 497-516.
    """
    way: FloatArray = np.hypot(*step)
    radius = fastest**2 / (GRAVITY * math.tan(bank_rad))
    for k in np.flatnonzero(hole & (way > 4.0 * radius) & (radius > 0.0)).tolist():
        bearing, far = math.atan2(step[1, k], step[0, k]), float(way[k] / radius[k])
        out, back = (math.atan2(float(one[1, k]), float(one[0, k])) - bearing for one in (before, after))
        way[k] = radius[k] * min(_turn_and_turn(far, out, back), _turn_and_turn(far, -out, -back))
    return way


def _turn_and_turn(far: float, out_rad: float, back_rad: float) -> float:
    """The shorter of two ways that begin with a turn to the right, in radii.

    They lead `far` radii along a line, from one direction relative to it, clockwise, to another.
    """
    # the centre of the first turn is on the right; that of the last is on the right, too, or on the left
    ways = []
    for side in (1.0, -1.0):
        north = far - side * math.sin(back_rad) + math.sin(out_rad)
        east = side * math.cos(back_rad) - math.cos(out_rad)
        apart, line = math.hypot(north, east), math.atan2(east, north)
        if side < 0.0:  # the line crosses from one circle to the other
            line += math.asin(min(2.0 / apart, 1.0))
            apart = math.sqrt(max(apart**2 - 4.0, 0.0))
        ways.append((line - out_rad) % math.tau + apart + side * (back_rad - line) % math.tau)
    return min(ways)


def _seen_at_s(track: Track, north_m: FloatArray, east_m: FloatArray, place: int, alike: _Alike) -> float | None:
    """When the aircraft had been at the place of a sample before, in its direction and so on; None if never. [s]"""
    before = np.flatnonzero(track.time_s[: max(place - 1, 0)] < track.time_s[place] - _BEFORE_S)
    if len(before) < 2 or place + 1 >= len(track):
        return None
    north, east = north_m[before] - north_m[place], east_m[before] - east_m[place]
    # the place lies between two samples of the path before, which may be far apart
    ahead_north, ahead_east = np.diff(north), np.diff(east)
    length2 = np.maximum(ahead_north**2 + ahead_east**2, 1e-6)
    share = np.clip(-(north[:-1] * ahead_north + east[:-1] * ahead_east) / length2, 0.0, 1.0)
    off_m = np.hypot(north[:-1] + share * ahead_north, east[:-1] + share * ahead_east)
    course = math.atan2(east_m[place + 1] - east_m[place], north_m[place + 1] - north_m[place])
    altitude_m = track.altitude_m[before]
    climbed = altitude_m[:-1] + share * np.diff(altitude_m) - track.altitude_m[place]
    speed = np.sqrt(length2) / np.diff(track.time_s[before])
    onward = math.hypot(east_m[place + 1] - east_m[place], north_m[place + 1] - north_m[place])
    onward_mps = onward / float(track.time_s[place + 1] - track.time_s[place])
    same = np.abs(wrap(np.arctan2(ahead_east, ahead_north) - course)) < alike.course_rad
    same &= ~(np.abs(climbed) > alike.height_m) & (np.abs(speed - onward_mps) <= alike.speed * max(onward_mps, 1.0))
    off_m = np.where(same, off_m, np.inf)
    nearest = int(np.argmin(off_m))
    return float(track.time_s[nearest]) if off_m[nearest] <= alike.off_m else None
