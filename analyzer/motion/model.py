"""Motion: the smoothed flight as a function of time, and its state at every second."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from analyzer.motion.spline import SmoothingSpline
from analyzer.motion.wind import Wind, WindEstimate
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FPM, FT, GRAVITY, KT, NM, FloatArray, wrap, wrap_positive
from analyzer.procedure.charted import Charted
from analyzer.track.model import Gap, Track

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Motion", "States"]


@dataclass(frozen=True, eq=False)
class States:
    """The state of the aircraft at given instants, one value an instant in each array. SI and radians.

    Track, heading and bearing are true; bank and turn rate are positive to the right. Heading, true airspeed, turn rate and
    bank are those of the motion through the air where the wind could be estimated, and through still air otherwise: the
    heading is that of a flight without sideslip, the bank that of a coordinated turn. `distance_m` and `bearing_rad` are from
    the fix. Altitude and vertical speed are NaN where none was logged.
    """

    time_s: FloatArray
    latitude_rad: FloatArray
    longitude_rad: FloatArray
    altitude_m: FloatArray
    vertical_speed_mps: FloatArray
    ground_speed_mps: FloatArray
    track_rad: FloatArray
    true_airspeed_mps: FloatArray
    heading_rad: FloatArray
    turn_rate_rad_s: FloatArray
    bank_rad: FloatArray
    distance_m: FloatArray
    bearing_rad: FloatArray

    def __post_init__(self) -> None:
        for field in fields(self):
            getattr(self, field.name).flags.writeable = False

    def __len__(self) -> int:
        return len(self.time_s)

    def between(self, start_s: float, end_s: float) -> States:
        """The states from one instant to another, both included."""
        part = slice(*np.searchsorted(self.time_s, [start_s - 1e-6, end_s + 1e-6]))
        return States(**{field.name: getattr(self, field.name)[part] for field in fields(self)})

    def deviation_rad(self, course_rad: float) -> FloatArray:
        """Angle at the fix from a course leading away from it (true) to the aircraft, positive clockwise."""
        return wrap(self.bearing_rad - course_rad)

    def cross_track_m(self, course_rad: float) -> FloatArray:
        """Distance from the course line that leads away from the fix, positive right of it seen from the fix."""
        return geodesy.cross_track(self.distance_m, self.deviation_rad(course_rad))

    def along_m(self, course_rad: float) -> FloatArray:
        """Distance out along a course from the fix to abeam the aircraft, negative behind the fix."""
        return self.distance_m * np.cos(self.deviation_rad(course_rad))


@dataclass(frozen=True, eq=False)
class Motion:
    """The smoothed flight. Made by `analyzer.motion.smooth.analyse_motion`.

    `path` is the curve of metres north and east of the first sample, along the path (see `geodesy.north_east`); `height` that
    of the altitude. `states` holds the state at every second of each stretch without a gap.
    """

    track: Track
    charted: Charted
    path: SmoothingSpline
    height: SmoothingSpline | None
    wind: WindEstimate | None
    sample_north_east_m: FloatArray
    states: States

    def position_at(self, time_s: float) -> tuple[float, float]:
        """Latitude and longitude at one instant, straight between states. [rad]"""
        states = self.states
        k = int(np.clip(np.searchsorted(states.time_s, time_s), 1, len(states) - 1))
        (t0, t1), (y0, y1), (x0, x1) = (
            (float(a[k - 1]), float(a[k])) for a in (states.time_s, states.latitude_rad, states.longitude_rad)
        )
        share = min(max((time_s - t0) / (t1 - t0), 0.0), 1.0)
        return y0 + share * (y1 - y0), float(wrap(x0 + share * float(wrap(x1 - x0))))

    def altitude_at(self, time_s: float) -> float:
        """Altitude at one instant, straight between states; NaN where none was logged. [m]"""
        return float(np.interp(time_s, self.states.time_s, self.states.altitude_m))

    def distance_at(self, time_s: float) -> float:
        """Distance from the fix at one instant, straight between states. [m]"""
        return float(np.interp(time_s, self.states.time_s, self.states.distance_m))

    def wind_between(self, start_s: float, end_s: float) -> Wind | None:
        """Mean wind over a stretch of time, or None where it cannot be told."""
        return None if self.wind is None else self.wind.between(start_s, end_s)

    def bank_sd_rad(self, states: States) -> FloatArray:
        """Standard deviation of the bank in some states of this flight, from the noise of the positions."""
        sd: FloatArray = self.path.sd(states.time_s, order=2) / GRAVITY * np.cos(states.bank_rad) ** 2
        return sd

    def gaps_between(self, start_s: float, end_s: float) -> tuple[Gap, ...]:
        """The gaps of the track that touch a stretch of time."""
        return tuple(gap for gap in self.track.gaps if gap.start_s < end_s and gap.end_s > start_s)

    def to_frame(self) -> pd.DataFrame:
        """One row a sample of the log, in the trade's units; the columns are part of the public interface."""
        import pandas as pd

        state = states_at(
            self.track.time_s, self.track, self.charted, self.path, self.height, self.wind, self.sample_north_east_m
        )
        return pd.DataFrame(
            {
                "time": self.track.to_frame()["time"],
                "latitude_deg": state.latitude_rad / DEG,
                "longitude_deg": state.longitude_rad / DEG,
                "altitude_ft": state.altitude_m / FT,
                "distance_nm": state.distance_m / NM,
                "ground_speed_kt": state.ground_speed_mps / KT,
                "track_deg_true": state.track_rad / DEG,
                "vertical_speed_fpm": state.vertical_speed_mps / FPM,
                "turn_rate_deg_s": state.turn_rate_rad_s / DEG,
                "bank_deg": state.bank_rad / DEG,
                "bank_sd_deg": self.bank_sd_rad(state) / DEG,
                "true_airspeed_kt": state.true_airspeed_mps / KT if self.wind else np.full(len(state), np.nan),
            }
        )


