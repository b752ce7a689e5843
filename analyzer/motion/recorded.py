"""Recorded columns: believed where they agree with what the positions say, refused with a note where they do not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from analyzer.motion.airspeed import indicated_airspeed
from analyzer.motion.spline import SmoothingSpline
from analyzer.motion.wind import WindEstimate
from analyzer.physics.units import DEG, GRAVITY, KT, FloatArray, wrap
from analyzer.procedure.charted import Charted
from analyzer.track.model import Note, Track

__all__ = ["Believed", "believe"]

# Medians of the difference from the estimate above which a column is refused, and the slope a recorded bank must have on it.
_HEADING_RAD = 10.0 * DEG
_TRACK_AND_DRIFT_RAD = 25.0 * DEG  # where no wind is known, the track stands in for the heading,
_GROUND_FOR_AIR_SHARE = 0.4  # and ground speed for airspeed
_SPEED_SHARE, _SPEED_MPS = 0.1, 5.0 * KT
_BANK_RAD, _BANKED_RAD = 4.0 * DEG, 8.0 * DEG
_SLOPE = (0.75, 1.3)
_LEAST_SAMPLES = 30
_MISSING_S, _MISSING_STEPS = 5.0, 3.0  # longer without a value, and more steps of the log, it is not bridged


@dataclass(frozen=True, eq=False)
class Believed:
    """The recorded columns that are used, by their names in `Track.recorded`, and what is said of them."""

    columns: Mapping[str, FloatArray]
    notes: tuple[Note, ...]

    def at(self, name: str, track: Track, time_s: FloatArray) -> FloatArray | None:
        """A believed column at any instants, straight between samples; None where it is not used.

        NaN beyond the samples, and where the column is missing for longer than a moment.
        """
        values = self.columns.get(name)
        if values is None:
            return None
        known = np.isfinite(values)
        series = np.unwrap(values[known]) if name in ("heading_rad", "track_rad") else values[known]
        logged_s = track.time_s[known]
        after = np.clip(np.searchsorted(logged_s, time_s), 1, len(logged_s) - 1)
        begin, end = logged_s[after - 1], logged_s[after]
        missing = (end - begin > max(_MISSING_S, _MISSING_STEPS * track.interval_s)) & (time_s > begin) & (time_s < end)
        values = np.interp(time_s, logged_s, series, left=np.nan, right=np.nan)
        return np.where(missing, np.nan, values)


def believe(track: Track, charted: Charted, path: SmoothingSpline, wind: WindEstimate | None) -> Believed:
    """Which recorded columns agree with the positions, judged by the smoothed path and the wind that its turns tell."""
    if not track.recorded:
        return Believed({}, ())
    _, velocity, acceleration = path.with_derivatives(track.time_s)
    wind_north, wind_east = wind.at(track.time_s) if wind is not None else (0.0, 0.0)
    north, east = velocity[:, 0] - wind_north, velocity[:, 1] - wind_east
    airspeed = np.maximum(np.hypot(north, east), 1.0)
    heading_limit = _HEADING_RAD if wind is not None else _TRACK_AND_DRIFT_RAD
    air_share = _SPEED_SHARE if wind is not None else _GROUND_FOR_AIR_SHARE
    estimates: dict[str, FloatArray] = {
        "ground_speed_mps": np.hypot(velocity[:, 0], velocity[:, 1]),
        "track_rad": np.arctan2(velocity[:, 1], velocity[:, 0]),
        "heading_rad": np.arctan2(east, north),
        "bank_rad": np.arctan((north * acceleration[:, 1] - east * acceleration[:, 0]) / airspeed / GRAVITY),
        "true_airspeed_mps": airspeed,
        "indicated_airspeed_mps": indicated_airspeed(airspeed, track.altitude_m, track.air, charted),
    }
    columns, notes = {}, []
    for name, values in track.recorded.items():
        if name not in estimates:
            continue
        share = air_share if "airspeed" in name else _SPEED_SHARE
        fault = _fault(name, values, estimates[name], heading_limit, share)
        quantity = name.rpartition("_")[0].replace("_", " ")
        if fault is None:
            columns[name] = values
            notes.append(Note(f"recorded {quantity} agrees with the positions"))
        else:
            notes.append(Note(f"recorded {quantity} not used: {fault}"))
    return Believed(columns, tuple(notes))


def _fault(name: str, recorded: FloatArray, estimate: FloatArray, heading_limit_rad: float, share: float) -> str | None:
    """Why a recorded column is not believed, or None."""
    known = np.isfinite(recorded) & np.isfinite(estimate)
    if int(known.sum()) < _LEAST_SAMPLES:
        return f"it has fewer than {_LEAST_SAMPLES} values that can be compared"
    recorded, estimate = recorded[known], estimate[known]
    if name in ("heading_rad", "track_rad"):
        off = float(np.median(np.abs(wrap(recorded - estimate))))
        return (
            None if off < heading_limit_rad else f"it is off the direction of the positions by {off / DEG:.0f}° in the median"
        )
    if name == "bank_rad":
        return _bank_fault(recorded, estimate)
    off, typical = float(np.median(np.abs(recorded - estimate))), float(np.median(estimate))
    if off < max(_SPEED_MPS, share * typical):
        return None
    return f"it is off the speed of the positions by {off / KT:.0f} kt in the median"


def _bank_fault(recorded: FloatArray, estimate: FloatArray) -> str | None:
    off = float(np.median(np.abs(recorded - estimate)))
    if off > _BANK_RAD:
        return f"it is off the bank of the turns by {off / DEG:.0f}° in the median"
    banked = np.abs(estimate) > _BANKED_RAD
    if int(banked.sum()) < _LEAST_SAMPLES:
        return None
    slope = float(np.sum(recorded[banked] * estimate[banked]) / np.sum(estimate[banked] ** 2))
    return None if _SLOPE[0] < slope < _SLOPE[1] else f"it is {slope:.2f} times the bank of the turns"
