"""Single positions off the curve that the fixes around them fly: reflected signals in logs of a fix every few seconds.

Between fixes that are seconds apart an aircraft can turn, so a chord tells little of where it was. The cubic through the two
fixes before and the two after follows a steady turn, and misses one that begins or ends between them by a bounded amount.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from analyzer.physics.quantiles import median
from analyzer.physics.units import GRAVITY, BoolArray, FloatArray
from analyzer.track.samples import Samples
from analyzer.track.steps import plane_m
from analyzer.track.track import Note, counted

__all__ = ["drop_off_curve"]

_Complex = npt.NDArray[np.complex128]

_LEAST_M, _TYPICAL = 30.0, 10.0  # off the curve, and times the usual: as for a spike seen from a chord
_BANKED_MPS2 = GRAVITY  # 45° of bank
# The cubic through four places misses the one midway by the integral of the acceleration times a kernel, the Peano kernel of
# the difference. Of all turns to one side the worst, over the lobe between its zeros, are missed by this times a step squared.
_LOBE = 2.0 / 9.0
_SPARSE_S = 1.5  # between fixes: of closer ones the chords tell as much
_STANDS_OUT = 4.0  # times what the fixes next to it are off, without it
_EVEN = 2.0  # the longest of the steps about a fix, in the shortest: else the cubic is no measure
_AROUND = 3  # fixes on either side that are looked at


def drop_off_curve(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without single positions off the curve of those around by more than a turn at 45° of bank explains.

    That is from the cubic through two fixes on either side, by 30 m and ten times the usual at least, in a log of a fix every
    1.5 s or seldomer. Each is the farthest off among those within two fixes, and without it the fixes next to it are on the
    curve, closer by a factor of four.
    """
    if len(samples) < 4 * _AROUND or median(np.diff(samples.time_s)) < _SPARSE_S:
        return samples, ()
    north, east = plane_m(samples)
    out = _off_curve(samples.time_s, north + 1j * east)
    count = int(np.count_nonzero(out))
    if not count:
        return samples, ()
    text = f"{counted(count, 'position')} off the curve flown before and after, further than a turn at 45° of bank: dropped"
    return samples.take(~out), (Note(text, count),)


def _off_curve(time_s: FloatArray, place_m: _Complex) -> BoolArray:
    places = np.arange(_AROUND, len(time_s) - _AROUND)
    off = np.zeros(len(time_s))
    off[places] = _departure_m(time_s, place_m, places, (-2, -1, 1, 2))
    steps = np.diff(time_s)
    about = np.stack([steps[places + k] for k in (-2, -1, 0, 1)])
    longest = about.max(axis=0)
    limit = np.maximum(max(_LEAST_M, _TYPICAL * median(off[places])), _LOBE * _BANKED_MPS2 * longest**2)
    farthest = np.maximum.reduce([off[places + k] for k in (-2, -1, 1, 2)])
    able = (off[places] > limit) & (off[places] > farthest) & (longest < _EVEN * about.min(axis=0))
    chosen = places[able]
    before = _departure_m(time_s, place_m, chosen - 1, (-2, -1, 2, 3))
    after = _departure_m(time_s, place_m, chosen + 1, (-3, -2, 1, 2))
    out = np.zeros(len(time_s), dtype=np.bool_)
    out[chosen[off[chosen] > _STANDS_OUT * np.maximum(before, after)]] = True
    return out


def _departure_m(time_s: FloatArray, place_m: _Complex, places: npt.NDArray[np.intp], by: tuple[int, ...]) -> FloatArray:
    """How far places are off the polynomial through those so many samples from them, at their own instant. [m]"""
    at = time_s[places]
    curve = np.zeros(len(places), dtype=np.complex128)
    for one in by:
        weight = np.ones(len(places))
        for other in by:
            if other != one:
                weight *= (at - time_s[places + other]) / (time_s[places + one] - time_s[places + other])
        curve += weight * place_m[places + one]
    off: FloatArray = np.abs(place_m[places] - curve)
    return off
