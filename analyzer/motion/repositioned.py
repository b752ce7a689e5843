"""Where a simulator set the aircraft elsewhere, or the clock of the log begins again: another flight in the same log."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.motion.jumps import Jump
from analyzer.physics.units import FT, NM, FloatArray
from analyzer.track.track import Track

__all__ = ["repositions"]

_FAR_M = 3.0 * NM  # no receiver errs by so much for long, nor a network that coasts past a turn for a minute; no source
_NEAR_M, _HIGHER_M, _FASTEST_MPS = 0.5 * NM, 1000.0 * FT, 20.0  # nor in both at once, beyond what is climbed; no source
_STAYS_S, _STAYS_SAMPLES = 30.0, 10  # before and after; positions that jump to and fro are broken; no source
_AS_FAR = 0.5  # of a jump, which another one near it leads


def repositions(track: Track, north_east_m: FloatArray, jumps: Sequence[Jump]) -> tuple[Jump, ...]:
    """The jumps that begin another flight, in order: back to where the aircraft had been, or far away, and no other jump near.

    Nearer by they do where the altitude jumps as well. Where the clock of the log begins again, another flight does, too.
    """
    restarts = [_restart(track, north_east_m, begin_s) for begin_s in track.begins_s]
    candidates = [
        jump
        for jump in jumps
        if jump.seen_at_s is not None or jump.moved_m >= _FAR_M or (jump.moved_m >= _NEAR_M and _higher(track, jump))
    ]
    if not candidates:
        return tuple(restarts)
    steps_m = np.hypot(*np.diff(north_east_m, axis=0).T)
    staying = [
        jump
        for jump in candidates
        if _stays(track.time_s, steps_m, jump)
        and all(jump.end_s <= one.start_s or jump.start_s >= one.end_s for one in restarts)
    ]
    return tuple(sorted([*restarts, *staying], key=lambda jump: jump.start_s))


def _restart(track: Track, north_east_m: FloatArray, begin_s: float) -> Jump:
    """The step from the last sample of a flight to the first one of the next, which begins at an instant."""
    onward = int(track.time_s.searchsorted(begin_s - 1e-6))
    moved_m = float(np.hypot(*(north_east_m[onward] - north_east_m[onward - 1])))
    return Jump(float(track.time_s[onward - 1]), float(track.time_s[onward]), moved_m, None)


def _higher(track: Track, jump: Jump) -> bool:
    """Whether the altitude changes over a jump, up or down, by more than any aircraft climbs; not where it is unknown."""
    before, after = (track.altitude_m[int(track.time_s.searchsorted(time))] for time in (jump.start_s, jump.end_s))
    return bool(abs(after - before) > _HIGHER_M + _FASTEST_MPS * (jump.end_s - jump.start_s))


def _stays(time_s: FloatArray, steps_m: FloatArray, jump: Jump) -> bool:
    """Whether there is no step as great before and after a jump, given all steps from sample to sample."""
    first, last = (int(time_s.searchsorted(instant)) for instant in (jump.start_s, jump.end_s))
    since = min(int(time_s.searchsorted(jump.start_s - _STAYS_S)), first - _STAYS_SAMPLES)
    until = max(int(time_s.searchsorted(jump.end_s + _STAYS_S)), last + _STAYS_SAMPLES)
    near = np.concatenate([steps_m[max(since, 0) : first], steps_m[last:until]])
    return not bool((near >= _AS_FAR * jump.moved_m).any())
