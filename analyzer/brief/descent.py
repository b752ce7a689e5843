"""The altitudes of a plan: a steady descent over each leg to its minimum, at no more than a normal rate.

Minimums are "at or above": height that a leg is too short to lose is left to the next leg, and reported. Once established, the
descent goes from gate to gate: it keeps the minimum of each fix until the fix is passed, and passes it at or below its maximum.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.brief.final_descent import FinalDescent, Way, down_final, gate_bounds, over_threshold
from analyzer.brief.gates import Gate
from analyzer.brief.stages import Stage
from analyzer.brief.steadiest_descent import NORMAL_MPS, Bound, Steep, Taut, taut
from analyzer.frozen import dataclass
from analyzer.nominal.fly import Path
from analyzer.physics.units import FloatArray
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import Leg

__all__ = ["Profile", "Short", "descend"]

_MADE_M = 1.0


@dataclass(frozen=True)
class Short:
    """A leg that is too short for its descent: time for it, height to lose, and height remaining at its end.

    `steadily` means that the rest is lost on final, in one steady descent from established to the threshold.
    """

    leg: Leg
    seconds: float
    fall_m: float
    left_m: float
    steadily: bool = False


@dataclass(frozen=True, eq=False)
class Profile:
    """The altitudes along a path.

    Attributes
    ----------
    altitude_m : array
        Altitude at every node, NaN where none is charted.
    shorts : tuple of Short
        The legs that are too short for their descent.
    points : tuple of (float, float)
        Times and altitudes between which the descent is steady. [s, m]
    steeps : tuple of Steep
        Stretches after established that need more than the normal rate.
    final : FinalDescent, optional
        The descent of the final leg, if there is one.
    """

    altitude_m: FloatArray
    shorts: tuple[Short, ...] = ()
    points: tuple[tuple[float, float], ...] = ()
    steeps: tuple[Steep, ...] = ()
    final: FinalDescent | None = None


@dataclass(frozen=True)
class _Run:
    """Consecutive stages of one leg: start and end, their way, and whether a circuit follows."""

    leg: Leg
    start_s: float
    end_s: float
    way: Way | None
    rounds: bool

    @property
    def seconds(self) -> float:
        return self.end_s - self.start_s


def descend(charted: Charted, stages: Sequence[Stage], path: Path) -> Profile:
    """The altitudes along a path. Before a further circuit, none is below the minimum of its outbound leg."""
    floors = charted.levels_m
    if not floors:
        return Profile(np.full(len(path.time_s), np.nan))
    now = floors.get("arrival", floors.get("outbound", floors.get("reversal", next(iter(floors.values())))))
    points: list[tuple[float, float]] = [(float(path.time_s[0]), now)]
    shorts: list[Short] = []
    steeps: list[Steep] = []
    final: FinalDescent | None = None
    runs = _runs(stages, path)
    for run, follows in zip(runs, [*runs[1:], None], strict=True):
        if run.leg == "final" and run.way is not None:
            final = down_final(charted, run.way, now)
            flown, wanted = final.profile, _final_goal(charted, run.way, now)
        else:
            wanted = _wanted(charted, run, now)
            start_s = _past_fix_s(run, path) if run is runs[0] and run.leg == "outbound" else run.start_s
            if start_s > run.start_s:
                points.append((start_s, now))
            flown = taut(start_s, now, gate_bounds(run.way) if run.way is not None else (), Bound(run.end_s, wanted, wanted))
        steadily = False
        if flown.end_m > wanted + _MADE_M:
            if run.leg == "inbound" and follows is not None and follows.leg == "final" and not charted.fixes:
                rate = (now - over_threshold(charted)) / (run.seconds + follows.seconds)
                steadily = rate <= NORMAL_MPS
                flown = Taut((flown.points[0], (run.end_s, now - rate * run.seconds))) if steadily else flown
            shorts.append(Short(run.leg, run.seconds, now - wanted, flown.end_m - wanted, steadily))
        steeps += flown.steeps if run.way is not None else ()
        now = flown.end_m
        points += flown.points[1:]
    times, heights = zip(*points, strict=True)
    altitude: FloatArray = np.interp(path.time_s, times, heights)
    return Profile(altitude, tuple(shorts), tuple(points), tuple(steeps), final)


def _past_fix_s(run: _Run, path: Path) -> float:
    """When the fix, the origin, is passed: over it where the leg begins, or abeam it in a turn that was begun before. [s]"""
    inside = np.flatnonzero((path.time_s >= run.start_s) & (path.time_s <= run.end_s))
    return float(path.time_s[inside[int(np.argmin(np.hypot(path.north_m[inside], path.east_m[inside])))]])


def _wanted(charted: Charted, run: _Run, now: float) -> float:
    """The altitude that a leg before final descends to: its minimum, but not below that of the fix it leads to. [m]"""
    gate = run.way.gates[-1] if run.way is not None else None
    least = gate.least_m if gate is not None else None
    floor = charted.levels_m.get("outbound" if run.rounds else run.leg, least if least is not None else now)
    wanted = max(floor, least) if least is not None else floor
    if gate is not None and gate.most_m is not None:
        wanted = min(wanted, gate.most_m)
    return min(now, wanted)


def _final_goal(charted: Charted, way: Way, now: float) -> float:
    if way.gates[-1].role == "threshold":
        return min(now, over_threshold(charted))
    return min(now, charted.minimum.altitude_m) if charted.minimum is not None else now


def _runs(stages: Sequence[Stage], path: Path) -> list[_Run]:
    runs: list[_Run] = []
    legs, first, start = [stage.leg for stage in stages], 0, 0
    for k, (leg, end) in enumerate(zip(legs, path.ends, strict=True)):
        if legs[k + 1 : k + 2] != [leg]:
            rounds = leg in ("reversal", "inbound") and "outbound" in legs[k + 1 :]
            way = _way(stages[first : k + 1], path, [start, *path.ends[first : k + 1]])
            runs.append(_Run(leg, float(path.time_s[start]), float(path.time_s[end]), way, rounds))
            first, start = k + 1, end
    return runs


def _way(stages: Sequence[Stage], path: Path, nodes: Sequence[int]) -> Way | None:
    """The way of stages that lead from gate to gate; None for other stages."""
    gates: list[Gate] = [stage.gate for stage in stages if stage.gate is not None]
    if len(gates) < len(stages):
        return None
    north, east = path.north_m[list(nodes)], path.east_m[list(nodes)]
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(north), np.diff(east)))])
    times = tuple(float(time) for time in path.time_s[list(nodes)])
    return Way(tuple(gates), times, tuple(float(length) for length in lengths))
