"""Stretches of positions that stand off the path by one step, out and back: reflected signals, or another receiver's.

The path goes on alongside as it was flown, so no sample of the stretch is away from its neighbours but at its ends. There the
position moves by far more than the flight does before and after, and later by the same the other way.
"""

from __future__ import annotations

import numpy as np

from analyzer.physics.geodesy import MEAN_RADIUS_M
from analyzer.physics.quantiles import median
from analyzer.track.samples import Samples
from analyzer.track.track import Note, counted

__all__ = ["drop_displaced"]

# Of a step beyond a manoeuvre, and times the usual. It may be smaller than a spike of one sample, which smoothing outvotes: the
# samples of a stretch bear each other out.
_LEAST_M, _TYPICAL = 5.0, 10.0
_MANOEUVRE_MPS2 = 25.0  # 2.5 g over half a step: nothing that it can explain is a step
_BACK = 0.3  # of a step: how far the way back may miss it
_LONGEST_S = 30.0
_EVEN = 0.2  # of the usual interval: where times are uneven, they may be what is wrong
_MOST_DROPPED = 0.25
_UNITS = 5.0  # of the last digit, by which coarse positions step by themselves


def drop_displaced(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without stretches of up to 30 s that begin with a step aside and end with the same step back.

    They stay where more than a quarter of the log would go: then nothing says which positions are true.
    """
    if len(samples) < 8:
        return samples, ()
    time = samples.time_s
    step, plain = samples.beyond_flight_m
    size = np.abs(step)
    usual_m = median(size)
    digit_m = MEAN_RADIUS_M * max(samples.digits_rad)
    interval = np.diff(time)[1:-1]
    far = plain & (size > max(_LEAST_M, _TYPICAL * usual_m, _UNITS * digit_m) + 0.5 * _MANOEUVRE_MPS2 * interval**2)
    places = np.flatnonzero(far & (np.abs(interval - median(interval)) < _EVEN * median(interval)))
    out = np.zeros(len(samples), dtype=np.bool_)
    stretches = 0
    after = -1
    for first, last in zip(places[:-1].tolist(), places[1:].tolist(), strict=True):
        # the step at place p leads from sample p + 1 to sample p + 2
        lasts_s = float(time[last + 1] - time[first + 2])
        if first <= after or lasts_s > _LONGEST_S or abs(step[first] + step[last]) > _BACK * size[first]:
            continue
        out[first + 2 : last + 2] = True
        stretches, after = stretches + 1, last
    count = int(np.count_nonzero(out))
    if not count or count > _MOST_DROPPED * len(samples):
        return samples, ()
    text = (
        f"{counted(count, 'position')} aside of the path after {counted(stretches, 'step')} that no aircraft flies,"
        " and before the same back: dropped"
    )
    return samples.take(~out), (Note(text, count),)