def states_at(
    time_s: FloatArray,
    track: Track,
    charted: Charted,
    path: SmoothingSpline,
    height: SmoothingSpline | None,
    wind: WindEstimate | None,
    sample_north_east_m: FloatArray,
) -> States:
    """The state at any instants, from the fitted curves."""
    position, velocity, acceleration = (path.at(time_s, order) for order in (0, 1, 2))
    nearest = np.clip(np.searchsorted(track.time_s, time_s), 1, len(track) - 1)
    nearest -= time_s - track.time_s[nearest - 1] < track.time_s[nearest] - time_s
    offset = position - sample_north_east_m[nearest]
    latitude, longitude = geodesy.offset(track.latitude_rad[nearest], track.longitude_rad[nearest], offset[:, 0], offset[:, 1])
    wind_north, wind_east = wind.at(time_s) if wind is not None else (0.0, 0.0)
    air_north, air_east = velocity[:, 0] - wind_north, velocity[:, 1] - wind_east
    airspeed = np.hypot(air_north, air_east)
    # acceleration across the motion through the air, positive to the right: wind does not bend it
    across = (air_north * acceleration[:, 1] - air_east * acceleration[:, 0]) / np.maximum(airspeed, 1.0)
    distance, bearing = geodesy.inverse(charted.fix_latitude_rad, charted.fix_longitude_rad, latitude, longitude)
    if height is None:
        altitude = climb = np.full(len(time_s), np.nan)
    else:
        altitude, climb = height.at(time_s)[:, 0], height.at(time_s, 1)[:, 0]
    return States(
        time_s=np.array(time_s, dtype=float),
        latitude_rad=latitude,
        longitude_rad=longitude,
        altitude_m=altitude,
        vertical_speed_mps=climb,
        ground_speed_mps=np.hypot(velocity[:, 0], velocity[:, 1]),
        track_rad=wrap_positive(np.arctan2(velocity[:, 1], velocity[:, 0])),
        true_airspeed_mps=airspeed,
        heading_rad=wrap_positive(np.arctan2(air_east, air_north)),
        turn_rate_rad_s=across / np.maximum(airspeed, 1.0),
        bank_rad=np.arctan(across / GRAVITY),
        distance_m=distance,
        bearing_rad=bearing,
    )
