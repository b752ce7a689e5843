"""The values of an approach second by second, shared by the strips and the cursor of a page."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analyzer.checks.course_deviation import counting, tracking
from analyzer.frozen import dataclass
from analyzer.legs.course_lines import CourseLine, flown_lines
from analyzer.legs.guidance import needle
from analyzer.legs.reversal import Part
from analyzer.motion.airspeed import indicated_airspeed
from analyzer.motion.motion import Motion
from analyzer.motion.states import States, seen_from
from analyzer.physics.units import DEG, FPM, FT, KT, NM, BoolArray, FloatArray

__all__ = ["Series", "along_nm", "series_of"]

_INSTANT_S = 1e-6  # as used by `States.between`


@dataclass(frozen=True, eq=False)
class Series:
    """The values of an approach at every second, in the units of their names; NaN where not known.

    `distance_nm` is from the centre of the limit, usually the fix. `deviation` is from the course flown, outbound, inbound
    and on final (in a hold not outbound, where the aircraft is off the course on purpose), right positive; `counts` is true
    where the course is tracked.
    `along_nm` is the distance flown since the first second.
    """

    states: States
    along_nm: FloatArray
    distance_nm: FloatArray
    altitude_ft: FloatArray
    vertical_speed_fpm: FloatArray
    ground_speed_kt: FloatArray
    indicated_kt: FloatArray
    indicated_recorded: bool
    track_deg: FloatArray  # magnetic
    bank_deg: FloatArray
    bank_sd_deg: FloatArray
    turn_rate_deg_s: FloatArray
    deviation: FloatArray
    deviation_unit: str  # "°", or "NM" where the guidance shows distance from the course
    counts: BoolArray
    part: tuple[int, ...]  # the number of the part at each second

    @property
    def time_s(self) -> FloatArray:
        """The times of the values. [s]"""
        return self.states.time_s


def series_of(motion: Motion, states: States, parts: tuple[Part, ...], *, held: bool) -> Series:
    """The series of states and parts. With `held`, a hold is flown, whose outbound legs lie off the course on purpose."""
    charted = motion.charted
    unknown = np.full(len(states), np.nan)
    bank_known = motion.bank_known(states)
    indicated, recorded = _indicated_mps(motion, states)
    angular = charted.guidance.full_scale_rad is not None
    deviation, counts = unknown.copy(), np.zeros(len(states), dtype=bool)
    for part in parts:
        if part.name in ("inbound", "final") or (part.name == "outbound" and not held):
            inside = (states.time_s >= part.start_s - _INSTANT_S) & (states.time_s <= part.end_s + _INSTANT_S)
            if inside.any():
                for line, along in _lines(motion, states.where(inside), part):
                    here, flown = np.flatnonzero(inside)[along], states.where(inside).where(along)
                    shown = needle(flown, charted, line.course_rad, through=line.through)
                    deviation[here] = shown.angle_rad / DEG if angular else shown.cross_track_m / NM
                    counts[here] = counting(flown, charted, shown) & tracking(flown, shown, line.course_rad)
    distance, _ = seen_from(charted, charted.limit_latitude_rad, charted.limit_longitude_rad, states)
    ends = np.array([part.end_s for part in parts[:-1]])
    return Series(
        states=states,
        along_nm=along_nm(states),
        distance_nm=distance / NM,
        altitude_ft=states.altitude_m / FT if motion.has_altitude else unknown,
        vertical_speed_fpm=states.vertical_speed_mps / FPM if motion.has_altitude else unknown,
        ground_speed_kt=states.ground_speed_mps / KT,
        indicated_kt=indicated / KT,
        indicated_recorded=recorded,
        track_deg=np.mod((states.track_rad - charted.variation.east_rad) / DEG, 360.0),
        bank_deg=states.bank_rad / DEG if bank_known else unknown,
        bank_sd_deg=motion.errors(states).bank_rad / DEG if bank_known else unknown,
        turn_rate_deg_s=states.turn_rate_rad_s / DEG if bank_known else unknown,
        deviation=deviation,
        deviation_unit="°" if angular else "NM",
        counts=counts,
        part=tuple(np.searchsorted(ends, states.time_s, side="right").tolist()),
    )


def _lines(motion: Motion, flown: States, part: Part) -> Iterator[tuple[CourseLine, BoolArray]]:
    """Each course line of a part, and which of its states are flown along it."""
    if part.name == "outbound":
        yield CourseLine(motion.charted.outbound_true_rad), np.ones(len(flown), dtype=np.bool_)
    else:
        yield from flown_lines(flown, motion.charted, part.leg)


def _indicated_mps(motion: Motion, states: States) -> tuple[FloatArray, bool]:
    """Indicated airspeed [m/s], recorded or else estimated from the wind, NaN where unknown; and whether it is recorded."""
    logged = motion.recorded("indicated_airspeed_mps", states)
    if logged is not None:
        return logged, True
    if motion.wind is None or not motion.has_altitude:
        return np.full(len(states), np.nan), False
    return indicated_airspeed(states.true_airspeed_mps, states.altitude_m, motion.track.air, motion.charted), False


def along_nm(states: States) -> FloatArray:
    """Distance flown since the first state. [NM]"""
    step = np.diff(states.time_s) * (states.ground_speed_mps[1:] + states.ground_speed_mps[:-1]) / 2.0
    return np.concatenate([[0.0], np.cumsum(step)]) / NM
