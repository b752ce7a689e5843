"""Motion: the smoothed flight as a function of time, and its state at every second."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import fields
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion import uncertainty
from analyzer.motion.height import Height
from analyzer.motion.knots import holes
from analyzer.motion.noise import Noise
from analyzer.motion.recorded import Believed
from analyzer.motion.spline import SmoothingSpline
from analyzer.motion.wind import TURNED_TOO_LITTLE, Wind, WindEstimate
from analyzer.motion.wind_limits import too_fast
from analyzer.physics import geodesy, gravity
from analyzer.physics.units import DEG, FPM, FT, KT, NM, BoolArray, FloatArray, wrap, wrap_positive
from analyzer.procedure.charted import Charted
from analyzer.track.track import Gap, Note, Track

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Curves", "Motion", "States", "seen_from"]

_NEAR_S = 1.0  # the position this far into a hole is as good as a sample


@dataclass(frozen=True, eq=False)
class States:
    """The state of the aircraft at given instants, one value per instant in each array. SI and radians.

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

    def __len__(self) -> int:
        return len(self.time_s)

    def between(self, start_s: float, end_s: float) -> States:
        """The states from one instant to another, both included."""
        part = slice(self.time_s.searchsorted(start_s - 1e-6), self.time_s.searchsorted(end_s + 1e-6))
        return States(*[getattr(self, name)[part] for name in _QUANTITIES])

    def where(self, chosen: BoolArray) -> States:
        """The states that are chosen."""
        return _frozen(States(*[getattr(self, name)[chosen] for name in _QUANTITIES]))

    def within(self, spans: Sequence[tuple[float, float]]) -> States:
        """The states within one or more stretches of time, one after the other."""
        stretches = [self.between(*span) for span in spans]
        if len(stretches) == 1:
            return stretches[0]
        return _frozen(States(*[np.concatenate([getattr(s, name) for s in stretches]) for name in _QUANTITIES]))

    def deviation_rad(self, course_rad: float) -> FloatArray:
        """Angle at the fix from a course leading away from it (true) to the aircraft, positive clockwise."""
        return wrap(self.bearing_rad - course_rad)

    def cross_track_m(self, course_rad: float) -> FloatArray:
        """Distance from the course line that leads away from the fix, positive right of it seen from the fix."""
        return geodesy.cross_track(self.distance_m, self.deviation_rad(course_rad))

    def along_m(self, course_rad: float) -> FloatArray:
        """Distance out along a course from the fix to abeam the aircraft, negative behind the fix."""
        return self.distance_m * np.cos(self.deviation_rad(course_rad))


def seen_from(charted: Charted, latitude_rad: float, longitude_rad: float, states: States) -> tuple[FloatArray, FloatArray]:
    """Distance [m] and true bearing [rad] of states from a point; where that is the fix, the states' own values."""
    if (latitude_rad, longitude_rad) == (charted.fix_latitude_rad, charted.fix_longitude_rad):
        return states.distance_m, states.bearing_rad
    return geodesy.inverse_near(latitude_rad, longitude_rad, states.latitude_rad, states.longitude_rad)


_Derivatives: TypeAlias = tuple[FloatArray, FloatArray, FloatArray]
_QUANTITIES = tuple(field.name for field in fields(States))


def _frozen(states: States) -> States:
    """The states with read-only arrays, slices of them included."""
    for name in _QUANTITIES:
        getattr(states, name).flags.writeable = False
    return states


@dataclass(frozen=True, eq=False)
class Curves:
    """A flight as functions of time: what was fitted, and the state that follows from it at any instant.

    `path` is the curve of metres north and east of the first sample, along the path (see `geodesy.north_east`), `path_noise`
    the noise of its samples; `height` is the smoothed altitude, None where none was logged; `believed` are the recorded columns
    that are used.
    """

    track: Track
    charted: Charted
    path: SmoothingSpline
    path_noise: Noise
    height: Height | None
    wind: WindEstimate | None
    sample_north_east_m: FloatArray
    believed: Believed

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
        return _frozen(states)

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


