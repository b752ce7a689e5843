"""Straight-in flights to a runway: along the meridian, so that the track is the same all the way.

South at 120 kt from 10 NM before the fix, past it after 300 s, to a runway at 500 ft.
"""

import math
from dataclasses import replace
from typing import Any

import numpy as np
from checked import NOISY
from synthetic import FT, NM, START_S, Chart, Flown, Place, Straight, fly

from analyzer import debrief
from analyzer.debriefs.data import Approach

NORTH_OUT = Place(outbound_true_deg=0.0)
WAY_IN = fly([Straight("inbound", 470.0)], (0.0, 10.0), 180.0)
SECONDS = np.arange(0.0, 471.0)
THRESHOLD_NM, ELEVATION_FT, CROSSING_FT = 5.0, 500.0, 50.0
EARTH_M = 6_371_008.8  # mean radius of WGS 84
BEFORE_NM = 15.0 - SECONDS / 30.0  # before the threshold at 120 kt
AIM_NM = CROSSING_FT * FT / NM / math.tan(math.radians(3.0))  # beyond the threshold: where the path meets the runway


def runway(south_nm: float = THRESHOLD_NM, east_nm: float = 0.0, heading_deg: float = 180.0) -> dict[str, Any]:
    """A runway, its threshold so far south and east of the fix."""
    latitude, longitude = NORTH_OUT.lay(np.array([east_nm]), np.array([-south_nm]))
    where = {"threshold_latitude_deg": float(latitude[0]), "threshold_longitude_deg": float(longitude[0])}
    return {"name": "18", "threshold_elevation_ft": ELEVATION_FT, "true_heading_deg": heading_deg, **where}


def flown_at(
    heights_ft: np.ndarray | None,
    missing: tuple[float, float] | None = None,
    log: Any = NOISY,
    way: Flown = WAY_IN,
    **tables: Any,
) -> Approach:
    """The approach with a height at every second, altitude missing between two of them."""
    heights = None if heights_ft is None else list(zip(SECONDS, heights_ft, strict=True))
    track = replace(log, altitude_ft=heights).of(way, NORTH_OUT)
    if missing is not None:
        second = track.time_s - START_S
        gone = (second > missing[0]) & (second < missing[1])
        track = replace(track, altitude_m=np.where(gone, np.nan, track.altitude_m))
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"}, tables=tables or {"runway": runway()})
    (approach,) = debrief(track, chart.at(NORTH_OUT)).approaches
    return approach


def down_at(fpm: float, from_ft: float = 2500.0, from_s: float = 310.0) -> np.ndarray:
    """Level, then down to the runway at a steady rate."""
    return np.maximum(from_ft - np.maximum(SECONDS - from_s, 0.0) / 60.0 * fpm, ELEVATION_FT + 5.0)
