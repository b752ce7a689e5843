"""A flight as functions of time: the fitted curves, and the state of the aircraft that follows from them at any instant."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeAlias

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.height import Height
from analyzer.motion.jumps import Jump
from analyzer.motion.noise import Noise
from analyzer.motion.recorded import Believed
from analyzer.motion.spline import SmoothingSpline
from analyzer.motion.states import States, read_only
from analyzer.motion.wind import WindEstimate
from analyzer.physics import geodesy, gravity
from analyzer.physics.units import FT, FloatArray, wrap_positive
from analyzer.procedure.charted import Charted
from analyzer.track.track import Track

__all__ = ["Curves"]

_Derivatives: TypeAlias = tuple[FloatArray, FloatArray, FloatArray]


@dataclass(frozen=True, eq=False)
class Curves:
    """A flight as functions of time: what was fitted, and the state that follows from it at any instant.

    `path` is the curve of metres north and east of the first sample, along the path (see `geodesy.north_east`), `path_noise`
    the noise of its samples; `height` is the smoothed altitude, None where none was logged; `believed` are the recorded columns
    that are used. `jumps` are those of the position, and `repositions` those of them that begin another flight: the curves are
    not carried across these.
    """

    track: Track
    charted: Charted
    path: SmoothingSpline
    path_noise: Noise
    height: Height | None
    wind: WindEstimate | None
    sample_north_east_m: FloatArray
    believed: Believed
    jumps: tuple[Jump, ...]
    repositions: tuple[Jump, ...]

    def between(self, start_s: float, end_s: float) -> Curves:
        """The curves of the samples from one instant to another, both included: the same, with a part of the track."""
        time_s = self.track.time_s
        part = slice(time_s.searchsorted(start_s - 1e-6), time_s.searchsorted(end_s + 1e-6))
        return replace(
            self,
            track=self.track.between(start_s, end_s),
            sample_north_east_m=self.sample_north_east_m[part],
            believed=self.believed.of_samples(part),
            repositions=tuple(jump for jump in self.repositions if jump.start_s >= start_s and jump.end_s <= end_s),
        )

    @property
    def noise_told(self) -> tuple[str, ...]:
        """Measured quality of the samples, in one sentence each for position and altitude."""
        sentences = [self.path_noise.sentence("positions", "m", 1.0)]
        return (*sentences, self.height.noise.sentence("altitudes", "ft", FT)) if self.height is not None else tuple(sentences)

    def at(self, time_s: FloatArray) -> States:
        """The state at any instants within the log."""
        return self._states(time_s, self.path.with_derivatives(time_s), self.height.at(time_s) if self.height else None)

    def on_grid(self) -> States:
        """The state at every second of each stretch without a gap."""
        time_s, height = self.path.knots.grid(), None
        if self.height is not None:
            same = self.height.curve.knots is self.path.knots
            height = self.height.on_grid() if same else self.height.at(time_s)
        return self._states(time_s, self.path.on_grid(), height)

    def _states(self, time_s: FloatArray, path: _Derivatives, height: _Derivatives | None) -> States:
        """The state from the values and derivatives of the path and height curves at some instants."""
        position, velocity, acceleration = path
        latitude, longitude = self._place(time_s, position)
        wind_north, wind_east = self.wind.at(time_s) if self.wind is not None else (0.0, 0.0)
        air_north, air_east = velocity[:, 0] - wind_north, velocity[:, 1] - wind_east
        airspeed = np.hypot(air_north, air_east)
        # acceleration across the motion through the air, positive to the right: wind does not bend it
        across = (air_north * acceleration[:, 1] - air_east * acceleration[:, 0]) / np.maximum(airspeed, 1.0)
        forward = (velocity[:, 0] * air_north + velocity[:, 1] * air_east) / np.maximum(airspeed, 1.0)
        needed = across - gravity.unbanked_acceleration(latitude, velocity[:, 1], forward)
        charted = self.charted
        distance, bearing = geodesy.inverse_near(charted.fix_latitude_rad, charted.fix_longitude_rad, latitude, longitude)
        altitude, climb, lift = height if height is not None else np.full((3, len(time_s)), np.nan)
        at_height, lifted = (np.where(np.isnan(known), 0.0, known) for known in (altitude, lift))
        weighed = gravity.weighed_gravity(latitude, at_height, velocity[:, 0], velocity[:, 1])
        states = States(
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
            bank_rad=self._bank(time_s, np.arctan2(needed, weighed + lifted)),
            distance_m=distance,
            bearing_rad=bearing,
        )
        return read_only(states)

    def _place(self, time_s: FloatArray, position: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude of points of the path, stepped off from the nearest sample. [rad]"""
        track = self.track
        nearest = np.clip(np.searchsorted(track.time_s, time_s), 1, len(track) - 1)
        nearest -= time_s - track.time_s.take(nearest - 1) < track.time_s.take(nearest) - time_s
        north, east = (position - self.sample_north_east_m.take(nearest, axis=0)).T
        return geodesy.offset(track.latitude_rad.take(nearest), track.longitude_rad.take(nearest), north, east)

    def _bank(self, time_s: FloatArray, estimated: FloatArray) -> FloatArray:
        """Bank as recorded where it is believed, else as estimated."""
        recorded = self.believed.at("bank_rad", self.track, time_s)
        return estimated if recorded is None else np.where(np.isfinite(recorded), recorded, estimated)
