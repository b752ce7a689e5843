"""The planned path as a log, one sample a second: what is drawn and compared like a flight."""

from __future__ import annotations

import math

import numpy as np

from analyzer.brief.plan import Plan
from analyzer.physics import geodesy
from analyzer.track.model import Track

__all__ = ["START_S", "planned_track"]

START_S = 1_767_225_600.0  # a plan has no date: its seconds count from the first of January 2026, 00:00 UTC
_ARRIVAL_S = 60.0


def planned_track(plan: Plan) -> Track:
    """The path with a minute before the fix: on the arrival course into a hold, else on the outbound course."""
    charted, first = plan.charted, plan.parts[0]
    course = charted.outbound_true_rad
    if plan.pattern.shape.startswith("hold"):
        course = plan.conditions.arrival_rad if plan.conditions.arrival_rad is not None else charted.inbound_true_rad
    speed = first.air.hold_course(course)[1]
    before = np.arange(-_ARRIVAL_S, 0.0)
    after = np.arange(0.0, float(plan.path.time_s[-1]) + 1e-6)
    north = np.concatenate([before * speed * math.cos(course), np.interp(after, plan.path.time_s, plan.path.north_m)])
    east = np.concatenate([before * speed * math.sin(course), np.interp(after, plan.path.time_s, plan.path.east_m)])
    altitude = np.concatenate([np.full(len(before), plan.altitude_m[0]), np.interp(after, plan.path.time_s, plan.altitude_m)])
    latitude, longitude = geodesy.direct(
        charted.fix_latitude_rad, charted.fix_longitude_rad, np.arctan2(east, north), np.hypot(north, east)
    )[:2]
    time = START_S + np.concatenate([before, after])
    return Track("plan", "plan", time, latitude, longitude, altitude, {}, (), (), ())
