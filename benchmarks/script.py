"""What a pilot who knows pandas and pyproj would write in an evening, to measure the program by: a tenth of what it does.

It reads a log, lays it out in a plane, smooths it with one strength, and has speed, bank, wind, phases and limits. There are
no errors, no shapes, no checks, no doubts, and no log but one like this one.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyproj
from scipy.linalg import solveh_banded

__all__ = ["Summary", "summarise"]

Floats = npt.NDArray[np.float64]

_G = 9.80665
_GEOD = pyproj.Geod(ellps="WGS84")
_STRENGTH_S6 = 5.0  # of the smoothing: about two seconds
_TURNING_RAD_S = np.radians(1.5)
# the phases and what they look like: ground speed [20 m/s], climb [2 m/s], height above the first [300 m]
_PHASES = np.array([[2.5, 0, 0], [2.8, 0.0, 3.5], [2.2, -0.6, 2.0], [2.0, 0.0, 1.0], [1.8, -0.6, 0.5], [1.5, 0.0, 0.0]])
_STAYS, _CHANGES = -0.002, -6.0


@dataclass(frozen=True)
class Summary:
    """What the script finds: the way flown and the farthest point [m], the wind [m/s], and how often limits are exceeded."""

    way_m: float
    farthest_m: float
    wind_mps: tuple[float, float]
    changes: int
    exceeded: dict[str, int]


def summarise(path: Path, latitude_deg: float, longitude_deg: float) -> Summary:
    """The flight in a log of this benchmark, seen from a fix."""
    log = pd.read_csv(path)
    # by the difference of instants, as the unit of pandas' times depends on its version
    time = ((pd.to_datetime(log["time_utc"]) - pd.Timestamp(0, tz="UTC")) / pd.Timedelta(seconds=1)).to_numpy()
    latitude, longitude = log["latitude_deg"].to_numpy(), log["longitude_deg"].to_numpy()
    height = log["altitude_ft"].to_numpy() * 0.3048
    step = float(np.median(np.diff(time)))
    plane = pyproj.Proj(f"+proj=aeqd +lat_0={latitude_deg} +lon_0={longitude_deg} +ellps=WGS84")
    east, north = plane(longitude, latitude)
    from_fix = (np.full(len(time), degrees) for degrees in (longitude_deg, latitude_deg))
    _, _, distance = _GEOD.inv(*from_fix, longitude, latitude)
    smooth = _smoothed(np.column_stack([north, east, height]), _STRENGTH_S6 / step**6)
    velocity = np.gradient(smooth, step, axis=0)
    acceleration = np.gradient(velocity, step, axis=0)
    ground_speed = np.hypot(velocity[:, 0], velocity[:, 1])
    across = (velocity[:, 0] * acceleration[:, 1] - velocity[:, 1] * acceleration[:, 0]) / np.maximum(ground_speed, 1.0)
    bank, rate = np.degrees(np.arctan(across / _G)), across / np.maximum(ground_speed, 1.0)
    seen = np.column_stack([ground_speed / 20.0, velocity[:, 2] / 2.0, (smooth[:, 2] - smooth[0, 2]) / 300.0])
    return Summary(
        way_m=float(ground_speed.sum() * step),
        farthest_m=float(distance.max()),
        wind_mps=_wind(velocity[np.abs(rate) > _TURNING_RAD_S, :2]),
        changes=int(np.count_nonzero(np.diff(_phases(-0.5 * ((seen[:, None] - _PHASES) ** 2).sum(axis=2))))),
        exceeded={
            "bank": int((np.abs(bank) > 30.0).sum()),
            "turn rate": int((np.abs(rate) > np.radians(4.0)).sum()),
            "descent": int((velocity[:, 2] < -7.0).sum()),
            "speed": int((ground_speed > 70.0).sum()),
        },
    )


def _smoothed(samples: Floats, strength: float) -> Floats:
    """The samples with the sum of squares of their third differences held down, as Whittaker has it."""
    n, difference = len(samples), np.array([-1.0, 3.0, -3.0, 1.0])
    band = np.zeros((4, n))
    for i in range(4):
        for j in range(i + 1):
            band[3 - (i - j), i : n - 3 + i] += strength * difference[i] * difference[j]
    band[3] += 1.0
    smooth: Floats = solveh_banded(band, samples, overwrite_ab=True, check_finite=False)
    return smooth


def _wind(velocity: Floats) -> tuple[float, float]:
    """The middle of the circle that the tip of the velocity goes round in turns."""
    if len(velocity) < 20:
        return 0.0, 0.0
    circle = np.column_stack([velocity, np.ones(len(velocity))])
    north, east, _ = np.linalg.lstsq(circle, (velocity**2).sum(axis=1), rcond=None)[0] / 2.0
    return float(north), float(east)


def _phases(fits: Floats) -> npt.NDArray[Any]:
    """The likeliest phase of each sample, of phases that follow each other and may be left out: the best last one, and back."""
    total = np.cumsum(fits + _STAYS, axis=0)
    best, began = [total[:, 0]], []
    for phase in range(1, fits.shape[1]):
        gain = np.concatenate([[-np.inf], best[-1][:-1] - total[:-1, phase]])
        greatest = np.maximum.accumulate(gain)
        began.append(np.maximum.accumulate(np.where(gain == greatest, np.arange(len(gain)), 0)))
        best.append(greatest + total[:, phase] + _CHANGES)
    phases, end = np.zeros(len(fits), dtype=int), len(fits)
    for phase in range(fits.shape[1] - 1, 0, -1):
        begin = int(began[phase - 1][end - 1])
        phases[begin:end] = phase
        end = max(begin, 1)
    return phases
