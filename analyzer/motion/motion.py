"""Motion: the smoothed flight, its state at every second, and what is known and missing of it."""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion import uncertainty
from analyzer.motion.curves import Curves
from analyzer.motion.knots import holes
from analyzer.motion.spline import SmoothingSpline
from analyzer.motion.states import States
from analyzer.motion.wind import TURNED_TOO_LITTLE, Wind, WindEstimate
from analyzer.motion.wind_limits import too_fast
from analyzer.physics.units import DEG, FPM, FT, KT, NM, BoolArray, FloatArray
from analyzer.procedure.charted import Charted
from analyzer.track.track import Gap, Note, Track

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["ON_GROUND_MPS", "Motion"]

ON_GROUND_MPS = 18.0  # slower than any aircraft flies an approach
_LEAST_FLIGHT_S = 30.0  # shorter, nothing of an approach shows; no source
_NEAR_S = 1.0  # the position this far into a hole is as good as a sample


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
    def begins_on_ground(self) -> bool:
        """Whether the log begins before or in a take-off."""
        return self.track.takes_off or float(self.states.ground_speed_mps[0]) <= ON_GROUND_MPS

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

    @cached_property
    def flights(self) -> tuple[Motion, ...]:
        """The flights that the log holds: itself, or what was flown between the places where the aircraft was set elsewhere."""
        if not self.curves.repositions:
            return (self,)
        jumps, time_s = self.curves.repositions, self.track.time_s
        begins = [float(time_s[0]), *(jump.end_s for jump in jumps)]
        ends = [*(jump.start_s for jump in jumps), float(time_s[-1])]
        spans = [(begin, end) for begin, end in zip(begins, ends, strict=True) if end - begin >= _LEAST_FLIGHT_S]
        return tuple(Motion(self.curves.between(*span), self.states.between(*span)) for span in spans) or (self,)

    def set_elsewhere(self, time_s: FloatArray) -> BoolArray:
        """Over which steps from one instant to the next, in order, the aircraft was set elsewhere; no line is drawn there."""
        across = np.zeros(max(len(time_s) - 1, 0), dtype=bool)
        for jump in self.curves.repositions:
            across |= (time_s[:-1] < jump.end_s) & (time_s[1:] > jump.start_s)
        return across

    @cached_property
    def drawn_states(self) -> States:
        """The states to draw: without the first after each place where the aircraft was set elsewhere, so that lines break."""
        across = self.set_elsewhere(self.states.time_s)
        return self.states.where(~np.append(False, across)) if across.any() else self.states

    def flight_at(self, time_s: float) -> Motion:
        """That of the flights which holds an instant, or ends before it."""
        return next((one for one in reversed(self.flights) if one.states.time_s[0] <= time_s), self.flights[0])

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

    @cached_property
    def position_sd_m(self) -> float:
        """Standard deviation of the positions in addition to the error of the curve through them. [m]

        Rounding is part of it: along a line of the grid it is the same error from sample to sample, which no smoothing sees.
        """
        received = uncertainty.FILLED_POSITION_SD_M if self.track.fixes_recovered else uncertainty.POSITION_SD_M
        return math.hypot(received, self.track.position_rounding_m / math.sqrt(12.0))

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
        if not self.position_holes:
            return ()
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
