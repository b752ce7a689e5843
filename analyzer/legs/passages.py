"""Passages of the fix: where the distance from it has a minimum that counts."""

from __future__ import annotations

import math

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.states import States
from analyzer.physics.units import DEG, NM

__all__ = ["Abeam", "find_passages"]

_FARTHEST_M = 2.0 * NM  # abeam farther off than this is no passage; a turn led by a mile still is
_PROMINENCE_M = 1.0 * NM  # how far one must go away before coming back is another passage
_SECOND_S = 1.5  # states are a second apart; more is a gap
_LOG_EDGE_M = 1.0 * NM  # a log that begins or ends this close begins or ends with a passage
_REACHED_S = 3.0  # a log that ends this soon before it reaches it
# Abeam on the way out, after one turn that was begun over the fix: so soon, never slower over some seconds until it is all but
# done, and so much in all, of which a direct entry takes 250° at most. What keeps a heading is a small share of it.
_BEGUN_S, _TURNING_RADPS, _OVER_S, _DONE_SHARE = 15.0, 0.5 * DEG, 9, 0.9
_TURNED_RAD, _ALL_ROUND_RAD, _BACK_RAD = 120.0 * DEG, 280.0 * DEG, 30.0 * DEG


@dataclass(frozen=True)
class Abeam:
    """The instant abeam the fix and the distance then; `reached` is False where the log ends closely before it."""

    time_s: float
    distance_m: float
    reached: bool = True


def find_passages(states: States) -> tuple[Abeam, ...]:
    """All passages of the fix, in order."""
    distance = states.distance_m
    inner = np.flatnonzero((distance[1:-1] <= distance[:-2]) & (distance[1:-1] < distance[2:])) + 1
    edges = [i for i in (0, len(distance) - 1) if distance[i] < _LOG_EDGE_M]
    candidates = sorted({*(int(i) for i in inner if distance[i] < _FARTHEST_M), *edges})
    kept: list[int] = []
    for i in candidates:
        if kept and distance[kept[-1] : i + 1].max() < max(distance[kept[-1]], distance[i]) + _PROMINENCE_M:
            if distance[i] < distance[kept[-1]]:
                kept[-1] = i
            continue
        if kept and _only_rounded(states, kept[-1], i):
            continue
        kept.append(i)
    return tuple(_refine(states, i) for i in kept)


def _only_rounded(states: States, first: int, second: int) -> bool:
    """Whether a minimum is only abeam of the fix, on the way out from one turn begun over it at another minimum.

    Fast aircraft are three miles away in such a turn, and nearer when they head out.
    """
    rate = states.turn_rate_rad_s[first : second + 1]
    whole = states.time_s[second] - states.time_s[first] < second - first + _SECOND_S
    turned = np.cumsum(rate)  # a state a second
    if not whole or not _TURNED_RAD < abs(turned[-1]) < _ALL_ROUND_RAD:
        return False
    way = np.sign(turned[-1])
    if float(np.abs(rate).sum()) - abs(float(turned[-1])) > 2.0 * _BACK_RAD:
        return False
    done = int(np.argmax(way * turned > _DONE_SHARE * abs(turned[-1])))
    smooth = np.convolve(way * rate, np.full(_OVER_S, 1.0 / _OVER_S), mode="same")
    turning = smooth[: done + 1][states.time_s[first : first + done + 1] > states.time_s[first] + _BEGUN_S]
    return len(turning) > 0 and bool((turning > _TURNING_RADPS).all())


def _refine(states: States, i: int) -> Abeam:
    """The vertex of the parabola through the squared distances about a minimum: exact for a straight path at steady speed."""
    if not 0 < i < len(states) - 1:
        return Abeam(float(states.time_s[i]), float(states.distance_m[i]), i == 0 or _to_go_s(states) <= _REACHED_S)
    for first in (i - 1, i):
        if states.time_s[first + 1] - states.time_s[first] > _SECOND_S:
            return _across_gap(states, first)
    before, at, after = (float(d) for d in states.distance_m[i - 1 : i + 2] ** 2)
    curvature = before - 2.0 * at + after
    step = float(states.time_s[i + 1] - states.time_s[i - 1]) / 2.0
    shift = 0.5 * (before - after) / curvature if curvature > 0.0 else 0.0
    least = at - 0.25 * (before - after) * shift
    return Abeam(float(states.time_s[i]) + shift * step, max(least, 0.0) ** 0.5)


def _to_go_s(states: States) -> float:
    """How long the last state is before abeam the fix, on its track at its speed; negative where that lies behind. [s]"""
    ahead_m = -float(states.distance_m[-1]) * math.cos(float(states.bearing_rad[-1] - states.track_rad[-1]))
    return ahead_m / max(float(states.ground_speed_mps[-1]), 1.0)


def _across_gap(states: States, first: int) -> Abeam:
    """Abeam on the straight line, at steady speed, from a state before a gap to the one after it."""
    ends = slice(first, first + 2)
    north, east = (states.distance_m[ends] * turn(states.bearing_rad[ends]) for turn in (np.cos, np.sin))
    step = np.array([north[1] - north[0], east[1] - east[0]])
    share = float(np.clip(-(north[0] * step[0] + east[0] * step[1]) / max(float(step @ step), 1e-9), 0.0, 1.0))
    time = float(states.time_s[first] + share * (states.time_s[first + 1] - states.time_s[first]))
    return Abeam(time, float(np.hypot(north[0] + share * step[0], east[0] + share * step[1])))
