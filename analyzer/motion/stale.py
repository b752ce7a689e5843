"""Stale recorded values: one that stands for several samples, and stretches in which a column stands still.

A column that is rounded repeats its values too, but changes by one step of its rounding at a time where it changes slowly, and
at every sample where it changes fast. One that is refreshed less often than it is logged jumps, and stands still between jumps.
"""

from __future__ import annotations

import numpy as np

from analyzer.motion.knots import IntArray
from analyzer.physics.quantiles import median
from analyzer.physics.units import FloatArray

__all__ = ["held_for_s", "runs"]

_JUMP_STEPS = 2.5  # steps of the rounding: no slow change
_LEAST_JUMPS = 6
_SAME = 1e-9


def runs(values: FloatArray) -> tuple[IntArray, IntArray]:
    """The first indices of the runs of equal values, and their last."""
    edges = np.flatnonzero(np.abs(np.diff(values)) > _SAME)
    return np.append(0, edges + 1)[: len(values)], np.append(edges, len(values) - 1)[: len(values)]


def held_for_s(time_s: FloatArray, values: FloatArray) -> float | None:
    """How long each value of a column is held while it changes fast: from one jump to the next. [s]

    None where it hardly jumps, and where it jumps from sample to sample. `values` has no missing ones; rounded values change
    by whole steps of their rounding.
    """
    change = np.abs(np.diff(values))
    moved = change[change > _SAME]
    if not len(moved):
        return None
    jump = _JUMP_STEPS * float(np.min(moved))
    first, last = (edges[1:-1] for edges in runs(values))
    fast = (change[first - 1] > jump) & (change[last] > jump)
    if np.count_nonzero(fast) < _LEAST_JUMPS:
        return None
    first, last = first[fast], last[fast]
    lasts, samples = time_s[last + 1] - time_s[first], (last + 1 - first).astype(np.float64)
    return median(lasts) if median(samples) > 1.0 else None