@dataclass(frozen=True, eq=False)
class Motion:
    """The smoothed flight: its `curves`, and `states`, the state at every second of each stretch without a gap.

    Made by `analyzer.motion.smooth.analyse_motion`.
    """

    curves: Curves
    states: States

    @property
    def track(self) -> Track:
        """The log that the motion was computed from."""
        return self.curves.track

    @property
    def charted(self) -> Charted:
        """The procedure that the flight is judged against."""
        return self.curves.charted

    @property
    def path(self) -> SmoothingSpline:
        """The curve of the position."""
        return self.curves.path

    @property
    def has_altitude(self) -> bool:
        """Whether any altitude was logged."""
        return self.curves.height is not None

    @cached_property
    def altitude_holes(self) -> tuple[tuple[float, float], ...]:
        """Stretches without altitude, as (start, end), too long for the smoothing to bridge. [s]"""
        return holes(self.track.time_s[np.isfinite(self.track.altitude_m)], self.track.interval_s)

    @cached_property
    def position_holes(self) -> tuple[tuple[float, float], ...]:
        """The same for positions: the track's gaps, and shorter holes that the curve bridges."""
        return holes(self.track.time_s, self.track.interval_s)

    @property
    def wind(self) -> WindEstimate | None:
        """The wind over the flight, None where it cannot be estimated."""
        return self.curves.wind

    @property
    def notes(self) -> tuple[Note, ...]:
        """Notes on the log: how it was read, and which recorded columns are believed."""
        return self.track.notes + self.curves.believed.notes + tuple(Note(text) for text in self.curves.noise_told)

    def recorded(self, name: str, states: States) -> FloatArray | None:
        """A believed recorded column at some states, by its name in `Track.recorded`; None where it is not used."""
        return self.curves.believed.at(name, self.track, states.time_s)

    def bank_recorded(self, states: States) -> BoolArray:
        """At which states the bank is a recorded one."""
        recorded = self.recorded("bank_rad", states)
        return np.zeros(len(states), dtype=bool) if recorded is None else np.isfinite(recorded)

    @property
    def altitude_sd_m(self) -> float:
        """Standard deviation of an altitude against a charted one: the log's wander and its constant offset."""
        return math.hypot(uncertainty.ALTITUDE_SD_M, self.track.altitude_offset_sd_m)

    def lowest_sd_m(self, margin_m: float) -> float:
        """The same for the lowest altitude of a stretch, given its margin to a charted one.

        Over some minutes the extreme of the noise makes the lowest altitude too low, never too high. So above the charted
        altitude only the noise itself counts; below it, the extreme of the noise and the altimeter's reading error.
        """
        if margin_m >= 0.0:
            return self.level_sd_m
        of_noise = np.fmax(uncertainty.ALTITUDE_SD_M, uncertainty.EXTREME * self.height_noise_sd_m)
        return math.hypot(of_noise, self.track.altitude_offset_sd_m)

    @cached_property
    def height_noise_sd_m(self) -> float:
        """Standard deviation of an altitude against others of the same log, as measured on it; NaN where none was logged."""
        return uncertainty.height_noise_sd(self)

    @property
    def level_sd_m(self) -> float:
        """Standard deviation of an altitude against a charted one: the measured noise and the log's constant offset."""
        return math.hypot(self.height_noise_sd_m, self.track.altitude_offset_sd_m)

    def bank_known(self, states: States) -> bool:
        """Whether bank and rate of turn are known for these states: where turns are hidden, only if bank was recorded."""
        return len(states) > 0 and bool(not self.track.turns_hidden or self.bank_recorded(states).all())

    def position_at(self, time_s: float) -> tuple[float, float]:
        """Latitude and longitude at one instant, straight between states. [rad]"""
        states = self.states
        k = min(max(int(states.time_s.searchsorted(time_s)), 1), len(states) - 1)
        (t0, t1), (y0, y1), (x0, x1) = (
            (float(a[k - 1]), float(a[k])) for a in (states.time_s, states.latitude_rad, states.longitude_rad)
        )
        share = min(max((time_s - t0) / (t1 - t0), 0.0), 1.0)
        east = math.remainder(x1 - x0, math.tau)
        return y0 + share * (y1 - y0), (x0 + share * east + math.pi) % math.tau - math.pi

    def altitude_at(self, time_s: float) -> float:
        """Altitude at one instant, straight between states; NaN where none was logged. [m]"""
        return float(np.interp(time_s, self.states.time_s, self.states.altitude_m))

    def distance_at(self, time_s: float) -> float:
        """Distance from the fix at one instant, straight between states. [m]"""
        return float(np.interp(time_s, self.states.time_s, self.states.distance_m))

    def wind_between(self, start_s: float, end_s: float) -> Wind | None:
        """Mean wind over a stretch of time, or None where it cannot be estimated."""
        wind = None if self.wind is None else self.wind.between(start_s, end_s)
        return None if wind is None or self._too_fast(start_s, end_s) else wind

    def why_no_wind(self, start_s: float, end_s: float) -> str:
        """Why the wind over a stretch of time cannot be estimated; empty where it can."""
        if self.wind is None:
            return TURNED_TOO_LITTLE
        return self.wind.why_not(start_s, end_s) or self._too_fast(start_s, end_s)

    def _too_fast(self, start_s: float, end_s: float) -> str:
        """Why the wind is implausible, judged by the airspeeds that follow from it; empty where it is plausible."""
        if self.wind is None or self.wind.from_recorded:
            return ""
        states = self.states.between(start_s, end_s)
        return too_fast(states.ground_speed_mps, states.true_airspeed_mps, self.charted.procedure.category)

    @property
    def position_sd_m(self) -> float:
        """Standard deviation of the positions in addition to the error of the curve through them. [m]"""
        return uncertainty.FILLED_POSITION_SD_M if self.track.fixes_recovered else uncertainty.POSITION_SD_M

    @cached_property
    def rolling_sd_rad(self) -> FloatArray:
        """Error of the bank due to smoothing while it changes, at each of the states."""
        return uncertainty.rolling_sd(self.states, uncertainty.smoothed_over(self.path, self.track.time_s, self.states.time_s))

    def bank_sd_rad(self, states: States) -> FloatArray:
        """Standard deviation of the bank in some states of this flight."""
        return uncertainty.bank_sd(self, states, self.path.sd(states.time_s, order=2))

    def errors(self, states: States) -> uncertainty.StateErrors:
        """Standard deviations of all quantities in some states of this flight."""
        return uncertainty.state_errors(self, states)

    def gaps_between(self, start_s: float, end_s: float) -> tuple[Gap, ...]:
        """The gaps of the track that touch a stretch of time."""
        return tuple(gap for gap in self.track.gaps if gap.start_s < end_s and gap.end_s > start_s)

    def holes_between(self, start_s: float, end_s: float, longer_than_s: float = 0.0) -> tuple[tuple[float, float], ...]:
        """Holes without a position in a stretch of time, as (start, end), gaps included. [s]"""
        return tuple(
            (begin, end)
            for begin, end in self.position_holes
            if begin < end_s and end > start_s and end - begin > longer_than_s
        )

    def seen(self, states: States, longer_than_s: float = 0.0) -> States:
        """The states covered by the log, without those that bridge a longer hole; all of them where none is covered."""
        shown = np.ones(len(states), dtype=bool)
        for begin, end in self.position_holes:
            if end - begin <= longer_than_s:
                continue
            shown &= (states.time_s <= begin + _NEAR_S) | (states.time_s >= end - _NEAR_S)
        return states if shown.all() or not shown.any() else states.where(shown)

    def logged_altitude_m(self, states: States) -> FloatArray:
        """The altitudes of the states, NaN in bridged holes of the altitudes; unchanged where that would leave none."""
        bridged = np.zeros(len(states), dtype=bool)
        for begin, end in self.altitude_holes:
            bridged |= (states.time_s > begin + _NEAR_S) & (states.time_s < end - _NEAR_S)
        return states.altitude_m if bridged.all() else np.where(bridged, np.nan, states.altitude_m)

    def to_frame(self) -> pd.DataFrame:
        """One row per sample of the log, in the trade's units; the columns are part of the public interface.

        NaN where a quantity is not known: airspeed without a wind, altitude without one logged, bank where turns are hidden,
        and all but the place in a few samples between two gaps.
        """
        import pandas as pd

        state = self.curves.at(self.track.time_s)
        sd = self.errors(state)
        fitted = self.path.knots.cover(self.track.time_s)
        banked = fitted & (self.bank_recorded(state) if self.track.turns_hidden else True)
        blown = fitted & (self.wind is not None)
        return pd.DataFrame(
            {
                "time": self.track.to_frame()["time"],
                "latitude_deg": state.latitude_rad / DEG,
                "longitude_deg": state.longitude_rad / DEG,
                "altitude_ft": state.altitude_m / FT,
                "altitude_sd_ft": sd.altitude_m / FT,
                "distance_nm": state.distance_m / NM,
                "distance_sd_nm": np.where(fitted, sd.distance_m / NM, np.nan),
                "ground_speed_kt": np.where(fitted, state.ground_speed_mps / KT, np.nan),
                "ground_speed_sd_kt": np.where(fitted, sd.ground_speed_mps / KT, np.nan),
                "track_deg_true": np.where(fitted, state.track_rad / DEG, np.nan),
                "track_sd_deg": np.where(fitted, sd.track_rad / DEG, np.nan),
                "vertical_speed_fpm": state.vertical_speed_mps / FPM,
                "vertical_speed_sd_fpm": sd.vertical_speed_mps / FPM,
                "turn_rate_deg_s": np.where(banked, state.turn_rate_rad_s / DEG, np.nan),
                "turn_rate_sd_deg_s": np.where(banked, sd.turn_rate_rad_s / DEG, np.nan),
                "bank_deg": np.where(banked, state.bank_rad / DEG, np.nan),
                "bank_sd_deg": np.where(banked, sd.bank_rad / DEG, np.nan),
                "true_airspeed_kt": np.where(blown, state.true_airspeed_mps / KT, np.nan),
                "true_airspeed_sd_kt": np.where(blown, sd.true_airspeed_mps / KT, np.nan),
            }
        )
