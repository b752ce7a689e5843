"""The planned path as a log with one sample a second, to be drawn and debriefed like a flight."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.brief.go_around import final_altitudes_m
from analyzer.brief.hold_laps import HoldLaps
from analyzer.brief.missed_path import MissedPath, place_of
from analyzer.brief.plan import Plan
from analyzer.frozen import dataclass
from analyzer.nominal.fly import Air, Path
from analyzer.physics import geodesy
from analyzer.physics.units import FloatArray
from analyzer.track.track import Track

__all__ = ["START_S", "Line", "line_through", "planned_line", "planned_track"]

START_S = 1_767_225_600.0  # a plan has no date: it begins on 1 January 2026, 00:00 UTC
_ARRIVAL_S = 60.0


@dataclass(frozen=True, eq=False)
class Line:
    """A path with its altitudes: time from its beginning, place north and east of the reversal fix. [s, m]"""

    time_s: FloatArray
    north_m: FloatArray
    east_m: FloatArray
    altitude_m: FloatArray


def planned_line(plan: Plan) -> Line:
    """The path of a plan with a landing."""
    return Line(plan.path.time_s, plan.path.north_m, plan.path.east_m, plan.altitude_m)


def line_through(plan: Plan, missed: MissedPath, holds: Sequence[HoldLaps] = ()) -> Line:
    """The path of a plan up to its missed approach, the missed approach, and the laps of its hold.

    If its altitude is not reached before, the climb continues in the hold.
    """
    kept = plan.path.time_s < missed.begins.time_s
    path, altitude = missed.path, final_altitudes_m(plan)
    times, norths, easts = [path.time_s], [path.north_m], [path.east_m]
    for laps in holds:
        if laps.hold != missed.hold:
            continue
        north, east = place_of(plan.charted, laps.hold.latitude_rad, laps.hold.longitude_rad)
        for lap in laps.laps:
            times.append(times[-1][-1] + lap.path.time_s[1:])
            norths.append(north + lap.path.north_m[1:])
            easts.append(east + lap.path.east_m[1:])
    time, norths_m, easts_m = (np.concatenate(values) for values in (times, norths, easts))
    level = missed.level_m if missed.level_m is not None else float(missed.altitude_m[-1])
    heights = missed.climb.heights_m(Path(time, norths_m, easts_m, norths_m, ()), missed.begins.altitude_m, level)
    return Line(
        np.concatenate([plan.path.time_s[kept], missed.begins.time_s + time]),
        np.concatenate([plan.path.north_m[kept], norths_m]),
        np.concatenate([plan.path.east_m[kept], easts_m]),
        np.concatenate([altitude[kept], heights]),
    )


def planned_track(plan: Plan, along: Line | None = None) -> Track:
    """A path as a log; by default the path of the plan.

    If it begins with the approach itself, the minute before is added.
    """
    line = along if along is not None else planned_line(plan)
    charted, first = plan.charted, plan.stages[0]
    air = Air(first.air.true_airspeed_mps, *first.air.wind_north_east_mps)
    to_north, to_east = air.ground_velocity(float(plan.path.heading_rad[0]))
    before = np.empty(0) if first.part == "arrival" else np.arange(-_ARRIVAL_S, 0.0)
    after = np.arange(0.0, float(line.time_s[-1]) + 1e-6)
    north = np.concatenate([line.north_m[0] + before * to_north, np.interp(after, line.time_s, line.north_m)])
    east = np.concatenate([line.east_m[0] + before * to_east, np.interp(after, line.time_s, line.east_m)])
    altitude = np.concatenate([np.full(len(before), line.altitude_m[0]), np.interp(after, line.time_s, line.altitude_m)])
    latitude, longitude = geodesy.direct(
        charted.fix_latitude_rad, charted.fix_longitude_rad, np.arctan2(east, north), np.hypot(north, east)
    )[:2]
    time = START_S + np.concatenate([before, after])
    return Track("plan", "plan", time, latitude, longitude, altitude, {}, (), (), ())
