"""Recorded columns: used where they agree with the positions, rejected with a note where they do not.

A bank that cannot be compared, because the log hardly turns or its samples are too far apart, is not used: the positions give
one with a known error. Where no turn reveals the wind, heading and airspeed are the only source of it: they are used where they
are plausible given track and ground speed, with a note that they could not be checked.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.agreement import Agreement, Derived, of_directions, of_rates, of_speeds, summed, turning
from analyzer.motion.airspeed import indicated_airspeed
from analyzer.motion.height import Height
from analyzer.motion.spline import SmoothingSpline
from analyzer.motion.stale import held_for_s, runs
from analyzer.motion.wind import WindEstimate
from analyzer.physics.quantiles import median, quantile
from analyzer.physics.units import DEG, FPM, FT, GRAVITY, KT, BoolArray, FloatArray, unwrapped, wrap
from analyzer.procedure.charted import Charted
from analyzer.track.track import Note, Track

__all__ = ["Believed", "believe", "believe_against"]

_SLOPE, _SLOPE_SD = 0.08, 0.04  # a slope off 1 by more is rejected; one known less well than this cannot be checked
_TAXI_MPS = 18.0  # no slower than any of these aircraft flies: on the ground one turns without a bank
_LEAST_SAMPLES = 30
# A fifth of the rate of a turn and of a descent as they are usual: how well their sum is known where samples are apart.
_EDGE_TURN, _EDGE_CLIMB = 0.6 * DEG, 150.0 * FPM
_LAG_S, _LAG_STEPS, _LAG_STEPS_OF_SPEEDS = 1.8, 0.3, 0.5  # speeds change less, so their lag is known less well
_HELD_S, _HELD_STEPS = 2.9, 1.5
_STILL_SHARE = 0.2  # of the log; a column that stands still for more of it is rejected altogether
# What a column may be off by throughout. A bank is known from the turns to a tenth of a degree; a compass is not much better.
_OFFSET: Mapping[str, float] = {"bank_rad": 1.5 * DEG, "heading_rad": 5.0 * DEG, "track_rad": 4.0 * DEG}
# Standing still for so long counts where the positions turn or speed up by more than this meanwhile.
_STILL_S, _STILL_STEPS = 10.0, 2.0
_STILL_CLIMB_M = 200.0 * FT
_STILL_TURN_RAD, _STILL_MPS, _STILL_SPEED_SHARE = 20.0 * DEG, 8.0 * KT, 0.08
_SCATTER: Mapping[str, float] = {"bank_rad": 4.0 * DEG, "heading_rad": 8.0 * DEG, "track_rad": 8.0 * DEG}
# What is possible where no wind is known: the track stands in for the heading, and ground speed for airspeed.
_DRIFT_RAD, _WIND_SHARE = 25.0 * DEG, 0.4
_MISSING_S, _MISSING_STEPS = 5.0, 3.0  # longer without a value, and more steps of the log, it is not bridged
_TOO_LITTLE = (
    "the log turns too little or its samples are too far apart",
    "the altitude changes too little or its samples are too far apart",
)
_DIRECTIONS = ("heading_rad", "track_rad")
_RATES = ("bank_rad", "vertical_speed_mps")
_THROUGH_AIR = ("heading_rad", "true_airspeed_mps", "indicated_airspeed_mps")
# What trackers write under the name of a quantity through the air, and how near to it a column is then throughout.
_OVER_GROUND: Mapping[str, str] = {
    "heading_rad": "track_rad",
    "true_airspeed_mps": "ground_speed_mps",
    "indicated_airspeed_mps": "ground_speed_mps",
}
_SAME_RAD, _SAME_MPS, _SAME_QUANTILE = 1.2 * DEG, 1.6 * KT, 0.8
_FARTHER = 2.0  # times as far from the quantity through the air
_AGAINST: Mapping[str, str] = {
    "ground_speed_mps": "the speed of the positions",
    "track_rad": "the track of the positions",
    "heading_rad": "the heading that follows from positions and wind",
    "bank_rad": "the bank of the turns",
    "true_airspeed_mps": "the airspeed that follows from positions and wind",
    "indicated_airspeed_mps": "the airspeed that follows from positions and wind",
    "vertical_speed_mps": "the rate at which the altitude changes",
}


@dataclass(frozen=True, eq=False)
class Believed:
    """The recorded columns that are used, by their names in `Track.recorded`, and a note on each.

    `unchecked` names those that are used though the log does not suffice to check them. `turns_wind` is the wind that they
    were checked with, estimated from the turns alone.
    """

    columns: Mapping[str, FloatArray]
    notes: tuple[Note, ...]
    unchecked: frozenset[str] = frozenset()
    turns_wind: WindEstimate | None = None

    def at(self, name: str, track: Track, time_s: FloatArray) -> FloatArray | None:
        """A believed column at any instants, straight between samples; None where it is not used.

        NaN beyond the samples, and where the column is missing for longer than a moment.
        """
        values = self.columns.get(name)
        return None if values is None else _between(name, values, track, time_s)

    def of_samples(self, part: slice) -> Believed:
        """The columns of a part of the samples."""
        return replace(self, columns={name: values[part] for name, values in self.columns.items()})


def _between(name: str, values: FloatArray, track: Track, time_s: FloatArray) -> FloatArray:
    """A column at any instants, straight between its values; NaN where there are none for longer than a moment."""
    known = np.isfinite(values)
    if known.sum() < 2:
        return np.full(len(time_s), np.nan)
    series = unwrapped(values[known]) if name in _DIRECTIONS else values[known]
    logged_s = track.time_s[known]
    after = np.clip(np.searchsorted(logged_s, time_s), 1, len(logged_s) - 1)
    begin, end = logged_s[after - 1], logged_s[after]
    missing = (end - begin > max(_MISSING_S, _MISSING_STEPS * track.interval_s)) & (time_s > begin) & (time_s < end)
    return np.where(missing, np.nan, np.interp(time_s, logged_s, series, left=np.nan, right=np.nan))


@dataclass(frozen=True, eq=False)
class _Seen:
    """The quantities derived from the positions, at every second: the reference for recorded columns."""

    track: Track
    derived: Mapping[str, Derived]
    airspeed: Derived  # true, along the heading; ground speed along the track where no wind is known
    airspeed_share_sd: float  # infinite where no wind is known


def believe(
    track: Track, charted: Charted, path: SmoothingSpline, height: Height | None, wind: WindEstimate | None
) -> Believed:
    """Which recorded columns agree with the positions, judged by the smoothed curves and the wind estimated from turns."""
    if not track.recorded:
        return Believed({}, (), turns_wind=wind)
    seen = _seen(track, charted, path, height, wind)
    columns, notes, unchecked = {}, [], set()
    for name, values in track.recorded.items():
        if name not in seen.derived:
            continue
        used, checked, judgement = _judged(name, values, seen)
        if used is not None:
            columns[name] = used
            if not checked:
                unchecked.add(name)
        notes.append(Note(f"recorded {_words(name)} {judgement}"))
    return Believed(columns, tuple(notes), frozenset(unchecked), wind)


def believe_against(
    believed: Believed, track: Track, charted: Charted, path: SmoothingSpline, height: Height | None
) -> Believed:
    """What is believed with another procedure: the temperature given is that at its airfield, and enters indicated airspeed."""
    if track.air.field_temperature_k is None or "indicated_airspeed_mps" not in track.recorded:
        return believed
    return believe(track, charted, path, height, believed.turns_wind)


def _words(name: str) -> str:
    return name.rpartition("_")[0].replace("_", " ")


def _seen(track: Track, charted: Charted, path: SmoothingSpline, height: Height | None, wind: WindEstimate | None) -> _Seen:
    time_s, (_, velocity, _) = path.knots.grid(), path.on_grid()
    wind_north, wind_east = wind.at(time_s) if wind is not None else (0.0, 0.0)
    north, east = velocity[:, 0] - wind_north, velocity[:, 1] - wind_east
    airspeed = np.where(np.hypot(velocity[:, 0], velocity[:, 1]) > _TAXI_MPS, np.hypot(north, east), np.nan)
    flying = np.where(np.isnan(airspeed), np.nan, 0.0)
    heading = unwrapped(np.arctan2(east, north)) + flying
    altitude = height.at(time_s)[0] if height is not None else np.full(len(time_s), np.nan)
    values = {
        "ground_speed_mps": np.hypot(velocity[:, 0], velocity[:, 1]) + flying,
        "track_rad": unwrapped(np.arctan2(velocity[:, 1], velocity[:, 0])) + flying,
        "heading_rad": heading,
        "bank_rad": heading,
        "true_airspeed_mps": airspeed,
        "indicated_airspeed_mps": indicated_airspeed(airspeed, altitude, track.air, charted),
        "vertical_speed_mps": altitude,
    }
    share = math.inf
    if wind is not None and np.isfinite(airspeed).any():
        share = median(wind.airspeed_sds(time_s)) / float(np.nanmedian(airspeed))
    return _Seen(track, {name: Derived(time_s, value) for name, value in values.items()}, Derived(time_s, airspeed), share)


def _judged(name: str, values: FloatArray, seen: _Seen) -> tuple[FloatArray | None, bool, str]:
    """The usable part of a column, None where there is none, whether it was checked, and the words of its note."""
    track, derived = seen.track, seen.derived[name]
    known = np.isfinite(values) & np.isfinite(derived.at(track.time_s))
    if int(known.sum()) < _LEAST_SAMPLES:
        return None, False, f"not used: it has fewer than {_LEAST_SAMPLES} values that can be compared"
    series = unwrapped(values[known]) if name in _DIRECTIONS else values[known]
    held_s = held_for_s(track.time_s[known], series)
    if held_s is not None and held_s > max(_HELD_S, _HELD_STEPS * track.interval_s):
        return None, False, f"not used: each of its values stands for {held_s:.0f} s"
    moving, still_s = _without_stills(name, values, known, seen)
    too_few = int((known & np.isfinite(moving)).sum()) < _LEAST_SAMPLES
    if too_few or still_s > _STILL_SHARE * (track.time_s[-1] - track.time_s[0]):
        return None, False, f"not used: it stands still for {still_s:.0f} s in which the positions do not"
    if _is_over_ground(name, moving, seen):
        return None, False, f"not used: it is {_AGAINST[_OVER_GROUND[name]]}, though they show a wind"
    agreement = _compared(name, moving, seen)
    used = f"but for {still_s:.0f} s in which it stands still and they do not" if still_s else ""
    if name in _THROUGH_AIR and seen.airspeed_share_sd > _SLOPE_SD:
        impossible = _impossible(name, agreement) or _far_off(name, agreement, seen.airspeed_share_sd)
        if impossible is not None:
            return None, False, f"not used: {impossible}"
        return (
            moving,
            False,
            f"used, but could not be checked: the turns do not determine the wind well enough{used and ', ' + used}",
        )
    fault = _fault(name, agreement, track)
    if fault is not None:
        return None, False, f"not used: {fault}"
    if not (agreement.slope_sd <= _SLOPE_SD and abs(agreement.slope - 1.0) + agreement.slope_sd <= _SLOPE):
        return None, False, f"not used: it cannot be checked well enough, for {_TOO_LITTLE[name == 'vertical_speed_mps']}"
    return moving, True, f"agrees with the positions{used and ', ' + used}"


def _is_over_ground(name: str, values: FloatArray, seen: _Seen) -> bool:
    """Whether a column is the track or the ground speed under another name: it follows that far more closely than its own."""
    if name not in _OVER_GROUND or not math.isfinite(seen.airspeed_share_sd):
        return False
    of_direction = name in _DIRECTIONS
    same = _SAME_RAD if of_direction else _SAME_MPS
    over_ground = seen.derived[_OVER_GROUND[name]]
    ground, air = (_off(values, one, seen.track, of_direction) for one in (over_ground, seen.derived[name]))
    # an indicated airspeed differs from the true one, and so from the ground speed in still air
    through_air = seen.derived["heading_rad"] if of_direction else seen.airspeed
    wind = _off(through_air.at(seen.track.time_s), over_ground, seen.track, of_direction)
    return ground < same and min(air, wind) > max(same, _FARTHER * ground)


def _off(values: FloatArray, derived: Derived, track: Track, of_direction: bool) -> float:
    """How far a column is from a quantity derived from the positions: by no more than this for most of the time."""
    off = values - derived.at(track.time_s)
    off = np.abs(wrap(off) if of_direction else off)
    off = off[np.isfinite(off)]
    return quantile(off, _SAME_QUANTILE) if len(off) else math.inf


def _without_stills(name: str, values: FloatArray, known: BoolArray, seen: _Seen) -> tuple[FloatArray, float]:
    """A column without the stretches in which it stands still and the positions do not, and how long those are. [s]"""
    time_s, where = seen.track.time_s, np.flatnonzero(known)
    begins, ends = (where[edges] for edges in runs(values[known]))
    long = time_s[ends] - time_s[begins] >= max(_STILL_S, _STILL_STEPS * seen.track.interval_s)
    moving, still_s = values.copy(), 0.0
    for begin, end in zip(begins[long].tolist(), ends[long].tolist(), strict=True):
        if _moved_on(name, values, begin, end, seen):
            moving[begin : end + 1] = np.nan
            still_s += float(time_s[end] - time_s[begin])
    return moving, still_s


def _moved_on(name: str, values: FloatArray, begin: int, end: int, seen: _Seen) -> bool:
    """Whether the quantity derived from the positions changes while a column stands still."""
    time_s, derived = seen.track.time_s, seen.derived[name]
    if name in _RATES:
        edges = np.minimum(np.searchsorted(derived.time_s, time_s[[begin, end]]), len(derived.time_s) - 1)[:, None]
        rate = np.full(len(derived.time_s), values[begin])
        recorded_change = summed(derived.time_s, turning(rate, seen.airspeed.value) if name == "bank_rad" else rate, edges)
        off = float(np.abs(recorded_change - (derived.value[edges[1]] - derived.value[edges[0]]))[0])
        return off > (_STILL_TURN_RAD if name == "bank_rad" else _STILL_CLIMB_M)
    there = derived.at(time_s[begin : end + 1])
    there = there[np.isfinite(there)]
    if not len(there):
        return False
    speed = max(_STILL_MPS, _STILL_SPEED_SHARE * float(np.mean(np.abs(there))))
    least = _STILL_TURN_RAD if name in _DIRECTIONS else speed
    return quantile(there, 0.95) - quantile(there, 0.05) > least


def _compared(name: str, values: FloatArray, seen: _Seen) -> Agreement:
    derived, track = seen.derived[name], seen.track
    if name == "bank_rad":
        speed = seen.airspeed
        agreement = of_rates(
            derived,
            lambda time_s: turning(_between(name, values, track, time_s), speed.at(time_s)),
            track.interval_s,
            _EDGE_TURN,
        )
        bank_of_rate = float(np.nanmedian(speed.value)) / GRAVITY
        return replace(agreement, offset=agreement.offset * bank_of_rate, scatter=agreement.scatter * bank_of_rate)
    if name == "vertical_speed_mps":
        return of_rates(derived, lambda time_s: _between(name, values, track, time_s), track.interval_s, _EDGE_CLIMB)
    known = np.isfinite(values)
    time_s, there = track.time_s[known], values[known]
    if name in _DIRECTIONS:
        return of_directions(time_s, there, derived)
    agreement = of_speeds(time_s, there, derived)
    return replace(agreement, slope_sd=seen.airspeed_share_sd) if name in _THROUGH_AIR else agreement


def _impossible(name: str, agreement: Agreement) -> str | None:
    """Why a heading or airspeed is impossible in any wind given track and ground speed, or None."""
    if name == "heading_rad":
        if agreement.slope + 2.0 * agreement.slope_sd < 0.0:
            return _wrong_sign(name)
        off = agreement.scatter
        return None if off < _DRIFT_RAD else f"it is off the track by {off / DEG:.0f}° in the median"
    if abs(agreement.slope - 1.0) < _WIND_SHARE:
        return None
    return f"it is {agreement.slope:.2f} times the ground speed in the median"


def _far_off(name: str, agreement: Agreement, airspeed_share_sd: float) -> str | None:
    """Why a heading cannot be true though the wind is poorly known, or None: a magnetic one is off by the variation.

    An error of the wind turns the heading by as much as its share of the airspeed.
    """
    if name != "heading_rad" or not abs(agreement.offset) > _OFFSET[name] + 2.0 * airspeed_share_sd:
        return None
    return f"it is off {_AGAINST[name]} by {agreement.offset / DEG:+.0f}° throughout"


def _wrong_sign(name: str) -> str:
    return f"it has the wrong sign: it goes against {_AGAINST[name]}"


def _fault(name: str, agreement: Agreement, track: Track) -> str | None:
    """Why a column that was compared is not believed, or None."""
    against = _AGAINST[name]
    if agreement.slope + 2.0 * agreement.slope_sd < 0.0:
        return _wrong_sign(name)
    if abs(agreement.slope - 1.0) - agreement.slope_sd > _SLOPE:
        return f"it is {agreement.slope:.2f} times {against}"
    steps = _LAG_STEPS_OF_SPEEDS if name.endswith("speed_mps") else _LAG_STEPS
    if abs(agreement.lag_s) > max(_LAG_S, steps * track.interval_s):
        return f"it {'lags behind' if agreement.lag_s > 0.0 else 'is ahead of'} the positions by {abs(agreement.lag_s):.0f} s"
    if name in _OFFSET and abs(agreement.offset) > _OFFSET[name]:
        return f"it is off {against} by {agreement.offset / DEG:+.0f}° throughout"
    if name in _SCATTER and agreement.scatter > _SCATTER[name]:
        return f"it is off {against} by {agreement.scatter / DEG:.0f}° in the median"
    return None
