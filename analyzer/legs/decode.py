"""Cutting a stretch of seconds into the steps of a row, in order, so that the sum of their log-densities is greatest.

The model runs from left to right, so dynamic programming needs no loop over time: the best score of a step at every second is
its running sum plus a running maximum over the second it began at [1]_.

References
----------
.. [1] L. R. Rabiner, "A tutorial on hidden Markov models and selected applications in speech recognition",
   Proc. IEEE 77 (1989), 257-286, sections III.B (the recursion) and IV.A (left-to-right models).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.physics.units import FloatArray

__all__ = ["STEP_COST", "Cut", "decode"]

STEP_COST = 5.0  # in log-density: what one more step must gain before it is believed


@dataclass(frozen=True)
class Cut:
    """Where the steps begin: the index of each step's first second, None where it was left out or not reached."""

    score: float
    starts: tuple[int | None, ...]


def decode(log_density: FloatArray, optional: Sequence[bool], must_finish: bool) -> Cut:
    """The best cut.

    Parameters
    ----------
    log_density : array, shape (n, steps)
        Log-density of each second under each step; -inf where the step cannot be.
    optional : sequence of bool, length steps
        Whether a step may be left out.
    must_finish : bool
        Whether the last second must be in the last step. A log that stops in the middle may end in any.

    Returns
    -------
    Cut
        With score -inf where no cut is possible.
    """
    n, steps = log_density.shape
    # an impossible second weighs so much that no path through it is ever best, without the arithmetic of infinities
    total = np.zeros((steps, n + 1))
    np.cumsum(np.maximum(log_density.T, -1e6), axis=1, out=total[:, 1:])
    # row 0 is the beginning, row k the k-th step; column t the best score of having ended with it before second t
    ended = np.full((steps + 1, n + 1), -np.inf)
    ended[0, 0] = 0.0
    gain = np.empty((steps, n))  # what beginning a step at each second is worth in its later seconds
    for step in range(steps):
        before = ended[_earliest(step, optional) : step + 1, :-1]
        gain[step] = before.max(axis=0) - total[step, :-1]
        ended[step + 1, 1:] = total[step, 1:] + np.maximum.accumulate(gain[step]) - STEP_COST
    last = steps if must_finish else 1 + int(np.argmax(ended[1:, -1]))
    score = float(ended[last, -1])
    return Cut(score if score > -1e5 else -np.inf, _trace(last, n, gain, ended, optional))


def _earliest(step: int, optional: Sequence[bool]) -> int:
    """The first row of those that may come right before a step: back to one that must not be left out, or the beginning."""
    row = step
    while row > 0 and optional[row - 1]:
        row -= 1
    return row


def _trace(row: int, end: int, gain: FloatArray, ended: FloatArray, optional: Sequence[bool]) -> tuple[int | None, ...]:
    """Where the steps begin on the best path that ends with a row before a second: of equals, the latest of each."""
    starts: list[int | None] = [None] * len(gain)
    while row > 0 and end > 0:
        step = row - 1
        end = starts[step] = end - 1 - int(np.argmax(gain[step, :end][::-1]))
        row = step - int(np.argmax(ended[_earliest(step, optional) : step + 1, end][::-1]))
    return tuple(starts)
