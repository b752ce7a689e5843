"""The descent of the final leg: over the fixes to the minimum, level until it may be left, and down to the runway."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from analyzer.brief.gates import Gate, missed_point
from analyzer.brief.steadiest_descent import Bound, Taut, taut
from analyzer.frozen import dataclass
from analyzer.physics.units import DEG, FT
from analyzer.procedure.charted import Charted

__all__ = ["VISUAL_RAD", "FinalDescent", "Way", "down_final", "gate_bounds", "over_threshold"]

_CROSSING_M = 50.0 * FT
_LEVEL_S = 15.0  # level at the minimum before leaving it; common practice, no source
VISUAL_RAD = 3.0 * DEG  # visual descent where no glide path and no visual descent point is charted
_LEAST_STEADY_RAD = 2.5 * DEG  # shallower is not a normal descent: the minimum is held until one is possible
_SAME_M = 1.0


@dataclass(frozen=True)
class Way:
    """The way from gate to gate: times and distances flown, at its start and at each gate."""

    gates: tuple[Gate, ...]
    times_s: tuple[float, ...]
    lengths_m: tuple[float, ...]

    def before_end_s(self, metres: float) -> float:
        """Time at a distance before the end of the way; its start if the way is shorter. [s]"""
        return float(np.interp(self.lengths_m[-1] - metres, self.lengths_m, self.times_s))

    def before_end_m(self, time_s: float) -> float:
        """Distance before the end of the way at an instant. [m]"""
        return self.lengths_m[-1] - float(np.interp(time_s, self.times_s, self.lengths_m))


@dataclass(frozen=True)
class FinalDescent:
    """The descent and its marks.

    Attributes
    ----------
    profile : Taut
        Times and altitudes.
    minimum_s : float, optional
        When the minimum is reached; None without one, or if it is not reached.
    leave_s : float, optional
        When the minimum is left for the runway, if that is later.
    path_s : float, optional
        When the glide path is met, if one is flown.
    """

    profile: Taut
    minimum_s: float | None
    leave_s: float | None
    path_s: float | None


def over_threshold(charted: Charted) -> float:
    """Altitude over the threshold, by the charted crossing height or else 50 ft. [m]"""
    if charted.runway is None:
        raise ValueError("a threshold is asked for, and no runway is charted")
    crossing = charted.threshold_crossing_height_m
    return charted.runway.elevation_m + (crossing if crossing is not None else _CROSSING_M)


def down_final(charted: Charted, way: Way, start_m: float) -> FinalDescent:
    """The descent along the final leg.

    To a decision altitude it follows the glide path once that is met from below. To a minimum descent altitude it is one steady
    descent to the threshold, if that reaches the minimum before the missed approach point and is no shallower than normal;
    otherwise the minimum is reached before the point where it may be left, and held until there. Without a runway it ends at
    the minimum.
    """
    minimum, start_s = charted.minimum, way.times_s[0]
    end_s = way.times_s[-1]
    fixes = gate_bounds(way)
    if way.gates[-1].role != "threshold":
        return _to_last_fix(charted, way, start_m, fixes)
    crossing = over_threshold(charted)
    end = Bound(end_s, crossing, crossing)
    if charted.glide_path_rad is not None and (minimum is None or minimum.kind == "da"):
        met_s = way.before_end_s((start_m - crossing) / math.tan(charted.glide_path_rad))
        on_path = taut(start_s, start_m, _sorted([*fixes, Bound(met_s, least_m=start_m)]), end)
        reached = _first_at(on_path, minimum.altitude_m) if minimum is not None else None
        return FinalDescent(on_path, reached, None, met_s if met_s > start_s else None)
    steady = taut(start_s, start_m, fixes, end)
    if minimum is None:
        return FinalDescent(steady, None, None, None)
    reached = _first_at(steady, minimum.altitude_m)
    leave_s = way.before_end_s(_leave_m(charted, minimum.altitude_m - crossing))
    too_high = steady.end_m > crossing + _SAME_M and (reached is None or reached >= leave_s)  # as low as possible all the way
    if minimum.kind == "da" or too_high or _is_normal(charted, way, reached):
        return FinalDescent(steady, reached, None, None)
    level_s = _level_from(charted, way, leave_s)
    kept = [Bound(level_s, minimum.altitude_m, minimum.altitude_m), Bound(leave_s, minimum.altitude_m, minimum.altitude_m)]
    profile = taut(start_s, start_m, _sorted([*fixes, *kept]), end)
    reached = _first_at(profile, minimum.altitude_m)
    return FinalDescent(profile, reached, leave_s if reached is not None and reached < leave_s else None, None)


def gate_bounds(way: Way) -> list[Bound]:
    """The altitudes charted at the gates of a way."""
    return [
        Bound(time, -math.inf if gate.least_m is None else gate.least_m, math.inf if gate.most_m is None else gate.most_m)
        for time, gate in zip(way.times_s[1:], way.gates, strict=True)
    ]


def _to_last_fix(charted: Charted, way: Way, start_m: float, fixes: Sequence[Bound]) -> FinalDescent:
    minimum, ends = charted.minimum, way.times_s[-1]
    if minimum is None:
        lowest = min((bound.least_m for bound in fixes if math.isfinite(bound.least_m)), default=start_m)
        return FinalDescent(taut(way.times_s[0], start_m, fixes, Bound(ends, lowest, lowest)), None, None, None)
    goal = Bound(ends, minimum.altitude_m, minimum.altitude_m)
    kept = [*fixes]
    if minimum.kind == "mda":
        kept.append(Bound(_level_from(charted, way, ends), minimum.altitude_m, minimum.altitude_m))
    profile = taut(way.times_s[0], start_m, _sorted(kept), goal)
    return FinalDescent(profile, _first_at(profile, minimum.altitude_m), None, None)


def _sorted(bounds: Sequence[Bound]) -> list[Bound]:
    return sorted(bounds, key=lambda bound: bound.time_s)


def _leave_m(charted: Charted, height_m: float) -> float:
    """Distance before the threshold where the minimum may be left: the visual descent point, else the glide path or 3°. [m]"""
    point = charted.minimum.visual_descent_point_m if charted.minimum is not None else None
    path = charted.glide_path_rad or VISUAL_RAD
    return point if point is not None else height_m / math.tan(path)


def _missed_s(charted: Charted, way: Way) -> float:
    """When the missed approach point is passed; the end of the way if it is there or beyond, or not charted as a fix. [s]"""
    point, last = missed_point(charted), way.gates[-1]
    return way.before_end_s(max(0.0, last.along_m - point.along_m)) if point is not None else way.times_s[-1]


def _level_from(charted: Charted, way: Way, leave_s: float) -> float:
    """When the minimum must be reached: some seconds before it may be left, and before the missed approach point. [s]"""
    needed = min(leave_s, _missed_s(charted, way))
    bound = [time for time, gate in zip(way.times_s[1:], way.gates, strict=True) if gate.least_m is not None and time < needed]
    return max(needed - _LEVEL_S, (max(bound, default=way.times_s[0]) + needed) / 2.0)


def _is_normal(charted: Charted, way: Way, reached_s: float | None) -> bool:
    """Whether a steady descent through the minimum to the threshold is possible; never with a charted visual descent point."""
    minimum = charted.minimum
    if minimum is None or minimum.visual_descent_point_m is not None:
        return False
    if reached_s is None:  # too high throughout: the plan ends above the minimum
        return True
    crossing = over_threshold(charted)
    to_go = way.before_end_m(reached_s)
    shallow = minimum.altitude_m - crossing < math.tan(_LEAST_STEADY_RAD) * to_go - _SAME_M
    return not shallow and reached_s <= _missed_s(charted, way) - _LEVEL_S


def _first_at(profile: Taut, altitude_m: float) -> float | None:
    """When a descent first reaches an altitude; None if it does not. [s]"""
    (before_s, before_m), *rest = profile.points
    if before_m <= altitude_m:
        return before_s
    for time, height in rest:
        if height <= altitude_m + 1e-6:
            share = (before_m - altitude_m) / (before_m - height) if before_m > height else 0.0
            return before_s + min(1.0, share) * (time - before_s)
        before_s, before_m = time, height
    return None
