"""The repairs in their order: each a stated rule from samples to samples, with a note and a count of what it touched.

A rule in doubt leaves a sample alone: a true sample lost does more harm than a false one kept, which smoothing will see.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from analyzer.errors import LogError
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FloatArray
from analyzer.track.altitude_faults import drop_dips, drop_missing_altitudes
from analyzer.track.altitude_steps import drop_altitudes_aside
from analyzer.track.displaced import drop_displaced
from analyzer.track.ground import drop_ground
from analyzer.track.held_altitudes import drop_held_altitudes
from analyzer.track.off_curve import drop_off_curve
from analyzer.track.order import drop_repeated_instants, drop_repeated_records, put_in_order
from analyzer.track.samples import Samples
from analyzer.track.shifted import spread_shifts
from analyzer.track.sim_clock import close_pauses, slow_down
from analyzer.track.slewed import drop_slewed
from analyzer.track.slips import mend_slips
from analyzer.track.spikes import drop_altitude_spikes, drop_frozen, drop_jumps, drop_spikes
from analyzer.track.stale import drop_stale
from analyzer.track.track import Gap, Note, counted
from analyzer.track.twice import drop_second_copy

__all__ = ["REPAIRS", "Repair", "find_gaps", "repair"]

Repair = Callable[[Samples], tuple[Samples, tuple[Note, ...]]]

_NO_FIX_AWAY_RAD = 1.0 * DEG
_STUCK_SAMPLES = 60
_GAP_S = 45.0
_GAP_STEPS = 5.0
_HOLE_STEPS = 3.0


def drop_out_of_range(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without latitudes beyond ±90° and longitudes beyond ±180°. A longitude of 180° becomes -180°."""
    rounding = 1e-12
    inside = (np.abs(samples.latitude_rad) <= np.pi / 2 + rounding) & (np.abs(samples.longitude_rad) <= np.pi + rounding)
    beyond = samples.longitude_rad >= np.pi
    if beyond.any():
        samples = replace(samples, longitude_rad=np.where(beyond, samples.longitude_rad - 2.0 * np.pi, samples.longitude_rad))
    count = int((~inside).sum())
    if not count:
        return samples, ()
    return samples.take(inside), (Note(f"{counted(count, 'position')} out of range (±90°, ±180°): dropped", count),)


def drop_without_fix(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without positions of exactly 0°, 0°, which receivers give before their first fix, in a log of another place."""
    zero = (samples.latitude_rad == 0.0) & (samples.longitude_rad == 0.0)
    count = int(zero.sum())
    if not count or count == len(samples):
        return samples, ()
    rest = samples.take(~zero)
    away = max(abs(float(np.median(rest.latitude_rad))), abs(float(np.median(rest.longitude_rad))))
    if away < _NO_FIX_AWAY_RAD:
        return samples, ()
    return rest, (Note(f"{counted(count, 'position')} of exactly 0°, 0°, so without a fix: dropped", count),)


def drop_stuck_records(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without recorded quantities that have one value in all of 60 samples or more, and those that are never filled.

    Pressure altitude may well be constant, and stays.
    """
    recorded, notes = dict(samples.recorded), []
    for name, values in samples.recorded.items():
        known = values[np.isfinite(values)]
        if not len(known):
            del recorded[name]
        elif len(known) >= _STUCK_SAMPLES and np.ptp(known) == 0.0 and name != "pressure_altitude_m":
            del recorded[name]
            quantity = name.rpartition("_")[0].replace("_", " ")
            notes.append(Note(f"the recorded {quantity} is stuck at one value: not used", len(known)))
    if len(recorded) == len(samples.recorded):
        return samples, ()
    return replace(samples, recorded=recorded), tuple(notes)


REPAIRS: tuple[Repair, ...] = (
    drop_out_of_range,
    drop_without_fix,
    put_in_order,
    drop_repeated_records,
    drop_repeated_instants,
    drop_second_copy,
    drop_stale,
    drop_frozen,
    drop_slewed,
    close_pauses,
    slow_down,
    drop_jumps,
    drop_spikes,
    drop_displaced,
    mend_slips,
    spread_shifts,
    drop_off_curve,
    drop_missing_altitudes,
    drop_held_altitudes,
    drop_altitude_spikes,
    drop_dips,
    drop_altitudes_aside,
    drop_ground,
    drop_stuck_records,
)


def repair(samples: Samples, file: str) -> tuple[Samples, tuple[Note, ...]]:
    """The samples after all `REPAIRS`, and their notes. Raises `LogError` where fewer than two samples are left."""
    notes: list[Note] = []
    for rule in REPAIRS:
        try:
            samples, added = rule(samples)
        except LogError as error:
            raise LogError(f"{file}: {error}") from error
        notes += added
        if len(samples) < 2:
            raise LogError(f"{file}: too short: {counted(len(samples), 'usable sample')}, and a track needs two")
    return samples, tuple(notes)


def find_gaps(time_s: FloatArray) -> tuple[tuple[Gap, ...], tuple[Note, ...]]:
    """Stretches without samples longer than 45 s and five median steps, and a note on shorter holes of over three steps."""
    steps = np.diff(time_s)
    if not len(steps):
        return (), ()
    usual = median(steps)
    is_gap = steps > max(_GAP_S, _GAP_STEPS * usual)
    gaps = tuple(Gap(float(time_s[place]), float(time_s[place + 1])) for place in np.flatnonzero(is_gap))
    holes = steps[~is_gap & (steps > _HOLE_STEPS * usual)]
    if not len(holes):
        return gaps, ()
    text = f"{counted(len(holes), 'hole')} of more than three steps but no gap, the longest {holes.max():.1f} s"
    return gaps, (Note(text, len(holes)),)
