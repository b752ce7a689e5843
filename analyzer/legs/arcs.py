"""Arcs flown about a point: stretches of constant distance in which the bearing goes round, and the track with it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.quantiles import median, quantile
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, NM, FloatArray, unwrapped, wrap

__all__ = ["Arc", "Round", "arcs_about", "comes_back_round", "is_plainly", "keeps_round", "left_and_joined", "rounds_of"]

_HALF_WINDOW_S = 30  # motion towards or away from the point is judged over a minute
_CLOSING_SHARE = 0.15  # of the way flown in it: within 9° of the tangent
_NEAREST_M = 3.0 * NM  # closer in it is a turn or a circle for landing
_LEAST_SWEPT_RAD, _LEAST_CHARTED_RAD = 30.0 * DEG, 20.0 * DEG
# The track turns as the bearing does, but for corrections and for a share: a straight line past a point turns not at all, and
# an arc about another point more or less. Its direction at either end is that of so many seconds, or of a quarter of a short
# arc: the turn onto the arc may overshoot, and the turn off it may be counted with it.
_UNLIKE_RAD, _UNLIKE_SHARE, _END_S = 12.0 * DEG, 0.2, 15
# A charted arc may end, or begin, in a correction back to it. Then the track turns as the bearing does on the whole: the slope
# of the one over the other is one, within a share, and the track is never far off the tangent.
_SLOPE_OFF, _CORRECTS_RAD = 0.4, 35.0 * DEG
# An arc has one radius: it strays from it by no more than this, at least and of the radius, and does not drift in or out by
# more than a share of the way flown.
_STRAYS_M, _STRAYS_SHARE, _DRIFT_SHARE = 1.0 * NM, 0.05, 0.1
_NEAR_CHARTED_M, _NEAR_CHARTED_SHARE = 2.5 * NM, 0.25  # flown so far off a charted arc, it is still meant to be that one


# Meant for a charted arc, whatever the distance kept: between these shares of its radius, within so much of the tangent, and
# turning with the bearing, in these ratios over a minute; a straight line turns not at all, a turn onto the arc several times
# as much. Corrections break it for a moment.
_MEANT_SHARES, _TANGENT_RAD, _RATIOS, _BROKEN_S = (0.6, 1.4), 35.0 * DEG, (0.4, 2.0), 20
# Left and taken up again: on it for so long before and after, and away for so long at most.
_ON_IT_S, _AWAY_S = 30, 300
_BACK_RAD = 3.0 * DEG  # against the way round


@dataclass(frozen=True)
class Round:
    """A stretch flown round the centre of a charted arc at any distance: when, and the bearing swept (right +)."""

    start_s: float
    end_s: float
    swept_rad: float


@dataclass(frozen=True)
class Arc:
    """An arc about a point: when, the median distance, the root mean square departure from it, the bearing swept (right +)."""

    start_s: float
    end_s: float
    radius_m: float
    departure_m: float
    swept_rad: float


def arcs_about(motion: Motion, latitude_rad: float, longitude_rad: float) -> tuple[Arc, ...]:
    """The arcs of a flight about a point, in order; stretches of 30° of bearing or more, farther than 3 NM from it.

    Each has a radius of its own: where the aircraft changes to another radius, another arc begins.
    """
    states = motion.states
    distance, bearing = geodesy.inverse_near(latitude_rad, longitude_rad, states.latitude_rad, states.longitude_rad)
    n = len(states)
    before, after = np.maximum(np.arange(n) - _HALF_WINDOW_S, 0), np.minimum(np.arange(n) + _HALF_WINDOW_S, n - 1)
    flown = np.concatenate([[0.0], np.cumsum(states.ground_speed_mps[1:] * np.diff(states.time_s))])
    closing = np.abs(distance[after] - distance[before]) < _CLOSING_SHARE * (flown[after] - flown[before])
    whole = states.time_s[after] - states.time_s[before] <= after - before + 1.0  # no gap in the window
    there = np.concatenate([[False], closing & whole & (distance > _NEAREST_M), [False]])
    edges = np.flatnonzero(np.diff(there.astype(np.int8)))
    arcs = []
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        for first, last in _of_one_radius(distance[begin:end]):
            part = slice(begin + first, begin + last + 1)
            if not keeps_round(distance[part], bearing[part], states.track_rad[part], None):
                continue
            if abs(distance[begin + last] - distance[begin + first]) > _DRIFT_SHARE * (
                flown[begin + last] - flown[begin + first]
            ):
                continue
            radius = median(distance[part])
            departure = float(np.sqrt(np.mean((distance[part] - radius) ** 2)))
            times = float(states.time_s[begin + first]), float(states.time_s[begin + last])
            arcs.append(Arc(*times, radius, departure, _swept(bearing[part])))
    return tuple(arcs)


def rounds_of(states: States, distance_m: FloatArray, bearing_rad: FloatArray, charted_m: float) -> tuple[Round, ...]:
    """The stretches flown round a charted arc's centre, 20° of bearing or more, that no limit on the radius chooses.

    `distance_m` and `bearing_rad` are those of the states from the centre. One that drifts off its radius, keeps another, or
    goes round another point not far from the centre is found whole, so that the departure from the chart is measured on it.
    """
    n = len(states)
    if n < 2 * _HALF_WINDOW_S:
        return ()
    before, after = np.maximum(np.arange(n) - _HALF_WINDOW_S, 0), np.minimum(np.arange(n) + _HALF_WINDOW_S, n - 1)
    bearing, track = unwrapped(bearing_rad), unwrapped(states.track_rad)
    swept, turned = bearing[after] - bearing[before], track[after] - track[before]
    ratio = turned / np.where(np.abs(swept) > 1e-6, swept, np.inf)
    tangent = np.abs(np.abs(wrap(states.track_rad - bearing_rad)) - 0.5 * np.pi) < _TANGENT_RAD
    near = (distance_m > _MEANT_SHARES[0] * charted_m) & (distance_m < _MEANT_SHARES[1] * charted_m)
    whole = states.time_s[after] - states.time_s[before] <= after - before + 1.0
    there = tangent & near & whole & (ratio > _RATIOS[0]) & (ratio < _RATIOS[1])
    runs: list[tuple[int, int]] = []
    for begin, end in true_runs(there):
        if runs and begin - runs[-1][1] <= _BROKEN_S:
            runs[-1] = runs[-1][0], end
        else:
            runs.append((begin, end))
    found = (Round(float(states.time_s[b]), float(states.time_s[e - 1]), float(bearing[e - 1] - bearing[b])) for b, e in runs)
    return tuple(one for one in found if abs(one.swept_rad) >= _LEAST_CHARTED_RAD)


def left_and_joined(states: States, distance_m: FloatArray, bearing_rad: FloatArray, charted_m: float) -> Round | None:
    """The way round a charted arc that was left, however steeply, and joined again the same way round; None where it was not.

    `distance_m` and `bearing_rad` are those of the states from the centre. It is on the arc for half a minute before and after,
    where the track has turned as the bearing has: on a line past the centre it turns not at all.
    """
    off_rad = unwrapped(states.track_rad - bearing_rad)
    tangent = np.abs(np.abs(wrap(off_rad)) - 0.5 * np.pi) < _TANGENT_RAD
    on = [run for run in true_runs(tangent & (np.abs(distance_m - charted_m) < _STRAYS_M)) if run[1] - run[0] >= _ON_IT_S]
    near = (distance_m > _MEANT_SHARES[0] * charted_m) & (distance_m < _MEANT_SHARES[1] * charted_m)
    round_rad, best = unwrapped(bearing_rad), None
    for before, after in pairwise(on):
        whole = slice(before[0], after[1])
        swept = float(round_rad[after[1] - 1] - round_rad[before[0]])
        back = float((np.maximum.accumulate(np.sign(swept) * round_rad[whole]) - np.sign(swept) * round_rad[whole]).max())
        ends = (off_rad[before[0] : before[1]][:_ON_IT_S], off_rad[after[0] : after[1]][-2 * _ON_IT_S : -_ON_IT_S])
        turned = abs(median(ends[1] if len(ends[1]) else off_rad[after[0] : after[1]]) - median(ends[0]))
        goes_on = after[0] - before[1] <= _AWAY_S and bool(near[whole].all()) and back < _BACK_RAD
        if goes_on and abs(swept) >= _LEAST_SWEPT_RAD and turned < max(_UNLIKE_RAD, _UNLIKE_SHARE * abs(swept)):
            best = Round(float(states.time_s[before[0]]), float(states.time_s[after[1] - 1]), swept)
    return best


def keeps_round(distance_m: FloatArray, bearing_rad: FloatArray, track_rad: FloatArray, charted_m: float | None) -> bool:
    """Whether a stretch is an arc about the point that distances and bearings refer to: of a charted radius, else its own."""
    radius = median(distance_m)
    swept = _swept(bearing_rad)
    off_tangent = unwrapped(track_rad - bearing_rad)
    ends = max(1, min(_END_S, len(off_tangent) // 4))  # states are a second apart
    if abs(median(off_tangent[-ends:]) - median(off_tangent[:ends])) > max(_UNLIKE_RAD, _UNLIKE_SHARE * abs(swept)):
        return False
    if charted_m is not None:
        return abs(swept) >= _LEAST_CHARTED_RAD and _is_radius(radius, charted_m)
    strays = np.mean(np.abs(distance_m - radius) > _strays_m(radius))
    return radius > _NEAREST_M and abs(swept) >= _LEAST_SWEPT_RAD and bool(strays < 0.1)


def comes_back_round(distance_m: FloatArray, bearing_rad: FloatArray, track_rad: FloatArray, charted_m: float) -> bool:
    """Whether a stretch is a charted arc that was left and corrected back to, so that it begins or ends in a correction.

    The track turns as the bearing does on the whole, and is never far off the tangent; arguments as those of `keeps_round`.
    """
    if abs(_swept(bearing_rad)) < _LEAST_SWEPT_RAD or not _is_radius(median(distance_m), charted_m):
        return False
    round_rad, off_rad = unwrapped(bearing_rad), unwrapped(track_rad - bearing_rad)
    on = round_rad - round_rad.mean()
    slope = float(on @ (off_rad - off_rad.mean()) / (on @ on))
    corrections = np.abs(wrap(off_rad - median(off_rad)))
    return abs(slope) < _SLOPE_OFF and quantile(corrections, 0.95) < _CORRECTS_RAD


def _is_radius(radius_m: float, charted_m: float) -> bool:
    """Whether a radius is near enough to a charted one to be meant as it, for a flight that then comes to the fix."""
    return abs(radius_m - charted_m) <= max(_NEAR_CHARTED_M, _NEAR_CHARTED_SHARE * charted_m)


def is_plainly(radius_m: float, charted_m: float) -> bool:
    """Whether a radius is so near a charted one that no other evidence is needed of which arc is flown."""
    return abs(radius_m - charted_m) <= max(_STRAYS_M, _STRAYS_SHARE * charted_m)


def _strays_m(radius_m: float) -> float:
    return max(_STRAYS_M, _STRAYS_SHARE * radius_m)


def _swept(angle_rad: FloatArray) -> float:
    """By how much an angle goes round, right positive. [rad]"""
    return float(np.sum(wrap(np.diff(angle_rad))))


def _of_one_radius(distance_m: FloatArray) -> list[tuple[int, int]]:
    """First and last index of the pieces of constant distance, each without the part that only leads to its radius."""
    pieces = []
    begin = 0
    while begin < len(distance_m):
        rest = distance_m[begin:]
        ranged = np.maximum.accumulate(rest) - np.minimum.accumulate(rest)
        out = np.flatnonzero(ranged > 2.0 * _strays_m(float(rest[0])))
        end = begin + int(out[0]) if len(out) else len(distance_m)
        piece = distance_m[begin:end]
        radius = median(piece)
        near = np.flatnonzero(np.abs(piece - radius) <= _strays_m(radius))
        pieces.append((begin + int(near[0]), begin + int(near[-1])))
        begin = end
    return pieces
