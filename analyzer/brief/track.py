"""The planned path as a log, one sample a second: what is drawn and compared like a flight."""

from __future__ import annotations

import numpy as np

from analyzer.brief.plan import Plan
from analyzer.nominal.fly import Air
from analyzer.physics import geodesy
from analyzer.track.model import Track

__all__ = ["START_S", "planned_track"]

START_S = 1_767_225_600.0  # a plan has no date: its seconds count from the first of January 2026, 00:00 UTC
_ARRIVAL_S = 60.0


def planned_track(plan: Plan) -> Track:
    """The path; where it begins with the approach itself, with a minute before that, on the way that leads to it."""
    charted, first = plan.charted, plan.stages[0]
    air = Air(first.air.true_airspeed_mps, *first.air.wind_north_east_mps)
    to_north, to_east = air.ground_velocity(float(plan.path.heading_rad[0]))
    before = np.empty(0) if first.part == "arrival" else np.arange(-_ARRIVAL_S, 0.0)
    after = np.arange(0.0, float(plan.path.time_s[-1]) + 1e-6)
    north = np.concatenate([plan.path.north_m[0] + before * to_north, np.interp(after, plan.path.time_s, plan.path.north_m)])
    east = np.concatenate([plan.path.east_m[0] + before * to_east, np.interp(after, plan.path.time_s, plan.path.east_m)])
    altitude = np.concatenate([np.full(len(before), plan.altitude_m[0]), np.interp(after, plan.path.time_s, plan.altitude_m)])
    latitude, longitude = geodesy.direct(
        charted.fix_latitude_rad, charted.fix_longitude_rad, np.arctan2(east, north), np.hypot(north, east)
    )[:2]
    time = START_S + np.concatenate([before, after])
    return Track("plan", "plan", time, latitude, longitude, altitude, {}, (), (), ())
